//! `cullet check`: verifies a plan from scratch.

use crate::{Exit, Session, reading};
use cullet_plan::model::Plan;
use std::path::Path;

pub(super) fn check(path: &Path, session: &mut Session<'_>) -> Exit {
    let plan = match reading::plan(path) {
        Ok(plan) => plan.0,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let faults = super::book::faults(path, &plan);
    if faults.is_empty() {
        session.print(&format!("{}: holds: {}\n", path.display(), counts(&plan)));
        return Exit::Done;
    }
    for fault in &faults {
        session.say(fault);
    }
    session.print(&format!(
        "{}: does not hold: {} fault{} named\n",
        path.display(),
        faults.len(),
        if faults.len() == 1 { "" } else { "s" }
    ));
    Exit::DoesNotHold
}

fn counts(plan: &Plan) -> String {
    let sheets: usize = plan.glasses.iter().map(|glass| glass.layouts.len()).sum();
    let unplaced: u64 = plan.unplaced.iter().map(|unplaced| u64::from(unplaced.count)).sum();
    format!(
        "{} pieces placed on {sheets} sheets and offcuts of {} glasses, {unplaced} not placed",
        plan.figures.pieces,
        plan.glasses.len()
    )
}
