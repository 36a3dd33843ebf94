//! Several containers at once: every item placed, at the least cost of the containers used.
//!
//! A first layout puts items into the containers in their order. Then containers are given up: one (or two) is closed,
//! perhaps a cheaper one opened, its items are spread over the others and the overlaps drawn apart. What succeeds is kept.
//! Lanes try different exchanges and share the cheapest layout.

mod beginning;
pub(crate) use beginning::fits_alone;
use beginning::{exact_filling, first_filling, put_all};

use crate::field::{Bin, Field, Growth, Slot};
use crate::first::Lean;
use crate::place::{Care, Scratch, settle_somewhere};
use crate::prepare::Prepared;
use crate::separate::{Outcome, Patience, Separation};
use crate::tables::Tables;
use cullet_search::{self as lanes, Effort, Limit, Random, StopCondition, run_lanes};

/// How long a layout with a container given up is drawn apart.
const PATIENCE: Patience = Patience { rounds: 60, starts: 2 };

/// A layout over several bins.
#[derive(Debug, Clone)]
pub(crate) struct Filling {
    pub(crate) slots: Vec<Slot>,
    /// Which bins are in use.
    pub(crate) used: Vec<bool>,
    /// Items that lie nowhere.
    pub(crate) left: usize,
    /// Their area.
    pub(crate) left_area: f64,
    /// What the used bins cost.
    pub(crate) cost: f64,
}

impl Filling {
    fn better_than(&self, other: &Self) -> bool {
        (self.left_area, self.cost) < (other.left_area - 1e-9, f64::INFINITY)
            || (self.left_area <= other.left_area + 1e-9 && self.cost < other.cost - 1e-9)
    }
}

/// A bin with its price and usable area.
#[derive(Debug, Clone)]
pub(crate) struct Priced {
    pub(crate) bin: Bin,
    pub(crate) cost: f64,
    pub(crate) area: f64,
}

const CARE: Care = Care {
    wide: 48,
    near: 24,
    refined: 3,
};
const EPOCH: u64 = 100_000;
/// Rounds in a row that ask nothing, items having no room at all, before a lane gives up.
const MOST_VAIN: u32 = 100;
/// An exchange that would need a denser filling than this is not tried.
const DENSEST: f64 = 0.985;
/// An exchange to try: bins closed, bins opened.
#[derive(Debug, Clone, PartialEq)]
struct Exchange {
    close: Vec<usize>,
    open: Vec<usize>,
}

struct Lane<'a> {
    bins: &'a [Priced],
    field: Field<'a>,
    random: Random,
    scratch: Scratch,
    trying: Option<Separation>,
    best: Filling,
    /// Exchanges that failed since the last success, with how often.
    failed: Vec<(Exchange, u32)>,
    current: Option<Exchange>,
    /// Rounds in a row without an evaluation.
    vain: u32,
    /// Nothing is left to try.
    idle: bool,
    rounds: u64,
}

impl lanes::Lane for Lane<'_> {
    type Best = Filling;

    fn search(&mut self, watch: &StopCondition<'_>) {
        let meeting = watch.meeting(self.field.evaluations, EPOCH);
        while !meeting.is_due(self.field.evaluations) && !self.idle && !watch.over() {
            let before = self.field.evaluations;
            self.round(self.bins, watch);
            // Where effort is counted in evaluations, rounds that make none would never end.
            self.vain = if self.field.evaluations == before {
                self.vain + 1
            } else {
                0
            };
            self.idle |= self.vain >= MOST_VAIN;
        }
    }

    fn best(&self) -> &Filling {
        &self.best
    }

    fn is_better(one: &Filling, other: &Filling) -> bool {
        one.better_than(other)
    }

    fn adopt(&mut self, best: &Filling) {
        if best.better_than(&self.best) {
            self.best = best.clone();
            self.trying = None;
            self.failed.clear();
            self.vain = 0;
            self.idle = false;
        }
    }

    fn is_done(&self) -> bool {
        self.idle
    }

    fn rounds(&self) -> u64 {
        self.rounds
    }
}

