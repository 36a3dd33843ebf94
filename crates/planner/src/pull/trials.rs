//! Sets of glass that are tried: which are worth it, in which order, and how much of the effort each gets.

use super::sets::{Counts, Kind, MOST_SETS, all_sets, neighbours};
use super::{CENT, Selection};
use crate::glass::GlassPlanner;
use crate::objective::Objective;
use cullet_geometry::{Outline, ring};
use cullet_search::Problem;
use std::collections::BTreeMap;
use std::f64::consts::PI;

/// No set of glass is filled more densely than this, half of the strip round each piece counted: full, but for rounding.
const DENSEST: f64 = 1.0 + 1e-9;
/// Where everything is laid already, cheaper glass that would have to be filled more densely than this is not tried, but by pieces that
/// fill their bounds to `SQUARE`. Chosen by judgement, not measured: curved pieces that turn freely are not packed so densely in so little time.
const DENSE: f64 = 0.93;
const SQUARE: f64 = 0.97;
/// Filling that is hoped for, to order sets by what they may come to.
const HOPED: f64 = 0.7;
/// So many of the most promising sets are tried.
const MOST_TRIED: usize = 16;
/// Pieces laid by all tries together, so that a large job does not wait for many first layouts.
const MOST_LAID: usize = 20_000;
/// Share of the net cost that a set promises to save, at least, when effort is shared out.
const LEAST_PROMISE: f64 = 0.02;

/// A set that is tried.
pub(super) struct Trial {
    pub(super) counts: Counts,
    /// What it comes to if every bit of glass but the pieces goes back.
    least: f64,
    /// What it may come to, before it was tried.
    hoped: f64,
    pub(super) found: Option<Selection>,
}

impl Trial {
    /// Where it stands among the others: its net cost, or what it may come to and what its missing pieces would take.
    pub(super) fn standing(&self, price: f64) -> f64 {
        match &self.found {
            None => self.hoped,
            Some(found) if found.worth.is_whole() => found.worth.net,
            Some(found) => self.hoped + 2.0 * price * found.worth.missing,
        }
    }

    /// What it may save against what is `to_beat`, so that the sets that could save most get most of the effort; a little even where
    /// it is hardly anything.
    pub(super) fn promises(&self, to_beat: &Objective, price: f64) -> f64 {
        let least = LEAST_PROMISE * to_beat.net.max(CENT);
        if to_beat.is_whole() {
            (to_beat.net - self.standing(price)).max(least)
        } else {
            least
        }
    }

    /// Whether it may still come to something of its own that is less than `net`. Where some of its glass stays unused, the
    /// set without that glass is a trial too.
    pub(super) fn is_open(&self, net: f64) -> bool {
        let glass = self.counts.iter().sum::<u32>() as usize;
        let is_whole = |f: &Selection| !f.worth.is_whole() || f.worth.pulled == glass;
        self.least < net - CENT && self.found.as_ref().is_none_or(is_whole)
    }
}

impl GlassPlanner<'_> {
    /// The glass on hand, what is alike together, with half a strip round it.
    pub(super) fn kinds(&self, half: f64) -> Vec<Kind> {
        let mut kinds: BTreeMap<&str, Kind> = BTreeMap::new();
        for (number, candidate) in self.candidates.iter().enumerate() {
            let kind = kinds.entry(&candidate.alike).or_insert_with(|| Kind {
                members: vec![],
                area: candidate.item.outline.area(),
                usable: with_border(&candidate.container.outline, half),
                cost: candidate.container.cost,
            });
            kind.members.push(number);
        }
        let mut kinds: Vec<Kind> = kinds.into_values().collect();
        kinds.sort_by_key(|k| k.members[0]);
        kinds
    }

    /// The sets worth trying after `best`, its own among them, the most promising first, and whether they are only its neighbours.
    pub(super) fn trials(&self, problem: &Problem, kinds: &[Kind], best: &Selection) -> (Vec<Trial>, bool) {
        let items = problem.items.iter();
        let needed: f64 = items.clone().map(|i| f64::from(i.count) * i.outline.area()).sum();
        let half = problem.clearance / 2.0;
        let with_strips: f64 = items
            .map(|i| f64::from(i.count) * with_least_border(&i.outline, half))
            .sum();
        let densest = self.densest(problem, best);
        let pieces: u32 = problem.items.iter().map(|i| i.count).sum();
        let used: Counts = kinds
            .iter()
            .map(|k| {
                let is_used = |m: &&usize| best.placed.iter().any(|p| p.container == **m);
                k.members.iter().filter(is_used).count() as u32
            })
            .collect();
        let many = kinds.iter().fold(1usize, |n, k| n.saturating_mul(k.members.len() + 1));
        let sets = if many > MOST_SETS {
            let mut sets = neighbours(kinds, &used);
            sets.push(used);
            sets
        } else {
            all_sets(kinds)
        };
        let rate = self.job.credit_rate * self.glass.price_per_mm2;
        let ceiling = if best.worth.is_whole() {
            best.worth.net - CENT
        } else {
            f64::INFINITY
        };
        let mut trials: Vec<Trial> = Vec::new();
        // The best's own glass too: laid from other starts it may come to less.
        for counts in sets {
            let of = |figure: fn(&Kind) -> f64| -> f64 {
                kinds.iter().zip(&counts).map(|(k, n)| f64::from(*n) * figure(k)).sum()
            };
            let (cost, area, usable) = (of(|k| k.cost), of(|k| k.area), of(|k| k.usable));
            let least = cost - rate * (area - needed).max(0.0);
            if usable * densest < with_strips || least >= ceiling {
                continue;
            }
            let taken = kinds.iter().zip(&counts).filter(|(_, n)| **n > 0);
            let largest = taken.map(|(k, _)| k.area).fold(0.0, f64::max);
            let hoped = cost - rate * (area - needed / HOPED).clamp(0.0, largest);
            trials.push(Trial {
                counts,
                least,
                hoped,
                found: None,
            });
        }
        trials.sort_by(|a, b| a.hoped.total_cmp(&b.hoped).then(a.counts.cmp(&b.counts)));
        trials.truncate(MOST_TRIED.min(MOST_LAID / pieces.max(1) as usize));
        (trials, many > MOST_SETS)
    }

    /// How densely a set has to be filled at most to be tried.
    fn densest(&self, problem: &Problem, best: &Selection) -> f64 {
        let wanted = problem.items.iter().filter(|item| item.count > 0);
        let (area, bounds) = wanted.fold((0.0, 0.0), |(area, bounds), item| {
            let (count, own) = (f64::from(item.count), item.outline.bounds());
            (
                area + count * item.outline.area(),
                bounds + count * own.width() * own.height(),
            )
        });
        if best.worth.is_whole() && problem.clearance > 0.0 && area < SQUARE * bounds {
            DENSE
        } else {
            DENSEST
        }
    }
}

