//! How the effort of a plan is shared out among its glasses and its stages.

use crate::model::Effort;
use cullet_job::Job;
use cullet_nest::watch::Watch;
use std::sync::atomic::AtomicBool;

/// Lanes of a search whose effort is counted in rounds: fixed, so that the plan does not depend on the threads.
const LANES_BY_ROUNDS: usize = 2;

/// Share of each glass: by the number of its pieces, as the search's work grows about in step with it.
pub(super) fn shares(job: &Job) -> Vec<f64> {
    let mut counts = vec![0.0; job.glasses.len()];
    for piece in &job.pieces {
        counts[piece.glass] += f64::from(piece.quantity + piece.spares);
    }
    let all: f64 = counts.iter().sum();
    counts.iter().map(|c| if all > 0.0 { c / all } else { 0.0 }).collect()
}

/// The effort for one share, with a seed of its own.
pub(super) fn part(effort: Effort, share: f64, index: usize) -> cullet_nest::Effort {
    let (limit, lanes) = match effort.rounds {
        Some(rounds) => (
            cullet_nest::Limit::Rounds((rounds as f64 * share).ceil() as u64),
            LANES_BY_ROUNDS,
        ),
        None => {
            let seconds = effort.seconds.unwrap_or(0.0) * share;
            (cullet_nest::Limit::Seconds(seconds), rayon::current_num_threads())
        }
    };
    cullet_nest::Effort {
        seed: effort.seed.wrapping_add(index as u64),
        limit,
        lanes,
    }
}

/// The effort of one way of laying out, from which its stages take what they need: what one leaves is there for the next.
pub(super) struct Purse<'a> {
    whole: cullet_nest::Effort,
    watch: Watch<'a>,
}

impl<'a> Purse<'a> {
    pub(super) fn new(whole: cullet_nest::Effort, cancel: &'a AtomicBool) -> Self {
        Self {
            whole,
            watch: Watch::new(whole.limit, cancel),
        }
    }

    /// Share of it that is gone.
    pub(super) fn spent(&self) -> f64 {
        self.watch.share().min(1.0)
    }

    /// Whether nothing is left, or somebody wants to stop.
    pub(super) fn over(&self) -> bool {
        self.watch.over()
    }

    /// Up to `share` of the whole, as far as it is there, with a seed that differs by `turn`.
    pub(super) fn take(&self, share: f64, turn: u64) -> cullet_nest::Effort {
        let share = share.min(1.0 - self.spent()).max(0.0);
        cullet_nest::Effort {
            seed: self.whole.seed.wrapping_add(turn.wrapping_mul(0x9e37_79b9)),
            ..fraction(self.whole, share)
        }
    }

    /// Notes how much of what was taken is gone, at least one round of it; time notes itself.
    pub(super) fn pay(&self, taken: cullet_nest::Effort, spent: f64) {
        if let (cullet_nest::Limit::Rounds(taken), cullet_nest::Limit::Rounds(whole)) = (taken.limit, self.whole.limit)
        {
            let rounds = (taken as f64 * spent).max(1.0);
            self.watch.spend(self.watch.share() + rounds / whole.max(1) as f64);
        }
    }
}

/// A share of a search's effort.
pub(super) fn fraction(effort: cullet_nest::Effort, share: f64) -> cullet_nest::Effort {
    let limit = match effort.limit {
        cullet_nest::Limit::Rounds(rounds) => cullet_nest::Limit::Rounds((rounds as f64 * share).ceil() as u64),
        cullet_nest::Limit::Seconds(seconds) => cullet_nest::Limit::Seconds(seconds * share),
    };
    cullet_nest::Effort { limit, ..effort }
}
