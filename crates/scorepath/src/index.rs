//! Sides by where they lie, so that those near a place are found without looking at all.

use crate::stretch::{dot, norm};
use cullet_geometry::Point;
use std::collections::{BTreeMap, BTreeSet};

/// Width of a square, mm.
const SQUARE: f64 = 16.0;

/// Sides with something noted of each.
#[derive(Debug)]
pub(crate) struct Index<T> {
    sides: Vec<(Point, Point, T)>,
    squares: BTreeMap<(i64, i64), Vec<usize>>,
}

impl<T> Index<T> {
    pub(crate) fn new() -> Self {
        Self {
            sides: vec![],
            squares: BTreeMap::new(),
        }
    }

    pub(crate) fn add(&mut self, a: Point, b: Point, note: T) {
        let number = self.sides.len();
        self.sides.push((a, b, note));
        // Long sides are entered along their way, not in all squares of their box.
        let steps = (norm(b - a) / SQUARE).ceil().max(1.0) as usize;
        let mut seen = BTreeSet::new();
        for k in 0..steps {
            let at = |share: f64| a + (b - a) * share;
            let (from, to) = (at(k as f64 / steps as f64), at((k + 1) as f64 / steps as f64));
            seen.extend(squares(from, to, 0.0));
        }
        for square in seen {
            self.squares.entry(square).or_default().push(number);
        }
    }

    /// The sides that may come within `reach` of the side from `a` to `b`, in the order they were added.
    pub(crate) fn near(&self, a: Point, b: Point, reach: f64) -> Vec<&(Point, Point, T)> {
        let mut found = BTreeSet::new();
        let steps = (norm(b - a) / SQUARE).ceil().max(1.0) as usize;
        for k in 0..steps {
            let at = |share: f64| a + (b - a) * share;
            let (from, to) = (at(k as f64 / steps as f64), at((k + 1) as f64 / steps as f64));
            for square in squares(from, to, reach) {
                found.extend(self.squares.get(&square).into_iter().flatten().copied());
            }
        }
        found.into_iter().map(|k| &self.sides[k]).collect()
    }
}

fn squares(a: Point, b: Point, reach: f64) -> impl Iterator<Item = (i64, i64)> {
    let number = |x: f64| (x / SQUARE).floor() as i64;
    let (low, high) = (a.x.min(b.x) - reach, a.x.max(b.x) + reach);
    let (foot, head) = (a.y.min(b.y) - reach, a.y.max(b.y) + reach);
    (number(low)..=number(high)).flat_map(move |x| (number(foot)..=number(head)).map(move |y| (x, y)))
}

/// Where on the side from `a` to `b` the point nearest to `p` lies, as a share, and how far off `p` is.
pub(crate) fn foot(a: Point, b: Point, p: Point) -> (f64, f64) {
    let side = b - a;
    let share = (dot(p - a, side) / dot(side, side).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
    (share, norm(p - (a + side * share)))
}
