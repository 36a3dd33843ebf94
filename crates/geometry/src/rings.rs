//! From the integer engine's rings to outlines: its results may touch themselves, which an outline must not.
//!
//! The engine is content with rings that touch themselves or their holes in single points, even where such a point is
//! all that joins two bodies. Here the boundary is walked anew, always keeping close to the inside, so that bodies that
//! meet in a point come apart.

use crate::Outline;
use crate::clipper::{self, GridPoint, GridShapes, to_mm, twice_area};
use geo::{LineString, Polygon};
use std::collections::{BTreeMap, BTreeSet};

/// To which side a ring may be moved, by a few grid units, when only that makes it simple.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Give {
    /// Outwards: the result must cover the ring.
    Outwards,
    /// Inwards: the ring must cover the result.
    Inwards,
}

/// The outlines that one polygon of the engine stands for.
#[derive(Default)]
pub(crate) struct Parts {
    pub(crate) bodies: Vec<Outline>,
    pub(crate) holes: Vec<Outline>,
}

type Ring = Vec<GridPoint>;

/// Splits a polygon where it touches itself. One that still crosses itself (rounding can do that in the thinnest
/// slivers) is moved by 1, 2, 4, … grid units to the side given until it does not.
pub(crate) fn parts(polygon: &Polygon<i64>, give: Give) -> Parts {
    let mut rings = vec![turned(open(polygon.exterior()), true)];
    rings.extend(polygon.interiors().iter().map(|hole| turned(open(hole), false)));
    if let [ring] = &rings[..]
        && let Ok(body) = Outline::from_finite(ring.iter().copied().map(to_mm).collect())
    {
        return Parts {
            bodies: vec![body],
            holes: vec![],
        };
    }
    split_at_touches(&rings).unwrap_or_else(|| moved(rings, give))
}

/// All outer rings of `polygons` as outlines, largest first, holes left out.
pub(crate) fn bodies(polygons: &[Polygon<i64>], give: Give) -> Vec<Outline> {
    let mut bodies: Vec<Outline> = polygons
        .iter()
        .flat_map(|p| parts(&Polygon::new(p.exterior().clone(), vec![]), give).bodies)
        .collect();
    bodies.sort_by(|a, b| b.area().total_cmp(&a.area()));
    bodies
}

/// Each ring by itself, moved until it is simple; what never is, is thinner than the grid and dropped.
fn moved(rings: Vec<Ring>, give: Give) -> Parts {
    let mut all = Parts::default();
    for ring in rings {
        let is_hole = twice_area(&ring) < 0;
        let outwards = (give == Give::Outwards) != is_hole;
        let shape = GridShapes::from_rings([turned(ring, true)]);
        let sign = if outwards { 1.0 } else { -1.0 };
        let found = (0..6).find_map(|doubling| {
            let polygons = clipper::offset(&shape, sign * f64::from(1 << doubling), 2.0);
            polygons
                .iter()
                .map(|p| split_at_touches(&[turned(open(p.exterior()), true)]).map(|p| p.bodies))
                .collect::<Option<Vec<_>>>()
        });
        let list = if is_hole { &mut all.holes } else { &mut all.bodies };
        list.extend(found.into_iter().flatten().flatten());
    }
    all
}

/// Counter-clockwise bodies and clockwise holes, taken apart where they touch; `None` if a part crosses itself.
fn split_at_touches(rings: &[Ring]) -> Option<Parts> {
    let mut parts = Parts::default();
    let walked = walk(&edges(&with_touching_corners(rings)));
    for ring in walked.iter().flat_map(|ring| loops(ring)) {
        let ring = without_spikes(ring);
        let area = twice_area(&ring);
        if ring.len() < 3 || area == 0 {
            continue;
        }
        let outline = Outline::from_finite(ring.into_iter().map(to_mm).collect()).ok()?;
        let list = if area > 0 { &mut parts.bodies } else { &mut parts.holes };
        list.push(outline);
    }
    Some(parts)
}

