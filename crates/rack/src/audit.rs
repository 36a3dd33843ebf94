//! Whether the rack is true: what came in is on the rack, in windows, in the cullet bin or thrown away.

use crate::blob;
use crate::item::State;
use crate::rack::{Rack, hundredths};
use crate::tag;
use crate::trouble::{RackError, Stop};
use rusqlite::{Row, Transaction};
use std::collections::BTreeMap;

/// Areas in mm², and whatever does not agree.
#[derive(Debug, Clone, PartialEq)]
pub struct Audit {
    /// All that ever came in, less what was taken back.
    pub came_in: f64,
    /// What stands on the rack, held or not.
    pub on_rack: f64,
    /// What went into finished pieces.
    pub used: f64,
    /// What was lost in cutting.
    pub cullet: f64,
    /// What was thrown away.
    pub thrown_away: f64,
    /// How many sheets and offcuts stand on the rack.
    pub count: u64,
    /// Of these, how many are held.
    pub held: u64,
    /// What does not agree, in words; empty where the rack is true.
    pub faults: Vec<String>,
}

impl Rack {
    /// Checks the file and adds everything up, two ways: by the entries of the history, and by the glass itself. Outlines are read
    /// and measured anew, and what became of each glass is followed through the history.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn audit(&mut self) -> Result<Audit, RackError> {
        self.read(audit)
    }
}

/// The one number that a query finds.
fn count(transaction: &Transaction<'_>, query: &str) -> Result<i64, Stop> {
    Ok(transaction.query_row(query, [], |row| row.get(0))?)
}

/// Glass whose state is not what its uses and holds say.
fn uses_and_holds(transaction: &Transaction<'_>) -> Result<Vec<String>, Stop> {
    let count = |text: &str| count(transaction, text);
    let mut faults = vec![];
    let users = count(
        "SELECT count(*) FROM items LEFT JOIN uses ON uses.item = items.id
         WHERE (state = 'used') <> (uses.item IS NOT NULL)",
    )?;
    if users > 0 {
        faults.push(format!(
            "{users} sheets or offcuts are used by no plan, or stand on the rack and are used"
        ));
    }
    let promised =
        count("SELECT count(*) FROM holds JOIN items ON items.id = holds.item WHERE state <> 'on the rack'")?;
    if promised > 0 {
        faults.push(format!(
            "{promised} sheets or offcuts are held that are not on the rack"
        ));
    }
    Ok(faults)
}

fn audit(transaction: &Transaction<'_>) -> Result<Audit, Stop> {
    let mut faults = damage(transaction)?;
    let books: [i64; 5] = transaction.query_row(
        "SELECT coalesce(sum(came_in), 0), coalesce(sum(on_rack), 0), coalesce(sum(used), 0),
             coalesce(sum(cullet), 0), coalesce(sum(thrown_away), 0) FROM operations",
        [],
        |row| Ok([row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?]),
    )?;
    let sum = |condition: &str| -> Result<i64, Stop> {
        let text = format!("SELECT coalesce(sum(area), 0) FROM items WHERE {condition}");
        Ok(transaction.query_row(&text, [], |row| row.get(0))?)
    };
    let count = |text: &str| count(transaction, text);

    // By the glass itself. Of what was drawn, part came back: those offcuts are on the rack, used or thrown away again.
    let on_rack = sum("state = 'on the rack'")?;
    let thrown_away = sum("state = 'thrown away'")?;
    let gone = sum("state IN ('used', 'on the rack', 'thrown away') AND id NOT IN (SELECT item FROM returns)")?;
    let [came_in, booked_rack, used, cullet, booked_thrown] = books;
    let mut compare = |what: &str, by_history: i64, by_glass: i64| {
        if by_history != by_glass {
            let square = |hundredths: i64| hundredths as f64 / 1e8;
            faults.push(format!(
                "{what}: {:.6} m² by the history, {:.6} m² by the glass",
                square(by_history),
                square(by_glass)
            ));
        }
    };
    compare("on the rack", booked_rack, on_rack);
    compare("thrown away", booked_thrown, thrown_away);
    compare("came in", came_in, on_rack + used + cullet + thrown_away);
    let corrected = count(
        "SELECT coalesce(sum(came_in), 0) FROM operations WHERE kind = 'correct' AND id IN
             (SELECT operation FROM changes WHERE item IN (SELECT item FROM returns))",
    )?;
    // An offcut that was measured anew after it came back had come in otherwise than its sheet said.
    if corrected == 0 {
        compare("came in, by sheets", came_in, gone);
    }
    faults.extend(uses_and_holds(transaction)?);
    faults.extend(each_glass(transaction)?);
    faults.extend(by_history(transaction)?);
    faults.extend(counts(transaction)?);
    let mm2 = |hundredths: i64| hundredths as f64 / 100.0;
    Ok(Audit {
        came_in: mm2(came_in),
        on_rack: mm2(on_rack),
        used: mm2(used),
        cullet: mm2(cullet),
        thrown_away: mm2(thrown_away),
        count: count("SELECT count(*) FROM items WHERE state = 'on the rack'")?.unsigned_abs(),
        held: count("SELECT count(*) FROM holds")?.unsigned_abs(),
        faults,
    })
}

