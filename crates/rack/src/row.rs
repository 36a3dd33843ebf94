//! One line of the list, checked cell by cell.

use crate::shape::Reading;
use crate::{Count, Face, StockItem, StockKind};
use cullet_geometry::path::YAxis;
use cullet_geometry::{Outline, boolean};
use cullet_job::{Frame, Report};
use cullet_list::{Row, Source, length, quoted, trouble};

/// The columns of the list; the first five must be there.
pub(crate) const COLUMNS: [&str; 15] = [
    "kind",
    "tag",
    "glass",
    "units",
    "count",
    "width",
    "height",
    "outline",
    "grain",
    "lot",
    "place",
    "flaws",
    "price",
    "scored_face",
    "source",
];
/// How many of them must be there.
pub(crate) const REQUIRED: usize = 5;

/// Longest side of a sheet, mm: the largest float is 3210 × 6000.
const LONGEST_SIDE: f64 = 10_000.0;
/// A sheet whose longer side is below this was measured in another unit, mm; common practice.
const SHORTEST_SHEET: f64 = 100.0;
/// Glass narrower than this is a splinter, mm; common practice.
const NARROWEST: f64 = 1.0;
/// Most equal sheets in one line.
const MOST_COUNT: u32 = 100_000;

/// What one line says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    pub(crate) source: Source,
    pub(crate) stock: StockItem,
    pub(crate) scored_face: Option<Face>,
    pub(crate) came_from: Option<String>,
}

/// What the line says, unless something was reported.
pub(crate) fn read(row: &Row<'_>, report: &mut Report) -> Option<Line> {
    let before = report.findings().len();
    let kind = row.word(
        report,
        "kind",
        &[("sheet", StockKind::Sheet), ("offcut", StockKind::Offcut)],
    );
    let tag = row.name(
        report,
        "tag",
        Some("Write on the line what is written on the glass, or any name that no other line has."),
    );
    let glass = row.name(report, "glass", Some("Write the code that the job uses."));
    let lot = row.name(report, "lot", None);
    let place = row.name(report, "place", None);
    let came_from = row.name(report, "source", None);
    let scored_face = match row.text("scored_face") {
        "" => None,
        _ => row.word(report, "scored_face", &[("show", Face::Show), ("back", Face::Back)]),
    };
    let unit_mm = row.word(report, "units", &[("mm", 1.0), ("in", 25.4)]);
    let count = kind.and_then(|kind| count(row, report, kind));
    let grain = row.number(report, "grain", "an angle from -360 to 360 degrees", |g| {
        g.abs() <= 360.0
    });
    let price = row.number(report, "price", "a price, 0 or more", |price| price >= 0.0);
    let shape = match (kind, unit_mm) {
        (Some(kind), Some(unit_mm)) => shape(row, report, kind, unit_mm),
        _ => None,
    };
    if let (Some(StockKind::Sheet), Some(count), Some((_, flaws))) = (kind, count, &shape)
        && !flaws.is_empty()
        && count != Count::OnHand(1)
    {
        row.refuse(
            report,
            "count",
            trouble(
                "flaws on more than one sheet",
                "count 1",
                "Give the sheet with the flaws a line of its own.",
            ),
        );
    }
    let (outline, flaws) = shape?;
    let stock = StockItem {
        tag,
        glass,
        kind: kind?,
        outline,
        count: count?,
        place,
        lot: Some(lot).filter(|lot| !lot.is_empty()),
        grain_deg: grain.unwrap_or(90.0).rem_euclid(360.0),
        flaws,
        price,
    };
    let line = Line {
        source: row.source,
        stock,
        scored_face,
        came_from: Some(came_from).filter(|from| !from.is_empty()),
    };
    (report.findings().len() == before).then_some(line)
}

fn count(row: &Row<'_>, report: &mut Report, kind: StockKind) -> Option<Count> {
    let text = (row.cells)("count")?;
    let count = match (text, kind) {
        ("", StockKind::Offcut) => Some(Count::OnHand(1)),
        (text, StockKind::Sheet) if text.eq_ignore_ascii_case("buy") => Some(Count::ToBuy),
        (text, _) => text.parse().ok().filter(|n| *n <= MOST_COUNT).map(Count::OnHand),
    };
    if count.is_none() {
        let (expected, hint) = match kind {
            StockKind::Sheet => (
                "a whole number, or buy",
                "Say how many stand on the rack, or buy if more can be had.",
            ),
            StockKind::Offcut => (
                "a whole number",
                "An offcut cannot be bought: say how many such there are.",
            ),
        };
        row.refuse(report, "count", trouble(&quoted(text), expected, hint));
    }
    count
}

