//! Affine maps of drawn segments. Arcs stay arcs: a map turns an ellipse into another ellipse.

use crate::drawing::Segment;
use cullet_geometry::Point;

/// x' = a·x + c·y + e, y' = b·x + d·y + f.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Affine {
    pub(super) a: f64,
    pub(super) b: f64,
    pub(super) c: f64,
    pub(super) d: f64,
    pub(super) e: f64,
    pub(super) f: f64,
}

/// Relative difference below which two half axes are one length: a few roundings of f64.
const SAME_LENGTH: f64 = 1e-12;

impl Affine {
    pub(super) const IDENTITY: Self = Self::new(1.0, 0.0, 0.0, 1.0, 0.0, 0.0);

    pub(super) const fn new(a: f64, b: f64, c: f64, d: f64, e: f64, f: f64) -> Self {
        Self { a, b, c, d, e, f }
    }

    pub(super) const fn scale(x: f64, y: f64) -> Self {
        Self::new(x, 0.0, 0.0, y, 0.0, 0.0)
    }

    pub(super) const fn shift(x: f64, y: f64) -> Self {
        Self::new(1.0, 0.0, 0.0, 1.0, x, y)
    }

    pub(super) fn rotation(degrees: f64) -> Self {
        let (sin, cos) = sin_cos_deg(degrees);
        Self::new(cos, sin, -sin, cos, 0.0, 0.0)
    }

    /// First `inner`, then this one.
    pub(super) fn after(&self, inner: &Self) -> Self {
        let Point { x: a, y: b } = self.vector(Point { x: inner.a, y: inner.b });
        let Point { x: c, y: d } = self.vector(Point { x: inner.c, y: inner.d });
        let Point { x: e, y: f } = self.point(Point { x: inner.e, y: inner.f });
        Self { a, b, c, d, e, f }
    }

    pub(super) fn point(&self, p: Point) -> Point {
        Point {
            x: self.a * p.x + self.c * p.y + self.e,
            y: self.b * p.x + self.d * p.y + self.f,
        }
    }

    /// The map without its shift.
    pub(super) fn vector(&self, v: Point) -> Point {
        Point {
            x: self.a * v.x + self.c * v.y,
            y: self.b * v.x + self.d * v.y,
        }
    }

    /// Whether it presses the plane into a line or a point, where a drawing has no shape left.
    pub(super) fn is_flat(&self) -> bool {
        let size = (self.a.abs() + self.c.abs()) * (self.b.abs() + self.d.abs());
        let turned = self.a * self.d - self.b * self.c;
        !(turned.abs() > 1e-12 * size && turned.is_finite())
    }

    pub(super) fn segment(&self, segment: &Segment) -> Segment {
        match *segment {
            Segment::Line { from, to } => Segment::Line {
                from: self.point(from),
                to: self.point(to),
            },
            Segment::Cubic { from, a, b, to } => Segment::Cubic {
                from: self.point(from),
                a: self.point(a),
                b: self.point(b),
                to: self.point(to),
            },
            Segment::Arc {
                centre,
                radii,
                rotation_deg,
                start_deg,
                sweep_deg,
            } => {
                let (sin, cos) = sin_cos_deg(rotation_deg);
                let u = Point {
                    x: radii[0] * cos,
                    y: radii[0] * sin,
                };
                let v = Point {
                    x: -radii[1] * sin,
                    y: radii[1] * cos,
                };
                ellipse_arc(self.point(centre), self.vector(u), self.vector(v), start_deg, sweep_deg)
            }
        }
    }
}

