//! The order of the paths: least time, the direction of every path free.
//!
//! Each path costs the same either way, so only the ways between them count: lift, travel and turn together, lower. Nearest first,
//! then stretches of the order turned round (two-opt, the ends included) and short ones put elsewhere, while that gains; then small
//! disturbances, each kept if what comes of it is no worse. Random numbers are fixed: the same paths give the same order.

mod near;
use near::near;

use crate::motion::{Motion, opposite};
use crate::path::{Curving, ScorePath};
use crate::stretch::norm;
use cullet_geometry::Point;

/// In which order the paths are driven.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Order {
    /// Each path by its index, and whether it is driven the other way.
    pub sequence: Vec<(usize, bool)>,
}

/// The most paths that are put elsewhere together.
const LONGEST: usize = 3;
/// Disturbances for each path, in all, and in all for each path where there are many.
const SHAKES: (usize, usize, usize) = (200, 800, 600_000);
/// What counts as a gain, s.
const GAIN: f64 = 1e-9;

/// The order that takes least time, as far as it is found. With `hardest_first` inside curves come first, then outside curves, then
/// straight scores, as they are broken. Cost O(n² + s) for n paths and s disturbances.
#[must_use]
pub fn order(paths: &[ScorePath], motion: &Motion, hardest_first: bool) -> Order {
    let groups: Vec<Vec<usize>> = if hardest_first {
        [Curving::Inside, Curving::Outside, Curving::Straight]
            .into_iter()
            .map(|curving| (0..paths.len()).filter(|k| paths[*k].curving == curving).collect())
            .collect()
    } else {
        vec![(0..paths.len()).collect()]
    };
    let groups: Vec<Vec<usize>> = groups.into_iter().filter(|group| !group.is_empty()).collect();
    let mut from = (motion.home, None);
    let mut sequence = vec![];
    for (k, group) in groups.iter().enumerate() {
        let ends: Vec<[(Point, f64); 2]> = group
            .iter()
            .map(|k| {
                [
                    (paths[*k].start(), paths[*k].start_angle()),
                    (paths[*k].end(), paths[*k].end_angle()),
                ]
            })
            .collect();
        let to = (k + 1 == groups.len() && motion.goes_home).then_some(motion.home);
        let mut tour = Tour::nearest_first(&ends, motion, from, to);
        tour.improve_all();
        tour.shake();
        if let Some((last, reversed)) = tour.sequence.last() {
            let end = if *reversed {
                opposite(ends[*last][0])
            } else {
                ends[*last][1]
            };
            from = (end.0, Some(end.1));
        }
        sequence.extend(tour.sequence.iter().map(|(k, reversed)| (group[*k], *reversed)));
    }
    Order { sequence }
}

struct Tour<'a> {
    /// Where each path starts and ends, driven forwards.
    ends: &'a [[(Point, f64); 2]],
    motion: &'a Motion,
    from: (Point, Option<f64>),
    to: Option<Point>,
    sequence: Vec<(usize, bool)>,
    place: Vec<usize>,
    /// For each end (twice the path, one more for its end) the paths whose ends are reached soonest, and in which time.
    near: Vec<Vec<(usize, f64)>>,
    /// Stretches turned round since the last disturbance, to go back.
    turned: Vec<(usize, usize)>,
    waiting: Vec<usize>,
    is_waiting: Vec<bool>,
}

impl<'a> Tour<'a> {
    fn nearest_first(
        ends: &'a [[(Point, f64); 2]],
        motion: &'a Motion,
        from: (Point, Option<f64>),
        to: Option<Point>,
    ) -> Self {
        let n = ends.len();
        let mut tour = Self {
            ends,
            motion,
            from,
            to,
            sequence: Vec::with_capacity(n),
            place: vec![0; n],
            near: near(ends, motion),
            turned: vec![],
            waiting: vec![],
            is_waiting: vec![false; n],
        };
        let mut left: Vec<usize> = (0..n).collect();
        let mut at = from;
        while !left.is_empty() {
            let mut best = (f64::INFINITY, 0, false);
            for (slot, k) in left.iter().enumerate() {
                for reversed in [false, true] {
                    let start = tour.start((*k, reversed));
                    let off = norm(start.0 - at.0);
                    if off < best.0 {
                        best = (off, slot, reversed);
                    }
                }
            }
            let k = left.swap_remove(best.1);
            tour.place[k] = tour.sequence.len();
            tour.sequence.push((k, best.2));
            let end = tour.end((k, best.2));
            at = (end.0, Some(end.1));
        }
        tour
    }

