//! The schemas of the job file and the shop file.

use crate::format::JOB_FORMAT;
use crate::{JobFile, ShopFile};
use serde_json::Value;

/// The job file's schema, as schemars generates it.
pub(crate) fn schema() -> Value {
    exact(schemars::schema_for!(JobFile).to_value())
}

/// Says in a schema what the reader asks for besides: text that is not blanks alone, counts that are not beyond all reason.
pub(super) fn exact(mut schema: Value) -> Value {
    fn visit(value: &mut Value) {
        if let Value::Object(fields) = value {
            if fields.get("minLength").and_then(Value::as_u64) == Some(1) {
                fields.insert("pattern".into(), r"\S".into());
            }
            if fields.get("format").and_then(Value::as_str) == Some("uint32") {
                fields.entry("maximum").or_insert_with(|| u32::MAX.into());
            }
        }
        match value {
            Value::Object(fields) => fields.values_mut().for_each(visit),
            Value::Array(entries) => entries.iter_mut().for_each(visit),
            _ => {}
        }
    }
    visit(&mut schema);
    schema
}

/// Says which way y runs where it does not matter: no piece has an outline of points or path data.
pub(crate) fn stand_upright(tree: &mut Value) {
    let panels = tree.get("panels").and_then(Value::as_array);
    let mut pieces = panels
        .into_iter()
        .flatten()
        .filter_map(|panel| panel.get("pieces")?.as_array())
        .flatten();
    let has_none = panels.is_some() && pieces.all(|piece| piece.get("outline").is_none());
    if let Some(job) = tree.as_object_mut().filter(|_| has_none) {
        job.entry("y").or_insert_with(|| "up".into());
    }
}

/// The same as it is printed: what a shop file may say, or what does not matter where pieces have shapes, may be left out.
pub(crate) fn printed_schema() -> Value {
    let mut schema = schema();
    if let Some(required) = schema.get_mut("required").and_then(Value::as_array_mut) {
        required.retain(|field| !["units", "y", "glasses"].iter().any(|left_out| field == left_out));
        required.push("format".into());
    }
    if let Some(format) = schema.pointer_mut("/properties/format") {
        let about = format["description"].take();
        *format = serde_json::json!({"const": JOB_FORMAT, "description": about});
    }
    // Where a piece has an outline it matters which way y runs.
    let no_outline =
        serde_json::json!({"items": {"properties": {"pieces": {"items": {"not": {"required": ["outline"]}}}}}});
    schema["anyOf"] = serde_json::json!([{"required": ["y"]}, {"properties": {"panels": no_outline}}]);
    if let Some(glasses) = schema.pointer_mut("/properties/glasses").and_then(Value::as_object_mut) {
        glasses.remove("minItems");
    }
    if let Some(glass) = schema.pointer_mut("/$defs/GlassFile") {
        glass["required"] = serde_json::json!(["code"]);
    }
    // Of a came of the shop file its name is enough.
    if let Some(came) = schema.pointer_mut("/$defs/CameFile").and_then(Value::as_object_mut) {
        came.remove("required");
        let enough = serde_json::json!([{"required": ["face", "heart"]}, {"required": ["name"]}]);
        came.insert("anyOf".into(), enough);
    }
    for (field, more) in [
        ("units", "May be left out where a shop file says it."),
        ("y", "May be left out where no piece has an outline."),
        (
            "glasses",
            "Those of a shop file need not be listed; of one that is listed the fields that the shop file says may be left out.",
        ),
    ] {
        if let Some(Value::String(about)) = schema.pointer_mut(&format!("/properties/{field}/description")) {
            about.push(' ');
            about.push_str(more);
        }
    }
    for field in [
        "DrawingFile/properties/came",
        "DrawingFile/properties/border",
        "ChoiceFile/properties/came",
    ] {
        let choices = schema.pointer_mut(&format!("/$defs/{field}/anyOf"));
        if let Some(Value::Array(choices)) = choices {
            choices.push(serde_json::json!({"type": "string", "description": "The name of a came of the shop file."}));
        }
    }
    schema
}

/// The shop file's.
pub(crate) fn shop_schema() -> Value {
    exact(schemars::schema_for!(ShopFile).to_value())
}
