//! The commands: each takes a checked request and does it.

mod book;
mod check;
mod compare;
mod drawing;
mod help;
mod job;
mod new;
mod open;
mod plan;
mod rack;
mod recut;
mod table;

use crate::arguments::{Arguments, JobCommand, SchemaOf};
use crate::request::Request;
use crate::{Exit, Session};
use clap::CommandFactory;
use clap_complete::Shell;
use cullet_job::{Job, Shop};
use cullet_workshop::Error;

/// Does what is asked for.
pub(crate) fn carry_out(asked: &Request, session: &mut Session<'_>) -> Exit {
    match asked {
        Request::Plan(request) => plan::plan(request, session),
        Request::New(asked) => new::new(asked, session),
        Request::Open(asked) => open::open(asked, session),
        Request::Job(JobCommand::Upgrade(asked)) => job::upgrade(asked, session),
        Request::Compare(request) => compare::compare(request, session),
        Request::Check { plan } => check::check(plan, session),
        Request::Drawing(asked) => drawing::drawing(asked, session),
        Request::Book(asked) => book::book(asked, session),
        Request::Recut(asked) => recut::recut(asked, session),
        Request::Rack(asked) => rack::rack(asked, session),
        Request::Help(about) => help::help(about, session),
        Request::Table(asked) => table::table(asked, session),
        Request::Schema(of) => schema(*of, session),
        Request::Completions { shell } => completions(*shell, session),
        Request::Man { command } => man(command.as_deref(), session),
    }
}

fn schema(of: SchemaOf, session: &mut Session<'_>) -> Exit {
    let schema = match of {
        SchemaOf::Job => Job::schema(),
        SchemaOf::Shop => Shop::schema(),
    };
    match serde_json::to_string_pretty(&schema) {
        Ok(text) => {
            session.print(&(text + "\n"));
            Exit::Done
        }
        Err(error) => {
            session.say(&format_args!(
                "internal fault: the schema cannot be written as JSON ({error})"
            ));
            Exit::Internal
        }
    }
}

fn completions(shell: Shell, session: &mut Session<'_>) -> Exit {
    let mut script = vec![];
    clap_complete::generate(shell, &mut Arguments::command(), "cullet", &mut script);
    session.print(&String::from_utf8_lossy(&script));
    Exit::Done
}

fn man(command: Option<&str>, session: &mut Session<'_>) -> Exit {
    let mut page = vec![];
    match clap_mangen::Man::new(explained(command)).render(&mut page) {
        Ok(()) => {
            session.print(&String::from_utf8_lossy(&page));
            Exit::Done
        }
        Err(error) => {
            session.say(&format_args!(
                "internal fault: the manual page cannot be made ({error})"
            ));
            Exit::Internal
        }
    }
}

/// The whole program, or one command under its full name.
fn explained(command: Option<&str>) -> clap::Command {
    let mut whole = Arguments::command();
    whole.build();
    match command.and_then(|name| whole.find_subcommand(name)) {
        Some(command) => command.clone().version(env!("CARGO_PKG_VERSION")),
        None => whole,
    }
}

/// Says why it was not done, and with which code that ends.
fn refused(error: &Error, session: &mut Session<'_>) -> Exit {
    match error {
        Error::Input(findings) => {
            session.say(findings);
            Exit::BadInput
        }
        Error::Taken(findings) => {
            session.say(findings);
            Exit::Taken
        }
        Error::CannotWrite(words) => {
            session.say(words);
            Exit::CannotWrite
        }
        Error::DoesNotHold(faults) => {
            faults.iter().for_each(|fault| session.say(fault));
            session.say(&"the plan fails its check; nothing was written or booked");
            Exit::DoesNotHold
        }
        Error::Internal { faults, .. } => {
            session.say(&format_args!(
                "{error}; nothing was written. Please report it with the job file or plan."
            ));
            faults.iter().for_each(|fault| session.say(fault));
            Exit::Internal
        }
        Error::Fault(_) => {
            session.say(&format_args!(
                "{error}; nothing was written. Please report it with the job file or plan."
            ));
            Exit::Internal
        }
        Error::Stopped(_) => {
            session.say(&format_args!("{error}; nothing was written"));
            Exit::Interrupted
        }
    }
}
