//! `cullet compare`: plans the job under each choice with the same effort, verifies every plan, and only then writes.

use super::plan::{progress_bar, verified};
use crate::folder::{COMPARISON, Folder, Holds, goes_with};
use crate::reading::{self, Inputs};
use crate::request::{CompareRequest, Glass};
use crate::writing::{Care, Kind, marked};
use crate::{Exit, Session, shop};
use cullet_job::{ChoiceFile, Finding, Findings, ReadWith, Shop};
use cullet_output::comparison;
use cullet_plan::compare::{self, Case, Outcome};
use cullet_rack::RackError;
use std::thread::available_parallelism;

/// Heading of the first column.
const AS_IT_STANDS: &str = "as it stands";

pub(super) fn compare(request: &CompareRequest, session: &mut Session<'_>) -> Exit {
    let shop = match shop::read(&request.job, &request.shop) {
        Ok(shop) => shop,
        Err(findings) => return super::rack_error(&RackError::Input(findings), session),
    };
    let read = read(request, shop.as_ref());
    let (Glass::List(glass) | Glass::Rack(glass)) = &request.glass;
    let care = Care::new([&request.job, glass], request.replace);
    let folder = Folder::examine(&request.out, Holds::Comparison, care);
    let (ToCompare { choices, left_out }, mut folder) = match (read, folder) {
        (Ok(read), Ok(folder)) => (read, folder),
        (Err(RackError::Input(Findings(read))), Err(Findings(folder))) => {
            return super::rack_error(&RackError::Input(Findings([read, folder].concat())), session);
        }
        (Err(error), _) => return super::rack_error(&error, session),
        (_, Err(findings)) => return super::rack_error(&RackError::Input(findings), session),
    };
    let drawings = choices.iter().flat_map(|(_, inputs)| &inputs.job.drawings);
    folder.reads(drawings.map(|drawing| &drawing.file));
    folder.reads(shop.iter().map(Shop::file));
    if let Err(error) = folder.begin() {
        return super::not_written(&error, session);
    }
    let Some(outcomes) = search(request, &choices, session) else {
        session.say(&"stopped before every choice was planned once; nothing was written");
        return Exit::Interrupted;
    };
    if session.cancelled() {
        session.say(&format_args!(
            "stopped early: each choice was planned {} times instead of {}",
            outcomes[0].runs.len(),
            request.seeds
        ));
    }
    // A choice of which nothing can be made has no plan to verify.
    for outcome in outcomes.iter().filter(|outcome| !outcome.plan.pieces.is_empty()) {
        if let Err(faults) = verified(&outcome.plan) {
            session.say(&format_args!(
                "internal fault: the plan of \"{}\" fails its check; nothing was written. Please report it with the job file.",
                outcome.name
            ));
            faults.iter().for_each(|fault| session.say(fault));
            return Exit::Internal;
        }
    }
    let exit = write(request, &outcomes, &left_out, folder, session);
    if exit == Exit::Done {
        let notes = choices
            .first()
            .into_iter()
            .flat_map(|(_, inputs)| &inputs.job.job.notes);
        notes.for_each(|note| session.print(&format!("{note}\n")));
    }
    exit
}

/// What is to be planned.
struct ToCompare {
    /// The job as it stands and under every choice, each with its glass.
    choices: Vec<(String, Inputs)>,
    /// Why the other choices are left out.
    left_out: Vec<Finding>,
}

/// Reads the job under every choice; all that is wrong at once. A choice whose drawings cannot be built is left out, as long as
/// there is another.
fn read(request: &CompareRequest, shop: Option<&Shop>) -> Result<ToCompare, RackError> {
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
        return Err(RackError::Input(Findings(vec![nothing_to_try(request)])));
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
            Err(RackError::Input(Findings(found))) => match cannot_be_built(request, &choice, &found, &drawings) {
                Some(reason) => left_out.push(reason),
                None => findings.extend(found),
            },
            Err(error) => return Err(error),
        }
    }
    if !findings.is_empty() || read.len() == 1 {
        findings.append(&mut left_out);
        return Err(RackError::Input(Findings(findings)));
    }
    Ok(ToCompare {
        choices: read,
        left_out,
    })
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

fn search(request: &CompareRequest, choices: &[(String, Inputs)], session: &Session<'_>) -> Option<Vec<Outcome>> {
    let cases: Vec<Case<'_>> = choices
        .iter()
        .map(|(name, inputs)| Case {
            name,
            job: &inputs.job.job,
            stock: &inputs.stock,
        })
        .collect();
    let threads = match request.threads {
        0 => available_parallelism().map_or(1, usize::from),
        threads => threads,
    };
    let bar = progress_bar(session.draw_progress());
    bar.set_message("planning every choice");
    let show = |share: f64| bar.set_position((share.clamp(0.0, 1.0) * 1000.0) as u64);
    let outcomes = compare::compare(&cases, request.effort, request.seeds, threads, session.cancel(), &show);
    bar.finish_and_clear();
    outcomes
}

fn write(
    request: &CompareRequest,
    outcomes: &[Outcome],
    left_out: &[Finding],
    folder: Folder,
    session: &mut Session<'_>,
) -> Exit {
    let table = match comparison::csv(outcomes, request.signs) {
        Ok(table) => table,
        Err(error) => {
            session.say(&format_args!("internal fault: {error}; nothing was written"));
            return Exit::Internal;
        }
    };
    let page = comparison::page(outcomes, left_out) + &goes_with(table.as_bytes());
    let files = [marked(&page, Kind::Markup), table];
    let files: Vec<(String, String)> = COMPARISON.iter().map(|name| (*name).to_owned()).zip(files).collect();
    if let Err(error) = folder.write(&files) {
        return super::not_written(&error, session);
    }
    session.print(&comparison::text(outcomes, left_out));
    session.print(&format!(
        "\nWritten to {}: compare.html with the sheets of every choice, compare.csv\n",
        request.out.display()
    ));
    session.print("Safety glazing in doors and other hazardous places: local code and the authority having jurisdiction decide.\n");
    Exit::Done
}
