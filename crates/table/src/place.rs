//! Where the sheet lies on the table.

use crate::Cutting;
use cullet_geometry::{Bounds, Point};
use cullet_job::{TableCorner, TableFile, TableX};
use cullet_scorepath::{ScorePath, Stretch};

/// From the sheet's frame to another, all lengths kept.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place {
    /// Where a step to the right and one up lead.
    right: Point,
    up: Point,
    origin: Point,
}

impl Place {
    /// As seen from the scored face, the lower left corner of the box round the sheet at zero.
    pub(crate) fn seen(cutting: &Cutting<'_>) -> Self {
        let Bounds { min, max } = cutting.sheet.outline.bounds();
        let up = Point { x: 0.0, y: 1.0 };
        if cutting.on_show_face {
            let right = Point { x: 1.0, y: 0.0 };
            Self {
                right,
                up,
                origin: min * -1.0,
            }
        } else {
            let right = Point { x: -1.0, y: 0.0 };
            let origin = Point { x: max.x, y: -min.y };
            Self { right, up, origin }
        }
    }

    /// On the table: X and Y run from its zero corner over the table.
    pub(crate) fn on_table(cutting: &Cutting<'_>, table: &TableFile) -> Self {
        let seen = Self::seen(cutting);
        let bounds = cutting.sheet.outline.bounds();
        let (width, height) = (bounds.width(), bounds.height());
        let (from_right, from_above) = match table.corner {
            TableCorner::LowerLeft => (false, false),
            TableCorner::LowerRight => (true, false),
            TableCorner::UpperLeft => (false, true),
            TableCorner::UpperRight => (true, true),
        };
        // Distances from the corner across and upright, then X and Y of them.
        let lay = |p: Point, is_step: bool| {
            let whole = if is_step { (0.0, 0.0) } else { (width, height) };
            let across = if from_right { whole.0 - p.x } else { p.x };
            let upright = if from_above { whole.1 - p.y } else { p.y };
            match table.x_runs {
                TableX::Across => Point { x: across, y: upright },
                TableX::Upright => Point { x: upright, y: across },
            }
        };
        let [x, y] = table.offset;
        Self {
            right: lay(seen.right, true),
            up: lay(seen.up, true),
            origin: lay(seen.origin, false) + Point { x, y },
        }
    }

    pub(crate) fn point(&self, p: Point) -> Point {
        self.right * p.x + self.up * p.y + self.origin
    }

    fn is_mirrored(&self) -> bool {
        self.right.x * self.up.y - self.right.y * self.up.x < 0.0
    }

    pub(crate) fn path(&self, path: &ScorePath) -> ScorePath {
        let stretches = path.stretches.iter().map(|stretch| match *stretch {
            Stretch::Line { from, to } => Stretch::Line {
                from: self.point(from),
                to: self.point(to),
            },
            Stretch::Arc { from, to, centre, ccw } => Stretch::Arc {
                from: self.point(from),
                to: self.point(to),
                centre: self.point(centre),
                ccw: ccw != self.is_mirrored(),
            },
        });
        ScorePath {
            stretches: stretches.collect(),
            ..path.clone()
        }
    }
}
