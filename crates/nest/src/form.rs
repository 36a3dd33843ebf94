//! An item's outline made ready for fast questions, and that outline at one turn.

use crate::disks::{self, Disk};
use cullet_geometry::{Bounds, Outline, Point, offset};
use cullet_search::{Item, MOST_BACK, Problem, Turns};

/// Disk arrays are padded to a multiple of this, for whole-vector loops.
pub(crate) const LANE: usize = 8;

/// A polygon at one turn, around its reference point, ready for overlap questions.
#[derive(Debug, Clone, Default)]
pub(crate) struct Form {
    /// Corners, the first repeated at the end; mm from the reference point.
    pub(crate) xs: Vec<f64>,
    pub(crate) ys: Vec<f64>,
    /// The same for whole-vector loops, the first repeated until a whole vector can be read from any corner on.
    pub(crate) fx: Vec<f32>,
    pub(crate) fy: Vec<f32>,
    /// Disks, padded with disks of a hugely negative radius.
    pub(crate) disk_x: Vec<f32>,
    pub(crate) disk_y: Vec<f32>,
    pub(crate) disk_r: Vec<f32>,
    /// How many of the disks are real.
    pub(crate) disks: usize,
    /// Upright bounds around the corners.
    pub(crate) low: [f64; 2],
    pub(crate) high: [f64; 2],
    /// Radius of a circle around the reference point that holds it, mm.
    pub(crate) round: f64,
    /// Upper bound of the diameter, mm.
    pub(crate) reach: f32,
    /// Fourth root of the hull's area: how much it takes to get this form out of another's way.
    pub(crate) bulk: f32,
}

impl Form {
    fn new(points: &[Point]) -> Self {
        let area = signed_area(points);
        let disks = disks::inscribed(points, area);
        let hull = hull_area(points);
        let mut form = Self {
            bulk: hull.sqrt().sqrt() as f32,
            reach: diameter(points) as f32,
            round: points.iter().map(|p| p.x.hypot(p.y)).fold(0.0, f64::max) * (1.0 + 1e-12),
            disks: disks.len(),
            ..Self::default()
        };
        let padded = disks.len().div_ceil(LANE) * LANE;
        form.disk_r = disks.iter().map(|d| d.r as f32).collect();
        form.disk_r.resize(padded, -1e30);
        form.disk_x = disks.iter().map(|d: &Disk| d.x as f32).collect();
        form.disk_x.resize(padded, 0.0);
        form.disk_y = disks.iter().map(|d| d.y as f32).collect();
        form.disk_y.resize(padded, 0.0);
        form.xs = points.iter().chain(points.first()).map(|p| p.x).collect();
        form.ys = points.iter().chain(points.first()).map(|p| p.y).collect();
        form.bound();
        form
    }

    /// Writes `base` at another turn into `self`, reusing its memory.
    fn turn(&mut self, base: &Self, turn: Turn) {
        let (sin, cos) = sin_cos(turn.degrees);
        let flip = if turn.over { -1.0 } else { 1.0 };
        self.xs.clear();
        self.ys.clear();
        for (x, y) in base.xs.iter().zip(&base.ys) {
            self.xs.push(flip * (cos * x - sin * y));
            self.ys.push(sin * x + cos * y);
        }
        let (sin, cos, flip) = (sin as f32, cos as f32, flip as f32);
        self.disk_x.clear();
        self.disk_y.clear();
        for (x, y) in base.disk_x.iter().zip(&base.disk_y) {
            self.disk_x.push(flip * (cos * x - sin * y));
            self.disk_y.push(sin * x + cos * y);
        }
        self.disk_r.clear();
        self.disk_r.extend_from_slice(&base.disk_r);
        self.disks = base.disks;
        self.reach = base.reach;
        self.round = base.round;
        self.bulk = base.bulk;
        self.bound();
    }

    /// How many sides it has.
    #[inline]
    pub(crate) fn sides(&self) -> usize {
        self.xs.len() - 1
    }

    fn bound(&mut self) {
        let padded = self.sides().div_ceil(LANE) * LANE + LANE;
        let narrowed = |wide: &[f64], narrow: &mut Vec<f32>| {
            narrow.clear();
            narrow.extend(wide.iter().map(|v| *v as f32));
            narrow.resize(padded, wide[0] as f32);
        };
        narrowed(&self.xs, &mut self.fx);
        narrowed(&self.ys, &mut self.fy);
        self.low = [f64::MAX; 2];
        self.high = [f64::MIN; 2];
        for (x, y) in self.xs.iter().zip(&self.ys) {
            self.low = [self.low[0].min(*x), self.low[1].min(*y)];
            self.high = [self.high[0].max(*x), self.high[1].max(*y)];
        }
    }
}

