//! The search: containers are filled, parts taken apart and filled again; containers given up and ends drawn in.

use crate::catalogue;
use crate::fit::Taste;
use crate::ground::{Bin, Ground, Layout, Worth, ends};
use crate::open::End;
use crate::part_tree::Node;
use crate::shape::{Shape, reach};
use cullet_search::{self as lanes, Effort, Limit, Random, StopCondition, run_lanes};
use std::sync::Arc;

/// Steps of one lane in a round.
const STEPS: usize = 60;

/// Rounds that one attempt may take before another is begun.
const ATTEMPT_ROUNDS: usize = 40;

/// Share of the first rounds in which layouts are begun anew.
const BEGINNINGS: u64 = 4;

/// What a lane is about.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Aim {
    /// Lay more of what is left.
    More,
    /// Do without a container.
    Close,
    /// Draw an end in.
    Shorten,
}

struct Lane<'a> {
    ground: &'a Ground,
    random: Random,
    best: Best,
    work: Option<(Aim, Layout, usize)>,
    /// How far ends are drawn in at once.
    stride: f64,
    /// Attempts to close that came to nothing.
    vain: usize,
    begun: usize,
    rounds: u64,
}

/// A layout with how good it is.
#[derive(Clone)]
struct Best {
    layout: Layout,
    worth: Worth,
}

