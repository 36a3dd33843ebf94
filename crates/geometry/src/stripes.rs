//! The sides of a ring in upright stripes: which of thousands lie at a place is told without a look at each.

use crate::Point;
use crate::ring::{is_near, nearest, sides};

/// A ring of which many places are asked whether they lie on it, no further off than `most`.
///
/// Building it costs O(n), and a question looks at the sides in one stripe: a few for the outline of a piece, all of them at worst.
///
/// ```
/// use cullet_geometry::{Outline, Point, stripes::Striped};
/// let outline = Outline::rectangle(100.0, 50.0);
/// let striped = Striped::of(outline.points(), 0.01);
/// assert!(striped.is_on(Point { x: 30.0, y: 50.005 }));
/// assert!(!striped.is_on(Point { x: 30.0, y: 49.0 }));
/// ```
#[derive(Debug)]
pub struct Striped<'a> {
    ring: &'a [Point],
    most: f64,
    low: f64,
    per_mm: f64,
    stripes: Vec<Vec<usize>>,
}

impl<'a> Striped<'a> {
    /// The ring with as many stripes as it has sides.
    #[must_use]
    pub fn of(ring: &'a [Point], most: f64) -> Self {
        let low = ring.iter().map(|p| p.x).fold(f64::INFINITY, f64::min) - most;
        let high = ring.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max) + most;
        let count = ring.len().max(1);
        let per_mm = count as f64 / (high - low).max(f64::MIN_POSITIVE);
        let mut striped = Self {
            ring,
            most,
            low,
            per_mm,
            stripes: vec![vec![]; count],
        };
        // A hair more, whatever is rounded.
        let reach = most + 1e-9;
        for (i, (a, b)) in sides(ring).enumerate() {
            let (from, to) = (
                striped.stripe(a.x.min(b.x) - reach),
                striped.stripe(a.x.max(b.x) + reach),
            );
            striped.stripes[from..=to].iter_mut().for_each(|stripe| stripe.push(i));
        }
        striped
    }

    fn stripe(&self, x: f64) -> usize {
        let at = ((x - self.low) * self.per_mm).floor().max(0.0) as usize;
        at.min(self.stripes.len() - 1)
    }

    /// The sides within whose bounds a place lies, or no further off than `most`, in the ring's order.
    pub fn near(&self, p: Point) -> impl Iterator<Item = (usize, Point, Point)> + '_ {
        let ends = |i: usize| (i, self.ring[i], self.ring[(i + 1) % self.ring.len()]);
        let there = self.stripes[self.stripe(p.x)].iter().map(move |i| ends(*i));
        there.filter(move |(_, a, b)| is_near(*a, *b, p, self.most))
    }

    /// Whether a place lies on the ring, or no further off than `most`.
    #[must_use]
    pub fn is_on(&self, p: Point) -> bool {
        self.near(p).any(|(_, a, b)| nearest(a, b, p).1 <= self.most)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ring::is_on;
    use proptest::prelude::*;

    proptest! {
        /// The same answer as a look at every side gives.
        #[test]
        fn stripes_miss_nothing(
            ring in prop::collection::vec((-90.0..90.0f64, -90.0..90.0f64), 3..60),
            places in prop::collection::vec((-100.0..100.0f64, -100.0..100.0f64), 30),
            most in 0.0..20.0f64,
        ) {
            let ring: Vec<Point> = ring.into_iter().map(|(x, y)| Point { x, y }).collect();
            let striped = Striped::of(&ring, most);
            let corners = ring.iter().map(|p| Point { x: p.x + most, ..*p });
            for p in places.into_iter().map(|(x, y)| Point { x, y }).chain(corners) {
                prop_assert_eq!(striped.is_on(p), is_on(&ring, p, most));
            }
        }
    }
}
