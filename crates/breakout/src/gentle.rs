//! The path through a corridor that bends least: a spline under tension of its own stiffness between the two groups.
//!
//! Heights at even places are found by an interior-point method (Mehrotra 1992; primal and dual together) on a banded system;
//! then stretches that still bend by more than the rule lets them are made stiffer, a few times over.

use crate::bend::Course;
use crate::corridor::Gate;
use crate::rule::Rule;
use cullet_geometry::Point;
use cullet_geometry::tolerance::TOUCH;

/// Distance between the places whose heights are found, mm, and the most of them.
const STEP: f64 = 4.0;
const MOST_PLACES: usize = 400;
/// Beyond the corridor's ends the path still may bend over so much, mm.
const BEYOND: f64 = 30.0;
/// Pull on the path's length beside its stiffness, 1/mm²: decides where nothing bends.
const TENSION: f64 = 1e-7;
/// Steps of the interior-point method before a corridor is given up.
const MOST_STEPS: usize = 45;
/// Mean of force times slack at which there is no way through: it begins below a tenth and falls.
const BLOWN_UP: f64 = 10.0;
/// How often stretches are stiffened, and by how many times too much a path may bend each time to be gone on with: the first time takes
/// off a third or so, the later ones little. Of 132 paths that came to something 131 bent by less than 1.23 after the second time and
/// by less than 1.22 after the third; most of 839 that came to nothing bent by more.
const GONE_ON_WITH: [f64; 4] = [2.5, 1.5, 1.25, 1.25];
/// How far before and behind a corner of the shortest path it is looked at, mm.
const PROBED: [f64; 4] = [10.0, 18.0, 30.0, 45.0];
/// An arc may be so many times tighter than the rule's bend, since that is judged over a whole bend length.
const TIGHTER: f64 = 1.3;
/// How far the path may leave its places when it is drawn with fewer corners, mm.
const STRAIGHTENED: [f64; 2] = [0.1, 0.03];

/// The gentlest path from `reach` before the corridor to `reach` behind it, where the rule lets it be a score between pieces.
pub(crate) fn gentle_path(gates: &[Gate], reach: f64, rule: &Rule) -> Option<Vec<Point>> {
    let corridor = Corridor::of(gates)?;
    let mut weights = vec![1.0; corridor.places];
    let mut start: Option<Vec<f64>> = None;
    for most in GONE_ON_WITH {
        let heights = corridor.solved(&weights, start.as_deref())?;
        for slack in STRAIGHTENED {
            let path = corridor.drawn(&heights, slack, reach);
            if rule.follows(&path, &(0..0)).is_ok() {
                return Some(path);
            }
        }
        let path = corridor.drawn(&heights, 0.0, reach);
        if rule.follows(&path, &(0..0)).is_ok() {
            return Some(path);
        }
        if stiffen(&mut weights, &corridor, &path, rule) > most {
            return None;
        }
        start = Some(heights);
    }
    None
}

/// Whether no score that the rule lets be gets round the corners of the shortest path.
///
/// Between a place before a corner and one behind it a score bulges no further over the chord than an arc of the rule's bend;
/// what is missing then it must find beside the shortest path, on the outer side at those places. Rooms are taken larger and
/// arcs tighter than they are, so that nothing that could be is called hopeless. Cost O(corners · log gates).
pub(crate) fn is_hopeless(gates: &[Gate], shortest: &[Point], rule: &Rule) -> bool {
    let radius = rule.bend_length / rule.sharpest_turn_deg.to_radians() / TIGHTER;
    (1..shortest.len().saturating_sub(1)).any(|k| {
        PROBED.iter().any(|far| {
            let (a, b) = (walked(shortest, k, *far, false), walked(shortest, k, *far, true));
            let chord = b - a;
            let size = chord.x.hypot(chord.y);
            if size < *far {
                // It doubles back: the chord says nothing.
                return false;
            }
            let corner = shortest[k] - a;
            let over = (chord.x * corner.y - chord.y * corner.x) / size;
            let half = (size / 2.0).min(radius);
            let bulge = radius - (radius * radius - half * half).sqrt();
            let room = [a, b].map(|p| room_beside(gates, p, over > 0.0));
            over.abs() > bulge + room[0].max(room[1]) + TOUCH
        })
    })
}

/// The place so far along a path before or behind its corner `k`.
fn walked(path: &[Point], k: usize, far: f64, behind: bool) -> Point {
    let mut left = far;
    let mut at = path[k];
    let rest: Vec<Point> = if behind {
        path[k + 1..].to_vec()
    } else {
        path[..k].iter().rev().copied().collect()
    };
    for next in rest {
        let side = next - at;
        let size = side.x.hypot(side.y);
        if size >= left {
            return at + side * (left / size);
        }
        left -= size;
        at = next;
    }
    at
}

