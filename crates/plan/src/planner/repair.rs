//! Layouts that do not come apart are laid differently.
//!
//! Pieces that hold each other are given room round them, so that a score finds a gentle way between them: first beside the
//! others where these lie, else with everything laid again. Where neither helps, pieces are taken off the sheet until it comes
//! apart, and find a place on glass that was not pulled yet; what finds none is named.

use super::abut::Abutted;
use super::breaking::Known;
use super::effort::fraction;
use super::glass::Glasswork;
use super::pull::Compact;
use crate::model::Layout;
use cullet_geometry::offset;
use cullet_nest::{Effort, Placed, Problem};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;

/// Times that pieces are given more room.
const MOST_REPAIRS: usize = 5;
/// Share of the effort that laying differently takes each time, and as much for drawing together.
const REPAIR: f64 = 0.15;
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

    /// The same problem with more room round some of the placed items, and what of the layout stays.
    fn with_room(&self, tight: &BTreeSet<usize>, room: f64) -> Self {
        let mut next = self.clone();
        for k in tight {
            let item = self.placed[*k].item;
            let mut roomy = self.problem.items[item].clone();
            // A piece that hooks into another lies in a straight-sided blank.
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

impl Glasswork<'_> {
    /// The layouts with their breaking orders, and how many of each piece had to be left out for want of one. `problem` has the
    /// items that are `placed`, pairs among them.
    pub(super) fn broken(
        &self,
        problem: &Problem,
        placed: &[Placed],
        pairs: Option<&Abutted>,
        effort: Effort,
        cancel: &AtomicBool,
    ) -> (Vec<Layout>, Vec<u32>) {
        let mut known = Known::default();
        let mut laid = Roomy::new(problem, placed);
        let room = (ROOM.0 * self.glass.narrowest_strip).max(ROOM.1);
        for turn in 0..MOST_REPAIRS {
            let (pieces, owners) = laid.pieces(pairs);
            let Err(held) = self.ordered(&pieces, &mut known) else {
                return (
                    self.redrawn(&laid, turn, pairs, effort, cancel, &mut known),
                    vec![0; self.pieces.len()],
                );
            };
            let tight: BTreeSet<usize> = held.into_iter().map(|i| owners[i]).collect();
            let Some(next) = laid_differently(&laid.with_room(&tight, room), effort, cancel) else {
                break;
            };
            laid = next;
        }
        self.thinned(laid.pieces(pairs).0, problem, effort, cancel, &mut known)
    }

    /// What comes apart, with the last sheet drawn together where pieces were laid differently; the cheapest way that comes
    /// apart.
    fn redrawn(
        &self,
        laid: &Roomy,
        repairs: usize,
        pairs: Option<&Abutted>,
        effort: Effort,
        cancel: &AtomicBool,
        known: &mut Known,
    ) -> Vec<Layout> {
        let mut ways = vec![laid.pieces(pairs).0];
        if repairs > 0 {
            let drawn = self.draw_briefly(&laid.problem, &laid.placed, fraction(effort, REPAIR), cancel);
            ways.extend(
                drawn
                    .into_iter()
                    .map(|placed| Roomy { placed, ..laid.clone() }.pieces(pairs).0),
            );
        }
        ways.sort_by_cached_key(|pieces| (self.net_cost(&self.layouts(pieces)) * 100.0).round() as i64);
        ways.iter()
            .find_map(|pieces| self.ordered(pieces, known).ok())
            .unwrap_or_default()
    }

    /// Takes pieces off sheets that do not come apart, the smallest of those that hold each other first, until they do; those
    /// get glass that was not pulled yet.
    fn thinned(
        &self,
        mut placed: Vec<Placed>,
        problem: &Problem,
        effort: Effort,
        cancel: &AtomicBool,
        known: &mut Known,
    ) -> (Vec<Layout>, Vec<u32>) {
        let mut held = vec![0u32; self.pieces.len()];
        let layouts = loop {
            match self.ordered(&placed, known) {
                Ok(layouts) => break layouts,
                Err(blocking) => {
                    let area = |i: &usize| self.pieces[placed[*i].item].cut.area();
                    let Some(smallest) = blocking.into_iter().min_by(|a, b| area(a).total_cmp(&area(b))) else {
                        return (vec![], held);
                    };
                    held[placed.remove(smallest).item] += 1;
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
        let filled = cullet_nest::fill(&compact.problem, fraction(effort, REPAIR), cancel, &|_, _| {});
        let with: Vec<Placed> = placed.into_iter().chain(compact.outwards(&filled.placed)).collect();
        match self.ordered(&with, known) {
            Ok(layouts) => (layouts, filled.left),
            Err(_) => (layouts, held),
        }
    }
}

/// The items of `laid` that lie nowhere laid beside the others, else all of them laid again; nothing where that is in vain.
fn laid_differently(laid: &Roomy, effort: Effort, cancel: &AtomicBool) -> Option<Roomy> {
    let compact = Compact::of(&laid.problem);
    let beside = cullet_nest::top_up(
        &compact.problem,
        &compact.inwards(&laid.placed),
        fraction(effort, REPAIR),
        cancel,
        &|_| {},
    );
    let is_whole = |left: &[u32]| left.iter().all(|left| *left == 0);
    let filling = if is_whole(&beside.left) {
        beside
    } else {
        cullet_nest::fill(&compact.problem, fraction(effort, REPAIR), cancel, &|_, _| {})
    };
    is_whole(&filling.left).then(|| Roomy {
        placed: compact.outwards(&filling.placed),
        ..laid.clone()
    })
}
