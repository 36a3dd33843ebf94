//! Courses cut at their junctions.

use super::course::{Course, Spot};
use super::junction::Junctions;
use super::meet::Cuts;
use super::{Trouble, TroubleKind};
use crate::curve::{Curve, length};
use cullet_geometry::Point;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// Part of a line between two junctions.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Junction at its start.
    pub from: usize,
    /// Junction at its end; the same for a ring.
    pub to: usize,
    /// Its course, exactly from junction to junction.
    pub curves: Vec<Curve>,
    /// Which came follows it.
    pub came: usize,
    /// The drawn lines it is part of, in order, each once.
    pub lines: Vec<usize>,
    /// How far its ends were moved onto the junctions, mm.
    pub(super) moved: [f64; 2],
}

impl Edge {
    /// Length in mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.curves.iter().map(Curve::length).sum()
    }

    /// The point at a share of its length, 0 to 1.
    #[must_use]
    pub fn at(&self, share: f64) -> Point {
        let mut rest = self.length() * share;
        for curve in &self.curves {
            let length = curve.length();
            if rest <= length {
                return curve.at(rest / length);
            }
            rest -= length;
        }
        self.curves[self.curves.len() - 1].at(1.0)
    }

    /// The shortest distance of a point from it, mm.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        self.curves.iter().map(|c| c.distance(p)).fold(f64::INFINITY, f64::min)
    }
}

/// The edges of every course, in order along it.
pub(super) fn cut(courses: &[Course], cuts: &Cuts, junctions: &mut Junctions, snap: f64) -> Vec<Edge> {
    let mut on_course: Vec<Vec<(Spot, usize)>> = vec![vec![]; courses.len()];
    for cut in &cuts.cuts {
        on_course[cut.course].push((cut.spot, junctions.of_place[cut.place]));
    }
    let mut edges = vec![];
    for (course, mut stops) in courses.iter().zip(on_course) {
        if course.closed && stops.is_empty() {
            junctions.points.push(course.at(course.end(true)));
            stops.push((course.end(true), junctions.points.len() - 1));
        }
        stops.sort_by(|a, b| course.along(a.0).total_cmp(&course.along(b.0)));
        let pairs = stops.windows(2).map(|pair| (pair[0], pair[1]));
        let round = stops.last().zip(stops.first()).filter(|_| course.closed);
        for (a, b) in pairs
            .chain(round.map(|(last, first)| (*last, *first)))
            .collect::<Vec<_>>()
        {
            let over_the_start = course.along(b.0) <= course.along(a.0) && course.closed && stops_wrap(&stops, a, b);
            let (curves, lines) = between(course, a.0, b.0, over_the_start);
            let size: f64 = curves.iter().map(Curve::length).sum();
            let collapses = a.1 == b.1 && size <= 4.0 * snap;
            if curves.is_empty() || collapses {
                continue;
            }
            let (start, end) = (junctions.points[a.1], junctions.points[b.1]);
            let moved = [
                length(curves[0].at(0.0) - start),
                length(curves[curves.len() - 1].at(1.0) - end),
            ];
            let edge = Edge {
                from: a.1,
                to: b.1,
                curves: fit(curves, start, end),
                came: course.came,
                lines,
                moved,
            };
            if a.1 != b.1 || is_wide(&edge, snap) {
                edges.push(edge);
            }
        }
    }
    edges
}

/// Whether a loop is anywhere wider than the tolerance: a spike that comes back along itself encloses no glass.
fn is_wide(edge: &Edge, snap: f64) -> bool {
    (1..16).any(|k| {
        let share = f64::from(k) / 32.0;
        length(edge.at(share) - edge.at(1.0 - share)) > snap
    })
}

/// Whether a pair of stops is the last and the first one of a closed course.
fn stops_wrap(stops: &[(Spot, usize)], a: (Spot, usize), b: (Spot, usize)) -> bool {
    stops.last() == Some(&a) && stops.first() == Some(&b)
}

/// The curves from one spot to the next, and their lines.
fn between(course: &Course, a: Spot, b: Spot, over_the_start: bool) -> (Vec<Curve>, Vec<usize>) {
    let mut found = vec![];
    if a.curve == b.curve && !over_the_start {
        found.push((course.curves[a.curve].part(a.t, b.t), course.sources[a.curve]));
    } else {
        let count = course.curves.len();
        let last = if over_the_start { b.curve + count } else { b.curve };
        for i in a.curve..=last {
            let curve = course.curves[i % count];
            let from = if i == a.curve { a.t } else { 0.0 };
            let to = if i == last { b.t } else { 1.0 };
            found.push((curve.part(from, to), course.sources[i % count]));
        }
    }
    found.retain(|(curve, _)| curve.length() > 1e-9);
    let mut lines: Vec<usize> = vec![];
    for (_, line) in &found {
        if !lines.contains(line) {
            lines.push(*line);
        }
    }
    (found.into_iter().map(|(curve, _)| curve).collect(), lines)
}

