//! Blocks of pieces that lie as they do in their panel, so that neighbours share the score along their lead line, however it
//! curves.
//!
//! They are made from above, parted along lead lines until they fit the glass (`parts`), or grow from single pieces by one merge after
//! the other, the one that saves most for its size first: the narrowest strip along what the two share, less the waste in the hull of
//! both that was in neither's. What does not come apart, or fits no glass, is no block. At last what has equal straight edges is
//! paired, as without blocks.

use super::parts::PieceShape;
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
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

/// What a strip that is saved counts for, against waste in a block's hull: what lies by itself loses more than its strip, since its
/// neighbours do not fit, and some of the waste in a hull is filled by others. The larger, the larger blocks grow.
const WEIGHTS: [f64; 2] = [4.0, 2.0];
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
    /// The problem with blocks as drawn, up to `ways` of it: parted for the next smaller glass and for the largest, then grown, large
    /// and small; nothing where little comes apart.
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
        let beside = runs(problem, known, apart);
        let shapes: Vec<PieceShape> = problem.items.iter().map(|item| PieceShape::of(&item.outline)).collect();
        let start = Growing {
            blocks: single,
            known,
            pieces: &problem.items,
            weight: 0.0,
            glass: f64::INFINITY,
            largest: f64::INFINITY,
            shapes: &shapes,
            beside: &beside,
            runs: beside.clone(),
            refused: BTreeSet::new(),
        };
        // Where parting finds little that comes apart, blocks that grow are not worth their time either.
        let in_vain = AtomicBool::new(false);
        let blocks_of = |size: &Size| {
            let mut growing = Growing {
                weight: size.weight.unwrap_or(0.0),
                glass: size.glass,
                largest: size.hull,
                ..start.clone()
            };
            if size.weight.is_some() {
                loop {
                    if in_vain.load(Relaxed) || !growing.merge() {
                        break;
                    }
                }
            } else {
                growing.part_all();
            }
            let mut blocks = growing.blocks;
            let area = |items: &[Item]| -> f64 { items.iter().map(|i| f64::from(i.count) * i.outline.area()).sum() };
            let in_blocks = area(&blocks.problem.items[blocks.singles..]);
            if in_blocks == 0.0 || in_blocks < LEAST_IN_BLOCKS * area(&problem.items) {
                in_vain.fetch_or(size.weight.is_none(), Relaxed);
                return None;
            }
            blocks.pair_all(known.kerf, &known.rule, known.group);
            Some(blocks)
        };
        let all: Vec<Option<Self>> = all_sizes.par_iter().map(blocks_of).collect();
        let mut found: Vec<Self> = vec![];
        if in_vain.into_inner() {
            return found;
        }
        for blocks in all.into_iter().flatten() {
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
    /// What a strip that is saved counts for where blocks grow from single pieces; nothing where they are parted from above.
    weight: Option<f64>,
    /// Area of the largest glass that they are made for, mm².
    glass: f64,
    /// Largest hull of a block, mm².
    hull: f64,
}

/// The sizes of blocks worth trying: parted for the next smaller glass and for the largest, grown for the next smaller, and many small.
fn sizes(problem: &Problem) -> [Size; 4] {
    let mut areas: Vec<f64> = problem.containers.iter().map(|c| c.outline.area()).collect();
    areas.sort_by(|a, b| b.total_cmp(a));
    let largest = areas.first().copied().unwrap_or(0.0);
    let is_next = |area: &&f64| **area < SMALLER * largest && **area > LEAST_GLASS * largest;
    let next = areas.iter().find(is_next).copied().unwrap_or(largest);
    let size = |weight: Option<f64>, glass: f64, share: f64| Size {
        weight,
        glass,
        hull: share * glass,
    };
    [
        size(None, next, LARGEST),
        size(None, largest, LARGEST),
        size(Some(WEIGHTS[0]), next, LARGEST),
        size(Some(WEIGHTS[1]), largest, SMALL),
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
pub(super) struct Growing<'p, 'k> {
    pub(super) blocks: Abutted,
    known: &'p Known<'k>,
    /// The pieces, each as often as it is wanted.
    pub(super) pieces: &'p [Item],
    pub(super) shapes: &'p [PieceShape],
    /// How long pieces run along each other, mm: those that do.
    pub(super) beside: &'p BTreeMap<(usize, usize), f64>,
    /// What a strip saved counts for, against waste in the hull.
    weight: f64,
    /// Area of the largest glass that blocks are made for, and the largest hull of a block, mm².
    pub(super) glass: f64,
    pub(super) largest: f64,
    /// The same of the blocks that there are.
    runs: BTreeMap<(usize, usize), f64>,
    refused: BTreeSet<(usize, usize)>,
}

impl Growing<'_, '_> {
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
                    self.put(&[pair.0, pair.1], item);
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
    pub(super) fn joined(&self, members: &[usize]) -> Option<Item> {
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

    /// Puts a block in the place of `parts`, one of each; its number.
    pub(super) fn put(&mut self, parts: &[usize], item: Item) -> usize {
        let block = self.blocks.problem.items.len();
        parts.iter().for_each(|part| self.blocks.problem.items[*part].count = 0);
        self.blocks.problem.items.push(item);
        let members = parts.iter().map(|part| (*part, Pose::IDENTITY)).collect();
        self.blocks.pairs.push(members);
        let mut along: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for ((a, b), run) in std::mem::take(&mut self.runs) {
            let [a, b] = [a, b].map(|k| if parts.contains(&k) { block } else { k });
            if a != b {
                *along.entry((a.min(b), a.max(b))).or_default() += run;
            }
        }
        self.runs = along;
        block
    }
}
