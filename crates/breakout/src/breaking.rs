//! The breaking order of one sheet: what is scored, what is broken when, what falls off.

use crate::free::Relief;
use cullet_geometry::ring;
use cullet_geometry::{Outline, Point};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Which of the two ways a sheet is laid out and comes apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Style {
    /// Straight scores from edge to edge; neighbours share a score, curves are the last breaks inside a straight-sided blank.
    StraightRun,
    /// Each piece has an outline score of its own, neighbours stand a narrowest strip apart, relief scores open the waste.
    Shaped,
}

/// How one sheet comes apart: a tree, written as its breaks in the order of the bench.
///
/// The sheet is part 0. Each step takes a part in hand that is the sheet or fell off in an earlier step, and parts it in two.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Breaking {
    /// The breaks, first to last.
    pub steps: Vec<Step>,
}

/// A step as it is taken: the glass in hand and what it parts into, corners in the sheet's frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// The part in hand.
    pub hand: Vec<Point>,
    /// What lies to the left of the chain.
    pub left: Vec<Point>,
    /// What lies to the right.
    pub right: Vec<Point>,
}

impl Breaking {
    /// The shapes that each step takes in hand and leaves, for drawing them; no rule is judged. It stops where a step's part is
    /// not in hand or is not parted.
    ///
    /// ```
    /// use cullet_breakout::{Rule, order};
    /// use cullet_geometry::Outline;
    /// let (sheet, pane) = (Outline::rectangle(300.0, 200.0), Outline::rectangle(100.0, 200.0));
    /// let breaking = order(&sheet, 0.0, &[pane], &[], &Rule::usual(6.0)).expect("one run");
    /// let taken = breaking.taken(&sheet);
    /// assert_eq!((taken.len(), taken[0].hand.len()), (1, 4));
    /// ```
    #[must_use]
    pub fn taken(&self, sheet: &Outline) -> Vec<Taken> {
        let mut hands = BTreeMap::from([(0, sheet.points().to_vec())]);
        let mut taken = Vec::with_capacity(self.steps.len());
        for step in &self.steps {
            let Some(hand) = hands.remove(&step.part) else { break };
            let Some((left, right)) = ring::parted(&hand, &step.chain) else {
                break;
            };
            for (side, outcome) in [(&left, step.left), (&right, step.right)] {
                if let Outcome::Part(n) = outcome {
                    hands.insert(n, side.clone());
                }
            }
            taken.push(Taken { hand, left, right });
        }
        taken
    }

    /// Enters the breaks that free one piece (or offcut) from part `number`, as [`crate::free()`] gives them. `next` is the first
    /// number not given to a part yet. Where there are no breaks the part is the piece: then its [`Outcome`] belongs in the step
    /// that made it, and nothing is entered.
    pub fn relieve(&mut self, number: usize, reliefs: Vec<Relief>, outcome: Outcome, next: &mut usize) {
        let mut part = number;
        let count = reliefs.len();
        for (k, relief) in reliefs.into_iter().enumerate() {
            let left = if k + 1 == count { outcome } else { Outcome::Part(*next) };
            self.steps.push(Step {
                part,
                chain: relief.chain,
                left,
                right: if relief.nibbled {
                    Outcome::Nibbled
                } else {
                    Outcome::Cullet
                },
            });
            if k + 1 < count {
                part = *next;
                *next += 1;
            }
        }
    }
}

/// One break.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Number of the part in hand: 0 for the sheet, else the number in an [`Outcome::Part`] of an earlier step.
    pub part: usize,
    /// The scores opened by this break: corners of a connected chain in the sheet's frame, mm, from edge to edge of the part.
    /// Two points are a straight run.
    #[serde(with = "pairs")]
    pub chain: Vec<Point>,
    /// What lies to the left of the chain as it goes.
    pub left: Outcome,
    /// What lies to the right.
    pub right: Outcome,
}

/// What one side of a break is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Glass that a later step takes in hand, by its number; numbers are given once.
    Part(usize),
    /// A piece: index among the layout's placements.
    Piece(usize),
    /// What goes back to the rack: index among the layout's returned offcuts.
    Offcut(usize),
    /// Waste that comes off in one.
    Cullet,
    /// Waste narrower than the narrowest strip, taken off bit by bit with pliers.
    Nibbled,
}

/// Points as pairs `[x, y]`, as outlines are written.
mod pairs {
    use cullet_geometry::Point;
    use serde::{Deserialize, Deserializer, Serializer};

    pub(super) fn serialize<S: Serializer>(points: &[Point], to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(points.iter().map(|p| [p.x, p.y]))
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<Point>, D::Error> {
        let pairs = Vec::<[f64; 2]>::deserialize(from)?;
        Ok(pairs.into_iter().map(|[x, y]| Point { x, y }).collect())
    }
}