fn open(ring: &LineString<i64>) -> Ring {
    let mut ring = ring.0.clone();
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    ring
}

fn turned(mut ring: Ring, counter_clockwise: bool) -> Ring {
    if (twice_area(&ring) > 0) != counter_clockwise {
        ring.reverse();
    }
    ring
}

/// The rings with every corner that lies on another side put into that side too. Cost O(n log n) when sides are short
/// against the whole, O(n²) at worst.
fn with_touching_corners(rings: &[Ring]) -> Vec<Ring> {
    let mut corners: Vec<GridPoint> = rings.iter().flatten().copied().collect();
    corners.sort_by_key(key);
    corners.dedup();
    let split = |ring: &Ring| {
        let mut result = vec![];
        for (i, &a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            result.push(a);
            let from = corners.partition_point(|p| p.x < a.x.min(b.x));
            let to = corners.partition_point(|p| p.x <= a.x.max(b.x));
            let mut on_side: Vec<GridPoint> = corners[from..to]
                .iter()
                .copied()
                .filter(|p| strictly_between(a, b, *p))
                .collect();
            on_side.sort_by_key(|p| (p.x - a.x).abs() + (p.y - a.y).abs());
            result.extend(on_side);
        }
        result
    };
    rings.iter().map(split).collect()
}

/// The directed sides of the rings, the inside to their left; those that run both ways enclose nothing and cancel.
fn edges(rings: &[Ring]) -> BTreeMap<(i64, i64), Vec<GridPoint>> {
    let mut directed = BTreeSet::new();
    for ring in rings {
        for (i, a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            if *a != b && !directed.remove(&(key(&b), key(a))) {
                directed.insert((key(a), key(&b)));
            }
        }
    }
    let mut leaving: BTreeMap<(i64, i64), Vec<GridPoint>> = BTreeMap::new();
    for (a, b) in directed {
        leaving.entry(a).or_default().push(GridPoint { x: b.0, y: b.1 });
    }
    leaving
}

/// Walks all sides; where several leave a corner, takes the one next to the inside.
fn walk(leaving: &BTreeMap<(i64, i64), Vec<GridPoint>>) -> Vec<Ring> {
    let mut left = leaving.clone();
    let mut rings = vec![];
    for start in leaving.keys() {
        while let Some(first) = left.get_mut(start).and_then(Vec::pop) {
            let origin = GridPoint { x: start.0, y: start.1 };
            let mut ring = vec![origin];
            let (mut from, mut at) = (origin, first);
            while let Some(ways) = left.get_mut(&key(&at)) {
                let back = from - at;
                let next = (0..ways.len()).min_by(|&i, &j| clockwise(back, ways[i] - at, ways[j] - at));
                let Some(next) = next else { break };
                ring.push(at);
                (from, at) = (at, ways.remove(next));
            }
            rings.push(ring);
        }
    }
    rings
}

/// Which of two directions is met first when turning clockwise from `from`, which itself comes last.
fn clockwise(from: GridPoint, a: GridPoint, b: GridPoint) -> std::cmp::Ordering {
    let quarter = |d: GridPoint| match (cross(from, d).signum(), dot(from, d).signum()) {
        (-1, _) => 0,
        (0, -1) => 1,
        (1, _) => 2,
        _ => 3,
    };
    quarter(a).cmp(&quarter(b)).then_with(|| cross(a, b).cmp(&0))
}

/// The ring cut into loops wherever it comes back to a corner it has passed.
fn loops(ring: &[GridPoint]) -> Vec<Ring> {
    let mut found = vec![];
    let mut trail: Ring = vec![];
    let mut place: BTreeMap<(i64, i64), usize> = BTreeMap::new();
    for p in ring {
        if let Some(&start) = place.get(&key(p)) {
            for q in &trail[start + 1..] {
                place.remove(&key(q));
            }
            found.push(trail[start..].to_vec());
            trail.truncate(start + 1);
        } else {
            place.insert(key(p), trail.len());
            trail.push(*p);
        }
    }
    found.push(trail);
    found
}

