//! A first valid layout: items one by one, large ones first, each as far left (then down) as a sample of places allows.

use crate::field::{Field, Spot};
use crate::form::Posture;
use crate::place::any_turn;
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

/// Puts item `i` where it is free, leaning as told, at the best of the places sampled in `bin`; whether there was one.
pub(crate) fn put(field: &mut Field, i: usize, bin: usize, lean: Lean, samples: usize, random: &mut Random) -> bool {
    let (main, side) = match lean {
        Lean::Left => (0, 1),
        Lean::Down => (1, 0),
    };
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    if !kind.may_lie_in(bin) {
        return false;
    }
    let mut scratch = Posture::default();
    let mut best: Option<(f64, Posture, Spot)> = None;
    for _ in 0..samples {
        let (turn, fixed) = any_turn(field, i, random);
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
            .map_or(high[main], |(key, ..)| high[main].min(key - posture.high[main]));
        if most < low[main] {
            continue;
        }
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
        let key = |at: &[f64; 2]| at[main] + posture.high[main] + 0.005 * (at[side] - low[side]);
        if best.as_ref().is_some_and(|(least, ..)| key(&at) >= *least) || !field.free(i, posture, spot(bin, at)) {
            continue;
        }
        slide(field, i, posture, bin, &mut at, main, low);
        if best.as_ref().is_none_or(|(least, ..)| key(&at) < *least) {
            best = Some((key(&at), posture.clone(), spot(bin, at)));
        }
    }
    match best {
        Some((_, posture, spot)) => {
            field.put(i, &posture, spot);
            true
        }
        None => false,
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
