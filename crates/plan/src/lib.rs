//! From a job and a stock list to verified layouts.
//!
//! # What it is for
//! [`planner`] chooses glass and lays every piece, [`leftover`] finds what of a sheet goes back to the rack, [`model`] is the
//! plan that comes out (and the file `plan.json`), [`figures`] are its four areas, weight and money, each defined once,
//! [`recut`] finds glass for a piece that broke, [`compare`] plans a job under several choices, and [`verify`] checks a plan
//! from scratch with code of its own.
//!
//! # Units and axes
//! Millimetres, degrees, y up, layouts seen from the **show face**, in the sheet's own frame.
//!
//! # What it must not know
//! File formats other than its own model (SVG, CSV, HTML are for `cullet-output`), screens, progress bars.

pub mod compare;
pub mod figures;
pub mod leftover;
pub mod model;
mod objective;
pub mod planner;
pub mod recut;
#[cfg(test)]
mod sample;
pub mod verify;
