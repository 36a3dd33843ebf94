//! The pieces of a path after reading: lines, cubic Béziers and elliptical arcs, in millimetres and y up.

use crate::Point;

/// An elliptical arc in centre form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct EllipseArc {
    pub(super) from: Point,
    pub(super) to: Point,
    pub(super) centre: Point,
    /// Half axes, mm, positive.
    pub(super) radii: (f64, f64),
    /// Where the first half axis points, radians.
    pub(super) tilt: f64,
    /// Parameter angle at `from`, radians.
    pub(super) start: f64,
    /// Signed change of the parameter angle, radians; positive is counter-clockwise.
    pub(super) sweep: f64,
}

/// One piece of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Segment {
    Line(Point, Point),
    Cubic([Point; 4]),
    Arc(EllipseArc),
}

impl Segment {
    pub(super) fn from(&self) -> Point {
        match self {
            Self::Line(a, _) => *a,
            Self::Cubic(p) => p[0],
            Self::Arc(arc) => arc.from,
        }
    }

    pub(super) fn to(&self) -> Point {
        match self {
            Self::Line(_, b) => *b,
            Self::Cubic(p) => p[3],
            Self::Arc(arc) => arc.to,
        }
    }

    pub(super) fn with_end(self, end: Point) -> Self {
        match self {
            Self::Line(a, _) => Self::Line(a, end),
            Self::Cubic([a, b, c, _]) => Self::Cubic([a, b, c, end]),
            Self::Arc(arc) => Self::Arc(EllipseArc { to: end, ..arc }),
        }
    }

    pub(super) fn reversed(self) -> Self {
        match self {
            Self::Line(a, b) => Self::Line(b, a),
            Self::Cubic([a, b, c, d]) => Self::Cubic([d, c, b, a]),
            Self::Arc(arc) => Self::Arc(EllipseArc {
                from: arc.to,
                to: arc.from,
                start: arc.start + arc.sweep,
                sweep: -arc.sweep,
                ..arc
            }),
        }
    }

    /// ½ ∮ (x dy − y dx) along the piece, seen from `origin`: its share of the enclosed area by Green's theorem.
    pub(super) fn area_share(&self, origin: Point) -> f64 {
        match self {
            Self::Line(a, b) => cross(*a - origin, *b - origin) / 2.0,
            Self::Cubic(p) => {
                // The integral of the products of Bernstein polynomials, multiplied out.
                let [a, b, c, d] = p.map(|q| q - origin);
                (6.0 * cross(a, b)
                    + 3.0 * cross(a, c)
                    + cross(a, d)
                    + 3.0 * cross(b, c)
                    + 3.0 * cross(b, d)
                    + 6.0 * cross(c, d))
                    / 20.0
            }
            Self::Arc(arc) => {
                let sector = arc.radii.0 * arc.radii.1 * arc.sweep;
                (sector + cross(arc.centre - origin, arc.to - arc.from)) / 2.0
            }
        }
    }
}

impl EllipseArc {
    /// The point of the ellipse at a parameter angle, `reach` times as far from the centre.
    pub(super) fn at(&self, angle: f64, reach: f64) -> Point {
        let (sin, cos) = angle.sin_cos();
        let (x, y) = (self.radii.0 * cos * reach, self.radii.1 * sin * reach);
        let (sin, cos) = self.tilt.sin_cos();
        self.centre
            + Point {
                x: cos * x - sin * y,
                y: sin * x + cos * y,
            }
    }

    /// From SVG's end-point form (W3C SVG 2, appendix B.2.4 and B.2.5), `None` where that asks for a straight line.
    /// Radii too small to reach are scaled up, as the standard says.
    pub(super) fn from_end_points(
        from: Point,
        to: Point,
        radii: (f64, f64),
        tilt: f64,
        large: bool,
        counter_clockwise: bool,
    ) -> Option<Self> {
        let (mut rx, mut ry) = (radii.0.abs(), radii.1.abs());
        if rx == 0.0 || ry == 0.0 || from == to {
            return None;
        }
        let chord = from - to;
        // An arc that leaves its chord by less than a millionth of a millimetre is a line.
        let square = chord.x * chord.x + chord.y * chord.y;
        if !large && square / (8.0 * rx.min(ry)) < 1e-6 && rx.min(ry) > 1e6 * square.sqrt() {
            return None;
        }
        let (sin, cos) = tilt.sin_cos();
        // The half chord in the ellipse's own axes, in units of its radii.
        let half = |rx: f64, ry: f64| {
            (
                (cos * chord.x + sin * chord.y) / 2.0 / rx,
                (cos * chord.y - sin * chord.x) / 2.0 / ry,
            )
        };
        let (mut u, mut v) = half(rx, ry);
        let reach = u.hypot(v);
        if reach > 1.0 {
            rx *= reach;
            ry *= reach;
            (u, v) = half(rx, ry);
        }
        let rest = 1.0 - (u * u + v * v);
        // Rounding would move the centre of a half ellipse by the root of the rounding.
        let away = if rest < 1e-13 {
            0.0
        } else {
            (rest / (u * u + v * v)).sqrt()
        };
        let away = if large == counter_clockwise { -away } else { away };
        let (cu, cv) = (away * v, -away * u);
        let start = (v - cv).atan2(u - cu);
        let end = (-v - cv).atan2(-u - cu);
        let turn = std::f64::consts::TAU;
        let sweep = if counter_clockwise {
            (end - start).rem_euclid(turn)
        } else {
            -(start - end).rem_euclid(turn)
        };
        let (x, y) = (cu * rx, cv * ry);
        let centre = Point {
            x: cos * x - sin * y + (from.x + to.x) / 2.0,
            y: sin * x + cos * y + (from.y + to.y) / 2.0,
        };
        Some(Self {
            from,
            to,
            centre,
            radii: (rx, ry),
            tilt,
            start,
            sweep,
        })
    }
}

/// The cross product of two vectors: positive when `b` turns left of `a`.
pub(super) fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// The dot product of two vectors.
pub(super) fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

/// The length of a vector.
pub(super) fn length(a: Point) -> f64 {
    a.x.hypot(a.y)
}
