//! A job under several choices side by side: in words for the terminal, as a table to reckon with, and as a page with the
//! sheets of each choice at one scale.
//!
//! What is shown adds up: net is what is left of the shown cost and credit, cullet of the shown drawn, used and returned, and
//! a difference is that of the two figures as they are shown. The CSV carries the exact figures.

mod measures;
mod pictures;
#[cfg(test)]
mod tests;

use crate::caution;
use crate::html::{STYLE, escaped, table};
use crate::number::plain;
use crate::tables::{TableError, signs};
use crate::words::one_line;
use cullet_job::measure::{areas, lengths, weights};
use cullet_job::{Finding, Units};
use cullet_planner::compare::{BevelResult, Outcome, Verdict};
use cullet_rack::Signs;
use measures::{Measure, measures};
use std::fmt::Write;

/// The table in words: a row a measure, a column a choice, with the difference from the first. `left_out` says why other
/// choices were not planned.
#[must_use]
pub fn text(outcomes: &[Outcome], left_out: &[Finding]) -> String {
    let mut text = String::new();
    for (k, outcome) in outcomes.iter().enumerate() {
        let _ = writeln!(text, "{}: {}", letter(k), one_line(&outcome.name));
    }
    let head = ["", ""].map(str::to_owned).into_iter();
    let columns = (0..outcomes.len()).flat_map(|k| match k {
        0 => vec![letter(k)],
        _ => vec![letter(k), String::new()],
    });
    let mut rows: Vec<Vec<String>> = vec![head.chain(columns).collect()];
    for measure in measures(outcomes) {
        rows.push(row(&measure));
    }
    text.push('\n');
    text.push_str(&crate::tables::aligned(&rows, &[1], 2));
    text.push('\n');
    text.push_str(&verdicts(outcomes).join("\n"));
    text.push('\n');
    for line in impossible(outcomes).into_iter().chain(left_out.iter().map(reason)) {
        let _ = writeln!(text, "{line}");
    }
    text
}

/// A measure's cells: name, unit, then each choice with its difference, the first without.
fn row(measure: &Measure) -> Vec<String> {
    let mut cells = vec![measure.name.clone(), measure.unit.clone()];
    for (k, (value, difference)) in measure.cells.iter().enumerate() {
        cells.push(value.clone());
        if k > 0 {
            cells.push(difference.clone());
        }
    }
    cells
}

/// Choices are lettered, since their names are long: A to Z, then A2 and so on.
fn letter(k: usize) -> String {
    let letter = char::from(b'A' + (k % 26) as u8);
    match k / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

/// A sentence for each choice but the first.
fn verdicts(outcomes: &[Outcome]) -> Vec<String> {
    let Some((first, others)) = outcomes.split_first() else {
        return vec![];
    };
    let currency = one_line(&first.plan.job.settings.currency);
    let currency = if currency.is_empty() {
        currency
    } else {
        format!(" {currency}")
    };
    let runs = first.runs.len();
    let sentence = |(k, outcome): (usize, &Outcome)| {
        let named = format!("{} ({})", letter(k + 1), one_line(&outcome.name));
        let by = measures::net_units(outcome) - measures::net_units(first);
        let money = crate::number::decimal(by.abs(), 2);
        match outcome.against(first) {
            Verdict::NotComparable => format!(
                "{named} cuts {} pieces where A cuts {}: the costs are not comparable.",
                outcome.figures().pieces,
                first.figures().pieces
            ),
            Verdict::WithinSpread(_) if by == 0 => format!("{named} comes to the same net cost as A."),
            Verdict::WithinSpread(_) => format!(
                "{named} comes to {money}{currency} {} than A, but the {runs} searches of the two overlap: that is within the \
                 spread of the search and no reason to choose.",
                if by < 0 { "less" } else { "more" }
            ),
            Verdict::Differs(_) => format!(
                "{named} comes to {money}{currency} {} than A; the searches of the two do not overlap.",
                if by < 0 { "less" } else { "more" }
            ),
        }
    };
    others.iter().enumerate().map(sentence).collect()
}

/// A line for each reason why pieces cannot be made under a choice or find no room.
fn impossible(outcomes: &[Outcome]) -> Vec<String> {
    let mut lines = vec![];
    for (k, outcome) in outcomes.iter().enumerate() {
        let cannot = outcome.impossible.iter().map(|one| {
            let why = format!(
                "cannot be made: {}, expected {}",
                one_line(&one.why.found),
                one_line(&one.why.expected)
            );
            (&one.id, one.quantity, why)
        });
        let left = outcome.plan.unplaced.iter().map(|left| {
            let why = format!("not placed: {}", one_line(&left.reason));
            (&left.id, left.count, why)
        });
        let mut reasons: Vec<(String, u32, Vec<String>)> = vec![];
        for (id, count, why) in cannot.chain(left) {
            let name = one_line(&id.to_string());
            match reasons.iter_mut().find(|reason| reason.0 == why) {
                Some(reason) => {
                    reason.1 += count;
                    reason.2.push(name);
                }
                None => reasons.push((why, count, vec![name])),
            }
        }
        for (why, count, names) in reasons {
            lines.push(format!("{}: {count} {why} ({})", letter(k), names.join(", ")));
        }
    }
    lines
}

/// Why a choice was left out, on one line.
fn reason(finding: &Finding) -> String {
    let [place, found, expected, hint] =
        [&finding.place, &finding.found, &finding.expected, &finding.hint].map(|t| one_line(t));
    format!("Left out: {place}: found {found}, expected {expected}. {hint}")
}

/// The page: the table, what it says, and the sheets of every choice at one scale. Self-contained, without script; the same
/// outcomes give the same text.
#[must_use]
pub fn page(outcomes: &[Outcome], left_out: &[Finding]) -> String {
    let job = outcomes
        .first()
        .map(|first| first.plan.job.name.as_str())
        .unwrap_or_default();
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/><title>{0}: choices</title>\n\
         <style>{STYLE}{OWN_STYLE}</style></head>\n<body>\n<h1>{0}: choices</h1>\n<main>\n",
        escaped(job)
    );
    page.push_str("<ul class=\"letters\">");
    for (k, outcome) in outcomes.iter().enumerate() {
        let _ = write!(page, "<li><b>{}</b> {}</li>", letter(k), escaped(&outcome.name));
    }
    page.push_str("</ul>\n");
    page += &tables(outcomes);
    page.push_str("<ul>");
    let reasons: Vec<String> = left_out.iter().map(reason).collect();
    for sentence in verdicts(outcomes).iter().chain(&impossible(outcomes)).chain(&reasons) {
        let _ = write!(page, "<li>{}</li>", escaped(sentence));
    }
    page.push_str("</ul>\n");
    page += &pictures::side_by_side(outcomes);
    page += &notes(outcomes.first().map(|o| o.plan.job.units).unwrap_or_default());
    page.push_str("</main></body></html>\n");
    page
}

