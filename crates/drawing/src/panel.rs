//! What a finished panel comes to: its size over the border came, where each came runs, and how much glass the came covers.

use crate::arrange::Side;
use crate::came::Came;
use crate::cartoon::Cartoon;
use crate::settings::{BorderLine, CartoonSettings};
use cullet_geometry::Point;

/// Which came follows an edge of the arrangement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Followed<'a> {
    /// The came; none where the panel is foiled.
    pub came: Option<&'a Came>,
    /// Whether the edge is the panel's outer line.
    pub is_outer: bool,
}

/// What the came covers of the glass along one side of a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cover<'a> {
    /// The came.
    pub came: &'a Came,
    /// Whether it is the border came along the panel's outer edge.
    pub is_border: bool,
    /// How far its face reaches over the glass, mm.
    pub covered: f64,
}

/// The came along every edge of the cartoon's arrangement, in the edges' order. Cost O(edges).
#[must_use]
pub fn followed<'a>(cartoon: &Cartoon, settings: &'a CartoonSettings) -> Vec<Followed<'a>> {
    let beside = cartoon.arrangement.faces_beside();
    let edges = cartoon.arrangement.edges.iter().zip(beside);
    edges
        .map(|(edge, beside)| {
            let is_outer = beside.contains(&None);
            let came = match settings.cames.get(edge.came) {
                Some(used) if !is_outer => settings.foil.is_none().then_some(&used.came),
                _ => Some(&settings.border),
            };
            Followed { came, is_outer }
        })
        .collect()
}

/// What the cames cover along the sides of a cell, foil left out; `of` is [`followed`]. Empty for a cell that is not there.
///
/// A lead's face reaches over the glass by half the face less the inset, a border came on the panel's outer edge by
/// (F − H) / 2.
///
/// ```
/// use cullet_drawing::came::Came;
/// // 6 mm face, 1.2 mm heart, glasses 1.6 mm apart in all: the glass reaches 2.2 mm in.
/// assert!((Came::new("lead", 6.0, 1.2).covers() - 2.2).abs() < 1e-12);
/// // 12 mm border came with a 2 mm heart covers 5 mm.
/// assert_eq!(Came::new("border", 12.0, 2.0).border_covers(), 5.0);
/// ```
#[must_use]
pub fn covers<'a>(cartoon: &Cartoon, settings: &CartoonSettings, of: &[Followed<'a>], cell: usize) -> Vec<Cover<'a>> {
    let Some(face) = cartoon.arrangement.faces.get(cell) else {
        return vec![];
    };
    let cover = |side: &Side| {
        let Followed { came, is_outer } = of[side.edge];
        let came = came?;
        let by_border = is_outer && settings.border_line != BorderLine::Centre;
        Some(Cover {
            came,
            is_border: is_outer,
            covered: if by_border { came.border_covers() } else { came.covers() },
        })
    };
    face.sides.iter().filter_map(cover).collect()
}

/// Lower left and upper right corner of the panel over its border came, mm.
#[must_use]
pub fn over_all(cartoon: &Cartoon, settings: &CartoonSettings) -> (Point, Point) {
    // How far the border came reaches beyond the line drawn.
    let by = match settings.border_line {
        BorderLine::OuterEdge => 0.0,
        BorderLine::Centre => settings.border.face / 2.0,
        BorderLine::Glass => settings.border.border_inset(),
    };
    let (low, high) = cartoon.bounds;
    let corner = |p: Point, by: f64| Point {
        x: p.x + by,
        y: p.y + by,
    };
    (corner(low, -by), corner(high, by))
}
