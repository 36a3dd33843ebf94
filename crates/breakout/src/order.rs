//! The breaking order of a shaped layout.
//!
//! What goes back to the rack comes off first, then the trim. Then the glass in hand is halved between the pieces, by straight runs where there
//! are gaps for them, else by chains that run along the pieces; where none is found the waste round them comes off by straight runs
//! first, so that the chains have less glass to run through. The smaller side is worked down before the larger, which stays
//! on the bench. A part with one piece left is opened stretch by stretch. See [`crate::separate`] and [`crate::free()`].

use crate::breaking::{Breaking, Outcome, Step};
use crate::free::{self, Relief};
use crate::rule::Rule;
use crate::separate::{Body, separate};
use cullet_geometry::ring;
use cullet_geometry::tolerance::TOUCH;
use cullet_geometry::{Outline, Point};

/// Straight runs that take waste off glass that cannot be halved, at most, and the sides of the pieces' hull along which they are tried.
const MOST_WASTE_OFF: usize = 6;
const SIDES_TRIED: usize = 24;
/// Share of the glass in hand that such a run takes off at least.
const LEAST_WASTE: f64 = 0.02;

/// Pieces for which no breaking order was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Unfreed {
    /// The pieces that hold each other, in all groups of them, or the one that cannot be freed: indices.
    pub pieces: Vec<usize>,
    /// Where the first of them is held.
    pub at: Point,
}

/// How `hand` comes apart into `pieces`, `offcuts` and cullet.
///
/// `trim` is the strip along the edges of a convex sheet that is taken off before anything is parted there, mm, since a
/// rolled edge is not of one thickness (common practice); 0 for none. It is broken
/// off a little wider where that reaches the nearest piece, and not at all where it is narrower than the narrowest strip,
/// the sheet has an inside corner, or nothing comes apart so.
///
/// All outlines are in the frame of `hand`; pieces and offcuts may sink into each other by 0.004 mm at most. The same input gives
/// the same order. A hundred pieces take about 50 ms: cost about O(d·n² + d·m log m) for a part with n pieces and m corners
/// and d directions, halved at every level.
///
/// # Errors
/// The pieces that hold each other. Pieces with inside corners beyond the rule cannot be freed by any order; try [`crate::free()`]
/// on each first.
///
/// ```
/// use cullet_breakout::{Outcome, Rule, order};
/// use cullet_geometry::Outline;
/// let sheet = Outline::rectangle(300.0, 200.0);
/// let piece = Outline::rectangle(100.0, 180.0).translated(10.0, 10.0);
/// let other = Outline::rectangle(170.0, 180.0).translated(120.0, 10.0);
/// let breaking = order(&sheet, 0.0, &[piece, other], &[], &Rule::usual(6.0)).expect("rectangles side by side");
/// // The run between them, then three sides each.
/// assert_eq!(breaking.steps.len(), 1 + 3 + 4);
/// ```
pub fn order(
    hand: &Outline,
    trim: f64,
    pieces: &[Outline],
    offcuts: &[Outline],
    rule: &Rule,
) -> Result<Breaking, Unfreed> {
    let outcomes = (0..pieces.len())
        .map(Outcome::Piece)
        .chain((0..offcuts.len()).map(Outcome::Offcut));
    let targets: Vec<Target<'_>> = pieces
        .iter()
        .chain(offcuts)
        .zip(outcomes)
        .map(|(outline, outcome)| Target::of(outline, outcome))
        .collect();
    let whole = hand.points().to_vec();
    let trimmed = (trim >= rule.narrowest_strip && ring::hull(&whole).len() == whole.len())
        .then(|| worked(&whole, trim, &targets, offcuts.len(), rule));
    match trimmed {
        Some(Ok(breaking)) => Ok(breaking),
        _ => worked(&whole, 0.0, &targets, offcuts.len(), rule),
    }
}

