//! `cullet rack book`: enters a cut plan into the rack, or takes that back.

use crate::arguments::BookArguments;
use crate::folder::differences;
use crate::writing::in_place;
use crate::{Exit, Session, identity, reading};
use cullet_job::{FaceFile, Finding, Findings, Units};
use cullet_output::{caution, glass_picture, offcut_name};
use cullet_plan::model::Plan;
use cullet_plan::verify::verify;
use cullet_rack::{Booked, Cut, CutSheet, Entry, Face, Rack, RackError, TakenBack};
use std::path::Path;

pub(super) fn book(asked: &BookArguments, session: &mut Session<'_>) -> Exit {
    if asked.undo {
        let cut = match read_for_its_name(&asked.plan, session) {
            Ok(cut) => cut,
            Err(findings) => {
                session.say(&findings);
                return Exit::BadInput;
            }
        };
        return match take_back(&asked.file.path, &cut, session) {
            Ok(done) => {
                session.done();
                session.print(&taken_back(&done));
                Exit::Done
            }
            Err(error) => super::rack_error(&error, session),
        };
    }
    // What goes into the rack is only what the verifier has worked out again.
    let cut = match read_verified(&asked.plan, session) {
        Ok((_, cut)) => cut,
        Err(exit) => return exit,
    };
    let putting = in_place();
    let booked = enter(&asked.file.path, &cut, asked.place.trim(), session);
    putting.done();
    match booked {
        Ok((booked, units)) => {
            session.done();
            session.print(&since(&booked));
            session.print(&in_words(&booked, units));
            if !booked.back.is_empty() {
                session.print(&format!("{}.\n", caution::SHARP));
            }
            Exit::Done
        }
        Err(error) => super::rack_error(&error, session),
    }
}

/// Books it; also the unit in which the rack is read.
pub(super) fn enter(path: &Path, cut: &Cut, place: &str, session: &Session<'_>) -> Result<(Booked, Units), RackError> {
    let mut rack = Rack::open(path)?;
    let units = rack.units()?;
    Ok((rack.book(cut, place, &session.stamp())?, units))
}

fn take_back(rack: &Path, cut: &Cut, session: &Session<'_>) -> Result<TakenBack, RackError> {
    let mut rack = Rack::open(rack)?;
    let plan = rack.name_of(cut)?;
    let putting = in_place();
    let done = rack.take_back(&plan, &session.stamp());
    putting.done();
    done
}

/// All that is wrong with the plan at `path`, a line each: what the verifier finds, and files beside it that are not its own.
pub(super) fn faults(path: &Path, plan: &Plan) -> Vec<String> {
    let faults = verify(plan).into_iter().map(|fault| super::fault_in_words(&fault));
    let beside = differences(path, plan).into_iter().map(|what| format!("files: {what}"));
    let lines = faults.chain(beside);
    lines.map(|line| format!("{}: {line}", path.display())).collect()
}

/// A plan that holds, as the rack that it was made on sees it; otherwise everything against it is said.
pub(super) fn read_verified(path: &Path, session: &mut Session<'_>) -> Result<(Plan, Cut), Exit> {
    let (plan, cut) = read(path).map_err(|findings| {
        session.say(&findings);
        Exit::BadInput
    })?;
    let faults = faults(path, &plan);
    if faults.is_empty() {
        return Ok((plan, cut));
    }
    faults.iter().for_each(|fault| session.say(fault));
    session.say(&"the plan fails its check; nothing was written or booked");
    Err(Exit::DoesNotHold)
}

/// A plan of which only the name counts: what it was booked or held under. What is wrong with it is said, and does not keep
/// anybody from taking back what an earlier version of the program let pass.
pub(super) fn read_for_its_name(path: &Path, session: &mut Session<'_>) -> Result<Cut, Findings> {
    let (plan, cut) = read(path)?;
    for fault in faults(path, &plan) {
        session.say(&format_args!("warning: {fault}"));
    }
    Ok(cut)
}

