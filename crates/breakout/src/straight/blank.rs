//! The straight-sided blank in which a piece lies: convex, with few sides, and the piece's own where those are straight.

use super::convex::{area, cross, length};
use cullet_geometry::{Outline, Point};

/// More sides than these mean more breaks than a blank is worth.
const MOST_SIDES: usize = 8;

/// Corners flatter than this, degrees, come from a flattened curve.
const CURVE_TURN_DEG: f64 = 20.0;

/// Share of its area that a blank may grow by for one side less on a curve.
const WORTH: f64 = 0.01;

/// The convex blank of a piece, in the piece's own frame, at most eight sides, each of which touches the piece.
///
/// A straight-sided convex piece of up to eight sides is its own blank. The sides of a flattened curve give way to a few
/// tangents. Cost O(n²) for n corners of the hull.
///
/// ```
/// use cullet_breakout::straight::blank;
/// use cullet_geometry::{Outline, path::{YAxis, flatten}};
/// assert_eq!(blank(&Outline::rectangle(30.0, 20.0)).area(), 600.0);
/// let round = flatten("M0 0 A50 50 0 1 1 100 0 A50 50 0 1 1 0 0 Z", 1.0, YAxis::Down, 0.05)?;
/// let octagon = blank(&round);
/// assert!(octagon.points().len() <= 8 && octagon.area() < 1.12 * round.area());
/// # Ok::<(), cullet_geometry::path::PathError>(())
/// ```
#[must_use]
pub fn blank(piece: &Outline) -> Outline {
    let hull = piece.convex_hull();
    let mut points = without_straight_corners(hull.points());
    let whole = area(&points);
    loop {
        let n = points.len();
        if n <= 3 {
            break;
        }
        let gives_way = (0..n)
            .filter_map(|i| without_side(&points, i).map(|(corner, grown)| (i, corner, grown)))
            .filter(|(i, _, grown)| n > MOST_SIDES || (*grown < WORTH * whole && is_of_curve(&points, *i)))
            .min_by(|a, b| a.2.total_cmp(&b.2));
        let Some((i, corner, _)) = gives_way else { break };
        points[i] = corner;
        points.remove((i + 1) % n);
    }
    Outline::new(points).unwrap_or(hull)
}

/// Corners on a straight side, to a millionth of a millimetre, are none.
fn without_straight_corners(points: &[Point]) -> Vec<Point> {
    let n = points.len();
    let kept: Vec<Point> = (0..n)
        .filter(|i| {
            let (a, b, c) = (points[(i + n - 1) % n], points[*i], points[(i + 1) % n]);
            cross(b - a, c - b) > 1e-6 * length(c - a)
        })
        .map(|i| points[i])
        .collect();
    if kept.len() < 3 { points.to_vec() } else { kept }
}

fn turn_deg(points: &[Point], at: usize) -> f64 {
    let n = points.len();
    let (before, after) = (points[at] - points[(at + n - 1) % n], points[(at + 1) % n] - points[at]);
    cross(before, after)
        .atan2(before.x * after.x + before.y * after.y)
        .to_degrees()
}

fn is_of_curve(points: &[Point], side: usize) -> bool {
    turn_deg(points, side) <= 2.5 * CURVE_TURN_DEG
        && turn_deg(points, (side + 1) % points.len()) <= 2.5 * CURVE_TURN_DEG
        && turn_deg(points, side).min(turn_deg(points, (side + 1) % points.len())) <= CURVE_TURN_DEG
}

/// Where the neighbours of side `i` meet when it is left out, and by how much the polygon grows.
fn without_side(points: &[Point], i: usize) -> Option<(Point, f64)> {
    let n = points.len();
    let (a, b, c, d) = (
        points[(i + n - 1) % n],
        points[i],
        points[(i + 1) % n],
        points[(i + 2) % n],
    );
    let (u, v) = (b - a, d - c);
    let bend = cross(u, v);
    if bend <= 1e-9 * length(u) * length(v) || turn_deg(points, i) + turn_deg(points, (i + 1) % n) > 120.0 {
        return None;
    }
    let corner = b + u * (cross(c - b, v) / bend);
    Some((corner, 0.5 * cross(corner - b, c - b).abs()))
}
