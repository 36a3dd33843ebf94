//! Pieces, pairs near contact and a container of placed pieces, all from a seed.

use geo::{Intersects, LineString, Polygon, Translate};
use rand_core::{RngCore, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::f64::consts::TAU;

/// Seeded numbers.
pub(crate) struct Random(Xoshiro256PlusPlus);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed))
    }

    /// From `low` to `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// Corners round the origin, counter-clockwise, millimetres. Every one is seen from the origin.
pub(crate) type Piece = Vec<[f64; 2]>;

/// A piece about 100 mm across with lobes and hollows, so that it is not convex.
pub(crate) fn piece(random: &mut Random, corners: usize) -> Piece {
    let (lobes, depth, start) = (
        random.between(2.0, 5.0).floor(),
        random.between(0.05, 0.25),
        random.between(0.0, TAU),
    );
    (0..corners)
        .map(|i| {
            let angle = start + TAU * i as f64 / corners as f64;
            let radius = 50.0 * (1.0 + depth * (lobes * angle).cos() + random.between(-0.03, 0.03));
            [radius * angle.cos(), radius * angle.sin()]
        })
        .collect()
}

pub(crate) fn polygon(piece: &Piece) -> Polygon<f64> {
    Polygon::new(LineString::from(piece.clone()), Vec::new())
}

/// The second piece's origin lies `offset` from the first's.
pub(crate) struct Pair {
    pub(crate) still: Piece,
    pub(crate) moved: Piece,
    pub(crate) offset: [f64; 2],
}

/// Pairs within 2 mm of contact, about half of them overlapping.
pub(crate) fn pairs(random: &mut Random, corners: usize, count: usize) -> Vec<Pair> {
    (0..count)
        .map(|i| {
            let (still, moved) = (piece(random, corners), piece(random, corners));
            let angle = random.between(0.0, TAU);
            let (a, b) = (polygon(&still), polygon(&moved));
            let overlap = |far: f64| a.intersects(&b.translate(far * angle.cos(), far * angle.sin()));
            let (mut near, mut far) = (0.0, 200.0);
            for _ in 0..40 {
                let middle = (near + far) / 2.0;
                if overlap(middle) { near = middle } else { far = middle }
            }
            let off = random.between(0.1, 2.0);
            let away = if i % 2 == 0 { far + off } else { near - off };
            Pair {
                still,
                moved,
                offset: [away * angle.cos(), away * angle.sin()],
            }
        })
        .collect()
}

/// Pieces placed in a rectangle, and places to ask for.
pub(crate) struct Packed {
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) placed: Vec<(Piece, [f64; 2])>,
    pub(crate) moved: Piece,
    pub(crate) asked: Vec<[f64; 2]>,
}

/// `count` pieces in rows of ten, close together, every seventh place left open; two thirds of the places asked for are at
/// an open one, the others beside it.
pub(crate) fn packed(random: &mut Random, corners: usize, count: usize) -> Packed {
    let step = 118.0;
    let (across, mut cell) = (11, 0);
    let mut spot = || {
        let at = [
            (cell % across) as f64 * step + 60.0,
            (cell / across) as f64 * step + 60.0,
        ];
        cell += 1;
        at
    };
    let (mut placed, mut open) = (Vec::new(), Vec::new());
    while placed.len() < count {
        let at = spot();
        if (placed.len() + open.len()) % 7 == 6 {
            open.push(at);
        } else {
            let jitter = [random.between(-3.0, 3.0), random.between(-3.0, 3.0)];
            placed.push((piece(random, corners), [at[0] + jitter[0], at[1] + jitter[1]]));
        }
    }
    let (width, height) = (
        across as f64 * step + 8.0,
        (cell as f64 / across as f64).ceil() * step + 8.0,
    );
    let asked = (0..500)
        .map(|i| {
            let middle = open[i % open.len()];
            let reach = if i % 3 > 0 { 6.0 } else { 60.0 };
            [
                middle[0] + random.between(-reach, reach),
                middle[1] + random.between(-reach, reach),
            ]
        })
        .collect();
    Packed {
        width,
        height,
        placed,
        moved: piece(random, corners),
        asked,
    }
}
