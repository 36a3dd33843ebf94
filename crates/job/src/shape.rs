//! Checks a JSON tree against the job file's generated schema, in the user's words, and repairs it so that everything
//! else in the file can still be checked.
//!
//! One unknown field must not hide the next finding: unknown fields are taken out, missing ones get a stand-in that no
//! later check complains about, and what cannot be stood in for is taken out and noted in [`Gaps`].

mod schemas;
pub(crate) use schemas::{printed_schema, schema, shop_schema, stand_upright};

mod words;
use words::{about, cut_short, describe, fits_range, fits_type, make_whole, type_is};

use crate::{Report, format};
use cullet_findings::did_you_mean;
use serde_json::{Map, Value};
use std::collections::BTreeSet;

/// What later checks must not rely on, since it has been reported already.
#[derive(Debug, Clone, Default)]
pub(crate) struct Gaps {
    /// The unit is missing: sizes cannot be judged.
    pub(crate) units: bool,
    /// At least one glass has no readable code: any code may be meant to be it.
    pub(crate) glass_codes: bool,
    /// Codes of glasses that had to be taken out.
    pub(crate) glasses: BTreeSet<String>,
}

/// Stands in for the glass code of a piece that has none; no real code is empty.
pub(crate) const NO_GLASS: &str = "";

/// Begins the stand-in for an id that is missing; what follows says where.
pub(crate) const STAND_IN: char = '\0';

/// Reports every field that is unknown, missing, of the wrong kind or out of its range, and repairs the tree.
pub(crate) fn check(report: &mut Report, tree: &mut Value) -> Gaps {
    walk(report, tree, &schema(), "job")
}

/// The same for a shop file.
pub(crate) fn check_shop(report: &mut Report, tree: &mut Value) {
    walk(report, tree, &shop_schema(), "shop");
}

fn walk(report: &mut Report, tree: &mut Value, schema: &Value, file: &'static str) -> Gaps {
    let mut walker = Walker {
        root: schema,
        file,
        report,
        gaps: Gaps::default(),
        place: vec![],
    };
    walker.value(tree, schema, "");
    walker.gaps
}

struct Walker<'s, 'r> {
    root: &'s Value,
    /// Which kind of file it is: job or shop.
    file: &'static str,
    report: &'r mut Report,
    gaps: Gaps,
    place: Vec<String>,
}

