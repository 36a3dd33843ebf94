//! Blocks of pieces that lie as they do in their panel, so that neighbours share the score along their lead line, however it
//! curves.
//!
//! Where blocks are to be as large as the glass, all that hang together are one where they come apart. Else blocks grow from single
//! pieces by one merge after the other, the one that saves most for its size first: the narrowest strip along what the two share, less
//! the waste in the hull of both that was in neither's. What does not come apart, or fits no glass, is not merged. At last what has equal
//! straight edges is paired, as without blocks.

use super::{Abutted, Group, comes_apart, turns};
use crate::beside;
use crate::scored::scored;
use cullet_breakout::Rule;
use cullet_geometry::{Outline, Point, Pose, boolean, offset};
use cullet_nest::Shapes;
use cullet_search::{Item, Problem};
use geo::{Area, ConvexHull, MultiPoint};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// What a strip that is saved counts for, against waste in a block's hull: what lies by itself loses more than its strip, since its
/// neighbours do not fit, and some of the waste in a hull is filled by others. The larger, the larger blocks grow.
const WEIGHTS: [f64; 3] = [12.0, 4.0, 2.0];
/// Largest hull of a block that is to fill a sheet or an offcut, and of one of many, as a share of the glass.
const LARGEST: f64 = 0.97;
const SMALL: f64 = 0.12;
/// The smaller glass that blocks are made for: the largest under so much of the very largest, and over so little of it.
const SMALLER: f64 = 0.8;
const LEAST_GLASS: f64 = 0.15;
/// Share of all glass that must lie in blocks for them to be tried.
const LEAST_IN_BLOCKS: f64 = 0.25;
/// Most pieces that are looked at: the breaking order of a block is worked out with every merge.
const MOST_PIECES: usize = 300;
/// By how much the scores of a block are grown to make one outline of them, mm: more than the corners of flattened curves gape.
const CLOSE: f64 = 0.15;

/// What the planner knows of the pieces.
pub(crate) struct Known<'k> {
    pub(crate) kerf: f64,
    pub(crate) rule: Rule,
    /// Of every piece the panel in whose frame it lies; nothing for pieces that stay single.
    pub(crate) homes: &'k [Option<usize>],
    /// Of every piece the group that must come from one lot.
    pub(crate) group: Group<'k>,
    /// Pieces and blocks made ready for the search.
    pub(crate) shapes: &'k Shapes,
}

impl Abutted {
    /// The problem with blocks as drawn, up to `ways` of it, from the largest blocks to the smallest; nothing where there is little
    /// to be merged.
    pub(crate) fn as_drawn(problem: &Problem, known: &Known<'_>, ways: usize) -> Vec<Self> {
        let most = beside::most_apart(known.kerf, known.rule.ground_off);
        let Some(apart) = most.filter(|_| problem.items.len() <= MOST_PIECES) else {
            return vec![];
        };
        let single = Self {
            problem: problem.clone(),
            pairs: vec![],
            singles: problem.items.len(),
            is_drawn: true,
        };
        let all_sizes = sizes(problem);
        let mut start = Growing {
            blocks: single,
            known,
            pieces: &problem.items,
            weight: 0.0,
            glass: f64::INFINITY,
            largest: all_sizes[0].hull,
            runs: runs(problem, known, apart),
            refused: BTreeSet::new(),
        };
        let singly = start.clone();
        start.whole();
        let blocks_of = |k: usize, size: &Size| {
            let mut growing = Growing {
                weight: size.weight,
                glass: size.glass,
                largest: size.hull,
                ..if k == 0 { start.clone() } else { singly.clone() }
            };
            while growing.merge() {}
            let mut blocks = growing.blocks;
            let area = |items: &[Item]| -> f64 { items.iter().map(|i| f64::from(i.count) * i.outline.area()).sum() };
            let in_blocks = area(&blocks.problem.items[blocks.singles..]);
            if in_blocks == 0.0 || in_blocks < LEAST_IN_BLOCKS * area(&problem.items) {
                return None;
            }
            blocks.pair_all(known.kerf, &known.rule, known.group);
            Some(blocks)
        };
        let all = all_sizes
            .par_iter()
            .enumerate()
            .filter_map(|(k, size)| blocks_of(k, size));
        let mut found: Vec<Self> = vec![];
        for blocks in all.collect::<Vec<_>>() {
            if found.iter().all(|other| other.contents() != blocks.contents()) {
                found.push(blocks);
            }
        }
        found.truncate(ways);
        found
    }
}

