//! The last sheet drawn together, so that one straight run returns a clean offcut.

use super::effort::fraction;
use super::glass::GlassPlanner;
use super::pull::{Compact, LayoutMethod, Selection};
use cullet_nest::Axis;
use cullet_rack::StockKind;
use cullet_search::{Effort, Placed, Problem};
use std::sync::atomic::AtomicBool;

/// Share of what is left of the effort that shows, each way, which is the better direction.
const PROBE: f64 = 0.06;

impl GlassPlanner<'_> {
    /// Draws the pieces of the emptiest sheet together until so much of the budget is spent: first a little in both directions,
    /// then in the one that returns more.
    pub(super) fn draw_together(
        &self,
        problem: &Problem,
        start: Selection,
        until: f64,
        method: &LayoutMethod,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Selection {
        let budget = method.budget;
        let Some(last) = self.emptiest(problem, &start.placed).filter(|_| !budget.is_late()) else {
            return start;
        };
        let from = budget.spent();
        let draw = |placed: &[Placed], axis: Axis, share: f64| {
            let (effort, before) = (budget.allot(share, 0), budget.spent());
            let drawn = self.shortened(problem, (last, axis), placed, effort, cancel, &|part| {
                report(before + share * part, "closing up the last sheet");
            });
            budget.charge(effort, 1.0);
            self.found(problem, drawn, method)
        };
        let long = self.long_axis(last);
        let other = if long == Axis::Up { Axis::Across } else { Axis::Up };
        let probe = PROBE * (until - from).max(0.0);
        let (along, across) = (draw(&start.placed, long, probe), draw(&start.placed, other, probe));
        let (axis, begun) = if across.worth < along.worth {
            (other, across)
        } else {
            (long, along)
        };
        let done = draw(&begun.placed, axis, (until - budget.spent()).max(0.0));
        [start, begun]
            .into_iter()
            .fold(done, |best, f| if f.worth < best.worth { f } else { best })
    }

    /// Draws the emptiest sheet together, in both directions with half of the effort each; both layouts come back.
    pub(super) fn draw_briefly(
        &self,
        problem: &Problem,
        placed: &[Placed],
        effort: Effort,
        cancel: &AtomicBool,
    ) -> Vec<Vec<Placed>> {
        let Some(last) = self.emptiest(problem, placed) else {
            return vec![];
        };
        let half = fraction(effort, 0.5);
        let draw = |axis| self.shortened(problem, (last, axis), placed, half, cancel, &|_| {});
        [Axis::Across, Axis::Up].into_iter().map(draw).collect()
    }

    fn long_axis(&self, container: usize) -> Axis {
        let bounds = self.candidates[container].container.outline.bounds();
        if bounds.width() >= bounds.height() {
            Axis::Across
        } else {
            Axis::Up
        }
    }

    /// The sheet or offcut with the largest share of unused glass, a sheet where they are alike.
    fn emptiest(&self, problem: &Problem, placed: &[Placed]) -> Option<usize> {
        let filled = |c: usize| {
            let used: f64 = placed
                .iter()
                .filter(|p| p.container == c)
                .map(|p| problem.items[p.item].outline.area())
                .sum();
            used / self.candidates[c].container.outline.area()
        };
        let mut used: Vec<usize> = placed.iter().map(|p| p.container).collect();
        used.sort_unstable();
        used.dedup();
        let offcut = |c: &usize| self.candidates[*c].item.kind == StockKind::Offcut;
        used.into_iter()
            .min_by(|a, b| filled(*a).total_cmp(&filled(*b)).then(offcut(a).cmp(&offcut(b))))
    }

    /// What is laid with the items drawn away from one end of a container.
    fn shortened(
        &self,
        problem: &Problem,
        (last, axis): (usize, Axis),
        placed: &[Placed],
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64) + Sync),
    ) -> Vec<Placed> {
        let compact = Compact::of(problem);
        let Some(number) = compact.number(last) else {
            return placed.to_vec();
        };
        let inner = compact.inwards(placed);
        let end = (number, axis);
        let drawn = cullet_nest::shorten(&compact.problem, &self.shapes, end, &inner, effort, cancel, report);
        compact.outwards(&drawn)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Pose;
    use cullet_model::figures::Accounts;
    use cullet_testkit::plan as sample;

    /// Of a sheet and an offcut the one that is used less is drawn together.
    #[test]
    fn the_emptiest_is_drawn_together_be_it_an_offcut() {
        let (job, stock) = (sample::job(), sample::stock());
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        let problem = work.problem();
        let of_kind = |kind: StockKind| work.candidates.iter().position(|c| c.item.kind == kind).unwrap();
        let (sheet, offcut) = (of_kind(StockKind::Sheet), of_kind(StockKind::Offcut));
        let filled = |container: usize, share: f64| {
            let glass = work.candidates[container].container.outline.area();
            let count = (share * glass / problem.items[0].outline.area()).ceil();
            let placed = Placed {
                item: 0,
                container,
                pose: Pose::IDENTITY,
            };
            vec![placed; count as usize]
        };
        for (full, empty) in [(sheet, offcut), (offcut, sheet)] {
            let placed = [filled(full, 0.9), filled(empty, 0.01)].concat();
            assert_eq!(work.emptiest(&problem, &placed), Some(empty));
        }
    }
}
