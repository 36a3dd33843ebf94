//! Where a run meets the edge of the glass in hand, and what it parts it into.

use super::super::convex::{SNAP, TOUCH, area, cross, dot, length, sides};
use super::{SLIVER_MM, SPECK_MM2};
use cullet_geometry::Point;
use cullet_geometry::ring::inside_stretches;

/// What is left in hand of the line along the side from `a` to `b`: what went back to the rack may have taken a part along.
pub(super) fn beside(hand: &[Point], a: Point, b: Point) -> Option<(Point, Point)> {
    let along = (b - a) / length(b - a);
    let reach = hand.iter().map(|p| length(*p - a)).fold(0.0, f64::max) + 1.0;
    let (middle, half) = ((a + b) / 2.0, 0.5 * length(b - a));
    let stretches = inside_stretches(
        hand,
        &[middle - along * (reach + half), middle + along * (reach + half)],
        TOUCH,
    );
    let overlaps = |s: &Vec<Point>| dot(s[0] - b, along) < -SNAP && dot(s[s.len() - 1] - a, along) > SNAP;
    stretches.into_iter().find(overlaps).map(|s| (s[0], s[s.len() - 1]))
}

/// From where to where a line runs through a convex outline.
pub(super) fn crossed(points: &[Point], a: Point, along: Point) -> Option<(f64, f64)> {
    let at: Vec<f64> = sides(points)
        .filter_map(|(p, q)| {
            let (d, e) = (cross(along, p - a), cross(along, q - a));
            ((d > 0.0) != (e > 0.0)).then(|| dot(p + (q - p) * (d / (d - e)) - a, along))
        })
        .collect();
    let least = at.iter().copied().fold(f64::INFINITY, f64::min);
    let most = at.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (least < most).then_some((least, most))
}

/// A corner or a place on a side where the boundary meets a line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Meeting {
    pub(super) at: f64,
    pub(super) point: Point,
    /// The corner before it, or at it.
    pub(super) corner: usize,
    pub(super) on_corner: bool,
}

/// Parts a simple polygon along the stretch of a line that holds the point `middle` along from `a`; left part, right part.
pub(super) fn parted(
    points: &[Point],
    a: Point,
    along: Point,
    middle: f64,
) -> Option<([Point; 2], Vec<Point>, Vec<Point>)> {
    let n = points.len();
    let away = |p: Point| {
        let d = cross(along, p - a);
        if d.abs() <= SNAP { 0.0 } else { d }
    };
    let off: Vec<f64> = points.iter().map(|p| away(*p)).collect();
    if off.iter().all(|d| *d >= 0.0) || off.iter().all(|d| *d <= 0.0) {
        return None;
    }
    let (mut from, mut to): (Option<Meeting>, Option<Meeting>) = (None, None);
    for i in 0..n {
        let j = (i + 1) % n;
        let meeting = if off[i] == 0.0 {
            Some((points[i], true))
        } else if off[i] * off[j] < 0.0 {
            Some((
                points[i] + (points[j] - points[i]) * (off[i] / (off[i] - off[j])),
                false,
            ))
        } else {
            None
        };
        let Some((point, on_corner)) = meeting else { continue };
        let met = Meeting {
            at: dot(point - a, along),
            point,
            corner: i,
            on_corner,
        };
        if off[i] == 0.0 && off[j] == 0.0 {
            let (s, t) = (met.at, dot(points[j] - a, along));
            if s.min(t) <= middle && middle <= s.max(t) {
                return None;
            }
        }
        if met.at <= middle && from.is_none_or(|m| met.at > m.at) {
            from = Some(met);
        }
        if met.at > middle && to.is_none_or(|m| met.at < m.at) {
            to = Some(met);
        }
    }
    let (from, to) = (from?, to?);
    let left = walked(points, &to, &from);
    let right = walked(points, &from, &to);
    // Where the stretch lies outside the glass, one of the two turns the wrong way round; where it runs along an edge but for
    // rounding, there is nothing to take off.
    let nothing = (SLIVER_MM * length(to.point - from.point)).max(SPECK_MM2);
    if area(&left) <= nothing || area(&right) <= nothing {
        return None;
    }
    Some(([from.point, to.point], left, right))
}

/// The boundary from one meeting to another, counter-clockwise, without repeated corners.
pub(super) fn walked(points: &[Point], from: &Meeting, to: &Meeting) -> Vec<Point> {
    let n = points.len();
    let mut list = vec![from.point];
    let mut k = (from.corner + 1) % n;
    let last = if to.on_corner { to.corner } else { (to.corner + 1) % n };
    while k != last {
        list.push(points[k]);
        k = (k + 1) % n;
    }
    list.push(to.point);
    let mut kept: Vec<Point> = Vec::with_capacity(list.len());
    for p in list {
        if kept.last().is_none_or(|q| length(p - *q) > SNAP) {
            kept.push(p);
        }
    }
    while kept.len() > 1 && length(kept[0] - kept[kept.len() - 1]) <= SNAP {
        kept.pop();
    }
    kept
}
