//! The shortest end: items in one rectangle of fixed height, its length made as short as can be.
//!
//! A valid layout is shortened a little, which makes items overlap, and the overlaps are drawn apart again; when that
//! succeeds the layout is shortened further. Lanes search side by side and share the shortest layout found.

use crate::field::{Bin, Field, Slot, Spot};
use crate::first::{self, Lean};
use crate::form::{Form, Kind, Posture, Turn};
use crate::place::{Care, Scratch, settle_somewhere};
use crate::problem::{Effort, Limit, Placed};
use crate::random::Random;
use crate::separate::{Outcome, Patience, Separation};
use crate::tile;
use crate::watch::Watch;
use cullet_geometry::{Outline, Point};

/// A strip layout: its length and where the slots lie.
#[derive(Debug, Clone)]
pub(crate) struct Shortest {
    pub(crate) length: f64,
    pub(crate) slots: Vec<Slot>,
    /// Places judged by all lanes until now.
    pub(crate) judged: u64,
}

/// Share of the effort spent on large steps and disruption; the rest squeezes the best layout by small steps.
const EXPLORE: f64 = 0.8;
/// Questions that each lane may ask between two meetings.
const EPOCH: u64 = 150_000;

/// What items are laid on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ground<'a> {
    pub(crate) kinds: &'a [Kind],
    pub(crate) bins: &'a [Bin],
    pub(crate) obstacles: &'a [Form],
}

/// What is shortened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct End {
    /// The bin.
    pub(crate) bin: usize,
    /// 0 for its width, 1 for its height.
    pub(crate) axis: usize,
}

impl End {
    /// How far the bin is used.
    pub(crate) fn used(self, slots: &[Slot]) -> f64 {
        let far = |s: &Slot| if self.axis == 0 { s.spot.x } else { s.spot.y } + s.posture.high[self.axis];
        slots
            .iter()
            .filter(|s| s.placed && s.spot.bin == self.bin)
            .map(far)
            .fold(0.0, f64::max)
    }
}

/// One search.
struct Lane<'a> {
    end: End,
    field: Field<'a>,
    random: Random,
    scratch: Scratch,
    separation: Option<Separation>,
    /// Length being tried.
    target: f64,
    /// Shortest valid layout this lane knows.
    best: Shortest,
    /// Share by which the next target is shorter.
    step: f64,
    /// Failed attempts at lengths below `best`, least overlap first.
    failed: Vec<(f64, Vec<Slot>)>,
    squeezing: bool,
    rounds: u64,
    /// No use trying below.
    least: f64,
    /// Nothing shorter is left to try.
    done: bool,
}

const CARE: Care = Care {
    wide: 48,
    near: 24,
    refined: 3,
};

impl<'a> Lane<'a> {
    fn new(field: Field<'a>, end: End, best: Shortest, least: f64, random: Random) -> Self {
        Self {
            end,
            field,
            random,
            scratch: Scratch::default(),
            separation: None,
            target: best.length,
            best,
            step: 0.01,
            failed: Vec::new(),
            squeezing: false,
            rounds: 0,
            least,
            done: false,
        }
    }

    /// Searches until `EPOCH` questions are asked or `watch` says stop.
    fn search(&mut self, watch: &Watch) {
        let until = self.field.asked + EPOCH;
        while self.field.asked < until && !self.done && !watch.over() {
            self.round(watch);
        }
    }

    fn round(&mut self, watch: &Watch) {
        let mut separation = match self.separation.take() {
            Some(separation) => separation,
            None => match self.shorten(watch) {
                Some(separation) => separation,
                None => {
                    // Some item is too long for any shorter end and for the other bins.
                    self.done = true;
                    return;
                }
            },
        };
        self.rounds += 1;
        let stop = || watch.over();
        match separation.round(&mut self.field, CARE, &mut self.random, &mut self.scratch, &stop) {
            Outcome::Going => self.separation = Some(separation),
            Outcome::Clear => self.succeed(),
            Outcome::Stuck => self.fail(&separation),
        }
    }

