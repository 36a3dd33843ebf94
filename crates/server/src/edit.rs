//! Changes to a job file, as changes of its text: which glass pieces have, what else is said of them, how many panels are made.
//!
//! Pieces that the job lists are changed where they stand. What is said of pieces of a drawing goes into the drawing's `details`.

use crate::json_text::{Step, set};
use serde_json::{Value, json};

/// What is said of some pieces of one panel.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Say {
    Glass(String),
    /// Degrees; none for upright.
    Grain(Option<f64>),
    /// Width and nose; none for no bevel.
    Bevel(Option<(f64, f64)>),
    Spares(u32),
    OneLot(Option<String>),
}

/// Why a change cannot be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Cannot {
    /// The file is not what it should be, or has no such panel or piece.
    NotThere,
    /// A piece of a drawing has a bevel, grain or lot that only the details with other pieces say.
    InDrawing,
}

/// The text with all of `say` said of the pieces with these numbers in a panel.
pub(crate) fn say(text: &str, panel: &str, numbers: &[&str], say: &[Say]) -> Result<String, Cannot> {
    let tree = tree(text)?;
    let (at, found) = panel_of(&tree, panel)?;
    if found.get("drawing").is_some() && found.get("pieces").and_then(Value::as_array).is_none_or(Vec::is_empty) {
        let drawing = &found["drawing"];
        let name = if drawing.get("details").is_none() && drawing.get("make").is_some() {
            "make"
        } else {
            "details"
        };
        let mut details = drawing.get(name).and_then(Value::as_array).cloned().unwrap_or_default();
        for one in say {
            detail(&mut details, numbers, one)?;
        }
        let way = [
            Step::Field("panels"),
            Step::Entry(at),
            Step::Field("drawing"),
            Step::Field(name),
        ];
        let details = Value::Array(details);
        let value = details
            .as_array()
            .is_some_and(|list| !list.is_empty())
            .then_some(&details);
        return set(text, &way, value).ok_or(Cannot::NotThere);
    }
    let pieces = found.get("pieces").and_then(Value::as_array).ok_or(Cannot::NotThere)?;
    let mut text = text.to_owned();
    for number in numbers {
        let k = pieces
            .iter()
            .position(|piece| is_number(&piece["number"], number))
            .ok_or(Cannot::NotThere)?;
        for one in say {
            let (name, value) = of_piece(one);
            let way = [
                Step::Field("panels"),
                Step::Entry(at),
                Step::Field("pieces"),
                Step::Entry(k),
                Step::Field(name),
            ];
            text = set(&text, &way, value.as_ref()).ok_or(Cannot::NotThere)?;
        }
    }
    Ok(text)
}

/// Another number for a piece that the job lists.
pub(crate) fn renumber(text: &str, panel: &str, number: &str, new: &str) -> Result<String, Cannot> {
    let tree = tree(text)?;
    let (at, found) = panel_of(&tree, panel)?;
    let pieces = found.get("pieces").and_then(Value::as_array).ok_or(Cannot::InDrawing)?;
    let k = pieces
        .iter()
        .position(|piece| is_number(&piece["number"], number))
        .ok_or(Cannot::InDrawing)?;
    let way = [
        Step::Field("panels"),
        Step::Entry(at),
        Step::Field("pieces"),
        Step::Entry(k),
        Step::Field("number"),
    ];
    set(text, &way, Some(&new.into())).ok_or(Cannot::NotThere)
}

/// A field of a panel, of its drawing (`drawing/came`) or of the job (no panel).
pub(crate) fn field(text: &str, panel: Option<&str>, name: &str, value: Option<&Value>) -> Result<String, Cannot> {
    let tree = tree(text)?;
    let mut way = vec![];
    if let Some(panel) = panel {
        let (at, _) = panel_of(&tree, panel)?;
        way.extend([Step::Field("panels"), Step::Entry(at)]);
    }
    way.extend(
        name.split('/')
            .map(|part| part.parse().map_or(Step::Field(part), Step::Entry)),
    );
    set(text, &way, value).ok_or(Cannot::NotThere)
}

