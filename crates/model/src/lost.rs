//! Where the cullet of a plan comes from.

use crate::{Layout, Plan};
use cullet_geometry::{Outline, boolean, offset};
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

    /// Of a whole plan. `None` where its job is none any more, which the verifier names.
    ///
    /// Strips are told from rests by offsets with mitred corners, so that a wedge counts a little more than it is. Cost about O(n log n)
    /// in the sides of all pieces.
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
        let pieces = layout
            .placements
            .iter()
            .filter_map(|placement| Some(cut.get(&placement.id)?.posed(&placement.pose)));
        // What is no cullet: pieces, and what goes back.
        let taken: Vec<Outline> = pieces.chain(layout.returned.iter().cloned()).collect();
        let sheet = &layout.stock.outline;
        let waste = area_without(sheet, &taken);
        let within_trim = offset::shrink(sheet, glass.edge_trim);
        let inner: f64 = within_trim.iter().map(|part| area_without(part, &taken)).sum();
        let radius = 0.5 * STRIP * glass.narrowest_strip.max(glass.thickness);
        let rests = within_trim
            .iter()
            .map(|part| wider_than(part, &taken, radius))
            .sum::<f64>()
            .min(inner);
        Self {
            grinding: layout.figures.grinding,
            trim: (waste - inner).max(0.0),
            strips: inner - rests,
            rests,
        }
    }
}

fn area_without(from: &Outline, minus: &[Outline]) -> f64 {
    let left = boolean::difference(from, minus);
    left.iter().map(boolean::Region::area).sum()
}

/// Area of what a disc of this radius reaches that stays within the outline and off what is taken (the opening by a disc).
fn wider_than(within: &Outline, taken: &[Outline], radius: f64) -> f64 {
    let off: Vec<Outline> = taken.iter().map(|one| offset::grow(one, radius)).collect();
    let middles: Vec<boolean::Region> = offset::shrink(within, radius)
        .iter()
        .flat_map(|part| boolean::difference(part, &off))
        .collect();
    // What a disc does not reach round a group of pieces: the group's hole, drawn together again.
    let islands = middles.iter().flat_map(|middle| &middle.holes);
    let islands = islands.flat_map(|hole| offset::shrink(hole, radius));
    let kept_off: Vec<Outline> = taken.iter().cloned().chain(islands).collect();
    let reached: Vec<Outline> = middles
        .iter()
        .map(|middle| offset::grow(&middle.outer, radius))
        .collect();
    let together = boolean::union(&reached);
    let inside = together
        .iter()
        .flat_map(|region| boolean::intersection(&region.outer, within));
    inside.map(|region| area_without(&region.outer, &kept_off)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Figures by hand: trim 10 mm, narrowest strip 6 mm, 3 mm glass.
    fn on_a_sheet(taken: &[[f64; 4]]) -> (f64, f64) {
        let within = &offset::shrink(&Outline::rectangle(100.0, 100.0), 10.0)[0];
        let taken: Vec<Outline> = taken
            .iter()
            .map(|[x, y, width, height]| Outline::rectangle(*width, *height).translated(*x, *y))
            .collect();
        let inner = area_without(within, &taken);
        let rests = wider_than(within, &taken, 6.0);
        (inner - rests, rests)
    }

    #[test]
    fn strips_and_rests_by_hand() {
        let near = |found: (f64, f64), strips: f64, rests: f64| {
            assert!(
                (found.0 - strips).abs() < 1.0 && (found.1 - rests).abs() < 1.0,
                "{found:?}"
            );
        };
        // An empty sheet is all rest; a piece in its corner leaves an L that is wide everywhere.
        near(on_a_sheet(&[]), 0.0, 6400.0);
        near(on_a_sheet(&[[10.0, 10.0, 40.0, 40.0]]), 0.0, 4800.0);
        // Two pieces 6 mm apart that fill the rest: a strip and nothing else.
        near(
            on_a_sheet(&[[10.0, 10.0, 30.0, 80.0], [46.0, 10.0, 44.0, 80.0]]),
            480.0,
            0.0,
        );
        // In the middle, all round as wide as a disc: no strip between sheet and piece.
        near(on_a_sheet(&[[30.0, 30.0, 40.0, 40.0]]), 0.0, 4800.0);
        // Two in the middle, 6 mm apart: the strip is between them alone.
        near(
            on_a_sheet(&[[25.0, 25.0, 22.0, 50.0], [53.0, 25.0, 22.0, 50.0]]),
            300.0,
            3900.0,
        );
    }
}