/// A rotation in degrees, then perhaps turning over.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Turn {
    pub(crate) degrees: f64,
    pub(crate) over: bool,
}

/// An item at one turn: its own outline, and the one grown by half the clearance that is compared with other items.
#[derive(Debug, Clone, Default)]
pub(crate) struct Posture {
    pub(crate) turn: Turn,
    /// Its number among all fixed postures of all kinds, for [`crate::tables`]; none where the kind has slack.
    pub(crate) number: Option<u32>,
    /// Grown by half the clearance; compared with other items.
    pub(crate) grown: Form,
    /// The outline itself, compared with obstacles; empty where it is the same as `grown`.
    pub(crate) bare: Form,
    /// Bounds of the outline itself: what must lie inside the container.
    pub(crate) low: [f64; 2],
    pub(crate) high: [f64; 2],
}

impl Posture {
    /// What is compared with obstacles.
    pub(crate) fn bare(&self) -> &Form {
        if self.bare.xs.is_empty() {
            &self.grown
        } else {
            &self.bare
        }
    }

    /// Writes `kind` at `turn` into `self`, reusing its memory.
    pub(crate) fn set(&mut self, kind: &Kind, turn: Turn) {
        self.turn = turn;
        self.number = None;
        self.grown.turn(&kind.base.grown, turn);
        if !kind.base.bare.xs.is_empty() {
            self.bare.turn(&kind.base.bare, turn);
        }
        self.low = [f64::MAX; 2];
        self.high = [f64::MIN; 2];
        let (sin, cos) = sin_cos(turn.degrees);
        let flip = if turn.over { -1.0 } else { 1.0 };
        for p in &kind.extremes {
            let (x, y) = (flip * (cos * p.x - sin * p.y), sin * p.x + cos * p.y);
            self.low = [self.low[0].min(x), self.low[1].min(y)];
            self.high = [self.high[0].max(x), self.high[1].max(y)];
        }
    }
}

/// An item kind made ready.
#[derive(Debug)]
pub(crate) struct Kind {
    /// Around the reference point, at no turn.
    base: Posture,
    /// The outline itself around the reference point.
    pub(crate) own: Vec<Point>,
    /// Hull corners of the outline itself, around the reference point.
    extremes: Vec<Point>,
    /// The reference point in the item's own frame: the middle of the smallest circle found around it.
    pub(crate) reference: Point,
    /// Area of the outline itself, mm².
    pub(crate) area: f64,
    /// Furthest corner from the reference point, mm.
    pub(crate) radius: f64,
    /// The turns it may have, each with slack.
    pub(crate) turns: Vec<Turn>,
    /// Degrees either way of each turn.
    pub(crate) slack: f64,
    /// Where there is slack: turns that lay a long side of the hull level or upright, and the centres themselves, each with
    /// the index of its turn. Straight glass edges want to lie against straight sheet edges.
    pub(crate) snaps: Vec<(Turn, usize)>,
    /// The postures of `turns`, where there is no slack.
    pub(crate) fixed: Vec<Posture>,
    /// Containers it may lie in; empty for all.
    pub(crate) allowed: Vec<bool>,
}

impl Kind {
    pub(crate) fn new(item: &Item, problem: &Problem) -> Self {
        let reference = middle(item.outline.points());
        let around = |points: &[Point]| -> Vec<Point> {
            points
                .iter()
                .map(|p| Point {
                    x: p.x - reference.x,
                    y: p.y - reference.y,
                })
                .collect()
        };
        let own = around(item.outline.points());
        let touching = inset(&own, problem.tolerance / 2.0);
        let grown = if problem.clearance > 0.0 {
            let grown = offset::grow(&item.outline, problem.clearance / 2.0);
            Form::new(&inset(&around(grown.points()), problem.tolerance / 2.0))
        } else {
            Form::new(&touching)
        };
        let obstacles = problem
            .containers
            .iter()
            .any(|c| !c.keep_off.is_empty() || !is_upright_rectangle(&c.outline));
        let bare = if problem.clearance > 0.0 && obstacles {
            Form::new(&touching)
        } else {
            Form::default()
        };
        let (turns, slack) = all_turns(item);
        let mut kind = Self {
            base: Posture {
                grown,
                bare,
                ..Posture::default()
            },
            extremes: hull(&own),
            own: own.clone(),
            reference,
            area: item.outline.area(),
            radius: own.iter().map(|p| p.x.hypot(p.y)).fold(0.0, f64::max),
            snaps: snaps(&hull(&own), &turns, slack, most_snapped(own.len())),
            turns,
            slack,
            fixed: Vec::new(),
            allowed: item.allowed.clone(),
        };
        kind.snaps = distinct(&kind.own, kind.snaps.iter().copied());
        if kind.slack == 0.0 {
            kind.turns = distinct(&kind.own, kind.turns.iter().map(|t| (*t, 0)))
                .into_iter()
                .map(|t| t.0)
                .collect();
            kind.fixed = kind
                .turns
                .iter()
                .map(|turn| {
                    let mut posture = Posture::default();
                    posture.set(&kind, *turn);
                    posture
                })
                .collect();
        }
        kind
    }

