//! One line of the list, checked cell by cell.

use crate::number::{DecimalSign, length, plain};
use crate::shape::{Reading, Trouble, cut_short};
use crate::{Count, Face, StockItem, StockKind};
use cullet_geometry::path::YAxis;
use cullet_geometry::{Outline, boolean};
use cullet_job::{Frame, Report, nearest_name};

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
    "came_from",
];
/// How many of them must be there.
pub(crate) const REQUIRED: usize = 5;

/// Longest side of a sheet, mm: the largest float is 3210 × 6000.
const LONGEST_SIDE: f64 = 10_000.0;
/// A sheet whose longer side is below this was measured in another unit, mm; common practice.
const SHORTEST_SHEET: f64 = 100.0;
/// Most equal sheets in one line.
const MOST_COUNT: u32 = 100_000;
/// Longest text in a cell that is no outline.
const MOST_TEXT: usize = 200;

/// What one line says.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Line {
    pub(crate) source: Source,
    pub(crate) stock: StockItem,
    pub(crate) scored_face: Option<Face>,
    pub(crate) came_from: Option<String>,
}

/// Where it was said, for messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Source {
    /// A line of a list.
    Line(usize),
    /// Options of a command, named like the columns.
    Options,
}

impl Source {
    pub(crate) fn place(self, column: &str) -> String {
        match self {
            Self::Line(line) => format!("line {line}, column \"{column}\""),
            Self::Options => format!("--{}", column.replace('_', "-")),
        }
    }
}

/// One line: its cells, by name.
pub(crate) struct Row<'a> {
    pub(crate) source: Source,
    /// A cell by column name, trimmed; `None` where the list has no such column.
    pub(crate) cells: &'a dyn Fn(&str) -> Option<&'a str>,
    pub(crate) sign: DecimalSign,
}

impl<'a> Row<'a> {
    pub(crate) fn place(&self, column: &str) -> String {
        self.source.place(column)
    }

