//! What the leads take: from a cell between lead lines to the finished outline of its glass.
//!
//! Each side of a cell is moved inwards by its own distance ([`Came`]): lines are shifted, arcs made smaller or larger about
//! their centres, and all of it is cut where it meets (`trim`), so that a finished outline is lines and arcs again, flattened
//! once by whoever needs points. Where even that does not give a simple outline the space is worked out with polygons, to
//! within [`POLYGON_MM`].
//!
//! # Why not with polygons in the first place
//! Strips along chords and discs of chords at their ends do not meet in one line: what is left between them are teeth of up
//! to 0.01 mm, each with corners of 270° that nobody drew. They show where neighbouring moved sides do not meet near
//! their corner, as in the cusp beside a tangent, where a dozen short arcs of a spline vanish before two of them meet.

mod trim;

use crate::curve::{Curve, length, point};
use cullet_geometry::{Outline, Point, boolean};
use geo::Simplify as _;
use trim::Corners;

/// A full 1/16 in between neighbouring glasses in all (C. Whall, *Stained Glass Work*, 1905), mm.
pub const BETWEEN_GLASSES_MM: f64 = 1.6;
/// What copper foil takes on each side of a line, mm (pattern shears of 0.75 mm for foil).
pub const FOIL_MM: f64 = 0.375;
/// How far an outline worked out with polygons may lie from the exact one, mm. With [`crate::smooth::SMOOTH_MM`] this stays
/// within the ±0.02 mm that finished outlines are promised to.
pub const POLYGON_MM: f64 = 0.01;

/// A smaller space between leads is none, mm².
const LEAST_SPACE_MM2: f64 = 1.0;

/// A came profile.
#[derive(Debug, Clone, PartialEq)]
pub struct Came {
    /// What it is called.
    pub name: String,
    /// Width of the face, mm.
    pub face: f64,
    /// Width of the heart, mm.
    pub heart: f64,
    /// Room between heart and glass on each side, mm.
    pub clearance: f64,
}

impl Came {
    /// A came with the trade's usual clearance: neighbouring glasses stand [`BETWEEN_GLASSES_MM`] apart, or the heart's width
    /// where that is more.
    #[must_use]
    pub fn new(name: &str, face: f64, heart: f64) -> Self {
        Self {
            name: name.to_owned(),
            face,
            heart,
            clearance: ((BETWEEN_GLASSES_MM - heart) / 2.0).max(0.0),
        }
    }

    /// From a lead line's centre to the glass, mm: half the heart and the clearance.
    #[must_use]
    pub fn inset(&self) -> f64 {
        self.heart / 2.0 + self.clearance
    }

    /// How far its face reaches over the glass on each side, mm.
    #[must_use]
    pub fn covers(&self) -> f64 {
        self.face / 2.0 - self.inset()
    }

    /// How far its face reaches over the glass, mm, where this is the border came along the panel's outer edge: (F − H) / 2.
    #[must_use]
    pub fn border_covers(&self) -> f64 {
        (self.face - self.heart) / 2.0
    }

    /// From the panel's outer edge to the glass, mm, where this is the border came: (F + H) / 2 (finished-size tutorial).
    ///
    /// ```
    /// use cullet_drawing::came::Came;
    /// // 200 × 300 mm with 12, 10 and 8 mm came of 2 mm heart: glass of 186 × 286, 188 × 288, 190 × 290 mm.
    /// let glass = |face| 200.0 - 2.0 * Came::new("border", face, 2.0).border_inset();
    /// assert_eq!([12.0, 10.0, 8.0].map(glass), [186.0, 188.0, 190.0]);
    /// ```
    #[must_use]
    pub fn border_inset(&self) -> f64 {
        f64::midpoint(self.face, self.heart)
    }
}

/// One side of a cell, the glass on its left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellSide {
    /// Its course.
    pub curve: Curve,
    /// How far the glass stands off it, mm.
    pub inset: f64,
}

