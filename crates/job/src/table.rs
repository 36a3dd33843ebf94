//! The cutting table of a workshop, as the shop file describes it.
//!
//! What is read here is what one table wants; none of it is a fact of the trade. Sources give no speeds, forces or smallest radii, so
//! a table's own manual says them.

mod lines;
pub use lines::LONGEST_LINE;
use lines::bad_line;

use crate::{Report, Units};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The cutting table. Lengths are in the shop file's `units`, X and Y of the table count from its zero corner.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TableFile {
    /// What it is called.
    #[schemars(length(min = 1, max = 100))]
    pub name: String,
    /// What X and Y reach, length units.
    pub size: [f64; 2],
    /// The corner where X and Y are 0 and sheets are registered, as seen on the scored face from above.
    #[serde(default)]
    pub corner: TableCorner,
    /// Which way X runs: across the sheet or up it. Y runs the other way, both from the corner over the table.
    #[serde(default)]
    pub x_runs: TableX,
    /// X and Y of the sheet's corner, length units.
    #[serde(default)]
    pub offset: [f64; 2],
    /// Which files are written for it.
    #[serde(default = "both")]
    #[schemars(length(min = 1, max = 2))]
    pub files: Vec<TableFormat>,
    /// Unit of the numbers in its files.
    #[serde(default = "millimetres")]
    pub file_units: Units,
    /// Decimal places in G-code; 4 keep arcs true in mm, 5 in inches.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 3, max = 7))]
    pub decimals: Option<u8>,
    /// How the wheel is held.
    pub wheel: WheelFile,
    /// What a feed in G-code means: the speed along the path, or the speed of all axes together, a degree counted as a millimetre.
    #[serde(default)]
    pub feed: FeedMeaning,
    /// Speeds, length units a minute; turning in degrees a second.
    pub speeds: TableSpeeds,
    /// Accelerations.
    pub accelerations: TableAccelerations,
    /// The table's own lines of G-code, by the thickness of the glass; the first that is thick enough counts.
    #[schemars(length(min = 1, max = 50))]
    pub lines: Vec<TableLines>,
    /// Time to wait once the wheel is down, s.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 60.0))]
    pub dwell_down: f64,
    /// Time to wait once the wheel is up, s.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 60.0))]
    pub dwell_up: f64,
    /// Lines at the beginning of every G-code file.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub header: Vec<String>,
    /// Lines at the end, before M2.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub footer: Vec<String>,
    /// Whether lines are numbered.
    #[serde(default)]
    pub line_numbers: bool,
    /// How far inside the sheet's edge scores start and end, length units; below 0 they run so far beyond it. 1.6 mm if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub edge_run: Option<f64>,
    /// How far short of another score a score stops, length units. 1 mm if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub gap: Option<f64>,
    /// Whether a score may run across another.
    #[serde(default)]
    pub may_cross: bool,
    /// Corners sharper than this are turned in the air, degrees. 3 if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.1, max = 45.0))]
    pub turn_limit: Option<f64>,
    /// Radius of the tightest curve driven without a lift, length units. 2 mm if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub smallest_radius: Option<f64>,
    /// Where the wheel starts, X and Y, length units.
    #[serde(default)]
    pub home: [f64; 2],
    /// Whether it goes back there.
    #[serde(default = "yes")]
    pub goes_home: bool,
    /// Whether inside curves are scored first, then outside curves, then straight scores, as they are broken.
    #[serde(default)]
    pub hardest_first: bool,
    /// How many breaks are made in a minute: for the age of a score. 6 if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub breaks_a_minute: Option<f64>,
    /// How old a score may be when it is broken, minutes. 30 if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub score_ages: Option<f64>,
}

/// A corner of the table, seen from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TableCorner {
    /// Below on the left.
    #[default]
    LowerLeft,
    /// Below on the right.
    LowerRight,
    /// Above on the left.
    UpperLeft,
    /// Above on the right.
    UpperRight,
}

/// Which way X runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TableX {
    /// Across the sheet.
    #[default]
    Across,
    /// Up or down the sheet.
    Upright,
}

