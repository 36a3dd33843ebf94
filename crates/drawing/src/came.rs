//! What the leads take: from a cell between lead lines to the finished outline of its glass.
//!
//! Each side of a cell is moved inwards by its own distance ([`Came`]): lines are shifted, arcs made smaller or larger about
//! their centres, and corners met again. Sides that vanish on the way are left out. Where that does not give a simple
//! outline (a neck that closes, a bend tighter than the inset) the space is worked out with polygons instead, to within
//! [`POLYGON_MM`].

use crate::curve::{Curve, cross, dot, length, point};
use cullet_geometry::{Outline, Point, boolean};
use std::f64::consts::PI;

/// A full 1/16 in between neighbouring glasses in all (C. Whall, *Stained Glass Work*, 1905), mm.
pub const BETWEEN_GLASSES_MM: f64 = 1.6;
/// What copper foil takes on each side of a line, mm (pattern shears of 0.75 mm for foil).
pub const FOIL_MM: f64 = 0.375;
/// How far an outline worked out with polygons may lie from the exact one, mm. With [`crate::smooth::SMOOTH_MM`] this stays
/// within the ±0.02 mm that finished outlines are promised to.
pub const POLYGON_MM: f64 = 0.01;

/// A lead section.
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
#[must_use]
pub fn finished(sides: &[CellSide]) -> Space {
    let merged = merged(sides);
    match by_sides(&merged) {
        Some(curves) if holds(&merged, &curves) => Space::Glass(curves),
        _ => by_polygons(&merged),
    }
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
    if a.inset != b.inset || !a.curve.same_carrier(&b.curve) {
        return None;
    }
    let curve = match (a.curve, b.curve) {
        (Curve::Arc { turn: first, .. }, Curve::Arc { turn: second, .. }) => {
            let both = first + second;
            (both.abs() < PI * 1.000_001).then(|| a.curve.part(0.0, both / first))?
        }
        // Back along itself is no straight on.
        _ if dot(a.curve.direction(1.0), b.curve.direction(0.0)) < 0.0 => return None,
        _ => Curve::line(a.curve.at(0.0), b.curve.at(1.0)),
    };
    Some(CellSide { curve, inset: a.inset })
}

/// Moves the sides and meets the corners again; sides that turn round are left out one by one.
fn by_sides(sides: &[CellSide]) -> Option<Vec<Curve>> {
    let mut sides = sides.to_vec();
    // A full circle has no corner.
    if let [
        CellSide {
            curve: curve @ Curve::Arc { radius, turn, .. },
            inset,
        },
    ] = sides[..]
    {
        return (turn < 0.0 || radius > inset).then(|| vec![curve.shifted_left(inset)]);
    }
    while sides.len() >= 2 {
        let count = sides.len();
        let corners: Vec<(Point, Point)> = (0..count)
            .map(|i| corner(&sides[(i + count - 1) % count], &sides[i]))
            .collect::<Option<_>>()?;
        let moved = |i: usize| {
            let side = &sides[i];
            let curve = side.curve.shifted_left(side.inset);
            curve.between(corners[i].1, corners[(i + 1) % count].0)
        };
        let turned = |i: &usize| turns_round(&sides[*i], &moved(*i));
        let shortest = (0..count).filter(turned).min_by(|a, b| {
            let length = |i: &usize| sides[*i].curve.length();
            length(a).total_cmp(&length(b))
        });
        if let Some(gone) = shortest {
            sides.remove(gone);
            continue;
        }
        let mut curves = vec![];
        for (i, (before, after)) in corners.iter().copied().enumerate() {
            if length(after - before) > 1e-6 {
                curves.push(Curve::line(before, after));
            }
            let curve = moved(i);
            if curve.length() > 1e-6 {
                curves.push(curve);
            }
        }
        return Some(curves);
    }
    None
}

