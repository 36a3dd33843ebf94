//! Lines and arcs through corner points: every corner rounded where facets touch their curve, then arcs joined while they stay near.
//!
//! A facet's corner is rounded off by an arc that touches both its sides; how much of a side each of its corners gets follows from
//! how far they turn, so that a circle's facets all give the circle itself. Corners of other kinds are rounded within the tolerance
//! if the wheel may drive them, else the path ends there. Neighbouring arcs are then replaced by one arc, or by two that touch (a
//! biarc), as long as they stay within a fifth of the tolerance. All stretches of a section share their tangents.

use crate::Settings;
use crate::stretch::{Stretch, cross, dot, norm, turn, unit};
use cullet_geometry::Point;

/// Share of the tolerance for points left out, and as much for corners rounded.
const SHARE: f64 = 0.2;
/// And for arcs joined. The sum leaves room, since a facet whose neighbours are much shorter is rounded beyond its middle.
const JOINED: f64 = 0.22;
/// The sharpest corner between two facets of one curve, radians: a curve is flattened in stretches of at most 45°.
const FACET_TURN: f64 = 0.79;
/// Tangents that differ by less than this are common ones, radians (0.06°).
const COMMON: f64 = 1e-3;
/// Arcs sweep less than half a turn, so that one centre and direction say which is meant.
const MOST_SWEEP: f64 = 3.1;

/// The sections of a path through `points`, each driven without a lift: its corners are those the wheel turns at in the air. Fewer than
/// two different points give nothing. Cost O(n log n).
///
/// ```
/// use cullet_geometry::Point;
/// use cullet_scorepath::{Settings, fit};
/// // A circle of 50 mm radius as 40 facets that touch it, from the middle of one of them round to the same.
/// let at = |r: f64, k: f64| Point { x: r * (k * 0.05 * std::f64::consts::PI).cos(), y: r * (k * 0.05 * std::f64::consts::PI).sin() };
/// let corner = 50.0 / (std::f64::consts::PI / 40.0).cos();
/// let corners = (0..40).map(|k| at(corner, f64::from(k) + 0.5));
/// let points: Vec<Point> = [at(50.0, 0.0)].into_iter().chain(corners).chain([at(50.0, 0.0)]).collect();
/// let settings = Settings { facet: 0.16, ..Settings::default() };
/// let sections = fit::sections(&points, &settings);
/// // Three arcs again, each under half a turn, of its own radius.
/// assert_eq!((sections.len(), sections[0].len()), (1, 3));
/// assert!(sections[0].iter().all(|arc| (arc.radius() - 50.0).abs() < 0.005));
/// ```
#[must_use]
pub fn sections(points: &[Point], settings: &Settings) -> Vec<Vec<Stretch>> {
    let points = thinned(points, settings.fit * SHARE);
    if points.len() < 2 {
        return vec![];
    }
    rounded(&points, settings)
        .iter()
        .map(|section| joined(section, settings.fit * JOINED))
        .collect()
}

/// The points without those that the line between its neighbours passes within `tolerance` (Douglas & Peucker 1973).
fn thinned(points: &[Point], tolerance: f64) -> Vec<Point> {
    let mut kept = vec![false; points.len()];
    let Some(last) = points.len().checked_sub(1) else {
        return vec![];
    };
    // Closed lines have no line between their ends: they are cut where they reach farthest.
    (kept[0], kept[last]) = (true, true);
    let mut spans = vec![(0, last)];
    while let Some((a, b)) = spans.pop() {
        let side = Stretch::Line {
            from: points[a],
            to: points[b],
        };
        let farthest = (a + 1..b)
            .map(|k| (k, side.distance(points[k])))
            .max_by(|x, y| x.1.total_cmp(&y.1));
        if let Some((k, off)) = farthest
            && off > tolerance
        {
            kept[k] = true;
            spans.extend([(a, k), (k, b)]);
        }
    }
    let kept: Vec<Point> = points.iter().zip(&kept).filter(|(_, k)| **k).map(|(p, _)| *p).collect();
    if kept.len() == 2 && kept[0] == kept[1] {
        vec![]
    } else {
        kept
    }
}

