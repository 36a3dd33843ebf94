//! The yield table as CSV (RFC 4180), exact figures, units in the column names.

use super::signs;
use crate::number::plain;
use crate::source::map_count;
use cullet_breakout::Style;
use cullet_job::Units;
use cullet_job::measure::{areas, lengths, weights};
use cullet_model::figures::Figures;
use cullet_model::{Layout, Plan};
use cullet_rack::{Signs, StockKind};

/// Why a table could not be written.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    /// A figure of the plan is NaN or infinite, which a table must not hide.
    #[error("{place}: {column} is not a number ({value}); make the plan again")]
    NotANumber {
        /// Which row.
        place: String,
        /// Which column.
        column: String,
        /// What was found.
        value: f64,
    },
    /// The writer failed.
    #[error("the table could not be written: {0}")]
    Writer(#[from] csv::Error),
    /// The writer gave something else than text.
    #[error("the table is not text: {0}")]
    Text(String),
}

/// The columns, with the unit of the job in their names.
fn columns(units: Units) -> [String; 25] {
    let (length, area, weight) = (lengths(units).code, areas(units).code, weights(units).code);
    [
        "level",
        "sheet_map",
        "glass",
        "tag",
        "copy",
        "kind",
        "place",
        "lot",
        &format!("width_{length}"),
        &format!("height_{length}"),
        "layout",
        "breaks",
        "pieces",
        &format!("pulled_{area}"),
        &format!("used_{area}"),
        &format!("returned_{area}"),
        &format!("cullet_{area}"),
        "yield_percent",
        &format!("grinding_{area}"),
        &format!("pulled_{weight}"),
        &format!("used_{weight}"),
        "pulled_cost",
        "returned_credit",
        "net_cost",
        "currency",
    ]
    .map(str::to_owned)
}

/// How many of the columns come before the figures.
const NAMES: usize = 12;

/// The yield table as CSV: a row a sheet (`level` is `sheet`), after them a total a glass (`glass`), a total of the job (`job`),
/// and where a glass was laid out both ways a row for the way that was not kept (`tried`), which is in no total.
/// Numbers and columns have the `signs` asked for. Areas in m² or ft² to 1e-9, weights in kg or lb and money to 1e-6, as the job's unit is: nothing is rounded for show, so totals are sums of exact figures.
///
/// # Errors
/// [`TableError::NotANumber`] where a figure of the plan is NaN or infinite; nothing is returned then.
pub fn yield_csv(plan: &Plan, signs: Signs) -> Result<String, TableError> {
    let mut table = signs::writer(signs);
    table.write_record(columns(plan.job.units))?;
    for glass in &plan.glasses {
        for layout in &glass.layouts {
            let place = format!("sheet map {} of {}", layout.number, map_count(plan));
            let names = sheet_names(&glass.glass, layout, plan.job.units, signs);
            table.write_record(row(names, &layout.figures, plan, signs, &place)?)?;
        }
    }
    for glass in &plan.glasses {
        let names = total_names("glass", &glass.glass);
        let place = format!("glass {}", glass.glass);
        table.write_record(row(names, &glass.figures, plan, signs, &place)?)?;
    }
    table.write_record(row(total_names("job", ""), &plan.figures, plan, signs, "job")?)?;
    for glass in &plan.glasses {
        for way in glass.tried.iter().skip(1) {
            let mut names = total_names("tried", &glass.glass);
            names[10] = style(way.style).to_owned();
            names[11] = way.breaks.to_string();
            let place = format!("glass {}, way not kept", glass.glass);
            table.write_record(row(names, &way.figures, plan, signs, &place)?)?;
        }
    }
    signs::text(table, signs)
}

fn sheet_names(glass: &str, layout: &Layout, units: Units, signs: Signs) -> [String; NAMES] {
    let one = lengths(units).one;
    let stock = &layout.stock;
    let bounds = stock.outline.bounds();
    let kind = match stock.kind {
        StockKind::Sheet => "sheet",
        StockKind::Offcut => "offcut",
    };
    [
        "sheet".to_owned(),
        layout.number.to_string(),
        glass.to_owned(),
        stock.tag.clone(),
        layout.copy.to_string(),
        kind.to_owned(),
        stock.place.clone(),
        stock.lot.clone().unwrap_or_default(),
        signs::number(plain(bounds.width() / one, 4), signs),
        signs::number(plain(bounds.height() / one, 4), signs),
        style(layout.style).to_owned(),
        layout.breaking.steps.len().to_string(),
    ]
}

fn total_names(level: &str, glass: &str) -> [String; NAMES] {
    let mut names: [String; NAMES] = Default::default();
    names[0] = level.to_owned();
    names[2] = glass.to_owned();
    names
}

/// What a way of laying out is called in tables.
pub(super) fn style(style: Style) -> &'static str {
    match style {
        Style::StraightRun => "straight-run",
        Style::Shaped => "shaped",
    }
}

fn row(
    names: [String; NAMES],
    figures: &Figures,
    plan: &Plan,
    signs: Signs,
    place: &str,
) -> Result<Vec<String>, TableError> {
    let mut cells = names.to_vec();
    cells.push(figures.pieces.to_string());
    let units = plan.job.units;
    let (area, weight) = (areas(units).one, weights(units).one);
    let values = [
        (figures.pulled / area, 9),
        (figures.used / area, 9),
        (figures.returned / area, 9),
        (figures.cullet / area, 9),
        (figures.yield_share() * 100.0, 6),
        (figures.grinding / area, 9),
        (figures.pulled_kg / weight, 6),
        (figures.used_kg / weight, 6),
        (figures.pulled_cost, 6),
        (figures.returned_credit, 6),
        (figures.net_cost(), 6),
    ];
    for ((value, decimals), column) in values.into_iter().zip(&columns(units)[NAMES + 1..]) {
        if !value.is_finite() {
            return Err(TableError::NotANumber {
                place: place.to_owned(),
                column: column.clone(),
                value,
            });
        }
        cells.push(signs::number(plain(value, decimals), signs));
    }
    cells.push(plan.job.settings.currency.clone());
    Ok(cells)
}
