//! Where courses cross, and where they come within the snap tolerance of touching.

use super::course::{Course, Spot};
use super::{MOST_MEETINGS, MOST_PAIRS, TooMuch, WELD_MM};
use crate::curve::{Curve, SAME_POINT, dot, length, point};
use cullet_geometry::Point;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// A course is cut at a spot, which belongs to a meeting place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cut {
    pub(super) course: usize,
    pub(super) spot: Spot,
    /// Index of the meeting place.
    pub(super) place: usize,
}

/// All cuts and the places where they meet.
#[derive(Debug, Clone, Default)]
pub(super) struct Cuts {
    pub(super) places: Vec<Point>,
    pub(super) cuts: Vec<Cut>,
    /// Pairs of curves looked at so far.
    pairs: usize,
}

impl Cuts {
    /// Counts pairs that are about to be looked at.
    pub(super) fn look(&mut self, pairs: usize) -> Result<(), TooMuch> {
        self.pairs += pairs;
        let too_much = |most, what| Err(TooMuch { most, what });
        if self.pairs > MOST_PAIRS {
            return too_much(MOST_PAIRS, "pairs of lines near each other");
        }
        // A meeting cuts two lines.
        if self.cuts.len() > 2 * MOST_MEETINGS {
            return too_much(MOST_MEETINGS, "places where lines meet");
        }
        Ok(())
    }

    pub(super) fn place(&mut self, at: Point) -> usize {
        self.places.push(at);
        self.places.len() - 1
    }

    pub(super) fn add(&mut self, course: usize, spot: Spot, place: usize) {
        self.cuts.push(Cut { course, spot, place });
    }
}

/// One curve of one course.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub(super) course: usize,
    pub(super) index: usize,
    pub(super) curve: Curve,
}

type Boxed = GeomWithData<Rectangle<[f64; 2]>, usize>;

/// All curves, found by where they are.
pub(super) struct Index {
    pub(super) parts: Vec<Part>,
    tree: RTree<Boxed>,
}

impl Index {
    pub(super) fn new(courses: &[Course]) -> Self {
        let parts: Vec<Part> = courses
            .iter()
            .enumerate()
            .flat_map(|(course, c)| {
                c.curves.iter().enumerate().map(move |(index, curve)| Part {
                    course,
                    index,
                    curve: *curve,
                })
            })
            .collect();
        let boxed = parts.iter().enumerate().map(|(i, part)| {
            let (low, high) = part.curve.corners();
            GeomWithData::new(Rectangle::from_corners([low.x, low.y], [high.x, high.y]), i)
        });
        let tree = RTree::bulk_load(boxed.collect());
        Self { parts, tree }
    }

    /// Indices of the curves whose boxes come within `reach` of a box, in order.
    pub(super) fn within(&self, low: Point, high: Point, reach: f64) -> Vec<usize> {
        let around = AABB::from_corners([low.x - reach, low.y - reach], [high.x + reach, high.y + reach]);
        let mut found: Vec<usize> = self
            .tree
            .locate_in_envelope_intersecting(&around)
            .map(|boxed| boxed.data)
            .collect();
        found.sort_unstable();
        found
    }
}

/// Every crossing, touch and near touch between curves; free ends are left to `ends`.
pub(super) fn crossings(courses: &[Course], index: &Index, snap: f64) -> Result<Cuts, TooMuch> {
    let mut cuts = Cuts::default();
    for (i, a) in index.parts.iter().enumerate() {
        let (low, high) = a.curve.corners();
        let near = index.within(low, high, snap);
        cuts.look(near.len())?;
        for j in near {
            if j > i {
                pair(courses, index, a, &index.parts[j], snap, &mut cuts);
            }
        }
        if let Some(joint) = joint_after(courses, a) {
            near_joint(courses, index, a, &joint, snap, &mut cuts);
        }
    }
    cuts.look(0)?;
    Ok(cuts)
}

fn pair(courses: &[Course], index: &Index, a: &Part, b: &Part, snap: f64, cuts: &mut Cuts) {
    let mut crosses = false;
    for p in a.curve.carriers_meet(&b.curve) {
        let (Some(s), Some(t)) = (a.curve.position_of(p), b.curve.position_of(p)) else {
            continue;
        };
        let spots = (Spot { curve: a.index, t: s }, Spot { curve: b.index, t });
        // Where one curve of a course hands over to the next it is no crossing.
        if a.course == b.course && courses[a.course].apart(spots.0, spots.1) < 10.0 * WELD_MM {
            continue;
        }
        crosses = true;
        let place = cuts.place(p);
        cuts.add(a.course, spots.0, place);
        cuts.add(b.course, spots.1, place);
    }
    if crosses {
        return;
    }
    if let Some((p, q)) = nearest_between(&a.curve, &b.curve, snap)
        && let (Some(s), Some(t)) = (a.curve.position_of(p), b.curve.position_of(q))
    {
        let spots = (Spot { curve: a.index, t: s }, Spot { curve: b.index, t });
        let same = a.course == b.course && courses[a.course].apart(spots.0, spots.1) < 4.0 * snap;
        if same || is_between(index, a, b, p, q) {
            return;
        }
        // A straight line stays straight.
        let at = match (a.curve, b.curve) {
            (Curve::Line { .. }, _) => p,
            (_, Curve::Line { .. }) => q,
            _ => (p + q) / 2.0,
        };
        let place = cuts.place(at);
        cuts.add(a.course, spots.0, place);
        cuts.add(b.course, spots.1, place);
    }
}

