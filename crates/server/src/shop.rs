//! Glass and shop: the shop file as a form. What is sent is judged by the reader before it is written.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::change::number;
use crate::deeds;
use crate::edit;
use crate::html::{self, Here, choice, field, hidden, needed};
use axum::response::Response;
use cullet_job::{Findings, Shop, Units};
use maud::{Markup, html};
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

/// What the shop file is called.
const NAME: &str = "shop.json";
/// Changes one after the other.
static CHANGING: Mutex<()> = Mutex::new(());

/// A field of the form: its name in the file, what it is called, what there is to know.
type Field = (&'static str, &'static str, &'static str);

const GLASS_NUMBERS: [Field; 6] = [
    ("thickness", "Thickness", ""),
    ("grind_allowance", "Grinding allowance", "on every edge"),
    ("price", "Price", ""),
    (
        "narrowest_strip",
        "Narrowest strip that breaks out",
        "empty: twice the thickness, at least 6 mm",
    ),
    ("edge_trim", "Trim at a sheet's edges", "empty: the narrowest strip"),
    ("grain_tolerance", "Grain may be off by, degrees", "only with a grain"),
];
/// A field with what may be chosen: value and words.
type Choice = (&'static str, &'static str, &'static [(&'static str, &'static str)]);

const GLASS_CHOICES: [Choice; 5] = [
    (
        "grain",
        "Grain",
        &[
            ("none", "none"),
            ("two-ways", "two ways, as reeds"),
            ("one-way", "one way, shaded"),
        ],
    ),
    (
        "scored_face",
        "Scored face",
        &[("show", "the show face"), ("back", "the back")],
    ),
    (
        "may_turn_over",
        "Pieces may be cut turned over",
        &[("false", "no"), ("true", "yes")],
    ),
    ("price_unit", "The price is for", &[("m2", "1 m²"), ("ft2", "1 ft²")]),
    (
        "layout",
        "Sheets are laid out",
        &[
            ("", "as the settings say"),
            ("either", "the cheaper way"),
            ("straight-run", "in straight runs"),
            ("shaped", "shaped"),
        ],
    ),
];
const SETTINGS: [Field; 4] = [
    ("currency", "Currency", "shown beside money"),
    (
        "credit_rate",
        "Returned glass counts, share of its price",
        "0 to 1; 0.5 is usual",
    ),
    ("keep", "An offcut is kept if this square fits", "150 mm is usual"),
    ("score_kerf", "What a score takes between two pieces", "0: nothing"),
];
const BREAKING: [Field; 4] = [
    ("sharpest_turn", "Sharpest turn of a score, degrees", "30 is usual"),
    ("bend_length", "over this length", "25 mm"),
    ("tightest_curve", "Tightest curve, radius", "4 mm"),
    ("pull_margin", "Room to pull apart, degrees", "5"),
];
const DRAWINGS: [Field; 6] = [
    ("came", "Came, by its name below", ""),
    ("border", "Border came, by its name", ""),
    ("came_length", "Came is bought in lengths of", "2 m is usual"),
    ("cutting_loss", "Lost at each cut of a came", "2 mm is usual"),
    (
        "opening_clearance",
        "A panel is smaller than its opening by",
        "3 mm is usual",
    ),
    ("snap", "Ends of lines are joined within", "0.5 mm is usual"),
];
const CAME: [Field; 3] = [
    ("face", "Face", ""),
    ("heart", "Heart", ""),
    ("clearance", "Room beside the heart", "empty: the usual"),
];

/// The fields of one glass.
pub(crate) fn glass_fields(glass: &Value, units: Units) -> Markup {
    html! {
        p.note { "Lengths in " (units.code()) "." }
        div.fields {
            (needed("Code", "code", &shown(&glass["code"]), "short, as pieces and stock use it"))
            (needed("Name", "name", &shown(&glass["name"]), ""))
            @for (name, words, note) in GLASS_NUMBERS { @if NEEDED.contains(&name) { (glass_number(glass, units, (name, words, note))) } }
            @for one in GLASS_CHOICES { @if ALWAYS_ASKED.contains(&one.0) { (glass_choice(glass, one)) } }
        }
        details { summary { "More: texture, strips, scored face, layout" }
            div.fields {
                (field("Texture", "texture", &shown(&glass["texture"]), "plain, reeded, streaky …"))
                @for (name, words, note) in GLASS_NUMBERS { @if !NEEDED.contains(&name) { (field(words, name, &shown(&glass[name]), note)) } }
                @for one in GLASS_CHOICES { @if !ALWAYS_ASKED.contains(&one.0) { (glass_choice(glass, one)) } }
            }
        }
    }
}

fn glass_number(glass: &Value, units: Units, (name, words, note): Field) -> Markup {
    let usual = if glass.is_null() && name == "grind_allowance" {
        usual_grinding(units)
    } else {
        ""
    };
    let value = shown(&glass[name]);
    needed(words, name, if value.is_empty() { usual } else { &value }, note)
}

fn glass_choice(glass: &Value, (name, words, options): Choice) -> Markup {
    let options = options
        .iter()
        .map(|(value, words)| ((*value).to_owned(), (*words).to_owned()));
    choice(words, name, &options.collect::<Vec<_>>(), &shown(&glass[name]))
}

/// Choices that are not folded away.
const ALWAYS_ASKED: [&str; 2] = ["price_unit", "grain"];

/// Numbers that a glass does not do without.
const NEEDED: [&str; 3] = ["thickness", "grind_allowance", "price"];

/// What most edges take (common practice).
fn usual_grinding(units: Units) -> &'static str {
    match units {
        Units::Millimetres => "0.5",
        Units::Inches => "0.02",
    }
}

/// A value as it stands in a form.
fn shown(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        Value::Number(number) => number
            .as_f64()
            .map_or_else(|| number.to_string(), |number| number.to_string()),
        other => other.to_string(),
    }
}

