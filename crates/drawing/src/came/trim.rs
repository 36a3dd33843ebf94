//! The offsets of a cell's sides, cut where they meet.
//!
//! An offset of a line is a line, that of an arc an arc, so the boundary of what the leads leave is made of lines and arcs
//! again. Every side is moved; at corners that turn inwards the moved sides go on until they meet, or an arc goes round the
//! corner; all of it is cut at every crossing; a part belongs to the boundary if its middle stands off *every* side as it
//! should; and the parts are walked to rings, the glass on their left. Sides that vanish, necks that close and cusps that the
//! came fills need no rule of their own.
//!
//! # Cost
//! O((n + k) log n) for n sides of which k pairs come near each other.

mod meets;
use meets::cut_up;

mod rings;
pub(super) use rings::joined;
use rings::{rings, tidy_ring};

use super::CellSide;
use crate::curve::{Curve, SAME_POINT, cross, dot, length};
use cullet_geometry::Point;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};
use std::f64::consts::PI;

/// Sides shorter than this give way to their neighbours, mm: too short for their direction to mean anything.
const SHORT_SIDE_MM: f64 = 1e-3;
/// Moved sides that end so near each other meet half way, mm.
const WELD_MM: f64 = 2e-4;
/// How much nearer to a side than its inset a part of the boundary may come for rounding, mm.
const SLACK_MM: f64 = 1e-6;
/// How finely the cell's boundary is taken where only inside or outside is asked, mm.
const CHORD_MM: f64 = 0.01;
/// Ends nearer than this are one corner, mm.
const CORNER_MM: f64 = 2e-5;
/// The longest part that may lead nowhere, mm; a longer one tells that something was missed.
const STRAY_MM: f64 = 0.1;
/// Curves of the result shorter than this give way to their neighbours, mm: they would mean nothing on a grid of 1e-4 mm.
const SHORT_MM: f64 = 0.005;
/// Up to this turn, radians, a corner counts as smooth: the moved sides are cut or drawn out to where they meet.
const SMOOTH_TURN: f64 = 0.17;
/// Up to this turn inwards, radians, corners are mitred.
const MITRED_TURN: f64 = 1.75;

/// What happens at corners that turn inwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Corners {
    /// The moved sides go on until they meet, as leads are mitred; where they turn too far an arc goes round.
    Mitred,
    /// An arc goes round all but smooth corners.
    Round,
}

/// The rings around the spaces that the leads leave, counter-clockwise, the largest first; `None` where the parts do not make
/// rings, as where two offsets lie on each other.
pub(super) fn spaces(sides: &[CellSide], beyond: &[CellSide], corners: Corners) -> Option<Vec<Vec<Curve>>> {
    let sides = tidied(sides);
    let mut curves = moved(&sides, corners);
    curves.extend(beyond.iter().flat_map(around_line).map(Moved::from));
    let field = Field::new(&sides, beyond);
    let parts = cut_up(&curves, &field);
    let mut rings = rings(&parts)?;
    for ring in &mut rings {
        tidy_ring(ring);
    }
    let mut rings: Vec<(f64, Vec<Curve>)> = rings.into_iter().map(|ring| (twice_area(&ring), ring)).collect();
    if rings.iter().any(|(twice, _)| *twice < -1e-3) {
        return None;
    }
    rings.retain(|(twice, _)| *twice > 1e-3);
    rings.sort_by(|a, b| b.0.total_cmp(&a.0));
    Some(rings.into_iter().map(|(_, ring)| ring).collect())
}

pub(super) fn twice_area(ring: &[Curve]) -> f64 {
    let Some(origin) = ring.first().map(|curve| curve.at(0.0)) else {
        return 0.0;
    };
    ring.iter().map(|c| c.translated(origin * -1.0).twice_area()).sum()
}

/// The sides without very short ones, arcs in parts of at most half a circle.
fn tidied(sides: &[CellSide]) -> Vec<CellSide> {
    let mut found: Vec<CellSide> = vec![];
    for side in sides {
        let parts = match side.curve {
            Curve::Arc { turn, .. } => (turn.abs() / (PI * 1.000_1)).ceil().max(1.0),
            Curve::Line { .. } => 1.0,
        };
        found.extend((0..parts as usize).map(|i| CellSide {
            curve: side.curve.part(i as f64 / parts, (i + 1) as f64 / parts),
            inset: side.inset,
        }));
    }
    while found.len() > 3
        && let Some(short) = found.iter().position(|side| side.curve.length() < SHORT_SIDE_MM)
    {
        let middle = found[short].curve.at(0.5);
        let count = found.len();
        let (before, after) = ((short + count - 1) % count, (short + 1) % count);
        found[before].curve = found[before].curve.fitted(found[before].curve.at(0.0), middle);
        found[after].curve = found[after].curve.fitted(middle, found[after].curve.at(1.0));
        found.remove(short);
    }
    found
}

