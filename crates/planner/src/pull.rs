//! Which sheets and offcuts are pulled: those of least net cost, which is what is pulled less the credit of what goes back.
//!
//! A first choice comes from filling all the glass on hand, cheapest first. Then sets of glass are tried that could come to
//! less: all of them where they are few, else the neighbours of the best. No set is tried that could not beat the best even if
//! every bit of glass but the pieces came back. The promising ones are tried with little effort, the better half of them with
//! twice that, and so on.

mod compact;
mod sets;
mod trials;
pub(super) use compact::Compact;
use sets::{Kind, members};
use trials::Trial;

use super::effort::Budget;
use super::glass::{CHOOSING, GlassPlanner};
use super::lots;
use crate::objective::Objective;
use cullet_model::Layout;
use cullet_model::figures::Figures;
use cullet_nest::Filling;
use cullet_search::{Effort, Placed, Problem};
use std::collections::{BTreeMap, BTreeSet};

/// The most starts of one set's layout in a pass, and the share of the budget that each is worth at least.
const MOST_STARTS: f64 = 8.0;
const LEAST_START: f64 = 0.01;
/// Money below which a difference is none.
const CENT: f64 = 0.005;
/// Choices of lots tried when a group does not fit its first lot.
const MOST_LOT_CHOICES: usize = 4;

/// Lays a problem's pieces.
type Lay<'f> = &'f dyn Fn(&Problem, Effort) -> Filling;
/// Lays more pieces beside those that lie already, on the same glass.
pub(super) type GoOn<'f> = &'f dyn Fn(&Problem, &[Placed], Effort) -> Filling;
/// Draws what is laid together, in some ways.
type Draw<'f> = &'f dyn Fn(&Problem, &[Placed], Effort) -> Vec<Vec<Placed>>;
/// Layouts of what is laid.
type LayOut<'f> = &'f dyn Fn(&[Placed]) -> (Vec<Layout>, Vec<u32>);

/// How one style lays pieces, and what it may take.
pub(super) struct LayoutMethod<'f> {
    /// The effort of the way, and what is left of it.
    pub(super) budget: &'f Budget<'f>,
    /// The pieces in an item; all of them must come from one lot if one must.
    pub(super) pieces: &'f dyn Fn(usize) -> Vec<usize>,
    /// Lays a problem's pieces.
    pub(super) lay: Lay<'f>,
    /// Looks on, from what is laid, for room for what is not.
    pub(super) go_on: GoOn<'f>,
    /// Draws the last sheet together a little, in some ways; none where laying does that by itself.
    pub(super) draw: Draw<'f>,
    /// The layouts of what is laid, with how many of each piece do not come out.
    pub(super) layouts: LayOut<'f>,
}

/// What laying the pieces on some of the glass came to.
#[derive(Debug, Clone)]
pub(super) struct Selection {
    pub(super) placed: Vec<Placed>,
    /// In which candidates each piece may lie.
    pub(super) allowed: Vec<Vec<bool>>,
    pub(super) worth: Objective,
}

impl Selection {
    /// The candidates that something lies on.
    fn glass(&self) -> Vec<usize> {
        let used: BTreeSet<usize> = self.placed.iter().map(|p| p.container).collect();
        used.into_iter().collect()
    }
}

/// What is known of a glass before it is laid.
#[derive(Debug, Clone)]
pub(super) struct Start {
    /// Share of the effort for choosing glass.
    pub(super) choosing: f64,
    /// What was found in the same way, to go on from.
    pub(super) before: Option<Selection>,
    /// The best that was found in another way: this one may do on the same glass too.
    pub(super) rival: Option<Selection>,
    /// Whether another way lays everything, so that one whose sheets do not come apart is given up.
    pub(super) may_give_up: bool,
}

impl Default for Start {
    fn default() -> Self {
        Self {
            choosing: CHOOSING,
            before: None,
            rival: None,
            may_give_up: false,
        }
    }
}