/// The finished outline in a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Space {
    /// Its curves, counter-clockwise.
    Glass(Vec<Curve>),
    /// The leads leave several spaces; the largest, and how many there are.
    Split(Vec<Curve>, usize),
    /// The leads leave nothing.
    None,
}

/// The space that the leads leave in a cell, given by its sides counter-clockwise. Exact for lines and arcs, see the module.
///
/// `beyond` are lines that are no sides of it and whose came is so much wider that it reaches in, as the border came reaches
/// into a circle that touches the panel's edge; which way they run does not matter.
#[must_use]
pub fn finished(sides: &[CellSide], beyond: &[CellSide]) -> Space {
    let sides = merged(sides);
    let exact = WAYS
        .into_iter()
        .find_map(|(corners, more)| by_curves(&sides, beyond, corners, more));
    exact.unwrap_or_else(|| by_polygons(&sides, beyond))
}

/// Corners and a little more inset, mm, tried one after the other: where two offsets lie on each other, a little more parts
/// them.
const WAYS: [(Corners, f64); 5] = [
    (Corners::Mitred, 0.0),
    (Corners::Round, 0.0),
    (Corners::Round, 1e-4),
    (Corners::Mitred, 7e-4),
    (Corners::Round, 2e-3),
];

/// The space by the trimmed offsets of the sides; `None` where those do not hold.
fn by_curves(sides: &[CellSide], beyond: &[CellSide], corners: Corners, more: f64) -> Option<Space> {
    let wider = |sides: &[CellSide]| -> Vec<CellSide> {
        let inset = |side: &CellSide| if side.inset > 0.0 { side.inset + more } else { 0.0 };
        let wide = sides.iter().map(|side| CellSide {
            inset: inset(side),
            ..*side
        });
        wide.collect()
    };
    let (sides, beyond) = (wider(sides), wider(beyond));
    let mut rings = trim::spaces(&sides, &beyond, corners)?;
    rings.retain(|ring| trim::twice_area(ring) > 2.0 * LEAST_SPACE_MM2);
    if !rings.iter().all(|ring| holds(&sides, &beyond, ring)) {
        return None;
    }
    let count = rings.len();
    Some(match rings.into_iter().next() {
        None => Space::None,
        Some(largest) if count == 1 => Space::Glass(largest),
        Some(largest) => Space::Split(largest, count),
    })
}

/// Sides that go on along the same line or circle as one, up to half a circle.
fn merged(sides: &[CellSide]) -> Vec<CellSide> {
    let mut merged: Vec<CellSide> = vec![];
    for side in sides {
        let both = merged.last().and_then(|last| joined(last, side));
        if both.is_some() {
            merged.pop();
        }
        merged.push(both.unwrap_or(*side));
    }
    while merged.len() > 2 {
        let Some(both) = joined(&merged[merged.len() - 1], &merged[0]) else {
            break;
        };
        merged[0] = both;
        merged.pop();
    }
    merged
}

fn joined(a: &CellSide, b: &CellSide) -> Option<CellSide> {
    let curve = trim::joined(&a.curve, &b.curve).filter(|_| a.inset == b.inset)?;
    Some(CellSide { curve, inset: a.inset })
}

/// Whether the curves are a simple outline that stands off every side as it should, to within half the promised bound.
fn holds(sides: &[CellSide], beyond: &[CellSide], curves: &[Curve]) -> bool {
    let Some(outline) = outline(curves, POLYGON_MM / 2.0) else {
        return false;
    };
    let cell: Vec<Point> = sides.iter().flat_map(|side| side.curve.chords(POLYGON_MM)).collect();
    let twice: f64 = curves.iter().map(Curve::twice_area).sum();
    let probes: Vec<Point> = curves.iter().flat_map(|c| [c.at(0.0), c.at(0.5)]).collect();
    twice > 0.0
        && outline.area() > 0.0
        && probes.iter().all(|p| {
            let on_it = sides.iter().any(|side| side.curve.distance(*p) < POLYGON_MM);
            (on_it || crate::arrange::is_inside(&cell, *p))
                && sides
                    .iter()
                    .chain(beyond)
                    .all(|side| side.curve.distance(*p) > side.inset - POLYGON_MM)
        })
}