/// A plan that was made on a rack, as that rack sees it.
fn read(path: &Path) -> Result<(Plan, Cut), Findings> {
    let (plan, digest) = reading::plan(path)?;
    match cut(&plan) {
        // Plans that list no files were booked under a digest of their text.
        Some(cut) if plan.files.is_empty() => {
            let formerly = Some(digest);
            Ok((plan, Cut { formerly, ..cut }))
        }
        Some(cut) => Ok((plan, cut)),
        None => Err(Findings(vec![Finding {
            file: path.display().to_string(),
            place: "field \"rack\"".into(),
            found: "a plan that was made from a stock list".into(),
            expected: "a plan that was made with --rack".into(),
            hint: "Import the list into a rack (cullet rack import) and plan from that.".into(),
        }])),
    }
}

/// What a plan does to the rack that it was made on; none for a plan from a stock list.
pub(super) fn cut(plan: &Plan) -> Option<Cut> {
    let made_on = plan.rack.clone()?;
    let face = |glass: &str| {
        let glass = plan.job.glasses.iter().find(|known| known.code == glass)?;
        Some(match glass.scored_face {
            FaceFile::Show => Face::Show,
            FaceFile::Back => Face::Back,
        })
    };
    let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
    let sheets = layouts.map(|layout| CutSheet {
        number: layout.number,
        stock: layout.stock.clone(),
        scored_face: face(&layout.stock.glass),
        used: layout.figures.used,
        returned: layout.returned.clone(),
    });
    Some(Cut {
        plan: identity::of(plan),
        formerly: None,
        job: plan.job.name.clone(),
        made_on,
        sheets: sheets.collect(),
    })
}

/// What was done at the rack since the plan was made, and that it does not matter: otherwise nothing was booked.
pub(super) fn since(booked: &Booked) -> String {
    if booked.since.is_empty() {
        return String::new();
    }
    let mut text = String::from("Since the plan was made:\n");
    for entry in &booked.since {
        text += &format!("  {}\n", entry_in_words(entry));
    }
    if booked.differs.is_empty() {
        text += "None of it concerns the glass of this plan.\n";
    }
    for (tag, what) in &booked.differs {
        text += &format!(
            "{tag} now has another {}; the plan is not affected.\n",
            what.join(" and ")
        );
    }
    text
}

/// One entry of the history on a line.
pub(super) fn entry_in_words(entry: &Entry) -> String {
    let mut text = format!("{} {} {}", entry.number, entry.at, entry.kind);
    if !entry.note.is_empty() {
        text += &format!(" {}", entry.note);
    }
    if !entry.who.is_empty() {
        text += &format!(", by {}", entry.who);
    }
    if let Some(plan) = &entry.plan {
        text += &format!(", plan {plan}");
    }
    text
}

pub(super) fn in_words(booked: &Booked, units: Units) -> String {
    let mut text = format!("Booked as entry {}\n", booked.entry);
    for (sheet, tag, bought) in &booked.out {
        text += &format!("map {sheet}: out {tag}");
        if let Some(line) = bought {
            text += &format!(", bought as {line}");
        }
        text.push('\n');
        let back = booked.back.iter().filter(|(of, _)| of == sheet);
        for (n, (_, offcut)) in back.enumerate() {
            text += &format!(
                "map {sheet}: keep {} → {}\n",
                offcut_name(*sheet, n),
                glass_picture::in_words(offcut, units)
            );
        }
    }
    if !booked.back.is_empty() {
        text += "Write the tags on the offcuts, or print labels with cullet rack labels.\n";
    }
    text
}

fn taken_back(done: &TakenBack) -> String {
    let list = |tags: &[String]| match tags {
        [] => "none".to_owned(),
        tags => tags.join(", "),
    };
    format!(
        "Booking undone. On the rack again: {}\nTags withdrawn for good: {}\n",
        list(&done.again),
        list(&done.withdrawn)
    )
}
