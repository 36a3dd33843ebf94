//! Sides and lines, for whatever looks at outlines side by side.

use cullet_geometry::{Outline, Point};

/// The sides of an outline in order, the last back to the first point.
pub(crate) fn sides(outline: &Outline) -> impl Iterator<Item = [Point; 2]> + '_ {
    let points = outline.points();
    (0..points.len()).map(|i| [points[i], points[(i + 1) % points.len()]])
}

/// Whether two lines cross in their middles; lines that only touch do not.
pub(crate) fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Positive where `p` lies left of the line from `a` to `b`.
fn side(a: Point, b: Point, p: Point) -> f64 {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
}
