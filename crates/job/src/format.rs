//! The formats of the job file: what changed from one to the next, how older files are read, and how one is rewritten.
//!
//! Format 2 says so (`"format": 2`). Format 1 says nothing, or 1; two fields of its drawings had other names. A file is rewritten as text
//! ([`upgrade`]): only what changed between the formats is touched, so that everything else stays as its user wrote it.

use crate::{Finding, Findings, Report, json};
use serde_json::Value;
use std::ops::Range;

/// The format that is written.
pub const JOB_FORMAT: u32 = 2;

/// Fields of a drawing by their names in format 1, and the present ones.
const RENAMED: [(&str, &str); 2] = [("saw_loss", "cutting_loss"), ("make", "details")];

/// For a job file that is read without the field, as a plan of an earlier version carries it.
pub(crate) fn present() -> u32 {
    JOB_FORMAT
}

/// The present name of a field by its former one.
pub(crate) fn present_name(former: &str) -> Option<&'static str> {
    RENAMED
        .iter()
        .find(|(old, _)| *old == former)
        .map(|(_, present)| *present)
}

/// Makes a tree of any format one of the present format; reports a format that is not known.
pub(crate) fn to_present(report: &mut Report, tree: &mut Value) {
    let Some(job) = tree.as_object_mut() else {
        return;
    };
    match job.insert("format".into(), JOB_FORMAT.into()) {
        None => rename(tree),
        Some(Value::Number(one)) if one.as_u64() == Some(1) => rename(tree),
        Some(Value::Number(two)) if two.as_u64() == Some(JOB_FORMAT.into()) => {}
        Some(other) => {
            let hint = match other.as_u64() {
                Some(_) => "A newer version of the program wrote it: read it with that version.",
                None => "Write 2.",
            };
            report.add("field \"format\"", other.to_string(), "the number 2", hint);
        }
    }
}

/// Gives fields with former names their present ones, where those are not there too.
fn rename(tree: &mut Value) {
    let panels = tree.get_mut("panels").and_then(Value::as_array_mut);
    let drawings = panels
        .into_iter()
        .flatten()
        .filter_map(|panel| panel.get_mut("drawing")?.as_object_mut());
    for drawing in drawings {
        for (former, present) in RENAMED {
            if !drawing.contains_key(present)
                && let Some(value) = drawing.remove(former)
            {
                drawing.insert(present.to_owned(), value);
            }
        }
    }
}

/// A job file in the present format.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Upgraded {
    /// Its text.
    pub text: String,
    /// What was changed, a line each; empty where the file was of the present format.
    pub changes: Vec<String>,
}

/// Rewrites a job file of format 1 as one of format 2: the format is put in, fields with former names get their present ones, and all else
/// stays to the letter. A file of format 2 comes back as it is. `file` is its name for messages.
///
/// # Errors
/// Where the text is not JSON, not a job, or of a format that is not known.
///
/// ```
/// let old = r#"{"name": "Porch",  "units": "mm", "panels": [{"id": "P", "drawing": {"file": "p.svg", "saw_loss": 2.50}}]}"#;
/// let new = cullet_job::upgrade("porch.json", old)?;
/// assert_eq!(new.text, r#"{"format": 2, "name": "Porch",  "units": "mm", "panels": [{"id": "P", "drawing": {"file": "p.svg", "cutting_loss": 2.50}}]}"#);
/// assert_eq!(new.changes, ["\"format\": 2 is put in", "\"saw_loss\" is now \"cutting_loss\" (panel P)"]);
/// # Ok::<(), cullet_job::Findings>(())
/// ```
pub fn upgrade(file: &str, text: &str) -> Result<Upgraded, Findings> {
    let mut tree = json::parse(file, text, "a job")?;
    let is_job = tree.get("panels").is_some() && tree.get("name").is_some();
    if !is_job {
        return Err(Findings(vec![Finding {
            file: file.to_owned(),
            place: "the whole file".into(),
            found: "no \"name\" or no \"panels\"".into(),
            expected: "a job file".into(),
            hint: "Shop files, piece lists and plans need no upgrade.".into(),
        }]));
    }
    let before = tree.clone();
    let mut report = Report::new(file);
    to_present(&mut report, &mut tree);
    let changed = report.into_result(tree)?;
    if changed == before {
        return Ok(Upgraded {
            text: text.to_owned(),
            changes: vec![],
        });
    }
    let upgraded = rewrite(text, &before);
    // What is read from it must be what is read from the old one.
    match json::parse(file, &upgraded.text, "a job") {
        Ok(tree) if tree == changed => Ok(upgraded),
        _ => Err(Findings(vec![Finding {
            file: file.to_owned(),
            place: "the whole file".into(),
            found: "a text that cannot be rewritten".into(),
            expected: "a job file of format 1".into(),
            hint: "Put \"format\": 2 in by hand, and the present names that cullet schema lists.".into(),
        }])),
    }
}

