//! Figures rounded so that what is shown adds up.

use cullet_model::Plan;
use cullet_model::figures::Figures;

/// One figure of the job, of its glasses and of their sheets, in whole units of the last place shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Shown {
    pub(super) job: i64,
    pub(super) glasses: Vec<i64>,
    /// One list a glass.
    pub(super) sheets: Vec<Vec<i64>>,
}

impl Shown {
    /// `unit` is one of the last place shown, in the figure's own unit.
    pub(super) fn of(plan: &Plan, unit: f64, figure: impl Fn(&Figures) -> f64) -> Self {
        let units = |f: &Figures| figure(f) / unit;
        let job = whole(units(&plan.figures));
        let exact: Vec<f64> = plan.glasses.iter().map(|g| units(&g.figures)).collect();
        let glasses = shared(job, &exact);
        let sheets = plan
            .glasses
            .iter()
            .zip(&glasses)
            .map(|(glass, total)| {
                let exact: Vec<f64> = glass.layouts.iter().map(|l| units(&l.figures)).collect();
                shared(*total, &exact)
            })
            .collect();
        Self { job, glasses, sheets }
    }

    /// What is left of `self` after the others, row by row.
    pub(super) fn less(&self, others: &[&Self]) -> Self {
        let mut left = self.clone();
        for other in others {
            left.job -= other.job;
            for (a, b) in left.glasses.iter_mut().zip(&other.glasses) {
                *a -= b;
            }
            for (list, other) in left.sheets.iter_mut().zip(&other.sheets) {
                for (a, b) in list.iter_mut().zip(other) {
                    *a -= b;
                }
            }
        }
        left
    }
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "saturates far beyond any glass or money, and NaN becomes 0"
)]
fn whole(value: f64) -> i64 {
    value.round() as i64
}

/// Whole numbers that add up to `total`, each less than one off its exact part: those with the largest remainders are
/// rounded up. Where the parts do not come to the total (a plan that does not hold) each is rounded on its own.
pub(super) fn shared(total: i64, exact: &[f64]) -> Vec<i64> {
    // A remainder of a billionth is noise of the sum, not a part to round up.
    let mut parts: Vec<i64> = exact.iter().map(|e| whole((e + 1e-9).floor())).collect();
    let missing = total.saturating_sub(parts.iter().fold(0, |sum: i64, p| sum.saturating_add(*p)));
    let Ok(missing) = usize::try_from(missing) else {
        return exact.iter().map(|e| whole(*e)).collect();
    };
    if missing > exact.len() {
        return exact.iter().map(|e| whole(*e)).collect();
    }
    let remainder = |i: &usize| exact[*i] - exact[*i].floor();
    let mut order: Vec<usize> = (0..exact.len()).collect();
    order.sort_by(|a, b| remainder(b).total_cmp(&remainder(a)).then(a.cmp(b)));
    for i in order.into_iter().take(missing) {
        parts[i] += 1;
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::shared;
    use proptest::prelude::*;

    #[test]
    fn three_thirds_make_a_whole() {
        assert_eq!(shared(100, &[100.0 / 3.0, 100.0 / 3.0, 100.0 / 3.0]), [34, 33, 33]);
        assert_eq!(shared(5, &[5.0, 0.0]), [5, 0]);
        assert_eq!(shared(0, &[]), [] as [i64; 0]);
    }

    #[test]
    fn parts_that_do_not_come_to_the_total_are_rounded_alone() {
        assert_eq!(shared(1000, &[1.6, 2.2]), [2, 2]);
        assert_eq!(shared(-7, &[1.6, 2.2]), [2, 2]);
    }

    proptest! {
        #[test]
        fn shown_parts_add_up_and_are_near(parts in prop::collection::vec(0.0_f64..1e6, 1..40)) {
            let total = parts.iter().sum::<f64>().round() as i64;
            let shown = shared(total, &parts);
            prop_assert_eq!(shown.iter().sum::<i64>(), total);
            for (s, e) in shown.iter().zip(&parts) {
                prop_assert!((*s as f64 - e).abs() < 1.0 + 1e-6);
            }
        }
    }
}
