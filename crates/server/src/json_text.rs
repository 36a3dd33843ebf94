//! Changes one value in a JSON text and leaves every other letter as its user wrote it.

use serde_json::Value;
use std::ops::Range;

/// A step on the way to a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Step<'a> {
    Field(&'a str),
    /// An entry of a list; the one behind the last is a new one.
    Entry(usize),
}

/// The text with the value at `way` set, or taken out where there is none to set. Objects on the way that are not there are made.
/// Nothing where the text is not JSON or the way leads nowhere.
pub(crate) fn set(text: &str, way: &[Step<'_>], value: Option<&Value>) -> Option<String> {
    // Judged first: what follows takes the text for whole.
    serde_json::from_str::<Value>(text.trim_start_matches('\u{feff}')).ok()?;
    let mut scan = Scan {
        text,
        at: if text.starts_with('\u{feff}') { 3 } else { 0 },
    };
    let root = scan.node()?;
    let (range, new) = change(text, &root, way, value)?;
    let mut out = text.to_owned();
    out.replace_range(range, &new);
    Some(out)
}

struct Node {
    range: Range<usize>,
    inside: Inside,
}

enum Inside {
    /// Each field: its name, where it begins, its value.
    Fields(Vec<(String, usize, Node)>),
    Entries(Vec<Node>),
    Plain,
}

fn change(text: &str, node: &Node, way: &[Step<'_>], value: Option<&Value>) -> Option<(Range<usize>, String)> {
    let Some((step, rest)) = way.split_first() else {
        return Some((node.range.clone(), printed(value?)));
    };
    let (starts, ends): (Vec<usize>, Vec<usize>) = match &node.inside {
        Inside::Fields(fields) => fields.iter().map(|(_, start, node)| (*start, node.range.end)).unzip(),
        Inside::Entries(entries) => entries.iter().map(|node| (node.range.start, node.range.end)).unzip(),
        Inside::Plain => return None,
    };
    let (found, name) = match (&node.inside, step) {
        (Inside::Fields(fields), Step::Field(name)) => {
            // Of a name that is there twice the last counts.
            let found = fields.iter().rposition(|(known, _, _)| known == name);
            (found.map(|k| (k, &fields[k].2)), Some(*name))
        }
        (Inside::Entries(entries), Step::Entry(k)) if *k <= entries.len() => {
            (entries.get(*k).map(|node| (*k, node)), None)
        }
        _ => return None,
    };
    match (found, value) {
        (Some((k, _)), None) if rest.is_empty() => Some((without(k, &starts, &ends), String::new())),
        (Some((_, inner)), _) => change(text, inner, rest, value),
        (None, None) => Some((node.range.end..node.range.end, String::new())),
        (None, Some(value)) => {
            let mut new = printed(&wrapped(rest, value)?);
            if let Some(name) = name {
                new = format!("{}: {new}", Value::from(name));
            }
            match (starts.last(), ends.last()) {
                (Some(start), Some(end)) => Some((*end..*end, format!(",{}{new}", gap(text, *start)))),
                _ => Some((node.range.start + 1..node.range.end - 1, new)),
            }
        }
    }
}

/// What goes with a field or entry that is taken out: the comma before it, or behind it where it is the first.
fn without(k: usize, starts: &[usize], ends: &[usize]) -> Range<usize> {
    match (k, starts.get(k + 1)) {
        (0, Some(next)) => starts[0]..*next,
        (0, None) => starts[0]..ends[0],
        _ => ends[k - 1]..ends[k],
    }
}

/// What stands in front of the one that begins at `start`: a new line with its indentation, or a space.
fn gap(text: &str, start: usize) -> &str {
    let before = &text[..start];
    let blank = before.len() - before.trim_end_matches([' ', '\t', '\n', '\r']).len();
    let gap = &before[before.len() - blank..];
    if gap.contains('\n') { gap } else { " " }
}

/// The value in the objects that lead to it.
fn wrapped(way: &[Step<'_>], value: &Value) -> Option<Value> {
    match way.split_first() {
        None => Some(value.clone()),
        Some((Step::Field(name), rest)) => {
            let mut fields = serde_json::Map::new();
            fields.insert((*name).to_owned(), wrapped(rest, value)?);
            Some(Value::Object(fields))
        }
        Some((Step::Entry(0), rest)) => Some(Value::Array(vec![wrapped(rest, value)?])),
        Some((Step::Entry(_), _)) => None,
    }
}

/// On one line; numbers without a needless `.0`.
fn printed(value: &Value) -> String {
    match value {
        Value::Object(fields) => {
            let fields: Vec<String> = fields
                .iter()
                .map(|(name, value)| format!("{}: {}", Value::from(name.as_str()), printed(value)))
                .collect();
            format!("{{{}}}", fields.join(", "))
        }
        Value::Array(entries) => format!("[{}]", entries.iter().map(printed).collect::<Vec<_>>().join(", ")),
        Value::Number(number) if number.is_f64() => number.as_f64().unwrap_or_default().to_string(),
        other => other.to_string(),
    }
}

/// Where everything stands in a text that is JSON.
struct Scan<'a> {
    text: &'a str,
    at: usize,
}

impl Scan<'_> {
    fn next(&mut self) -> Option<u8> {
        let rest = &self.text.as_bytes()[self.at..];
        self.at += rest.iter().take_while(|byte| byte.is_ascii_whitespace()).count();
        self.text.as_bytes().get(self.at).copied()
    }

    fn node(&mut self) -> Option<Node> {
        let first = self.next()?;
        let start = self.at;
        let inside = match first {
            b'{' => {
                self.at += 1;
                let mut fields = vec![];
                while self.next()? != b'}' {
                    let begins = self.at;
                    let name = self.plain()?;
                    self.next().filter(|byte| *byte == b':')?;
                    self.at += 1;
                    fields.push((serde_json::from_str(&self.text[name]).ok()?, begins, self.node()?));
                    self.comma()?;
                }
                self.at += 1;
                Inside::Fields(fields)
            }
            b'[' => {
                self.at += 1;
                let mut entries = vec![];
                while self.next()? != b']' {
                    entries.push(self.node()?);
                    self.comma()?;
                }
                self.at += 1;
                Inside::Entries(entries)
            }
            _ => {
                self.plain()?;
                Inside::Plain
            }
        };
        Some(Node {
            range: start..self.at,
            inside,
        })
    }

    fn comma(&mut self) -> Option<()> {
        if self.next()? == b',' {
            self.at += 1;
        }
        Some(())
    }

    /// A text, number or word.
    fn plain(&mut self) -> Option<Range<usize>> {
        let start = self.at;
        let bytes = self.text.as_bytes();
        if *bytes.get(start)? == b'"' {
            self.at += 1;
            while *bytes.get(self.at)? != b'"' {
                self.at += if bytes[self.at] == b'\\' { 2 } else { 1 };
            }
            self.at += 1;
        } else {
            let rest = &bytes[start..];
            self.at += rest
                .iter()
                .take_while(|byte| !byte.is_ascii_whitespace() && !b",]}:".contains(byte))
                .count();
        }
        (self.at > start).then_some(start..self.at)
    }
}

#[cfg(test)]
mod tests {
    use super::Step::{Entry, Field};
    use super::*;
    use proptest::prelude::*;
    use serde_json::json;

    const JOB: &str = "{\n  \"name\":  \"Porch\",\n  \"panels\": [\n    {\"id\": \"P\", \"pieces\": [{\"number\": \"1\", \"glass\": \"CL\"}]}\n  ]\n}\n";

    #[test]
    fn only_what_is_meant_is_changed() {
        let way = [Field("panels"), Entry(0), Field("pieces"), Entry(0), Field("glass")];
        let changed = set(JOB, &way, Some(&json!("REED"))).expect("there");
        assert_eq!(changed, JOB.replace("\"CL\"", "\"REED\""));
        assert_eq!(
            set(JOB, &[Field("name")], None).expect("there"),
            JOB.replace("\"name\":  \"Porch\",\n  ", "")
        );
        assert_eq!(
            set(JOB, &way, None).expect("there"),
            JOB.replace(", \"glass\": \"CL\"", "")
        );
        assert_eq!(
            set(JOB, &[Field("units")], Some(&json!("mm"))).expect("there"),
            JOB.replace("]\n}", "],\n  \"units\": \"mm\"\n}")
        );
        let grain = [
            Field("panels"),
            Entry(0),
            Field("pieces"),
            Entry(0),
            Field("bevel"),
            Field("width"),
        ];
        assert_eq!(
            set(JOB, &grain, Some(&json!(12.0))).expect("there"),
            JOB.replace("\"CL\"}", "\"CL\", \"bevel\": {\"width\": 12}}")
        );
        assert_eq!(set(JOB, &[Field("panels"), Entry(2)], Some(&json!(1))), None);
        assert_eq!(set("not JSON", &[Field("a")], Some(&json!(1))), None);
        assert_eq!(
            set("{}", &[Field("a\"b")], Some(&json!([1.5]))).as_deref(),
            Some("{\"a\\\"b\": [1.5]}")
        );
        assert_eq!(
            set("\u{feff}{\"a\": 1}", &[Field("a")], Some(&json!(2))).as_deref(),
            Some("\u{feff}{\"a\": 2}")
        );
    }

    fn any_value() -> impl Strategy<Value = Value> {
        let leaf = prop_oneof![
            Just(json!(null)),
            any::<i32>().prop_map(|n| json!(n)),
            "[a\"\\\\{}\\[\\],: é]{0,5}".prop_map(|s| json!(s))
        ];
        leaf.prop_recursive(4, 24, 4, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4).prop_map(Value::Array),
                prop::collection::btree_map("[ab\"\\\\]{0,2}", inner, 0..4)
                    .prop_map(|m| Value::Object(m.into_iter().collect())),
            ]
        })
    }

    /// A way to some value inside.
    fn any_way(value: &Value, mut pick: u64) -> Vec<String> {
        let (mut way, mut here) = (vec![], value);
        loop {
            let (count, next) = (pick % 5, pick / 5);
            pick = next;
            match here {
                Value::Object(fields) if !fields.is_empty() && count > 0 => {
                    let (name, inner) = fields.iter().nth(count as usize % fields.len()).expect("within");
                    way.push(format!("f{name}"));
                    here = inner;
                }
                Value::Array(entries) if !entries.is_empty() && count > 0 => {
                    let k = count as usize % entries.len();
                    way.push(format!("e{k}"));
                    here = &entries[k];
                }
                _ => return way,
            }
        }
    }

    fn find<'v>(value: &'v mut Value, way: &[Step<'_>]) -> &'v mut Value {
        way.iter().fold(value, |value, step| match step {
            Field(name) => &mut value[*name],
            Entry(k) => &mut value[*k],
        })
    }

    proptest! {
        #[test]
        fn the_tree_changes_as_the_text_does(value in any_value(), pick in any::<u64>(), new in any_value(), is_open in any::<bool>()) {
            let text = if is_open { serde_json::to_string_pretty(&value).expect("text") } else { value.to_string() };
            let names = any_way(&value, pick);
            let way: Vec<Step<'_>> = names.iter().map(|step| match step.split_at(1) {
                ("f", name) => Field(name),
                (_, k) => Entry(k.parse().expect("a number")),
            }).collect();
            let changed = set(&text, &way, Some(&new)).expect("a way that is there");
            let mut expected = value.clone();
            *find(&mut expected, &way) = new;
            prop_assert_eq!(serde_json::from_str::<Value>(&changed).expect("JSON"), expected);
            if let Some((last, before)) = way.split_last() {
                let gone = set(&text, &way, None).expect("a way that is there");
                let mut expected = value.clone();
                match (find(&mut expected, before), last) {
                    (Value::Object(fields), Field(name)) => { fields.remove(*name); }
                    (Value::Array(entries), Entry(k)) => { entries.remove(*k); }
                    _ => {}
                }
                prop_assert_eq!(serde_json::from_str::<Value>(&gone).expect("JSON"), expected);
            }
        }
    }
}
