//! What a job file was before each change made on the page, for as long as the program runs and nobody else changes the file.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

/// The most steps that can be undone.
const MOST_STEPS: usize = 200;
/// The most text that is kept for one file, bytes.
const MOST_BYTES: usize = 64 << 20;

/// Of every file by its name.
#[derive(Debug, Default)]
pub(crate) struct Undo(Mutex<BTreeMap<String, Steps>>);

#[derive(Debug, Default)]
struct Steps {
    /// Texts before each change, the last one last.
    before: Vec<String>,
    /// Texts that were undone, the last one last.
    after: Vec<String>,
    /// The text that these belong to: another one was written by somebody else.
    now: String,
}

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Back,
    Forth,
}

impl Undo {
    /// A change from `old` to `new`.
    pub(crate) fn changed(&self, file: &str, old: &str, new: &str) {
        self.with(file, old, |steps| {
            steps.before.push(old.to_owned());
            steps.after.clear();
            steps.now = new.to_owned();
            while steps.before.len() > MOST_STEPS || steps.before.iter().map(String::len).sum::<usize>() > MOST_BYTES {
                steps.before.remove(0);
            }
        });
    }

    /// How many steps there are back and forth from `now`.
    pub(crate) fn count(&self, file: &str, now: &str) -> (usize, usize) {
        self.with(file, now, |steps| (steps.before.len(), steps.after.len()))
    }

    /// The text one step back or forth from `now`.
    pub(crate) fn peek(&self, file: &str, now: &str, way: Way) -> Option<String> {
        self.with(file, now, |steps| match way {
            Way::Back => steps.before.last().cloned(),
            Way::Forth => steps.after.last().cloned(),
        })
    }

    /// That step was taken.
    pub(crate) fn stepped(&self, file: &str, now: &str, way: Way) {
        self.with(file, now, |steps| {
            let (from, onto) = match way {
                Way::Back => (&mut steps.before, &mut steps.after),
                Way::Forth => (&mut steps.after, &mut steps.before),
            };
            if let Some(text) = from.pop() {
                onto.push(now.to_owned());
                steps.now = text;
            }
        });
    }

    fn with<T>(&self, file: &str, now: &str, ask: impl FnOnce(&mut Steps) -> T) -> T {
        let mut files = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let steps = files.entry(file.to_owned()).or_default();
        if steps.now != now {
            *steps = Steps {
                now: now.to_owned(),
                ..Steps::default()
            };
        }
        ask(steps)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn back_and_forth_and_no_further_than_others_have_written() {
        let undo = Undo::default();
        undo.changed("a", "1", "2");
        undo.changed("a", "2", "3");
        assert_eq!(undo.peek("a", "3", Way::Back).as_deref(), Some("2"));
        undo.stepped("a", "3", Way::Back);
        assert_eq!(undo.count("a", "2"), (1, 1));
        undo.stepped("a", "2", Way::Forth);
        assert_eq!(undo.count("a", "3"), (2, 0));
        undo.stepped("a", "3", Way::Back);
        undo.changed("a", "2", "4");
        assert_eq!(undo.count("a", "4"), (2, 0));
        // Somebody else wrote it.
        assert_eq!(undo.count("a", "5"), (0, 0));
    }
}
