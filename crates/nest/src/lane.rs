//! One search for the shortest end.
//!
//! It goes in turns: the best layout is *squeezed*, a little at a time, as long as that succeeds; then it is *disrupted*, large
//! items changing places in a slightly shorter strip, and what comes of that is squeezed again. A disrupted layout is shaken by
//! fast-growing weights before slow ones settle it, and dropped where others were further by then. An attempt that ends with
//! little overlap left is given back some of the length rather than thrown away.

use crate::field::{Field, Growth, Slot};
use crate::first;
use crate::place::{Care, Scratch, settle_somewhere};
use crate::race::Race;
use crate::separate::{Outcome, Patience, Separation};
use crate::strip::{End, Shortest};
use cullet_search::{self as lanes, Random, StopCondition};

/// Questions between two meetings of lanes, where effort is counted in rounds.
const EPOCH: u64 = 150_000;
/// How thoroughly each move is sought.
const CARE: Care = Care {
    wide: 48,
    near: 24,
    refined: 3,
};

/// Shares of the length by which one squeeze shortens: at first, at most, at least, and at least towards the end.
const FIRST_STEP: f64 = 0.01;
const MOST_STEP: f64 = 0.03;
const LEAST_STEP: f64 = 6e-5;
const LAST_STEP: f64 = 1e-5;
/// A squeeze that failed is followed by one of so much of its step: four tenths and a sixth of it were tried already by giving
/// back length, and while one lane squeezes, the others disrupt in vain what is about to be shorter.
const AFTER_FAILURE: f64 = 0.01;
/// By so much a disrupted layout is shorter.
const DISRUPTED: f64 = 0.001;
/// Rounds for which a disrupted layout is shaken.
const SHAKEN: u32 = 40;
/// A squeeze that took no more rounds than this was easy, and one that took more than that hard.
const EASY: u32 = 25;
const HARD: u32 = 150;
/// From this share of the effort on the best layout is only squeezed.
const ENDING: f64 = 0.93;
/// How often an attempt is given back length, how much of what it was to save, and below which share of its first overlap.
const RESCUES: u32 = 2;
const GIVEN_BACK: f64 = 0.6;
const NEARLY: f64 = 0.08;
/// Rounds in a row that ask nothing, items having no room at all, before something else is tried.
const MOST_VAIN: u32 = 100;
/// Failed attempts remembered.
const REMEMBERED: usize = 10;

/// What an attempt does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Squeeze,
    Disrupt,
}

/// An attempt at a shorter layout.
#[derive(Debug)]
struct Attempt {
    mode: Mode,
    separation: Separation,
    first_total: f64,
    rescues: u32,
    rounds: u32,
}

/// One search.
pub(crate) struct Lane<'a> {
    end: End,
    pub(crate) field: Field<'a>,
    random: Random,
    scratch: Scratch,
    attempt: Option<Attempt>,
    mode: Mode,
    /// Length being tried.
    target: f64,
    /// Shortest valid layout this lane knows.
    pub(crate) best: Shortest,
    /// Share by which the next squeeze shortens.
    step: f64,
    /// Disrupted layouts that failed at lengths just below `best`, least overlap first.
    failed: Vec<(f64, Vec<Slot>)>,
    pub(crate) race: Race,
    pub(crate) rounds: u64,
    /// Rounds in a row without an evaluation.
    vain: u32,
    /// No use trying below.
    least: f64,
    /// Nothing shorter is left to try.
    pub(crate) done: bool,
}

impl lanes::Lane for Lane<'_> {
    type Best = Shortest;

    fn search(&mut self, watch: &StopCondition) {
        let meeting = watch.meeting(self.field.evaluations, EPOCH);
        while !meeting.is_due(self.field.evaluations) && !self.done && !watch.over() {
            let before = self.field.evaluations;
            self.round(watch);
            self.count_vain(self.field.evaluations == before);
        }
    }

    fn best(&self) -> &Shortest {
        &self.best
    }

    fn is_better(one: &Shortest, other: &Shortest) -> bool {
        one.length < other.length
    }

    fn adopt(&mut self, best: &Shortest) {
        if best.length < self.best.length {
            self.best = best.clone();
            if best.length <= self.target {
                self.attempt = None;
                self.failed.clear();
            }
        }
    }

    fn is_done(&self) -> bool {
        self.done
    }

    fn rounds(&self) -> u64 {
        self.rounds
    }

    fn exchange(lanes: &mut [Self]) {
        Race::share(lanes.iter_mut().map(|lane| &mut lane.race));
    }
}

