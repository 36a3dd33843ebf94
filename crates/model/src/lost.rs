//! Where the cullet of a plan comes from.

use crate::{Layout, Plan};
use cullet_geometry::{Outline, boolean, offset, opening};
use cullet_job::{Glass, Job, PieceId};
use std::collections::BTreeMap;

/// What is narrower than so many narrowest strips is one of them and no rest: nobody cuts a piece from it.
const STRIP: f64 = 4.0;

/// Cullet by what made it, mm². Together they are the cullet of the plan.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lost {
    /// Ground off the pieces.
    pub grinding: f64,
    /// Taken off along the edges of sheets and offcuts.
    pub trim: f64,
    /// Round the pieces and between them: wherever it is narrower than four times the narrowest strip of the
    /// glass, 24 mm as a rule, wedges among it (common practice, no published figure).
    pub strips: f64,
    /// The rest: wide enough for something, and not kept.
    pub rests: f64,
}

impl Lost {
    /// All of it.
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.grinding + self.trim + self.strips + self.rests
    }

    /// Of a whole plan. `None` where its job is none any more, which the verifier names. Cost about O(n log n) in the sides of all pieces.
    #[must_use]
    pub fn of_plan(plan: &Plan) -> Option<Self> {
        let job = Job::from_file("job in the plan", plan.job.clone()).ok()?;
        let cut: BTreeMap<&PieceId, &Outline> = plan.pieces.iter().map(|piece| (&piece.id, &piece.cut)).collect();
        let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
        let sheets = layouts.filter_map(|layout| {
            let glass = job.glasses.iter().find(|glass| glass.code == layout.stock.glass)?;
            Some(Self::of_sheet(layout, glass, &cut))
        });
        Some(sheets.fold(Self::default(), |a, b| Self {
            grinding: a.grinding + b.grinding,
            trim: a.trim + b.trim,
            strips: a.strips + b.strips,
            rests: a.rests + b.rests,
        }))
    }

    fn of_sheet(layout: &Layout, glass: &Glass, cut: &BTreeMap<&PieceId, &Outline>) -> Self {
        let within_trim = offset::shrink(&layout.stock.outline, glass.edge_trim);
        let waste = (layout.figures.cullet - layout.figures.grinding).max(0.0);
        let trim = trim(layout, &within_trim).clamp(0.0, waste);
        let pieces = layout.placements.iter();
        let pieces = pieces.filter_map(|placement| Some(cut.get(&placement.id)?.posed(&placement.pose)));
        // What is no cullet: pieces, and what goes back.
        let taken: Vec<Outline> = pieces.chain(layout.returned.iter().cloned()).collect();
        let rests = within_trim
            .iter()
            .map(|part| opening::area(part, &taken, radius(glass)));
        let rests = rests.sum::<f64>().clamp(0.0, waste - trim);
        Self {
            grinding: layout.figures.grinding,
            trim,
            strips: waste - trim - rests,
            rests,
        }
    }
}

/// Half of what is wide enough for a rest, mm.
fn radius(glass: &Glass) -> f64 {
    0.5 * STRIP * glass.narrowest_strip.max(glass.thickness)
}

/// The band along the edge, without what of it goes back; pieces lie inside it.
fn trim(layout: &Layout, within_trim: &[Outline]) -> f64 {
    let inside = |outline: &Outline| -> f64 {
        let common = within_trim.iter().flat_map(|part| boolean::intersection(part, outline));
        common.map(|region| region.area()).sum()
    };
    let band = layout.stock.outline.area() - within_trim.iter().map(Outline::area).sum::<f64>();
    let returned = layout.returned.iter().map(|outline| outline.area() - inside(outline));
    band - returned.sum::<f64>()
}
