//! `cullet new`: starts a job from drawings or a piece list, or an example to fill in.

use super::refused;
use crate::arguments::{NewArguments, all_of};
use crate::{Exit, Session};
use cullet_job::{Finding, Findings};
use cullet_workshop::Error;
use cullet_workshop::start::{StartRequest, Started, Written, is_list};
use std::path::Path;

pub(super) fn new(asked: &NewArguments, session: &mut Session<'_>) -> Exit {
    let request = StartRequest {
        folder: asked.folder.clone(),
        files: asked.files.clone(),
        unit_mm: asked.unit_mm,
        part: all_of(&asked.part),
        shop: asked.shop.which(),
    };
    match Started::read(&request).and_then(Started::write) {
        Ok(written) => {
            session.print(&words(&asked.folder, &written));
            Exit::Done
        }
        Err(error) => {
            let exit = refused(&error, session);
            if let Error::Input(Findings(findings)) = &error {
                session.say(&how_to_go_on(asked, findings));
            }
            exit
        }
    }
}

/// What to do where nothing was written.
fn how_to_go_on(asked: &NewArguments, findings: &[Finding]) -> String {
    let mut words = "Nothing was written. Put that right, then start the job again.".to_owned();
    let faulty = asked.files.iter().filter(|path| path.is_file() && !is_list(path));
    for path in faulty {
        let name = path.display().to_string();
        if findings.iter().any(|finding| finding.file == name) {
            let marked = path.with_extension("marked.svg");
            words += &format!("\nTo see every place: cullet drawing {name} --out {}", marked.display());
        }
    }
    words
}

/// What was written, what to look at, and what comes next.
fn words(folder: &Path, written: &Written) -> String {
    let (job, stock) = (written.job.display(), written.stock.display());
    let out = folder.join("plan").display().to_string();
    let (has_stock, notes) = (written.had_stock, &written.notes);
    let mut words = match has_stock {
        true => format!("Written: {job} ({stock} was there and stays as it is)\n"),
        false => format!("Written: {job}, {stock}\n"),
    };
    notes.iter().for_each(|note| words += &format!("{note}\n"));
    words += match (notes.is_empty(), has_stock) {
        (true, true) => "",
        (true, false) => "The sheets in the stock list are examples: put in those that you have or can buy.\n",
        (false, true) => "Put right in the job what was assumed.\n",
        (false, false) => {
            "Put right in the job what was assumed, and in the stock list the sheets that you have or can buy.\n"
        }
    };
    words + &format!("Then plan it: cullet plan {job} --stock {stock} --out {out}\n")
}
