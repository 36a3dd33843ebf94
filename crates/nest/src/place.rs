//! The best place for one item: the bins sampled coarsely, the best few samples refined by small steps.

use crate::field::{Field, Spot};
use crate::form::{Kind, Posture, Turn};
use cullet_search::Random;

/// How thoroughly one item's place is sought.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Care {
    /// Samples over all bins.
    pub(crate) wide: usize,
    /// Samples around where it lies now.
    pub(crate) near: usize,
    /// How many of the best samples are refined.
    pub(crate) refined: usize,
}

/// A place with its weighted overlap.
#[derive(Debug, Clone, Default)]
pub(crate) struct Candidate {
    pub(crate) turn: Turn,
    /// Index among the kind's fixed postures, where it has no tolerance.
    pub(crate) fixed: usize,
    pub(crate) spot: Spot,
    pub(crate) cost: f32,
}

/// Scratch memory of one lane.
#[derive(Debug, Default)]
pub(crate) struct Scratch {
    posture: Posture,
    best: Vec<Candidate>,
}

/// The best place found for item `i`, at least as good as where it lies.
pub(crate) fn best_place(
    field: &mut Field,
    i: usize,
    care: Care,
    random: &mut Random,
    scratch: &mut Scratch,
) -> Candidate {
    let kind = &field.kinds[field.slots[i].kind];
    let slot = &field.slots[i];
    let here = Candidate {
        turn: slot.posture.turn,
        fixed: kind.fixed.iter().position(|p| p.turn == slot.posture.turn).unwrap_or(0),
        spot: slot.spot,
        cost: field.weighted_of(i),
    };
    scratch.best.clear();
    scratch.best.push(here.clone());
    let bins = open_bins(field, i);
    for _ in 0..care.wide {
        let bin = bins[random.below(bins.len())];
        let (turn, fixed) = any_turn(field, i, random);
        sample(
            field,
            i,
            Candidate {
                turn,
                fixed,
                spot: Spot { bin, ..Spot::default() },
                cost: 0.0,
            },
            None,
            care,
            random,
            scratch,
        );
    }
    if field.bins[here.spot.bin].open {
        for _ in 0..care.near {
            let (turn, fixed) = near_turn(field, i, &here, random);
            sample(
                field,
                i,
                Candidate {
                    turn,
                    fixed,
                    spot: here.spot,
                    cost: 0.0,
                },
                Some(here.spot),
                care,
                random,
                scratch,
            );
        }
    }
    let mut candidates = std::mem::take(&mut scratch.best);
    for candidate in &mut candidates {
        refine(field, i, candidate, COARSE, random, &mut scratch.posture);
    }
    candidates.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    let mut best = candidates[0].clone();
    scratch.best = candidates;
    refine(field, i, &mut best, FINE, random, &mut scratch.posture);
    best
}

/// Puts item `i` where the candidate says.
pub(crate) fn settle(field: &mut Field, i: usize, candidate: &Candidate, scratch: &mut Scratch) {
    let kind = &field.kinds[field.slots[i].kind];
    if kind.tolerance_deg == 0.0 {
        field.put(i, &kind.fixed[candidate.fixed], candidate.spot);
    } else {
        scratch.posture.set(kind, candidate.turn);
        field.put(i, &scratch.posture, candidate.spot);
    }
}

/// Puts item `i`, which lies nowhere, at the best place found in the open bins, overlapping or not; whether there was any.
pub(crate) fn settle_somewhere(field: &mut Field, i: usize, random: &mut Random, scratch: &mut Scratch) -> bool {
    let Some(start) = field.any_spot(i, random) else {
        return false;
    };
    settle(field, i, &start, scratch);
    let wide = Care {
        wide: 120,
        near: 0,
        refined: 3,
    };
    let place = best_place(field, i, wide, random, scratch);
    settle(field, i, &place, scratch);
    true
}

/// The open bins that item `i` may lie in; where there is none, the one that it lies in.
fn open_bins(field: &Field, i: usize) -> Vec<usize> {
    let kind = &field.kinds[field.slots[i].kind];
    let open: Vec<usize> = (0..field.bins.len())
        .filter(|b| field.bins[*b].open && kind.may_lie_in(*b))
        .collect();
    if open.is_empty() && field.slots[i].placed {
        vec![field.slots[i].spot.bin]
    } else {
        open
    }
}

/// Share of draws that take a snapped turn, where there are any.
const SNAPPED: f64 = 0.4;