/// Drops corners at which the ring goes back on itself; they enclose nothing.
fn without_spikes(mut ring: Ring) -> Ring {
    loop {
        let n = ring.len();
        if n < 3 {
            return ring;
        }
        let spike = (0..n).find(|&i| {
            let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            b == c || (cross(b - a, c - b) == 0 && dot(b - a, c - b) < 0)
        });
        match spike {
            Some(i) => drop(ring.remove(i)),
            None => return ring,
        }
    }
}

fn strictly_between(a: GridPoint, b: GridPoint, p: GridPoint) -> bool {
    p != a
        && p != b
        && (a.x.min(b.x)..=a.x.max(b.x)).contains(&p.x)
        && (a.y.min(b.y)..=a.y.max(b.y)).contains(&p.y)
        && cross(b - a, p - a) == 0
}

fn key(p: &GridPoint) -> (i64, i64) {
    (p.x, p.y)
}

fn cross(a: GridPoint, b: GridPoint) -> i128 {
    i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x)
}

fn dot(a: GridPoint, b: GridPoint) -> i128 {
    i128::from(a.x) * i128::from(b.x) + i128::from(a.y) * i128::from(b.y)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(i64, i64)]) -> LineString<i64> {
        LineString::new(points.iter().map(|(x, y)| GridPoint { x: *x, y: *y }).collect())
    }

    #[track_caller]
    fn check(outer: &[(i64, i64)], holes: &[&[(i64, i64)]], bodies: usize, hole_count: usize) {
        let polygon = Polygon::new(ring(outer), holes.iter().map(|h| ring(h)).collect());
        let parts = parts(&polygon, Give::Inwards);
        assert_eq!((parts.bodies.len(), parts.holes.len()), (bodies, hole_count));
    }

    const SQUARE: [(i64, i64); 4] = [(0, 0), (100, 0), (100, 100), (0, 100)];

    #[test]
    fn bodies_that_meet_in_a_point_come_apart() {
        let hourglass = [(0, 0), (100, 0), (50, 50), (100, 100), (0, 100), (50, 50)];
        check(&hourglass, &[], 2, 0);
        check(&SQUARE, &[&[(0, 50), (50, 0), (100, 50), (50, 100)]], 4, 0);
        // Two holes that part the square only together.
        let left = [(0, 50), (20, 40), (50, 50), (20, 60)];
        let right = [(50, 50), (70, 40), (100, 50), (70, 60)];
        check(&SQUARE, &[&left, &right], 2, 0);
    }

    #[test]
    fn holes_that_touch_in_one_point_stay_holes() {
        check(&SQUARE, &[&[(0, 50), (20, 40), (50, 50), (20, 60)]], 1, 1);
        check(&SQUARE, &[&[(20, 20), (40, 20), (40, 40), (20, 40)]], 1, 1);
        let left = [(10, 50), (20, 40), (50, 50), (20, 60)];
        let right = [(50, 50), (70, 40), (90, 50), (70, 60)];
        check(&SQUARE, &[&left, &right], 1, 2);
        // A keyhole: the ring itself runs round its hole, which touches a corner.
        check(
            &[(0, 0), (100, 0), (100, 100), (0, 100), (0, 0), (20, 50), (50, 20)],
            &[],
            1,
            1,
        );
    }

    #[test]
    fn spikes_and_sides_that_run_both_ways_go() {
        check(
            &[(0, 0), (50, 0), (150, 0), (50, 0), (100, 0), (100, 100), (0, 100)],
            &[],
            1,
            0,
        );
        check(
            &[(0, 0), (100, 0), (100, 100), (100, 200), (100, 100), (0, 100)],
            &[],
            1,
            0,
        );
        check(&[(0, 0), (100, 0)], &[], 0, 0);
    }
}
