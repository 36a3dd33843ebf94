//! The rack as a stock list that reads back to the last digit.

use crate::row::COLUMNS;
use crate::{Count, RackItem, StockKind};
use cullet_geometry::Outline;
use cullet_list::{DecimalSign, as_text};

/// Which signs a list is written with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Signs {
    /// Commas between the columns, decimal points.
    #[default]
    Points,
    /// Semicolons between the columns, decimal commas, and the mark in front by which spreadsheets know UTF-8.
    Commas,
}

/// `items` as a stock list in millimetres, one line each; [`crate::Lines::read_csv`] makes the same of it again, to the
/// last digit. Glass that is used up or thrown away is for the caller to leave out.
#[must_use]
pub fn write_csv(items: &[RackItem], signs: Signs) -> String {
    let (separator, start) = match signs {
        Signs::Points => (b',', ""),
        Signs::Commas => (b';', "\u{feff}"),
    };
    let mut writer = csv::WriterBuilder::new().delimiter(separator).from_writer(vec![]);
    // Writing to memory cannot fail, and every line has as many cells as there are columns.
    let mut write = |cells: &[String]| writer.write_record(cells).is_ok();
    let mut whole = write(&COLUMNS.map(str::to_owned));
    for item in items {
        let cells = cells(item, signs.decimal_sign());
        whole &= write(&COLUMNS.map(|column| as_text(&cell(&cells, column)).into_owned()));
    }
    debug_assert!(whole, "a line of the list was not written");
    let bytes = writer.into_inner().unwrap_or_default();
    start.to_owned() + &String::from_utf8_lossy(&bytes)
}

impl Signs {
    fn decimal_sign(self) -> DecimalSign {
        match self {
            Self::Points => DecimalSign::Point,
            Self::Commas => DecimalSign::Comma,
        }
    }
}

/// Columns that say something about an item, in no order.
pub(crate) type Cells = Vec<(&'static str, String)>;

pub(crate) fn cell(cells: &Cells, column: &str) -> String {
    let found = cells.iter().find(|(name, _)| *name == column);
    found.map_or_else(String::new, |(_, text)| text.clone())
}

/// An item as the cells of its line.
pub(crate) fn cells(item: &RackItem, sign: DecimalSign) -> Cells {
    let stock = &item.stock;
    let number = |value: f64| number(value, sign);
    let mut cells = vec![
        (
            "kind",
            match stock.kind {
                StockKind::Sheet => "sheet",
                StockKind::Offcut => "offcut",
            }
            .to_owned(),
        ),
        ("tag", stock.tag.clone()),
        ("glass", stock.glass.clone()),
        ("units", "mm".to_owned()),
        (
            "count",
            match stock.count {
                Count::OnHand(count) => count.to_string(),
                Count::ToBuy => "buy".to_owned(),
            },
        ),
        ("grain", number(stock.grain_deg)),
        ("lot", stock.lot.clone().unwrap_or_default()),
        ("place", stock.place.clone()),
        ("price", stock.price.map_or_else(String::new, number)),
        ("scored_face", item.scored_face.map_or("", crate::Face::word).to_owned()),
        ("source", item.came_from.clone().unwrap_or_default()),
    ];
    let flaws: Vec<String> = stock.flaws.iter().map(|flaw| points(flaw, sign)).collect();
    cells.push(("flaws", flaws.join("|")));
    let bounds = stock.outline.bounds();
    if stock.outline == Outline::rectangle(bounds.width(), bounds.height()) {
        cells.push(("width", number(bounds.width())));
        cells.push(("height", number(bounds.height())));
    } else {
        cells.push(("outline", points(&stock.outline, sign)));
    }
    cells
}

/// Corners as a list has them.
pub(crate) fn points(outline: &Outline, sign: DecimalSign) -> String {
    let corners = outline.points().iter();
    let corners: Vec<String> = corners
        .map(|p| format!("{} {}", number(p.x, sign), number(p.y, sign)))
        .collect();
    corners.join("; ")
}

/// The shortest decimals that read back as the same number.
fn number(value: f64, sign: DecimalSign) -> String {
    let text = value.to_string();
    match sign {
        DecimalSign::Point => text,
        DecimalSign::Comma => text.replace('.', ","),
    }
}
