//! Whether a ring of points is a simple polygon, found by a sweep with exact predicates.
//!
//! Shamos & Hoey 1976, "Geometric intersection problems": the sides are met from left to right and kept in the order
//! from bottom to top; if any two cross or touch, two that are neighbours in that order do. Orientations come from
//! geo's robust predicate, so the order can be trusted and the answer is exact.

use crate::Point;
use geo::kernels::{Kernel, Orientation, RobustKernel};
use std::cmp::Ordering;
use std::collections::BTreeSet;
use std::ops::Bound;

/// One side, its ends sorted from left to right (upwards when upright).
#[derive(Clone, Copy)]
struct Side {
    left: Point,
    right: Point,
    /// Position of the side in the ring.
    index: usize,
}

/// Where two sides of the ring cross or touch other than neighbours at their shared corner, if anywhere.
/// At least three points, finite, none equal to the next. Cost O(n log n).
pub(crate) fn first_crossing(ring: &[Point]) -> Option<Point> {
    if is_strictly_convex(ring) {
        return None;
    }
    if let Some(corner) = repeated_corner(ring) {
        return Some(corner);
    }
    let sides = sides_of(ring);
    let mut events: Vec<(Point, bool, usize)> = sides
        .iter()
        .flat_map(|s| [(s.left, true, s.index), (s.right, false, s.index)])
        .collect();
    // At one corner the sides that end there leave before those that start there come in.
    events.sort_by(|a, b| by_position(&a.0, &b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));

    let mut status: BTreeSet<Side> = BTreeSet::new();
    for (_, starts, index) in events {
        let side = sides[index];
        let below = status.range(..side).next_back().copied();
        let above = status.range((Bound::Excluded(side), Bound::Unbounded)).next().copied();
        let meeting = if starts {
            status.insert(side);
            let met = |other: Option<Side>| other.and_then(|o| meeting(&side, &o, ring.len()));
            met(below).or_else(|| met(above))
        } else {
            status.remove(&side);
            below.zip(above).and_then(|(a, b)| meeting(&a, &b, ring.len()))
        };
        if meeting.is_some() {
            return meeting;
        }
    }
    None
}

/// Whether the ring turns the same way at every corner and goes round once: then it is simple, and most glass is. Cost O(n).
fn is_strictly_convex(ring: &[Point]) -> bool {
    let n = ring.len();
    let at = |i: usize| ring[i % n];
    let turn = |i: usize| orient(at(i), at(i + 1), at(i + 2));
    let first = turn(0);
    // Sides that go rightwards (or straight up) follow each other in one stretch if the directions turn round just once.
    let rightwards = |i: usize| by_position(&at(i), &at(i + 1)) == Ordering::Less;
    first != Orientation::Collinear
        && (1..n).all(|i| turn(i) == first)
        && (0..n).filter(|i| rightwards(*i) != rightwards(i + 1)).count() == 2
}

/// Whether no three of the points span an area.
pub(crate) fn all_on_one_line(points: &[Point]) -> bool {
    points.len() < 3
        || points[2..]
            .iter()
            .all(|p| orient(points[0], points[1], *p) == Orientation::Collinear)
}

/// Whether `point` is inside the ring or on it.
pub(crate) fn contains(ring: &[Point], point: Point) -> bool {
    let mut inside = false;
    for (i, &b) in ring.iter().enumerate() {
        let a = ring[if i == 0 { ring.len() - 1 } else { i - 1 }];
        let (low, high) = if a.y <= b.y { (a, b) } else { (b, a) };
        if point.y < low.y || point.y > high.y {
            continue;
        }
        let side = orient(low, high, point);
        if side == Orientation::Collinear && point.x >= low.x.min(high.x) && point.x <= low.x.max(high.x) {
            return true;
        }
        // Half-open in y, so that a ray through a corner counts it once.
        if low.y <= point.y && point.y < high.y && side == Orientation::CounterClockwise {
            inside = !inside;
        }
    }
    inside
}

fn repeated_corner(ring: &[Point]) -> Option<Point> {
    let mut sorted = ring.to_vec();
    sorted.sort_by(by_position);
    sorted.windows(2).find(|w| w[0] == w[1]).map(|w| w[0])
}

fn sides_of(ring: &[Point]) -> Vec<Side> {
    (0..ring.len())
        .map(|index| {
            let (a, b) = (ring[index], ring[(index + 1) % ring.len()]);
            let (left, right) = if by_position(&a, &b) == Ordering::Less {
                (a, b)
            } else {
                (b, a)
            };
            Side { left, right, index }
        })
        .collect()
}

