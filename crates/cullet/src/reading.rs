//! Reads what the user named, and says everything that is wrong with it at once.

use cullet_job::{Finding, Findings, Job};
use cullet_rack::Stock;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The largest plan that is read, bytes: some hundred times that of the largest window, and short of filling a small
/// machine. Jobs and stock lists have limits of their own, far below.
const MOST_BYTES: u64 = 256 << 20;

/// Reads and checks a job and a stock list together.
pub(crate) fn job_and_stock(job: &Path, stock: &Path) -> Result<(Job, Stock), Findings> {
    let job_name = job.display().to_string();
    let stock_name = stock.display().to_string();
    let job = text(job, "a job file (JSON)").and_then(|text| Job::read(&job_name, &text));
    let stock = text(stock, "a stock list (CSV)").and_then(|text| Stock::read_csv(&stock_name, &text));
    match (job, stock) {
        (Ok(job), Ok(stock)) => {
            let missing = stock.check_against(&stock_name, &job);
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
    let mut bytes = vec![];
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| refuse(error.to_string(), "Check the name, and whether the file may be read."))?;
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
