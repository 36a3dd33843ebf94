//! From lead lines to cells: the planar subdivision that a cartoon is.

use super::cell::{Cell, Edge};
use super::curve::{Curve, SAME_POINT, length, point};
use anyhow::{Result, bail, ensure};
use cullet_geometry::Point;

/// A panel's cartoon: its outer edge and its lead lines.
#[derive(Debug, Clone, Default)]
pub struct Cartoon {
    curves: Vec<(Curve, bool)>,
}

impl Cartoon {
    /// An upright panel with its lower left corner at the origin, mm.
    #[must_use]
    pub fn panel(width: f64, height: f64) -> Self {
        let corners = [
            point(0.0, 0.0),
            point(width, 0.0),
            point(width, height),
            point(0.0, height),
        ];
        let side = |i: usize| (Curve::line(corners[i], corners[(i + 1) % 4]), true);
        Self {
            curves: (0..4).map(side).collect(),
        }
    }

    /// Draws a lead line. It may run past the line it butts against: what hangs over is trimmed off.
    pub fn lead(&mut self, curve: Curve) {
        self.curves.push((curve, false));
    }

    /// Draws a straight lead line.
    pub fn straight(&mut self, from: Point, to: Point) {
        self.lead(Curve::line(from, to));
    }

    /// Draws a full circle.
    pub fn circle(&mut self, centre: Point, radius: f64) {
        self.lead(Curve::arc(centre, radius, 0.0, 180.0));
        self.lead(Curve::arc(centre, radius, 180.0, 360.0));
    }

    /// The cells between the lines, counter-clockwise. Two lines may cross and touch, but not lie on each other.
    ///
    /// # Errors
    /// When the lines do not hang together or two leave a junction in one direction.
    pub fn cells(&self) -> Result<Vec<Cell>> {
        let mut junctions = Junctions::default();
        let mut parts = self.parts(&mut junctions);
        trim_overhangs(&mut parts, junctions.points.len());
        let half_edges: Vec<HalfEdge> = parts.iter().flat_map(HalfEdge::both).collect();
        let next = next_around(&half_edges, junctions.points.len())?;

        let mut seen = vec![false; half_edges.len()];
        let (mut cells, mut outsides) = (Vec::new(), 0);
        for first in 0..half_edges.len() {
            let mut edges = Vec::new();
            let mut at = first;
            while !seen[at] {
                seen[at] = true;
                edges.push(Edge {
                    curve: half_edges[at].curve,
                    border: half_edges[at].border,
                });
                at = next[at];
            }
            if edges.is_empty() {
                continue;
            }
            let cell = Cell::new(edges);
            if cell.area() > 0.0 {
                cells.push(cell);
            } else {
                outsides += 1;
            }
        }
        ensure!(
            outsides == 1,
            "the lead lines fall into {outsides} parts that do not touch"
        );
        Ok(cells)
    }

    /// The lead lines without what hangs over where they end, each as one curve.
    #[must_use]
    pub fn trimmed(&self) -> Vec<Curve> {
        let mut junctions = Junctions::default();
        let mut parts = self.parts(&mut junctions);
        trim_overhangs(&mut parts, junctions.points.len());
        let mut lines = Vec::new();
        for (i, (curve, border)) in self.curves.iter().enumerate() {
            if *border {
                continue;
            }
            let mut own = parts.iter().filter(|part| part.line == i);
            // A line of which all hangs over bounds nothing.
            if let Some(first) = own.next() {
                let last = own.next_back().unwrap_or(first);
                lines.push(curve.part(first.range[0], last.range[1]));
            }
        }
        lines
    }

    /// All lines cut at their junctions.
    fn parts(&self, junctions: &mut Junctions) -> Vec<Part> {
        let mut parts = Vec::new();
        for (i, (curve, border)) in self.curves.iter().enumerate() {
            let mut cuts = vec![0.0, 1.0];
            for (_, (other, _)) in self.curves.iter().enumerate().filter(|(j, _)| *j != i) {
                let meet = curve.carriers_meet(other).into_iter();
                let ends = [other.at(0.0), other.at(1.0)]
                    .into_iter()
                    .filter(|p| curve.distance(*p) < SAME_POINT);
                let on_both = meet.filter(|p| other.position_of(*p).is_some()).chain(ends);
                cuts.extend(on_both.filter_map(|p| curve.position_of(p)));
            }
            cuts.sort_by(f64::total_cmp);
            let mut from = 0.0;
            for t in cuts {
                if (t - from) * curve.length() < 2.0 * SAME_POINT {
                    continue;
                }
                let ends = [junctions.number(curve.at(from)), junctions.number(curve.at(t))];
                parts.push(Part {
                    curve: curve.part(from, t),
                    border: *border,
                    ends,
                    line: i,
                    range: [from, t],
                });
                from = t;
            }
        }
        parts
    }
}

/// A line between two junctions.
struct Part {
    curve: Curve,
    border: bool,
    ends: [usize; 2],
    /// The line it is part of, and from where to where.
    line: usize,
    range: [f64; 2],
}

/// The same, walked in one direction: the cell lies on its left.
struct HalfEdge {
    curve: Curve,
    border: bool,
    from: usize,
}

impl HalfEdge {
    fn both(part: &Part) -> [Self; 2] {
        let walk = |curve, from| Self {
            curve,
            border: part.border,
            from,
        };
        [
            walk(part.curve, part.ends[0]),
            walk(part.curve.part(1.0, 0.0), part.ends[1]),
        ]
    }
}

#[derive(Default)]
struct Junctions {
    points: Vec<Point>,
}

impl Junctions {
    fn number(&mut self, p: Point) -> usize {
        let near = self.points.iter().position(|q| length(p - *q) < 10.0 * SAME_POINT);
        near.unwrap_or_else(|| {
            self.points.push(p);
            self.points.len() - 1
        })
    }
}

fn trim_overhangs(parts: &mut Vec<Part>, junctions: usize) {
    loop {
        let mut meeting = vec![0; junctions];
        for end in parts.iter().flat_map(|p| p.ends) {
            meeting[end] += 1;
        }
        let before = parts.len();
        parts.retain(|p| p.ends.iter().all(|e| meeting[*e] > 1));
        if parts.len() == before {
            return;
        }
    }
}

/// For each half-edge the one that follows it round its cell: the next one clockwise from the way back.
fn next_around(half_edges: &[HalfEdge], junctions: usize) -> Result<Vec<usize>> {
    let mut leaving: Vec<Vec<(f64, usize)>> = vec![Vec::new(); junctions];
    for (i, half) in half_edges.iter().enumerate() {
        let d = half.curve.direction(0.0);
        leaving[half.from].push((d.y.atan2(d.x), i));
    }
    let mut next = vec![0; half_edges.len()];
    for around in &mut leaving {
        around.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (k, (angle, way_back)) in around.iter().enumerate() {
            let (other_angle, clockwise) = around[(k + around.len() - 1) % around.len()];
            if around.len() > 1 && (angle - other_angle).abs() < 1e-6 {
                bail!(
                    "two lead lines leave {:?} in one direction",
                    half_edges[*way_back].curve.at(0.0)
                );
            }
            next[way_back ^ 1] = clockwise;
        }
    }
    Ok(next)
}
