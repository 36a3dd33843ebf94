//! Filling a free part: which shape next, where, and in which order its sides are run.

use super::convex::{Part, REACH, SNAP, cos_sin_deg, dot, length, turned};
use super::part_tree::{Laid, Node};
use super::shape::{Kind, Shape, reach};
use cullet_geometry::Point;
use cullet_search::Random;
use std::sync::Arc;

/// What one filling goes by; drawn anew for each, so that no one rule decides.
#[derive(Debug, Clone, Copy)]
pub(super) struct Taste {
    /// For large shapes.
    pub(super) size: f64,
    /// For sides along sides.
    pub(super) contact: f64,
    /// Against waste inside a put-together shape.
    pub(super) thrift: f64,
    /// For what is left to lie in one.
    pub(super) rest: f64,
    /// Against rests in which nothing fits any more.
    pub(super) dead: f64,
    pub(super) noise: f64,
    /// Whether put-together shapes are used.
    pub(super) together: bool,
    /// How many places are looked at closely.
    pub(super) close: usize,
}

impl Taste {
    pub(super) fn plain() -> Self {
        Self {
            size: 3.0,
            contact: 1.0,
            thrift: 4.0,
            rest: 0.5,
            dead: 1.5,
            noise: 0.0,
            together: true,
            close: 8,
        }
    }

    pub(super) fn drawn(random: &mut Random) -> Self {
        Self {
            size: random.within(0.3, 4.0),
            contact: random.within(0.0, 2.0),
            thrift: random.within(2.0, 6.0),
            rest: random.within(0.0, 1.5),
            dead: random.within(0.5, 3.0),
            noise: if random.below(3) == 0 {
                0.0
            } else {
                random.within(0.0, 0.5)
            },
            together: random.below(4) != 0,
            close: 2 + random.below(8),
        }
    }
}

/// What there is to lay, and the rules for it.
pub(super) struct Filler<'a> {
    pub(super) kinds: &'a [Kind],
    pub(super) shapes: &'a [Arc<Shape>],
    pub(super) strip: f64,
    pub(super) container: usize,
    pub(super) taste: Taste,
}

/// A place to look at.
#[derive(Debug, Clone, Copy)]
struct Place {
    shape: usize,
    turn: f64,
    at: Point,
    score: f64,
}

/// One run that takes `off` from the part in hand, and what is then in hand.
struct Cut {
    hand: Part,
    off: Part,
}

