//! The shop file: what is the same in every job of a workshop, so that a job names only what is special to it.
//!
//! A job is completed from it before it is checked ([`Shop::complete`]): what the job says itself counts. Glasses that no piece
//! is cut from are left out again, so that a plan carries what it used and nothing else.

use crate::file::one_of;
use crate::{CameFile, GlassFile, Report, Settings, TableFile, Units, build, glass, json, shape};
use cullet_findings::{Findings, did_you_mean};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use std::collections::BTreeSet;

/// A shop file. Lengths are in `units`, which may be others than a job's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopFile {
    /// What the workshop is called.
    #[schemars(length(min = 1, max = 200))]
    pub shop: String,
    /// Unit of every length in this file, and of jobs that say none.
    pub units: Units,
    /// Settings for all jobs.
    #[serde(default)]
    pub settings: Settings,
    /// The glasses that jobs may use without listing them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 500))]
    pub glasses: Vec<GlassFile>,
    /// The cames that drawings may name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 100))]
    pub cames: Vec<CameFile>,
    /// What counts for drawings that do not say otherwise.
    #[serde(default)]
    pub drawings: ShopDrawingsFile,
    /// The cutting table that files are written for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub table: Option<TableFile>,
}

/// What counts for drawings that do not say otherwise.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShopDrawingsFile {
    /// Name of the came that follows every line no other one names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub came: Option<String>,
    /// Name of the came along the panel's outer edge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub border: Option<String>,
    /// Length in which came is bought, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub came_length: Option<f64>,
    /// What each cut takes off a came, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub cutting_loss: Option<f64>,
    /// How much smaller than the opening a panel is, in width and in height, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub opening_clearance: Option<f64>,
    /// Ends and crossings nearer than this are joined, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(extend("exclusiveMinimum" = 0))]
    pub snap: Option<f64>,
}

/// Lengths in the groups of a shop file.
const GLASS_LENGTHS: [&str; 4] = ["thickness", "grind_allowance", "narrowest_strip", "edge_trim"];
const CAME_LENGTHS: [&str; 3] = ["face", "heart", "clearance"];
const SETTING_LENGTHS: [&str; 3] = ["score_kerf", "curve_tolerance", "keep"];
const BREAKING_LENGTHS: [&str; 2] = ["bend_length", "tightest_curve"];
const DRAWING_LENGTHS: [&str; 4] = ["came_length", "cutting_loss", "opening_clearance", "snap"];

/// A shop file that was read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    file: String,
    /// As it was written, so that what it does not say is not taken for said.
    tree: Map<String, Value>,
    units: Units,
    table: Option<TableFile>,
}

/// What a job took from the shop file.
#[derive(Debug, Default)]
pub(crate) struct Taken {
    /// Codes of glasses that the job does not list itself.
    pub(crate) glasses: BTreeSet<String>,
    /// Codes of glasses of which the job says a part.
    filled: Vec<String>,
    units: bool,
    /// Fields of the settings, and of drawings.
    settings: Vec<String>,
    drawings: Vec<String>,
}

impl Shop {
    /// Reads and checks a shop file; `file` is its name for messages.
    ///
    /// # Errors
    /// Everything that is wrong with it, at once.
    ///
    /// ```
    /// use cullet_job::{Job, ReadWith, Shop};
    /// let shop = Shop::read("shop.json", r#"{"shop": "Museum workshop", "units": "mm", "glasses": [
    ///   {"code": "CL", "name": "Clear", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
    ///    "grind_allowance": 0.5, "price": 20, "price_unit": "m2"}]}"#)?;
    /// let job = r#"{"name": "Porch", "panels": [{"id": "P", "quantity": 1, "pieces": [
    ///   {"number": "1", "glass": "CL", "shape": {"kind": "circle", "diameter": 80}}]}]}"#;
    /// let with = ReadWith { shop: Some(&shop), ..ReadWith::default() };
    /// let job = Job::read_as("porch.json", job, with, |_, _| {})?;
    /// assert_eq!(job.glasses[0].thickness, 3.0);
    /// assert_eq!(job.notes, ["From shop.json: glass CL; units"]);
    /// # Ok::<(), cullet_job::Findings>(())
    /// ```
    pub fn read(file: &str, text: &str) -> Result<Self, Findings> {
        let mut tree = json::parse(file, text, "a shop file")?;
        let mut report = Report::new(file);
        shape::check_shop(&mut report, &mut tree);
        let read: Option<ShopFile> = match serde_json::from_value(tree.clone()) {
            Ok(read) => Some(read),
            Err(_) if !report.findings().is_empty() => None,
            Err(error) => {
                report.add(
                    "the shop file",
                    error.to_string(),
                    "a shop file",
                    "Compare it with its schema.",
                );
                None
            }
        };
        let Some(read) = read else {
            return Err(Findings(report.into_findings()));
        };
        read.check(&mut report);
        let Value::Object(tree) = tree else {
            return Err(Findings(report.into_findings()));
        };
        report.into_result(Self {
            file: file.to_owned(),
            tree,
            units: read.units,
            table: read.table.map(|table| table.in_mm(read.units)),
        })
    }