impl Lane<'_> {
    fn round(&mut self, bins: &[Priced], watch: &StopCondition) {
        let Some(mut separation) = self.trying.take().or_else(|| self.begin(bins)) else {
            self.idle = true;
            return;
        };
        self.rounds += 1;
        let stop = || watch.over();
        match separation.round(&mut self.field, CARE, &mut self.random, &mut self.scratch, &stop) {
            Outcome::Going => self.trying = Some(separation),
            Outcome::Clear => {
                let found = filling(&self.field, bins);
                if found.better_than(&self.best) {
                    self.best = found;
                    self.failed.clear();
                }
            }
            Outcome::Stuck => {
                if let Some(exchange) = self.current.take() {
                    match self.failed.iter_mut().find(|f| f.0 == exchange) {
                        Some(known) => known.1 += 1,
                        None => self.failed.push((exchange, 1)),
                    }
                }
            }
        }
    }

    /// Starts the most promising exchange; `None` when there is none.
    fn begin(&mut self, bins: &[Priced]) -> Option<Separation> {
        let slots = self.best.slots.clone();
        self.field.restore(&slots);
        if self.best.left > 0 {
            return self.squeeze_in(bins);
        }
        let exchange = self.choose(bins)?;
        for (b, bin) in self.field.bins.iter_mut().enumerate() {
            bin.open = (self.best.used[b] && !exchange.close.contains(&b)) || exchange.open.contains(&b);
        }
        let mut homeless: Vec<usize> = (0..self.field.slots.len())
            .filter(|i| exchange.close.contains(&self.field.slots[*i].spot.bin))
            .collect();
        let fits = homeless.iter().all(|i| self.field.has_room(*i));
        self.current = Some(exchange);
        if !fits {
            // Some item has nowhere else to go: never again.
            let exchange = self.current.take()?;
            self.failed.push((exchange, 1000));
            return self.begin(bins);
        }
        self.random.shuffle(&mut homeless);
        for i in &homeless {
            self.field.lift(*i);
        }
        for i in homeless {
            settle_somewhere(&mut self.field, i, &mut self.random, &mut self.scratch);
        }
        Some(Separation::new(&mut self.field, PATIENCE, Growth::FAST))
    }

    /// Puts one item that lies nowhere into an open bin, overlaps or not.
    fn squeeze_in(&mut self, bins: &[Priced]) -> Option<Separation> {
        for (open, priced) in self.field.bins.iter_mut().zip(bins) {
            open.open = priced.bin.open;
        }
        let homeless: Vec<usize> = (0..self.field.slots.len())
            .filter(|i| !self.field.slots[*i].placed && self.field.has_room(*i))
            .collect();
        if homeless.is_empty() {
            return None;
        }
        let i = homeless[self.random.below(homeless.len())];
        settle_somewhere(&mut self.field, i, &mut self.random, &mut self.scratch);
        self.current = None;
        Some(Separation::new(&mut self.field, PATIENCE, Growth::FAST))
    }

    fn choose(&mut self, bins: &[Priced]) -> Option<Exchange> {
        let items: f64 = self.field.slots.iter().map(|s| self.field.kinds[s.kind].area).sum();
        let used: Vec<usize> = (0..bins.len()).filter(|b| self.best.used[*b]).collect();
        let unused: Vec<usize> = first_of_equals(bins, &self.best.used);
        let area: f64 = used.iter().map(|b| bins[*b].area).sum();
        let mut scored: Vec<(f64, Exchange)> = Vec::new();
        let mut consider = |close: Vec<usize>, open: Vec<usize>| {
            let saved: f64 =
                close.iter().map(|b| bins[*b].cost).sum::<f64>() - open.iter().map(|b| bins[*b].cost).sum::<f64>();
            let room = area - close.iter().map(|b| bins[*b].area).sum::<f64>()
                + open.iter().map(|b| bins[*b].area).sum::<f64>();
            let density = items / room.max(1e-9);
            let exchange = Exchange { close, open };
            let failures = self.failed.iter().find(|f| f.0 == exchange).map_or(0, |f| f.1);
            if saved > 1e-9 && density <= DENSEST && failures < 40 {
                scored.push((density + 0.03 * f64::from(failures), exchange));
            }
        };
        for (n, b) in used.iter().enumerate() {
            consider(vec![*b], vec![]);
            for c in &unused {
                consider(vec![*b], vec![*c]);
                for b2 in &used[..n] {
                    consider(vec![*b2, *b], vec![*c]);
                }
            }
        }
        scored.sort_by(|a, b| a.0.total_cmp(&b.0));
        let pick = (self.random.bell().abs() * 0.7) as usize;
        let last = scored.len().checked_sub(1)?;
        Some(scored.swap_remove(pick.min(last)).1)
    }
}

