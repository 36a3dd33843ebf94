//! Outlines in millimetres and what can be done with them.
//!
//! # What it is for
//! Every other crate speaks of glass with the types made here: an [`Outline`] is a simple polygon, a [`Pose`] says
//! how it lies, [`path`] turns drawn curves into outlines that are never short of glass, [`offset`] grows and shrinks
//! them, [`boolean`] joins and cuts them, and [`rectangle`] finds the largest rectangle inside.
//!
//! # Units and axes
//! Millimetres and degrees, `f64`, x to the right and y **up**. Angles run counter-clockwise, 0° along +x. An outline
//! is counter-clockwise and does not repeat its first point.
//!
//! # What it must not know
//! Glass, files, stock, search. It takes points and numbers only.
//!
//! # Engines
//! Integer offsets and booleans are done by `geo-clipper` on a grid of [`GRID_PER_MM`] units per millimetre, in one
//! private module; float predicates and areas by `geo`.

pub mod boolean;
mod clipper;
pub mod offset;
mod outline;
pub mod path;
mod pose;
pub mod rectangle;
mod rings;
pub mod run;
mod simple;

pub use clipper::GRID_PER_MM;
pub use outline::{Bounds, MOST_POINTS, Outline, OutlineError};
pub use pose::Pose;

/// A point or a vector in millimetres, y up.
pub type Point = geo::Coord<f64>;
