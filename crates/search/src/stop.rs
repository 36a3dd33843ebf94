//! When to stop: time, rounds, or somebody saying so.

use crate::Limit;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// How long something takes. The only clock that a search may read; where effort is counted in rounds nothing asks it.
#[derive(Debug, Clone, Copy)]
pub struct Clock(Instant);

impl Clock {
    /// Starts now.
    #[must_use]
    pub fn start() -> Self {
        Self(now())
    }

    /// Seconds since it started.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.0.elapsed().as_secs_f64()
    }
}

#[expect(clippy::disallowed_methods, reason = "the one place that reads the clock")]
fn now() -> Instant {
    Instant::now()
}

/// Watches one search's effort.
#[derive(Debug)]
pub struct StopCondition<'a> {
    start: Instant,
    seconds: Option<f64>,
    /// Share spent where effort is counted in rounds, as bits.
    spent: AtomicU64,
    cancel: &'a AtomicBool,
    /// The watch that this one is a part of, from one share of its effort to another.
    whole: Option<(&'a StopCondition<'a>, f64, f64)>,
}

impl<'a> StopCondition<'a> {
    /// Starts now.
    #[must_use]
    pub fn new(limit: Limit, cancel: &'a AtomicBool) -> Self {
        let seconds = match limit {
            Limit::Seconds(seconds) => Some(seconds),
            Limit::Rounds(_) => None,
        };
        Self {
            start: now(),
            seconds,
            spent: AtomicU64::new(0),
            cancel,
            whole: None,
        }
    }

    /// Watches the stretch of the effort between two shares of it.
    #[must_use]
    pub fn part<'b>(&'b self, from: f64, to: f64) -> StopCondition<'b> {
        StopCondition {
            start: self.start,
            seconds: self.seconds,
            spent: AtomicU64::new(0),
            cancel: self.cancel,
            whole: Some((self, from, to)),
        }
    }

    /// Whether the search must stop now.
    #[must_use]
    pub fn over(&self) -> bool {
        self.cancel.load(Ordering::Relaxed) || self.share() >= 1.0
    }

    /// Share of the effort used up.
    #[must_use]
    pub fn share(&self) -> f64 {
        if let Some((whole, from, to)) = self.whole {
            return (whole.share() - from) / (to - from);
        }
        match self.seconds {
            Some(seconds) => self.start.elapsed().as_secs_f64() / seconds.max(1e-9),
            None => f64::from_bits(self.spent.load(Ordering::Relaxed)),
        }
    }

    /// When a lane that has made so many evaluations until now meets the others next: `MEETING` from now, so that none waits for
    /// another, and where effort is counted in rounds after `epoch` more evaluations, so that all of it repeats.
    #[must_use]
    pub fn meeting(&self, evaluations: u64, epoch: u64) -> Until {
        match self.seconds {
            Some(_) => Until::Time(now() + MEETING),
            None => Until::Evaluations(evaluations + epoch),
        }
    }

    /// Says which share is spent, where effort is counted in rounds; called between epochs only, so that all lanes see the
    /// same.
    pub fn spend(&self, share: f64) {
        if let Some((whole, from, to)) = self.whole {
            whole.spend(from + (to - from) * share);
        }
        self.spent.store(share.to_bits(), Ordering::Relaxed);
    }
}

/// Time between two meetings of lanes.
const MEETING: Duration = Duration::from_millis(50);

/// When lanes that search side by side meet next and compare what they have found.
#[derive(Debug, Clone, Copy)]
pub enum Until {
    /// At this moment.
    Time(Instant),
    /// After so many evaluations.
    Evaluations(u64),
}

impl Until {
    /// Whether a lane that has made so many evaluations goes to meet the others now.
    #[must_use]
    pub fn is_due(self, evaluations: u64) -> bool {
        match self {
            Self::Time(time) => now() >= time,
            Self::Evaluations(most) => evaluations >= most,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lanes_meet_by_the_clock_or_after_so_many_evaluations() {
        let cancel = AtomicBool::new(false);
        let by_clock = StopCondition::new(Limit::Seconds(9.0), &cancel).meeting(0, 10);
        assert!(
            !by_clock.is_due(1_000_000),
            "no number of evaluations brings it forward"
        );
        std::thread::sleep(MEETING);
        assert!(by_clock.is_due(0));
        let counted = StopCondition::new(Limit::Rounds(9), &cancel).meeting(5, 10);
        std::thread::sleep(MEETING);
        assert!(!counted.is_due(14) && counted.is_due(15), "the clock does not matter");
    }
}
