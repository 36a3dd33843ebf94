//! Breaks between groups of pieces in one glass in hand.
//!
//! Straight runs come first: through the gaps along the sides of pieces, then any straight line that parts two groups. Where
//! there is none, a score is led between an upper and a lower group, as seen in one of several directions: drawn taut, where
//! its corners are gentle enough, else bent as little as the corridor between the groups allows ([`crate::gentle`]). Disjoint
//! convex pieces can always be lifted off one by one in any direction, so each direction has such groups; pieces that hook into
//! each other have them in the directions in which they can be pulled apart. Whether a score between them is gentle enough is
//! the rule's question: pieces round a corner too sharp for any score hold each other.

mod groups;
use groups::{Grouping, View, squarest};

use crate::bend::Course;
use crate::corridor::{Gate, taut_path};
use crate::gentle::{gentle_path, is_hopeless};
use crate::profile::{Profile, lifted_order};
use crate::rule::{Refusal, Rule};
use cullet_geometry::Point;
use cullet_geometry::ring::{self, dot, length, turned};
use cullet_geometry::tolerance::TOUCH;
use std::collections::BTreeSet;

/// Directions looked in first, and where that is not enough.
const DIRECTIONS: (usize, usize) = (12, 36);
/// Ways to part the bodies that are looked at in each direction at first.
const WAYS: usize = 12;
/// Bent scores of which the best is taken, and those that are tried for them.
const BENT: (usize, usize) = (3, 30);
/// A straight run is taken without a look at other straight lines when its smaller side has this share of the glass.
const HALVES: f64 = 0.3;
/// Directions of straight runs tried.
const MOST_RUN_DIRECTIONS: usize = 40;
/// Corners of a score from which on a gentler path is asked for, degrees.
const CORNER_DEG: f64 = 10.0;
/// Where even the shortest path turns by so much more than the rule lets it within a bend length, no gentle one is looked for,
/// degrees: a gap of a narrowest strip has no room for it.
const HOPELESS_DEG: f64 = 80.0;
/// Directions in which the same two groups are looked at.
const MOST_VIEWS: usize = 3;
/// Scores led gently between groups before the bodies are said to hold each other.
const MOST_GENTLE: usize = 150;

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
    /// Share of the glass that the smaller side is.
    half: f64,
    worth: f64,
}

/// The best break that leaves bodies on both sides, or nothing.
pub(crate) fn separate(hand: &[Point], bodies: &[Body<'_>], rule: &Rule) -> Option<Parting> {
    let usable = |ring: &[Point]| ring.iter().all(|p| p.x.is_finite() && p.y.is_finite());
    let hulls = bodies
        .iter()
        .map(|b| if usable(b.ring) { ring::hull(b.ring) } else { vec![] });
    let task = Task {
        hand,
        bodies,
        hulls: hulls.collect(),
        middles: bodies.iter().map(|b| middle_of_box(b.ring)).collect(),
        rule,
    };
    let runs = task.straight_runs();
    if runs.as_ref().is_some_and(|best| best.half >= HALVES) {
        return runs;
    }
    let views: Vec<View> = (0..DIRECTIONS.0)
        .map(|k| task.view(180.0 * k as f64 / DIRECTIONS.0 as f64))
        .collect();
    let groupings = views.iter().flat_map(|view| task.groupings(view, WAYS));
    let first = squarest(groupings.collect(), 1);
    let mut seen: BTreeSet<(Vec<usize>, u64)> = first.iter().map(Grouping::key_seen).collect();
    let mut straight = runs;
    for grouping in &first {
        keep_better(&mut straight, task.straight_between(grouping));
    }
    if straight.is_some() {
        return straight;
    }
    let bent = task.bent(&first);
    if bent.is_some() {
        return bent;
    }
    let views: Vec<View> = (0..DIRECTIONS.1)
        .map(|k| task.view(360.0 * (k as f64 + 0.5) / DIRECTIONS.1 as f64))
        .collect();
    let groupings = views.iter().flat_map(|view| task.groupings(view, bodies.len()));
    let others = squarest(groupings.collect(), MOST_VIEWS).into_iter();
    let others = others.filter(|g| seen.insert(g.key_seen())).take(MOST_GENTLE);
    others.into_iter().find_map(|grouping| {
        task.straight_between(&grouping)
            .or_else(|| task.bent(std::slice::from_ref(&grouping)))
    })
}

fn keep_better(best: &mut Option<Parting>, found: Option<Parting>) {
    if let Some(found) = found.filter(|f| best.as_ref().is_none_or(|b| f.worth > b.worth)) {
        *best = Some(found);
    }
}

/// The shortest path between two groups.
struct Likely {
    /// What a score there is worth at most, about.
    worth: f64,
    angle: f64,
    corridor: Vec<Gate>,
    path: Vec<Point>,
}

struct Task<'a> {
    hand: &'a [Point],
    bodies: &'a [Body<'a>],
    /// Of each body, empty where it has a corner that is no number.
    hulls: Vec<Vec<Point>>,
    /// Of each body the middle of the box round it.
    middles: Vec<Point>,
    rule: &'a Rule,
}

