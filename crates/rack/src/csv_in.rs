//! The stock list as CSV: what its columns are, and what must hold between its lines.

use crate::row::{self, COLUMNS, Line, REQUIRED};
use crate::{Count, Stock};
use cullet_job::{Findings, Report};
use cullet_list::{Kind, cut_short};
use std::collections::BTreeMap;

/// The largest stock list that is read, in bytes.
pub const MOST_STOCK_BYTES: usize = 64 << 20;
/// The most lines a stock list may have.
pub const MOST_STOCK_LINES: usize = 250_000;

const STOCK_LIST: Kind = Kind {
    name: "a stock list",
    entry: "sheet or offcut",
    columns: &COLUMNS,
    former: &[("came_from", "source")],
    required: REQUIRED,
    // Width and height too.
    shown: REQUIRED + 2,
    numbers: &["width", "height", "outline", "grain", "flaws", "price"],
    quoted: "an outline",
    none: "Add the glass on the rack, and what can be bought with count buy.",
    most_bytes: MOST_STOCK_BYTES,
    most_lines: MOST_STOCK_LINES,
    too_long: "Split the list, and draw outlines with fewer points.",
};

/// The lines of a stock list, read and checked, to be entered into a rack.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    pub(crate) file: String,
    pub(crate) lines: Vec<Line>,
}

impl Lines {
    /// Reads and checks a stock list; `file` is its name for messages. What stands in it: see the crate's documentation.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once, each with its line and column.
    pub fn read_csv(file: &str, text: &str) -> Result<Self, Findings> {
        let mut report = Report::new(file);
        let lines = read(&mut report, text);
        report.into_result(Self {
            file: file.to_owned(),
            lines,
        })
    }
}

impl Stock {
    /// Reads and checks a stock list; `file` is its name for messages. What stands in it: see the crate's documentation.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once, each with its line and column.
    pub fn read_csv(file: &str, text: &str) -> Result<Self, Findings> {
        let lines = Lines::read_csv(file, text)?.lines;
        Ok(Self {
            items: lines.into_iter().map(|line| line.stock).collect(),
        })
    }
}

fn read(report: &mut Report, text: &str) -> Vec<Line> {
    let mut tags = Tags::new();
    let items = cullet_list::read(report, text, &STOCK_LIST, |report, row| {
        let tag = row.text("tag");
        let place = row.place("tag");
        match tags.get(&tag.to_lowercase()) {
            _ if tag.is_empty() => {}
            Some((earlier, first)) => report.add(
                place,
                format!(
                    "\"{}\" again, it stands on {earlier} already{}",
                    cut_short(tag),
                    if tag == first { "" } else { ", in other capitals" }
                ),
                "each tag once, ignoring capitals",
                "Give each line its own tag; equal sheets go on one line with their count.",
            ),
            None => {
                let line = place.split(',').next().unwrap_or_default();
                tags.insert(tag.to_lowercase(), (line.to_owned(), tag.to_owned()));
            }
        }
        row::read(row, report)
    });
    name_collisions(report, &items, &tags);
    items
}

/// The line of each tag and how it is written there, by the tag in small letters.
type Tags = BTreeMap<String, (String, String)>;

/// Names tags that are those of a numbered copy of another line: three equal sheets A are A.1, A.2 and A.3 on the rack.
fn name_collisions(report: &mut Report, items: &[Line], tags: &Tags) {
    let counts: BTreeMap<String, u32> = items
        .iter()
        .filter_map(|item| match item.stock.count {
            Count::OnHand(count) if count > 1 => Some((item.stock.tag.to_lowercase(), count)),
            _ => None,
        })
        .collect();
    for (tag, (line, written)) in tags {
        let Some((name, copy)) = tag.rsplit_once('.') else {
            continue;
        };
        let copies = counts.get(name).copied().unwrap_or(0);
        let is_copy = copy.parse().is_ok_and(|copy: u32| (1..=copies).contains(&copy)) && !copy.starts_with(['0', '+']);
        if let (true, Some((of, _))) = (is_copy, tags.get(name)) {
            report.add(
                format!("{line}, column \"tag\""),
                format!(
                    "\"{}\", which is the tag of one of the {copies} on {of}",
                    cut_short(written)
                ),
                "each tag once, those of equal sheets counted (A.1, A.2 ...)",
                "Give the line another tag.",
            );
        }
    }
}
