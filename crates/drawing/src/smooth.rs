//! Drawn segments to lines and circular arcs.
//!
//! Lines and circular arcs stay what they are. Ellipses and cubics become chains of arcs that touch with a common tangent
//! (biarcs), no farther than [`SMOOTH_MM`] from what was drawn. Offsets and crossings of lines and arcs are exact, so
//! nothing after this needs flattening.
//!
//! Reference: Bolton, *Biarc curves*, Computer-Aided Design 7 (1975).

use crate::curve::{Curve, cross, dot, length, point};
use crate::drawing::Segment;
use cullet_geometry::Point;

/// Furthest an arc of the chain may lie from the drawn curve, mm. A fortieth of what a finished outline may be off,
/// so that areas are right to 0.01 mm² too.
pub const SMOOTH_MM: f64 = 0.0005;

/// Halvings after which a stretch becomes a straight line: 2^-18 of a curve of 10 m is 0.04 mm.
const DEEPEST: u32 = 18;

/// A place on a drawn curve and the direction there, a unit vector.
type Spot = (Point, Point);

/// The lines and arcs of a segment, in order; none for a segment without length.
#[must_use]
pub fn curves(segment: &Segment) -> Vec<Curve> {
    let mut found = vec![];
    match *segment {
        Segment::Line { from, to } => found.push(Curve::line(from, to)),
        Segment::Arc {
            centre,
            radii,
            rotation_deg,
            start_deg,
            sweep_deg,
        } => {
            if (radii[0] - radii[1]).abs() < 1e-9 {
                let start = start_deg + rotation_deg;
                found.push(Curve::arc(centre, radii[0], start, start + sweep_deg));
            } else {
                let ellipse = |t: f64| on_ellipse(centre, radii, rotation_deg, start_deg + sweep_deg * t, sweep_deg);
                // A stretch of an eighth of a turn has no inflection and turns by less than a half circle.
                let parts = (sweep_deg.abs() / 45.0).ceil().clamp(1.0, 8.0);
                for i in 0..parts as usize {
                    let (t0, t1) = (i as f64 / parts, (i + 1) as f64 / parts);
                    biarcs(&ellipse, t0, t1, DEEPEST, &mut found);
                }
            }
        }
        Segment::Cubic { from, a, b, to } => {
            let cubic = [from, a, b, to];
            let at = |t: f64| on_cubic(&cubic, t);
            let mut t0 = 0.0;
            for t1 in turning_points(&cubic).into_iter().chain([1.0]) {
                let middle = f64::midpoint(t0, t1);
                biarcs(&at, t0, middle, DEEPEST, &mut found);
                biarcs(&at, middle, t1, DEEPEST, &mut found);
                t0 = t1;
            }
        }
    }
    found.retain(|curve| curve.length() > 1e-7);
    found
}

fn on_ellipse(centre: Point, radii: [f64; 2], rotation_deg: f64, angle_deg: f64, sweep_deg: f64) -> Spot {
    let (sin, cos) = angle_deg.to_radians().sin_cos();
    let (tilt_sin, tilt_cos) = rotation_deg.to_radians().sin_cos();
    let turned = |x: f64, y: f64| point(x * tilt_cos - y * tilt_sin, x * tilt_sin + y * tilt_cos);
    let ahead = turned(-radii[0] * sin, radii[1] * cos) * sweep_deg.signum();
    (centre + turned(radii[0] * cos, radii[1] * sin), unit(ahead))
}

fn on_cubic(curve: &[Point; 4], t: f64) -> Spot {
    let mix = |a: Point, b: Point| a + (b - a) * t;
    let [a, b, c, d] = *curve;
    let (ab, bc, cd) = (mix(a, b), mix(b, c), mix(c, d));
    let (abc, bcd) = (mix(ab, bc), mix(bc, cd));
    // Where handles lie on the ends the derivative vanishes: the direction is that of the next ones.
    let ahead = [bcd - abc, if t < 0.5 { cd - ab } else { bc - ab }, d - a]
        .into_iter()
        .find(|v| length(*v) > 1e-9)
        .unwrap_or(point(1.0, 0.0));
    (mix(abc, bcd), unit(ahead))
}

/// Where a cubic bends the other way, in order.
fn turning_points(curve: &[Point; 4]) -> Vec<f64> {
    let (a, b, c) = (curve[1] - curve[0], curve[2] - curve[1], curve[3] - curve[2]);
    // B′ × B″ is 18 times p t² + q t + r.
    let (ab, ac, bc) = (cross(a, b), cross(a, c), cross(b, c));
    let (p, q, r) = (ab - ac + bc, ac - 2.0 * ab, ab);
    let under = q * q - 4.0 * p * r;
    let mut found = vec![];
    if under >= 0.0 {
        let s = -0.5 * (q + if q < 0.0 { -1.0 } else { 1.0 } * under.sqrt());
        found.extend([s / p, r / s]);
    }
    found.retain(|t| *t > 1e-6 && *t < 1.0 - 1e-6);
    found.sort_by(f64::total_cmp);
    found.dedup_by(|x, y| *x - *y < 1e-6);
    found
}

