//! Layouts that do not come apart are laid differently.
//!
//! Pieces that hold each other are given room round them, so that a score finds a gentle way between them: first beside the
//! others where these lie, else with everything laid again. What comes apart is drawn together, and looked at again on the way.
//! Where no room helps, pieces are taken off the sheet until it comes apart, and find a place on glass that was not pulled yet;
//! what finds none is named.

use super::abut::Abutted;
use super::breaking::Known;
use super::effort::{for_repairs, fraction};
use super::glass::GlassPlanner;
use super::pull::{Compact, LayoutMethod};
use cullet_geometry::offset;
use cullet_model::Layout;
use cullet_nest::Filling;
use cullet_search::{Effort, Placed, Problem};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

/// Times that pieces are given more room, and times once the seconds are gone.
const MOST_REPAIRS: usize = 8;
const MOST_LATE: usize = 3;
/// Of the pieces that hold each other the smallest get room, one in so many: all at once would spread out over the sheet. Once
/// the seconds are gone all get it.
const SMALLEST: usize = 3;
/// Share of the effort that laying differently takes each time.
const REPAIR: f64 = 0.1;
/// Share with which it is tried first: often there is room at once, and searching on would only find other places.
const LEAST_REPAIR: f64 = 0.01;
/// Parts of what is left of the effort after which a sheet drawn together is asked again whether it comes apart.
const DRAWN: [f64; 4] = [0.4, 0.5, 0.6, 1.0];
/// Room given round a piece each time, in narrowest strips, and at least, mm.
const ROOM: (f64, f64) = (0.5, 3.0);
/// Room round pieces that get glass to themselves, in narrowest strips.
const OWN_ROOM: f64 = 2.0;

/// Items where they lie, some with room round them.
#[derive(Clone)]
struct Roomy {
    /// The items, those with room behind the others.
    problem: Problem,
    /// Which item each of them is without its room.
    origin: Vec<usize>,
    placed: Vec<Placed>,
}

impl Roomy {
    fn new(problem: &Problem, placed: &[Placed]) -> Self {
        let mut problem = problem.clone();
        for (i, item) in problem.items.iter_mut().enumerate() {
            item.count = placed.iter().filter(|p| p.item == i).count() as u32;
        }
        Self {
            origin: (0..problem.items.len()).collect(),
            problem,
            placed: placed.to_vec(),
        }
    }

    /// Every piece by itself, and which of the placed items it is in.
    fn pieces(&self, pairs: Option<&Abutted>) -> (Vec<Placed>, Vec<usize>) {
        let (mut pieces, mut owners) = (vec![], vec![]);
        for (k, placed) in self.placed.iter().enumerate() {
            let item = Placed {
                item: self.origin[placed.item],
                ..*placed
            };
            let own = pairs.map_or_else(|| vec![item], |p| p.parted(&[item]));
            owners.extend(own.iter().map(|_| k));
            pieces.extend(own);
        }
        (pieces, owners)
    }

    /// The problem with no glass but what `placed` lies on.
    fn on_glass_of(&self, placed: &[Placed]) -> Problem {
        let used: BTreeSet<usize> = placed.iter().map(|p| p.container).collect();
        let mut narrowed = self.problem.clone();
        for item in &mut narrowed.items {
            let may = |c: usize| item.allowed.is_empty() || item.allowed[c];
            item.allowed = (0..narrowed.containers.len())
                .map(|c| may(c) && used.contains(&c))
                .collect();
        }
        narrowed
    }

    /// The smallest of some placed items, a third of them.
    fn smallest(&self, some: BTreeSet<usize>) -> BTreeSet<usize> {
        let mut some: Vec<usize> = some.into_iter().collect();
        let area = |k: &usize| self.problem.items[self.placed[*k].item].outline.area();
        some.sort_by(|a, b| area(a).total_cmp(&area(b)));
        some.truncate(some.len().div_ceil(SMALLEST));
        some.into_iter().collect()
    }

    /// The same problem with more room round some of the placed items, and what of the layout stays.
    fn with_room(&self, tight: &BTreeSet<usize>, room: f64) -> Self {
        let mut next = self.clone();
        for k in tight {
            let item = self.placed[*k].item;
            let mut roomy = self.problem.items[item].clone();
            // A piece that hooks into another lies in a straight-sided blank: with room round its own outline only it hooks in again.
            roomy.outline = offset::grow(&roomy.outline.convex_hull(), room);
            roomy.count = 1;
            next.problem.items[item].count -= 1;
            next.problem.items.push(roomy);
            next.origin.push(self.origin[item]);
        }
        let stays = self.placed.iter().enumerate().filter(|(k, _)| !tight.contains(k));
        next.placed = stays.map(|(_, p)| *p).collect();
        next
    }
}