    fn start(&self, (k, reversed): (usize, bool)) -> (Point, f64) {
        if reversed {
            opposite(self.ends[k][1])
        } else {
            self.ends[k][0]
        }
    }

    fn end(&self, (k, reversed): (usize, bool)) -> (Point, f64) {
        if reversed {
            opposite(self.ends[k][0])
        } else {
            self.ends[k][1]
        }
    }

    /// Time from what stands before place `i` to what is given, before the first it is the way from the start.
    fn way_in(&self, i: usize, next: (usize, bool)) -> f64 {
        match i.checked_sub(1) {
            Some(before) => self.link(self.sequence[before], next),
            None => {
                let start = self.start(next);
                self.motion.way((self.from.0, self.from.1.unwrap_or(start.1)), start)
            }
        }
    }

    /// Time from what is given to what stands at place `j`, behind the last it is the way home.
    fn way_out(&self, last: (usize, bool), j: usize) -> f64 {
        match (self.sequence.get(j), self.to) {
            (Some(next), _) => self.link(last, *next),
            (None, Some(home)) => {
                let end = self.end(last);
                self.motion.way(end, (home, end.1))
            }
            (None, None) => 0.0,
        }
    }

    fn link(&self, a: (usize, bool), b: (usize, bool)) -> f64 {
        self.motion.way(self.end(a), self.start(b))
    }

    /// Turns the order from place `i` to `j` round.
    fn turn(&mut self, i: usize, j: usize) {
        self.sequence[i..=j].reverse();
        for k in i..=j {
            self.sequence[k].1 = !self.sequence[k].1;
            self.place[self.sequence[k].0] = k;
        }
        self.turned.push((i, j));
    }

    /// What turning round from `i` to `j` costs more, s.
    fn gain_of_turn(&self, i: usize, j: usize) -> f64 {
        let flip = |(k, reversed): (usize, bool)| (k, !reversed);
        let (first, last) = (self.sequence[i], self.sequence[j]);
        self.way_in(i, flip(last)) + self.way_out(flip(first), j + 1)
            - self.way_in(i, first)
            - self.way_out(last, j + 1)
    }

    fn wake(&mut self, place: usize) {
        if let Some((k, _)) = self.sequence.get(place)
            && !self.is_waiting[*k]
        {
            self.is_waiting[*k] = true;
            self.waiting.push(*k);
        }
    }

    fn wake_round(&mut self, place: usize) {
        for near in place.saturating_sub(1)..=place + 1 {
            self.wake(near);
        }
    }

    fn improve_all(&mut self) {
        for place in (0..self.sequence.len()).rev() {
            self.wake(place);
        }
        self.improve();
    }

    /// Improves round the paths that wait until none gains; what it came to, s (below 0 is less).
    fn improve(&mut self) -> f64 {
        let mut sum = 0.0;
        while let Some(k) = self.waiting.pop() {
            self.is_waiting[k] = false;
            while let Some(gain) = self.better(k) {
                sum += gain;
            }
        }
        sum
    }

    /// Makes one change that gains at path `k`.
    fn better(&mut self, k: usize) -> Option<f64> {
        let n = self.sequence.len();
        let here = self.place[k];
        // The whole order's ends: everything before or behind turned round, and the path itself.
        for (i, j) in [(here, here), (here, n - 1), (0, here)] {
            if let Some(gain) = self.try_turn(i, j) {
                return Some(gain);
            }
        }
        for side in 0..2 {
            // What the link that this end has now takes: a new one that takes longer cannot gain.
            let now = if (side == 1) == self.sequence[here].1 {
                self.way_in(here, self.sequence[here])
            } else {
                self.way_out(self.sequence[here], here + 1)
            };
            for slot in 0..self.near[2 * k + side].len() {
                let (other, way) = self.near[2 * k + side][slot];
                if way >= now {
                    break;
                }
                let (i, j) = (
                    self.place[k].min(self.place[other]),
                    self.place[k].max(self.place[other]),
                );
                // One of the two comes to stand beside the other.
                for (i, j) in [(i + 1, j), (i, j - 1)] {
                    if i <= j
                        && let Some(gain) = self.try_turn(i, j)
                    {
                        return Some(gain);
                    }
                }
                if let Some(gain) = self.try_move(k, other) {
                    return Some(gain);
                }
            }
        }
        None
    }

    fn try_turn(&mut self, i: usize, j: usize) -> Option<f64> {
        let gain = self.gain_of_turn(i, j);
        if gain >= -GAIN {
            return None;
        }
        self.turn(i, j);
        self.wake_round(i);
        self.wake_round(j);
        Some(gain)
    }

