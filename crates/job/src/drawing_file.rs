//! How a job file names a panel's drawing: names and shapes of the fields, nothing checked beyond their types.

use crate::BevelFile;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A drawing that a panel's pieces come from.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DrawingFile {
    /// The file, SVG or DXF; from the job file's folder.
    #[schemars(length(min = 1, max = 1000))]
    pub file: String,
    /// What the drawing is; default a cartoon.
    #[serde(default)]
    pub kind: DrawingKind,
    /// Millimetres in one unit of the drawing, whatever the drawing says: 1, 25.4, or 0.282222 (25.4 / 90) for older SVG files.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub unit_mm: Option<f64>,
    /// Width and height of the panel's outer edge as drawn, length units: what is read must measure that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<[f64; 2]>,
    /// Which part of the drawing is the panel, where the drawing holds several that do not hang together; else the one with
    /// lines on the border layer, or the only one that encloses something.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub part: Option<PartFile>,
    /// Ends and crossings nearer than this are joined, length units; default 0.5 mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub snap: Option<f64>,
    /// The came for every line that no other came names; default a face of 6 mm and a heart of 1.2 mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub came: Option<CameFile>,
    /// Other cames, each with the layers or classes it follows.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub cames: Vec<CameFile>,
    /// The came along the panel's outer edge; default as `came`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub border: Option<CameFile>,
    /// What the outer line of the drawing is; default the panel's outer edge.
    #[serde(default)]
    pub border_line: BorderLineFile,
    /// Where the panel is foiled: what foil takes on each side of a line, length units (0.375 mm is usual). Cames are then ignored.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub foil: Option<f64>,
    /// Which layers or classes carry what.
    #[serde(default)]
    pub layers: LayersFile,
    /// Width and height of the opening in the frame, length units; the drawing is held against it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opening: Option<[f64; 2]>,
    /// How much smaller than the opening the panel is, in width and in height, length units; default 3 mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub opening_clearance: Option<f64>,
    /// Whether the panel goes into a door; default no.
    #[serde(default)]
    pub door: bool,
    /// Code of the glass for pieces to which the drawing gives none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub glass: Option<String>,
    /// Length in which came is bought, length units; default 2 m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub came_length: Option<f64>,
    /// What each cut takes off a came, length units; default 2 mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub cutting_loss: Option<f64>,
    /// What a drawing does not say of pieces: bevels, one-lot groups, spares, other glass. Later entries win.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 20000))]
    pub details: Vec<DetailsFile>,
}

/// Which part of a drawing is the panel: all that is said here must hold of it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartFile {
    /// A layer, group or class that some of its lines lie on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 1000))]
    pub layer: Option<String>,
    /// Name or number of the page it lies on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 1000))]
    pub page: Option<String>,
    /// The first, second … of those that are left, in rows from the top and each row from the left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1))]
    pub frame: Option<u32>,
}

/// What a drawing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DrawingKind {
    /// Lead lines: the cells between them become pieces.
    #[default]
    Cartoon,
    /// Closed shapes: finished outlines as they are.
    Outlines,
}

/// A came profile.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CameFile {
    /// What it is called.
    #[serde(default)]
    #[schemars(length(max = 100))]
    pub name: String,
    /// Width of the face, length units.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub face: f64,
    /// Width of the heart, length units.
    #[schemars(range(min = 0.0))]
    pub heart: f64,
    /// Room between heart and glass on each side, length units; default so that neighbouring pieces stand 1.6 mm apart in all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub clearance: Option<f64>,
    /// Layers or classes of the lines it follows.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub layers: Vec<String>,
}

/// What the outer line of a drawing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BorderLineFile {
    /// The panel's outer edge: glass stands half of face and heart together off it.
    #[default]
    OuterEdge,
    /// The centre of the border came.
    Centre,
    /// The edge of the glass.
    Glass,
}

/// Names of layers or classes by what they carry; upper and lower case are alike. Layers called border, grain, ignore, text and
/// lead mean what they say without being named. What is left is a lead line, unless `lead` has names.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct LayersFile {
    /// Lead lines; with names here, lines that no list names are left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub lead: Vec<String>,
    /// Lines of the border came.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub border: Vec<String>,
    /// Texts with numbers and glasses; without names here every text is read.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub text: Vec<String>,
    /// Grain marks.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub grain: Vec<String>,
    /// What is left out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub ignore: Vec<String>,
}

/// What else is said of some pieces of a drawing: those with the numbers given and of the glass given, all where neither is.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DetailsFile {
    /// Numbers of the pieces.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 20000))]
    pub numbers: Vec<String>,
    /// Code of the pieces' glass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub glass: Option<String>,
    /// Code of the glass that they are cut from, whatever the drawing says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub instead: Option<String>,
    /// Direction of the grain, degrees counter-clockwise from the right as seen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -360.0, max = 360.0))]
    pub grain: Option<f64>,
    /// Bevel, all round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bevel: Option<BevelFile>,
    /// One-lot group.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub one_lot: Option<String>,
    /// How many to cut in addition for each panel made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spares: Option<u32>,
}
