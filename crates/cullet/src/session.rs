//! Where the program writes to, and what can stop it.

use crate::Exit;
use cullet_rack::Stamp;
use std::fmt::Display;
use std::io::{ErrorKind, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{SystemTime, UNIX_EPOCH};

/// The surroundings of one run.
pub struct Session<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    cancel: &'a AtomicBool,
    draw_progress: bool,
    who: String,
    /// Seconds since 1970; none for the clock's.
    now: Option<i64>,
    /// Whether data was lost on its way to `out`.
    lost: Option<std::io::Error>,
}

impl<'a> Session<'a> {
    /// Data goes to `out`, messages to `err`; setting `cancel` makes the planning return its best plan so far.
    #[must_use]
    pub fn new(out: &'a mut dyn Write, err: &'a mut dyn Write, cancel: &'a AtomicBool) -> Self {
        Self {
            out,
            err,
            cancel,
            draw_progress: false,
            who: String::new(),
            now: None,
            lost: None,
        }
    }

    /// Draws a progress bar on the process's standard error while planning; for terminals.
    #[must_use]
    pub fn with_progress(mut self, draw: bool) -> Self {
        self.draw_progress = draw;
        self
    }

    /// Whose name goes down in a rack's history.
    #[must_use]
    pub fn with_who(mut self, who: &str) -> Self {
        self.who = who.to_owned();
        self
    }

    /// Goes by this time, seconds since 1970-01-01 UTC, and not by the clock.
    #[must_use]
    pub fn with_now(mut self, now: i64) -> Self {
        self.now = Some(now);
        self
    }

    /// What goes down in a rack's history with everything done now.
    pub(crate) fn stamp(&self) -> Stamp {
        let clock = || {
            let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
            i64::try_from(since.as_secs()).unwrap_or(i64::MAX)
        };
        Stamp {
            at: self.now.unwrap_or_else(clock),
            who: self.who.clone(),
        }
    }

    pub(crate) fn draw_progress(&self) -> bool {
        self.draw_progress
    }

    pub(crate) fn cancel(&self) -> &'a AtomicBool {
        self.cancel
    }

    pub(crate) fn cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }

    /// Data, as it is. A reader that has gone away is no error; any other loss is told at the end.
    pub(crate) fn print(&mut self, data: &str) {
        if let Err(error) = self.out.write_all(data.as_bytes())
            && error.kind() != ErrorKind::BrokenPipe
        {
            self.lost.get_or_insert(error);
        }
    }

    /// One message with its line end.
    pub(crate) fn say(&mut self, message: &dyn Display) {
        self.say_raw(&format!("{message}\n"));
    }

    /// Messages have nowhere else to go when standard error is gone, so a failure here is let pass.
    pub(crate) fn say_raw(&mut self, message: &str) {
        let _ = self.err.write_all(message.as_bytes());
    }

    /// Flushes, and turns lost data into an exit code of its own unless there is a worse one.
    pub(crate) fn close(&mut self, exit: Exit) -> Exit {
        if let Err(error) = self.out.flush()
            && error.kind() != ErrorKind::BrokenPipe
        {
            self.lost.get_or_insert(error);
        }
        match self.lost.take() {
            Some(error) if exit == Exit::Done => {
                self.say(&format_args!("standard output: could not be written ({error})"));
                Exit::CannotWrite
            }
            _ => exit,
        }
    }
}
