//! The yield table: pulled, used, returned, cullet, weight and money of every sheet, every glass and the job.
//!
//! # Rounding
//! The text rounds for show, so that the columns add up as they stand: the job's total is rounded, then shared out over the
//! glasses and their sheets so that each figure is off by less than one unit of its last place (largest remainder). Cullet
//! is what is left of the shown pulled, used and returned; net is what is left of the shown cost and credit. The CSV
//! carries the exact figures and rounds none.

mod buy;
mod csv;
mod leads;
mod share;
pub(crate) mod signs;
#[cfg(test)]
mod tests;
mod text;

pub use self::buy::{buy_csv, buy_text};
pub use self::csv::{TableError, yield_csv};
pub(crate) use self::leads::leads_rows;
pub use self::leads::{leads_csv, leads_text};
pub(crate) use self::text::{NAMES, WEIGHT, aligned, yield_rows};
pub use self::text::{lost_text, ways_text, yield_text};
