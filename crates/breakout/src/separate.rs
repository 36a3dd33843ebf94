//! Breaks between groups of pieces in one glass in hand.
//!
//! Straight runs through the gaps come first. Where there is none, a chain is drawn taut between an upper and a lower group, as
//! seen in one of several directions: it runs along the pieces where they bulge, and straight from one to the next. Disjoint
//! convex pieces can always be lifted off one by one in any direction, so each direction has such groups; pieces that hook into
//! each other have them in the directions in which they can be pulled apart. Where the chain would turn too sharply round a
//! corner, that corner is kept off by a round of [`ROUND_MM`].
//!
//! Reading: taut chains in a corridor (Lee & Preparata 1984); sets of convex figures lifted one by one (Guibas & Yao 1983).

use crate::ring::{self, TOUCH, dot, length, turned};
use crate::rule::{Refusal, Rule};
use cullet_geometry::Point;

/// Radius of the round by which a sharp corner is kept off, mm: with corners of 26° its sides are longer than
/// [`crate::ONE_TURN_MM`].
const ROUND_MM: f64 = 1.5;
/// Turn from side to side of that round, degrees.
const ROUND_STEP_DEG: f64 = 25.7;
/// Directions looked in first, and where that is not enough.
const DIRECTIONS: (usize, usize) = (12, 36);
/// Sharp corners kept off before a chain is given up.
const MOST_ROUNDS: usize = 48;
/// Directions of straight runs tried.
const MOST_RUN_DIRECTIONS: usize = 40;

/// A piece (or an offcut) in a glass in hand.
pub(crate) struct Body<'a> {
    pub(crate) ring: &'a [Point],
    /// A point inside.
    pub(crate) inside: Point,
    pub(crate) area: f64,
}

/// A break between groups.
pub(crate) struct Parting {
    pub(crate) chain: Vec<Point>,
    pub(crate) left: Vec<Point>,
    pub(crate) right: Vec<Point>,
    /// Which bodies lie to the left.
    pub(crate) on_left: Vec<bool>,
    worth: f64,
}

/// The best break that leaves bodies on both sides, or nothing.
pub(crate) fn separate(hand: &[Point], bodies: &[Body<'_>], rule: &Rule) -> Option<Parting> {
    let task = Task { hand, bodies, rule };
    if let Some(best) = task.straight_runs() {
        return Some(best);
    }
    let mut best: Option<Parting> = None;
    for k in 0..DIRECTIONS.0 {
        let angle = 180.0 * k as f64 / DIRECTIONS.0 as f64;
        keep_better(&mut best, task.taut(angle, 3));
    }
    if best.is_some() {
        return best;
    }
    for k in 0..DIRECTIONS.1 {
        let angle = 360.0 * (k as f64 + 0.5) / DIRECTIONS.1 as f64;
        if let Some(found) = task.taut(angle, bodies.len()) {
            return Some(found);
        }
    }
    None
}

fn keep_better(best: &mut Option<Parting>, found: Option<Parting>) {
    if let Some(found) = found.filter(|f| best.as_ref().is_none_or(|b| f.worth > b.worth)) {
        *best = Some(found);
    }
}

struct Task<'a> {
    hand: &'a [Point],
    bodies: &'a [Body<'a>],
    rule: &'a Rule,
}

