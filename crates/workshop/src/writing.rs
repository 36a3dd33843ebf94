//! The one place that writes files: finished and flushed beside their place first, then renamed, their folder flushed.
//!
//! A file that is there is written over only if this program wrote it and nobody has changed it since, which its last line
//! says ([`marked`]), or if the user said `--replace`. Never written over are files that the run reads, racks, and what is no
//! file: folders, devices, pipes. Links are followed.

use cullet_job::{Finding, Findings};
use cullet_rack::{Rack, plain_words};
use sha2::{Digest, Sha256};
use std::fs::{self, File, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// In front of the names of files and folders that are not finished.
pub const HIDDEN: &str = ".cullet-";
/// What the last line of a file says in front of the digest of the lines above it.
const MARK: &str = "Written by cullet: SHA-256 of all above ";
/// How large a file may be that this program wrote, bytes.
const MOST_BYTES: u64 = 256 << 20;

/// What has become of the run so far, for giving it up.
struct SoFar {
    /// Whether files or bookings have been put in place.
    done: bool,
    /// Folders that are not finished, and those that were made for nothing but them.
    unfinished: Vec<PathBuf>,
}

/// Held while files or bookings are put in place.
static IN_PLACE: Mutex<SoFar> = Mutex::new(SoFar {
    done: false,
    unfinished: vec![],
});

/// For as long as this is held the run is not given up ([`give_up`]).
pub struct InPlace(MutexGuard<'static, SoFar>);

/// Begins what must be done whole.
#[must_use]
pub fn in_place() -> InPlace {
    InPlace(IN_PLACE.lock().unwrap_or_else(PoisonError::into_inner))
}

impl InPlace {
    /// It is done: giving up comes too late from now on.
    pub fn done(mut self) {
        self.0.done = true;
    }
}

/// Gives the run up: removes what is not finished and calls `end`, which ends the process. Where something has been put in place
/// nothing is done: the run goes on to its end, which is near. Waits for what is just being put there.
pub fn give_up(end: impl FnOnce()) {
    let so_far = in_place().0;
    if so_far.done {
        return;
    }
    for folder in so_far.unfinished.iter().rev() {
        let hidden = folder
            .file_name()
            .is_some_and(|name| name.to_string_lossy().starts_with(HIDDEN));
        // What was made for them goes only if it is empty.
        let _ = if hidden {
            fs::remove_dir_all(folder)
        } else {
            fs::remove_dir(folder)
        };
    }
    end();
}

/// Makes something without the run being given up half-way: folders noted as unfinished are removed where it is given up before
/// anything is put in place, and nothing is added to them meanwhile.
pub fn making<T>(make: impl FnOnce(&mut Vec<PathBuf>) -> T) -> T {
    make(&mut in_place().0.unfinished)
}

/// A point at which tests stop the program as a crash would: `CULLET_STOP_AT` counts them. Not in what users have.
#[cfg(debug_assertions)]
pub(crate) fn fault_point() {
    use std::sync::atomic::{AtomicU64, Ordering};
    static PASSED: AtomicU64 = AtomicU64::new(0);
    let stop_at = std::env::var("CULLET_STOP_AT")
        .ok()
        .and_then(|at| at.parse::<u64>().ok());
    if stop_at == Some(PASSED.fetch_add(1, Ordering::Relaxed)) {
        std::process::abort();
    }
}
#[cfg(not(debug_assertions))]
pub(crate) fn fault_point() {}

/// What must be left alone, and what need not be.
#[derive(Debug, Default)]
pub struct Care {
    inputs: Vec<PathBuf>,
    replace: bool,
}

impl Care {
    /// `inputs` are the files that the run reads; with `replace` the user said that other files may be written over.
    #[must_use]
    pub fn new<P: Into<PathBuf>>(inputs: impl IntoIterator<Item = P>, replace: bool) -> Self {
        Self {
            inputs: inputs.into_iter().map(Into::into).collect(),
            replace,
        }
    }

    /// More files that the run reads.
    pub fn reads<P: Into<PathBuf>>(&mut self, inputs: impl IntoIterator<Item = P>) {
        self.inputs.extend(inputs.into_iter().map(Into::into));
    }

    /// What `path` stands for once links are followed, and what is there; refused where it may not be written over. `is_ours`
    /// says whether this program wrote what is in it.
    ///
    /// # Errors
    /// What may not be written over: inputs, racks, files of others, folders, devices.
    pub fn place(&self, path: &Path, is_ours: impl FnOnce(&[u8]) -> bool) -> Result<Place, Finding> {
        let refused = |found: &str, expected: &str, hint: &str| Finding {
            file: path.display().to_string(),
            place: "file to write".into(),
            found: found.into(),
            expected: expected.into(),
            hint: hint.into(),
        };
        let other_name = "Choose another name.";
        let nothing = "a file that this program wrote, or nothing yet";
        let unreadable = |error: &io::Error| refused(&plain_words(error, path), nothing, other_name);
        let link = fs::symlink_metadata(path).is_ok_and(|found| found.is_symlink());
        let real = if link {
            fs::canonicalize(path).map_err(|_| refused("a link to nothing", nothing, other_name))?
        } else {
            path.to_owned()
        };
        let found = match fs::metadata(&real) {
            Ok(found) => found,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return Ok(Place {
                    path: real,
                    there: None,
                });
            }
            Err(error) => return Err(unreadable(&error)),
        };
        if found.is_dir() {
            return Err(refused("a folder", "the name of a file", other_name));
        }
        if !found.is_file() {
            return Err(refused("a device or pipe", nothing, "Name a file."));
        }
        if self.inputs.iter().any(|input| is_same(input, &real, &found)) {
            return Err(refused(
                "a file that this run reads",
                "another file than those it reads",
                other_name,
            ));
        }
        if Rack::is_one(&real) {
            return Err(refused(
                "a rack, or a part of one",
                "a file that is no rack",
                "A rack is never written over. Choose another name.",
            ));
        }
        if found.permissions().readonly() {
            return Err(refused(
                "a file that may not be written",
                nothing,
                "Choose another name, or ask for permission to write it.",
            ));
        }
        let may_go = self.replace || (found.len() <= MOST_BYTES && fs::read(&real).is_ok_and(|bytes| is_ours(&bytes)));
        if !may_go {
            return Err(refused(
                "a file that this program did not write, or that was changed since",
                nothing,
                "Move it away, choose another name, or say --replace to write over it.",
            ));
        }
        Ok(Place {
            path: real,
            there: Some(found),
        })
    }

    /// Whether [`Self::put`] may write there, found out before the work.
    ///
    /// # Errors
    /// As [`Self::place`].
    pub fn may_put(&self, path: &Path) -> Result<(), Finding> {
        self.place(path, is_marked).map(drop)
    }

    /// Writes `content` with its mark to `path`.
    ///
    /// # Errors
    /// As [`Self::place`], or a disk that does not take it.
    pub fn put(&self, path: &Path, content: &str, kind: Kind) -> Result<(), NotWritten> {
        let place = self.place(path, is_marked)?;
        let putting = in_place();
        place
            .write(marked(content, kind).as_bytes())
            .map_err(|error| NotWritten::CannotWrite(cannot_write(path, &error)))?;
        putting.done();
        Ok(())
    }
}

/// Why nothing was written.
#[derive(Debug)]
pub enum NotWritten {
    /// Something there is not the program's to write over.
    Refused(Findings),
    /// The disk did not take it.
    CannotWrite(String),
}

impl From<Finding> for NotWritten {
    fn from(finding: Finding) -> Self {
        Self::Refused(Findings(vec![finding]))
    }
}

/// In plain words that a file could not be written.
#[must_use]
pub fn cannot_write(path: &Path, error: &io::Error) -> String {
    format!(
        "{}: could not be written ({})",
        path.display(),
        plain_words(error, path)
    )
}

/// Whether `input` is the file `real`, by whatever name.
fn is_same(input: &Path, real: &Path, found: &Metadata) -> bool {
    let Ok(input_found) = fs::metadata(input) else {
        return false;
    };
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let _ = real;
        (input_found.dev(), input_found.ino()) == (found.dev(), found.ino())
    }
    #[cfg(not(unix))]
    {
        let _ = (input_found, found);
        matches!((fs::canonicalize(input), fs::canonicalize(real)), (Ok(a), Ok(b)) if a == b)
    }
}

