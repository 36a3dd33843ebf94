//! The search: items into containers, so that little is wasted.
//!
//! # What it is for
//! A [`Problem`] is items (outlines, how many, how they may turn) and containers (usable outline, zones to keep off, cost).
//! [`fill()`] lays as many items as it can into the containers that cost least; [`shorten`] draws what lies in one of them
//! together towards one end, which is what makes a clean offcut; [`strip`] is the same for a single open-ended rectangle,
//! the form in which search methods are compared in the literature. All run in parallel lanes that share the best found, stop
//! when told, and are repeatable from a seed.
//!
//! # Units and axes
//! Millimetres and degrees, y up. A result's pose brings an item's own frame to its container's.
//!
//! # What it must not know
//! Glass, files, prices other than a number per container.
//!
//! # How it works
//! *First layout*: items one by one, large first, each in the best of the places beside others (`first`). *Exact fits*:
//! where items may touch, regions that can be covered without a gap are covered corner by corner (`tile`). *Improvement*: a
//! container is closed or an end shortened, which makes items overlap; guided local search draws them apart again (`separate`,
//! `place`), on a kernel that tells whether and how badly two outlines overlap ([`kernel`], `tables` for fixed turns).
//! Non-rectangular containers are upright rectangles with obstacles to the search (`prepare`).
//!
//! ```
//! use cullet_geometry::Outline;
//! use cullet_nest::{Shapes, fill};
//! use cullet_search::{Container, Effort, Item, Limit, Problem, Turns};
//! let problem = Problem {
//!     items: vec![Item {
//!         outline: Outline::rectangle(200.0, 100.0),
//!         count: 6,
//!         turns: Turns::only(vec![0.0, 90.0]),
//!         turned_over: None,
//!         allowed: vec![],
//!     }],
//!     containers: vec![Container { outline: Outline::rectangle(630.0, 220.0), keep_off: vec![], cost: 1.0 }],
//!     clearance: 6.0,
//!     tolerance: 0.001,
//! };
//! let effort = Effort { seed: 1, limit: Limit::Rounds(20), lanes: 2 };
//! let filling = fill(&problem, &Shapes::default(), effort, &false.into(), &|_, _| {});
//! assert_eq!((filling.placed.len(), filling.left[0]), (6, 0));
//! ```
//!
//! # Limits
//! Memory grows with the square of the number of items (two `f32` a pair and lane). A container is its usable outline in one
//! part.
//!
//! # Reading
//! Egeblad, Nielsen & Odgaard 2007; Imamichi, Yagiura & Nagamochi 2009; Umetani et al. 2009; Elkeran 2013; Gardeyn, Vanden
//! Berghe & Wauters 2025 (arXiv:2509.13329); for exact fits Duijvestijn 1978.

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

mod disks;
mod field;
mod fill;
mod first;
mod form;
mod grid;
pub mod kernel;
mod lane;
mod overlap;
mod place;
mod prepare;
mod race;
mod repeat;
mod separate;
mod shapes;
mod sides;
mod strip;
mod tables;
mod tile;
mod wide;

use cullet_geometry::Pose;
use cullet_search::{Container, Effort, Item, Placed, Problem, StopCondition, Turns};
use prepare::Prepared;
pub use shapes::Shapes;
use std::sync::atomic::AtomicBool;

/// Items in a strip.
#[derive(Debug, Clone, PartialEq)]
pub struct StripLayout {
    /// Length used, mm.
    pub length: f64,
    /// Where the items lie, in container 0 with its lower left corner at the origin.
    pub placed: Vec<Placed>,
    /// Places judged so far, all lanes together: what the search's speed is measured by.
    pub judged: u64,
}

/// Items in containers.
#[derive(Debug, Clone, PartialEq)]
pub struct Filling {
    /// Where the items lie.
    pub placed: Vec<Placed>,
    /// How many of each kind lie nowhere.
    pub left: Vec<u32>,
    /// What the used containers cost.
    pub cost: f64,
    /// Share of the effort it took, up to 1: less where nothing cheaper was left to try.
    pub spent: f64,
}

