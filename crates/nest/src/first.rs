//! A first valid layout: items one by one, large ones first, each as far left (then down) as a sample of places allows.

use crate::field::{Field, Spot};
use crate::form::{Posture, Turn};
use crate::place::turn_of;
use crate::random::Random;

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

/// Puts item `i` where it is free, leaning as told; whether there was a place.
///
/// Looked at are all places whose bounds touch those of an item that lies there already, best first, and then `samples`
/// places drawn all over that could be better.
pub(crate) fn put(field: &mut Field, i: usize, bin: usize, lean: Lean, samples: usize, random: &mut Random) -> bool {
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    if !kind.may_lie_in(bin) {
        return false;
    }
    let main = match lean {
        Lean::Left => 0,
        Lean::Down => 1,
    };
    let mut best = beside_others(field, i, bin, main);
    let mut scratch = Posture::default();
    for _ in 0..samples {
        let (turn, fixed) = turn_of(kind, SNAPPED, random);
        let posture = if kind.slack == 0.0 {
            &kind.fixed[fixed]
        } else {
            scratch.set(kind, turn);
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
    let Some(best) = best else { return false };
    field.put(i, &best.posture, spot(bin, best.at));
    true
}

/// Share of draws that take a snapped turn, where there are any: straight edges against straight edges fill rows.
const SNAPPED: f64 = 0.7;
/// No more places beside others than this are ranked, and of those no more tried.
const MOST_RANKED: usize = 20_000;
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

/// The best free place in the corner or with bounds touching another item's: beyond it along one axis, level with it along
/// the other.
fn beside_others(field: &mut Field, i: usize, bin: usize, main: usize) -> Option<Place> {
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    let turns: Vec<Turn> = if kind.slack == 0.0 {
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
        .collect();
    let mut ranked: Vec<(f64, usize, [f64; 2])> = Vec::new();
    for (p, posture) in postures.iter().enumerate() {
        let Some((low, high)) = field.range(posture, bin) else {
            continue;
        };
        ranked.push((key(posture, low, low, main), p, low));
        for other in field.slots.iter().filter(|s| s.placed && s.spot.bin == bin) {
            let (grown, own) = (&other.posture.grown, &posture.grown);
            let origin = [other.spot.x, other.spot.y];
            for along in [0, 1] {
                let mut at = [0.0; 2];
                at[along] = origin[along] + grown.high[along] - own.low[along] + APART;
                at[1 - along] = (origin[1 - along] + grown.low[1 - along] - own.low[1 - along]).max(low[1 - along]);
                if at[0] <= high[0] && at[1] <= high[1] && ranked.len() < MOST_RANKED {
                    ranked.push((key(posture, at, low, main), p, at));
                }
            }
        }
    }
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, p, mut at) in ranked.into_iter().take(MOST_TRIED) {
        let posture = &postures[p];
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
