//! The plan: which piece lies where on which glass, how each sheet comes apart, and what it comes to.
//!
//! # What it is for
//! [`Plan`] is what the planner makes, the verifier judges, the outputs draw and the rack books; it is also the file `plan.json`.
//! [`figures`] are its four areas, weight and money, each defined once; [`Lost`] says where the cullet comes from. The
//! breaks of a sheet ([`Breaking`]) are those of `cullet-breakout`, named here so that whoever reads a plan needs nothing else.
//!
//! # Units and axes
//! Millimetres, mm², degrees, y up, layouts seen from the **show face**, in the sheet's own frame.
//!
//! # What it must not know
//! How a plan is searched for or judged; any file but its own.

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

pub mod figures;
mod lost;
mod plan;

pub use cullet_breakout::{Breaking, Outcome, Step, Style};
pub use lost::Lost;
pub use plan::*;
