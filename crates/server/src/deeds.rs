//! What is done to the folder's files, by the functions that the command line calls.

use crate::answer::Problem;
use crate::app::App;
use crate::place::Place;
use cullet_drawing::expand::{self, PanelDrawing};
use cullet_job::{Finding, Findings, Job, JobFile, ReadWith};
use cullet_model::Plan;
use cullet_rack::{Rack, Which, plain_words};
use cullet_workshop::reading::{self, Glass};
use cullet_workshop::shop::{self, WhichShop};
use cullet_workshop::writing::{self, Care};
use cullet_workshop::{Error, book};
use std::fs;
use std::path::{Path, PathBuf};

/// The most entries of a rack's history that are looked through for a booking.
const MOST_ENTRIES: u32 = 100_000;

impl From<Error> for Problem {
    fn from(error: Error) -> Self {
        match error {
            Error::Input(findings) | Error::Taken(findings) => findings.into(),
            other => Self::Words(other.to_string()),
        }
    }
}

/// The text of a file.
pub(crate) fn text(path: &Path) -> Result<String, Findings> {
    reading::text(path, reading::A_JOB)
}

/// What tells a text from every other one.
pub(crate) fn digest(text: &str) -> String {
    writing::digest(text.as_bytes())[..16].to_owned()
}

/// Reads a job from its text, as if that stood in the file. `seen` is handed what the file says once the pieces of the drawings are in it,
/// whatever else is wrong. Drawings outside the folder are not read.
pub(crate) fn job(
    place: &Place,
    path: &Path,
    text: &str,
    seen: impl FnOnce(&JobFile, Vec<PanelDrawing>),
) -> Result<Job, Findings> {
    let shop = shop::read(path, &WhichShop::Nearest)?;
    let with = ReadWith {
        shop: shop.as_ref(),
        choice: None,
    };
    let folder = place.name_of(path.parent().unwrap_or(path));
    Job::read_as(&path.display().to_string(), text, with, |file, report| {
        let drawings = expand::expand(file, report, &|name| {
            let shown = path.parent().unwrap_or(path).join(name);
            let bytes = match place.path(&joined(&folder, name)) {
                Ok(path) => reading::bytes(&path).map_err(|error| plain_words(&error, &path)),
                Err(_) => Err("a file outside the folder that is open here".to_owned()),
            };
            (shown.display().to_string(), bytes)
        });
        seen(file, drawings);
    })
}

/// A name that is given from a folder, as one from the whole: `a/b` and `../c` make `a/c`.
pub(crate) fn joined(folder: &str, name: &str) -> String {
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    if name.starts_with('/') {
        return name.to_owned();
    }
    for part in name.split('/') {
        match part {
            "." | "" => {}
            // Above the whole there is nothing: what leads there stays a way up, which means nothing.
            ".." => match parts.last() {
                Some(last) if *last != ".." => drop(parts.pop()),
                _ => parts.push(".."),
            },
            part => parts.push(part),
        }
    }
    parts.join("/")
}

/// Writes a text over the one that stands in a file, whole or not at all; not over what somebody else wrote meanwhile.
pub(crate) fn write_over(path: &Path, old: &str, new: &str) -> Result<(), Problem> {
    let care = Care::new(Vec::<PathBuf>::new(), false);
    let place = care.place(path, |bytes| bytes == old.as_bytes());
    let place = place.map_err(|_| Problem::Changed("The file was changed meanwhile; nothing was written.".into()))?;
    let putting = writing::in_place();
    let written = place
        .write(new.as_bytes())
        .map_err(|error| Problem::Words(writing::cannot_write(path, &error)));
    drop(putting);
    written
}

/// Writes a new file; nothing is written over.
pub(crate) fn write_new(path: &Path, content: &[u8]) -> Result<(), Problem> {
    let place = Care::default()
        .place(path, |_| false)
        .map_err(|finding| Problem::Findings(vec![finding]))?;
    let putting = writing::in_place();
    let written = place
        .write(content)
        .map_err(|error| Problem::Words(writing::cannot_write(path, &error)));
    drop(putting);
    written
}

/// A plan, read and not judged.
pub(crate) fn plan(path: &Path) -> Result<Plan, Findings> {
    reading::plan(path).map(|(plan, _)| plan)
}

/// All racks of the folder.
pub(crate) fn racks(app: &App) -> Vec<PathBuf> {
    let is_rack = |path: &PathBuf| {
        path.extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("rack"))
            && Rack::is_one(path)
    };
    app.place.files().into_iter().filter(is_rack).collect()
}

