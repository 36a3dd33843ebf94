//! An item's outline made ready for fast questions, and that outline at one turn.

mod plane;
pub(crate) use plane::sin_cos;
use plane::{diameter, hull, hull_area, inset, middle, signed_area};

mod rotations;
use rotations::{all_turns, distinct, most_snapped, snaps};

use crate::disks::{self, Disk};
use cullet_geometry::{Bounds, Outline, Point, offset};
use cullet_search::{Container, Item, Problem};

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
    #[inline(always)]
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
    /// Its number among all fixed postures of all kinds, for [`crate::tables`]; none where the kind has tolerance.
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
    #[inline(always)]
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
#[derive(Debug, Clone)]
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
    /// The turns it may have, each with tolerance.
    pub(crate) turns: Vec<Turn>,
    /// Degrees either way of each turn.
    pub(crate) tolerance_deg: f64,
    /// Where there is a tolerance: turns that lay a long side of the hull level or upright, and the angles themselves, each with
    /// the index of its turn. Straight glass edges want to lie against straight sheet edges.
    pub(crate) snaps: Vec<(Turn, usize)>,
    /// The postures of `turns`, where there is no tolerance.
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
        let bare = if problem.clearance > 0.0 && has_obstacles(problem) {
            Form::new(&touching)
        } else {
            Form::default()
        };
        let (turns, tolerance_deg) = all_turns(item);
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
            snaps: snaps(&hull(&own), &turns, tolerance_deg, most_snapped(own.len())),
            turns,
            tolerance_deg,
            fixed: Vec::new(),
            allowed: item.allowed.clone(),
        };
        kind.snaps = distinct(&kind.own, kind.snaps.iter().copied());
        if kind.tolerance_deg == 0.0 {
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
            .filter(|_| self.tolerance_deg == 0.0)
            .chain(self.snaps.iter().map(|s| &s.0));
        let least = turns.map(|turn| {
            posture.set(self, *turn);
            posture.high[axis] - posture.low[axis]
        });
        let least = least.fold(f64::MAX, f64::min);
        // With some tolerance the least may lie between the snapped turns.
        if self.tolerance_deg > 0.0 && self.tolerance_deg < 180.0 {
            least * self.tolerance_deg.to_radians().cos() * 0.9
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

/// Whether anything but its sides is in the way in some container.
pub(crate) fn has_obstacles(problem: &Problem) -> bool {
    let is_in_the_way = |c: &Container| !c.keep_off.is_empty() || !is_upright_rectangle(&c.outline);
    problem.containers.iter().any(is_in_the_way)
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

#[cfg(test)]
mod tests;