    /// The schema of the shop file (JSON Schema 2020-12).
    #[must_use]
    pub fn schema() -> Value {
        shape::shop_schema()
    }

    /// The file as the user named it.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its unit.
    #[must_use]
    pub fn units(&self) -> Units {
        self.units
    }

    /// Its cutting table, lengths in mm.
    #[must_use]
    pub fn table(&self) -> Option<&TableFile> {
        self.table.as_ref()
    }

    /// The codes of its glasses, in the file's order.
    #[must_use]
    pub fn glass_codes(&self) -> Vec<&str> {
        let codes = self.list("glasses").filter_map(|glass| glass.get("code")?.as_str());
        codes.collect()
    }

    fn list(&self, field: &str) -> impl Iterator<Item = &Map<String, Value>> {
        let list = self.tree.get(field).and_then(Value::as_array);
        list.into_iter().flatten().filter_map(Value::as_object)
    }

    /// Puts into the tree of a job what the job does not say itself.
    pub(crate) fn complete(&self, tree: &mut Value, report: &mut Report) -> Taken {
        let mut taken = Taken::default();
        let Some(job) = tree.as_object_mut() else {
            return taken;
        };
        if !job.contains_key("units") {
            job.insert("units".into(), self.units.code().into());
            taken.units = true;
        }
        let job_mm = one_of(job.get("units").and_then(Value::as_str)).map_or(self.units.mm(), Units::mm);
        let by = self.units.mm() / job_mm;
        self.complete_settings(job, by, &mut taken);
        self.complete_glasses(job, by, &mut taken);
        self.complete_drawings(job, by, report, &mut taken);
        self.complete_choices(job, by, report);
        taken
    }

    fn complete_settings(&self, job: &mut Map<String, Value>, by: f64, taken: &mut Taken) {
        let Some(Value::Object(own)) = self.tree.get("settings") else {
            return;
        };
        let mut own = own.clone();
        scale(&mut own, &SETTING_LENGTHS, by);
        if let Some(Value::Object(breaking)) = own.get_mut("breaking") {
            scale(breaking, &BREAKING_LENGTHS, by);
        }
        let settings = job.entry("settings").or_insert_with(|| Value::Object(Map::new()));
        let Some(settings) = settings.as_object_mut() else {
            return;
        };
        for (field, value) in own {
            match (settings.get_mut(&field), value) {
                (None, value) => {
                    taken.settings.push(field.clone());
                    settings.insert(field, value);
                }
                (Some(Value::Object(group)), Value::Object(own)) => fill(group, own),
                _ => {}
            }
        }
    }

    fn complete_glasses(&self, job: &mut Map<String, Value>, by: f64, taken: &mut Taken) {
        let glasses = job.entry("glasses").or_insert_with(|| Value::Array(vec![]));
        let Some(glasses) = glasses.as_array_mut() else {
            return;
        };
        for glass in self.list("glasses") {
            let mut glass = glass.clone();
            scale(&mut glass, &GLASS_LENGTHS, by);
            let code = glass.get("code").and_then(Value::as_str).unwrap_or_default().to_owned();
            let is_it = |listed: &&mut Value| listed.get("code").and_then(Value::as_str) == Some(&code);
            let mut is_listed = false;
            // One that is listed twice is named later, as that alone.
            for listed in glasses.iter_mut().filter(is_it).filter_map(Value::as_object_mut) {
                let before = listed.len();
                fill(listed, glass.clone());
                if listed.len() > before && !taken.filled.contains(&code) {
                    taken.filled.push(code.clone());
                }
                is_listed = true;
            }
            if !is_listed {
                glasses.push(Value::Object(glass));
                taken.glasses.insert(code);
            }
        }
    }

    fn complete_drawings(&self, job: &mut Map<String, Value>, by: f64, report: &mut Report, taken: &mut Taken) {
        let mut usual = match self.tree.get("drawings") {
            Some(Value::Object(usual)) => usual.clone(),
            _ => Map::new(),
        };
        scale(&mut usual, &DRAWING_LENGTHS, by);
        for panel in job
            .get_mut("panels")
            .and_then(Value::as_array_mut)
            .into_iter()
            .flatten()
        {
            let id = panel.get("id").and_then(Value::as_str).unwrap_or("?").to_owned();
            let Some(drawing) = panel.get_mut("drawing").and_then(Value::as_object_mut) else {
                continue;
            };
            for (field, value) in &usual {
                if !drawing.contains_key(field) {
                    drawing.insert(field.clone(), value.clone());
                    if !taken.drawings.contains(field) {
                        taken.drawings.push(field.clone());
                    }
                }
            }
            for field in ["came", "border"] {
                if let Some(came) = drawing.get_mut(field) {
                    self.complete_came(came, by, report, || format!("panel {id}, drawing, field \"{field}\""));
                }
            }
            for came in drawing
                .get_mut("cames")
                .and_then(Value::as_array_mut)
                .into_iter()
                .flatten()
            {
                self.complete_came(came, by, report, || format!("panel {id}, drawing, cames"));
            }
        }
    }

