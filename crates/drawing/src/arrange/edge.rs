//! Courses cut at their junctions.

use super::course::{Course, Spot};
use super::junction::Junctions;
use super::meet::Cuts;
use super::{Trouble, TroubleKind};
use crate::curve::{Curve, cross, dot, length};
use cullet_geometry::Point;
use std::collections::BTreeMap;

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
pub(super) fn cut(courses: &[Course], cuts: &Cuts, junctions: &mut Junctions, snap: f64, follows: f64) -> Vec<Edge> {
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
        // Circles that touch exactly meet twice in one point.
        stops.dedup_by(|a, b| a.1 == b.1 && course.along(a.0) - course.along(b.0) < 1e-9);
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
                curves: fit(curves, start, end, follows),
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

/// The chain with its ends moved onto the junctions: along itself first, and what is left of the way by turning and sizing a
/// stretch as a whole, `follows` times as long as that way, so that what is smooth stays smooth.
fn fit(curves: Vec<Curve>, from: Point, to: Point, follows: f64) -> Vec<Curve> {
    let mut curves = slid(curves, from);
    curves = backwards(slid(backwards(curves), to));
    let moves = [
        length(curves[0].at(0.0) - from),
        length(curves[curves.len() - 1].at(1.0) - to),
    ];
    let size: f64 = curves.iter().map(Curve::length).sum();
    let is_short = follows * (moves[0] + moves[1]) > size;
    if is_short && is_stretched(&curves, size) {
        return turned(curves, from, to);
    }
    let reach = |moved: f64| if is_short { size / 2.0 } else { follows * moved };
    let (start, rest) = split(&curves, reach(moves[0]));
    let (end, middle) = split(&backwards(rest), reach(moves[1]));
    let inner = |chain: &[Curve], otherwise: Point| chain.last().map_or(otherwise, |curve| curve.at(1.0));
    let mut found = if start.is_empty() {
        vec![]
    } else {
        let at = inner(&start, from);
        turned(start, from, if end.is_empty() && middle.is_empty() { to } else { at })
    };
    found.extend(backwards(middle));
    if !end.is_empty() {
        let at = if found.is_empty() { from } else { inner(&end, to) };
        found.extend(backwards(turned(end, to, at)));
    }
    found
}

fn backwards(curves: Vec<Curve>) -> Vec<Curve> {
    curves.iter().rev().map(Curve::reversed).collect()
}

/// Whether a chain does not come back near its start: then it can be turned and sized by its ends.
fn is_stretched(curves: &[Curve], size: f64) -> bool {
    length(curves[curves.len() - 1].at(1.0) - curves[0].at(0.0)) > 0.3 * size
}

/// The chain from the spot on it, or on the line or circle that it begins with, that is nearest to a point near its start.
fn slid(mut curves: Vec<Curve>, to: Point) -> Vec<Curve> {
    let reach = 2.0 * length(curves[0].at(0.0) - to);
    if reach < 1e-9 {
        return curves;
    }
    while curves.len() > 1 && curves[0].length() < reach && curves[0].position_beyond(to) > 1.0 - 1e-9 {
        curves.remove(0);
    }
    let (t, size) = (curves[0].position_beyond(to), curves[0].length());
    // The place of a whole circle's start may come out as that of its end.
    if t.abs() * size < reach && t < 1.0 {
        curves[0] = curves[0].part(t, 1.0);
    }
    curves
}

/// The first part of a chain, about so long, and the rest. Straight lines are not parted; the part is shorter where it would
/// come back near its start.
fn split(curves: &[Curve], reach: f64) -> (Vec<Curve>, Vec<Curve>) {
    let (mut first, mut rest, mut left) = (vec![], vec![], reach);
    for curve in curves {
        let size = curve.length();
        if left < 1e-9 {
            rest.push(*curve);
        } else if left < size && matches!(curve, Curve::Arc { .. }) {
            first.push(curve.part(0.0, left / size));
            rest.push(curve.part(left / size, 1.0));
        } else {
            first.push(*curve);
        }
        left -= size;
    }
    if first.is_empty() || is_stretched(&first, first.iter().map(Curve::length).sum()) || first.len() == curves.len() {
        return (first, rest);
    }
    split(curves, reach / 2.0)
}

/// A chain turned and sized so that it runs from one point to another.
fn turned(curves: Vec<Curve>, from: Point, to: Point) -> Vec<Curve> {
    let (a, b) = (curves[0].at(0.0), curves[curves.len() - 1].at(1.0));
    let mut found: Vec<Curve> = curves.iter().map(|curve| curve.carried((a, b), (from, to))).collect();
    // What rounding leaves.
    let last = found.len() - 1;
    found[0] = found[0].fitted(from, found[0].at(1.0));
    found[last] = found[last].fitted(found[last].at(0.0), to);
    found
}

/// Lines that part by less than this many mm of bend on a doubled stretch were meant to be one: a circle that touches a line
/// of which it lies within the tolerance for a while is no line drawn twice.
const TOUCH_BEND_MM: f64 = 2000.0;
/// Lines that part by more than this angle, radians, were not meant to be one either.
const TOUCH_ANGLE: f64 = 0.01;
/// Nor were lines that lie on each other for less than this, mm, as a leaf does that leaves its stem slowly.
const TOUCH_MM: f64 = 20.0;
/// A touch takes less than this share of the shorter line.
const TOUCH_SHARE: f64 = 0.3;

/// Takes out edges that lie on an earlier one, and names them, once for two drawn lines; not where the lines only touch.
pub(super) fn drop_doubled(edges: &mut Vec<Edge>, snap: f64) -> Vec<Trouble> {
    let mut between: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for (i, edge) in edges.iter().enumerate() {
        between
            .entry((edge.from.min(edge.to), edge.from.max(edge.to)))
            .or_default()
            .push(i);
    }
    let mut doubled = vec![false; edges.len()];
    let mut found: BTreeMap<(usize, usize), Doubled> = BTreeMap::new();
    let mut whole: BTreeMap<usize, f64> = BTreeMap::new();
    for edge in edges.iter() {
        *whole.entry(edge.lines[0]).or_default() += edge.length();
    }
    for group in between.values() {
        for (k, i) in group.iter().enumerate() {
            let earlier = group[..k]
                .iter()
                .find(|j| !doubled[**j] && lies_on(&edges[*i], &edges[**j], snap));
            let Some(j) = earlier else { continue };
            doubled[*i] = true;
            let size = edges[*i].length();
            let lines = (edges[*j].lines[0], edges[*i].lines[0]);
            let entry = found.entry(lines).or_insert(Doubled {
                length: 0.0,
                at: edges[*i].at(0.5),
                only_touches: true,
            });
            entry.length += size;
            entry.only_touches &= part_soon(&edges[*i], &edges[*j]);
        }
    }
    let mut keep = doubled.iter().map(|doubled| !doubled);
    edges.retain(|_| keep.next().unwrap_or(true));
    let shorter = |lines: &(usize, usize)| whole[&lines.0].min(whole[&lines.1]);
    found
        .into_iter()
        .filter(|(lines, doubled)| {
            let is_short = doubled.length < TOUCH_MM || doubled.only_touches;
            let touches = is_short && doubled.length < TOUCH_SHARE * shorter(lines);
            doubled.length > 4.0 * snap && !touches
        })
        .map(|((first, second), doubled)| Trouble {
            kind: TroubleKind::Doubled { length: doubled.length },
            at: doubled.at,
            lines: if first == second {
                vec![first]
            } else {
                vec![first, second]
            },
        })
        .collect()
}

/// What two lines share.
struct Doubled {
    length: f64,
    at: Point,
    only_touches: bool,
}

/// Whether two edges between the same junctions part: they bend differently, or one was turned to lie on the other.
fn part_soon(a: &Edge, b: &Edge) -> bool {
    // Where an arc begins or ends there may be a little turn that the moving of ends has made.
    let joint = |pair: &[Curve]| match pair {
        [Curve::Line { .. }, Curve::Line { .. }] => {
            let (into, out) = (pair[0].direction(1.0), pair[1].direction(0.0));
            cross(into, out).atan2(dot(into, out))
        }
        _ => 0.0,
    };
    let own = |curve: &Curve| match *curve {
        Curve::Arc { turn, .. } => turn,
        Curve::Line { .. } => 0.0,
    };
    let turn = |edge: &Edge| -> f64 {
        edge.curves.iter().map(own).sum::<f64>() + edge.curves.windows(2).map(joint).sum::<f64>()
    };
    let same_way = if a.from == b.from { 1.0 } else { -1.0 };
    let by_bend = (turn(a) - same_way * turn(b)).abs() * TOUCH_BEND_MM > a.length();
    // Straight lines that part slowly lie on each other until they are farther apart than the tolerance.
    let by_way = |edge: &Edge| (edge.moved[0] - edge.moved[1]).abs() > TOUCH_ANGLE * edge.length();
    a.from != a.to && (by_bend || by_way(a) || by_way(b))
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
