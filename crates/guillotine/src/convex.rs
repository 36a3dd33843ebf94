//! Convex parts of glass: straight sides only, cut by straight lines.

use cullet_geometry::Point;
pub(super) use cullet_geometry::ring::{area, cross, dot, length, sides, width};
pub(super) use cullet_geometry::tolerance::{REACH, SNAP, TOUCH};

/// One side of a part: outward unit normal, and how far out it lies.
#[derive(Debug, Clone, Copy)]
pub(super) struct Side {
    pub(super) normal: Point,
    pub(super) offset: f64,
    pub(super) angle: f64,
}

/// A convex part of glass.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) points: Vec<Point>,
    pub(super) sides: Vec<Side>,
    pub(super) area: f64,
}

impl Part {
    /// `None` when nothing worth the name is enclosed.
    pub(super) fn new(points: Vec<Point>) -> Option<Self> {
        let mut kept: Vec<Point> = Vec::with_capacity(points.len());
        for p in points {
            if kept.last().is_none_or(|q| length(p - *q) > SNAP) {
                kept.push(p);
            }
        }
        while kept.len() > 1 && length(kept[0] - kept[kept.len() - 1]) <= SNAP {
            kept.pop();
        }
        if kept.len() < 3 {
            return None;
        }
        let area = area(&kept);
        let list = self::sides(&kept)
            .map(|(a, b)| {
                let along = (b - a) / length(b - a);
                let normal = Point {
                    x: along.y,
                    y: -along.x,
                };
                Side {
                    normal,
                    offset: dot(normal, a),
                    angle: along.y.atan2(along.x),
                }
            })
            .collect();
        (area > 1e-3).then_some(Self {
            points: kept,
            sides: list,
            area,
        })
    }

    pub(super) fn width(&self) -> f64 {
        width(&self.points)
    }

    /// What lies left and right of the line through `at` along the unit vector `along`.
    pub(super) fn cut(&self, at: Point, along: Point) -> (Option<Self>, Option<Self>) {
        let n = self.points.len();
        let away = |p: Point| {
            let d = cross(along, p - at);
            if d.abs() <= SNAP { 0.0 } else { d }
        };
        let (mut left, mut right) = (Vec::with_capacity(n + 1), Vec::with_capacity(n + 1));
        for i in 0..n {
            let (p, q) = (self.points[i], self.points[(i + 1) % n]);
            let (d, e) = (away(p), away(q));
            if d >= 0.0 {
                left.push(p);
            }
            if d <= 0.0 {
                right.push(p);
            }
            if d * e < 0.0 {
                let x = p + (q - p) * (d / (d - e));
                left.push(x);
                right.push(x);
            }
        }
        (Self::new(left), Self::new(right))
    }

    /// Area left over on the right of a line, without making it.
    pub(super) fn reaches_right_of(&self, at: Point, along: Point) -> f64 {
        self.points.iter().map(|p| -cross(along, *p - at)).fold(0.0, f64::max)
    }
}

/// Rotated by a cosine and a sine.
pub(super) fn turned(p: Point, cos: f64, sin: f64) -> Point {
    Point {
        x: cos * p.x - sin * p.y,
        y: sin * p.x + cos * p.y,
    }
}

/// Cosine and sine of degrees, exact at quarter turns.
pub(super) fn cos_sin_deg(angle_deg: f64) -> (f64, f64) {
    let unit = cullet_geometry::Pose {
        rotation_deg: angle_deg,
        ..cullet_geometry::Pose::IDENTITY
    }
    .apply(Point { x: 1.0, y: 0.0 });
    (unit.x, unit.y)
}