/// The polygon of closed curves, its chords within `tolerance` mm; `None` where it is not simple.
#[must_use]
pub fn outline(curves: &[Curve], tolerance: f64) -> Option<Outline> {
    Outline::new(curves.iter().flat_map(|curve| curve.chords(tolerance)).collect()).ok()
}

/// The cell less a strip along each side and a disc at each corner; the last resort.
fn by_polygons(sides: &[CellSide], beyond: &[CellSide]) -> Space {
    let flat: Vec<Curve> = sides.iter().map(|side| side.curve).collect();
    let Some(cell) = outline(&flat, POLYGON_MM / 4.0) else {
        return Space::None;
    };
    let mut taken = vec![];
    // Of a line beyond both sides count.
    let back = beyond.iter().map(|side| CellSide {
        curve: side.curve.reversed(),
        ..*side
    });
    let all = sides.iter().chain(beyond).copied().chain(back);
    for side in all.filter(|side| side.inset > 0.0) {
        let mut points = vec![side.curve.at(0.0)];
        points.extend(side.curve.chords(POLYGON_MM / 4.0));
        for pair in points.windows(2) {
            let along = (pair[1] - pair[0]) / length(pair[1] - pair[0]);
            let off = point(-along.y, along.x) * side.inset;
            taken.extend(Outline::new(vec![pair[0], pair[1], pair[1] + off, pair[0] + off]).ok());
            taken.extend(disc(pair[1], side.inset));
        }
        taken.extend(disc(points[0], side.inset));
    }
    let mut left = boolean::difference(&cell, &taken);
    left.retain(|region| region.area() > LEAST_SPACE_MM2 && region.holes.is_empty());
    let count = left.len();
    let Some(largest) = left.into_iter().next() else {
        return Space::None;
    };
    // The teeth between strips and discs are smaller than this.
    let smooth = largest.outer.to_polygon().simplify(POLYGON_MM / 2.0);
    let lines = smooth.exterior().lines();
    let curves = lines
        .map(|l| Curve::line(point(l.start.x, l.start.y), point(l.end.x, l.end.y)))
        .collect();
    if count == 1 {
        Space::Glass(curves)
    } else {
        Space::Split(curves, count)
    }
}

fn disc(centre: Point, radius: f64) -> Option<Outline> {
    Outline::new(Curve::arc(centre, radius, 0.0, 360.0).chords(POLYGON_MM / 4.0)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The last resort agrees with the trimmed offsets, and has no teeth.
    #[test]
    fn polygons_agree_with_curves() {
        let (o, r) = (point(0.0, 0.0), point(100.0, 0.0));
        // Between a line and an arc that springs from it, closed by another line.
        let arc = Curve::arc(point(0.0, 100.0), 100.0, 0.0, -90.0);
        let curves = [Curve::line(o, r), Curve::line(r, point(100.0, 100.0)), arc];
        let sides = curves.map(|curve| CellSide { curve, inset: 0.8 });
        let area = |space: &Space| match space {
            Space::Glass(curves) => curves.iter().map(Curve::twice_area).sum::<f64>() / 2.0,
            _ => 0.0,
        };
        let (exact, coarse) = (finished(&sides, &[]), by_polygons(&sides, &[]));
        assert!(
            (area(&exact) - area(&coarse)).abs() < 300.0 * POLYGON_MM,
            "{} {}",
            area(&exact),
            area(&coarse)
        );
        let Space::Glass(curves) = coarse else {
            panic!("{coarse:?}");
        };
        let turns_back = curves.windows(2).filter(|pair| {
            let (into, out) = (pair[0].direction(1.0), pair[1].direction(0.0));
            crate::curve::cross(into, out) < -0.2
        });
        assert_eq!(turns_back.count(), 0);
    }
}
