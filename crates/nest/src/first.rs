//! A first valid layout: items one by one, large ones first, each as far left (then down) as a sample of places allows.

use crate::field::{Field, Spot};
use crate::form::{Kind, Posture, Turn};
use crate::place::turn_of;
use cullet_search::Random;
use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

/// Order in which items are put down: by extent, largest first; equal kinds together.
pub(crate) fn order(field: &Field) -> Vec<usize> {
    let mut order: Vec<usize> = (0..field.slots.len()).collect();
    let size = |i: &usize| {
        let kind = &field.kinds[field.slots[*i].kind];
        kind.area.sqrt() * kind.radius
    };
    order.sort_by(|a, b| size(b).total_cmp(&size(a)).then(a.cmp(b)));
    order
}

/// Which way a first layout leans.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lean {
    /// Furthest left, then lowest.
    Left,
    /// Lowest, then furthest left.
    Down,
}

impl Lean {
    fn axis(self) -> usize {
        match self {
            Self::Left => 0,
            Self::Down => 1,
        }
    }
}

/// Puts items down one after the other. Since bins only get fuller, a place that was refused once is not tried again.
pub(crate) struct Putting {
    lean: Lean,
    /// For each bin the items in it that were there at the start or have been put since.
    lying: Vec<Vec<usize>>,
    /// For each kind and bin the places still to be tried; made when first asked for.
    beside: Vec<Option<Beside>>,
}

impl Putting {
    /// Into the bins of `field` as they are now; nothing may be moved or lifted from then on.
    pub(crate) fn new(field: &Field, lean: Lean) -> Self {
        let mut lying = vec![Vec::new(); field.bins.len()];
        for (i, slot) in field.slots.iter().enumerate().filter(|(_, slot)| slot.placed) {
            lying[slot.spot.bin].push(i);
        }
        let beside = (0..field.kinds.len() * field.bins.len()).map(|_| None).collect();
        Self { lean, lying, beside }
    }

    /// Lets go of the places kept for a kind in a bin where it is not tried again.
    pub(crate) fn forget(&mut self, kind: usize, bin: usize) {
        let bins = self.lying.len();
        self.beside[kind * bins + bin] = None;
    }

    /// Puts item `i` where it is free, leaning as told; whether there was a place.
    ///
    /// Looked at are all places whose bounds touch those of an item that lies there already, best first, and then `samples`
    /// places drawn all over that could be better.
    pub(crate) fn put(&mut self, field: &mut Field, i: usize, bin: usize, samples: usize, random: &mut Random) -> bool {
        let number = field.slots[i].kind;
        let kind = &field.kinds[number];
        if !kind.may_lie_in(bin) {
            return false;
        }
        let main = self.lean.axis();
        let beside =
            self.beside[number * field.bins.len() + bin].get_or_insert_with(|| Beside::new(field, kind, bin, main));
        let best = beside.best(field, i, bin, main, &self.lying[bin]);
        let Some(best) = drawn(field, i, (bin, main), &beside.postures, best, samples, random) else {
            return false;
        };
        field.put(i, &best.posture, spot(bin, best.at));
        self.lying[bin].push(i);
        true
    }
}

/// The best of `samples` free places drawn all over `bin`, or `best` where none is better. `ready` are the postures in which the item
/// fits there snapped, or at all where it turns in steps.
fn drawn(
    field: &mut Field,
    i: usize,
    (bin, main): (usize, usize),
    ready: &[Posture],
    mut best: Option<Place>,
    samples: usize,
    random: &mut Random,
) -> Option<Place> {
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    let mut scratch = Posture::default();
    for _ in 0..samples {
        // To turn an outline takes as long as to look at some places.
        let is_ready = kind.tolerance_deg == 0.0 || (!kind.snaps.is_empty() && random.unit() < SNAPPED);
        let posture = if is_ready {
            if ready.is_empty() {
                continue;
            }
            &ready[random.below(ready.len())]
        } else {
            scratch.set(kind, turn_of(kind, 0.0, random).0);
            &scratch
        };
        let Some((low, high)) = field.range(posture, bin) else {
            continue;
        };
        // Once a place is known only places further along are worth a question.
        let most = best
            .as_ref()
            .map_or(high[main], |b| high[main].min(b.key - posture.high[main]));
        if most < low[main] {
            continue;
        }
        let side = 1 - main;
        let mut at = [0.0; 2];
        at[main] = if random.unit() < 0.3 {
            low[main]
        } else {
            random.within(low[main], most)
        };
        at[side] = if random.unit() < 0.3 {
            low[side]
        } else {
            random.within(low[side], high[side])
        };
        let before = best.as_ref().map_or(f64::MAX, |b| b.key);
        if key(posture, at, low, main) < before && field.free(i, posture, spot(bin, at)) {
            slide(field, i, posture, bin, &mut at, main, low);
            best = Some(Place {
                key: key(posture, at, low, main),
                posture: posture.clone(),
                at,
            });
        }
    }
    best
}

/// Share of draws that take a snapped turn, where there are any: straight edges against straight edges fill rows.
const SNAPPED: f64 = 0.7;
/// No more places beside others than this are kept for a kind and bin, and no more of them tried for one item.
const MOST_KEPT: usize = 20_000;
const MOST_TRIED: usize = 600;

