//! Sheets and offcuts on hand or to buy.

use cullet_geometry::{Outline, rectangle};
use serde::{Deserialize, Serialize};

/// Everything that may be pulled.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Stock {
    /// In the list's order.
    pub items: Vec<StockItem>,
}

/// One line of the stock list: an offcut, or equal sheets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StockItem {
    /// What is written on the glass or names the line; unique in the list.
    pub tag: String,
    /// Code of its glass.
    pub glass: String,
    /// Sheet or offcut.
    pub kind: StockKind,
    /// Its shape in mm, lower left of the bounds at the origin, seen from the show face.
    pub outline: Outline,
    /// How many there are.
    pub count: Count,
    /// Where it stands; empty for sheets to buy.
    pub place: String,
    /// Batch it came from.
    pub lot: Option<String>,
    /// Direction of its grain in its own frame, degrees counter-clockwise from the right; 90 = along its height.
    pub grain_deg: f64,
    /// Zones to keep off, mm, in its own frame.
    pub flaws: Vec<Outline>,
    /// Price of one, where it differs from area × the glass's price.
    pub price: Option<f64>,
}

/// Sheet or offcut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StockKind {
    /// Glass as bought: rectangular, full price.
    Sheet,
    /// What an earlier job left: any outline, credited value.
    Offcut,
}

/// How many there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Count {
    /// So many on hand.
    OnHand(u32),
    /// As many as needed can be bought.
    ToBuy,
}

impl StockItem {
    /// What one of it is worth: its own price, or its area times the glass's price; an offcut at the credit rate.
    ///
    /// `price_per_mm2` is the glass's price in money per mm², `credit_rate` a share from 0 to 1.
    ///
    /// ```
    /// let list = "kind,tag,glass,units,width,height,count\noffcut,R1,CL,mm,500,400,1\n";
    /// let stock = cullet_rack::Stock::read_csv("stock.csv", list).unwrap();
    /// assert_eq!(stock.items[0].value(40e-6, 0.5), 4.0);
    /// ```
    #[must_use]
    pub fn value(&self, price_per_mm2: f64, credit_rate: f64) -> f64 {
        let full = self.price.unwrap_or_else(|| self.outline.area() * price_per_mm2);
        match self.kind {
            StockKind::Sheet => full,
            StockKind::Offcut => full * credit_rate,
        }
    }
}

/// Width and height of the largest upright rectangle inside, mm.
pub(crate) fn clear_rectangle(outline: &Outline) -> (f64, f64) {
    let bounds = outline.bounds();
    if *outline == Outline::rectangle(bounds.width(), bounds.height()).translated(bounds.min.x, bounds.min.y) {
        return (bounds.width(), bounds.height());
    }
    rectangle::largest_upright(outline).map_or((0.0, 0.0), |inside| (inside.width(), inside.height()))
}