/// What a corner is.
#[derive(Clone, Copy, PartialEq)]
enum Corner {
    /// Rounded off, its arc touching the sides so far from the corner, mm.
    Round(f64),
    /// The wheel is lifted.
    Lift,
}

fn rounded(points: &[Point], settings: &Settings) -> Vec<Vec<Stretch>> {
    let sides: Vec<Point> = points.windows(2).map(|w| w[1] - w[0]).collect();
    let lengths: Vec<f64> = sides.iter().map(|side| norm(*side)).collect();
    let turns: Vec<f64> = sides.windows(2).map(|w| turn(w[0], w[1])).collect();
    let corners = corners(&lengths, &turns, settings);
    let mut sections = vec![];
    let mut section: Vec<Stretch> = vec![];
    let mut at = points[0];
    for (i, corner) in corners.iter().enumerate() {
        let p = points[i + 1];
        match *corner {
            Corner::Round(d) if d < 1e-7 => {
                add_line(&mut section, at, p);
                at = p;
            }
            Corner::Round(d) => {
                let (into, out) = (unit(sides[i]), unit(sides[i + 1]));
                let (start, end) = (p - into * d, p + out * d);
                add_line(&mut section, at, start);
                section.push(Stretch::tangent(start, into, end));
                at = end;
            }
            Corner::Lift => {
                add_line(&mut section, at, p);
                sections.push(std::mem::take(&mut section));
                at = p;
            }
        }
    }
    add_line(&mut section, at, points[points.len() - 1]);
    sections.push(section);
    sections.retain(|section| !section.is_empty());
    sections
}

fn add_line(section: &mut Vec<Stretch>, from: Point, to: Point) {
    if norm(to - from) > 1e-9 {
        section.push(Stretch::Line { from, to });
    }
}

/// What each inner corner is. A side's length is shared by its two corners as the tangents of half their turns; corners at which
/// the wheel lifts need none of it, so it is worked out again until nothing changes.
fn corners(lengths: &[f64], turns: &[f64], settings: &Settings) -> Vec<Corner> {
    let limit = settings.turn_limit_deg.to_radians();
    let mut lifts: Vec<bool> = turns.iter().map(|turn| turn.abs() > FACET_TURN).collect();
    loop {
        let known = lifts.clone();
        let weight = |i: usize| if known[i] { 0.0 } else { (turns[i].abs() / 2.0).tan() };
        let share = |i: usize, other: Option<usize>| {
            let own = weight(i);
            let others = other.filter(|j| *j < turns.len()).map_or(0.0, weight);
            if own > 0.0 { own / (own + others) } else { 0.0 }
        };
        let mut corners = Vec::with_capacity(turns.len());
        let mut changed = false;
        for (i, turn) in turns.iter().map(|turn| turn.abs()).enumerate() {
            if lifts[i] {
                corners.push(Corner::Lift);
                continue;
            }
            let before = lengths[i] * share(i, i.checked_sub(1));
            let after = lengths[i + 1] * share(i, Some(i + 1));
            let mut reach = before.min(after);
            let depth = (turn / 4.0).tan();
            let is_facet = reach * depth <= settings.facet && reach >= settings.smallest_radius * (turn / 2.0).tan();
            if !is_facet {
                if turn > limit {
                    lifts[i] = true;
                    changed = true;
                } else {
                    reach = reach.min(settings.fit * SHARE / depth);
                }
            }
            corners.push(Corner::Round(reach));
        }
        if !changed {
            return corners;
        }
    }
}

