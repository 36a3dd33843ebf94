//! Lists as spreadsheets save them: a line of column names, then one line an entry, parted by commas, semicolons or tabs.
//!
//! # What it is for
//! The stock list and the piece list are read by it, so that they are read alike: a byte order mark, a line `sep=;`, empty lines and
//! lines that begin with `#` are skipped; a title above the column names, quotes that do not pair and numbers that can be read in two
//! ways are named. With semicolons and tabs a comma is the decimal sign; a point is one too where its column shows that it marks no
//! thousands. Column names may be in capitals, with blanks for `_`. Cells that were written as words lest they be taken for formulas
//! ([`as_text`]) read as they were meant.
//!
//! [`read`] goes through the list and hands every line to the caller as a [`Row`], whose methods read single cells and say what is
//! wrong with them; [`Kind`] says what the list is called and which columns it has.
//!
//! ```
//! use cullet_list::{Kind, read};
//! const FRUIT: Kind = Kind {
//!     name: "a fruit list", entry: "fruit", columns: &["name", "weight"], former: &[], required: 2, shown: 2, numbers: &["weight"],
//!     quoted: "a name", none: "Add the fruit.", most_bytes: 1 << 20, most_lines: 1000, too_long: "Split the list.",
//! };
//! let mut report = cullet_findings::Report::new("fruit.csv");
//! let weights = read(&mut report, "Name;Weight\npear;0,2\n", &FRUIT, |report, row| {
//!     row.number(report, "weight", "a weight above 0", |weight| weight > 0.0)
//! });
//! assert_eq!(weights, [0.2]);
//! ```
//!
//! # What it must not know
//! What the entries are.

mod formula;
mod kind;
mod number;
mod quotes;
mod read;
mod row;
mod thousands;

pub use formula::{as_meant, as_text};
pub use kind::Kind;
pub use number::{DecimalSign, length, plain, read_size};
pub use read::read;
pub use row::{Row, Source, Trouble, cut_short, quoted, trouble};
