//! Items as a table for the terminal.

use cullet_job::Units;
use cullet_job::measure::{areas, down_size, lengths};
use cullet_rack::{RackItem, State, StockKind};

/// `clear` is the largest upright rectangle inside.
fn head(units: Units) -> [String; 11] {
    let (length, area) = (lengths(units).sign, areas(units).sign);
    [
        "tag",
        "kind",
        "glass",
        &format!("size {length}"),
        &format!("clear {length}"),
        area,
        "flaws",
        "lot",
        "place",
        "state",
        "from",
    ]
    .map(str::to_owned)
}
/// Columns of figures stand to the right.
const RIGHT: [bool; 11] = [false, false, false, true, true, true, true, false, false, false, false];

/// A line an item; sizes are rounded down to whole millimetres or sixteenths of an inch.
pub(super) fn of(items: &[RackItem], units: Units) -> String {
    let mut rows: Vec<Vec<String>> = vec![head(units).to_vec()];
    rows.extend(items.iter().map(|item| row(item, units)));
    let widths: Vec<usize> = (0..RIGHT.len())
        .map(|column| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0))
        .collect();
    let mut text = String::new();
    for (i, row) in rows.iter().enumerate() {
        let mut line = String::new();
        for (column, cell) in row.iter().enumerate() {
            let gap = " ".repeat(widths[column] - cell.chars().count());
            line += &if RIGHT[column] { gap + cell } else { cell.clone() + &gap };
            line += "  ";
        }
        text += line.trim_end();
        text.push('\n');
        if i == 0 {
            text += &"-".repeat(widths.iter().sum::<usize>() + 2 * (widths.len() - 1));
            text.push('\n');
        }
    }
    text
}

fn row(item: &RackItem, units: Units) -> Vec<String> {
    let stock = &item.stock;
    let bounds = stock.outline.bounds();
    let area = areas(units);
    let places = if area.one > 1e5 { 4 } else { 3 };
    let state = match &item.held_for {
        Some(plan) => format!("held for {plan}"),
        None if item.state == State::OnRack => String::new(),
        None => item.state.word().to_owned(),
    };
    let kind = match stock.kind {
        StockKind::Sheet => "sheet",
        StockKind::Offcut => "offcut",
    };
    let cells = [
        stock.tag.as_str(),
        kind,
        &stock.glass,
        &down_size(bounds.width(), bounds.height(), units),
        &down_size(item.clear.0, item.clear.1, units),
        &format!("{:.places$}", stock.outline.area() / area.one),
        &match stock.flaws.len() {
            0 => String::new(),
            count => count.to_string(),
        },
        stock.lot.as_deref().unwrap_or_default(),
        &stock.place,
        &state,
        item.came_from.as_deref().unwrap_or_default(),
    ];
    // A cell on one line, whatever a user wrote.
    cells
        .map(|cell| cell.split_whitespace().collect::<Vec<_>>().join(" "))
        .to_vec()
}