/// How far it is from a place up to the ceiling or down to the floor, at the roomier of the gates beside it.
fn room_beside(gates: &[Gate], p: Point, up: bool) -> f64 {
    let at = gates.partition_point(|g| g.x < p.x);
    let room = |g: &Gate| if up { g.ceiling - p.y } else { p.y - g.floor };
    match (at.checked_sub(1).and_then(|i| gates.get(i)), gates.get(at)) {
        (Some(before), Some(behind)) => room(before).max(room(behind)).max(0.0),
        // Beyond the corridor there is all the room in the world.
        _ => f64::INFINITY,
    }
}

/// Makes the places stiffer round which the path bends too much; by how many times too much it bends.
fn stiffen(weights: &mut [f64], corridor: &Corridor, path: &[Point], rule: &Rule) -> f64 {
    let course = Course::of(path, &(0..0));
    let mut factor = vec![1.0_f64; weights.len()];
    let mut worst = 0.0_f64;
    for i in 0..course.length.len() {
        let mut between = 0.0;
        for j in i + 1..course.length.len() {
            let turn = (course.heading[j] - course.heading[i]).abs();
            worst = worst.max(turn / rule.sharpest_turn_deg);
            if turn > 0.8 * rule.sharpest_turn_deg {
                let (from, to) = (corridor.place(course.start[i + 1].x), corridor.place(course.start[j].x));
                let much = (turn / (0.8 * rule.sharpest_turn_deg)).powi(2);
                for f in &mut factor[from..=to.max(from)] {
                    *f = f.max(much);
                }
            }
            between += course.length[j];
            if between >= rule.bend_length {
                break;
            }
        }
    }
    for (w, f) in weights.iter_mut().zip(&factor) {
        *w *= f;
    }
    worst
}

/// A bound at one place: `sign` · (height between the places `at` and the next, at `share`) ≥ `least`.
struct Row {
    at: usize,
    share: f64,
    sign: f64,
    least: f64,
}

struct Corridor {
    from: f64,
    step: f64,
    places: usize,
    rows: Vec<Row>,
    /// A height in the middle of it all, taken off for the sake of rounding.
    middle: f64,
}

impl Corridor {
    fn of(gates: &[Gate]) -> Option<Self> {
        let (first, last) = (gates.first()?, gates.last()?);
        let from = first.x - BEYOND;
        let span = last.x + BEYOND - from;
        if !(span > 0.0 && span.is_finite()) {
            return None;
        }
        let step = STEP.max(span / MOST_PLACES as f64);
        let places = (span / step).ceil() as usize + 1;
        let bounded: Vec<f64> = gates
            .iter()
            .flat_map(|g| [g.floor, g.ceiling])
            .filter(|y| y.is_finite())
            .collect();
        let middle = bounded.iter().sum::<f64>() / bounded.len().max(1) as f64;
        let mut corridor = Self {
            from,
            step,
            places,
            rows: vec![],
            middle,
        };
        corridor.bound_by(gates, 1.0);
        corridor.bound_by(gates, -1.0);
        corridor.rows.sort_by_key(|r| r.at);
        Some(corridor)
    }

    fn place(&self, x: f64) -> usize {
        (((x - self.from) / self.step).floor().max(0.0) as usize).min(self.places - 2)
    }

    /// The rows of the floor (`sign` 1) or of the ceiling (−1). Between two places the path is straight: of all corners of the
    /// floor there only those of its upper hull bound it.
    fn bound_by(&mut self, gates: &[Gate], sign: f64) {
        let mut among: Vec<(f64, f64)> = vec![];
        let mut at = 0;
        let mut before: Option<(f64, f64)> = None;
        for gate in gates {
            // Clear of the bodies where there is room; those that touch leave none: half of what they may sink into each other
            // is given.
            let clear = if gate.ceiling - gate.floor > 4.0 * TOUCH {
                0.5
            } else {
                -0.25
            } * TOUCH;
            let bound = if sign > 0.0 { gate.floor } else { gate.ceiling };
            let y = sign * (bound - self.middle) + clear;
            let place = self.place(gate.x);
            while at < place {
                // The floor at the place between, where it is there on both sides of it.
                let x = self.from + self.step * (at + 1) as f64;
                let there = before.filter(|b| y.is_finite() && b.1.is_finite() && gate.x > b.0);
                let corner = there.map(|b| (x, b.1 + (y - b.1) * (x - b.0) / (gate.x - b.0)));
                among.extend(corner);
                self.enter(at, sign, &mut among);
                among.extend(corner);
                at += 1;
            }
            if y.is_finite() {
                among.push((gate.x, y));
            }
            before = Some((gate.x, y));
        }
        self.enter(at, sign, &mut among);
    }

