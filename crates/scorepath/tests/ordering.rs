//! Orders of paths against every order there is, and against the bound.

#![allow(clippy::needless_range_loop, reason = "sets and paths are numbers here")]

use cullet_geometry::Point;
use cullet_scorepath::{Curving, Motion, Order, Purpose, ScorePath, Stretch, bound, order};

const MOTION: Motion = Motion {
    straight: 400.0,
    outside: 200.0,
    inside: 120.0,
    relief: 200.0,
    travel: 500.0,
    acceleration: 2000.0,
    turning: 6.0,
    turning_acceleration: 60.0,
    lower: 0.3,
    lift: 0.2,
    home: Point { x: 0.0, y: 0.0 },
    goes_home: true,
};

struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

fn some(count: usize, r: &mut Random) -> Vec<ScorePath> {
    (0..count)
        .map(|k| {
            let from = Point {
                x: 600.0 * r.next(),
                y: 1200.0 * r.next(),
            };
            let (length, angle) = (10.0 + 300.0 * r.next(), 7.0 * r.next());
            let to = from
                + Point {
                    x: length * angle.cos(),
                    y: length * angle.sin(),
                };
            let curving = [Curving::Inside, Curving::Outside, Curving::Straight][(3.0 * r.next()) as usize];
            ScorePath {
                stretches: vec![Stretch::Line { from, to }],
                purpose: Purpose::Score,
                curving,
                breaks: vec![k],
            }
        })
        .collect()
}

/// The least time over every order and every direction of the paths (Held & Karp 1962: what is best for a set of paths that ends
/// with one of them does not depend on what comes after).
fn least(paths: &[ScorePath]) -> f64 {
    let n = paths.len();
    let ends = |k: usize, reversed: bool| {
        let path = if reversed {
            paths[k].reversed()
        } else {
            paths[k].clone()
        };
        ((path.start(), path.start_angle()), (path.end(), path.end_angle()))
    };
    let mut best = vec![[f64::INFINITY; 2]; (1 << n) * n];
    for k in 0..n {
        for d in 0..2 {
            let start = ends(k, d == 1).0;
            best[(1 << k) * n + k][d] = MOTION.way((MOTION.home, start.1), start);
        }
    }
    for set in 1..1_usize << n {
        for last in (0..n).filter(|k| set >> k & 1 == 1) {
            for d in 0..2 {
                let so_far = best[set * n + last][d];
                for next in (0..n).filter(|k| set >> k & 1 == 0) {
                    for e in 0..2 {
                        let sum = so_far + MOTION.way(ends(last, d == 1).1, ends(next, e == 1).0);
                        let slot = &mut best[(set | 1 << next) * n + next][e];
                        *slot = slot.min(sum);
                    }
                }
            }
        }
    }
    let fixed: f64 = paths
        .iter()
        .map(|path| MOTION.time(path) + MOTION.lift + MOTION.lower)
        .sum();
    let all = (1 << n) - 1;
    let home = |k: usize, d: usize| {
        let end = ends(k, d == 1).1;
        best[all * n + k][d] + MOTION.way(end, (MOTION.home, end.1))
    };
    fixed
        + (0..n)
            .flat_map(|k| [home(k, 0), home(k, 1)])
            .fold(f64::INFINITY, f64::min)
}

/// `CULLET_ORDERS=200` for the long run.
#[test]
fn sets_of_seven_against_every_order() {
    let sets = std::env::var("CULLET_ORDERS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(40_usize);
    let mut r = Random(5);
    let mut optimal = 0;
    for _ in 0..sets {
        let paths = some(7, &mut r);
        let found = MOTION.reckon(&paths, &order(&paths, &MOTION, false)).seconds;
        let least = least(&paths);
        assert!(found >= least - 1e-9, "{found} s is less than the least, {least} s");
        assert!(bound(&paths, &MOTION) <= least + 1e-9, "the bound is above the least");
        optimal += usize::from(found <= least + 1e-6);
    }
    assert!(20 * optimal >= 19 * sets, "{optimal} of {sets} optimal");
}

#[test]
fn every_path_once_and_the_hardest_first() {
    let mut r = Random(11);
    for count in [0, 1, 2, 3, 40, 150] {
        let paths = some(count, &mut r);
        for hardest_first in [false, true] {
            let found = order(&paths, &MOTION, hardest_first);
            let mut all: Vec<usize> = found.sequence.iter().map(|one| one.0).collect();
            if hardest_first {
                assert!(
                    found
                        .sequence
                        .windows(2)
                        .all(|w| paths[w[0].0].curving <= paths[w[1].0].curving)
                );
            }
            all.sort_unstable();
            assert_eq!(all, (0..count).collect::<Vec<_>>());
            assert_eq!(order(&paths, &MOTION, hardest_first), found, "the same again");
            let reckoned = MOTION.reckon(&paths, &found);
            let listed = Order {
                sequence: (0..count).map(|k| (k, false)).collect(),
            };
            assert!(hardest_first || reckoned.seconds <= MOTION.reckon(&paths, &listed).seconds + 1e-9);
            assert!(reckoned.seconds >= bound(&paths, &MOTION) - 1e-9);
        }
    }
}
