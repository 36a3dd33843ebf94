//! SVG path data (W3C SVG 2, chapter 9) to outlines that are never short of glass.
//!
//! All commands are read, absolute and relative. Arcs stay arcs (turning them into Béziers would cost 2.7e-4 of the
//! radius), quadratics become cubics, which is exact.

mod outwards;
mod read;
mod segment;

use crate::clipper::{self, GridShapes};
use crate::rings::{self, Give};
use crate::{Outline, OutlineError, Point};
use segment::Segment;

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
    /// The path is not closed.
    #[error("it is open: its end lies {gap_mm:.3} mm from its start; end it with Z if a straight side is meant there")]
    Open {
        /// From the end to the start, mm.
        gap_mm: f64,
    },
    /// A scale or tolerance is not a positive number.
    #[error("its {name} is {value}, a positive number is needed")]
    Setting {
        /// Which one: `unit` or `tolerance`.
        name: &'static str,
        /// What was given.
        value: f64,
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
/// "Contains" holds to 1e-6 mm; where the covering polyline meets itself at the bottom of a sharp notch the notch is
/// filled there, on the grid of 1e-4 mm. A part that ends within 1e-3 mm of its start counts as closed; one that is left
/// open is refused rather than closed by a side nobody drew. A drawing that crosses itself by less than the tolerance
/// may pass; only its grosser shape is then sure to be covered. A smaller tolerance makes more points: about
/// `sweep · √(r / 8·tolerance)` for an arc. Cost O(n log n).
///
/// # Errors
/// See [`PathError`].
///
/// ```
/// use cullet_geometry::path::{YAxis, flatten};
/// // A round-topped window, 600 mm wide; SVG's y runs down.
/// let window = flatten("M0 900 V300 A300 300 0 0 1 600 300 V900 Z", 1.0, YAxis::Down, 0.05)?;
/// let exact = 600.0 * 600.0 + std::f64::consts::PI * 300.0 * 300.0 / 2.0;
/// assert!(window.area() > exact && window.area() < exact + 0.05 * std::f64::consts::PI * 300.0);
/// assert!((window.bounds().min.y - -900.0).abs() < 1e-9);
/// # Ok::<(), cullet_geometry::path::PathError>(())
/// ```
pub fn flatten(data: &str, unit_mm: f64, y: YAxis, tolerance: f64) -> Result<Outline, PathError> {
    if !(tolerance.is_finite() && tolerance > 0.0) {
        return Err(PathError::Setting {
            name: "tolerance",
            value: tolerance,
        });
    }
    let mut segments = read::closed_part(data, unit_mm, y)?;
    if signed_area(&segments) < 0.0 {
        segments = segments.into_iter().rev().map(Segment::reversed).collect();
    }
    let lines = outwards::flatten(&segments, tolerance)?;
    // The drawing itself must not cross itself; its cover may, where it fills a notch.
    Outline::new(lines.on_curve)?;
    match Outline::new(lines.outer.clone()) {
        Err(OutlineError::SelfCrossing { x, y }) => {
            notches_filled(lines.outer).ok_or(OutlineError::SelfCrossing { x, y }.into())
        }
        outline => Ok(outline?),
    }
}

/// The exact area of one closed subpath, in mm², by closed formulas for each kind of segment (lines, Béziers by Green's
/// theorem, arcs by their sectors). Meaningful for a path that does not cross itself, which is not checked. Cost O(n).
///
/// # Errors
/// See [`PathError`].
///
/// ```
/// use cullet_geometry::path::exact_area;
/// let inch = 25.4;
/// let disc = exact_area("M-1 0 A1 1 0 0 1 1 0 A1 1 0 0 1 -1 0 Z", inch)?;
/// assert!((disc - std::f64::consts::PI * inch * inch).abs() < 1e-9);
/// # Ok::<(), cullet_geometry::path::PathError>(())
/// ```
pub fn exact_area(data: &str, unit_mm: f64) -> Result<f64, PathError> {
    Ok(signed_area(&read::closed_part(data, unit_mm, YAxis::Up)?).abs())
}

fn signed_area(segments: &[Segment]) -> f64 {
    let Some(first) = segments.first() else { return 0.0 };
    let origin = first.from();
    segments.iter().map(|s| s.area_share(origin)).sum()
}

/// The body of a covering polyline that meets itself.
fn notches_filled(ring: Vec<Point>) -> Option<Outline> {
    let ring = ring.into_iter().map(clipper::to_grid).collect();
    let body = clipper::union(&GridShapes::from_rings([ring]));
    rings::bodies(&body, Give::Outwards).into_iter().next()
}