/// How many choices stand beside the first in one table: more are wider than a sheet of paper.
const BESIDE_FIRST: usize = 3;

/// The measures of every choice beside those of the first.
fn tables(outcomes: &[Outcome]) -> String {
    let rows: Vec<Vec<String>> = measures(outcomes).iter().map(row).collect();
    let others: Vec<usize> = (1..outcomes.len()).collect();
    // A choice's figure stands in column 2k, what it has less than the first in the next one.
    let part = |choices: &[usize]| {
        let first = format!("#{}", letter(0));
        let mut heads = vec![String::new(), "unit".to_owned(), first];
        heads.extend(
            choices
                .iter()
                .flat_map(|k| [format!("#{}", letter(*k)), "#against A".to_owned()]),
        );
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let columns: Vec<usize> = (0..3)
            .chain(choices.iter().flat_map(|k| [2 * k + 1, 2 * k + 2]))
            .collect();
        let rows: Vec<Vec<String>> = rows
            .iter()
            .map(|row| columns.iter().filter_map(|c| row.get(*c).cloned()).collect())
            .collect();
        let named: Vec<String> = choices.iter().map(|k| letter(*k)).collect();
        let caption = match (others.len() > BESIDE_FIRST, named.as_slice()) {
            (true, [first, .., last]) => format!("What each choice comes to: {first} to {last}"),
            (true, [only]) => format!("What each choice comes to: {only}"),
            _ => "What each choice comes to".to_owned(),
        };
        table(&caption, &heads, &rows)
    };
    match others.as_slice() {
        [] => part(&[]),
        others => others.chunks(BESIDE_FIRST).map(part).collect(),
    }
}

const OWN_STYLE: &str = "\
.letters{list-style:none;padding:0}th[scope=row]{min-width:6.5rem}\
.choices{display:flex;gap:8mm;overflow-x:auto;align-items:flex-start}\
.choices section{flex:none}.choices h3{margin:.3rem 0}\
.choices figure svg{max-width:none}\
@media print{.choices{flex-wrap:wrap;gap:5mm;overflow:visible}}";

fn notes(units: Units) -> String {
    format!(
        "<p>Each choice was planned with the same seeds and the same effort; the figures are those of its best search. {figures}</p>\n\
<div class=\"caution\"><h3>Cautions</h3><ul>\
<li>{handling}</li>\
<li>Safety glazing: glass in and beside doors, in wet areas, in large panes near the floor and at stairs may have to be safety \
glass. Thicker or other glass does not make it so; local code and the authority having jurisdiction decide.</li>\
</ul></div>\n",
        handling = caution::handling(units),
        figures = caution::FIGURES,
    )
}