/// How large blocks may be.
struct Size {
    weight: f64,
    /// Area of the largest glass that they are made for, mm².
    glass: f64,
    /// Largest hull of a block, mm².
    hull: f64,
}

/// The sizes of blocks worth trying: such as fill the largest glass, such as fill the next smaller, and many small ones.
fn sizes(problem: &Problem) -> [Size; 3] {
    let mut areas: Vec<f64> = problem.containers.iter().map(|c| c.outline.area()).collect();
    areas.sort_by(|a, b| b.total_cmp(a));
    let largest = areas.first().copied().unwrap_or(0.0);
    let is_next = |area: &&f64| **area < SMALLER * largest && **area > LEAST_GLASS * largest;
    let next = areas.iter().find(is_next).copied().unwrap_or(largest);
    let size = |weight: f64, glass: f64, share: f64| Size {
        weight,
        glass,
        hull: share * glass,
    };
    [
        size(WEIGHTS[0], largest, LARGEST),
        size(WEIGHTS[1], next, LARGEST),
        size(WEIGHTS[2], largest, SMALL),
    ]
}

/// How long the items of each pair run along each other, mm: those that do.
fn runs(problem: &Problem, known: &Known<'_>, apart: f64) -> BTreeMap<(usize, usize), f64> {
    let mut runs = BTreeMap::new();
    let items: Vec<usize> = (0..problem.items.len())
        .filter(|i| problem.items[*i].count > 0)
        .collect();
    for (k, i) in items.iter().enumerate() {
        let home = known.homes[*i];
        for j in &items[k + 1..] {
            if home.is_none() || known.homes[*j] != home {
                continue;
            }
            let [one, other] = [*i, *j].map(|k| &problem.items[k].outline);
            if let Some(run) = beside::run(one, other, known.kerf, apart)
                && run > 0.0
            {
                runs.insert((*i, *j), run);
            }
        }
    }
    runs
}

#[derive(Clone)]
struct Growing<'p, 'k> {
    blocks: Abutted,
    known: &'p Known<'k>,
    /// The pieces, each as often as it is wanted.
    pieces: &'p [Item],
    /// What a strip saved counts for, against waste in the hull.
    weight: f64,
    /// Area of the largest glass that blocks are made for, and the largest hull of a block, mm².
    glass: f64,
    largest: f64,
    runs: BTreeMap<(usize, usize), f64>,
    refused: BTreeSet<(usize, usize)>,
}

impl Growing<'_, '_> {
    /// Makes one block of all that hang together, where they come apart and fit.
    fn whole(&mut self) {
        let mut first: Vec<usize> = (0..self.blocks.singles).collect();
        for (i, j) in self.runs.keys() {
            let (low, high) = (first[*i].min(first[*j]), first[*i].max(first[*j]));
            first.iter_mut().filter(|f| **f == high).for_each(|f| *f = low);
        }
        for root in 0..first.len() {
            let group: Vec<usize> = (0..first.len()).filter(|i| first[*i] == root).collect();
            if group.len() < 3 {
                continue;
            }
            let Some(item) = self.joined(&group) else { continue };
            let mut block = group[0];
            for next in &group[1..] {
                block = self.put((block, *next), item.clone());
            }
        }
    }

    /// Merges the two that save most for their size; whether there were two.
    fn merge(&mut self) -> bool {
        loop {
            let open = self.runs.iter().filter(|(pair, _)| !self.refused.contains(pair));
            let best = open
                .map(|(pair, run)| (*pair, self.saved(*pair, *run)))
                .filter(|(_, saved)| *saved > 0.0)
                .max_by(|a, b| a.1.total_cmp(&b.1));
            let Some((pair, _)) = best else { return false };
            match self.block(pair) {
                Some(item) => {
                    self.put(pair, item);
                    return true;
                }
                None => self.refused.insert(pair),
            };
        }
    }

