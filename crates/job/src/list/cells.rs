//! Cells of a piece list: shapes, corners, counts, grain, bevels.

use crate::{CornerFile, Report, ShapeKind};
use cullet_findings::nearest_name;
use cullet_list::{Row, plain, quoted, trouble};
use serde_json::{Map, Value, json};

/// The most of a piece in one line, and the most spares.
pub(super) const MOST_COUNT: u32 = 100_000;

/// Columns with the sizes of a shape, all above 0.
pub(super) const SIZES: [&str; 11] = [
    "width", "height", "diameter", "radius", "rise", "top", "left", "right", "side", "clip", "angle",
];

/// A value as a list has it.
pub(super) fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        other => other.as_f64().unwrap_or_default().to_string(),
    }
}

/// The shape with its sizes, as a job file has it.
pub(super) fn shape(report: &mut Report, row: &Row<'_>, in_inches: bool) -> Value {
    let mut shape = Map::new();
    let kind = kind(report, row);
    shape.insert("kind".into(), kind.unwrap_or(ShapeKind::Rectangle).name().into());
    for column in SIZES {
        let size = match column {
            "angle" => row.number(report, column, "an angle from 1 to 179 degrees", |angle| {
                (1.0..=179.0).contains(&angle)
            }),
            _ => row.size(report, column, "a size above 0", in_inches, |size| size > 0.0),
        };
        if let Some(size) = size {
            shape.insert(column.into(), size.into());
        }
    }
    if let Some(offset) = row.size(report, "offset", "a size", in_inches, |_| true) {
        shape.insert("offset".into(), offset.into());
    }
    if let Some(sides) = count(report, row, "sides", 3) {
        shape.insert("sides".into(), sides.min(1000).into());
    }
    let corners = corners(report, row);
    if !corners.is_empty() {
        shape.insert("corners".into(), json!(corners));
    }
    shape.into()
}

/// The shape's name, a rectangle where none is given.
pub(super) fn kind(report: &mut Report, row: &Row<'_>) -> Option<ShapeKind> {
    let text = row.text("shape");
    if text.is_empty() {
        return Some(ShapeKind::Rectangle);
    }
    let name = text.to_lowercase().replace([' ', '_'], "-");
    let found = ShapeKind::ALL.into_iter().find(|kind| kind.name() == name);
    if found.is_none() {
        let other =
            other_name(&name).or_else(|| nearest_name(&name, ShapeKind::ALL.map(ShapeKind::name)).map(str::to_owned));
        let all: Vec<String> = ShapeKind::ALL.iter().map(ToString::to_string).collect();
        let hint = match other {
            Some(other) => format!("Write \"{}\" if that is meant.", other.replace('-', " ")),
            None => "For any other shape draw the panel, or list the piece with its corners in a job file.".to_owned(),
        };
        row.refuse(report, "shape", [quoted(text), all.join(", "), hint]);
    }
    found
}

/// What a shape with another usual name is called here.
pub(super) fn other_name(name: &str) -> Option<String> {
    let kind = match name {
        "square" | "rect" | "oblong" | "pane" => ShapeKind::Rectangle,
        "oval" => ShapeKind::Ellipse,
        "disc" | "disk" | "round" | "roundel" => ShapeKind::Circle,
        "semicircle" | "half-circle" | "semi-circle" => ShapeKind::HalfRound,
        "quadrant" | "quarter-round" => ShapeKind::QuarterCircle,
        "arch" | "half-round-arch" => ShapeKind::RoundArch,
        "gothic-arch" | "lancet" => ShapeKind::PointedArch,
        "quarry" | "rhombus" | "lozenge" => ShapeKind::Diamond,
        "trapezoid" => ShapeKind::Trapezium,
        "hexagon" => return Some("polygon\" with 6 under sides, \"polygon".into()),
        "octagon" => return Some("polygon\" with 8 under sides, \"polygon".into()),
        _ => return None,
    };
    Some(kind.name().to_owned())
}

/// Corners with blanks between them.
pub(super) fn corners(report: &mut Report, row: &Row<'_>) -> Vec<CornerFile> {
    let words = [
        ("top-left", CornerFile::TopLeft),
        ("top-right", CornerFile::TopRight),
        ("bottom-left", CornerFile::BottomLeft),
        ("bottom-right", CornerFile::BottomRight),
    ];
    let text = row.text("corners");
    let mut found = vec![];
    for word in text.split([' ', ',', ';', '|']).filter(|word| !word.is_empty()) {
        match words.iter().find(|(name, _)| name.eq_ignore_ascii_case(word)) {
            Some((_, corner)) => found.push(*corner),
            None => {
                let hint = "Write the corners with blanks between them, or leave the cell empty for all four.";
                let names = words.map(|(name, _)| name).join(", ");
                row.refuse(report, "corners", [quoted(word), names, hint.to_owned()]);
            }
        }
    }
    found
}

pub(super) fn count(report: &mut Report, row: &Row<'_>, column: &str, least: u32) -> Option<u32> {
    let text = row.text(column);
    if text.is_empty() {
        return None;
    }
    let count = text.parse().ok().filter(|count| (least..=MOST_COUNT).contains(count));
    if count.is_none() {
        let expected = format!("a whole number, {least} or more");
        let hint = "Write the bare number, or leave the cell empty.".to_owned();
        row.refuse(report, column, [quoted(text), expected, hint]);
    }
    count
}

/// Degrees, or which way in words.
pub(super) fn grain(report: &mut Report, row: &Row<'_>) -> Option<f64> {
    let text = row.text("grain");
    match text.to_lowercase().as_str() {
        "" => None,
        "upright" => Some(90.0),
        "across" => Some(0.0),
        _ => {
            let grain = plain(text, row.sign).filter(|angle| angle.abs() <= 360.0);
            if grain.is_none() {
                let expected = "upright, across, or degrees counter-clockwise from the right";
                let hint = "Say which way the grain runs in the piece; an empty cell is upright.";
                row.refuse(report, "grain", trouble(&quoted(text), expected, hint));
            }
            grain
        }
    }
}

pub(super) fn bevel(report: &mut Report, row: &Row<'_>, in_inches: bool) -> Option<Value> {
    let before = report.findings().len();
    let width = row.size(report, "bevel", "a width above 0", in_inches, |size| size > 0.0);
    let nose = row.size(report, "nose", "a size above 0", in_inches, |size| size > 0.0);
    if let (Some(width), Some(nose)) = (width, nose) {
        return Some(json!({"width": width, "nose": nose}));
    }
    if report.findings().len() == before {
        for (column, this, other) in [("nose", nose, width), ("bevel", width, nose)] {
            if this.is_none() && other.is_some() {
                let hint =
                    "A bevel has its width on the face under bevel, and the thickness left at the edge under nose.";
                row.refuse(report, column, trouble("nothing", "a size above 0", hint));
            }
        }
    }
    None
}