    /// The least it can extend along an axis, over its turns; of a freely turning convex hull that is its width across a side.
    pub(crate) fn least_extent(&self, axis: usize) -> f64 {
        let mut posture = Posture::default();
        let turns = self
            .turns
            .iter()
            .filter(|_| self.slack == 0.0)
            .chain(self.snaps.iter().map(|s| &s.0));
        let least = turns.map(|turn| {
            posture.set(self, *turn);
            posture.high[axis] - posture.low[axis]
        });
        let least = least.fold(f64::MAX, f64::min);
        // With some slack the least may lie between the snapped turns.
        if self.slack > 0.0 && self.slack < 180.0 {
            least * self.slack.to_radians().cos() * 0.9
        } else {
            least
        }
    }

    /// Whether it may lie in `container`.
    pub(crate) fn may_lie_in(&self, container: usize) -> bool {
        self.allowed.get(container).copied().unwrap_or(true)
    }
}

/// Numbers the fixed postures of all kinds.
pub(crate) fn number_postures(kinds: &mut [Kind]) {
    for (number, posture) in kinds.iter_mut().flat_map(|k| &mut k.fixed).enumerate() {
        posture.number = Some(number as u32);
    }
}

/// An obstacle as a form around the origin of its bin. Not inset: items keep clear of obstacles strictly.
pub(crate) fn obstacle(outline: &[Point]) -> Form {
    Form::new(outline)
}

/// Whether an outline is an upright rectangle, which needs no obstacles around it.
pub(crate) fn is_upright_rectangle(outline: &Outline) -> bool {
    let Bounds { min, max } = outline.bounds();
    outline.points().len() == 4
        && outline
            .points()
            .iter()
            .all(|p| (p.x == min.x || p.x == max.x) && (p.y == min.y || p.y == max.y))
}

fn all_turns(item: &Item) -> (Vec<Turn>, f64) {
    let one_side = |turns: &Turns, over: bool| -> Vec<Turn> {
        turns
            .centres
            .iter()
            .map(|degrees| Turn {
                degrees: *degrees,
                over,
            })
            .collect()
    };
    let mut turns = one_side(&item.turns, false);
    let mut slack = item.turns.slack;
    if let Some(over) = &item.turned_over {
        turns.extend(one_side(over, true));
        slack = slack.min(over.slack);
    }
    (turns, slack)
}

/// Corners nearer than this are one, mm.
const SAME_CORNER: f64 = 1e-7;

/// An outline at one turn, moved to its lower left.
struct Turned {
    /// Sorted by x.
    corners: Vec<[f64; 2]>,
    high: [f64; 2],
}

impl Turned {
    fn new(own: &[Point], turn: Turn) -> Self {
        let (sin, cos) = sin_cos(turn.degrees);
        let flip = if turn.over { -1.0 } else { 1.0 };
        let turned = own
            .iter()
            .map(|p| [flip * (cos * p.x - sin * p.y), sin * p.x + cos * p.y]);
        let mut corners: Vec<[f64; 2]> = turned.collect();
        let low = corners
            .iter()
            .fold([f64::MAX; 2], |low, p| [low[0].min(p[0]), low[1].min(p[1])]);
        for p in &mut corners {
            *p = [p[0] - low[0], p[1] - low[1]];
        }
        corners.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let high = corners
            .iter()
            .fold([0.0f64; 2], |high, p| [high[0].max(p[0]), high[1].max(p[1])]);
        Self { corners, high }
    }

