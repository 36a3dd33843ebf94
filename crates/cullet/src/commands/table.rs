//! `cullet table`: writes a plan's files for the cutting table, or reads one back and says whether it scores its sheet.

use super::refused;
use crate::arguments::TableFilesArguments;
use crate::{Exit, Session};
use cullet_job::counted;
use cullet_workshop::Error;
use cullet_workshop::table_files::PlanAndTable;
use std::path::Path;

pub(super) fn table(asked: &TableFilesArguments, session: &mut Session<'_>) -> Exit {
    written_or_checked(asked, session).unwrap_or_else(|error| refused(&error, session))
}

fn written_or_checked(asked: &TableFilesArguments, session: &mut Session<'_>) -> Result<Exit, Error> {
    let plan = PlanAndTable::read(&asked.plan, &asked.shop.which(), &asked.sheet)?;
    match (&asked.check, &asked.out) {
        (Some(file), _) => check(asked, file, &plan, session),
        (None, Some(out)) => write(asked, out, &plan, session),
        (None, None) => Ok(Exit::BadInput),
    }
}

/// Writes the files of the maps asked for, all of them or none.
fn write(
    asked: &TableFilesArguments,
    out: &Path,
    plan: &PlanAndTable,
    session: &mut Session<'_>,
) -> Result<Exit, Error> {
    let files = plan.files(&asked.sheet)?;
    for warning in &files.warnings {
        session.say(&format_args!("warning: {warning}"));
    }
    for (number, words) in &files.words {
        session.print(&format!("map {number}: {words}\n"));
    }
    plan.write(&files, out, asked.replace)?;
    let names: Vec<&str> = files.files.iter().map(|(name, _)| name.as_str()).collect();
    session.done();
    session.print(&format!("Written to {}: {}\n", out.display(), names.join(", ")));
    session.print(
        "Dry run above the glass first; guards and eye protection; the table's own manual decides.\nCheck the gauge line: \
         100 mm.\n",
    );
    Ok(Exit::Done)
}

/// Reads a file back and says whether it scores its map.
fn check(
    asked: &TableFilesArguments,
    file: &Path,
    plan: &PlanAndTable,
    session: &mut Session<'_>,
) -> Result<Exit, Error> {
    let checked = plan.check(file, asked.sheet.first().copied())?;
    let name = file.display();
    if checked.faults.is_empty() {
        let breaks = counted(checked.layout.breaking.steps.len(), "break");
        session.print(&format!(
            "{name}: passes: it scores map {}, {breaks}, and nothing else\n",
            checked.layout.number
        ));
        return Ok(Exit::Done);
    }
    checked.faults.iter().for_each(|fault| session.say(fault));
    session.print(&format!(
        "{name}: fails: {} named\n",
        counted(checked.faults.len(), "fault")
    ));
    Ok(Exit::DoesNotHold)
}
