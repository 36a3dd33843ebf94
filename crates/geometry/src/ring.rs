//! Plane geometry of rings and chains: lengths, turns, hulls, widths, where a line meets a ring, how a chain parts it.
//!
//! A ring is the corners of a simple polygon, counter-clockwise, the first not repeated; a chain is a row of points. Millimetres
//! and degrees. Square roots and not `hypot`: it is slow, and not the same on every machine.

use crate::Point;
use geo::{ConvexHull, MultiPoint};

/// Scalar product.
#[must_use]
pub fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

/// Cross product: positive where `b` lies to the left of `a`.
#[must_use]
pub fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Length of a vector.
#[must_use]
pub fn length(a: Point) -> f64 {
    (a.x * a.x + a.y * a.y).sqrt()
}

/// A vector turned counter-clockwise.
#[must_use]
pub fn turned(a: Point, degrees: f64) -> Point {
    let (sin, cos) = degrees.to_radians().sin_cos();
    Point {
        x: a.x * cos - a.y * sin,
        y: a.x * sin + a.y * cos,
    }
}

/// From direction `a` to direction `b`, degrees, positive to the left.
#[must_use]
pub fn turn_deg(a: Point, b: Point) -> f64 {
    cross(a, b).atan2(dot(a, b)).to_degrees()
}

/// Area, positive for a counter-clockwise ring; measured from the first corner, so that a ring far from the origin loses no digits.
#[must_use]
pub fn area(ring: &[Point]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    ring.windows(2).map(|w| cross(w[0] - o, w[1] - o)).sum::<f64>() / 2.0
}

/// Every side with its two ends.
pub fn sides(ring: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]))
}

