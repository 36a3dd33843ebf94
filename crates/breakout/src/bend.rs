//! How sharply a score bends, over a stretch and not at a corner: a corner rounded by small facets is a corner.

use cullet_geometry::Point;
use cullet_geometry::ring::{length, turn_deg};
use std::ops::Range;

/// Points of a score nearer than this are one, mm: directions between them are rounding.
const SAME_POINT: f64 = 0.01;
/// A flattened curve lies at most about this far from its chords, mm; a corner between longer sides is drawn as a corner.
const FACET_DEPTH: f64 = 0.2;
/// Turn over which a radius is measured, degrees: less is rounding where facets are short.
const MEASURED_DEG: f64 = 20.0;
/// Corners that are said, degrees.
const LEAST_CORNER_DEG: f64 = 10.0;

/// A score as a row of straight pieces with their directions.
pub(crate) struct Course {
    /// Where each starts.
    pub(crate) start: Vec<Point>,
    pub(crate) length: Vec<f64>,
    /// Direction of each against the first, followed turn by turn, degrees.
    pub(crate) heading: Vec<f64>,
    /// Whether each follows the outline of the one piece that is opened.
    pub(crate) follows: Vec<bool>,
}

impl Course {
    /// `along` are the sides of the chain that follow the piece that is opened.
    pub(crate) fn of(chain: &[Point], along: &Range<usize>) -> Self {
        let mut course = Self {
            start: Vec::with_capacity(chain.len()),
            length: Vec::with_capacity(chain.len()),
            heading: Vec::with_capacity(chain.len()),
            follows: Vec::with_capacity(chain.len()),
        };
        let Some(mut from) = chain.first().copied() else {
            return course;
        };
        let (mut follows, mut before): (bool, Option<Point>) = (true, None);
        for (i, to) in chain.iter().enumerate().skip(1) {
            follows &= along.contains(&(i - 1));
            let side = *to - from;
            if length(side) < SAME_POINT && i + 1 < chain.len() {
                continue;
            }
            let heading = before.map_or(0.0, |b| course.heading[course.heading.len() - 1] + turn_deg(b, side));
            course.start.push(from);
            course.length.push(length(side));
            course.heading.push(heading);
            course.follows.push(follows);
            (from, follows, before) = (*to, true, Some(side));
        }
        course
    }

    /// The most that it turns at one place, degrees.
    pub(crate) fn sharpest_corner(&self) -> f64 {
        let turns = self.heading.windows(2).map(|w| (w[1] - w[0]).abs());
        turns.fold(0.0, f64::max)
    }

    /// The first place where the direction changes by more than `most_deg` within less than `stretch` mm, where the score does
    /// not follow the piece; and by how much, degrees.
    pub(crate) fn sharp_turn(&self, most_deg: f64, stretch: f64) -> Option<(Point, f64)> {
        for i in 0..self.length.len() {
            let mut between = 0.0;
            for j in i + 1..self.length.len() {
                let turn = (self.heading[j] - self.heading[i]).abs();
                // A corner of the piece itself is judged as a curve.
                let own = j == i + 1 && self.follows[i] && self.follows[j];
                if turn > most_deg + 1e-6 && !own {
                    return Some((self.start[i + 1], turn));
                }
                between += self.length[j];
                if self.follows[j] || between >= stretch {
                    break;
                }
            }
        }
        None
    }

    /// The first place where the score turns by more than `corner_deg` and a curve of `radius` mm would; the turn, degrees.
    pub(crate) fn tight_curve(&self, corner_deg: f64, radius: f64) -> Option<(Point, f64)> {
        for i in 0..self.length.len() {
            let mut between = 0.0;
            for j in i + 1..self.length.len() {
                let curve = (between / radius).to_degrees();
                if curve > 180.0 {
                    break;
                }
                let turn = (self.heading[j] - self.heading[i]).abs();
                if turn > corner_deg + curve + 1e-6 {
                    return Some((self.start[i + 1], turn));
                }
                between += self.length[j];
            }
        }
        None
    }
}

/// The sharpest bend of a score, for the bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bend {
    /// A curve of this radius, mm.
    Radius(f64),
    /// A corner between straight stretches, degrees.
    Corner(f64),
}