    fn text(&self, column: &str) -> &'a str {
        (self.cells)(column).unwrap_or("")
    }

    fn refuse(&self, report: &mut Report, column: &str, [found, expected, hint]: Trouble) {
        report.add(self.place(column), found, expected, hint);
    }

    /// What the line says, unless something was reported.
    pub(crate) fn read(&self, report: &mut Report) -> Option<Line> {
        let before = report.findings().len();
        let kind = self.word(
            report,
            "kind",
            &[("sheet", StockKind::Sheet), ("offcut", StockKind::Offcut)],
        );
        let tag = self.name(report, "tag", true);
        let glass = self.name(report, "glass", true);
        let lot = self.name(report, "lot", false);
        let place = self.name(report, "place", false);
        let came_from = self.name(report, "came_from", false);
        let scored_face = match self.text("scored_face") {
            "" => None,
            _ => self.word(report, "scored_face", &[("show", Face::Show), ("back", Face::Back)]),
        };
        let unit_mm = self.word(report, "units", &[("mm", 1.0), ("in", 25.4)]);
        let count = kind.and_then(|kind| self.count(report, kind));
        let grain = self.number(report, "grain", "an angle from -360 to 360 degrees", |g| {
            g.abs() <= 360.0
        });
        let price = self.number(report, "price", "a price, 0 or more", |price| price >= 0.0);
        let shape = match (kind, unit_mm) {
            (Some(kind), Some(unit_mm)) => self.shape(report, kind, unit_mm),
            _ => None,
        };
        if let (Some(StockKind::Sheet), Some(count), Some((_, flaws))) = (kind, count, &shape)
            && !flaws.is_empty()
            && count != Count::OnHand(1)
        {
            self.refuse(
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
            source: self.source,
            stock,
            scored_face,
            came_from: Some(came_from).filter(|from| !from.is_empty()),
        };
        (report.findings().len() == before).then_some(line)
    }

    /// One of the words a column may hold; nothing is said where the column is missing, the header check has.
    fn word<T: Copy>(&self, report: &mut Report, column: &str, words: &[(&str, T)]) -> Option<T> {
        let text = (self.cells)(column)?;
        let found = words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text));
        if found.is_none() {
            let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let hint = match nearest_name(text, names.iter().copied()) {
                Some(word) => format!("Did you mean \"{word}\"?"),
                None => "Every line must say it.".to_owned(),
            };
            self.refuse(report, column, [quoted(text), names.join(" or "), hint]);
        }
        found.map(|(_, value)| *value)
    }

    fn name(&self, report: &mut Report, column: &str, is_required: bool) -> String {
        let Some(text) = (self.cells)(column) else {
            return String::new();
        };
        if is_required && text.is_empty() {
            let hint = if column == "tag" {
                "Write on the line what is written on the glass, or any name that no other line has."
            } else {
                "Write the code that the job uses."
            };
            self.refuse(report, column, trouble("nothing", "a name", hint));
        } else if text.chars().count() > MOST_TEXT {
            let expected = format!("at most {MOST_TEXT} characters");
            self.refuse(report, column, [quoted(text), expected, "Shorten it.".to_owned()]);
        }
        text.to_owned()
    }

    fn number(&self, report: &mut Report, column: &str, expected: &str, is_good: fn(f64) -> bool) -> Option<f64> {
        let text = self.text(column);
        if text.is_empty() {
            return None;
        }
        let number = plain(text, self.sign).filter(|number| is_good(*number));
        if number.is_none() {
            self.refuse(
                report,
                column,
                [quoted(text), expected.to_owned(), self.number_hint().to_owned()],
            );
        }
        number
    }

    fn number_hint(&self) -> &'static str {
        match self.sign {
            DecimalSign::Point => "Write the bare number, with a decimal point.",
            DecimalSign::Comma => "Write the bare number, with a decimal comma or point and no mark for thousands.",
        }
    }

    fn count(&self, report: &mut Report, kind: StockKind) -> Option<Count> {
        let text = (self.cells)("count")?;
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
            self.refuse(report, "count", trouble(&quoted(text), expected, hint));
        }
        count
    }

    /// Outline and flaws, moved so that the lower left of the outline's bounds is at the origin.
    fn shape(&self, report: &mut Report, kind: StockKind, unit_mm: f64) -> Option<(Outline, Vec<Outline>)> {
        let reading = Reading {
            frame: Frame { unit_mm, y: YAxis::Up },
            sign: self.sign,
        };
        let has = |column: &str| !self.text(column).is_empty();
        let has_size = has("width") || has("height");
        let drawn = match (kind, has("outline")) {
            (StockKind::Sheet, true) => {
                self.refuse(
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
                self.refuse(
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
                self.refuse(
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
            (StockKind::Offcut, true) => match reading.outline(self.text("outline")) {
                Ok((outline, frame)) => self.checked_size(report, outline).map(|outline| (outline, frame)),
                Err(trouble) => {
                    self.refuse(report, "outline", trouble);
                    None
                }
            },
            (_, false) => self
                .rectangle(report, kind, unit_mm)
                .map(|outline| (outline, reading.frame)),
        };
        // Flaws are read even where the outline is bad, for their own findings.
        let frame = drawn.as_ref().map_or(reading.frame, |(_, frame)| *frame);
        let (flaws, troubles) = Reading { frame, ..reading }.flaws(self.text("flaws"));
        for trouble in troubles {
            self.refuse(report, "flaws", trouble);
        }
        let (outline, _) = drawn?;
        for (i, flaw) in flaws.iter().enumerate() {
            if boolean::intersection(&outline, flaw).is_empty() {
                self.refuse(
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

    fn rectangle(&self, report: &mut Report, kind: StockKind, unit_mm: f64) -> Option<Outline> {
        let width = self.side(report, "width", unit_mm);
        let height = self.side(report, "height", unit_mm);
        let (width, height) = (width?, height?);
        if kind == StockKind::Sheet && width.max(height) < SHORTEST_SHEET {
            let hint = if unit_mm == 1.0 {
                "Are inches meant? Then write in under units. A smaller piece of glass is an offcut."
            } else {
                "Check the size. A smaller piece of glass is an offcut."
            };
            let found = format!("a sheet of {width:.1} × {height:.1} mm");
            let expected = format!("a side of at least {SHORTEST_SHEET} mm");
            self.refuse(report, "width", [found, expected, hint.to_owned()]);
            return None;
        }
        Some(Outline::rectangle(width, height))
    }

    /// A side in mm.
    fn side(&self, report: &mut Report, column: &str, unit_mm: f64) -> Option<f64> {
        let text = self.text(column);
        let is_inches = unit_mm != 1.0;
        let size = length(text, self.sign, is_inches).map(|size| size * unit_mm);
        match size {
            Some(size) if size > 0.0 && size <= LONGEST_SIDE => Some(size),
            Some(size) if size > LONGEST_SIDE => {
                let hint = if is_inches {
                    "Are millimetres meant? Then write mm under units."
                } else {
                    "Check the size."
                };
                let found = format!("{text}, which is {:.1} m", size / 1e3);
                self.refuse(
                    report,
                    column,
                    [found, format!("at most {} m", LONGEST_SIDE / 1e3), hint.to_owned()],
                );
                None
            }
            _ => {
                let expected = "a size above 0".to_owned();
                let hint = if text.contains('/') && !is_inches {
                    "Fractions are for inches: write in under units, or the decimal millimetres."
                } else {
                    self.number_hint()
                };
                self.refuse(report, column, [quoted(text), expected, hint.to_owned()]);
                None
            }
        }
    }

    fn checked_size(&self, report: &mut Report, outline: Outline) -> Option<Outline> {
        let bounds = outline.bounds();
        let longest = bounds.width().max(bounds.height());
        if longest <= LONGEST_SIDE {
            return Some(outline);
        }
        let found = format!("an outline {:.1} m long", longest / 1e3);
        let expected = format!("at most {} m", LONGEST_SIDE / 1e3);
        self.refuse(
            report,
            "outline",
            [found, expected, "Check the unit and the corners.".to_owned()],
        );
        None
    }
}

fn quoted(text: &str) -> String {
    if text.is_empty() {
        "nothing".to_owned()
    } else {
        format!("\"{}\"", cut_short(text))
    }
}

fn trouble(found: &str, expected: &str, hint: &str) -> Trouble {
    [found, expected, hint].map(str::to_owned)
}
