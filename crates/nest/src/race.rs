//! Which attempts are gone on with: one that after some rounds is left with more overlap than most others were is dropped.
//!
//! Most attempts fail, and those that will succeed show it early: measured on four published strips, more than half of them
//! were among the best quarter after 100 rounds (`benches/results/search.md`).

use std::collections::VecDeque;

/// After so many rounds an attempt is compared, and dropped unless it is within this best share of the latest ones.
const STAGES: [(u32, f64); 3] = [(50, 0.5), (100, 0.6), (200, 0.6)];
/// So many of the latest attempts are remembered at each stage, and none is dropped before this many were.
const LATEST: usize = 40;
const FEWEST: usize = 6;

/// What the latest attempts were left with at each stage.
#[derive(Debug, Default)]
pub(crate) struct Race {
    left: [VecDeque<f64>; STAGES.len()],
    /// What was remembered since it was last told: stage and overlap left.
    news: Vec<(usize, f64)>,
}

impl Race {
    /// Whether an attempt that has `left` overlap after so many rounds is behind the others; it is remembered either way.
    /// Between stages none is.
    pub(crate) fn is_behind(&mut self, rounds: u32, left: f64) -> bool {
        let Some(stage) = STAGES.iter().position(|s| s.0 == rounds) else {
            return false;
        };
        let latest = &self.left[stage];
        let ahead = latest.iter().filter(|other| **other < left).count();
        let behind = latest.len() >= FEWEST && ahead as f64 > STAGES[stage].1 * latest.len() as f64;
        self.remember(stage, left);
        self.news.push((stage, left));
        behind
    }

    fn remember(&mut self, stage: usize, left: f64) {
        let latest = &mut self.left[stage];
        latest.push_back(left);
        if latest.len() > LATEST {
            latest.pop_front();
        }
    }

    /// Tells each of these what the others have seen since the last time.
    pub(crate) fn share<'a>(races: impl Iterator<Item = &'a mut Self>) {
        let mut races: Vec<&mut Self> = races.collect();
        for teller in 0..races.len() {
            for (stage, left) in std::mem::take(&mut races[teller].news) {
                let others = races.iter_mut().enumerate().filter(|(k, _)| *k != teller);
                others.for_each(|(_, race)| race.remember(stage, left));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_behind_before_there_are_others_nor_between_stages() {
        let mut race = Race::default();
        for left in 0..FEWEST {
            assert!(!race.is_behind(50, left as f64));
        }
        assert!(race.is_behind(50, 1e9));
        assert!(!race.is_behind(51, 1e9));
        assert!(!race.is_behind(100, 1e9), "each stage has others of its own");
    }

    #[test]
    fn races_that_share_know_the_same_and_hear_nothing_twice() {
        let mut races = [Race::default(), Race::default()];
        for left in 0..FEWEST {
            races[0].is_behind(50, left as f64);
        }
        races[1].is_behind(100, 7.0);
        assert!(!races[1].is_behind(50, 1e9), "nothing is known yet");
        Race::share(races.iter_mut());
        assert!(races[1].is_behind(50, 1e8), "six were better elsewhere");
        Race::share(races.iter_mut());
        let sorted = |race: &Race| {
            race.left.clone().map(|latest| {
                let mut latest = Vec::from(latest);
                latest.sort_by(f64::total_cmp);
                latest
            })
        };
        assert_eq!(sorted(&races[0]), sorted(&races[1]));
        assert_eq!(races[0].left[0].len(), FEWEST + 2);
    }

    #[test]
    fn the_worse_half_of_the_latest_is_behind() {
        let mut race = Race::default();
        for left in 0..200 {
            race.is_behind(50, f64::from(left));
        }
        // The latest 40 were left with 160 to 199.
        assert!(!race.is_behind(50, 179.5));
        assert!(race.is_behind(50, 185.5));
        assert_eq!(race.left[0].len(), LATEST);
    }
}