impl Task<'_> {
    /// Every stretch of a path that lies inside the glass and has bodies on both sides, the best of them.
    fn best_stretch(&self, path: &[Point]) -> Option<Parting> {
        let mut best = None;
        for stretch in ring::inside_stretches(self.hand, path) {
            keep_better(&mut best, self.parting(stretch).ok());
        }
        best
    }

    fn parting(&self, chain: Vec<Point>) -> Result<Parting, Refusal> {
        let (left, right) = self.rule.part_ring(self.hand, &chain, &(0..0))?;
        let on_left: Vec<bool> = self.bodies.iter().map(|b| ring::holds(&left, b.inside)).collect();
        let count = on_left.iter().filter(|l| **l).count();
        if count == 0 || count == self.bodies.len() {
            return Err(Refusal::PartsNothing);
        }
        for side in [&left, &right] {
            if !self.rule.is_wide(side) {
                return Err(Refusal::Narrow(ring::width(side)));
            }
        }
        if let Some(at) = self.bodies.iter().find_map(|b| ring::cut_at(b.ring, &chain)) {
            return Err(Refusal::LeavesGlass(at));
        }
        let (a, b) = (ring::area(&left), ring::area(&right));
        // Halves run truest; a shorter score with fewer turns is the better one among equals.
        let long: f64 = chain.windows(2).map(|w| length(w[1] - w[0])).sum();
        let straight = length(chain[chain.len() - 1] - chain[0]);
        let worth = a.min(b) / (a + b) - 0.3 * (long / straight.max(1.0) - 1.0) - 0.001 * chain.len() as f64;
        Ok(Parting {
            chain,
            left,
            right,
            on_left,
            worth,
        })
    }

    /// The best straight run through a gap between the bodies.
    fn straight_runs(&self) -> Option<Parting> {
        let mut best = None;
        for along in self.run_directions() {
            let normal = turned(along, 90.0);
            let mut reach: Vec<(f64, f64, f64)> = self
                .bodies
                .iter()
                .map(|b| {
                    let (low, high) = b.ring.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), p| {
                        let at = dot(normal, *p);
                        (l.min(at), h.max(at))
                    });
                    (low, high, b.area)
                })
                .collect();
            reach.sort_by(|a, b| a.0.total_cmp(&b.0));
            let total: f64 = reach.iter().map(|r| r.2).sum();
            let (mut top, mut below) = (f64::NEG_INFINITY, 0.0);
            let mut gaps: Vec<(f64, f64, f64)> = Vec::new();
            for (low, high, area) in reach {
                if below > 0.0 && low > top - TOUCH / 2.0 {
                    gaps.push(((below / total - 0.5).abs(), top, low));
                }
                top = top.max(high);
                below += area;
            }
            gaps.sort_by(|a, b| a.0.total_cmp(&b.0));
            for (_, from, to) in gaps.into_iter().take(2) {
                let places = if to - from < 2.0 * TOUCH {
                    vec![f64::midpoint(from, to)]
                } else {
                    vec![from, to]
                };
                for place in places {
                    let foot = normal * place;
                    let far = self.span();
                    let middle = dot(along, self.hand[0]);
                    let path = [foot + along * (middle - far), foot + along * (middle + far)];
                    keep_better(&mut best, self.best_stretch(&path));
                }
            }
        }
        best
    }

    /// Longer than the glass in hand.
    fn span(&self) -> f64 {
        let first = self.hand[0];
        2.0 * self.hand.iter().map(|p| length(*p - first)).fold(1.0, f64::max)
    }

    /// Directions of the longest sides, of bodies and glass.
    fn run_directions(&self) -> Vec<Point> {
        let mut found: Vec<(f64, Point)> = Vec::new();
        let rings = self.bodies.iter().map(|b| b.ring).chain([self.hand]);
        for (a, b) in rings.flat_map(ring::sides) {
            let size = length(b - a);
            if size < 3.0 {
                continue;
            }
            let unit = (b - a) / size;
            match found.iter_mut().find(|(_, u)| ring::cross(*u, unit).abs() < 1e-6) {
                Some(known) => known.0 += size,
                None => found.push((size, unit)),
            }
            if found.len() > 400 {
                break;
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        found.truncate(MOST_RUN_DIRECTIONS);
        found.into_iter().map(|f| f.1).collect()
    }

    /// The best taut chain along a direction, among so many ways to part the bodies into upper and lower ones.
    fn taut(&self, angle: f64, ways: usize) -> Option<Parting> {
        let profiles: Vec<Profile> = self.bodies.iter().map(|b| Profile::of(b.ring, angle)).collect();
        let order = lifted_order(&profiles);
        let total: f64 = self.bodies.iter().map(|b| b.area).sum();
        let mut below = 0.0;
        let mut cuts: Vec<(f64, usize)> = Vec::new();
        for (k, body) in order.iter().enumerate().take(order.len() - 1) {
            below += self.bodies[*body].area;
            cuts.push(((below / total - 0.5).abs(), k + 1));
        }
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, cut) in cuts.into_iter().take(ways) {
            let mut lower: Vec<&Profile> = order[..cut].iter().map(|i| &profiles[*i]).collect();
            let mut upper: Vec<&Profile> = order[cut..].iter().map(|i| &profiles[*i]).collect();
            if let Some(path) = self.drawn_taut(&mut lower, &mut upper) {
                let path: Vec<Point> = path.into_iter().map(|p| self.snapped(turned(p, angle))).collect();
                if let Some(found) = self.best_stretch(&path) {
                    return Some(found);
                }
            }
        }
        None
    }

    /// A corner of a body where the path touches one.
    fn snapped(&self, p: Point) -> Point {
        let near = |q: &&Point| (q.x - p.x).abs() < 1e-7 && (q.y - p.y).abs() < 1e-7;
        self.bodies
            .iter()
            .find_map(|b| b.ring.iter().find(near))
            .copied()
            .unwrap_or(p)
    }

    /// The taut path between two groups, in their turned frame, with rounds put where it turns too sharply.
    fn drawn_taut(&self, lower: &mut Vec<&Profile>, upper: &mut Vec<&Profile>) -> Option<Vec<Point>> {
        let mut rounds: (Vec<Profile>, Vec<Profile>) = (vec![], vec![]);
        let reach = self.span();
        for _ in 0..MOST_ROUNDS {
            let low: Vec<&Profile> = lower.iter().copied().chain(&rounds.0).collect();
            let high: Vec<&Profile> = upper.iter().copied().chain(&rounds.1).collect();
            let path = taut_path(&low, &high, reach)?;
            let mut sharp = false;
            for w in path.windows(3) {
                let turn = ring::turn_deg(w[1] - w[0], w[2] - w[1]);
                if turn.abs() > self.rule.sharpest_turn_deg {
                    sharp = true;
                    // A right turn goes round something below.
                    let side = if turn < 0.0 { &mut rounds.0 } else { &mut rounds.1 };
                    if side.iter().any(|r| length(r.middle - w[1]) < 1e-6) {
                        return None;
                    }
                    side.push(Profile::round(w[1]));
                }
            }
            if !sharp {
                return Some(path);
            }
        }
        None
    }
}

