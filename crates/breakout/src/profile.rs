//! Bodies seen along a direction: what lies above what, and in which order they can be lifted.
//!
//! Reading: sets of convex figures lifted one by one (Guibas & Yao 1983).

use cullet_geometry::Point;
use cullet_geometry::ring::{self, turned};

/// Bodies that are no further apart across the direction still have an order, mm: a path between them may swing out.
const BESIDE: f64 = 3.0;

/// A body seen along a direction: the highest and the lowest of it at every place.
pub(crate) struct Profile {
    /// Places of its corners, rising, with the lowest and the highest there.
    pub(crate) at: Vec<(f64, f64, f64)>,
    middle: Point,
}

impl Profile {
    pub(crate) fn of(ring: &[Point], angle: f64) -> Self {
        let ring: Vec<Point> = ring.iter().map(|p| turned(*p, -angle)).collect();
        let mut places: Vec<f64> = ring.iter().map(|p| p.x).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let mut at: Vec<(f64, f64, f64)> = places.iter().map(|x| (*x, f64::INFINITY, f64::NEG_INFINITY)).collect();
        for (a, b) in ring::sides(&ring) {
            let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
            let first = at.partition_point(|p| p.0 < a.x - 2e-9);
            for place in at.iter_mut().skip(first).take_while(|p| p.0 <= b.x + 2e-9) {
                let ys = if (place.0 - a.x).abs() < 2e-9 && (place.0 - b.x).abs() < 2e-9 {
                    [a.y, b.y]
                } else {
                    let share = ((place.0 - a.x) / (b.x - a.x)).clamp(0.0, 1.0);
                    let y = if share == 0.0 {
                        a.y
                    } else if share == 1.0 {
                        b.y
                    } else {
                        a.y + (b.y - a.y) * share
                    };
                    [y, y]
                };
                for y in ys {
                    place.1 = place.1.min(y);
                    place.2 = place.2.max(y);
                }
            }
        }
        let sum = ring.iter().fold(Point { x: 0.0, y: 0.0 }, |s, p| s + *p);
        Self {
            at,
            middle: sum / ring.len() as f64,
        }
    }

    pub(crate) fn from(&self) -> f64 {
        self.at[0].0
    }

    pub(crate) fn to(&self) -> f64 {
        self.at[self.at.len() - 1].0
    }

    /// Lowest and highest at a place, at the nearer end beyond its ends.
    fn at(&self, x: f64) -> (f64, f64) {
        let k = self.at.partition_point(|p| p.0 < x);
        if k == 0 {
            return (self.at[0].1, self.at[0].2);
        }
        if k == self.at.len() {
            let p = self.at[k - 1];
            return (p.1, p.2);
        }
        let (a, b) = (self.at[k - 1], self.at[k]);
        let share = (x - a.0) / (b.0 - a.0);
        if share >= 1.0 {
            return (b.1, b.2);
        }
        (a.1 + (b.1 - a.1) * share, a.2 + (b.2 - a.2) * share)
    }

    /// Whether this lies above, below or both at different places; nothing where they are not over each other.
    fn above(&self, other: &Self) -> (bool, bool) {
        let (from, to) = (self.from().max(other.from()), self.to().min(other.to()));
        if from > to + BESIDE {
            return (false, false);
        }
        let (mut above, mut below) = (false, false);
        let mut look = |x: f64| {
            let (a, b) = (self.at(x), other.at(x));
            if a.0 + a.1 > b.0 + b.1 {
                above = true;
            } else {
                below = true;
            }
        };
        if from >= to {
            look(f64::midpoint(from, to));
            return (above, below);
        }
        look(from);
        look(to);
        for p in self.at.iter().chain(&other.at).filter(|p| p.0 > from && p.0 < to) {
            look(p.0);
        }
        (above, below)
    }
}

/// The bodies from the lowest up: none lies below one before it, where that is possible.
pub(crate) fn lifted_order(profiles: &[Profile]) -> Vec<usize> {
    let n = profiles.len();
    let mut over: Vec<Vec<usize>> = vec![vec![]; n];
    let mut under = vec![0usize; n];
    for i in 0..n {
        for j in i + 1..n {
            let (above, below) = profiles[i].above(&profiles[j]);
            if below {
                over[i].push(j);
                under[j] += 1;
            }
            if above {
                over[j].push(i);
                under[i] += 1;
            }
        }
    }
    let mut left: Vec<usize> = (0..n).collect();
    left.sort_by(|a, b| profiles[*a].middle.y.total_cmp(&profiles[*b].middle.y));
    let mut order = Vec::with_capacity(n);
    while !left.is_empty() {
        // Where they hook into each other the lowest goes; the chain finds out whether that holds.
        let k = left.iter().position(|i| under[*i] == 0).unwrap_or(0);
        let i = left.remove(k);
        for j in &over[i] {
            under[*j] = under[*j].saturating_sub(1);
        }
        order.push(i);
    }
    order
}