/// The order with the trim off first, where there is one; the last of the targets are what goes back.
fn worked(
    whole: &[Point],
    trim: f64,
    targets: &[Target<'_>],
    offcuts: usize,
    rule: &Rule,
) -> Result<Breaking, Unfreed> {
    let mut bench = Bench {
        rule,
        targets,
        breaking: Breaking { steps: vec![] },
        next: 1,
    };
    let (hand, number) = bench.offcuts_off(whole.to_vec(), offcuts);
    let freed: Vec<Outcome> = bench.breaking.steps.iter().flat_map(|s| [s.left, s.right]).collect();
    let left: Vec<usize> = (0..targets.len())
        .filter(|t| !freed.contains(&targets[*t].outcome))
        .collect();
    let (hand, number) = bench.trim_off(whole, trim, hand, &left, number);
    bench.work(hand, left, number)?;
    Ok(bench.breaking)
}

struct Target<'a> {
    ring: &'a [Point],
    inside: Point,
    area: f64,
    outcome: Outcome,
}

impl<'a> Target<'a> {
    fn of(outline: &'a Outline, outcome: Outcome) -> Self {
        let ring = outline.points();
        let inside = outline.inner_point();
        Self {
            ring,
            inside,
            area: outline.area(),
            outcome,
        }
    }
}

/// Glass that waits to be taken in hand.
struct Waiting {
    hand: Vec<Point>,
    targets: Vec<usize>,
    number: usize,
    /// Known where one target is left.
    reliefs: Vec<Relief>,
    /// Runs that took waste off it, one after another.
    waste_off: usize,
}

struct Bench<'a> {
    rule: &'a Rule,
    targets: &'a [Target<'a>],
    breaking: Breaking,
    next: usize,
}

