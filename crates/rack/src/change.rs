//! What people do at the rack: bring glass in, put right what is noted of it, throw it away.

use crate::csv_in::Lines;
use crate::csv_out::{Cells, cell, cells, points};
use crate::item::{RackItem, Stamp, State};
use crate::rack::{Operation, Rack, enter, hundredths, note};
use crate::row::{self, Line};
use crate::rows::{Kept, insert, required, set_state, tagged, update};
use crate::stock::clear_rectangle;
use crate::trouble::{RackError, Stop, told};
use crate::{Count, StockItem, tag};
use cullet_geometry::{Outline, Point};
use cullet_job::Report;
use cullet_list::{DecimalSign, Row, Source};
use rusqlite::Transaction;
use std::collections::BTreeSet;

/// What is said of one glass: texts by the names of the stock list's columns, as a user typed them.
pub type Said<'a> = [(&'a str, &'a str)];

impl Rack {
    /// Enters all lines of a list, in one go. A line of several becomes that many with tags of their own (`A.1`, `A.2`);
    /// lines with count 0 enter nothing. Returns the tags.
    ///
    /// # Errors
    /// [`RackError::Taken`] where tags are in use already, or ever were; each is named with its line.
    pub fn import(&mut self, lines: &Lines, stamp: &Stamp) -> Result<Vec<String>, RackError> {
        let items = single_items(&lines.lines);
        let many = items.len();
        let list = format!("{many} from {}", lines.file);
        self.write(|transaction| bring_in(transaction, "import", list, &items, stamp))
    }

    /// Enters one glass, or several equal ones, from what was said of them; without a tag they are given one. Returns the tags.
    ///
    /// # Errors
    /// [`RackError::Input`] with everything that is wrong with what was said, [`RackError::Taken`] where the tag is in use.
    pub fn add(&mut self, said: &Said<'_>, stamp: &Stamp) -> Result<Vec<String>, RackError> {
        let has_tag = said
            .iter()
            .any(|(column, text)| *column == "tag" && !text.trim().is_empty());
        let mut said = said.to_vec();
        if !has_tag {
            said.retain(|(column, _)| *column != "tag");
            said.push(("tag", "new"));
        }
        let line = read_said(&said)?;
        self.write(|transaction| {
            let mut items = single_items(std::slice::from_ref(&line));
            if !has_tag {
                for (_, item) in &mut items {
                    item.stock.tag = new_tag(transaction)?;
                }
            }
            bring_in(transaction, "add", String::new(), &items, stamp)
        })
    }

    /// Puts right what is noted of one glass. What is not said stays as it is; what it was goes down in the history. Returns
    /// the item as it is now and whether anything differs.
    ///
    /// Tag, kind and count are for good: glass that was entered wrongly is thrown away and entered anew.
    ///
    /// # Errors
    /// [`RackError::Input`] with everything that is wrong with what was said, [`RackError::Taken`] where the glass is gone.
    pub fn correct(&mut self, tag: &str, said: &Said<'_>, stamp: &Stamp) -> Result<(RackItem, bool), RackError> {
        self.write(|transaction| {
            let kept = required(transaction, tag)?;
            if !matches!(kept.item.state, State::OnRack | State::ToBuy) {
                return Err(gone(&kept));
            }
            let now = corrected(&kept.item, said)?;
            let was = differences(&kept.item, &now);
            if was.is_empty() {
                return Ok((now, false));
            }
            let grown = hundredths(now.stock.outline.area()) - kept.area;
            let operation = Operation {
                kind: "correct",
                note: kept.item.stock.tag.clone(),
                // What was measured wrongly had come in otherwise than noted.
                on_rack: if kept.item.state == State::OnRack { grown } else { 0 },
                ..Operation::default()
            };
            let operation = enter(transaction, &operation, stamp)?;
            update(transaction, kept.row, &now)?;
            note(
                transaction,
                operation,
                kept.row,
                &format!("corrected; it was: {}", was.join(", ")),
            )?;
            Ok((now, true))
        })
    }