    /// Enters the corners between place `at` and the next, and empties them.
    fn enter(&mut self, at: usize, sign: f64, among: &mut Vec<(f64, f64)>) {
        let mut hull: Vec<(f64, f64)> = vec![];
        for p in among.drain(..) {
            while let [.., a, b] = hull[..] {
                let below = (b.0 - a.0) * (p.1 - a.1) >= (p.0 - a.0) * (b.1 - a.1);
                if !below {
                    break;
                }
                hull.pop();
            }
            hull.push(p);
        }
        for (x, least) in hull {
            let share = ((x - self.from) / self.step - at as f64).clamp(0.0, 1.0);
            self.rows.push(Row { at, share, sign, least });
        }
    }

    /// The heights of least bending, each place's bending times its weight; nothing where the corridor has no way through.
    fn solved(&self, weights: &[f64], start: Option<&[f64]>) -> Option<Vec<f64>> {
        let n = self.places;
        let stiffness = self.stiffness(weights);
        let mut y = start.map_or_else(|| vec![0.0; n], <[f64]>::to_vec);
        let gap = |y: &[f64], row: &Row| row.sign * (y[row.at] * (1.0 - row.share) + y[row.at + 1] * row.share);
        let mut slack: Vec<f64> = self.rows.iter().map(|r| (gap(&y, r) - r.least).max(1.0)).collect();
        let mut force = vec![1e-3; self.rows.len()];
        for _ in 0..MOST_STEPS {
            let mean = slack.iter().zip(&force).map(|(s, z)| s * z).sum::<f64>() / slack.len().max(1) as f64;
            let short: Vec<f64> = self
                .rows
                .iter()
                .zip(&slack)
                .map(|(r, s)| gap(&y, r) - s - r.least)
                .collect();
            let worst = short.iter().fold(0.0_f64, |m, s| m.max(s.abs()));
            // Where there is no way through the forces grow without end, and the heights stay as they are.
            if (worst < 1e-5 && mean < 1e-8) || mean > BLOWN_UP {
                break;
            }
            let aim = 0.15 * mean;
            let mut matrix = stiffness.clone();
            let mut right = stiffness.times(&y).into_iter().map(|v| -v).collect::<Vec<f64>>();
            for (k, row) in self.rows.iter().enumerate() {
                let (a, b) = (row.sign * (1.0 - row.share), row.sign * row.share);
                let pull = force[k] / slack[k];
                matrix.0[row.at][0] += pull * a * a;
                matrix.0[row.at][1] += pull * a * b;
                matrix.0[row.at + 1][0] += pull * b * b;
                // The force itself, less what is asked of it.
                let load = force[k] - (force[k] * slack[k] - aim + force[k] * short[k]) / slack[k];
                right[row.at] += load * a;
                right[row.at + 1] += load * b;
            }
            let step = matrix.solve(right)?;
            let move_of = |k: usize| gap(&step, &self.rows[k]) + short[k];
            let (mut far, mut far_force) = (1.0_f64, 1.0_f64);
            let mut moves = Vec::with_capacity(self.rows.len());
            for k in 0..self.rows.len() {
                let s = move_of(k);
                let z = -(force[k] * slack[k] - aim + force[k] * s) / slack[k];
                if s < 0.0 {
                    far = far.min(-0.95 * slack[k] / s);
                }
                if z < 0.0 {
                    far_force = far_force.min(-0.95 * force[k] / z);
                }
                moves.push((s, z));
            }
            for (v, d) in y.iter_mut().zip(&step) {
                *v += far * d;
            }
            for (k, (s, z)) in moves.into_iter().enumerate() {
                slack[k] += far * s;
                force[k] += far_force * z;
            }
        }
        let least = self
            .rows
            .iter()
            .map(|r| gap(&y, r) - r.least)
            .fold(f64::INFINITY, f64::min);
        (least > -0.25 * TOUCH).then_some(y)
    }

