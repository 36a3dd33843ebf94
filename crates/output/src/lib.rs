//! What people and cutting tables get to see of a plan: sheet maps (SVG) and tables (CSV, text).
//!
//! # What it is for
//! [`sheet_map`] draws one layout for the bench, [`scores`] the score lines alone for a cutting table, [`tables`] the yield
//! table as text and CSV.
//!
//! # Units and axes
//! SVG in millimetres: width and height in mm, a viewBox of 1 unit = 1 mm, y **down** only here. Sheet maps are seen from
//! the show face, score files from the scored face; both say so in words.
//!
//! # What it must not know
//! Search. It writes no files and reads no clock: the same plan gives the same text.

mod drawing;
mod number;
pub mod scores;
pub mod sheet_map;
mod source;
pub mod tables;
mod words;

#[cfg(test)]
mod sample;
