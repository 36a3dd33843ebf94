//! A closed line of straight sides and arcs, written as SVG path data.

use crate::{OutlineFile, YDirection};
use std::fmt::Write;

/// The line while it is drawn, y up, counter-clockwise.
pub(super) struct Line {
    data: String,
    at: [f64; 2],
    y: YDirection,
}

impl Line {
    pub(super) fn from(x: f64, y: f64, axis: YDirection) -> Self {
        let mut line = Self {
            data: String::new(),
            at: [x, y],
            y: axis,
        };
        let [x, y] = line.written([x, y]);
        let _ = write!(line.data, "M{x} {y}");
        line
    }

    /// As the file's axes have it; 0 without a sign.
    fn written(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        match self.y {
            YDirection::Up => [x, y],
            YDirection::Down => [x, 0.0 - y],
        }
    }

    /// A straight side.
    pub(super) fn to(mut self, x: f64, y: f64) -> Self {
        if self.at != [x, y] {
            self.at = [x, y];
            let [x, y] = self.written([x, y]);
            let _ = write!(self.data, " L{x} {y}");
        }
        self
    }

    /// An arc of at most half a turn, counter-clockwise, of an ellipse with upright axes.
    pub(super) fn arc(mut self, [rx, ry]: [f64; 2], x: f64, y: f64) -> Self {
        self.at = [x, y];
        let sweep = match self.y {
            YDirection::Up => 1,
            YDirection::Down => 0,
        };
        let [x, y] = self.written([x, y]);
        let _ = write!(self.data, " A{rx} {ry} 0 0 {sweep} {x} {y}");
        self
    }

    pub(super) fn closed(mut self) -> OutlineFile {
        self.data.push_str(" Z");
        OutlineFile::Path(self.data)
    }
}

/// Corner points, counter-clockwise, moved so that the lower left of their box is the origin.
pub(super) fn corners(points: &[[f64; 2]], axis: YDirection) -> OutlineFile {
    let least = |axis: usize| points.iter().map(|p| p[axis]).fold(f64::INFINITY, f64::min);
    let (left, low) = (least(0), least(1));
    let moved = points.iter().map(|[x, y]| {
        let (x, y) = (x - left, y - low);
        match axis {
            YDirection::Up => [x, y],
            YDirection::Down => [x, 0.0 - y],
        }
    });
    OutlineFile::Points(moved.collect())
}
