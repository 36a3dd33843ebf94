//! The last look at a layout: what the verifier would refuse is mended, so that no plan is lost for one sheet.

use super::glass::GlassPlanner;
use cullet_breakout::Style;
use cullet_model::Layout;
use cullet_verify as verify;
use rayon::prelude::*;

/// Pieces that are taken off a sheet one by one before it is more than one at a time.
const ONE_BY_ONE: u32 = 3;

impl GlassPlanner<'_> {
    /// The layouts that the verifier passes, and all others mended: broken anew, then without offcuts, then without the smallest
    /// of the pieces at fault, until they pass. Where it `is_late` all those at fault go at once. Pieces taken off are added to `held`.
    pub(super) fn mended(
        &self,
        layouts: Vec<Layout>,
        held: &mut [u32],
        is_late: &(dyn Fn() -> bool + Sync),
    ) -> Vec<Layout> {
        let each: Vec<(Option<Layout>, Vec<usize>)> =
            layouts.into_par_iter().map(|l| self.passing(l, is_late)).collect();
        each.iter()
            .flat_map(|(_, gone)| gone)
            .for_each(|piece| held[*piece] += 1);
        each.into_iter().filter_map(|(layout, _)| layout).collect()
    }

    /// A layout that passes, and the pieces taken off it.
    fn passing(&self, mut layout: Layout, is_late: &(dyn Fn() -> bool + Sync)) -> (Option<Layout>, Vec<usize>) {
        let mut taken_off = vec![];
        let mut at_fault = if layout.breaking.steps.is_empty() {
            self.broken_anew(&mut layout)
        } else {
            verify::wrong(&layout, self.job)
        };
        if at_fault.is_some() && layout.style == Style::Shaped && !layout.returned.is_empty() {
            layout.returned.clear();
            at_fault = self.broken_anew(&mut layout);
        }
        // One at first, then ever more together, since each time the whole sheet is broken anew.
        let mut tries = 0_u32;
        while let Some(wrong) = at_fault {
            let some = 1 << tries.saturating_sub(ONE_BY_ONE).min(16);
            let most = if is_late() { wrong.len().max(some) } else { some };
            for at in self.smallest_of(&layout, &wrong, most) {
                taken_off.extend(self.piece_of(&layout.placements.remove(at)));
            }
            if layout.placements.is_empty() {
                return (None, taken_off);
            }
            tries += 1;
            at_fault = self.broken_anew(&mut layout);
        }
        (Some(layout), taken_off)
    }

    /// Works out anew how a layout comes apart, in its own style; which placements are wrong with it then.
    fn broken_anew(&self, layout: &mut Layout) -> Option<Vec<usize>> {
        let found = match layout.style {
            Style::Shaped => self
                .order(layout)
                .map(|breaking| layout.breaking = breaking)
                .map_err(|u| u.pieces),
            Style::StraightRun => self.run_down(layout),
        };
        match found {
            Ok(()) => verify::wrong(layout, self.job),
            Err(placements) => Some(placements),
        }
    }

    /// The placements of up to `most` of the smallest pieces among `some`, or among all where there are none; the last first.
    fn smallest_of(&self, layout: &Layout, some: &[usize], most: usize) -> Vec<usize> {
        let all: Vec<usize> = (0..layout.placements.len()).collect();
        let mut among = if some.is_empty() { all } else { some.to_vec() };
        let area = |i: &usize| {
            let piece = self.piece_of(&layout.placements[*i]);
            piece.map_or(0.0, |piece| self.pieces[piece].cut.area())
        };
        among.sort_by(|a, b| area(a).total_cmp(&area(b)).then(a.cmp(b)));
        among.truncate(most);
        among.sort_unstable_by(|a, b| b.cmp(a));
        among.dedup();
        among
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_breakout::Breaking;
    use cullet_geometry::Pose;
    use cullet_model::Placement;
    use cullet_model::figures::Accounts;
    use cullet_testkit::plan as sample;

    /// Two pieces over each other and one apart: the sheet is not lost, the smaller of the two is taken off and counted.
    #[test]
    fn a_sheet_that_fails_loses_what_is_at_fault_and_no_more() {
        let (job, stock) = (sample::job(), sample::stock());
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        let at = |piece: usize, x: f64, y: f64| Placement {
            id: work.pieces[piece].id.clone(),
            copy: 1,
            spare: false,
            pose: Pose { x, y, ..Pose::IDENTITY },
        };
        // The square of B and the border of A.
        let (large, small) = (2, 0);
        assert!(work.pieces[large].cut.area() > work.pieces[small].cut.area());
        let bounds = |i: usize| work.pieces[i].cut.bounds().min;
        let on = |i: usize, x: f64, y: f64| at(i, x - bounds(i).x, y - bounds(i).y);
        let candidate = work.candidates.iter().find(|c| c.item.tag == "S1").expect("a sheet");
        let layout = work.layout(candidate, vec![on(large, 60.0, 60.0), on(small, 70.0, 70.0)]);
        assert_eq!(layout.breaking, Breaking { steps: vec![] });
        let mut held = vec![0; work.pieces.len()];
        let mended = work.mended(vec![layout], &mut held, &|| false);
        let left: Vec<_> = mended
            .iter()
            .flat_map(|l| &l.placements)
            .map(|p| p.id.clone())
            .collect();
        assert_eq!(left, vec![work.pieces[large].id.clone()]);
        assert_eq!((held[large], held[small]), (0, 1));
        assert_eq!(verify::wrong(&mended[0], &job), None);
    }
}
