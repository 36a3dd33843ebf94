//! Everything that lies somewhere: items in their bins, obstacles, who overlaps whom and how much that weighs.
//!
//! A *bin* is a container as the search sees it: an upright rectangle with its lower left corner at the origin, and
//! obstacles for whatever of the rectangle is not usable.

use crate::form::{Form, Kind, Posture};
use crate::grid::Grid;
use crate::overlap::{meets, overlap};
use crate::tables::Tables;
use crate::wide::vectorised;

/// An upright rectangle with obstacles.
#[derive(Debug, Clone, Default)]
pub(crate) struct Bin {
    pub(crate) width: f64,
    pub(crate) height: f64,
    /// Whether items may be put here.
    pub(crate) open: bool,
    /// First of its obstacles among all, and one past the last.
    pub(crate) obstacles: std::ops::Range<usize>,
}

/// Where an item lies: its reference point in a bin.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct Spot {
    pub(crate) bin: usize,
    pub(crate) x: f64,
    pub(crate) y: f64,
}

/// One item of a kind.
#[derive(Debug, Clone, Default)]
pub(crate) struct Slot {
    pub(crate) kind: usize,
    pub(crate) spot: Spot,
    pub(crate) posture: Posture,
    /// Whether it lies anywhere at all.
    pub(crate) placed: bool,
}

/// The state of a search.
#[derive(Debug, Clone)]
pub(crate) struct Field<'a> {
    pub(crate) kinds: &'a [Kind],
    pub(crate) bins: Vec<Bin>,
    pub(crate) obstacles: &'a [Form],
    tables: Option<&'a Tables<'a>>,
    pub(crate) slots: Vec<Slot>,
    grids: Vec<Grid>,
    /// Weight and overlap of item i with item j at `i * stride + j`, with obstacle k at `i * stride + slots + k`.
    weights: Vec<f32>,
    overlaps: Vec<f32>,
    stride: usize,
    /// Candidate places evaluated, the unit in which lanes count.
    pub(crate) evaluations: u64,
}

/// By what factor the weights of overlapping pairs grow in a round: at least, and at most where they overlap the worst.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Growth {
    least: f32,
    most: f32,
}

impl Growth {
    /// Items soon leave their places: much is tried, and little kept.
    pub(crate) const FAST: Self = Self { least: 1.2, most: 2.0 };
    /// Overlap goes on falling for hundreds of rounds.
    pub(crate) const SLOW: Self = Self { least: 1.1, most: 1.5 };
}

/// By this the weights of all other pairs fall in a round, down to 1.
const FADE: f32 = 0.95;
/// Above this they are halved all together, to stay within `f32`.
const MOST_WEIGHT: f32 = 1e12;

impl<'a> Field<'a> {
    pub(crate) fn new(kinds: &'a [Kind], bins: Vec<Bin>, obstacles: &'a [Form], slot_kinds: &[usize]) -> Self {
        let count = slot_kinds.len();
        let stride = count + obstacles.len();
        let typical = typical_size(kinds, slot_kinds);
        let mut field = Self {
            kinds,
            obstacles,
            tables: None,
            grids: bins
                .iter()
                .map(|bin| Grid::new(bin.width, bin.height, typical))
                .collect(),
            bins,
            slots: slot_kinds
                .iter()
                .map(|kind| Slot {
                    kind: *kind,
                    ..Slot::default()
                })
                .collect(),
            weights: vec![1.0; count * stride],
            overlaps: vec![0.0; count * stride],
            stride,
            evaluations: 0,
        };
        for bin in 0..field.bins.len() {
            for k in field.bins[bin].obstacles.clone() {
                let form = &obstacles[k];
                field.grids[bin].insert((count + k) as u32, form.low, form.high);
            }
        }
        field
    }

    /// Lets questions be answered by table.
    pub(crate) fn with_tables(self, tables: Option<&'a Tables<'a>>) -> Self {
        Self { tables, ..self }
    }

    /// Puts item `i` at `spot`, or moves it there, and brings its overlaps up to date.
    pub(crate) fn put(&mut self, i: usize, posture: &Posture, spot: Spot) {
        self.lift(i);
        let slot = &mut self.slots[i];
        slot.posture.clone_from(posture);
        slot.spot = spot;
        slot.placed = true;
        let (low, high) = extent(&slot.posture.grown, spot);
        self.grids[spot.bin].insert(i as u32, low, high);
        self.measure_row(i);
    }

    /// Takes item `i` away.
    pub(crate) fn lift(&mut self, i: usize) {
        if !self.slots[i].placed {
            return;
        }
        let (low, high) = extent(&self.slots[i].posture.grown, self.slots[i].spot);
        self.grids[self.slots[i].spot.bin].remove(i as u32, low, high);
        self.slots[i].placed = false;
        let count = self.slots.len();
        for j in 0..count {
            self.overlaps[i * self.stride + j] = 0.0;
            self.overlaps[j * self.stride + i] = 0.0;
        }
        self.overlaps[i * self.stride + count..(i + 1) * self.stride].fill(0.0);
    }