/// A body seen along a direction: the highest and the lowest of it at every place.
struct Profile {
    /// Places of its corners, rising, with the lowest and the highest there.
    at: Vec<(f64, f64, f64)>,
    middle: Point,
}

impl Profile {
    fn of(ring: &[Point], angle: f64) -> Self {
        let ring: Vec<Point> = ring.iter().map(|p| turned(*p, -angle)).collect();
        let mut places: Vec<f64> = ring.iter().map(|p| p.x).collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let mut at: Vec<(f64, f64, f64)> = places.iter().map(|x| (*x, f64::INFINITY, f64::NEG_INFINITY)).collect();
        for (a, b) in ring::sides(&ring) {
            let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
            let first = at.partition_point(|p| p.0 < a.x - 2e-9);
            for place in at.iter_mut().skip(first).take_while(|p| p.0 <= b.x + 2e-9) {
                let ys = if (place.0 - a.x).abs() < 2e-9 && (place.0 - b.x).abs() < 2e-9 {
                    [a.y, b.y]
                } else {
                    let share = ((place.0 - a.x) / (b.x - a.x)).clamp(0.0, 1.0);
                    let y = if share == 0.0 {
                        a.y
                    } else if share == 1.0 {
                        b.y
                    } else {
                        a.y + (b.y - a.y) * share
                    };
                    [y, y]
                };
                for y in ys {
                    place.1 = place.1.min(y);
                    place.2 = place.2.max(y);
                }
            }
        }
        let sum = ring.iter().fold(Point { x: 0.0, y: 0.0 }, |s, p| s + *p);
        Self {
            at,
            middle: sum / ring.len() as f64,
        }
    }

