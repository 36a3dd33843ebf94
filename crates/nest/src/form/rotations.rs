//! Rotations of an item: those that it may have, those that lie along sides, which of them are the same.

use super::{Turn, sin_cos};
use cullet_geometry::Point;
use cullet_search::{Item, Turns};

pub(super) fn all_turns(item: &Item) -> (Vec<Turn>, f64) {
    let one_side = |turns: &Turns, over: bool| -> Vec<Turn> {
        turns
            .angles_deg
            .iter()
            .map(|degrees| Turn {
                degrees: *degrees,
                over,
            })
            .collect()
    };
    let mut turns = one_side(&item.turns, false);
    let mut tolerance_deg = item.turns.tolerance_deg;
    if let Some(over) = &item.turned_over {
        turns.extend(one_side(over, true));
        tolerance_deg = tolerance_deg.min(over.tolerance_deg);
    }
    (turns, tolerance_deg)
}

/// Corners nearer than this are one, mm.
pub(super) const SAME_CORNER: f64 = 1e-7;

/// An outline at one turn, moved to its lower left.
pub(super) struct Turned {
    /// Sorted by x.
    pub(super) corners: Vec<[f64; 2]>,
    pub(super) high: [f64; 2],
}

impl Turned {
    pub(super) fn new(own: &[Point], turn: Turn) -> Self {
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
    pub(super) fn is_same(&self, other: &Self) -> bool {
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
pub(super) fn distinct(own: &[Point], turns: impl Iterator<Item = (Turn, usize)>) -> Vec<(Turn, usize)> {
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
pub(super) fn most_snapped(corners: usize) -> usize {
    (100_000 / corners.max(1)).clamp(16, 256)
}

/// Turns within the tolerance that lay one of the longer sides of `hull`, of so many at most, level or upright.
pub(super) fn snaps(hull: &[Point], turns: &[Turn], tolerance_deg: f64, most: usize) -> Vec<(Turn, usize)> {
    if tolerance_deg == 0.0 {
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
        if tolerance_deg < 180.0 {
            found.push((*turn, index));
        }
        for (_, angle) in sides.iter().filter(|s| s.0 >= 0.2 * longest) {
            for quarter in 0..4 {
                let degrees = (f64::from(quarter) * 90.0 - angle).rem_euclid(360.0);
                let off = (degrees - turn.degrees + 180.0).rem_euclid(360.0) - 180.0;
                let known = |f: &(Turn, usize)| f.1 == index && (f.0.degrees - turn.degrees - off).abs() < 1e-6;
                if off.abs() <= tolerance_deg && !found.iter().any(known) {
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
