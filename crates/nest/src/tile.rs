//! Exact fits: items that cover a region without a gap.
//!
//! Where pieces may touch (no clearance), a region may be covered to the last corner: a dissected square, a border of equal
//! strips. Overlap-driven search finds such fits only by luck, but they are found by logic: at every convex corner of what
//! is still free some item must have a corner of its own, one of whose sides lies along the region's side. So the corner
//! with the fewest possibilities is filled first, each possibility in turn, and given up when a free part can no longer be
//! filled. (The bottom-left corner argument of the squared-square literature, Duijvestijn 1978, carried over to polygons
//! and to the most constrained corner.)

mod outline;
use outline::{angle_slip, corners, niches, tidy, turned, without};

use crate::field::{Field, Spot};
use crate::form::{Kind, Turn};
use crate::place::{Candidate, Scratch, settle};
use cullet_geometry::{Outline, Point};
use cullet_search::Random;
use cullet_search::StopCondition;
use cullet_search::{Effort, Limit};

/// An item put down by the tiler.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tile {
    pub(crate) kind: usize,
    pub(crate) turn: Turn,
    /// Index among the kind's turns.
    pub(crate) fixed: usize,
    pub(crate) spot: Spot,
}

/// How an attempt ended.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Verdict {
    /// The region is covered.
    Covered(Vec<Tile>),
    /// It cannot be covered.
    Impossible,
    /// The allowed number of steps was not enough to tell.
    Unknown,
}

/// Directions nearer than this are one, radians; the grid of the booleans turns short sides by about so much.
const SAME_ANGLE: f64 = 4e-5;
/// A possible gap or overlap along a side, mm.
const SLIP: f64 = 2e-3;

/// A corner of an item at one of its turns.
#[derive(Debug, Clone, Copy)]
struct Corner {
    kind: usize,
    fixed: usize,
    vertex: usize,
    /// Direction of the side that leaves it, and the angle inside.
    out: f64,
    inner: f64,
    out_length: f64,
    in_length: f64,
}

/// A corner of the free region.
#[derive(Debug, Clone, Copy)]
struct Niche {
    part: usize,
    at: Point,
    out: f64,
    inner: f64,
    out_length: f64,
    in_length: f64,
    /// Whether the region's next and last corners are convex, so that no item's side may be longer.
    out_closed: bool,
    in_closed: bool,
}

/// Covers `region` with items of the kinds in `counts`, lanes side by side in ever longer attempts; `None` when it cannot be
/// covered or `watch` has reached `until`.
pub(crate) fn cover(
    kinds: &[Kind],
    counts: &[u32],
    region: &[Outline],
    effort: Effort,
    watch: &StopCondition,
    until: f64,
) -> Option<Vec<Tile>> {
    let mut lanes: Vec<(Tiler, Random, Verdict)> = (0..effort.lanes.max(1))
        .map(|lane| {
            (
                Tiler::new(kinds, counts),
                Random::new(effort.seed, lane),
                Verdict::Unknown,
            )
        })
        .collect();
    let all_steps = match effort.limit {
        Limit::Seconds(_) => u64::MAX,
        Limit::Rounds(rounds) => STEPS_A_ROUND * rounds,
    };
    let mut spent = 0;
    let mut most_steps = FIRST_STEPS;
    for round in 0..MOST_ROUNDS {
        rayon::scope(|scope| {
            for (lane, (tiler, random, verdict)) in lanes.iter_mut().enumerate() {
                let whim = (round > 0 || lane > 0).then_some(random);
                scope.spawn(move |_| *verdict = tiler.cover(region, most_steps, whim, watch));
            }
        });
        for (_, _, verdict) in &mut lanes {
            match std::mem::replace(verdict, Verdict::Unknown) {
                Verdict::Covered(tiles) => return Some(tiles),
                Verdict::Impossible => return None,
                Verdict::Unknown => {}
            }
        }
        spent += most_steps;
        if watch.over() || watch.share() > until || spent > all_steps {
            return None;
        }
        most_steps = most_steps * 3 / 2;
    }
    None
}

