//! The folder a plan is written to: it holds a whole plan or none, and nothing of anybody else's is touched.
//!
//! `plan.json` lists the files that go with it, each with its digest: so a later run knows its own, and [`differences`] finds
//! a folder that is not the plan's. Files are finished and flushed in a hidden folder inside, then renamed into place,
//! `plan.json` last, and only then are those of the earlier plan removed that the new one has not. Whoever writes holds a lock on
//! the folder from before the search. A run that is killed between two renames leaves its hidden folder, which says what is
//! the program's own; the next run cleans up.

use crate::writing::{self, Care, HIDDEN, NotWritten, digest, fault_point, flush_folder};
use cullet_job::{Finding, Findings, JOB_FORMAT};
use cullet_plan::model::{self, Plan};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The plan itself.
pub(crate) const PLAN: &str = "plan.json";
/// The figures.
pub(crate) const YIELD: &str = "yield.csv";

/// What to order.
pub(crate) const BUY: &str = "buy.csv";
/// The job book.
pub(crate) const BOOK: &str = "book.html";

/// A comparison: the page and its table.
pub(crate) const COMPARISON: [&str; 2] = ["compare.html", "compare.csv"];

/// Name of a sheet map.
pub(crate) fn sheet_map(number: u64) -> String {
    format!("sheet-{number}.svg")
}

/// Name of a sheet's scores.
pub(crate) fn sheet_scores(number: u64) -> String {
    format!("sheet-{number}-scores.svg")
}

/// Name of a sheet's G-code for the cutting table.
pub(crate) fn sheet_ngc(number: u64) -> String {
    format!("sheet-{number}.ngc")
}

/// Name of a sheet's scores as DXF.
pub(crate) fn sheet_dxf(number: u64) -> String {
    format!("sheet-{number}.dxf")
}

/// The breaks of all sheets, one by one.
pub(crate) const BREAKING: &str = "breaking.csv";

/// Name of a sheet's breaks, step by step.
pub(crate) fn sheet_breaks(number: u64) -> String {
    format!("sheet-{number}-breaks.html")
}

