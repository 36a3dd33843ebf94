//! Polylines with bulges, and splines.

use super::entity::{Context, Reader};
use super::groups::{Record, number};
use crate::drawing::Segment;
use crate::read::limits::{Around, Limit};
use crate::read::spline::{HIGHEST_DEGREE, Spline};
use crate::read::{ReadError, SPLINE_TOLERANCE_MM};
use cullet_geometry::Point;

/// A point of a polyline, and the bulge of the side that leaves it.
#[derive(Debug, Clone, Copy)]
struct Vertex {
    at: Point,
    bulge: f64,
}

impl Reader<'_> {
    pub(super) fn lw_polyline(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        let mut vertices: Vec<Vertex> = vec![];
        for group in record.groups {
            let value = number(group.value).unwrap_or(0.0);
            match (group.code, vertices.last_mut()) {
                (10, _) => vertices.push(Vertex {
                    at: Point { x: value, y: 0.0 },
                    bulge: 0.0,
                }),
                (20, Some(last)) => last.at.y = value,
                (42, Some(last)) => last.bulge = value,
                _ => {}
            }
        }
        let Some(axes) = self.axes(record) else { return Ok(()) };
        self.sides(record, &vertices, &context.map.after(&axes), around)
    }

    pub(super) fn polyline(
        &mut self,
        record: &Record,
        parts: &[Record],
        context: &Context,
        around: &Around,
    ) -> Result<(), ReadError> {
        let flags = record.int(70);
        if flags & (16 | 64) != 0 {
            self.gather.left_out("POLYLINE (a mesh)", record.line);
            return Ok(());
        }
        // A smoothed polyline also carries the points it was smoothed from (bit 16); they are not on it.
        let on_it = parts.iter().filter(|vertex| vertex.int(70) & 16 == 0);
        let vertices: Vec<Vertex> = on_it
            .map(|vertex| {
                let get = |code| vertex.number(code).unwrap_or(0.0);
                Vertex {
                    at: Point { x: get(10), y: get(20) },
                    bulge: get(42),
                }
            })
            .collect();
        let map = if flags & 8 != 0 {
            context.map
        } else {
            let Some(axes) = self.axes(record) else { return Ok(()) };
            context.map.after(&axes)
        };
        self.sides(record, &vertices, &map, around)
    }

    fn sides(
        &mut self,
        record: &Record,
        vertices: &[Vertex],
        map: &crate::read::affine::Affine,
        around: &Around,
    ) -> Result<(), ReadError> {
        let closed = record.int(70) & 1 != 0 && vertices.len() > 1;
        let mut segments: Vec<Segment> = vertices.windows(2).map(|pair| side(pair[0], pair[1].at)).collect();
        if let (true, Some(first), Some(last)) = (closed, vertices.first(), vertices.last()) {
            segments.push(side(*last, first.at));
        }
        self.gather.stroke(map, &segments, closed, around, &record.place())
    }

    pub(super) fn spline(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        let place = record.place();
        let numbers = |code| record.all(code).filter_map(number).collect::<Vec<f64>>();
        let (xs, ys, weights) = (numbers(10), numbers(20), numbers(41));
        if xs.is_empty() {
            self.gather.left_out(
                "SPLINE given by fit points only (convert it to control points)",
                record.line,
            );
            return Ok(());
        }
        let degree = usize::try_from(record.int(71)).unwrap_or(0);
        if !(1..=HIGHEST_DEGREE).contains(&degree) {
            self.gather
                .left_out(format!("SPLINE of degree {}", record.int(71)), record.line);
            return Ok(());
        }
        // Mapped before it is replaced by cubics, so that the tolerance is in millimetres.
        let controls = xs.iter().zip(&ys).enumerate().map(|(i, (x, y))| {
            let w = weights.get(i).copied().unwrap_or(1.0);
            let p = context.map.point(Point { x: *x, y: *y });
            [p.x * w, p.y * w, w]
        });
        let spline = Spline {
            degree,
            knots: numbers(40),
            controls: controls.collect(),
        };
        let mismatch = xs.len() != ys.len() || !(weights.is_empty() || weights.len() == xs.len());
        let fault = if mismatch {
            Some("control points and weights of unequal number".to_owned())
        } else {
            spline.fault()
        };
        if let Some(fault) = fault {
            self.gather.bad(
                &place,
                fault,
                "knots and weights that make a curve",
                "draw the curve anew",
            );
            return Ok(());
        }
        let left = self.gather.segments_left();
        let Some(segments) = spline.segments(SPLINE_TOLERANCE_MM, left.saturating_add(1)) else {
            if left == 0 {
                return Err(self.gather.limit(Limit::Segments, place.to_string()));
            }
            self.gather.bad(
                &place,
                "a curve too wild to follow",
                "a smooth curve",
                "draw the curve anew",
            );
            return Ok(());
        };
        let identity = crate::read::affine::Affine::IDENTITY;
        self.gather
            .stroke(&identity, &segments, record.int(70) & 1 != 0, around, &place)
    }
}

/// One side of a polyline. The bulge is the tangent of a quarter of the angle turned, positive counter-clockwise, so the
/// centre lies (1 − b²) / 4b chords to the left of the chord's middle.
fn side(from: Vertex, to: Point) -> Segment {
    let (dx, dy) = (to.x - from.at.x, to.y - from.at.y);
    let b = from.bulge;
    // Flatter than 1e-9 of its chord an arc is a line in f64.
    if b.abs() < 2e-9 || (dx == 0.0 && dy == 0.0) {
        return Segment::Line { from: from.at, to };
    }
    let aside = (1.0 - b * b) / (4.0 * b);
    let centre = Point {
        x: (from.at.x + to.x) / 2.0 - dy * aside,
        y: (from.at.y + to.y) / 2.0 + dx * aside,
    };
    let radius = dx.hypot(dy) * (1.0 + b * b) / (4.0 * b.abs());
    Segment::Arc {
        centre,
        radii: [radius, radius],
        rotation_deg: 0.0,
        start_deg: (from.at.y - centre.y).atan2(from.at.x - centre.x).to_degrees(),
        sweep_deg: 4.0 * b.atan().to_degrees(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read::limits::arc_point;

    /// trade.md 8: bulge = tan(included angle / 4); 1 is a half circle, counter-clockwise.
    #[test]
    fn a_bulge_of_one_is_a_half_circle_and_ends_where_it_should() {
        let from = Vertex {
            at: Point { x: 2.0, y: 1.0 },
            bulge: 1.0,
        };
        let to = Point { x: 12.0, y: 1.0 };
        let arc = side(from, to);
        let Segment::Arc {
            centre,
            radii,
            start_deg,
            sweep_deg,
            ..
        } = arc
        else {
            panic!("an arc")
        };
        assert_eq!((centre, radii), (Point { x: 7.0, y: 1.0 }, [5.0, 5.0]));
        assert_eq!((start_deg, sweep_deg), (180.0, 180.0));
        for bulge in [-3.0, -1.0, -0.2, 0.001, 0.4, 2.0] {
            let arc = side(Vertex { bulge, ..from }, to);
            let Segment::Arc {
                start_deg, sweep_deg, ..
            } = arc
            else {
                panic!("an arc")
            };
            let end = arc_point(&arc, start_deg + sweep_deg);
            assert!((end.x - to.x).hypot(end.y - to.y) < 1e-9, "bulge {bulge}: {end:?}");
        }
    }
}
