//! One glass laid in straight runs: pieces in straight-sided blanks that share their scores.

use super::effort::Budget;
use super::glass::{GlassPlanner, SPARES, Way};
use super::pull::{Compact, LayoutMethod, Selection, Start};
use cullet_breakout::Style;
use cullet_nest::Filling;
use cullet_search::{Effort, Placed, Problem};
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

impl GlassPlanner<'_> {
    /// Pieces in straight-sided blanks that share their scores, going on from what is known.
    pub(super) fn straight(
        &self,
        mut problem: Problem,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
        start: &mut Start,
    ) -> Way {
        problem.clearance = self.job.score_kerf;
        let budget = Budget::new(effort, cancel);
        let lay = |problem: &Problem, effort: Effort| {
            let (before, compact) = (budget.spent(), Compact::of(problem));
            let laying = cullet_guillotine::lay(&compact.problem, self.rule(), effort, cancel, &|_, _| {
                report(budget.spent().max(before), "laying out in straight runs");
            });
            Filling {
                placed: compact.outwards(&laying.placed),
                left: laying.left,
                cost: laying.cost,
                spent: laying.spent,
            }
        };
        let from_nothing = |problem: &Problem, _: &[Placed], effort: Effort| lay(problem, effort);
        let method = LayoutMethod {
            budget: &budget,
            pieces: &|item| vec![item],
            lay: &lay,
            go_on: &from_nothing,
            draw: &|_, _, _| vec![],
            layouts: &|placed| self.in_runs(placed),
        };
        let found = self.choose(&problem, &method, start);
        start.before = Some(found.clone());
        let may_have_spares = |i: usize| problem.items[i].count > 0;
        let again = |problem: &Problem, found: Selection| {
            if budget.is_late() {
                return found;
            }
            let effort = budget.allot(1.0 - budget.spent(), 0);
            let filling = lay(problem, effort);
            let better = self.found(problem, filling.placed, &method);
            if better.worth < found.worth { better } else { found }
        };
        let (narrowed, topped) = self.with_spares(&problem, found, &may_have_spares, 2.0 * SPARES, &method);
        let found = again(&narrowed, topped);
        let (layouts, mut held) = self.in_runs(&found.placed);
        let layouts = self.mended(layouts, &mut held, &|| budget.is_late() || cancel.load(Relaxed));
        self.way(Style::StraightRun, layouts, held)
    }
}
