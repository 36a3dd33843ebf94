//! Upright boxes of curves.

use crate::curve::Curve;
use cullet_geometry::Point;

/// Lower left and upper right corner.
pub(crate) type Corners = (Point, Point);

/// Lower left and upper right corner of curves.
pub(crate) fn bounds_of(curves: &[Curve]) -> Corners {
    let zero = Point { x: 0.0, y: 0.0 };
    curves.iter().map(Curve::corners).reduce(both).unwrap_or((zero, zero))
}

pub(super) fn both(a: Corners, b: Corners) -> Corners {
    let low = Point {
        x: a.0.x.min(b.0.x),
        y: a.0.y.min(b.0.y),
    };
    let high = Point {
        x: a.1.x.max(b.1.x),
        y: a.1.y.max(b.1.y),
    };
    (low, high)
}

/// A hair's breadth is allowed for: boxes of parts that touch an outline.
pub(super) const HAIR_MM: f64 = 1e-6;

pub(crate) fn is_in((low, high): Corners, p: Point) -> bool {
    p.x >= low.x - HAIR_MM && p.x <= high.x + HAIR_MM && p.y >= low.y - HAIR_MM && p.y <= high.y + HAIR_MM
}

pub(super) fn middle((low, high): Corners) -> Point {
    (low + high) / 2.0
}

pub(super) fn area((low, high): Corners) -> f64 {
    (high.x - low.x) * (high.y - low.y)
}
