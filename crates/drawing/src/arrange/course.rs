//! Lines that meet end to end, and nothing else there, as one.

use super::grid::Grid;
use super::{Drawn, WELD_MM};
use crate::curve::{Curve, length};
use cullet_geometry::Point;

/// A line from one true end or fork to the next, or closed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Course {
    /// Its curves, each starting exactly where the one before ends.
    pub(super) curves: Vec<Curve>,
    /// The drawn line that each came from.
    pub(super) sources: Vec<usize>,
    /// Length up to the start of each curve, and the whole length, mm.
    pub(super) lengths: Vec<f64>,
    pub(super) closed: bool,
    pub(super) came: usize,
}

/// A place on a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub(super) curve: usize,
    /// 0 to 1 on the curve; beyond where an end is made longer.
    pub(super) t: f64,
}

impl Course {
    fn new(curves: Vec<Curve>, sources: Vec<usize>, closed: bool, came: usize) -> Self {
        let mut lengths = vec![0.0];
        for curve in &curves {
            lengths.push(lengths[lengths.len() - 1] + curve.length());
        }
        Self {
            curves,
            sources,
            lengths,
            closed,
            came,
        }
    }

    pub(super) fn length(&self) -> f64 {
        self.lengths[self.curves.len()]
    }

    /// Length from the start, mm.
    pub(super) fn along(&self, spot: Spot) -> f64 {
        let (from, to) = (self.lengths[spot.curve], self.lengths[spot.curve + 1]);
        from + (to - from) * spot.t
    }

    /// How far two places are apart along the course, the shorter way round where it is closed.
    pub(super) fn apart(&self, a: Spot, b: Spot) -> f64 {
        let way = (self.along(a) - self.along(b)).abs();
        if self.closed { way.min(self.length() - way) } else { way }
    }

    /// Where it begins or ends.
    pub(super) fn end(&self, at_start: bool) -> Spot {
        if at_start {
            Spot { curve: 0, t: 0.0 }
        } else {
            Spot {
                curve: self.curves.len() - 1,
                t: 1.0,
            }
        }
    }

    pub(super) fn at(&self, spot: Spot) -> Point {
        self.curves[spot.curve].at(spot.t)
    }
}

/// Chains the lines.
pub(super) fn chain(lines: &[Drawn]) -> Vec<Course> {
    let lines: Vec<(usize, &Drawn)> = lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.curves.iter().any(|c| c.length() > 1e-6))
        .collect();
    let next = links(&lines);
    let mut used = vec![false; lines.len()];
    let mut courses = vec![];
    // Open chains from their first free end, then what is left: rings.
    let open = (0..lines.len() * 2).filter(|end| !lines[end / 2].1.closed && next[*end].is_none());
    let rings = (0..lines.len()).map(|i| i * 2);
    for first in open.chain(rings).collect::<Vec<_>>() {
        if used[first / 2] {
            continue;
        }
        courses.push(follow(&lines, &next, &mut used, first));
    }
    courses.sort_by_key(|course| course.sources.iter().copied().min());
    courses
}

/// For each end (2 · line, + 1 for the last end) the one other end that it runs on in.
fn links(lines: &[(usize, &Drawn)]) -> Vec<Option<usize>> {
    let ends: Vec<Point> = lines.iter().flat_map(|(_, line)| line_ends(line)).collect();
    let mut grid = Grid::new(WELD_MM);
    for (i, p) in ends.iter().enumerate() {
        if !lines[i / 2].1.closed {
            grid.add(*p, i);
        }
    }
    // Two are as good as many: no line runs on in either.
    let partners = |i: usize| -> Vec<usize> {
        grid.near(ends[i])
            .filter(|j| *j != i && length(ends[*j] - ends[i]) <= WELD_MM)
            .take(2)
            .collect()
    };
    (0..ends.len())
        .map(|i| {
            if lines[i / 2].1.closed {
                return None;
            }
            match partners(i)[..] {
                [j] if partners(j).len() == 1 && lines[i / 2].1.came == lines[j / 2].1.came => Some(j),
                _ => None,
            }
        })
        .collect()
}

fn line_ends(line: &Drawn) -> [Point; 2] {
    let zero = Point { x: 0.0, y: 0.0 };
    [
        line.curves.first().map_or(zero, |c| c.at(0.0)),
        line.curves.last().map_or(zero, |c| c.at(1.0)),
    ]
}

fn follow(lines: &[(usize, &Drawn)], next: &[Option<usize>], used: &mut [bool], first: usize) -> Course {
    let (mut curves, mut sources): (Vec<Curve>, Vec<usize>) = (vec![], vec![]);
    let mut end = first;
    let mut closed = lines[first / 2].1.closed;
    loop {
        let (source, line) = lines[end / 2];
        used[end / 2] = true;
        let backwards = end % 2 == 1;
        let walked: Vec<Curve> = if backwards {
            line.curves.iter().rev().map(Curve::reversed).collect()
        } else {
            line.curves.clone()
        };
        for curve in walked.into_iter().filter(|c| c.length() > 1e-6) {
            let from = curves.last().map_or_else(|| curve.at(0.0), |last| last.at(1.0));
            curves.push(curve.fitted(from, curve.at(1.0)));
            sources.push(source);
        }
        match next[end ^ 1] {
            Some(on) if on == first => {
                closed = true;
                break;
            }
            Some(on) if !used[on / 2] => end = on,
            _ => break,
        }
    }
    if closed
        && curves.len() > 1
        && let (Some(start), Some(last)) = (curves.first().map(|c| c.at(0.0)), curves.last_mut())
    {
        *last = last.fitted(last.at(0.0), start);
    }
    Course::new(curves, sources, closed, lines[first / 2].1.came)
}
