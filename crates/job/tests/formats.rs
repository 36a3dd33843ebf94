//! The formats of the job file: older ones are read and rewritten, newer ones refused in words.

use cullet_job::{Job, JobFile, upgrade};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A job as it was written in format 1, with the names of then.
const OLD: &str = r#"{
  "name": "Porch", "units": "mm", "y": "up",
  "glasses": [{"code": "CL", "name": "Clear", "thickness": 3.0, "grain": "none", "may_turn_over": true, "scored_face": "show",
    "grind_allowance": 0.50, "price": 20, "price_unit": "m2"}],
  "panels": [
    {"id": "P", "quantity": 1, "drawing": {"file": "make.svg", "saw_loss": 2.50,
      "make": [{"numbers": ["1"], "spares": 1}], "cames": [{"name": "saw_loss", "face": 6, "heart": 1}]}},
    {"id": "saw_loss", "quantity": 1, "drawing": { "make" : [ ], "file": "a\"b.svg" }}
  ]
}
"#;

/// The job file as it was read, before its drawings are.
fn source(text: &str) -> JobFile {
    let mut seen = None;
    let _ = Job::read_with("job.json", text, |file, _| {
        seen = Some(file.clone());
        file.panels.iter_mut().for_each(|panel| panel.drawing = None);
    });
    seen.expect("a job that can be read")
}

#[test]
fn format_1_is_read_and_rewritten() {
    let new = upgrade("job.json", OLD).expect("a job of format 1");
    let expected = OLD
        .replacen("\"name\"", "\"format\": 2,\n  \"name\"", 1)
        .replace("\"saw_loss\": 2.50", "\"cutting_loss\": 2.50")
        .replace("\"make\": [{", "\"details\": [{")
        .replace("\"make\" : [ ]", "\"details\" : [ ]");
    assert_eq!(new.text, expected);
    let changes = [
        "\"format\": 2 is put in",
        "\"saw_loss\" is now \"cutting_loss\" (panel P)",
        "\"make\" is now \"details\" (panel P)",
        "\"make\" is now \"details\" (panel saw_loss)",
    ];
    assert_eq!(new.changes, changes);
    let (old, new_source) = (source(OLD), source(&new.text));
    assert_eq!(old, new_source);
    let drawing = new_source.panels[0].drawing.as_ref().expect("a drawing");
    assert_eq!((drawing.cutting_loss, drawing.details.len()), (Some(2.5), 1));
    // Once is enough.
    let again = upgrade("job.json", &new.text).expect("a job of format 2");
    assert_eq!((again.text, again.changes), (new.text, vec![]));
}

#[test]
fn format_1_may_say_so() {
    let said = OLD
        .replacen("\"name\"", "\"name\": \"x\", \"format\": 1, \"name\"", 1)
        .replacen("\"name\": \"x\", ", "", 1);
    let new = upgrade("job.json", &said).expect("a job of format 1");
    assert!(new.text.contains("\"format\": 2, \"name\""), "{}", new.text);
    assert_eq!(source(&said), source(&new.text));
}

#[test]
fn former_names_and_other_formats_are_refused_in_words() {
    let new = upgrade("job.json", OLD).expect("a job").text;
    let found = Job::read("job.json", &new.replace("cutting_loss", "saw_loss")).expect_err("a former name");
    let words = found.0[0].to_string();
    assert!(words.contains("the unknown field \"saw_loss\""), "{words}");
    assert!(words.contains("It is called \"cutting_loss\" now."), "{words}");
    for (format, hint) in [("3", "newer version"), ("\"two\"", "Write 2."), ("2.5", "Write 2.")] {
        let text = new.replacen("\"format\": 2", &format!("\"format\": {format}"), 1);
        for found in [Job::read("job.json", &text).err(), upgrade("job.json", &text).err()] {
            let words = found.expect("another format").0[0].to_string();
            assert!(words.contains("field \"format\"") && words.contains(hint), "{words}");
        }
    }
    for other in ["", "[1, 2]", "{\"shop\": \"Museum workshop\"}", "{\"name\": 1"] {
        assert!(upgrade("job.json", other).is_err(), "{other}");
    }
}

/// However a file is set.
fn set(value: &Value, blanks: &mut impl Iterator<Item = &'static str>) -> String {
    let mut blank = || blanks.next().unwrap_or_default();
    match value {
        Value::Object(fields) => {
            let mut text = format!("{{{}", blank());
            for (k, (name, value)) in fields.iter().enumerate() {
                let comma = if k > 0 { "," } else { "" };
                let (before, after) = (blanks.next().unwrap_or_default(), blanks.next().unwrap_or_default());
                // A letter may be written by its number.
                let name = Value::from(name.as_str()).to_string().replace('k', "\\u006b");
                text += &format!("{comma}{before}{name}{after}:{after}{}", set(value, blanks));
            }
            text + blanks.next().unwrap_or_default() + "}"
        }
        Value::Array(entries) => {
            let entries: Vec<String> = entries.iter().map(|entry| set(entry, blanks)).collect();
            format!("[{}]", entries.join(","))
        }
        other => other.to_string(),
    }
}

proptest! {
    #[test]
    fn however_a_file_is_set(
        which in prop::collection::vec(prop::sample::select(vec!["", " ", "\n", "\t", "\r\n  "]), 60),
        mark in any::<bool>(),
        name in "[ -~]{1,12}",
    ) {
        let tree = json!({"name": name, "units": "mm", "y": "up", "glasses": [], "panels": [
            {"id": "A", "quantity": 1, "drawing": {"make": [{"one_lot": name}], "saw_loss": 1.5, "file": "a.svg"}},
            {"id": "B", "quantity": 1, "drawing": {"make": [], "details": [], "file": name}}]});
        let text = format!("{}{}", if mark { "\u{feff}" } else { "" }, set(&tree, &mut which.into_iter().cycle().take(400)));
        let new = upgrade("job.json", &text).expect("a job").text;
        let read: Value = serde_json::from_str(new.trim_start_matches('\u{feff}')).expect("JSON");
        prop_assert_eq!(&read["format"], &json!(2));
        prop_assert_eq!(&read["panels"][0]["drawing"], &json!({"details": [{"one_lot": name}], "cutting_loss": 1.5, "file": "a.svg"}));
        // One that has both names is left for its user to put right.
        prop_assert_eq!(&read["panels"][1], &tree["panels"][1]);
    }
}