    fn measure_row(&mut self, i: usize) {
        let count = self.slots.len();
        let slot = &self.slots[i];
        let (spot, grown, bare) = (slot.spot, &slot.posture.grown, slot.posture.bare());
        let (low, high) = extent(grown, spot);
        let (slots, obstacles, overlaps, stride) = (&self.slots, self.obstacles, &mut self.overlaps, self.stride);
        let tables = self.tables;
        self.grids[spot.bin].visit(low, high, |j| {
            let j = j as usize;
            if j >= count {
                overlaps[i * stride + j] = overlap(bare, &obstacles[j - count], spot.x, spot.y);
            } else if j != i {
                let other = &slots[j];
                let found = between(tables, &slot.posture, spot, other);
                overlaps[i * stride + j] = found;
                overlaps[j * stride + i] = found;
            }
            true
        });
    }

    /// Weighted overlap that item `i` would have in `posture` at `spot`; any number above `enough` once it is known to
    /// exceed it.
    pub(crate) fn ask(&mut self, i: usize, posture: &Posture, spot: Spot, enough: f32) -> f32 {
        self.evaluations += 1;
        weighted_at(self, i, posture, spot, enough)
    }

    /// Whether item `i` would overlap nothing in `posture` at `spot`.
    pub(crate) fn free(&mut self, i: usize, posture: &Posture, spot: Spot) -> bool {
        self.evaluations += 1;
        free_at(self, i, posture, spot)
    }

    /// Where the reference point of something in `posture` may lie in `bin`: `[low, high]` for x and y, `None` if nowhere.
    pub(crate) fn range(&self, posture: &Posture, bin: usize) -> Option<([f64; 2], [f64; 2])> {
        let bin = &self.bins[bin];
        let low = [-posture.low[0], -posture.low[1]];
        let high = [bin.width - posture.high[0], bin.height - posture.high[1]];
        // A piece cut to the very size of the sheet fits it: rounding must not say otherwise.
        let slip = 1e-9 * (bin.width + bin.height);
        (low[0] <= high[0] + slip && low[1] <= high[1] + slip)
            .then(|| (low, [high[0].max(low[0]), high[1].max(low[1])]))
    }

    /// Unweighted overlap of item `i` with everything.
    pub(crate) fn overlap_of(&self, i: usize) -> f32 {
        self.overlaps[i * self.stride..(i + 1) * self.stride].iter().sum()
    }

    /// Weighted overlap of item `i` with everything.
    pub(crate) fn weighted_of(&self, i: usize) -> f32 {
        let row = i * self.stride..(i + 1) * self.stride;
        self.overlaps[row.clone()]
            .iter()
            .zip(&self.weights[row])
            .map(|(o, w)| o * w)
            .sum()
    }

    /// Unweighted overlap of everything; 0 exactly when the layout is valid.
    pub(crate) fn total(&self) -> f64 {
        let count = self.slots.len();
        let mut sum = 0.0f64;
        for i in 0..count {
            let row = &self.overlaps[i * self.stride..(i + 1) * self.stride];
            let own: f32 = row[i + 1..].iter().sum();
            sum += f64::from(own);
        }
        sum
    }

    /// Weights grow on pairs that overlap, the more the worse they overlap, and fade on all others.
    pub(crate) fn reweigh(&mut self, growth: Growth) {
        let worst = self.overlaps.iter().copied().fold(0.0, f32::max);
        if worst <= 0.0 {
            return;
        }
        let mut heaviest = 0.0f32;
        for (weight, found) in self.weights.iter_mut().zip(&self.overlaps) {
            *weight = if *found > 0.0 {
                *weight * (growth.least + (growth.most - growth.least) * found / worst)
            } else {
                (*weight * FADE).max(1.0)
            };
            heaviest = heaviest.max(*weight);
        }
        if heaviest > MOST_WEIGHT {
            self.weights.iter_mut().for_each(|w| *w = (*w * 1e-6).max(1.0));
        }
    }

    /// All weights back to 1.
    pub(crate) fn reset_weights(&mut self) {
        self.weights.fill(1.0);
    }

