//! `cullet job upgrade`: rewrites a job file of an earlier format, touching only what changed.

use crate::arguments::UpgradeArguments;
use crate::{Exit, Session};
use cullet_workshop::reading;
use cullet_workshop::writing::{Care, NotWritten, cannot_write, in_place};

pub(super) fn upgrade(asked: &UpgradeArguments, session: &mut Session<'_>) -> Exit {
    match rewritten(asked) {
        Ok(words) => {
            session.print(&words);
            Exit::Done
        }
        Err(error) => super::refused(&error.into(), session),
    }
}

fn rewritten(asked: &UpgradeArguments) -> Result<String, NotWritten> {
    let name = asked.job.display().to_string();
    let text = reading::text(&asked.job, "a job file (JSON)").map_err(NotWritten::Refused)?;
    let upgraded = cullet_job::upgrade(&name, &text).map_err(NotWritten::Refused)?;
    let out = match &asked.out {
        Some(out) => out,
        None if upgraded.changes.is_empty() => return Ok(format!("{name} is of format 2: nothing to change\n")),
        None => &asked.job,
    };
    // Where no other name is given the file itself is meant, and --replace was said.
    let inputs = asked.out.is_some().then_some(&asked.job);
    let place = Care::new(inputs, asked.replace).place(out, |_| false)?;
    let putting = in_place();
    place
        .write(upgraded.text.as_bytes())
        .map_err(|error| NotWritten::CannotWrite(cannot_write(out, &error)))?;
    putting.done();
    let mut words = format!("Written: {}\n", out.display());
    upgraded
        .changes
        .iter()
        .for_each(|change| words += &format!("{change}\n"));
    if upgraded.changes.is_empty() {
        words += "It was of format 2: nothing was changed.\n";
    }
    Ok(words)
}