    /// From the best layout, or a failed one, to a shorter target with overlaps.
    fn shorten(&mut self, watch: &Watch) -> Option<Separation> {
        self.squeezing = watch.share() >= EXPLORE;
        if self.squeezing {
            let late = ((watch.share() - EXPLORE) / (1.0 - EXPLORE)).clamp(0.0, 1.0);
            self.step = 5e-4 * (0.02f64).powf(late);
            self.failed.clear();
        }
        if self.best.length <= self.least * (1.0 + 1e-6) {
            return None;
        }
        self.target = (self.best.length * (1.0 - self.step)).max(self.least);
        let bin = &mut self.field.bins[self.end.bin];
        *(if self.end.axis == 0 {
            &mut bin.width
        } else {
            &mut bin.height
        }) = self.target;
        let homeless = if self.failed.is_empty() || self.squeezing {
            let slots = self.best.slots.clone();
            let homeless = self.field.restore(&slots);
            self.close_up();
            homeless
        } else {
            // The better a failed attempt was, the likelier it is taken up again.
            let at = ((self.random.bell().abs() * 0.25) * self.failed.len() as f64) as usize;
            let slots = self.failed[at.min(self.failed.len() - 1)].1.clone();
            let homeless = self.field.restore(&slots);
            self.disrupt();
            homeless
        };
        if !homeless
            .into_iter()
            .all(|i| settle_somewhere(&mut self.field, i, &mut self.random, &mut self.scratch))
        {
            return None;
        }
        let patience = if self.squeezing {
            Patience { rounds: 60, starts: 2 }
        } else {
            Patience { rounds: 100, starts: 3 }
        };
        Some(Separation::new(&mut self.field, patience))
    }

    /// What lies right of a random line moves left by what the strip lost.
    fn close_up(&mut self) {
        let loss = self.best.length - self.target;
        let line = self.random.within(0.0, self.best.length);
        for slot in self
            .field
            .slots
            .iter_mut()
            .filter(|s| s.placed && s.spot.bin == self.end.bin)
        {
            let at = if self.end.axis == 0 {
                &mut slot.spot.x
            } else {
                &mut slot.spot.y
            };
            if *at > line {
                *at -= loss;
            }
        }
        self.field.refit();
    }

    /// Two large items change places.
    fn disrupt(&mut self) {
        let count = self.field.slots.len();
        if count < 2 {
            return;
        }
        let mut order = first::order(&self.field);
        // The items that together make up three quarters of the area.
        let total: f64 = order.iter().map(|i| self.area(*i)).sum();
        let mut sum = 0.0;
        let large = order
            .iter()
            .take_while(|i| {
                sum += self.area(**i);
                sum - self.area(**i) < 0.75 * total
            })
            .count()
            .max(2);
        order.truncate(large);
        let a = order[self.random.below(large)];
        let others: Vec<usize> = order
            .iter()
            .copied()
            .filter(|b| self.field.slots[*b].kind != self.field.slots[a].kind)
            .collect();
        let b = if others.is_empty() {
            order[self.random.below(large)]
        } else {
            others[self.random.below(others.len())]
        };
        let (at_a, at_b) = (self.field.slots[a].spot, self.field.slots[b].spot);
        self.field.slots[a].spot = at_b;
        self.field.slots[b].spot = at_a;
        self.field.refit();
    }

    fn area(&self, i: usize) -> f64 {
        self.field.kinds[self.field.slots[i].kind].area
    }

    fn succeed(&mut self) {
        let length = self.end.used(&self.field.slots);
        if length > self.target * (1.0 + 1e-9) {
            return; // Something would not go inside at all.
        }
        self.best = Shortest {
            length,
            slots: self.field.snapshot(),
            judged: 0,
        };
        self.failed.clear();
        self.step = (self.step * 1.2).min(0.02);
    }

    fn fail(&mut self, separation: &Separation) {
        self.step = (self.step * 0.7).max(0.001);
        let at = self.failed.partition_point(|f| f.0 <= separation.best_total);
        self.failed.insert(at, (separation.best_total, self.field.snapshot()));
        self.failed.truncate(12);
    }

    /// Takes over a shorter layout found elsewhere.
    fn adopt(&mut self, best: &Shortest) {
        if best.length < self.best.length {
            self.best = best.clone();
            if best.length <= self.target {
                self.separation = None;
                self.failed.clear();
            }
        }
    }
}

