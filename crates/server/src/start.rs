//! A new job: from drawings, from a piece list, or the demo.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::html::{self, Here, hidden, to};
use crate::place::is_plain_part;
use crate::{deeds, picture};
use axum::http::StatusCode;
use axum::response::Response;
use cullet_drawing::cartoon::Cartoon;
use cullet_drawing::expand;
use cullet_job::{DrawingFile, Finding, Units};
use cullet_output::marked;
use cullet_workshop::Error;
use cullet_workshop::start::{StartRequest, Started, is_list};
use maud::{Markup, html};
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The demo: the stair window of an invented lighthouse museum.
const DEMO: [(&str, &[u8]); 5] = [
    ("job.json", include_bytes!("../../../fixtures/lighthouse/job.json")),
    ("stock.csv", include_bytes!("../../../fixtures/lighthouse/stock.csv")),
    ("lamp.svg", include_bytes!("../../../fixtures/lighthouse/lamp.svg")),
    (
        "quarries.dxf",
        include_bytes!("../../../fixtures/lighthouse/quarries.dxf"),
    ),
    ("waves.svg", include_bytes!("../../../fixtures/lighthouse/waves.svg")),
];
/// Endings of what may be brought.
const ENDINGS: [&str; 4] = ["svg", "dxf", "csv", "tsv"];

/// Puts the demo beside the other jobs.
pub(crate) fn demo(app: &Arc<App>, _: &Asked) -> Result<Response, Problem> {
    let name = free(&app.place.root().join("lighthouse"));
    fs::create_dir(&name).map_err(|error| Problem::Words(format!("The demo could not be written: {error}.")))?;
    // The job last: it is one only with its drawings.
    for (file, content) in DEMO.iter().rev() {
        deeds::write_new(&name.join(file), content)?;
    }
    Ok(answer::go(&to(
        "/job",
        &[("job", &format!("{}/job.json", app.place.name_of(&name)))],
    )))
}

/// A name that nothing has yet: with a number behind it where need be.
fn free(path: &Path) -> PathBuf {
    let stem = path
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned())
        .unwrap_or_default();
    let ending = path
        .extension()
        .map_or_else(String::new, |ending| format!(".{}", ending.to_string_lossy()));
    let numbered = (2..).map(|n| path.with_file_name(format!("{stem}-{n}{ending}")));
    let mut names = std::iter::once(path.to_owned()).chain(numbered);
    names
        .find(|name| name.symlink_metadata().is_err())
        .unwrap_or_else(|| path.to_owned())
}

/// A folder name made of what a job is called.
fn folder_of(name: &str) -> Result<String, Problem> {
    let name: String = name
        .trim()
        .chars()
        .map(|c| {
            if c.is_control() || "/\\:*?\"<>|".contains(c) {
                '-'
            } else {
                c
            }
        })
        .take(80)
        .collect();
    let name = name.trim_matches(['.', ' ']).to_owned();
    if is_plain_part(&name) {
        Ok(name)
    } else {
        Err(deeds::typed(
            "Name of the job",
            &format!("\"{name}\""),
            "a name that a folder can have",
            "Use letters and numbers.",
        ))
    }
}

/// Keeps a file that was brought under a name that is free, or the one that holds the same; gives that name.
pub(crate) fn keep(app: &App, folder: &str, name: &str, bytes: &[u8]) -> Result<String, Problem> {
    let ending = Path::new(name)
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    if !is_plain_part(name) || !ENDINGS.contains(&ending.as_str()) {
        return Err(deeds::typed(
            "file",
            &format!("\"{name}\""),
            "a drawing (SVG, DXF) or a piece list (CSV)",
            "Save it as one of these.",
        ));
    }
    let folder = app.place.folder(folder)?;
    fs::create_dir_all(&folder).map_err(|error| Problem::Words(format!("The folder could not be made: {error}.")))?;
    let path = folder.join(name);
    let same = fs::read(&path).is_ok_and(|there| there == bytes);
    let path = if same { path } else { free(&path) };
    if !same {
        deeds::write_new(&path, bytes)?;
    }
    Ok(app.place.name_of(&path))
}

/// Brings one file for a new job.
pub(crate) fn file(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let kept =
        folder_of(asked.must("folder")?).and_then(|folder| keep(app, &folder, asked.must("name")?, &asked.bytes));
    match kept {
        Ok(file) => Ok(answer::data(StatusCode::OK, &json!({"file": file}))),
        Err(problem) => {
            let lines: Vec<String> = problem
                .lines()
                .into_iter()
                .map(|(what, hint)| app.place.short(&format!("{what} {hint}")))
                .collect();
            Ok(answer::data(problem.status(), &json!({"problem": lines})))
        }
    }
}

