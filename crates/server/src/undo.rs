//! What a job file was before each change made on the page, for as long as nobody else changes the file.
//!
//! The texts lie in a hidden folder of the folder that is open, so that a change can be undone after the program was ended, too. Where
//! nothing can be written there, nothing can be undone, and all else goes on.

use cullet_workshop::writing::{Care, digest};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// The folder, in the one that is open.
const FOLDER: &str = ".cullet-undo";
/// Beside a file's texts: the number of the one that the file has.
const AT: &str = "at";
/// The most steps that can be undone.
const MOST_STEPS: usize = 200;
/// The most text that is kept for one file, bytes.
const MOST_BYTES: u64 = 32 << 20;

/// Of every file by its name.
#[derive(Debug)]
pub(crate) struct Undo {
    folder: PathBuf,
    one_at_a_time: Mutex<()>,
}

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Way {
    Back,
    Forth,
}

/// The texts of a file, by their numbers, and which of them it has.
struct Steps {
    numbers: Vec<u64>,
    at: usize,
}

impl Undo {
    /// For the files of this folder.
    pub(crate) fn new(root: &Path) -> Self {
        Self {
            folder: root.join(FOLDER),
            one_at_a_time: Mutex::new(()),
        }
    }

    /// A change from `old` to `new` is about to be made. What was undone before it is forgotten.
    pub(crate) fn changing(&self, file: &str, old: &str, new: &str) {
        let _one = self.one_at_a_time.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = self.of(file);
        let mut numbers = match steps(&folder, old) {
            Some(steps) => {
                let (kept, undone) = steps.numbers.split_at(steps.at + 1);
                forget(&folder, undone);
                kept.to_vec()
            }
            None => {
                forget(&folder, &all(&folder));
                vec![]
            }
        };
        if fs::create_dir_all(&folder).is_err() {
            return;
        }
        if numbers.is_empty() {
            numbers.push(0);
            keep(&folder, "0", old);
        }
        let next = numbers.last().map_or(0, |last| last + 1);
        numbers.push(next);
        keep(&folder, &next.to_string(), new);
        keep(&folder, AT, &next.to_string());
        forget(&folder, &numbers[..too_many(&folder, &numbers)]);
    }

    /// How many steps there are back and forth from `now`.
    pub(crate) fn count(&self, file: &str, now: &str) -> (usize, usize) {
        let _one = self.one_at_a_time.lock().unwrap_or_else(PoisonError::into_inner);
        steps(&self.of(file), now).map_or((0, 0), |steps| (steps.at, steps.numbers.len() - 1 - steps.at))
    }

    /// The text one step back or forth from `now`.
    pub(crate) fn peek(&self, file: &str, now: &str, way: Way) -> Option<String> {
        let _one = self.one_at_a_time.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = self.of(file);
        let number = steps(&folder, now)?.next(way)?;
        fs::read_to_string(folder.join(number.to_string())).ok()
    }

    /// That step was taken from `before`.
    pub(crate) fn stepped(&self, file: &str, before: &str, way: Way) {
        let _one = self.one_at_a_time.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = self.of(file);
        if let Some(number) = steps(&folder, before).and_then(|steps| steps.next(way)) {
            keep(&folder, AT, &number.to_string());
        }
    }

    fn of(&self, file: &str) -> PathBuf {
        self.folder.join(&digest(file.as_bytes())[..16])
    }
}

impl Steps {
    fn next(&self, way: Way) -> Option<u64> {
        let at = match way {
            Way::Back => self.at.checked_sub(1)?,
            Way::Forth => self.at + 1,
        };
        self.numbers.get(at).copied()
    }
}

/// The texts in a folder, where one of them is `now`: the one that was noted, or else the last that is the same.
fn steps(folder: &Path, now: &str) -> Option<Steps> {
    let numbers = all(folder);
    let noted = fs::read_to_string(folder.join(AT)).ok().and_then(|at| at.parse().ok());
    let noted = noted.and_then(|number: u64| numbers.binary_search(&number).ok());
    let likely = noted.into_iter().chain((0..numbers.len()).rev());
    let at = likely
        .into_iter()
        .find(|at| is_text(&folder.join(numbers[*at].to_string()), now))?;
    Some(Steps { numbers, at })
}

