//! What is laid: a blank, or several blanks put together to a convex one.

use super::convex::{self, area, cos_sin_deg, dot, length, sides, turned};
use cullet_geometry::{Outline, Point, Pose};
use cullet_search::{Item, Turns};

/// How exactly a direction must be one of those allowed, degrees.
const TURN_EXACT_DEG: f64 = 1e-6;

/// One blank in a shape.
#[derive(Debug, Clone, Copy)]
pub(super) struct Member {
    pub(super) kind: usize,
    pub(super) over: bool,
    /// Turn of the blank, already turned over if it is, in the shape's frame, degrees.
    pub(super) turn: f64,
    pub(super) at: Point,
}

/// Which directions to try.
#[derive(Debug, Clone)]
enum Directions {
    /// Only these.
    Listed(Vec<f64>),
    /// Those in which a side lies along a side of the part, and these.
    Along(Vec<f64>),
}

/// A convex shape to be laid as one.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub(super) points: Vec<Point>,
    /// Directions of the sides, radians.
    pub(super) angles: Vec<f64>,
    pub(super) lengths: Vec<f64>,
    pub(super) round: f64,
    pub(super) members: Vec<Member>,
    /// Kinds and how many of each it takes.
    pub(super) needs: Vec<(usize, u32)>,
    /// Area of the pieces in it.
    pub(super) value: f64,
    pub(super) area: f64,
    pub(super) width: f64,
    /// Sides until the shape repeats itself.
    pub(super) period: usize,
    directions: Directions,
}

/// A kind of item with what the search needs of it.
#[derive(Debug, Clone)]
pub(super) struct Kind {
    pub(super) value: f64,
    pub(super) count: u32,
    pub(super) turns: Turns,
    pub(super) turned_over: Option<Turns>,
    pub(super) allowed: Vec<bool>,
    pub(super) blank: Vec<Point>,
    pub(super) blank_over: Vec<Point>,
    /// The rotations as given; `turns` and `turned_over` also hold those in which the piece looks the same.
    given: (Turns, Option<Turns>),
    /// Degrees after which the piece looks the same, and about which point.
    again: (f64, Point),
}

impl Kind {
    pub(super) fn new(item: &Item, blank: &Outline) -> Self {
        let corners = item.outline.points();
        let again = 360.0 * period_of(corners) as f64 / corners.len() as f64;
        Self {
            value: item.outline.area(),
            count: item.count,
            turns: repeated(&item.turns, again),
            turned_over: item.turned_over.as_ref().map(|t| repeated(t, again)),
            given: (item.turns.clone(), item.turned_over.clone()),
            again: (again, middle(corners)),
            allowed: item.allowed.clone(),
            blank: blank.points().to_vec(),
            blank_over: blank.mirrored().points().to_vec(),
        }
    }

    pub(super) fn allows(&self, container: usize) -> bool {
        self.allowed.get(container).copied().unwrap_or(true)
    }

    /// The same place of the piece at a rotation that was given.
    fn as_given(&self, pose: Pose) -> Pose {
        let given = if pose.turned_over {
            self.given.1.as_ref()
        } else {
            Some(&self.given.0)
        };
        let Some(given) = given.filter(|t| !t.is_free()) else {
            return pose;
        };
        let (step, about) = self.again;
        let times = (360.0 / step).round() as u32;
        let turned = (0..times).map(|k| (pose.rotation_deg + step * f64::from(k)).rem_euclid(360.0));
        let off = |r: f64| {
            given
                .angles_deg
                .iter()
                .map(|c| between_deg(r, *c))
                .fold(360.0, f64::min)
        };
        let Some(rotation_deg) = turned.min_by(|a, b| off(*a).total_cmp(&off(*b))) else {
            return pose;
        };
        if off(pose.rotation_deg) <= given.tolerance_deg + TURN_EXACT_DEG {
            return pose;
        }
        let turned = Pose { rotation_deg, ..pose };
        let moved = pose.apply(about) - turned.apply(about);
        Pose {
            x: pose.x + moved.x,
            y: pose.y + moved.y,
            ..turned
        }
    }

    fn turns(&self, over: bool) -> Option<&Turns> {
        if over {
            self.turned_over.as_ref()
        } else {
            Some(&self.turns)
        }
    }
}

/// A set of rotations with those in which a piece looks the same.
fn repeated(turns: &Turns, again: f64) -> Turns {
    let times = (360.0 / again).round() as u32;
    let mut angles_deg = turns.angles_deg.clone();
    for d in (1..times).flat_map(|k| turns.angles_deg.iter().map(move |c| c + again * f64::from(k))) {
        if !angles_deg.iter().any(|c| between_deg(*c, d) < 1e-9) {
            angles_deg.push(d.rem_euclid(360.0));
        }
    }
    Turns {
        angles_deg: if turns.is_free() {
            turns.angles_deg.clone()
        } else {
            angles_deg
        },
        tolerance_deg: turns.tolerance_deg,
    }
}

