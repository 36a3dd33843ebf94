//! Commands for developers: they make what is committed under `fixtures/` and help to look at what the program draws.
//!
//! Nothing here belongs to the program. Run them from the top folder, for example
//! `cargo run -p cullet-tools -- demo`; `--help` lists them all.

pub mod bends;
pub mod big;
pub mod demo;
pub mod files;
pub mod gallery;
pub mod picture;
pub mod same;
pub mod schema;
pub mod show;
pub mod way;
pub mod windows;
