//! A job under several choices: read, planned with the same effort, verified, written side by side.

use crate::Error;
use crate::folder::names::COMPARISON;
use crate::folder::{Folder, Holds, goes_with};
use crate::plan::verified;
use crate::reading::{self, Glass, Inputs};
use crate::shop::{self, WhichShop};
use crate::writing::{Care, Kind, marked};
use cullet_job::{ChoiceFile, Finding, Findings, ReadWith, Shop};
use cullet_model::Effort;
use cullet_output::comparison;
use cullet_planner::compare::{self, Case, Outcome};
use cullet_rack::Signs;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::thread::available_parallelism;

/// Heading of the first column.
const AS_IT_STANDS: &str = "as it stands";
/// How long each run of a comparison takes when nothing is said, seconds: four choices of the demo job, three runs each, are
/// done within a minute on two cores.
pub const DEFAULT_SECONDS_OF_A_RUN: f64 = 5.0;

/// Choices to compare.
#[derive(Debug, Clone)]
pub struct CompareRequest {
    /// The job file or piece list.
    pub job: PathBuf,
    /// Its shop file.
    pub shop: WhichShop,
    /// What it is cut from.
    pub glass: Glass,
    /// Choices by their names or as they are typed; empty for all that the job names.
    pub tries: Vec<String>,
    /// The folder to write to.
    pub out: PathBuf,
    /// Whether files there that are not the program's may be written over.
    pub replace: bool,
    /// Of each run.
    pub effort: Effort,
    /// Runs of each choice.
    pub seeds: u32,
    /// 0: one for each core.
    pub threads: usize,
    /// The signs of the table that is written.
    pub signs: Signs,
}

/// A job that was read under every choice, with the folder to write to.
#[derive(Debug)]
pub struct Ready {
    request: CompareRequest,
    /// The job as it stands and under every choice, each with its glass.
    choices: Vec<(String, Inputs)>,
    /// Why the other choices are left out.
    left_out: Vec<Finding>,
    folder: Folder,
}

impl Ready {
    /// Reads the job under every choice and changes nothing.
    ///
    /// # Errors
    /// All that is wrong with the job, the choices, the glass and the folder, at once. A choice whose drawings cannot be built is left
    /// out, as long as there is another.
    pub fn read(request: CompareRequest) -> Result<Self, Error> {
        let shop = shop::read(&request.job, &request.shop)?;
        let read = read(&request, shop.as_ref());
        let care = Care::new([request.job.as_path(), request.glass.file()], request.replace);
        let folder = Folder::examine(&request.out, Holds::Comparison, care);
        let ((choices, left_out), mut folder) = match (read, folder) {
            (Ok(read), Ok(folder)) => (read, folder),
            (Err(error), Err(folder)) => return Err(error.and(folder)),
            (Err(error), _) => return Err(error),
            (_, Err(folder)) => return Err(folder.into()),
        };
        let drawings = choices.iter().flat_map(|(_, inputs)| &inputs.job.drawings);
        folder.reads(drawings.map(|drawing| &drawing.file));
        folder.reads(shop.iter().map(Shop::file));
        Ok(Self {
            request,
            choices,
            left_out,
            folder,
        })
    }

    /// What was asked for.
    #[must_use]
    pub fn request(&self) -> &CompareRequest {
        &self.request
    }

    /// What was read into the job from elsewhere, a line each.
    pub fn notes(&self) -> impl Iterator<Item = &String> {
        let first = self.choices.first();
        first.into_iter().flat_map(|(_, inputs)| &inputs.job.job.notes)
    }

    /// Why choices are left out.
    #[must_use]
    pub fn left_out(&self) -> &[Finding] {
        &self.left_out
    }

    /// Makes the folder and takes it for this run.
    ///
    /// # Errors
    /// A folder that another run is writing to, or that cannot be written.
    pub fn begin(&mut self) -> Result<(), Error> {
        Ok(self.folder.begin()?)
    }

    /// Plans every choice with every seed. `show` takes the share that is done, 0 to 1.
    ///
    /// # Errors
    /// Stopped before every choice was planned once.
    pub fn search(&self, cancel: &AtomicBool, show: &(dyn Fn(f64) + Sync)) -> Result<Vec<Outcome>, Error> {
        let cases: Vec<Case<'_>> = self
            .choices
            .iter()
            .map(|(name, inputs)| Case {
                name,
                job: &inputs.job.job,
                stock: &inputs.stock,
            })
            .collect();
        let threads = match self.request.threads {
            0 => available_parallelism().map_or(1, usize::from),
            threads => threads,
        };
        let outcomes = compare::compare(&cases, self.request.effort, self.request.seeds, threads, cancel, show);
        outcomes.ok_or(Error::Stopped("every choice was planned once"))
    }

