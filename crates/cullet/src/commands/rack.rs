//! `cullet rack`: keeps the rack.

mod change;
mod files;
mod show;
mod table;

use crate::arguments::RackCommand;
use crate::{Exit, Session};
use cullet_workshop::Error;
use cullet_workshop::writing::Care;

pub(super) fn rack(asked: &RackCommand, session: &mut Session<'_>) -> Exit {
    if let RackCommand::Book(asked) = asked {
        return super::book::book(asked, session);
    }
    carry_out(asked, session).unwrap_or_else(|error| super::refused(&error, session))
}

fn carry_out(asked: &RackCommand, session: &mut Session<'_>) -> Result<Exit, Error> {
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
