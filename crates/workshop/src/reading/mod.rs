//! Reads what the user named, and says everything that is wrong with it at once.

mod choice;
mod plan_file;
mod text;

pub use choice::choice;
pub use plan_file::{digest, plan};
pub use text::{bytes, text};

use crate::Error;
use cullet_drawing::Severity;
use cullet_drawing::expand::{self, PanelDrawing};
use cullet_job::{Finding, Findings, Job, JobFile, ReadWith, Report};
use cullet_rack::{Rack, RackError, RackState, Stock, Wanted, plain_words};
use std::path::{Path, PathBuf};

/// Where the glass comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Glass {
    /// A stock list.
    List(PathBuf),
    /// A rack.
    Rack(PathBuf),
}

impl Glass {
    /// The list's or the rack's file.
    #[must_use]
    pub fn file(&self) -> &Path {
        let (Self::List(file) | Self::Rack(file)) = self;
        file
    }
}

/// A job with what its drawings hold.
#[derive(Debug)]
pub struct DrawnJob {
    /// The job, with the pieces of its drawings.
    pub job: Job,
    /// One for each panel with a drawing.
    pub drawings: Vec<PanelDrawing>,
}

impl DrawnJob {
    /// What should be looked at in the drawings.
    #[must_use]
    pub fn warnings(&self) -> Vec<Finding> {
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
pub const A_JOB: &str = "a job file (JSON) or a piece list (CSV)";

/// Reads and checks a job, or a piece list, with the drawings that it names.
///
/// # Errors
/// All that is wrong with it.
pub fn job(path: &Path, with: ReadWith<'_>) -> Result<DrawnJob, Findings> {
    let text = text(path, A_JOB)?;
    let mut drawings = vec![];
    let job = Job::read_as(&path.display().to_string(), &text, with, |file, report| {
        drawings = expand_beside(path, file, report);
    })?;
    Ok(DrawnJob { job, drawings })
}

/// Reads a job's drawings, named from the job file's folder.
pub fn expand_beside(job: &Path, file: &mut JobFile, report: &mut Report) -> Vec<PanelDrawing> {
    let folder = job.parent().unwrap_or(Path::new(""));
    expand::expand(file, report, &|name| {
        let path = folder.join(name);
        (
            path.display().to_string(),
            bytes(&path).map_err(|error| plain_words(&error, &path)),
        )
    })
}

/// A job and the glass to cut it from.
#[derive(Debug)]
pub struct Inputs {
    /// The job.
    pub job: DrawnJob,
    /// The sheets and offcuts that may be cut for it.
    pub stock: Stock,
    /// The state of the rack they stand on; none for a stock list.
    pub rack: Option<RackState>,
}

/// Reads and checks a job, as a choice changes it, and the glass for it together.
///
/// # Errors
/// All that is wrong with both; a rack that cannot be read.
pub fn inputs(job: &Path, glass: &Glass, with: ReadWith<'_>) -> Result<Inputs, Error> {
    let (mut inputs, list) = match glass {
        Glass::List(list) => {
            let (job, stock) = job_and_list(job, list, with)?;
            (Inputs { job, stock, rack: None }, list)
        }
        Glass::Rack(rack) => (job_and_rack(job, rack, with)?, rack),
    };
    if let Some(choice) = with.choice {
        choice::limit(&mut inputs.stock, &list.display().to_string(), choice)?;
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

fn job_and_rack(job_path: &Path, rack_path: &Path, with: ReadWith<'_>) -> Result<Inputs, Error> {
    let job = job(job_path, with);
    let rack = Rack::open(rack_path);
    let (job, mut rack) = match (job, rack) {
        (Ok(job), Ok(rack)) => (job, rack),
        (Err(job), Err(RackError::Input(rack))) => return Err(both(Some(job), Some(rack)).into()),
        (Err(job), _) => return Err(job.into()),
        (_, Err(rack)) => return Err(rack.into()),
    };
    let missing = rack.check_against(&job.job)?;
    if !missing.is_empty() {
        return Err(Findings(missing).into());
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
