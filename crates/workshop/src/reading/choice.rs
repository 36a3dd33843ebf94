//! A choice that a job names or that somebody types.

use cullet_job::{ChoiceFile, Finding, Findings, Job, Report};
use cullet_rack::{Stock, StockKind};
use std::collections::BTreeSet;
use std::path::Path;

/// The choice that was asked for: one that `job`, read from `path`, names, or one that was typed.
///
/// # Errors
/// A choice that the job does not name and that cannot be read as one.
pub fn choice(path: &Path, job: &Job, asked: &str) -> Result<ChoiceFile, Findings> {
    let choices = &job.source.choices;
    match choices.iter().find(|known| known.name == asked.trim()) {
        Some(known) => Ok(known.clone()),
        None => {
            let typed = ChoiceFile::typed(asked).map_err(|found| no_choice(path, &found, choices))?;
            match slip(asked) {
                None => Ok(typed),
                Some((found, expected)) => Err(Findings(vec![Finding {
                    file: "command line".into(),
                    place: format!("choice {}", asked.trim()),
                    found,
                    expected: expected.into(),
                    hint: "Is it a slip of the hand? Leave that change out.".into(),
                }])),
            }
        }
    }
}

/// What cannot be meant in typed changes, and what should be there: a glass instead of itself, or one thing changed twice.
fn slip(asked: &str) -> Option<(String, &'static str)> {
    let mut seen = BTreeSet::new();
    let changes = asked.split(',').filter_map(|change| change.split_once('='));
    for (what, value) in changes.map(|(what, value)| (what.trim(), value.trim())) {
        if what == value {
            return Some((format!("{what} instead of itself"), "another glass of the job"));
        }
        if !seen.insert(what) {
            return Some((format!("{what} changed twice"), "each change once"));
        }
    }
    None
}

fn no_choice(path: &Path, found: &str, choices: &[ChoiceFile]) -> Findings {
    let names: Vec<String> = choices.iter().map(|choice| format!("\"{}\"", choice.name)).collect();
    let named = match names.as_slice() {
        [] => format!("{} names no choices", path.display()),
        names => format!("{} names {}", path.display(), names.join(", ")),
    };
    Findings(vec![Finding {
        file: "command line".into(),
        place: "choice".into(),
        found: format!("\"{found}\""),
        expected: "a choice that the job names, or GLASS=OTHER, GLASS:grind=SIZE, GLASS:sheets=TAG+TAG, \
                   came=FACE/HEART, foil=SIZE, with commas between several"
            .into(),
        hint: format!("{named}."),
    }])
}

/// Takes the sheets out that a choice passes over; names tags of it that are not there.
pub(super) fn limit(stock: &mut Stock, list: &str, choice: &ChoiceFile) -> Result<(), Findings> {
    let mut report = Report::new(list);
    for glass in &choice.glasses {
        let code = glass.taken();
        let sheets = stock.items.iter().filter(|item| item.kind == StockKind::Sheet);
        let known: Vec<&str> = sheets
            .filter(|item| item.glass == code)
            .map(|item| item.tag.as_str())
            .collect();
        for tag in glass.sheets.iter().filter(|tag| !known.contains(&tag.as_str())) {
            report.add(
                format!("choice {}", choice.name),
                format!("no sheet {tag} of glass {code}"),
                "a sheet of it that is on hand or can be bought",
                format!("There are: {}.", known.join(", ")),
            );
        }
    }
    stock
        .items
        .retain(|item| item.kind == StockKind::Offcut || choice.may_pull(&item.glass, &item.tag));
    report.into_result(())
}
