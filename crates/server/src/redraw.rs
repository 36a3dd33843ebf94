//! Another drawing for a panel: kept beside the job under a name that is free, then named in the job.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::{change, edit, start};
use axum::http::StatusCode;
use axum::response::Response;
use serde_json::{Value, json};
use std::path::Path;
use std::sync::Arc;

/// Brings the drawing and names it.
pub(crate) fn redraw(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    match done(app, asked) {
        Ok(()) => Ok(answer::data(StatusCode::OK, &json!({}))),
        Err(problem) => {
            let lines: Vec<String> = problem
                .lines()
                .into_iter()
                .map(|(what, hint)| app.place.short(&format!("{what} {hint}")))
                .collect();
            Ok(answer::data(problem.status(), &json!({"problem": lines})))
        }
    }
}

fn done(app: &App, asked: &Asked) -> Result<(), Problem> {
    let (name, panel) = (asked.must("job")?, asked.must("panel")?);
    let folder = Path::new(name)
        .parent()
        .map(|folder| folder.to_string_lossy().into_owned())
        .unwrap_or_default();
    let kept = start::keep(app, &folder, asked.must("name")?, &asked.bytes)?;
    let path = app.place.path(&kept)?;
    let file = path
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let numbers = start::numbers_in(&path);
    change::change(app, name, asked.must("digest")?, change::Judge::Anything, &|text| {
        let text = edit::field(text, Some(panel), "drawing/file", Some(&Value::from(file.clone())));
        // What was said of pieces that the new drawing does not have is of no use any more.
        let text = text.and_then(|text| edit::only_numbers(&text, panel, &numbers));
        text.map_err(|_| Problem::Words("The job has no such panel any more: look at it again.".into()))
    })
}