    /// A round about a corner.
    fn round(middle: Point) -> Self {
        let count = (360.0 / ROUND_STEP_DEG).floor() as usize;
        let ring: Vec<Point> = (0..count)
            .map(|i| middle + turned(Point { x: ROUND_MM, y: 0.0 }, 360.0 * (i as f64 + 0.5) / count as f64))
            .collect();
        Self {
            middle,
            ..Self::of(&ring, 0.0)
        }
    }

    fn from(&self) -> f64 {
        self.at[0].0
    }

    fn to(&self) -> f64 {
        self.at[self.at.len() - 1].0
    }

    /// Lowest and highest at a place, at the nearer end beyond its ends.
    fn at(&self, x: f64) -> (f64, f64) {
        let k = self.at.partition_point(|p| p.0 < x);
        if k == 0 {
            return (self.at[0].1, self.at[0].2);
        }
        if k == self.at.len() {
            let p = self.at[k - 1];
            return (p.1, p.2);
        }
        let (a, b) = (self.at[k - 1], self.at[k]);
        let share = (x - a.0) / (b.0 - a.0);
        if share >= 1.0 {
            return (b.1, b.2);
        }
        (a.1 + (b.1 - a.1) * share, a.2 + (b.2 - a.2) * share)
    }

    /// Whether this lies above, below or both at different places; nothing where they are not over each other.
    fn above(&self, other: &Self) -> (bool, bool) {
        let room = 2.0 * ROUND_MM;
        let (from, to) = (self.from().max(other.from()), self.to().min(other.to()));
        if from > to + room {
            return (false, false);
        }
        let (mut above, mut below) = (false, false);
        let mut look = |x: f64| {
            let (a, b) = (self.at(x), other.at(x));
            if a.0 + a.1 > b.0 + b.1 {
                above = true;
            } else {
                below = true;
            }
        };
        if from >= to {
            look(f64::midpoint(from, to));
            return (above, below);
        }
        look(from);
        look(to);
        for p in self.at.iter().chain(&other.at).filter(|p| p.0 > from && p.0 < to) {
            look(p.0);
        }
        (above, below)
    }
}

/// The bodies from the lowest up: none lies below one before it, where that is possible.
fn lifted_order(profiles: &[Profile]) -> Vec<usize> {
    let n = profiles.len();
    let mut over: Vec<Vec<usize>> = vec![vec![]; n];
    let mut under = vec![0usize; n];
    for i in 0..n {
        for j in i + 1..n {
            let (above, below) = profiles[i].above(&profiles[j]);
            if below {
                over[i].push(j);
                under[j] += 1;
            }
            if above {
                over[j].push(i);
                under[i] += 1;
            }
        }
    }
    let mut left: Vec<usize> = (0..n).collect();
    left.sort_by(|a, b| profiles[*a].middle.y.total_cmp(&profiles[*b].middle.y));
    let mut order = Vec::with_capacity(n);
    while !left.is_empty() {
        // Where they hook into each other the lowest goes; the chain finds out whether that holds.
        let k = left.iter().position(|i| under[*i] == 0).unwrap_or(0);
        let i = left.remove(k);
        for j in &over[i] {
            under[*j] = under[*j].saturating_sub(1);
        }
        order.push(i);
    }
    order
}

