//! One glass laid freely: pieces a narrowest strip apart, in pairs and blocks where a shared score saves glass.

use super::abut::Abutted;
use super::effort::{Budget, of_rest};
use super::glass::{GlassPlanner, SPARES, Way};
use super::pull::{Compact, LayoutMethod, Selection, Start};
use super::repair::Opening;
use cullet_breakout::Style;
use cullet_nest::Filling;
use cullet_search::{Clock, Effort, Placed, Problem};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

/// Share of what is left of the effort, once glass is chosen and spares have found room, for laying pieces singly whose pairs are
/// too large for the glass chosen.
const SINGLY: f64 = 0.3;

/// How often blocks that find no room are let go, and the share of what is left of the effort for laying them before.
const MOST_LET_GO: usize = 6;
const LET_GO: f64 = 0.25;

impl GlassPlanner<'_> {
    /// Each piece by itself, or in `pairs` with equal straight edges; singly once more where pairs do not all find room.
    pub(super) fn single_or_paired(
        &self,
        problem: &Problem,
        pairs: Option<&Abutted>,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
        start: &mut Start,
    ) -> Way {
        let began = Clock::start();
        let way = self.nested(problem, pairs, effort, cancel, report, start);
        let missing = |way: &Way| way.missing.iter().sum::<u32>();
        if pairs.is_none() || missing(&way) == 0 {
            return way;
        }
        // Singly they may find room.
        let rest = of_rest(effort, began, 1.0, 1.0);
        let mut afresh = Start {
            may_give_up: start.may_give_up,
            ..Start::default()
        };
        let singly = self.nested(problem, None, rest, cancel, report, &mut afresh);
        if missing(&singly) < missing(&way) { singly } else { way }
    }

    /// Pieces a narrowest strip apart, each with an outline score of its own, but for those that lie in `pairs` or blocks,
    /// going on from what is known.
    pub(super) fn nested(
        &self,
        problem: &Problem,
        pairs: Option<&Abutted>,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
        start: &mut Start,
    ) -> Way {
        let budget = Budget::new(effort, cancel);
        let lay = |problem: &Problem, effort: Effort| {
            report(budget.spent(), "choosing glass");
            self.filled(problem, pairs, effort, cancel)
        };
        let draw =
            |problem: &Problem, placed: &[Placed], effort: Effort| self.draw_briefly(problem, placed, effort, cancel);
        let go_on = |problem: &Problem, placed: &[Placed], effort: Effort| {
            report(budget.spent(), "finding room for what has none");
            let wanted = pairs.map_or_else(|| problem.clone(), |p| p.as_placed(problem, placed));
            let compact = Compact::of(&wanted);
            let laid = compact.inwards(placed);
            let filling = cullet_nest::top_up(&compact.problem, &self.shapes, &laid, effort, cancel, &|_| {});
            Filling {
                placed: compact.outwards(&filling.placed),
                ..filling
            }
        };
        let parted = |placed: &[Placed]| pairs.map_or_else(|| placed.to_vec(), |p| p.parted(placed));
        let piece = |item: usize| pairs.map_or(item, |p| p.piece(item));
        let method = LayoutMethod {
            budget: &budget,
            pieces: &|item| pairs.map_or_else(|| vec![item], |p| p.pieces(item)),
            lay: &lay,
            go_on: &go_on,
            draw: &draw,
            layouts: &|placed| (self.layouts(&parted(placed)), vec![0; self.pieces.len()]),
        };
        let items = pairs.map_or(problem, |p| &p.problem);
        let found = self.choose(items, &method, start);
        start.before = Some(found.clone());
        let items = &pairs.map_or_else(|| items.clone(), |p| p.as_placed(items, &found.placed));
        let may_have_spares = |i: usize| problem.items[i].count > 0;
        let (narrowed, found) = self.with_spares(items, found, &may_have_spares, SPARES, &method);
        let too_large = pairs.filter(|p| found.worth.is_whole() && !budget.is_late() && p.are_too_large(&found.placed));
        let (narrowed, found) = match too_large {
            Some(pairs) => self.laid_singly(pairs, narrowed, found, &method),
            None => (narrowed, found),
        };
        let (layouts, mut held) = if self.is_batch {
            let found = self.draw_together(&narrowed, found, 1.0, &method, cancel, report);
            (self.layouts(&parted(&found.placed)), vec![0; self.pieces.len()])
        } else {
            let opening = Opening {
                work: self,
                pairs,
                effort,
                method: &method,
                may_give_up: start.may_give_up,
                cancel,
                report,
            };
            opening.broken(&self.on_any_glass(narrowed, &found, &piece), &found.placed)
        };
        let layouts = self.mended(layouts, &mut held, &|| budget.is_late() || cancel.load(Relaxed));
        self.way(Style::Shaped, layouts, held)
    }

    /// Lays all that it can; blocks that find no room are let go, and what was in them is laid with the others.
    fn filled(&self, problem: &Problem, pairs: Option<&Abutted>, effort: Effort, cancel: &AtomicBool) -> Filling {
        let began = Clock::start();
        let mut compact = Compact::of(problem);
        let lay = |problem: &Problem, share: f64, of_rest_share: f64| {
            let own = of_rest(effort, began, share, of_rest_share);
            cullet_nest::fill(problem, &self.shapes, own, cancel, &|_, _| {})
        };
        let mut spent = 0.0;
        let turns = if pairs.is_some() { MOST_LET_GO } else { 0 };
        for _ in 0..turns {
            let share = LET_GO * (1.0 - spent);
            let filling = lay(&compact.problem, share, LET_GO);
            spent += share * filling.spent;
            if filling.left.iter().all(|left| *left == 0) {
                return Filling {
                    placed: compact.outwards(&filling.placed),
                    spent,
                    ..filling
                };
            }
            if !pairs.is_some_and(|p| p.let_go(&mut compact.problem, &filling.left)) {
                break;
            }
        }
        let filling = lay(&compact.problem, 1.0 - spent, 1.0);
        Filling {
            placed: compact.outwards(&filling.placed),
            spent: spent + (1.0 - spent) * filling.spent,
            ..filling
        }
    }

    /// The problem with all glass to lie in again, of groups all of the lot that they are bound to.
    fn on_any_glass(&self, mut problem: Problem, found: &Selection, piece: &dyn Fn(usize) -> usize) -> Problem {
        for (i, item) in problem.items.iter_mut().enumerate() {
            item.allowed.clear();
            if self.pieces[piece(i)].one_lot.is_some() {
                let bound = self.candidates.iter().zip(&found.allowed[i]).filter(|(_, may)| **may);
                let lots: BTreeSet<&str> = bound.map(|(c, _)| c.lot.as_str()).collect();
                item.allowed = self.candidates.iter().map(|c| lots.contains(c.lot.as_str())).collect();
            }
        }
        problem
    }

    /// The pieces singly on the glass chosen with pairs, where that comes to less.
    fn laid_singly(
        &self,
        pairs: &Abutted,
        problem: Problem,
        found: Selection,
        method: &LayoutMethod,
    ) -> (Problem, Selection) {
        let singly = pairs.singly(&problem, &found.placed);
        let other = self.lay_on(&singly, SINGLY * (1.0 - method.budget.spent()), 0, method);
        if other.worth < found.worth {
            (singly, other)
        } else {
            (problem, found)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::objective::Objective;
    use cullet_model::figures::{Accounts, Figures};
    use cullet_testkit::plan as sample;

    /// The border pieces lie on the first of two sheets of one lot: laid differently they may lie on the other one too, but not on the
    /// offcut, which is of another lot. The square may lie anywhere.
    #[test]
    fn a_group_looks_for_room_in_all_of_its_lot_and_nowhere_else() {
        let (job, stock) = (sample::job(), sample::stock());
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        let lots: Vec<&str> = work
            .candidates
            .iter()
            .map(|c| c.item.lot.as_deref().unwrap_or(""))
            .collect();
        let first = lots.iter().position(|lot| *lot == "L1").expect("a sheet of L1");
        let mut problem = work.problem();
        for item in &mut problem.items {
            item.allowed = (0..lots.len()).map(|c| c == first).collect();
        }
        let found = Selection {
            placed: vec![],
            allowed: problem.items.iter().map(|item| item.allowed.clone()).collect(),
            worth: Objective::of(&[], &Figures::sum([].iter()), 0.0),
        };
        let anywhere = work.on_any_glass(problem, &found, &|item| item);
        let of_lot: Vec<bool> = lots.iter().map(|lot| *lot == "L1").collect();
        assert!(of_lot.iter().filter(|is| **is).count() > 1 && of_lot.contains(&false));
        for (piece, item) in work.pieces.iter().zip(&anywhere.items) {
            let expected = if piece.one_lot.is_some() {
                of_lot.clone()
            } else {
                vec![]
            };
            assert_eq!(item.allowed, expected, "{}", piece.id);
        }
        assert!(work.pieces.iter().any(|piece| piece.one_lot.is_some()));
    }
}
