//! The faces between the edges.

use super::{Arrangement, Edge, Trouble};
use crate::curve::{Curve, length};
use cullet_geometry::Point;
use std::f64::consts::TAU;

/// How finely arcs are taken where only inside or outside is asked, mm.
const CHORD_MM: f64 = 0.01;

/// An edge as one walks along it with the face on the left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Side {
    /// Index in [`Arrangement::edges`].
    pub edge: usize,
    /// Whether it is walked from its start to its end.
    pub forward: bool,
}

/// A bounded face.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Its boundary, counter-clockwise.
    pub sides: Vec<Side>,
    /// Its area in mm², what parts within it enclose taken off; exact.
    pub area: f64,
    /// Parts that lie within it without touching its boundary, by index in [`Arrangement::outsides`].
    pub holes: Vec<usize>,
}

impl Arrangement {
    /// The curves of a side, walked with the face on the left.
    #[must_use]
    pub fn curves_of(&self, side: Side) -> Vec<Curve> {
        walked(&self.edges, side)
    }

    /// The boundary of a face as points, arcs as chords within 0.01 mm.
    #[must_use]
    pub fn points_of(&self, sides: &[Side]) -> Vec<Point> {
        sides
            .iter()
            .flat_map(|side| self.curves_of(*side))
            .flat_map(|curve| curve.chords(CHORD_MM))
            .collect()
    }

    /// The face on the other side of each side: its index, `None` for the outside.
    #[must_use]
    pub fn faces_beside(&self) -> Vec<[Option<usize>; 2]> {
        let mut beside = vec![[None; 2]; self.edges.len()];
        for (i, face) in self.faces.iter().enumerate() {
            for side in &face.sides {
                beside[side.edge][usize::from(!side.forward)] = Some(i);
            }
            for side in face.holes.iter().flat_map(|hole| &self.outsides[*hole]) {
                beside[side.edge][usize::from(!side.forward)] = Some(i);
            }
        }
        beside
    }
}

fn walked(edges: &[Edge], side: Side) -> Vec<Curve> {
    let curves = &edges[side.edge].curves;
    if side.forward {
        curves.clone()
    } else {
        curves.iter().rev().map(Curve::reversed).collect()
    }
}

/// Walks all faces and puts the arrangement together.
pub(super) fn walk(junctions: Vec<Point>, edges: Vec<Edge>, loose: Vec<Edge>, troubles: Vec<Trouble>) -> Arrangement {
    let (junctions, edges, loose) = only_used(&junctions, edges, loose);
    let next = next_around(&edges, junctions.len());
    let mut seen = vec![false; edges.len() * 2];
    let (mut faces, mut outsides) = (vec![], vec![]);
    for first in 0..seen.len() {
        let (mut sides, mut twice_area) = (vec![], 0.0);
        let mut at = first;
        while !seen[at] {
            seen[at] = true;
            let side = Side {
                edge: at / 2,
                forward: at.is_multiple_of(2),
            };
            // Seen from the first junction, so that little is lost far from the origin.
            let origin = junctions[edges[first / 2].from];
            twice_area += walked(&edges, side)
                .iter()
                .map(|c| c.translated(origin * -1.0).twice_area())
                .sum::<f64>();
            sides.push(side);
            at = next[at];
        }
        if sides.is_empty() {
            continue;
        }
        if twice_area > 0.0 {
            faces.push(Face {
                sides,
                area: twice_area / 2.0,
                holes: vec![],
            });
        } else {
            outsides.push((sides, twice_area / -2.0));
        }
    }
    let mut found = Arrangement {
        junctions,
        edges,
        loose,
        faces,
        outsides: outsides.iter().map(|(sides, _)| sides.clone()).collect(),
        troubles,
    };
    let areas: Vec<f64> = outsides.into_iter().map(|(_, area)| area).collect();
    put_holes(&mut found, &areas);
    found
}

/// Junctions that some edge uses, numbered anew.
fn only_used(junctions: &[Point], mut edges: Vec<Edge>, mut loose: Vec<Edge>) -> (Vec<Point>, Vec<Edge>, Vec<Edge>) {
    let mut number = vec![None; junctions.len()];
    let mut used = vec![];
    for edge in edges.iter_mut().chain(&mut loose) {
        for end in [&mut edge.from, &mut edge.to] {
            let n = *number[*end].get_or_insert_with(|| {
                used.push(junctions[*end]);
                used.len() - 1
            });
            *end = n;
        }
    }
    (used, edges, loose)
}

