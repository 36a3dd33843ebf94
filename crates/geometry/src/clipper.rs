//! The one place that speaks to `geo-clipper`: millimetres to its integer grid and back.
//!
//! GEOMETRY HELPER: range check before every call (the C++ side aborts), orient holes, integer API only.

/// Grid units per millimetre; one unit is 1e-4 mm, which covers ±107 m in the engine's fast range.
pub const GRID_PER_MM: f64 = 1e4;