/// Takes out of a drawing's details what is said of pieces that have none of these numbers.
pub(crate) fn only_numbers(text: &str, panel: &str, numbers: &[String]) -> Result<String, Cannot> {
    let tree = tree(text)?;
    let (at, found) = panel_of(&tree, panel)?;
    let Some(mut details) = found["drawing"]["details"].as_array().cloned() else {
        return Ok(text.to_owned());
    };
    for entry in &mut details {
        if let Some(own) = entry.get_mut("numbers").and_then(Value::as_array_mut) {
            own.retain(|own| numbers.iter().any(|number| is_number(own, number)));
        }
    }
    details.retain(|entry| {
        entry
            .get("numbers")
            .and_then(Value::as_array)
            .is_none_or(|own| !own.is_empty())
    });
    let way = [
        Step::Field("panels"),
        Step::Entry(at),
        Step::Field("drawing"),
        Step::Field("details"),
    ];
    let details = Value::Array(details);
    let value = details
        .as_array()
        .is_some_and(|list| !list.is_empty())
        .then_some(&details);
    set(text, &way, value).ok_or(Cannot::NotThere)
}

fn tree(text: &str) -> Result<Value, Cannot> {
    serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|_| Cannot::NotThere)
}

fn panel_of<'t>(tree: &'t Value, id: &str) -> Result<(usize, &'t Value), Cannot> {
    let panels = tree.get("panels").and_then(Value::as_array).ok_or(Cannot::NotThere)?;
    let at = panels
        .iter()
        .position(|panel| panel["id"] == id)
        .ok_or(Cannot::NotThere)?;
    Ok((at, &panels[at]))
}

fn is_number(value: &Value, number: &str) -> bool {
    value == number
}

fn of_piece(say: &Say) -> (&'static str, Option<Value>) {
    match say {
        Say::Glass(code) => ("glass", Some(json!(code))),
        Say::Grain(turn) => ("grain", turn.map(|turn| json!(turn))),
        Say::Bevel(bevel) => (
            "bevel",
            bevel.map(|(width, nose)| json!({"width": width, "nose": nose})),
        ),
        Say::Spares(count) => ("spares", (*count > 0).then(|| json!(count))),
        Say::OneLot(group) => ("one_lot", group.as_ref().map(|group| json!(group))),
    }
}