impl Lane<'_> {
    /// One round.
    fn round(&mut self, ground: &Ground, watch: &StopCondition, beginnings: bool) {
        if beginnings {
            for _ in 0..3 {
                if watch.over() && self.begun > 0 {
                    return;
                }
                self.begin(ground);
            }
            return;
        }
        if self.work.is_none() {
            self.aim(ground);
        }
        let Some((aim, mut work, mut rounds)) = self.work.take() else {
            self.begin(ground);
            return;
        };
        let mean = ground.kinds.iter().map(|k| k.value * f64::from(k.count)).sum::<f64>()
            / f64::from(ground.kinds.iter().map(|k| k.count).sum::<u32>().max(1));
        for step in 0..STEPS {
            if watch.over() {
                break;
            }
            let share = (rounds * STEPS + step) as f64 / (ATTEMPT_ROUNDS * STEPS) as f64;
            self.step(ground, &mut work, 0.15 * mean * (1.0 - share).max(0.0).powi(2));
            let done = ground.pool(&work.stock) == 0.0;
            if done || aim == Aim::More {
                let worth = ground.worth(&work);
                if worth.beats(&self.best.worth) {
                    self.best.worth = worth;
                    self.best.layout = work.clone();
                }
            }
            if done {
                self.stride = (self.stride * 1.3).min(0.2);
                return;
            }
        }
        rounds += 1;
        if rounds < ATTEMPT_ROUNDS {
            self.work = Some((aim, work, rounds));
        } else {
            match aim {
                Aim::Close => self.vain += 1,
                Aim::Shorten => self.stride = (self.stride * 0.6).max(0.003),
                Aim::More => {}
            }
        }
    }

    /// A layout from nothing.
    fn begin(&mut self, ground: &Ground) {
        let mut layout = ground.empty();
        let taste = if self.begun < 2 {
            Taste {
                together: self.begun == 0,
                ..Taste::plain()
            }
        } else {
            Taste::drawn(&mut self.random)
        };
        let mut shapes = ground.shapes.clone();
        if self.begun != 0 && (self.begun % 3 != 2 || taste.together) {
            let made = catalogue::assemble(
                &ground.kinds,
                &ground.singles,
                &layout.stock,
                &ground.hulls,
                &mut self.random,
            );
            shapes.extend(made);
        }
        let mut order: Vec<usize> = (0..ground.rooms.len()).collect();
        if self.begun % 2 == 1 {
            let dear = |b: &usize| ground.rooms[*b].cost / ground.rooms[*b].area;
            order.sort_by(|a, b| dear(a).total_cmp(&dear(b)));
        }
        for b in order {
            if layout.stock.iter().all(|n| *n == 0) {
                break;
            }
            let bin = &mut layout.bins[b];
            bin.open = true;
            bin.root = ground.rooms[b].opened(None, ground.least_width, &mut self.random);
            ground
                .filler(&shapes, b, taste)
                .fill(&mut bin.root, &mut layout.stock, &mut self.random);
        }
        let worth = ground.worth(&layout);
        if self.begun == 0 || worth.beats(&self.best.worth) {
            self.best.worth = worth;
            self.best.layout = layout;
        }
        self.begun += 1;
    }

    /// Chooses what to try next, from the best layout.
    fn aim(&mut self, ground: &Ground) {
        let mut work = self.best.layout.clone();
        if self.best.worth.left > 0.0 {
            for (b, bin) in work.bins.iter_mut().enumerate() {
                if !bin.open {
                    bin.open = true;
                    bin.root = ground.rooms[b].opened(None, ground.least_width, &mut self.random);
                }
                bin.end = None;
            }
            self.work = Some((Aim::More, work, 0));
            return;
        }
        let used: Vec<usize> = (0..work.bins.len())
            .filter(|b| work.bins[*b].root.count() > 0)
            .collect();
        for (b, bin) in work.bins.iter_mut().enumerate() {
            bin.open = used.contains(&b);
        }
        if self.random.below(2 + self.vain) < 2 && self.close(ground, &mut work, &used) {
            self.work = Some((Aim::Close, work, 0));
            return;
        }
        let mut work = self.best.layout.clone();
        for (b, bin) in work.bins.iter_mut().enumerate() {
            bin.open = used.contains(&b);
        }
        // The end that already returns most, now and then another.
        let mut all: Vec<(f64, usize, End)> = Vec::new();
        for b in &used {
            for (end, share) in ends(&ground.rooms[*b], &work.bins[*b]) {
                let noise = if self.random.below(4) == 0 {
                    self.random.unit()
                } else {
                    0.0
                };
                all.push((share * ground.rooms[*b].area * (1.0 + noise), *b, end));
            }
        }
        let Some((_, b, end)) = all.into_iter().max_by(|x, y| x.0.total_cmp(&y.0)) else {
            return;
        };
        let room = &ground.rooms[b];
        let (whole, back) = (reach(&room.outline, end.out), reach(&room.outline, end.out * -1.0));
        // To count, the run must return more than the best of all.
        let needed = whole - (-self.best.worth.unreturned / room.area) * (whole + back);
        let offset = end.offset.min(needed) - self.stride * (end.offset + back).min(0.3 * (whole + back));
        let mut freed = Vec::new();
        work.bins[b].root.clear(&mut freed);
        give_back(&mut work.stock, &freed);
        work.bins[b].end = Some(End { offset, ..end });
        for (k, bin) in work.bins.iter_mut().enumerate() {
            if k != b {
                bin.end = None;
            }
        }
        let bin = &mut work.bins[b];
        bin.root = room.opened(bin.end, ground.least_width, &mut self.random);
        self.work = Some((Aim::Shorten, work, 0));
    }

    /// Gives up a container and opens cheaper ones instead, where their area allows it.
    fn close(&mut self, ground: &Ground, work: &mut Layout, used: &[usize]) -> bool {
        let weigh = |b: usize| {
            let mut laid = 0.0;
            work.bins[b].root.each_laid(&mut |l| laid += l.shape.value);
            laid / ground.rooms[b].cost.max(1e-9)
        };
        let mut list: Vec<(f64, usize)> = used.iter().map(|b| (weigh(*b), *b)).collect();
        list.sort_by(|x, y| x.0.total_cmp(&y.0));
        let pick = ((self.random.bell().abs() * 0.6) as usize).min(list.len().saturating_sub(1));
        let Some((_, shut)) = list.get(pick).copied() else {
            return false;
        };
        let mut freed = Vec::new();
        work.bins[shut].root.clear(&mut freed);
        give_back(&mut work.stock, &freed);
        work.bins[shut].open = false;
        let mut budget = ground.rooms[shut].cost;
        let mut others: Vec<usize> = (0..work.bins.len()).filter(|b| !used.contains(b)).collect();
        self.random.shuffle(&mut others);
        for b in others {
            let cost = ground.rooms[b].cost;
            if cost < budget - 1e-9 && self.random.below(3) > 0 {
                budget -= cost;
                work.bins[b].open = true;
                work.bins[b].root = ground.rooms[b].opened(None, ground.least_width, &mut self.random);
            }
        }
        for bin in &mut work.bins {
            bin.end = None;
        }
        let open: f64 = ground
            .rooms
            .iter()
            .zip(&work.bins)
            .filter(|(_, b)| b.open)
            .map(|(r, _)| r.area)
            .sum();
        let needed: f64 = ground.kinds.iter().map(|k| k.value * f64::from(k.count)).sum();
        needed <= open
    }

    /// Takes some parts apart and fills them again; kept where that is no worse, or by chance.
    fn step(&mut self, ground: &Ground, work: &mut Layout, heat: f64) {
        let open: Vec<usize> = (0..work.bins.len()).filter(|b| work.bins[*b].open).collect();
        if open.is_empty() {
            return;
        }
        let regions = 1 + usize::from(self.random.below(4) == 0);
        let before_stock = work.stock.clone();
        let mut before: Vec<(usize, Bin)> = Vec::new();
        for _ in 0..regions {
            let b = open[self.random.below(open.len())];
            if !before.iter().any(|(k, _)| *k == b) {
                before.push((b, work.bins[b].clone()));
            }
            let mut freed = Vec::new();
            let bin = &mut work.bins[b];
            if self.random.below(40) == 0 {
                bin.root.clear(&mut freed);
                bin.root = ground.rooms[b].opened(bin.end, ground.least_width, &mut self.random);
            } else {
                let range = if self.random.below(3) == 0 { 14 } else { 6 };
                let most = 2 + self.random.below(range);
                take_apart(&mut bin.root, most, &mut freed, &mut self.random);
            }
            give_back(&mut work.stock, &freed);
        }
        let taste = Taste::drawn(&mut self.random);
        let some: u32 = work.stock.iter().sum();
        let made = if taste.together && some <= 40 && self.random.below(3) == 0 {
            catalogue::assemble(
                &ground.kinds,
                &ground.singles,
                &work.stock,
                &ground.hulls,
                &mut self.random,
            )
        } else {
            vec![]
        };
        let in_stock = |s: &&Arc<Shape>| s.needs.iter().all(|(k, n)| work.stock[*k] >= *n);
        let shapes: Vec<Arc<Shape>> = ground.shapes.iter().filter(in_stock).cloned().chain(made).collect();
        let weight = |bins: &[(usize, &Bin)], stock: &[u32]| {
            ground.pool(stock)
                + bins
                    .iter()
                    .map(|(b, bin)| ground.scattered(bin, &ground.rooms[*b]))
                    .sum::<f64>()
        };
        let old: Vec<(usize, &Bin)> = before.iter().map(|(b, bin)| (*b, bin)).collect();
        let old = weight(&old, &before_stock);
        let mut touched: Vec<usize> = before.iter().map(|(b, _)| *b).collect();
        self.random.shuffle(&mut touched);
        for b in &touched {
            ground
                .filler(&shapes, *b, taste)
                .fill(&mut work.bins[*b].root, &mut work.stock, &mut self.random);
        }
        let new: Vec<(usize, &Bin)> = touched.iter().map(|b| (*b, &work.bins[*b])).collect();
        let new = weight(&new, &work.stock);
        if new - old > heat * -self.random.unit().max(1e-12).ln() {
            work.stock = before_stock;
            for (b, bin) in before {
                work.bins[b] = bin;
            }
        }
    }
}