fn rewrite(text: &str, tree: &Value) -> Upgraded {
    let mut scan = Scan {
        text,
        at: if text.starts_with('\u{feff}') { 3 } else { 0 },
        path: vec![],
        fields: vec![],
    };
    scan.value();
    let mut edits: Vec<(Range<usize>, String)> = vec![];
    let mut changes = vec![];
    let is_top = |field: &&Field| field.path.len() == 1;
    match scan
        .fields
        .iter()
        .filter(is_top)
        .find(|field| field.path[0] == "format")
    {
        Some(field) => {
            edits.push((field.value.clone(), JOB_FORMAT.to_string()));
            changes.push(format!("\"format\" is now {JOB_FORMAT}"));
        }
        None => {
            let first = scan.fields.iter().filter(is_top).map(|field| field.key.start).min();
            let open = text.find('{').unwrap_or_default() + 1;
            let first = first.unwrap_or(open);
            // Set as the first field is.
            let blank = match &text[open..first] {
                "" => " ",
                blank => blank,
            };
            edits.push((first..first, format!("\"format\": {JOB_FORMAT},{blank}")));
            changes.push(format!("\"format\": {JOB_FORMAT} is put in"));
        }
    }
    for field in &scan.fields {
        let [panels, place, drawing, name] = field.path.as_slice() else {
            continue;
        };
        let Some(present) = present_name(name).filter(|_| panels == "panels" && drawing == "drawing") else {
            continue;
        };
        let panel = &tree["panels"][place.parse().unwrap_or(usize::MAX)];
        if panel["drawing"].get(present).is_none() {
            edits.push((field.key.clone(), format!("\"{present}\"")));
            let id = panel["id"].as_str().unwrap_or("?");
            changes.push(format!("\"{name}\" is now \"{present}\" (panel {id})"));
        }
    }
    edits.sort_by_key(|(range, _)| range.start);
    let (mut rewritten, mut at) = (String::with_capacity(text.len() + 32), 0);
    for (range, instead) in edits {
        rewritten.push_str(&text[at..range.start]);
        rewritten.push_str(&instead);
        at = range.end;
    }
    rewritten.push_str(&text[at..]);
    Upgraded {
        text: rewritten,
        changes,
    }
}

/// A field where it stands in a text.
struct Field {
    /// Names of the fields and positions in the lists that lead to it, its own name last.
    path: Vec<String>,
    /// Its name with the quotes, and its value.
    key: Range<usize>,
    value: Range<usize>,
}

/// Goes through a text that is known to be JSON, as far as its panels' drawings.
struct Scan<'t> {
    text: &'t str,
    at: usize,
    path: Vec<String>,
    fields: Vec<Field>,
}

impl Scan<'_> {
    fn byte(&self) -> u8 {
        self.text.as_bytes().get(self.at).copied().unwrap_or_default()
    }

    fn blanks(&mut self) {
        while self.byte().is_ascii_whitespace() {
            self.at += 1;
        }
    }

    /// One value; the text ends where it is none.
    fn value(&mut self) {
        self.blanks();
        match self.byte() {
            b'{' => self.entries(b'}', true),
            b'[' => self.entries(b']', false),
            b'"' => self.string(),
            _ => {
                while self.at < self.text.len() && !matches!(self.byte(), b',' | b'}' | b']') {
                    if self.byte().is_ascii_whitespace() {
                        break;
                    }
                    self.at += 1;
                }
            }
        }
    }

    fn entries(&mut self, end: u8, named: bool) {
        self.at += 1;
        let mut position = 0;
        loop {
            self.blanks();
            if self.byte() == end || self.at >= self.text.len() {
                self.at += 1;
                return;
            }
            if self.byte() == b',' {
                self.at += 1;
                continue;
            }
            let start = self.at;
            let mut name = position.to_string();
            if named {
                self.string();
                name = serde_json::from_str(&self.text[start..self.at]).unwrap_or_default();
            }
            let key = start..self.at;
            if named {
                self.blanks();
                // The colon.
                self.at += 1;
                self.blanks();
            }
            self.path.push(name);
            let value = self.at;
            self.value();
            if named && self.path.len() <= 4 {
                let (path, value) = (self.path.clone(), value..self.at);
                self.fields.push(Field { path, key, value });
            }
            self.path.pop();
            position += 1;
        }
    }

    fn string(&mut self) {
        self.at += 1;
        while self.at < self.text.len() {
            match self.byte() {
                b'\\' => self.at += 2,
                b'"' => break,
                _ => self.at += 1,
            }
        }
        self.at += 1;
    }
}
