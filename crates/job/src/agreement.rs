//! The printed schema accepts exactly what the reader accepts, and what is written is read back: random edits of valid files.
//!
//! The schema is asked through `jsonschema`, a general validator of JSON Schema 2020-12. What a schema cannot say is left to the
//! reader: codes and names that are given elsewhere, outlines that cross themselves, a bevel wider than its glass allows.

use crate::format::to_present;
use crate::{Job, JobFile, ReadWith, Report, Shop, shape};
use proptest::prelude::*;
use serde_json::{Map, Value, json};

/// A shop file that says everything that a job may leave to it.
fn shop() -> Shop {
    let glass = |code: &str| {
        json!({"code": code, "name": code, "thickness": 3, "grain": "two-ways", "grain_tolerance": 1, "may_turn_over": true,
               "scored_face": "show", "grind_allowance": 0.5, "price": 20, "price_unit": "m2"})
    };
    let file = json!({"shop": "Museum workshop", "units": "mm", "glasses": [glass("CL"), glass("REED")],
        "cames": [{"name": "round 6", "face": 6, "heart": 1.2}, {"name": "flat", "face": 10, "heart": 1.5},
                  {"name": "x", "face": 8, "heart": 1.2}]});
    Shop::read("shop.json", &file.to_string()).expect("a shop file")
}

/// Jobs that use every field between them.
fn jobs() -> [Value; 2] {
    let glass = json!({"code": "CL", "name": "Clear", "thickness": 4, "texture": "plain", "grain": "two-ways",
        "grain_tolerance": 1, "may_turn_over": false, "scored_face": "back", "grind_allowance": 0.5, "narrowest_strip": 8,
        "edge_trim": 9, "layout": "shaped", "price": 12.5, "price_unit": "ft2"});
    let outline = json!([[0, 0], [120, 0], [120, 80], [0, 80]]);
    let pieces = json!([
        {"number": "1", "glass": "CL", "outline": outline, "grain": 0, "bevel": {"width": 12, "nose": 2}, "one_lot": "a", "spares": 1},
        {"number": "2", "glass": "REED", "outline": "M 0 0 H 100 V 60 Z", "quantity": 3},
        {"number": "3", "glass": "CL", "shape": {"kind": "clipped-rectangle", "width": 90, "height": 70, "clip": 9, "corners": ["top-left"]}},
    ]);
    let drawing = json!({"file": "p.svg", "kind": "cartoon", "unit_mm": 1, "size": [400, 300], "part": {"frame": 2, "layer": "door", "page": "1"},
        "snap": 0.5, "came": "round 6", "cames": [{"name": "flat", "face": 10, "heart": 1.5, "clearance": 0.1, "layers": ["flat"]}],
        "border": {"face": 10, "heart": 1.5}, "border_line": "centre", "foil": 0.4, "opening": [403, 303], "opening_clearance": 3,
        "layers": {"lead": ["a"], "border": ["b"], "text": ["c"], "grain": ["d"], "ignore": ["e"]}, "door": true, "glass": "CL",
        "came_length": 2000, "cutting_loss": 2, "details": [{"numbers": ["1"], "glass": "CL", "instead": "CL", "grain": 90, "bevel": {"width": 12, "nose": 2},
        "one_lot": "b", "spares": 0}]});
    let choice = json!({"name": "plain", "glasses": [{"code": "CL", "instead": "REED", "grind_allowance": 1, "sheets": ["N"]}],
        "came": {"name": "x", "face": 8, "heart": 1.2}});
    let settings = json!({"score_kerf": 0, "curve_tolerance": 0.05, "keep": 150, "credit_rate": 0.5, "currency": "EUR",
        "breaking": {"sharpest_turn": 30, "bend_length": 25, "tightest_curve": 4, "pull_margin": 5}, "layout": "either",
        "spares": "always"});
    let panel = |more: Value| {
        let mut panel = json!({"id": "P", "name": "Pantry", "quantity": 2, "mirrored_quantity": 1});
        let fields = panel.as_object_mut().expect("an object");
        fields.extend(more.as_object().cloned().unwrap_or_default());
        panel
    };
    let job = |panel: Value| {
        json!({"$schema": "job.schema.json", "format": 2, "name": "Pantry window", "units": "mm", "y": "up", "settings": settings,
               "glasses": [glass], "panels": [panel], "choices": [choice]})
    };
    [
        job(panel(json!({"pieces": pieces}))),
        job(panel(json!({"drawing": drawing}))),
    ]
}

/// What a value may become.
fn values() -> Vec<Value> {
    vec![
        Value::Null,
        json!(true),
        json!(0),
        json!(1),
        json!(2.0),
        json!(-3),
        json!(0.25),
        json!(75.5),
        json!(1e12),
        json!(""),
        json!(" \u{a0}"),
        json!("up"),
        json!("either"),
        json!("x".repeat(201)),
        json!([]),
        json!([1, 2]),
        json!([[0, 0], [1, 0, 2]]),
        json!({}),
        json!({"face": 6, "heart": 1}),
        json!({"width": 5}),
    ]
}

