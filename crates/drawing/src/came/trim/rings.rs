//! The rings that moved sides enclose, and what is too small to be one.

use super::{CORNER_MM, SHORT_MM, STRAY_MM};
use crate::curve::{Curve, cross, dot, length};
use cullet_geometry::Point;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Ends of parts, those that are one point numbered alike.
#[derive(Default)]
pub(super) struct Nodes {
    pub(super) points: Vec<Point>,
    pub(super) boxes: BTreeMap<(i64, i64), Vec<usize>>,
}

impl Nodes {
    pub(super) fn number(&mut self, p: Point) -> usize {
        // Cells lie within 100 m, which the cast holds.
        let (x, y) = ((p.x / CORNER_MM).floor() as i64, (p.y / CORNER_MM).floor() as i64);
        let near = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy)));
        let known = near
            .filter_map(|key| self.boxes.get(&key))
            .flatten()
            .find(|node| length(self.points[**node] - p) <= CORNER_MM);
        if let Some(node) = known {
            return *node;
        }
        self.points.push(p);
        self.boxes.entry((x, y)).or_default().push(self.points.len() - 1);
        self.points.len() - 1
    }
}

/// A part of the boundary between two nodes.
pub(super) struct Part {
    pub(super) curve: Curve,
    pub(super) from: usize,
    pub(super) to: usize,
}

/// Walks the parts to rings; where several go on, the one farthest to the left.
pub(super) fn rings(curves: &[Curve]) -> Option<Vec<Vec<Curve>>> {
    let mut nodes = Nodes::default();
    let mut parts: Vec<Part> = curves
        .iter()
        .map(|curve| Part {
            curve: *curve,
            from: nodes.number(curve.at(0.0)),
            to: nodes.number(curve.at(1.0)),
        })
        .collect();
    parts.retain(|part| part.from != part.to || part.curve.length() > 10.0 * CORNER_MM);
    drop_doubled(&mut parts);
    drop_strays(&mut parts, nodes.points.len())?;
    let mut leaving: Vec<Vec<usize>> = vec![vec![]; nodes.points.len()];
    for (i, part) in parts.iter().enumerate() {
        leaving[part.from].push(i);
    }
    let mut used = vec![false; parts.len()];
    let mut rings = vec![];
    for first in 0..parts.len() {
        let (mut ring, mut at, mut is_closed) = (vec![], first, true);
        while !used[at] {
            used[at] = true;
            ring.push(at);
            let back = chord_back(&parts[at].curve);
            let open = leaving[parts[at].to]
                .iter()
                .filter(|next| !used[**next] || **next == first);
            let left = |next: &&usize| leftness(back, chord_ahead(&parts[**next].curve));
            match open.max_by(|a, b| left(a).total_cmp(&left(b))) {
                Some(next) => at = *next,
                None => is_closed = false,
            }
        }
        if ring.is_empty() {
            continue;
        }
        if !is_closed || at != first {
            // Leftovers where two curves run within rounding of each other.
            let size: f64 = ring.iter().map(|i| parts[*i].curve.length()).sum();
            if size > STRAY_MM {
                return None;
            }
            continue;
        }
        let ring = ring.into_iter().map(|i| {
            let part = &parts[i];
            part.curve.fitted(nodes.points[part.from], nodes.points[part.to])
        });
        rings.push(ring.collect());
    }
    Some(rings)
}

/// Keeps one of parts that are one: round ends of two lines that go on in each other.
pub(super) fn drop_doubled(parts: &mut Vec<Part>) {
    let mut between: BTreeMap<(usize, usize), Vec<Point>> = BTreeMap::new();
    parts.retain(|part| {
        let middle = part.curve.at(0.5);
        let known = between.entry((part.from, part.to)).or_default();
        let is_new = known.iter().all(|p| length(*p - middle) > CORNER_MM);
        known.push(middle);
        is_new
    });
}

/// Takes out parts that lead nowhere or come from nowhere; `None` where one is too long for that.
pub(super) fn drop_strays(parts: &mut Vec<Part>, nodes: usize) -> Option<()> {
    loop {
        let (mut out, mut into) = (vec![0; nodes], vec![0; nodes]);
        for part in parts.iter() {
            out[part.from] += 1;
            into[part.to] += 1;
        }
        let is_stray = |part: &Part| out[part.to] == 0 || into[part.from] == 0;
        if parts
            .iter()
            .any(|part| is_stray(part) && part.curve.length() > STRAY_MM)
        {
            return None;
        }
        let before = parts.len();
        parts.retain(|part| !is_stray(part));
        if parts.len() == before {
            return Some(());
        }
    }
}

/// How far along a part its direction is taken, so that tangents are told apart.
pub(super) fn reach(curve: &Curve) -> f64 {
    (0.02 / curve.length()).min(0.5)
}

pub(super) fn chord_back(curve: &Curve) -> Point {
    curve.at(1.0 - reach(curve)) - curve.at(1.0)
}

pub(super) fn chord_ahead(curve: &Curve) -> Point {
    curve.at(reach(curve)) - curve.at(0.0)
}

/// How far to the left a way ahead goes: the less it lies clockwise from the way back, the farther.
pub(super) fn leftness(back: Point, ahead: Point) -> f64 {
    let clockwise = cross(ahead, back).atan2(dot(back, ahead));
    -clockwise.rem_euclid(2.0 * PI)
}

/// Joins what goes on along one line or circle and takes out curves that are too short to mean anything.
pub(super) fn tidy_ring(ring: &mut Vec<Curve>) {
    let mut i = 0;
    while ring.len() > 1 && i < ring.len() {
        let next = (i + 1) % ring.len();
        match joined(&ring[i], &ring[next]) {
            Some(both) => {
                ring[i] = both;
                ring.remove(next);
                i = i.saturating_sub(1);
            }
            None => i += 1,
        }
    }
    while ring.len() > 3
        && let Some(short) = ring.iter().position(|curve| curve.length() < SHORT_MM)
    {
        let count = ring.len();
        let (before, after) = ((short + count - 1) % count, (short + 1) % count);
        let meet = ring[short].at(0.5);
        ring[before] = ring[before].fitted(ring[before].at(0.0), meet);
        ring[after] = ring[after].fitted(meet, ring[after].at(1.0));
        ring.remove(short);
    }
}

/// Two curves that go on along the same line or circle as one, up to half a circle.
pub(in crate::came) fn joined(a: &Curve, b: &Curve) -> Option<Curve> {
    if !a.same_carrier(b) {
        return None;
    }
    match (*a, *b) {
        (Curve::Arc { turn: first, .. }, Curve::Arc { turn: second, .. }) => {
            let both = first + second;
            (both.abs() < PI * 1.000_001).then(|| a.part(0.0, both / first).fitted(a.at(0.0), b.at(1.0)))
        }
        // Back along itself is no straight on.
        _ => (dot(a.direction(1.0), b.direction(0.0)) > 0.0).then(|| Curve::line(a.at(0.0), b.at(1.0))),
    }
}
