//! The folder a plan is written to: it holds a whole plan or none, and nothing of anybody else's is touched.
//!
//! `plan.json` lists the files that go with it, each with its digest: so a later run knows its own, and [`differences`] finds
//! a folder that is not the plan's. Files are finished and flushed in a hidden folder inside, then renamed into place,
//! `plan.json` last, and only then are those of the earlier plan removed that the new one has not. Whoever writes holds a lock on
//! the folder from before the search. A run that is killed between two renames leaves its hidden folder, which says what is
//! the program's own; the next run cleans up.

mod listed;
pub mod names;
#[cfg(test)]
mod tests;

pub use listed::{differences, goes_with, listed};

use crate::writing::{self, Care, HIDDEN, NotWritten, digest, fault_point, flush_folder};
use cullet_job::{Finding, Findings};
use cullet_model::Plan;
use listed::content;
use names::{COMPARISON, PLAN, is_plan_name};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// What a folder is to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// A plan with its maps.
    Plan,
    /// It may lie beside a plan.
    Comparison,
}

impl Holds {
    fn is_name(self, name: &str) -> bool {
        match self {
            Self::Plan => is_plan_name(name),
            Self::Comparison => COMPARISON.contains(&name),
        }
    }
}

/// Digests of what this program has written, by the names of the files.
type Known = BTreeMap<String, BTreeSet<String>>;

/// A folder that may be written to.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    holds: Holds,
    care: Care,
    /// Held from [`Folder::begin`] on.
    lock: Option<File>,
    /// Folders made on the way, the outermost first: taken away again where nothing comes of the run.
    made: Vec<PathBuf>,
}

impl Folder {
    /// Looks at `path` without changing anything there.
    ///
    /// # Errors
    /// All that is in the way: a file in its place, files that are not the program's.
    pub fn examine(path: &Path, holds: Holds, care: Care) -> Result<Self, Findings> {
        if let Some(file) = path.ancestors().find(|part| part.exists() && !part.is_dir()) {
            return Err(Findings(vec![finding(
                file,
                "a file",
                "a folder, or nothing yet",
                "Choose another folder with --out.",
            )]));
        }
        let folder = Self {
            path: path.into(),
            holds,
            care,
            lock: None,
            made: vec![],
        };
        if path.is_dir() {
            folder.refuse_strange_files(&folder.known())?;
        }
        Ok(folder)
    }

    /// More files that the run reads.
    pub fn reads<P: Into<PathBuf>>(&mut self, inputs: impl IntoIterator<Item = P>) {
        self.care.reads(inputs);
    }

    /// The plan that lies there, where one can be read.
    #[must_use]
    pub fn earlier_plan(&self) -> Option<Plan> {
        let bytes = content_of(&self.path.join(PLAN))?;
        serde_json::from_slice(&bytes).ok()
    }

    /// Makes the folder, takes the lock and finds out whether files can be made there: before the search rather than after it.
    ///
    /// # Errors
    /// A folder that another run is writing to, or that cannot be written.
    pub fn begin(&mut self) -> Result<(), NotWritten> {
        let missing: Vec<PathBuf> = self
            .path
            .ancestors()
            .take_while(|part| !part.as_os_str().is_empty() && !part.exists())
            .map(Path::to_owned)
            .collect();
        for folder in missing.into_iter().rev() {
            let made =
                writing::making(|unfinished| fs::create_dir(&folder).inspect(|()| unfinished.push(folder.clone())));
            match made {
                Ok(()) => self.made.push(folder),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(self.cannot(&folder, &error)),
            }
        }
        self.lock()?;
        self.refuse_strange_files(&self.known()).map_err(NotWritten::Refused)?;
        writing::making(|_| hidden_folder(&self.path).map(drop)).map_err(|error| self.cannot(&self.path, &error))
    }

    fn lock(&mut self) -> Result<(), NotWritten> {
        // Folders cannot be opened everywhere; and not every disk knows locks.
        if !cfg!(unix) {
            return Ok(());
        }
        let folder = File::open(&self.path).map_err(|error| self.cannot(&self.path, &error))?;
        match folder.try_lock() {
            Err(TryLockError::WouldBlock) => {
                return Err(NotWritten::Refused(Findings(vec![finding(
                    &self.path,
                    "another run of the program that is writing there",
                    "the folder to itself",
                    "Wait for the other run to end, or choose another folder with --out.",
                )])));
            }
            Ok(()) | Err(TryLockError::Error(_)) => self.lock = Some(folder),
        }
        Ok(())
    }