/// A kind of file for a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TableFormat {
    /// G-code (RS-274/NGC).
    Ngc,
    /// DXF (R12).
    Dxf,
}

/// How the wheel is held.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WheelFile {
    /// Whether an axis turns it.
    pub kind: WheelKind,
    /// Letter of the axis that turns it: A, B, C, U, V or W.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 1))]
    pub letter: Option<String>,
    /// Whether its angle counts on beyond 360° or starts again there; then the sign says which way it turns.
    #[serde(default)]
    pub angles: WheelAngles,
    /// How far the axis may turn either way from 0 before its cable has to be unwound, degrees; without end if not said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 200.0, max = 100000.0))]
    pub cable: Option<f64>,
    /// Angle of the axis where the wheel rolls along +X, degrees.
    #[serde(default)]
    #[schemars(range(min = -360.0, max = 360.0))]
    pub zero: f64,
    /// How far the wheel trails behind the axis of a caster, length units.
    #[serde(default)]
    #[schemars(range(min = 0.0))]
    pub trail: f64,
}

/// Whether an axis turns the wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WheelKind {
    /// An axis turns it.
    Steered,
    /// It trails behind the head.
    Caster,
}

/// How angles are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum WheelAngles {
    /// On beyond 360°.
    #[default]
    Unwrapped,
    /// From 0 to 360°.
    Modulo,
}

/// What a feed means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FeedMeaning {
    /// The speed along the path.
    #[default]
    AlongPath,
    /// The speed of all axes together.
    AllAxes,
}

/// Speeds of a table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TableSpeeds {
    /// Along straight scores, length units a minute.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub straight: f64,
    /// Along outside curves, length units a minute.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub outside: f64,
    /// Along inside curves, length units a minute.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub inside: f64,
    /// Along scores that only open waste, length units a minute.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub relief: f64,
    /// With the wheel up, length units a minute.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub travel: f64,
    /// Of the axis that turns the wheel, degrees a second.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub turning: f64,
}

/// Accelerations of a table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TableAccelerations {
    /// Of the head, length units a second, a second.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub head: f64,
    /// Of the axis that turns the wheel, degrees a second, a second.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub turning: f64,
}

/// A table's own lines, by the thickness of the glass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TableLines {
    /// The thickest glass they are for, length units.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub up_to: f64,
    /// What sets the force, once in a file.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub force: Vec<String>,
    /// What lowers the wheel.
    #[schemars(length(min = 1, max = 20))]
    pub down: Vec<String>,
    /// What lifts it.
    #[schemars(length(min = 1, max = 20))]
    pub up: Vec<String>,
    /// What starts the oil, before the wheel is lowered.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub oil_on: Vec<String>,
    /// What stops it, once the wheel is lifted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub oil_off: Vec<String>,
}

fn both() -> Vec<TableFormat> {
    vec![TableFormat::Ngc, TableFormat::Dxf]
}

fn millimetres() -> Units {
    Units::Millimetres
}

fn yes() -> bool {
    true
}

impl TableFile {
    /// The same with all lengths in millimetres, from a shop file in `units`.
    #[must_use]
    pub fn in_mm(&self, units: Units) -> Self {
        let mm = units.mm();
        let pair = |[x, y]: [f64; 2]| [x * mm, y * mm];
        let some = |size: Option<f64>| size.map(|size| size * mm);
        Self {
            size: pair(self.size),
            offset: pair(self.offset),
            home: pair(self.home),
            edge_run: some(self.edge_run),
            gap: some(self.gap),
            smallest_radius: some(self.smallest_radius),
            wheel: WheelFile {
                trail: self.wheel.trail * mm,
                ..self.wheel.clone()
            },
            speeds: TableSpeeds {
                straight: self.speeds.straight * mm,
                outside: self.speeds.outside * mm,
                inside: self.speeds.inside * mm,
                relief: self.speeds.relief * mm,
                travel: self.speeds.travel * mm,
                turning: self.speeds.turning,
            },
            accelerations: TableAccelerations {
                head: self.accelerations.head * mm,
                turning: self.accelerations.turning,
            },
            lines: self
                .lines
                .iter()
                .map(|lines| TableLines {
                    up_to: lines.up_to * mm,
                    ..lines.clone()
                })
                .collect(),
            ..self.clone()
        }
    }

