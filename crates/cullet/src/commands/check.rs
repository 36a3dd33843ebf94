//! `cullet check`: verifies a plan from scratch.

use crate::{Exit, Session};
use cullet_job::counted;
use cullet_model::Plan;
use cullet_workshop::{book, reading};
use std::path::Path;

pub(super) fn check(path: &Path, session: &mut Session<'_>) -> Exit {
    let plan = match reading::plan(path) {
        Ok(plan) => plan.0,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let faults = book::faults(path, &plan);
    if faults.is_empty() {
        session.print(&format!("{}: passes: {}\n", path.display(), counts(&plan)));
        return Exit::Done;
    }
    for fault in &faults {
        session.say(fault);
    }
    session.print(&format!(
        "{}: fails: {} named\n",
        path.display(),
        counted(faults.len(), "fault")
    ));
    Exit::DoesNotHold
}

fn counts(plan: &Plan) -> String {
    let sheets: usize = plan.glasses.iter().map(|glass| glass.layouts.len()).sum();
    let unplaced: u64 = plan.unplaced.iter().map(|unplaced| u64::from(unplaced.count)).sum();
    format!(
        "{} placed on {} of {}, {unplaced} not placed",
        counted(plan.figures.pieces, "piece"),
        counted(sheets, "sheet or offcut"),
        counted(plan.glasses.len(), "glass")
    )
}
