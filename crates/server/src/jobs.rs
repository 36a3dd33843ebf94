//! The jobs of the folder: which there are, how each stands, what it looks like.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::html::{self, Here, hidden, to};
use crate::picture;
use crate::seen::Seen;
use crate::{deeds, plans};
use axum::response::Response;
use cullet_job::counted;
use maud::{Markup, html};
use serde_json::Value;
use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant, SystemTime};

/// How long the first page may look at jobs; the cards of the others come after it.
const PATIENCE: Duration = Duration::from_millis(25);
/// The largest file that may be a job, bytes.
const MOST_BYTES: u64 = 64 << 20;

/// The most files that are looked through for glasses.
const MOST_LISTINGS: usize = 100;
/// So many bytes of a file say whether it may be a job, mostly.
const BEGINNING: u64 = 8 << 10;

/// What is known of files, for as long as they stay as they are.
#[derive(Debug, Default)]
pub(crate) struct States(Mutex<Known>);

#[derive(Debug, Default)]
struct Known {
    /// Whether a file is a job, by what it was when it was looked at.
    is_job: BTreeMap<PathBuf, (Stand, bool)>,
    cards: BTreeMap<String, (Vec<Stand>, Card)>,
}

/// A file as it is: length and time.
type Stand = Option<(u64, SystemTime)>;

/// How a job stands.
#[derive(Debug, Clone)]
pub(crate) struct Card {
    title: String,
    what: String,
    state: State,
    /// Files that it hangs on.
    files: Vec<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    ToMend,
    Ready,
    Planned,
    Booked,
}

impl State {
    fn words(self) -> &'static str {
        match self {
            Self::ToMend => "to mend",
            Self::Ready => "ready",
            Self::Planned => "planned",
            Self::Booked => "cut and booked",
        }
    }

    fn sign(self) -> &'static str {
        match self {
            Self::ToMend => "!",
            Self::Ready => "○",
            Self::Planned => "◐",
            Self::Booked => "●",
        }
    }
}

fn stand(path: &Path) -> Stand {
    let found = fs::metadata(path).ok()?;
    Some((found.len(), found.modified().ok()?))
}

/// Names of all jobs in the folder: job files, and piece lists that no job file lies beside.
fn all(app: &App, files: &[PathBuf]) -> Vec<String> {
    let mut known = app.states.0.lock().unwrap_or_else(PoisonError::into_inner);
    let mut is_job = |path: &Path| -> bool {
        if !is_json(path) && !is_list(path) {
            return false;
        }
        let now = stand(path);
        match known.is_job.get(path) {
            Some((then, is_job)) if *then == now => *is_job,
            _ => {
                let found = looks_like_job(path);
                known.is_job.insert(path.to_owned(), (now, found));
                found
            }
        }
    };
    let jobs: Vec<&PathBuf> = files.iter().filter(|path| is_job(path)).collect();
    let with_file: HashSet<&Path> = jobs
        .iter()
        .filter(|path| is_json(path))
        .filter_map(|path| path.parent())
        .collect();
    let is_alone = |path: &Path| path.parent().is_none_or(|folder| !with_file.contains(folder));
    let shown = jobs.iter().filter(|path| is_json(path) || is_alone(path));
    shown.map(|path| app.place.name_of(path)).collect()
}

/// Glasses that the jobs of the folder and the shop file list.
#[derive(Debug, Default)]
pub(crate) struct Listed {
    /// Names by codes.
    pub(crate) names: BTreeMap<String, String>,
    /// Whether these are all: a piece list may have others, and of very many jobs not all are looked at.
    pub(crate) is_all: bool,
}

/// What glasses there are, as far as so many files tell.
pub(crate) fn glasses(app: &App) -> Listed {
    let files = app.place.files();
    let (jobs, lists): (Vec<String>, Vec<String>) =
        all(app, &files).into_iter().partition(|name| is_json(name.as_ref()));
    let jobs = jobs.iter().filter_map(|name| app.place.path(name).ok());
    let shops = files
        .iter()
        .filter(|path| path.file_name().is_some_and(|name| name == "shop.json"));
    let mut paths: Vec<PathBuf> = shops.cloned().chain(jobs).collect();
    let is_all = lists.is_empty() && paths.len() <= MOST_LISTINGS;
    paths.truncate(MOST_LISTINGS);
    let mut names = BTreeMap::new();
    for text in paths.iter().filter_map(|path| deeds::text(path).ok()) {
        let tree: Value = serde_json::from_str(text.trim_start_matches('\u{feff}')).unwrap_or_default();
        for glass in tree["glasses"].as_array().into_iter().flatten() {
            if let Some(code) = glass["code"].as_str() {
                let name = glass["name"].as_str().unwrap_or_default();
                names.entry(code.to_owned()).or_insert_with(|| name.to_owned());
            }
        }
    }
    Listed { names, is_all }
}