impl Task<'_> {
    /// Every stretch of a path that lies inside the glass and has bodies on both sides, the best of them.
    fn best_stretch(&self, path: &[Point]) -> Option<Parting> {
        let mut best = None;
        for stretch in ring::inside_stretches(self.hand, path, TOUCH) {
            keep_better(&mut best, self.parting(stretch).ok());
        }
        best
    }

    fn parting(&self, chain: Vec<Point>) -> Result<Parting, Refusal> {
        let (left, right) = self.rule.part_ring(self.hand, &chain, &(0..0))?;
        let on_left: Vec<bool> = self.bodies.iter().map(|b| ring::contains(&left, b.inside)).collect();
        let count = on_left.iter().filter(|l| **l).count();
        if count == 0 || count == self.bodies.len() {
            return Err(Refusal::PartsNothing);
        }
        for side in [&left, &right] {
            if !self.rule.is_wide(side) {
                return Err(Refusal::Narrow(ring::width(side)));
            }
        }
        if let Some(at) = self.bodies.iter().find_map(|b| ring::cut_at(b.ring, &chain, TOUCH)) {
            return Err(Refusal::LeavesGlass(at));
        }
        let (a, b) = (ring::area(&left), ring::area(&right));
        let half = a.min(b) / (a + b);
        Ok(Parting {
            worth: half - self.trouble(&chain),
            chain,
            left,
            right,
            on_left,
            half,
        })
    }

    /// What speaks against a score: halves run truest, but a short score and one with few changes of direction is easier.
    fn trouble(&self, chain: &[Point]) -> f64 {
        let course = Course::of(chain, &(0..0));
        let long: f64 = course.length.iter().sum();
        let straight = length(chain[chain.len() - 1] - chain[0]);
        let turns: Vec<f64> = course.heading.windows(2).map(|w| w[1] - w[0]).collect();
        let turned: f64 = turns.iter().map(|t| t.abs()).sum();
        let bends: Vec<f64> = turns.into_iter().filter(|t| t.abs() > 0.5).collect();
        let swings = bends.windows(2).filter(|w| w[0] * w[1] < 0.0).count();
        0.3 * (long / straight.max(1.0) - 1.0) + 0.2 * long / self.span() + 0.003 * turned + 0.05 * swings as f64
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

    fn view(&self, angle: f64) -> View {
        let profiles = self.bodies.iter().map(|b| Profile::of(b.ring, angle)).collect();
        View { angle, profiles }
    }

    /// Ways to part the bodies into lower and upper ones as seen along a direction, those near to halves first.
    fn groupings<'v>(&self, view: &'v View, ways: usize) -> Vec<Grouping<'v>> {
        let order = lifted_order(&view.profiles);
        let total: f64 = self.bodies.iter().map(|b| b.area).sum();
        let mut below = 0.0;
        let mut cuts: Vec<(f64, usize)> = Vec::new();
        for (k, body) in order.iter().enumerate().take(order.len() - 1) {
            below += self.bodies[*body].area;
            cuts.push(((below / total - 0.5).abs(), k + 1));
        }
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Half of the ways nearest to halves, the others spread evenly down to a single body.
        let (near, rest) = cuts.split_at(cuts.len().min(ways.div_ceil(2)));
        let stride = rest.len().div_ceil((ways / 2).max(1)).max(1);
        let spread = rest.iter().rev().step_by(stride);
        let cuts: Vec<(f64, usize)> = near.iter().chain(spread).copied().collect();
        let along = turned(Point { x: 1.0, y: 0.0 }, view.angle);
        let grouping = |(_, cut): (f64, usize)| {
            let (lower, upper) = order.split_at(cut);
            let across = self.middle(upper) - self.middle(lower);
            Grouping {
                view,
                lower: lower.to_vec(),
                upper: upper.to_vec(),
                slant: dot(across, along).abs() / length(across).max(TOUCH),
            }
        };
        cuts.into_iter().map(grouping).collect()
    }

    /// The middle of a group, its bodies by their area.
    fn middle(&self, group: &[usize]) -> Point {
        let area: f64 = group.iter().map(|i| self.bodies[*i].area).sum();
        let zero = Point { x: 0.0, y: 0.0 };
        let sum = group
            .iter()
            .fold(zero, |sum, i| sum + self.middles[*i] * self.bodies[*i].area);
        sum / area
    }

    /// The straight line furthest from both groups, where one parts them.
    fn straight_between(&self, grouping: &Grouping<'_>) -> Option<Parting> {
        let hull = |group: &[usize]| {
            let points: Vec<Point> = group.iter().flat_map(|i| &self.hulls[*i]).copied().collect();
            let usable = group.iter().all(|i| !self.hulls[*i].is_empty());
            usable.then(|| ring::hull(&points))
        };
        let (lower, upper) = (hull(&grouping.lower)?, hull(&grouping.upper)?);
        let (a, b) = nearest_places(&lower, &upper)?;
        let across = b - a;
        if length(across) <= TOUCH {
            return None;
        }
        let along = turned(across / length(across), -90.0);
        let (middle, far) = ((a + b) / 2.0, self.span());
        self.best_stretch(&[middle - along * far, middle + along * far])
    }

    /// The best of the bent scores between groups. The shortest path of each tells what it can come to: a gentler one is longer.
    fn bent(&self, groupings: &[Grouping<'_>]) -> Option<Parting> {
        let mut likely: Vec<Likely> = groupings.iter().filter_map(|g| self.likely(g)).collect();
        likely.sort_by(|a, b| b.worth.total_cmp(&a.worth));
        let mut best: Option<(Parting, &Likely)> = None;
        let mut found = 0;
        for likely in likely.iter().take(BENT.1) {
            if found == BENT.0 || best.as_ref().is_some_and(|b| b.0.worth >= likely.worth) {
                break;
            }
            let taut = self.led(&likely.path, likely.angle);
            let Some(score) = taut.or_else(|| self.gentle(likely)) else {
                continue;
            };
            found += 1;
            if best.as_ref().is_none_or(|b| score.worth > b.0.worth) {
                best = Some((score, likely));
            }
        }
        let (score, likely) = best?;
        // A bend spread over a stretch runs truer than a corner.
        let has_corner = Course::of(&score.chain, &(0..0)).sharpest_corner() > CORNER_DEG;
        let gentler = if has_corner { self.gentle(likely) } else { None };
        Some(gentler.unwrap_or(score))
    }

    /// The path between the groups that bends least.
    fn gentle(&self, likely: &Likely) -> Option<Parting> {
        let course = Course::of(&likely.path, &(0..0));
        let hopeless = self.rule.sharpest_turn_deg + HOPELESS_DEG;
        if course.sharp_turn(hopeless, self.rule.bend_length).is_some() {
            return None;
        }
        if is_hopeless(&likely.corridor, &likely.path, self.rule) {
            return None;
        }
        let path = gentle_path(&likely.corridor, self.span(), self.rule)?;
        self.led(&path, likely.angle)
    }

    /// The shortest path between the groups, and what a score there is worth at most.
    fn likely(&self, grouping: &Grouping<'_>) -> Option<Likely> {
        let corridor = grouping.corridor()?;
        let path = taut_path(&corridor, self.span())?;
        let angle = grouping.view.angle;
        let turned: Vec<Point> = path.iter().map(|p| turned(*p, angle)).collect();
        let stretches = ring::inside_stretches(self.hand, &turned, TOUCH);
        let trouble = stretches.iter().map(|s| self.trouble(s)).fold(f64::INFINITY, f64::min);
        let total: f64 = self.bodies.iter().map(|b| b.area).sum();
        let below: f64 = grouping.lower.iter().map(|i| self.bodies[*i].area).sum();
        Some(Likely {
            worth: below.min(total - below) / total - trouble,
            angle,
            corridor,
            path,
        })
    }

    /// The best stretch of a path in the frame of a direction.
    fn led(&self, path: &[Point], angle: f64) -> Option<Parting> {
        let path: Vec<Point> = path.iter().map(|p| self.snapped(turned(*p, angle))).collect();
        self.best_stretch(&path)
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
}

fn middle_of_box(ring: &[Point]) -> Point {
    let far = f64::INFINITY;
    let start = (Point { x: far, y: far }, Point { x: -far, y: -far });
    let (low, high) = ring.iter().fold(start, |(low, high), p| {
        let low = Point {
            x: low.x.min(p.x),
            y: low.y.min(p.y),
        };
        let high = Point {
            x: high.x.max(p.x),
            y: high.y.max(p.y),
        };
        (low, high)
    });
    (low + high) / 2.0
}

/// Where two convex rings come nearest to each other: a place of each; nothing where they overlap.
fn nearest_places(one: &[Point], other: &[Point]) -> Option<(Point, Point)> {
    if ring::contains(one, other[0]) || ring::contains(other, one[0]) {
        return None;
    }
    let mut best: Option<(f64, Point, Point)> = None;
    let mut look = |corners: &[Point], of: &[Point], swapped: bool| {
        for p in corners {
            for (a, b) in ring::sides(of) {
                let (t, far) = ring::nearest(a, b, *p);
                if best.is_none_or(|known| far < known.0) {
                    let q = a + (b - a) * t;
                    best = Some(if swapped { (far, q, *p) } else { (far, *p, q) });
                }
            }
        }
    };
    look(one, other, false);
    look(other, one, true);
    let crosses = ring::sides(one).any(|(a, b)| ring::sides(other).any(|(c, d)| ring::meeting(a, b, c, d).is_some()));
    best.filter(|_| !crosses).map(|(_, a, b)| (a, b))
}