    /// Writes all `files` (name, content), the first one last: it is the one that says which files go together. Removes what
    /// an earlier run left over and returns the names of what it removed. [`Folder::begin`] comes first.
    ///
    /// # Errors
    /// Files in the way that are not the program's, or a disk that does not take them.
    pub fn write(mut self, files: &[(String, String)]) -> Result<Vec<String>, NotWritten> {
        let mut known = self.known();
        self.refuse_strange_files(&known).map_err(NotWritten::Refused)?;
        let earlier: BTreeSet<String> = self.names().into_iter().collect();
        for (name, content) in files {
            let digests = known.entry(name.clone()).or_default();
            digests.insert(digest(content.as_bytes()));
        }
        fault_point();
        let staging = writing::making(|unfinished| {
            hidden_folder(&self.path).inspect(|staging| unfinished.push(staging.path().to_owned()))
        });
        let staging = staging.map_err(|error| self.cannot(&self.path, &error))?;
        fault_point();
        let record = serde_json::to_string(&known).unwrap_or_default();
        let staged = files.iter().map(|(name, content)| (name.as_str(), content));
        for (name, content) in staged.chain([(RECORD, &record)]) {
            let path = staging.path().join(name);
            writing::making(|_| finished(&path, content)).map_err(|error| self.cannot(&path, &error))?;
            fault_point();
        }
        flush_folder(staging.path()).map_err(|error| self.cannot(staging.path(), &error))?;

        // From here on the run is not given up any more.
        let putting = writing::in_place();
        for (name, _) in files.iter().skip(1).chain(files.first()) {
            let path = self.path.join(name);
            fs::rename(staging.path().join(name), &path).map_err(|error| self.cannot(&path, &error))?;
            fault_point();
        }
        self.made.clear();
        flush_folder(&self.path).map_err(|error| self.cannot(&self.path, &error))?;
        let mut removed = vec![];
        for name in earlier {
            if files.iter().any(|(written, _)| *written == name) {
                continue;
            }
            let path = self.path.join(&name);
            match fs::remove_file(&path) {
                Ok(()) => {
                    fault_point();
                    removed.push(name);
                }
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => return Err(self.cannot(&path, &error)),
            }
        }
        drop(staging);
        fault_point();
        for left in self.left_over() {
            let _ = fs::remove_dir_all(left);
        }
        putting.done();
        Ok(removed)
    }

    /// What is known of what lies there: what the plan or comparison lists, and what runs that were cut short left a record of.
    fn known(&self) -> Known {
        let mut known = Known::new();
        let mut add = |name: &str, digest: String| {
            known.entry(name.to_owned()).or_default().insert(digest);
        };
        let read = |name: &str| content_of(&self.path.join(name)).unwrap_or_default();
        match self.holds {
            Holds::Plan => {
                let bytes = read(PLAN);
                if let Ok(plan) = serde_json::from_slice::<Plan>(&bytes)
                    && plan.files.get(PLAN) == Some(&content(&plan))
                {
                    add(PLAN, digest(&bytes));
                    for (name, digest) in plan.files {
                        add(&name, digest);
                    }
                }
            }
            Holds::Comparison => {
                let [page, table] = COMPARISON;
                let bytes = read(page);
                if writing::is_marked(&bytes) {
                    add(page, digest(&bytes));
                    let table_bytes = read(table);
                    if String::from_utf8_lossy(&bytes).contains(&goes_with(&table_bytes)) {
                        add(table, digest(&table_bytes));
                    }
                }
            }
        }
        for left in self.left_over() {
            let record = content_of(&left.join(RECORD)).unwrap_or_default();
            let record: Known = serde_json::from_slice(&record).unwrap_or_default();
            for (name, digests) in record {
                known.entry(name).or_default().extend(digests);
            }
        }
        known
    }

    /// Hidden folders of runs that were cut short, while this one holds the lock.
    fn left_over(&self) -> Vec<PathBuf> {
        let entries = fs::read_dir(&self.path).into_iter().flatten().flatten();
        let hidden = entries.filter(|entry| {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            name.starts_with(HIDDEN) && name.ends_with(STAGING) && entry.file_type().is_ok_and(|kind| kind.is_dir())
        });
        hidden.map(|entry| entry.path()).collect()
    }

    /// Names of files there that are of the kind written there, in order.
    fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(&self.path).into_iter().flatten().flatten();
        let mut names: Vec<String> = entries
            .filter_map(|entry| entry.file_name().into_string().ok())
            .filter(|name| self.holds.is_name(name))
            .collect();
        names.sort();
        names
    }

    /// Files that bear our names, but that this program did not write or somebody has changed, are not written over.
    fn refuse_strange_files(&self, known: &Known) -> Result<(), Findings> {
        let mut findings = vec![];
        for name in self.names() {
            let path = self.path.join(&name);
            if fs::symlink_metadata(&path).is_ok_and(|found| found.is_symlink()) {
                findings.push(Finding {
                    place: "file to write".into(),
                    ..finding(
                        &path,
                        "a link",
                        "a file that this program wrote, or nothing yet",
                        "Move it away, or choose another folder with --out.",
                    )
                });
                continue;
            }
            let is_known = |bytes: &[u8]| known.get(&name).is_some_and(|known| known.contains(&digest(bytes)));
            findings.extend(self.care.place(&path, is_known).err());
        }
        if findings.is_empty() {
            Ok(())
        } else {
            Err(Findings(findings))
        }
    }

    fn cannot(&self, path: &Path, error: &io::Error) -> NotWritten {
        let words = writing::cannot_write(path, error);
        NotWritten::CannotWrite(format!(
            "{words}\n  Free the disk or choose another folder with --out, then try again."
        ))
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // Only what is empty goes.
        for folder in self.made.iter().rev() {
            let _ = fs::remove_dir(folder);
        }
    }
}

/// How the names of hidden folders end.
const STAGING: &str = ".staged";
/// In a hidden folder: what is the program's own where the run was cut short.
const RECORD: &str = "own.json";

/// Removed with everything in it when dropped.
fn hidden_folder(inside: &Path) -> io::Result<tempfile::TempDir> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(HIDDEN).suffix(STAGING).tempdir_in(inside)
}

/// What is in a file; nothing where there is none that can be read. Pipes are not waited for.
fn content_of(path: &Path) -> Option<Vec<u8>> {
    fs::metadata(path).ok().filter(fs::Metadata::is_file)?;
    fs::read(path).ok()
}

/// A new file that is on the disk.
fn finished(path: &Path, content: &str) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(content.as_bytes())?;
    file.sync_all()
}

fn finding(path: &Path, found: &str, expected: &str, hint: &str) -> Finding {
    Finding {
        file: path.display().to_string(),
        place: "folder to write to".into(),
        found: found.into(),
        expected: expected.into(),
        hint: hint.into(),
    }
}
