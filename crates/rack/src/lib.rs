//! Stock: the sheets and offcuts that a plan may pull, read from CSV.
//!
//! # What it is for
//! [`Stock::read_csv`] reads and checks a stock list, names **everything** wrong with it at once, and makes [`StockItem`]s in
//! millimetres. [`Stock::check_against`] says which glasses of a job the list lacks, [`StockItem::value`] what one sheet or
//! offcut is worth.
//!
//! # Units and axes
//! Millimetres, degrees, y up. An item's outline is in its own frame: lower left of its bounds at the origin, seen from
//! the show face.
//!
//! # The list
//! A line of column names, then one line an offcut or an equal lot of sheets, parted by commas or semicolons throughout.
//! With semicolons a comma is the decimal sign. Empty lines and lines that begin with `#` are passed over.
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
//! | `flaws` | zones to keep off, parted by a vertical bar: circles `x y radius` and polygons `x y; x y; x y`, in the outline's own axes |
//! | `price` | price of one, where it differs from area × the glass's price |
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

mod against;
mod csv_in;
mod number;
mod row;
mod shape;
mod stock;

pub use csv_in::{MOST_STOCK_BYTES, MOST_STOCK_LINES};
pub use stock::{Count, Stock, StockItem, StockKind};
