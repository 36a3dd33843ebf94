//! A piece list as a job: one line for each kind of piece, by its shape and sizes.
//!
//! The list becomes the tree of a job file, so that a job and a list are checked alike; what is found wrong is told by the list's
//! lines and columns ([`Lines::place`]). What the list does not say of a glass comes from the shop file, else it is assumed and told
//! ([`assume`]).

mod cells;
use cells::{bevel, count, grain, shape, shown};

use crate::json::MOST_JOB_BYTES;
use crate::{Finding, Findings, Job, ReadWith, Report, Shop};
use cullet_findings::did_you_mean;
use cullet_list::{Kind, Row, cut_short};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::path::Path;

/// The columns of a piece list; the first two must be there.
pub const PIECE_COLUMNS: [&str; 30] = [
    "number",
    "glass",
    "shape",
    "width",
    "height",
    "quantity",
    "units",
    "thickness",
    "panel",
    "diameter",
    "radius",
    "rise",
    "top",
    "offset",
    "left",
    "right",
    "side",
    "sides",
    "angle",
    "clip",
    "corners",
    "grain",
    "bevel",
    "nose",
    "one_lot",
    "spares",
    "glass_name",
    "glass_grain",
    "grind",
    "price",
];

const PIECE_LIST: Kind = Kind {
    name: "a piece list",
    entry: "piece",
    columns: &PIECE_COLUMNS,
    former: &[],
    required: 2,
    shown: 8,
    numbers: &[
        "width",
        "height",
        "thickness",
        "diameter",
        "radius",
        "rise",
        "top",
        "offset",
        "left",
        "right",
        "side",
        "angle",
        "clip",
        "grain",
        "bevel",
        "nose",
        "grind",
        "price",
    ],
    quoted: "a name",
    none: "Add a line for each piece.",
    most_bytes: MOST_JOB_BYTES,
    most_lines: 100_000,
    too_long: "Split the list into several jobs.",
};

/// The panel of pieces that name none.
const PANEL: &str = "A";
/// Where each piece of a list stands: its place in a job's findings, and its line.
#[derive(Debug, Default)]
pub(crate) struct Lines(BTreeMap<String, String>);

impl Lines {
    /// A finding about a piece of the list, by line and column.
    pub(crate) fn place(&self, mut finding: Finding) -> Finding {
        // Ids may have commas in them: the longest place that is known is meant.
        let ends = finding.place.match_indices(',').map(|(at, _)| at);
        let mut ends: Vec<usize> = ends.chain([finding.place.len()]).collect();
        ends.reverse();
        let known = ends
            .into_iter()
            .find_map(|end| Some((self.0.get(&finding.place[..end])?, end)));
        if let Some((line, end)) = known {
            let column = match &finding.place[end..] {
                ", bevel" | ", bevel, field \"width\"" => ", column \"bevel\"".to_owned(),
                ", bevel, field \"nose\"" => ", column \"nose\"".to_owned(),
                rest => rest.replace("field \"", "column \""),
            };
            finding.place = format!("{line}{column}");
        } else if finding.place.starts_with("glass ") {
            let place = finding.place.replace("field \"grind_allowance\"", "field \"grind\"");
            finding.place = place.replace("field \"", "column \"");
        }
        finding
    }
}

/// Whether a file is a list and not a job file: by its name, unless its text begins as a job file's does.
pub(crate) fn is_one(file: &str, text: &str) -> bool {
    let ending = Path::new(file)
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    let is_json = text.trim_start_matches('\u{feff}').trim_start().starts_with('{');
    !is_json && ending.is_some_and(|ending| ["csv", "tsv", "txt"].contains(&ending.as_str()))
}

