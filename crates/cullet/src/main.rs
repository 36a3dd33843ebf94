//! The program: hands its arguments to the library and exits with its code.

use cullet::{Session, give_up, run};
use std::io::{IsTerminal, Write, stderr, stdout};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

fn main() -> ExitCode {
    let cancel = Arc::new(AtomicBool::new(false));
    stop_on_ctrl_c(Arc::clone(&cancel));
    // Standard error is not locked: the progress bar writes to it from the searching threads.
    let (mut out, mut err) = (stdout().lock(), stderr());
    let mut session = Session::new(&mut out, &mut err, &cancel)
        .with_progress(stderr().is_terminal())
        .with_who(&who());
    run(std::env::args_os(), &mut session).into()
}

/// The name that somebody is logged in by.
fn who() -> String {
    let known = ["USER", "LOGNAME", "USERNAME"]
        .iter()
        .find_map(|name| std::env::var(name).ok());
    known.unwrap_or_default()
}

/// The first Ctrl-C asks for the best plan so far, the second gives up at once unless files are being put in place.
fn stop_on_ctrl_c(cancel: Arc<AtomicBool>) {
    let handler = move || {
        if cancel.swap(true, Ordering::Relaxed) {
            give_up();
        }
    };
    if let Err(error) = ctrlc::set_handler(handler) {
        let _ = writeln!(stderr(), "Ctrl-C will end the program without a plan ({error})");
    }
}