impl<'s> Walker<'s, '_> {
    /// Whether the value can be read, perhaps after repair; `about` is what the field's documentation says.
    fn value(&mut self, value: &mut Value, schema: &'s Value, about: &str) -> bool {
        let (schema, kind) = self.resolve(schema);
        if let Some(choices) = schema.get("anyOf").and_then(Value::as_array) {
            // A choice of words has no type of its own: the words are looked at in turn.
            let fits = |choice: &&Value| {
                let choice = self.resolve(choice).0;
                fits_type(value, choice) || (value.is_string() && choice.get("oneOf").is_some())
            };
            let fitting = choices.iter().find(fits);
            return match fitting {
                Some(choice) => self.value(value, choice, about),
                None => self.refuse(value, &self.expected(schema), about),
            };
        }
        if let Some(words) = schema.get("oneOf").and_then(Value::as_array) {
            if words.iter().any(|word| word.get("const") == Some(value)) {
                return true;
            }
            let near = value.as_str().map_or_else(String::new, |found| {
                did_you_mean(found, words.iter().filter_map(|w| w.get("const")?.as_str()))
            });
            return self.refuse(value, &self.expected(schema), &format!("{near}{about}"));
        }
        if type_is(schema, "integer") {
            make_whole(value);
        }
        if !fits_type(value, schema) || !fits_range(value, schema) {
            let hint = match value {
                Value::Number(n) if type_is(schema, "string") => format!("Put it in quotes: \"{n}\"."),
                Value::String(_) if type_is(schema, "number") || type_is(schema, "integer") => {
                    format!("Write the bare number, without quotes or unit. {about}")
                }
                _ => about.to_owned(),
            };
            return self.refuse(value, &self.expected(schema), &hint);
        }
        match value {
            Value::Object(fields) => self.object(fields, schema, kind),
            Value::Array(items) => self.array(items, schema),
            _ => true,
        }
    }

    fn object(&mut self, fields: &mut Map<String, Value>, schema: &'s Value, kind: &str) -> bool {
        let Some(known) = schema.get("properties").and_then(Value::as_object) else {
            return true;
        };
        let required: Vec<&str> = schema
            .get("required")
            .and_then(Value::as_array)
            .map(|names| names.iter().filter_map(Value::as_str).collect())
            .unwrap_or_default();

        let unknown: Vec<String> = fields
            .keys()
            .filter(|name| !known.contains_key(*name))
            .cloned()
            .collect();
        for name in unknown {
            let near = match format::present_name(&name).filter(|present| known.contains_key(*present)) {
                Some(present) => format!("It is called \"{present}\" now. "),
                None => did_you_mean(&name, known.keys().map(String::as_str)),
            };
            let names = known.keys().map(String::as_str).collect::<Vec<_>>().join(", ");
            self.report.add(
                self.place_of(""),
                format!("the unknown field \"{}\"", cut_short(&name)),
                format!("only fields that a {} file has", self.file),
                format!("{near}The fields here are: {names}."),
            );
            fields.remove(&name);
        }

        let mut readable = true;
        for (name, schema) in known {
            let about = about(schema);
            let is_required = required.contains(&name.as_str());
            let ok = match fields.get_mut(name) {
                Some(value) => {
                    self.place.push(self.field_words(name, schema));
                    let ok = self.value(value, schema, &about);
                    self.place.pop();
                    ok
                }
                None if is_required => {
                    let expected = self.expected(schema);
                    let place = self.place_of(name);
                    self.report
                        .add(place, "no such field", expected, format!("Add it. {about}"));
                    false
                }
                None => true,
            };
            if !ok {
                fields.remove(name);
                // A piece whose outline or shape is bad is no piece: it has been reported.
                if kind == "PieceFile" && ["outline", "shape"].contains(&name.as_str()) {
                    readable = false;
                }
                if is_required {
                    match self.stand_in(kind, name) {
                        Some(value) => _ = fields.insert(name.clone(), value),
                        None => readable = false,
                    }
                }
            }
        }
        readable
    }

    fn array(&mut self, items: &mut Vec<Value>, schema: &'s Value) -> bool {
        let Some(item_schema) = schema.get("items") else {
            return true;
        };
        let kind = self.resolve(item_schema).1;
        let (word, id) = match kind {
            "GlassFile" => ("glass", "code"),
            "PanelFile" => ("panel", "id"),
            "PieceFile" => ("piece", "number"),
            "CameFile" => ("came", "name"),
            "DetailsFile" => ("entry", "glass"),
            "ChoiceFile" => ("choice", "name"),
            "GlassChoiceFile" => ("glass", "code"),
            // A bad name in a list is taken out.
            _ if type_is(item_schema, "string") || kind == "CornerFile" => {
                let mut position = 0;
                items.retain_mut(|item| {
                    position += 1;
                    self.place.push(format!("entry {position}"));
                    let ok = self.value(item, item_schema, "");
                    self.place.pop();
                    ok
                });
                return true;
            }
            // A corner, or a number of it: one bad corner spoils the outline, and the first is enough to say.
            _ => {
                let mut position = 0;
                return items.iter_mut().all(|item| {
                    position += 1;
                    self.place.push(if item_schema.get("items").is_some() {
                        format!("point {position}")
                    } else {
                        ["x", "y"].get(position - 1).unwrap_or(&"number").to_string()
                    });
                    let ok = self.value(item, item_schema, "A corner is written [x, y].");
                    self.place.pop();
                    ok
                });
            }
        };
        // `panel S, piece 12` says enough: the lists they stand in are left out of the place.
        let list = self.place.pop();
        let mut position = 0;
        items.retain_mut(|item| {
            position += 1;
            let name = match item.get(id) {
                Some(Value::String(name)) if !name.trim().is_empty() => Some(cut_short(name)),
                Some(Value::Number(number)) => Some(number.to_string()),
                _ => None,
            };
            self.place.push(match &name {
                Some(name) => format!("{word} {name}"),
                None => format!("{word} no. {position} in the list"),
            });
            let ok = self.value(item, item_schema, "");
            self.place.pop();
            if kind == "GlassFile" && !ok {
                match name {
                    Some(code) => _ = self.gaps.glasses.insert(code),
                    None => self.gaps.glass_codes = true,
                }
            }
            ok
        });
        self.place.extend(list);
        true
    }

    /// A value that lets the rest be read and that no later check complains about.
    fn stand_in(&mut self, kind: &str, field: &str) -> Option<Value> {
        let unnamed = || {
            Some(Value::from(format!(
                "{STAND_IN}{}",
                self.place.last().map_or("", String::as_str)
            )))
        };
        match (kind, field) {
            ("JobFile", "name") => Some("?".into()),
            ("JobFile", "units") => {
                self.gaps.units = true;
                Some("mm".into())
            }
            ("JobFile", "y") => Some("up".into()),
            ("JobFile", "glasses") => {
                self.gaps.glass_codes = true;
                Some(Value::Array(vec![]))
            }
            ("JobFile", "panels") => Some(Value::Array(vec![])),
            ("PanelFile", "id") | ("PieceFile", "number") => unnamed(),
            ("PanelFile", "quantity") => Some(1.into()),
            ("PieceFile", "glass") => Some(NO_GLASS.into()),
            _ => None,
        }
    }

    fn refuse(&mut self, value: &Value, expected: &str, hint: &str) -> bool {
        let hint = if hint.is_empty() { "Correct it." } else { hint };
        self.report.add(self.place_of(""), describe(value), expected, hint);
        false
    }

    /// The place reached, and a field in it where one is named.
    fn place_of(&self, field: &str) -> String {
        let mut parts = self.place.clone();
        if !field.is_empty() {
            parts.push(format!("field \"{field}\""));
        }
        if parts.is_empty() {
            match self.file {
                "job" => "the job".to_owned(),
                file => format!("the {file} file"),
            }
        } else {
            parts.join(", ")
        }
    }

    /// Groups of fields are named bare, single values as fields.
    fn field_words(&self, name: &str, schema: &'s Value) -> String {
        let is_group = |schema: &'s Value| self.resolve(schema).0.get("properties").is_some();
        let choices = schema.get("anyOf").and_then(Value::as_array);
        if is_group(schema) || choices.is_some_and(|choices| choices.iter().any(is_group)) {
            name.to_owned()
        } else {
            format!("field \"{name}\"")
        }
    }

    /// Follows a reference; gives the schema and the name of its type.
    fn resolve(&self, schema: &'s Value) -> (&'s Value, &'s str) {
        let name = schema
            .get("$ref")
            .and_then(Value::as_str)
            .and_then(|reference| reference.strip_prefix("#/$defs/"));
        match name.and_then(|name| Some((self.root.get("$defs")?.get(name)?, name))) {
            Some(resolved) => resolved,
            None => (schema, schema.get("title").and_then(Value::as_str).unwrap_or("")),
        }
    }

    /// What the schema allows, in words.
    fn expected(&self, schema: &'s Value) -> String {
        let (schema, _) = self.resolve(schema);
        if let Some(choices) = schema.get("anyOf").and_then(Value::as_array) {
            let choices = choices.iter().filter(|choice| !type_is(choice, "null"));
            return choices
                .map(|choice| self.expected(choice))
                .collect::<Vec<_>>()
                .join(", or ");
        }
        if let Some(words) = schema.get("oneOf").and_then(Value::as_array) {
            let words = words.iter().filter_map(|word| word.get("const")?.as_str());
            return words.map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(" or ");
        }
        let bound = |name: &str| schema.get(name).and_then(Value::as_f64);
        let most = |name: &str| bound(name).filter(|most| *most > 0.0);
        if type_is(schema, "string") {
            let what = if about(schema).contains("path data") {
                "SVG path data"
            } else {
                "a text"
            };
            match most("maxLength") {
                Some(most) => format!("{what} of 1 to {most} characters, in quotes"),
                None => format!("{what} in quotes"),
            }
        } else if type_is(schema, "array") {
            if bound("maxItems") == Some(2.0) {
                let is_size = about(schema).starts_with("Width and height");
                format!("two numbers, {}", if is_size { "[width, height]" } else { "[x, y]" })
            } else {
                let what = if about(schema).contains("points") {
                    "a list of points [x, y]"
                } else {
                    "a list in [ ]"
                };
                match most("maxItems") {
                    Some(most) => format!("{what} with at most {most} entries"),
                    None => what.to_owned(),
                }
            }
        } else if type_is(schema, "boolean") {
            "true or false".to_owned()
        } else if type_is(schema, "object") {
            "a group of fields in { }".to_owned()
        } else {
            let what = if type_is(schema, "integer") {
                "a whole number"
            } else {
                "a number"
            };
            let greatest = bound("maximum").filter(|most| *most < f64::from(u32::MAX));
            match (bound("exclusiveMinimum"), bound("minimum"), greatest) {
                (Some(above), _, _) => format!("{what} above {above}"),
                (_, Some(least), Some(most)) => format!("{what} from {least} to {most}"),
                (_, Some(least), None) => format!("{what}, {least} or more"),
                _ => what.to_owned(),
            }
        }
    }
}