/// For each half-edge (2 · edge, + 1 walked backwards) the one that follows it round its face: at the junction it comes to,
/// the next one clockwise from the way back.
fn next_around(edges: &[Edge], junctions: usize) -> Vec<usize> {
    let mut leaving: Vec<Vec<usize>> = vec![vec![]; junctions];
    for (i, edge) in edges.iter().enumerate() {
        leaving[edge.from].push(2 * i);
        leaving[edge.to].push(2 * i + 1);
    }
    let mut next = vec![0; edges.len() * 2];
    for around in &leaving {
        // Where edges leave in one direction the order is that on a small circle, within which none of them meet again.
        // Ends that were moved may cross near the junction: they are ordered by where they go from there.
        let shortest = around
            .iter()
            .map(|h| edges[h / 2].length())
            .fold(f64::INFINITY, f64::min);
        let moved = around.iter().map(|h| edges[h / 2].moved[h % 2]).fold(0.0, f64::max);
        let reach = |length: f64| {
            if moved > 1e-6 {
                (0.3 * length).min((8.0 * moved).max(1.0))
            } else {
                (0.3 * shortest).min(1.0)
            }
        };
        let mut order: Vec<(f64, usize)> = around
            .iter()
            .map(|h| {
                let side = Side {
                    edge: h / 2,
                    forward: h.is_multiple_of(2),
                };
                (direction(&walked(edges, side), reach(edges[h / 2].length())), *h)
            })
            .collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (k, (_, way_back)) in order.iter().enumerate() {
            let clockwise = order[(k + order.len() - 1) % order.len()].1;
            next[way_back ^ 1] = clockwise;
        }
    }
    next
}

/// In which direction a chain first reaches a distance from its start, radians in 0 to 2π.
fn direction(curves: &[Curve], reach: f64) -> f64 {
    let start = curves[0].at(0.0);
    let away = |curve: &Curve, t: f64| length(curve.at(t) - start);
    let mut farthest = curves[0].at(1.0);
    for curve in curves {
        // Steps fine enough that a circle does not come back between two of them.
        let steps = 1 + (curve.length() / reach).min(16.0) as usize;
        for k in 1..=steps {
            let t = k as f64 / steps as f64;
            if away(curve, t) >= reach {
                let (mut low, mut high) = ((k - 1) as f64 / steps as f64, t);
                for _ in 0..50 {
                    let middle = f64::midpoint(low, high);
                    if away(curve, middle) < reach {
                        low = middle;
                    } else {
                        high = middle;
                    }
                }
                return angle(curve.at(high) - start);
            }
            if away(curve, t) > length(farthest - start) {
                farthest = curve.at(t);
            }
        }
    }
    angle(farthest - start)
}

fn angle(v: Point) -> f64 {
    v.y.atan2(v.x).rem_euclid(TAU)
}

/// Finds for each part the smallest face of another part that it lies in.
fn put_holes(found: &mut Arrangement, areas: &[f64]) {
    if found.outsides.len() < 2 {
        return;
    }
    let part = parts(found);
    let outlines: Vec<Vec<Point>> = found.faces.iter().map(|face| found.points_of(&face.sides)).collect();
    let whole: Vec<f64> = found.faces.iter().map(|face| face.area).collect();
    for (i, sides) in found.outsides.iter().enumerate() {
        let edge = &found.edges[sides[0].edge];
        let p = edge.at(0.5);
        let home = (0..found.faces.len())
            .filter(|f| {
                let other = &found.edges[found.faces[*f].sides[0].edge];
                part[other.from] != part[edge.from] && is_inside(&outlines[*f], p)
            })
            .min_by(|a, b| whole[*a].total_cmp(&whole[*b]));
        if let Some(home) = home {
            found.faces[home].holes.push(i);
            found.faces[home].area -= areas[i];
        }
    }
}

/// For each junction the least junction connected with it.
fn parts(found: &Arrangement) -> Vec<usize> {
    let mut part: Vec<usize> = (0..found.junctions.len()).collect();
    fn root(part: &mut [usize], mut i: usize) -> usize {
        while part[i] != i {
            part[i] = part[part[i]];
            i = part[i];
        }
        i
    }
    for edge in &found.edges {
        let (a, b) = (root(&mut part, edge.from), root(&mut part, edge.to));
        part[a.max(b)] = a.min(b);
    }
    (0..part.len()).map(|i| root(&mut part, i)).collect()
}

/// Whether a point lies within a closed line of points, by the number of sides to its right.
pub(crate) fn is_inside(points: &[Point], p: Point) -> bool {
    let mut inside = false;
    let mut before = points.last();
    for q in points {
        if let Some(a) = before
            && (a.y > p.y) != (q.y > p.y)
            && p.x < (q.x - a.x) * (p.y - a.y) / (q.y - a.y) + a.x
        {
            inside = !inside;
        }
        before = Some(q);
    }
    inside
}