/// Lays all items into a strip of `height`, as short as it finds. `None` when some item is higher than the strip.
///
/// `report` hears a few times a second what the best is, from the calling thread.
#[must_use]
pub fn strip(
    items: &[Item],
    height: f64,
    clearance: f64,
    tolerance: f64,
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(&StripLayout) + Sync),
) -> Option<StripLayout> {
    let prepared = |items: Vec<Item>| {
        Prepared::new(
            &Problem {
                items,
                containers: vec![],
                clearance,
                tolerance,
            },
            &Shapes::default(),
        )
    };
    let ready = prepared(items.to_vec());
    let watch = StopCondition::new(effort.limit, cancel);
    let seen = |best: &strip::Shortest| StripLayout {
        length: best.length,
        placed: strip::placed(&ready.kinds, &best.slots, |_| (0, 0.0, 0.0)),
        judged: best.judged,
    };
    let room = strip::Room {
        height,
        touching: clearance == 0.0,
    };
    let report = |best: &strip::Shortest| report(&seen(best));
    let Some(quarters) = at_quarters(items) else {
        return strip::shortest(&ready, room, None, effort, &watch, &report).map(|best| seen(&best));
    };
    let (now, later) = (watch.part(0.0, QUARTERS), watch.part(QUARTERS, 1.0));
    let start = strip::shortest(&prepared(quarters), room, None, effort.part(QUARTERS), &now, &report);
    strip::shortest(&ready, room, start, effort.part(1.0 - QUARTERS), &later, &report).map(|best| seen(&best))
}

/// Share of the effort in which items that turn freely take quarter turns only: that is searched faster ([`tables`]), and
/// what comes of it is a better start than a first layout.
const QUARTERS: f64 = 0.75;

/// The items with quarter turns in place of every rotation; `None` where none turns freely.
fn at_quarters(items: &[Item]) -> Option<Vec<Item>> {
    let quarters = |turns: &Turns| {
        if turns.is_free() {
            Turns::only(vec![0.0, 90.0, 180.0, 270.0])
        } else {
            turns.clone()
        }
    };
    items.iter().any(|item| item.turns.is_free()).then(|| {
        let item = |item: &Item| Item {
            turns: quarters(&item.turns),
            turned_over: item.turned_over.as_ref().map(quarters),
            ..item.clone()
        };
        items.iter().map(item).collect()
    })
}

/// Lays as many items as it can into the containers, those used costing as little as it finds; none where there are none.
///
/// `report` hears a few times a second what the best is (from the calling thread) and which share of the effort is spent.
#[must_use]
pub fn fill(
    problem: &Problem,
    shapes: &Shapes,
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(&Filling, f64) + Sync),
) -> Filling {
    if problem.containers.is_empty() {
        return nothing_laid(problem);
    }
    let ready = Prepared::new(problem, shapes);
    let watch = StopCondition::new(effort.limit, cancel);
    let seen = |best: &fill::Filling| Filling {
        placed: strip::placed(&ready.kinds, &best.slots, |spot| {
            let origin = ready.origins[spot.bin];
            (spot.bin, origin.x, origin.y)
        }),
        left: (0..problem.items.len())
            .map(|k| best.slots.iter().filter(|s| !s.placed && s.kind == k).count() as u32)
            .collect(),
        cost: best.cost,
        spent: watch.share().min(1.0),
    };
    let best = fill::fill(&ready, effort, &watch, &|best| {
        report(&seen(best), watch.share());
    });
    seen(&best)
}

