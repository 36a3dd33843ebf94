//! Where moved sides cut each other.

use super::{CHORD_MM, Field, Moved, SLACK_MM, around, tree};
use crate::arrange::is_inside;
use crate::curve::{Curve, SAME_POINT, cross, dot, length};
use cullet_geometry::Point;

/// Cuts the curves at all crossings and keeps the parts that stand off every side as they should.
pub(super) fn cut_up(moved: &[Moved], field: &Field) -> Vec<Curve> {
    let tree = tree(moved.iter().map(|m| &m.curve));
    let mut cuts: Vec<Vec<f64>> = vec![vec![0.0, 1.0]; moved.len()];
    for (i, a) in moved.iter().enumerate() {
        let (a, (low, high)) = (&a.curve, a.curve.corners());
        for j in tree.locate_in_envelope_intersecting(&around(low, high, SAME_POINT)) {
            let j = j.data;
            if j <= i {
                continue;
            }
            let b = &moved[j].curve;
            for p in meets(a, b) {
                if let (Some(s), Some(t)) = (a.position_of(p), b.position_of(p)) {
                    cuts[i].push(s);
                    cuts[j].push(t);
                }
            }
        }
    }
    let mut parts = vec![];
    for (m, mut cuts) in moved.iter().zip(cuts) {
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2) {
            let part = m.curve.part(pair[0], pair[1]);
            let middle = part.at(0.5);
            // Off the boundary, which the ring follows to within its chords.
            let ahead = part.direction(0.5);
            let beside = middle
                + Point {
                    x: -ahead.y,
                    y: ahead.x,
                } * (2.0 * CHORD_MM);
            let counts = part.length() > SAME_POINT
                && field.stands_off(middle, SLACK_MM + m.slack)
                && is_inside(&field.ring, beside);
            if counts {
                parts.push(part);
            }
        }
    }
    parts
}

/// Where the carriers of two curves meet or, but for rounding, touch; where they are one, the ends of both.
pub(super) fn meets(a: &Curve, b: &Curve) -> Vec<Point> {
    let ends = [a.at(0.0), a.at(1.0), b.at(0.0), b.at(1.0)];
    let lies_on = |curve: &Curve, p: Point| match *curve {
        Curve::Line { from, to } => cross(to - from, p - from).abs() < SAME_POINT * length(to - from),
        Curve::Arc { centre, radius, .. } => (length(p - centre) - radius).abs() < SAME_POINT,
    };
    let is_one = match (*a, *b) {
        (Curve::Line { .. }, Curve::Line { .. }) => ends.iter().all(|p| lies_on(a, *p) && lies_on(b, *p)),
        (
            Curve::Arc {
                centre: c, radius: r, ..
            },
            Curve::Arc {
                centre: d, radius: s, ..
            },
        ) => length(c - d) < SAME_POINT && (r - s).abs() < SAME_POINT,
        _ => false,
    };
    if is_one {
        return ends.to_vec();
    }
    let found = a.carriers_meet(b);
    if !found.is_empty() {
        return found;
    }
    let touch = match (*a, *b) {
        (Curve::Arc { centre, .. }, Curve::Line { from, to })
        | (Curve::Line { from, to }, Curve::Arc { centre, .. }) => {
            from + (to - from) * (dot(centre - from, to - from) / dot(to - from, to - from))
        }
        (
            Curve::Arc {
                centre: c, radius: r, ..
            },
            Curve::Arc {
                centre: d, radius: s, ..
            },
        ) if length(d - c) > SAME_POINT => {
            let away = (d - c) / length(d - c);
            // Beside each other, or one within the other.
            if (length(d - c) - r - s).abs() < SAME_POINT {
                c + away * r
            } else {
                c + away * r * (r - s).signum()
            }
        }
        _ => return vec![],
    };
    let is_on_both = lies_on(a, touch) && lies_on(b, touch);
    if is_on_both { vec![touch] } else { vec![] }
}
