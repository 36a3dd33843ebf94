//! The pairs of lines a DXF is made of, a group code and a value, and records of them.

use crate::drawing::Place;
use crate::read::ReadError;

/// One pair of lines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Group<'a> {
    pub(super) code: i32,
    pub(super) value: &'a str,
    /// Line of the value, from 1.
    pub(super) line: u32,
}

/// An entity or table entry: the pairs from one with code 0 to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Record<'a> {
    pub(super) kind: &'a str,
    pub(super) line: u32,
    pub(super) groups: &'a [Group<'a>],
}

/// The pairs of the file up to its end mark.
pub(super) fn parse(source: &str) -> Result<Vec<Group<'_>>, ReadError> {
    let mut groups = vec![];
    let mut lines = source.lines().zip(1_u32..);
    while let Some((code, line)) = lines.next() {
        let code = code.trim();
        if code.is_empty() && source.lines().skip(line as usize).all(|rest| rest.trim().is_empty()) {
            break;
        }
        let Ok(code) = code.parse::<i32>() else {
            return Err(ReadError::GroupCode { line, found: cut(code) });
        };
        let Some((value, line)) = lines.next() else {
            return Err(ReadError::Truncated {
                line,
                inside: format!("the pair with group code {code}"),
            });
        };
        groups.push(Group { code, value, line });
        if code == 0 && value.trim() == "EOF" {
            break;
        }
    }
    Ok(groups)
}

/// Text as it is quoted in messages: its first 40 characters.
pub(super) fn cut(text: &str) -> String {
    match text.char_indices().nth(40) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// A section's records; what stands before the first is none.
pub(super) fn records<'a>(body: &'a [Group<'a>]) -> Vec<Record<'a>> {
    let starts: Vec<usize> = (0..body.len()).filter(|i| body[*i].code == 0).collect();
    let ends = starts.iter().skip(1).copied().chain([body.len()]);
    starts
        .iter()
        .zip(ends)
        .map(|(start, end)| {
            let groups = &body[start + 1..end];
            // What an application adds (from 1000 on) and objects put inside others (101) use the same codes for other
            // things; both stand last.
            let own = groups
                .iter()
                .position(|g| g.code == 101 || g.code >= 1000)
                .unwrap_or(groups.len());
            Record {
                kind: body[*start].value.trim(),
                line: body[*start].line,
                groups: &groups[..own],
            }
        })
        .collect()
}

impl<'a> Record<'a> {
    /// All values with a code.
    pub(super) fn all(&self, code: i32) -> impl Iterator<Item = &'a str> + use<'a> {
        self.groups.iter().filter(move |g| g.code == code).map(|g| g.value)
    }

    pub(super) fn number(&self, code: i32) -> Option<f64> {
        self.all(code).next().and_then(number)
    }

    /// A whole number, 0 if missing.
    pub(super) fn int(&self, code: i32) -> i64 {
        self.all(code).next().and_then(|v| v.trim().parse().ok()).unwrap_or(0)
    }

    /// A text, empty if missing.
    pub(super) fn text(&self, code: i32) -> &'a str {
        self.all(code).next().unwrap_or("")
    }

    pub(super) fn place(&self) -> Place {
        let handle = self.text(5).trim();
        Place {
            line: self.line,
            what: if handle.is_empty() {
                self.kind.to_owned()
            } else {
                format!("{} {}", self.kind, cut(handle))
            },
        }
    }

    /// The first value that should be a number and is none, as found and expected.
    pub(super) fn fault(&self) -> Option<(String, &'static str)> {
        self.groups.iter().find_map(|group| {
            let expected = match group.code {
                10..=59 | 210..=239 if number(group.value).is_none() => "a number",
                60..=79 | 90..=99 if group.value.trim().parse::<i64>().is_err() => "a whole number",
                _ => return None,
            };
            Some((
                format!("{:?} on line {} (group {})", cut(group.value), group.line, group.code),
                expected,
            ))
        })
    }
}

pub(super) fn number(value: &str) -> Option<f64> {
    value.trim().parse::<f64>().ok().filter(|v| v.is_finite())
}
