//! SVG path data (W3C SVG 2, chapter 9) to outlines that are never short of glass.

use crate::{Outline, OutlineError};

/// Why path data does not give one outline.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PathError {
    /// The text is not path data.
    #[error("it is not SVG path data: {reason} (character {position})")]
    Syntax {
        /// What the reader says.
        reason: String,
        /// Where in the text, from 1.
        position: usize,
    },
    /// The path has several subpaths, or none.
    #[error("it has {found} closed parts, exactly 1 is needed")]
    Parts {
        /// How many there are.
        found: usize,
    },
    /// The path closes to no outline.
    #[error(transparent)]
    Outline(#[from] OutlineError),
}

/// Which way y runs in what was drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YAxis {
    /// Upwards, as here.
    Up,
    /// Downwards, as in SVG; flattening turns it.
    Down,
}

/// The outline of one closed subpath, its curves flattened **outwards**: the result contains the drawn shape and
/// nowhere lies further than `tolerance` mm outside it. `unit_mm` millimetres make one unit of the data.
///
/// # Errors
/// See [`PathError`].
pub fn flatten(data: &str, unit_mm: f64, y: YAxis, tolerance: f64) -> Result<Outline, PathError> {
    let _ = (data, unit_mm, y, tolerance);
    Err(PathError::Parts { found: 0 }) // GEOMETRY HELPER
}

/// The exact area of one closed subpath, in mm², by closed formulas for each kind of segment (lines, Béziers by Green's
/// theorem, arcs by their sectors).
///
/// # Errors
/// See [`PathError`].
pub fn exact_area(data: &str, unit_mm: f64) -> Result<f64, PathError> {
    let _ = (data, unit_mm);
    Err(PathError::Parts { found: 0 }) // GEOMETRY HELPER
}
