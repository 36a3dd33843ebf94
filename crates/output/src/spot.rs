//! Where in a shape a label finds the most room.
//!
//! A label is a box of given proportions. Scaling x by half its width and y by half its height makes it a square, and the
//! largest one inside the shape stands where the Chebyshev distance to the nearest side is greatest. That distance
//! changes by no more than one steps sideways, so a search that halves squares and drops those that cannot win finds it.

use crate::lines::sides;
use cullet_geometry::{Outline, Point};
use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// A place for a box: its centre, and the factor by which the box may be scaled there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Spot {
    pub(crate) centre: Point,
    pub(crate) scale: f64,
}

/// How far the found scale may lie under the greatest one.
const SLACK: f64 = 0.03;

/// Squares looked at before the best so far is taken; a plain shape needs some dozens.
const MOST_SQUARES: usize = 1500;

/// Where a box `width` × `height` fits into `shape`, clear of `obstacles`, at the greatest scale (to 3 %), or at a
/// middle place where it fits at `enough` or nearly as large: labels read better there. `None` where it fits nowhere.
pub(crate) fn roomiest(shape: &Outline, obstacles: &[&Outline], width: f64, height: f64, enough: f64) -> Option<Spot> {
    let scaled = Scaled::new(shape, obstacles, width / 2.0, height / 2.0);
    let middle = scaled.room(scaled.centroid);
    if middle.room >= enough {
        return middle.spot(&scaled);
    }
    let best = scaled.search(middle);
    let good = 0.75 * best.room.min(enough);
    let chosen = if middle.room >= good { middle } else { best };
    chosen.spot(&scaled)
}

/// The shape and obstacles with the box scaled to the square from −1 to 1.
struct Scaled {
    sides: Vec<[Point; 2]>,
    obstacles: Vec<Vec<[Point; 2]>>,
    centroid: Point,
    min: Point,
    max: Point,
    half: Point,
}

#[derive(Clone, Copy)]
struct Candidate {
    at: Point,
    room: f64,
}

impl Candidate {
    fn spot(self, scaled: &Scaled) -> Option<Spot> {
        let centre = Point {
            x: self.at.x * scaled.half.x,
            y: self.at.y * scaled.half.y,
        };
        (self.room > 0.0).then_some(Spot {
            centre,
            scale: self.room,
        })
    }
}

struct Square {
    centre: Candidate,
    half: f64,
}

impl Square {
    /// No place in the square has more room than this.
    fn bound(&self) -> f64 {
        self.centre.room + self.half
    }
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Square {}
impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        let place = |s: &Self| (s.centre.at.x, s.centre.at.y);
        let (a, b) = (place(self), place(other));
        self.bound()
            .total_cmp(&other.bound())
            .then(a.0.total_cmp(&b.0))
            .then(a.1.total_cmp(&b.1))
    }
}

impl Scaled {
    fn new(shape: &Outline, obstacles: &[&Outline], half_width: f64, half_height: f64) -> Self {
        let scale = |p: &Point| Point {
            x: p.x / half_width,
            y: p.y / half_height,
        };
        let sides = |o: &Outline| -> Vec<[Point; 2]> { sides(o).map(|[a, b]| [scale(&a), scale(&b)]).collect() };
        let bounds = shape.bounds();
        Self {
            sides: sides(shape),
            obstacles: obstacles.iter().map(|o| sides(o)).collect(),
            centroid: scale(&centroid(shape)),
            min: scale(&bounds.min),
            max: scale(&bounds.max),
            half: Point {
                x: half_width,
                y: half_height,
            },
        }
    }

    fn search(&self, start: Candidate) -> Candidate {
        let (width, height) = (self.max.x - self.min.x, self.max.y - self.min.y);
        let size = width.min(height).max(width.max(height) / 64.0);
        if size.is_nan() || size <= 0.0 {
            return start;
        }
        let mut best = start;
        let mut open = BinaryHeap::new();
        let look_at = |open: &mut BinaryHeap<Square>, best: &mut Candidate, at: Point, half: f64| {
            let centre = self.room(at);
            if centre.room > best.room {
                *best = centre;
            }
            open.push(Square { centre, half });
        };
        let mut x = self.min.x;
        while x < self.max.x {
            let mut y = self.min.y;
            while y < self.max.y {
                let at = Point {
                    x: x + size / 2.0,
                    y: y + size / 2.0,
                };
                look_at(&mut open, &mut best, at, size / 2.0);
                y += size;
            }
            x += size;
        }
        for _ in 0..MOST_SQUARES {
            let Some(square) = open.pop() else { break };
            if square.bound() <= best.room.max(0.0) * (1.0 + SLACK) || square.half < 1e-3 {
                break;
            }
            let half = square.half / 2.0;
            for (dx, dy) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
                let at = Point {
                    x: square.centre.at.x + dx,
                    y: square.centre.at.y + dy,
                };
                look_at(&mut open, &mut best, at, half);
            }
        }
        best
    }

    /// Half the side of the largest square round `at`; negative outside the shape or within an obstacle.
    fn room(&self, at: Point) -> Candidate {
        let mut room = signed_distance(&self.sides, at);
        for obstacle in &self.obstacles {
            room = room.min(-signed_distance(obstacle, at));
        }
        Candidate { at, room }
    }
}

