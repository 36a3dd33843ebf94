//! `cullet rack book`: enters a cut plan into the rack, or takes that back.

use super::refused;
use crate::arguments::BookArguments;
use crate::{Exit, Session};
use cullet_job::Units;
use cullet_output::{caution, glass_picture, offcut_name};
use cullet_rack::{Booked, Cut, Entry, TakenBack};
use cullet_workshop::{Error, book as booking};
use std::path::Path;

pub(super) fn book(asked: &BookArguments, session: &mut Session<'_>) -> Exit {
    let done = if asked.undo {
        take_back(asked, session)
    } else {
        enter(asked, session)
    };
    match done {
        Ok(()) => Exit::Done,
        Err(error) => refused(&error, session),
    }
}

fn enter(asked: &BookArguments, session: &mut Session<'_>) -> Result<(), Error> {
    let (booked, units) = booking::book(&asked.plan, &asked.file.path, &asked.place, &session.stamp())?;
    session.done();
    session.print(&since(&booked));
    session.print(&in_words(&booked, units));
    if !booked.back.is_empty() {
        session.print(&format!("{}.\n", caution::SHARP));
    }
    Ok(())
}

fn take_back(asked: &BookArguments, session: &mut Session<'_>) -> Result<(), Error> {
    let cut = read_for_its_name(&asked.plan, session)?;
    let done = booking::take_back(&cut, &asked.file.path, &session.stamp())?;
    session.done();
    session.print(&taken_back(&done));
    Ok(())
}

/// A plan of which only the name counts; what is wrong with it is said.
pub(super) fn read_for_its_name(path: &Path, session: &mut Session<'_>) -> Result<Cut, Error> {
    let (cut, faults) = booking::read_for_its_name(path)?;
    for fault in faults {
        session.say(&format_args!("warning: {fault}"));
    }
    Ok(cut)
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
