//! Path data to closed segments in millimetres.

use super::segment::{EllipseArc, Segment, length};
use super::{PathError, YAxis};
use crate::{MOST_POINTS, OutlineError, Point};
use svgtypes::{PathParser, PathSegment};

/// Ends this close, mm, are the same point: rounding of relative commands.
const SAME_POINT_MM: f64 = 1e-6;

/// A part whose end is this close to its start, mm, counts as closed.
const CLOSED_MM: f64 = 1e-3;

/// No drawn number may be farther out than this, mm; keeps squares and cubes of coordinates finite.
const FARTHEST_MM: f64 = 1e7;

/// Follows the commands and keeps what SVG calls the current point.
struct Pen {
    scale: (f64, f64),
    start: Point,
    at: Point,
    /// The control point that a smooth command mirrors, and whether it was a cubic's.
    control: Option<(Point, bool)>,
    segments: Vec<Segment>,
    /// Position of the command, from 0, for errors.
    command: usize,
}

/// The segments of the one closed part of `data`, end to end, the last ending where the first begins.
pub(super) fn closed_part(data: &str, unit_mm: f64, y: YAxis) -> Result<Vec<Segment>, PathError> {
    if !(unit_mm.is_finite() && unit_mm > 0.0) {
        return Err(PathError::Setting {
            name: "unit",
            value: unit_mm,
        });
    }
    let mirror = if y == YAxis::Down { -1.0 } else { 1.0 };
    let origin = Point { x: 0.0, y: 0.0 };
    let mut pen = Pen {
        scale: (unit_mm, mirror * unit_mm),
        start: origin,
        at: origin,
        control: None,
        segments: vec![],
        command: 0,
    };
    let mut parts: Vec<Vec<Segment>> = vec![];
    let mut open_gap: Option<f64> = None;
    for (command, found) in PathParser::from(data).enumerate() {
        if command > MOST_POINTS {
            return Err(OutlineError::TooManyPoints {
                found: command,
                limit: MOST_POINTS,
            }
            .into());
        }
        pen.command = command;
        match found.map_err(|e| syntax(&e, data))? {
            PathSegment::MoveTo { abs, x, y } => {
                pen.finish(false, &mut parts, &mut open_gap);
                pen.at = pen.point(abs, x, y)?;
                pen.start = pen.at;
            }
            PathSegment::ClosePath { .. } => pen.finish(true, &mut parts, &mut open_gap),
            drawing => pen.draw(drawing)?,
        }
    }
    pen.finish(false, &mut parts, &mut open_gap);
    if parts.len() != 1 {
        return Err(PathError::Parts { found: parts.len() });
    }
    if let Some(gap_mm) = open_gap {
        return Err(PathError::Open { gap_mm });
    }
    Ok(parts.remove(0))
}

impl Pen {
    fn draw(&mut self, drawing: PathSegment) -> Result<(), PathError> {
        let from = self.at;
        let mut control = None;
        let segment = match drawing {
            PathSegment::LineTo { abs, x, y } => Segment::Line(from, self.point(abs, x, y)?),
            PathSegment::HorizontalLineTo { abs, x } => {
                let to = self.point(abs, x, 0.0)?;
                Segment::Line(from, Point { x: to.x, y: from.y })
            }
            PathSegment::VerticalLineTo { abs, y } => {
                let to = self.point(abs, 0.0, y)?;
                Segment::Line(from, Point { x: from.x, y: to.y })
            }
            PathSegment::CurveTo {
                abs,
                x1,
                y1,
                x2,
                y2,
                x,
                y,
            } => {
                let (c1, c2) = (self.point(abs, x1, y1)?, self.point(abs, x2, y2)?);
                control = Some((c2, true));
                Segment::Cubic([from, c1, c2, self.point(abs, x, y)?])
            }
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                let (c1, c2) = (self.mirrored_control(true), self.point(abs, x2, y2)?);
                control = Some((c2, true));
                Segment::Cubic([from, c1, c2, self.point(abs, x, y)?])
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => {
                let c = self.point(abs, x1, y1)?;
                control = Some((c, false));
                quadratic(from, c, self.point(abs, x, y)?)
            }
            PathSegment::SmoothQuadratic { abs, x, y } => {
                let c = self.mirrored_control(false);
                control = Some((c, false));
                quadratic(from, c, self.point(abs, x, y)?)
            }
            PathSegment::EllipticalArc {
                abs,
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
            } => {
                let to = self.point(abs, x, y)?;
                self.arc(to, [rx, ry], x_axis_rotation, large_arc, sweep)?
            }
            PathSegment::MoveTo { .. } | PathSegment::ClosePath { .. } => return Ok(()),
        };
        self.at = segment.to();
        self.control = control;
        self.segments.push(segment);
        Ok(())
    }