/// One random turn of an item's kind.
pub(crate) fn any_turn(field: &Field, i: usize, random: &mut Random) -> (Turn, usize) {
    turn_of(&field.kinds[field.slots[i].kind], SNAPPED, random)
}

/// One random turn of a kind, snapped with the given probability.
pub(crate) fn turn_of(kind: &Kind, snapped: f64, random: &mut Random) -> (Turn, usize) {
    if !kind.snaps.is_empty() && random.unit() < snapped {
        return kind.snaps[random.below(kind.snaps.len())];
    }
    let fixed = random.below(kind.turns.len());
    let mut turn = kind.turns[fixed];
    if kind.tolerance_deg > 0.0 {
        turn.degrees += random.within(-kind.tolerance_deg, kind.tolerance_deg);
    }
    (turn, fixed)
}

impl Field<'_> {
    /// Whether item `i` fits into some open bin, were it empty but for its obstacles' bounds.
    pub(crate) fn has_room(&self, i: usize) -> bool {
        let kind = &self.kinds[self.slots[i].kind];
        let mut scratch = Posture::default();
        open_bins(self, i)
            .into_iter()
            .filter(|b| self.bins[*b].open)
            .any(|bin| {
                kind.turns.iter().any(|turn| {
                    scratch.set(kind, *turn);
                    self.range(&scratch, bin).is_some()
                }) || (kind.tolerance_deg > 0.0 && 2.0 * kind.radius <= self.bins[bin].width.min(self.bins[bin].height))
            })
    }

    /// Some spot for item `i` in an open bin, overlapping or not; `None` if a few dozen draws found none.
    pub(crate) fn any_spot(&self, i: usize, random: &mut Random) -> Option<Candidate> {
        let kind = &self.kinds[self.slots[i].kind];
        let bins = open_bins(self, i);
        if bins.is_empty() {
            return None;
        }
        let mut scratch = Posture::default();
        for _ in 0..64 {
            let bin = bins[random.below(bins.len())];
            let (turn, fixed) = any_turn(self, i, random);
            scratch.set(kind, turn);
            if let Some((low, high)) = self.range(&scratch, bin) {
                let spot = Spot {
                    bin,
                    x: random.within(low[0], high[0]),
                    y: random.within(low[1], high[1]),
                };
                return Some(Candidate {
                    turn,
                    fixed,
                    spot,
                    cost: 0.0,
                });
            }
        }
        None
    }
}

/// The turn it has, or with tolerance one near it.
fn near_turn(field: &Field, i: usize, here: &Candidate, random: &mut Random) -> (Turn, usize) {
    let kind = &field.kinds[field.slots[i].kind];
    if kind.tolerance_deg == 0.0 {
        return if kind.turns.len() > 1 && random.unit() < 0.25 {
            any_turn(field, i, random)
        } else {
            (here.turn, here.fixed)
        };
    }
    if random.unit() < 0.25 {
        return any_turn(field, i, random);
    }
    let mut turn = here.turn;
    turn.degrees = within_slack(
        kind.turns[here.fixed].degrees,
        kind.tolerance_deg,
        turn.degrees + 6.0 * random.bell(),
    );
    (turn, here.fixed)
}

fn within_slack(centre: f64, tolerance_deg: f64, degrees: f64) -> f64 {
    if tolerance_deg >= 180.0 {
        degrees
    } else {
        degrees.clamp(centre - tolerance_deg, centre + tolerance_deg)
    }
}

/// Draws one sample and keeps it if it is among the best.
fn sample(
    field: &mut Field,
    i: usize,
    mut candidate: Candidate,
    around: Option<Spot>,
    care: Care,
    random: &mut Random,
    scratch: &mut Scratch,
) {
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    let posture = if kind.tolerance_deg == 0.0 {
        &kind.fixed[candidate.fixed]
    } else {
        scratch.posture.set(kind, candidate.turn);
        &scratch.posture
    };
    let Some((low, high)) = field.range(posture, candidate.spot.bin) else {
        return;
    };
    match around {
        None => {
            candidate.spot.x = random.within(low[0], high[0]);
            candidate.spot.y = random.within(low[1], high[1]);
        }
        Some(spot) => {
            let spread = 0.5 * kind.radius;
            candidate.spot.x = (spot.x + spread * random.bell()).clamp(low[0], high[0]);
            candidate.spot.y = (spot.y + spread * random.bell()).clamp(low[1], high[1]);
        }
    }
    let enough = if scratch.best.len() > care.refined {
        scratch.best[scratch.best.len() - 1].cost
    } else {
        f32::MAX
    };
    candidate.cost = field.ask(i, posture, candidate.spot, enough);
    if candidate.cost < enough {
        keep(&mut scratch.best, candidate, care.refined + 1, 0.2 * kind.radius);
    }
}

