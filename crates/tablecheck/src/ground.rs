//! From a table's X and Y, or a drawing's, back to the sheet's own frame.

use crate::Wanted;
use cullet_geometry::Point;
use cullet_job::{TableCorner, TableFile, TableX};

/// A place seen from the scored face, counted from the lower left corner of the box round the sheet.
pub(crate) fn from_seen(seen: Point, wanted: &Wanted<'_>) -> Point {
    let bounds = wanted.outline.bounds();
    Point {
        x: match wanted.on_show_face {
            true => bounds.min.x + seen.x,
            false => bounds.max.x - seen.x,
        },
        y: bounds.min.y + seen.y,
    }
}

/// A place on the table.
pub(crate) fn from_table(p: Point, table: &TableFile, wanted: &Wanted<'_>) -> Point {
    let bounds = wanted.outline.bounds();
    let (x, y) = (p.x - table.offset[0], p.y - table.offset[1]);
    let (across, upright) = match table.x_runs {
        TableX::Across => (x, y),
        TableX::Upright => (y, x),
    };
    let x = match table.corner {
        TableCorner::LowerLeft | TableCorner::UpperLeft => across,
        TableCorner::LowerRight | TableCorner::UpperRight => bounds.width() - across,
    };
    let y = match table.corner {
        TableCorner::LowerLeft | TableCorner::LowerRight => upright,
        TableCorner::UpperLeft | TableCorner::UpperRight => bounds.height() - upright,
    };
    from_seen(Point { x, y }, wanted)
}
