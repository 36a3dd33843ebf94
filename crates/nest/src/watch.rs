//! When to stop: time, rounds, or somebody saying so.

use crate::problem::Limit;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Instant;

/// Watches one search's effort.
#[derive(Debug)]
pub struct Watch<'a> {
    start: Instant,
    seconds: Option<f64>,
    /// Share spent where effort is counted in rounds, as bits.
    spent: AtomicU64,
    cancel: &'a AtomicBool,
    /// The watch that this one is a part of, from one share of its effort to another.
    whole: Option<(&'a Watch<'a>, f64, f64)>,
}

impl<'a> Watch<'a> {
    /// Starts now.
    #[must_use]
    pub fn new(limit: Limit, cancel: &'a AtomicBool) -> Self {
        let seconds = match limit {
            Limit::Seconds(seconds) => Some(seconds),
            Limit::Rounds(_) => None,
        };
        Self {
            start: Instant::now(),
            seconds,
            spent: AtomicU64::new(0),
            cancel,
            whole: None,
        }
    }

    /// Watches the stretch of the effort between two shares of it.
    pub(crate) fn part<'b>(&'b self, from: f64, to: f64) -> Watch<'b> {
        Watch {
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

    /// Says which share is spent, where effort is counted in rounds; called between epochs only, so that all lanes see the
    /// same.
    pub fn spend(&self, share: f64) {
        if let Some((whole, from, to)) = self.whole {
            whole.spend(from + (to - from) * share);
        }
        self.spent.store(share.to_bits(), Ordering::Relaxed);
    }
}