    /// Verifies every plan, then writes the page and the table.
    ///
    /// # Errors
    /// A plan that fails its check, a file in the way, or a disk that does not take them.
    pub fn write(self, outcomes: &[Outcome]) -> Result<(), Error> {
        // A choice of which nothing can be made has no plan to verify.
        for outcome in outcomes.iter().filter(|outcome| !outcome.plan.pieces.is_empty()) {
            verified(&outcome.plan, &format!("the plan of \"{}\"", outcome.name))?;
        }
        let table = comparison::csv(outcomes, self.request.signs).map_err(|error| Error::Fault(error.to_string()))?;
        let page = comparison::page(outcomes, &self.left_out) + &goes_with(table.as_bytes());
        let files = [marked(&page, Kind::Markup), table];
        let files: Vec<(String, String)> = COMPARISON.iter().map(|name| (*name).to_owned()).zip(files).collect();
        self.folder.write(&files)?;
        Ok(())
    }
}

type Read = (Vec<(String, Inputs)>, Vec<Finding>);

fn read(request: &CompareRequest, shop: Option<&Shop>) -> Result<Read, Error> {
    let with = ReadWith { shop, choice: None };
    let plain = reading::inputs(&request.job, &request.glass, with)?;
    let job = &plain.job.job;
    let choices: Vec<Result<ChoiceFile, Findings>> = match request.tries.as_slice() {
        [] => job.source.choices.iter().cloned().map(Ok).collect(),
        typed => typed
            .iter()
            .map(|asked| reading::choice(&request.job, job, asked))
            .collect(),
    };
    if choices.is_empty() {
        return Err(nothing_to_try(request).into());
    }
    let drawings: Vec<String> = plain.job.drawings.iter().map(|drawing| drawing.file.clone()).collect();
    let (mut read, mut left_out, mut findings) = (vec![(AS_IT_STANDS.to_owned(), plain)], vec![], vec![]);
    for choice in choices {
        let choice = match choice {
            Ok(choice) => choice,
            Err(Findings(found)) => {
                findings.extend(found);
                continue;
            }
        };
        let with = ReadWith {
            choice: Some(&choice),
            ..with
        };
        match reading::inputs(&request.job, &request.glass, with) {
            Ok(inputs) => read.push((choice.name, inputs)),
            Err(Error::Input(Findings(found))) => match cannot_be_built(request, &choice, &found, &drawings) {
                Some(reason) => left_out.push(reason),
                None => findings.extend(found),
            },
            Err(error) => return Err(error),
        }
    }
    if !findings.is_empty() || read.len() == 1 {
        findings.append(&mut left_out);
        return Err(Findings(findings).into());
    }
    Ok((read, left_out))
}

/// All that was found under a choice as one reason, where it lies in the drawings: as the job stands they can be built.
fn cannot_be_built(
    request: &CompareRequest,
    choice: &ChoiceFile,
    found: &[Finding],
    drawings: &[String],
) -> Option<Finding> {
    let is_of_choice = |finding: &Finding| finding.place.starts_with("choice ");
    let first = found.iter().find(|finding| drawings.contains(&finding.file))?;
    (!found.iter().any(is_of_choice)).then(|| Finding {
        file: request.job.display().to_string(),
        place: format!("choice {}", choice.name),
        found: format!(
            "a drawing that cannot be built that way ({}, {}: {}{})",
            first.file,
            first.place,
            first.found,
            match found.len() - 1 {
                0 => String::new(),
                more => format!(", and {more} more"),
            }
        ),
        expected: first.expected.clone(),
        hint: format!(
            "Are its sizes in the job's units? cullet plan --choice \"{}\" says all that is wrong.",
            choice.name
        ),
    })
}

fn nothing_to_try(request: &CompareRequest) -> Finding {
    Finding {
        file: request.job.display().to_string(),
        place: "choices".into(),
        found: "none, and no --try".into(),
        expected: "something to compare the job with".into(),
        hint: "Type one, such as --try CLEAR6=CLEAR5, or name some under \"choices\" in the job file.".into(),
    }
}
