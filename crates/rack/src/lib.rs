//! Stock: the sheets and offcuts that a plan may pull, read from CSV.
//!
//! # What it is for
//! [`Stock::read_csv`] reads and checks a stock list, names **everything** wrong with it at once, and makes [`StockItem`]s in
//! millimetres.
//!
//! # Units and axes
//! Millimetres, degrees, y up. An item's outline is in its own frame: lower left of its bounds at the origin, seen from
//! the show face.
//!
//! # What it must not know
//! Search and plans.

mod csv_in;
mod stock;

pub use stock::{Count, Stock, StockItem, StockKind};
