//! Tolerances that depend on each other, mm: from the grid of offsets up to what the rule of breaking lets pass.
//!
//! Each is as small as what stands above it allows, and what must hold between them is asserted below when this is compiled. The
//! verifier has tolerances of its own, and the planner asserts that what it makes stays within them.
//!
//! | tolerance | mm | what it is |
//! |---|---|---|
//! | [`GRID`] | 0.0001 | the grid on which offsets and booleans are worked out |
//! | [`REACH`] | 0.0002 | how far a blank may reach over the edge of its part and still touch it |
//! | [`SNAP`] | 0.0005 | corners this close to a run lie on it |
//! | [`SINK`] | 0.001 | how deep two pieces may sink into each other and still count as touching |
//! | [`SHORT`] | 0.001 | what an outline or a keep square may come out short by |
//! | [`TOUCH`] | 0.004 | points of glass nearer than this are one |
//! | [`JOIN`] | 0.005 | by how much joined pieces are grown and shrunk again, so that they are one outline |
//! | [`WIDTH`] | 0.01 | what a width may lack; far below what a wheel can follow |

use crate::GRID_PER_MM;

/// The grid on which offsets and booleans are worked out.
pub const GRID: f64 = 1.0 / GRID_PER_MM;
/// How far a blank may reach over the edge of its part and still count as touching it.
pub const REACH: f64 = 2e-4;
/// Corners this close to a run lie on it, so that no hair of glass is left beside it.
pub const SNAP: f64 = 5e-4;
/// How deep two pieces may sink into each other and still count as touching.
pub const SINK: f64 = 0.001;
/// What an outline, or the square of the keep rule, may come out short by: ten steps of the grid.
pub const SHORT: f64 = 0.001;
/// Points of glass nearer than this are one: what neighbouring pieces may sink into each other, and rounding.
pub const TOUCH: f64 = 0.004;
/// By how much more than half a kerf the pieces of a pair are grown and the pair shrunk again, so that they are one outline.
pub const JOIN: f64 = 0.005;
/// What a width may lack; far below what a wheel can follow.
pub const WIDTH: f64 = 0.01;

// A step of the grid moves nothing out of reach, and what is in reach lies on the run.
const _: () = assert!(GRID < REACH && REACH < SNAP);
// Two blanks that both lie on one run sink no deeper into each other than pieces may.
const _: () = assert!(2.0 * SNAP <= SINK);
// Both of two pieces may sink by that much, a corner twice as deep where it lies in an inside corner.
const _: () = assert!(4.0 * SINK <= TOUCH);
// Pieces that touch are one once they are joined, and what joining rounds off is no strip.
const _: () = assert!(TOUCH < JOIN && JOIN < WIDTH);
const _: () = assert!(SHORT >= 10.0 * GRID);
