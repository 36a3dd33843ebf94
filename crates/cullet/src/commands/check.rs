//! `cullet check`: verifies a plan from scratch.

use crate::{Exit, Session, reading};
use cullet_job::{Finding, Findings};
use cullet_plan::model::{FORMAT, Plan};
use cullet_plan::verify::verify;
use serde::Deserialize;
use std::path::Path;

pub(super) fn check(path: &Path, session: &mut Session<'_>) -> Exit {
    let plan = match read_plan(path) {
        Ok(plan) => plan,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let faults = verify(&plan);
    if faults.is_empty() {
        session.print(&format!("{}: holds: {}\n", path.display(), counts(&plan)));
        return Exit::Done;
    }
    for fault in &faults {
        session.say(&format_args!("{}: {}", path.display(), super::fault_in_words(fault)));
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

/// Only the format, so that a plan of another version is called that and not a heap of unknown fields.
#[derive(Deserialize)]
struct Head {
    format: String,
}

fn read_plan(path: &Path) -> Result<Plan, Findings> {
    let text = reading::text(path, "a plan.json written by cullet plan")?;
    let refuse = |place: String, found: String, hint: &str| {
        Findings(vec![Finding {
            file: path.display().to_string(),
            place,
            found,
            expected: format!("a plan.json written by cullet plan (format \"{FORMAT}\")"),
            hint: hint.into(),
        }])
    };
    let not_a_plan = |error: serde_json::Error| {
        let place = format!("line {}, column {}", error.line(), error.column());
        refuse(place, error.to_string(), "Make the plan anew with cullet plan.")
    };
    let head: Head = serde_json::from_str(&text).map_err(not_a_plan)?;
    if head.format != FORMAT {
        return Err(refuse(
            "field \"format\"".into(),
            format!("\"{}\"", head.format),
            "Make the plan anew with this version of the program.",
        ));
    }
    serde_json::from_str(&text).map_err(not_a_plan)
}