/// The section with as few stretches as one arc or biarc at a time gives, each reaching as far as it can.
fn joined(section: &[Stretch], tolerance: f64) -> Vec<Stretch> {
    let mut made = vec![];
    let mut first = 0;
    while first < section.len() {
        let mut best = (1, vec![section[first]]);
        // Twice as far as long as it does, then halved between.
        let (mut step, mut too_far) = (2, section.len() - first + 1);
        while first + step <= section.len() {
            match one(&section[first..first + step], tolerance) {
                Some(one) => {
                    best = (step, one);
                    step = (step * 2).min((section.len() - first).max(step + 1));
                }
                None => {
                    too_far = step;
                    break;
                }
            }
        }
        while best.0 + 1 < too_far {
            let middle = best.0.midpoint(too_far);
            match one(&section[first..first + middle], tolerance) {
                Some(one) => best = (middle, one),
                None => too_far = middle,
            }
        }
        first += best.0;
        made.extend(best.1);
    }
    made
}

/// One arc, else a biarc, in the place of several stretches; nothing where neither stays within the tolerance.
fn one(stretches: &[Stretch], tolerance: f64) -> Option<Vec<Stretch>> {
    let (first, last) = (stretches.first()?, stretches.last()?);
    let (from, to) = (first.from(), last.to());
    let (heading, end) = (first.heading(), last.end_heading());
    let sweep: f64 = stretches.iter().map(Stretch::sweep).sum();
    if sweep.abs() > MOST_SWEEP || norm(to - from) < 1e-6 {
        return None;
    }
    let arc = Stretch::tangent(from, heading, to);
    if turn(arc.end_heading(), end).abs() < COMMON && is_near(stretches, &[arc], sweep, tolerance) {
        return Some(vec![arc]);
    }
    let pair = biarc(from, heading, to, end)?;
    // Two for two is no gain.
    (stretches.len() > 2 && is_near(stretches, &pair, sweep, tolerance)).then(|| pair.to_vec())
}

/// Two arcs that touch, from `from` along `heading` to `to` along `end`, with equal tangents at the ends.
fn biarc(from: Point, heading: Point, to: Point, end: Point) -> Option<[Stretch; 2]> {
    let v = to - from;
    let t = heading + end;
    let (vv, vt) = (dot(v, v), dot(v, t));
    let spread = 1.0 - dot(heading, end);
    let reach = if spread < 1e-12 {
        vv / (2.0 * vt)
    } else {
        ((vt * vt + 2.0 * spread * vv).sqrt() - vt) / (2.0 * spread)
    };
    if !(reach.is_finite() && reach > 0.0) {
        return None;
    }
    let middle = (from + to + (heading - end) * reach) / 2.0;
    let first = Stretch::tangent(from, heading, middle);
    let second = Stretch::tangent(to, end * -1.0, middle).reversed();
    let touch = turn(first.end_heading(), second.heading()).abs() < COMMON;
    touch.then_some([first, second])
}

/// Whether every point of the stretches lies near the new ones, which turn as far.
fn is_near(stretches: &[Stretch], new: &[Stretch], sweep: f64, tolerance: f64) -> bool {
    let turned: f64 = new.iter().map(Stretch::sweep).sum();
    if (turned - sweep).abs() > 0.01 || new.iter().any(|arc| arc.radius().is_finite() && arc.radius() > 1e5) {
        return false;
    }
    let off = |p: Point| new.iter().map(|one| one.distance(p)).fold(f64::INFINITY, f64::min);
    let middle_first = stretches.len() / 2;
    let order = (middle_first..stretches.len()).chain(0..middle_first);
    order.into_iter().all(|k| {
        let stretch = &stretches[k];
        [0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875]
            .into_iter()
            .all(|share| off(stretch.at(share)) <= tolerance)
    }) && !goes_back(new)
}

/// Whether the second of two arcs runs back along the first.
fn goes_back(new: &[Stretch]) -> bool {
    new.windows(2).any(|w| {
        let (a, b) = (w[0].to() - w[0].from(), w[1].to() - w[1].from());
        dot(a, b) < 0.0 && cross(a, b).abs() < 0.1 * norm(a) * norm(b)
    })
}