/// Keeps the list sorted, short, and its places apart.
fn keep(best: &mut Vec<Candidate>, candidate: Candidate, most: usize, apart: f64) {
    let twin = best.iter().position(|b| {
        b.spot.bin == candidate.spot.bin
            && (b.spot.x - candidate.spot.x).abs() < apart
            && (b.spot.y - candidate.spot.y).abs() < apart
            && b.fixed == candidate.fixed
            && (b.turn.degrees - candidate.turn.degrees).abs() < 10.0
    });
    match twin {
        Some(at) if best[at].cost <= candidate.cost => return,
        Some(at) => {
            best.remove(at);
        }
        None => {}
    }
    let at = best.partition_point(|b| b.cost <= candidate.cost);
    best.insert(at, candidate);
    best.truncate(most);
}

/// Steps of a refinement, as shares of the item's radius; degrees for turning.
#[derive(Debug, Clone, Copy)]
struct Steps {
    first: f64,
    last: f64,
    first_deg: f64,
}

const COARSE: Steps = Steps {
    first: 0.12,
    last: 0.012,
    first_deg: 2.0,
};
const FINE: Steps = Steps {
    first: 0.008,
    last: 0.0005,
    first_deg: 0.3,
};

/// Small steps downhill along the axes and diagonals, and in the turn where it has tolerance.
fn refine(field: &mut Field, i: usize, at: &mut Candidate, steps: Steps, random: &mut Random, posture: &mut Posture) {
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    let turning = kind.tolerance_deg > 0.0;
    if turning {
        posture.set(kind, at.turn);
    }
    let mut step = [steps.first * kind.radius; 2];
    let last = steps.last * kind.radius;
    let mut degrees = steps.first_deg;
    while at.cost > 0.0 && (step[0] > last || step[1] > last) {
        if turning && random.unit() < 0.35 {
            let better = try_turns(field, i, at, degrees, posture);
            degrees *= if better { 1.1 } else { 0.5 };
            degrees = degrees.max(0.002);
            if !better {
                step = step.map(|s| s * 0.9);
            }
            continue;
        }
        let fixed = if turning { &*posture } else { &kind.fixed[at.fixed] };
        let Some((low, high)) = field.range(fixed, at.spot.bin) else {
            return;
        };
        let (dx, dy) = match random.below(4) {
            0 => (step[0], 0.0),
            1 => (0.0, step[1]),
            2 => (step[0] * 0.7, step[1] * 0.7),
            _ => (step[0] * 0.7, -step[1] * 0.7),
        };
        let mut moved = false;
        for sign in [1.0, -1.0] {
            let spot = Spot {
                bin: at.spot.bin,
                x: (at.spot.x + sign * dx).clamp(low[0], high[0]),
                y: (at.spot.y + sign * dy).clamp(low[1], high[1]),
            };
            if spot == at.spot {
                continue;
            }
            let cost = field.ask(i, fixed, spot, at.cost);
            if cost < at.cost {
                (at.spot, at.cost, moved) = (spot, cost, true);
                break;
            }
        }
        let change = if moved { 1.1 } else { 0.5 };
        if dx != 0.0 {
            step[0] *= if dy != 0.0 && !moved { 0.7 } else { change };
        }
        if dy != 0.0 {
            step[1] *= if dx != 0.0 && !moved { 0.7 } else { change };
        }
    }
}

fn try_turns(field: &mut Field, i: usize, at: &mut Candidate, degrees: f64, posture: &mut Posture) -> bool {
    let kinds = field.kinds;
    let kind = &kinds[field.slots[i].kind];
    let centre = kind.turns[at.fixed].degrees;
    let before = at.turn;
    for sign in [1.0, -1.0] {
        let turn = Turn {
            degrees: within_slack(centre, kind.tolerance_deg, before.degrees + sign * degrees),
            over: before.over,
        };
        posture.set(kind, turn);
        let Some((low, high)) = field.range(posture, at.spot.bin) else {
            continue;
        };
        let spot = Spot {
            bin: at.spot.bin,
            x: at.spot.x.clamp(low[0], high[0]),
            y: at.spot.y.clamp(low[1], high[1]),
        };
        let cost = field.ask(i, posture, spot, at.cost);
        if cost < at.cost {
            (at.turn, at.spot, at.cost) = (turn, spot, cost);
            return true;
        }
    }
    posture.set(kind, before);
    false
}