/// The tree of the job that a list makes, `units` where the list does not say; `None` where there is no piece in it.
pub(crate) fn read(report: &mut Report, text: &str, units: Option<&str>) -> Option<(Value, Lines)> {
    if is_stock_list(text) {
        report.add(
            "the whole file",
            "what looks like a stock list",
            "a piece list or a job file",
            "Name the stock list after --stock; the pieces come before it.",
        );
        return None;
    }
    let mut list = List {
        units: units.map(|units| (units.to_owned(), "the shop file".to_owned())),
        ..List::default()
    };
    let count = cullet_list::read(report, text, &PIECE_LIST, |report, row| list.add(report, row)).len();
    let (units, _) = list.units?;
    if count == 0 {
        return None;
    }
    let name = job_name(Path::new(report.file()));
    let tree = json!({
        "name": name,
        "units": units,
        "y": "up",
        "glasses": list.glasses.into_iter().map(|glass| Value::Object(glass.said())).collect::<Vec<_>>(),
        "panels": list.panels.into_iter().map(|(id, pieces)| json!({"id": id, "quantity": 1, "pieces": pieces})).collect::<Vec<_>>(),
    });
    let places = list.lines.into_iter();
    let places = places.map(|((panel, number), line)| (format!("panel {panel}, piece {number}"), line));
    Some((tree, Lines(places.collect())))
}

/// The list's name without its ending; that of its folder where it is called no more than pieces.
fn job_name(file: &Path) -> String {
    let words = |name: Option<&OsStr>| name.map(|name| name.to_string_lossy().trim().to_owned());
    let stem = words(file.file_stem()).filter(|name| !name.is_empty());
    let folder = || words(file.parent().and_then(Path::file_name));
    match stem {
        Some(stem) if stem != "pieces" => stem,
        _ => folder().unwrap_or_else(|| "pieces".into()),
    }
}

/// A piece list as the tree of a job file, for a job file to be made of it: with its shapes, and of the glasses that the shop file has
/// only what the list says. The second value tells what was assumed.
///
/// # Errors
/// Everything that is wrong with the list, at once.
pub fn list_as_job(file: &str, text: &str, shop: Option<&Shop>) -> Result<(Value, Vec<String>), Findings> {
    let with = ReadWith { shop, choice: None };
    Job::read_as(file, text, with, |_, _| {})?;
    let mut report = Report::new(file);
    let units = shop.map(|shop| shop.units().code());
    let Some((mut tree, _)) = read(&mut report, text, units) else {
        return Err(Findings(report.into_findings()));
    };
    let known = shop.map(Shop::glass_codes).unwrap_or_default();
    let is_known = |glass: &Value| glass["code"].as_str().is_some_and(|code| known.contains(&code));
    let glasses = tree["glasses"].as_array().cloned().unwrap_or_default();
    let (of_shop, own): (Vec<Value>, Vec<Value>) = glasses.into_iter().partition(is_known);
    tree["glasses"] = own.into();
    let notes = assume(&mut report, &mut tree);
    if let Some(glasses) = tree["glasses"].as_array_mut() {
        // A code alone says nothing that the shop file does not.
        glasses.extend(
            of_shop
                .into_iter()
                .filter(|glass| glass.as_object().is_some_and(|fields| fields.len() > 1)),
        );
    }
    report.into_result((tree, notes))
}

fn is_stock_list(text: &str) -> bool {
    let names = text
        .lines()
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'));
    names.is_some_and(|names| {
        let has = |name: &str| {
            names
                .to_lowercase()
                .split([',', ';', '\t'])
                .any(|cell| cell.trim().trim_matches('"') == name)
        };
        has("kind") && has("tag") && !has("number")
    })
}

/// What has been read of a list.
#[derive(Default)]
struct List {
    /// With where it was said.
    units: Option<(String, String)>,
    glasses: Vec<ListGlass>,
    panels: Vec<(String, Vec<Value>)>,
    lines: BTreeMap<(String, String), String>,
}

/// What lines say of a glass: field, value, the line that said it first.
struct ListGlass {
    code: String,
    fields: BTreeMap<&'static str, (Value, String)>,
}