fn is_json(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("json"))
}

fn is_list(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ["csv", "tsv"].iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

/// Whether a file is a job or a piece list, by what stands in it; the reader judges it later.
fn looks_like_job(path: &Path) -> bool {
    if fs::metadata(path).is_ok_and(|found| found.len() > MOST_BYTES) {
        return false;
    }
    let Ok((beginning, is_whole)) = beginning(path) else {
        return false;
    };
    let text = String::from_utf8_lossy(&beginning);
    if is_list(path) {
        let title = text
            .lines()
            .find(|line| !line.trim().is_empty() && !line.trim_start().starts_with('#'))
            .unwrap_or_default();
        let title = title.to_lowercase();
        let columns: Vec<&str> = title
            .split([',', ';', '\t'])
            .map(|column| column.trim().trim_matches('"'))
            .collect();
        return columns.contains(&"number") && columns.contains(&"glass") && !columns.contains(&"tag");
    }
    // A plan carries its job, is long, and says what it is at once.
    if text.contains("\"cullet-plan") {
        return false;
    }
    let is_job = |text: &str| text.contains("\"panels\"") && text.contains("\"name\"");
    is_job(&text) || !is_whole && fs::read(path).is_ok_and(|bytes| is_job(&String::from_utf8_lossy(&bytes)))
}

/// The first bytes of a file, and whether they are all of it.
fn beginning(path: &Path) -> io::Result<(Vec<u8>, bool)> {
    let mut bytes = vec![];
    fs::File::open(path)?.take(BEGINNING).read_to_end(&mut bytes)?;
    let is_whole = (bytes.len() as u64) < BEGINNING;
    Ok((bytes, is_whole))
}

/// The list.
pub(crate) fn page(app: &Arc<App>, _: &Asked) -> Result<Response, Problem> {
    let files = app.place.files();
    let names = all(app, &files);
    let drawings = loose_drawings(app, &files, &names);
    let began = Instant::now();
    let body = html! {
        h1 { "Jobs in " (app.place.name()) }
        @if names.is_empty() {
            section.empty {
                p { "There is no job here yet. Drop a drawing below, or look at how a job goes with the demo: the stair window of an invented lighthouse museum." }
                form method="post" action="/new/demo" { button { "Put the demo here" } }
            }
        } @else {
            ul.cards {
                @for name in &names {
                    li.card data-job=(name) {
                        @match known(app, name, began.elapsed() < PATIENCE) {
                            Some(card) => { (inside(name, &card)) }
                            None => { (waiting(name)) }
                        }
                    }
                }
            }
        }
        (new(&drawings, names.is_empty()))
    };
    Ok(html::page("Jobs", Here::Jobs, &["jobs.js"], body))
}

/// What a new job is made of.
fn new(drawings: &[String], is_open: bool) -> Markup {
    html! {
        details.new open[is_open] {
            summary { "New job" }
            form #new method="post" action="/new" {
                label.field { span { "Name of the job" } input name="name" required maxlength="80" placeholder="Hall window" autocomplete="off"; }
                label.drop {
                    span { b { "Drawings (SVG, DXF) or a piece list (CSV)" } " Drop them here, or choose them." }
                    input type="file" multiple accept=".svg,.dxf,.csv,.tsv" #files;
                }
                @if !drawings.is_empty() {
                    fieldset { legend { "Drawings that lie here already" }
                        @for name in drawings { label.tick { input type="checkbox" name="file" value=(name); " " (name) } }
                    }
                }
                label.field.small { span { "1 unit of the drawings is" }
                    select name="unit" {
                        option value="" { "what the drawing says" } option value="1" { "1 mm" } option value="25.4" { "1 inch" }
                    }
                }
                p #told role="status" {}
                button { "Start the job" }
            }
            @if !is_open { form method="post" action="/new/demo" { button.quiet { "Put the demo here" } } }
        }
    }
}

/// Drawings in folders that hold no job.
fn loose_drawings(app: &App, files: &[PathBuf], jobs: &[String]) -> Vec<String> {
    let folders: HashSet<&Path> = jobs.iter().filter_map(|name| Path::new(name).parent()).collect();
    let is_drawing = |path: &Path| {
        path.extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("dxf") || ending.eq_ignore_ascii_case("svg"))
    };
    let drawings = files.iter().filter(|path| is_drawing(path));
    let names = drawings.map(|path| app.place.name_of(path));
    let is_loose = |name: &String| {
        let folder = Path::new(name).parent();
        let written = Path::new(name)
            .file_name()
            .is_some_and(|name| name.to_string_lossy().starts_with("sheet-"));
        !written && folder.is_none_or(|folder| !folders.contains(folder))
    };
    names.filter(is_loose).take(40).collect()
}