impl<'a> Lane<'a> {
    pub(crate) fn new(field: Field<'a>, end: End, best: Shortest, least: f64, random: Random) -> Self {
        Self {
            end,
            field,
            random,
            scratch: Scratch::default(),
            attempt: None,
            mode: Mode::Squeeze,
            target: best.length,
            best,
            step: FIRST_STEP,
            failed: Vec::new(),
            race: Race::default(),
            rounds: 0,
            vain: 0,
            least,
            done: false,
        }
    }

    /// Searches until lanes meet or `watch` says stop.
    /// Where effort is counted in evaluations, rounds that make none would never end: after many of them large items change places,
    /// and after as many more nothing is left to try.
    fn count_vain(&mut self, is_vain: bool) {
        self.vain = if is_vain { self.vain + 1 } else { 0 };
        if self.vain == MOST_VAIN {
            self.mode = Mode::Disrupt;
        }
        self.done |= self.vain >= 2 * MOST_VAIN;
    }

    /// Takes over a shorter layout found elsewhere and goes on as before: a lane that is disrupting leaves it to the finder to
    /// squeeze.
    fn round(&mut self, watch: &StopCondition) {
        let ending = watch.share() > ENDING;
        if ending && self.mode == Mode::Disrupt {
            self.mode = Mode::Squeeze;
            self.step = LEAST_STEP;
            self.attempt = None;
        }
        let Some(mut attempt) = self.attempt.take().or_else(|| self.begin()) else {
            // Some item is too long for so short an end and for the other bins: less at a time, and in the end no more.
            self.step *= 0.35;
            self.done = self.mode == Mode::Disrupt || self.step < LEAST_STEP;
            return;
        };
        self.rounds += 1;
        attempt.rounds += 1;
        let stop = || watch.over();
        match attempt
            .separation
            .round(&mut self.field, CARE, &mut self.random, &mut self.scratch, &stop)
        {
            Outcome::Going => self.attempt = self.go_on(attempt, ending),
            Outcome::Clear => self.succeed(&attempt),
            Outcome::Stuck => self.attempt = self.rescue(attempt, ending),
        }
    }

    /// A disrupted layout that was shaken long enough is settled; one that is behind others by then has failed.
    fn go_on(&mut self, mut attempt: Attempt, ending: bool) -> Option<Attempt> {
        if attempt.mode == Mode::Disrupt && attempt.rescues == 0 && attempt.rounds >= SHAKEN {
            if attempt.rounds == SHAKEN {
                attempt.separation = self.separation(Mode::Disrupt, Growth::SLOW);
            }
            let left = attempt.separation.best_total;
            if self.race.is_behind(attempt.rounds - SHAKEN, left) {
                attempt.separation.give_up(&mut self.field);
                self.fail(&attempt, ending);
                return None;
            }
        }
        Some(attempt)
    }

    fn begin(&mut self) -> Option<Attempt> {
        if self.best.length <= self.least * (1.0 + 1e-6) {
            return None;
        }
        let step = if self.mode == Mode::Squeeze {
            self.step
        } else {
            DISRUPTED
        };
        self.set_target((self.best.length * (1.0 - step)).max(self.least));
        let homeless = match self.mode {
            Mode::Squeeze => {
                let slots = self.best.slots.clone();
                let homeless = self.field.restore(&slots);
                self.shift(self.target - self.best.length);
                homeless
            }
            Mode::Disrupt => {
                let slots = self.disrupted_from();
                let homeless = self.field.restore(&slots);
                self.disrupt();
                homeless
            }
        };
        let housed = homeless
            .into_iter()
            .all(|i| settle_somewhere(&mut self.field, i, &mut self.random, &mut self.scratch));
        housed.then(|| self.attempt(self.mode, Growth::FAST))
    }

    fn separation(&mut self, mode: Mode, growth: Growth) -> Separation {
        let patience = match mode {
            Mode::Squeeze => Patience { rounds: 60, starts: 1 },
            Mode::Disrupt => Patience { rounds: 100, starts: 2 },
        };
        Separation::new(&mut self.field, patience, growth)
    }

    fn attempt(&mut self, mode: Mode, growth: Growth) -> Attempt {
        let separation = self.separation(mode, growth);
        Attempt {
            mode,
            first_total: separation.best_total,
            separation,
            rescues: 0,
            rounds: 0,
        }
    }

    fn set_target(&mut self, length: f64) {
        self.target = length;
        let bin = &mut self.field.bins[self.end.bin];
        *(if self.end.axis == 0 {
            &mut bin.width
        } else {
            &mut bin.height
        }) = length;
    }

    /// The best layout, or a failed attempt: the less overlap it had left, the likelier.
    fn disrupted_from(&mut self) -> Vec<Slot> {
        let at = (self.random.bell().abs() * 0.3 * (self.failed.len() + 1) as f64) as usize;
        match at.checked_sub(1).and_then(|at| self.failed.get(at)) {
            Some((_, slots)) => slots.clone(),
            None => self.best.slots.clone(),
        }
    }

