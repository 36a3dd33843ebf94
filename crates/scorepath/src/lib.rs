//! From the breaks of a sheet to the paths a wheel drives: few lifts, the wheel always along the path, arcs as arcs.
//!
//! # What it is for
//! A plan says how a sheet comes apart; [`paths()`] turns its breaks into the fewest [`ScorePath`]s that can be driven without a
//! lift. Where three scores meet, two of them go on in one and the third stops a gap short; no line is scored twice; at a corner
//! the wheel lifts. Each path is a row of [`Stretch`]es, lines and true arcs that touch along common tangents: [`fit`] makes them of
//! corner points. [`order()`] puts the paths in the order that takes least time by a table's [`Motion`], and [`bound()`] says what no
//! order can beat.
//!
//! # Units and axes
//! Millimetres, millimetres a second, seconds; directions in radians, counter-clockwise, 0 along +x. Paths lie in the sheet's frame as
//! the plan has it: y up, seen from the show face. Whoever writes a file turns them over.
//!
//! # How near to the plan
//! The plan's curves are rows of facets outside the glass that is wanted. A path rounds facets off where they touch the curve, so it
//! lies inside them by at most [`Settings::facet`]; everything else lies within [`Settings::fit`] of the plan's lines.
//!
//! # What it must not know
//! Files, tables' languages, plans, stock, search for layouts.
//!
//! ```
//! use cullet_breakout::{Rule, order};
//! use cullet_geometry::Outline;
//! use cullet_scorepath::{Settings, Sheet, paths};
//! let (sheet, pane) = (Outline::rectangle(300.0, 200.0), Outline::rectangle(100.0, 200.0));
//! let breaking = order(&sheet, 0.0, std::slice::from_ref(&pane), &[], &Rule::usual(6.0)).expect("one run");
//! let found = paths(&Sheet { outline: &sheet, breaking: &breaking, pieces: &[pane], offcuts: &[] }, &Settings::default());
//! // One run from edge to edge, 1.6 mm inside at both ends.
//! assert_eq!(found.paths.len(), 1);
//! assert!((found.paths[0].length() - 196.8).abs() < 1e-9);
//! ```
//!
//! # References
//! Biarcs: Bolton 1975, "Biarc curves"; orders of open paths: Sengupta, Mariescu-Istodor & Fränti 2019 (two-opt, relocation and link
//! swaps); the bound: Held & Karp 1970, "The traveling-salesman problem and minimum spanning trees".

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

mod bound;
pub mod fit;
mod index;
mod junction;
mod motion;
mod network;
mod order;
mod path;
mod stretch;

pub use bound::bound;
pub use motion::{Motion, Reckoning};
pub use order::{Order, order};
pub use path::{Curving, Purpose, ScorePath};
pub use stretch::Stretch;

use cullet_breakout::Breaking;
use cullet_geometry::Outline;

/// A sheet and how it comes apart, all in its own frame.
#[derive(Debug, Clone, Copy)]
pub struct Sheet<'a> {
    /// The glass.
    pub outline: &'a Outline,
    /// Its breaks.
    pub breaking: &'a Breaking,
    /// Cut outlines of the pieces where they lie.
    pub pieces: &'a [Outline],
    /// What goes back to the rack.
    pub offcuts: &'a [Outline],
}

/// How scores are driven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// How far inside the sheet's edge a score starts and ends, mm; below 0 it runs so far beyond it.
    pub edge_run: f64,
    /// How far short of another score a score stops, mm.
    pub gap: f64,
    /// Whether a score may run across another one.
    pub may_cross: bool,
    /// Corners sharper than this are turned in the air, degrees.
    pub turn_limit_deg: f64,
    /// How far a path may lie from the plan's lines, mm.
    pub fit: f64,
    /// How deep facets of a curve may be rounded off, mm.
    pub facet: f64,
    /// Radius of the tightest curve that is driven without a lift, mm.
    pub smallest_radius: f64,
}

impl Default for Settings {
    /// 1.6 mm inside the edge, 1 mm short of another score, no crossings, corners over 3° in the air, 0.02 mm.
    fn default() -> Self {
        Self {
            edge_run: 1.6,
            gap: 1.0,
            may_cross: false,
            turn_limit_deg: 3.0,
            fit: 0.02,
            facet: 0.0625,
            smallest_radius: 2.0,
        }
    }
}

/// The paths of a sheet, in no order.
#[derive(Debug, Clone, PartialEq)]
pub struct Paths {
    /// The paths, each driven without a lift.
    pub paths: Vec<ScorePath>,
    /// How often one score runs across another.
    pub crossings: usize,
}

/// The fewest paths that score every break of `sheet` once. Cost O(n log n) for n corners that lie evenly.
#[must_use]
pub fn paths(sheet: &Sheet<'_>, settings: &Settings) -> Paths {
    let lines = network::lines(sheet);
    let (routes, crossings) = junction::routes(&lines, settings);
    let paths = routes
        .iter()
        .flat_map(|route| junction::driven(route, &lines, settings))
        .collect();
    Paths { paths, crossings }
}
