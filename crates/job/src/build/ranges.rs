//! What fields may be: sizes within their ranges, names once each, not too many pieces.

use super::{BEND_LENGTH, CURVE_TOLERANCE, KEEP, MOST_PIECES, TIGHTEST_CURVE, id_word, named};
use crate::Report;
use crate::file::{PanelFile, Settings};
use crate::measure::{bare, told};
use std::collections::BTreeMap;

/// Finest and coarsest flattening, mm: finer makes too many corners, coarser wastes glass.
pub(super) const CURVE_TOLERANCES: (f64, f64) = (0.001, 1.0);

pub(super) const BEND_LENGTHS: (f64, f64) = (1.0, 500.0);

pub(super) const TIGHTEST_CURVES: (f64, f64) = (0.5, 500.0);

/// Widest score kerf, mm; break wander is 0–0.2, a saw takes about 3 (common practice).
pub(super) const MOST_KERF: f64 = 5.0;

/// Reports settings outside what can be meant.
pub(crate) fn check_settings(report: &mut Report, settings: &Settings, unit_mm: f64) {
    let mm = |size: Option<f64>, otherwise: f64| size.map_or(otherwise, |size| size * unit_mm);
    let curve_tolerance = mm(settings.curve_tolerance, CURVE_TOLERANCE);
    let score_kerf = settings.score_kerf * unit_mm;
    if !(CURVE_TOLERANCES.0..=CURVE_TOLERANCES.1).contains(&curve_tolerance) {
        report.add(
            "settings, field \"curve_tolerance\"",
            match unit_mm {
                1.0 => format!("{curve_tolerance:e} mm"),
                _ => format!("{:e} in", curve_tolerance / unit_mm),
            },
            match unit_mm {
                1.0 => format!("{} to {} mm", CURVE_TOLERANCES.0, CURVE_TOLERANCES.1),
                _ => format!(
                    "{:.5} to {:.3} in",
                    CURVE_TOLERANCES.0 / unit_mm,
                    CURVE_TOLERANCES.1 / unit_mm
                ),
            },
            format!(
                "{} is usual; leave the field out to have it.",
                told(CURVE_TOLERANCE, unit_mm)
            ),
        );
    }
    if score_kerf > MOST_KERF {
        report.add(
            "settings, field \"score_kerf\"",
            told(score_kerf, unit_mm),
            format!("at most {}", told(MOST_KERF, unit_mm)),
            format!(
                "A score removes no glass: 0 to {} allow for the break's wander.",
                told(0.2, unit_mm)
            ),
        );
    }
    if settings.keep.is_some_and(|keep| keep > 1e5) {
        report.add(
            "settings, field \"keep\"",
            "a size over 100 m",
            "the width of the smallest offcut worth keeping",
            format!("{} is usual; leave the field out to have it.", told(KEEP, unit_mm)),
        );
    }
    let bend_length = mm(settings.breaking.bend_length, BEND_LENGTH);
    check_range(report, ("bend_length", unit_mm), bend_length, BEND_LENGTHS, BEND_LENGTH);
    let tightest_curve = mm(settings.breaking.tightest_curve, TIGHTEST_CURVE);
    check_range(
        report,
        ("tightest_curve", unit_mm),
        tightest_curve,
        TIGHTEST_CURVES,
        TIGHTEST_CURVE,
    );
}

/// Reports a length of the breaking settings outside what can be meant.
pub(super) fn check_range(
    report: &mut Report,
    (field, unit_mm): (&str, f64),
    size: f64,
    (least, most): (f64, f64),
    usual: f64,
) {
    if !(least..=most).contains(&size) {
        report.add(
            format!("settings, breaking, field \"{field}\""),
            told(size, unit_mm),
            format!("{} to {}", bare(least, unit_mm), told(most, unit_mm)),
            format!("{} is usual; leave the field out to have it.", told(usual, unit_mm)),
        );
    }
}

/// Reports every name that is used a second time.
pub(crate) fn check_unique<'a>(report: &mut Report, within: &str, what: &str, names: impl Iterator<Item = &'a str>) {
    let mut counts = BTreeMap::new();
    for name in names {
        *counts.entry(name).or_insert(0) += 1;
    }
    for (name, count) in counts {
        if count > 1 {
            let place = named(what, name);
            report.add(
                if within.is_empty() {
                    place
                } else {
                    format!("{within}, {place}")
                },
                format!("this {} {count} times", id_word(what)),
                "each once",
                format!("Give every {what} its own {}.", id_word(what)),
            );
        }
    }
}

pub(super) fn check_count(report: &mut Report, panels: &[PanelFile]) {
    let total: u64 = panels
        .iter()
        .map(|panel| {
            let panels = u64::from(panel.quantity) + u64::from(panel.mirrored_quantity);
            let each: u64 = panel
                .pieces
                .iter()
                .map(|piece| u64::from(piece.quantity) + u64::from(piece.spares))
                .sum();
            panels.saturating_mul(each)
        })
        .fold(0, u64::saturating_add);
    if total > MOST_PIECES {
        report.add(
            "panels",
            format!("{total} pieces in all, copies and spares counted"),
            format!("at most {MOST_PIECES}"),
            "Check quantities and spares, or split the job.",
        );
    }
}
