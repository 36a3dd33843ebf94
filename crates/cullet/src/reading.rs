//! Reads what the user named, and says everything that is wrong with it at once.

use cullet_job::{Finding, Findings, Job};
use cullet_rack::Stock;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The largest file that is read, bytes: some hundred times the largest window, and short of filling a small machine.
const MOST_BYTES: u64 = 256 * 1024 * 1024;

/// Reads and checks a job and a stock list together.
pub(crate) fn job_and_stock(job: &Path, stock: &Path) -> Result<(Job, Stock), Findings> {
    let job_name = job.display().to_string();
    let stock_name = stock.display().to_string();
    let job = text(job, "a job file (JSON)").and_then(|text| Job::read(&job_name, &text));
    let stock = text(stock, "a stock list (CSV)").and_then(|text| Stock::read_csv(&stock_name, &text));
    match (job, stock) {
        (Ok(job), Ok(stock)) => {
            let missing = glasses_without_stock(&job, &job_name, &stock, &stock_name);
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
            place: "whole file".into(),
            found,
            expected: expected.into(),
            hint: hint.into(),
        }])
    };
    let mut bytes = vec![];
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| refuse(error.to_string(), "check the name and whether it may be read"))?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(refuse("more than 256 MiB".into(), "split the job into several"));
    }
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        refuse(
            format!("a byte at {at} that is not UTF-8 text"),
            "save it as UTF-8 text",
        )
    })
}

/// A job can only be cut from glass that somebody lists.
fn glasses_without_stock(job: &Job, job_name: &str, stock: &Stock, stock_name: &str) -> Vec<Finding> {
    let listed: BTreeSet<&str> = stock.items.iter().map(|item| item.glass.as_str()).collect();
    let mut pieces: BTreeMap<usize, u64> = BTreeMap::new();
    for piece in &job.pieces {
        *pieces.entry(piece.glass).or_default() += u64::from(piece.quantity) + u64::from(piece.spares);
    }
    let listed_text = match listed.is_empty() {
        true => "no glass at all".into(),
        false => format!("only {}", listed.iter().copied().collect::<Vec<_>>().join(", ")),
    };
    pieces
        .into_iter()
        .filter(|(_, count)| *count > 0)
        .filter_map(|(glass, count)| job.glasses.get(glass).map(|glass| (glass, count)))
        .filter(|(glass, _)| !listed.contains(glass.code.as_str()))
        .map(|(glass, count)| Finding {
            file: stock_name.into(),
            place: format!("glass {}", glass.code),
            found: listed_text.clone(),
            expected: format!(
                "a sheet or offcut of {} for the {count} pieces of it in {job_name}",
                glass.code
            ),
            hint: "add a sheet on hand or to buy, or correct the glass code".into(),
        })
        .collect()
}
