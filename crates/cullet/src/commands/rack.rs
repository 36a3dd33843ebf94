//! `cullet rack`: keeps the rack.

mod change;
mod files;
mod show;
mod table;

use crate::arguments::RackCommand;
use crate::writing::{Care, NotWritten};
use crate::{Exit, Session};
use cullet_rack::RackError;

/// What stopped a command: the rack, or a file that was not written.
enum Stopped {
    Rack(RackError),
    NotWritten(NotWritten),
}

impl From<NotWritten> for Stopped {
    fn from(error: NotWritten) -> Self {
        Self::NotWritten(error)
    }
}

impl From<RackError> for Stopped {
    fn from(error: RackError) -> Self {
        Self::Rack(error)
    }
}

impl From<cullet_job::Findings> for Stopped {
    fn from(findings: cullet_job::Findings) -> Self {
        Self::Rack(RackError::Input(findings))
    }
}

pub(super) fn rack(asked: &RackCommand, session: &mut Session<'_>) -> Exit {
    if let RackCommand::Book(asked) = asked {
        return super::book::book(asked, session);
    }
    match carry_out(asked, session) {
        Ok(exit) => exit,
        Err(Stopped::Rack(error)) => super::rack_error(&error, session),
        Err(Stopped::NotWritten(error)) => super::not_written(&error, session),
    }
}

fn carry_out(asked: &RackCommand, session: &mut Session<'_>) -> Result<Exit, Stopped> {
    match asked {
        RackCommand::Add(asked) => change::add(asked, session)?,
        RackCommand::Correct(asked) => change::correct(asked, session)?,
        RackCommand::ThrowAway { file, tags, why } => change::throw_away(file, tags, why, session)?,
        RackCommand::Release { file, plan, holding } => {
            change::release(file, plan.as_deref(), holding.as_deref(), session)?;
        }
        RackCommand::List { file, glass, all } => show::list(file, glass.as_deref(), *all, session)?,
        RackCommand::Find {
            file,
            glass,
            size,
            units,
            most,
        } => show::find(file, glass.as_deref(), (size, *units), *most, session)?,
        RackCommand::Show {
            file,
            tag,
            out,
            replace,
        } => {
            let care = Care::new([&file.path], *replace);
            show::show(file, tag, out.as_deref(), &care, session)?;
        }
        RackCommand::History { file, tag, most } => show::history(file, tag.as_deref(), *most, session)?,
        RackCommand::Units { file, units } => change::units(file, *units, session)?,
        RackCommand::Audit { file } => return show::audit(file, session),
        RackCommand::Import { file, list } => files::import(file, list, session)?,
        RackCommand::Export {
            file,
            list,
            tables,
            replace,
        } => {
            let care = Care::new([&file.path], *replace);
            files::export(file, list.as_deref(), tables.signs(), &care, session)?;
        }
        RackCommand::Labels {
            file,
            tags,
            out,
            paper,
            replace,
        } => {
            let care = Care::new([&file.path], *replace);
            files::labels(file, tags, (out, &care), *paper, session)?;
        }
        // Done above: it has exit codes of its own.
        RackCommand::Book(_) => {}
        RackCommand::Backup { file, copy } => files::backup(file, copy, session)?,
    }
    Ok(Exit::Done)
}
