//! The texts of a new job: a job file that people can read and change, and a stock list to go on from.

use cullet_job::{JOB_FORMAT, Job, Units};
use serde_json::Value;

/// Fields in the order in which people think of them; others follow in the order of their letters.
const ORDER: [&str; 14] = [
    "format", "shop", "code", "name", "units", "y", "settings", "id", "number", "kind", "width", "quantity", "glass",
    "shape",
];
/// Lists with a line for each entry.
const LISTS: [&str; 3] = ["glasses", "panels", "pieces"];

/// The text of a job file as people read and change it: a line for each glass and piece.
#[must_use]
pub fn job(tree: &Value) -> String {
    let mut tree = tree.clone();
    if let Some(job) = tree.as_object_mut() {
        // No piece has an outline.
        job.remove("y");
        job.insert("format".into(), JOB_FORMAT.into());
        if job.get("glasses").and_then(Value::as_array).is_some_and(Vec::is_empty) {
            job.remove("glasses");
        }
    }
    let mut text = String::new();
    write(&mut text, &tree, 0, true);
    text + "\n"
}

fn write(text: &mut String, value: &Value, depth: usize, is_open: bool) {
    let Value::Object(fields) = value else {
        return plain(text, value);
    };
    let mut names: Vec<&String> = fields.keys().collect();
    let rank = |name: &str| ORDER.iter().position(|known| *known == name).unwrap_or(ORDER.len());
    names.sort_by_key(|name| (is_list(fields, name), rank(name)));
    let start = if is_open {
        format!("\n{}", "  ".repeat(depth + 1))
    } else {
        String::new()
    };
    text.push('{');
    for (k, name) in names.into_iter().enumerate() {
        if k > 0 {
            text.push_str(if is_open { "," } else { ", " });
        }
        text.push_str(&start);
        text.push_str(&format!("{}: ", Value::from(name.as_str())));
        match &fields[name] {
            Value::Array(entries) if is_list(fields, name) => {
                let inside = depth + usize::from(is_open);
                list(text, entries, inside, name == "panels");
            }
            other => write(text, other, depth, false),
        }
    }
    if is_open {
        text.push_str(&format!("\n{}", "  ".repeat(depth)));
    }
    text.push('}');
}

fn is_list(fields: &serde_json::Map<String, Value>, name: &str) -> bool {
    LISTS.contains(&name) && fields[name].is_array()
}

/// A line for each entry; panels have their own lists inside.
fn list(text: &mut String, entries: &[Value], depth: usize, of_panels: bool) {
    text.push('[');
    for (k, entry) in entries.iter().enumerate() {
        text.push_str(&format!("{}\n{}", if k > 0 { "," } else { "" }, "  ".repeat(depth + 1)));
        write(text, entry, depth + usize::from(of_panels), false);
    }
    text.push_str(&format!("\n{}]", "  ".repeat(depth)));
}

/// Numbers without a needless `.0`.
fn plain(text: &mut String, value: &Value) {
    match value {
        Value::Array(entries) => {
            text.push('[');
            for (k, entry) in entries.iter().enumerate() {
                text.push_str(if k > 0 { ", " } else { "" });
                write(text, entry, 0, false);
            }
            text.push(']');
        }
        Value::Number(number) if number.is_f64() => text.push_str(&number.as_f64().unwrap_or_default().to_string()),
        other => text.push_str(&other.to_string()),
    }
}

/// Comments that a spreadsheet leaves alone: no separators, no quotes.
pub(super) const STOCK_NOTES: &str =
    "# Stock list: a line for each sheet or offcut. Lines that begin with # are skipped.
# The sheets here are examples. Put in the sizes that you have or can buy.
# kind is sheet or offcut. tag is what is written on the glass: each once. glass is the code that the pieces use.
# count is how many there are or buy where it can be bought as needed. place is where it stands.
";

/// A stock list with a sheet of each glass that the job uses, large enough for its pieces.
pub(super) fn stock(job: &Job) -> String {
    let mut lines = format!("{STOCK_NOTES}kind,tag,glass,units,width,height,count,place\n");
    for (index, glass) in job.glasses.iter().enumerate() {
        let cut = job
            .pieces
            .iter()
            .filter(|piece| piece.glass == index)
            .map(|piece| piece.cut.bounds());
        let (width, height) = cut.fold((0.0_f64, 0.0_f64), |(w, h), b| (w.max(b.width()), h.max(b.height())));
        // The grain of a piece may lie across: room for it either way.
        let longest = width.max(height);
        if longest > 0.0 {
            lines += &sheet(
                &glass.code,
                job.source.units,
                longest + 2.0 * (glass.edge_trim + glass.narrowest_strip),
            );
        }
    }
    lines
}

/// A sheet to buy, at least so large both ways, mm; of a usual size or in steps above it.
pub(super) fn sheet(code: &str, units: Units, least: f64) -> String {
    let (width, height, step) = match units {
        Units::Millimetres => (600.0, 900.0, 100.0),
        Units::Inches => (24.0, 36.0, 6.0),
    };
    let least = (least / units.mm() / step).ceil() * step;
    let (width, height) = (least.max(width), least.max(height));
    let code = cell(code);
    let tag = cell(&format!("{}-NEW", code.trim_matches('"')));
    format!("sheet,{tag},{code},{},{width},{height},buy,\n", units.code())
}

fn cell(text: &str) -> String {
    match text.contains([',', '"', '#']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_job_is_written_to_be_read() {
        let tree = json!({"panels": [{"id": "A", "quantity": 1, "pieces": [
            {"number": "1", "glass": "CL", "shape": {"kind": "circle", "diameter": 80.0}}]}],
            "name": "Porch", "units": "mm", "y": "up", "glasses": []});
        let expected = r#"{
  "format": 2,
  "name": "Porch",
  "units": "mm",
  "panels": [
    {"id": "A", "quantity": 1, "pieces": [
      {"number": "1", "glass": "CL", "shape": {"kind": "circle", "diameter": 80}}
    ]}
  ]
}
"#;
        assert_eq!(job(&tree), expected);
    }
}
