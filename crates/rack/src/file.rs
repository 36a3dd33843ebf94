//! The file: opened, made, brought up to date, or refused untouched.

use crate::blob;
use crate::stock::clear_rectangle;
use crate::trouble::{RackError, Stop, open_regular, plain_words};
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Marks the file as a rack: "Rack" in ASCII, where SQLite keeps the number of the application (file format, 1.3.15).
const APPLICATION: u32 = 0x5261_636B;
/// The version that this program writes.
const VERSION: i64 = 3;
/// How long to wait for others who write.
const PATIENCE: Duration = Duration::from_secs(30);

/// Opens a rack; with `create` one is made where there is no file yet.
pub(crate) fn open(path: &Path, create: bool) -> Result<Connection, RackError> {
    let name = path.display().to_string();
    connect(path, create).map_err(|stop| stop.in_file(&name))
}

/// A new rack that is nowhere but in memory.
pub(crate) fn in_memory() -> Result<Connection, Stop> {
    let mut connection = Connection::open_in_memory()?;
    connection.pragma_update(None, "foreign_keys", true)?;
    bring_up_to_date(&mut connection)?;
    Ok(connection)
}

/// Opens a rack to look at it. Where it cannot be written, nor anything beside it: as it stands, or where bookings still lie
/// beside it (`-wal`) as a copy of both.
pub(crate) fn open_to_read(path: &Path) -> Result<(Connection, Option<tempfile::TempDir>), Stop> {
    use rusqlite::ErrorCode;
    let refused = match connect(path, false) {
        Err(Stop::Sql(error)) => error,
        done => return Ok((done?, None)),
    };
    let cannot_write = matches!(
        refused.sqlite_error_code(),
        Some(
            ErrorCode::ReadOnly
                | ErrorCode::PermissionDenied
                | ErrorCode::CannotOpen
                | ErrorCode::DiskFull
                | ErrorCode::SystemIoFailure
        )
    );
    if !cannot_write {
        return Err(refused.into());
    }
    let has_more = |ending: &str| std::fs::metadata(beside(path, ending)).is_ok_and(|found| found.len() > 0);
    if !has_more("-wal") && !has_more("-journal") {
        return Ok((as_it_stands(path)?, None));
    }
    let copies = || -> std::io::Result<tempfile::TempDir> {
        let folder = tempfile::tempdir()?;
        let copy = folder.path().join("rack");
        std::fs::copy(path, &copy)?;
        for ending in ["-wal", "-journal"] {
            if has_more(ending) {
                std::fs::copy(beside(path, ending), beside(&copy, ending))?;
            }
        }
        Ok(folder)
    };
    let Ok(folder) = copies() else {
        return Err(refused.into());
    };
    let connection = connect(&folder.path().join("rack"), false)?;
    Ok((connection, Some(folder)))
}

/// A file that nobody writes, nor anything beside it.
fn as_it_stands(path: &Path) -> Result<Connection, Stop> {
    let mut address = String::from("file:");
    // What would mean something else in an address (RFC 3986, 2.1).
    for byte in std::path::absolute(path)
        .unwrap_or(path.into())
        .as_os_str()
        .as_encoded_bytes()
    {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'-' | b'.' | b'_' => address.push(char::from(*byte)),
            other => address += &format!("%{other:02X}"),
        }
    }
    address += "?immutable=1";
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX | OpenFlags::SQLITE_OPEN_URI;
    let mut connection = Connection::open_with_flags(address, flags)?;
    connection.pragma_update(None, "cache_size", -65_536)?;
    let seen = connection
        .transaction()
        .map_err(Stop::from)
        .and_then(|seen| found(&seen))?;
    match seen {
        Found::Rack(VERSION) => Ok(connection),
        Found::Rack(version) if version > VERSION => Err(newer(version)),
        Found::Rack(version) => Err(Stop::input(
            "the whole file",
            &format!("a rack of version {version} that may not be written"),
            "one that can be brought up to date",
            "Copy it to where it may be written, then look at the copy.",
        )),
        Found::Other | Found::Empty => Err(not_a_rack("a file of another kind")),
    }
}

