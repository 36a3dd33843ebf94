//! Breaking out: how a scored sheet comes apart in hand.
//!
//! # What it is for
//! Glass is scored and must then part. A [`Breaking`] is the promise that it does: the breaks of one sheet in the order of the
//! bench, each a connected chain of scores from edge to edge of the glass in hand, until every part is a piece, an offcut that
//! goes back to the rack, or cullet. [`Rule`] says which breaks hold.
//!
//! # Units and axes
//! Millimetres and degrees, y up, in the sheet's own frame, seen from the show face.
//!
//! # What it must not know
//! Stock, prices, files, searches for layouts; pieces and offcuts are numbers to it.
//!
//! # Reading
//! Scores and breaks: US Army OD1621, steps 8 and 9; kiln-glass notes, August 2008; the pull of a break is plain geometry (its
//! edge normals fit into one half-plane).

mod bend;
mod breaking;
mod corridor;
mod free;
mod gentle;
mod ground;
mod order;
mod profile;
mod rule;
mod separate;

pub use bend::{Bend, bends};
pub use breaking::{Breaking, Outcome, Step, Style, Taken};
pub use free::{Blocked, Relief, free};
pub use ground::is_ground;
pub use order::{Unfreed, order};
pub use rule::{Refusal, Rule};