/// The chain with its ends moved onto the junctions.
fn fit(mut curves: Vec<Curve>, from: Point, to: Point) -> Vec<Curve> {
    let moved_start = length(curves[0].at(0.0) - from);
    let moved_end = length(curves[curves.len() - 1].at(1.0) - to);
    if moved_start.max(moved_end) > 1e-9 {
        curves = curves.iter().flat_map(quarters).collect();
    }
    // What is shorter than the way its end moves would be turned right round: the next curve takes its place.
    let mut dropped = 0.0;
    while curves.len() > 1 && dropped + curves[0].length() < 2.0 * moved_start {
        dropped += curves.remove(0).length();
    }
    dropped = 0.0;
    while curves.len() > 1 && dropped + curves[curves.len() - 1].length() < 2.0 * moved_end {
        dropped += curves.pop().map_or(0.0, |c| c.length());
    }
    if curves.len() == 1 {
        return vec![curves[0].fitted(from, to)];
    }
    let last = curves.len() - 1;
    curves[0] = curves[0].fitted(from, curves[0].at(1.0));
    curves[last] = curves[last].fitted(curves[last].at(0.0), to);
    curves
}

/// An arc in parts of at most a quarter turn, whose chords are nearly as long as they are, so that moving an end changes
/// little.
fn quarters(curve: &Curve) -> Vec<Curve> {
    let Curve::Arc { turn, .. } = *curve else {
        return vec![*curve];
    };
    let parts = (turn.abs() / (PI / 2.0)).ceil().max(1.0);
    (0..parts as usize)
        .map(|i| curve.part(i as f64 / parts, (i + 1) as f64 / parts))
        .collect()
}

/// Takes out edges that lie on an earlier one, and names them, once for two drawn lines.
pub(super) fn drop_doubled(edges: &mut Vec<Edge>, snap: f64) -> Vec<Trouble> {
    let mut between: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (i, edge) in edges.iter().enumerate() {
        between
            .entry((edge.from.min(edge.to), edge.from.max(edge.to)))
            .or_default()
            .push(i);
    }
    let mut doubled = vec![false; edges.len()];
    let mut found: BTreeMap<(usize, usize), (f64, Point)> = BTreeMap::new();
    for group in between.values() {
        for (k, i) in group.iter().enumerate() {
            let earlier = group[..k]
                .iter()
                .find(|j| !doubled[**j] && lies_on(&edges[*i], &edges[**j], snap));
            let Some(j) = earlier else { continue };
            doubled[*i] = true;
            let size = edges[*i].length();
            let lines = (edges[*j].lines[0], edges[*i].lines[0]);
            let entry = found.entry(lines).or_insert((0.0, edges[*i].at(0.5)));
            entry.0 += size;
        }
    }
    let mut keep = doubled.iter().map(|doubled| !doubled);
    edges.retain(|_| keep.next().unwrap_or(true));
    found
        .into_iter()
        .filter(|(_, (length, _))| *length > 4.0 * snap)
        .map(|((first, second), (length, at))| Trouble {
            kind: TroubleKind::Doubled { length },
            at,
            lines: if first == second {
                vec![first]
            } else {
                vec![first, second]
            },
        })
        .collect()
}

fn lies_on(a: &Edge, b: &Edge, snap: f64) -> bool {
    let near = |a: &Edge, b: &Edge| (1..8).all(|k| b.distance(a.at(f64::from(k) / 8.0)) <= snap);
    near(a, b) && near(b, a)
}

/// Takes out edges that end in a free end, again and again, and gives them back.
pub(super) fn prune(edges: &mut Vec<Edge>, junctions: usize) -> Vec<Edge> {
    let mut at: Vec<Vec<usize>> = vec![vec![]; junctions];
    for (i, edge) in edges.iter().enumerate() {
        at[edge.from].push(i);
        at[edge.to].push(i);
    }
    let mut degree: Vec<usize> = at.iter().map(Vec::len).collect();
    let mut gone = vec![false; edges.len()];
    let mut free: Vec<usize> = (0..junctions).filter(|j| degree[*j] == 1).collect();
    while let Some(junction) = free.pop() {
        let Some(&i) = at[junction].iter().find(|i| !gone[**i]) else {
            continue;
        };
        gone[i] = true;
        for end in [edges[i].from, edges[i].to] {
            degree[end] -= 1;
            if degree[end] == 1 {
                free.push(end);
            }
        }
    }
    let all = std::mem::take(edges);
    let mut loose = vec![];
    for (edge, gone) in all.into_iter().zip(gone) {
        if gone { loose.push(edge) } else { edges.push(edge) }
    }
    loose
}