    /// Puts `k` and up to two of its neighbours before or behind `other`, either way round, where that gains.
    fn try_move(&mut self, k: usize, other: usize) -> Option<f64> {
        let n = self.sequence.len();
        let (here, there) = (self.place[k], self.place[other]);
        for count in 1..=LONGEST {
            for first in [here, (here + 1).saturating_sub(count)] {
                let last = first + count - 1;
                if last >= n || last < here || (first..=last).contains(&there) {
                    continue;
                }
                // Where taking it out gains nothing, putting it elsewhere cannot.
                let (head, tail) = (self.sequence[first], self.sequence[last]);
                let bridge = match self.sequence.get(last + 1) {
                    Some(next) => self.way_in(first, *next),
                    None => first
                        .checked_sub(1)
                        .map_or(0.0, |before| self.way_out(self.sequence[before], n)),
                };
                if self.way_in(first, head) + self.way_out(tail, last + 1) - bridge <= GAIN {
                    continue;
                }
                for behind in [false, true] {
                    // What stands between the two is passed over: it and the moved stretch change places.
                    let (low, middle, high) = if there > last {
                        (first, last + 1, if behind { there } else { there - 1 })
                    } else {
                        (if behind { there + 1 } else { there }, first, last)
                    };
                    if low >= middle || middle > high {
                        continue;
                    }
                    for flipped in [false, true] {
                        let gain = self.gain_of_exchange(low, middle, high, there > last, flipped);
                        if gain < -GAIN {
                            self.exchange(low, middle, high, there > last, flipped);
                            for place in [low, middle, high] {
                                self.wake_round(place);
                            }
                            self.wake_round(low + high - middle);
                            return Some(gain);
                        }
                    }
                }
            }
        }
        None
    }

    /// What it costs more to put the stretches `low..middle` and `middle..=high` the other way about, the moved one (the first or
    /// the second) turned round where `flipped`.
    fn gain_of_exchange(&self, low: usize, middle: usize, high: usize, first_moves: bool, flipped: bool) -> f64 {
        let at = |k: usize| self.sequence[k];
        let flip = |(k, reversed): (usize, bool), does: bool| (k, reversed != does);
        let ends = |a: usize, b: usize, does: bool| {
            if does {
                (flip(at(b), true), flip(at(a), true))
            } else {
                (at(a), at(b))
            }
        };
        let second = ends(middle, high, flipped && !first_moves);
        let first = ends(low, middle - 1, flipped && first_moves);
        let before =
            self.way_in(low, at(low)) + self.link(at(middle - 1), at(middle)) + self.way_out(at(high), high + 1);
        self.way_in(low, second.0) + self.link(second.1, first.0) + self.way_out(first.1, high + 1) - before
    }

    fn exchange(&mut self, low: usize, middle: usize, high: usize, first_moves: bool, flipped: bool) {
        self.turn(low, high);
        // Both stretches lie turned round now; what is not to be flipped is turned back.
        let split = low + high - middle;
        if !flipped || first_moves {
            self.turn(low, split);
        }
        if !flipped || !first_moves {
            self.turn(split + 1, high);
        }
    }

    /// Exchanges two short neighbouring stretches at random, improves round them, and goes back where that came to more.
    fn shake(&mut self) {
        let n = self.sequence.len();
        if n < 3 {
            return;
        }
        let mut random = 0x9e37_79b9_7f4a_7c15_u64;
        let mut next = |below: usize| {
            // Steele, Lea & Flood 2014: splitmix.
            random = random.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = random;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            ((z ^ (z >> 31)) % below as u64) as usize
        };
        for _ in 0..(SHAKES.0 * n).min(SHAKES.1).min(SHAKES.2 / n) {
            let low = next(n - 1);
            let longest = (n - low).min(30);
            let first = 1 + next(longest - 1);
            let second = 1 + next(longest - first);
            let (middle, high) = (low + first, low + first + second - 1);
            let flipped = next(3) == 0;
            self.turned.clear();
            let mut gain = self.gain_of_exchange(low, middle, high, true, flipped);
            self.exchange(low, middle, high, true, flipped);
            for place in [low, low + high - middle, high] {
                self.wake_round(place);
            }
            gain += self.improve();
            if gain > 0.0 {
                for (i, j) in std::mem::take(&mut self.turned).into_iter().rev() {
                    self.turn(i, j);
                }
            }
        }
    }
}