    /// Energy of bending, and a little of length, as a banded matrix.
    fn stiffness(&self, weights: &[f64]) -> Banded {
        let n = self.places;
        let mut matrix = Banded(vec![[1e-12, 0.0, 0.0]; n]);
        for (k, weight) in weights.iter().enumerate().take(n - 1).skip(1) {
            let w = weight / self.step.powi(3);
            for (i, a) in [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)] {
                for (j, b) in [(k - 1, 1.0), (k, -2.0), (k + 1, 1.0)] {
                    if j >= i {
                        matrix.0[i][j - i] += w * a * b;
                    }
                }
            }
        }
        for k in 0..n - 1 {
            let w = TENSION / self.step;
            matrix.0[k][0] += w;
            matrix.0[k + 1][0] += w;
            matrix.0[k][1] -= w;
        }
        matrix
    }

    /// The path with as few corners as keep within `slack` of the heights and inside the corridor.
    fn drawn(&self, heights: &[f64], slack: f64, reach: f64) -> Vec<Point> {
        let at = |k: usize| Point {
            x: self.from + self.step * k as f64,
            y: heights[k],
        };
        let mut kept = vec![0];
        let mut k = 0;
        while k + 1 < heights.len() {
            // As far as one straight piece goes, doubling and then halving.
            let (mut good, mut stride) = (k + 1, 2);
            while slack > 0.0 && k + stride < heights.len() && self.is_straight(heights, k, k + stride, slack) {
                good = k + stride;
                stride *= 2;
            }
            let (mut low, mut high) = (good, (k + stride).min(heights.len()));
            while slack > 0.0 && high - low > 1 {
                let middle = usize::midpoint(low, high);
                if self.is_straight(heights, k, middle, slack) {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            k = low;
            kept.push(k);
        }
        let mut path: Vec<Point> = kept.into_iter().map(at).collect();
        let (first, second) = (path[0], path[1]);
        let (last, before) = (path[path.len() - 1], path[path.len() - 2]);
        let led = |from: Point, to: Point| to + (to - from) / (to.x - from.x).abs() * reach;
        path[0] = led(second, first);
        if let Some(end) = path.last_mut() {
            *end = led(before, last);
        }
        for p in &mut path {
            p.y += self.middle;
        }
        path
    }

    /// Whether the straight line from place to place keeps near the heights and inside the corridor.
    fn is_straight(&self, heights: &[f64], from: usize, to: usize, slack: f64) -> bool {
        let line = |k: f64| heights[from] + (heights[to] - heights[from]) * (k - from as f64) / (to - from) as f64;
        let near = (from + 1..to).all(|k| (heights[k] - line(k as f64)).abs() <= slack);
        let first = self.rows.partition_point(|r| r.at < from);
        let between = self.rows[first..].iter().take_while(|r| r.at < to);
        near && between
            .into_iter()
            .all(|r| r.sign * line(r.at as f64 + r.share) >= r.least)
    }
}

/// A symmetric matrix with two bands beside its diagonal: row k has the entries k, k+1 and k+2 of it.
#[derive(Clone)]
struct Banded(Vec<[f64; 3]>);

impl Banded {
    fn times(&self, x: &[f64]) -> Vec<f64> {
        let n = x.len();
        let mut y = vec![0.0; n];
        for (k, row) in self.0.iter().enumerate() {
            y[k] += row[0] * x[k];
            for d in 1..3.min(n - k) {
                y[k] += row[d] * x[k + d];
                y[k + d] += row[d] * x[k];
            }
        }
        y
    }

    /// Solves for the right side, in place of the matrix; nothing where it is not positive definite.
    fn solve(mut self, mut right: Vec<f64>) -> Option<Vec<f64>> {
        let n = right.len();
        // L·D·Lᵀ: the rows become those of Lᵀ.
        for k in 0..n {
            let d = self.0[k][0];
            if d.is_nan() || d <= 0.0 {
                return None;
            }
            let (a, b) = (self.0[k][1] / d, self.0[k][2] / d);
            if k + 1 < n {
                self.0[k + 1][0] -= a * self.0[k][1];
                self.0[k + 1][1] -= a * self.0[k][2];
                right[k + 1] -= a * right[k];
            }
            if k + 2 < n {
                self.0[k + 2][0] -= b * self.0[k][2];
                right[k + 2] -= b * right[k];
            }
            right[k] /= d;
            (self.0[k][1], self.0[k][2]) = (a, b);
        }
        for k in (0..n).rev() {
            if k + 1 < n {
                right[k] -= self.0[k][1] * right[k + 1];
            }
            if k + 2 < n {
                right[k] -= self.0[k][2] * right[k + 2];
            }
        }
        Some(right)
    }
}

#[cfg(test)]
mod tests;
