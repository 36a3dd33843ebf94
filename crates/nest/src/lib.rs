//! The search: items into containers.

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
mod problem;
mod random;
mod separate;
mod strip;
mod tables;
mod tile;
mod watch;

pub use problem::{Container, Effort, Item, Limit, Placed, Problem, Turns};

use prepare::Prepared;
use std::sync::atomic::AtomicBool;
use watch::Watch;

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
    let ready = Prepared::new(&Problem {
        items: items.to_vec(),
        containers: vec![],
        clearance,
        tolerance,
    });
    let watch = Watch::new(effort.limit, cancel);
    let seen = |best: &strip::Shortest| StripLayout {
        length: best.length,
        placed: strip::placed(&ready.kinds, &best.slots, |_| (0, 0.0, 0.0)),
        judged: best.judged,
    };
    strip::shortest(
        &ready.kinds,
        &ready.slot_kinds,
        height,
        clearance == 0.0,
        effort,
        &watch,
        &|best| report(&seen(best)),
    )
    .map(|best| seen(&best))
}

/// Lays as many items as it can into the containers, those used costing as little as it finds.
///
/// `report` hears a few times a second what the best is (from the calling thread) and which share of the effort is spent.
#[must_use]
pub fn fill(
    problem: &Problem,
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(&Filling, f64) + Sync),
) -> Filling {
    let ready = Prepared::new(problem);
    let watch = Watch::new(effort.limit, cancel);
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

/// Which way a layout is shortened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// Its extent to the right becomes least.
    Across,
    /// Its extent upwards becomes least.
    Up,
}

/// Draws the items of `layout` away from one end of `container`, into the rest of it and into the other containers that
/// `layout` uses, so that a straight run there returns as much glass as can be.
///
/// Returns the layout with the least extent found along `axis` in `container`. `report` hears which share of the effort is
/// spent.
#[must_use]
pub fn shorten(
    problem: &Problem,
    container: usize,
    layout: &[Placed],
    axis: Axis,
    effort: Effort,
    cancel: &AtomicBool,
    report: &(dyn Fn(f64) + Sync),
) -> Vec<Placed> {
    let mut ready = Prepared::new(problem);
    let watch = Watch::new(effort.limit, cancel);
    let end = strip::End {
        bin: container,
        axis: usize::from(axis == Axis::Up),
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

/// Whether `outline` fits into `container` at all, at one of its turns; tried by search over a few hundred draws.
#[must_use]
pub fn fits_alone(problem: &Problem, item: usize, container: usize) -> bool {
    let mut one = problem.clone();
    one.items = vec![Item {
        count: 1,
        ..one.items[item].clone()
    }];
    one.items[0].allowed = Vec::new();
    one.containers = vec![one.containers[container].clone()];
    let ready = Prepared::new(&one);
    fill::fits_alone(&ready.kinds, &ready.bins, &ready.obstacles)
}