/// Puts tiles into `bin`, each as a slot of its kind that lies nowhere yet.
pub(crate) fn put_all(field: &mut Field, tiles: &[Tile], bin: usize) {
    let mut scratch = Scratch::default();
    for tile in tiles {
        let free = (0..field.slots.len()).find(|i| !field.slots[*i].placed && field.slots[*i].kind == tile.kind);
        if let Some(i) = free {
            let spot = Spot { bin, ..tile.spot };
            settle(
                field,
                i,
                &Candidate {
                    turn: tile.turn,
                    fixed: tile.fixed,
                    spot,
                    cost: 0.0,
                },
                &mut scratch,
            );
        }
    }
}

/// Steps of the first attempt of each lane, growing by half from attempt to attempt, and how often.
/// Steps taken for a round of effort, where that is counted in rounds.
const STEPS_A_ROUND: u64 = 50;
const FIRST_STEPS: u64 = 1_000;
const MOST_ROUNDS: u32 = 22;

/// Covers regions with items.
#[derive(Clone)]
pub(crate) struct Tiler<'a> {
    kinds: &'a [Kind],
    /// Corners of kinds that turn in steps only, by direction.
    fixed: Vec<Corner>,
    /// Corners of kinds that turn freely.
    free: Vec<Corner>,
    /// How many of each kind are left.
    pub(crate) counts: Vec<u32>,
    tiles: Vec<Tile>,
    steps: u64,
    most_steps: u64,
    /// Random preference among possibilities, 0 for largest first.
    whim: f64,
}

impl<'a> Tiler<'a> {
    pub(crate) fn new(kinds: &'a [Kind], counts: &[u32]) -> Self {
        let mut tiler = Self {
            kinds,
            fixed: Vec::new(),
            free: Vec::new(),
            counts: counts.to_vec(),
            tiles: Vec::new(),
            steps: 0,
            most_steps: 0,
            whim: 0.0,
        };
        for (k, kind) in kinds.iter().enumerate() {
            for (t, turn) in kind.turns.iter().enumerate() {
                let corners = corners(k, t, &turned(&kind.own, *turn));
                if kind.tolerance_deg >= 180.0 {
                    tiler.free.extend(corners)
                } else {
                    tiler.fixed.extend(corners)
                }
            }
        }
        tiler.fixed.sort_by(|a, b| a.out.total_cmp(&b.out));
        tiler
    }

    /// Tries to cover `region` in at most `most_steps` steps; `random` varies the order of possibilities.
    pub(crate) fn cover(
        &mut self,
        region: &[Outline],
        most_steps: u64,
        random: Option<&mut Random>,
        watch: &StopCondition,
    ) -> Verdict {
        let counts = self.counts.clone();
        self.tiles.clear();
        self.steps = 0;
        self.most_steps = most_steps;
        let mut own = Random::new(1, 0);
        self.whim = if random.is_some() { 1.0 } else { 0.0 };
        let done = self.step(region.to_vec(), random.unwrap_or(&mut own), watch);
        self.counts = counts;
        match done {
            Some(true) => Verdict::Covered(std::mem::take(&mut self.tiles)),
            Some(false) => Verdict::Impossible,
            None => Verdict::Unknown,
        }
    }

    /// Fills the free `region` on; `None` when the steps ran out.
    fn step(&mut self, region: Vec<Outline>, random: &mut Random, watch: &StopCondition) -> Option<bool> {
        if region.is_empty() {
            return Some(true);
        }
        self.steps += 1;
        if self.steps > self.most_steps || watch.over() {
            return None;
        }
        let least = self.least_area();
        if region.iter().any(|part| part.area() < least * (1.0 - 1e-6)) {
            return Some(false);
        }
        let Some((niche, mut ways)) = self.tightest(&region) else {
            return Some(false);
        };
        let whim = self.whim;
        let kinds = self.kinds;
        let mut keyed: Vec<(f64, Corner)> = ways
            .drain(..)
            .map(|way| (kinds[way.kind].area.sqrt() * (1.0 + whim * (random.unit() - 0.5)), way))
            .collect();
        keyed.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (_, way) in keyed {
            let Some((tile, outline)) = self.put(&niche, &way) else {
                continue;
            };
            let part = &region[niche.part];
            let Some(rest) = without(part, &outline) else { continue };
            let mut next: Vec<Outline> = rest;
            next.extend(
                region
                    .iter()
                    .enumerate()
                    .filter(|(i, _)| *i != niche.part)
                    .map(|(_, r)| r.clone()),
            );
            self.counts[way.kind] -= 1;
            self.tiles.push(tile);
            let done = self.step(next, random, watch);
            if done == Some(true) {
                return done;
            }
            self.tiles.pop();
            self.counts[way.kind] += 1;
            done?;
        }
        Some(false)
    }

