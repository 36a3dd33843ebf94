//! The straight-sided blank in which a piece lies: convex, with few sides, and the piece's own where those are straight.

use super::convex::{area, cross, length, width};
use cullet_breakout::Rule;
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
/// corners of the hull, but only in comparisons: 5,000 corners take some 20 ms.
///
/// ```
/// use cullet_breakout::Rule;
/// use cullet_guillotine::blank_for;
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
    let way = |points: &[Point], i: usize| without(points, i, WORTH * whole, rule.narrowest_strip);
    let mut ways: Vec<Option<Without>> = (0..n).map(|i| way(&points, i)).collect();
    loop {
        let n = points.len();
        if n <= 3 {
            break;
        }
        let gives_way = ways
            .iter()
            .enumerate()
            .filter_map(|(i, way)| way.as_ref().map(|way| (i, way)))
            .filter(|(i, way)| n > MOST_SIDES || (of_curve[*i] && way.is_worth))
            .min_by(|a, b| a.1.lost.total_cmp(&b.1.lost));
        let Some((i, Without { corner, .. })) = gives_way else {
            break;
        };
        points[i] = *corner;
        points.remove((i + 1) % n);
        of_curve.remove(i);
        ways.remove(i);
        let mut at = i;
        if i == n - 1 {
            // The corner taken out was the first: what were sides 1, 2, … now count from 0.
            of_curve.rotate_left(1);
            ways.rotate_left(1);
            at -= 1;
        }
        // Only sides that have the new corner at or next to an end are others now.
        let n = points.len();
        for k in [at + n - 2, at + n - 1, at, at + 1].map(|k| k % n) {
            ways[k] = way(&points, k);
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

/// What leaving out a side comes to.
struct Without {
    /// Where its neighbours meet.
    corner: Point,
    /// Area added.
    lost: f64,
    /// Whether that is little, or narrower than the narrowest strip.
    is_worth: bool,
}

fn without(points: &[Point], i: usize, little: f64, strip: f64) -> Option<Without> {
    let corner = without_side(points, i)?;
    let lost = [points[i], corner, points[(i + 1) % points.len()]];
    Some(Without {
        corner,
        lost: area(&lost),
        is_worth: area(&lost) < little || width(&lost) < strip,
    })
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