/// What SQLite finds wrong with the file.
fn damage(transaction: &Transaction<'_>) -> Result<Vec<String>, Stop> {
    let mut faults = vec![];
    for (check, told) in [
        ("PRAGMA integrity_check", "the file"),
        ("PRAGMA foreign_key_check", "a reference"),
    ] {
        let mut statement = transaction.prepare(check)?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let found: String = row.get(0)?;
            if found != "ok" {
                faults.push(format!("{told}: {found}"));
            }
        }
    }
    Ok(faults)
}

/// What is noted of each glass, measured anew.
fn each_glass(transaction: &Transaction<'_>) -> Result<Vec<String>, Stop> {
    let mut faults = vec![];
    let columns = "tag, bare, outline, area, width, height, clear_width, clear_height, flaws, state";
    let mut statement = transaction.prepare(&format!("SELECT {columns} FROM items ORDER BY id"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let tag: String = row.get(0)?;
        let wrong = wrong_with(row, &tag)?;
        faults.extend(wrong.into_iter().map(|what| format!("tag {tag}: {what}")));
    }
    Ok(faults)
}

fn wrong_with(row: &Row<'_>, tag: &str) -> Result<Vec<String>, Stop> {
    let bytes = |column: usize| -> Result<Vec<u8>, Stop> { Ok(row.get(column)?) };
    let Some(outline) = blob::to_outline(&bytes(2)?) else {
        return Ok(vec!["its outline cannot be read, or is not a simple polygon".into()]);
    };
    let mut wrong = vec![];
    let noted: i64 = row.get(3)?;
    let area = hundredths(outline.area());
    if noted != area {
        let mm2 = |hundredths: i64| hundredths as f64 / 100.0;
        wrong.push(format!(
            "noted with {:.2} mm², its outline has {:.2} mm²",
            mm2(noted),
            mm2(area)
        ));
    }
    let bounds = outline.bounds();
    let size: (f64, f64) = (row.get(4)?, row.get(5)?);
    if size != (bounds.width(), bounds.height()) {
        let (width, height) = (bounds.width(), bounds.height());
        wrong.push(format!(
            "noted with {} × {} mm, its outline has {width} × {height} mm",
            size.0, size.1
        ));
    }
    let clear: (f64, f64) = (row.get(6)?, row.get(7)?);
    if !((0.0..=size.0).contains(&clear.0) && (0.0..=size.1).contains(&clear.1)) {
        wrong.push(format!(
            "the rectangle inside it, {} × {} mm, is larger than it",
            clear.0, clear.1
        ));
    }
    if blob::to_outlines(&bytes(8)?).is_none() {
        wrong.push("its flaws cannot be read".into());
    }
    let bare: String = row.get(1)?;
    if bare != tag::bare(tag) {
        wrong.push(format!("it is looked up as \"{bare}\""));
    }
    let state: String = row.get(9)?;
    if State::of_word(&state).is_none() {
        wrong.push(format!("its state is \"{state}\""));
    }
    Ok(wrong)
}

/// What became of one glass, by the history.
#[derive(Debug, Default)]
struct Followed {
    state: &'static str,
    held: bool,
    /// Whether it was held when it was used.
    held_when_used: bool,
    /// Back from a booking that may have known it as held without an entry of its own.
    may_be_held: bool,
    came_back: bool,
}

impl Followed {
    fn then(&mut self, what: &str) {
        match what {
            "came in" | "came back" => {
                self.state = State::OnRack.word();
                self.came_back = what == "came back";
            }
            "can be bought" => self.state = State::ToBuy.word(),
            "held" => self.held = true,
            "released" => {
                self.held = false;
                self.may_be_held = false;
            }
            "used" | "bought and used" => {
                self.state = State::Used.word();
                self.held_when_used = std::mem::take(&mut self.held);
            }
            "on the rack again" => {
                self.state = State::OnRack.word();
                self.held = std::mem::take(&mut self.held_when_used);
                self.may_be_held = true;
            }
            "thrown away" if self.state == State::ToBuy.word() => self.state = State::Withdrawn.word(),
            "thrown away" => self.state = State::ThrownAway.word(),
            what if what.starts_with("withdrawn") => self.state = State::Withdrawn.word(),
            _ => {}
        }
    }
}

/// Follows every glass through the history and compares what came of it with how it stands.
fn by_history(transaction: &Transaction<'_>) -> Result<Vec<String>, Stop> {
    let mut followed: BTreeMap<i64, Followed> = BTreeMap::new();
    let mut statement = transaction.prepare("SELECT item, what FROM changes ORDER BY operation, item")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let what: String = row.get(1)?;
        followed.entry(row.get(0)?).or_default().then(&what);
    }
    let mut faults = vec![];
    let mut statement = transaction.prepare(
        "SELECT id, tag, state, id IN (SELECT item FROM holds), id IN (SELECT item FROM returns) FROM items ORDER BY id",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (id, tag, state): (i64, String, String) = (row.get(0)?, row.get(1)?, row.get(2)?);
        let (held, came_back): (bool, bool) = (row.get(3)?, row.get(4)?);
        let Some(by_history) = followed.get(&id).filter(|followed| !followed.state.is_empty()) else {
            faults.push(format!("tag {tag}: the history does not say how it came in"));
            continue;
        };
        if by_history.state != state {
            faults.push(format!("tag {tag}: {state}, by the history {}", by_history.state));
        }
        let word = |yes: bool, what: &str| format!("{}{what}", if yes { "" } else { "not " });
        for (is, was, what) in [
            (held, by_history.held || (held && by_history.may_be_held), "held"),
            (came_back, by_history.came_back, "cut from a sheet"),
        ] {
            if is != was {
                faults.push(format!(
                    "tag {tag}: {}, by the history {}",
                    word(is, what),
                    word(was, what)
                ));
            }
        }
    }
    Ok(faults)
}