impl ListGlass {
    fn said(self) -> Map<String, Value> {
        let fields = self
            .fields
            .into_iter()
            .map(|(field, (value, _))| (field.to_owned(), value));
        [("code".to_owned(), Value::from(self.code))]
            .into_iter()
            .chain(fields)
            .collect()
    }
}

impl List {
    /// Takes in one line.
    fn add(&mut self, report: &mut Report, row: &Row<'_>) -> Option<()> {
        let before = report.findings().len();
        let in_inches = self.unit(report, row) == Some("in");
        let number = row.name(
            report,
            "number",
            Some("Write the piece's number as the cartoon has it."),
        );
        let glass = row.name(report, "glass", Some("Write the code of its glass."));
        let panel = match row.name(report, "panel", None) {
            panel if panel.is_empty() => PANEL.to_owned(),
            panel => panel,
        };
        let mut piece = Map::new();
        piece.insert("number".into(), number.clone().into());
        piece.insert("glass".into(), glass.clone().into());
        piece.insert("shape".into(), shape(report, row, in_inches));
        for (column, least) in [("quantity", 1), ("spares", 0)] {
            if let Some(count) = count(report, row, column, least) {
                piece.insert(column.into(), count.into());
            }
        }
        if let Some(grain) = grain(report, row) {
            piece.insert("grain".into(), grain.into());
        }
        if let Some(bevel) = bevel(report, row, in_inches) {
            piece.insert("bevel".into(), bevel);
        }
        let lot = row.name(report, "one_lot", None);
        if !lot.is_empty() {
            piece.insert("one_lot".into(), lot.into());
        }
        self.glass(report, row, &glass, in_inches);
        let line = row.place("");
        let line = line.split(',').next().unwrap_or_default().to_owned();
        let key = (panel, number);
        if let Some(earlier) = self.lines.get(&key).filter(|_| !key.1.is_empty()) {
            report.add(
                row.place("number"),
                format!("\"{}\" again, it stands on {earlier} already", cut_short(&key.1)),
                "each number once in its panel",
                "Give it a number of its own; equal pieces go on one line with their quantity.",
            );
        }
        if report.findings().len() > before || key.1.is_empty() || glass.is_empty() {
            return None;
        }
        match self.panels.iter_mut().find(|(id, _)| *id == key.0) {
            Some((_, pieces)) => pieces.push(piece.into()),
            None => self.panels.push((key.0.clone(), vec![piece.into()])),
        }
        self.lines.insert(key, line);
        Some(())
    }

    /// The unit, which one line says for all.
    fn unit(&mut self, report: &mut Report, row: &Row<'_>) -> Option<&str> {
        let said = match row.text("units") {
            "" => None,
            _ => row.word(report, "units", &[("mm", "mm"), ("in", "in")]),
        };
        let is_said = !row.text("units").is_empty();
        match (&self.units, said) {
            (None, Some(said)) => self.units = Some((said.to_owned(), row.place("units"))),
            (Some((units, place)), Some(said)) if units != said && place != "the shop file" => report.add(
                row.place("units"),
                said,
                format!("{units}, as {place} says"),
                "Write all sizes of a list in one unit.",
            ),
            // What the list says counts before what the shop file says.
            (Some((units, _)), Some(said)) if units != said => {
                self.units = Some((said.to_owned(), row.place("units")));
            }
            (None, None) if !is_said => {
                report.add(
                    row.place("units"),
                    "nothing",
                    "mm or in, on the first line at least",
                    "Add a column units, or say the units in a shop file.",
                );
                self.units = Some(("mm".into(), row.place("units")));
            }
            _ => {}
        }
        self.units.as_ref().map(|(units, _)| units.as_str())
    }