/// Where two sides of a ring of `n` meet, other than neighbours in the corner they share.
fn meeting(a: &Side, b: &Side, n: usize) -> Option<Point> {
    let neighbours = (a.index + 1) % n == b.index || (b.index + 1) % n == a.index;
    if neighbours {
        return spike(a, b);
    }
    let (b1, b2) = (orient(a.left, a.right, b.left), orient(a.left, a.right, b.right));
    let (a1, a2) = (orient(b.left, b.right, a.left), orient(b.left, b.right, a.right));
    if b1 != Orientation::Collinear
        && b2 != Orientation::Collinear
        && a1 != Orientation::Collinear
        && a2 != Orientation::Collinear
    {
        return (b1 != b2 && a1 != a2).then(|| crossing_point(a, b));
    }
    [(a, b.left, b1), (a, b.right, b2), (b, a.left, a1), (b, a.right, a2)]
        .into_iter()
        .find(|(side, point, orientation)| *orientation == Orientation::Collinear && within_box(side, *point))
        .map(|(_, point, _)| point)
}

/// Where neighbours run back along each other: the nearer of their far ends.
fn spike(a: &Side, b: &Side) -> Option<Point> {
    [(a, b.left), (a, b.right), (b, a.left), (b, a.right)]
        .into_iter()
        .find(|(side, point)| {
            *point != side.left
                && *point != side.right
                && within_box(side, *point)
                && orient(side.left, side.right, *point) == Orientation::Collinear
        })
        .map(|(_, point)| point)
}

fn within_box(side: &Side, p: Point) -> bool {
    side.left.x <= p.x
        && p.x <= side.right.x
        && side.left.y.min(side.right.y) <= p.y
        && p.y <= side.left.y.max(side.right.y)
}

fn crossing_point(a: &Side, b: &Side) -> Point {
    let (d, e) = (a.right - a.left, b.right - b.left);
    let cross = d.x * e.y - d.y * e.x;
    if cross == 0.0 {
        return a.left;
    }
    let f = b.left - a.left;
    a.left + d * ((f.x * e.y - f.y * e.x) / cross)
}

fn orient(a: Point, b: Point, c: Point) -> Orientation {
    RobustKernel::orient2d(a, b, c)
}

fn by_position(a: &Point, b: &Point) -> Ordering {
    // All finite, and −0 must equal 0 here, so not total_cmp.
    let or_equal = |o: Option<Ordering>| o.unwrap_or(Ordering::Equal);
    or_equal(a.x.partial_cmp(&b.x)).then(or_equal(a.y.partial_cmp(&b.y)))
}

/// From bottom to top where both are met by the sweep; sides that do not cross keep this order throughout.
impl Ord for Side {
    fn cmp(&self, other: &Self) -> Ordering {
        if self.index == other.index {
            return Ordering::Equal;
        }
        if by_position(&self.left, &other.left) == Ordering::Greater {
            return other.cmp(self).reverse();
        }
        let height = |p| match orient(self.left, self.right, p) {
            Orientation::CounterClockwise => Ordering::Less,
            Orientation::Clockwise => Ordering::Greater,
            Orientation::Collinear => Ordering::Equal,
        };
        height(other.left)
            .then_with(|| height(other.right))
            .then(self.index.cmp(&other.index))
    }
}

impl PartialOrd for Side {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Side {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Side {}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(corners: usize, step: usize) -> Vec<Point> {
        let corner = |k: usize| {
            let angle = (k * step % corners) as f64 / corners as f64 * std::f64::consts::TAU;
            Point {
                x: angle.cos(),
                y: angle.sin(),
            }
        };
        (0..corners).map(corner).collect()
    }

    /// A pentagon turns round once; the pentagram turns the same way at every corner too, but round twice.
    #[test]
    fn only_rings_that_go_round_once_are_convex() {
        assert!(is_strictly_convex(&turned(5, 1)));
        assert!(is_strictly_convex(&turned(5, 4)));
        assert!(!is_strictly_convex(&turned(5, 2)));
        assert_eq!(first_crossing(&turned(5, 1)), None);
        assert!(first_crossing(&turned(5, 2)).is_some());
        let square = |w: f64| [(0.0, 0.0), (1.0, 0.0), (1.0, w), (0.0, w)].map(|(x, y)| Point { x, y });
        assert!(is_strictly_convex(&square(1.0)));
        assert!(!is_strictly_convex(&square(0.0)));
    }
}
