//! From the integer engine's rings to outlines: its results may touch themselves, which an outline must not.

use crate::Outline;
use crate::clipper::{self, GridPoint, GridShapes, to_mm, twice_area};
use geo::Polygon;
use std::collections::BTreeMap;

/// To which side a ring may be moved, by a few grid units, when only that makes it simple.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Give {
    /// Outwards: the result must cover the ring.
    Outwards,
    /// Inwards: the ring must cover the result.
    Inwards,
}

/// The outlines that one ring of the engine stands for: bodies, and holes that touch the ring from within.
pub(crate) struct Parts {
    pub(crate) bodies: Vec<Outline>,
    pub(crate) holes: Vec<Outline>,
}

/// Splits a ring where it touches itself. A ring that still crosses itself (rounding can do that in the thinnest
/// slivers) is moved by 1, 2, 4, … grid units to the side given until it does not.
pub(crate) fn parts(ring: &[GridPoint], give: Give) -> Parts {
    let ring = counter_clockwise(open(ring));
    if let Some(parts) = split_at_touches(&ring) {
        return parts;
    }
    let sign = if give == Give::Outwards { 1.0 } else { -1.0 };
    for step in 0..6 {
        let moved = clipper::offset(&GridShapes::from_rings([ring.clone()]), sign * f64::from(1 << step), 2.0);
        let split: Option<Vec<Parts>> = moved.iter().map(|p| split_at_touches(&open(&p.exterior().0))).collect();
        if let Some(all) = split {
            return Parts {
                bodies: all.into_iter().flat_map(|p| p.bodies).collect(),
                holes: vec![],
            };
        }
    }
    Parts {
        bodies: vec![],
        holes: vec![],
    }
}

/// All outer rings of `polygons` as outlines, largest first, holes left out.
pub(crate) fn bodies(polygons: &[Polygon<i64>], give: Give) -> Vec<Outline> {
    let mut bodies: Vec<Outline> = polygons
        .iter()
        .flat_map(|p| parts(&p.exterior().0, give).bodies)
        .collect();
    bodies.sort_by(|a, b| b.area().total_cmp(&a.area()));
    bodies
}

fn open(ring: &[GridPoint]) -> Vec<GridPoint> {
    let mut ring = ring.to_vec();
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    ring
}

fn counter_clockwise(mut ring: Vec<GridPoint>) -> Vec<GridPoint> {
    if twice_area(&ring) < 0 {
        ring.reverse();
    }
    ring
}

fn split_at_touches(ring: &[GridPoint]) -> Option<Parts> {
    outlines_of(loops(ring)).or_else(|| outlines_of(loops(&with_touching_corners(ring))))
}

fn outlines_of(loops: Vec<Vec<GridPoint>>) -> Option<Parts> {
    let mut parts = Parts {
        bodies: vec![],
        holes: vec![],
    };
    for ring in loops {
        let ring = without_spikes(ring);
        let area = twice_area(&ring);
        if ring.len() < 3 || area == 0 {
            continue;
        }
        let outline = Outline::from_finite(ring.into_iter().map(to_mm).collect()).ok()?;
        if area > 0 {
            parts.bodies.push(outline);
        } else {
            parts.holes.push(outline);
        }
    }
    Some(parts)
}

/// The ring cut into loops wherever it comes back to a corner it has passed.
fn loops(ring: &[GridPoint]) -> Vec<Vec<GridPoint>> {
    let mut found = vec![];
    let mut trail: Vec<GridPoint> = vec![];
    let mut place: BTreeMap<(i64, i64), usize> = BTreeMap::new();
    for &p in ring {
        if let Some(&start) = place.get(&(p.x, p.y)) {
            for q in &trail[start + 1..] {
                place.remove(&(q.x, q.y));
            }
            found.push(trail[start..].to_vec());
            trail.truncate(start + 1);
        } else {
            place.insert((p.x, p.y), trail.len());
            trail.push(p);
        }
    }
    found.push(trail);
    found
}

/// The ring with every corner that lies on another side put into that side too. O(n²), but hardly ever needed.
fn with_touching_corners(ring: &[GridPoint]) -> Vec<GridPoint> {
    let mut result = vec![];
    for (i, &a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        result.push(a);
        let mut on_side: Vec<GridPoint> = ring.iter().copied().filter(|p| strictly_between(a, b, *p)).collect();
        on_side.sort_by_key(|p| i128::from(p.x - a.x).abs() + i128::from(p.y - a.y).abs());
        on_side.dedup();
        result.extend(on_side);
    }
    result
}

fn strictly_between(a: GridPoint, b: GridPoint, p: GridPoint) -> bool {
    p != a
        && p != b
        && (a.x.min(b.x)..=a.x.max(b.x)).contains(&p.x)
        && (a.y.min(b.y)..=a.y.max(b.y)).contains(&p.y)
        && cross(a, b, p) == 0
}

/// Drops corners at which the ring goes back on itself; they enclose nothing.
fn without_spikes(mut ring: Vec<GridPoint>) -> Vec<GridPoint> {
    loop {
        let n = ring.len();
        if n < 3 {
            return ring;
        }
        let spike = (0..n).find(|&i| {
            let (a, b, c) = (ring[(i + n - 1) % n], ring[i], ring[(i + 1) % n]);
            let back = i128::from(b.x - a.x) * i128::from(c.x - b.x) + i128::from(b.y - a.y) * i128::from(c.y - b.y);
            b == c || (cross(a, b, c) == 0 && back < 0)
        });
        match spike {
            Some(i) => drop(ring.remove(i)),
            None => return ring,
        }
    }
}

fn cross(a: GridPoint, b: GridPoint, c: GridPoint) -> i128 {
    i128::from(b.x - a.x) * i128::from(c.y - a.y) - i128::from(b.y - a.y) * i128::from(c.x - a.x)
}
