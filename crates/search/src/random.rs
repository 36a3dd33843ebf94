//! Random numbers: one generator, seeded, and the three draws the search needs.

use rand_core::{RngCore, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

/// A seeded generator.
#[derive(Debug, Clone)]
pub struct Random(Xoshiro256PlusPlus);

impl Random {
    /// The generator of one lane: `lane` jumps ahead of `seed`, so that lanes never overlap.
    #[must_use]
    pub fn new(seed: u64, lane: usize) -> Self {
        let mut inner = Xoshiro256PlusPlus::seed_from_u64(seed);
        for _ in 0..lane {
            inner.jump();
        }
        Self(inner)
    }

    /// Uniform in `[0, 1)`.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * (1.0 / (1u64 << 53) as f64)
    }

    /// Uniform in `[low, high)`; `low` where the range is empty.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        if high > low {
            low + (high - low) * self.unit()
        } else {
            low
        }
    }

    /// Uniform in `0..count`, `count` at least 1.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count - 1)
    }

    /// About normal with deviation 1 (sum of four uniforms, enough for spreading samples).
    pub fn bell(&mut self) -> f64 {
        let sum = self.unit() + self.unit() + self.unit() + self.unit();
        (sum - 2.0) * 3.0_f64.sqrt()
    }

    /// Random order.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i + 1));
        }
    }
}
