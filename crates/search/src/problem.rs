//! What is to be laid out: items, containers, how items may turn; and what comes out.

use cullet_geometry::{Outline, Pose};

/// Items to be placed into containers.
#[derive(Debug, Clone)]
pub struct Problem {
    /// The kinds of item.
    pub items: Vec<Item>,
    /// The containers, in order of preference.
    pub containers: Vec<Container>,
    /// Least distance between items, mm, 0 or more.
    pub clearance: f64,
    /// How deep sides may sink into each other and still count as touching, mm, above 0. A corner may sink deeper, up to twice
    /// as deep where it lies in an inside corner that it fits, so a layout keeps every distance to at least `clearance − 2 ·
    /// tolerance`; from obstacles and the container's edge to at least `−tolerance`.
    pub tolerance: f64,
}

/// One kind of item.
#[derive(Debug, Clone)]
pub struct Item {
    /// Its outline.
    pub outline: Outline,
    /// How many are wanted.
    pub count: u32,
    /// The rotations it may have.
    pub turns: Turns,
    /// Whether it may be turned over (after its rotation), and the rotations it may have then.
    pub turned_over: Option<Turns>,
    /// For each container whether it may lie there; empty for all.
    pub allowed: Vec<bool>,
}

/// A set of rotations: some directions, each with the same tolerance either way. Degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Turns {
    /// The directions.
    pub angles_deg: Vec<f64>,
    /// Degrees either way, 0 to 180.
    pub tolerance_deg: f64,
}

impl Turns {
    /// Every rotation.
    #[must_use]
    pub fn free() -> Self {
        Self {
            angles_deg: vec![0.0],
            tolerance_deg: 180.0,
        }
    }

    /// Just these rotations, degrees.
    #[must_use]
    pub fn only(angles_deg: Vec<f64>) -> Self {
        Self {
            angles_deg,
            tolerance_deg: 0.0,
        }
    }

    /// Whether every angle is allowed.
    #[must_use]
    pub fn is_free(&self) -> bool {
        self.tolerance_deg >= 180.0
    }
}

/// Something that items are placed into.
#[derive(Debug, Clone)]
pub struct Container {
    /// Its usable area: items lie wholly inside, to the tolerance.
    pub outline: Outline,
    /// Zones inside it that items keep off, to the tolerance.
    pub keep_off: Vec<Outline>,
    /// What using it costs, 0 or more, in any unit; the sum over used containers is made least.
    pub cost: f64,
}

/// How far a corner is drawn back at most, in distances that its sides move inwards by. At an angle α it would be 1 / sin(α/2),
/// which is more below 60°.
pub const MOST_BACK: f64 = 2.0;

/// Where one item lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Index of its kind in [`Problem::items`].
    pub item: usize,
    /// Index of the container.
    pub container: usize,
    /// From the item's own frame to the container's.
    pub pose: Pose,
}

/// When a search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// After so many seconds.
    Seconds(f64),
    /// After so many rounds; the result then depends on nothing but the input, whatever the number of threads.
    Rounds(u64),
}

/// How hard to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// Seed of the random numbers.
    pub seed: u64,
    /// When to end.
    pub limit: Limit,
    /// How many searches run side by side and share the best found, at least 1. Usually the number of threads.
    pub lanes: usize,
}

impl Effort {
    /// A share of the rounds; seconds are told by the clock.
    #[must_use]
    pub fn part(self, share: f64) -> Self {
        let limit = match self.limit {
            Limit::Rounds(rounds) => Limit::Rounds((rounds as f64 * share).ceil() as u64),
            seconds @ Limit::Seconds(_) => seconds,
        };
        Self { limit, ..self }
    }
}
