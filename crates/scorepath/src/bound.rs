//! What no order of the paths can beat: a spanning tree over their ends, made dearer where it branches (Held & Karp 1970).

use crate::motion::{Motion, opposite};
use crate::path::ScorePath;
use cullet_geometry::Point;

/// How often the prices of the ends are put right.
const ROUNDS: usize = 300;

/// A time that no order of the paths comes under, s: scoring, lifts and the least way between. Cost O(r·n²) for r rounds.
///
/// Any order, with its paths, is a tree that spans their ends; so the shortest tree that holds all paths takes no longer. A price on
/// each end that every order pays twice changes no order's rank, but makes branching trees dearer.
#[must_use]
pub fn bound(paths: &[ScorePath], motion: &Motion) -> f64 {
    let fixed: f64 = paths
        .iter()
        .map(|path| motion.time(path) + motion.lift + motion.lower)
        .sum();
    if paths.is_empty() {
        return fixed;
    }
    // Leaving the end, the wheel points along it; coming in, against it.
    let ends: Vec<(Point, f64)> = paths
        .iter()
        .flat_map(|path| {
            [
                opposite((path.start(), path.start_angle())),
                (path.end(), path.end_angle()),
            ]
        })
        .collect();
    let way = |a: usize, b: usize| motion.way(ends[a], opposite(ends[b]));
    let first: Vec<f64> = ends.iter().map(|end| motion.way((motion.home, end.1), *end)).collect();
    let last: Vec<f64> = if motion.goes_home {
        first.clone()
    } else {
        vec![0.0; ends.len()]
    };
    let n = ends.len();
    let ways: Vec<f64> = (0..n * n).map(|k| way(k / n, k % n)).collect();
    let mut prices = vec![0.0; n];
    let mut best = f64::NEG_INFINITY;
    // Steps towards a little more than the best so far (Held, Wolfe & Crowder 1974), shorter where they lead no farther.
    let (mut share, mut idle) = (1.0, 0);
    for _ in 0..ROUNDS {
        let (sum, degrees) = tree(&ways, &first, &last, &prices);
        let found = sum - 2.0 * prices.iter().sum::<f64>();
        idle = if found > best { 0 } else { idle + 1 };
        best = best.max(found);
        if idle == 12 {
            (share, idle) = (share / 2.0, 0);
        }
        let off: f64 = degrees.iter().map(|degree| (f64::from(*degree) - 2.0).powi(2)).sum();
        if off == 0.0 {
            break;
        }
        let step = share * (best * 1.05 - found).max(0.0) / off;
        for (price, degree) in prices.iter_mut().zip(&degrees) {
            *price += step * (f64::from(*degree) - 2.0);
        }
    }
    fixed + best.max(0.0)
}

/// The shortest tree with every path in it, and the cheapest way in and out; how many links each end has.
fn tree(ways: &[f64], first: &[f64], last: &[f64], prices: &[f64]) -> (f64, Vec<u32>) {
    let n = prices.len();
    let mut degrees = vec![1_u32; n];
    let mut sum: f64 = prices.iter().sum();
    let mut nearest = vec![(f64::INFINITY, usize::MAX); n];
    let mut is_in = vec![false; n];
    let mut next = 0;
    loop {
        for end in [next, next ^ 1] {
            is_in[end] = true;
            for other in (0..n).filter(|other| !is_in[*other]) {
                let way = ways[end * n + other] + prices[end] + prices[other];
                if way < nearest[other].0 {
                    nearest[other] = (way, end);
                }
            }
        }
        let Some(found) = (0..n)
            .filter(|k| !is_in[*k])
            .min_by(|a, b| nearest[*a].0.total_cmp(&nearest[*b].0))
        else {
            break;
        };
        sum += nearest[found].0;
        degrees[found] += 1;
        degrees[nearest[found].1] += 1;
        next = found;
    }
    for ways in [first, last] {
        if let Some(k) = (0..n).min_by(|a, b| (ways[*a] + prices[*a]).total_cmp(&(ways[*b] + prices[*b]))) {
            sum += ways[k] + prices[k];
            degrees[k] += 1;
        }
    }
    (sum, degrees)
}
