//! Whether the rack is true: what came in is on the rack, in windows, in the cullet bin or thrown away.

use crate::rack::Rack;
use crate::trouble::{RackError, Stop};
use rusqlite::Transaction;

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
    /// Checks the file and adds everything up, two ways: by the entries of the history, and by the glass itself.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn audit(&mut self) -> Result<Audit, RackError> {
        self.read(audit)
    }
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
    let count = |text: &str| -> Result<i64, Stop> { Ok(transaction.query_row(text, [], |row| row.get(0))?) };

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