/// Sides that touch count as overlapping (the tolerance is already taken off the outlines), so neighbours stand this far
/// apart, mm.
const APART: f64 = 1e-7;

/// A free place.
struct Place {
    key: f64,
    posture: Posture,
    at: [f64; 2],
}

/// What a place is judged by, least best: how far it reaches along the main axis, then how far out it lies.
fn key(posture: &Posture, at: [f64; 2], low: [f64; 2], main: usize) -> f64 {
    at[main] + posture.high[main] + 0.005 * (at[1 - main] - low[1 - main])
}

/// The places for a kind in a bin with bounds touching another item's: beyond it along one axis, level with it along the
/// other; and the corner.
struct Beside {
    postures: Vec<Posture>,
    /// Best first.
    places: BinaryHeap<Reverse<Ranked>>,
    /// How many of the items in the bin have been taken up.
    seen: usize,
}

/// A place not yet tried.
#[derive(Debug, Clone, Copy)]
struct Ranked {
    key: f64,
    posture: usize,
    at: [f64; 2],
}

impl Ord for Ranked {
    fn cmp(&self, other: &Self) -> Ordering {
        let places = self.at[0]
            .total_cmp(&other.at[0])
            .then(self.at[1].total_cmp(&other.at[1]));
        self.key
            .total_cmp(&other.key)
            .then(self.posture.cmp(&other.posture))
            .then(places)
    }
}

impl PartialOrd for Ranked {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Ranked {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Ranked {}

impl Beside {
    fn new(field: &Field, kind: &Kind, bin: usize, main: usize) -> Self {
        let turns: Vec<Turn> = if kind.tolerance_deg == 0.0 {
            kind.turns.clone()
        } else {
            kind.snaps.iter().map(|s| s.0).collect()
        };
        let postures: Vec<Posture> = turns
            .into_iter()
            .map(|turn| {
                let mut posture = Posture::default();
                posture.set(kind, turn);
                posture
            })
            .filter(|posture| field.range(posture, bin).is_some())
            .collect();
        let corner = |(p, posture): (usize, &Posture)| {
            let (low, _) = field.range(posture, bin)?;
            let key = key(posture, low, low, main);
            Some(Reverse(Ranked {
                key,
                posture: p,
                at: low,
            }))
        };
        Self {
            places: postures.iter().enumerate().filter_map(corner).collect(),
            postures,
            seen: 0,
        }
    }

    /// The best free place; the ones found taken are forgotten.
    fn best(&mut self, field: &mut Field, i: usize, bin: usize, main: usize, lying: &[usize]) -> Option<Place> {
        for other in &lying[self.seen..] {
            self.take_up(field, *other, bin, main);
        }
        self.seen = lying.len();
        for _ in 0..MOST_TRIED {
            let Reverse(Ranked { posture, mut at, .. }) = self.places.pop()?;
            let posture = &self.postures[posture];
            if field.free(i, posture, spot(bin, at)) {
                let (low, _) = field.range(posture, bin)?;
                slide(field, i, posture, bin, &mut at, main, low);
                return Some(Place {
                    key: key(posture, at, low, main),
                    posture: posture.clone(),
                    at,
                });
            }
        }
        None
    }

    /// The places beside item `other`.
    fn take_up(&mut self, field: &Field, other: usize, bin: usize, main: usize) {
        let other = &field.slots[other];
        let (grown, origin) = (&other.posture.grown, [other.spot.x, other.spot.y]);
        for (p, posture) in self.postures.iter().enumerate() {
            let Some((low, high)) = field.range(posture, bin) else {
                continue;
            };
            let own = &posture.grown;
            for along in [0, 1] {
                let mut at = [0.0; 2];
                at[along] = origin[along] + grown.high[along] - own.low[along] + APART;
                at[1 - along] = (origin[1 - along] + grown.low[1 - along] - own.low[1 - along]).max(low[1 - along]);
                if at[0] <= high[0] && at[1] <= high[1] {
                    let key = key(posture, at, low, main);
                    self.places.push(Reverse(Ranked { key, posture: p, at }));
                }
            }
        }
        if self.places.len() > MOST_KEPT {
            let mut kept = std::mem::take(&mut self.places).into_vec();
            kept.sort_unstable_by_key(|place| place.0);
            kept.truncate(MOST_KEPT / 2);
            self.places = kept.into();
        }
    }
}

fn spot(bin: usize, at: [f64; 2]) -> Spot {
    Spot {
        bin,
        x: at[0],
        y: at[1],
    }
}

/// Slides a free item along the main axis, then the other, as far as it stays free, by halving steps.
fn slide(field: &mut Field, i: usize, posture: &Posture, bin: usize, at: &mut [f64; 2], main: usize, low: [f64; 2]) {
    let mut step = field.kinds[field.slots[i].kind].radius;
    let last = step * 1e-5;
    while step > last {
        let mut moved = false;
        for axis in [main, 1 - main] {
            let mut next = *at;
            next[axis] = (next[axis] - step).max(low[axis]);
            if next[axis] < at[axis] && field.free(i, posture, spot(bin, next)) {
                *at = next;
                moved = true;
                break;
            }
        }
        if !moved {
            step /= 2.0;
        }
    }
}
