//! Reads what the user named, and says everything that is wrong with it at once.

use crate::request::Glass;
use cullet_drawing::Severity;
use cullet_drawing::expand::{self, PanelDrawing};
use cullet_job::{ChoiceFile, Finding, Findings, Job, JobFile, ReadWith, Report};
use cullet_plan::model::{Plan, READ};
use cullet_rack::{Rack, RackError, RackState, Stock, StockKind, Wanted, open_regular, plain_words};
use serde::Deserialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::io::Read;
use std::path::Path;

/// The largest plan that is read, bytes: some hundred times that of the largest window, and short of filling a small
/// machine. Jobs and stock lists have limits of their own, far below.
const MOST_BYTES: u64 = 256 << 20;

/// A job with what its drawings hold.
#[derive(Debug)]
pub(crate) struct DrawnJob {
    pub(crate) job: Job,
    pub(crate) drawings: Vec<PanelDrawing>,
}

impl DrawnJob {
    /// What should be looked at in the drawings.
    pub(crate) fn warnings(&self) -> Vec<Finding> {
        let all = self.drawings.iter().flat_map(|drawing| {
            let warnings = drawing
                .cartoon
                .findings
                .iter()
                .filter(|f| f.severity == Severity::Warning);
            warnings.map(|warning| warning.in_words(&drawing.file, drawing.cartoon.bounds.0, drawing.settings.units))
        });
        all.collect()
    }
}

/// What a job should be, for messages.
pub(crate) const A_JOB: &str = "a job file (JSON) or a piece list (CSV)";

/// Reads and checks a job, or a piece list, with the drawings that it names.
pub(crate) fn job(path: &Path, with: ReadWith<'_>) -> Result<DrawnJob, Findings> {
    let text = text(path, A_JOB)?;
    let mut drawings = vec![];
    let job = Job::read_as(&path.display().to_string(), &text, with, |file, report| {
        drawings = expand_beside(path, file, report);
    })?;
    Ok(DrawnJob { job, drawings })
}

/// The choice that was asked for: one that `job`, read from `path`, names, or one that was typed.
pub(crate) fn choice(path: &Path, job: &Job, asked: &str) -> Result<ChoiceFile, Findings> {
    let choices = &job.source.choices;
    match choices.iter().find(|known| known.name == asked.trim()) {
        Some(known) => Ok(known.clone()),
        None => {
            let typed = ChoiceFile::typed(asked).map_err(|found| no_choice(path, &found, choices))?;
            match slip(asked) {
                None => Ok(typed),
                Some((found, expected)) => Err(Findings(vec![Finding {
                    file: "command line".into(),
                    place: format!("choice {}", asked.trim()),
                    found,
                    expected: expected.into(),
                    hint: "Is it a slip of the hand? Leave that change out.".into(),
                }])),
            }
        }
    }
}

/// What cannot be meant in typed changes, and what should be there: a glass instead of itself, or one thing changed twice.
fn slip(asked: &str) -> Option<(String, &'static str)> {
    let mut seen = BTreeSet::new();
    let changes = asked.split(',').filter_map(|change| change.split_once('='));
    for (what, value) in changes.map(|(what, value)| (what.trim(), value.trim())) {
        if what == value {
            return Some((format!("{what} instead of itself"), "another glass of the job"));
        }
        if !seen.insert(what) {
            return Some((format!("{what} changed twice"), "each change once"));
        }
    }
    None
}

fn no_choice(path: &Path, found: &str, choices: &[ChoiceFile]) -> Findings {
    let names: Vec<String> = choices.iter().map(|choice| format!("\"{}\"", choice.name)).collect();
    let named = match names.as_slice() {
        [] => format!("{} names no choices", path.display()),
        names => format!("{} names {}", path.display(), names.join(", ")),
    };
    Findings(vec![Finding {
        file: "command line".into(),
        place: "choice".into(),
        found: format!("\"{found}\""),
        expected: "a choice that the job names, or GLASS=OTHER, GLASS:grind=SIZE, GLASS:sheets=TAG+TAG, \
                   came=FACE/HEART, foil=SIZE, with commas between several"
            .into(),
        hint: format!("{named}."),
    }])
}

