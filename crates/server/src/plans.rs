//! The plan of a job: where it lies, whether it is of the job as it stands, whether it is booked.

use crate::answer::Problem;
use crate::app::App;
use crate::deeds;
use crate::seen::Seen;
use cullet_model::Plan;
use std::path::{Path, PathBuf};

/// A job's plan as it lies in its folder.
#[derive(Debug)]
pub(crate) struct Found {
    pub(crate) plan: Plan,
    /// Whether it cuts the job as it stands now.
    pub(crate) is_present: bool,
    pub(crate) is_booked: bool,
}

/// The folder that a job is planned into, beside it: `plan` for `job.json` and `pieces.csv`, else named after the file.
pub(crate) fn folder(app: &App, job: &str) -> Result<PathBuf, Problem> {
    Ok(app.place.path(&folder_name(job))?)
}

pub(crate) fn folder_name(job: &str) -> String {
    let path = Path::new(job);
    let stem = path
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned())
        .unwrap_or_default();
    let name = match stem.as_str() {
        "job" | "pieces" => "plan".to_owned(),
        stem => format!("{stem}-plan"),
    };
    match path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        Some(folder) => format!("{}/{name}", folder.to_string_lossy()),
        None => name,
    }
}

/// A job's plan, where one lies there and can be read.
pub(crate) fn of(app: &App, seen: &Seen) -> Option<Found> {
    let path = folder(app, &seen.name).ok()?.join("plan.json");
    let plan = deeds::plan(&path).ok()?;
    let is_present = seen.job.as_ref().is_some_and(|job| job.source == plan.job);
    let is_booked = plan.rack.is_some() && deeds::is_booked(app, &plan);
    Some(Found {
        plan,
        is_present,
        is_booked,
    })
}

/// Cut outlines of pieces, by their ids.
pub(crate) type Shapes = std::collections::BTreeMap<cullet_job::PieceId, cullet_geometry::Outline>;

pub(crate) fn shapes<'a>(
    pieces: impl Iterator<Item = (&'a cullet_job::PieceId, &'a cullet_geometry::Outline)>,
) -> Shapes {
    pieces.map(|(id, cut)| (id.clone(), cut.clone())).collect()
}
