//! A job from drawings: a panel for each.

use super::{Content, JOB, StartRequest, text};
use crate::{reading, shop};
use cullet_drawing::expand;
use cullet_job::{DrawingFile, Finding, Findings, Job, ReadWith, Shop, Units, counted};
use cullet_rack::plain_words;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

/// A panel for each drawing. The drawings stay where they are.
pub(super) fn start(asked: &StartRequest, drawings: &[PathBuf], shop: Option<&Shop>) -> Result<Content, Findings> {
    let (mut findings, mut read) = (vec![], vec![]);
    for drawing in drawings {
        match see(drawing, asked) {
            Ok(seen) => read.push(seen),
            Err(Findings(found)) => findings.extend(found),
        }
    }
    if !findings.is_empty() {
        return Err(Findings(findings));
    }
    let units = shop.map_or(Units::Millimetres, Shop::units);
    let known = shop.map(Shop::glass_codes).unwrap_or_default();
    let mut notes = vec![];
    // Each glass, and whether it has a grain.
    let mut glasses: BTreeMap<String, bool> = BTreeMap::new();
    for (glass, has_grain) in read.iter().flat_map(|seen| &seen.glasses) {
        *glasses.entry(glass.clone()).or_default() |= has_grain;
    }
    // For pieces to which the drawing gives none: the shop's first, or the drawings' first, or a new one.
    let usual = known.first().map(|code| (*code).to_owned());
    let usual = usual
        .or_else(|| glasses.keys().next().cloned())
        .unwrap_or_else(|| "CLEAR".into());
    let (mut panels, mut to_check) = (vec![], vec![]);
    for seen in &read {
        let id = panel_id(&seen.path, &panels);
        let mut drawing = json!({"file": seen.from(&asked.folder)});
        if let Some(unit) = asked.unit_mm {
            drawing["unit_mm"] = unit.into();
        }
        if let Some(part) = &asked.part {
            drawing["part"] = json!(part);
        }
        if seen.without_glass > 0 {
            drawing["glass"] = usual.clone().into();
            *glasses.entry(usual.clone()).or_default() |= seen.grain_without_glass;
            notes.push(format!(
                "Assumed for panel {id}: glass {usual} for {} to which the drawing gives none",
                counted(seen.without_glass, "piece")
            ));
        }
        panels.push(json!({"id": id, "quantity": 1, "drawing": drawing.clone()}));
        drawing["file"] = seen.path.display().to_string().into();
        to_check.push(json!({"id": id, "quantity": 1, "drawing": drawing}));
    }
    let own = glasses.iter().filter(|(code, _)| !known.contains(&code.as_str()));
    let listed: Vec<Value> = own
        .map(|(code, has_grain)| new_glass(code, *has_grain, units, &mut notes))
        .collect();
    let name = asked
        .folder
        .file_name()
        .map_or("job".into(), |name| name.to_string_lossy().into_owned());
    let tree = |panels: Vec<Value>| json!({"name": name, "units": units.code(), "glasses": listed, "panels": panels});
    // It must plan: it is read as it will be, the drawings by their full names since the folder may not be there yet.
    let path = asked.folder.join(JOB);
    let with = ReadWith { shop, choice: None };
    let checked = tree(to_check).to_string();
    let job = Job::read_as(&path.display().to_string(), &checked, with, |file, report| {
        reading::expand_beside(&path, file, report);
    });
    let job = job.map_err(|Findings(found)| Findings(found.into_iter().map(|one| as_typed(one, &read)).collect()))?;
    Ok(Content {
        job: (JOB, text::job(&tree(panels))),
        stock: text::stock(&job),
        notes,
    })
}

/// A finding about a drawing, by the name that was typed.
fn as_typed(finding: Finding, read: &[Seen]) -> Finding {
    match read.iter().find(|seen| seen.path.display().to_string() == finding.file) {
        Some(seen) => Finding {
            file: seen.typed.clone(),
            ..finding
        },
        None => finding,
    }
}

