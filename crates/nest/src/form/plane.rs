//! Plane geometry of collision polygons.

use cullet_geometry::Point;
use cullet_search::MOST_BACK;

/// Every side moved inwards by `distance`, which is tiny against the sides: corners move along their bisectors.
pub(super) fn inset(points: &[Point], distance: f64) -> Vec<Point> {
    let count = points.len();
    (0..count)
        .map(|i| {
            let (before, at, after) = (points[(i + count - 1) % count], points[i], points[(i + 1) % count]);
            let (ax, ay) = unit(at.x - before.x, at.y - before.y);
            let (bx, by) = unit(after.x - at.x, after.y - at.y);
            // Inward normals are the directions turned left. The corner moves so that it stays on both moved sides, but at
            // corners sharper than 60° no further than `MOST_BACK` distances: what is drawn back there could sink into others.
            let (nx, ny) = (-ay - by, ax + bx);
            let along = nx.hypot(ny).max(f64::MIN_POSITIVE);
            let scale = (distance / (1.0 + ax * bx + ay * by).max(f64::MIN_POSITIVE)).min(MOST_BACK * distance / along);
            Point {
                x: at.x + nx * scale,
                y: at.y + ny * scale,
            }
        })
        .collect()
}

pub(super) fn unit(x: f64, y: f64) -> (f64, f64) {
    let length = x.hypot(y).max(f64::MIN_POSITIVE);
    (x / length, y / length)
}

pub(crate) fn sin_cos(degrees: f64) -> (f64, f64) {
    let quarter = degrees.rem_euclid(360.0) / 90.0;
    if quarter == 0.0 {
        (0.0, 1.0)
    } else if quarter == 1.0 {
        (1.0, 0.0)
    } else if quarter == 2.0 {
        (0.0, -1.0)
    } else if quarter == 3.0 {
        (-1.0, 0.0)
    } else {
        degrees.to_radians().sin_cos()
    }
}

/// The middle of a small circle around the points (Ritter-like, refined by shrinking steps towards the furthest point;
/// Bădoiu & Clarkson 2003).
pub(super) fn middle(points: &[Point]) -> Point {
    let mut at = points[0];
    for step in 1..400 {
        let far = points
            .iter()
            .max_by(|a, b| {
                (a.x - at.x)
                    .hypot(a.y - at.y)
                    .total_cmp(&(b.x - at.x).hypot(b.y - at.y))
            })
            .copied()
            .unwrap_or(at);
        let share = 1.0 / (f64::from(step) + 1.0);
        at = Point {
            x: at.x + (far.x - at.x) * share,
            y: at.y + (far.y - at.y) * share,
        };
    }
    at
}

pub(super) fn signed_area(points: &[Point]) -> f64 {
    let mut sum = 0.0;
    let mut a = points[points.len() - 1];
    for b in points {
        sum += a.x * b.y - b.x * a.y;
        a = *b;
    }
    sum / 2.0
}

pub(super) fn hull_area(points: &[Point]) -> f64 {
    signed_area(&hull(points))
}

/// Convex hull, counter-clockwise (Andrew's monotone chain).
pub(super) fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut sorted.iter().copied());
    hull.extend(half(&mut sorted.iter().rev().copied()));
    if hull.len() < 3 { points.to_vec() } else { hull }
}

pub(super) fn diameter(points: &[Point]) -> f64 {
    let hull = hull(points);
    let mut most: f64 = 0.0;
    for (i, a) in hull.iter().enumerate() {
        for b in &hull[i + 1..] {
            most = most.max((a.x - b.x).hypot(a.y - b.y));
        }
    }
    most
}
