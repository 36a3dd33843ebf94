//! Where the program writes to, and what can stop it.

use crate::Exit;
use cullet_rack::Stamp;
use std::borrow::Cow;
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
    /// Whether the run has done what it was for.
    done: bool,
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
            done: false,
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

    /// Words for the user, made harmless to a terminal. A reader that has gone away is no error; any other loss is told at the end.
    pub(crate) fn print(&mut self, words: &str) {
        self.print_data(&harmless(words));
    }

    /// Data that is read back elsewhere, as it is.
    pub(crate) fn print_data(&mut self, data: &str) {
        let written = self.out.write_all(data.as_bytes()).and_then(|()| self.out.flush());
        if let Err(error) = written
            && error.kind() != ErrorKind::BrokenPipe
        {
            self.lost.get_or_insert(error);
            if self.done {
                // What became of the user's glass is told all the same.
                self.say_raw(data);
            }
        }
    }

    /// The rack has been changed: from now on the run succeeds even if it cannot say so.
    pub(crate) fn done(&mut self) {
        self.done = true;
    }

    /// One message with its line end.
    pub(crate) fn say(&mut self, message: &dyn Display) {
        self.say_raw(&format!("{message}\n"));
    }

    /// Messages have nowhere else to go when standard error is gone, so a failure here is let pass.
    pub(crate) fn say_raw(&mut self, message: &str) {
        let _ = self.err.write_all(harmless(message).as_bytes());
    }

    /// Flushes, and turns lost data into an exit code of its own unless there is a worse one.
    pub(crate) fn close(&mut self, exit: Exit) -> Exit {
        if let Err(error) = self.out.flush()
            && error.kind() != ErrorKind::BrokenPipe
        {
            self.lost.get_or_insert(error);
        }
        match self.lost.take() {
            Some(error) if self.done => {
                self.say(&format_args!(
                    "standard output could not be written ({error}); it was done all the same"
                ));
                exit
            }
            Some(error) if exit == Exit::Done => {
                self.say(&format_args!("standard output: could not be written ({error})"));
                Exit::CannotWrite
            }
            _ => exit,
        }
    }
}

/// Text without what moves a terminal's cursor, changes its colours or turns the direction of writing: such characters are
/// shown by their numbers. Glass codes, places and file names come from others.
fn harmless(text: &str) -> Cow<'_, str> {
    let turns =
        |c: char| matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let is_harmful = |c: char| turns(c) || (c.is_control() && !matches!(c, '\n' | '\t'));
    if !text.contains(is_harmful) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_harmful(c) {
            shown.extend(c.escape_unicode());
        } else {
            shown.push(c);
        }
    }
    Cow::Owned(shown)
}

#[cfg(test)]
mod tests {
    use super::harmless;

    #[test]
    fn what_moves_a_terminal_is_shown_by_its_number() {
        assert_eq!(harmless("a\u{1b}[2Jb\r\n\tc"), "a\\u{1b}[2Jb\\u{d}\n\tc");
        assert_eq!(harmless("\u{202e}gnp.exe\u{9b}"), "\\u{202e}gnp.exe\\u{9b}");
        assert_eq!(harmless("12 × 8 m², Größe"), "12 × 8 m², Größe");
    }
}
