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

/// The largest distance either way, mm.
const FARTHEST_MM: f64 = 100_000.0;

/// Every side moved outwards by `distance` mm, corners kept sharp. A corner that would run out further than
/// `4 · distance` is cut off square, at exactly `distance` from the corner.
///
/// Guarantee: every point within `distance` of `outline` lies inside the result, to 3 steps of the 1e-4 mm grid on
/// which all points of the result lie. Where the outline closes round a hollow (a C growing into a ring), the hollow is
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
        .unwrap_or_else(|| grown_box(outline, distance))
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
