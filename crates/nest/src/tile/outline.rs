//! Corners and niches of the outlines that are fitted together.

use super::{Corner, Niche, SAME_ANGLE, SLIP};
use crate::form::{Turn, sin_cos};
use cullet_geometry::{Outline, Point, boolean};

pub(super) fn angle_slip(niche: &Niche, corner: &Corner) -> f64 {
    2.0 * SAME_ANGLE
        + SLIP
            / niche
                .out_length
                .min(niche.in_length)
                .min(corner.out_length)
                .min(corner.in_length)
                .max(0.5)
}

/// An angle that is whole but for rounding, made whole.
pub(super) fn tidy(degrees: f64) -> f64 {
    let whole = degrees.round();
    if (degrees - whole).abs() < 2e-3 { whole } else { degrees }
}

/// An item's corners at a turn, counter-clockwise also when turned over.
pub(super) fn turned(own: &[Point], turn: Turn) -> Vec<Point> {
    let (sin, cos) = sin_cos(turn.degrees);
    let flip = if turn.over { -1.0 } else { 1.0 };
    let mut points: Vec<Point> = own
        .iter()
        .map(|p| Point {
            x: flip * (cos * p.x - sin * p.y),
            y: sin * p.x + cos * p.y,
        })
        .collect();
    if turn.over {
        points.reverse();
    }
    points
}

pub(super) fn corners(kind: usize, fixed: usize, points: &[Point]) -> Vec<Corner> {
    let count = points.len();
    (0..count)
        .map(|vertex| {
            let (before, at, after) = (
                points[(vertex + count - 1) % count],
                points[vertex],
                points[(vertex + 1) % count],
            );
            Corner {
                kind,
                fixed,
                vertex,
                out: direction(at, after),
                inner: inner_angle(before, at, after),
                out_length: (after.x - at.x).hypot(after.y - at.y),
                in_length: (at.x - before.x).hypot(at.y - before.y),
            }
        })
        .filter(|corner| corner.inner < std::f64::consts::PI)
        .collect()
}

pub(super) fn direction(from: Point, to: Point) -> f64 {
    (to.y - from.y).atan2(to.x - from.x)
}

pub(super) fn inner_angle(before: Point, at: Point, after: Point) -> f64 {
    (direction(at, before) - direction(at, after)).rem_euclid(std::f64::consts::TAU)
}

/// The convex corners of one part of the free region.
pub(super) fn niches(part: usize, outline: &Outline) -> Vec<Niche> {
    let points = straightened(outline.points());
    let count = points.len();
    let inner: Vec<f64> = (0..count)
        .map(|i| inner_angle(points[(i + count - 1) % count], points[i], points[(i + 1) % count]))
        .collect();
    let convex = |i: usize| inner[i % count] < std::f64::consts::PI - 1e-3;
    (0..count)
        .filter(|i| convex(*i))
        .map(|i| {
            let (before, at, after) = (points[(i + count - 1) % count], points[i], points[(i + 1) % count]);
            Niche {
                part,
                at,
                out: direction(at, after),
                inner: inner[i],
                out_length: (after.x - at.x).hypot(after.y - at.y),
                in_length: (at.x - before.x).hypot(at.y - before.y),
                out_closed: convex(i + 1),
                in_closed: convex(i + count - 1),
            }
        })
        .collect()
}

/// Corners without those that lie on a straight side.
pub(super) fn straightened(points: &[Point]) -> Vec<Point> {
    let mut kept = points.to_vec();
    let mut i = 0;
    while kept.len() > 3 && i < kept.len() {
        let count = kept.len();
        let (before, at, after) = (kept[(i + count - 1) % count], kept[i], kept[(i + 1) % count]);
        let (dx, dy) = (after.x - before.x, after.y - before.y);
        let off = ((at.x - before.x) * dy - (at.y - before.y) * dx).abs() / dx.hypot(dy).max(1e-12);
        if off < SLIP / 4.0 {
            kept.remove(i);
            i = i.saturating_sub(1);
        } else {
            i += 1;
        }
    }
    kept
}

/// What is left of `part` once `item` lies in it; `None` where the item sticks out. Slivers thinner than the slip are gone.
pub(super) fn without(part: &Outline, item: &Outline) -> Option<Vec<Outline>> {
    let rest = boolean::difference(part, std::slice::from_ref(item));
    let left: f64 = rest.iter().map(boolean::Region::area).sum();
    if (part.area() - left - item.area()).abs() > SLIP * perimeter(item) {
        return None;
    }
    let mut parts = Vec::new();
    for region in rest {
        if region.area() <= SLIP * perimeter(&region.outer) {
            continue;
        }
        if !region.holes.is_empty() {
            return None;
        }
        parts.push(region.outer);
    }
    Some(parts)
}

pub(super) fn perimeter(outline: &Outline) -> f64 {
    let points = outline.points();
    let mut a = points[points.len() - 1];
    let mut sum = 0.0;
    for b in points {
        sum += (b.x - a.x).hypot(b.y - a.y);
        a = *b;
    }
    sum
}
