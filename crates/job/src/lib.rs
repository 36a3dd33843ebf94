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
//! # How a file is read
//! Text → tree (`list`: a piece list's lines; `json`: syntax, fields standing twice) → of the present format (`format`) → completed from the shop file (`shop`) → held against the generated schema and repaired (`shape`:
//! unknown, missing and wrong fields, ranges) → [`JobFile`] → checks between parts and the sizes (`build`, `glass`,
//! `outline`, `bevel`) → [`Job`]. Every stage adds to one [`Report`], so the user sees all findings at once.
//! A panel may name a drawing instead of its pieces ([`DrawingFile`]); what turns it into pieces is given to
//! [`Job::read_with`], since this crate reads no drawings.
//! A piece list (CSV) is read as a job too; what is the same in every job may stand in a shop file ([`Shop`]), from which a job is
//! completed. A piece may have a shape with sizes ([`ShapeFile`]) instead of an outline; its outline takes the shape's place before the rest is
//! checked.
//! A [`ChoiceFile`] says what is different in a job that is compared with itself; [`Job::read_choice`] reads the job so.
//! [`Job::warnings`] names pieces that can be planned but are hard to score or break.
//!
//! # Limits
//! 25 MB of text, 100 000 pieces with copies and spares, 5 000 corners or 1 000 000 characters of path data an outline;
//! the schema states those of single fields.
//!
//! ```
//! let text = r#"{
//!   "format": 2, "name": "Fanlight", "units": "mm", "y": "up",
//!   "glasses": [{
//!     "code": "CL", "name": "clear", "thickness": 4, "grain": "none", "may_turn_over": true,
//!     "scored_face": "show", "grind_allowance": 0.5, "price": 40, "price_unit": "m2"
//!   }],
//!   "panels": [{"id": "F", "quantity": 2, "pieces": [
//!     {"number": "1", "glass": "CL", "outline": [[0, 0], [120, 0], [120, 80], [0, 80]]}
//!   ]}]
//! }"#;
//! let job = cullet_job::Job::read("fanlight.json", text)?;
//! assert_eq!(job.pieces[0].quantity, 2);
//! // 0.5 mm of grinding on every edge.
//! assert_eq!(job.pieces[0].cut.bounds().width(), 121.0);
//!
//! let findings = cullet_job::Job::read("fanlight.json", &text.replace("\"units\": \"mm\",", "")).unwrap_err();
//! assert_eq!(findings.0[0].expected, "\"mm\" or \"in\"");
//! # Ok::<(), cullet_job::Findings>(())
//! ```
//!
//! # What it must not know
//! Stock and search. Which sheet a piece comes from is none of its business.

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

#[cfg(test)]
mod agreement;
mod bevel;
mod build;
mod choice;
mod drawing_file;
mod file;
mod format;
mod glass;
mod job;
mod json;
mod list;
pub mod measure;
mod outline;
mod shape;
mod shapes;
mod shop;
mod table;
mod warnings;

pub use build::MOST_PIECES;
pub use choice::{ChoiceFile, GlassChoiceFile};
pub use cullet_findings::{Finding, Findings, Report, counted, nearest_name};
pub use drawing_file::{BorderLineFile, CameFile, DetailsFile, DrawingFile, DrawingKind, LayersFile, PartFile};
pub use file::{
    BevelFile, BreakingFile, FaceFile, GlassFile, GrainFile, JobFile, LayoutFile, OutlineFile, PanelFile, PieceFile,
    PriceUnit, Settings, SparesFile, Units, YDirection,
};
pub use format::{JOB_FORMAT, Upgraded, upgrade};
pub use job::{Bevel, Glass, Grain, Impossible, Job, Panel, Piece, PieceId, ReadWith};
pub use json::MOST_JOB_BYTES;
pub use list::{PIECE_COLUMNS, list_as_job};
pub use outline::Frame;
pub use shapes::{CornerFile, ShapeFile, ShapeKind};
pub use shop::{Shop, ShopDrawingsFile, ShopFile};
pub use table::{
    FeedMeaning, LONGEST_LINE, TableAccelerations, TableCorner, TableFile, TableFormat, TableLines, TableSpeeds,
    TableX, WheelAngles, WheelFile, WheelKind,
};
