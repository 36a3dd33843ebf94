//! Which breaks hold.

use serde::{Deserialize, Serialize};

/// A workshop's settings for what can be broken.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    /// Least width of what a break may leave on either side, mm; narrower waste is nibbled off.
    pub narrowest_strip: f64,
    /// Sharpest turn of a chain from one score to the next, degrees.
    pub sharpest_turn_deg: f64,
    /// By how much the edge normals of a chain must keep inside a half-plane, degrees.
    pub pull_margin_deg: f64,
}

impl Rule {
    /// The usual settings for a glass with this narrowest strip: turns up to 30°, 5° of margin (common practice, no published
    /// figure; shops set their own).
    #[must_use]
    pub fn usual(narrowest_strip: f64) -> Self {
        Self {
            narrowest_strip,
            sharpest_turn_deg: 30.0,
            pull_margin_deg: 5.0,
        }
    }
}