    /// An arc from where the pen is, or a straight line where it is none.
    fn arc(
        &self,
        to: Point,
        [rx, ry]: [f64; 2],
        x_axis_rotation: f64,
        large_arc: bool,
        sweep: bool,
    ) -> Result<Segment, PathError> {
        let from = self.at;
        let unit = self.scale.0;
        let radii = (rx * unit, ry * unit);
        self.check_radius(radii.0)?;
        self.check_radius(radii.1)?;
        if !x_axis_rotation.is_finite() {
            return Err(self.not_a_number(x_axis_rotation, 0.0));
        }
        // SVG turns from +x to +y; mirroring y turns both the tilt and the way round.
        let up = self.scale.1 > 0.0;
        let tilt = (x_axis_rotation % 360.0).to_radians() * if up { 1.0 } else { -1.0 };
        match EllipseArc::from_end_points(from, to, radii, tilt, large_arc, sweep == up) {
            Some(arc) => Ok(Segment::Arc(arc)),
            None => Ok(Segment::Line(from, to)),
        }
    }

    /// Ends the part drawn so far, if anything was drawn.
    fn finish(&mut self, closed: bool, parts: &mut Vec<Vec<Segment>>, open_gap: &mut Option<f64>) {
        let mut segments = std::mem::take(&mut self.segments);
        self.control = None;
        let gap = length(self.at - self.start);
        self.at = self.start;
        let Some(last) = segments.pop() else { return };
        if gap <= SAME_POINT_MM {
            segments.push(last.with_end(self.start));
        } else {
            segments.push(last);
            segments.push(Segment::Line(last.to(), self.start));
            if !closed && gap > CLOSED_MM {
                open_gap.get_or_insert(gap);
            }
        }
        segments.retain(|s| !matches!(s, Segment::Line(a, b) if a == b));
        parts.push(segments);
    }

    fn point(&self, abs: bool, x: f64, y: f64) -> Result<Point, PathError> {
        // Adding 0 turns the −0 that mirroring makes into 0.
        let drawn = Point {
            x: x * self.scale.0 + 0.0,
            y: y * self.scale.1 + 0.0,
        };
        let point = if abs { drawn } else { self.at + drawn };
        if !(point.x.is_finite() && point.y.is_finite()) {
            return Err(self.not_a_number(point.x, point.y));
        }
        self.check_reach(point.x.abs().max(point.y.abs()))?;
        Ok(point)
    }

    fn check_radius(&self, radius: f64) -> Result<(), PathError> {
        // A radius may be huge (a nearly straight arc), but must be a number whose square is one too.
        if radius.is_nan() || radius.abs() > 1e100 {
            return Err(self.not_a_number(radius, 0.0));
        }
        Ok(())
    }

    fn check_reach(&self, reach: f64) -> Result<(), PathError> {
        if reach > FARTHEST_MM {
            return Err(OutlineError::TooFar {
                index: self.command,
                reach,
            }
            .into());
        }
        Ok(())
    }

    fn not_a_number(&self, x: f64, y: f64) -> PathError {
        OutlineError::NotFinite {
            index: self.command,
            x,
            y,
        }
        .into()
    }

    fn mirrored_control(&self, cubic: bool) -> Point {
        match self.control {
            Some((control, of_cubic)) if of_cubic == cubic => self.at + (self.at - control),
            _ => self.at,
        }
    }
}

fn quadratic(a: Point, c: Point, b: Point) -> Segment {
    // Degree elevation is exact.
    Segment::Cubic([a, a + (c - a) * (2.0 / 3.0), b + (c - b) * (2.0 / 3.0), b])
}

fn syntax(error: &svgtypes::Error, data: &str) -> PathError {
    let position = match error {
        svgtypes::Error::UnexpectedData(p)
        | svgtypes::Error::InvalidNumber(p)
        | svgtypes::Error::InvalidChar(_, p)
        | svgtypes::Error::InvalidString(_, p) => *p,
        _ => data.chars().count(),
    };
    PathError::Syntax {
        reason: error.to_string(),
        position,
    }
}
