//! Pieces by their shape and sizes instead of an outline: a circle of 80, an arch of 300 by 600.
//!
//! A shape is drawn in its own frame, the lower left of its box at the origin, standing as it is named: flat sides down,
//! arches up. Curves are drawn as arcs of SVG path data, so that they are flattened as drawn outlines are. What is drawn takes
//! the place of the shape ([`draw_all`]): nothing behind it knows shapes, and a plan carries outlines.

mod draw;
mod path;
mod sizes;

use crate::{JobFile, PieceFile, Report, YDirection};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;

/// A piece's finished shape and its sizes; which sizes a shape has stands at its `kind`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShapeFile {
    /// Which shape; each says which sizes it has.
    pub kind: ShapeKind,
    /// Width, length units; of a triangle or trapezium the side at the bottom, of a diamond from corner to corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub width: Option<f64>,
    /// Overall height, length units; of a diamond from corner to corner.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub height: Option<f64>,
    /// Diameter of a circle, or of the circle through the corners of a polygon, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub diameter: Option<f64>,
    /// Radius of a quarter circle or of rounded corners, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub radius: Option<f64>,
    /// Height of the curve of a segmental or pointed arch above where it springs from, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub rise: Option<f64>,
    /// Side at the top of a trapezium, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub top: Option<f64>,
    /// How far the tip of a triangle, or the left end of a trapezium's top, lies to the right of the left end of the bottom,
    /// length units; less than 0 to the left of it; default in the middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<f64>,
    /// Left side of a triangle, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub left: Option<f64>,
    /// Right side of a triangle, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub right: Option<f64>,
    /// Length of each side of a diamond or polygon, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub side: Option<f64>,
    /// How many sides a polygon has.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 3, max = 100))]
    pub sides: Option<u32>,
    /// Angle at the top and the bottom corner of a diamond, degrees.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1.0, max = 179.0))]
    pub angle: Option<f64>,
    /// What is clipped off each side at a corner of a rectangle, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub clip: Option<f64>,
    /// Which corners of a rectangle are clipped or rounded; default all four.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 4))]
    pub corners: Vec<CornerFile>,
}

/// Shapes that have a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ShapeKind {
    /// width, height
    Rectangle,
    /// A rectangle with corners cut off at 45°: width, height, clip, perhaps corners
    ClippedRectangle,
    /// A rectangle with round corners: width, height, radius, perhaps corners
    RoundedRectangle,
    /// diameter
    Circle,
    /// width, height
    Ellipse,
    /// Half a circle on its flat side: width
    HalfRound,
    /// A quarter of a circle, its corner at the lower left: radius
    QuarterCircle,
    /// A rectangle under half a circle: width, overall height
    RoundArch,
    /// A rectangle under a flat curve: width, overall height, rise
    SegmentalArch,
    /// A rectangle under two curves that meet in a point: width, overall height, rise
    PointedArch,
    /// Four equal sides on a corner: width, height; or side, angle at the top
    Diamond,
    /// width, height, perhaps offset of the tip; or width, left, right
    Triangle,
    /// Top and bottom alike in direction: width of the bottom, top, height, perhaps offset of the top
    Trapezium,
    /// A regular polygon on one of its sides: sides, and side or diameter
    Polygon,
}

impl ShapeKind {
    /// Every shape there is.
    pub const ALL: [Self; 14] = [
        Self::Rectangle,
        Self::ClippedRectangle,
        Self::RoundedRectangle,
        Self::Circle,
        Self::Ellipse,
        Self::HalfRound,
        Self::QuarterCircle,
        Self::RoundArch,
        Self::SegmentalArch,
        Self::PointedArch,
        Self::Diamond,
        Self::Triangle,
        Self::Trapezium,
        Self::Polygon,
    ];

    /// Its name in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Rectangle => "rectangle",
            Self::ClippedRectangle => "clipped-rectangle",
            Self::RoundedRectangle => "rounded-rectangle",
            Self::Circle => "circle",
            Self::Ellipse => "ellipse",
            Self::HalfRound => "half-round",
            Self::QuarterCircle => "quarter-circle",
            Self::RoundArch => "round-arch",
            Self::SegmentalArch => "segmental-arch",
            Self::PointedArch => "pointed-arch",
            Self::Diamond => "diamond",
            Self::Triangle => "triangle",
            Self::Trapezium => "trapezium",
            Self::Polygon => "polygon",
        }
    }

    /// The sizes it has, in words.
    #[must_use]
    pub fn sizes(self) -> &'static str {
        match self {
            Self::Rectangle | Self::Ellipse => "width and height",
            Self::ClippedRectangle => "width, height and clip, perhaps corners",
            Self::RoundedRectangle => "width, height and radius, perhaps corners",
            Self::Circle => "diameter",
            Self::HalfRound => "width",
            Self::QuarterCircle => "radius",
            Self::RoundArch => "width and overall height",
            Self::SegmentalArch | Self::PointedArch => "width, overall height and rise of the curve",
            Self::Diamond => "width and height, or side and angle at the top",
            Self::Triangle => "width and height, perhaps offset of the tip; or width, left and right",
            Self::Trapezium => "width, top and height, perhaps offset of the top",
            Self::Polygon => "sides (how many), and side or diameter",
        }
    }
}

impl fmt::Display for ShapeKind {
    /// As it is said: `half round`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name().replace('-', " "))
    }
}

/// A corner of a rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CornerFile {
    /// Upper left.
    TopLeft,
    /// Upper right.
    TopRight,
    /// Lower left.
    BottomLeft,
    /// Lower right.
    BottomRight,
}

/// Puts the outline of every piece that has a shape in the shape's place, `named` says what a panel or piece is called in
/// messages. A piece whose shape cannot be drawn keeps it, and `report` says why.
pub(crate) fn draw_all(job: &mut JobFile, report: &mut Report, named: impl Fn(&str, &str) -> String) {
    for panel in &mut job.panels {
        for piece in &mut panel.pieces {
            let place = format!("{}, {}", named("panel", &panel.id), named("piece", &piece.number));
            draw(piece, job.y, report, &place);
        }
    }
}

fn draw(piece: &mut PieceFile, y: YDirection, report: &mut Report, place: &str) {
    let has_outline = !piece.outline.is_none();
    match &piece.shape {
        None if has_outline => {}
        None => report.add(
            format!("{place}, field \"outline\""),
            "neither an outline nor a shape",
            "one of the two",
            "Give the finished outline as points or path data, or a shape with its sizes.",
        ),
        Some(_) if has_outline => report.add(
            format!("{place}, field \"shape\""),
            "a shape as well as an outline",
            "one of the two",
            "Take one of the two out.",
        ),
        Some(shape) => match draw::outline(shape, y) {
            Ok(outline) => {
                piece.outline = outline;
                piece.shape = None;
            }
            Err(troubles) => {
                for trouble in troubles {
                    let [found, expected, hint] = trouble.words;
                    report.add(format!("{place}, field \"{}\"", trouble.field), found, expected, hint);
                }
            }
        },
    }
}
