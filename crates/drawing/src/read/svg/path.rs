//! Path data (W3C SVG 2, chapter 9) to segments, subpath by subpath, in the path's own units.

use super::{Bad, cut};
use crate::drawing::Segment;
use crate::read::affine::sin_cos_deg;
use cullet_geometry::Point;
use svgtypes::{PathParser, PathSegment};

/// One connected part of a path.
#[derive(Debug)]
pub(super) struct Subpath {
    pub(super) segments: Vec<Segment>,
    pub(super) closed: bool,
}

pub(super) fn read(data: &str) -> Result<Vec<Subpath>, Bad> {
    let mut pen = Pen::default();
    for command in PathParser::from(data) {
        let command = command.map_err(|error| Bad {
            found: format!("path data {:?}: {error}", cut(data)),
            expected: "path data such as M0 0 L100 0 L100 50 Z".to_owned(),
        })?;
        pen.draw(command);
    }
    pen.lift();
    let finite = |s: &Segment| match *s {
        Segment::Line { from, to } => [from, to].into_iter().all(is_finite),
        Segment::Cubic { from, a, b, to } => [from, a, b, to].into_iter().all(is_finite),
        Segment::Arc {
            centre,
            radii,
            start_deg,
            sweep_deg,
            ..
        } => {
            is_finite(centre)
                && [radii[0], radii[1], start_deg, sweep_deg]
                    .into_iter()
                    .all(f64::is_finite)
        }
    };
    if pen.done.iter().flat_map(|part| &part.segments).all(finite) {
        Ok(pen.done)
    } else {
        Err(Bad {
            found: format!("path data {:?} with a number too large", cut(data)),
            expected: "numbers that can be drawn".to_owned(),
        })
    }
}

fn is_finite(p: Point) -> bool {
    p.x.is_finite() && p.y.is_finite()
}

fn moved(from: Point, x: f64, y: f64) -> Point {
    Point {
        x: from.x + x,
        y: from.y + y,
    }
}

fn mirrored_in(at: Point, p: Point) -> Point {
    Point {
        x: 2.0 * at.x - p.x,
        y: 2.0 * at.y - p.y,
    }
}

/// The pen as it draws; a smooth curve mirrors the handle before it, if the curve before it was of its own kind.
struct Pen {
    start: Point,
    at: Point,
    cubic_handle: Option<Point>,
    quadratic_handle: Option<Point>,
    segments: Vec<Segment>,
    done: Vec<Subpath>,
}

impl Default for Pen {
    fn default() -> Self {
        let origin = Point { x: 0.0, y: 0.0 };
        Self {
            start: origin,
            at: origin,
            cubic_handle: None,
            quadratic_handle: None,
            segments: vec![],
            done: vec![],
        }
    }
}