/// The whole rack as one file, with nothing beside it.
pub(crate) fn copy(connection: &Connection) -> Result<Vec<u8>, Stop> {
    let unwritten =
        |error: &std::io::Error| Stop::input("a temporary copy", &error.to_string(), "room for it", "Free the disk.");
    let folder = tempfile::tempdir().map_err(|error| unwritten(&error))?;
    let path = folder.path().join("rack");
    connection.execute("VACUUM INTO ?1", [path.to_string_lossy()])?;
    std::fs::read(&path).map_err(|error| unwritten(&error))
}

fn connect(path: &Path, create: bool) -> Result<Connection, Stop> {
    let there = look(path)?;
    if !there && !create {
        return Err(Stop::input(
            "the whole file",
            "no such file",
            "a rack",
            "Check the name. cullet rack add and cullet rack import make a new one.",
        ));
    }
    let mut flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    if create {
        flags |= OpenFlags::SQLITE_OPEN_CREATE;
    }
    let mut connection = Connection::open_with_flags(path, flags)?;
    connection.busy_timeout(PATIENCE)?;
    connection.pragma_update(None, "foreign_keys", true)?;
    // Large racks are read once, not page by page again and again (KiB, where negative).
    connection.pragma_update(None, "cache_size", -65_536)?;
    // A commit is on the disk before anybody is told of it.
    connection.pragma_update(None, "synchronous", "FULL")?;
    // In one transaction: another process may be making the rack between two questions.
    let seen = connection
        .transaction()
        .map_err(Stop::from)
        .and_then(|seen| found(&seen))?;
    match seen {
        Found::Rack(VERSION) => {}
        Found::Rack(version) if version > VERSION => return Err(newer(version)),
        Found::Other => return Err(not_a_rack("a file of another program")),
        Found::Empty if !create => return Err(not_a_rack("an empty file")),
        Found::Rack(_) | Found::Empty => bring_up_to_date(&mut connection)?,
    }
    write_ahead(&connection)?;
    Ok(connection)
}

/// Looks at the first bytes without SQLite, which could write. Whether there is a file.
fn look(path: &Path) -> Result<bool, Stop> {
    match head(path)? {
        Head::None => return Ok(false),
        Head::Empty | Head::Rack => return Ok(true),
        // The very first transaction is not done, or was cut short: SQLite will wait, or roll it back.
        Head::Unmarked if journal(path) => return Ok(true),
        Head::Unmarked | Head::Other => {}
    }
    // Or it was done just now.
    match head(path)? {
        Head::Rack => Ok(true),
        _ => Err(not_a_rack("a file of another kind")),
    }
}

/// What the first bytes of a file say.
enum Head {
    None,
    Empty,
    Rack,
    /// Of SQLite, without a mark whose it is.
    Unmarked,
    Other,
}

fn head(path: &Path) -> Result<Head, Stop> {
    let unreadable = |error: &std::io::Error| {
        Stop::input(
            "the whole file",
            &plain_words(error, path),
            "a rack that can be read and written",
            "Check the name.",
        )
    };
    let mut head = vec![];
    match open_regular(path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Head::None),
        Err(error) => return Err(unreadable(&error)),
        Ok(file) => file
            .take(100)
            .read_to_end(&mut head)
            .map_err(|error| unreadable(&error))?,
    };
    if head.is_empty() {
        return Ok(Head::Empty);
    }
    let number = |at: usize| {
        head.get(at..at + 4)
            .and_then(|bytes| bytes.try_into().ok())
            .map(u32::from_be_bytes)
    };
    // SQLite file format 1.3: the version kept for the application at byte 60, the application's number at byte 68.
    match (head.starts_with(b"SQLite format 3\0"), number(60), number(68)) {
        (true, Some(version), Some(APPLICATION)) if i64::from(version) > VERSION => Err(newer(i64::from(version))),
        (true, Some(_), Some(APPLICATION)) => Ok(Head::Rack),
        (true, Some(0), Some(0)) => Ok(Head::Unmarked),
        _ => Ok(Head::Other),
    }
}

fn journal(path: &Path) -> bool {
    beside(path, "-journal").exists()
}

