//! Growing and shrinking outlines with sharp corners.

use crate::boolean::SLIVER_MM2;
use crate::clipper::{self, GRID_PER_MM, GridShapes};
use crate::rings::{self, Give};
use crate::{Outline, Point};
use std::borrow::Cow;

/// A sharp corner may run out to this many times the distance. A mitre of 4 belongs to a corner of 29°, about where
/// glass loses its point anyway (30°: machine-cutting handbook, see the project's notes on scoring and breaking).
const MITER_LIMIT: f64 = 4.0;

/// Corners are needles where the sine of their angle is below this (about half a degree).
const NEEDLE: f64 = 0.01;

/// How near corners lie to the line between their neighbours that rounding alone made, in grid steps.
const TEETH: f64 = 2.0;
/// So many such corners in a row at most, which keeps the cost in bounds.
const LONGEST_RUN: usize = 64;

/// The largest distance either way, mm.
const FARTHEST_MM: f64 = 100_000.0;

/// Every side moved outwards by `distance` mm, corners kept sharp. A corner that would run out further than
/// `4 · distance` is cut off square, at exactly `distance` from the corner.
///
/// Guarantee: every point within `distance` of `outline` lies inside the result, to 5 steps of the 1e-4 mm grid on
/// which all points of the result lie: 3 by rounding, 2 by leaving out corners that rounding alone made. Where the outline closes round a hollow (a C growing into a ring), the hollow is
/// filled, so that the result is one outline and covers more rather than less. A distance of 0 gives the outline
/// unchanged, off the grid if it was. Cost about O(n log n).
///
/// # Panics
/// If `distance` is negative, not a number, or over 100 m.
///
/// ```
/// use cullet_geometry::{Outline, offset};
/// let cut = offset::grow(&Outline::rectangle(454.0, 131.0), 0.5);
/// assert_eq!((cut.bounds().width(), cut.bounds().height()), (455.0, 132.0));
/// assert_eq!(cut.points().len(), 4);
/// ```
#[must_use]
pub fn grow(outline: &Outline, distance: f64) -> Outline {
    assert_distance(distance);
    if distance == 0.0 {
        return outline.clone();
    }
    only_body(&blunted(outline), distance)
        // Thinner than the grid, or rounded to a ring that crosses itself: a hull a grid step larger covers it.
        .or_else(|| only_body(&thickened_hull(outline), distance))
        .map_or_else(|| grown_box(outline, distance), |grown| without_teeth(&grown))
}

/// The outline without corners that lie within two grid steps of the line between their neighbours. The engine makes such
/// teeth where it rounds: sides of one step that turn by a right angle there and back, which a score would take for corners.
fn without_teeth(outline: &Outline) -> Outline {
    let points = outline.points();
    let n = points.len();
    // From a corner that stays in any case, as far on as one side goes.
    let Some(start) = (0..n).max_by(|i, j| distance_from_line(points, *i).total_cmp(&distance_from_line(points, *j)))
    else {
        return outline.clone();
    };
    let at = |i: usize| points[(start + i) % n];
    let mut kept = vec![at(0)];
    let (mut from, mut to) = (0, 1);
    while to < n {
        let next = to + 1;
        let goes_on = (from + 1..next).all(|i| from_line(at(from), at(next), at(i)) <= TEETH / GRID_PER_MM);
        if !goes_on || next - from > LONGEST_RUN {
            kept.push(at(to));
            from = to;
        }
        to = next;
    }
    Outline::new(kept).unwrap_or_else(|_| outline.clone())
}

fn distance_from_line(points: &[Point], i: usize) -> f64 {
    let n = points.len();
    from_line(points[(i + n - 1) % n], points[(i + 1) % n], points[i])
}

/// How far `p` is from the side from `a` to `b`.
fn from_line(a: Point, b: Point, p: Point) -> f64 {
    let (side, to) = (b - a, p - a);
    let size = side.x * side.x + side.y * side.y;
    let share = if size > 0.0 {
        ((to.x * side.x + to.y * side.y) / size).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (to.x - share * side.x).hypot(to.y - share * side.y)
}

/// The outline with two corners, two grid steps to either side, in place of each whose sides lie so close that on the grid they
/// run back on each other: the engine would cut off such a point on the wrong side. It covers the outline.
fn blunted(outline: &Outline) -> Cow<'_, Outline> {
    let points = outline.points();
    let n = points.len();
    let unit = |from: Point, to: Point| (to - from) / (to.x - from.x).hypot(to.y - from.y);
    let mut corners = Vec::with_capacity(n + 2);
    for (i, at) in points.iter().enumerate() {
        let (into, out) = (unit(points[(i + n - 1) % n], *at), unit(*at, points[(i + 1) % n]));
        let (sin, cos) = (into.x * out.y - into.y * out.x, into.x * out.x + into.y * out.y);
        if cos < 0.0 && (0.0..NEEDLE).contains(&sin) {
            let aside = Point { x: -into.y, y: into.x } * (2.0 / GRID_PER_MM);
            corners.extend([*at - aside, *at + aside]);
        } else {
            corners.push(*at);
        }
    }
    if corners.len() == n {
        return Cow::Borrowed(outline);
    }
    Outline::new(corners).map_or(Cow::Borrowed(outline), Cow::Owned)
}

