//! How large the drawing is and how large its letters are.

use cullet_geometry::Bounds;

/// Widths of a letter that go across a map. A map shown 390 px wide, as on a phone, has letters of 7 px; printed on
/// A3 (297 or 420 mm wide) of 5 to 8 mm, to be read from where one stands at the bench.
const SIZES_ACROSS: f64 = 54.0;

/// A map is never slimmer than this against its sheet's height, so that a tall strip still has letters to be read on A3.
const SLIMMEST: f64 = 0.6;

/// The drawing's measures, mm; the sheet's upper left corner is the origin, y runs down.
#[derive(Debug, Clone, Copy)]
pub(super) struct Page {
    /// Size of ordinary letters.
    pub(super) size: f64,
    /// Left edge of the drawing.
    pub(super) left: f64,
    /// Right edge of the drawing.
    pub(super) right: f64,
}

impl Page {
    pub(super) fn new(sheet: Bounds) -> Self {
        let (width, height) = (sheet.width(), sheet.height());
        let least = width.max(SLIMMEST * height) * 1.06;
        let side = (least - width) / 2.0;
        Self {
            size: least / SIZES_ACROSS,
            left: -side,
            right: width + side,
        }
    }

    /// Makes room for what reaches out to the sides.
    pub(super) fn widen(&mut self, left: f64, right: f64) {
        self.left = self.left.min(left - 0.6 * self.size);
        self.right = self.right.max(right + 0.6 * self.size);
    }

    /// Where words under the sheet start.
    pub(super) fn text_left(&self) -> f64 {
        self.left + 1.4 * self.size
    }

    /// Where words under the sheet end.
    pub(super) fn text_right(&self) -> f64 {
        self.right - 1.4 * self.size
    }
}