impl GlassPlanner<'_> {
    /// Lays the pieces on the glass that comes to the least net cost, with a share of the budget; going on from what is
    /// known.
    pub(super) fn choose(&self, problem: &Problem, method: &LayoutMethod, start: &Start) -> Selection {
        let (share, budget) = (start.choosing, method.budget);
        let end = budget.spent() + share;
        let mut best = match (&start.before, self.on_rivals_glass(problem, 0.4 * share, method, start)) {
            (Some(before), Some(there)) if before.worth < there.worth => before.clone(),
            (_, Some(there)) => there,
            (Some(before), None) => before.clone(),
            (None, None) => self.first_choice(problem, 0.6 * share, method),
        };
        let kinds = self.kinds(problem.clearance / 2.0);
        loop {
            let trials = self.trials(problem, &kinds, &best);
            let neighbours_only = trials.1;
            let found = self.try_all(problem, &kinds, trials.0, end, &best, method);
            match found.filter(|f| f.worth < best.worth) {
                Some(better) => best = better,
                None => return best,
            }
            if !neighbours_only || budget.spent() >= end {
                return best;
            }
        }
    }

    /// The pieces on the glass on which another way did better, where all find room there.
    fn on_rivals_glass(
        &self,
        problem: &Problem,
        share: f64,
        method: &LayoutMethod,
        start: &Start,
    ) -> Option<Selection> {
        let is_better = |rival: &&Selection| start.before.as_ref().is_none_or(|before| rival.worth < before.worth);
        let rival = start.rival.as_ref().filter(is_better)?;
        let narrowed = self.narrowed(problem, &rival.glass(), method);
        Some(self.lay_on(&narrowed, share, 1, method)).filter(|there| there.worth.is_whole())
    }

    /// The cheapest glass that holds everything, credit left aside; other lots where a one-lot group does not fit its first.
    fn first_choice(&self, problem: &Problem, share: f64, method: &LayoutMethod) -> Selection {
        let groups = lots::groups(&self.pieces, &self.candidates);
        let tries = groups.iter().map(|g| g.lots.len()).max().unwrap_or(1);
        let mut best: Option<Selection> = None;
        for attempt in 0..tries.clamp(1, MOST_LOT_CHOICES) {
            let mut problem = problem.clone();
            self.bind_to_lots(&mut problem, &groups, attempt, method);
            // Nearly all the effort for the first choice: then a little shows whether another does better.
            let share = if attempt == 0 { 0.8 } else { 0.25 } * share;
            let found = self.lay_on(&problem, share, attempt as u64, method);
            let done = found.worth.is_whole();
            if best.as_ref().is_none_or(|b| found.worth < b.worth) {
                best = Some(found);
            }
            if done {
                break;
            }
        }
        best.unwrap_or_else(|| self.found(problem, vec![], method))
    }

    /// Lays a problem and draws the last sheet together a little, each with about half of `share`.
    pub(super) fn lay_on(&self, problem: &Problem, share: f64, turn: u64, method: &LayoutMethod) -> Selection {
        let budget = method.budget;
        let effort = budget.allot(0.7 * share, turn);
        let filling = (method.lay)(problem, effort);
        budget.charge(effort, filling.spent);
        let mut found = self.found(problem, filling.placed, method);
        if found.worth.is_whole() && !budget.is_late() {
            found = self.drawn_on(problem, found, 0.3 * share, turn, method);
        }
        found
    }

    /// The same from several starts, as far as each is worth it, until one lays everything: on glass that holds the pieces only
    /// just, a search that is stuck stays so, and another start may not be.
    fn lay_afresh(&self, problem: &Problem, share: f64, turn: u64, method: &LayoutMethod) -> Selection {
        let starts = (share / LEAST_START).floor().clamp(1.0, MOST_STARTS);
        let mut best: Option<Selection> = None;
        for start in 0..starts as u64 {
            let found = self.lay_on(problem, share / starts, turn + (start << 8), method);
            if best.as_ref().is_none_or(|b| found.worth < b.worth) {
                best = Some(found);
            }
            if method.budget.over() || best.as_ref().is_some_and(|b| b.worth.is_whole()) {
                break;
            }
        }
        best.unwrap_or_else(|| self.found(problem, vec![], method))
    }

    /// Looks on for room for what found none.
    fn gone_on(&self, problem: &Problem, found: Selection, share: f64, turn: u64, method: &LayoutMethod) -> Selection {
        let effort = method.budget.allot(share, turn);
        let filling = (method.go_on)(problem, &found.placed, effort);
        method.budget.charge(effort, filling.spent);
        let more = self.found(problem, filling.placed, method);
        if more.worth < found.worth { more } else { found }
    }

    /// Draws together what is laid; what was before where that is no better.
    fn drawn_on(&self, problem: &Problem, found: Selection, share: f64, turn: u64, method: &LayoutMethod) -> Selection {
        let effort = method.budget.allot(share, turn);
        let drawn = (method.draw)(problem, &found.placed, effort);
        if !drawn.is_empty() {
            method.budget.charge(effort, 1.0);
        }
        drawn.into_iter().fold(found, |best, placed| {
            let drawn = self.found(problem, placed, method);
            if drawn.worth < best.worth { drawn } else { best }
        })
    }

    /// What `placed` comes to.
    pub(super) fn found(&self, problem: &Problem, placed: Vec<Placed>, method: &LayoutMethod) -> Selection {
        let (layouts, mut missing) = (method.layouts)(&placed);
        for (item, own) in problem.items.iter().enumerate().filter(|(_, item)| item.count > 0) {
            (method.pieces)(item)
                .into_iter()
                .for_each(|piece| missing[piece] += own.count);
        }
        for piece in placed.iter().flat_map(|p| (method.pieces)(p.item)) {
            missing[piece] = missing[piece].saturating_sub(1);
        }
        let missing = missing.iter().zip(&self.pieces);
        let missing: f64 = missing.map(|(n, p)| f64::from(*n) * p.cut.area()).sum();
        let figures = self.figures(&layouts);
        let worth = Objective::of(&layouts, &figures, missing);
        if let Some(live) = self.live {
            live.offer(&worth, &layouts, figures);
        }
        Selection {
            placed,
            allowed: problem.items.iter().map(|i| i.allowed.clone()).collect(),
            worth,
        }
    }

    /// What layouts come to, all together.
    fn figures(&self, layouts: &[Layout]) -> Figures {
        let each: Vec<Figures> = layouts
            .iter()
            .map(|l| self.accounts.layout(&l.stock, &l.placements, &l.returned))
            .collect();
        Figures::sum(each.iter())
    }

    /// Tries sets until the budget is down to `end`: all with little effort, then ever fewer with more.
    fn try_all(
        &self,
        problem: &Problem,
        kinds: &[Kind],
        mut trials: Vec<Trial>,
        end: f64,
        best: &Selection,
        method: &LayoutMethod,
    ) -> Option<Selection> {
        let (price, budget) = (self.glass.price_per_mm2, method.budget);
        let passes = usize::BITS - trials.len().leading_zeros();
        let mut better: Option<Selection> = None;
        for pass in 0..passes {
            let left = (end - budget.spent()).max(0.0);
            let to_beat = better.as_ref().unwrap_or(best).worth;
            let promised: Vec<f64> = trials.iter().map(|trial| trial.promises(&to_beat, price)).collect();
            let all: f64 = promised.iter().sum();
            for (trial, promised) in trials.iter_mut().zip(promised) {
                let share = left / f64::from(passes - pass) * promised / all;
                if budget.spent() >= end || budget.over() {
                    return better;
                }
                let set = members(kinds, &trial.counts);
                let narrowed = self.narrowed(problem, &set, method);
                let turn = u64::from(pass) + 1;
                let found = match trial.found.take() {
                    // Another start may leave a larger offcut than any drawing together of this one.
                    Some(found) if found.worth.is_whole() => {
                        let afresh = self.lay_on(&narrowed, 0.5 * share, turn, method);
                        let found = if afresh.worth < found.worth { afresh } else { found };
                        self.drawn_on(&narrowed, found, 0.5 * share, turn, method)
                    }
                    Some(found) if !found.placed.is_empty() => {
                        let found = self.gone_on(&narrowed, found, 0.5 * share, turn, method);
                        if found.worth.is_whole() {
                            found
                        } else {
                            let afresh = self.lay_afresh(&narrowed, 0.5 * share, turn, method);
                            if afresh.worth < found.worth { afresh } else { found }
                        }
                    }
                    _ => self.lay_afresh(&narrowed, share, turn, method),
                };
                let to_beat = better.as_ref().unwrap_or(best);
                if found.worth < to_beat.worth {
                    better = Some(found.clone());
                }
                trial.found = Some(found);
            }
            let to_beat = &better.as_ref().unwrap_or(best).worth;
            if to_beat.is_whole() {
                trials.retain(|t| t.is_open(to_beat.net));
            }
            trials.sort_by(|a, b| a.standing(price).total_cmp(&b.standing(price)));
            trials.truncate(trials.len().div_ceil(2));
        }
        better
    }

    /// The problem with nothing but the containers of `set` to lie in, and each one-lot group bound to the lot of which the
    /// set has most.
    pub(super) fn narrowed(&self, problem: &Problem, set: &[usize], method: &LayoutMethod) -> Problem {
        let mut narrowed = problem.clone();
        let mut lots: BTreeMap<&str, f64> = BTreeMap::new();
        for c in set {
            *lots.entry(&self.candidates[*c].lot).or_default() += self.candidates[*c].container.outline.area();
        }
        let roomiest = lots.iter().max_by(|a, b| a.1.total_cmp(b.1)).map(|l| *l.0);
        for (i, item) in narrowed.items.iter_mut().enumerate() {
            let is_bound = self.pieces[(method.pieces)(i)[0]].one_lot.is_some();
            let may = |c: usize| {
                let one_lot = !is_bound || Some(self.candidates[c].lot.as_str()) == roomiest;
                set.contains(&c) && one_lot
            };
            item.allowed = (0..self.candidates.len()).map(may).collect();
        }
        narrowed
    }

    fn bind_to_lots(&self, problem: &mut Problem, groups: &[lots::Group], attempt: usize, method: &LayoutMethod) {
        for (i, item) in problem.items.iter_mut().enumerate() {
            let piece = self.pieces[(method.pieces)(i)[0]];
            let group = groups.iter().find(|g| piece.one_lot.as_ref() == Some(&g.name));
            let Some(group) = group.filter(|g| !g.lots.is_empty()) else {
                continue;
            };
            let lot = &group.lots[attempt.min(group.lots.len() - 1)];
            item.allowed = self.candidates.iter().map(|c| c.lot == *lot).collect();
        }
    }
}
