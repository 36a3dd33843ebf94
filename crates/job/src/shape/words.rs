//! What a schema says of a value, in words; what fits it.

use crate::json::MOST_KEPT;
use serde_json::Value;

pub(super) fn type_is(schema: &Value, name: &str) -> bool {
    match schema.get("type") {
        Some(Value::String(found)) => found == name,
        Some(Value::Array(found)) => found.iter().any(|found| found == name),
        _ => false,
    }
}

pub(super) fn fits_type(value: &Value, schema: &Value) -> bool {
    match value {
        Value::Null => type_is(schema, "null"),
        Value::Bool(_) => type_is(schema, "boolean"),
        Value::Number(number) => {
            type_is(schema, "number") || type_is(schema, "integer") && (number.is_u64() || number.is_i64())
        }
        Value::String(_) => type_is(schema, "string"),
        Value::Array(_) => type_is(schema, "array"),
        Value::Object(_) => type_is(schema, "object"),
    }
}

/// 2.0 is the whole number 2 (JSON Schema 2020-12, 4.2.3).
pub(super) fn make_whole(value: &mut Value) {
    if let Some(number) = value.as_f64().filter(|_| !value.is_u64() && !value.is_i64())
        && number.fract() == 0.0
        && (0.0..=f64::from(u32::MAX)).contains(&number)
    {
        *value = (number as u64).into();
    }
}

pub(super) fn fits_range(value: &Value, schema: &Value) -> bool {
    let bound = |name: &str| schema.get(name).and_then(Value::as_f64);
    let within = |size: f64, least: &str, most: &str| {
        bound(least).is_none_or(|least| size >= least) && bound(most).is_none_or(|most| size <= most)
    };
    match value {
        Value::Number(number) => {
            let number = number.as_f64().unwrap_or(f64::NAN);
            let fits_u32 = !type_is(schema, "integer") || number <= f64::from(u32::MAX);
            fits_u32
                && within(number, "minimum", "maximum")
                && bound("exclusiveMinimum").is_none_or(|above| number > above)
        }
        // Blanks alone are no name.
        Value::String(text) => {
            let is_blank = text.trim().is_empty() && bound("minLength").is_some_and(|least| least > 0.0);
            !is_blank && within(text.chars().count() as f64, "minLength", "maxLength")
        }
        Value::Array(items) => within(items.len() as f64, "minItems", "maxItems"),
        _ => true,
    }
}

/// What a schema's documentation says, on one line.
pub(super) fn about(schema: &Value) -> String {
    let text = schema.get("description").and_then(Value::as_str).unwrap_or_default();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A value as a message shows it.
pub(super) fn describe(value: &Value) -> String {
    match value {
        Value::Null => "nothing (null)".to_owned(),
        Value::Bool(value) => format!("{value}"),
        Value::Number(number) => format!("the number {number}"),
        Value::String(text) if text.trim().is_empty() => "empty text".to_owned(),
        Value::String(text) if text.chars().count() > 60 => {
            format!("a text of {} characters, \"{}\"", text.chars().count(), cut_short(text))
        }
        Value::String(text) => format!("the text \"{text}\""),
        Value::Array(items) if items.is_empty() => "an empty list".to_owned(),
        Value::Array(items) if items.len() > MOST_KEPT => format!("a list of more than {MOST_KEPT}"),
        Value::Array(items) => format!("a list of {}", items.len()),
        Value::Object(_) => "a group of fields".to_owned(),
    }
}

pub(super) fn cut_short(text: &str) -> String {
    if text.chars().count() > 60 {
        text.chars().take(40).chain(" …".chars()).collect()
    } else {
        text.to_owned()
    }
}
