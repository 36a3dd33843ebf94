//! What people and cutting tables get to see of a plan: sheet maps (SVG) and tables (CSV, text).
//!
//! # What it is for
//! [`sheet_map`] draws one layout for the bench, [`scores`] the score lines alone for a cutting table, [`tables`] the yield
//! table as text and CSV.
//!
//! # Units and axes
//! SVG in millimetres: width and height in mm, a viewBox of 1 unit = 1 mm, y **down** only here.
//!
//! # What it must not know
//! Search.

pub mod scores;
pub mod sheet_map;
pub mod tables;