/// The one body that an outline grows to, if it is one.
fn only_body(outline: &Outline, distance: f64) -> Option<Outline> {
    let shape = GridShapes::from_outlines([outline]);
    let grown = clipper::offset(&shape, distance * GRID_PER_MM, MITER_LIMIT);
    let mut bodies = rings::bodies(&grown, Give::Outwards);
    if bodies.len() == 1 { bodies.pop() } else { None }
}

/// The hull of squares of two grid steps round every corner.
fn thickened_hull(outline: &Outline) -> Outline {
    let step = 1.0 / GRID_PER_MM;
    let corners = outline
        .points()
        .iter()
        .flat_map(|p| [(-step, -step), (step, -step), (step, step), (-step, step)].map(|(x, y)| *p + Point { x, y }));
    Outline::hull_of(corners.collect())
}

/// Every side moved inwards by `distance` mm; empty when nothing is left, several where a neck closes, largest first.
///
/// Guarantee: every point of the result is at least `distance` from the outside, to 3 steps of the 1e-4 mm grid on
/// which all its points lie. Parts under 1e-3 mm² are dropped. A distance of 0 gives the outline unchanged. Cost about
/// O(n log n).
///
/// # Panics
/// If `distance` is negative, not a number, or over 100 m.
///
/// ```
/// use cullet_geometry::{Outline, offset};
/// let sheet = Outline::rectangle(1830.0, 2440.0);
/// assert_eq!(offset::shrink(&sheet, 15.0)[0].area(), 1800.0 * 2410.0);
/// assert!(offset::shrink(&sheet, 1000.0).is_empty());
/// ```
#[must_use]
pub fn shrink(outline: &Outline, distance: f64) -> Vec<Outline> {
    assert_distance(distance);
    if distance == 0.0 {
        return vec![outline.clone()];
    }
    let shrunk = clipper::offset(
        &GridShapes::from_outlines([outline]),
        -distance * GRID_PER_MM,
        MITER_LIMIT,
    );
    let mut bodies = rings::bodies(&shrunk, Give::Inwards);
    bodies.retain(|body| body.area() >= SLIVER_MM2);
    bodies
}

fn grown_box(outline: &Outline, distance: f64) -> Outline {
    let b = outline.bounds();
    Outline::rectangle(b.width() + 2.0 * distance, b.height() + 2.0 * distance)
        .translated(b.min.x - distance, b.min.y - distance)
}

fn assert_distance(distance: f64) {
    assert!(
        (0.0..=FARTHEST_MM).contains(&distance),
        "an offset of {distance} mm was asked for; it must be 0 to 100 000 mm"
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::path;

    /// Curves grown have no corners but their own: rounding to the grid leaves sides of one step that turn by a right angle.
    #[test]
    fn a_grown_curve_has_no_teeth() {
        let leaf = "M 0.013 0 C 40.7 31.2 90.11 33.3 140.017 0.3 C 120.3 91.7 30.9 92.1 0.013 0 Z";
        let leaf = path::flatten(leaf, 1.0, path::YAxis::Up, 0.002).expect("a leaf");
        for turn in 0..90 {
            let turned = leaf.posed(&crate::Pose {
                rotation_deg: f64::from(turn) + 0.37,
                ..crate::Pose::IDENTITY
            });
            let on_grid = |p: &Point| Point {
                x: (p.x * GRID_PER_MM).round() / GRID_PER_MM,
                y: (p.y * GRID_PER_MM).round() / GRID_PER_MM,
            };
            let drawn = Outline::new(turned.points().iter().map(on_grid).collect()).expect("an outline");
            let grown = grow(&drawn, 0.5);
            let points = grown.points();
            let n = points.len();
            let corners = (0..n).filter(|i| {
                let (into, out) = (points[(i + n - 1) % n], points[(i + 1) % n]);
                let (into, out) = (points[*i] - into, out - points[*i]);
                (into.x * out.y - into.y * out.x)
                    .atan2(into.x * out.x + into.y * out.y)
                    .abs()
                    > 20_f64.to_radians()
            });
            assert_eq!(corners.count(), 2, "turned by {turn}");
        }
    }
}
