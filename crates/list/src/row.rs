//! One line of a list, read cell by cell.

use crate::number::{DecimalSign, length, plain};
use cullet_findings::{Report, nearest_name};

/// Found, expected and hint, as a finding has them.
pub type Trouble = [String; 3];

/// Longest text in a cell.
const MOST_TEXT: usize = 200;

/// Where something was said, for messages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A line of a list, from 1.
    Line(usize),
    /// Options of a command, named like the columns.
    Options,
}

impl Source {
    /// The column there, as a message names it.
    #[must_use]
    pub fn place(self, column: &str) -> String {
        match self {
            Self::Line(line) => format!("line {line}, column \"{column}\""),
            Self::Options => format!("--{}", column.replace('_', "-")),
        }
    }
}

/// One line: its cells, by name.
pub struct Row<'a> {
    /// Where it stands.
    pub source: Source,
    /// A cell by column name, trimmed; `None` where the list has no such column.
    pub cells: &'a dyn Fn(&str) -> Option<&'a str>,
    /// Which sign its numbers have.
    pub sign: DecimalSign,
}

impl<'a> Row<'a> {
    /// The column, as a message names it.
    #[must_use]
    pub fn place(&self, column: &str) -> String {
        self.source.place(column)
    }

    /// The text of a cell, empty where there is no such column.
    #[must_use]
    pub fn text(&self, column: &str) -> &'a str {
        (self.cells)(column).unwrap_or("")
    }

    /// Reports what is wrong with a cell.
    pub fn refuse(&self, report: &mut Report, column: &str, [found, expected, hint]: Trouble) {
        report.add(self.place(column), found, expected, hint);
    }

    /// One of the words a column may hold; nothing is said where the column is missing, the check of the column names has.
    pub fn word<T: Copy>(&self, report: &mut Report, column: &str, words: &[(&str, T)]) -> Option<T> {
        let text = (self.cells)(column)?;
        let found = words.iter().find(|(word, _)| word.eq_ignore_ascii_case(text));
        if found.is_none() {
            let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
            let hint = match nearest_name(text, names.iter().copied()) {
                Some(word) => format!("Did you mean \"{word}\"?"),
                None => "Every line must say it.".to_owned(),
            };
            self.refuse(report, column, [quoted(text), names.join(" or "), hint]);
        }
        found.map(|(_, value)| *value)
    }

    /// A name; `needed` says what to do where it must be there and is not.
    pub fn name(&self, report: &mut Report, column: &str, needed: Option<&str>) -> String {
        let Some(text) = (self.cells)(column) else {
            return String::new();
        };
        let control = text
            .chars()
            .find(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'));
        match (needed, control) {
            (Some(hint), _) if text.is_empty() => self.refuse(report, column, trouble("nothing", "a name", hint)),
            (_, Some(control)) => {
                let found = format!("the control character {}", control.escape_unicode());
                self.refuse(
                    report,
                    column,
                    trouble(&found, "words that can be read", "Type the cell again."),
                );
            }
            _ if text.chars().count() > MOST_TEXT => {
                let expected = format!("at most {MOST_TEXT} characters");
                self.refuse(report, column, [quoted(text), expected, "Shorten it.".to_owned()]);
            }
            _ => {}
        }
        text.to_owned()
    }

    /// A number that is good; `None` where the cell is empty or was reported.
    pub fn number(&self, report: &mut Report, column: &str, expected: &str, is_good: fn(f64) -> bool) -> Option<f64> {
        let text = self.text(column);
        if text.is_empty() {
            return None;
        }
        let number = plain(text, self.sign).filter(|number| is_good(*number));
        if number.is_none() {
            self.refuse(
                report,
                column,
                [quoted(text), expected.to_owned(), self.number_hint().to_owned()],
            );
        }
        number
    }

    /// A size in the line's unit that is good, in inches a fraction too; `None` where the cell is empty or was reported.
    pub fn size(
        &self,
        report: &mut Report,
        column: &str,
        expected: &str,
        in_inches: bool,
        is_good: fn(f64) -> bool,
    ) -> Option<f64> {
        let text = self.text(column);
        if text.is_empty() {
            return None;
        }
        let size = length(text, self.sign, in_inches).filter(|size| is_good(*size));
        if size.is_none() {
            let hint = self.size_hint(text, in_inches).to_owned();
            self.refuse(report, column, [quoted(text), expected.to_owned(), hint]);
        }
        size
    }

    /// What to do about a size that cannot be read.
    #[must_use]
    pub fn size_hint(&self, text: &str, in_inches: bool) -> &'static str {
        if text.contains('/') && !in_inches {
            "Fractions are for inches: write in under units, or the decimal millimetres."
        } else {
            self.number_hint()
        }
    }

    /// What to do about a number that cannot be read.
    #[must_use]
    pub fn number_hint(&self) -> &'static str {
        match self.sign {
            DecimalSign::Point => "Write the bare number, with a decimal point.",
            DecimalSign::Comma => "Write the bare number, with a decimal comma or point and no mark for thousands.",
        }
    }
}

/// A cell as a message shows it.
#[must_use]
pub fn quoted(text: &str) -> String {
    if text.is_empty() {
        "nothing".to_owned()
    } else {
        format!("\"{}\"", cut_short(text))
    }
}

/// The same from words that stand fast.
#[must_use]
pub fn trouble(found: &str, expected: &str, hint: &str) -> Trouble {
    [found, expected, hint].map(str::to_owned)
}

/// The beginning of a long text.
#[must_use]
pub fn cut_short(text: &str) -> String {
    if text.chars().count() > 50 {
        text.chars().take(40).chain(" …".chars()).collect()
    } else {
        text.to_owned()
    }
}