/// Takes the sheets out that a choice passes over; names tags of it that are not there.
fn limit(stock: &mut Stock, list: &str, choice: &ChoiceFile) -> Result<(), Findings> {
    let mut report = Report::new(list);
    for glass in &choice.glasses {
        let code = glass.taken();
        let sheets = stock.items.iter().filter(|item| item.kind == StockKind::Sheet);
        let known: Vec<&str> = sheets
            .filter(|item| item.glass == code)
            .map(|item| item.tag.as_str())
            .collect();
        for tag in glass.sheets.iter().filter(|tag| !known.contains(&tag.as_str())) {
            report.add(
                format!("choice {}", choice.name),
                format!("no sheet {tag} of glass {code}"),
                "a sheet of it that is on hand or can be bought",
                format!("There are: {}.", known.join(", ")),
            );
        }
    }
    stock
        .items
        .retain(|item| item.kind == StockKind::Offcut || choice.may_pull(&item.glass, &item.tag));
    report.into_result(())
}

/// Reads a job's drawings, named from the job file's folder.
pub(crate) fn expand_beside(job: &Path, file: &mut JobFile, report: &mut Report) -> Vec<PanelDrawing> {
    let folder = job.parent().unwrap_or(Path::new(""));
    expand::expand(file, report, &|name| {
        let path = folder.join(name);
        (
            path.display().to_string(),
            bytes(&path).map_err(|error| plain_words(&error, &path)),
        )
    })
}

/// All bytes of a file, up to one more than are ever read; a pipe is not waited for.
pub(crate) fn bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = vec![];
    open_regular(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// A job and the glass to cut it from.
#[derive(Debug)]
pub(crate) struct Inputs {
    pub(crate) job: DrawnJob,
    pub(crate) stock: Stock,
    pub(crate) rack: Option<RackState>,
}

/// Reads and checks a job, as a choice changes it, and the glass for it together.
pub(crate) fn inputs(job: &Path, glass: &Glass, with: ReadWith<'_>) -> Result<Inputs, RackError> {
    let (mut inputs, list) = match glass {
        Glass::List(list) => {
            let (job, stock) = job_and_list(job, list, with).map_err(RackError::Input)?;
            (Inputs { job, stock, rack: None }, list)
        }
        Glass::Rack(rack) => (job_and_rack(job, rack, with)?, rack),
    };
    if let Some(choice) = with.choice {
        limit(&mut inputs.stock, &list.display().to_string(), choice).map_err(RackError::Input)?;
    }
    Ok(inputs)
}

fn job_and_list(job_path: &Path, list: &Path, with: ReadWith<'_>) -> Result<(DrawnJob, Stock), Findings> {
    let list_name = list.display().to_string();
    let list_text = text(list, "a stock list (CSV)");
    if let (Ok(job_text), Ok(list_text)) = (text(job_path, A_JOB), &list_text)
        && is_json(list_text)
        && !is_json(&job_text)
    {
        return Err(Findings(vec![Finding {
            file: job_path.display().to_string(),
            place: "the whole file".into(),
            found: format!("what looks like the stock list, and in {list_name} what looks like the job"),
            expected: "the job file (JSON) first and the stock list (CSV) after --stock".into(),
            hint: "Name the two files the other way round.".into(),
        }]));
    }
    let job = job(job_path, with);
    let stock = list_text.and_then(|text| {
        if is_json(&text) {
            return Err(json_for_a_list(&list_name));
        }
        Stock::read_csv(&list_name, &text)
    });
    match (job, stock) {
        (Ok(job), Ok(stock)) => {
            let missing = stock.check_against(&list_name, &job.job);
            if missing.is_empty() {
                Ok((job, stock))
            } else {
                Err(Findings(missing))
            }
        }
        (job, stock) => Err(both(job.err(), stock.err())),
    }
}

fn job_and_rack(job_path: &Path, rack_path: &Path, with: ReadWith<'_>) -> Result<Inputs, RackError> {
    let job = job(job_path, with);
    let rack = Rack::open(rack_path);
    let (job, mut rack) = match (job, rack) {
        (Ok(job), Ok(rack)) => (job, rack),
        (Err(job), Err(RackError::Input(rack))) => return Err(RackError::Input(both(Some(job), Some(rack)))),
        (Err(job), _) => return Err(RackError::Input(job)),
        (_, Err(rack)) => return Err(rack),
    };
    let missing = rack.check_against(&job.job)?;
    if !missing.is_empty() {
        return Err(RackError::Input(Findings(missing)));
    }
    let (stock, state) = rack.stock(&wanted(&job.job))?;
    Ok(Inputs {
        job,
        stock,
        rack: Some(state),
    })
}

/// The glasses that the job cuts, each with the size of its smallest piece.
fn wanted(job: &Job) -> Vec<Wanted<'_>> {
    let glasses = job.glasses.iter().enumerate();
    glasses
        .filter_map(|(index, glass)| {
            let pieces = job.pieces.iter().filter(|piece| piece.glass == index);
            let least_area = pieces.map(|piece| piece.cut.area()).min_by(f64::total_cmp)?;
            Some(Wanted {
                glass: &glass.code,
                least_area,
            })
        })
        .collect()
}