    fn complete_choices(&self, job: &mut Map<String, Value>, by: f64, report: &mut Report) {
        let choices = job.get_mut("choices").and_then(Value::as_array_mut);
        for choice in choices.into_iter().flatten() {
            let name = choice.get("name").and_then(Value::as_str).unwrap_or("?").to_owned();
            if let Some(came) = choice.get_mut("came") {
                self.complete_came(came, by, report, || format!("choice {name}, field \"came\""));
            }
        }
    }

    /// A came that is named alone, or with less than all its sizes.
    fn complete_came(&self, came: &mut Value, by: f64, report: &mut Report, place: impl Fn() -> String) {
        let name_alone = came.as_str().map(str::to_owned);
        let name = match (&name_alone, came.get("name").and_then(Value::as_str)) {
            (Some(name), _) => name.clone(),
            (None, Some(name)) => name.to_owned(),
            (None, None) => return,
        };
        let name_of =
            |came: &Map<String, Value>| came.get("name").and_then(Value::as_str).unwrap_or_default().to_owned();
        let known = self.list("cames").find(|came| name_of(came) == name);
        match (known, came.as_object_mut()) {
            (Some(known), listed) => {
                let mut known = known.clone();
                scale(&mut known, &CAME_LENGTHS, by);
                match listed {
                    Some(listed) => fill(listed, known),
                    None => *came = Value::Object(known),
                }
            }
            (None, None) => {
                let names: Vec<String> = self.list("cames").map(name_of).collect();
                let near = did_you_mean(&name, names.iter().map(String::as_str));
                report.add(
                    place(),
                    format!("the unknown came \"{name}\""),
                    format!("the name of a came of {}", self.file),
                    format!("{near}Its cames are: {}.", names.join(", ")),
                );
                // So that nothing else is said of it.
                *came = serde_json::json!({"face": self.units.mm().recip() * 6.0, "heart": 0});
            }
            (None, Some(_)) => {}
        }
    }

    /// What was taken, in words; of the glasses those in `used`.
    pub(crate) fn note(&self, taken: &Taken, used: &BTreeSet<String>) -> Option<String> {
        let is_used = |code: &&String| used.contains(*code);
        let glasses = taken.filled.iter().chain(&taken.glasses).filter(is_used);
        let glasses: Vec<&str> = glasses.map(String::as_str).collect();
        let mut parts = vec![];
        match glasses.as_slice() {
            [] => {}
            [one] => parts.push(format!("glass {one}")),
            more => parts.push(format!("glasses {}", more.join(", "))),
        }
        if taken.units {
            parts.push("units".into());
        }
        for (what, fields) in [("settings", &taken.settings), ("for drawings", &taken.drawings)] {
            if !fields.is_empty() {
                parts.push(format!("{what} {}", fields.join(", ")));
            }
        }
        (!parts.is_empty()).then(|| format!("From {}: {}", self.file, parts.join("; ")))
    }
}

impl ShopFile {
    /// Checks what the schema cannot say.
    fn check(&self, report: &mut Report) {
        let unit_mm = self.units.mm();
        if let Some(table) = &self.table {
            table.check(report);
        }
        build::check_unique(
            report,
            "",
            "glass",
            self.glasses.iter().map(|glass| glass.code.as_str()),
        );
        for glass in &self.glasses {
            glass::check(report, glass, unit_mm, true);
        }
        build::Sizes::of(&self.settings, unit_mm).check(report, unit_mm);
        build::check_unique(report, "", "came", self.cames.iter().map(|came| came.name.as_str()));
        if self.cames.iter().any(|came| came.name.trim().is_empty()) {
            report.add(
                "cames",
                "a came without a name",
                "a name, by which drawings call it",
                "Give it one.",
            );
        }
        let names: Vec<&str> = self.cames.iter().map(|came| came.name.as_str()).collect();
        for (field, name) in [("came", &self.drawings.came), ("border", &self.drawings.border)] {
            let Some(name) = name.as_deref().filter(|name| !names.contains(name)) else {
                continue;
            };
            report.add(
                format!("drawings, field \"{field}\""),
                format!("the unknown came \"{name}\""),
                "the name of a came of this file",
                format!(
                    "{}Its cames are: {}.",
                    did_you_mean(name, names.iter().copied()),
                    names.join(", ")
                ),
            );
        }
    }
}

/// Turns lengths into another unit.
fn scale(fields: &mut Map<String, Value>, lengths: &[&str], by: f64) {
    if by == 1.0 {
        return;
    }
    for length in lengths {
        if let Some(value) = fields.get_mut(*length)
            && let Some(size) = value.as_f64()
        {
            *value = (size * by).into();
        }
    }
}

/// Puts in what is missing.
fn fill(fields: &mut Map<String, Value>, from: Map<String, Value>) {
    for (field, value) in from {
        fields.entry(field).or_insert(value);
    }
}
