//! What was drawn, whatever file it came from.

use cullet_geometry::Point;
use std::collections::{BTreeMap, BTreeSet};

/// A drawing: strokes and texts in millimetres, y up, in the file's order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Lines and curves.
    pub strokes: Vec<Stroke>,
    /// Texts.
    pub texts: Vec<Text>,
    /// What the file holds and the reader leaves out, in words with its place: "HATCH, line 1203", "image, line 14".
    pub unread: Vec<String>,
    /// What the file says besides what it draws.
    pub facts: FileFacts,
}

/// What a file says besides what it draws.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FileFacts {
    /// Names of the layers and groups, and of the classes of what is drawn; those that are empty or hidden too.
    pub layers: BTreeSet<String>,
    /// What the file holds and nobody sees, by the reason, in words ("hidden", "on the layer Defpoints"): how many lines and
    /// texts, and the line of the file that the first stands on.
    pub unseen: BTreeMap<String, (usize, u32)>,
    /// Which of the strokes are areas of colour without a line round them, by index.
    pub filled: BTreeSet<usize>,
    /// How long the file says that its unit is.
    pub scale: Scale,
    /// The pages that the file names, each with its lower left and upper right corner, mm.
    pub pages: Vec<Page>,
}

/// A page of a file that has several.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its name, else its number from 1.
    pub name: String,
    /// Lower left corner, mm.
    pub low: Point,
    /// Upper right corner, mm.
    pub high: Point,
}

/// How long a file's unit is.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Millimetres in one unit of the file, as it was read: in an SVG of the outermost `viewBox`, across.
    pub unit_mm: f64,
    /// What the file says of it.
    pub stated: Stated,
}

impl Default for Scale {
    fn default() -> Self {
        Self {
            unit_mm: 1.0,
            stated: Stated::Length,
        }
    }
}

/// What a file says of its unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stated {
    /// A length: mm, inches, points; or the one who reads it gave one.
    Length,
    /// Pixels alone, of which nobody knows how long they are. They are read as 96 to the inch (CSS Values 3).
    Pixels {
        /// How many the program that saved the file counts to the inch, where the file says which program that is.
        likely_per_inch: Option<u32>,
        /// What the file says of its size, in words: `width="400"`.
        found: String,
    },
}

/// One connected line: segments end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// Its segments; each starts where the one before ends.
    pub segments: Vec<Segment>,
    /// Whether the last segment ends where the first begins and the shape was drawn as closed.
    pub closed: bool,
    /// Layer (DXF), or the labels or else ids of the groups around it from outside in, parted by `/` (SVG).
    pub layer: String,
    /// Classes (SVG), those of the groups around it first; empty for DXF.
    pub classes: Vec<String>,
    /// Where it stands in the file.
    pub place: Place,
}

/// One piece of a stroke.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Segment {
    /// A straight line.
    Line {
        /// Start, mm.
        from: Point,
        /// End, mm.
        to: Point,
    },
    /// Part of a circle or an ellipse.
    Arc {
        /// Centre, mm.
        centre: Point,
        /// Half axes before rotation, mm; equal for a circle.
        radii: [f64; 2],
        /// Direction of the first half axis, degrees.
        rotation_deg: f64,
        /// Where it starts, degrees in the ellipse's own parameter from the first half axis.
        start_deg: f64,
        /// How far it goes, degrees in the same parameter; positive counter-clockwise, up to ±360.
        sweep_deg: f64,
    },
    /// A cubic Bézier curve (quadratics and splines are turned into these exactly, rational ones within the reader's bound).
    Cubic {
        /// Start, mm.
        from: Point,
        /// First handle, mm.
        a: Point,
        /// Second handle, mm.
        b: Point,
        /// End, mm.
        to: Point,
    },
}

/// A text.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Where its anchor stands, mm.
    pub at: Point,
    /// What it says; lines parted by `\n`.
    pub content: String,
    /// Its layer, as [`Stroke::layer`].
    pub layer: String,
    /// Its classes.
    pub classes: Vec<String>,
    /// Where it stands in the file.
    pub place: Place,
}

/// A place in a file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Place {
    /// Line in the file, from 1.
    pub line: u32,
    /// What it is called there: an element with its id, an entity with its handle.
    pub what: String,
}

impl std::fmt::Display for Place {
    /// `line 14, path "lead"`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "line {}, {}", self.line, self.what)
    }
}