    fn least_area(&self) -> f64 {
        let left = self.kinds.iter().zip(&self.counts).filter(|(_, count)| **count > 0);
        left.map(|(kind, _)| kind.area).fold(f64::MAX, f64::min)
    }

    /// The corner of the free region with the fewest ways to fill it, with those ways; `None` where some corner has none.
    fn tightest(&self, region: &[Outline]) -> Option<(Niche, Vec<Corner>)> {
        let mut best: Option<(Niche, Vec<Corner>)> = None;
        for niche in region.iter().enumerate().flat_map(|(i, part)| niches(i, part)) {
            let most = best.as_ref().map_or(usize::MAX, |b| b.1.len());
            let ways = self.ways(&niche, most.saturating_add(1));
            if ways.is_empty() {
                return None;
            }
            let shorter =
                |b: &(Niche, Vec<Corner>)| ways.len() == most && niche.out_closed && niche.out_length < b.0.out_length;
            if ways.len() < most || best.as_ref().is_some_and(shorter) {
                best = Some((niche, ways));
            }
        }
        best
    }

    /// Item corners that could fill a niche, no more than `most`.
    fn ways(&self, niche: &Niche, most: usize) -> Vec<Corner> {
        let mut ways = Vec::new();
        let fits = |corner: &Corner| {
            let flush = (niche.inner - corner.inner).abs() <= angle_slip(niche, corner);
            self.counts[corner.kind] > 0
                && (corner.inner < niche.inner || flush)
                && !(niche.out_closed && corner.out_length > niche.out_length + SLIP)
                && !(flush && niche.in_closed && corner.in_length > niche.in_length + SLIP)
        };
        let turn = std::f64::consts::TAU;
        for shift in [-turn, 0.0, turn] {
            let slip = SAME_ANGLE + 2.0 * SLIP / niche.out_length.max(0.5);
            let from = self.fixed.partition_point(|c| c.out + shift < niche.out - slip);
            for corner in self.fixed[from..]
                .iter()
                .take_while(|c| c.out + shift <= niche.out + slip)
            {
                let off = (corner.out + shift - niche.out).abs();
                if off <= SAME_ANGLE + SLIP / niche.out_length.min(corner.out_length) && fits(corner) {
                    ways.push(*corner);
                    if ways.len() >= most {
                        return ways;
                    }
                }
            }
        }
        for corner in &self.free {
            if fits(corner) {
                ways.push(*corner);
                if ways.len() >= most {
                    return ways;
                }
            }
        }
        ways
    }

    /// The item of `way` with its corner in the niche.
    fn put(&self, niche: &Niche, way: &Corner) -> Option<(Tile, Outline)> {
        let kind = &self.kinds[way.kind];
        let mut turn = kind.turns[way.fixed];
        if kind.tolerance_deg >= 180.0 {
            let by = (niche.out - way.out).to_degrees();
            turn.degrees = tidy(turn.degrees + if turn.over { -by } else { by });
        }
        let points = turned(&kind.own, turn);
        let corner = points[way.vertex];
        let spot = Spot {
            bin: 0,
            x: niche.at.x - corner.x,
            y: niche.at.y - corner.y,
        };
        let moved = points
            .iter()
            .map(|p| Point {
                x: p.x + spot.x,
                y: p.y + spot.y,
            })
            .collect();
        let outline = Outline::new(moved).ok()?;
        Some((
            Tile {
                kind: way.kind,
                turn,
                fixed: way.fixed,
                spot,
            },
            outline,
        ))
    }
}

#[cfg(test)]
mod tests;
