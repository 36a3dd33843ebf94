//! Style, scripts and the icon, as they lie in `assets`: nothing comes from elsewhere.

use crate::answer;
use axum::response::Response;

/// Name, kind and content of each.
const ALL: &[(&str, &str, &str)] = &[
    (
        "page.css",
        "text/css; charset=utf-8",
        include_str!("../assets/page.css"),
    ),
    ("icon.svg", "image/svg+xml", include_str!("../assets/icon.svg")),
    ("ask.js", SCRIPT, include_str!("../assets/ask.js")),
    ("jobs.js", SCRIPT, include_str!("../assets/jobs.js")),
    ("job.js", SCRIPT, include_str!("../assets/job.js")),
    ("plan.js", SCRIPT, include_str!("../assets/plan.js")),
    ("sheet.js", SCRIPT, include_str!("../assets/sheet.js")),
    ("print.js", SCRIPT, include_str!("../assets/print.js")),
    ("photo.js", SCRIPT, include_str!("../assets/photo.js")),
];

const SCRIPT: &str = "text/javascript; charset=utf-8";

/// One of them by its name.
pub(crate) fn of(name: &str) -> Option<Response> {
    let found = ALL.iter().find(|(known, _, _)| *known == name)?;
    Some(answer::own(found.1, found.2))
}