    /// Throws glass away: broken, lost, not worth its place. All of it or none. What can be bought is taken off the list.
    ///
    /// # Errors
    /// [`RackError::Taken`] for glass that is gone already or promised to a plan, each named.
    pub fn throw_away(&mut self, tags: &[&str], why: &str, stamp: &Stamp) -> Result<Vec<RackItem>, RackError> {
        self.write(|transaction| {
            let mut kept: Vec<Kept> = vec![];
            let (mut unknown, mut refused) = (vec![], vec![]);
            for tag in tags {
                match required(transaction, tag) {
                    Ok(found) if kept.iter().any(|known| known.row == found.row) => {}
                    Ok(found) => {
                        if let Some(plan) = &found.item.held_for {
                            refused.push(told(
                                &format!("tag {}", found.item.stock.tag),
                                &format!("glass that is held for plan {plan}"),
                                "glass that is not held",
                                "Release it first with cullet rack release.",
                            ));
                        } else if let (false, Stop::Taken(told)) =
                            (matches!(found.item.state, State::OnRack | State::ToBuy), gone(&found))
                        {
                            refused.extend(told);
                        }
                        kept.push(found);
                    }
                    Err(Stop::Input(told)) => unknown.extend(told),
                    Err(stop) => return Err(stop),
                }
            }
            if !unknown.is_empty() {
                return Err(Stop::Input(unknown));
            }
            if !refused.is_empty() {
                return Err(Stop::Taken(refused));
            }
            let on_rack = kept.iter().filter(|kept| kept.item.state == State::OnRack);
            let area: i64 = on_rack.map(|kept| kept.area).sum();
            let operation = Operation {
                kind: "throw away",
                note: why.to_owned(),
                on_rack: -area,
                thrown_away: area,
                ..Operation::default()
            };
            let operation = enter(transaction, &operation, stamp)?;
            for kept in &kept {
                match kept.item.state {
                    State::ToBuy => set_state(transaction, kept.row, State::Withdrawn)?,
                    _ => set_state(transaction, kept.row, State::ThrownAway)?,
                }
                note(transaction, operation, kept.row, "thrown away")?;
            }
            Ok(kept.into_iter().map(|kept| kept.item).collect())
        })
    }
}

/// The next running number whose tag nobody can take for another one.
pub(crate) fn new_tag(transaction: &Transaction<'_>) -> Result<String, Stop> {
    loop {
        let number: i64 = transaction.query_row(
            "UPDATE rack SET next_number = next_number + 1 RETURNING next_number - 1",
            [],
            |row| row.get(0),
        )?;
        let new = tag::numbered(number.unsigned_abs());
        if is_free(transaction, &new)? {
            return Ok(new);
        }
    }
}

/// The next tag for a sheet bought from the line `name`.
pub(crate) fn new_copy(transaction: &Transaction<'_>, name: &str) -> Result<String, Stop> {
    let mut copy = 1;
    loop {
        let new = tag::of_copy(name, copy);
        if is_free(transaction, &new)? {
            return Ok(new);
        }
        copy += 1;
    }
}

fn is_free(transaction: &Transaction<'_>, new: &str) -> Result<bool, Stop> {
    let mut known = transaction.prepare_cached("SELECT 1 FROM items WHERE bare = ?1 LIMIT 1")?;
    Ok(!known.exists([tag::bare(new)])?)
}

/// Every line as items with tags of their own.
fn single_items(lines: &[Line]) -> Vec<(Source, RackItem)> {
    let mut items = vec![];
    for line in lines {
        let (state, copies) = match line.stock.count {
            Count::ToBuy => (State::ToBuy, 1),
            Count::OnHand(count) => (State::OnRack, count),
        };
        let clear = clear_rectangle(&line.stock.outline);
        for copy in 1..=copies {
            let tag = match copies {
                1 => line.stock.tag.clone(),
                _ => tag::of_copy(&line.stock.tag, u64::from(copy)),
            };
            let count = match line.stock.count {
                Count::ToBuy => Count::ToBuy,
                Count::OnHand(_) => Count::OnHand(1),
            };
            let item = RackItem {
                stock: StockItem {
                    tag,
                    count,
                    ..line.stock.clone()
                },
                scored_face: line.scored_face,
                came_from: line.came_from.clone(),
                state,
                clear,
                held_for: None,
            };
            items.push((line.source, item));
        }
    }
    items
}

fn bring_in(
    transaction: &Transaction<'_>,
    kind: &'static str,
    about: String,
    items: &[(Source, RackItem)],
    stamp: &Stamp,
) -> Result<Vec<String>, Stop> {
    let mut refused = vec![];
    let mut new = BTreeSet::new();
    for (source, item) in items {
        let tag = &item.stock.tag;
        let known = tagged(transaction, tag)?;
        let found = match &known {
            Some(known) => format!("\"{tag}\", which is {} already", known.item.state.word()),
            None if !new.insert(tag.to_lowercase()) => format!("\"{tag}\" twice, ignoring capitals"),
            None => continue,
        };
        refused.push(told(
            &source.place("tag"),
            &found,
            "a tag this rack has never used",
            "Give it another tag. Tags are never used again, not even of glass that is gone.",
        ));
    }
    if !refused.is_empty() {
        return Err(Stop::Taken(refused));
    }
    let on_rack = items.iter().filter(|(_, item)| item.state == State::OnRack);
    let operation = Operation {
        kind,
        note: match items {
            [(_, item)] => item.stock.tag.clone(),
            _ if about.is_empty() => items.len().to_string(),
            _ => about,
        },
        on_rack: on_rack.map(|(_, item)| hundredths(item.stock.outline.area())).sum(),
        ..Operation::default()
    };
    let operation = enter(transaction, &operation, stamp)?;
    for (_, item) in items {
        let row = insert(transaction, item, operation)?;
        let what = if item.state == State::ToBuy {
            "can be bought"
        } else {
            "came in"
        };
        note(transaction, operation, row, what)?;
    }
    Ok(items.iter().map(|(_, item)| item.stock.tag.clone()).collect())
}