/// The racks and stock lists that a job may be cut from, beside it and in the folders above it: racks first, since they are what a shop
/// keeps up, and of each the nearest first.
pub(crate) fn sources(app: &App, job: &str) -> Vec<String> {
    let Ok(path) = app.place.path(job) else { return vec![] };
    let files = app.place.files();
    let (mut racks, mut lists) = (vec![], vec![]);
    for folder in path
        .ancestors()
        .skip(1)
        .take_while(|folder| folder.starts_with(app.place.root()))
    {
        let here: Vec<&PathBuf> = files
            .iter()
            .filter(|file| file.parent() == Some(folder) && **file != path)
            .collect();
        let name = |file: &&&PathBuf| app.place.name_of(file);
        racks.extend(here.iter().filter(|file| Rack::is_one(file)).map(|file| name(&file)));
        lists.extend(
            here.iter()
                .filter(|file| looks_like_stock(file))
                .map(|file| name(&file)),
        );
    }
    racks.extend(lists);
    racks
}

pub(crate) fn looks_like_stock(path: &Path) -> bool {
    let is_list = path
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("csv") || ending.eq_ignore_ascii_case("tsv"));
    let Ok(text) = (if is_list {
        fs::read_to_string(path)
    } else {
        return false;
    }) else {
        return false;
    };
    let title = text
        .lines()
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .unwrap_or_default()
        .to_lowercase();
    let columns: Vec<&str> = title
        .trim_start_matches('\u{feff}')
        .split([',', ';', '\t'])
        .map(|column| column.trim().trim_matches('"'))
        .collect();
    ["kind", "tag", "glass", "units", "count"]
        .iter()
        .all(|column| columns.contains(column))
}

/// The glass that a name from [`sources`] means.
pub(crate) fn glass(app: &App, name: &str) -> Result<Glass, Problem> {
    let path = app.place.path(name)?;
    Ok(if Rack::is_one(&path) {
        Glass::Rack(path)
    } else {
        Glass::List(path)
    })
}

/// The rack that a plan was made on.
pub(crate) fn rack_of(app: &App, plan: &Plan) -> Option<PathBuf> {
    let made_on = plan.rack.as_ref()?;
    racks(app).into_iter().find(|path| {
        let state = Rack::open_to_read(path).and_then(|mut rack| rack.state());
        state.is_ok_and(|state| state.id == made_on.id)
    })
}

/// Whether a plan has been booked, and not taken back.
pub(crate) fn is_booked(app: &App, plan: &Plan) -> bool {
    let asked = || {
        let path = rack_of(app, plan)?;
        let cut = book::cut(plan)?;
        let mut rack = Rack::open_to_read(&path).ok()?;
        let name = rack.name_of(&cut).ok()?;
        let entries = rack.history(None, MOST_ENTRIES).ok()?;
        let last = entries
            .iter()
            .rev()
            .find(|entry| entry.plan.as_deref() == Some(&name) && entry.kind.contains("book"))?;
        Some(last.kind == "book")
    };
    asked().unwrap_or(false)
}

/// Codes of the glasses that a rack has tags of.
pub(crate) fn glasses_of(rack: &mut Rack) -> Vec<String> {
    let items = rack.list(&Which::default()).unwrap_or_default();
    let mut codes: Vec<String> = items.into_iter().map(|item| item.stock.glass).collect();
    codes.sort();
    codes.dedup();
    codes
}

/// One finding, of something that was typed on the page.
pub(crate) fn typed(place: &str, found: &str, expected: &str, hint: &str) -> Problem {
    Problem::Findings(vec![Finding {
        file: "page".into(),
        place: place.into(),
        found: found.into(),
        expected: expected.into(),
        hint: hint.into(),
    }])
}

#[cfg(test)]
mod tests {
    use super::joined;

    #[test]
    fn names_from_a_folder() {
        assert_eq!(joined("a", "b.svg"), "a/b.svg");
        assert_eq!(joined("a/b", "../c.svg"), "a/c.svg");
        assert_eq!(joined("", "c.svg"), "c.svg");
        assert_eq!(joined("a", "../../c.svg"), "../c.svg");
        assert_eq!(joined("a", "../../../c.svg"), "../../c.svg");
        assert_eq!(joined("a", "/etc/passwd"), "/etc/passwd");
    }
}