/// The outline as it is given, drawn or by width and height, and its frame.
fn drawn(row: &Row<'_>, report: &mut Report, kind: StockKind, reading: Reading) -> Option<(Outline, Frame)> {
    let has = |column: &str| !row.text(column).is_empty();
    let has_size = has("width") || has("height");
    match (kind, has("outline")) {
        (StockKind::Sheet, true) => {
            row.refuse(
                report,
                "outline",
                trouble(
                    "an outline",
                    "nothing: a sheet is rectangular",
                    "Give width and height, or call it an offcut.",
                ),
            );
            None
        }
        (StockKind::Offcut, true) if has_size => {
            row.refuse(
                report,
                "outline",
                trouble(
                    "an outline as well as width and height",
                    "one of the two",
                    "Keep the outline, or width and height where the offcut is rectangular.",
                ),
            );
            None
        }
        (StockKind::Offcut, false) if !has_size => {
            row.refuse(
                report,
                "outline",
                trouble(
                    "nothing",
                    "the offcut's outline",
                    "Give its corners, or width and height if it is rectangular.",
                ),
            );
            None
        }
        (StockKind::Offcut, true) => match reading.outline(row.text("outline")) {
            Ok((outline, frame)) => checked_size(row, report, outline).map(|outline| (outline, frame)),
            Err(trouble) => {
                row.refuse(report, "outline", trouble);
                None
            }
        },
        (_, false) => rectangle(row, report, kind, reading.frame.unit_mm).map(|outline| (outline, reading.frame)),
    }
}

/// Outline and flaws, moved so that the lower left of the outline's bounds is at the origin.
fn shape(row: &Row<'_>, report: &mut Report, kind: StockKind, unit_mm: f64) -> Option<(Outline, Vec<Outline>)> {
    let reading = Reading {
        frame: Frame { unit_mm, y: YAxis::Up },
        sign: row.sign,
    };
    let drawn = drawn(row, report, kind, reading);
    // Flaws are read even where the outline is bad, for their own findings.
    let frame = drawn.as_ref().map_or(reading.frame, |(_, frame)| *frame);
    let (flaws, troubles) = Reading { frame, ..reading }.flaws(row.text("flaws"));
    for trouble in troubles {
        row.refuse(report, "flaws", trouble);
    }
    let (outline, _) = drawn?;
    for (i, flaw) in flaws.iter().enumerate() {
        if boolean::intersection(&outline, flaw).is_empty() {
            row.refuse(
                report,
                "flaws",
                trouble(
                    &format!("flaw {} beside the glass", i + 1),
                    "a flaw on the glass",
                    "Flaws are measured in the outline's own axes; without an outline from the lower left corner.",
                ),
            );
        }
    }
    let corner = outline.bounds().min;
    let moved = |outline: &Outline| outline.translated(-corner.x, -corner.y);
    Some((moved(&outline), flaws.iter().map(moved).collect()))
}

fn rectangle(row: &Row<'_>, report: &mut Report, kind: StockKind, unit_mm: f64) -> Option<Outline> {
    let width = side(row, report, "width", unit_mm);
    let height = side(row, report, "height", unit_mm);
    let (width, height) = (width?, height?);
    if kind == StockKind::Sheet && width.max(height) < SHORTEST_SHEET {
        let hint = if unit_mm == 1.0 {
            "Are inches meant? Then write in under units. A smaller piece of glass is an offcut."
        } else {
            "Check the size. A smaller piece of glass is an offcut."
        };
        let found = format!("a sheet of {width:.1} × {height:.1} mm");
        let expected = format!("a side of at least {SHORTEST_SHEET} mm");
        row.refuse(report, "width", [found, expected, hint.to_owned()]);
        return None;
    }
    Some(Outline::rectangle(width, height))
}

/// A side in mm.
fn side(row: &Row<'_>, report: &mut Report, column: &str, unit_mm: f64) -> Option<f64> {
    let text = row.text(column);
    let is_inches = unit_mm != 1.0;
    let size = length(text, row.sign, is_inches).map(|size| size * unit_mm);
    match size {
        Some(size) if (NARROWEST..=LONGEST_SIDE).contains(&size) => Some(size),
        Some(size) if size > LONGEST_SIDE => {
            let hint = if is_inches {
                "Are millimetres meant? Then write mm under units."
            } else {
                "Check the size."
            };
            let found = format!("{text}, which is {:.1} m", size / 1e3);
            row.refuse(
                report,
                column,
                [found, format!("at most {} m", LONGEST_SIDE / 1e3), hint.to_owned()],
            );
            None
        }
        Some(size) if size > 0.0 => {
            let found = format!("{text}, which is {size} mm");
            let hint = "No glass is so narrow: check the size and the unit.".to_owned();
            row.refuse(report, column, [found, format!("at least {NARROWEST} mm"), hint]);
            None
        }
        _ => {
            let expected = "a size above 0".to_owned();
            let hint = row.size_hint(text, is_inches).to_owned();
            row.refuse(report, column, [quoted(text), expected, hint]);
            None
        }
    }
}

fn checked_size(row: &Row<'_>, report: &mut Report, outline: Outline) -> Option<Outline> {
    let bounds = outline.bounds();
    let longest = bounds.width().max(bounds.height());
    let shortest = bounds.width().min(bounds.height());
    if shortest < NARROWEST {
        let found = format!("an outline {shortest} mm wide");
        let hint = "Check the unit and the corners.".to_owned();
        row.refuse(report, "outline", [found, format!("at least {NARROWEST} mm"), hint]);
        return None;
    }
    if longest <= LONGEST_SIDE {
        return Some(outline);
    }
    let found = format!("an outline {:.1} m long", longest / 1e3);
    let expected = format!("at most {} m", LONGEST_SIDE / 1e3);
    row.refuse(
        report,
        "outline",
        [found, expected, "Check the unit and the corners.".to_owned()],
    );
    None
}
