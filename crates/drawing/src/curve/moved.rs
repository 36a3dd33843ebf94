//! Curves walked backwards, moved, fitted to other ends, cut into chords.

use super::*;

impl Curve {
    /// The same curve walked from its end to its start.
    #[must_use]
    pub fn reversed(&self) -> Self {
        self.part(1.0, 0.0)
    }

    /// The nearest point of the curve, ends included: its `t` and its distance, mm; exact.
    #[must_use]
    pub fn nearest(&self, p: Point) -> (f64, f64) {
        let foot = match *self {
            Self::Line { .. } => p,
            Self::Arc { centre, radius, .. } => polar(centre, radius, (p.y - centre.y).atan2(p.x - centre.x)),
        };
        let on_it = self.position_of(foot);
        on_it
            .into_iter()
            .chain([0.0, 1.0])
            .map(|t| (t, length(p - self.at(t))))
            .fold(
                (0.0, f64::INFINITY),
                |best, next| if next.1 < best.1 { next } else { best },
            )
    }

    /// The `t` of a point on the carrier, below 0 before the start and above 1 past the end, whichever is nearer.
    #[must_use]
    pub fn position_beyond(&self, p: Point) -> f64 {
        match *self {
            Self::Line { from, to } => {
                let along = to - from;
                dot(p - from, along) / dot(along, along)
            }
            Self::Arc {
                centre, start, turn, ..
            } => {
                let angle = (p.y - centre.y).atan2(p.x - centre.x);
                let middle = start + turn / 2.0;
                // The angle from the middle, at most half a turn either way.
                let off = (angle - middle + PI).rem_euclid(TAU) - PI;
                0.5 + off / turn
            }
        }
    }

    /// The upright box around it: lower left and upper right corner; exact.
    #[must_use]
    pub fn corners(&self) -> (Point, Point) {
        let (a, b) = (self.at(0.0), self.at(1.0));
        let mut low = point(a.x.min(b.x), a.y.min(b.y));
        let mut high = point(a.x.max(b.x), a.y.max(b.y));
        if let Self::Arc {
            centre,
            radius,
            start,
            turn,
        } = *self
        {
            let (least, most) = (start.min(start + turn), start.max(start + turn));
            // Quarter directions that the arc runs through.
            let mut quarter = (least / (PI / 2.0)).ceil();
            while quarter * PI / 2.0 <= most {
                let p = polar(centre, radius, quarter * PI / 2.0);
                low = point(low.x.min(p.x), low.y.min(p.y));
                high = point(high.x.max(p.x), high.y.max(p.y));
                quarter += 1.0;
            }
        }
        (low, high)
    }

    /// The same shape turned, sized and moved so that it runs from `from` to `to`; a full circle is only moved. Unchanged
    /// where it does so already.
    #[must_use]
    pub fn fitted(&self, from: Point, to: Point) -> Self {
        let (a, b) = (self.at(0.0), self.at(1.0));
        if length(from - a) < 1e-12 && length(to - b) < 1e-12 {
            return *self;
        }
        match self {
            Self::Line { .. } => Self::line(from, to),
            Self::Arc { .. } => self.carried((a, b), (from, to)),
        }
    }

    /// The curve turned, sized and moved with two points, to where those go; only moved where they are one.
    #[must_use]
    pub fn carried(&self, old: (Point, Point), new: (Point, Point)) -> Self {
        let (from, to) = (old.1 - old.0, new.1 - new.0);
        let square = dot(from, from);
        if square < 1e-12 {
            return self.translated(new.0 - old.0);
        }
        // to / from as complex numbers.
        let factor = point(dot(from, to) / square, cross(from, to) / square);
        let carry = |p: Point| {
            let arm = p - old.0;
            new.0 + point(arm.x * factor.x - arm.y * factor.y, arm.x * factor.y + arm.y * factor.x)
        };
        match *self {
            Self::Line { from, to } => Self::line(carry(from), carry(to)),
            Self::Arc {
                centre,
                radius,
                start,
                turn,
            } => Self::Arc {
                centre: carry(centre),
                radius: radius * length(factor),
                start: start + factor.y.atan2(factor.x),
                turn,
            },
        }
    }

    /// The arc that leaves `from` in a direction (a unit vector) and ends in `to`; a line where it is straight to within
    /// 1e-7 mm.
    #[must_use]
    pub fn tangent_arc(from: Point, along: Point, to: Point) -> Self {
        let chord = to - from;
        let (rise, run) = (cross(along, chord), dot(along, chord));
        // The arc's depth is about a quarter of the chord times the tangent of the angle to it.
        if rise.abs() < 4e-7 && run > 0.0 {
            return Self::line(from, to);
        }
        let radius = dot(chord, chord) / (2.0 * rise);
        let centre = from + point(-along.y, along.x) * radius;
        Self::Arc {
            centre,
            radius: radius.abs(),
            start: (from.y - centre.y).atan2(from.x - centre.x),
            turn: 2.0 * rise.atan2(run),
        }
    }

    /// Points along it, the start left out and the end included, no chord farther than `tolerance` mm from it.
    #[must_use]
    pub fn chords(&self, tolerance: f64) -> Vec<Point> {
        let Self::Arc { radius, turn, .. } = *self else {
            return vec![self.at(1.0)];
        };
        let half = (1.0 - (tolerance / radius).min(1.0)).acos().clamp(1e-4, PI / 8.0);
        let steps = (turn.abs() / (2.0 * half)).ceil().max(1.0);
        (1..=steps as usize).map(|i| self.at(i as f64 / steps)).collect()
    }

    /// The same curve moved by a vector.
    #[must_use]
    pub fn translated(&self, by: Point) -> Self {
        match *self {
            Self::Line { from, to } => Self::line(from + by, to + by),
            Self::Arc {
                centre,
                radius,
                start,
                turn,
            } => Self::Arc {
                centre: centre + by,
                radius,
                start,
                turn,
            },
        }
    }
}
