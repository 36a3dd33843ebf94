//! Plane geometry of glass in hand, by geo.

use cullet_model::Outcome;
use geo::{Area, ConvexHull, Coord, Distance, Euclidean, Length, Line, LineString, Point, Polygon};

pub(super) fn number(outcome: Outcome) -> Option<usize> {
    match outcome {
        Outcome::Part(n) => Some(n),
        _ => None,
    }
}

/// The smallest distance between two parallel lines that hold the polygon, mm.
pub(super) fn width(polygon: &Polygon<f64>) -> f64 {
    let hull = polygon.convex_hull();
    hull.exterior()
        .lines()
        .filter(|l| Euclidean.length(l) > 1e-9)
        .map(|l| {
            let unit = l.delta() / Euclidean.length(&l);
            let off = |p: &Coord<f64>| (unit.x * (p.y - l.start.y) - unit.y * (p.x - l.start.x)).abs();
            hull.exterior().coords().map(off).fold(0.0, f64::max)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Left and right of a chain, spliced into the edge of the glass.
pub(super) fn parted(hand: &Polygon<f64>, chain: &[Coord<f64>]) -> Option<(Polygon<f64>, Polygon<f64>)> {
    let mut edge: Vec<Coord<f64>> = hand.exterior().0.clone();
    edge.pop();
    // By its area: at a corner that is there twice but for rounding a turn can look either way.
    if hand.signed_area() < 0.0 {
        edge.reverse();
    }
    let n = edge.len();
    // Place along the edge: side, and share of it.
    let place = |p: Coord<f64>| -> (usize, f64) {
        let side = |i: usize| Line::new(edge[i], edge[(i + 1) % n]);
        let nearest = (0..n).min_by(|a, b| {
            let far = |i: usize| Euclidean.distance(&Point::from(p), &side(i));
            far(*a).total_cmp(&far(*b))
        });
        let i = nearest.unwrap_or(0);
        let line = side(i);
        (
            i,
            Euclidean.distance(&line.start_point(), &Point::from(p)) / Euclidean.length(&line).max(1e-12),
        )
    };
    let (start, end) = (place(chain[0]), place(chain[chain.len() - 1]));
    let walk = |from: (usize, f64), to: (usize, f64)| -> Vec<Coord<f64>> {
        let sides = if (to.0, to.1) >= (from.0, from.1) {
            to.0 - from.0
        } else {
            to.0 + n - from.0
        };
        (1..=sides).map(|k| edge[(from.0 + k) % n]).collect()
    };
    let ring = |points: Vec<Coord<f64>>| {
        let polygon = Polygon::new(LineString::from(points), vec![]);
        (polygon.signed_area() > 1e-9).then_some(polygon)
    };
    let left = chain.iter().copied().chain(walk(end, start)).collect();
    let right = chain.iter().rev().copied().chain(walk(start, end)).collect();
    Some((ring(left)?, ring(right)?))
}