/// The shortest layout of `slot_kinds` in a strip of `height` found within `effort`. `report` hears of every improvement.
/// Where items may touch (`touching`), a layout without any gap is looked for first.
pub(crate) fn shortest(
    kinds: &[Kind],
    slot_kinds: &[usize],
    height: f64,
    touching: bool,
    effort: Effort,
    watch: &Watch,
    report: &(dyn Fn(&Shortest) + Sync),
) -> Option<Shortest> {
    let mut first = first_strip(kinds, slot_kinds, height, effort.seed)?;
    report(&first);
    if touching && let Some(exact) = exact_strip(kinds, slot_kinds, height, effort, watch) {
        report(&exact);
        first = exact;
    }
    let bin = Bin {
        width: first.length,
        height,
        open: true,
        obstacles: 0..0,
    };
    let ground = Ground {
        kinds,
        bins: &[bin],
        obstacles: &[],
    };
    Some(shorten(ground, STRIP, first, effort, watch, report))
}

/// The layout found within `effort` that uses `end`'s bin the least far, starting from a valid one in `bins`; items may move
/// to other bins.
pub(crate) fn shorten(
    ground: Ground,
    end: End,
    mut first: Shortest,
    effort: Effort,
    watch: &Watch,
    report: &(dyn Fn(&Shortest) + Sync),
) -> Shortest {
    let Ground { kinds, bins, obstacles } = ground;
    let slot_kinds: Vec<usize> = first.slots.iter().map(|s| s.kind).collect();
    let most_rounds = match effort.limit {
        Limit::Rounds(rounds) => rounds,
        Limit::Seconds(_) => u64::MAX,
    };
    let least = least_length(kinds, &slot_kinds, bins, end);
    let mut lanes: Vec<Lane> = (0..effort.lanes.max(1))
        .map(|lane| {
            let mut field = Field::new(kinds, bins.to_vec(), obstacles, &slot_kinds);
            field.restore(&first.slots);
            Lane::new(field, end, first.clone(), least, Random::new(effort.seed, lane + 1))
        })
        .collect();
    while !watch.over() && first.length > least * (1.0 + 1e-6) && lanes.iter().any(|lane| !lane.done) {
        rayon::scope(|scope| {
            for lane in &mut lanes {
                scope.spawn(|_| lane.search(watch));
            }
        });
        let best = lanes
            .iter()
            .map(|l| &l.best)
            .min_by(|a, b| a.length.total_cmp(&b.length))
            .unwrap_or(&first)
            .clone();
        if best.length < first.length {
            first = best;
        }
        first.judged = lanes.iter().map(|l| l.field.asked).sum();
        report(&first);
        lanes.iter_mut().for_each(|lane| lane.adopt(&first));
        let rounds: u64 = lanes.iter().map(|l| l.rounds).sum();
        watch.spend(rounds as f64 / most_rounds as f64);
    }
    first
}

/// No layout uses `end` less far than this: the area that the other bins cannot hold must lie there, and of a strip every
/// item.
fn least_length(kinds: &[Kind], slot_kinds: &[usize], bins: &[Bin], end: End) -> f64 {
    let elsewhere: f64 = bins
        .iter()
        .enumerate()
        .filter(|(b, bin)| *b != end.bin && bin.open)
        .map(|(_, b)| b.width * b.height)
        .sum();
    let area: f64 = slot_kinds.iter().map(|k| kinds[*k].area).sum();
    let bin = &bins[end.bin];
    let by_area = (area - elsewhere) / if end.axis == 0 { bin.height } else { bin.width };
    let by_item = if bins.len() > 1 {
        0.0
    } else {
        slot_kinds
            .iter()
            .map(|k| kinds[*k].least_extent(end.axis))
            .fold(0.0, f64::max)
    };
    by_area.max(by_item)
}

/// The only end of a strip.
const STRIP: End = End { bin: 0, axis: 0 };

/// Share of the effort after which an exact fit is no longer looked for.
const EXACT: f64 = 0.04;

