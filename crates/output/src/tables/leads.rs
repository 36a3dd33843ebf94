//! Lead lengths as CSV and text.

use super::{TableError, signs};
use crate::number::plain;
use cullet_drawing::expand::PanelDrawing;
use cullet_drawing::leads::{CameLength, StockCount, StockLength, stock_lengths};
use cullet_job::measure::{lengths, long, runs, short};
use cullet_job::{Units, counted};
use cullet_rack::Signs;

/// The columns, with the unit of the job in their names.
fn columns(units: Units) -> [String; 11] {
    let (length, run) = (lengths(units).code, runs(units).code);
    [
        "level",
        "panel",
        "came",
        &format!("face_{length}"),
        &format!("heart_{length}"),
        "panels",
        "leads",
        &format!("lines_{run}"),
        &format!("total_length_{run}"),
        &format!("came_length_{length}"),
        "lengths_to_buy",
    ]
    .map(str::to_owned)
}

/// One came of one panel, or of the job.
pub(crate) struct Row<'a> {
    /// The panel's id; none for the job.
    pub(crate) panel: Option<&'a str>,
    pub(crate) length: CameLength,
    /// How many panels are made.
    pub(crate) panels: u32,
    pub(crate) stock: StockLength,
    pub(crate) count: StockCount,
}

/// For every panel and came: the length of the lines drawn, of the leads as they are cut, and the lengths of came to buy;
/// then the same for the job (`level` is `panel` or `job`), where offcuts of one panel serve another. All panels made are
/// counted.
///
/// # Errors
/// When the writer fails.
pub fn leads_csv(drawings: &[PanelDrawing], units: Units, signs: Signs) -> Result<String, TableError> {
    let number = |value: f64, decimals: usize| signs::number(plain(value, decimals), signs);
    let mut writer = signs::writer(signs);
    let (length, run) = (lengths(units).one, runs(units).one);
    writer.write_record(columns(units))?;
    for row in leads_rows(drawings) {
        let came = &row.length.came;
        writer.write_record([
            if row.panel.is_some() { "panel" } else { "job" },
            row.panel.unwrap_or_default(),
            &came.name,
            &number(came.face / length, 3),
            &number(came.heart / length, 3),
            &row.panels.to_string(),
            &row.length.leads.len().to_string(),
            &number(row.length.lines / run, 6),
            &number(row.length.total() / run, 6),
            &number(row.stock.length / length, 3),
            &row.count.lengths.to_string(),
        ])?;
    }
    signs::text(writer, signs)
}

/// The same for reading.
#[must_use]
pub fn leads_text(drawings: &[PanelDrawing], units: Units) -> String {
    let mut text = String::new();
    for row in leads_rows(drawings) {
        let panel = row
            .panel
            .map_or("all panels".to_owned(), |panel| format!("panel {panel}"));
        text += &format!(
            "{panel}, {} ({} face): {} of lines, {} of {} in all, {} of {} to buy",
            row.length.came.name,
            short(row.length.came.face, 2, units),
            long(row.length.lines, units),
            counted(row.length.leads.len(), "lead"),
            long(row.length.total(), units),
            counted(row.count.lengths, "length"),
            came_length(row.stock.length, units),
        );
        if row.count.at_least < row.count.lengths {
            text += &format!(" (no fewer than {})", row.count.at_least);
        }
        if row.count.joined > 0 {
            text += &format!("; {} longer than a length, to be joined", row.count.joined);
        }
        text.push('\n');
    }
    text
}

/// A length of came as it is bought: 2 m, 6 ft.
fn came_length(mm: f64, units: Units) -> String {
    let scale = runs(units);
    format!("{} {}", plain(mm / scale.one, 3), scale.sign)
}

/// Every came of every panel and, where there are several panels, of the job.
pub(crate) fn leads_rows(drawings: &[PanelDrawing]) -> Vec<Row<'_>> {
    let mut rows: Vec<Row<'_>> = vec![];
    let mut job: Vec<(CameLength, u32, StockLength)> = vec![];
    for drawing in drawings {
        for length in &drawing.cartoon.leads {
            let made = all_made(length, drawing.count);
            let like = job
                .iter_mut()
                .find(|(total, _, stock)| total.came == made.came && *stock == drawing.stock);
            match like {
                Some((total, panels, _)) => {
                    total.lines += made.lines;
                    total.leads.extend(&made.leads);
                    *panels += drawing.count;
                }
                None => job.push((made.clone(), drawing.count, drawing.stock)),
            }
            rows.push(Row {
                panel: Some(&drawing.panel),
                count: stock_lengths(&made.leads, drawing.stock),
                length: made,
                panels: drawing.count,
                stock: drawing.stock,
            });
        }
    }
    if drawings.len() > 1 {
        rows.extend(job.into_iter().map(|(length, panels, stock)| Row {
            panel: None,
            count: stock_lengths(&length.leads, stock),
            length,
            panels,
            stock,
        }));
    }
    rows
}

fn all_made(length: &CameLength, panels: u32) -> CameLength {
    CameLength {
        lines: length.lines * f64::from(panels),
        leads: (0..panels).flat_map(|_| length.leads.iter().copied()).collect(),
        ..length.clone()
    }
}
