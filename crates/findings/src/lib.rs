//! What is wrong with what a user gave: where, what was found, what was expected, what to do. Everything at once.
//!
//! A [`Report`] collects [`Finding`]s of one file while it is read; [`Report::into_result`] makes [`Findings`] of them, an error, or
//! hands out what was read. [`nearest_name`] says which known name a mistyped one was meant to be.
//!
//! ```
//! let mut report = cullet_findings::Report::new("job.json");
//! report.add("panel S", "quantity 0", "at least one panel to make", "Put in how many are ordered.");
//! let told = report.into_result(()).unwrap_err().to_string();
//! assert!(told.starts_with("job.json: panel S: found quantity 0, expected at least one panel to make"));
//! ```
//!
//! # What it must not know
//! What is found, and in which kind of file.

mod finding;
mod names;

pub use finding::{Finding, Findings, Report};
pub use names::{counted, did_you_mean, nearest_name};
