//! Guided local search that draws overlapping items apart.
//!
//! In every round each overlapping item moves to the best place found for it, judged by weighted overlap; then the weights
//! of the pairs that still overlap grow, so that no pair stays stuck for long. (Guided local search for overlap:
//! Egeblad, Nielsen & Odgaard 2007; Umetani et al. 2009; growth in proportion to overlap: Elkeran 2013.)

use crate::field::{Field, Growth, Slot};
use crate::place::{Care, Scratch, best_place, settle};
use cullet_search::Random;

/// What a round came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Still overlapping, still improving.
    Going,
    /// Nothing overlaps.
    Clear,
    /// No progress for long; the best state found is back in the field.
    Stuck,
}

/// How long to try.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Patience {
    /// Rounds without a better total before a new start from the best state.
    pub(crate) rounds: u32,
    /// New starts without real progress before giving up.
    pub(crate) starts: u32,
}

/// One attempt at a valid layout.
#[derive(Debug)]
pub(crate) struct Separation {
    patience: Patience,
    growth: Growth,
    best: Vec<Slot>,
    pub(crate) best_total: f64,
    start_total: f64,
    stale: u32,
    starts: u32,
}

impl Separation {
    /// Sets out from how things lie in `field`, all weights equal.
    pub(crate) fn new(field: &mut Field, patience: Patience, growth: Growth) -> Self {
        field.reset_weights();
        let total = field.total();
        Self {
            patience,
            growth,
            best: field.snapshot(),
            best_total: total,
            start_total: total,
            stale: 0,
            starts: 0,
        }
    }

    /// One round; `stop` is asked before every move.
    pub(crate) fn round(
        &mut self,
        field: &mut Field,
        care: Care,
        random: &mut Random,
        scratch: &mut Scratch,
        stop: &dyn Fn() -> bool,
    ) -> Outcome {
        let mut order: Vec<usize> = (0..field.slots.len()).filter(|i| field.overlap_of(*i) > 0.0).collect();
        random.shuffle(&mut order);
        for i in order {
            if stop() {
                return Outcome::Going;
            }
            let now = field.weighted_of(i);
            if now > 0.0 {
                let place = best_place(field, i, care, random, scratch);
                if place.cost < now {
                    settle(field, i, &place, scratch);
                }
            }
        }
        let total = field.total();
        if total <= 0.0 {
            return Outcome::Clear;
        }
        field.reweigh(self.growth);
        if total < self.best_total {
            if total < 0.98 * self.best_total {
                self.stale = 0;
            }
            self.best_total = total;
            self.best.clone_from_slice(&field.slots);
        } else {
            self.stale += 1;
        }
        if self.stale >= self.patience.rounds {
            self.start_again(field)
        } else {
            Outcome::Going
        }
    }

    /// Brings the best state found back into `field`.
    pub(crate) fn give_up(&self, field: &mut Field) {
        field.restore(&self.best);
    }

    fn start_again(&mut self, field: &mut Field) -> Outcome {
        field.restore(&self.best);
        self.stale = 0;
        if self.best_total < 0.98 * self.start_total {
            self.starts = 0;
        } else {
            self.starts += 1;
        }
        self.start_total = self.best_total;
        if self.starts >= self.patience.starts {
            Outcome::Stuck
        } else {
            Outcome::Going
        }
    }
}