/// What the glass stands off, to ask whether a point does.
struct Field {
    sides: Vec<CellSide>,
    tree: RTree<Boxed>,
    reach: f64,
    ring: Vec<Point>,
}

type Boxed = GeomWithData<Rectangle<[f64; 2]>, usize>;

fn tree<'a>(curves: impl Iterator<Item = &'a Curve>) -> RTree<Boxed> {
    let boxed = curves.enumerate().map(|(i, curve)| {
        let (low, high) = curve.corners();
        GeomWithData::new(Rectangle::from_corners([low.x, low.y], [high.x, high.y]), i)
    });
    RTree::bulk_load(boxed.collect())
}

fn around(low: Point, high: Point, reach: f64) -> AABB<[f64; 2]> {
    AABB::from_corners([low.x - reach, low.y - reach], [high.x + reach, high.y + reach])
}

impl Field {
    fn new(sides: &[CellSide], beyond: &[CellSide]) -> Self {
        let all = [sides, beyond].concat();
        Self {
            tree: tree(all.iter().map(|side| &side.curve)),
            reach: all.iter().map(|side| side.inset).fold(0.0, f64::max),
            sides: all,
            ring: sides.iter().flat_map(|side| side.curve.chords(CHORD_MM)).collect(),
        }
    }

    /// Whether a point stands off every side by its inset, to within `slack` mm.
    fn stands_off(&self, p: Point, slack: f64) -> bool {
        self.tree
            .locate_in_envelope_intersecting(&around(p, p, self.reach))
            .map(|boxed| &self.sides[boxed.data])
            .all(|side| side.curve.distance(p) >= side.inset - slack)
    }
}

/// A curve that the boundary may run along, the glass on its left.
#[derive(Clone, Copy)]
struct Moved {
    curve: Curve,
    /// How far its ends were moved onto corners, mm.
    slack: f64,
}

impl From<Curve> for Moved {
    fn from(curve: Curve) -> Self {
        Self { curve, slack: 0.0 }
    }
}

/// The corner before a side, once both sides are moved.
#[derive(Clone, Copy)]
enum Joint {
    /// They end and begin in one point.
    Meet(Point),
    Apart,
}

fn moved(sides: &[CellSide], corners: Corners) -> Vec<Moved> {
    let count = sides.len();
    let before = |i: usize| &sides[(i + count - 1) % count];
    let mut joints: Vec<Joint> = (0..count).map(|i| joint(before(i), &sides[i], corners)).collect();
    let mut curves: Vec<Option<Moved>> = vec![None; count];
    for _ in 0..=count {
        let mut turned = vec![];
        for i in 0..count {
            curves[i] = shifted(&sides[i]).and_then(|curve| {
                let drawn = drawn_to(curve, joints[i], joints[(i + 1) % count]);
                if drawn.is_none() {
                    turned.push(i);
                }
                drawn
            });
        }
        if turned.is_empty() {
            break;
        }
        // What its corners would turn round stays as it is and is cut by what it crosses.
        for i in turned {
            joints[i] = Joint::Apart;
            joints[(i + 1) % count] = Joint::Apart;
        }
    }
    let mut found: Vec<Moved> = curves.into_iter().flatten().collect();
    for (i, joint) in joints.iter().enumerate() {
        if matches!(joint, Joint::Apart) {
            found.extend(round(before(i), &sides[i]).into_iter().map(Moved::from));
        }
    }
    found
}

/// The side moved; `None` where its circle shrinks to nothing.
fn shifted(side: &CellSide) -> Option<Curve> {
    match side.curve {
        Curve::Arc { radius, turn, .. } if turn > 0.0 && radius - side.inset < SAME_POINT => None,
        curve => Some(curve.shifted_left(side.inset)),
    }
}

