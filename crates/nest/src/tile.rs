//! Exact fits: items that cover a region without a gap.
//!
//! Where pieces may touch (no clearance), a region may be covered to the last corner: a dissected square, a border of equal
//! strips. Overlap-driven search finds such fits only by luck, but they are found by logic: at every convex corner of what
//! is still free some item must have a corner of its own, one of whose sides lies along the region's side. So the corner
//! with the fewest possibilities is filled first, each possibility in turn, and given up when a free part can no longer be
//! filled. (The bottom-left corner argument of the squared-square literature, Duijvestijn 1978, carried over to polygons
//! and to the most constrained corner.)

use crate::field::{Field, Spot};
use crate::form::{Kind, Turn, sin_cos};
use crate::place::{Candidate, Scratch, settle};
use cullet_geometry::{Outline, Point, boolean};
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
                if kind.slack >= 180.0 {
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
        if kind.slack >= 180.0 {
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

fn angle_slip(niche: &Niche, corner: &Corner) -> f64 {
    2.0 * SAME_ANGLE
        + SLIP
            / niche
                .out_length
                .min(niche.in_length)
                .min(corner.out_length)
                .min(corner.in_length)
                .max(0.5)
}

/// An angle that is whole but for rounding, made whole.
fn tidy(degrees: f64) -> f64 {
    let whole = degrees.round();
    if (degrees - whole).abs() < 2e-3 { whole } else { degrees }
}

/// An item's corners at a turn, counter-clockwise also when turned over.
fn turned(own: &[Point], turn: Turn) -> Vec<Point> {
    let (sin, cos) = sin_cos(turn.degrees);
    let flip = if turn.over { -1.0 } else { 1.0 };
    let mut points: Vec<Point> = own
        .iter()
        .map(|p| Point {
            x: flip * (cos * p.x - sin * p.y),
            y: sin * p.x + cos * p.y,
        })
        .collect();
    if turn.over {
        points.reverse();
    }
    points
}

fn corners(kind: usize, fixed: usize, points: &[Point]) -> Vec<Corner> {
    let count = points.len();
    (0..count)
        .map(|vertex| {
            let (before, at, after) = (
                points[(vertex + count - 1) % count],
                points[vertex],
                points[(vertex + 1) % count],
            );
            Corner {
                kind,
                fixed,
                vertex,
                out: direction(at, after),
                inner: inner_angle(before, at, after),
                out_length: (after.x - at.x).hypot(after.y - at.y),
                in_length: (at.x - before.x).hypot(at.y - before.y),
            }
        })
        .filter(|corner| corner.inner < std::f64::consts::PI)
        .collect()
}

fn direction(from: Point, to: Point) -> f64 {
    (to.y - from.y).atan2(to.x - from.x)
}

fn inner_angle(before: Point, at: Point, after: Point) -> f64 {
    (direction(at, before) - direction(at, after)).rem_euclid(std::f64::consts::TAU)
}

/// The convex corners of one part of the free region.
fn niches(part: usize, outline: &Outline) -> Vec<Niche> {
    let points = straightened(outline.points());
    let count = points.len();
    let inner: Vec<f64> = (0..count)
        .map(|i| inner_angle(points[(i + count - 1) % count], points[i], points[(i + 1) % count]))
        .collect();
    let convex = |i: usize| inner[i % count] < std::f64::consts::PI - 1e-3;
    (0..count)
        .filter(|i| convex(*i))
        .map(|i| {
            let (before, at, after) = (points[(i + count - 1) % count], points[i], points[(i + 1) % count]);
            Niche {
                part,
                at,
                out: direction(at, after),
                inner: inner[i],
                out_length: (after.x - at.x).hypot(after.y - at.y),
                in_length: (at.x - before.x).hypot(at.y - before.y),
                out_closed: convex(i + 1),
                in_closed: convex(i + count - 1),
            }
        })
        .collect()
}

/// Corners without those that lie on a straight side.
fn straightened(points: &[Point]) -> Vec<Point> {
    let mut kept = points.to_vec();
    let mut i = 0;
    while kept.len() > 3 && i < kept.len() {
        let count = kept.len();
        let (before, at, after) = (kept[(i + count - 1) % count], kept[i], kept[(i + 1) % count]);
        let (dx, dy) = (after.x - before.x, after.y - before.y);
        let off = ((at.x - before.x) * dy - (at.y - before.y) * dx).abs() / dx.hypot(dy).max(1e-12);
        if off < SLIP / 4.0 {
            kept.remove(i);
            i = i.saturating_sub(1);
        } else {
            i += 1;
        }
    }
    kept
}

/// What is left of `part` once `item` lies in it; `None` where the item sticks out. Slivers thinner than the slip are gone.
fn without(part: &Outline, item: &Outline) -> Option<Vec<Outline>> {
    let rest = boolean::difference(part, std::slice::from_ref(item));
    let left: f64 = rest.iter().map(boolean::Region::area).sum();
    if (part.area() - left - item.area()).abs() > SLIP * perimeter(item) {
        return None;
    }
    let mut parts = Vec::new();
    for region in rest {
        if region.area() <= SLIP * perimeter(&region.outer) {
            continue;
        }
        if !region.holes.is_empty() {
            return None;
        }
        parts.push(region.outer);
    }
    Some(parts)
}

fn perimeter(outline: &Outline) -> f64 {
    let points = outline.points();
    let mut a = points[points.len() - 1];
    let mut sum = 0.0;
    for b in points {
        sum += (b.x - a.x).hypot(b.y - a.y);
        a = *b;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_search::{Item, Limit, Problem, Turns};
    use std::sync::atomic::AtomicBool;

    fn kinds(items: &[(Vec<[f64; 2]>, Turns)]) -> Vec<Kind> {
        let items: Vec<Item> = items
            .iter()
            .map(|(points, turns)| Item {
                outline: Outline::try_from(points.clone()).unwrap(),
                count: 1,
                turns: turns.clone(),
                turned_over: None,
                allowed: vec![],
            })
            .collect();
        let problem = Problem {
            items: items.clone(),
            containers: vec![],
            clearance: 0.0,
            tolerance: 0.001,
        };
        items.iter().map(|item| Kind::new(item, &problem)).collect()
    }

    fn covers(kinds: &[Kind], width: f64, height: f64) -> bool {
        let cancel = AtomicBool::new(false);
        let effort = Effort {
            seed: 1,
            limit: Limit::Rounds(5_000),
            lanes: 2,
        };
        let watch = StopCondition::new(effort.limit, &cancel);
        let region = [Outline::rectangle(width, height)];
        match cover(kinds, &vec![1; kinds.len()], &region, effort, &watch, 1.0) {
            None => false,
            Some(tiles) => {
                assert_eq!(tiles.len(), kinds.len());
                true
            }
        }
    }

    fn squares(sides: &[f64]) -> Vec<Kind> {
        let square = |s: &f64| (vec![[0.0, 0.0], [*s, 0.0], [*s, *s], [0.0, *s]], Turns::only(vec![0.0]));
        kinds(&sides.iter().map(square).collect::<Vec<_>>())
    }

    #[test]
    fn squared_rectangles_are_found() {
        // Moroń 1925: 33 × 32 by nine different squares; 69 × 61 likewise (mathematical facts).
        assert!(covers(
            &squares(&[18.0, 15.0, 14.0, 10.0, 9.0, 8.0, 7.0, 4.0, 1.0]),
            33.0,
            32.0
        ));
        assert!(covers(
            &squares(&[36.0, 33.0, 28.0, 25.0, 16.0, 9.0, 7.0, 5.0, 2.0]),
            69.0,
            61.0
        ));
        // One square exchanged for one of the same size less a little: no cover.
        assert!(!covers(
            &squares(&[18.0, 15.0, 14.0, 10.0, 9.0, 8.0, 7.0, 4.0, 0.9]),
            33.0,
            32.0
        ));
    }

    fn tangram(turns: &Turns) -> Vec<Kind> {
        let big = vec![[0.0, 0.0], [8.0, 0.0], [4.0, 4.0]];
        let small = vec![[0.0, 0.0], [4.0, 0.0], [2.0, 2.0]];
        let middle = vec![[0.0, 0.0], [4.0, 0.0], [4.0, 4.0]];
        let square = vec![[2.0, 0.0], [4.0, 2.0], [2.0, 4.0], [0.0, 2.0]];
        let slanted = vec![[2.0, 0.0], [6.0, 0.0], [4.0, 2.0], [0.0, 2.0]];
        let all = [big.clone(), big, small.clone(), small, middle, square, slanted];
        kinds(&all.map(|p| (p.iter().map(|[x, y]| [x * 25.0, y * 25.0]).collect(), turns.clone())))
    }

    #[test]
    fn the_tangram_square_is_found() {
        // Traditional dissection: seven pieces of a square.
        assert!(covers(
            &tangram(&Turns::only((0..8).map(|k| 45.0 * f64::from(k)).collect())),
            200.0,
            200.0
        ));
        assert!(covers(&tangram(&Turns::free()), 200.0, 200.0));
    }
}
