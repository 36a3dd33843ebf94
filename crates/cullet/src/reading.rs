//! Reads what the user named, and says everything that is wrong with it at once.

use cullet_drawing::Severity;
use cullet_drawing::expand::{self, PanelDrawing};
use cullet_job::{Finding, Findings, Job, JobFile, Report};
use cullet_rack::Stock;
use std::fs::File;
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
            warnings.map(|warning| warning.in_words(&drawing.file, drawing.cartoon.bounds.0))
        });
        all.collect()
    }
}

/// Reads and checks a job with the drawings that it names.
pub(crate) fn job(path: &Path) -> Result<DrawnJob, Findings> {
    let text = text(path, "a job file (JSON)")?;
    let mut drawings = vec![];
    let job = Job::read_with(&path.display().to_string(), &text, |file, report| {
        drawings = expand_beside(path, file, report);
    })?;
    Ok(DrawnJob { job, drawings })
}

/// Reads a job's drawings, named from the job file's folder.
pub(crate) fn expand_beside(job: &Path, file: &mut JobFile, report: &mut Report) -> Vec<PanelDrawing> {
    let folder = job.parent().unwrap_or(Path::new(""));
    expand::expand(file, report, &|name| {
        let path = folder.join(name);
        (
            path.display().to_string(),
            bytes(&path).map_err(|error| error.to_string()),
        )
    })
}

/// All bytes of a file, up to one more than are ever read.
pub(crate) fn bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = vec![];
    File::open(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Reads and checks a job and a stock list together.
pub(crate) fn job_and_stock(job_path: &Path, stock: &Path) -> Result<(DrawnJob, Stock), Findings> {
    let stock_name = stock.display().to_string();
    let job = job(job_path);
    let stock = text(stock, "a stock list (CSV)").and_then(|text| Stock::read_csv(&stock_name, &text));
    match (job, stock) {
        (Ok(job), Ok(stock)) => {
            let missing = stock.check_against(&stock_name, &job.job);
            if missing.is_empty() {
                Ok((job, stock))
            } else {
                Err(Findings(missing))
            }
        }
        (job, stock) => Err(Findings(
            [job.err(), stock.err()]
                .into_iter()
                .flatten()
                .flat_map(|found| found.0)
                .collect(),
        )),
    }
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
    let bytes =
        bytes(path).map_err(|error| refuse(error.to_string(), "Check the name, and whether the file may be read."))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(refuse(
            "more than 256 MiB".into(),
            "Is it the right file? If so, split the job into several.",
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        refuse(
            format!("a byte at {at} that is not UTF-8 text"),
            "Save it as UTF-8 text.",
        )
    })
}