/// A moved side between its corners; `None` where they turn it round.
fn drawn_to(curve: Curve, start: Joint, end: Joint) -> Option<Moved> {
    let from = match start {
        Joint::Meet(p) => p,
        Joint::Apart => curve.at(0.0),
    };
    let to = match end {
        Joint::Meet(p) => p,
        Joint::Apart => curve.at(1.0),
    };
    let (t0, t1) = (curve.position_beyond(from), curve.position_beyond(to));
    if t1 <= t0 {
        return None;
    }
    let drawn = curve.part(t0, t1);
    Some(Moved {
        curve: drawn.fitted(from, to),
        slack: length(drawn.at(0.0) - from).max(length(drawn.at(1.0) - to)),
    })
}

fn joint(before: &CellSide, after: &CellSide, corners: Corners) -> Joint {
    let (Some(first), Some(second)) = (shifted(before), shifted(after)) else {
        return Joint::Apart;
    };
    if before.inset != after.inset {
        return Joint::Apart;
    }
    let (end, start) = (first.at(1.0), second.at(0.0));
    let gap = length(start - end);
    if gap < SAME_POINT {
        return Joint::Meet((end + start) / 2.0);
    }
    let turn = turn_between(before, after);
    let most_inwards = match corners {
        Corners::Mitred => MITRED_TURN,
        Corners::Round => SMOOTH_TURN,
    };
    if turn > SMOOTH_TURN || turn < -most_inwards {
        return Joint::Apart;
    }
    // Where the tangents meet.
    let ideal = end - before.curve.direction(1.0) * (before.inset * (turn / 2.0).tan());
    let away = |p: &Point| length(*p - ideal);
    let meet = first.carriers_meet(&second).into_iter();
    match meet.min_by(|a, b| away(a).total_cmp(&away(b))) {
        Some(p) if away(&p) < gap.max(WELD_MM) => Joint::Meet(p),
        _ if gap < WELD_MM => Joint::Meet((end + start) / 2.0),
        _ => Joint::Apart,
    }
}

/// How far the boundary turns to the left from one side to the next, radians, −π to π.
fn turn_between(before: &CellSide, after: &CellSide) -> f64 {
    let (into, out) = (before.curve.direction(1.0), after.curve.direction(0.0));
    cross(into, out).atan2(dot(into, out))
}

/// Everything at its inset from a line beyond the cell's boundary, on both sides of it and round its ends.
fn around_line(line: &CellSide) -> Vec<Curve> {
    let back = line.curve.reversed();
    let mut found: Vec<Curve> = [line.curve, back]
        .into_iter()
        .filter_map(|curve| shifted(&CellSide { curve, ..*line }))
        .collect();
    for curve in [line.curve, back] {
        let ahead = curve.direction(0.0);
        let left = ahead.y.atan2(ahead.x) + PI / 2.0;
        // The other half lies along the line.
        found.push(Curve::Arc {
            centre: curve.at(0.0),
            radius: line.inset,
            start: left + PI,
            turn: -PI,
        });
    }
    found
}

/// Arcs round the corner between two sides.
fn round(before: &CellSide, after: &CellSide) -> Vec<Curve> {
    let corner = after.curve.at(0.0);
    let radius = before.inset.max(after.inset);
    if radius < SAME_POINT {
        return vec![];
    }
    let arc = |start: f64, turn: f64| Curve::Arc {
        centre: corner,
        radius,
        start,
        turn,
    };
    if before.inset != after.inset {
        // The wider came begins with a round end: what of it counts is left to the cutting,
        // and where it touches a moved side it must end.
        let normals = [before.curve.direction(1.0), after.curve.direction(0.0)].map(|v| v.y.atan2(v.x) + PI / 2.0);
        let between = (normals[0] - normals[1]).rem_euclid(2.0 * PI);
        let around = [(normals[0], between), (normals[1], 2.0 * PI - between)];
        return around
            .into_iter()
            .filter(|(_, turn)| *turn > 1e-6)
            .map(|(start, turn)| arc(start, -turn))
            .collect();
    }
    let into = before.curve.direction(1.0);
    let mut turn = turn_between(before, after);
    // Right back: which way round is not to be told from the directions.
    if turn > PI - 1e-3 {
        turn -= 2.0 * PI;
    }
    if turn * radius > -SAME_POINT {
        return vec![];
    }
    vec![arc(into.y.atan2(into.x) + PI / 2.0, turn)]
}