/// Whether a side has turned round on its way, or its circle has shrunk to nothing.
fn turns_round(side: &CellSide, moved: &Curve) -> bool {
    match (side.curve, *moved) {
        (Curve::Line { from, to }, Curve::Line { from: a, to: b }) => dot(to - from, b - a) < 0.0,
        (Curve::Arc { radius, turn, .. }, Curve::Arc { turn: new, .. }) => {
            radius - side.inset * turn.signum() <= 0.0 || new.abs() > turn.abs() + PI
        }
        _ => true,
    }
}

/// Where one side ends and the next begins once both are moved; two points where a step between them is needed.
fn corner(before: &CellSide, after: &CellSide) -> Option<(Point, Point)> {
    let (into, out) = (before.curve.direction(1.0), after.curve.direction(0.0));
    let moved = (
        before.curve.shifted_left(before.inset),
        after.curve.shifted_left(after.inset),
    );
    let (end, start) = (moved.0.at(1.0), moved.1.at(0.0));
    let meet_in_a_point = length(before.curve.at(1.0) - after.curve.at(0.0)) < 1e-6;
    let sine = cross(into, out);
    if meet_in_a_point && sine.abs() < 1e-3 && dot(into, out) > 0.0 {
        return if length(end - start) < 2e-3 {
            let middle = (end + start) / 2.0;
            Some((middle, middle))
        } else {
            // A wider came begins on a smooth line.
            Some((end, start))
        };
    }
    let ideal = if meet_in_a_point && sine.abs() > 1e-3 {
        // Where the moved tangents meet.
        end + into * (cross(start - end, out) / sine)
    } else {
        (end + start) / 2.0
    };
    let meet = moved.0.carriers_meet(&moved.1);
    let away = |p: &Point| length(*p - ideal);
    let nearest = meet.into_iter().min_by(|a, b| away(a).total_cmp(&away(b)))?;
    Some((nearest, nearest))
}

/// Whether the curves are a simple outline that stands off every side as it should, to within half the promised bound.
fn holds(sides: &[CellSide], curves: &[Curve]) -> bool {
    let Some(outline) = outline(curves, POLYGON_MM / 2.0) else {
        return false;
    };
    let cell: Vec<Point> = sides.iter().flat_map(|side| side.curve.chords(POLYGON_MM)).collect();
    let twice: f64 = curves.iter().map(Curve::twice_area).sum();
    let probes: Vec<Point> = curves.iter().flat_map(|c| [c.at(0.0), c.at(0.5)]).collect();
    twice > 0.0
        && outline.area() > 0.0
        && probes.iter().all(|p| {
            crate::arrange::is_inside(&cell, *p)
                && sides
                    .iter()
                    .all(|side| side.curve.distance(*p) > side.inset - POLYGON_MM)
        })
}

/// The polygon of closed curves, its chords within `tolerance` mm; `None` where it is not simple.
#[must_use]
pub fn outline(curves: &[Curve], tolerance: f64) -> Option<Outline> {
    Outline::new(curves.iter().flat_map(|curve| curve.chords(tolerance)).collect()).ok()
}

/// The cell less a strip along each side and a disc at each corner.
fn by_polygons(sides: &[CellSide]) -> Space {
    let flat: Vec<Curve> = sides.iter().map(|side| side.curve).collect();
    let Some(cell) = outline(&flat, POLYGON_MM / 4.0) else {
        return Space::None;
    };
    let mut taken = vec![];
    for side in sides.iter().filter(|side| side.inset > 0.0) {
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
    left.retain(|region| region.area() > 1.0 && region.holes.is_empty());
    let count = left.len();
    let Some(largest) = left.into_iter().next() else {
        return Space::None;
    };
    let points = largest.outer.points();
    let sides = points.iter().zip(points.iter().cycle().skip(1));
    let curves = sides.map(|(a, b)| Curve::line(*a, *b)).collect();
    if count == 1 {
        Space::Glass(curves)
    } else {
        Space::Split(curves, count)
    }
}

fn disc(centre: Point, radius: f64) -> Option<Outline> {
    Outline::new(Curve::arc(centre, radius, 0.0, 360.0).chords(POLYGON_MM / 4.0)).ok()
}
