//! Segments to a polyline that covers the drawn shape.
//!
//! Where the boundary bulges outwards the polyline runs along tangents (its corners are where tangents at successive
//! points of the curve meet), where it bulges inwards along chords: both lie on the outer side of the curve. Each
//! stretch is cut until it turns by less than 45° one way and its polyline is within the tolerance.

use super::segment::{EllipseArc, Segment, cross, dot, length};
use crate::{MOST_POINTS, OutlineError, Point};

/// Halvings after which a stretch is taken as it is: 2^-24 of a curve is below the grid for any that fits 100 m.
const DEEPEST: u32 = 24;

/// Stretches that turn by less than this (sine of the angle) count as straight; over 1 m that is 1e-6 mm.
const STRAIGHT: f64 = 1e-9;

/// Both polylines of a path.
#[derive(Default)]
pub(super) struct Polylines {
    /// Covers the drawn shape.
    pub(super) outer: Vec<Point>,
    /// Points of the curve itself, to tell whether the drawing crosses itself.
    pub(super) on_curve: Vec<Point>,
}

/// A stretch of a curve ready to be drawn: the corner where its end tangents meet when it bulges outwards, and its end.
struct Stretch {
    corner: Option<Point>,
    end: Point,
}

/// Flattens counter-clockwise segments to within `tolerance` mm.
pub(super) fn flatten(segments: &[Segment], tolerance: f64) -> Result<Polylines, OutlineError> {
    let mut lines = Polylines::default();
    for segment in segments {
        match segment {
            Segment::Line(_, end) => lines.add(&[Stretch {
                corner: None,
                end: *end,
            }]),
            Segment::Arc(arc) => lines.add(&arc_stretches(arc, tolerance)?),
            Segment::Cubic(curve) => {
                for span in one_way_spans(curve) {
                    let mut stretches = vec![];
                    cubic_stretches(&span, tolerance, DEEPEST, &mut stretches)?;
                    lines.add(&stretches);
                }
            }
        }
        check_count(lines.outer.len().max(lines.on_curve.len()))?;
    }
    // The walk ends where the drawing begins; there the polylines are to begin too.
    for line in [&mut lines.outer, &mut lines.on_curve] {
        let first = line.pop();
        line.splice(0..0, first);
    }
    Ok(lines)
}

impl Polylines {
    /// Adds the stretches of one span, each touching the next along a common tangent.
    fn add(&mut self, span: &[Stretch]) {
        for (i, stretch) in span.iter().enumerate() {
            self.on_curve.push(stretch.end);
            self.outer.extend(stretch.corner);
            // Between two corners the point of contact lies on the line that joins them.
            let on_the_way = stretch.corner.is_some() && span.get(i + 1).is_some_and(|next| next.corner.is_some());
            if !on_the_way {
                self.outer.push(stretch.end);
            }
        }
    }
}

fn arc_stretches(arc: &EllipseArc, tolerance: f64) -> Result<Vec<Stretch>, OutlineError> {
    let widest = arc.radii.0.max(arc.radii.1);
    let outwards = arc.sweep > 0.0;
    // An ellipse is a stretched circle, so its gaps are at most the gaps of a circle of its longer radius: r (1/cos − 1)
    // outside the tangents, r (1 − cos) inside the chords.
    let cosine = if outwards {
        widest / (widest + tolerance)
    } else {
        1.0 - (tolerance / widest).min(1.0)
    };
    // acos loses all digits near 1, atan2 does not.
    let half = ((1.0 - cosine) * (1.0 + cosine)).max(0.0).sqrt().atan2(cosine);
    let half = half.clamp(1e-12, std::f64::consts::FRAC_PI_8);
    let steps = (arc.sweep.abs() / (2.0 * half) - 1e-9).ceil().max(1.0);
    check_count(steps.min(1e9) as usize)?;
    let step = arc.sweep / steps;
    let reach = 1.0 / (step / 2.0).cos();
    let count = steps as usize;
    Ok((0..count)
        .map(|i| {
            let middle = arc.start + step * (i as f64 + 0.5);
            Stretch {
                corner: outwards.then(|| arc.at(middle, reach)),
                end: if i + 1 == count {
                    arc.to
                } else {
                    arc.at(arc.start + step * (i as f64 + 1.0), 1.0)
                },
            }
        })
        .collect())
}