impl Filler<'_> {
    /// Fills the free parts at and below `node`, small ones first.
    pub(super) fn fill(&self, node: &mut Node, stock: &mut [u32], random: &mut Random) {
        match node {
            Node::Free(part) => {
                if let Some(filled) = self.filled(part, stock, random) {
                    *node = filled;
                }
            }
            Node::Run(_, a, b) => {
                self.fill(a, stock, random);
                self.fill(b, stock, random);
            }
            Node::Laid(_) | Node::Flaw => {}
        }
    }

    fn filled(&self, part: &Part, stock: &mut [u32], random: &mut Random) -> Option<Node> {
        let (laid, cuts) = self.best(part, stock, random)?;
        for (kind, n) in &laid.shape.needs {
            stock[*kind] -= n;
        }
        let mut rests: Vec<Node> = cuts.iter().map(|c| Node::Free(c.off.clone())).collect();
        let mut order: Vec<usize> = (0..cuts.len()).collect();
        order.sort_by(|a, b| cuts[*a].off.area.total_cmp(&cuts[*b].off.area));
        for i in order {
            self.fill(&mut rests[i], stock, random);
        }
        let mut node = Node::Laid(laid);
        for (cut, rest) in cuts.into_iter().zip(rests).rev() {
            node = Node::Run(Some(cut.hand), Box::new(rest), Box::new(node));
        }
        Some(node)
    }

    fn available(&self, shape: &Shape, stock: &[u32]) -> bool {
        (self.taste.together || shape.members.len() == 1)
            && shape
                .needs
                .iter()
                .all(|(k, n)| stock[*k] >= *n && self.kinds[*k].allows(self.container))
    }

    fn best(&self, part: &Part, stock: &[u32], random: &mut Random) -> Option<(Laid, Vec<Cut>)> {
        let mut places: Vec<Place> = Vec::new();
        let mut least = (f64::INFINITY, f64::INFINITY);
        let mut wide = None;
        let mut turns = Vec::new();
        let mut points = Vec::new();
        for (s, shape) in self.shapes.iter().enumerate() {
            if !self.available(shape, stock) {
                continue;
            }
            least = (least.0.min(shape.width), least.1.min(shape.area));
            if shape.area > part.area * 1.000_01 + 1.0 {
                continue;
            }
            let wide = *wide.get_or_insert_with(|| part.width());
            if shape.width > wide + 2.0 * REACH {
                continue;
            }
            shape.directions(self.kinds, part.sides.iter().map(|s| s.angle), &mut turns);
            for direction in &turns {
                self.places(part, s, *direction, &mut points, &mut places, random);
            }
        }
        places.sort_by(|a, b| b.score.total_cmp(&a.score));
        places.truncate(self.taste.close);
        let mut best: Option<(f64, Place, Vec<Cut>)> = None;
        for place in places {
            for large_first in [true, false] {
                let cuts = cut_free(part, &self.laid_points(&place), large_first);
                let score = place.score + self.rests(part, &cuts, least);
                if best.as_ref().is_none_or(|(s, ..)| score > *s) {
                    best = Some((score, place, cuts));
                }
            }
        }
        let (_, place, cuts) = best?;
        let own = Part::new(self.laid_points(&place))?;
        let laid = Laid {
            shape: self.shapes[place.shape].clone(),
            turn: place.turn,
            at: place.at,
            part: own,
        };
        Some((laid, cuts))
    }

    fn laid_points(&self, place: &Place) -> Vec<Point> {
        let (cos, sin) = cos_sin_deg(place.turn);
        self.shapes[place.shape]
            .points
            .iter()
            .map(|p| turned(*p, cos, sin) + place.at)
            .collect()
    }

    /// What the rests after the cuts are worth.
    fn rests(&self, part: &Part, cuts: &[Cut], least: (f64, f64)) -> f64 {
        cuts.iter()
            .map(|cut| {
                let share = cut.off.area / part.area;
                let wide = cut.off.width();
                let nibbled = if wide < self.strip { 0.1 } else { 0.0 };
                if wide < least.0 || cut.off.area < least.1 {
                    -self.taste.dead * share - nibbled
                } else {
                    self.taste.rest * share.powf(1.4) - nibbled
                }
            })
            .sum()
    }

    /// The places of one shape in one direction, its turn, along the side of the part that comes with it, or along any. The lists are
    /// lent so that none is made anew in the innermost loop.
    fn places(
        &self,
        part: &Part,
        s: usize,
        (turn, along): (f64, Option<usize>),
        points: &mut Vec<Point>,
        places: &mut Vec<Place>,
        random: &mut Random,
    ) {
        let shape = &self.shapes[s];
        let (cos, sin) = cos_sin_deg(turn);
        points.clear();
        points.extend(shape.points.iter().map(|p| turned(*p, cos, sin)));
        let rooms: Vec<f64> = part
            .sides
            .iter()
            .map(|side| side.offset - reach(points, side.normal))
            .collect();
        let tried = match along {
            Some(i) => i..i + 1,
            None => 0..part.sides.len(),
        };
        for i in tried {
            let Some((low, high)) = slide(part, &rooms, i) else {
                continue;
            };
            let ends = if high - low > 1e-3 { vec![low, high] } else { vec![low] };
            for end in ends {
                let at = end_point(part, &rooms, i, end);
                let contact = contact(part, &rooms, at, shape, turn) / shape.round;
                let score = self.taste.size * shape.area / part.area - self.taste.thrift * shape.loss() / part.area
                    + self.taste.contact * contact
                    + if self.taste.noise > 0.0 {
                        random.unit() * self.taste.noise
                    } else {
                        0.0
                    };
                places.push(Place {
                    shape: s,
                    turn,
                    at,
                    score,
                });
            }
        }
    }
}