/// Where a file may be written, links followed.
#[derive(Debug)]
pub struct Place {
    path: PathBuf,
    there: Option<Metadata>,
}

impl Place {
    /// Writes `content` beside the place, flushes it, and puts it there in one step. What was cut short there before is removed.
    ///
    /// # Errors
    /// A disk that does not take it, or a file that has come there meanwhile.
    pub fn write(&self, content: &[u8]) -> io::Result<()> {
        let folder = match self.path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        let name = self.path.file_name().unwrap_or_default().to_string_lossy();
        let prefix = format!("{HIDDEN}{name}-");
        remove_left_over(folder, &prefix);
        let mut builder = tempfile::Builder::new();
        builder.prefix(&prefix).suffix(".part");
        // As any other new file: others may read it where the user lets them.
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        fault_point();
        let mut file = builder.tempfile_in(folder)?;
        fault_point();
        // Held for as long as it is written, so that others know it from one that was left behind.
        file.as_file().try_lock().map_err(io::Error::from)?;
        file.write_all(content)?;
        if let Some(there) = &self.there {
            file.as_file().set_permissions(there.permissions())?;
        }
        fault_point();
        file.as_file().sync_all()?;
        fault_point();
        match self.there {
            Some(_) => file.persist(&self.path),
            // Whatever has come there meanwhile is somebody else's.
            None => file.persist_noclobber(&self.path),
        }
        .map_err(|error| error.error)?;
        fault_point();
        flush_folder(folder)
    }
}

