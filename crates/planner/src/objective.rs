//! What makes one layout of a glass better than another, in one order for all who choose.
//!
//! Less left uncut, then less net cost to the cent, then fewer sheets and offcuts pulled, then the larger rectangle that goes
//! back, then fewer breaks.

use cullet_geometry::{Outline, rectangle};
use cullet_job::PieceId;
use cullet_model::figures::Figures;
use cullet_model::{Layout, Plan};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// How good a layout of a glass is; the least is the best.
///
/// Two that differ by less than a square millimetre or a cent are alike in that.
#[derive(Debug, Clone, Copy)]
pub struct Objective {
    /// Area of the pieces that are not cut, mm².
    pub missing: f64,
    /// What is pulled, less the credit of what goes back.
    pub net: f64,
    /// How many sheets and offcuts are pulled.
    pub pulled: usize,
    /// Area of the largest rectangle inside what goes back, mm².
    pub largest: f64,
    /// How many breaks it takes; 0 while no order is worked out.
    pub breaks: usize,
}

impl Objective {
    /// That of layouts with their figures, of which pieces of `missing` mm² are left out.
    pub(crate) fn of<'a>(layouts: impl IntoIterator<Item = &'a Layout>, figures: &Figures, missing: f64) -> Self {
        let nothing = Self {
            missing,
            net: figures.net_cost(),
            pulled: 0,
            largest: 0.0,
            breaks: 0,
        };
        layouts.into_iter().fold(nothing, |so_far, layout| Self {
            pulled: so_far.pulled + 1,
            largest: layout
                .returned
                .iter()
                .map(largest_rectangle)
                .fold(so_far.largest, f64::max),
            breaks: so_far.breaks + layout.breaking.steps.len(),
            ..so_far
        })
    }

    /// That of a whole plan.
    #[must_use]
    pub fn of_plan(plan: &Plan) -> Self {
        let areas: BTreeMap<&PieceId, f64> = plan.pieces.iter().map(|piece| (&piece.id, piece.cut.area())).collect();
        let missing = plan
            .unplaced
            .iter()
            .map(|left| f64::from(left.count) * areas.get(&left.id).copied().unwrap_or(0.0));
        let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
        Self::of(layouts, &plan.figures, missing.sum())
    }

    /// Whether nothing is left uncut.
    pub(crate) fn is_whole(&self) -> bool {
        self.missing == 0.0
    }

    /// In steps of what counts, the less the better.
    fn key(&self) -> [f64; 5] {
        [
            self.missing.round(),
            (self.net * 100.0).round(),
            self.pulled as f64,
            -self.largest.round(),
            self.breaks as f64,
        ]
    }
}

impl Ord for Objective {
    fn cmp(&self, other: &Self) -> Ordering {
        let pairs = self.key().into_iter().zip(other.key());
        pairs.fold(Ordering::Equal, |order, (a, b)| order.then(a.total_cmp(&b)))
    }
}

impl PartialOrd for Objective {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Objective {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Objective {}

fn largest_rectangle(outline: &Outline) -> f64 {
    let bounds = outline.bounds();
    let whole = bounds.width() * bounds.height();
    // Most of what goes back is an upright rectangle, which need not be looked for.
    if outline.area() >= whole * (1.0 - 1e-9) {
        return whole;
    }
    rectangle::largest_upright(outline).map_or(0.0, |found| found.width() * found.height())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_counts_only_where_all_before_it_are_alike() {
        let usual = Objective {
            missing: 100.0,
            net: 20.0,
            pulled: 2,
            largest: 5000.0,
            breaks: 9,
        };
        // From the best to the worst; each is worse than the one before in what counts more, and better in all that counts less.
        let better = [
            Objective {
                missing: 98.0,
                net: 99.0,
                pulled: 9,
                largest: 0.0,
                breaks: 99,
            },
            Objective {
                net: 19.98,
                pulled: 9,
                largest: 0.0,
                breaks: 99,
                ..usual
            },
            Objective {
                pulled: 1,
                largest: 0.0,
                breaks: 99,
                ..usual
            },
            Objective {
                largest: 5002.0,
                breaks: 99,
                ..usual
            },
            Objective { breaks: 8, ..usual },
            usual,
        ];
        assert!(better.is_sorted_by(|a, b| a < b));
        assert_eq!(
            usual,
            Objective {
                net: 20.004,
                missing: 100.4,
                ..usual
            }
        );
    }

    #[test]
    fn a_rectangle_counts_whole_and_an_ell_by_what_fits_in_it() {
        let ell = [
            [0.0, 0.0],
            [60.0, 0.0],
            [60.0, 20.0],
            [20.0, 20.0],
            [20.0, 50.0],
            [0.0, 50.0],
        ];
        let ell = cullet_testkit::plan::outline(&ell);
        assert_eq!(largest_rectangle(&Outline::rectangle(30.0, 20.0)), 600.0);
        assert!((largest_rectangle(&ell) - 1200.0).abs() < 1.0);
    }
}