/// The mean of the corners, which stays where it is when a piece is turned so that it looks the same.
fn middle(points: &[Point]) -> Point {
    points.iter().fold(Point { x: 0.0, y: 0.0 }, |sum, p| sum + *p) / points.len() as f64
}

/// From the turn of a blank to the rotation of its piece: turning over comes after rotating.
fn rotation(turn: f64, over: bool) -> f64 {
    if over { -turn } else { turn }
}

fn between_deg(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(360.0);
    d.min(360.0 - d)
}

impl Shape {
    /// One blank. `None` when it may not lie this way up.
    pub(super) fn single(kinds: &[Kind], kind: usize, over: bool) -> Option<Self> {
        kinds[kind].turns(over)?;
        let points = if over {
            kinds[kind].blank_over.clone()
        } else {
            kinds[kind].blank.clone()
        };
        let member = Member {
            kind,
            over,
            turn: 0.0,
            at: Point { x: 0.0, y: 0.0 },
        };
        Self::new(kinds, points, vec![member])
    }

    /// `None` when no direction is allowed for all members.
    pub(super) fn new(kinds: &[Kind], points: Vec<Point>, members: Vec<Member>) -> Option<Self> {
        let mut needs: Vec<(usize, u32)> = Vec::new();
        for m in &members {
            match needs.iter_mut().find(|(k, _)| *k == m.kind) {
                Some((_, n)) => *n += 1,
                None => needs.push((m.kind, 1)),
            }
        }
        if needs.iter().any(|(k, n)| *n > kinds[*k].count) {
            return None;
        }
        let (lengths, angles) = lengths_and_angles(&points);
        let mut shape = Self {
            value: members.iter().map(|m| kinds[m.kind].value).sum(),
            area: area(&points),
            width: convex::width(&points),
            round: lengths.iter().sum(),
            period: period(&lengths, &angles),
            directions: Directions::Along(vec![]),
            points,
            angles,
            lengths,
            members,
            needs,
        };
        shape.directions = shape.find_directions(kinds)?;
        Some(shape)
    }

    fn find_directions(&self, kinds: &[Kind]) -> Option<Directions> {
        let turns_of = |m: &Member| kinds[m.kind].turns(m.over);
        let of_member = |m: &Member| -> Vec<f64> {
            turns_of(m).map_or(vec![], |t| {
                t.angles_deg.iter().map(|c| rotation(*c, m.over) - m.turn).collect()
            })
        };
        if let Some(m) = self
            .members
            .iter()
            .find(|m| turns_of(m).is_some_and(|t| t.tolerance_deg == 0.0))
        {
            let step = 360.0 * self.period as f64 / self.points.len() as f64;
            let mut list: Vec<f64> = Vec::new();
            for d in of_member(m) {
                let seen = |e: &f64| {
                    let times = ((d - e) / step).round();
                    between_deg(d, e + times * step) < TURN_EXACT_DEG
                };
                if self.holds(kinds, d) && !list.iter().any(seen) {
                    list.push(d);
                }
            }
            return (!list.is_empty()).then_some(Directions::Listed(list));
        }
        let bound = self.members.iter().find(|m| turns_of(m).is_some_and(|t| !t.is_free()));
        let mut also = bound.map_or(vec![], of_member);
        also.retain(|d| self.holds(kinds, *d));
        // Where two members are bound by tolerance their angles may both be out of reach and the shape is dropped.
        (bound.is_none() || !also.is_empty()).then_some(Directions::Along(also))
    }

    /// Whether every member may lie this way.
    fn holds(&self, kinds: &[Kind], turn: f64) -> bool {
        self.members.iter().all(|m| {
            kinds[m.kind].turns(m.over).is_some_and(|t| {
                let r = rotation(turn + m.turn, m.over);
                t.is_free()
                    || t.angles_deg
                        .iter()
                        .any(|c| between_deg(r, *c) <= t.tolerance_deg + TURN_EXACT_DEG)
            })
        })
    }

    /// The directions to try in a part with sides at these angles (radians): each with the part's side it lies along, or
    /// none where every side must be tried.
    pub(super) fn directions(
        &self,
        kinds: &[Kind],
        part_angles: impl Iterator<Item = f64>,
        to: &mut Vec<(f64, Option<usize>)>,
    ) {
        to.clear();
        match &self.directions {
            Directions::Listed(list) => to.extend(list.iter().map(|d| (*d, None))),
            Directions::Along(also) => {
                to.extend(also.iter().map(|d| (*d, None)));
                let free = also.is_empty();
                let again = self.points.len() / self.period;
                for (i, at) in part_angles.enumerate() {
                    for side in &self.angles[..self.period] {
                        let turn = tidy((at - side).to_degrees());
                        let same = (0..again).map(|k| turn + 360.0 * k as f64 / again as f64);
                        let found = if free {
                            Some(turn)
                        } else {
                            same.into_iter().find(|t| self.holds(kinds, *t))
                        };
                        to.extend(found.map(|t| (t, Some(i))));
                    }
                }
            }
        }
    }