/// What a folder is to hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Holds {
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
pub(crate) struct Folder {
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
    pub(crate) fn examine(path: &Path, holds: Holds, care: Care) -> Result<Self, Findings> {
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
    pub(crate) fn reads<P: Into<PathBuf>>(&mut self, inputs: impl IntoIterator<Item = P>) {
        self.care.reads(inputs);
    }

    /// The plan that lies there, where one can be read.
    pub(crate) fn earlier_plan(&self) -> Option<Plan> {
        let bytes = content_of(&self.path.join(PLAN))?;
        serde_json::from_slice(&bytes).ok()
    }

    /// Makes the folder, takes the lock and finds out whether files can be made there: before the search rather than after it.
    pub(crate) fn begin(&mut self) -> Result<(), NotWritten> {
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
    pub(crate) fn write(mut self, files: &[(String, String)]) -> Result<Vec<String>, NotWritten> {
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

/// The plan with the list of its files, and these, `plan.json` first. `others` are the files that go with it.
pub(crate) fn listed(plan: &Plan, others: Vec<(String, String)>) -> Result<Vec<(String, String)>, String> {
    let mut listed = plan.clone();
    listed.files = others
        .iter()
        .map(|(name, text)| (name.clone(), digest(text.as_bytes())))
        .collect();
    listed.files.insert(PLAN.to_owned(), content(plan));
    let text = serde_json::to_string(&listed).map_err(|error| error.to_string())?;
    let mut files = vec![(PLAN.to_owned(), text + "\n")];
    files.extend(others);
    Ok(files)
}

/// Digest of what stands in a plan but for its list of files, however it is set.
fn content(plan: &Plan) -> String {
    let mut bare = plan.clone();
    bare.files.clear();
    let text = serde_json::to_string(&bare).unwrap_or_default();
    digest(as_of(&plan.format, text).as_bytes())
}

/// The text of a plan as the version of that format wrote it. A quote inside a text is never bare, so fields alone are met.
fn as_of(format: &str, mut text: String) -> String {
    if format == model::FORMAT {
        return text;
    }
    for field in ["", "_kg", "_cost"] {
        text = text.replace(&format!("\"pulled{field}\":"), &format!("\"drawn{field}\":"));
    }
    text.replacen(&format!("\"job\":{{\"format\":{JOB_FORMAT},"), "\"job\":{", 1)
}

/// Where the plan at `path` and the files beside it do not go together; empty where they do, for a `plan.json` without maps beside it or
/// under another name, and for plans of earlier versions, which list no files.
pub(crate) fn differences(path: &Path, plan: &Plan) -> Vec<String> {
    let Some(own) = plan.files.get(PLAN) else {
        return vec![];
    };
    let mut found = vec![];
    if *own != content(plan) {
        found.push(format!("{PLAN} was changed after it was written"));
    }
    let folder = path.parent().unwrap_or(Path::new(""));
    let others = || plan.files.iter().filter(|(name, _)| *name != PLAN);
    // Under another name, or without a map beside it, it is a copy sent or kept alone.
    let has_maps = others().any(|(name, _)| name.starts_with("sheet-") && folder.join(name).exists());
    if !(has_maps && path.file_name().is_some_and(|name| name == PLAN)) {
        return found;
    }
    for (name, wanted) in others() {
        match content_of(&folder.join(name)) {
            Some(bytes) if digest(&bytes) == *wanted => {}
            Some(_) => found.push(format!("{name} is not the one that was written with the plan")),
            None => found.push(format!("{name}, which was written with the plan, is missing")),
        }
    }
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if is_plan_name(&name) && name != PLAN && !plan.files.contains_key(&name) {
            found.push(format!("{name} does not go with the plan"));
        }
    }
    found
}

/// The line of a comparison's page that says which table goes with it.
pub(crate) fn goes_with(table: &[u8]) -> String {
    format!("<!-- {}: SHA-256 {} -->\n", COMPARISON[1], digest(table))
}

fn is_plan_name(name: &str) -> bool {
    let number = name.strip_prefix("sheet-").and_then(|rest| rest.strip_suffix(".svg"));
    let number = number.map(|number| number.strip_suffix("-scores").unwrap_or(number));
    let breaks = name
        .strip_prefix("sheet-")
        .and_then(|rest| rest.strip_suffix("-breaks.html"));
    let of_table = name.strip_prefix("sheet-").and_then(|rest| {
        let ngc = rest.strip_suffix(".ngc");
        ngc.or_else(|| rest.strip_suffix(".dxf"))
    });
    let number = number.or(breaks).or(of_table);
    let is_sheet = number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()));
    is_sheet || [PLAN, YIELD, BREAKING, BUY, BOOK].contains(&name)
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

#[cfg(test)]
mod tests {
    use super::*;

    fn files(sheets: u64) -> Vec<(String, String)> {
        let figures = r#"{"pulled": 0, "used": 0, "returned": 0, "cullet": 0, "grinding": 0, "pieces": 0, "pulled_kg": 0,
            "used_kg": 0, "pulled_cost": 0, "returned_credit": 0}"#;
        let plan = format!(
            r#"{{"format": "cullet-plan 5", "effort": {{"seed": {sheets}, "seconds": null, "rounds": 1}}, "pieces": [],
            "job": {{"name": "Stair", "units": "mm", "y": "up", "glasses": [], "panels": []}}, "stock": {{"items": []}},
            "glasses": [], "unplaced": [], "figures": {figures}}}"#
        );
        let plan: Plan = serde_json::from_str(&plan).expect("a plan");
        let mut others = vec![(YIELD.to_string(), format!("y {sheets}"))];
        for number in 1..=sheets {
            others.push((sheet_map(number), format!("map of {sheets}")));
            others.push((sheet_scores(number), "scores".into()));
        }
        listed(&plan, others).expect("a list")
    }

    fn names(path: &Path) -> Vec<String> {
        let entries = fs::read_dir(path).expect("a folder");
        let mut names: Vec<String> = entries
            .map(|entry| entry.expect("an entry").file_name().into_string().expect("UTF-8"))
            .collect();
        names.sort();
        names
    }

    fn examine(path: &Path) -> Result<Folder, Findings> {
        Folder::examine(path, Holds::Plan, Care::default())
    }

    fn write(path: &Path, files: &[(String, String)]) -> Result<Vec<String>, NotWritten> {
        let mut folder = examine(path).map_err(NotWritten::Refused)?;
        folder.begin()?;
        folder.write(files)
    }

    fn whole(path: &Path) -> Vec<String> {
        let path = path.join(PLAN);
        let plan = serde_json::from_slice(&fs::read(&path).expect("a plan")).expect("a plan");
        differences(&path, &plan)
    }

    #[test]
    fn a_later_plan_replaces_an_earlier_one_and_nothing_else() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("deep/window");
        write(&path, &files(3)).expect("writable");
        fs::write(path.join("notes.txt"), "the client rang").expect("writable");
        fs::write(path.join("sheet-plan.svg"), "a drawing").expect("writable");
        let removed = write(&path, &files(2)).expect("writable");
        assert_eq!(removed, ["sheet-3-scores.svg", "sheet-3.svg"]);
        let expected = [
            "notes.txt",
            "plan.json",
            "sheet-1-scores.svg",
            "sheet-1.svg",
            "sheet-2-scores.svg",
            "sheet-2.svg",
            "sheet-plan.svg",
            "yield.csv",
        ];
        assert_eq!(names(&path), expected);
        assert_eq!(whole(&path), [""; 0]);
    }

    #[test]
    fn a_file_that_somebody_changed_or_put_there_is_refused() {
        let home = tempfile::tempdir().expect("a temporary folder");
        for name in ["sheet-1.svg", "yield.csv", "buy.csv", "sheet-9.svg", "plan.json"] {
            let path = home.path().join(name.replace('.', " "));
            write(&path, &files(2)).expect("writable");
            fs::write(path.join(name), "mine").expect("writable");
            let found = examine(&path).expect_err("not ours");
            assert!(found.to_string().contains(name), "{found}");
            let replace = Folder::examine(&path, Holds::Plan, Care::new([] as [PathBuf; 0], true));
            assert!(replace.is_ok(), "{name}");
            let reads = Folder::examine(&path, Holds::Plan, Care::new([path.join(name)], true));
            assert!(reads.is_err(), "{name}");
        }
    }

    #[test]
    fn files_that_do_not_go_together_are_named() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path();
        write(path, &files(2)).expect("writable");
        fs::write(path.join("sheet-1.svg"), "of another plan").expect("writable");
        fs::remove_file(path.join("sheet-2.svg")).expect("writable");
        fs::write(path.join("sheet-3.svg"), "of another plan").expect("writable");
        let text = fs::read_to_string(path.join(PLAN)).expect("a plan");
        fs::write(path.join(PLAN), text.replace("\"seed\":2", "\"seed\":7")).expect("writable");
        let found = whole(path).join("\n");
        for what in [
            "plan.json was changed",
            "sheet-1.svg is not",
            "sheet-2.svg, which",
            "sheet-3.svg does not",
        ] {
            assert!(found.contains(what), "{found}");
        }
        assert_eq!(found.lines().count(), 4, "{found}");
    }

    #[test]
    fn a_plan_set_otherwise_or_alone_is_still_the_plan() {
        let home = tempfile::tempdir().expect("a temporary folder");
        write(&home.path().join("a"), &files(1)).expect("writable");
        let text = fs::read_to_string(home.path().join("a").join(PLAN)).expect("a plan");
        let value: serde_json::Value = serde_json::from_str(&text).expect("a plan");
        let pretty = serde_json::to_string_pretty(&value)
            .expect("a plan")
            .replace("0.0", "0");
        fs::write(home.path().join(PLAN), pretty).expect("writable");
        assert_eq!(whole(home.path()), [""; 0]);
    }

    /// Cut short after any of its renames, the folder is not taken for a plan unless it is one, and the next run cleans up.
    #[test]
    fn what_a_run_that_was_cut_short_left_is_cleaned_up() {
        let (old, new) = (files(3), files(2));
        for done in 0..=new.len() {
            let home = tempfile::tempdir().expect("a temporary folder");
            let path = home.path();
            write(path, &old).expect("writable");
            let staging = path.join(".cullet-x.staged");
            fs::create_dir(&staging).expect("writable");
            let mut known = examine(path).expect("ours").known();
            for (name, text) in &new {
                known.entry(name.clone()).or_default().insert(digest(text.as_bytes()));
            }
            fs::write(staging.join(RECORD), serde_json::to_string(&known).expect("JSON")).expect("writable");
            for (name, text) in new.iter().skip(1).chain(new.first()).take(done) {
                fs::write(path.join(name), text).expect("writable");
            }
            // The scores of both are the same, so nothing is wrong before the first file differs.
            assert_eq!(whole(path).is_empty(), done == 0, "after {done}: {:?}", whole(path));
            write(path, &new).expect("cleaned up");
            assert_eq!(whole(path), [""; 0]);
            assert_eq!(names(path).len(), new.len(), "{:?}", names(path));
        }
    }

    #[test]
    fn a_strange_plan_or_a_file_in_the_way_is_refused() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let plan = home.path().join(PLAN);
        fs::write(&plan, "{\"format\": \"floor plan\"}").expect("writable");
        assert!(examine(home.path()).is_err());
        assert!(examine(&plan).is_err());
        assert!(examine(&plan.join("below")).is_err());
    }

    #[cfg(unix)]
    #[test]
    fn two_at_once_are_one_too_many() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("a/b");
        let mut first = examine(&path).expect("free");
        first.begin().expect("free");
        let mut second = examine(&path).expect("free");
        assert!(matches!(second.begin(), Err(NotWritten::Refused(_))));
        drop(second);
        first.write(&files(1)).expect("writable");
        assert_eq!(whole(&path), [""; 0]);
    }

    #[test]
    fn a_run_that_comes_to_nothing_leaves_nothing_behind() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let mut folder = examine(&home.path().join("a/b")).expect("free");
        folder.begin().expect("writable");
        drop(folder);
        assert!(names(home.path()).is_empty());
    }
}