/// One way to lay things differently.
type Lay<'f> = &'f dyn Fn(&Compact, Effort) -> Filling;

/// Laying a glass so that it comes apart.
pub(super) struct Opening<'o> {
    pub(super) work: &'o GlassPlanner<'o>,
    pub(super) pairs: Option<&'o Abutted>,
    /// That of the whole way.
    pub(super) effort: Effort,
    pub(super) method: &'o LayoutMethod<'o>,
    /// Whether nothing is laid where the sheets do not come apart.
    pub(super) may_give_up: bool,
    pub(super) cancel: &'o AtomicBool,
    pub(super) report: &'o (dyn Fn(f64, &str) + Sync),
}

impl Opening<'_> {
    /// The layouts with their breaking orders, the last sheet drawn together, and how many of each piece had to be left out for
    /// want of an order. `problem` has the items that are `placed`, pairs among them.
    ///
    /// What does not come apart is laid differently before it is drawn together, so that the effort goes into a layout that
    /// can be had; drawn together it is asked again, a few times on the way.
    pub(super) fn broken(&self, problem: &Problem, placed: &[Placed]) -> (Vec<Layout>, Vec<u32>) {
        let mut known = Known::default();
        let laid = Roomy::new(problem, placed);
        match self.opened(laid, &mut known) {
            Ok(laid) => {
                let pieces = self.drawn(laid, &mut known).pieces(self.pairs).0;
                let layouts = self.work.ordered(&pieces, &mut known).unwrap_or_default();
                (layouts, vec![0; self.work.pieces.len()])
            }
            Err(laid) if self.may_give_up => (vec![], self.work.counted(&laid.pieces(self.pairs).0)),
            Err(laid) => self.work.thinned(
                laid.pieces(self.pairs).0,
                problem,
                for_repairs(self.effort),
                &|| self.method.budget.is_late() || self.cancel.load(Relaxed),
                self.cancel,
                &mut known,
            ),
        }
    }

    /// The same pieces with room round those that hold each other, until all come apart; else the last try.
    fn opened(&self, mut laid: Roomy, known: &mut Known) -> Result<Roomy, Roomy> {
        let room = (ROOM.0 * self.work.glass.narrowest_strip).max(ROOM.1);
        for turn in 0..MOST_REPAIRS {
            let (pieces, owners) = laid.pieces(self.pairs);
            let Err(held) = self.work.ordered(&pieces, known) else {
                return Ok(laid);
            };
            let is_late = self.method.budget.is_late();
            if is_late && turn >= MOST_LATE {
                return Err(laid);
            }
            let tight: BTreeSet<usize> = held.into_iter().map(|i| owners[i]).collect();
            let tight = if is_late { tight } else { laid.smallest(tight) };
            let roomy = laid.with_room(&tight, room);
            let Some(next) = self.laid_differently(&roomy, &roomy.on_glass_of(&laid.placed)) else {
                return Err(laid);
            };
            laid = next;
        }
        Err(laid)
    }

    /// The last sheet drawn together, as far as it still comes apart.
    fn drawn(&self, laid: Roomy, known: &mut Known) -> Roomy {
        let worth = |laid: &Roomy| {
            self.laying(laid, &|method| {
                self.work.found(&laid.problem, laid.placed.clone(), method).worth
            })
        };
        let mut best = (worth(&laid), laid.clone());
        let mut current = laid;
        for part in DRAWN {
            if self.method.budget.is_late() || self.method.budget.spent() >= 1.0 {
                break;
            }
            let until = self.method.budget.spent() + part * (1.0 - self.method.budget.spent());
            let drawn = self.drawn_once(&current, until);
            let Ok(opened) = self.opened(drawn, known) else {
                continue;
            };
            let now = worth(&opened);
            if now < best.0 {
                best = (now, opened.clone());
            }
            // Where room had to be made the next drawing together starts from more, but with the room.
            current = opened;
        }
        best.1
    }

    /// Does something with the hand that knows the items of `laid` as the pieces in them.
    fn laying<T>(&self, laid: &Roomy, what: &dyn Fn(&LayoutMethod) -> T) -> T {
        let layouts = |placed: &[Placed]| {
            let laid = Roomy {
                placed: placed.to_vec(),
                ..laid.clone()
            };
            let pieces = laid.pieces(self.pairs).0;
            (self.work.layouts(&pieces), vec![0; self.work.pieces.len()])
        };
        what(&LayoutMethod {
            pieces: &|item| (self.method.pieces)(laid.origin[item]),
            layouts: &layouts,
            ..*self.method
        })
    }

    /// The last sheet drawn together until so much of the budget is spent.
    fn drawn_once(&self, laid: &Roomy, until: f64) -> Roomy {
        let narrowed = laid.on_glass_of(&laid.placed);
        let found = self.laying(laid, &|method| {
            let start = self.work.found(&narrowed, laid.placed.clone(), method);
            self.work
                .draw_together(&narrowed, start, until, method, self.cancel, self.report)
        });
        Roomy {
            placed: found.placed,
            ..laid.clone()
        }
    }

    /// What laying differently may take: of the budget, or a little on top where that is empty.
    fn effort_of_repair(&self, share: f64, turn: u64) -> Effort {
        if self.method.budget.spent() + share < 1.0 {
            self.method.budget.allot(share, turn)
        } else {
            fraction(for_repairs(self.effort), share)
        }
    }

    /// The items of `laid` that lie nowhere laid beside the others, else all of them laid again, if that is enough on the glass
    /// `of`, which is pulled already. Nothing where all this is in vain.
    fn laid_differently(&self, laid: &Roomy, of: &Problem) -> Option<Roomy> {
        let beside = |problem: &Compact, effort| {
            cullet_nest::top_up(
                &problem.problem,
                &self.work.shapes,
                &problem.inwards(&laid.placed),
                effort,
                self.cancel,
                &|_| {},
            )
        };
        let again = |problem: &Compact, effort| {
            cullet_nest::fill(&problem.problem, &self.work.shapes, effort, self.cancel, &|_, _| {})
        };
        let ways: [(&Problem, Lay, f64); 4] = [
            (of, &beside, LEAST_REPAIR),
            (of, &beside, REPAIR),
            (of, &again, REPAIR),
            (&laid.problem, &again, REPAIR),
        ];
        for (turn, (problem, lay, share)) in (0..).zip(ways) {
            let compact = Compact::of(problem);
            let effort = self.effort_of_repair(share, turn);
            let filling = lay(&compact, effort);
            self.method.budget.charge(effort, filling.spent);
            if filling.left.iter().all(|left| *left == 0) {
                return Some(Roomy {
                    placed: compact.outwards(&filling.placed),
                    ..laid.clone()
                });
            }
        }
        None
    }
}