/// What stands in a drawing.
struct Seen {
    typed: String,
    /// In full.
    path: PathBuf,
    /// Codes of glasses, and whether one of their pieces has a grain mark.
    glasses: Vec<(String, bool)>,
    /// How many pieces have no glass.
    without_glass: usize,
    grain_without_glass: bool,
}

fn see(path: &Path, asked: &StartRequest) -> Result<Seen, Findings> {
    let name = path.display().to_string();
    let drawing = DrawingFile {
        file: name.clone(),
        unit_mm: asked.unit_mm,
        part: asked.part.clone(),
        ..DrawingFile::default()
    };
    let mut settings = expand::settings(&drawing, 1.0, &[]);
    // No glass is known yet: any word may be one.
    settings.any_glass = true;
    let bytes = reading::bytes(path).map_err(|error| {
        Findings(vec![Finding {
            file: name.clone(),
            place: "the whole file".into(),
            found: plain_words(&error, path),
            expected: "a drawing (SVG or DXF) or a piece list (CSV)".into(),
            hint: "Check the name.".into(),
        }])
    })?;
    let cartoon = expand::read_file(&name, Ok(bytes), &drawing, &settings).map_err(Findings)?;
    let glasses = cartoon
        .cells
        .iter()
        .filter_map(|cell| Some((cell.glass.clone()?, cell.grain.is_some())));
    let without = || cartoon.cells.iter().filter(|cell| cell.glass.is_none());
    Ok(Seen {
        typed: name,
        path: path.canonicalize().unwrap_or_else(|_| path.to_owned()),
        glasses: glasses.collect(),
        without_glass: without().count(),
        grain_without_glass: without().any(|cell| cell.grain.is_some()),
    })
}

impl Seen {
    /// The drawing's name as a job file in `folder` gives it, with `/` throughout.
    fn from(&self, folder: &Path) -> String {
        let folder = shop::in_full(folder);
        let mut own: Vec<Component<'_>> = self.path.components().collect();
        let mut there: Vec<Component<'_>> = folder.components().collect();
        if own.first() != there.first() {
            return self.path.display().to_string();
        }
        while !there.is_empty() && own.first() == there.first() {
            own.remove(0);
            there.remove(0);
        }
        let up = there.iter().map(|_| "..".to_owned());
        let down = own.iter().map(|part| part.as_os_str().to_string_lossy().into_owned());
        up.chain(down).collect::<Vec<String>>().join("/")
    }
}

/// The drawing's name without its ending, with a number behind it where another panel has it.
fn panel_id(path: &Path, panels: &[Value]) -> String {
    let stem = path
        .file_stem()
        .map_or("A".into(), |stem| stem.to_string_lossy().trim().to_owned());
    let stem: String = stem.chars().take(90).collect();
    let is_taken = |id: &str| panels.iter().any(|panel| panel["id"] == id);
    let numbered = (2..).map(|n| format!("{stem}-{n}"));
    let mut ids = std::iter::once(stem.clone()).chain(numbered);
    ids.find(|id| !id.is_empty() && !is_taken(id)).unwrap_or(stem)
}

/// A glass of which only the code is known.
fn new_glass(code: &str, has_grain: bool, units: Units, notes: &mut Vec<String>) -> Value {
    let (thickness, grind, per, area) = match units {
        Units::Millimetres => (3.0, 0.5, "m2", "m²"),
        Units::Inches => (0.125, 0.02, "ft2", "ft²"),
    };
    let (grain, words) = match has_grain {
        true => ("two-ways", "a grain that may run either way"),
        false => ("none", "no grain"),
    };
    let unit = units.code();
    notes.push(format!(
        "Assumed for glass {code}: {thickness} {unit} thick, {words}, {grind} {unit} grinding allowance, price 1 per {area}"
    ));
    json!({
        "code": code, "name": code, "thickness": thickness, "grain": grain, "may_turn_over": false, "scored_face": "show",
        "grind_allowance": grind, "price": 1, "price_unit": per
    })
}
