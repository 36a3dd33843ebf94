//! Which glass is pulled and how every piece lies. (Under construction by the search's author.)

use crate::model::{Effort, Plan};
use cullet_job::Job;
use cullet_rack::Stock;
use std::sync::atomic::AtomicBool;

/// Where the planning stands, for a progress bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Share of the effort used up, 0 to 1.
    pub share: f64,
    /// What it is doing, in a few words.
    pub stage: String,
}

/// Plans `job` from `stock`. Setting `cancel` makes it return its best valid plan so far. `progress` is called a few times
/// a second from the searching threads.
#[must_use]
pub fn plan(
    job: &Job,
    stock: &Stock,
    effort: Effort,
    cancel: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Plan {
    let _ = (job, stock, effort, cancel, progress);
    unimplemented!("planner")
}
