//! Which path ends lie near which.

use crate::motion::{Motion, opposite};
use cullet_geometry::Point;
use std::collections::BTreeMap;

/// Near ends that are looked at from an end.
pub(super) const NEAR: usize = 8;

/// Ends in a square, on average.
pub(super) const IN_A_SQUARE: f64 = 6.0;

/// Of so many that are nearest.
pub(super) const LOOKED_AT: usize = 32;

/// For each end the paths whose ends are reached soonest from there, and in which time: of the nearest those that take least turning.
pub(super) fn near(ends: &[[(Point, f64); 2]], motion: &Motion) -> Vec<Vec<(usize, f64)>> {
    // Leaving an end the wheel points along it; coming in, against it.
    let out: Vec<(Point, f64)> = ends.iter().flat_map(|[start, end]| [opposite(*start), *end]).collect();
    // In squares of a few ends each, so that not all are looked at from each.
    let (mut low, mut high) = (
        Point {
            x: f64::MAX,
            y: f64::MAX,
        },
        Point {
            x: f64::MIN,
            y: f64::MIN,
        },
    );
    for (p, _) in &out {
        (low.x, low.y, high.x, high.y) = (low.x.min(p.x), low.y.min(p.y), high.x.max(p.x), high.y.max(p.y));
    }
    let width = (high.x - low.x).max(high.y - low.y).max(1.0) / (out.len() as f64 / IN_A_SQUARE).sqrt().max(1.0);
    let square = |p: Point| (((p.x - low.x) / width) as i64, ((p.y - low.y) / width) as i64);
    let mut squares: BTreeMap<(i64, i64), Vec<usize>> = BTreeMap::new();
    for (k, (p, _)) in out.iter().enumerate() {
        squares.entry(square(*p)).or_default().push(k);
    }
    let most = (high.x - low.x).max(high.y - low.y) / width;
    let order = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
    (0..out.len())
        .map(|k| {
            let at = square(out[k].0);
            let mut offs: Vec<(f64, usize)> = vec![];
            let mut reach = 1_i64;
            loop {
                offs.clear();
                for x in at.0 - reach..=at.0 + reach {
                    for y in at.1 - reach..=at.1 + reach {
                        let there = squares
                            .get(&(x, y))
                            .into_iter()
                            .flatten()
                            .filter(|other| **other / 2 != k / 2);
                        offs.extend(there.map(|other| {
                            let way = out[*other].0 - out[k].0;
                            (way.x * way.x + way.y * way.y, *other)
                        }));
                    }
                }
                if offs.len() >= LOOKED_AT || reach as f64 > most + 1.0 {
                    break;
                }
                reach *= 2;
            }
            if offs.len() > LOOKED_AT {
                offs.select_nth_unstable_by(LOOKED_AT, order);
                offs.truncate(LOOKED_AT);
            }
            let way = |other: usize| motion.way(out[k], opposite(out[other]));
            let mut soonest: Vec<(f64, usize)> = offs.iter().map(|(_, other)| (way(*other), *other)).collect();
            soonest.sort_by(order);
            soonest.truncate(NEAR);
            soonest.into_iter().map(|(way, other)| (other / 2, way)).collect()
        })
        .collect()
}
