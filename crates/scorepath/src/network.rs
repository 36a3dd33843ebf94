//! The lines that breaks follow, each once: what of a break lies on an earlier score or on the sheet's edge is not scored again.

use crate::Sheet;
use crate::index::{Index, foot};
use crate::path::Purpose;
use crate::stretch::{cross, dot, norm, unit};
use cullet_breakout::{Outcome, Step};
use cullet_geometry::Point;

/// Lines nearer than this are one, mm.
const SAME_LINE: f64 = 0.02;
/// Shorter stretches of a break that lie on another line only meet it, mm.
const ONLY_MEETS: f64 = 0.5;
/// A break's end so near to the sheet's edge is on it, mm.
pub(crate) const ON_EDGE: f64 = 0.05;
/// A score so near to a piece's outline follows it, mm.
const FOLLOWS: f64 = 0.02;

/// Which side of a score the piece lies on that it follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Beside {
    Left,
    Right,
    /// None: it opens waste.
    None,
}

/// A line to be scored.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    pub(crate) points: Vec<Point>,
    /// What each of its sides follows.
    pub(crate) beside: Vec<Beside>,
    /// Whether it starts and ends on the sheet's edge; else it ends on another score.
    pub(crate) on_edge: [bool; 2],
    /// The break, by its index.
    pub(crate) step: usize,
    /// What it is where it follows no piece.
    pub(crate) otherwise: Purpose,
}

/// The lines of a sheet.
pub(crate) fn lines(sheet: &Sheet<'_>) -> Vec<Line> {
    let mut taken: Index<()> = Index::new();
    let mut edge: Index<()> = Index::new();
    for (a, b) in ring(sheet.outline.points()) {
        taken.add(a, b, ());
        edge.add(a, b, ());
    }
    let mut pieces: Index<()> = Index::new();
    for outline in sheet.pieces.iter().chain(sheet.offcuts) {
        ring(outline.points()).for_each(|(a, b)| pieces.add(a, b, ()));
    }
    let mut lines = vec![];
    for (number, step) in sheet.breaking.steps.iter().enumerate() {
        for points in not_taken(&step.chain, &taken) {
            let on_edge = [points[0], points[points.len() - 1]].map(|p| is_on(&edge, p, ON_EDGE));
            lines.push(Line {
                beside: points.windows(2).map(|w| beside(&pieces, w[0], w[1])).collect(),
                on_edge,
                step: number,
                otherwise: otherwise(step),
                points,
            });
        }
        for w in step.chain.windows(2) {
            taken.add(w[0], w[1], ());
        }
    }
    lines
}

fn ring(points: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    points.iter().copied().zip(points.iter().copied().cycle().skip(1))
}

fn is_on(index: &Index<()>, p: Point, reach: f64) -> bool {
    index
        .near(p, p, reach)
        .iter()
        .any(|(a, b, ())| foot(*a, *b, p).1 <= reach)
}

fn otherwise(step: &Step) -> Purpose {
    let is_waste = |outcome| matches!(outcome, Outcome::Cullet | Outcome::Nibbled);
    if step.chain.len() == 2 && (is_waste(step.left) || is_waste(step.right)) {
        Purpose::Trim
    } else {
        Purpose::Relief
    }
}

/// The stretches of a chain that lie on no line taken already.
fn not_taken(chain: &[Point], taken: &Index<()>) -> Vec<Vec<Point>> {
    let mut lengths = vec![0.0];
    for w in chain.windows(2) {
        lengths.push(lengths[lengths.len() - 1] + norm(w[1] - w[0]));
    }
    let mut covered: Vec<(f64, f64)> = vec![];
    for (w, from) in chain.windows(2).zip(&lengths) {
        let length = norm(w[1] - w[0]);
        for (a, b, ()) in taken.near(w[0], w[1], SAME_LINE) {
            if let Some((low, high)) = shared(w[0], w[1], *a, *b) {
                covered.push((from + low * length, from + high * length));
            }
        }
    }
    covered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let whole = lengths[lengths.len() - 1];
    let mut free = vec![];
    let mut at = 0.0;
    for (low, high) in merged(&covered)
        .into_iter()
        .filter(|(low, high)| high - low > ONLY_MEETS)
    {
        free.push((at, low));
        at = high;
    }
    free.push((at, whole));
    free.into_iter()
        .filter(|(low, high)| high - low > SAME_LINE)
        .map(|(low, high)| between(chain, low, high))
        .filter(|points| points.len() > 1)
        .collect()
}

/// Intervals that touch made one.
fn merged(sorted: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut merged: Vec<(f64, f64)> = vec![];
    for (low, high) in sorted {
        match merged.last_mut() {
            Some(last) if *low <= last.1 + SAME_LINE => last.1 = last.1.max(*high),
            _ => merged.push((*low, *high)),
        }
    }
    merged
}

/// Between which shares of the side from `p` to `q` it lies on the side from `a` to `b`.
fn shared(p: Point, q: Point, a: Point, b: Point) -> Option<(f64, f64)> {
    let side = q - p;
    let along = |x: Point| dot(x - p, side) / dot(side, side).max(f64::MIN_POSITIVE);
    let (s, t) = (along(a), along(b));
    let (low, high) = (s.min(t).max(0.0), s.max(t).min(1.0));
    // How far the side lies to one side of the other line changes evenly along it.
    let line = unit(b - a);
    let off = |share: f64| cross(line, p + side * share - a);
    let slope = off(1.0) - off(0.0);
    let (low, high) = if slope.abs() < 1e-12 {
        if off(0.0).abs() > SAME_LINE {
            return None;
        }
        (low, high)
    } else {
        let (s, t) = ((-SAME_LINE - off(0.0)) / slope, (SAME_LINE - off(0.0)) / slope);
        (low.max(s.min(t)), high.min(s.max(t)))
    };
    (low < high).then_some((low, high))
}

/// The points of a chain from one distance along it to another.
pub(crate) fn between(chain: &[Point], low: f64, high: f64) -> Vec<Point> {
    let mut points: Vec<Point> = vec![];
    let mut at = 0.0;
    for w in chain.windows(2) {
        let length = norm(w[1] - w[0]);
        let here = |s: f64| w[0] + (w[1] - w[0]) * ((s - at) / length.max(f64::MIN_POSITIVE));
        if at + length > low && at < high {
            if points.is_empty() {
                points.push(if low > at { here(low) } else { w[0] });
            }
            points.push(if high < at + length { here(high) } else { w[1] });
        }
        at += length;
    }
    points.dedup();
    points
}

/// On which side the piece lies that the side from `p` to `q` follows; outlines run counter-clockwise.
fn beside(pieces: &Index<()>, p: Point, q: Point) -> Beside {
    for (a, b, ()) in pieces.near(p, q, FOLLOWS) {
        let middle = (p + q) / 2.0;
        let near = [p, middle, q].iter().all(|x| foot(*a, *b, *x).1 <= FOLLOWS);
        // A facet may end a little before the side that follows it.
        let within = foot(*a, *b, middle).1 <= FOLLOWS && norm(q - p) > norm(*b - *a);
        if near || (within && foot(p, q, (*a + *b) / 2.0).1 <= FOLLOWS) {
            return match dot(q - p, *b - *a) > 0.0 {
                true => Beside::Left,
                false => Beside::Right,
            };
        }
    }
    Beside::None
}
