//! What lies in pairs and blocks: single pieces again, or the smaller blocks that a block was made of.

use super::Abutted;
use cullet_geometry::{Point, Pose};
use cullet_search::{Placed, Problem};
use std::collections::BTreeSet;

impl Abutted {
    /// One of the pieces that lie in an item: what holds for all of them can be asked of it.
    pub(crate) fn piece(&self, mut item: usize) -> usize {
        while let Some(pair) = item.checked_sub(self.singles) {
            item = self.pairs[pair][0].0;
        }
        item
    }

    /// All pieces that lie in an item.
    pub(crate) fn pieces(&self, item: usize) -> Vec<usize> {
        let members = self.members(item, Pose::IDENTITY).into_iter();
        members.map(|(piece, _)| piece).collect()
    }

    /// Takes blocks and pairs of which some are `left` apart into what they were made of; whether there were any.
    pub(crate) fn let_go(&self, problem: &mut Problem, left: &[u32]) -> bool {
        let mut any = false;
        for (k, members) in self.pairs.iter().enumerate() {
            let block = self.singles + k;
            let count = left[block].min(problem.items[block].count);
            any |= count > 0;
            problem.items[block].count -= count;
            members.iter().for_each(|(item, _)| problem.items[*item].count += count);
        }
        any
    }

    /// The same with every block let go so many times: smaller blocks may close up where large ones cannot.
    pub(crate) fn finer(&self, times: usize) -> Self {
        let mut finer = self.clone();
        for _ in 0..times {
            let mut problem = finer.problem.clone();
            let all: Vec<u32> = problem.items.iter().map(|item| item.count).collect();
            finer.let_go(&mut problem, &all);
            finer.problem = problem;
        }
        finer
    }

    /// The problem with blocks wanted as they are `placed`, and what is not placed in single pieces.
    pub(crate) fn as_placed(&self, problem: &Problem, placed: &[Placed]) -> Problem {
        let mut wanted = vec![0; self.singles];
        for (item, own) in problem.items.iter().enumerate() {
            self.pieces(item)
                .into_iter()
                .for_each(|piece| wanted[piece] += own.count);
        }
        let mut problem = problem.clone();
        problem.items.iter_mut().for_each(|item| item.count = 0);
        for own in placed {
            problem.items[own.item].count += 1;
            self.pieces(own.item)
                .into_iter()
                .for_each(|piece| wanted[piece] = wanted[piece].saturating_sub(1));
        }
        let missing = problem.items.iter_mut().zip(wanted);
        missing.for_each(|(item, missing)| item.count += missing);
        problem
    }

    /// What lies in each block, and how often there is one: the same however it was put together.
    pub(crate) fn contents(&self) -> BTreeSet<(Vec<usize>, u32)> {
        let blocks = self.singles..self.problem.items.len();
        let content = |block: usize| {
            let mut pieces = self.pieces(block);
            pieces.sort_unstable();
            (pieces, self.problem.items[block].count)
        };
        blocks.map(content).filter(|(_, count)| *count > 0).collect()
    }

    /// The single items that lie in one, and how.
    pub(super) fn members(&self, item: usize, pose: Pose) -> Vec<(usize, Pose)> {
        let Some(members) = item.checked_sub(self.singles).map(|k| &self.pairs[k]) else {
            return vec![(item, pose)];
        };
        let each = |(member, own): &(usize, Pose)| {
            let there = pose.apply(Point { x: own.x, y: own.y });
            let own = Pose {
                rotation_deg: (pose.rotation_deg + own.rotation_deg).rem_euclid(360.0),
                turned_over: pose.turned_over,
                x: there.x,
                y: there.y,
            };
            self.members(*member, own)
        };
        members.iter().flat_map(each).collect()
    }

    /// The pieces of a layout with pairs, each by itself, to be laid on the same glass.
    pub(crate) fn singly(&self, problem: &Problem, placed: &[Placed]) -> Problem {
        let mut singly = problem.clone();
        singly.items.iter_mut().for_each(|item| item.count = 0);
        for piece in self.parted(placed) {
            singly.items[piece.item].count += 1;
        }
        singly
    }

