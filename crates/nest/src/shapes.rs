//! Items made ready, remembered from one search to the next.
//!
//! A planner asks for hundreds of short searches over the same items: on a window of 35 curved pieces making them ready took 45 % of
//! the time, searching 4 %.

use crate::form::{Kind, has_obstacles};
use cullet_search::{Item, Problem};
use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// Numbers that what is remembered is known by, at most: then it starts anew. Two stand for a corner, and a corner made ready takes
/// about ten times their memory, so that this is some 200 MB.
const MOST: usize = 2_000_000;

/// What items are once they are made ready for the search. Searches that share it need not make an item ready that an earlier one
/// knew; what they find does not depend on it. May be asked from several threads.
///
/// ```
/// use cullet_geometry::Outline;
/// use cullet_nest::{Shapes, fits_alone};
/// use cullet_search::{Container, Item, Problem, Turns};
/// let problem = Problem {
///     items: vec![Item {
///         outline: Outline::rectangle(200.0, 100.0),
///         count: 1,
///         turns: Turns::only(vec![0.0]),
///         turned_over: None,
///         allowed: vec![],
///     }],
///     containers: vec![Container { outline: Outline::rectangle(210.0, 110.0), keep_off: vec![], cost: 1.0 }],
///     clearance: 6.0,
///     tolerance: 0.001,
/// };
/// let shapes = Shapes::default();
/// assert!(fits_alone(&problem, 0, 0, &shapes));
/// ```
#[derive(Debug, Default)]
pub struct Shapes(Mutex<Known>);

#[derive(Debug, Default)]
struct Known {
    kinds: BTreeMap<Key, Kind>,
    /// How long their keys are together.
    numbers: usize,
}

/// The bits of all numbers that a kind is made of.
type Key = Vec<u64>;

impl Shapes {
    /// The item made ready for `problem`.
    pub(crate) fn kind(&self, item: &Item, problem: &Problem) -> Kind {
        let key = key(item, problem);
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let ready = known().kinds.get(&key).cloned();
        let mut kind = ready.unwrap_or_else(|| {
            let kind = Kind::new(item, problem);
            let mut known = known();
            if known.numbers + key.len() > MOST {
                *known = Known::default();
            }
            known.numbers += key.len();
            known.kinds.insert(key, kind.clone());
            kind
        });
        kind.allowed.clone_from(&item.allowed);
        kind
    }
}

fn key(item: &Item, problem: &Problem) -> Key {
    let mut key = vec![
        problem.clearance.to_bits(),
        problem.tolerance.to_bits(),
        u64::from(has_obstacles(problem)),
        item.outline.points().len() as u64,
    ];
    key.extend(
        item.outline
            .points()
            .iter()
            .flat_map(|p| [p.x.to_bits(), p.y.to_bits()]),
    );
    for turns in [Some(&item.turns), item.turned_over.as_ref()] {
        key.push(turns.map_or(u64::MAX, |t| t.angles_deg.len() as u64));
        key.extend(turns.iter().map(|t| t.tolerance_deg.to_bits()));
        key.extend(turns.iter().flat_map(|t| t.angles_deg.iter().map(|a| a.to_bits())));
    }
    key
}