    /// Whether every corner is one of the other's.
    fn is_same(&self, other: &Self) -> bool {
        let reaches = |axis: usize| self.high[axis] < other.high[axis] + SAME_CORNER;
        let is_there = |p: &[f64; 2]| {
            let from = other.corners.partition_point(|q| q[0] <= p[0] - SAME_CORNER);
            let near = other.corners[from..].iter().take_while(|q| q[0] < p[0] + SAME_CORNER);
            near.into_iter().any(|q| (p[1] - q[1]).abs() < SAME_CORNER)
        };
        reaches(0) && reaches(1) && self.corners.iter().all(is_there)
    }
}

/// Turns of `own` that give different shapes: of a rectangle's four quarter turns two are left. Cost O(k · n log n + k²) for k
/// turns and n corners, where few shapes are as wide and high as one another.
fn distinct(own: &[Point], turns: impl Iterator<Item = (Turn, usize)>) -> Vec<(Turn, usize)> {
    let mut kept: Vec<(Turn, usize, Turned)> = Vec::new();
    for (turn, index) in turns {
        let turned = Turned::new(own, turn);
        if !kept.iter().any(|k| k.2.is_same(&turned)) {
            kept.push((turn, index, turned));
        }
    }
    kept.into_iter().map(|(turn, index, _)| (turn, index)).collect()
}

/// Sides of a hull that are laid level or upright at most: of an outline of many corners the longest, so that the turned shapes
/// kept are no more than a few hundred thousand corners together.
fn most_snapped(corners: usize) -> usize {
    (100_000 / corners.max(1)).clamp(16, 256)
}

/// Turns within the slack that lay one of the longer sides of `hull`, of so many at most, level or upright.
fn snaps(hull: &[Point], turns: &[Turn], slack: f64, most: usize) -> Vec<(Turn, usize)> {
    if slack == 0.0 {
        return Vec::new();
    }
    let mut sides: Vec<(f64, f64)> = (0..hull.len())
        .map(|i| {
            let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
            ((b.x - a.x).hypot(b.y - a.y), (b.y - a.y).atan2(b.x - a.x).to_degrees())
        })
        .collect();
    let longest = sides.iter().map(|s| s.0).fold(0.0, f64::max);
    if sides.len() > most {
        sides.sort_by(|a, b| b.0.total_cmp(&a.0));
        sides.truncate(most);
    }
    let mut found: Vec<(Turn, usize)> = Vec::new();
    for (index, turn) in turns.iter().enumerate() {
        if slack < 180.0 {
            found.push((*turn, index));
        }
        for (_, angle) in sides.iter().filter(|s| s.0 >= 0.2 * longest) {
            for quarter in 0..4 {
                let degrees = (f64::from(quarter) * 90.0 - angle).rem_euclid(360.0);
                let off = (degrees - turn.degrees + 180.0).rem_euclid(360.0) - 180.0;
                let known = |f: &(Turn, usize)| f.1 == index && (f.0.degrees - turn.degrees - off).abs() < 1e-6;
                if off.abs() <= slack && !found.iter().any(known) {
                    found.push((
                        Turn {
                            degrees: turn.degrees + off,
                            over: turn.over,
                        },
                        index,
                    ));
                }
            }
        }
    }
    found
}

/// Every side moved inwards by `distance`, which is tiny against the sides: corners move along their bisectors.
fn inset(points: &[Point], distance: f64) -> Vec<Point> {
    let count = points.len();
    (0..count)
        .map(|i| {
            let (before, at, after) = (points[(i + count - 1) % count], points[i], points[(i + 1) % count]);
            let (ax, ay) = unit(at.x - before.x, at.y - before.y);
            let (bx, by) = unit(after.x - at.x, after.y - at.y);
            // Inward normals are the directions turned left. The corner moves so that it stays on both moved sides, but at
            // corners sharper than 60° no further than `MOST_BACK` distances: what is drawn back there could sink into others.
            let (nx, ny) = (-ay - by, ax + bx);
            let along = nx.hypot(ny).max(f64::MIN_POSITIVE);
            let scale = (distance / (1.0 + ax * bx + ay * by).max(f64::MIN_POSITIVE)).min(MOST_BACK * distance / along);
            Point {
                x: at.x + nx * scale,
                y: at.y + ny * scale,
            }
        })
        .collect()
}

fn unit(x: f64, y: f64) -> (f64, f64) {
    let length = x.hypot(y).max(f64::MIN_POSITIVE);
    (x / length, y / length)
}