/// The tightest curve of a score (mm, infinite where it is straight), and its sharpest corner between straight stretches where
/// it has one of 10° or more.
///
/// The radius is the length between the middles of two sides by the turn between them: exact for a flattened arc. Cost O(n).
///
/// ```
/// use cullet_breakout::{Bend, bends};
/// use cullet_geometry::Point;
/// let arc: Vec<Point> = (0..=12).map(|i| {
///     let (sin, cos) = (5.0 * i as f64).to_radians().sin_cos();
///     Point { x: 40.0 * cos, y: 40.0 * sin }
/// }).collect();
/// let [Bend::Radius(radius)] = bends(&arc)[..] else { panic!("one curve") };
/// assert!((radius - 40.0).abs() < 0.05);
/// ```
#[must_use]
pub fn bends(chain: &[Point]) -> Vec<Bend> {
    let course = Course::of(chain, &(0..0));
    let (mut radius, mut corner) = (f64::INFINITY, 0.0_f64);
    for i in 0..course.length.len() {
        let (mut between, mut longest) = (0.0, 0.0_f64);
        for j in i + 1..course.length.len() {
            let turn = (course.heading[j] - course.heading[i]).abs();
            let (a, b) = (course.length[i], course.length[j]);
            if j == i + 1 && a.min(b) * turn.to_radians() / 8.0 > FACET_DEPTH {
                corner = corner.max(turn);
                break;
            }
            if turn >= MEASURED_DEG {
                // A long straight side beside a curve is no part of it.
                let most = if j == i + 1 { a.min(b) } else { longest };
                let along = 0.5 * a.min(most) + between + 0.5 * b.min(most);
                radius = radius.min(along / turn.to_radians());
                break;
            }
            between += b;
            longest = longest.max(b);
        }
    }
    let curve = radius.is_finite().then_some(Bend::Radius(radius));
    curve
        .into_iter()
        .chain((corner >= LEAST_CORNER_DEG).then_some(Bend::Corner(corner)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    /// Up 200 mm, round a corner to the right of this radius made of facets of `step` degrees, then 200 mm on at `turn` degrees.
    fn rounded(turn: f64, radius: f64, step: f64) -> Vec<Point> {
        let count = (turn / step).ceil();
        let mut chain = vec![p(-radius, -200.0)];
        for i in 0..=count as usize {
            let (sin, cos) = (180.0 - turn * i as f64 / count).to_radians().sin_cos();
            chain.push(p(radius * cos, radius * sin));
        }
        let (sin, cos) = (90.0 - turn).to_radians().sin_cos();
        let last = chain[chain.len() - 1];
        chain.push(p(last.x + 200.0 * cos, last.y + 200.0 * sin));
        chain
    }

    #[test]
    fn a_rounded_corner_is_a_corner_however_fine_its_facets() {
        for (turn, radius, step) in [
            (85.0, 1.5, 25.0),
            (85.0, 5.0, 5.0),
            (90.0, 10.0, 1.0),
            (60.0, 12.0 / 1.05, 1.0),
        ] {
            let free = Course::of(&rounded(turn, radius, step), &(0..0));
            assert!(free.sharp_turn(30.0, 25.0).is_some(), "{turn}° round {radius} mm");
        }
        // 25 mm by 30° is a radius of 47.7 mm.
        let gentle = Course::of(&rounded(90.0, 50.0, 1.0), &(0..0));
        assert_eq!(gentle.sharp_turn(30.0, 25.0), None);
        let sharper = Course::of(&rounded(90.0, 45.0, 1.0), &(0..0));
        assert!(sharper.sharp_turn(30.0, 25.0).is_some());
    }

    #[test]
    fn along_the_piece_the_curve_itself_counts() {
        let chain = rounded(90.0, 10.0, 10.0);
        let along = Course::of(&chain, &(0..chain.len() - 1));
        assert_eq!(along.sharp_turn(30.0, 25.0), None);
        assert_eq!(along.tight_curve(30.0, 10.0), None);
        assert!(along.tight_curve(30.0, 30.0).is_some());
        // What leads out from it does not follow it: a bend there counts.
        let mut bent = chain[..chain.len() - 1].to_vec();
        let last = bent[bent.len() - 1];
        bent.push(p(last.x + 10.0, last.y - 7.0));
        let out = Course::of(&bent, &(0..bent.len() - 2));
        assert!(out.sharp_turn(30.0, 25.0).is_some());
    }

    #[test]
    fn the_bench_is_told_the_curve_and_the_corner() {
        for (radius, step) in [(8.0, 5.0), (60.0, 3.0)] {
            let [Bend::Radius(found)] = bends(&rounded(80.0, radius, step))[..] else {
                panic!("one curve of {radius} mm")
            };
            assert!((found / radius - 1.0).abs() < 0.15, "{found} of {radius}");
        }
        assert_eq!(bends(&[p(0.0, 0.0), p(100.0, 0.0), p(200.0, 36.4)]).len(), 1);
        assert!(
            matches!(bends(&[p(0.0, 0.0), p(100.0, 0.0), p(200.0, 36.4)])[0], Bend::Corner(c) if (c - 20.0).abs() < 0.1)
        );
        assert!(bends(&[p(0.0, 0.0), p(100.0, 0.0)]).is_empty());
    }
}