/// Unused bins, one of each price and area.
fn first_of_equals(bins: &[Priced], used: &[bool]) -> Vec<usize> {
    let mut firsts: Vec<usize> = Vec::new();
    for b in (0..bins.len()).filter(|b| !used[*b]) {
        let twin = firsts.iter().any(|f| {
            bins[*f].cost == bins[b].cost
                && bins[*f].area == bins[b].area
                && bins[*f].bin.obstacles.is_empty()
                && bins[b].bin.obstacles.is_empty()
        });
        if !twin {
            firsts.push(b);
        }
    }
    firsts
}

fn filling(field: &Field, bins: &[Priced]) -> Filling {
    let mut used = vec![false; bins.len()];
    for slot in field.slots.iter().filter(|s| s.placed) {
        used[slot.spot.bin] = true;
    }
    let left: Vec<&Slot> = field.slots.iter().filter(|s| !s.placed).collect();
    Filling {
        left: left.len(),
        left_area: left.iter().map(|s| field.kinds[s.kind].area).sum(),
        cost: bins
            .iter()
            .zip(&used)
            .filter(|(_, used)| **used)
            .map(|(b, _)| b.cost)
            .sum(),
        slots: field.snapshot(),
        used,
    }
}

/// The cheapest layout found within `effort`.
pub(crate) fn fill(
    ready: &Prepared,
    effort: Effort,
    watch: &StopCondition,
    report: &(dyn Fn(&Filling) + Sync),
) -> Filling {
    let mut best = first_filling(ready, effort.seed, watch, report);
    if let Some(exact) = exact_filling(ready, effort, watch).filter(|exact| exact.better_than(&best)) {
        report(&exact);
        best = exact;
    }
    improve(ready, best, effort, watch, report)
}

/// The layout with more of the items in the bins that are open, beginning with what `laid` holds of them.
pub(crate) fn top_up(
    ready: &Prepared,
    laid: &[Slot],
    effort: Effort,
    watch: &StopCondition,
    report: &(dyn Fn(&Filling) + Sync),
) -> Filling {
    let bins: Vec<Bin> = ready.bins.iter().map(|b| b.bin.clone()).collect();
    let closed: Vec<bool> = bins.iter().map(|bin| !bin.open).collect();
    let mut field = Field::new(&ready.kinds, bins, &ready.obstacles, &ready.slot_kinds);
    let mut waiting: Vec<Option<&Slot>> = laid.iter().map(Some).collect();
    let mut slots = field.snapshot();
    for slot in &mut slots {
        let mine = waiting.iter_mut().find(|w| w.is_some_and(|w| w.kind == slot.kind));
        if let Some(laid) = mine.and_then(Option::take) {
            *slot = laid.clone();
        }
    }
    field.restore(&slots);
    put_all(&mut field, &closed, Lean::Left, 300, &mut Random::new(effort.seed, 0));
    improve(ready, filling(&field, &ready.bins), effort, watch, report)
}

/// Lanes search on from `best` until the effort is spent or nothing is left to try.
fn improve(
    ready: &Prepared,
    best: Filling,
    effort: Effort,
    watch: &StopCondition,
    report: &(dyn Fn(&Filling) + Sync),
) -> Filling {
    let Prepared {
        kinds,
        slot_kinds,
        bins,
        obstacles,
        ..
    } = ready;
    let empty: Vec<Bin> = bins.iter().map(|b| b.bin.clone()).collect();
    let most_rounds = match effort.limit {
        Limit::Rounds(rounds) => rounds,
        Limit::Seconds(_) => u64::MAX,
    };
    let tables = Tables::new(kinds);
    let mut lanes: Vec<Lane> = (0..effort.lanes.max(1))
        .map(|lane| Lane {
            bins,
            field: Field::new(kinds, empty.clone(), obstacles, slot_kinds).with_tables(tables.as_ref()),
            random: Random::new(effort.seed, lane + 1),
            scratch: Scratch::default(),
            trying: None,
            best: best.clone(),
            failed: Vec::new(),
            current: None,
            vain: 0,
            idle: false,
            rounds: 0,
        })
        .collect();
    run_lanes(&mut lanes, best, most_rounds, watch, &|_| false, &mut |best, _| {
        report(best)
    })
}

#[cfg(test)]
mod tests;