fn give_back(stock: &mut [u32], freed: &[Arc<Shape>]) {
    for (kind, n) in freed.iter().flat_map(|s| &s.needs) {
        stock[*kind] += n;
    }
}

/// Clears a region drawn at random that holds at most so many pieces.
fn take_apart(node: &mut Node, most: usize, freed: &mut Vec<Arc<Shape>>, random: &mut Random) {
    if let Node::Run(part, a, b) = node
        && (part.is_none() || a.count() + b.count() > most)
    {
        let (m, n) = (a.count() + 1, b.count() + 1);
        let next = if random.below(m + n) < m { a } else { b };
        take_apart(next, most, freed, random);
        return;
    }
    node.clear(freed);
}

impl lanes::Lane for Lane<'_> {
    type Best = Best;

    /// A layout with nothing in it is no answer.
    const AT_LEAST_ONCE: bool = true;

    fn search(&mut self, stop: &StopCondition<'_>) {
        // Beginning anew comes first, and now and then again while pieces are left over.
        let beginnings = self.rounds < BEGINNINGS || (stop.share() < 0.15 && self.best.worth.left > 0.0);
        self.round(self.ground, stop, beginnings);
        self.rounds += 1;
    }

    fn best(&self) -> &Best {
        &self.best
    }

    fn is_better(one: &Best, other: &Best) -> bool {
        one.worth.beats(&other.worth)
    }

    fn adopt(&mut self, best: &Best) {
        if best.worth.beats(&self.best.worth) {
            self.best = best.clone();
            self.work = None;
        }
    }

    fn is_done(&self) -> bool {
        false
    }

    fn rounds(&self) -> u64 {
        self.rounds
    }
}

/// Searches as long as the effort lasts.
pub(super) fn search(ground: &Ground, effort: Effort, stop: &StopCondition<'_>, report: &dyn Fn(&Layout)) -> Layout {
    let layout = ground.empty();
    let worth = ground.worth(&layout);
    let blank = Best { layout, worth };
    let mut lanes: Vec<Lane<'_>> = (0..effort.lanes.max(1))
        .map(|lane| Lane {
            ground,
            random: Random::new(effort.seed, lane + 1),
            best: blank.clone(),
            work: None,
            stride: 0.1,
            vain: 0,
            begun: 0,
            rounds: 0,
        })
        .collect();
    // A round here is one of all lanes.
    let most_rounds = match effort.limit {
        Limit::Rounds(rounds) => rounds.max(1) * lanes.len() as u64,
        Limit::Seconds(_) => u64::MAX,
    };
    let nothing_to_do = ground.rooms.is_empty() || ground.singles.is_empty();
    let is_enough = |best: &Best| nothing_to_do || ground.is_best(&best.layout, &best.worth);
    run_lanes(&mut lanes, blank, most_rounds, stop, &is_enough, &mut |best, _| {
        report(&best.layout)
    })
    .layout
}