/// Chebyshev distance to the nearest side, positive inside.
fn signed_distance(sides: &[[Point; 2]], at: Point) -> f64 {
    let mut nearest = f64::INFINITY;
    let mut inside = false;
    for [a, b] in sides {
        if (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) * (b.x - a.x) / (b.y - a.y) {
            inside = !inside;
        }
        let apart_x = (a.x.min(b.x) - at.x).max(at.x - a.x.max(b.x));
        let apart_y = (a.y.min(b.y) - at.y).max(at.y - a.y.max(b.y));
        if apart_x.max(apart_y) < nearest {
            nearest = nearest.min(distance(*a, *b, at));
        }
    }
    if inside { nearest } else { -nearest }
}

/// Chebyshev distance from a point to a side: convex along the side and made of straight parts, so its least value is at
/// an end or at a kink.
fn distance(a: Point, b: Point, at: Point) -> f64 {
    let from = a - at;
    let step = b - a;
    let value = |t: f64| (from.x + t * step.x).abs().max((from.y + t * step.y).abs());
    let kinks = [
        -from.x / step.x,
        -from.y / step.y,
        (from.y - from.x) / (step.x - step.y),
        -(from.x + from.y) / (step.x + step.y),
    ];
    kinks
        .into_iter()
        .filter(|t| *t > 0.0 && *t < 1.0)
        .map(value)
        .fold(value(0.0).min(value(1.0)), f64::min)
}

/// Centre of area.
fn centroid(shape: &Outline) -> Point {
    let points = shape.points();
    let origin = points[0];
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for (i, p) in points.iter().enumerate() {
        let a = *p - origin;
        let b = points[(i + 1) % points.len()] - origin;
        let cross = a.x * b.y - b.x * a.y;
        area += cross;
        x += (a.x + b.x) * cross;
        y += (a.y + b.y) * cross;
    }
    Point {
        x: origin.x + x / (3.0 * area),
        y: origin.y + y / (3.0 * area),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn outline(points: &[(f64, f64)]) -> Outline {
        Outline::new(points.iter().map(|&(x, y)| Point { x, y }).collect()).unwrap()
    }

    #[test]
    fn a_box_fills_its_own_shape() {
        let spot = roomiest(&Outline::rectangle(80.0, 20.0), &[], 4.0, 1.0, f64::INFINITY).unwrap();
        assert!((spot.scale - 20.0).abs() < 1e-9, "{spot:?}");
        assert!((spot.centre.x - 40.0).abs() < 1e-9 && (spot.centre.y - 10.0).abs() < 1e-9);
    }

    #[test]
    fn the_largest_square_in_a_right_triangle() {
        // Mathematical fact: in a right triangle with legs a, b the square in the right corner has the side ab / (a + b).
        let spot = roomiest(
            &outline(&[(0.0, 0.0), (60.0, 0.0), (0.0, 30.0)]),
            &[],
            1.0,
            1.0,
            f64::INFINITY,
        )
        .unwrap();
        assert!(
            spot.scale <= 20.0 + 1e-9 && spot.scale >= 20.0 / (1.0 + SLACK),
            "{spot:?}"
        );
    }

    #[test]
    fn an_l_is_labelled_in_its_arm_and_not_in_its_notch() {
        let l = outline(&[
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 20.0),
            (20.0, 20.0),
            (20.0, 100.0),
            (0.0, 100.0),
        ]);
        let spot = roomiest(&l, &[], 3.0, 1.0, f64::INFINITY).unwrap();
        assert!(spot.centre.y < 20.0 && spot.scale >= 20.0 / (1.0 + SLACK), "{spot:?}");
    }

    #[test]
    fn obstacles_are_kept_clear_of() {
        let flaw = outline(&[(30.0, 0.0), (70.0, 0.0), (70.0, 50.0), (30.0, 50.0)]);
        let spot = roomiest(&Outline::rectangle(100.0, 50.0), &[&flaw], 1.0, 1.0, f64::INFINITY).unwrap();
        assert!(
            spot.scale <= 30.0 + 1e-9 && spot.scale >= 30.0 / (1.0 + SLACK),
            "{spot:?}"
        );
    }

    proptest! {
        /// The box found lies inside: its corners and middles of sides are inside the (convex or notched) shape.
        #[test]
        fn the_box_found_lies_inside(
            radii in prop::collection::vec(20.0_f64..100.0, 3..12),
            width in 0.5_f64..8.0,
        ) {
            let n = radii.len() as f64;
            let points: Vec<(f64, f64)> = radii.iter().enumerate().map(|(i, r)| {
                let angle = std::f64::consts::TAU * i as f64 / n;
                (r * angle.cos(), r * angle.sin())
            }).collect();
            let shape = outline(&points);
            if let Some(spot) = roomiest(&shape, &[], width, 1.0, f64::INFINITY) {
                let sides = Scaled::new(&shape, &[], 1.0, 1.0).sides;
                let (hw, hh) = (width / 2.0 * spot.scale * 0.999, 0.5 * spot.scale * 0.999);
                for (dx, dy) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (0.0, 1.0), (1.0, 0.0)] {
                    let at = Point { x: spot.centre.x + dx * hw, y: spot.centre.y + dy * hh };
                    prop_assert!(signed_distance(&sides, at) > 0.0);
                }
            }
        }
    }
}