/// The shortest path from far left to far right that keeps above the lower ones and below the upper ones.
fn taut_path(lower: &[&Profile], upper: &[&Profile], reach: f64) -> Option<Vec<Point>> {
    let gates = gates(lower, upper)?;
    let (first, last) = (gates.first()?, gates.last()?);
    let clamp = |g: &Gate| {
        if g.floor.is_finite() { g.floor } else { g.ceiling }
    };
    let start = Point {
        x: first.x - reach,
        y: clamp(first),
    };
    let mut path = vec![start];
    let mut apex = start;
    let mut k = 0;
    loop {
        // Steepest floor and flattest ceiling seen from the apex.
        let (mut low, mut high) = ((f64::NEG_INFINITY, k), (f64::INFINITY, k));
        let mut turn_at = None;
        for (i, gate) in gates.iter().enumerate().skip(k) {
            let run = gate.x - apex.x;
            if run <= 1e-9 {
                continue;
            }
            let (floor, ceiling) = ((gate.floor - apex.y) / run, (gate.ceiling - apex.y) / run);
            if floor > high.0 {
                turn_at = Some((high.1, false));
                break;
            }
            if ceiling < low.0 {
                turn_at = Some((low.1, true));
                break;
            }
            if floor >= low.0 {
                low = (floor, i);
            }
            if ceiling <= high.0 {
                high = (ceiling, i);
            }
        }
        let Some((at, is_floor)) = turn_at else {
            // Level to the far end where that is free; else along what is in the way.
            let end_x = last.x + reach;
            if low.0 > 0.0 || high.0 < 0.0 {
                let (slope, at, y) = if low.0 > 0.0 {
                    (low.0, low.1, gates[low.1].floor)
                } else {
                    (high.0, high.1, gates[high.1].ceiling)
                };
                let via = Point { x: gates[at].x, y };
                if at + 1 < gates.len() {
                    path.push(via);
                    apex = via;
                    k = at + 1;
                    continue;
                }
                path.push(via);
                path.push(Point {
                    x: end_x,
                    y: y + slope * (end_x - via.x),
                });
            } else {
                path.push(Point { x: end_x, y: apex.y });
            }
            break;
        };
        let via = Point {
            x: gates[at].x,
            y: if is_floor { gates[at].floor } else { gates[at].ceiling },
        };
        path.push(via);
        apex = via;
        k = at + 1;
        if path.len() > 4 * gates.len() + 8 {
            return None;
        }
    }
    Some(without_collinear(path))
}

fn without_collinear(path: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for p in path {
        while kept.len() > 1
            && ring::turn_deg(kept[kept.len() - 1] - kept[kept.len() - 2], p - kept[kept.len() - 1]).abs() < 1e-6
        {
            kept.pop();
        }
        kept.push(p);
    }
    kept
}

struct Gate {
    x: f64,
    floor: f64,
    ceiling: f64,
}

/// Between which heights the path may pass at every corner's place; nothing where it cannot.
fn gates(lower: &[&Profile], upper: &[&Profile]) -> Option<Vec<Gate>> {
    let mut places: Vec<f64> = lower
        .iter()
        .chain(upper)
        .flat_map(|p| p.at.iter().map(|a| a.0))
        .collect();
    places.sort_by(f64::total_cmp);
    places.dedup();
    let mut gates: Vec<Gate> = places
        .iter()
        .map(|x| Gate {
            x: *x,
            floor: f64::NEG_INFINITY,
            ceiling: f64::INFINITY,
        })
        .collect();
    for (profiles, is_lower) in [(lower, true), (upper, false)] {
        for profile in profiles {
            let first = gates.partition_point(|g| g.x < profile.from());
            let mut k = 0;
            for gate in gates.iter_mut().skip(first) {
                if gate.x > profile.to() {
                    break;
                }
                while k + 1 < profile.at.len() && profile.at[k + 1].0 <= gate.x {
                    k += 1;
                }
                let a = profile.at[k];
                let (low, high) = match profile.at.get(k + 1) {
                    Some(b) if gate.x > a.0 => {
                        let share = (gate.x - a.0) / (b.0 - a.0);
                        (a.1 + (b.1 - a.1) * share, a.2 + (b.2 - a.2) * share)
                    }
                    _ => (a.1, a.2),
                };
                if is_lower {
                    gate.floor = gate.floor.max(high);
                } else {
                    gate.ceiling = gate.ceiling.min(low);
                }
            }
        }
    }
    for gate in &mut gates {
        if gate.floor > gate.ceiling {
            if gate.floor > gate.ceiling + TOUCH {
                return None;
            }
            let middle = f64::midpoint(gate.floor, gate.ceiling);
            (gate.floor, gate.ceiling) = (middle, middle);
        }
    }
    Some(gates)
}
