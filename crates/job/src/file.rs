//! The job file as it is written: names and shapes of its fields, nothing checked beyond their types.

use crate::{ChoiceFile, DrawingFile, ShapeFile, format};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A job file. Lengths are in `units`, areas of prices say their own unit, angles are degrees counter-clockwise as seen
/// on the drawing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JobFile {
    /// Where the schema is that an editor holds this file against; the program does not look at it.
    #[serde(rename = "$schema", default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(max = 1000))]
    pub schema: Option<String>,
    /// The format of this file: 2. A file without it is of format 1, of which two names were others; it is still read.
    #[serde(default = "format::present")]
    #[schemars(range(min = 2, max = 2))]
    pub format: u32,
    /// What the job is called.
    #[schemars(length(min = 1, max = 200))]
    pub name: String,
    /// Unit of every length in this file.
    pub units: Units,
    /// Which way y runs in the outlines of this file: `down` where they come from SVG, `up` where they were drawn on paper.
    pub y: YDirection,
    /// Shop settings for this job.
    #[serde(default)]
    pub settings: Settings,
    /// The glasses used.
    #[schemars(length(min = 1, max = 500))]
    pub glasses: Vec<GlassFile>,
    /// The panels ordered.
    #[schemars(length(min = 1, max = 1000))]
    pub panels: Vec<PanelFile>,
    /// What it may be compared with: other glass, sheets, lead or grind allowance.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 50))]
    pub choices: Vec<ChoiceFile>,
}

/// Unit of length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
pub enum Units {
    /// Millimetres.
    #[default]
    #[serde(rename = "mm")]
    Millimetres,
    /// Inches of exactly 25.4 mm.
    #[serde(rename = "in")]
    Inches,
}

impl Units {
    /// Millimetres in one.
    #[must_use]
    pub fn mm(self) -> f64 {
        match self {
            Self::Millimetres => 1.0,
            Self::Inches => 25.4,
        }
    }

    /// As files write it.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Millimetres => "mm",
            Self::Inches => "in",
        }
    }
}

/// The unit that a file writes so.
pub(crate) fn one_of(code: Option<&str>) -> Option<Units> {
    [Units::Millimetres, Units::Inches]
        .into_iter()
        .find(|units| Some(units.code()) == code)
}

/// Which way y runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum YDirection {
    /// Upwards.
    Up,
    /// Downwards, as in SVG.
    Down,
}

/// Shop settings; what is left out takes the trade's usual value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// What a score takes from the glass between two pieces, length units; default 0 (a score removes no glass).
    #[schemars(range(min = 0.0))]
    pub score_kerf: f64,
    /// Furthest a flattened curve may lie outside the drawn one, length units; default 0.05 mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub curve_tolerance: Option<f64>,
    /// Keep rule: an offcut is kept when a rectangle this wide both ways fits inside, length units; default 150 mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub keep: Option<f64>,
    /// Share of its price at which a returned or racked offcut is credited, 0 to 1; default 0.5.
    #[schemars(range(min = 0.0, max = 1.0))]
    pub credit_rate: f64,
    /// Currency shown beside money, no conversion; default none.
    #[schemars(length(max = 20))]
    pub currency: String,
    /// What the workshop can break out.
    #[serde(skip_serializing_if = "BreakingFile::is_usual")]
    pub breaking: BreakingFile,
    /// How sheets are laid out where a glass does not say; default the cheaper of both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layout: Option<LayoutFile>,
    /// Whether spares are cut where the glass pulled anyway has room for them, or always; default `if-they-fit`.
    #[serde(skip_serializing_if = "SparesFile::is_usual")]
    pub spares: SparesFile,
}

/// When spares are cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SparesFile {
    /// Where the glass that is pulled for the panels has room for them: no sheet is pulled for a spare.
    #[default]
    IfTheyFit,
    /// As many as asked for, even where they take another sheet.
    Always,
}

impl SparesFile {
    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
    fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

/// What the workshop can break out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct BreakingFile {
    /// Most that a score may change its direction over any stretch shorter than `bend_length`, degrees; default 30. A shop that
    /// opens corners by thumb may set more. It is also the sharpest inside corner that counts as a curve.
    #[schemars(range(min = 1.0, max = 80.0))]
    pub sharpest_turn: f64,
    /// The stretch of a score over which `sharpest_turn` is measured, length units; default 25 mm. Along the outline of the
    /// one piece that is being opened a score may bend more sharply, down to `tightest_curve`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub bend_length: Option<f64>,
    /// Radius of the tightest curve that can be broken along the outline of a piece, length units; default 4 mm. A tighter
    /// rounding is a corner.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub tightest_curve: Option<f64>,
    /// By how much the two sides of a break must be clear of each other as they are pulled apart, degrees on either side;
    /// default 5.
    #[schemars(range(min = 0.0, max = 45.0))]
    pub pull_margin: f64,
}

impl Default for BreakingFile {
    fn default() -> Self {
        Self {
            sharpest_turn: 30.0,
            bend_length: None,
            tightest_curve: None,
            pull_margin: 5.0,
        }
    }
}

impl BreakingFile {
    fn is_usual(&self) -> bool {
        *self == Self::default()
    }
}

