//! Straight-run layouts (guillotine cutting): every break is one straight run from edge to edge of the glass in hand, at any angle.
//!
//! # What it is for
//! [`lay`] searches: each piece lies in a straight-sided convex blank ([`blank_for`]), and blanks share scores. [`runs()`] turns the
//! blanks that lie on one sheet into its breaking order, and [`with_pieces`] adds the breaks that free each piece from its
//! blank. The first two share nothing but geometry, so that the second is a check
//! of the first.
//!
//! # Units and axes
//! Millimetres and degrees, y up, in the container's frame.
//!
//! # What it must not know
//! Stock, prices other than a number per container, files, the other search.
//!
//! # How the search works
//! A part of glass is convex. A blank is laid with a side along a side of its part and slid to an end; runs along its other
//! sides part the rest, which is filled in turn (`fit`). Blanks are first put together to larger ones: pairs, rows of
//! equals, and whole assemblies along sides that match (`catalogue`). Then regions are taken apart and filled again,
//! containers given up, ends drawn in (`search`). Containers with inside corners or flaws are first opened by runs that
//! make every part convex and clear of flaws (`open`).
//!
//! # Reading
//! Han, Bennell, Zhao & Song 2013; Martinez-Sykora et al. 2015 (guillotine cuts at any angle); Schrimpf et al. 2000 (taking
//! apart and rebuilding).

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

mod blank;
mod catalogue;
mod convex;
mod fit;
mod ground;
mod open;
mod part_tree;
mod pieces;
mod runs;
mod search;
mod shape;

pub use blank::{blank, blank_for};
pub use pieces::{HeldError, with_pieces};
pub use runs::{Runs, Sheet, StuckError, runs};

use cullet_breakout::Rule;
use cullet_geometry::{Outline, offset};
use cullet_search::StopCondition;
use cullet_search::{Effort, Placed, Problem};
use ground::{Ground, Layout};
use open::Room;
use shape::Kind;
use std::sync::atomic::AtomicBool;

/// A straight-run layout of a problem.
#[derive(Debug, Clone, PartialEq)]
pub struct Laying {
    /// Where the items lie, container by container.
    pub placed: Vec<Placed>,
    /// How many of each kind lie nowhere.
    pub left: Vec<u32>,
    /// What the used containers cost.
    pub cost: f64,
    /// Share of the effort it took, up to 1.
    pub spent: f64,
}

/// Lays as many items as it can so that straight runs free every one of them; the containers used cost as little as it
/// finds, and what one straight run returns from one of them is as large as it finds.
///
/// The problem's clearance is the score kerf: pieces lie at least that far apart. Its tolerance is not used; neighbours and
/// edges hold to 0.0005 mm. Only the narrowest strip of the rule matters here, as waste narrower than that is avoided where
/// it can be. `report` hears the best after each round, with the share of the effort spent, from the calling thread.
///
/// With effort in rounds the result depends on nothing but the input, whatever the number of threads.
///
/// ```
/// use cullet_breakout::Rule;
/// use cullet_guillotine::lay;
/// use cullet_geometry::Outline;
/// use cullet_search::{Container, Effort, Item, Limit, Problem, Turns};
/// let pane = Item {
///     outline: Outline::rectangle(455.0, 132.0),
///     count: 72,
///     turns: Turns::only(vec![0.0, 90.0]),
///     turned_over: None,
///     allowed: vec![],
/// };
/// let sheet = Container { outline: Outline::rectangle(1830.0, 2440.0), keep_off: vec![], cost: 1.0 };
/// let problem = Problem { items: vec![pane], containers: vec![sheet], clearance: 0.0, tolerance: 0.001 };
/// let effort = Effort { seed: 1, limit: Limit::Rounds(2), lanes: 1 };
/// let laying = lay(&problem, Rule::usual(6.0), effort, &false.into(), &|_, _| {});
/// assert_eq!(laying.placed.len(), 72);
/// ```
#[must_use]
pub fn lay(
    problem: &Problem,
    rule: Rule,
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(&Laying, f64) + Sync),
) -> Laying {
    let watch = StopCondition::new(effort.limit, cancel);
    let half = 0.5 * problem.clearance;
    let grown = |outline: &Outline| {
        if half > 0.0 {
            offset::grow(outline, half)
        } else {
            outline.clone()
        }
    };
    let kinds = problem
        .items
        .iter()
        .map(|item| Kind::new(item, &grown(&blank_for(&item.outline, &rule))))
        .collect();
    let mut numbers = Vec::new();
    let mut rooms = Vec::new();
    for (number, container) in problem.containers.iter().enumerate() {
        if let Some(room) = Room::new(&grown(&container.outline), &container.keep_off, container.cost) {
            rooms.push(room);
            numbers.push(number);
        }
    }
    let ground = Ground::new(kinds, rooms, rule.narrowest_strip, effort.seed, &watch);
    let told = |layout: &Layout| Laying {
        placed: placed(&ground, layout, &numbers),
        left: layout.stock.clone(),
        cost: ground.worth(layout).cost,
        spent: watch.share().min(1.0),
    };
    let best = search::search(&ground, effort, &watch, &|layout| {
        report(&told(layout), watch.share().min(1.0))
    });
    told(&best)
}

fn placed(ground: &Ground, layout: &Layout, numbers: &[usize]) -> Vec<Placed> {
    let mut list = Vec::new();
    for (bin, number) in layout.bins.iter().zip(numbers) {
        bin.root.each_laid(&mut |laid| {
            let shape = &laid.shape;
            list.extend(shape.members.iter().map(|m| Placed {
                item: m.kind,
                container: *number,
                pose: shape.pose(&ground.kinds, m, laid.turn, laid.at),
            }));
        });
    }
    list
}