fn along_of(part: &Part, i: usize) -> Point {
    let n = part.sides[i].normal;
    Point { x: -n.y, y: n.x }
}

fn end_point(part: &Part, rooms: &[f64], i: usize, end: f64) -> Point {
    part.sides[i].normal * rooms[i] + along_of(part, i) * end
}

/// From where to where a shape may slide along side `i` of the part.
fn slide(part: &Part, rooms: &[f64], i: usize) -> Option<(f64, f64)> {
    let along = along_of(part, i);
    let base = part.sides[i].normal * rooms[i];
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    for (j, side) in part.sides.iter().enumerate() {
        if j == i {
            continue;
        }
        let slope = dot(side.normal, along);
        let room = rooms[j] - dot(side.normal, base);
        if slope.abs() < 1e-9 {
            if room < -REACH {
                return None;
            }
        } else if slope > 0.0 {
            high = high.min(room / slope);
        } else {
            low = low.max(room / slope);
        }
    }
    if low > high {
        let middle = 0.5 * (low + high);
        let at = base + along * middle;
        let reaches_over = (0..rooms.len()).any(|j| dot(part.sides[j].normal, at) - rooms[j] > REACH);
        return (!reaches_over).then_some((middle, middle));
    }
    Some((low, high))
}

/// Length of the shape's boundary that lies along the part's.
fn contact(part: &Part, rooms: &[f64], at: Point, shape: &Shape, turn: f64) -> f64 {
    let turn = turn.to_radians();
    let mut sum = 0.0;
    for (side, room) in part.sides.iter().zip(rooms) {
        if room - dot(side.normal, at) > SNAP {
            continue;
        }
        for (angle, long) in shape.angles.iter().zip(&shape.lengths) {
            let bend = (angle + turn - side.angle).rem_euclid(std::f64::consts::TAU);
            if !(1e-6..=std::f64::consts::TAU - 1e-6).contains(&bend) {
                sum += long;
            }
        }
    }
    sum
}

/// The runs that free a convex blank from its part, along its sides.
fn cut_free(part: &Part, blank: &[Point], large_first: bool) -> Vec<Cut> {
    let mut cuts = Vec::new();
    let mut hand = part.clone();
    let mut open: Vec<usize> = (0..blank.len()).collect();
    loop {
        let mut chosen: Option<(usize, Part, Part)> = None;
        open.retain(|i| {
            let (a, b) = (blank[*i], blank[(i + 1) % blank.len()]);
            let along = (b - a) / length(b - a);
            if hand.reaches_right_of(a, along) <= SNAP {
                return false;
            }
            let (Some(left), Some(right)) = hand.cut(a, along) else {
                return false;
            };
            let better = chosen
                .as_ref()
                .is_none_or(|(_, _, r)| (right.area > r.area) == large_first);
            if better {
                chosen = Some((*i, left, right));
            }
            true
        });
        let Some((i, left, right)) = chosen else { return cuts };
        cuts.push(Cut { hand, off: right });
        hand = left;
        open.retain(|k| *k != i);
    }
}

/// Whether the shape fits into the part at all, at a direction it may have.
pub(super) fn fits(kinds: &[Kind], shape: &Shape, part: &Part) -> bool {
    let mut turns = Vec::new();
    shape.directions(kinds, part.sides.iter().map(|s| s.angle), &mut turns);
    turns.iter().any(|(turn, along)| {
        let (cos, sin) = cos_sin_deg(*turn);
        let points: Vec<Point> = shape.points.iter().map(|p| turned(*p, cos, sin)).collect();
        let rooms: Vec<f64> = part
            .sides
            .iter()
            .map(|side| side.offset - reach(&points, side.normal))
            .collect();
        match along {
            Some(i) => slide(part, &rooms, *i).is_some(),
            None => (0..rooms.len()).any(|i| slide(part, &rooms, i).is_some()),
        }
    })
}