pub(crate) fn sin_cos(degrees: f64) -> (f64, f64) {
    let quarter = degrees.rem_euclid(360.0) / 90.0;
    if quarter == 0.0 {
        (0.0, 1.0)
    } else if quarter == 1.0 {
        (1.0, 0.0)
    } else if quarter == 2.0 {
        (0.0, -1.0)
    } else if quarter == 3.0 {
        (-1.0, 0.0)
    } else {
        degrees.to_radians().sin_cos()
    }
}

/// The middle of a small circle around the points (Ritter-like, refined by shrinking steps towards the furthest point;
/// Bădoiu & Clarkson 2003).
fn middle(points: &[Point]) -> Point {
    let mut at = points[0];
    for step in 1..400 {
        let far = points
            .iter()
            .max_by(|a, b| {
                (a.x - at.x)
                    .hypot(a.y - at.y)
                    .total_cmp(&(b.x - at.x).hypot(b.y - at.y))
            })
            .copied()
            .unwrap_or(at);
        let share = 1.0 / (f64::from(step) + 1.0);
        at = Point {
            x: at.x + (far.x - at.x) * share,
            y: at.y + (far.y - at.y) * share,
        };
    }
    at
}

fn signed_area(points: &[Point]) -> f64 {
    let mut sum = 0.0;
    let mut a = points[points.len() - 1];
    for b in points {
        sum += a.x * b.y - b.x * a.y;
        a = *b;
    }
    sum / 2.0
}

fn hull_area(points: &[Point]) -> f64 {
    signed_area(&hull(points))
}

/// Convex hull, counter-clockwise (Andrew's monotone chain).
fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let half = |points: &mut dyn Iterator<Item = Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..] {
                if (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut hull = half(&mut sorted.iter().copied());
    hull.extend(half(&mut sorted.iter().rev().copied()));
    if hull.len() < 3 { points.to_vec() } else { hull }
}

fn diameter(points: &[Point]) -> f64 {
    let hull = hull(points);
    let mut most: f64 = 0.0;
    for (i, a) in hull.iter().enumerate() {
        for b in &hull[i + 1..] {
            most = most.max((a.x - b.x).hypot(a.y - b.y));
        }
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted, not timed: what a round of 4,999 corners may keep in memory, and that equal shapes are found by their corners.
    #[test]
    fn an_outline_of_many_corners_has_few_snapped_turns() {
        let round = |n: u32| -> Vec<Point> {
            let corner = |i: u32| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(n)).sin_cos();
                // Not quite round, so that no two turns are alike.
                Point {
                    x: 100.0 * cos,
                    y: (90.0 + f64::from(i) * 1e-4) * sin,
                }
            };
            (0..n).map(corner).collect()
        };
        let free = [Turn::default()];
        for (corners, most) in [(300, 1024), (4_999, 80)] {
            let own = round(corners);
            let snaps = snaps(&hull(&own), &free, 180.0, most_snapped(own.len()));
            assert!(
                snaps.len() <= most,
                "{} snapped turns of {corners} corners",
                snaps.len()
            );
            assert!(distinct(&own, snaps.into_iter()).len() > 10);
        }
        let square = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]].map(|[x, y]| Point { x, y });
        let quarters = (0..8).map(|k| {
            (
                Turn {
                    degrees: 45.0 * f64::from(k),
                    over: false,
                },
                k as usize,
            )
        });
        let kept: Vec<usize> = distinct(&square, quarters).into_iter().map(|t| t.1).collect();
        assert_eq!(kept, [0, 1]);
    }

    #[test]
    fn no_corner_is_drawn_back_further_than_two_distances() {
        let p = |x, y| Point { x, y };
        // A needle of 5.7°, a right angle, and blunt corners.
        let outline = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 10.0)];
        for (before, after) in outline.iter().zip(inset(&outline, 0.5)) {
            let moved = (before.x - after.x).hypot(before.y - after.y);
            assert!(moved <= 1.0 + 1e-12, "{before:?} moved by {moved}");
        }
        // The square's sides move by just the distance.
        let square = [p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0), p(0.0, 10.0)];
        assert!(
            inset(&square, 0.5)
                .iter()
                .all(|c| ((c.x - 5.0).abs() - 4.5).abs() < 1e-12 && ((c.y - 5.0).abs() - 4.5).abs() < 1e-12)
        );
    }
}
