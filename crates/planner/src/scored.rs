//! What is scored round the pieces of a shaped layout: half a score kerf off each cut outline, or near the middle of the lead line
//! where two share a score as drawn.

use super::beside;
use cullet_breakout::Rule;
use cullet_geometry::{Outline, boolean, offset};

/// `pieces` grown by half of `kerf`, as far as there is glass of `sheet`: pieces a kerf apart share the score between them, as
/// in straight runs. Where neighbours lie further apart and share one nevertheless, since what is left on them is ground off, by half
/// of what is between them less some room for the wheel.
pub(super) fn scored(pieces: Vec<Outline>, sheet: &Outline, kerf: f64, ground_off: f64) -> Vec<Outline> {
    let by = scored_off(&pieces, kerf, ground_off);
    let each = pieces.into_iter().zip(by).map(|(piece, by)| {
        if by <= 0.0 {
            return piece;
        }
        let grown = offset::grow(&piece, by);
        if grown.points().iter().all(|p| sheet.contains(*p)) && is_convex(sheet) {
            return grown;
        }
        let inside = boolean::intersection(&grown, sheet).into_iter();
        let largest = inside.max_by(|a, b| a.area().total_cmp(&b.area()));
        largest.map_or(piece, |region| region.outer)
    });
    each.collect()
}

/// The rule for breaking such pieces out: what their scores leave on them already is not left a second time.
pub(super) fn rule_for(pieces: &[Outline], kerf: f64, rule: &Rule) -> Rule {
    let left_on = most_off(pieces, kerf, rule.ground_off) - 0.5 * kerf;
    Rule {
        ground_off: (rule.ground_off - left_on).max(0.0),
        ..*rule
    }
}

/// How far off any of the pieces its scores lie at most, mm.
pub(super) fn most_off(pieces: &[Outline], kerf: f64, ground_off: f64) -> f64 {
    scored_off(pieces, kerf, ground_off)
        .into_iter()
        .fold(0.5 * kerf, f64::max)
}

/// How far off each piece its scores lie, mm: half a kerf, or near half of the least that is between it and those that it shares them
/// with. Cost about O(n log n) for n pieces side by side.
fn scored_off(pieces: &[Outline], kerf: f64, ground_off: f64) -> Vec<f64> {
    let mut least: Vec<Option<f64>> = vec![None; pieces.len()];
    if let Some(most) = beside::most_apart(kerf, ground_off) {
        for (i, j) in beside::that_may_meet(pieces, most) {
            let gap = pieces[i].distance_to(&pieces[j]);
            for k in [i, j] {
                if gap <= most && least[k].is_none_or(|known| gap < known) {
                    least[k] = Some(gap);
                }
            }
        }
    }
    let half = |gap: Option<f64>| gap.map_or(0.0, |gap| 0.5 * gap - beside::ROOM).max(0.5 * kerf);
    least.into_iter().map(half).collect()
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
        let found = scored(pieces.clone(), &sheet, 1.0, 0.5);
        let areas: Vec<f64> = found.iter().map(Outline::area).collect();
        assert!(
            (areas[0] - 100.5 * 200.0).abs() < 0.1 && (areas[1] - 101.0 * 101.0).abs() < 0.1,
            "{areas:?}"
        );
        assert_eq!(scored(pieces.clone(), &sheet, 0.0, 0.0), pieces);
    }

    /// Two pieces 0.6 mm apart: their scores lie 0.2 mm off them, so that of the 0.5 mm that the grinder takes 0.3 are left for waste too
    /// thin to be scored. A kerf is no glass.
    #[test]
    fn what_a_shared_score_leaves_is_not_left_twice() {
        let pieces = |gap: f64| {
            [
                Outline::rectangle(100.0, 80.0),
                Outline::rectangle(100.0, 80.0).translated(100.0 + gap, 0.0),
            ]
        };
        let rule = Rule {
            ground_off: 0.5,
            ..Rule::usual(6.0)
        };
        let left = |gap: f64, kerf: f64| rule_for(&pieces(gap), kerf, &rule).ground_off;
        assert!((left(0.6, 0.0) - 0.3).abs() < 1e-9, "{}", left(0.6, 0.0));
        assert!((left(0.6, 0.2) - 0.4).abs() < 1e-9, "{}", left(0.6, 0.2));
        assert!((left(6.0, 0.2) - 0.5).abs() < 1e-9, "{}", left(6.0, 0.2));
    }
}
