//! The folder a plan is written to: never half a file, and nothing of anybody else's touched.
//!
//! Files are finished in a hidden folder inside it and then renamed into place, `plan.json` last. Sheet maps of an earlier
//! plan that the new one does not replace are removed, but only those that the earlier `plan.json` lists. A sheet map that
//! no `plan.json` lists is somebody's own, and the folder is refused.

use crate::reading;
use cullet_job::{Finding, Findings};
use cullet_plan::model;
use std::collections::BTreeSet;
use std::fs;
use std::io;
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

/// The breaks of all sheets, one by one.
pub(crate) const BREAKING: &str = "breaking.csv";

/// Name of a sheet's breaks, step by step.
pub(crate) fn sheet_breaks(number: u64) -> String {
    format!("sheet-{number}-breaks.html")
}

/// A folder that may be written to.
#[derive(Debug)]
pub(crate) struct Folder {
    path: PathBuf,
    /// Names that an earlier plan wrote there.
    earlier: BTreeSet<String>,
}

/// Something that could not be written.
#[derive(Debug)]
pub(crate) struct CannotWrite {
    path: PathBuf,
    error: io::Error,
}

impl std::fmt::Display for CannotWrite {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{}: could not be written ({})\n  Free the disk or choose another folder with --out, then plan again.",
            self.path.display(),
            self.error
        )
    }
}

impl Folder {
    /// Looks at `path` without changing anything there.
    pub(crate) fn examine(path: &Path) -> Result<Self, Findings> {
        let mut folder = Self {
            path: path.into(),
            earlier: BTreeSet::new(),
        };
        if path.is_dir() {
            folder.earlier = earlier_plan(&path.join(PLAN))?;
            folder.refuse_strange_files()?;
        } else if let Some(file) = path.ancestors().find(|part| part.exists() && !part.is_dir()) {
            return Err(in_the_way(file));
        }
        Ok(folder)
    }

    /// The same for a comparison, which may lie beside a plan. Files of its names that no comparison wrote are somebody's own:
    /// `is_ours` tells by their text.
    pub(crate) fn examine_for_comparison(path: &Path, is_ours: &dyn Fn(&str) -> bool) -> Result<Self, Findings> {
        if let Some(file) = path.ancestors().find(|part| part.exists() && !part.is_dir()) {
            return Err(in_the_way(file));
        }
        for file in COMPARISON.map(|name| path.join(name)) {
            let text = file
                .exists()
                .then(|| reading::text(&file, "a comparison that this program wrote"));
            if !text.transpose()?.is_none_or(|text| is_ours(&text)) {
                return Err(Findings(vec![finding(
                    &file,
                    "something else",
                    "a comparison that this program wrote, or nothing yet",
                    "Move it away, or choose another folder with --out.",
                )]));
            }
        }
        Ok(Self {
            path: path.into(),
            earlier: BTreeSet::new(),
        })
    }

    /// Whether files can be made there, found out before the search rather than after it.
    pub(crate) fn try_out(&self) -> Result<(), CannotWrite> {
        let made = self.path.ancestors().find(|ancestor| ancestor.is_dir());
        let made = made.unwrap_or(Path::new("."));
        hidden_folder(made).map(drop).map_err(|error| cannot(&self.path, error))
    }

    /// Writes all `files` (name, content), `plan.json` last, and removes what an earlier plan left over. Returns the names
    /// removed.
    pub(crate) fn write(&self, files: &[(String, String)]) -> Result<Vec<String>, CannotWrite> {
        fs::create_dir_all(&self.path).map_err(|error| cannot(&self.path, error))?;
        let staging = hidden_folder(&self.path).map_err(|error| cannot(&self.path, error))?;
        for (name, content) in files {
            let path = staging.path().join(name);
            fs::write(&path, content).map_err(|error| cannot(&path, error))?;
        }
        let (plan, others): (Vec<_>, Vec<_>) = files.iter().map(|(name, _)| name).partition(|name| *name == PLAN);
        for name in others.into_iter().chain(plan) {
            let path = self.path.join(name);
            fs::rename(staging.path().join(name), &path).map_err(|error| cannot(&path, error))?;
        }
        let written: BTreeSet<&String> = files.iter().map(|(name, _)| name).collect();
        let mut removed = vec![];
        for name in self.earlier.iter().filter(|name| !written.contains(name)) {
            let path = self.path.join(name);
            match fs::remove_file(&path) {
                Ok(()) => removed.push(name.clone()),
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => return Err(cannot(&path, error)),
            }
        }
        Ok(removed)
    }

    /// Files that bear our names, but that no earlier plan lists, are somebody's own.
    fn refuse_strange_files(&self) -> Result<(), Findings> {
        let entries = fs::read_dir(&self.path).map_err(|error| {
            Findings(vec![finding(
                &self.path,
                &error.to_string(),
                "a folder that can be read",
                "Choose another folder with --out.",
            )])
        })?;
        let mut strange: Vec<String> = entries
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter(|name| is_our_name(name) && !self.earlier.contains(name))
            .collect();
        strange.sort();
        if strange.is_empty() {
            return Ok(());
        }
        Err(Findings(vec![finding(
            &self.path,
            &strange.join(", "),
            "no such files except those of an earlier plan.json there",
            "Move them away, or choose another folder with --out.",
        )]))
    }
}

