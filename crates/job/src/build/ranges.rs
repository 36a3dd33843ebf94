//! What goes for the whole file: names once each, not too many pieces.

use super::{MOST_PIECES, id_word, named};
use crate::Report;
use crate::file::{JobFile, PanelFile};
use std::collections::BTreeMap;

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

/// Reports every code, id and name of the file that is used a second time; a panel's numbers are its own matter.
pub(super) fn check_names(report: &mut Report, source: &JobFile) {
    let glasses = source.glasses.iter().map(|glass| glass.code.as_str());
    check_unique(report, "", "glass", glasses);
    let panels = source.panels.iter().map(|panel| panel.id.as_str());
    check_unique(report, "", "panel", panels);
    let choices = source.choices.iter().map(|choice| choice.name.as_str());
    check_unique(report, "", "choice", choices);
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