/// How sheets are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LayoutFile {
    /// Straight scores from edge to edge, neighbours share a score; curves are the last breaks.
    StraightRun,
    /// Each piece its own outline score, neighbours a narrowest strip apart.
    Shaped,
    /// Both are tried, the cheaper one is kept.
    #[default]
    Either,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            score_kerf: 0.0,
            curve_tolerance: None,
            keep: None,
            credit_rate: 0.5,
            currency: String::new(),
            breaking: BreakingFile::default(),
            layout: None,
            spares: SparesFile::default(),
        }
    }
}

/// A kind of glass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GlassFile {
    /// Short code that pieces and stock use.
    #[schemars(length(min = 1, max = 100))]
    pub code: String,
    /// What it is called.
    #[schemars(length(min = 1, max = 200))]
    pub name: String,
    /// Thickness, length units.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub thickness: f64,
    /// Texture in words: plain, reeded, streaky …
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub texture: String,
    /// Whether it has a grain.
    pub grain: GrainFile,
    /// How far a piece's grain may be off, degrees either way; default 0, only with a grain.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 45.0))]
    pub grain_tolerance: f64,
    /// Whether a piece may be cut turned over (never for a bevelled piece).
    pub may_turn_over: bool,
    /// Which face is scored.
    pub scored_face: FaceFile,
    /// Grinding allowance on every edge, length units.
    #[schemars(range(min = 0.0))]
    pub grind_allowance: f64,
    /// Narrowest strip that breaks out, length units; default the larger of twice the thickness and 6 mm. 0 where neighbours
    /// may touch: only for pieces with straight edges that share their scores.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub narrowest_strip: Option<f64>,
    /// Strip to take off a sheet's rough edges, length units; default the narrowest strip.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub edge_trim: Option<f64>,
    /// How sheets of it are laid out; default as the job's settings say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub layout: Option<LayoutFile>,
    /// Price of one `price_unit` of it.
    #[schemars(range(min = 0.0))]
    pub price: f64,
    /// What the price is for.
    pub price_unit: PriceUnit,
}

/// Grain of a glass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GrainFile {
    /// No grain: any direction will do.
    None,
    /// Reeds and the like: 0° or 180°.
    TwoWays,
    /// Shaded from one side to the other: one direction only.
    OneWay,
}

/// A face of the glass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FaceFile {
    /// The face that is looked at: the layout on the table is as seen from the front.
    Show,
    /// The back: the layout on the table is the mirror image of the front view.
    Back,
}

/// What a price is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum PriceUnit {
    /// A square metre.
    #[serde(rename = "m2")]
    SquareMetre,
    /// A square foot (0.092 903 04 m²).
    #[serde(rename = "ft2")]
    SquareFoot,
}

/// One leaded panel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PanelFile {
    /// Short id.
    #[schemars(length(min = 1, max = 100))]
    pub id: String,
    /// What it is called.
    #[serde(default)]
    #[schemars(length(max = 200))]
    pub name: String,
    /// How many are made as drawn.
    pub quantity: u32,
    /// How many more are made as its mirror image (left and right of a pair).
    #[serde(default)]
    pub mirrored_quantity: u32,
    /// The drawing its pieces come from, instead of `pieces`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawing: Option<DrawingFile>,
    /// Its pieces, where no drawing is named.
    #[serde(default)]
    #[schemars(length(max = 20000))]
    pub pieces: Vec<PieceFile>,
}

/// One piece of a panel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PieceFile {
    /// Its number in the panel, as written on the cartoon.
    #[schemars(length(min = 1, max = 100))]
    pub number: String,
    /// Its finished outline (what goes into the came), where it lies in the panel: corner points, or SVG path data. Or give its
    /// shape.
    #[serde(default, skip_serializing_if = "OutlineFile::is_none")]
    pub outline: OutlineFile,
    /// Its finished shape with its sizes, instead of an outline; it then has no place in its panel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shape: Option<ShapeFile>,
    /// How many each panel has; default 1.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    #[schemars(range(min = 1))]
    pub quantity: u32,
    /// Code of its glass.
    #[schemars(length(min = 1, max = 100))]
    pub glass: String,
    /// Direction of its grain, degrees counter-clockwise from the right as seen; default 90 (upright). Only with a grain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = -360.0, max = 360.0))]
    pub grain: Option<f64>,
    /// Its bevel, all round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bevel: Option<BevelFile>,
    /// All pieces with the same group name come from one lot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub one_lot: Option<String>,
    /// How many to cut in addition for each panel made, against breakage; see `spares` in the settings.
    #[serde(default)]
    pub spares: u32,
}

/// A finished outline: corner points or SVG path data.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum OutlineFile {
    /// SVG path data, one closed subpath (W3C SVG 2, chapter 9).
    Path(#[schemars(length(min = 1, max = 1000000))] String),
    /// Corner points `[x, y]` in order.
    Points(#[schemars(length(max = 5000))] Vec<[f64; 2]>),
}

impl Default for OutlineFile {
    /// None.
    fn default() -> Self {
        Self::Points(vec![])
    }
}

impl OutlineFile {
    pub(crate) fn is_none(&self) -> bool {
        *self == Self::default()
    }
}

fn one() -> u32 {
    1
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
fn is_one(count: &u32) -> bool {
    *count == 1
}

/// A bevel all round a piece.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BevelFile {
    /// Width on the face, length units.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub width: f64,
    /// Thickness left at the edge, length units.
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub nose: f64,
}