/// An upper bound of the area of an outline with a border of `half` round it.
fn with_border(outline: &Outline, half: f64) -> f64 {
    let round: f64 = ring::sides(outline.points()).map(|(p, q)| ring::length(q - p)).sum();
    outline.area() + round * half + PI * half * half
}

/// A lower bound of the same: of all outlines of an area a disk has the least border (Brunn and Minkowski).
fn with_least_border(outline: &Outline, half: f64) -> f64 {
    let radius = (outline.area() / PI).sqrt();
    PI * (radius + half).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Euclidean, Length};
    use proptest::prelude::*;

    proptest! {
        /// Steiner's formula: a convex outline of area A and length L takes up A + L r + π r² with a border of r. The length is geo's.
        #[test]
        fn a_border_lies_between_its_bounds(wide in 1.0_f64..900.0, high in 1.0_f64..900.0, half in 0.1_f64..20.0) {
            for outline in [Outline::rectangle(wide, high), cullet_testkit::plan::outline(&[[0.0, 0.0], [wide, 0.0], [0.3 * wide, high]])] {
                let length = Euclidean.length(outline.to_polygon().exterior());
                let steiner = outline.area() + length * half + PI * half * half;
                prop_assert!(with_least_border(&outline, half) <= steiner * (1.0 + 1e-9));
                prop_assert!((with_border(&outline, half) - steiner).abs() < 1e-6 * steiner);
            }
        }
    }

    /// Of a disk both bounds are the same, but for its corners.
    #[test]
    fn a_disk_has_the_least_border() {
        let corner = |k: i32| {
            let (sin, cos) = (f64::from(k) * PI / 180.0).sin_cos();
            [50.0 * cos, 50.0 * sin]
        };
        let disk = cullet_testkit::plan::outline(&(0..360).map(corner).collect::<Vec<_>>());
        let (least, most) = (with_least_border(&disk, 3.0), with_border(&disk, 3.0));
        assert!(least <= most && most - least < 0.5, "{least} {most}");
    }

    fn objective(missing: f64, net: f64) -> Objective {
        Objective {
            missing,
            net,
            pulled: 1,
            largest: 0.0,
            breaks: 0,
        }
    }

    /// A set that could save much gets most of the effort, one that could save nothing still a little.
    #[test]
    fn effort_goes_where_much_could_be_saved() {
        let trial = |hoped: f64, found: Option<Objective>| Trial {
            counts: vec![1],
            least: 0.0,
            hoped,
            found: found.map(|worth| Selection {
                placed: vec![],
                allowed: vec![],
                worth,
            }),
        };
        let (best, price) = (objective(0.0, 44.0), 7e-5);
        assert!((trial(30.0, None).promises(&best, price) - 14.0).abs() < 1e-9);
        // A tenth of a square metre without room: twice its price is to be saved first.
        let short = trial(30.0, Some(objective(1e5, 32.0)));
        assert!((short.promises(&best, price) - 0.88).abs() < 1e-9, "a little");
        assert!((trial(30.0, Some(objective(5e4, 32.0))).promises(&best, price) - 7.0).abs() < 1e-9);
        assert!((trial(50.0, None).promises(&best, price) - 0.88).abs() < 1e-9);
    }
}