/// Adds the arcs of the stretch from `t0` to `t1`.
fn biarcs(at: &dyn Fn(f64) -> Spot, t0: f64, t1: f64, deeper: u32, out: &mut Vec<Curve>) {
    let ((from, u), (to, v)) = (at(t0), at(t1));
    let chord = to - from;
    if length(chord) < 1e-9 && deeper < DEEPEST {
        return;
    }
    if let Some(pair) = biarc(from, u, to, v) {
        let fits = (1..8).all(|i| {
            let (p, _) = at(t0 + (t1 - t0) * f64::from(i) / 8.0);
            pair[0].distance(p).min(pair[1].distance(p)) < 0.8 * SMOOTH_MM
        });
        if fits {
            let one = pair[0].same_carrier(&pair[1]);
            match (one, pair[0]) {
                (true, Curve::Line { .. }) => out.push(Curve::line(from, to)),
                _ => out.extend(pair.into_iter().filter(|c| c.length() > 1e-9)),
            }
            return;
        }
    }
    if deeper == 0 {
        out.push(Curve::line(from, to));
        return;
    }
    let middle = f64::midpoint(t0, t1);
    biarcs(at, t0, middle, deeper - 1, out);
    biarcs(at, middle, t1, deeper - 1, out);
}

/// Two arcs from `from` in direction `u` to `to` in direction `v`, where neither turns back.
fn biarc(from: Point, u: Point, to: Point, v: Point) -> Option<[Curve; 2]> {
    let chord = to - from;
    let size = length(chord);
    if size < 1e-12 || dot(u, v) < 0.3 || dot(u, chord) < 0.5 * size || dot(v, chord) < 0.5 * size {
        return None;
    }
    let bend = 1.0 - dot(u, v);
    let sum = dot(chord, u + v);
    // Both arcs' tangents are equally long.
    let d = if bend < 1e-12 {
        size * size / (2.0 * sum)
    } else {
        ((sum * sum + 2.0 * bend * size * size).sqrt() - sum) / (2.0 * bend)
    };
    let joint = (from + to + (u - v) * d) / 2.0;
    Some([
        Curve::tangent_arc(from, u, joint),
        Curve::tangent_arc(to, v * -1.0, joint).reversed(),
    ])
}

fn unit(v: Point) -> Point {
    v / length(v)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn p() -> impl Strategy<Value = Point> {
        (-200.0..200.0, -200.0..200.0).prop_map(|(x, y)| point(x, y))
    }

    /// Every point of the drawn curve lies within the bound of the chain, and the chain hangs together.
    fn check(segment: &Segment, at: impl Fn(f64) -> Point) {
        let chain = curves(segment);
        for i in 0..=400 {
            let q = at(f64::from(i) / 400.0);
            let away = chain.iter().map(|c| c.distance(q)).fold(f64::INFINITY, f64::min);
            assert!(away <= SMOOTH_MM, "{away} at {i} of {segment:?}");
        }
        for pair in chain.windows(2) {
            assert!(length(pair[0].at(1.0) - pair[1].at(0.0)) < 1e-6);
        }
    }

    proptest! {
        #[test]
        fn cubics_lie_within_the_bound(from in p(), a in p(), b in p(), to in p()) {
            prop_assume!(length(to - from) > 1.0);
            check(&Segment::Cubic { from, a, b, to }, |t| on_cubic(&[from, a, b, to], t).0);
        }

        #[test]
        fn ellipses_lie_within_the_bound(
            rx in 1.0..500.0f64, ry in 1.0..500.0f64, tilt in 0.0..180.0f64, start in 0.0..360.0f64, sweep in -360.0..360.0f64
        ) {
            prop_assume!(sweep.abs() > 1.0);
            let centre = point(3.0, 4.0);
            let arc = Segment::Arc { centre, radii: [rx, ry], rotation_deg: tilt, start_deg: start, sweep_deg: sweep };
            check(&arc, |t| on_ellipse(centre, [rx, ry], tilt, start + sweep * t, sweep).0);
        }
    }

    #[test]
    fn a_cubic_needs_few_arcs() {
        let wave = Segment::Cubic {
            from: point(0.0, 0.0),
            a: point(100.0, 80.0),
            b: point(200.0, -80.0),
            to: point(300.0, 0.0),
        };
        let count = curves(&wave).len();
        assert!(count < 80, "{count}");
    }
}