fn both(a: Option<Findings>, b: Option<Findings>) -> Findings {
    Findings([a, b].into_iter().flatten().flat_map(|found| found.0).collect())
}

fn is_json(text: &str) -> bool {
    text.trim_start_matches('\u{feff}').trim_start().starts_with('{')
}

fn json_for_a_list(file: &str) -> Findings {
    Findings(vec![Finding {
        file: file.to_owned(),
        place: "the whole file".into(),
        found: "JSON, as a job file or a plan is".into(),
        expected: "a stock list (CSV)".into(),
        hint: "Name the stock list after --stock; the job file comes before it.".into(),
    }])
}

/// Only the format, so that a plan of another version is called that and not a heap of unknown fields.
#[derive(Deserialize)]
struct Head {
    format: String,
}

/// A plan, and what tells it from every other one.
pub(crate) fn plan(path: &Path) -> Result<(Plan, String), Findings> {
    let expected = format!(
        "a plan.json written by cullet plan (format \"{}\")",
        READ.join("\" or \"")
    );
    let refuse = |place: String, found: String, hint: &str| {
        Findings(vec![Finding {
            file: path.display().to_string(),
            place,
            found,
            expected: expected.clone(),
            hint: hint.into(),
        }])
    };
    let inside = path.join(crate::folder::PLAN);
    if path.is_dir() {
        let hint = if inside.is_file() {
            format!("Name the plan in it: {}", inside.display())
        } else {
            "There is no plan.json in it. Name the plan.json of the folder that cullet plan wrote.".to_owned()
        };
        return Err(refuse("the whole file".into(), "a folder".into(), &hint));
    }
    let text = text(path, "a plan.json written by cullet plan")?;
    let not_a_plan = |error: serde_json::Error| {
        let place = format!("line {}, column {}", error.line(), error.column());
        refuse(place, error.to_string(), "Make the plan again with cullet plan.")
    };
    let head: Head = serde_json::from_str(&text).map_err(not_a_plan)?;
    if !READ.contains(&head.format.as_str()) {
        return Err(refuse(
            "field \"format\"".into(),
            format!("\"{}\"", head.format),
            "Make the plan again with this version of the program.",
        ));
    }
    let plan = serde_json::from_str(&text).map_err(not_a_plan)?;
    let digest = digest(&text).map_err(not_a_plan)?;
    Ok((plan, digest))
}

/// A digest of what stands in a plan file, not of how it is set: 16 hexadecimal digits of its SHA-256 (FIPS 180-4).
pub(crate) fn digest(text: &str) -> Result<String, serde_json::Error> {
    let content: serde_json::Value = serde_json::from_str(text)?;
    let hash = Sha256::digest(content.to_string());
    Ok(hash.iter().take(8).map(|byte| format!("{byte:02x}")).collect())
}

/// The text of a file. `expected` says what it should be, for the message.
pub(crate) fn text(path: &Path, expected: &str) -> Result<String, Findings> {
    let refuse = |found: String, hint: &str| {
        Findings(vec![Finding {
            file: path.display().to_string(),
            place: "the whole file".into(),
            found,
            expected: expected.into(),
            hint: hint.into(),
        }])
    };
    let bytes = bytes(path).map_err(|error| {
        refuse(
            plain_words(&error, path),
            "Check the name, and whether the file may be read.",
        )
    })?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(refuse(
            "more than 256 MiB".into(),
            "Is it the right file? If so, split the job into several.",
        ));
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(refuse(
            "text in UTF-16".into(),
            "Save it as UTF-8 text (in a spreadsheet: CSV UTF-8).",
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let lines = error.as_bytes()[..good].iter().filter(|byte| **byte == b'\n');
        refuse(
            format!("a character on line {} that is not UTF-8 text", lines.count() + 1),
            "Save it as UTF-8 text (in a spreadsheet: CSV UTF-8).",
        )
    })
}
