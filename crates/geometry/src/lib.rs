//! Outlines in millimetres and what can be done with them.
//!
//! # What it is for
//! Every other crate speaks of glass with the types made here. In reading order: an [`Outline`] is a simple polygon, a
//! [`Pose`] says how it lies, [`path`] turns drawn curves into outlines that are never short of glass, [`offset`] grows
//! and shrinks them, [`boolean`] joins and cuts them, [`run`] parts them along a straight line, [`rectangle`] finds
//! the largest rectangle inside, which is what an offcut is worth, and [`ring`] is plane geometry of bare
//! points, [`stripes`] the same fast for rings of thousands. [`tolerance`] lists the tolerances that depend on each other.
//!
//! # Units and axes
//! Millimetres and degrees, `f64`, x to the right and y **up**. Angles run counter-clockwise, 0° along +x. An outline
//! is counter-clockwise and does not repeat its first point. SVG's y runs down: say [`path::YAxis::Down`] when reading.
//!
//! # An example from drawing to offcut
//! ```
//! use cullet_geometry::path::{YAxis, flatten};
//! use cullet_geometry::{Outline, Point, boolean, offset, rectangle, run};
//!
//! // A half round of 300 mm, flattened so that the polygon covers the curve and is nowhere 0.05 mm larger.
//! let finished = flatten("M0 0 A150 150 0 0 1 300 0 Z", 1.0, YAxis::Down, 0.05)?;
//! // Ground by 0.5 mm all round: the cut outline. Its straight side lies at y = −0.5.
//! let cut = offset::grow(&finished, 0.5);
//! assert!((cut.bounds().min.y + 0.5).abs() < 1e-9);
//!
//! // It lies 10 mm from the left and lower edges of a sheet of 400 by 600 mm.
//! let sheet = Outline::rectangle(400.0, 600.0);
//! let low = cut.bounds().min;
//! let placed = cut.translated(10.0 - low.x, 10.0 - low.y);
//! let rest = boolean::difference(&sheet, std::slice::from_ref(&placed));
//! assert!((rest[0].area() + placed.area() - sheet.area()).abs() < 0.1);
//!
//! // A straight run 6 mm above it returns a clean offcut.
//! let above = Point { x: 0.0, y: placed.bounds().max.y + 6.0 };
//! let (offcut, _) = run::cut_by_line(&sheet, above, 0.0);
//! let worth = rectangle::largest_upright(&offcut[0]).map(|r| (r.width(), r.height().round()));
//! assert_eq!(worth, Some((400.0, 433.0)));
//! # Ok::<(), cullet_geometry::path::PathError>(())
//! ```
//!
//! # Limits
//! At most [`MOST_POINTS`] points an outline, at most 100 m from the origin. Whoever holds an [`Outline`] may rely on
//! its being simple; moving and turning it ([`Outline::posed`]) rounds its corners, so sides less than about 1e-9 mm
//! apart could then meet, and it may come to lie farther out.
//!
//! # What it must not know
//! Glass, files, stock, search. It takes points and numbers only.
//!
//! # Engines
//! Integer offsets and booleans are done by `geo-clipper` on a grid of [`GRID_PER_MM`] units per millimetre, in one
//! private module; exact orientations, hulls and distances by `geo`; path data is read by `svgtypes`.
//!
//! # References
//! Shamos & Hoey 1976 (sides that cross); Vatti 1992 (booleans, as in the engine); W3C SVG 2, chapter 9 and appendix
//! B.2 (path data and arcs); Green's theorem (areas under Béziers).

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

pub mod boolean;
mod clipper;
pub mod offset;
pub mod opening;
mod outline;
pub mod path;
mod pose;
pub mod rectangle;
pub mod ring;
mod rings;
pub mod run;
mod simple;
pub mod stripes;
pub mod tolerance;

pub use clipper::GRID_PER_MM;
pub use outline::{Bounds, MOST_POINTS, Outline, OutlineError};
pub use pose::Pose;

/// A point or a vector in millimetres, y up.
pub type Point = geo::Coord<f64>;