    /// Each piece where it lies.
    pub(crate) fn parted(&self, placed: &[Placed]) -> Vec<Placed> {
        let each = |at: &Placed| {
            let members = self.members(at.item, at.pose).into_iter();
            members
                .map(|(item, pose)| Placed { item, pose, ..*at })
                .collect::<Vec<_>>()
        };
        placed.iter().flat_map(each).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Outline;
    use cullet_search::{Item, Turns};

    /// Four pieces, each wanted twice, in two pairs (4 and 5), and those in one block (6).
    fn blocks() -> Abutted {
        let at = |x: f64, y: f64, wide: f64, high: f64, count: u32| Item {
            outline: Outline::rectangle(wide, high).translated(x, y),
            count,
            turns: Turns::free(),
            turned_over: None,
            allowed: vec![],
        };
        let items = vec![
            at(0.0, 0.0, 9.0, 9.0, 0),
            at(10.0, 0.0, 9.0, 9.0, 0),
            at(0.0, 10.0, 9.0, 9.0, 0),
            at(10.0, 10.0, 9.0, 9.0, 0),
            at(0.0, 0.0, 19.0, 9.0, 0),
            at(0.0, 10.0, 19.0, 9.0, 0),
            at(0.0, 0.0, 19.0, 19.0, 2),
        ];
        let both = |a: usize, b: usize| vec![(a, Pose::IDENTITY), (b, Pose::IDENTITY)];
        Abutted {
            problem: Problem {
                items,
                containers: vec![],
                clearance: 6.0,
                tolerance: 0.001,
            },
            pairs: vec![both(0, 1), both(2, 3), both(4, 5)],
            singles: 4,
            is_drawn: true,
        }
    }

    fn counts(problem: &Problem) -> Vec<u32> {
        problem.items.iter().map(|item| item.count).collect()
    }

    #[test]
    fn a_block_is_let_go_by_halves_and_none_is_lost() {
        let blocks = blocks();
        let mut problem = blocks.problem.clone();
        assert!(blocks.let_go(&mut problem, &[0, 0, 0, 0, 0, 0, 1]));
        assert_eq!(counts(&problem), [0, 0, 0, 0, 1, 1, 1]);
        assert!(blocks.let_go(&mut problem, &[0, 0, 0, 0, 0, 1, 0]));
        assert_eq!(counts(&problem), [0, 0, 1, 1, 1, 0, 1]);
        assert!(
            !blocks.let_go(&mut problem, &[0, 0, 1, 1, 0, 0, 0]),
            "single pieces stay"
        );
        assert_eq!(counts(&blocks.finer(1).problem), [0, 0, 0, 0, 2, 2, 0]);
        assert_eq!(counts(&blocks.finer(5).problem), [2, 2, 2, 2, 0, 0, 0]);
    }

    /// One block, one pair of the other, and one piece of its other pair: the last piece is missing.
    #[test]
    fn what_is_not_placed_is_wanted_by_itself() {
        let blocks = blocks();
        let placed = [6, 4, 2].map(|item| Placed {
            item,
            container: 0,
            pose: Pose::IDENTITY,
        });
        let wanted = blocks.as_placed(&blocks.problem, &placed);
        assert_eq!(counts(&wanted), [0, 0, 1, 1, 1, 0, 1]);
        assert_eq!(blocks.parted(&placed).len(), 7);
        assert_eq!(blocks.pieces(6), [0, 1, 2, 3]);
    }

    /// What is laid singly goes through the same search, which lets blocks go that find no room: there are none to let go.
    #[test]
    fn what_is_laid_singly_has_no_block_to_let_go() {
        let blocks = blocks();
        let placed = [6, 4, 2].map(|item| Placed {
            item,
            container: 0,
            pose: Pose::IDENTITY,
        });
        let mut singly = blocks.singly(&blocks.problem, &placed);
        assert_eq!(counts(&singly), [2, 2, 2, 1, 0, 0, 0]);
        let left = counts(&singly);
        assert!(!blocks.let_go(&mut singly, &left));
    }
}
