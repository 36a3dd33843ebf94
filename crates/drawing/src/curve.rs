//! The two curves a lead follows, straight line and circular arc, and exact sums with them. Ellipses and Bézier curves are
//! turned into chains of arcs first (`smooth`).

mod moved;

use cullet_geometry::Point;
use std::f64::consts::{PI, TAU};

/// Points closer than this are one point, mm: far above rounding, far below anything drawn.
pub const SAME_POINT: f64 = 1e-6;

/// A piece of a lead line. Millimetres, y up, angles in radians.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// Straight.
    Line {
        /// Where it starts.
        from: Point,
        /// Where it ends.
        to: Point,
    },
    /// Part of a circle.
    Arc {
        /// Centre of the circle.
        centre: Point,
        /// Its radius.
        radius: f64,
        /// Direction from the centre to the start.
        start: f64,
        /// How far it turns from there, positive counter-clockwise.
        turn: f64,
    },
}

/// A point.
#[must_use]
pub const fn point(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A point by direction (radians) and distance from `centre`.
#[must_use]
pub fn polar(centre: Point, radius: f64, angle: f64) -> Point {
    centre + point(angle.cos(), angle.sin()) * radius
}

/// z of the cross product.
#[must_use]
pub fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// Length of a vector.
#[must_use]
pub fn length(a: Point) -> f64 {
    a.x.hypot(a.y)
}

impl Curve {
    /// A straight line.
    #[must_use]
    pub const fn line(from: Point, to: Point) -> Self {
        Self::Line { from, to }
    }

    /// The arc from `from` to `to` (degrees) around `centre`; counter-clockwise when `to` is the larger.
    #[must_use]
    pub const fn arc(centre: Point, radius: f64, from: f64, to: f64) -> Self {
        Self::Arc {
            centre,
            radius,
            start: from.to_radians(),
            turn: (to - from).to_radians(),
        }
    }

    /// The arc over a chord whose tangent at the start stands `rise` degrees to the left of the chord (negative: to its
    /// right). Chord : depth is `2 / tan(|rise| / 2)`.
    #[must_use]
    pub fn over_chord(from: Point, to: Point, rise: f64) -> Self {
        let chord = to - from;
        let half = rise.to_radians();
        let radius = length(chord) / (2.0 * half.sin().abs());
        // Rising to the left, the arc bends back to the right: clockwise, centre on the right.
        let direction = chord.y.atan2(chord.x) + half;
        let side = if rise > 0.0 { -PI / 2.0 } else { PI / 2.0 };
        Self::Arc {
            centre: polar(from, radius, direction + side),
            radius,
            start: direction + side + PI,
            turn: -2.0 * half,
        }
    }

    /// The point at `t`, 0 at the start to 1 at the end.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        match *self {
            Self::Line { from, to } => from + (to - from) * t,
            Self::Arc {
                centre,
                radius,
                start,
                turn,
            } => polar(centre, radius, start + turn * t),
        }
    }

    /// Direction of travel at `t`, a unit vector.
    #[must_use]
    pub fn direction(&self, t: f64) -> Point {
        match *self {
            Self::Line { from, to } => (to - from) / length(to - from),
            Self::Arc { start, turn, .. } => {
                let ahead = start + turn * t + PI / 2.0 * turn.signum();
                point(ahead.cos(), ahead.sin())
            }
        }
    }

    /// Length, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        match *self {
            Self::Line { from, to } => length(to - from),
            Self::Arc { radius, turn, .. } => radius * turn.abs(),
        }
    }

    /// The part between `t0` and `t1`; turned round when `t1 < t0`.
    #[must_use]
    pub fn part(&self, t0: f64, t1: f64) -> Self {
        match *self {
            Self::Line { .. } => Self::line(self.at(t0), self.at(t1)),
            Self::Arc {
                centre,
                radius,
                start,
                turn,
            } => Self::Arc {
                centre,
                radius,
                start: start + turn * t0,
                turn: turn * (t1 - t0),
            },
        }
    }

    /// Its share of twice the area by Green's theorem, `∮ x dy − y dx`; exact.
    #[must_use]
    pub fn twice_area(&self) -> f64 {
        match *self {
            Self::Line { from, to } => cross(from, to),
            Self::Arc {
                centre, radius, turn, ..
            } => radius * radius * turn + cross(centre, self.at(1.0) - self.at(0.0)),
        }
    }

    /// Whether `next` goes on along the same line or the same circle in the same sense.
    #[must_use]
    pub fn same_carrier(&self, next: &Self) -> bool {
        match (self, next) {
            (Self::Line { .. }, Self::Line { .. }) => cross(self.direction(1.0), next.direction(0.0)).abs() < 1e-9,
            (
                Self::Arc {
                    centre: c1,
                    radius: r1,
                    turn: t1,
                    ..
                },
                Self::Arc {
                    centre: c2,
                    radius: r2,
                    turn: t2,
                    ..
                },
            ) => length(*c1 - *c2) < SAME_POINT && (r1 - r2).abs() < SAME_POINT && t1.signum() == t2.signum(),
            _ => false,
        }
    }

    /// The curve moved `distance` mm to its left: a line is shifted, an arc keeps its centre. The ends are only shifted.
    #[must_use]
    pub fn shifted_left(&self, distance: f64) -> Self {
        match *self {
            Self::Line { from, to } => {
                let along = self.direction(0.0);
                let left = point(-along.y, along.x) * distance;
                Self::line(from + left, to + left)
            }
            Self::Arc {
                centre,
                radius,
                start,
                turn,
            } => Self::Arc {
                centre,
                radius: radius - distance * turn.signum(),
                start,
                turn,
            },
        }
    }

    /// The same carrier and sense between two points that lie on it.
    #[must_use]
    pub fn between(&self, from: Point, to: Point) -> Self {
        match *self {
            Self::Line { .. } => Self::line(from, to),
            Self::Arc {
                centre, radius, turn, ..
            } => {
                let start = (from.y - centre.y).atan2(from.x - centre.x);
                let end = (to.y - centre.y).atan2(to.x - centre.x);
                let ahead = ((end - start) * turn.signum()).rem_euclid(TAU);
                Self::Arc {
                    centre,
                    radius,
                    start,
                    turn: ahead * turn.signum(),
                }
            }
        }
    }

    /// Where the full lines or circles under two curves meet: none, one or two points.
    #[must_use]
    pub fn carriers_meet(&self, other: &Self) -> Vec<Point> {
        match (*self, *other) {
            (Self::Line { from: a, .. }, Self::Line { from: c, .. }) => {
                let (u, v) = (self.direction(0.0), other.direction(0.0));
                let sine = cross(u, v);
                if sine.abs() < 1e-9 {
                    return vec![];
                }
                vec![a + u * (cross(c - a, v) / sine)]
            }
            (Self::Line { from, .. }, Self::Arc { centre, radius, .. }) => {
                line_and_circle(from, self.direction(0.0), centre, radius)
            }
            (Self::Arc { .. }, Self::Line { .. }) => other.carriers_meet(self),
            (
                Self::Arc {
                    centre: c1, radius: r1, ..
                },
                Self::Arc {
                    centre: c2, radius: r2, ..
                },
            ) => {
                let between = c2 - c1;
                let apart = length(between);
                if apart < SAME_POINT {
                    return vec![];
                }
                // The two circles meet on the line square to the line of centres at this distance from c1.
                let along = (apart * apart + r1 * r1 - r2 * r2) / (2.0 * apart);
                let axis = between / apart;
                line_and_circle(c1 + axis * along, point(-axis.y, axis.x), c1, r1)
            }
        }
    }

    /// The `t` of a point on the carrier if it lies on the curve, ends included to within [`SAME_POINT`].
    #[must_use]
    pub fn position_of(&self, p: Point) -> Option<f64> {
        let slack = SAME_POINT / self.length();
        let t = match *self {
            Self::Line { from, to } => {
                let along = to - from;
                ((p.x - from.x) * along.x + (p.y - from.y) * along.y) / (along.x * along.x + along.y * along.y)
            }
            Self::Arc {
                centre, start, turn, ..
            } => {
                let angle = (p.y - centre.y).atan2(p.x - centre.x);
                let ahead = ((angle - start) * turn.signum()).rem_euclid(TAU) / turn.abs();
                // Just before the start looks like almost a full turn.
                let before = ahead - TAU / turn.abs();
                if before > -slack { before } else { ahead }
            }
        };
        (t > -slack && t < 1.0 + slack).then(|| t.clamp(0.0, 1.0))
    }

    /// Distance from a point, mm; exact.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        let to_ends = length(p - self.at(0.0)).min(length(p - self.at(1.0)));
        let foot = match *self {
            Self::Line { .. } => p,
            Self::Arc { centre, radius, .. } => polar(centre, radius, (p.y - centre.y).atan2(p.x - centre.x)),
        };
        self.position_of(foot)
            .map_or(to_ends, |t| to_ends.min(length(p - self.at(t))))
    }
}

fn line_and_circle(on_line: Point, along: Point, centre: Point, radius: f64) -> Vec<Point> {
    let off = on_line - centre;
    let middle = off.x * along.x + off.y * along.y;
    let square = middle * middle - (off.x * off.x + off.y * off.y) + radius * radius;
    if square < 0.0 {
        return vec![];
    }
    [-middle - square.sqrt(), -middle + square.sqrt()]
        .map(|d| on_line + along * d)
        .to_vec()
}

/// The dot product.
#[must_use]
pub fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}
