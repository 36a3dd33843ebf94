//! How the effort of a plan is shared out among its glasses and its stages.

use crate::model::Effort;
use cullet_job::Job;

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

/// A share of a search's effort.
pub(super) fn fraction(effort: cullet_nest::Effort, share: f64) -> cullet_nest::Effort {
    let limit = match effort.limit {
        cullet_nest::Limit::Rounds(rounds) => cullet_nest::Limit::Rounds((rounds as f64 * share).ceil() as u64),
        cullet_nest::Limit::Seconds(seconds) => cullet_nest::Limit::Seconds(seconds * share),
    };
    cullet_nest::Effort { limit, ..effort }
}
