//! How an outline lies: rotation, then optional turning over, then translation.

use crate::Point;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Where and how an outline lies: rotated, then turned over if asked, then moved.
///
/// A point `p` goes to `T + M · R(rotation_deg) · p`, where `M` is the mirror image in the y axis (x → −x) when
/// `turned_over`, the identity otherwise, and `T = (x, y)`. Lengths in millimetres, the angle in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pose {
    /// Rotation in degrees, counter-clockwise, done first.
    pub rotation_deg: f64,
    /// Whether the piece is turned over (mirror image, x → −x) after the rotation.
    pub turned_over: bool,
    /// Movement to the right in millimetres, done last.
    pub x: f64,
    /// Movement upwards in millimetres, done last.
    pub y: f64,
}

impl Pose {
    /// The pose that leaves everything where it is.
    pub const IDENTITY: Self = Self {
        rotation_deg: 0.0,
        turned_over: false,
        x: 0.0,
        y: 0.0,
    };

    /// Where `point` comes to lie.
    ///
    /// Quarter turns are exact: multiples of 90° use 0 and ±1, not the rounded sine.
    ///
    /// ```
    /// use cullet_geometry::{Point, Pose};
    /// let pose = Pose { rotation_deg: 90.0, turned_over: true, x: 10.0, y: 0.0 };
    /// assert_eq!(pose.apply(Point { x: 1.0, y: 2.0 }), Point { x: 12.0, y: 1.0 });
    /// ```
    #[must_use]
    pub fn apply(&self, point: Point) -> Point {
        let (sin, cos) = sin_cos_deg(self.rotation_deg);
        let x = cos * point.x - sin * point.y;
        let y = sin * point.x + cos * point.y;
        Point {
            x: self.x + if self.turned_over { -x } else { x },
            y: self.y + y,
        }
    }

    /// The direction that an arrow at `angle_deg` points to after this pose, in degrees within `[0, 360)`.
    #[must_use]
    pub fn turn_direction(&self, angle_deg: f64) -> f64 {
        let turned = angle_deg + self.rotation_deg;
        let seen = if self.turned_over { 180.0 - turned } else { turned };
        seen.rem_euclid(360.0)
    }
}

/// Sine and cosine of an angle in degrees; exact at multiples of 90°.
pub(crate) fn sin_cos_deg(angle_deg: f64) -> (f64, f64) {
    let turns = angle_deg.rem_euclid(360.0);
    if turns == 0.0 {
        (0.0, 1.0)
    } else if turns == 90.0 {
        (1.0, 0.0)
    } else if turns == 180.0 {
        (0.0, -1.0)
    } else if turns == 270.0 {
        (-1.0, 0.0)
    } else {
        turns.to_radians().sin_cos()
    }
}