    /// What the line says of its glass; lines must not say different things.
    fn glass(&mut self, report: &mut Report, row: &Row<'_>, code: &str, in_inches: bool) {
        let mut said: Vec<(&'static str, &'static str, Value)> = vec![];
        let thickness = row.size(report, "thickness", "a thickness above 0", in_inches, |size| size > 0.0);
        said.extend(thickness.map(|size| ("thickness", "thickness", size.into())));
        let grind = row.size(report, "grind", "a grinding allowance, 0 or more", in_inches, |size| {
            size >= 0.0
        });
        said.extend(grind.map(|size| ("grind", "grind_allowance", size.into())));
        let price = row.number(report, "price", "a price, 0 or more", |price| price >= 0.0);
        said.extend(price.map(|price| ("price", "price", price.into())));
        let name = row.name(report, "glass_name", None);
        if !name.is_empty() {
            said.push(("glass_name", "name", name.into()));
        }
        if !row.text("glass_grain").is_empty() {
            let words = [("none", "none"), ("two-ways", "two-ways"), ("one-way", "one-way")];
            let grain = row.word(report, "glass_grain", &words);
            said.extend(grain.map(|grain| ("glass_grain", "grain", grain.into())));
        }
        if code.is_empty() {
            return;
        }
        let at = self
            .glasses
            .iter()
            .position(|glass| glass.code == code)
            .unwrap_or_else(|| {
                self.glasses.push(ListGlass {
                    code: code.to_owned(),
                    fields: BTreeMap::new(),
                });
                self.glasses.len() - 1
            });
        for (column, field, value) in said {
            let place = row.place(column);
            match self.glasses[at].fields.get(field) {
                Some((earlier, first)) if *earlier != value => report.add(
                    place,
                    format!("{} for glass {code}", shown(&value)),
                    format!("{}, as {first} says", shown(earlier)),
                    "Correct one of the two, or give the other glass a code of its own.",
                ),
                Some(_) => {}
                None => _ = self.glasses[at].fields.insert(field, (value, place)),
            }
        }
    }
}

/// Puts into the glasses of a list's tree what neither the list nor the shop file says, and tells what was assumed; a thickness is
/// not.
pub(crate) fn assume(report: &mut Report, tree: &mut Value) -> Vec<String> {
    let per = match tree["units"].as_str() {
        Some("in") => ("ft2", "ft²"),
        _ => ("m2", "m²"),
    };
    let is_known = |glass: &&Value| glass.get("thickness").is_some();
    let known = tree["glasses"].as_array().into_iter().flatten().filter(is_known);
    let known: Vec<String> = known
        .filter_map(|glass| Some(glass["code"].as_str()?.to_owned()))
        .collect();
    let mut notes = vec![];
    for glass in tree["glasses"].as_array_mut().into_iter().flatten() {
        let Some(glass) = glass.as_object_mut() else { continue };
        let code = glass["code"].as_str().unwrap_or_default().to_owned();
        if !glass.contains_key("thickness") {
            let add =
                "Add a column thickness and fill it in on one line of each glass, or list the glass in a shop file.";
            let near = did_you_mean(&code, known.iter().map(String::as_str));
            report.add(
                format!("glass {code}, column \"thickness\""),
                "nothing",
                format!("the thickness of glass {code}"),
                format!("{near}{add}"),
            );
            // So that nothing else is said of it.
            let usual = if per.0 == "ft2" { 0.125 } else { 3.0 };
            glass.insert("thickness".into(), usual.into());
        }
        let mut assumed = vec![];
        let mut fill = |field: &str, value: Value, words: String| {
            if !glass.contains_key(field) {
                glass.insert(field.into(), value);
                assumed.push(words);
            }
        };
        fill("grain", "none".into(), "no grain".into());
        fill("grind_allowance", 0.into(), "no grinding allowance".into());
        fill("price", 1.into(), format!("price 1 per {}", per.1));
        // What goes without saying: the code for a name, the unit of the price, the face that is looked at.
        for (field, value) in [
            ("name", Value::from(code.clone())),
            ("price_unit", per.0.into()),
            ("may_turn_over", false.into()),
            ("scored_face", "show".into()),
        ] {
            glass.entry(field).or_insert(value);
        }
        if !assumed.is_empty() {
            notes.push(format!("Assumed for glass {code}: {}", assumed.join(", ")));
        }
    }
    notes
}