impl Pen {
    fn draw(&mut self, command: PathSegment) {
        let at = self.at;
        let point = |abs: bool, x: f64, y: f64| if abs { Point { x, y } } else { moved(at, x, y) };
        let (cubic, quadratic) = (self.cubic_handle.take(), self.quadratic_handle.take());
        let mirrored = |handle: Option<Point>| handle.map_or(at, |h| mirrored_in(at, h));
        match command {
            PathSegment::MoveTo { abs, x, y } => {
                self.lift();
                self.at = point(abs, x, y);
                self.start = self.at;
            }
            PathSegment::LineTo { abs, x, y } => self.line(point(abs, x, y)),
            PathSegment::HorizontalLineTo { abs, x } => {
                let x = if abs { x } else { at.x + x };
                self.line(Point { x, y: at.y });
            }
            PathSegment::VerticalLineTo { abs, y } => {
                let y = if abs { y } else { at.y + y };
                self.line(Point { x: at.x, y });
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
                self.cubic(point(abs, x1, y1), point(abs, x2, y2), point(abs, x, y));
            }
            PathSegment::SmoothCurveTo { abs, x2, y2, x, y } => {
                self.cubic(mirrored(cubic), point(abs, x2, y2), point(abs, x, y));
            }
            PathSegment::Quadratic { abs, x1, y1, x, y } => self.quadratic(point(abs, x1, y1), point(abs, x, y)),
            PathSegment::SmoothQuadratic { abs, x, y } => self.quadratic(mirrored(quadratic), point(abs, x, y)),
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
                let to = point(abs, x, y);
                self.segments
                    .extend(arc(at, [rx, ry], x_axis_rotation, large_arc, sweep, to));
                self.at = to;
            }
            PathSegment::ClosePath { .. } => {
                if self.at != self.start {
                    self.line(self.start);
                }
                self.finish(true);
                self.at = self.start;
            }
        }
    }

    fn line(&mut self, to: Point) {
        self.segments.push(Segment::Line { from: self.at, to });
        self.at = to;
    }

    fn cubic(&mut self, a: Point, b: Point, to: Point) {
        self.segments.push(Segment::Cubic {
            from: self.at,
            a,
            b,
            to,
        });
        self.cubic_handle = Some(b);
        self.at = to;
    }

    /// A quadratic is the cubic whose handles lie two thirds of the way to its own.
    fn quadratic(&mut self, handle: Point, to: Point) {
        let towards = |end: Point| Point {
            x: end.x + (handle.x - end.x) * 2.0 / 3.0,
            y: end.y + (handle.y - end.y) * 2.0 / 3.0,
        };
        let (a, b) = (towards(self.at), towards(to));
        self.segments.push(Segment::Cubic {
            from: self.at,
            a,
            b,
            to,
        });
        self.quadratic_handle = Some(handle);
        self.at = to;
    }

    fn lift(&mut self) {
        self.finish(false);
    }

    fn finish(&mut self, closed: bool) {
        if !self.segments.is_empty() {
            let segments = std::mem::take(&mut self.segments);
            self.done.push(Subpath { segments, closed });
        }
    }
}

/// SVG 2, appendix B.2: the arc from its end points; none where it has no length, a line where a radius is 0.
fn arc(from: Point, radii: [f64; 2], rotation_deg: f64, large: bool, sweep: bool, to: Point) -> Option<Segment> {
    if from == to {
        return None;
    }
    let [rx, ry] = radii.map(f64::abs);
    if rx == 0.0 || ry == 0.0 {
        return Some(Segment::Line { from, to });
    }
    let (sin, cos) = sin_cos_deg(rotation_deg);
    let (hx, hy) = ((from.x - to.x) / 2.0, (from.y - to.y) / 2.0);
    // Half the chord in the frame where the ellipse is the unit circle.
    let x = (cos * hx + sin * hy) / rx;
    let y = (cos * hy - sin * hx) / ry;
    let half_chord_2 = x * x + y * y;
    let grow = half_chord_2.sqrt().max(1.0);
    let (rx, ry, x, y) = (rx * grow, ry * grow, x / grow, y / grow);
    let along = ((1.0 - half_chord_2).max(0.0) / half_chord_2).sqrt() * if large == sweep { -1.0 } else { 1.0 };
    let (cx, cy) = if half_chord_2 >= 1.0 {
        (0.0, 0.0)
    } else {
        (along * y, -along * x)
    };
    let start = (y - cy).atan2(x - cx);
    let end = (-y - cy).atan2(-x - cx);
    let mut turned = (end - start).to_degrees();
    if sweep && turned < 0.0 {
        turned += 360.0;
    } else if !sweep && turned > 0.0 {
        turned -= 360.0;
    }
    let (ux, uy) = (cx * rx, cy * ry);
    Some(Segment::Arc {
        centre: Point {
            x: cos * ux - sin * uy + (from.x + to.x) / 2.0,
            y: sin * ux + cos * uy + (from.y + to.y) / 2.0,
        },
        radii: [rx, ry],
        rotation_deg,
        start_deg: start.to_degrees(),
        sweep_deg: turned,
    })
}
