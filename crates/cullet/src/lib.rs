//! The command line of Cullet, as a library so that tests can run it in process.
//!
//! # What it is for
//! [`run`] takes the arguments and a [`Session`] (where to write, whether to stop, whether to draw progress) and returns the
//! [`Exit`] code. It goes in two stages: `arguments` is what was typed, `request` is what is asked for once that has been
//! checked; `commands` does it.
//!
//! # Where things go
//! Data on standard output, everything else on standard error. Files only through `cullet-workshop`.
//!
//! # What it must not know
//! How a job is read, planned, written or booked: `cullet-workshop` does that, and the commands say what came of it.
//!
//! # Example
//! ```
//! use cullet::{Exit, Session, run};
//! use std::sync::atomic::AtomicBool;
//!
//! let (mut out, mut err, cancel) = (Vec::new(), Vec::new(), AtomicBool::new(false));
//! let mut session = Session::new(&mut out, &mut err, &cancel);
//! let exit = run(["cullet", "plan", "missing.json", "--stock", "missing.csv", "--out", "window"], &mut session);
//! drop(session);
//! assert_eq!(exit, Exit::BadInput);
//! assert!(String::from_utf8(err)?.contains("missing.json"));
//! # Ok::<(), std::string::FromUtf8Error>(())
//! ```

mod arguments;
mod commands;
mod exit;
mod request;
mod session;

pub use exit::Exit;
pub use session::Session;

use clap::Parser;
use std::ffi::OsString;

/// Runs the program with `args` (the first is its own name) and returns the code it should exit with.
pub fn run<I, T>(args: I, session: &mut Session<'_>) -> Exit
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let typed = match arguments::Arguments::try_parse_from(args) {
        Ok(typed) => typed,
        Err(refused) => return answer_to_typing(&refused, session),
    };
    let asked = match request::Request::from_typed(typed) {
        Ok(asked) => asked,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let exit = commands::carry_out(&asked, session);
    session.close(exit)
}

/// Ends the process with exit code 130, unless something has been put in place: then the run goes on to its end, which is near.
pub fn give_up() {
    cullet_workshop::writing::give_up(|| std::process::exit(i32::from(Exit::Interrupted as u8)));
}

/// Help and version are answers on standard output; a mistyped command line is bad input.
fn answer_to_typing(refused: &clap::Error, session: &mut Session<'_>) -> Exit {
    let text = refused.render();
    if refused.use_stderr() {
        session.say_raw(&text.to_string());
        Exit::BadInput
    } else {
        session.print(&text.to_string());
        session.close(Exit::Done)
    }
}
