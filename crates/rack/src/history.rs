//! What was done at the rack, by whom and when; nothing of it is ever taken out.

use crate::rack::Rack;
use crate::rows::required;
use crate::trouble::{RackError, Stop};
use rusqlite::{Params, Transaction};

/// One thing done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its number; they rise.
    pub number: u64,
    /// When, as ISO 8601 in UTC.
    pub at: String,
    /// By whom.
    pub who: String,
    /// What: `add`, `import`, `correct`, `throw away`, `hold`, `release`, `book` or `undo booking`.
    pub kind: String,
    /// The plan it was for.
    pub plan: Option<String>,
    /// The job, the file, or why.
    pub note: String,
    /// Glass it touched: tag and what became of it.
    pub glass: Vec<(String, String)>,
}

/// Of an entry that touched more glass than this, only so much is named.
const MOST_GLASS: i64 = 200;

impl Rack {
    /// The last entries, oldest first; only those that touched `tag` where one is given.
    ///
    /// # Errors
    /// [`RackError::Input`] where there is no glass with this tag.
    pub fn history(&mut self, tag: Option<&str>, most: u32) -> Result<Vec<Entry>, RackError> {
        self.read(|transaction| {
            let (condition, item) = match tag {
                None => ("?1 IS NULL", None),
                Some(tag) => (
                    "id IN (SELECT operation FROM changes WHERE item = ?1)",
                    Some(required(transaction, tag)?.row),
                ),
            };
            let condition = format!("{condition} ORDER BY id DESC LIMIT ?2");
            let mut entries = entries(transaction, &condition, (item, most))?;
            entries.reverse();
            if let Some(tag) = tag {
                for entry in &mut entries {
                    entry.glass.retain(|(touched, _)| touched.eq_ignore_ascii_case(tag));
                }
            }
            Ok(entries)
        })
    }
}

/// What was done after `revision`, without what was done for `plan` itself.
pub(crate) fn entries_since(transaction: &Transaction<'_>, revision: u64, plan: &str) -> Result<Vec<Entry>, Stop> {
    let revision = i64::try_from(revision).unwrap_or(i64::MAX);
    let condition = "id > ?1 AND plan IS NOT ?2 ORDER BY id";
    entries(transaction, condition, (revision, plan))
}

fn entries(transaction: &Transaction<'_>, condition: &str, values: impl Params) -> Result<Vec<Entry>, Stop> {
    let text = format!(
        "SELECT id, strftime('%Y-%m-%dT%H:%M:%SZ', at, 'unixepoch'), who, kind, plan, note
         FROM operations WHERE {condition}"
    );
    let mut statement = transaction.prepare(&text)?;
    let mut glass = transaction.prepare(
        "SELECT tag, what FROM changes JOIN items ON items.id = changes.item WHERE operation = ?1
         ORDER BY items.id LIMIT ?2",
    )?;
    let mut rows = statement.query(values)?;
    let mut found = vec![];
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let touched = glass.query_map((number, MOST_GLASS), |row| Ok((row.get(0)?, in_words(row.get(1)?))))?;
        found.push(Entry {
            number: number.unsigned_abs(),
            at: row.get::<_, Option<String>>(1)?.unwrap_or_default(),
            who: row.get(2)?,
            kind: match row.get::<_, String>(3)?.as_str() {
                "take back" => "undo booking".to_owned(),
                kind => kind.to_owned(),
            },
            plan: row.get(4)?,
            note: row.get(5)?,
            glass: touched.collect::<Result<_, _>>()?,
        });
    }
    Ok(found)
}

/// What became of a sheet or offcut, in the words of today; the file keeps those it was written with.
fn in_words(what: String) -> String {
    match what.as_str() {
        "came in" => "received".to_owned(),
        "came back" => "returned".to_owned(),
        _ => what,
    }
}
