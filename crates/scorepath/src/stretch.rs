//! A line or an arc of a path, driven one way.

use cullet_geometry::Point;

/// A line or an arc, from its start to its end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stretch {
    /// A straight line.
    Line {
        /// Its start.
        from: Point,
        /// Its end.
        to: Point,
    },
    /// An arc of a circle of less than a whole turn.
    Arc {
        /// Its start.
        from: Point,
        /// Its end.
        to: Point,
        /// Centre of the circle.
        centre: Point,
        /// Whether it goes counter-clockwise.
        ccw: bool,
    },
}

/// Sagitta under which an arc is a line, mm.
const FLAT: f64 = 0.001;
/// Bend at the ends under which an arc is a line, radians (0.03°).
const STRAIGHT: f64 = 5e-4;

impl Stretch {
    /// The arc that starts at `from` along `heading` (a unit vector) and ends at `to`; a line where it hardly bends.
    #[must_use]
    pub fn tangent(from: Point, heading: Point, to: Point) -> Self {
        let chord = to - from;
        let squared = dot(chord, chord);
        let bend = cross(heading, chord);
        // Half the sweep has this sine; the sagitta is about chord × half sweep / 4.
        let length = squared.sqrt();
        let sine = if length > 0.0 { bend / length } else { 0.0 };
        if dot(heading, chord) > 0.0 && sine.abs() < STRAIGHT && length * sine.abs() / 2.0 < FLAT {
            return Self::Line { from, to };
        }
        let to_centre = squared / (2.0 * bend);
        Self::Arc {
            from,
            to,
            centre: from + left(heading) * to_centre,
            ccw: bend > 0.0,
        }
    }

    /// Where it starts.
    #[must_use]
    pub fn from(&self) -> Point {
        match self {
            Self::Line { from, .. } | Self::Arc { from, .. } => *from,
        }
    }

    /// Where it ends.
    #[must_use]
    pub fn to(&self) -> Point {
        match self {
            Self::Line { to, .. } | Self::Arc { to, .. } => *to,
        }
    }

    /// Radius of an arc, mm; infinite for a line.
    #[must_use]
    pub fn radius(&self) -> f64 {
        match self {
            Self::Line { .. } => f64::INFINITY,
            Self::Arc { from, centre, .. } => norm(*from - *centre),
        }
    }

    /// How far it turns, radians, counter-clockwise positive.
    #[must_use]
    pub fn sweep(&self) -> f64 {
        let Self::Arc { from, to, centre, ccw } = self else {
            return 0.0;
        };
        let (a, b) = (*from - *centre, *to - *centre);
        let turn = cross(a, b).atan2(dot(a, b));
        match (ccw, turn >= 0.0) {
            (true, false) => turn + std::f64::consts::TAU,
            (false, true) if turn > 0.0 => turn - std::f64::consts::TAU,
            _ => turn,
        }
    }

    /// Length, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match self {
            Self::Line { from, to } => norm(*to - *from),
            Self::Arc { .. } => self.radius() * self.sweep().abs(),
        }
    }

    /// Direction of travel at the start, a unit vector.
    #[must_use]
    pub fn heading(&self) -> Point {
        self.heading_at(0.0)
    }

    /// Direction of travel at the end, a unit vector.
    #[must_use]
    pub fn end_heading(&self) -> Point {
        self.heading_at(1.0)
    }

    /// Direction of travel at a share of its length.
    #[must_use]
    pub fn heading_at(&self, share: f64) -> Point {
        match self {
            Self::Line { from, to } => unit(*to - *from),
            Self::Arc { centre, ccw, .. } => {
                let out = unit(self.at(share) - *centre);
                if *ccw { left(out) } else { left(out) * -1.0 }
            }
        }
    }

    /// The point at a share of its length, 0 to 1.
    #[must_use]
    pub fn at(&self, share: f64) -> Point {
        match self {
            Self::Line { from, to } => *from + (*to - *from) * share,
            Self::Arc { to, .. } if share >= 1.0 => *to,
            Self::Arc { from, centre, .. } => *centre + turned(*from - *centre, self.sweep() * share),
        }
    }

    /// The same driven the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        match *self {
            Self::Line { from, to } => Self::Line { from: to, to: from },
            Self::Arc { from, to, centre, ccw } => Self::Arc {
                from: to,
                to: from,
                centre,
                ccw: !ccw,
            },
        }
    }

    /// The nearest distance from `p`, mm.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        let to_ends = norm(p - self.from()).min(norm(p - self.to()));
        match self {
            Self::Line { from, to } => {
                let side = *to - *from;
                let t = dot(p - *from, side) / dot(side, side).max(f64::MIN_POSITIVE);
                if (0.0..=1.0).contains(&t) {
                    norm(p - (*from + side * t))
                } else {
                    to_ends
                }
            }
            Self::Arc { from, centre, ccw, .. } => {
                let (a, b) = (*from - *centre, p - *centre);
                let turn = cross(a, b).atan2(dot(a, b)) * if *ccw { 1.0 } else { -1.0 };
                if turn.rem_euclid(std::f64::consts::TAU) <= self.sweep().abs() {
                    (norm(b) - norm(a)).abs()
                } else {
                    to_ends
                }
            }
        }
    }
}

pub(crate) fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

pub(crate) fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

pub(crate) fn norm(a: Point) -> f64 {
    a.x.hypot(a.y)
}

pub(crate) fn unit(a: Point) -> Point {
    let length = norm(a);
    if length > 0.0 {
        a / length
    } else {
        Point { x: 1.0, y: 0.0 }
    }
}

pub(crate) fn left(a: Point) -> Point {
    Point { x: -a.y, y: a.x }
}

/// How far `b` is turned from `a`, radians within ±π.
pub(crate) fn turn(a: Point, b: Point) -> f64 {
    cross(a, b).atan2(dot(a, b))
}

pub(crate) fn turned(a: Point, by: f64) -> Point {
    let (sin, cos) = by.sin_cos();
    Point {
        x: a.x * cos - a.y * sin,
        y: a.x * sin + a.y * cos,
    }
}