    /// What a merge saves, as a share of its area.
    fn saved(&self, (i, j): (usize, usize), run: f64) -> f64 {
        let items = &self.blocks.problem.items;
        let hull = |points: Vec<Point>| MultiPoint::from(points).convex_hull().unsigned_area();
        let [one, other] = [i, j].map(|k| items[k].outline.points().to_vec());
        let both = hull([one.clone(), other.clone()].concat());
        let size = items[i].outline.area() + items[j].outline.area();
        (self.weight * self.blocks.problem.clearance * run - (both - hull(one) - hull(other))) / size
    }

    /// The two as one item.
    fn block(&self, (i, j): (usize, usize)) -> Option<Item> {
        let members = [i, j].map(|k| self.blocks.members(k, Pose::IDENTITY)).concat();
        let pieces: Vec<usize> = members.into_iter().map(|(piece, _)| piece).collect();
        self.joined(&pieces)
    }

    /// Pieces as one item, if they come apart, are wanted equally often, may lie the same way and fit some glass.
    fn joined(&self, members: &[usize]) -> Option<Item> {
        let problem = &self.blocks.problem;
        let all: Vec<&Item> = members.iter().map(|piece| &self.pieces[*piece]).collect();
        let (one, others) = all.split_first()?;
        if others.iter().any(|other| other.count != one.count) {
            return None;
        }
        let mut both = one.turns.clone();
        let mut turned_over = one.turned_over.clone();
        for other in others {
            both = turns(&both, &other.turns, 0.0)?;
            turned_over = match (&turned_over, &other.turned_over) {
                (Some(a), Some(b)) => turns(a, b, 0.0),
                _ => None,
            };
        }
        let pieces: Vec<Outline> = all.iter().map(|item| item.outline.clone()).collect();
        let points: Vec<Point> = pieces.iter().flat_map(|p| p.points().to_vec()).collect();
        let hull = Outline::new(MultiPoint::from(points).convex_hull().exterior().0.clone()).ok()?;
        if hull.area() > self.largest {
            return None;
        }
        let blank = offset::grow(&hull, problem.clearance);
        let (kerf, rule) = (self.known.kerf, &self.known.rule);
        let scores = scored(pieces.clone(), &blank, kerf, rule.ground_off);
        let grown: Vec<Outline> = scores.iter().map(|o| offset::grow(o, CLOSE)).collect();
        let [region] = <[boolean::Region; 1]>::try_from(boolean::union(&grown)).ok()?;
        let [outline] = <[Outline; 1]>::try_from(offset::shrink(&region.outer, CLOSE)).ok()?;
        let item = Item {
            outline,
            count: one.count,
            turns: both,
            turned_over,
            allowed: vec![],
        };
        (comes_apart(pieces, &blank, kerf, rule) && self.fits(&item)).then_some(item)
    }

    fn fits(&self, item: &Item) -> bool {
        let mut containers = self.blocks.problem.containers.clone();
        containers.retain(|c| c.outline.area() <= self.glass);
        containers.sort_by(|a, b| b.outline.area().total_cmp(&a.outline.area()));
        containers.truncate(2);
        let problem = Problem {
            items: vec![item.clone()],
            containers,
            ..self.blocks.problem
        };
        (0..problem.containers.len()).any(|c| cullet_nest::fits_alone(&problem, 0, c, self.known.shapes))
    }

    /// Puts a block in the place of two items; its number.
    fn put(&mut self, (i, j): (usize, usize), item: Item) -> usize {
        let block = self.blocks.problem.items.len();
        self.blocks.problem.items[i].count = 0;
        self.blocks.problem.items[j].count = 0;
        self.blocks.problem.items.push(item);
        self.blocks.pairs.push((i, j, Pose::IDENTITY));
        let mut along: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for ((a, b), run) in std::mem::take(&mut self.runs) {
            let [a, b] = [a, b].map(|k| if k == i || k == j { block } else { k });
            if a != b {
                *along.entry((a.min(b), a.max(b))).or_default() += run;
            }
        }
        self.runs = along;
        block
    }
}