/// Starts a job of what was brought; where a drawing cannot be built, shows where and waits for a better one.
pub(crate) fn new(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let called = asked.must("name")?;
    let files = asked.all("file");
    if files.is_empty() {
        return Err(deeds::typed(
            "New job",
            "no drawing and no piece list",
            "at least one",
            "Drop a drawing, or choose one.",
        ));
    }
    let paths = files
        .iter()
        .map(|file| app.place.path(file))
        .collect::<Result<Vec<_>, _>>()?;
    let folder = folder_of(called)?;
    let has_job = |folder: &Path| folder.join("job.json").symlink_metadata().is_ok();
    let mut path = app.place.path(&folder)?;
    if has_job(&path) {
        path = free(&path);
    }
    let unit_mm = asked
        .get("unit")
        .map(|unit| crate::change::number(unit, "unit"))
        .transpose()?;
    let request = StartRequest {
        folder: path,
        files: paths.clone(),
        unit_mm,
        ..StartRequest::default()
    };
    match Started::read(&request) {
        Ok(started) => {
            let written = started.write()?;
            let job = app.place.name_of(&written.job);
            let notes: Vec<&str> = written.notes.iter().map(String::as_str).collect();
            Ok(started_page(app, &job, called, &notes))
        }
        Err(Error::Input(findings)) => Ok(to_mend(app, called, asked, &paths, findings.0)),
        Err(other) => Err(other.into()),
    }
}

fn started_page(app: &App, job: &str, called: &str, notes: &[&str]) -> Response {
    if notes.is_empty() {
        return answer::go(&to("/job", &[("job", job)]));
    }
    let body = html! {
        h1 { (called) " is started" }
        p { "It lies in " code { (job) } ". This was assumed; put it right on the job's page, under Glass:" }
        ul { @for note in notes { li { (app.place.short(note)) } } }
        p { "The stock list beside it holds an example sheet of each glass. Put in what you have: on the " a href="/rack" { "Rack" } ", or in the list." }
        p { a.button href=(to("/job", &[("job", job)])) { "To the job" } }
    };
    html::page(called, Here::Jobs, &[], body)
}

/// Drawings that cannot be built yet: every place ringed, what to do, and a place to drop a better one.
fn to_mend(app: &App, called: &str, asked: &Asked, paths: &[PathBuf], found: Vec<Finding>) -> Response {
    let short = |words: &str| app.place.short(words);
    let body = html! {
        h1 { (called) ": to mend first" }
        p { "No job was started yet: these places cannot be built. Mend them in the drawing, save it, and drop it here." }
        (html::findings(&found, false, &short))
        @for path in paths.iter().filter(|path| !is_list(path)) {
            @if let Some(picture) = marked_picture(path) { figure.drawing { (picture) figcaption { (app.place.name_of(path)) } } }
        }
        form #new method="post" action="/new" {
            (hidden("name", called)) (hidden("unit", asked.get("unit").unwrap_or_default()))
            label.drop { span { b { "The mended drawings" } " Drop them here, or choose them." } input type="file" multiple accept=".svg,.dxf,.csv,.tsv" #files; }
            p #told role="status" {}
            button { "Start the job" }
        }
    };
    html::page(called, Here::Jobs, &["jobs.js"], body)
}

fn read(path: &Path) -> Option<Cartoon> {
    let name = path.display().to_string();
    let drawing = DrawingFile {
        file: name.clone(),
        ..DrawingFile::default()
    };
    let mut settings = expand::settings(&drawing, 1.0, &[]);
    settings.any_glass = true;
    let bytes = cullet_workshop::reading::bytes(path).map_err(|error| error.to_string());
    expand::read_file(&name, bytes, &drawing, &settings).ok()
}

fn marked_picture(path: &Path) -> Option<Markup> {
    let cartoon = read(path)?;
    let title = path
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default();
    let svg = marked::draw(&title, &cartoon, Units::Millimetres);
    // It is made by us, every text in it escaped; the first line belongs to a file of its own.
    let svg = svg
        .strip_prefix("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n")
        .map(str::to_owned)
        .unwrap_or(svg);
    Some(picture::raw(svg))
}

/// Numbers of the pieces that a drawing has, as far as it can be read.
pub(crate) fn numbers_in(path: &Path) -> Vec<String> {
    read(path)
        .map(|cartoon| cartoon.cells.into_iter().map(|cell| cell.number).collect())
        .unwrap_or_default()
}
