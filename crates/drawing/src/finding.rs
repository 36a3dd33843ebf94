//! What a drawing has that cannot be built, or should be looked at.

use cullet_geometry::Point;
use cullet_job::{Finding, Units, measure};

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// It cannot be built so.
    Error,
    /// It can, but should be looked at.
    Warning,
}

/// One thing found in a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawingFinding {
    /// How bad it is.
    pub severity: Severity,
    /// Where, mm, y up; `None` for the drawing as a whole.
    pub at: Option<Point>,
    /// The piece's number, where it is about one.
    pub piece: Option<String>,
    /// Where it stands in the file, in words.
    pub source: String,
    /// What was found.
    pub found: String,
    /// What was expected.
    pub expected: String,
    /// What to do about it.
    pub hint: String,
}

impl DrawingFinding {
    /// The same as the program says it: `file` is the drawing's name, `corner` the panel's lower left corner, from which
    /// places are told in `units`.
    #[must_use]
    pub fn in_words(&self, file: &str, corner: Point, units: Units) -> Finding {
        let piece = self.piece.as_ref().map(|piece| format!("piece {piece}"));
        let at = self.at.map(|p| {
            let (right, up) = (p.x - corner.x + 0.0, p.y - corner.y + 0.0);
            format!(
                "{} from the left and {} from the bottom edge",
                measure::length(right, units),
                measure::length(up, units)
            )
        });
        let source = (!self.source.is_empty()).then(|| self.source.clone());
        let place: Vec<String> = [piece, at, source].into_iter().flatten().collect();
        Finding {
            file: file.to_owned(),
            place: if place.is_empty() {
                "the drawing".to_owned()
            } else {
                place.join(", ")
            },
            found: self.found.clone(),
            expected: self.expected.clone(),
            hint: self.hint.clone(),
        }
    }
}

/// Collects findings.
#[derive(Debug, Default)]
pub(crate) struct Findings(
    pub(crate) Vec<DrawingFinding>,
    /// The unit in which lengths are told.
    pub(crate) Units,
);

/// Where a finding belongs.
#[derive(Debug, Clone, Default)]
pub(crate) struct At {
    pub(crate) at: Option<Point>,
    pub(crate) piece: Option<String>,
    pub(crate) source: String,
}

impl Findings {
    pub(crate) fn error(&mut self, at: At, found: impl Into<String>, expected: &str, hint: &str) {
        self.add(Severity::Error, at, found.into(), expected, hint);
    }

    pub(crate) fn warning(&mut self, at: At, found: impl Into<String>, expected: &str, hint: &str) {
        self.add(Severity::Warning, at, found.into(), expected, hint);
    }

    fn add(&mut self, severity: Severity, at: At, found: String, expected: &str, hint: &str) {
        self.0.push(DrawingFinding {
            severity,
            at: at.at,
            piece: at.piece,
            source: at.source,
            found,
            expected: expected.to_owned(),
            hint: hint.to_owned(),
        });
    }
}
