//! How the effort of a plan is shared out among its glasses and its stages.

use cullet_job::Job;
use cullet_model::{Effort, Limit};
use cullet_search::Clock;
use cullet_search::StopCondition;
use std::sync::atomic::AtomicBool;

/// Share of a way's seconds that repairs may take on top of them.
const REPAIRS: f64 = 0.1;

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

/// The effort of a plan as a search takes it, each glass with a seed of its own.
#[expect(
    clippy::disallowed_methods,
    reason = "by the clock the threads at hand are used; in rounds their number does not matter"
)]
pub(super) fn whole(effort: Effort, glass: usize) -> cullet_search::Effort {
    let (limit, lanes) = match effort.limit {
        Limit::Rounds(rounds) => (cullet_search::Limit::Rounds(rounds), LANES_BY_ROUNDS),
        Limit::Seconds(seconds) => (cullet_search::Limit::Seconds(seconds), rayon::current_num_threads()),
    };
    cullet_search::Effort {
        seed: effort.seed.wrapping_add(glass as u64),
        limit,
        lanes,
    }
}

/// What laying sheets again may take of a way's effort: its rounds, but little of its seconds, which are gone by then.
pub(super) fn for_repairs(effort: cullet_search::Effort) -> cullet_search::Effort {
    match effort.limit {
        cullet_search::Limit::Rounds(_) => effort,
        cullet_search::Limit::Seconds(_) => fraction(effort, REPAIRS),
    }
}

/// The effort of one way of laying out, from which its stages take what they need: what one leaves is there for the next.
pub(super) struct Budget<'a> {
    whole: cullet_search::Effort,
    watch: StopCondition<'a>,
}

impl<'a> Budget<'a> {
    pub(super) fn new(whole: cullet_search::Effort, cancel: &'a AtomicBool) -> Self {
        Self {
            whole,
            watch: StopCondition::new(whole.limit, cancel),
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

    /// Whether its seconds are gone, so that what could only be better is left out. Rounds are never late: a stage of none is still
    /// the same everywhere.
    pub(super) fn is_late(&self) -> bool {
        matches!(self.whole.limit, cullet_search::Limit::Seconds(_)) && self.over()
    }

    /// Up to `share` of the whole, as far as it is there, with a seed that differs by `turn`.
    pub(super) fn allot(&self, share: f64, turn: u64) -> cullet_search::Effort {
        let share = share.min(1.0 - self.spent()).max(0.0);
        cullet_search::Effort {
            seed: self.whole.seed.wrapping_add(turn.wrapping_mul(0x9e37_79b9)),
            ..fraction(self.whole, share)
        }
    }

    /// Notes how much of what was taken is gone, at least one round of it; time notes itself.
    pub(super) fn charge(&self, taken: cullet_search::Effort, spent: f64) {
        if let (cullet_search::Limit::Rounds(taken), cullet_search::Limit::Rounds(whole)) =
            (taken.limit, self.whole.limit)
        {
            let rounds = (taken as f64 * spent).max(1.0);
            self.watch.spend(self.watch.share() + rounds / whole.max(1) as f64);
        }
    }
}

/// Whether so much time has gone since a search began; never where effort is counted in rounds.
pub(super) fn is_over(effort: cullet_search::Effort, began: Clock) -> bool {
    match effort.limit {
        cullet_search::Limit::Rounds(_) => false,
        cullet_search::Limit::Seconds(seconds) => began.seconds() >= seconds,
    }
}

/// A share of a search's rounds; of its seconds a share of those that are left since it began, so that one stage that takes longer
/// leaves less for the others.
pub(super) fn of_rest(effort: cullet_search::Effort, began: Clock, share: f64, of_rest: f64) -> cullet_search::Effort {
    match effort.limit {
        cullet_search::Limit::Rounds(_) => fraction(effort, share),
        cullet_search::Limit::Seconds(seconds) => {
            let left = (seconds - began.seconds()).max(0.0) * of_rest.clamp(0.0, 1.0);
            cullet_search::Effort {
                limit: cullet_search::Limit::Seconds(left),
                ..effort
            }
        }
    }
}

/// A search's seconds without those that are wanted `after` it, but a fifth of them at least; rounds as they are.
pub(super) fn less(effort: cullet_search::Effort, after: f64) -> cullet_search::Effort {
    match effort.limit {
        cullet_search::Limit::Rounds(_) => effort,
        cullet_search::Limit::Seconds(seconds) => cullet_search::Effort {
            limit: cullet_search::Limit::Seconds((seconds - after).max(0.2 * seconds)),
            ..effort
        },
    }
}

/// A share of a search's effort.
pub(super) fn fraction(effort: cullet_search::Effort, share: f64) -> cullet_search::Effort {
    let limit = match effort.limit {
        cullet_search::Limit::Rounds(rounds) => cullet_search::Limit::Rounds((rounds as f64 * share).ceil() as u64),
        cullet_search::Limit::Seconds(seconds) => cullet_search::Limit::Seconds(seconds * share),
    };
    cullet_search::Effort { limit, ..effort }
}