/// The curve cut where it stops turning one way: at its inflections and near-cusps.
fn one_way_spans(curve: &[Point; 4]) -> Vec<[Point; 4]> {
    let (a, b, c) = (curve[1] - curve[0], curve[2] - curve[1], curve[3] - curve[2]);
    // B′ × B″ is 18 times this quadratic in t.
    let (ab, ac, bc) = (cross(a, b), cross(a, c), cross(b, c));
    let (p, q, r) = (ab - ac + bc, ac - 2.0 * ab, ab);
    let mut cuts = vec![];
    let d = q * q - 4.0 * p * r;
    if d.abs() <= 1e-9 * (q * q).max((4.0 * p * r).abs()) {
        cuts.push(-q / (2.0 * p));
    }
    if d > 0.0 {
        let s = -0.5 * (q + q.signum() * d.sqrt());
        cuts.push(s / p);
        cuts.push(r / s);
    }
    cuts.retain(|t| *t > 1e-9 && *t < 1.0 - 1e-9);
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|x, y| *x - *y < 1e-9);
    let mut spans = vec![];
    let (mut rest, mut done) = (*curve, 0.0);
    for t in cuts {
        let (first, second) = split(&rest, (t - done) / (1.0 - done));
        spans.push(first);
        (rest, done) = (second, t);
    }
    spans.push(rest);
    spans
}

fn cubic_stretches(
    curve: &[Point; 4],
    tolerance: f64,
    deeper: u32,
    out: &mut Vec<Stretch>,
) -> Result<(), OutlineError> {
    check_count(out.len())?;
    match stretch(curve, tolerance) {
        Some(stretch) => out.push(stretch),
        None if deeper == 0 => out.push(Stretch {
            corner: None,
            end: curve[3],
        }),
        None => {
            let (first, second) = split(curve, 0.5);
            cubic_stretches(&first, tolerance, deeper - 1, out)?;
            cubic_stretches(&second, tolerance, deeper - 1, out)?;
        }
    }
    Ok(())
}

/// The curve as one stretch, if it is short enough for that.
fn stretch(curve: &[Point; 4], tolerance: f64) -> Option<Stretch> {
    let [a, b, c, d] = *curve;
    let chord = d - a;
    let chord_length = length(chord);
    let first = |list: [Point; 3]| list.into_iter().find(|v| length(*v) > 0.0);
    let (Some(u), Some(v)) = (first([b - a, c - a, chord]), first([d - c, d - b, chord])) else {
        return Some(Stretch { corner: None, end: d });
    };
    let (u, v) = (u / length(u), v / length(v));
    let runs_on = dot(u, c - b) >= 0.0 && dot(v, c - b) >= 0.0 && dot(u, v) > std::f64::consts::FRAC_1_SQRT_2;
    if !runs_on {
        return None;
    }
    let turn = cross(u, v);
    if turn > STRAIGHT {
        let corner = a + u * (cross(chord, v) / turn);
        if dot(corner - a, u) < 0.0 || dot(d - corner, v) < 0.0 {
            return None;
        }
        // The curve lies in the triangle under the corner, so no part of the tangents is farther from it than the
        // corner, and that not farther than from any one point of it.
        let middle = (a + (b + c) * 3.0 + d) / 8.0;
        return (length(corner - middle) <= tolerance).then_some(Stretch {
            corner: Some(corner),
            end: d,
        });
    }
    if chord_length == 0.0 {
        return None;
    }
    // A cubic is within ¾ of its control points' distance from the chord.
    let away = |p: Point| cross(chord, p - a).abs() / chord_length;
    (0.75 * away(b).max(away(c)) <= tolerance).then_some(Stretch { corner: None, end: d })
}

fn split(curve: &[Point; 4], t: f64) -> ([Point; 4], [Point; 4]) {
    let mix = |a: Point, b: Point| a + (b - a) * t;
    let [a, b, c, d] = *curve;
    let (ab, bc, cd) = (mix(a, b), mix(b, c), mix(c, d));
    let (abc, bcd) = (mix(ab, bc), mix(bc, cd));
    let middle = mix(abc, bcd);
    ([a, ab, abc, middle], [middle, bcd, cd, d])
}

fn check_count(found: usize) -> Result<(), OutlineError> {
    if found > MOST_POINTS {
        return Err(OutlineError::TooManyPoints {
            found,
            limit: MOST_POINTS,
        });
    }
    Ok(())
}