/// What SQLite keeps beside a file.
const BESIDE: [&str; 3] = ["-wal", "-shm", "-journal"];

fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    name.into()
}

/// Whether a file is a rack of any version, or belongs to one.
pub(crate) fn is_rack(path: &Path) -> bool {
    // A newer one is refused by what looks at it.
    let rack = |path: &Path| !matches!(head(path), Ok(Head::None | Head::Empty | Head::Unmarked | Head::Other));
    let name = path.to_string_lossy();
    let of = BESIDE.iter().find_map(|ending| name.strip_suffix(ending));
    (path.is_file() && rack(path)) || of.is_some_and(|of| Path::new(of).is_file() && rack(Path::new(of)))
}

enum Found {
    Empty,
    Rack(i64),
    Other,
}

fn found(connection: &Connection) -> Result<Found, Stop> {
    let application: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    let version: i64 = connection.pragma_query_value(None, "user_version", |row| row.get(0))?;
    if application == i64::from(APPLICATION) {
        return Ok(Found::Rack(version));
    }
    let tables: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(if application == 0 && version == 0 && tables == 0 {
        Found::Empty
    } else {
        Found::Other
    })
}

fn newer(version: i64) -> Stop {
    Stop::input(
        "the whole file",
        &format!("a rack of version {version}"),
        &format!("version {VERSION} or earlier"),
        "A newer version of the program wrote it: use that one. The file has not been touched.",
    )
}

fn not_a_rack(found: &str) -> Stop {
    Stop::input(
        "the whole file",
        found,
        "a rack made by cullet rack add or import",
        "Check the name. The file has not been touched.",
    )
}

/// From whatever version the file has to this one, in one transaction; another process may have done it meanwhile.
fn bring_up_to_date(connection: &mut Connection) -> Result<(), Stop> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let version = match found(&transaction)? {
        Found::Rack(version) if version > VERSION => return Err(newer(version)),
        Found::Rack(version) => version,
        Found::Empty => 0,
        Found::Other => return Err(not_a_rack("a file of another program")),
    };
    if version < 1 {
        transaction.execute_batch(include_str!("file/version_1.sql"))?;
        // Tells apart racks, so that a plan is never booked into another one. It needs to be different, no more.
        transaction.execute(
            "INSERT INTO rack (one, id, next_number) VALUES (1, lower(hex(randomblob(8))), 1)",
            [],
        )?;
        transaction.pragma_update(None, "application_id", APPLICATION)?;
    }
    if version < 2 {
        transaction.execute_batch(include_str!("file/version_2.sql"))?;
        fill_clear_rectangles(&transaction)?;
    }
    if version < 3 {
        transaction.execute_batch(include_str!("file/version_3.sql"))?;
    }
    transaction.pragma_update(None, "user_version", VERSION)?;
    transaction.commit()?;
    Ok(())
}

/// Version 2: the largest rectangle inside each glass.
fn fill_clear_rectangles(transaction: &Transaction<'_>) -> Result<(), Stop> {
    let mut known = transaction.prepare("SELECT id, outline FROM items")?;
    let mut set = transaction.prepare("UPDATE items SET clear_width = ?2, clear_height = ?3 WHERE id = ?1")?;
    let mut rows = known.query([])?;
    while let Some(row) = rows.next()? {
        let id: i64 = row.get(0)?;
        let outline: Vec<u8> = row.get(1)?;
        let Some(outline) = blob::to_outline(&outline) else {
            return Err(rusqlite::Error::InvalidQuery.into());
        };
        let (width, height) = clear_rectangle(&outline);
        set.execute((id, width, height))?;
    }
    Ok(())
}

/// Readers and writers do not wait for each other then. Where another process is just at the file it stays as it is, which
/// is as safe; the next one to open it tries again.
fn write_ahead(connection: &Connection) -> Result<(), Stop> {
    let mode: String = connection.pragma_query_value(None, "journal_mode", |row| row.get(0))?;
    if mode == "wal" {
        return Ok(());
    }
    match connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get::<_, String>(0)) {
        Ok(_) => Ok(()),
        Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::DatabaseBusy) => Ok(()),
        Err(error) => Err(error.into()),
    }
}
