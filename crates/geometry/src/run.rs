//! A straight run from edge to edge, and the parts it makes of an outline.

use crate::boolean::SLIVER_MM2;
use crate::outline::signed_area;
use crate::pose::sin_cos_deg;
use crate::{Outline, Point};

/// Corners this close to the line, mm, lie on it: a run through a corner must not leave a hair of glass beside it.
const ON_LINE_MM: f64 = 1e-6;

/// The parts of `outline` to the left and to the right of the endless straight line through `point` in the direction
/// `direction_deg`, each list in the order along the line. An outline wholly on one side is that side's only part.
///
/// Corners keep their coordinates to the last digit; only the points where the line crosses a side are new. The areas
/// add up to the outline's, to rounding and parts under 1e-3 mm², which are dropped. Corners within 1e-6 mm of the line
/// count as on it. Cost O(n log n).
///
/// ```
/// use cullet_geometry::{Outline, Point, run::cut_by_line};
/// let sheet = Outline::rectangle(100.0, 50.0);
/// let (left, right) = cut_by_line(&sheet, Point { x: 30.0, y: 0.0 }, 90.0);
/// assert_eq!((left[0].area(), right[0].area()), (1500.0, 3500.0));
/// ```
#[must_use]
pub fn cut_by_line(outline: &Outline, point: Point, direction_deg: f64) -> (Vec<Outline>, Vec<Outline>) {
    let (sin, cos) = sin_cos_deg(direction_deg);
    let left = parts_left(outline, point, Point { x: cos, y: sin });
    let mut right = parts_left(outline, point, Point { x: -cos, y: -sin });
    right.reverse();
    (left, right)
}

/// A stretch of the boundary left of the line, from one crossing of the line to the next.
struct Chain {
    points: Vec<Point>,
}

/// An end of a chain, as met along the line.
struct End {
    chain: usize,
    /// Whether the chain ends here rather than begins.
    is_last: bool,
    /// Where on the line.
    along: f64,
    /// How that changes a little to the left of the line; tells ends at one corner apart.
    lean: f64,
}

fn parts_left(outline: &Outline, point: Point, direction: Point) -> Vec<Outline> {
    let along = |p: Point| (p.x - point.x) * direction.x + (p.y - point.y) * direction.y;
    let left_of = |p: Point| {
        let d = (p.y - point.y) * direction.x - (p.x - point.x) * direction.y;
        if d.abs() <= ON_LINE_MM { 0.0 } else { d }
    };
    let points = outline.points();
    let distances: Vec<f64> = points.iter().map(|p| left_of(*p)).collect();
    if distances.iter().all(|d| *d >= 0.0) {
        return vec![outline.clone()];
    }
    let chains = chains_left(points, &distances);
    let mut ends: Vec<End> = vec![];
    for (chain, Chain { points }) in chains.iter().enumerate() {
        let n = points.len();
        for (is_last, at, next) in [(false, points[0], points[1]), (true, points[n - 1], points[n - 2])] {
            let lean = (along(next) - along(at)) / left_of(next);
            ends.push(End {
                chain,
                is_last,
                along: along(at),
                lean,
            });
        }
    }
    ends.sort_by(|a, b| a.along.total_cmp(&b.along).then(a.lean.total_cmp(&b.lean)));
    rings(&chains, &ends)
        .into_iter()
        .filter(|ring| signed_area(ring).abs() >= SLIVER_MM2)
        .filter_map(|ring| Outline::from_finite(ring).ok())
        .collect()
}

/// The stretches of the boundary that run left of the line, each with its two ends on the line.
fn chains_left(points: &[Point], distances: &[f64]) -> Vec<Chain> {
    let n = points.len();
    // Begin at a corner right of the line, so that no chain runs over the end of the list.
    let start = distances.iter().position(|d| *d < 0.0).unwrap_or(0);
    let mut chains = vec![];
    let mut chain: Vec<Point> = vec![];
    for k in 0..n {
        let (i, j) = ((start + k) % n, (start + k + 1) % n);
        let (from, to) = (distances[i], distances[j]);
        if from <= 0.0 && to > 0.0 {
            chain = vec![crossing(points[i], from, points[j], to), points[j]];
        } else if from > 0.0 && to <= 0.0 {
            chain.push(crossing(points[i], from, points[j], to));
            chains.push(Chain {
                points: std::mem::take(&mut chain),
            });
        } else if from > 0.0 {
            chain.push(points[j]);
        }
    }
    chains
}

fn crossing(a: Point, from: f64, b: Point, to: f64) -> Point {
    if from == 0.0 {
        return a;
    }
    if to == 0.0 {
        return b;
    }
    // The same arithmetic from either end and either side, so that both parts share the point to the last digit.
    let in_order = (a.x, a.y) < (b.x, b.y);
    let (a, from, b, to) = if in_order { (a, from, b, to) } else { (b, to, a, from) };
    a + (b - a) * (from / (from - to))
}

/// Joins chains along the line. Left of the line the inside of the outline lies between the first and the second end
/// met, the third and the fourth, and so on; a part runs on from a chain's last point to the other end of that pair.
fn rings(chains: &[Chain], ends: &[End]) -> Vec<Vec<Point>> {
    let mut next = vec![None; chains.len()];
    for pair in ends.chunks_exact(2) {
        let (last, first) = if pair[0].is_last {
            (&pair[0], &pair[1])
        } else {
            (&pair[1], &pair[0])
        };
        next[last.chain] = Some(first.chain);
    }
    let mut rings = vec![];
    let mut done = vec![false; chains.len()];
    // Parts in the order in which the line meets them.
    for begin in ends.iter().map(|e| e.chain) {
        let mut ring = vec![];
        let mut at = begin;
        while !done[at] {
            done[at] = true;
            ring.extend(&chains[at].points);
            match next[at] {
                Some(chain) => at = chain,
                None => break,
            }
        }
        if !ring.is_empty() {
            rings.push(ring);
        }
    }
    rings
}
