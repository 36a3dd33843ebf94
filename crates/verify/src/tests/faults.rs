//! Every kind of fault that is planted, one idea each.

mod figures;
mod glass;
mod places;

use cullet_job::Job;
use cullet_model::{Placement, Plan};

/// A change to a plan and its job.
pub(super) type Plant = fn(&mut Plan, &mut Job);

/// A planted fault, the words it is told by, and whether the figures are worked out again after planting (so that only the fault
/// itself is left to be found).
type Fault = (&'static str, &'static [&'static str], bool, Plant);

/// Every planted fault.
pub(super) fn all() -> impl Iterator<Item = &'static Fault> {
    [places::FAULTS, glass::FAULTS, figures::FAULTS].into_iter().flatten()
}

/// The placements of a sheet.
pub(super) fn on(plan: &mut Plan, sheet: u32) -> &mut Vec<Placement> {
    let layouts = plan.glasses.iter_mut().flat_map(|g| &mut g.layouts);
    let mut found: Vec<_> = layouts.filter(|l| l.number == sheet).collect();
    &mut found.remove(0).placements
}

/// Cuts the piece on the offcut from a second sheet of the first line instead.
pub(super) fn second_clear_sheet(plan: &mut Plan, copy: u32) {
    let item = plan.stock.items[0].clone();
    let layout = &mut plan.glasses[0].layouts[1];
    layout.stock = item;
    layout.copy = copy;
}