fn is_text(path: &Path, text: &str) -> bool {
    let length = path.metadata().map(|about| about.len());
    length.is_ok_and(|length| length == text.len() as u64) && fs::read(path).is_ok_and(|bytes| bytes == text.as_bytes())
}

/// The numbers of the texts in a folder, the oldest first.
fn all(folder: &Path) -> Vec<u64> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut numbers: Vec<u64> = entries
        .filter_map(|entry| entry.file_name().to_str()?.parse().ok())
        .collect();
    numbers.sort_unstable();
    numbers
}

/// How many of the oldest have to go.
fn too_many(folder: &Path, numbers: &[u64]) -> usize {
    let size = |number: &u64| {
        let about = folder.join(number.to_string()).metadata();
        about.map_or(0, |about| about.len())
    };
    let mut bytes = 0;
    // What the file is, and what it was before, stay however large they are.
    let newest_first = numbers.iter().rev().enumerate();
    let stay = newest_first.take_while(|(k, number)| {
        bytes += size(number);
        *k < 2 || (*k <= MOST_STEPS && bytes <= MOST_BYTES)
    });
    numbers.len() - stay.count()
}

fn keep(folder: &Path, name: &str, text: &str) {
    let place = Care::new(Vec::<PathBuf>::new(), true).place(&folder.join(name), |_| true);
    // Without it there is a step less to undo, and nothing else is lost.
    let _ = place.map(|place| place.write(text.as_bytes()));
}

fn forget(folder: &Path, numbers: &[u64]) {
    for number in numbers {
        let _ = fs::remove_file(folder.join(number.to_string()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn back_and_forth_and_no_further_than_others_have_written() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let undo = Undo::new(home.path());
        undo.changing("a", "1", "2");
        undo.changing("a", "2", "3");
        assert_eq!(undo.peek("a", "3", Way::Back).as_deref(), Some("2"));
        undo.stepped("a", "3", Way::Back);
        assert_eq!(undo.count("a", "2"), (1, 1));
        // The program ends and is started again.
        let undo = Undo::new(home.path());
        undo.stepped("a", "2", Way::Forth);
        assert_eq!(undo.count("a", "3"), (2, 0));
        undo.stepped("a", "3", Way::Back);
        undo.changing("a", "2", "4");
        assert_eq!(undo.count("a", "4"), (2, 0));
        assert_eq!(undo.peek("a", "4", Way::Back).as_deref(), Some("2"));
        // Somebody else wrote it; another file has steps of its own.
        assert_eq!(undo.count("a", "5"), (0, 0));
        assert_eq!(undo.count("b", "4"), (0, 0));
        undo.changing("a", "5", "6");
        assert_eq!(undo.count("a", "6"), (1, 0));
    }

    /// There and back again: the text is the same as one before, and yet another step.
    #[test]
    fn a_text_that_comes_again_has_the_place_it_was_left_at() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let undo = Undo::new(home.path());
        for (old, new) in [("1", "2"), ("2", "1"), ("1", "2")] {
            undo.changing("a", old, new);
        }
        assert_eq!(undo.count("a", "2"), (3, 0));
        undo.stepped("a", "2", Way::Back);
        undo.stepped("a", "1", Way::Back);
        assert_eq!(undo.count("a", "2"), (1, 2));
    }

    /// A change that was noted and never made is one that can be made again.
    #[test]
    fn a_change_that_was_cut_short_leaves_the_steps_before_it() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let undo = Undo::new(home.path());
        undo.changing("a", "1", "2");
        undo.changing("a", "2", "3");
        assert_eq!(undo.count("a", "2"), (1, 1));
    }

    #[test]
    fn no_more_is_kept_than_so_many_steps_and_so_much_text() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let undo = Undo::new(home.path());
        let text = |n: usize| n.to_string();
        for n in 0..MOST_STEPS + 9 {
            undo.changing("a", &text(n), &text(n + 1));
        }
        assert_eq!(undo.count("a", &text(MOST_STEPS + 9)), (MOST_STEPS, 0));
        let large = |n: usize| format!("{n}{}", " ".repeat(MOST_BYTES as usize / 3));
        for n in 0..5 {
            undo.changing("b", &large(n), &large(n + 1));
        }
        let (back, forth) = undo.count("b", &large(5));
        assert!((1..=2).contains(&back) && forth == 0, "{back}");
    }
}