impl Bench<'_> {
    fn number(&mut self) -> usize {
        self.next += 1;
        self.next - 1
    }

    /// Takes off what goes back by one break each; gives the glass then in hand and its number.
    fn offcuts_off(&mut self, mut hand: Vec<Point>, count: usize) -> (Vec<Point>, usize) {
        let mut number = 0;
        let first = self.targets.len() - count;
        let mut left: Vec<usize> = (first..self.targets.len()).collect();
        // One may be in the way of another.
        while let Some((k, (chain, rest))) = left.iter().enumerate().find_map(|(k, t)| {
            let whole = self.targets.len() == 1;
            let found = free::one_break(&hand, self.targets[*t].ring, self.rule).filter(|_| !whole)?;
            Some((k, found))
        }) {
            let offcut = left.remove(k);
            let rest_number = self.number();
            self.breaking.steps.push(Step {
                part: number,
                chain,
                left: self.targets[offcut].outcome,
                right: Outcome::Part(rest_number),
            });
            (hand, number) = (rest, rest_number);
        }
        (hand, number)
    }

    /// Takes the trim off by one straight run along each side of the sheet that is still there, the longest first.
    fn trim_off(
        &mut self,
        whole: &[Point],
        trim: f64,
        mut hand: Vec<Point>,
        left: &[usize],
        mut number: usize,
    ) -> (Vec<Point>, usize) {
        let mut edges: Vec<(Point, Point)> = ring::sides(whole).filter(|_| trim > 0.0).collect();
        edges.sort_by(|x, y| ring::length(y.1 - y.0).total_cmp(&ring::length(x.1 - x.0)));
        for (a, b) in edges {
            let along = (b - a) / ring::length(b - a);
            let corners = left.iter().flat_map(|t| self.targets[*t].ring);
            let nearest = corners
                .map(|p| ring::cross(along, *p - a))
                .fold(f64::INFINITY, f64::min);
            let depth = if nearest < trim + self.rule.narrowest_strip {
                nearest
            } else {
                trim
            };
            if depth < self.rule.narrowest_strip {
                continue;
            }
            let inwards = Point {
                x: -along.y,
                y: along.x,
            };
            let far = along * (ring::length(b - a) + 1.0);
            let path = [a + inwards * depth - far, b + inwards * depth + far];
            let Some(chain) = ring::inside_stretches(&hand, &path, TOUCH).pop() else {
                continue;
            };
            let Ok((rest, strip)) = self.rule.part_ring(&hand, &chain, &(0..0)) else {
                continue;
            };
            if !self.rule.is_wide(&strip) {
                continue;
            }
            let rest_number = self.number();
            self.breaking.steps.push(Step {
                part: number,
                chain,
                left: Outcome::Part(rest_number),
                right: Outcome::Cullet,
            });
            (hand, number) = (rest, rest_number);
        }
        (hand, number)
    }

    /// Part `number` is what is left: it becomes `outcome` wherever it is named.
    fn becomes(&mut self, number: usize, outcome: Outcome) {
        for step in &mut self.breaking.steps {
            for side in [&mut step.left, &mut step.right] {
                if *side == Outcome::Part(number) {
                    *side = outcome;
                }
            }
        }
    }

    fn bodies(&self, targets: &[usize]) -> Vec<Body<'_>> {
        let body = |t: &usize| Body {
            ring: self.targets[*t].ring,
            inside: self.targets[*t].inside,
            area: self.targets[*t].area,
        };
        targets.iter().map(body).collect()
    }

    fn work(&mut self, hand: Vec<Point>, targets: Vec<usize>, number: usize) -> Result<(), Unfreed> {
        let reliefs = self.reliefs(&hand, &targets)?;
        if let ([only], true) = (targets.as_slice(), reliefs.is_empty()) {
            // What the offcuts left over is the piece itself.
            self.becomes(number, self.targets[*only].outcome);
            return Ok(());
        }
        let mut waiting = vec![Waiting {
            hand,
            targets,
            number,
            reliefs,
            waste_off: 0,
        }];
        let (mut stuck, mut stuck_alone) = (vec![], None);
        while let Some(next) = waiting.pop() {
            if next.targets.len() <= 1 {
                self.relieve(next);
                continue;
            }
            let bodies = self.bodies(&next.targets);
            // What holds itself together is told at the end, all of it.
            let Some(parting) = separate(&next.hand, &bodies, self.rule) else {
                match self.waste_off(&next) {
                    Some((chain, hand)) => waiting.push(self.without_waste(next, chain, hand)),
                    None => stuck.extend(next.targets),
                }
                continue;
            };
            let on = |left: bool| -> Vec<usize> {
                let chosen = next.targets.iter().zip(&parting.on_left).filter(|(_, l)| **l == left);
                chosen.map(|(t, _)| *t).collect()
            };
            let larger_left = ring::area(&parting.left) >= ring::area(&parting.right);
            let sides = self
                .side(parting.left, on(true))
                .and_then(|left| Ok((left, self.side(parting.right, on(false))?)));
            let ((left, left_waits), (right, right_waits)) = match sides {
                Ok(sides) => sides,
                Err(held) => {
                    stuck_alone.get_or_insert(held);
                    continue;
                }
            };
            self.breaking.steps.push(Step {
                part: next.number,
                chain: parting.chain,
                left,
                right,
            });
            // The last in is worked first: the smaller side.
            let sides = if larger_left {
                [left_waits, right_waits]
            } else {
                [right_waits, left_waits]
            };
            waiting.extend(sides.into_iter().flatten());
        }
        if let Some(alone) = stuck_alone {
            return Err(alone);
        }
        if stuck.is_empty() {
            Ok(())
        } else {
            stuck.sort_unstable();
            Err(self.unfreed(&stuck, None))
        }
    }

    /// The straight run along the pieces' hull, a narrowest strip off, that takes most waste off; with what is left.
    fn waste_off(&self, part: &Waiting) -> Option<(Vec<Point>, Vec<Point>)> {
        let targets = part.targets.iter().map(|t| &self.targets[*t]);
        let corners: Vec<Point> = targets.clone().flat_map(|t| t.ring.to_vec()).collect();
        let is_usable = |p: &Point| p.x.is_finite() && p.y.is_finite();
        if part.waste_off == MOST_WASTE_OFF || !corners.iter().all(is_usable) {
            return None;
        }
        let hull = ring::hull(&corners);
        let mut sides: Vec<(Point, Point)> = ring::sides(&hull).collect();
        sides.sort_by(|x, y| ring::length(y.1 - y.0).total_cmp(&ring::length(x.1 - x.0)));
        let far = part.hand.iter().map(|p| ring::length(*p - hull[0])).fold(0.0, f64::max);
        let least = LEAST_WASTE * ring::area(&part.hand);
        let run = |(a, b): (Point, Point)| {
            let along = (b - a) / ring::length(b - a);
            let outwards = Point {
                x: along.y,
                y: -along.x,
            } * self.rule.narrowest_strip;
            let path = [a + outwards - along * far, b + outwards + along * far];
            let [chain] = <[Vec<Point>; 1]>::try_from(ring::inside_stretches(&part.hand, &path, TOUCH)).ok()?;
            let (rest, waste) = self.rule.part_ring(&part.hand, &chain, &(0..0)).ok()?;
            let is_free = targets.clone().all(|t| !ring::contains(&waste, t.inside));
            let area = ring::area(&waste);
            (is_free && area >= least && self.rule.is_wide(&waste)).then_some((area, chain, rest))
        };
        let runs = sides.into_iter().take(SIDES_TRIED).filter_map(run);
        let (_, chain, rest) = runs.max_by(|x, y| x.0.total_cmp(&y.0))?;
        Some((chain, rest))
    }

    /// What is left of a part once `chain` has taken waste off it.
    fn without_waste(&mut self, part: Waiting, chain: Vec<Point>, hand: Vec<Point>) -> Waiting {
        let number = self.number();
        self.breaking.steps.push(Step {
            part: part.number,
            chain,
            left: Outcome::Part(number),
            right: Outcome::Cullet,
        });
        Waiting {
            hand,
            number,
            waste_off: part.waste_off + 1,
            ..part
        }
    }

    /// What one side of a break is, and the work it still wants.
    fn side(&mut self, hand: Vec<Point>, targets: Vec<usize>) -> Result<(Outcome, Option<Waiting>), Unfreed> {
        let reliefs = self.reliefs(&hand, &targets)?;
        if let ([only], true) = (targets.as_slice(), reliefs.is_empty()) {
            return Ok((self.targets[*only].outcome, None));
        }
        let number = self.number();
        let waiting = Waiting {
            hand,
            targets,
            number,
            reliefs,
            waste_off: 0,
        };
        Ok((Outcome::Part(number), Some(waiting)))
    }

    fn reliefs(&self, hand: &[Point], targets: &[usize]) -> Result<Vec<Relief>, Unfreed> {
        let [only] = targets else { return Ok(vec![]) };
        free::free_ring(hand, self.targets[*only].ring, self.rule).map_err(|b| self.unfreed(targets, Some(b.at)))
    }

    fn relieve(&mut self, part: Waiting) {
        let Some(only) = part.targets.first() else { return };
        let outcome = self.targets[*only].outcome;
        self.breaking
            .relieve(part.number, part.reliefs, outcome, &mut self.next);
    }

    fn unfreed(&self, targets: &[usize], at: Option<Point>) -> Unfreed {
        let pieces = targets.iter().filter_map(|t| match self.targets[*t].outcome {
            Outcome::Piece(i) => Some(i),
            _ => None,
        });
        Unfreed {
            pieces: pieces.collect(),
            at: at.unwrap_or_else(|| {
                targets
                    .first()
                    .map_or(Point { x: 0.0, y: 0.0 }, |t| self.targets[*t].inside)
            }),
        }
    }
}
