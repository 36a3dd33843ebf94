//! Lead lengths as CSV and text.

use super::{TableError, signs};
use crate::number::{fixed, plain};
use cullet_drawing::expand::PanelDrawing;
use cullet_drawing::leads::{CameLength, StockCount, StockLength, stock_lengths};
use cullet_job::counted;
use cullet_rack::Signs;

const COLUMNS: [&str; 11] = [
    "level",
    "panel",
    "came",
    "face_mm",
    "heart_mm",
    "panels",
    "leads",
    "lines_m",
    "cut_m",
    "came_length_mm",
    "lengths_to_buy",
];

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
pub fn leads_csv(drawings: &[PanelDrawing], signs: Signs) -> Result<String, TableError> {
    let number = |value: f64, decimals: usize| signs::number(plain(value, decimals), signs);
    let mut writer = signs::writer(signs);
    writer.write_record(COLUMNS)?;
    for row in leads_rows(drawings) {
        let came = &row.length.came;
        writer.write_record([
            if row.panel.is_some() { "panel" } else { "job" },
            row.panel.unwrap_or_default(),
            &came.name,
            &number(came.face, 3),
            &number(came.heart, 3),
            &row.panels.to_string(),
            &row.length.leads.len().to_string(),
            &number(row.length.lines / 1e3, 6),
            &number(row.length.total() / 1e3, 6),
            &number(row.stock.length, 3),
            &row.count.lengths.to_string(),
        ])?;
    }
    signs::text(writer, signs)
}

/// The same for reading.
#[must_use]
pub fn leads_text(drawings: &[PanelDrawing]) -> String {
    let mut text = String::new();
    for row in leads_rows(drawings) {
        let panel = row
            .panel
            .map_or("all panels".to_owned(), |panel| format!("panel {panel}"));
        text += &format!(
            "{panel}, {} ({} mm face): {} m of lines, {} of {} m in all, {} of {} m to buy",
            row.length.came.name,
            plain(row.length.came.face, 2),
            fixed(row.length.lines / 1e3, 2),
            counted(row.length.leads.len(), "lead"),
            fixed(row.length.total() / 1e3, 2),
            counted(row.count.lengths, "length"),
            plain(row.stock.length / 1e3, 3),
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
