//! What a user does at the bench, as functions: read a job and glass, plan, write the folder, compare, book, recut.
//!
//! # What it is for
//! The command line and the page do the same things with the same files. Here each of them is a function that takes paths and
//! settings and returns what came of it as a typed value, or an [`Error`] that says why it was not done.
//!
//! # Main types
//! - [`plan::Ready`]: a job with its glass and the folder to write to, in the steps in which a plan is made: read, begin, search,
//!   make the files, write.
//! - [`fits::glass_for`]: the glass that a piece fits on.
//! - [`compare::Ready`], [`recut::Work`], [`start::Started`]: the same for a comparison, for a piece that broke, for a new job.
//! - [`book`]: a plan entered in the rack, or taken back.
//! - [`writing::Care`] and [`folder::Folder`]: the two ways in which files are written, and the only ones.
//! - [`Error`]: findings about what was given, a rack that does not allow it, a plan that fails its check, a full disk.
//!
//! Lengths are millimetres, angles degrees, y up, as everywhere inside.
//!
//! # What it must not know
//! A terminal, a page, exit codes: it prints nothing, and whoever calls chooses the words round what it returns. How pieces are
//! nested, verified or drawn: it calls the crates that do.
//!
//! # Example
//! ```
//! use cullet_workshop::{Error, plan, reading::Glass, shop::WhichShop};
//!
//! let request = plan::PlanRequest::new("missing.json", Glass::List("missing.csv".into()), "window");
//! let Err(Error::Input(findings)) = plan::Ready::read(request) else {
//!     panic!("there is no such job");
//! };
//! assert!(findings.to_string().contains("missing.json"));
//! ```

pub mod book;
pub mod compare;
mod error;
pub mod fits;
pub mod folder;
mod identity;
pub mod on_table;
pub mod plan;
pub mod reading;
pub mod recut;
pub mod shop;
pub mod start;
pub mod table_files;
pub mod writing;

pub use error::Error;