/// Removes files that a run which was cut short has left in `folder`.
fn remove_left_over(folder: &Path, prefix: &str) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let named = entry.file_name().to_string_lossy().starts_with(prefix);
        if named
            && entry.file_type().is_ok_and(|kind| kind.is_file())
            && File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok())
        {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Has the names in a folder on the disk.
///
/// # Errors
/// A folder that cannot be opened or flushed.
pub fn flush_folder(folder: &Path) -> io::Result<()> {
    // Folders cannot be opened everywhere.
    if cfg!(unix) {
        File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// How the last line of a file is set, so that its other readers pass it over.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A table: a line that begins with `#`.
    Csv,
    /// A page or drawing: a comment.
    Markup,
}

/// The content with a last line that says what is above it.
#[must_use]
pub fn marked(content: &str, kind: Kind) -> String {
    let line_end = if content.is_empty() || content.ends_with('\n') {
        ""
    } else {
        "\n"
    };
    let above = format!("{content}{line_end}");
    let hash = digest(above.as_bytes());
    match kind {
        Kind::Csv => format!("{above}# {MARK}{hash}\n"),
        Kind::Markup => format!("{above}<!-- {MARK}{hash} -->\n"),
    }
}

/// Whether the last line of a file says what is above it.
#[must_use]
pub fn is_marked(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let Some(lines) = text.strip_suffix('\n') else {
        return false;
    };
    let start = lines.rfind('\n').map_or(0, |at| at + 1);
    let (above, last) = text.split_at(start);
    let hash = digest(above.as_bytes());
    last == format!("# {MARK}{hash}\n") || last == format!("<!-- {MARK}{hash} -->\n")
}

/// SHA-256 (FIPS 180-4) in 64 hexadecimal digits.
#[must_use]
pub fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_holds_until_anything_is_changed() {
        for kind in [Kind::Csv, Kind::Markup] {
            for content in ["", "one line", "a,b\n1,2\n"] {
                let text = marked(content, kind);
                assert!(is_marked(text.as_bytes()), "{text}");
                for at in 0..text.len() {
                    let mut changed = text.clone().into_bytes();
                    changed[at] ^= 1;
                    assert!(!is_marked(&changed), "{text}, byte {at}");
                }
                assert!(!is_marked(format!("{text}\n").as_bytes()));
            }
        }
        // What SHA-256 gives for nothing at all (FIPS 180-4, the example of the empty message).
        assert!(digest(b"").starts_with("e3b0c44298fc1c149afbf4c8996fb924"));
    }

    #[test]
    fn what_a_cut_short_run_left_is_removed_and_what_is_being_written_is_not() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("list.csv");
        let dead = home.path().join(".cullet-list.csv-x.part");
        let alive = home.path().join(".cullet-list.csv-y.part");
        fs::write(&dead, "half").expect("writable");
        let held = File::create(&alive).expect("writable");
        held.lock().expect("free");
        Care::default().put(&path, "a\n", Kind::Csv).expect("writable");
        assert!(!dead.exists() && alive.exists() && path.exists());
    }
}
