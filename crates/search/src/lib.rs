//! What the two searches share: the problem, its effort, when to stop, random numbers, and lanes that search side by side.
//!
//! # What it is for
//! `cullet-nest` lays items freely, `cullet-guillotine` in straight runs. Both take a [`Problem`] and an [`Effort`], watch a
//! [`StopCondition`], draw from [`Random`] and run their [`Lane`]s by [`run_lanes`], so that a planner can ask either in the same words.
//!
//! # Units and axes
//! Millimetres and degrees, y up. A result's pose brings an item's own frame to its container's.
//!
//! # What it must not know
//! Glass, files, prices other than a number per container; how either search works.

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

mod lanes;
mod problem;
mod random;
mod stop;

pub use lanes::{Lane, run_lanes};
pub use problem::{Container, Effort, Item, Limit, MOST_BACK, Placed, Problem, Turns};
pub use random::Random;
pub use stop::{Clock, StopCondition, Until};