    /// This shape and another beside it, as the hull of both.
    pub(super) fn with(&self, kinds: &[Kind], other: &Self, turn: f64, at: Point) -> Option<Self> {
        let (cos, sin) = cos_sin_deg(turn);
        let mut points = self.points.clone();
        points.extend(other.points.iter().map(|p| turned(*p, cos, sin) + at));
        let mut members = self.members.clone();
        members.extend(other.members.iter().map(|m| Member {
            turn: tidy(m.turn + turn),
            at: turned(m.at, cos, sin) + at,
            ..*m
        }));
        Self::new(kinds, hull(&points), members)
    }

    /// How `other` turns and moves so that its side `theirs` lies along side `mine`, from the end where mine begins or, if
    /// not `first`, where it ends.
    pub(super) fn beside(&self, mine: usize, other: &Self, theirs: usize, first: bool) -> (f64, Point) {
        let turn = tidy((self.angles[mine] - other.angles[theirs]).to_degrees() + 180.0);
        let (cos, sin) = cos_sin_deg(turn);
        let n = other.points.len();
        let at = if first {
            self.points[mine] - turned(other.points[(theirs + 1) % n], cos, sin)
        } else {
            self.points[(mine + 1) % self.points.len()] - turned(other.points[theirs], cos, sin)
        };
        (turn, at)
    }

    /// The corner between the side before and side `i`, radians.
    pub(super) fn corner(&self, i: usize) -> f64 {
        let n = self.points.len();
        let bend = (self.angles[i] - self.angles[(i + n - 1) % n]).rem_euclid(std::f64::consts::TAU);
        std::f64::consts::PI - bend
    }

    pub(super) fn loss(&self) -> f64 {
        self.area - self.value
    }

    /// The pose of a member when the shape lies at `turn` and `at`.
    pub(super) fn pose(&self, kinds: &[Kind], member: &Member, turn: f64, at: Point) -> Pose {
        let (cos, sin) = cos_sin_deg(turn);
        let to = turned(member.at, cos, sin) + at;
        kinds[member.kind].as_given(Pose {
            rotation_deg: tidy(rotation(turn + member.turn, member.over)).rem_euclid(360.0),
            turned_over: member.over,
            x: to.x,
            y: to.y,
        })
    }
}

/// Whole degrees where rounding alone makes the difference.
fn tidy(turn: f64) -> f64 {
    let whole = turn.round();
    let turn = if (turn - whole).abs() < 1e-9 { whole } else { turn };
    turn.rem_euclid(360.0)
}

fn lengths_and_angles(points: &[Point]) -> (Vec<f64>, Vec<f64>) {
    sides(points)
        .map(|(a, b)| (length(b - a), (b.y - a.y).atan2(b.x - a.x)))
        .unzip()
}

fn period_of(points: &[Point]) -> usize {
    let (lengths, angles) = lengths_and_angles(points);
    period(&lengths, &angles)
}

/// Sides until lengths and turns repeat.
fn period(lengths: &[f64], angles: &[f64]) -> usize {
    let n = lengths.len();
    let bend = |i: usize| (angles[(i + 1) % n] - angles[i]).rem_euclid(std::f64::consts::TAU);
    (1..n)
        .filter(|p| n.is_multiple_of(*p))
        .find(|p| {
            (0..n).all(|i| {
                let j = (i + p) % n;
                (lengths[i] - lengths[j]).abs() < 1e-6 && (bend(i) - bend(j)).abs() < 1e-9
            })
        })
        .unwrap_or(n)
}

/// Convex hull, corners on straight sides left out.
fn hull(points: &[Point]) -> Vec<Point> {
    let mut ring = cullet_geometry::ring::hull(points);
    // Exactly convex is not enough: rounding leaves corners a millionth of a micron out of line. The least go first, so
    // that no true corner goes with them.
    while ring.len() > 3 {
        let n = ring.len();
        let out_of_line = |i: usize| {
            let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            convex::cross(b - a, c - a).abs() / length(c - a).max(1e-9)
        };
        let least = (0..n).map(|i| (out_of_line(i), i)).min_by(|x, y| x.0.total_cmp(&y.0));
        match least {
            Some((off, i)) if off < 1e-5 => ring.remove(i),
            _ => break,
        };
    }
    ring
}

/// How far out the points reach along a direction.
pub(super) fn reach(points: &[Point], along: Point) -> f64 {
    points.iter().map(|p| dot(*p, along)).fold(f64::NEG_INFINITY, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_costs_a_hull_no_corner() {
        // Three corners on the left side, out of line by rounding so that a sweep from the left meets the middle one first.
        let p = |x, y| Point { x, y };
        let points = vec![
            p(0.0, 50.0),
            p(1e-14, 0.0),
            p(2e-14, 100.0),
            p(500.0, 0.0),
            p(500.0, 100.0),
        ];
        let ring = hull(&points);
        assert_eq!(ring.len(), 4);
        assert!((area(&ring) - 50_000.0).abs() < 1e-6);
    }
}