fn waiting(name: &str) -> Markup {
    html! {
        a href=(to("/job", &[("job", name)])) { (thumb(name)) h2 { (name) } p.what { "…" } }
    }
}

fn thumb(name: &str) -> Markup {
    html! { span.thumb { img src=(to("/jobs/picture", &[("job", name)])) loading="lazy" alt=""; } }
}

fn inside(name: &str, card: &Card) -> Markup {
    html! {
        a href=(to("/job", &[("job", name)])) {
            (thumb(name))
            h2 { (card.title) }
            p.state { span aria-hidden="true" { (card.state.sign()) " " } (card.state.words()) }
            p.what { (card.what) " · " (name) }
        }
    }
}

/// One card, for those that come after the page.
pub(crate) fn card(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("job")?;
    let card = known(app, name, true).ok_or(Problem::NotThere)?;
    Ok(answer::own(
        "text/html; charset=utf-8",
        inside(name, &card).into_string(),
    ))
}

/// How a job stands; looked at again where any of its files has changed, if that may be done.
fn known(app: &App, name: &str, may_look: bool) -> Option<Card> {
    let held = {
        let known = app.states.0.lock().unwrap_or_else(PoisonError::into_inner);
        known.cards.get(name).cloned()
    };
    if let Some((stands, card)) = held
        && card.files.iter().map(|path| stand(path)).collect::<Vec<_>>() == stands
    {
        return Some(card);
    }
    if !may_look {
        return None;
    }
    let card = look(app, name)?;
    let stands = card.files.iter().map(|path| stand(path)).collect();
    let mut known = app.states.0.lock().unwrap_or_else(PoisonError::into_inner);
    known.cards.insert(name.to_owned(), (stands, card.clone()));
    Some(card)
}

fn look(app: &App, name: &str) -> Option<Card> {
    let path = app.place.path(name).ok()?;
    let seen = Seen::of(app, name).ok()?;
    let plan = plans::folder(app, name).ok()?.join("plan.json");
    let mut files = vec![path.clone(), plan];
    files.extend(seen.drawings.iter().map(|drawing| PathBuf::from(&drawing.file)));
    files.extend(
        path.ancestors()
            .skip(1)
            .take_while(|folder| folder.starts_with(app.place.root()))
            .map(|folder| folder.join("shop.json")),
    );
    let plan = plans::of(app, &seen);
    // Whether it is booked stands in the rack that it was made on.
    if plan.as_ref().is_some_and(|found| found.plan.rack.is_some()) {
        files.extend(deeds::racks(app));
    }
    let state = match (&seen.job, plan) {
        (None, _) => State::ToMend,
        (Some(_), None) => State::Ready,
        (Some(_), Some(found)) if found.is_booked => State::Booked,
        (Some(_), Some(found)) if found.is_present => State::Planned,
        (Some(_), Some(_)) => State::Ready,
    };
    let title = seen
        .file
        .as_ref()
        .map_or_else(|| name.to_owned(), |file| file.name.clone());
    let what = match (&seen.job, &seen.file) {
        (Some(job), _) => {
            let pieces: u32 = job.pieces.iter().map(|piece| piece.quantity).sum();
            let panels: u32 = job
                .panels
                .iter()
                .map(|panel| panel.quantity.saturating_add(panel.mirrored_quantity))
                .sum();
            format!(
                "{}, {}",
                counted(panels as usize, "panel"),
                counted(pieces as usize, "piece")
            )
        }
        _ => format!("{} to mend", counted(seen.findings.len(), "thing")),
    };
    Some(Card {
        title,
        what,
        state,
        files,
    })
}

/// The job's panels, small.
pub(crate) fn picture(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let file = seen.file.as_ref().ok_or(Problem::NotThere);
    let svg = match file {
        Ok(file) => {
            let views: Vec<_> = file
                .panels
                .iter()
                .take(6)
                .filter_map(|panel| seen.panel(panel))
                .collect();
            picture::small(&views, file)
        }
        Err(_) => "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 4 3\"/>\n".to_owned(),
    };
    Ok(answer::own("image/svg+xml", svg))
}

/// Fields that say which job a form is about, and which text of it was on the page.
pub(crate) fn about(seen: &Seen) -> Markup {
    html! { (hidden("job", &seen.name)) (hidden("digest", &seen.digest())) }
}
