//! From text to a JSON tree, with the reader's errors in plain words.

use crate::{Finding, Findings};
use serde::de::{Deserialize, Deserializer, Error as _, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};
use std::fmt;

/// The largest job file that is read, in bytes. The tree of this much text, all of it short lists, takes about 1 GiB.
pub const MOST_JOB_BYTES: usize = 24 << 20;

/// Entries of one list that are kept; far more than any list of a job file may have.
pub(crate) const MOST_KEPT: usize = 100_000;

/// Reads the text as one JSON value in which no field stands twice.
/// `what` it should be, as `a job`.
pub(crate) fn parse(file: &str, text: &str, what: &str) -> Result<Value, Findings> {
    if text.len() > MOST_JOB_BYTES {
        return Err(Findings(vec![Finding {
            file: file.to_owned(),
            place: "the whole file".to_owned(),
            found: format!("{:.1} MB", text.len() as f64 / 1e6),
            expected: format!("at most {:.1} MB", MOST_JOB_BYTES as f64 / 1e6),
            hint: "An outline with far too many points is the usual cause: draw it with fewer, or split the job."
                .to_owned(),
        }]));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    match serde_json::from_str::<Tree>(text) {
        Ok(tree) => Ok(tree.0),
        Err(error) => Err(Findings(vec![explain(file, text, &error, what)])),
    }
}

fn explain(file: &str, text: &str, error: &serde_json::Error, what: &str) -> Finding {
    let message = error.to_string();
    let message = message.split(" at line ").next().unwrap_or_default();
    let word = word_at(text, error.line(), error.column());
    let is_not_a_number = matches!(
        word.trim_start_matches(['-', '+']).to_ascii_lowercase().as_str(),
        "nan" | "inf" | "infinity"
    );
    let (found, expected, hint) = if text.trim().is_empty() {
        ("an empty file".to_owned(), what, "Fill it in, or give another file.")
    } else if is_not_a_number {
        (
            format!("`{word}`"),
            "a number",
            "Whatever wrote the file could not work this number out: put the right one in.",
        )
    } else if message.starts_with("two fields") {
        (message.to_owned(), "each field once", "Take one of the two out.")
    } else if error.is_eof() {
        (
            "the end of the file".to_owned(),
            "more",
            "A quote, bracket or brace is opened and never closed: close it, or fetch the file again if it was cut short.",
        )
    } else if message == "number out of range" {
        (
            "a number too large to read".to_owned(),
            "a size",
            "Put the right number in.",
        )
    } else if message == "trailing comma" {
        (
            "a comma before a closing bracket".to_owned(),
            "the bracket",
            "Take the comma out.",
        )
    } else if message == "recursion limit exceeded" {
        (
            "brackets inside brackets more than 100 deep".to_owned(),
            what,
            "This is no such file: give another one.",
        )
    } else {
        let found = if word.is_empty() {
            "something that is not JSON".to_owned()
        } else {
            format!("`{word}`")
        };
        (
            found,
            message
                .strip_prefix("expected ")
                .unwrap_or("JSON as a job file uses it"),
            "Look there and just before: a comma, quote, colon or bracket is missing or too many.",
        )
    };
    Finding {
        file: file.to_owned(),
        place: format!("line {}, column {}", error.line(), error.column()),
        found,
        expected: expected.to_owned(),
        hint: hint.to_owned(),
    }
}

/// The word, number or sign around a place in the text; line and column from 1, the column in bytes.
fn word_at(text: &str, line: usize, column: usize) -> String {
    let Some(line) = text.lines().nth(line.saturating_sub(1)) else {
        return String::new();
    };
    let at = column.saturating_sub(1).min(line.len());
    let belongs = |b: &u8| b.is_ascii_alphanumeric() || b"+-._".contains(b);
    let bytes = line.as_bytes();
    let start = at - bytes[..at].iter().rev().take(30).take_while(|b| belongs(b)).count();
    let end = at + bytes[at..].iter().take(30).take_while(|b| belongs(b)).count();
    if start < end {
        return String::from_utf8_lossy(&bytes[start..end]).into_owned();
    }
    line.get(at..)
        .and_then(|rest| rest.chars().next())
        .map(String::from)
        .unwrap_or_default()
}

/// A JSON value read so that a field standing twice is an error: `Value` itself would keep the last and say nothing.
struct Tree(Value);

impl<'de> Deserialize<'de> for Tree {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(TreeVisitor).map(Tree)
    }
}

struct TreeVisitor;

impl<'de> Visitor<'de> for TreeVisitor {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        let mut list = vec![];
        while let Some(Tree(value)) = seq.next_element()? {
            list.push(value);
            if list.len() > MOST_KEPT {
                while seq.next_element::<IgnoredAny>()?.is_some() {}
            }
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut fields = Map::new();
        while let Some(name) = map.next_key::<String>()? {
            let Tree(value) = map.next_value()?;
            if fields.contains_key(&name) {
                return Err(A::Error::custom(format_args!("two fields named \"{name}\"")));
            }
            fields.insert(name, value);
        }
        Ok(Value::Object(fields))
    }
}
