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

mod file;
mod finding;
mod job;

pub use file::{
    BevelFile, FaceFile, GlassFile, GrainFile, JobFile, OutlineFile, PanelFile, PieceFile, PriceUnit, Settings, Units,
    YDirection,
};
pub use finding::{Finding, Findings};
pub use job::{Bevel, Glass, Grain, Job, Panel, Piece, PieceId};