    /// Bins may have changed size: everything is measured anew and moved inside where it sticks out. Items that no longer fit
    /// their bin at all are lifted and named.
    pub(crate) fn refit(&mut self) -> Vec<usize> {
        let mut homeless = Vec::new();
        let typical = typical_size(self.kinds, &self.slots.iter().map(|s| s.kind).collect::<Vec<_>>());
        let count = self.slots.len();
        self.overlaps.fill(0.0);
        for bin in 0..self.bins.len() {
            self.grids[bin] = Grid::new(self.bins[bin].width, self.bins[bin].height, typical);
            for k in self.bins[bin].obstacles.clone() {
                let form = &self.obstacles[k];
                self.grids[bin].insert((count + k) as u32, form.low, form.high);
            }
        }
        for i in 0..count {
            if !self.slots[i].placed {
                continue;
            }
            if !self.bring_inside(i) {
                self.slots[i].placed = false;
                homeless.push(i);
                continue;
            }
            let (low, high) = extent(&self.slots[i].posture.grown, self.slots[i].spot);
            self.grids[self.slots[i].spot.bin].insert(i as u32, low, high);
        }
        for i in 0..count {
            if self.slots[i].placed {
                self.measure_row(i);
            }
        }
        homeless
    }

    /// Moves item `i` into its bin; where it no longer fits at its turn, takes another of its kind's that does. Whether it
    /// fits.
    fn bring_inside(&mut self, i: usize) -> bool {
        let kind = &self.kinds[self.slots[i].kind];
        let bin = self.slots[i].spot.bin;
        if self.range(&self.slots[i].posture, bin).is_none() {
            let mut other = Posture::default();
            let turns = kind.turns.iter().chain(kind.snaps.iter().map(|s| &s.0));
            for turn in turns {
                other.set(kind, *turn);
                if self.range(&other, bin).is_some() {
                    self.slots[i].posture = other;
                    break;
                }
            }
        }
        let Some((low, high)) = self.range(&self.slots[i].posture, bin) else {
            return false;
        };
        let spot = &mut self.slots[i].spot;
        spot.x = spot.x.clamp(low[0], high[0]);
        spot.y = spot.y.clamp(low[1], high[1]);
        true
    }

    /// A snapshot of where everything lies.
    pub(crate) fn snapshot(&self) -> Vec<Slot> {
        self.slots.clone()
    }

    /// Goes back to a snapshot.
    pub(crate) fn restore(&mut self, slots: &[Slot]) -> Vec<usize> {
        self.slots.clone_from_slice(slots);
        self.refit()
    }
}

vectorised! {
/// See [`Field::ask`].
fn weighted_at(field: &Field, i: usize, posture: &Posture, spot: Spot, enough: f32) -> f32 {
    let count = field.slots.len();
    let (grown, bare) = (&posture.grown, posture.bare());
    let (low, high) = extent(grown, spot);
    let weights = &field.weights[i * field.stride..(i + 1) * field.stride];
    let mut sum = 0.0f32;
    field.grids[spot.bin].visit(low, high, |j| {
        let j = j as usize;
        let found = if j >= count {
            overlap(bare, &field.obstacles[j - count], spot.x, spot.y)
        } else if j != i {
            between(field.tables, posture, spot, &field.slots[j])
        } else {
            0.0
        };
        sum += found * weights[j];
        sum <= enough
    });
    sum
}
}

vectorised! {
/// See [`Field::free`].
fn free_at(field: &Field, i: usize, posture: &Posture, spot: Spot) -> bool {
    let count = field.slots.len();
    let (low, high) = extent(&posture.grown, spot);
    let mut clear = true;
    field.grids[spot.bin].visit(low, high, |j| {
        let j = j as usize;
        let hit = if j >= count {
            meets(posture.bare(), &field.obstacles[j - count], spot.x, spot.y)
        } else if j != i {
            let other = &field.slots[j];
            let (dx, dy) = (spot.x - other.spot.x, spot.y - other.spot.y);
            meets(&posture.grown, &other.posture.grown, dx, dy)
        } else {
            false
        };
        clear = !hit;
        clear
    });
    clear
}
}

/// Overlap of something in `posture` at `spot` with another item.
#[inline(always)]
fn between(tables: Option<&Tables>, posture: &Posture, spot: Spot, other: &Slot) -> f32 {
    let (dx, dy) = (spot.x - other.spot.x, spot.y - other.spot.y);
    match (tables, posture.number, other.posture.number) {
        (Some(tables), Some(a), Some(b)) => tables.overlap(a, b, dx, dy),
        _ => overlap(&posture.grown, &other.posture.grown, dx, dy),
    }
}

#[inline(always)]
fn extent(form: &Form, spot: Spot) -> ([f64; 2], [f64; 2]) {
    (
        [form.low[0] + spot.x, form.low[1] + spot.y],
        [form.high[0] + spot.x, form.high[1] + spot.y],
    )
}

fn typical_size(kinds: &[Kind], slot_kinds: &[usize]) -> f64 {
    let area: f64 = slot_kinds.iter().map(|k| kinds[*k].area).sum();
    (area / slot_kinds.len().max(1) as f64).sqrt()
}

#[cfg(test)]
mod tests;