/// Whether another line passes between two that nearly touch: they touch that, not each other.
fn is_between(index: &Index, a: &Part, b: &Part, p: Point, q: Point) -> bool {
    let gap = Curve::line(p, q);
    let (low, high) = gap.corners();
    gap.length() > SAME_POINT
        && index.within(low, high, SAME_POINT).into_iter().any(|i| {
            let other = &index.parts[i];
            other.course != a.course
                && other.course != b.course
                && gap
                    .carriers_meet(&other.curve)
                    .into_iter()
                    .any(|m| gap.position_of(m).is_some() && other.curve.position_of(m).is_some())
        })
}

/// The points in which two carriers, at least one a circle, come nearest, where that is within the snap tolerance and they
/// do not cross.
fn nearest_between(a: &Curve, b: &Curve, snap: f64) -> Option<(Point, Point)> {
    match (*a, *b) {
        (Curve::Line { from, .. }, Curve::Arc { centre, radius, .. }) => {
            let along = a.direction(0.0);
            let foot = from + along * dot(centre - from, along);
            let out = foot - centre;
            let gap = length(out) - radius;
            (gap >= -SAME_POINT && gap <= snap).then(|| (foot, centre + out * (radius / length(out))))
        }
        (Curve::Arc { .. }, Curve::Line { .. }) => nearest_between(b, a, snap).map(|(p, q)| (q, p)),
        (
            Curve::Arc {
                centre: c1, radius: r1, ..
            },
            Curve::Arc {
                centre: c2, radius: r2, ..
            },
        ) => {
            let apart = length(c2 - c1);
            let axis = if apart > SAME_POINT {
                (c2 - c1) / apart
            } else {
                point(1.0, 0.0)
            };
            let outer = apart - (r1 + r2);
            let inner = (r1 - r2).abs() - apart;
            let close = |gap: f64| gap >= -SAME_POINT && gap <= snap;
            if close(outer) {
                Some((c1 + axis * r1, c2 - axis * r2))
            } else if close(inner) {
                // The smaller circle nestles against the larger on the side of its own centre.
                let side = if r1 > r2 { axis } else { axis * -1.0 };
                Some((c1 + side * r1, c2 + side * r2))
            } else {
                None
            }
        }
        _ => None,
    }
}

/// The corner between a curve and the next of its course: where, and the directions to either side.
struct Joint {
    at: Point,
    spot: Spot,
    back: Point,
    on: Point,
}

fn joint_after(courses: &[Course], part: &Part) -> Option<Joint> {
    let course = &courses[part.course];
    let next = match part.index + 1 {
        i if i < course.curves.len() => i,
        _ if course.closed && course.curves.len() > 1 => 0,
        _ => return None,
    };
    Some(Joint {
        at: part.curve.at(1.0),
        spot: Spot {
            curve: part.index,
            t: 1.0,
        },
        back: part.curve.direction(1.0) * -1.0,
        on: course.curves[next].direction(0.0),
    })
}

/// A corner that comes near another curve and goes away again touches it.
fn near_joint(courses: &[Course], index: &Index, part: &Part, joint: &Joint, snap: f64, cuts: &mut Cuts) {
    for j in index.within(joint.at, joint.at, snap) {
        let other = &index.parts[j];
        let (t, away) = other.curve.nearest(joint.at);
        if away > snap {
            continue;
        }
        let spot = Spot { curve: other.index, t };
        let same = other.course == part.course;
        if same && courses[part.course].apart(spot, joint.spot) < 4.0 * snap {
            continue;
        }
        let from_other = joint.at - other.curve.at(t);
        let leaves = |way: Point| dot(from_other, way) >= -1e-6 * away;
        let passes_by = away < SAME_POINT || (leaves(joint.back) && leaves(joint.on));
        if passes_by {
            let place = cuts.place(joint.at);
            cuts.add(part.course, joint.spot, place);
            cuts.add(other.course, spot, place);
        }
    }
}
