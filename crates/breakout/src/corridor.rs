//! The corridor between a lower and an upper group of bodies, and the shortest path through it.
//!
//! Reading: taut paths in a corridor (Lee & Preparata 1984).

use crate::profile::Profile;
use cullet_geometry::Point;
use cullet_geometry::ring;
use cullet_geometry::tolerance::TOUCH;

/// What is seen from an apex through the gates ahead.
struct View {
    /// The steepest floor, as a slope, and its gate.
    low: (f64, usize),
    /// The flattest ceiling.
    high: (f64, usize),
    /// The gate at which a path must turn, and whether it turns round a floor; none where all can be seen through.
    turn_at: Option<(usize, bool)>,
}

impl View {
    /// From `apex` through the gates from `k` on.
    fn from(apex: Point, gates: &[Gate], k: usize) -> Self {
        let (mut low, mut high) = ((f64::NEG_INFINITY, k), (f64::INFINITY, k));
        let mut turn_at = None;
        for (i, gate) in gates.iter().enumerate().skip(k) {
            let run = gate.x - apex.x;
            if run <= 1e-9 {
                continue;
            }
            let (floor, ceiling) = ((gate.floor - apex.y) / run, (gate.ceiling - apex.y) / run);
            if floor > high.0 {
                turn_at = Some((high.1, false));
                break;
            }
            if ceiling < low.0 {
                turn_at = Some((low.1, true));
                break;
            }
            if floor >= low.0 {
                low = (floor, i);
            }
            if ceiling <= high.0 {
                high = (ceiling, i);
            }
        }
        Self { low, high, turn_at }
    }
}

/// The shortest path from far left to far right that keeps above the lower ones and below the upper ones.
pub(crate) fn taut_path(gates: &[Gate], reach: f64) -> Option<Vec<Point>> {
    let (first, last) = (gates.first()?, gates.last()?);
    let clamp = |g: &Gate| {
        if g.floor.is_finite() { g.floor } else { g.ceiling }
    };
    let start = Point {
        x: first.x - reach,
        y: clamp(first),
    };
    let mut path = vec![start];
    let mut apex = start;
    let mut k = 0;
    loop {
        let View { low, high, turn_at } = View::from(apex, gates, k);
        let Some((at, is_floor)) = turn_at else {
            // Level to the far end where that is free; else along what is in the way.
            let end_x = last.x + reach;
            if low.0 > 0.0 || high.0 < 0.0 {
                let (slope, at, y) = if low.0 > 0.0 {
                    (low.0, low.1, gates[low.1].floor)
                } else {
                    (high.0, high.1, gates[high.1].ceiling)
                };
                let via = Point { x: gates[at].x, y };
                if at + 1 < gates.len() {
                    path.push(via);
                    apex = via;
                    k = at + 1;
                    continue;
                }
                path.push(via);
                path.push(Point {
                    x: end_x,
                    y: y + slope * (end_x - via.x),
                });
            } else {
                path.push(Point { x: end_x, y: apex.y });
            }
            break;
        };
        let via = Point {
            x: gates[at].x,
            y: if is_floor { gates[at].floor } else { gates[at].ceiling },
        };
        path.push(via);
        apex = via;
        k = at + 1;
        if path.len() > 4 * gates.len() + 8 {
            return None;
        }
    }
    Some(without_collinear(path))
}

pub(crate) fn without_collinear(path: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for p in path {
        while kept.len() > 1
            && ring::turn_deg(kept[kept.len() - 1] - kept[kept.len() - 2], p - kept[kept.len() - 1]).abs() < 1e-6
        {
            kept.pop();
        }
        kept.push(p);
    }
    kept
}

/// The heights between which a path may pass at one place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Gate {
    pub(crate) x: f64,
    pub(crate) floor: f64,
    pub(crate) ceiling: f64,
}

/// Between which heights the path may pass at every corner's place; nothing where it cannot.
pub(crate) fn gates(lower: &[&Profile], upper: &[&Profile]) -> Option<Vec<Gate>> {
    let mut places: Vec<f64> = lower
        .iter()
        .chain(upper)
        .flat_map(|p| p.at.iter().map(|a| a.0))
        .collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let mut gates: Vec<Gate> = places
        .iter()
        .map(|x| Gate {
            x: *x,
            floor: f64::NEG_INFINITY,
            ceiling: f64::INFINITY,
        })
        .collect();
    for (profiles, is_lower) in [(lower, true), (upper, false)] {
        for profile in profiles {
            let first = gates.partition_point(|g| g.x < profile.from());
            let mut k = 0;
            for gate in gates.iter_mut().skip(first) {
                if gate.x > profile.to() {
                    break;
                }
                while k + 1 < profile.at.len() && profile.at[k + 1].0 <= gate.x {
                    k += 1;
                }
                let a = profile.at[k];
                let (low, high) = match profile.at.get(k + 1) {
                    Some(b) if gate.x > a.0 => {
                        let share = (gate.x - a.0) / (b.0 - a.0);
                        (a.1 + (b.1 - a.1) * share, a.2 + (b.2 - a.2) * share)
                    }
                    _ => (a.1, a.2),
                };
                if is_lower {
                    gate.floor = gate.floor.max(high);
                } else {
                    gate.ceiling = gate.ceiling.min(low);
                }
            }
        }
    }
    for gate in &mut gates {
        if gate.floor > gate.ceiling {
            if gate.floor > gate.ceiling + TOUCH {
                return None;
            }
            let middle = f64::midpoint(gate.floor, gate.ceiling);
            (gate.floor, gate.ceiling) = (middle, middle);
        }
    }
    Some(gates)
}