impl GlassPlanner<'_> {
    /// How many of each piece are placed.
    fn counted(&self, placed: &[Placed]) -> Vec<u32> {
        let mut counts = vec![0; self.pieces.len()];
        placed.iter().for_each(|p| counts[p.item] += 1);
        counts
    }

    /// Takes pieces off sheets that do not come apart, the smallest of those that hold each other first, until they do; those
    /// get glass that was not pulled yet. Where it `is_late` ever more of them go at once.
    fn thinned(
        &self,
        mut placed: Vec<Placed>,
        problem: &Problem,
        effort: Effort,
        is_late: &dyn Fn() -> bool,
        cancel: &AtomicBool,
        known: &mut Known,
    ) -> (Vec<Layout>, Vec<u32>) {
        let mut held = vec![0u32; self.pieces.len()];
        let mut at_once = 1;
        let layouts = loop {
            match self.ordered(&placed, known) {
                Ok(layouts) => break layouts,
                Err(mut blocking) => {
                    if blocking.is_empty() {
                        return (vec![], held);
                    }
                    let area = |i: &usize| self.pieces[placed[*i].item].cut.area();
                    blocking.sort_by(|a, b| area(a).total_cmp(&area(b)).then(a.cmp(b)));
                    blocking.truncate(at_once);
                    blocking.sort_unstable();
                    for at in blocking.into_iter().rev() {
                        held[placed.remove(at).item] += 1;
                    }
                    at_once *= if is_late() { 2 } else { 1 };
                }
            }
        };
        if held.iter().all(|n| *n == 0) {
            return (layouts, held);
        }
        let used: BTreeSet<usize> = placed.iter().map(|p| p.container).collect();
        let mut apart = problem.clone();
        apart.items.truncate(self.pieces.len());
        for (i, item) in apart.items.iter_mut().enumerate() {
            item.count = held[i];
            item.outline = offset::grow(&item.outline.convex_hull(), OWN_ROOM * self.glass.narrowest_strip);
            let may = |c: usize| item.allowed.is_empty() || item.allowed[c];
            item.allowed = (0..self.candidates.len())
                .map(|c| may(c) && !used.contains(&c))
                .collect();
        }
        let compact = Compact::of(&apart);
        let filled = cullet_nest::fill(
            &compact.problem,
            &self.shapes,
            fraction(effort, REPAIR),
            cancel,
            &|_, _| {},
        );
        let with: Vec<Placed> = placed.into_iter().chain(compact.outwards(&filled.placed)).collect();
        match self.ordered(&with, known) {
            Ok(layouts) => (layouts, filled.left),
            Err(_) => (layouts, held),
        }
    }
}