/// Entries that are missing from a table: rows are only ever added, one after the other.
fn counts(transaction: &Transaction<'_>) -> Result<Vec<String>, Stop> {
    let count = |text: &str| count(transaction, text);
    let mut faults = vec![];
    for (what, is, should_be) in [
        (
            "rows that say which rack it is",
            "SELECT count(*) FROM rack",
            "SELECT 1",
        ),
        (
            "entries of the history",
            "SELECT count(*) FROM operations",
            "SELECT coalesce(max(seq), 0) FROM sqlite_sequence WHERE name = 'operations'",
        ),
        (
            "sheets and offcuts that ever were",
            "SELECT count(*) FROM items",
            "SELECT coalesce(max(id), 0) FROM items",
        ),
        (
            "bookings",
            "SELECT count(*) FROM bookings",
            "SELECT count(*) FROM operations WHERE kind = 'book'",
        ),
        (
            "bookings taken back",
            "SELECT count(*) FROM bookings WHERE undone IS NOT NULL",
            "SELECT count(*) FROM operations WHERE kind = 'take back'",
        ),
    ] {
        let (is, should_be) = (count(is)?, count(should_be)?);
        if is != should_be {
            faults.push(format!("{what}: {is}, there should be {should_be}"));
        }
    }
    Ok(faults)
}