/// The arc centre + u·cos t + v·sin t for t from `start_deg` on, u and v any two conjugate half diameters: turned to the
/// half axes at right angles that the model wants. With tan 2s = 2u·v / (u² − v²) the diameters at s and s + 90° are
/// orthogonal.
pub(super) fn ellipse_arc(centre: Point, u: Point, v: Point, start_deg: f64, sweep_deg: f64) -> Segment {
    let (uu, vv, uv) = (u.x * u.x + u.y * u.y, v.x * v.x + v.y * v.y, u.x * v.x + u.y * v.y);
    let (mixed, apart) = (2.0 * uv, uu - vv);
    let shift = if mixed.abs() <= SAME_LENGTH * (uu + vv) {
        0.0
    } else {
        mixed.atan2(apart) / 2.0
    };
    let (sin, cos) = shift.sin_cos();
    let first = Point {
        x: u.x * cos + v.x * sin,
        y: u.y * cos + v.y * sin,
    };
    let second = Point {
        x: v.x * cos - u.x * sin,
        y: v.y * cos - u.y * sin,
    };
    let mut radii = [first.x.hypot(first.y), second.x.hypot(second.y)];
    if (radii[0] - radii[1]).abs() <= SAME_LENGTH * radii[0] {
        radii[1] = radii[0];
    }
    let mirrored = first.x * second.y - first.y * second.x < 0.0;
    let sign = if mirrored { -1.0 } else { 1.0 };
    Segment::Arc {
        centre,
        radii,
        rotation_deg: first.y.atan2(first.x).to_degrees(),
        start_deg: sign * (start_deg - shift.to_degrees()),
        sweep_deg: sign * sweep_deg,
    }
}

/// Sine and cosine, exact at whole right angles, so that a quarter turn leaves no 1e-17 behind.
pub(super) fn sin_cos_deg(degrees: f64) -> (f64, f64) {
    let turn = degrees.rem_euclid(360.0);
    if turn == 0.0 {
        (0.0, 1.0)
    } else if turn == 90.0 {
        (1.0, 0.0)
    } else if turn == 180.0 {
        (0.0, -1.0)
    } else if turn == 270.0 {
        (-1.0, 0.0)
    } else {
        degrees.to_radians().sin_cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(segment: &Segment, share: f64) -> Point {
        let Segment::Arc {
            centre,
            radii,
            rotation_deg,
            start_deg,
            sweep_deg,
        } = *segment
        else {
            panic!("an arc stays an arc")
        };
        let (sin, cos) = sin_cos_deg(rotation_deg);
        let (s, c) = (start_deg + share * sweep_deg).to_radians().sin_cos();
        Point {
            x: centre.x + radii[0] * c * cos - radii[1] * s * sin,
            y: centre.y + radii[0] * c * sin + radii[1] * s * cos,
        }
    }

    proptest! {
        /// Mapping the arc and mapping its points is one thing, for any affine map.
        #[test]
        fn an_arc_under_a_map_is_the_arc_of_the_mapped_points(
            m in prop::array::uniform6(-3.0..3.0f64), r in prop::array::uniform2(0.1..50.0f64),
            rotation_deg in -360.0..360.0f64, start_deg in -360.0..360.0f64, sweep_deg in -360.0..360.0f64,
        ) {
            let map = Affine::new(m[0], m[1], m[2], m[3], m[4], m[5]);
            let arc = Segment::Arc { centre: Point { x: 3.0, y: -7.0 }, radii: r, rotation_deg, start_deg, sweep_deg };
            let mapped = map.segment(&arc);
            for share in [0.0, 0.3, 0.5, 1.0] {
                let (left, right) = (map.point(at(&arc, share)), at(&mapped, share));
                prop_assert!((left.x - right.x).hypot(left.y - right.y) < 1e-9, "{left:?} {right:?}");
            }
        }
    }

    #[test]
    fn a_circle_mirrored_and_scaled_stays_one() {
        let circle = Segment::Arc {
            centre: Point { x: 1.0, y: 2.0 },
            radii: [5.0, 5.0],
            rotation_deg: 0.0,
            start_deg: 0.0,
            sweep_deg: 90.0,
        };
        let Segment::Arc { radii, sweep_deg, .. } = Affine::scale(2.0, -2.0).segment(&circle) else {
            panic!("an arc")
        };
        assert_eq!((radii, sweep_deg), ([10.0, 10.0], -90.0));
    }
}