    /// The lines for glass of this thickness, mm, in a table in mm.
    #[must_use]
    pub fn lines_for(&self, thickness: f64) -> Option<&TableLines> {
        let fits = self.lines.iter().filter(|lines| thickness <= lines.up_to + 1e-9);
        fits.min_by(|a, b| a.up_to.total_cmp(&b.up_to))
    }

    /// Decimal places of G-code.
    #[must_use]
    pub fn places(&self) -> usize {
        self.decimals
            .map_or(if self.file_units == Units::Inches { 5 } else { 4 }, usize::from)
    }

    /// Letter of the steering axis, in capitals; none for a caster.
    #[must_use]
    pub fn steering(&self) -> Option<char> {
        let letter = self.wheel.letter.as_deref().unwrap_or("C");
        let letter = letter.chars().next().map(|letter| letter.to_ascii_uppercase());
        letter.filter(|_| self.wheel.kind == WheelKind::Steered)
    }

    /// Checks what the schema cannot say.
    pub(crate) fn check(&self, report: &mut Report) {
        let mut wrong = |field: &str, found: String, expected: &str, hint: &str| {
            report.add(format!("table, field \"{field}\""), found, expected, hint);
        };
        if self.size.iter().any(|size| *size <= 0.0) {
            wrong(
                "size",
                format!("{:?}", self.size),
                "two sizes above 0",
                "Measure what the head reaches.",
            );
        }
        self.check_wheel(&mut wrong);
        let least = if self.file_units == Units::Inches { 5 } else { 4 };
        if let Some(places) = self.decimals.filter(|places| *places < least) {
            wrong(
                "decimals",
                format!("{places}"),
                "at least 4 in mm, 5 in inches",
                "With fewer the ends of arcs lie off their circle and controllers refuse them.",
            );
        }
        self.check_lines(&mut wrong);
    }

    fn check_wheel(&self, wrong: &mut Wrong<'_>) {
        let letter = self.wheel.letter.as_deref().unwrap_or("C").to_ascii_uppercase();
        if !["A", "B", "C", "U", "V", "W"].contains(&letter.as_str()) {
            let taken = match letter.as_str() {
                "X" | "Y" | "Z" => "an axis letter used twice: ",
                _ => "",
            };
            wrong(
                "wheel.letter",
                format!("{taken}\"{letter}\""),
                "A, B, C, U, V or W",
                "X and Y move the head, Z may lower it; take the letter of the axis that turns the wheel.",
            );
        }
        if self.wheel.kind == WheelKind::Caster && self.wheel.letter.is_some() {
            wrong(
                "wheel.letter",
                format!("\"{letter}\" for a caster"),
                "none: no axis turns a caster",
                "Leave it out, or say \"steered\".",
            );
        }
    }

    fn check_lines(&self, wrong: &mut Wrong<'_>) {
        let all = self.lines.iter().flat_map(|lines| {
            let named = [("down", &lines.down), ("up", &lines.up), ("force", &lines.force)];
            named
                .into_iter()
                .chain([("oil_on", &lines.oil_on), ("oil_off", &lines.oil_off)])
        });
        for (field, lines) in all.chain([("header", &self.header), ("footer", &self.footer)]) {
            for line in lines {
                if let Some((found, expected)) = bad_line(line, self.steering()) {
                    wrong(
                        field,
                        found,
                        expected,
                        "Leave moves of the head to the program; comments stand in ( ).",
                    );
                }
            }
        }
        if self.lines.iter().any(|lines| lines.down == lines.up) {
            wrong(
                "lines",
                "the same lines for down and up".into(),
                "lines that lower the wheel, and others that lift it",
                "Take them from the table's manual.",
            );
        }
    }
}

/// Takes a fault of the table: field, found, expected, hint.
type Wrong<'a> = dyn FnMut(&str, String, &str, &str) + 'a;
