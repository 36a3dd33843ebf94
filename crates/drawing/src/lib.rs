//! From a drawing to finished outlines: SVG and DXF in, lead lines, cells, came, pieces.
//!
//! # What it is for
//! [`read`] turns an SVG or DXF file into a [`Drawing`]: strokes made of lines, arcs and Bézier curves in millimetres, and
//! texts, each with its layer or class and the place in the file it came from. [`cartoon`] joins the strokes into a planar
//! arrangement whose bounded faces are the cells; [`came`] shrinks each cell by what the leads around it take; [`marks`]
//! says which number, glass and grain a cell has; [`leads`] how much lead of each came is needed; [`buildable`] what cannot
//! be built; [`panel`] how large the panel comes out and how much of the glass its came covers.
//!
//! # The way the data goes
//! file → [`Drawing`] → [`cartoon::Cartoon`] (lines joined, cells) → pieces with finished outlines, lead lengths, findings.
//! Between the two, `parts` says which of the lines are the panel, `facts` what is not read of the file and how large it is,
//! and `outlined` whether strokes were turned into outlines.
//!
//! # Units and axes
//! Millimetres, degrees, y **up**: SVG's y is turned when it is read. Arcs stay arcs until they are flattened with a stated
//! bound.
//!
//! # What it must not know
//! Stock and search.

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

pub mod arrange;
pub mod buildable;
pub mod came;
pub mod cartoon;
pub mod curve;
pub mod drawing;
pub mod expand;
mod facts;
mod finding;
pub mod leads;
pub mod marks;
mod outlined;
pub mod panel;
mod parts;
pub mod read;
pub mod settings;
pub mod smooth;

pub use drawing::{Drawing, FileFacts, Page, Place, Scale, Segment, Stated, Stroke, Text};
pub use finding::{DrawingFinding, Severity};