/// Enters what is said into a drawing's details: what was said of these pieces alone goes, and one entry says it of all of them.
fn detail(details: &mut Vec<Value>, numbers: &[&str], say: &Say) -> Result<(), Cannot> {
    let (name, value) = match say {
        Say::Glass(code) => ("instead", Some(json!(code))),
        // Later entries win: so none is said by saying it.
        Say::Spares(count) => ("spares", Some(json!(count))),
        other => of_piece(other),
    };
    for entry in details.iter_mut() {
        let Some(fields) = entry.as_object_mut() else { continue };
        // An entry with other pieces, or with another thing in it, is parted: these pieces are taken out of it for this one thing.
        if fields.get("glass").is_some() || fields.get("numbers").is_none() {
            if fields.contains_key(name) && value.is_none() {
                return Err(Cannot::InDrawing);
            }
            continue;
        }
        if fields.contains_key(name) && fields.keys().all(|key| key == "numbers" || key == name) {
            if let Some(Value::Array(own)) = fields.get_mut("numbers") {
                own.retain(|number| !number.as_str().is_some_and(|number| numbers.contains(&number)));
            }
        } else if fields.contains_key(name) && value.is_none() {
            let own = fields["numbers"].as_array().cloned().unwrap_or_default();
            let (meant, others): (Vec<Value>, Vec<Value>) = own
                .into_iter()
                .partition(|number| number.as_str().is_some_and(|number| numbers.contains(&number)));
            if !meant.is_empty() && others.is_empty() {
                fields.remove(name);
            } else if !meant.is_empty() {
                return Err(Cannot::InDrawing);
            }
        }
    }
    details.retain(|entry| {
        let numbers = entry.get("numbers").and_then(Value::as_array);
        let says = entry
            .as_object()
            .is_some_and(|fields| fields.keys().any(|key| key != "numbers" && key != "glass"));
        numbers.is_none_or(|numbers| !numbers.is_empty()) && says
    });
    let Some(value) = value else { return Ok(()) };
    let is_pure = |entry: &Value| {
        let fields = entry.as_object();
        fields.is_some_and(|fields| fields.len() == 2 && fields.contains_key("numbers") && fields.contains_key(name))
    };
    // Later entries win: nothing is added in front of one that says the same thing of others.
    let from = details
        .iter()
        .rposition(|entry| entry.get(name).is_some() && !is_pure(entry))
        .map_or(0, |at| at + 1);
    let same = details[from..]
        .iter_mut()
        .find(|entry| is_pure(entry) && entry.get(name) == Some(&value));
    match same.and_then(|entry| entry["numbers"].as_array_mut()) {
        Some(own) => own.extend(numbers.iter().map(|number| json!(number))),
        None => details.push(json!({"numbers": numbers, name: value})),
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAWN: &str = r#"{"name": "Hall", "panels": [{"id": "F", "quantity": 1, "drawing": {"file": "f.svg"}}]}"#;
    const LISTED: &str = r#"{"name": "Hall", "panels": [{"id": "F", "pieces": [{"number": "1", "glass": "CL"}, {"number": "2", "glass": "CL"}]}]}"#;

    fn details(text: &str) -> Value {
        tree(text).expect("JSON")["panels"][0]["drawing"]["details"].clone()
    }

    #[test]
    fn listed_pieces_are_changed_where_they_stand() {
        let text = say(
            LISTED,
            "F",
            &["2"],
            &[Say::Glass("REED".into()), Say::Grain(Some(45.0))],
        )
        .expect("there");
        assert_eq!(
            text,
            LISTED.replace(r#""2", "glass": "CL""#, r#""2", "glass": "REED", "grain": 45"#)
        );
        assert_eq!(
            say(&text, "F", &["2"], &[Say::Glass("CL".into()), Say::Grain(None)]).expect("there"),
            LISTED
        );
        assert_eq!(say(LISTED, "F", &["3"], &[Say::Spares(1)]), Err(Cannot::NotThere));
        assert_eq!(
            renumber(LISTED, "F", "2", "7").expect("there"),
            LISTED.replace("\"2\"", "\"7\"")
        );
        assert_eq!(renumber(DRAWN, "F", "2", "7"), Err(Cannot::InDrawing));
    }

    #[test]
    fn what_is_said_of_drawn_pieces_goes_into_the_details_once() {
        let text = say(DRAWN, "F", &["1", "2"], &[Say::Glass("REED".into())]).expect("there");
        let text = say(&text, "F", &["3"], &[Say::Glass("REED".into())]).expect("there");
        assert_eq!(details(&text), json!([{"numbers": ["1", "2", "3"], "instead": "REED"}]));
        let text = say(&text, "F", &["2"], &[Say::Glass("SEA".into())]).expect("there");
        assert_eq!(
            details(&text),
            json!([{"numbers": ["1", "3"], "instead": "REED"}, {"numbers": ["2"], "instead": "SEA"}])
        );
        let bevel = say(&text, "F", &["2"], &[Say::Bevel(Some((20.0, 2.0)))]).expect("there");
        assert_eq!(say(&bevel, "F", &["2"], &[Say::Bevel(None)]).expect("there"), text);
        let text = say(&text, "F", &["1", "2", "3"], &[Say::Glass("CL".into())]).expect("there");
        assert_eq!(details(&text), json!([{"numbers": ["1", "2", "3"], "instead": "CL"}]));
    }

    #[test]
    fn fields_of_panels_and_drawings() {
        let text = field(DRAWN, Some("F"), "quantity", Some(&json!(3))).expect("there");
        assert_eq!(text, DRAWN.replace("\"quantity\": 1", "\"quantity\": 3"));
        let text = field(
            DRAWN,
            Some("F"),
            "drawing/came",
            Some(&json!({"face": 6, "heart": 1.2})),
        )
        .expect("there");
        assert!(text.contains(r#""came": {"face": 6, "heart": 1.2}"#));
    }
}