/// The nearest place of a segment to a point: share along it, and the distance.
#[must_use]
pub fn nearest(a: Point, b: Point, p: Point) -> (f64, f64) {
    let along = b - a;
    let square = dot(along, along);
    let t = if square > 0.0 {
        (dot(p - a, along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (t, length(p - (a + along * t)))
}

/// The nearest place of a ring: side, share along it, distance.
#[must_use]
pub fn on_ring(ring: &[Point], p: Point) -> (usize, f64, f64) {
    let mut best = (0, 0.0, f64::INFINITY);
    for (i, (a, b)) in sides(ring).enumerate() {
        // Most sides are told to be further off by their bounds alone.
        let beyond = |p: f64, a: f64, b: f64| (a.min(b) - p).max(p - a.max(b));
        if beyond(p.x, a.x, b.x).max(beyond(p.y, a.y, b.y)) > best.2 + 1e-9 {
            continue;
        }
        let (t, d) = nearest(a, b, p);
        if d < best.2 {
            best = (i, t, d);
        }
    }
    best
}

/// Whether a point lies on a ring, or no further off than `most`.
#[must_use]
pub fn is_on(ring: &[Point], p: Point, most: f64) -> bool {
    sides(ring).any(|(a, b)| is_near(a, b, p, most) && nearest(a, b, p).1 <= most)
}

/// Whether a point lies within the bounds of a segment, or no further off than `most`: told faster than how far off it is.
#[must_use]
pub fn is_near(a: Point, b: Point, p: Point, most: f64) -> bool {
    let beyond = |p: f64, a: f64, b: f64| (a.min(b) - p).max(p - a.max(b));
    beyond(p.x, a.x, b.x).max(beyond(p.y, a.y, b.y)) <= most
}

/// Whether a point lies inside, by the sides a level ray crosses; anything on the boundary may go either way.
#[must_use]
pub fn contains(ring: &[Point], p: Point) -> bool {
    let mut inside = false;
    for (a, b) in sides(ring) {
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) * (b.x - a.x) / (b.y - a.y) {
            inside = !inside;
        }
    }
    inside
}

/// Where the segments a–b and c–d cross: shares along both; nothing where they are parallel.
#[must_use]
pub fn meeting(a: Point, b: Point, c: Point, d: Point) -> Option<(f64, f64)> {
    let (u, v) = (b - a, d - c);
    let den = cross(u, v);
    if den.abs() <= 1e-12 * length(u) * length(v) {
        return None;
    }
    let w = c - a;
    let (t, s) = (cross(w, v) / den, cross(w, u) / den);
    ((-1e-9..=1.0 + 1e-9).contains(&t) && (-1e-9..=1.0 + 1e-9).contains(&s)).then_some((t, s))
}

/// How far a ray goes from `from` along the unit vector `along` until it meets the ring, past `past` mm.
#[must_use]
pub fn ray(ring: &[Point], from: Point, along: Point, past: f64) -> Option<f64> {
    let mut best: Option<f64> = None;
    for (a, b) in sides(ring) {
        let v = b - a;
        let den = cross(along, v);
        let w = a - from;
        if den.abs() <= 1e-12 * length(v) {
            continue;
        }
        let (t, s) = (cross(w, v) / den, cross(w, along) / den);
        if t > past && (-1e-9..=1.0 + 1e-9).contains(&s) && best.is_none_or(|d| t < d) {
            best = Some(t);
        }
    }
    best
}

/// Parts a ring along a chain whose ends lie on it: what is to the left of the chain, what is to the right.
#[must_use]
pub fn parted(ring: &[Point], chain: &[Point]) -> Option<(Vec<Point>, Vec<Point>)> {
    let (&start, &end) = (chain.first()?, chain.last()?);
    let (s, e) = (on_ring(ring, start), on_ring(ring, end));
    let left = joined(chain.iter().copied(), between(ring, e, s));
    let right = joined(chain.iter().rev().copied(), between(ring, s, e));
    (left.len() > 2 && right.len() > 2 && area(&left) > 0.0 && area(&right) > 0.0).then_some((left, right))
}

/// The corners of the ring met going counter-clockwise from one place to another.
fn between(ring: &[Point], from: (usize, f64, f64), to: (usize, f64, f64)) -> Vec<Point> {
    let n = ring.len();
    if from.0 == to.0 && from.1 <= to.1 {
        return vec![];
    }
    let mut i = (from.0 + 1) % n;
    let mut met = vec![ring[i]];
    while i != to.0 {
        i = (i + 1) % n;
        met.push(ring[i]);
    }
    met
}

fn joined(chain: impl Iterator<Item = Point>, rest: Vec<Point>) -> Vec<Point> {
    let mut ring: Vec<Point> = Vec::new();
    for p in chain.chain(rest) {
        if ring.last().is_none_or(|q| length(p - *q) > 1e-7) {
            ring.push(p);
        }
    }
    while ring.len() > 1 && length(ring[0] - ring[ring.len() - 1]) <= 1e-7 {
        ring.pop();
    }
    ring
}

/// The smallest distance between two parallel lines that hold the ring between them, mm (one of them lies along a side of
/// its hull). Cost O(n log n + h²) for h corners of the hull.
#[must_use]
pub fn width(ring: &[Point]) -> f64 {
    let hull = hull(ring);
    let n = hull.len();
    if n < 3 {
        return 0.0;
    }
    // Every corner for every side: rounding along flat stretches would mislead a walk round the hull.
    sides(&hull)
        .map(|(a, b)| {
            let along = (b - a) / length(b - a);
            hull.iter().map(|p| cross(along, *p - a)).fold(0.0, f64::max)
        })
        .fold(f64::INFINITY, f64::min)
}

/// The convex hull, counter-clockwise, by exact predicates: a hull that loses a corner to rounding is no hull.
#[must_use]
pub fn hull(points: &[Point]) -> Vec<Point> {
    let mut ring = MultiPoint::from(points.to_vec()).convex_hull().into_inner().0.0;
    ring.pop();
    ring
}

/// The stretches of a path that lie inside a ring, from edge to edge, in the order of the path. Points nearer than `touch` mm are one.
/// The ends lie on the ring: what they would lie off it, times the side that they lie on, would be lost between the parts.
#[must_use]
pub fn inside_stretches(ring: &[Point], path: &[Point], touch: f64) -> Vec<Vec<Point>> {
    // Where the path meets the ring: segment and share of it.
    let mut meets: Vec<(usize, f64)> = Vec::new();
    for (k, w) in path.windows(2).enumerate() {
        let (lo, hi) = (w[0].x.min(w[1].x), w[0].x.max(w[1].x));
        for (a, b) in sides(ring) {
            if a.x.max(b.x) < lo - 1e-6 || a.x.min(b.x) > hi + 1e-6 {
                continue;
            }
            if let Some((t, _)) = meeting(w[0], w[1], a, b) {
                meets.push((k, t.clamp(0.0, 1.0)));
            }
        }
    }
    // A corner that only touches parts the path too.
    for (k, p) in path.iter().enumerate().take(path.len() - 1) {
        if is_on(ring, *p, touch) {
            meets.push((k, 0.0));
        }
    }
    for p in ring {
        for (k, w) in path.windows(2).enumerate() {
            let (t, off) = nearest(w[0], w[1], *p);
            if off <= touch {
                meets.push((k, t));
            }
        }
    }
    meets.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let at = |m: (usize, f64)| path[m.0] + (path[m.0 + 1] - path[m.0]) * m.1;
    let mut found = Vec::new();
    for pair in meets.windows(2) {
        let mut stretch = vec![at(pair[0])];
        stretch.extend(path.get(pair[0].0 + 1..=pair[1].0).into_iter().flatten());
        stretch.push(at(pair[1]));
        stretch.dedup_by(|a, b| length(*a - *b) < 1e-7);
        if stretch.len() < 2 {
            continue;
        }
        let longest = stretch
            .windows(2)
            .max_by(|a, b| length(a[1] - a[0]).total_cmp(&length(b[1] - b[0])));
        let inside = longest.is_some_and(|w| {
            let middle = (w[0] + w[1]) / 2.0;
            length(w[1] - w[0]) > touch && contains(ring, middle) && !is_on(ring, middle, touch / 2.0)
        });
        if inside {
            let last = stretch.len() - 1;
            stretch[0] = nearest_on(ring, stretch[0]);
            stretch[last] = nearest_on(ring, stretch[last]);
            found.push(stretch);
        }
    }
    found
}

/// The point of a ring that is nearest.
fn nearest_on(ring: &[Point], p: Point) -> Point {
    let (side, share, _) = on_ring(ring, p);
    let (a, b) = (ring[side], ring[(side + 1) % ring.len()]);
    a + (b - a) * share
}

/// Where a chain cuts into a ring, deeper than `touch` mm; nothing where it passes it by.
#[must_use]
pub fn cut_at(ring: &[Point], chain: &[Point], touch: f64) -> Option<Point> {
    for w in chain.windows(2) {
        let (a, b) = (w[0], w[1]);
        let (low, high) = (
            Point {
                x: a.x.min(b.x),
                y: a.y.min(b.y),
            },
            Point {
                x: a.x.max(b.x),
                y: a.y.max(b.y),
            },
        );
        let apart = |c: Point, d: Point| {
            c.x.max(d.x) < low.x || c.x.min(d.x) > high.x || c.y.max(d.y) < low.y || c.y.min(d.y) > high.y
        };
        let unit = (b - a) / length(b - a);
        let (mut least, mut most, mut near) = (f64::INFINITY, f64::NEG_INFINITY, false);
        let mut meets: Vec<f64> = vec![0.0, 1.0];
        for (c, d) in sides(ring) {
            let off = cross(unit, c - a);
            (least, most) = (least.min(off), most.max(off));
            if !apart(c, d) {
                near = true;
                meets.extend(meeting(a, b, c, d).map(|(t, _)| t.clamp(0.0, 1.0)));
            }
        }
        if (!near && !contains(ring, a)) || least > -touch || most < touch {
            continue;
        }
        meets.sort_by(f64::total_cmp);
        for pair in meets.windows(2) {
            let middle = a + (b - a) * f64::midpoint(pair[0], pair[1]);
            if contains(ring, middle) && !is_on(ring, middle, touch / 2.0) {
                return Some(middle);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Outline;

    fn p(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    #[test]
    fn a_chain_parts_a_square() {
        let square = Outline::rectangle(10.0, 10.0).points().to_vec();
        let (left, right) = parted(&square, &[p(0.0, 4.0), p(10.0, 4.0)]).unwrap_or_default();
        assert_eq!((area(&left), area(&right)), (60.0, 40.0));
        let (left, right) = parted(&square, &[p(2.0, 0.0), p(5.0, 3.0), p(8.0, 0.0)]).unwrap_or_default();
        assert_eq!((area(&left), area(&right)), (91.0, 9.0));
    }

    #[test]
    fn widths_by_hand() {
        assert!((width(Outline::rectangle(100.0, 6.0).points()) - 6.0).abs() < 1e-12);
        // An equilateral triangle of side 10 is 10·sin 60° wide.
        let triangle = [p(0.0, 0.0), p(10.0, 0.0), p(5.0, 8.660_254)];
        assert!((width(&triangle) - 8.660_254).abs() < 1e-5);
    }

    #[test]
    fn a_line_over_a_comb_has_a_stretch_in_each_tooth() {
        let comb = [
            p(0.0, 0.0),
            p(30.0, 0.0),
            p(30.0, 20.0),
            p(20.0, 20.0),
            p(20.0, 5.0),
            p(10.0, 5.0),
            p(10.0, 20.0),
            p(0.0, 20.0),
        ];
        let found = inside_stretches(&comb, &[p(-5.0, 10.0), p(40.0, 10.0)], 0.004);
        assert_eq!(
            found,
            [vec![p(0.0, 10.0), p(10.0, 10.0)], vec![p(20.0, 10.0), p(30.0, 10.0)]]
        );
    }
}
