//! Drawn outlines to outlines in millimetres, and what is wrong with them in the drawer's words.

use crate::{OutlineFile, Report};
use cullet_geometry::path::{PathError, YAxis, flatten};
use cullet_geometry::{Outline, OutlineError, Point};

/// The most corners a piece may have once its curves are flattened: hundreds are usual, and the time to grow a jagged
/// outline rises with their square or worse.
const MOST_CORNERS: usize = 5_000;

/// How the numbers of a file are meant: millimetres to one unit, and which way y runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Millimetres in one unit: 1 or 25.4.
    pub unit_mm: f64,
    /// Which way y runs.
    pub y: YAxis,
}

impl Frame {
    fn up(self) -> f64 {
        match self.y {
            YAxis::Up => 1.0,
            YAxis::Down => -1.0,
        }
    }

    /// Corner points as written, to an outline; exact but for the one multiplication by the unit.
    ///
    /// # Errors
    /// See [`Outline::new`].
    pub fn outline_of_points(self, points: &[[f64; 2]]) -> Result<Outline, OutlineError> {
        let place = |[x, y]: &[f64; 2]| Point {
            x: x * self.unit_mm,
            y: y * self.unit_mm * self.up(),
        };
        Outline::new(points.iter().map(place).collect())
    }

    /// Found, expected and hint for an outline that is none, places given as they stand in the file.
    #[must_use]
    pub fn explain(self, error: &OutlineError) -> [String; 3] {
        let shape = "a simple closed shape".to_owned();
        match error {
            OutlineError::TooFewPoints { found } => [
                format!("an outline of {found} different points"),
                "at least 3".to_owned(),
                "Draw the piece's outline.".to_owned(),
            ],
            OutlineError::NotFinite { index, .. } => [
                format!("an outline whose point {} is not a number", index + 1),
                "numbers".to_owned(),
                "Put the right coordinates in.".to_owned(),
            ],
            OutlineError::TooFar { index, reach } => [
                format!(
                    "an outline whose point {} lies {:.0} m from the origin",
                    index + 1,
                    reach / 1e3
                ),
                "at most 100 m".to_owned(),
                "Check the unit, and move the drawing nearer to its origin.".to_owned(),
            ],
            OutlineError::SelfCrossing { x, y } => [
                format!(
                    "an outline whose sides cross or touch at ({:.3}, {:.3})",
                    x / self.unit_mm,
                    y / self.unit_mm * self.up()
                ),
                shape,
                "Draw it again as one closed line that does not cross or touch itself.".to_owned(),
            ],
            OutlineError::Empty => [
                "an outline that encloses no area".to_owned(),
                shape,
                "Draw the piece's outline; its corners lie on one line.".to_owned(),
            ],
            OutlineError::TooManyPoints { found, limit } => [
                format!("an outline of {found} points"),
                format!("at most {limit}"),
                "Draw it with fewer points, or with curves.".to_owned(),
            ],
        }
    }

    /// The same for path data.
    #[must_use]
    pub fn explain_path(self, error: &PathError) -> [String; 3] {
        match error {
            PathError::Syntax { reason, position } => [
                format!("path data that cannot be read at character {position} ({reason})"),
                "SVG path data (W3C SVG 2, chapter 9)".to_owned(),
                "Export the outline again, or write it as points.".to_owned(),
            ],
            PathError::Parts { found } => [
                format!("path data of {found} closed parts"),
                "exactly 1".to_owned(),
                "A piece is one closed line without holes: draw one, and make separate pieces of the rest.".to_owned(),
            ],
            PathError::Open { gap_mm } => [
                format!("an open line, its end {:.3} from its start", gap_mm / self.unit_mm),
                "a closed line".to_owned(),
                "Close the line, or end it with Z if a straight side is meant there.".to_owned(),
            ],
            PathError::Setting { name, value } => [
                format!("a {name} of {value}"),
                "a positive number".to_owned(),
                "Correct the file's settings.".to_owned(),
            ],
            PathError::Outline(error) => self.explain(error),
        }
    }
}

/// The finished outline of a piece in mm, y up; curves flattened outwards.
pub(crate) fn read(
    report: &mut Report,
    place: &str,
    drawn: &OutlineFile,
    frame: Frame,
    tolerance: f64,
) -> Option<Outline> {
    let read = match drawn {
        OutlineFile::Points(points) => frame.outline_of_points(points).map_err(PathError::from),
        OutlineFile::Path(data) => flatten(data, frame.unit_mm, frame.y, tolerance),
    };
    match read {
        Ok(outline) if outline.points().len() > MOST_CORNERS => {
            let many = OutlineError::TooManyPoints {
                found: outline.points().len(),
                limit: MOST_CORNERS,
            };
            let [found, expected, hint] = frame.explain(&many);
            report.add(place, found, expected, hint);
            None
        }
        Ok(outline) => Some(outline),
        Err(error) => {
            let [found, expected, hint] = frame.explain_path(&error);
            report.add(place, found, expected, hint);
            None
        }
    }
}
