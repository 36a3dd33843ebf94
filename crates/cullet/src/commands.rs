//! The commands: each takes a checked request and does it.

mod check;
mod plan;

use crate::arguments::Arguments;
use crate::request::Request;
use crate::{Exit, Session};
use clap::CommandFactory;
use clap_complete::Shell;
use cullet_job::JobFile;
use cullet_plan::verify::Fault;

/// Does what is asked for.
pub(crate) fn carry_out(asked: &Request, session: &mut Session<'_>) -> Exit {
    match asked {
        Request::Plan(request) => plan::plan(request, session),
        Request::Check { plan } => check::check(plan, session),
        Request::Schema => schema(session),
        Request::Completions { shell } => completions(*shell, session),
        Request::Man => man(session),
    }
}

fn schema(session: &mut Session<'_>) -> Exit {
    match serde_json::to_string_pretty(&schemars::schema_for!(JobFile)) {
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

fn man(session: &mut Session<'_>) -> Exit {
    let mut page = vec![];
    match clap_mangen::Man::new(Arguments::command()).render(&mut page) {
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

/// A fault of a plan on one line.
fn fault_in_words(fault: &Fault) -> String {
    match fault.sheet {
        0 => format!("{}: {}", fault.place, fault.what),
        sheet => format!("sheet {sheet}, {}: {}", fault.place, fault.what),
    }
}