const COLUMNS: [&str; 28] = [
    "choice",
    "net_cost",
    "net_cost_lowest",
    "net_cost_highest",
    "searches",
    "net_cost_against_first",
    "against_first",
    "pulled_cost",
    "returned_credit",
    "currency",
    "pulled",
    "to_buy",
    "pieces",
    "not_placed",
    "impossible",
    "spares_left_out",
    "yield_percent",
    "pulled_m2",
    "used_m2",
    "returned_m2",
    "cullet_m2",
    "grinding_m2",
    "pulled_kg",
    "used_kg",
    "breaks",
    "bevels",
    "angles_deg",
    "noses_at_first_angle_mm",
];

/// The names of the columns, with the units in them.
fn columns(units: Units) -> impl Iterator<Item = String> {
    let (length, area, weight) = (lengths(units), areas(units), weights(units));
    COLUMNS.iter().map(move |name| match name.rsplit_once('_') {
        Some((what, "m2")) => format!("{what}_{}", area.code),
        Some((what, "kg")) => format!("{what}_{}", weight.code),
        Some((what, "mm")) => format!("{what}_{}", length.code),
        _ => (*name).to_owned(),
    })
}

/// How a choice stands to the first one, in a word.
fn against_first(outcome: &Outcome, first: &Outcome, is_first: bool) -> &'static str {
    match outcome.against(first) {
        _ if is_first => "first",
        Verdict::Differs(_) => "differs",
        Verdict::WithinSpread(_) => "within spread",
        Verdict::NotComparable => "not comparable",
    }
}

/// The table to reckon with (RFC 4180): a row a choice, exact figures. `against_first` is `first`, `differs`, `within spread` or
/// `not comparable`. Numbers and columns have the `signs` asked for. Bevels stand in one field each with semicolons between them, a bevel as glass, width and nose.
///
/// # Errors
/// [`TableError::NotANumber`] where a figure is NaN or infinite.
pub fn csv(outcomes: &[Outcome], signs: Signs) -> Result<String, TableError> {
    let mut table = signs::writer(signs);
    let units = outcomes.first().map(|o| o.plan.job.units).unwrap_or_default();
    let (length, area, weight) = (lengths(units), areas(units), weights(units));
    table.write_record(columns(units))?;
    for (k, outcome) in outcomes.iter().enumerate() {
        let number = |column: &'static str, value: f64, places: usize| match value.is_finite() {
            true => Ok(signs::number(plain(value, places), signs)),
            false => Err(TableError::NotANumber {
                place: format!("choice {}", outcome.name),
                column: column.to_owned(),
                value,
            }),
        };
        let (figures, first) = (outcome.figures(), &outcomes[0]);
        let (low, high) = outcome.spread();
        let impossible: u32 = outcome.impossible.iter().map(|one| one.quantity).sum();
        let spares_left_out: u32 = outcome.plan.spares_left_out.iter().map(|s| s.count).sum();
        let bevels = |cell: &dyn Fn(&cullet_planner::compare::BevelKind) -> String| {
            let cells: Vec<String> = outcome.bevels.iter().map(cell).collect();
            cells.join("; ")
        };
        table.write_record([
            outcome.name.clone(),
            number("net_cost", figures.net_cost(), 6)?,
            number("net_cost_lowest", low, 6)?,
            number("net_cost_highest", high, 6)?,
            outcome.runs.len().to_string(),
            number(
                "net_cost_against_first",
                figures.net_cost() - first.figures().net_cost(),
                6,
            )?,
            against_first(outcome, first, k == 0).to_owned(),
            number("pulled_cost", figures.pulled_cost, 6)?,
            number("returned_credit", figures.returned_credit, 6)?,
            outcome.plan.job.settings.currency.clone(),
            outcome.pulled().to_string(),
            outcome.to_buy().to_string(),
            figures.pieces.to_string(),
            outcome.unplaced().to_string(),
            impossible.to_string(),
            spares_left_out.to_string(),
            number("yield_percent", figures.yield_share() * 100.0, 6)?,
            number("pulled", figures.pulled / area.one, 9)?,
            number("used", figures.used / area.one, 9)?,
            number("returned", figures.returned / area.one, 9)?,
            number("cullet", figures.cullet / area.one, 9)?,
            number("grinding", figures.grinding / area.one, 9)?,
            number("pulled weight", figures.pulled_kg / weight.one, 6)?,
            number("used weight", figures.used_kg / weight.one, 6)?,
            outcome.breaks().to_string(),
            bevels(&|kind| measures::bevel_words(kind, units)),
            bevels(&|kind| {
                let angle = |result: BevelResult| signs::number(plain(result.angle_deg, 4), signs);
                kind.result.map_or(String::new(), angle)
            }),
            bevels(&|kind| {
                let nose =
                    |result: BevelResult| signs::number(plain(result.nose_at_first_angle / length.one, 4), signs);
                kind.result.map_or(String::new(), nose)
            }),
        ])?;
    }
    signs::text(table, signs)
}