/// Every place in a tree, as a JSON Pointer.
fn places(value: &Value, at: &str, into: &mut Vec<String>) {
    let mut inside = |name: &str, value: &Value| {
        let at = format!("{at}/{name}");
        into.push(at.clone());
        places(value, &at, into);
    };
    match value {
        Value::Object(fields) => fields.iter().for_each(|(name, value)| inside(name, value)),
        Value::Array(entries) => entries
            .iter()
            .enumerate()
            .for_each(|(k, value)| inside(&k.to_string(), value)),
        _ => {}
    }
}

/// Whether a text there is a name that is given elsewhere: it then becomes no other name.
fn is_name(place: &str) -> bool {
    let is_glass = place.starts_with("/glasses/") && place.ends_with("/code");
    is_glass
        || place.ends_with("/came")
        || place.ends_with("/border")
        || (place.contains("/came") && place.ends_with("/name"))
}

/// One edit; `kind`, `at` and `value` are taken round and round.
fn edit(job: &mut Value, kind: u8, at: usize, value: usize) {
    let mut all = vec![];
    places(job, "", &mut all);
    // Which format it is decides what may stand in it; `formats.rs` looks at that.
    all.retain(|place| place != "/format");
    let Some(place) = all.get(at % all.len().max(1)).cloned() else {
        return;
    };
    let (parent, name) = place.rsplit_once('/').expect("a pointer");
    let (parent, name) = (parent.to_owned(), name.to_owned());
    let values = values();
    let value = values[value % values.len()].clone();
    let misnames = is_name(&place) && (value.is_string() || value.is_object());
    match (kind % 4, job.pointer_mut(&parent)) {
        (0, Some(Value::Object(fields))) => _ = fields.remove(&name),
        (0, Some(Value::Array(entries))) => _ = entries.remove(name.parse().expect("a position")),
        (1, Some(Value::Object(fields))) => _ = fields.insert(format!("{name}s"), value),
        (1, Some(Value::Array(entries))) => entries.push(value),
        (2, Some(Value::Object(fields))) if !misnames => _ = fields.insert(name, value),
        (2, Some(Value::Array(entries))) => entries[name.parse::<usize>().expect("a position")] = value,
        (3, Some(Value::Array(entries))) => {
            let again = entries[name.parse::<usize>().expect("a position")].clone();
            entries.push(again);
        }
        _ => {}
    }
}

/// What the reader says of the fields alone.
fn refused(job: &Value, shop: &Shop) -> Vec<String> {
    let mut tree = job.clone();
    let mut report = Report::new("job.json");
    to_present(&mut report, &mut tree);
    shop.complete(&mut tree, &mut report);
    shape::stand_upright(&mut tree);
    shape::check(&mut report, &mut tree);
    report.findings().iter().map(ToString::to_string).collect()
}

fn edited() -> impl Strategy<Value = Value> {
    let edits = prop::collection::vec((any::<u8>(), any::<usize>(), any::<usize>()), 0..3);
    (0..2_usize, edits).prop_map(|(which, edits)| {
        let mut job = jobs()[which].clone();
        for (kind, at, value) in edits {
            edit(&mut job, kind, at, value);
        }
        job
    })
}

#[test]
fn the_jobs_are_valid() {
    for job in jobs() {
        let schema = jsonschema::draft202012::new(&Job::schema()).expect("a schema");
        let wrong: Vec<String> = schema.iter_errors(&job).map(|error| error.to_string()).collect();
        assert_eq!(wrong, Vec::<String>::new());
        assert_eq!(refused(&job, &shop()), Vec::<String>::new());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, ..ProptestConfig::default() })]

    #[test]
    fn schema_and_reader_accept_the_same(job in edited()) {
        thread_local! {
            static ASKED: (jsonschema::Validator, Shop) =
                (jsonschema::draft202012::new(&Job::schema()).expect("a schema"), shop());
        }
        let (said, told) = ASKED.with(|(schema, shop)| {
            let said: Vec<String> = schema.iter_errors(&job).map(|error| format!("{error} at {}", error.instance_path())).collect();
            (said, refused(&job, shop))
        });
        prop_assert_eq!(said.is_empty(), told.is_empty(), "the schema says {:?}, the reader {:?}", said, told);
    }

    /// A job as it was read, written and read again is the same job.
    #[test]
    fn what_is_written_is_read_back(job in edited()) {
        if let Ok(file) = serde_json::from_value::<JobFile>(job.clone()) {
            let text = serde_json::to_string(&file).expect("text");
            prop_assert_eq!(serde_json::from_str::<JobFile>(&text).expect("the same"), file);
        }
        let shop = shop();
        let with = ReadWith { shop: Some(&shop), choice: None };
        let mut expanded = job;
        if let Some(panel) = expanded.pointer_mut("/panels/0").and_then(Value::as_object_mut) {
            expand(panel);
        }
        if let Ok(read) = Job::read_as("job.json", &expanded.to_string(), with, |_, _| {}) {
            let text = serde_json::to_string(&read.source).expect("text");
            let again = Job::read("job.json", &text).expect("what was read once");
            prop_assert_eq!(again.source.format, 2);
            prop_assert_eq!(&again.source, &read.source);
            prop_assert_eq!(again.pieces, read.pieces);
        }
    }
}

/// No drawing is read here: a panel that names one gets a piece instead.
fn expand(panel: &mut Map<String, Value>) {
    if panel.remove("drawing").is_some() {
        panel.insert(
            "pieces".into(),
            json!([{"number": "1", "glass": "CL", "shape": {"kind": "circle", "diameter": 80}}]),
        );
    }
}
