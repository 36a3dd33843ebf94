//! The sheets and offcuts that a plan may pull: as a list (CSV), and as a rack that stays true (one file).
//!
//! # What it is for
//! [`Stock::read_csv`] reads and checks a stock list, names **everything** wrong with it at once, and makes [`StockItem`]s in
//! millimetres. [`Stock::check_against`] says which glasses of a job the list lacks, [`StockItem::value`] what one sheet or
//! offcut is worth.
//!
//! [`Rack`] is the rack itself, every sheet and offcut with a tag of its own: glass comes in ([`Rack::import`],
//! [`Rack::add`]), is found ([`Rack::find`]), put right ([`Rack::correct`]) and thrown away ([`Rack::throw_away`]);
//! [`Rack::stock`] is what a plan may pull, [`Rack::hold`] promises it, [`Rack::book`] takes it out and brings the offcuts in,
//! [`Rack::take_back`] undoes that. [`Rack::history`] tells what was done, [`Rack::audit`] whether it all adds up.
//!
//! # The file
//! One SQLite file. Everything done is one transaction that is on the disk before it returns: after a crash the rack is as
//! before or as after. Several processes may have it open; it must not lie on a network share, whose locks cannot be relied
//! on. A tag is unique for good, a glass is used by one plan and held for one at most: the file's own constraints see to
//! that, not the code alone. No type of the database leaves the crate.
//!
//! # Units and axes
//! Millimetres, degrees, y up. An item's outline is in its own frame: lower left of its bounds at the origin, seen from
//! the show face.
//!
//! # The list
//! A line of column names, then one line an offcut or an equal lot of sheets, parted by commas, semicolons or tabs throughout.
//! With semicolons and tabs a comma is the decimal sign; a point is one too where the column shows that it marks no thousands.
//! Empty lines and lines that begin with `#` are ignored.
//!
//! | column | what stands in it |
//! |---|---|
//! | `kind` | `sheet` or `offcut` |
//! | `tag` | what is written on the glass, or a name for the line; each once |
//! | `glass` | the glass's code |
//! | `units` | `mm` or `in`, for every length of the line |
//! | `width`, `height` | size across and upwards; in inches also `24 1/2`. Sheets, and rectangular offcuts |
//! | `count` | how many, or `buy` for sheets that can be bought as needed; an offcut is 1 unless it says otherwise |
//! | `outline` | offcuts: corner points `x y; x y; x y` with y upwards, or SVG path data (y downwards) |
//! | `grain` | direction of the grain, degrees counter-clockwise from the right; 90 (upwards) unless it says otherwise |
//! | `lot`, `place` | the batch, and where it stands |
//! | `flaws` | zones to keep off, separated by a vertical bar: circles `x y radius` and polygons `x y; x y; x y`, in the outline's own axes |
//! | `price` | price of one, where it differs from area × the glass's price |
//! | `scored_face` | `show` or `back`, which face is scored; kept by a rack |
//! | `source` | the sheet an offcut was cut from, or where it was bought; kept by a rack. Formerly `came_from`, which is still read |
//!
//! `kind`, `tag`, `glass`, `units` and `count` must be there; the rest may be left out.
//!
//! ```
//! let list = "kind,tag,glass,units,width,height,count\nsheet,CL-A,CL,in,24,48 1/2,buy\n";
//! let stock = cullet_rack::Stock::read_csv("stock.csv", list).unwrap();
//! assert!((stock.items[0].outline.bounds().height() - 1231.9).abs() < 1e-9);
//! ```
//!
//! # What it must not know
//! Search and plans.

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

mod against;
mod audit;
mod blob;
mod book;
mod change;
mod csv_in;
mod csv_out;
mod file;
mod history;
mod hold;
mod item;
mod kept_as;
mod look;
mod rack;
mod row;
mod rows;
mod shape;
mod stock;
mod tag;
mod trouble;
mod units;

pub use audit::Audit;
pub use book::{Booked, TakenBack};
pub use change::Said;
pub use csv_in::{Lines, MOST_STOCK_BYTES, MOST_STOCK_LINES};
pub use csv_out::{Signs, write_csv};
pub use cullet_list::{as_meant, as_text, read_size};
pub use history::Entry;
pub use hold::{Cut, CutSheet};
pub use item::{Face, RackItem, RackState, Stamp, State};
pub use look::{Room, Wanted, Which};
pub use rack::Rack;
pub use stock::{Count, Stock, StockItem, StockKind};
pub use trouble::{RackError, open_regular, plain_words};