    /// What lies beyond a random line moves by `distance`.
    fn shift(&mut self, distance: f64) {
        let line = self.random.within(0.0, self.best.length);
        let end = self.end;
        for slot in self
            .field
            .slots
            .iter_mut()
            .filter(|s| s.placed && s.spot.bin == end.bin)
        {
            let at = if end.axis == 0 {
                &mut slot.spot.x
            } else {
                &mut slot.spot.y
            };
            if *at > line {
                *at += distance;
            }
        }
        self.field.refit();
    }

    /// Two large items of different kinds change places.
    fn disrupt(&mut self) {
        if self.field.slots.len() < 2 {
            return;
        }
        let large = self.large_items();
        let a = large[self.random.below(large.len())];
        let other = |b: &usize| self.field.slots[*b].kind != self.field.slots[a].kind;
        let others: Vec<usize> = large.iter().copied().filter(other).collect();
        let pool = if others.is_empty() { &large } else { &others };
        let b = pool[self.random.below(pool.len())];
        let (at_a, at_b) = (self.field.slots[a].spot, self.field.slots[b].spot);
        self.field.slots[a].spot = at_b;
        self.field.slots[b].spot = at_a;
        self.field.refit();
    }

    /// The largest items that together make up three quarters of the area, at least two.
    fn large_items(&self) -> Vec<usize> {
        let area = |i: usize| self.field.kinds[self.field.slots[i].kind].area;
        let mut order = first::order(&self.field);
        let total: f64 = order.iter().map(|i| area(*i)).sum();
        let mut sum = 0.0;
        let within = |i: &&usize| {
            sum += area(**i);
            sum - area(**i) < 0.75 * total
        };
        let count = order.iter().take_while(within).count().max(2);
        order.truncate(count);
        order
    }

    /// Whether every item lies somewhere: moving items about may have lifted one that fits its bin no longer.
    fn all_placed(&self) -> bool {
        self.field.slots.iter().all(|slot| slot.placed)
    }

    fn succeed(&mut self, attempt: &Attempt) {
        let length = self.end.used(&self.field.slots);
        if !self.all_placed() || length > self.target * (1.0 + 1e-9) {
            // Something would not go inside at all: no layout, however little overlaps.
            if self.mode == Mode::Squeeze {
                self.step = (self.step * 0.35).max(LEAST_STEP);
            }
            return;
        }
        self.best = Shortest {
            length,
            slots: self.field.snapshot(),
            judged: 0,
        };
        self.failed.clear();
        if self.mode == Mode::Disrupt {
            self.mode = Mode::Squeeze;
            self.step = self.step.max(DISRUPTED);
        } else if attempt.rounds <= EASY && attempt.rescues == 0 {
            self.step = (self.step * 1.6).min(MOST_STEP);
        } else if attempt.rounds > HARD {
            self.step *= 0.6;
        }
    }

    /// A stuck attempt is given back some length where that is likely to free it; otherwise it has failed.
    fn rescue(&mut self, attempt: Attempt, ending: bool) -> Option<Attempt> {
        let saving = self.best.length - self.target;
        let near = attempt.separation.best_total < NEARLY * attempt.first_total || attempt.mode == Mode::Squeeze;
        if near && attempt.rescues < RESCUES && saving > 2.0 * LAST_STEP * self.best.length {
            self.set_target(self.target + GIVEN_BACK * saving);
            self.shift(GIVEN_BACK * saving);
            let growth = match attempt.mode {
                Mode::Squeeze => Growth::FAST,
                Mode::Disrupt => Growth::SLOW,
            };
            let again = self.attempt(attempt.mode, growth);
            return Some(Attempt {
                rescues: attempt.rescues + 1,
                rounds: attempt.rounds,
                first_total: attempt.first_total,
                ..again
            });
        }
        self.fail(&attempt, ending);
        None
    }

    fn fail(&mut self, attempt: &Attempt, ending: bool) {
        match attempt.mode {
            Mode::Squeeze => {
                self.step *= AFTER_FAILURE;
                let least = if ending { LAST_STEP } else { LEAST_STEP };
                if self.step < least {
                    self.step = least;
                    if !ending {
                        self.mode = Mode::Disrupt;
                    }
                }
            }
            // Where an item was lifted, having no room in so short a bin, there is nothing to take up again.
            Mode::Disrupt if !self.all_placed() => {}
            Mode::Disrupt => {
                let total = attempt.separation.best_total;
                let at = self.failed.partition_point(|f| f.0 <= total);
                self.failed.insert(at, (total, self.field.snapshot()));
                self.failed.truncate(REMEMBERED);
            }
        }
    }
}

#[cfg(test)]
mod tests;
