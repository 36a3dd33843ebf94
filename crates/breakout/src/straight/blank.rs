//! The straight-sided blank in which a piece lies: convex, with few sides, and the piece's own where those are straight.

use super::convex::{area, cross, length, width};
use crate::Rule;
use cullet_geometry::{Outline, Point};

/// More sides than these mean more breaks than a blank is worth.
const MOST_SIDES: usize = 8;

/// Corners flatter than this, degrees, come from a flattened curve.
const CURVE_TURN_DEG: f64 = 26.0;

/// Share of its area that a blank may grow by for one side less on a curve.
const WORTH: f64 = 0.01;

/// The convex blank of a piece, in the piece's own frame, at most eight sides, each of which touches the piece.
///
/// A straight-sided convex piece of up to eight sides is its own blank. The sides of a flattened curve give way to a few
/// tangents, so that no corner is run off that is narrower than the narrowest strip and would be nibbled. Cost O(n²) for n
/// corners of the hull.
///
/// ```
/// use cullet_breakout::{Rule, straight::blank_for};
/// use cullet_geometry::{Outline, path::{YAxis, flatten}};
/// let rule = Rule::usual(6.0);
/// assert_eq!(blank_for(&Outline::rectangle(30.0, 20.0), &rule).area(), 600.0);
/// let round = flatten("M0 0 A50 50 0 1 1 100 0 A50 50 0 1 1 0 0 Z", 1.0, YAxis::Down, 0.05)?;
/// let around = blank_for(&round, &rule);
/// assert!(around.points().len() <= 8 && around.area() < 1.2 * round.area());
/// # Ok::<(), cullet_geometry::path::PathError>(())
/// ```
#[must_use]
pub fn blank_for(piece: &Outline, rule: &Rule) -> Outline {
    let hull = piece.convex_hull();
    let mut points = without_straight_corners(hull.points());
    let n = points.len();
    let flat = |i: usize| turn_deg(&points, i % n) <= CURVE_TURN_DEG;
    let mut of_curve: Vec<bool> = (0..n).map(|i| flat(i) && flat(i + 1)).collect();
    let whole = area(&points);
    loop {
        let n = points.len();
        if n <= 3 {
            break;
        }
        let gives_way = (0..n)
            .filter_map(|i| without_side(&points, i).map(|corner| (i, corner)))
            .map(|(i, corner)| (i, corner, [points[i], corner, points[(i + 1) % n]]))
            .filter(|(i, _, lost)| {
                n > MOST_SIDES || (of_curve[*i] && (area(lost) < WORTH * whole || width(lost) < rule.narrowest_strip))
            })
            .map(|(i, corner, lost)| (i, corner, area(&lost)))
            .min_by(|a, b| a.2.total_cmp(&b.2));
        let Some((i, corner, _)) = gives_way else { break };
        points[i] = corner;
        points.remove((i + 1) % n);
        of_curve.remove(i);
        if i == n - 1 {
            // The corner taken out was the first: what were sides 1, 2, … now count from 0.
            of_curve.rotate_left(1);
        }
    }
    Outline::new(points).unwrap_or(hull)
}

/// [`blank_for`] where narrow waste does not matter: on curves it may have more sides.
#[must_use]
pub fn blank(piece: &Outline) -> Outline {
    blank_for(piece, &Rule::usual(0.0))
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

/// Where the neighbours of side `i` meet when it is left out.
fn without_side(points: &[Point], i: usize) -> Option<Point> {
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
    Some(b + u * (cross(c - b, v) / bend))
}
