//! Why the rack did not do what it was asked.

use cullet_job::{Finding, Findings};
use std::path::Path;

/// Why the rack did not do what it was asked; nothing in it has changed then.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RackError {
    /// What was given is wrong, or the file is no rack of this version.
    #[error("{0}")]
    Input(Findings),
    /// What was asked is well put, but the glass has gone, has changed or is promised.
    #[error("{0}")]
    Taken(Findings),
    /// The file cannot be read or written.
    #[error("{0}")]
    File(Findings),
}

impl RackError {
    /// Everything that stood in the way.
    #[must_use]
    pub fn findings(&self) -> &Findings {
        match self {
            Self::Input(findings) | Self::Taken(findings) | Self::File(findings) => findings,
        }
    }
}

/// The same while a transaction runs, before the file's name is known to it.
#[derive(Debug)]
pub(crate) enum Stop {
    Sql(rusqlite::Error),
    Input(Vec<[String; 4]>),
    Taken(Vec<[String; 4]>),
}

impl From<rusqlite::Error> for Stop {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sql(error)
    }
}

/// Place, found, expected and hint of one finding.
pub(crate) fn told(place: &str, found: &str, expected: &str, hint: &str) -> [String; 4] {
    [place, found, expected, hint].map(str::to_owned)
}

impl Stop {
    pub(crate) fn input(place: &str, found: &str, expected: &str, hint: &str) -> Self {
        Self::Input(vec![told(place, found, expected, hint)])
    }

    pub(crate) fn taken(place: &str, found: &str, expected: &str, hint: &str) -> Self {
        Self::Taken(vec![told(place, found, expected, hint)])
    }

    pub(crate) fn in_file(self, file: &str) -> RackError {
        let findings = |told: Vec<[String; 4]>| {
            Findings(
                told.into_iter()
                    .map(|[place, found, expected, hint]| Finding {
                        file: file.to_owned(),
                        place,
                        found,
                        expected,
                        hint,
                    })
                    .collect(),
            )
        };
        match self {
            Self::Sql(error) if is_damage(&error) => RackError::Input(findings(vec![in_words(&error)])),
            Self::Sql(error) => RackError::File(findings(vec![in_words(&error)])),
            Self::Input(told) => RackError::Input(findings(told)),
            Self::Taken(told) => RackError::Taken(findings(told)),
        }
    }
}

/// Whether the bytes of the file are at fault, or what stands in its tables: no other try would mend it.
fn is_damage(error: &rusqlite::Error) -> bool {
    use rusqlite::{Error, ErrorCode};
    let in_a_cell = matches!(
        error,
        Error::FromSqlConversionFailure(..)
            | Error::InvalidColumnType(..)
            | Error::IntegralValueOutOfRange(..)
            | Error::Utf8Error(..)
    );
    let code = error.sqlite_error_code();
    in_a_cell || matches!(code, Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase))
}

/// A trouble of the file itself.
fn in_words(error: &rusqlite::Error) -> [String; 4] {
    use rusqlite::ErrorCode;
    let whole = "the whole file";
    if is_damage(error) {
        return told(
            whole,
            "damage to the file",
            "an undamaged rack",
            "Use the last good copy of the file. Nothing has been changed.",
        );
    }
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => told(
            whole,
            "another program that has been writing for half a minute",
            "the rack free to be written",
            "Wait for the other program to end, then try again.",
        ),
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied | ErrorCode::CannotOpen) => told(
            whole,
            "a file or folder that may not be written",
            "a file that may be read and written, in a folder that may be",
            "Ask for permission to write there, or keep the rack elsewhere.",
        ),
        Some(ErrorCode::DiskFull) => told(
            whole,
            "no room left on the disk",
            "room for the rack",
            "Free the disk, then try again.",
        ),
        _ => told(
            whole,
            &format!("trouble with the file ({error})"),
            "a rack that can be read and written",
            "Try again; if it stays, keep a copy of the file and report it.",
        ),
    }
}

/// Opens a file to read it. A pipe or a device is refused, since nobody may ever write to it.
///
/// # Errors
/// If it cannot be opened or is neither a file nor a folder.
pub fn open_regular(path: &Path) -> std::io::Result<std::fs::File> {
    let kind = std::fs::metadata(path)?.file_type();
    if kind.is_file() || kind.is_dir() {
        return std::fs::File::open(path);
    }
    Err(std::io::Error::other("a pipe or a device, not a file"))
}

/// A file that cannot be read, in plain words: what was found.
#[must_use]
pub fn plain_words(error: &std::io::Error, path: &Path) -> String {
    use std::io::ErrorKind;
    if path.is_dir() {
        return "a folder".to_owned();
    }
    match error.kind() {
        ErrorKind::NotFound => "no such file".to_owned(),
        ErrorKind::PermissionDenied => "a file that may not be read".to_owned(),
        ErrorKind::IsADirectory => "a folder".to_owned(),
        _ => error
            .to_string()
            .split(" (os error")
            .next()
            .unwrap_or_default()
            .to_owned(),
    }
}