/// What the form says of a glass; what is empty is taken out.
pub(crate) fn glass_of(asked: &Asked) -> Result<Vec<(&'static str, Option<Value>)>, Problem> {
    let mut said: Vec<(&'static str, Option<Value>)> = vec![];
    for name in ["code", "name", "texture"] {
        said.push((name, asked.get(name).map(Value::from)));
    }
    for (name, words, _) in GLASS_NUMBERS {
        said.push((
            name,
            asked
                .get(name)
                .map(|word| number(word, words))
                .transpose()?
                .map(|number| json!(number)),
        ));
    }
    for (name, ..) in GLASS_CHOICES {
        let value = asked.get(name).map(|word| match word {
            "true" => json!(true),
            "false" => json!(false),
            word => json!(word),
        });
        said.push((name, value));
    }
    Ok(said)
}

fn path(app: &App) -> PathBuf {
    app.place.root().join(NAME)
}

/// The form.
pub(crate) fn page(app: &Arc<App>, _: &Asked) -> Result<Response, Problem> {
    let path = path(app);
    if path.symlink_metadata().is_err() {
        let body = html! {
            h1 { "Glass and shop" }
            p { "The shop file says what is the same in every job: glasses, cames, settings. There is none in this folder yet." }
            form method="post" action="/shop/start" {
                (field("What the workshop is called", "shop", "", ""))
                (choice("Lengths in", "units", &[("mm".into(), "millimetres".into()), ("in".into(), "inches".into())], "mm"))
                button { "Start a shop file" }
            }
        };
        return Ok(html::page("Glass and shop", Here::Shop, &[], body));
    }
    let text = deeds::text(&path)?;
    let tree: Value = serde_json::from_str(text.trim_start_matches('\u{feff}')).unwrap_or_default();
    let units = if tree["units"] == "in" {
        Units::Inches
    } else {
        Units::Millimetres
    };
    let wrong = Shop::read(NAME, &text).err();
    let digest = deeds::digest(&text);
    let list = |name: &str| tree[name].as_array().cloned().unwrap_or_default();
    let form = |what: &str, at: usize, inside: Markup, button: &str| {
        html! {
            form method="post" action="/shop/edit" { (hidden("digest", &digest)) (hidden("what", what)) (hidden("at", &at.to_string())) (inside) button.quiet { (button) } }
        }
    };
    let fields = |list: &[Field], value: &Value| html! { div.fields { @for (name, words, note) in list { (field(words, name, &shown(&value[*name]), note)) } } };
    let came = |value: &Value| html! { div.fields { (field("Name", "name", &shown(&value["name"]), "")) @for (name, words, note) in CAME { (field(words, name, &shown(&value[name]), note)) } } };
    let glass = |value: &Value| glass_fields(value, units);
    let body = html! {
        h1 { "Glass and shop" }
        p { "What is the same in every job. It stands in " code { (NAME) } ", lengths in " (units.code()) "." }
        @if let Some(Findings(found)) = &wrong { (html::findings(found, false, &|words| app.place.short(words))) }
        h2 { "Glasses" }
        @for (k, one) in list("glasses").iter().enumerate() {
            details { summary { (shown(&one["code"])) ": " (shown(&one["name"])) } (form("glasses", k, glass(one), "Set")) }
        }
        details { summary { "Another glass" } (form("glasses", list("glasses").len(), glass(&Value::Null), "Add")) }
        h2 { "Cames" }
        @for (k, one) in list("cames").iter().enumerate() {
            details { summary { (shown(&one["name"])) ", face " (shown(&one["face"])) } (form("cames", k, came(one), "Set")) }
        }
        details { summary { "Another came" } (form("cames", list("cames").len(), came(&Value::Null), "Add")) }
        h2 { "Drawings" } (form("drawings", 0, fields(&DRAWINGS, &tree["drawings"]), "Set"))
        h2 { "Settings" } (form("settings", 0, fields(&SETTINGS, &tree["settings"]), "Set"))
        h2 { "What can be broken out" } (form("breaking", 0, fields(&BREAKING, &tree["settings"]["breaking"]), "Set"))
    };
    Ok(html::page("Glass and shop", Here::Shop, &[], body))
}

/// A shop file with nothing in it but what the workshop is called.
pub(crate) fn start(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let units = if asked.get("units") == Some("in") { "in" } else { "mm" };
    let name = asked.get("shop").map_or_else(|| app.place.name(), str::to_owned);
    let text = format!(
        "{{\n  \"shop\": {},\n  \"units\": \"{units}\",\n  \"glasses\": []\n}}\n",
        Value::from(name)
    );
    Shop::read(NAME, &text)?;
    deeds::write_new(&path(app), text.as_bytes())?;
    Ok(answer::go("/shop"))
}

/// A change.
pub(crate) fn edit(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let _one = CHANGING.lock().unwrap_or_else(PoisonError::into_inner);
    let path = path(app);
    let old = deeds::text(&path)?;
    if asked.must("digest")? != deeds::digest(&old) {
        return Err(Problem::Changed(format!(
            "{NAME} was changed meanwhile; nothing was written. Go back, look at it as it is now, and say it again."
        )));
    }
    let at = asked.get("at").unwrap_or("0");
    let what = asked.must("what")?;
    let numbers = |fields: &[Field]| -> Result<Vec<(String, Option<Value>)>, Problem> {
        let of = |(name, words, _): &Field| {
            let value = match *name {
                "currency" | "came" | "border" => asked.get(name).map(Value::from),
                _ => asked
                    .get(name)
                    .map(|word| number(word, words))
                    .transpose()?
                    .map(|number| json!(number)),
            };
            Ok(((*name).to_owned(), value))
        };
        fields.iter().map(of).collect()
    };
    let under = |prefix: &str, said: Vec<(String, Option<Value>)>| -> Vec<(String, Option<Value>)> {
        said.into_iter()
            .map(|(name, value)| (format!("{prefix}/{name}"), value))
            .collect()
    };
    let said = match what {
        "glasses" => under(
            &format!("glasses/{at}"),
            glass_of(asked)?
                .into_iter()
                .map(|(name, value)| (name.to_owned(), value))
                .collect(),
        ),
        "cames" => {
            let mut said = vec![("name".to_owned(), asked.get("name").map(Value::from))];
            said.extend(numbers(&CAME)?);
            under(&format!("cames/{at}"), said)
        }
        "drawings" => under("drawings", numbers(&DRAWINGS)?),
        "settings" => under("settings", numbers(&SETTINGS)?),
        "breaking" => under("settings/breaking", numbers(&BREAKING)?),
        _ => return Err(Problem::NotThere),
    };
    let mut text = old.clone();
    for (name, value) in &said {
        let value = value.as_ref();
        text = edit::field(&text, None, name, value)
            .map_err(|_| Problem::Words(format!("{NAME} has no such place any more: look at it again.")))?;
    }
    Shop::read(NAME, &text)?;
    deeds::write_over(&path, &old, &text)?;
    Ok(answer::go("/shop"))
}
