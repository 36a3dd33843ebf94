//! Why a drawing cannot be read, in the words of [`cullet_job::Finding`].

use super::limits::Limit;
use crate::drawing::Place;
use cullet_job::Finding;

/// Why a file gives no drawing. [`ReadError::findings`] says it as every other input error is said.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadError {
    /// Neither an SVG nor a DXF file.
    #[error("it is {found}, an SVG or a DXF file is expected")]
    Kind {
        /// What it looks like.
        found: String,
        /// What to do.
        hint: String,
    },
    /// Text in no encoding that is read.
    #[error("line {line} is not text in {expected}")]
    Encoding {
        /// The first line with such bytes, from 1.
        line: u32,
        /// What encoding was expected.
        expected: String,
    },
    /// The XML does not hold together.
    #[error("line {line}: {reason}")]
    Xml {
        /// Line, from 1.
        line: u32,
        /// What the XML reader says.
        reason: String,
    },
    /// A DXF group code is no number.
    #[error("line {line}: {found:?} stands where a group code is expected")]
    GroupCode {
        /// Line, from 1.
        line: u32,
        /// What stands there, cut to 40 characters.
        found: String,
    },
    /// The file ends before its drawing does.
    #[error("the file ends at line {line}, inside {inside}")]
    Truncated {
        /// The last line, from 1.
        line: u32,
        /// What is not ended.
        inside: String,
    },
    /// A limit of [`super::Limits`] is passed.
    #[error("{place}: more than {most} {what}")]
    Limit {
        /// Which limit.
        what: Limit,
        /// How much is allowed.
        most: usize,
        /// Where it was passed, in words.
        place: String,
    },
    /// A DXF that does not say its unit.
    #[error("the drawing does not say its unit ($INSUNITS); it measures {width:.4} × {height:.4} units")]
    UnitUnstated {
        /// Width of everything drawn, in the file's units.
        width: f64,
        /// Height of everything drawn, in the file's units.
        height: f64,
    },
    /// A DXF in a unit that no glass is drawn in.
    #[error("line {line}: $INSUNITS is {found}")]
    UnitUnknown {
        /// Line, from 1.
        line: u32,
        /// What stands there.
        found: String,
    },
    /// [`super::ReadOptions::unit_mm`] is not a positive number.
    #[error("a unit of {value} mm was asked for")]
    UnitOption {
        /// What was given.
        value: f64,
    },
    /// Values that cannot be read, all of them up to 100.
    #[error("{} value(s) cannot be read, the first at line {}: {}", .0.len(), .0.first().map_or(0, |v| v.place.line), .0.first().map_or("", |v| &v.found))]
    Values(Vec<BadValue>),
}

/// One value that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BadValue {
    /// Where it stands.
    pub place: Place,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// What to do.
    pub hint: String,
}

impl ReadError {
    /// Everything that is wrong, `file` as the user named it; never empty.
    #[must_use]
    pub fn findings(&self, file: &str) -> Vec<Finding> {
        match self {
            Self::Values(values) => values.iter().map(|value| value.finding(file)).collect(),
            _ => vec![self.finding(file)],
        }
    }

    /// The first thing that is wrong; [`Self::findings`] gives all.
    #[must_use]
    pub fn finding(&self, file: &str) -> Finding {
        let (place, found, expected, hint) = match self {
            Self::Kind { found, hint } => (
                "the file".to_owned(),
                found.clone(),
                "an SVG drawing or a DXF drawing written as text".to_owned(),
                hint.clone(),
            ),
            Self::Encoding { line, expected } => (
                format!("line {line}"),
                "bytes that are not text".to_owned(),
                format!("text in {expected}"),
                "save the drawing again as SVG (UTF-8) or ASCII DXF".to_owned(),
            ),
            Self::Xml { line, reason } => (
                format!("line {line}"),
                reason.clone(),
                "a complete SVG file".to_owned(),
                "the file was cut short or edited by hand: save the drawing again".to_owned(),
            ),
            Self::GroupCode { line, found } => (
                format!("line {line}"),
                format!("{found:?}"),
                "a DXF group code, a whole number on a line of its own".to_owned(),
                "the file is damaged there: save the drawing again as ASCII DXF".to_owned(),
            ),
            Self::Truncated { line, inside } => (
                format!("line {line}"),
                format!("the end of the file, inside {inside}"),
                "the rest of the drawing".to_owned(),
                "the file was cut short: copy it or save it again".to_owned(),
            ),
            Self::Limit { what, most, place } => (
                place.clone(),
                format!("more than {most} {what}"),
                format!("at most {most}"),
                what.hint().to_owned(),
            ),
            Self::UnitUnstated { width, height } => (
                "header, $INSUNITS".to_owned(),
                format!("no unit; the drawing measures {width:.4} × {height:.4}"),
                "the unit it is drawn in".to_owned(),
                unit_hint(*width, *height),
            ),
            Self::UnitUnknown { line, found } => (
                format!("line {line}, header, $INSUNITS"),
                found.clone(),
                "1 (inches), 2 (feet), 4 (mm), 5 (cm), 6 (m) or another unit of length".to_owned(),
                "set the drawing's unit and save it again, or give unit_mm in the panel's drawing (--unit-mm without a job)"
                    .to_owned(),
            ),
            Self::UnitOption { value } => (
                "the unit given with the drawing".to_owned(),
                value.to_string(),
                "millimetres in one unit of the drawing, more than 0".to_owned(),
                "give 1 for mm, 25.4 for inches".to_owned(),
            ),
            Self::Values(values) => match values.first() {
                Some(value) => return value.finding(file),
                None => Default::default(),
            },
        };
        Finding {
            file: file.to_owned(),
            place,
            found,
            expected,
            hint,
        }
    }
}

impl BadValue {
    fn finding(&self, file: &str) -> Finding {
        Finding {
            file: file.to_owned(),
            place: self.place.to_string(),
            found: self.found.clone(),
            expected: self.expected.clone(),
            hint: self.hint.clone(),
        }
    }
}

/// What each unit makes of the drawing. Leaded panels lie between about 100 mm and 4 m (common practice); the units that give
/// such a size are named, or all where none does.
fn unit_hint(width: f64, height: f64) -> String {
    const UNITS: [(&str, f64); 4] = [("mm", 1.0), ("inches", 25.4), ("cm", 10.0), ("m", 1000.0)];
    let ask =
        "set the drawing's unit and save it again, or give unit_mm in the panel's drawing (--unit-mm without a job)";
    let largest = width.max(height);
    if largest <= 0.0 {
        return ask.to_owned();
    }
    let is_usual = |unit: f64| (100.0..=4000.0).contains(&(largest * unit));
    let any_usual = UNITS.iter().any(|(_, unit)| is_usual(*unit));
    let readings: Vec<String> = UNITS
        .iter()
        .filter(|(_, unit)| !any_usual || is_usual(*unit))
        .map(|(name, unit)| format!("{:.0} × {:.0} mm if in {name} ({unit})", width * unit, height * unit))
        .collect();
    format!("{ask}; it is {}", readings.join(", "))
}
