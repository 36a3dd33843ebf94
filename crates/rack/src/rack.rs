//! The rack as one file: opening it, and one transaction for each thing done.

use crate::change::Said;
use crate::csv_in::Lines;
use crate::file;
use crate::item::{RackState, Stamp};
use crate::trouble::{RackError, Stop};
use rusqlite::{Connection, Transaction, TransactionBehavior};
use std::path::Path;

/// A rack, open. Several processes may have the same one open: each thing done is one transaction, and whoever comes second
/// sees what the first has done.
#[derive(Debug)]
pub struct Rack {
    connection: Connection,
    file: String,
    /// Where the file was copied to, to be looked at there.
    #[expect(dead_code, reason = "removes the copy when the rack is closed")]
    copied: Option<tempfile::TempDir>,
}

impl Rack {
    /// Opens an existing rack. One of an older version is brought up to date first.
    ///
    /// # Errors
    /// [`RackError::Input`] where there is no rack, or one of a newer version; the file is left untouched then.
    /// [`RackError::File`] where it cannot be read or written.
    pub fn open(path: &Path) -> Result<Self, RackError> {
        Self::at(path, false)
    }

    /// Opens a rack, or makes an empty one where there is no file.
    ///
    /// # Errors
    /// As [`Rack::open`].
    ///
    /// ```
    /// use cullet_rack::{Lines, Rack, Stamp};
    /// let folder = tempfile::tempdir()?;
    /// let mut rack = Rack::open_or_create(&folder.path().join("workshop.rack"))?;
    /// let list = "kind,tag,glass,units,width,height,count\nsheet,REED-A,REED,mm,610,1220,2\n";
    /// let tags = rack.import(&Lines::read_csv("stock.csv", list)?, &Stamp { at: 0, who: "Ada".into() })?;
    /// assert_eq!(tags, ["REED-A.1", "REED-A.2"]);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn open_or_create(path: &Path) -> Result<Self, RackError> {
        Self::at(path, true)
    }

    /// Whether a file is a rack of any version, or the part of one that SQLite keeps beside it. The file is not changed.
    #[must_use]
    pub fn is_one(path: &Path) -> bool {
        file::is_rack(path)
    }

    /// Opens a rack to look at it: also one that may not be written, or for which the disk has no room to write beside it. Nothing can
    /// be changed through it then.
    ///
    /// # Errors
    /// As [`Rack::open`].
    pub fn open_to_read(path: &Path) -> Result<Self, RackError> {
        let file = path.display().to_string();
        match file::open_to_read(path) {
            Ok((connection, copied)) => Ok(Self {
                connection,
                file,
                copied,
            }),
            Err(stop) => Err(stop.in_file(&file)),
        }
    }

    /// [`Rack::import`] into a rack, or into a new one where there is no file: none is made where the list is refused.
    ///
    /// # Errors
    /// As [`Rack::open`] and [`Rack::import`].
    pub fn import_into(path: &Path, lines: &Lines, stamp: &Stamp) -> Result<Vec<String>, RackError> {
        Self::changed(path, |rack| rack.import(lines, stamp))
    }

    /// [`Rack::add`] to a rack, or to a new one where there is no file: none is made where it is refused.
    ///
    /// # Errors
    /// As [`Rack::open`] and [`Rack::add`].
    pub fn add_into(path: &Path, said: &Said<'_>, stamp: &Stamp) -> Result<Vec<String>, RackError> {
        Self::changed(path, |rack| rack.add(said, stamp))
    }

    /// Does it to a rack in memory first where none is there yet.
    fn changed<T>(path: &Path, act: impl Fn(&mut Self) -> Result<T, RackError>) -> Result<T, RackError> {
        if !path.metadata().is_ok_and(|found| found.len() > 0) {
            let file = path.display().to_string();
            let connection = file::in_memory().map_err(|stop| stop.in_file(&file))?;
            act(&mut Self {
                connection,
                file,
                copied: None,
            })?;
        }
        act(&mut Self::open_or_create(path)?)
    }

    /// The whole rack as the bytes of one file, while others may be at work on it.
    ///
    /// # Errors
    /// [`RackError::File`] where it cannot be read, or there is no room for temporary files.
    pub fn copy(&mut self) -> Result<Vec<u8>, RackError> {
        file::copy(&self.connection).map_err(|stop| stop.in_file(&self.file))
    }

    fn at(path: &Path, create: bool) -> Result<Self, RackError> {
        Ok(Self {
            connection: file::open(path, create)?,
            file: path.display().to_string(),
            copied: None,
        })
    }

    /// The file's name, as it was given.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Looks things up, all in one state of the rack.
    pub(crate) fn read<T>(&mut self, look: impl FnOnce(&Transaction<'_>) -> Result<T, Stop>) -> Result<T, RackError> {
        self.within(TransactionBehavior::Deferred, look)
    }

    /// Changes the rack: all of it or, where anything is in the way, nothing.
    pub(crate) fn write<T>(&mut self, act: impl FnOnce(&Transaction<'_>) -> Result<T, Stop>) -> Result<T, RackError> {
        self.within(TransactionBehavior::Immediate, act)
    }

    fn within<T>(
        &mut self,
        behavior: TransactionBehavior,
        act: impl FnOnce(&Transaction<'_>) -> Result<T, Stop>,
    ) -> Result<T, RackError> {
        let all = || -> Result<T, Stop> {
            let transaction = self.connection.transaction_with_behavior(behavior)?;
            let done = act(&transaction)?;
            transaction.commit()?;
            Ok(done)
        };
        all().map_err(|stop| stop.in_file(&self.file))
    }
}

/// Which rack it is and how far its history has come.
pub(crate) fn state(transaction: &Transaction<'_>) -> Result<RackState, Stop> {
    let id = transaction.query_row("SELECT id FROM rack", [], |row| row.get(0))?;
    let revision: i64 = transaction.query_row("SELECT coalesce(max(id), 0) FROM operations", [], |row| row.get(0))?;
    Ok(RackState {
        id,
        revision: revision.unsigned_abs(),
    })
}

/// One thing done, as it goes down in the history. Areas in hundredths of a square millimetre.
#[derive(Debug, Default)]
pub(crate) struct Operation<'a> {
    pub(crate) kind: &'static str,
    pub(crate) plan: Option<&'a str>,
    pub(crate) note: String,
    pub(crate) on_rack: i64,
    pub(crate) used: i64,
    pub(crate) cullet: i64,
    pub(crate) thrown_away: i64,
}

/// Enters it and returns its number. What came in is whatever the other areas add up to.
pub(crate) fn enter(transaction: &Transaction<'_>, operation: &Operation<'_>, stamp: &Stamp) -> Result<i64, Stop> {
    let Operation {
        kind,
        plan,
        note,
        on_rack,
        used,
        cullet,
        thrown_away,
    } = operation;
    transaction.execute(
        "INSERT INTO operations (kind, at, who, plan, note, came_in, on_rack, used, cullet, thrown_away)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        (
            kind,
            stamp.at,
            &stamp.who,
            plan,
            note,
            on_rack + used + cullet + thrown_away,
            on_rack,
            used,
            cullet,
            thrown_away,
        ),
    )?;
    Ok(transaction.last_insert_rowid())
}

/// Notes what an operation did to one glass.
pub(crate) fn note(transaction: &Transaction<'_>, operation: i64, item: i64, what: &str) -> Result<(), Stop> {
    transaction
        .prepare_cached("INSERT INTO changes (operation, item, what) VALUES (?1, ?2, ?3)")?
        .execute((operation, item, what))?;
    Ok(())
}

/// An area as the rack counts it: hundredths of a square millimetre.
pub(crate) fn hundredths(mm2: f64) -> i64 {
    // Outlines reach 10 m at most: far within the range.
    (mm2 * 100.0).round() as i64
}
