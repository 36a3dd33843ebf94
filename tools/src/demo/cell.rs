//! A cell of the cartoon and the finished outline inside it.

use super::curve::{Curve, cross, length, point};
use cullet_geometry::Point;
use cullet_job::OutlineFile;
use std::f64::consts::PI;
use std::fmt::Write as _;

/// One side of a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Its course, the cell on the left.
    pub curve: Curve,
    /// Whether it is the panel's outer edge.
    pub border: bool,
}

/// The area between lead lines' centres, or the finished outline within it: sides in order, counter-clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Its sides; those on one line or circle are one side (up to half a circle).
    pub edges: Vec<Edge>,
}

/// How far the finished outline stands inside the cell, mm.
#[derive(Debug, Clone, Copy)]
pub struct Inset {
    /// From a lead line's centre: half of what lies between neighbouring glasses.
    pub lead: f64,
    /// From the panel's outer edge.
    pub border: f64,
}

impl Cell {
    pub(super) fn new(edges: Vec<Edge>) -> Self {
        let mut merged: Vec<Edge> = Vec::new();
        for edge in edges {
            let both = merged.last().and_then(|last| joined(last, &edge));
            if both.is_some() {
                merged.pop();
            }
            merged.push(both.unwrap_or(edge));
        }
        while merged.len() > 2 {
            let Some(both) = joined(&merged[merged.len() - 1], &merged[0]) else {
                break;
            };
            merged[0] = both;
            merged.pop();
        }
        Self { edges: merged }
    }

    /// Area in mm², exact; negative when clockwise.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.edges.iter().map(|e| e.curve.twice_area()).sum::<f64>() / 2.0
    }

    /// A point in the middle, where a number may stand (mean of points along the sides by length).
    #[must_use]
    pub fn middle(&self) -> Point {
        let (mut sum, mut weight) = (point(0.0, 0.0), 0.0);
        for edge in &self.edges {
            for k in 0..16 {
                let share = edge.curve.length() / 16.0;
                sum = sum + edge.curve.at((f64::from(k) + 0.5) / 16.0) * share;
                weight += share;
            }
        }
        sum / weight
    }

    /// The finished outline: lines shifted, arcs made smaller or larger about their centres, corners met again.
    #[must_use]
    pub fn finished(&self, inset: Inset) -> Self {
        let by = |e: &Edge| if e.border { inset.border } else { inset.lead };
        let shifted: Vec<Curve> = self.edges.iter().map(|e| e.curve.shifted_left(by(e))).collect();
        let count = self.edges.len();
        let corner = |i: usize| {
            let before = (i + count - 1) % count;
            let old = self.edges[i].curve.at(0.0);
            let (into, out) = (
                self.edges[before].curve.direction(1.0),
                self.edges[i].curve.direction(0.0),
            );
            if cross(into, out).abs() < 1e-7 {
                return shifted[i].at(0.0);
            }
            let meet = shifted[before].carriers_meet(&shifted[i]);
            let near = |p: &Point| length(*p - old);
            let nearest = meet.into_iter().min_by(|a, b| near(a).total_cmp(&near(b)));
            nearest.unwrap_or_else(|| shifted[i].at(0.0))
        };
        let edge = |i: usize| Edge {
            curve: shifted[i].between(corner(i), corner((i + 1) % count)),
            border: self.edges[i].border,
        };
        Self {
            edges: (0..count).map(edge).collect(),
        }
    }

    /// The sharpest and the bluntest corner, degrees inside the cell (smooth joins count as 180).
    #[must_use]
    pub fn corner_range(&self) -> (f64, f64) {
        let count = self.edges.len();
        let inside = (0..count).map(|i| {
            let into = self.edges[(i + count - 1) % count].curve.direction(1.0);
            let out = self.edges[i].curve.direction(0.0);
            let turn = cross(into, out).atan2(into.x * out.x + into.y * out.y);
            180.0 - turn.to_degrees()
        });
        inside.fold((360.0, 0.0), |(low, high), a| (f64::min(low, a), f64::max(high, a)))
    }

    /// As a job file has it, y down in a panel `height` mm high: corner points where all sides are straight, otherwise
    /// SVG path data with arcs.
    #[must_use]
    pub fn to_file(&self, height: f64) -> OutlineFile {
        let place = |p: Point| [round(p.x), round(height - p.y)];
        if self.edges.iter().all(|e| matches!(e.curve, Curve::Line { .. })) {
            return OutlineFile::Points(self.edges.iter().map(|e| place(e.curve.at(0.0))).collect());
        }
        let [x, y] = place(self.edges[0].curve.at(0.0));
        let mut data = format!("M {x} {y}");
        for edge in &self.edges {
            let [x, y] = place(edge.curve.at(1.0));
            // Writing to a String cannot fail.
            let _ = match edge.curve {
                Curve::Line { .. } => write!(data, " L {x} {y}"),
                Curve::Arc { radius, turn, .. } => {
                    // With y down a counter-clockwise arc runs against SVG's positive sense.
                    let sweep = u8::from(turn < 0.0);
                    let large = u8::from(turn.abs() > PI);
                    let r = round(radius);
                    write!(data, " A {r} {r} 0 {large} {sweep} {x} {y}")
                }
            };
        }
        data.push_str(" Z");
        OutlineFile::Path(data)
    }
}

/// Two sides as one, if they lie on one carrier and are no more than half a circle.
fn joined(a: &Edge, b: &Edge) -> Option<Edge> {
    if a.border != b.border || !a.curve.same_carrier(&b.curve) {
        return None;
    }
    let curve = match (a.curve, b.curve) {
        (Curve::Arc { turn: first, .. }, Curve::Arc { turn: second, .. }) => {
            let both = first + second;
            (both.abs() < PI * 1.000_001).then(|| a.curve.part(0.0, both / first))?
        }
        _ => Curve::line(a.curve.at(0.0), b.curve.at(1.0)),
    };
    Some(Edge {
        curve,
        border: a.border,
    })
}

/// To the grid of 1e-4 mm, and never −0.
fn round(x: f64) -> f64 {
    (x * 1e4).round() / 1e4 + 0.0
}