/// What was said, as a line of a list; kind, units and count have the usual values.
fn read_said(said: &Said<'_>) -> Result<Line, RackError> {
    let usual = [("units", "mm"), ("count", "1"), ("glass", ""), ("kind", "")];
    let cells = |column: &str| {
        let said = said.iter().chain(&usual).find(|(name, _)| *name == column);
        Some(said.map_or("", |(_, text)| text.trim()))
    };
    let mut report = Report::new("command line");
    let row = Row {
        source: Source::Options,
        cells: &cells,
        sign: DecimalSign::Point,
    };
    match row::read(&row, &mut report) {
        Some(line) => Ok(line),
        None => Err(RackError::Input(cullet_job::Findings(report.into_findings()))),
    }
}

/// Columns that decide on the outline.
const SHAPE: [&str; 3] = ["outline", "width", "height"];
/// Columns that stay for good.
const FOR_GOOD: [&str; 3] = ["tag", "kind", "count"];

fn corrected(item: &RackItem, said: &Said<'_>) -> Result<RackItem, Stop> {
    let is_said = |column: &str| said.iter().any(|(name, _)| *name == column);
    let new_shape = SHAPE.iter().any(|column| is_said(column));
    if new_shape && !is_said("flaws") && !item.stock.flaws.is_empty() {
        return Err(Stop::input(
            "--flaws",
            "a new shape for glass that has flaws",
            "where the flaws lie on it",
            "Say the flaws again, in the axes of the new outline; --flaws '' if they are gone.",
        ));
    }
    let in_inches = said.iter().any(|(name, text)| *name == "units" && text.trim() == "in");
    let old = cells(&scaled(item, if in_inches { 25.4 } else { 1.0 }), DecimalSign::Point);
    let said_cell = |column: &str| {
        said.iter()
            .find(|(name, _)| *name == column && !FOR_GOOD.contains(name))
    };
    let merged: Cells = crate::row::COLUMNS
        .iter()
        .map(|column| match said_cell(column) {
            Some((_, text)) => (*column, text.trim().to_owned()),
            None if new_shape && SHAPE.contains(column) => (*column, String::new()),
            None => (*column, cell(&old, column)),
        })
        .collect();
    let texts: Vec<(&str, &str)> = merged.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let mut line = read_said(&texts).map_err(|error| {
        Stop::Input(
            error
                .findings()
                .0
                .iter()
                .map(|f| told(&f.place, &f.found, &f.expected, &f.hint))
                .collect(),
        )
    })?;
    // What was not said stays to the last digit.
    line.stock.count = item.stock.count;
    if !new_shape {
        line.stock.outline = item.stock.outline.clone();
        if !is_said("flaws") {
            line.stock.flaws = item.stock.flaws.clone();
        }
    }
    Ok(RackItem {
        clear: clear_rectangle(&line.stock.outline),
        stock: line.stock,
        scored_face: line.scored_face,
        came_from: line.came_from,
        state: item.state,
        held_for: item.held_for.clone(),
    })
}

/// The same with its lengths in units of `unit` mm, to be read along with what was said in that unit.
fn scaled(item: &RackItem, unit: f64) -> RackItem {
    let mut scaled = item.clone();
    if unit != 1.0 {
        scaled.stock.outline = shrunk(&item.stock.outline, unit);
        scaled.stock.flaws = item.stock.flaws.iter().map(|flaw| shrunk(flaw, unit)).collect();
    }
    scaled
}

fn shrunk(outline: &Outline, unit: f64) -> Outline {
    let points = outline.points().iter().map(|p| Point {
        x: p.x / unit,
        y: p.y / unit,
    });
    Outline::new(points.collect()).unwrap_or_else(|_| outline.clone())
}

/// What differs, as it was.
fn differences(was: &RackItem, now: &RackItem) -> Vec<String> {
    let (old, new) = (cells(was, DecimalSign::Point), cells(now, DecimalSign::Point));
    let mut told = vec![];
    for column in crate::row::COLUMNS {
        let (was, now) = (cell(&old, column), cell(&new, column));
        if was != now {
            told.push(match was.as_str() {
                "" => format!("no {column}"),
                was => format!("{column} {was}"),
            });
        }
    }
    if told.is_empty() && was.stock.outline != now.stock.outline {
        told.push(format!("outline {}", points(&was.stock.outline, DecimalSign::Point)));
    }
    told
}

pub(crate) fn gone(kept: &Kept) -> Stop {
    Stop::taken(
        &format!("tag {}", kept.item.stock.tag),
        &format!("glass that is {}", kept.item.state.word()),
        "glass on the rack",
        "Is it the right tag? cullet rack history shows what became of it.",
    )
}
