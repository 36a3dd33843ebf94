//! What is scored round the pieces of a shaped layout: half a score kerf off each cut outline.

use cullet_geometry::{Outline, boolean, offset};

/// `pieces` grown by half of `kerf`, as far as there is glass of `sheet`: pieces a kerf apart share the score between them, as
/// in straight runs.
pub(super) fn scored(pieces: Vec<Outline>, sheet: &Outline, kerf: f64) -> Vec<Outline> {
    if kerf <= 0.0 {
        return pieces;
    }
    let each = pieces.into_iter().map(|piece| {
        let grown = offset::grow(&piece, 0.5 * kerf);
        if grown.points().iter().all(|p| sheet.contains(*p)) && is_convex(sheet) {
            return grown;
        }
        let inside = boolean::intersection(&grown, sheet).into_iter();
        let largest = inside.max_by(|a, b| a.area().total_cmp(&b.area()));
        largest.map_or(piece, |region| region.outer)
    });
    each.collect()
}

fn is_convex(sheet: &Outline) -> bool {
    sheet.convex_hull().points().len() == sheet.points().len()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At the sheet's edge nothing is scored; elsewhere the score takes half a kerf of each piece's side.
    #[test]
    fn half_a_kerf_where_there_is_glass() {
        let sheet = Outline::rectangle(300.0, 200.0);
        let pieces = vec![
            Outline::rectangle(100.0, 200.0),
            Outline::rectangle(100.0, 100.0).translated(101.0, 50.0),
        ];
        let found = scored(pieces.clone(), &sheet, 1.0);
        let areas: Vec<f64> = found.iter().map(Outline::area).collect();
        assert!(
            (areas[0] - 100.5 * 200.0).abs() < 0.1 && (areas[1] - 101.0 * 101.0).abs() < 0.1,
            "{areas:?}"
        );
        assert_eq!(scored(pieces.clone(), &sheet, 0.0), pieces);
    }
}
