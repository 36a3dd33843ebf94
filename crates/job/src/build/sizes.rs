//! The sizes of the settings: what each is where the file says nothing, and what it may be.

use crate::Report;
use crate::file::Settings;
use crate::measure::{bare, told};

/// Furthest a flattened curve lies outside the drawn one, mm, where the file says nothing.
const CURVE_TOLERANCE: f64 = 0.05;
/// Finest and coarsest flattening, mm: finer makes too many corners, coarser wastes glass.
const CURVE_TOLERANCES: (f64, f64) = (0.001, 1.0);
/// Keep rule, mm, where the file says nothing: over about 6 in goes back to stock (trade newsletter no. 63).
const KEEP: f64 = 150.0;
/// Widest keep rule, mm.
const MOST_KEEP: f64 = 1e5;
/// Widest score kerf, mm; break wander is 0–0.2, a saw takes about 3 (common practice).
const MOST_KERF: f64 = 5.0;
/// Stretch over which a score's bend is measured, and what may be set, mm (common practice, no published figure).
const BEND_LENGTH: f64 = 25.0;
const BEND_LENGTHS: (f64, f64) = (1.0, 500.0);
/// Radius of the tightest curve that is broken along a piece, and what may be set, mm (common practice, no published figure).
const TIGHTEST_CURVE: f64 = 4.0;
const TIGHTEST_CURVES: (f64, f64) = (0.5, 500.0);

/// The sizes of the settings, mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sizes {
    pub(super) curve_tolerance: f64,
    pub(super) score_kerf: f64,
    pub(super) keep: f64,
    pub(super) bend_length: f64,
    pub(super) tightest_curve: f64,
}

impl Sizes {
    /// As written in a file with this unit, or as usual where it says nothing.
    pub(crate) fn of(settings: &Settings, unit_mm: f64) -> Self {
        let mm = |size: Option<f64>, usual: f64| size.map_or(usual, |size| size * unit_mm);
        Self {
            curve_tolerance: mm(settings.curve_tolerance, CURVE_TOLERANCE),
            score_kerf: settings.score_kerf * unit_mm,
            keep: mm(settings.keep, KEEP),
            bend_length: mm(settings.breaking.bend_length, BEND_LENGTH),
            tightest_curve: mm(settings.breaking.tightest_curve, TIGHTEST_CURVE),
        }
    }

    /// The same, each drawn into its range, so that a job with a reported fault can be looked at further.
    pub(super) fn within_ranges(self) -> Self {
        Self {
            curve_tolerance: self.curve_tolerance.clamp(CURVE_TOLERANCES.0, CURVE_TOLERANCES.1),
            bend_length: self.bend_length.clamp(BEND_LENGTHS.0, BEND_LENGTHS.1),
            tightest_curve: self.tightest_curve.clamp(TIGHTEST_CURVES.0, TIGHTEST_CURVES.1),
            ..self
        }
    }

    /// Reports what cannot be meant.
    pub(crate) fn check(&self, report: &mut Report, unit_mm: f64) {
        if !(CURVE_TOLERANCES.0..=CURVE_TOLERANCES.1).contains(&self.curve_tolerance) {
            report.add(
                "settings, field \"curve_tolerance\"",
                finely_told(self.curve_tolerance, unit_mm),
                finest_and_coarsest(unit_mm),
                usual(CURVE_TOLERANCE, unit_mm),
            );
        }
        if self.score_kerf > MOST_KERF {
            report.add(
                "settings, field \"score_kerf\"",
                told(self.score_kerf, unit_mm),
                format!("at most {}", told(MOST_KERF, unit_mm)),
                format!(
                    "A score removes no glass: 0 to {} allow for the break's wander.",
                    told(0.2, unit_mm)
                ),
            );
        }
        if self.keep > MOST_KEEP {
            report.add(
                "settings, field \"keep\"",
                "a size over 100 m",
                "the width of the smallest offcut worth keeping",
                usual(KEEP, unit_mm),
            );
        }
        for (field, size, (least, most), otherwise) in [
            ("bend_length", self.bend_length, BEND_LENGTHS, BEND_LENGTH),
            ("tightest_curve", self.tightest_curve, TIGHTEST_CURVES, TIGHTEST_CURVE),
        ] {
            if !(least..=most).contains(&size) {
                report.add(
                    format!("settings, breaking, field \"{field}\""),
                    told(size, unit_mm),
                    format!("{} to {}", bare(least, unit_mm), told(most, unit_mm)),
                    usual(otherwise, unit_mm),
                );
            }
        }
    }
}

fn usual(size: f64, unit_mm: f64) -> String {
    format!("{} is usual; leave the field out to have it.", told(size, unit_mm))
}

/// A length that may be far too small for the places that others are told in.
fn finely_told(size: f64, unit_mm: f64) -> String {
    match unit_mm {
        1.0 => format!("{size:e} mm"),
        _ => format!("{:e} in", size / unit_mm),
    }
}

fn finest_and_coarsest(unit_mm: f64) -> String {
    let (finest, coarsest) = CURVE_TOLERANCES;
    match unit_mm {
        1.0 => format!("{finest} to {coarsest} mm"),
        _ => format!("{:.5} to {:.3} in", finest / unit_mm, coarsest / unit_mm),
    }
}
