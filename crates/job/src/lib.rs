//! The job: what a customer ordered, and what must be cut for it.
//!
//! # What it is for
//! [`JobFile`] is the job file as a workshop writes it (JSON). [`Job::read`] checks it, names **everything** that is wrong
//! with it at once as [`Finding`]s, and makes a [`Job`]: millimetres throughout, curves flattened outwards, every piece
//! with its finished outline and its cut outline (finished outline + grind allowance).
//!
//! # Units
//! The file says `mm` or `in` and whether its y runs up or down; a [`Job`] is in millimetres and degrees, y up.
//!
//! # What it must not know
//! Stock and search. Which sheet a piece comes from is none of its business.

mod bevel;
mod build;
mod file;
mod finding;
mod glass;
mod job;
mod json;
mod names;
mod outline;
mod shape;

pub use build::MOST_PIECES;
pub use file::{
    BevelFile, FaceFile, GlassFile, GrainFile, JobFile, OutlineFile, PanelFile, PieceFile, PriceUnit, Settings, Units,
    YDirection,
};
pub use finding::{Finding, Findings, Report};
pub use job::{Bevel, Glass, Grain, Job, Panel, Piece, PieceId};
pub use json::MOST_JOB_BYTES;
pub use names::nearest_name;
pub use outline::Frame;