/// Lays what `layout` does not hold of the items beside what it holds, into the containers that it uses already.
///
/// What lies stays laid, though it may move. `report` hears which share of the effort is spent.
#[must_use]
pub fn top_up(
    problem: &Problem,
    shapes: &Shapes,
    layout: &[Placed],
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(f64) + Sync),
) -> Filling {
    if layout.is_empty() {
        return nothing_laid(problem);
    }
    let mut ready = Prepared::new(problem, shapes);
    let watch = StopCondition::new(effort.limit, cancel);
    let laid = strip::taken_up(&ready.kinds, layout, &ready.origins);
    for (b, bin) in ready.bins.iter_mut().enumerate() {
        bin.bin.open = laid.iter().any(|s| s.spot.bin == b);
    }
    let best = fill::top_up(&ready, &laid, effort, &watch, &|_| report(watch.share()));
    Filling {
        placed: strip::placed(&ready.kinds, &best.slots, |spot| {
            let origin = ready.origins[spot.bin];
            (spot.bin, origin.x, origin.y)
        }),
        left: (0..problem.items.len())
            .map(|k| best.slots.iter().filter(|s| !s.placed && s.kind == k).count() as u32)
            .collect(),
        cost: best.cost,
        spent: watch.share().min(1.0),
    }
}

fn nothing_laid(problem: &Problem) -> Filling {
    Filling {
        placed: vec![],
        left: problem.items.iter().map(|item| item.count).collect(),
        cost: 0.0,
        spent: 0.0,
    }
}

/// Which way a layout is shortened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// Its extent to the right becomes least.
    Across,
    /// Its extent upwards becomes least.
    Up,
}

/// Draws the items of `layout` away from one `end`, that of a container along an axis, into the rest of it and into the other
/// containers that `layout` uses, so that a straight run there returns as much glass as can be.
///
/// Returns the layout with the least extent found along the axis in that container. `report` hears which share of the effort is
/// spent.
#[must_use]
pub fn shorten(
    problem: &Problem,
    shapes: &Shapes,
    end: (usize, Axis),
    layout: &[Placed],
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(f64) + Sync),
) -> Vec<Placed> {
    let mut ready = Prepared::new(problem, shapes);
    let watch = StopCondition::new(effort.limit, cancel);
    let end = strip::End {
        bin: end.0,
        axis: usize::from(end.1 == Axis::Up),
    };
    let slots = strip::taken_up(&ready.kinds, layout, &ready.origins);
    for (b, bin) in ready.bins.iter_mut().enumerate() {
        bin.bin.open = slots.iter().any(|s| s.spot.bin == b);
    }
    let first = strip::Shortest {
        length: end.used(&slots),
        slots,
        judged: 0,
    };
    let bins: Vec<field::Bin> = ready.bins.iter().map(|b| b.bin.clone()).collect();
    let ground = strip::Ground {
        kinds: &ready.kinds,
        bins: &bins,
        obstacles: &ready.obstacles,
    };
    let best = strip::shorten(ground, end, first, effort, &watch, &|_| report(watch.share()));
    strip::placed(&ready.kinds, &best.slots, |spot| {
        let origin = ready.origins[spot.bin];
        (spot.bin, origin.x, origin.y)
    })
}

/// Room that is left where an item plainly fits, mm: what rounding may take.
const HAIR: f64 = 0.01;

/// Whether an item fits into a container at all, at one of its turns: at sight where it plainly does, else tried by search over a few
/// hundred draws.
#[must_use]
pub fn fits_alone(problem: &Problem, item: usize, container: usize, shapes: &Shapes) -> bool {
    let (item, container) = (&problem.items[item], &problem.containers[container]);
    if plainly_fits(item, container) {
        return true;
    }
    let ready = Prepared::new(
        &Problem {
            items: vec![Item {
                count: 1,
                allowed: vec![],
                ..item.clone()
            }],
            containers: vec![container.clone()],
            ..*problem
        },
        shapes,
    );
    fill::fits_alone(&ready.kinds, &ready.bins, &ready.obstacles)
}

/// Whether the box round the item, at one of its directions, fits into a rectangle without anything to keep off.
fn plainly_fits(item: &Item, container: &Container) -> bool {
    let room = container.outline.bounds();
    let is_rectangle = container.outline.area() >= room.width() * room.height() * (1.0 - 1e-9);
    let fits = |angle: &f64| {
        let turned = Pose {
            rotation_deg: *angle,
            ..Pose::IDENTITY
        };
        let own = item.outline.posed(&turned).bounds();
        own.width() + HAIR <= room.width() && own.height() + HAIR <= room.height()
    };
    is_rectangle && container.keep_off.is_empty() && item.turns.angles_deg.iter().any(fits)
}