/// A layout of the items' own area, without a gap, if there is one and it is found.
fn exact_strip(kinds: &[Kind], slot_kinds: &[usize], height: f64, effort: Effort, watch: &Watch) -> Option<Shortest> {
    let mut counts = vec![0; kinds.len()];
    slot_kinds.iter().for_each(|k| counts[*k] += 1);
    let length = slot_kinds.iter().map(|k| kinds[*k].area).sum::<f64>() / height;
    let region = [Outline::rectangle(length, height)];
    let tiles = tile::cover(kinds, &counts, &region, effort, watch, EXACT)?;
    let mut field = Field::new(
        kinds,
        vec![Bin {
            width: length,
            height,
            open: true,
            obstacles: 0..0,
        }],
        &[],
        slot_kinds,
    );
    tile::put_all(&mut field, &tiles, 0);
    (field.slots.iter().all(|s| s.placed) && field.total() <= 0.0).then(|| Shortest {
        length: STRIP.used(&field.slots).max(length),
        slots: field.snapshot(),
        judged: 0,
    })
}

/// A first strip layout; `None` when an item is higher than the strip.
fn first_strip(kinds: &[Kind], slot_kinds: &[usize], height: f64, seed: u64) -> Option<Shortest> {
    let area: f64 = slot_kinds.iter().map(|k| kinds[*k].area).sum();
    let widest = slot_kinds.iter().map(|k| 2.0 * kinds[*k].radius).fold(0.0, f64::max);
    let mut length = 1.5 * area / height + widest;
    let mut random = Random::new(seed, 0);
    for _ in 0..40 {
        let bins = vec![Bin {
            width: length,
            height,
            open: true,
            obstacles: 0..0,
        }];
        let mut field = Field::new(kinds, bins, &[], slot_kinds);
        let all = first::order(&field)
            .into_iter()
            .all(|i| first::put(&mut field, i, 0, Lean::Left, 200, &mut random));
        if all {
            let slots = field.snapshot();
            return Some(Shortest {
                length: STRIP.used(&slots),
                slots,
                judged: 0,
            });
        }
        length *= 1.5;
    }
    None
}

/// Slots as the caller sees them.
pub(crate) fn placed(kinds: &[Kind], slots: &[Slot], container_of: impl Fn(&Spot) -> (usize, f64, f64)) -> Vec<Placed> {
    slots
        .iter()
        .filter(|slot| slot.placed)
        .map(|slot| {
            let (container, x, y) = container_of(&slot.spot);
            Placed {
                item: slot.kind,
                container,
                pose: pose(&kinds[slot.kind], &slot.posture, slot.spot.x + x, slot.spot.y + y),
            }
        })
        .collect()
}

/// The pose that brings an item's own frame to where its reference point lies at `(x, y)`.
fn pose(kind: &Kind, posture: &Posture, x: f64, y: f64) -> cullet_geometry::Pose {
    let turned = cullet_geometry::Pose {
        rotation_deg: posture.turn.degrees.rem_euclid(360.0),
        turned_over: posture.turn.over,
        x: 0.0,
        y: 0.0,
    };
    let reference = turned.apply(kind.reference);
    cullet_geometry::Pose {
        x: x - reference.x,
        y: y - reference.y,
        ..turned
    }
}

/// Slots from what an earlier search placed in containers whose bins' lower left corners are at `origins`.
pub(crate) fn taken_up(kinds: &[Kind], layout: &[Placed], origins: &[Point]) -> Vec<Slot> {
    layout
        .iter()
        .map(|placed| {
            let kind = &kinds[placed.item];
            let turn = Turn {
                degrees: placed.pose.rotation_deg,
                over: placed.pose.turned_over,
            };
            let known = kind
                .fixed
                .iter()
                .find(|p| p.turn.over == turn.over && (p.turn.degrees - turn.degrees).rem_euclid(360.0) < 1e-9);
            let posture = known.cloned().unwrap_or_else(|| {
                let mut posture = Posture::default();
                posture.set(kind, turn);
                posture
            });
            let at = placed.pose.apply(kind.reference);
            let origin = origins[placed.container];
            let spot = Spot {
                bin: placed.container,
                x: at.x - origin.x,
                y: at.y - origin.y,
            };
            Slot {
                kind: placed.item,
                spot,
                posture,
                placed: true,
            }
        })
        .collect()
}