fn in_the_way(file: &Path) -> Findings {
    Findings(vec![finding(
        file,
        "a file",
        "a folder, or nothing yet",
        "Choose another folder with --out.",
    )])
}

/// Names of the files that go with the plan at `plan`; none where there is no such file.
fn earlier_plan(plan: &Path) -> Result<BTreeSet<String>, Findings> {
    if !plan.exists() {
        return Ok(BTreeSet::new());
    }
    let text = reading::text(plan, "a plan that this program wrote")?;
    names_of_plan(&text).ok_or_else(|| {
        Findings(vec![finding(
            plan,
            "something else",
            "a plan that this program wrote",
            "Move it away, or choose another folder with --out.",
        )])
    })
}

/// The files of a plan of any version: nothing but its format and its sheets' numbers is looked at.
fn names_of_plan(text: &str) -> Option<BTreeSet<String>> {
    let plan: serde_json::Value = serde_json::from_str(text).ok()?;
    let kind = model::FORMAT.split(' ').next()?;
    if plan.get("format")?.as_str()?.split(' ').next()? != kind {
        return None;
    }
    let mut names = BTreeSet::from([
        PLAN.to_string(),
        YIELD.to_string(),
        BREAKING.to_string(),
        BUY.to_string(),
        BOOK.to_string(),
    ]);
    for glass in plan.get("glasses")?.as_array()? {
        for layout in glass.get("layouts")?.as_array()? {
            let number = layout.get("number")?.as_u64()?;
            names.insert(sheet_map(number));
            names.insert(sheet_scores(number));
            names.insert(sheet_breaks(number));
        }
    }
    Some(names)
}

fn is_our_name(name: &str) -> bool {
    let number = name.strip_prefix("sheet-").and_then(|rest| rest.strip_suffix(".svg"));
    let number = number.map(|number| number.strip_suffix("-scores").unwrap_or(number));
    let breaks = name
        .strip_prefix("sheet-")
        .and_then(|rest| rest.strip_suffix("-breaks.html"));
    let number = number.or(breaks);
    let is_sheet = number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()));
    is_sheet || [PLAN, YIELD, BREAKING, BUY, BOOK].contains(&name)
}

/// Removed with everything in it when dropped.
fn hidden_folder(inside: &Path) -> io::Result<tempfile::TempDir> {
    tempfile::Builder::new().prefix(".cullet-").tempdir_in(inside)
}

fn cannot(path: &Path, error: io::Error) -> CannotWrite {
    CannotWrite {
        path: path.into(),
        error,
    }
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
        let layouts: Vec<_> = (1..=sheets)
            .map(|number| serde_json::json!({ "number": number }))
            .collect();
        let plan = serde_json::json!({ "format": model::FORMAT, "glasses": [{ "layouts": layouts }] });
        let mut files = vec![(PLAN.to_string(), plan.to_string()), (YIELD.to_string(), "y".into())];
        for number in 1..=sheets {
            files.push((sheet_map(number), "map".into()));
            files.push((sheet_scores(number), "scores".into()));
        }
        files
    }

    fn names(path: &Path) -> Vec<String> {
        let entries = fs::read_dir(path).expect("a folder");
        let mut names: Vec<String> = entries
            .map(|entry| entry.expect("an entry").file_name().into_string().expect("UTF-8"))
            .collect();
        names.sort();
        names
    }

    #[test]
    fn a_later_plan_replaces_an_earlier_one_and_nothing_else() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path().join("deep/window");
        Folder::examine(&path)
            .expect("free")
            .write(&files(3))
            .expect("writable");
        fs::write(path.join("notes.txt"), "the client rang").expect("writable");
        fs::write(path.join("sheet-plan.svg"), "a drawing").expect("writable");
        let removed = Folder::examine(&path)
            .expect("ours")
            .write(&files(2))
            .expect("writable");
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
    }

    #[test]
    fn a_folder_with_somebodys_own_maps_is_refused() {
        let home = tempfile::tempdir().expect("a temporary folder");
        fs::write(home.path().join("sheet-4.svg"), "mine").expect("writable");
        let found = Folder::examine(home.path()).expect_err("not ours");
        assert!(found.to_string().contains("sheet-4.svg"), "{found}");
    }

    #[test]
    fn a_strange_plan_or_a_file_in_the_way_is_refused() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let plan = home.path().join(PLAN);
        fs::write(&plan, "{\"format\": \"floor plan\"}").expect("writable");
        assert!(Folder::examine(home.path()).is_err());
        assert!(Folder::examine(&plan).is_err());
        assert!(Folder::examine(&plan.join("below")).is_err());
    }

    #[test]
    fn trying_out_leaves_nothing_behind() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let folder = Folder::examine(&home.path().join("a/b")).expect("free");
        folder.try_out().expect("writable");
        assert!(names(home.path()).is_empty());
    }
}
