//! What of an area is wide: the opening of a set by a disc (Matheron, *Random Sets and Integral Geometry*, 1975; Serra, *Image Analysis and
//! Mathematical Morphology*, 1982), by the rounded offsets of `geo`.

use crate::Outline;
use geo::{Area, BooleanOps, Buffer, MultiPolygon, unary_union};

/// Area in mm² of what a disc of `radius` mm reaches that stays within the outline and off all that is taken. Of a corner it does not reach
/// the tip. Cost about O(n log n) in all sides.
///
/// ```
/// use cullet_geometry::{Outline, opening};
/// // A slot of 6 mm between two pieces is too narrow for a disc of 12 mm across.
/// let sheet = Outline::rectangle(100.0, 50.0);
/// let taken = [Outline::rectangle(47.0, 50.0), Outline::rectangle(47.0, 50.0).translated(53.0, 0.0)];
/// assert!(opening::area(&sheet, &taken, 6.0) < 1e-6);
/// assert!((opening::area(&sheet, &[], 6.0) - (5000.0 - (4.0 - std::f64::consts::PI) * 36.0)).abs() < 2.0);
/// ```
#[must_use]
pub fn area(within: &Outline, taken: &[Outline], radius: f64) -> f64 {
    let taken: Vec<_> = taken.iter().map(Outline::to_polygon).collect();
    let free = MultiPolygon::from(within.to_polygon()).difference(&unary_union(&taken));
    free.buffer(-radius).buffer(radius).unsigned_area()
}
