//! A choice: the same job with other glass, other sheets, other lead or another grind allowance, to be compared.
//!
//! A job file names them under `choices`; [`ChoiceFile::typed`] reads one that was typed.

use crate::{CameFile, GrainFile, JobFile, Report};
use cullet_findings::did_you_mean;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The longest name of a job, characters.
const MOST_NAME: usize = 200;

/// What is different from the job as it stands.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ChoiceFile {
    /// What it is called: the heading of its column.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// Glasses that are changed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 500))]
    pub glasses: Vec<GlassChoiceFile>,
    /// The came of every drawn panel, instead of its `came`; a foiled panel is leaded then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub came: Option<CameFile>,
    /// Every drawn panel is foiled: what foil takes on each side of a line, length units (0.375 mm is usual).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub foil: Option<f64>,
}

/// What is different about one glass.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GlassChoiceFile {
    /// Code of the glass as the pieces have it.
    #[schemars(length(min = 1, max = 100))]
    pub code: String,
    /// Code of the glass of this job that its pieces are cut from instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(length(min = 1, max = 100))]
    pub instead: Option<String>,
    /// Another grind allowance, length units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.0))]
    pub grind_allowance: Option<f64>,
    /// Tags of the whole sheets that may be pulled, no others; offcuts may be pulled as ever.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = 500))]
    pub sheets: Vec<String>,
}

impl ChoiceFile {
    /// A choice as it is typed, under that name: changes with commas between them, each `GLASS=OTHER GLASS`, `GLASS:grind=SIZE`,
    /// `GLASS:sheets=TAG+TAG`, `came=FACE/HEART` or `foil=SIZE`, sizes in the job's units.
    ///
    /// # Errors
    /// The first change that is none of these.
    ///
    /// ```
    /// use cullet_job::ChoiceFile;
    /// let choice = ChoiceFile::typed("CLEAR6=CLEAR5,REED:grind=1").unwrap();
    /// assert_eq!(choice.glasses[0].instead.as_deref(), Some("CLEAR5"));
    /// assert_eq!(choice.glasses[1].grind_allowance, Some(1.0));
    /// assert_eq!(ChoiceFile::typed("came=8/1.5").unwrap().came.unwrap().heart, 1.5);
    /// assert_eq!(ChoiceFile::typed("thicker glass"), Err("thicker glass".to_owned()));
    /// ```
    pub fn typed(text: &str) -> Result<Self, String> {
        let mut choice = Self {
            name: text.trim().to_owned(),
            ..Self::default()
        };
        for change in text.split(',').map(str::trim) {
            choice.add(change).ok_or_else(|| change.to_owned())?;
        }
        Ok(choice)
    }

    /// Adds one typed change; nothing where it is none.
    fn add(&mut self, change: &str) -> Option<()> {
        let (what, value) = change.split_once('=')?;
        let (what, value) = (what.trim(), value.trim());
        if what.is_empty() || value.is_empty() {
            return None;
        }
        match (what, what.split_once(':')) {
            ("foil", _) => self.foil = Some(size(value)?),
            ("came", _) => {
                let (face, heart) = value.split_once('/')?;
                self.came = Some(CameFile {
                    name: String::new(),
                    face: size(face).filter(|face| *face > 0.0)?,
                    heart: size(heart)?,
                    clearance: None,
                    layers: vec![],
                });
            }
            (_, Some((code, "grind"))) => self.glass(code).grind_allowance = Some(size(value)?),
            (_, Some((code, "sheets"))) => {
                self.glass(code).sheets = value.split('+').map(|tag| tag.trim().to_owned()).collect();
            }
            (_, Some(_)) => return None,
            (_, None) => self.glass(what).instead = Some(value.to_owned()),
        }
        Some(())
    }

    fn glass(&mut self, code: &str) -> &mut GlassChoiceFile {
        let at = self.glasses.iter().position(|glass| glass.code == code);
        let at = at.unwrap_or_else(|| {
            self.glasses.push(GlassChoiceFile {
                code: code.to_owned(),
                ..GlassChoiceFile::default()
            });
            self.glasses.len() - 1
        });
        &mut self.glasses[at]
    }

    /// Names what cannot be meant.
    pub(crate) fn check(&self, job: &JobFile, report: &mut Report) {
        let place = format!("choice {}", self.name);
        let grinding = |code: &str| job.glasses.iter().find(|glass| glass.code == code);
        let is_same = self.glasses.iter().all(|change| {
            let is_ground_so = |size: f64| grinding(change.taken()).is_some_and(|glass| glass.grind_allowance == size);
            change.instead.as_ref().is_none_or(|other| *other == change.code)
                && change.grind_allowance.is_none_or(is_ground_so)
                && change.sheets.is_empty()
        });
        // A change that had to be taken out has been named.
        let is_named = report
            .findings()
            .iter()
            .any(|finding| finding.place.starts_with(&place));
        if is_same && self.came.is_none() && self.foil.is_none() && !is_named {
            report.add(
                &place,
                "no change",
                "glasses, a came or foil",
                "Say what is different, or take the choice out.",
            );
        }
        if self.came.is_some() && self.foil.is_some() {
            report.add(&place, "a came and foil", "one of them", "Make two choices of it.");
        }
        for glass in &self.glasses {
            for code in [Some(&glass.code), glass.instead.as_ref()].into_iter().flatten() {
                if !job.glasses.iter().any(|known| known.code == *code) {
                    let codes = job.glasses.iter().map(|known| known.code.as_str());
                    report.add(
                        &place,
                        format!("the unknown glass \"{code}\""),
                        "the code of a glass of this job",
                        format!(
                            "{}List it among the job's glasses, with its price, even where no piece is cut from it yet. The \
                             glasses are: {}.",
                            did_you_mean(code, codes.clone()),
                            codes.collect::<Vec<_>>().join(", ")
                        ),
                    );
                }
            }
        }
    }

    /// Changes what the drawings are read with; to be done before they are.
    pub(crate) fn change_drawings(&self, job: &mut JobFile, report: &mut Report) {
        let is_drawn = job.panels.iter().any(|panel| panel.drawing.is_some());
        if (self.came.is_some() || self.foil.is_some()) && !is_drawn {
            report.add(
                format!("choice {}", self.name),
                "another came or foil, but no panel that names its drawing",
                "a panel with a drawing",
                "Finished outlines that are given do not change with the lead: take it out of this choice.",
            );
        }
        for drawing in job.panels.iter_mut().filter_map(|panel| panel.drawing.as_mut()) {
            if let Some(came) = &self.came {
                let layers = drawing.came.take().map(|old| old.layers).unwrap_or_default();
                let layers = if came.layers.is_empty() {
                    layers
                } else {
                    came.layers.clone()
                };
                drawing.came = Some(CameFile { layers, ..came.clone() });
                drawing.foil = None;
            }
            if self.foil.is_some() {
                drawing.foil = self.foil;
            }
        }
    }

    /// Changes the pieces and glasses, and the job's name; to be done once the drawings are read.
    pub(crate) fn change_pieces(&self, job: &mut JobFile) {
        for change in &self.glasses {
            let meant = job.glasses.iter_mut().find(|glass| glass.code == change.taken());
            if let (Some(glass), Some(size)) = (meant, change.grind_allowance) {
                glass.grind_allowance = size;
            }
        }
        // Each piece once, so that two glasses can change places.
        for piece in job.panels.iter_mut().flat_map(|panel| &mut panel.pieces) {
            let Some(change) = self.glasses.iter().find(|change| change.code == piece.glass) else {
                continue;
            };
            change.taken().clone_into(&mut piece.glass);
            let glass = job.glasses.iter().find(|glass| glass.code == piece.glass);
            let has_grain = glass.is_none_or(|glass| glass.grain != GrainFile::None);
            piece.grain = piece.grain.filter(|_| has_grain);
        }
        job.choices.clear();
        job.name = format!("{}: {}", job.name, self.name).chars().take(MOST_NAME).collect();
    }

    /// Whether a whole sheet of the glass `code` with this tag may be pulled.
    #[must_use]
    pub fn may_pull(&self, code: &str, tag: &str) -> bool {
        let limits = |change: &&GlassChoiceFile| change.taken() == code;
        let mut limits = self.glasses.iter().filter(limits).filter(|c| !c.sheets.is_empty());
        limits.all(|change| change.sheets.iter().any(|t| t == tag))
    }
}

impl GlassChoiceFile {
    /// Code of the glass that is cut.
    #[must_use]
    pub fn taken(&self) -> &str {
        self.instead.as_ref().unwrap_or(&self.code)
    }
}

/// A typed size: not negative.
fn size(text: &str) -> Option<f64> {
    let size: f64 = text.trim().parse().ok()?;
    (size.is_finite() && size >= 0.0).then_some(size)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Job;

    const JOB: &str = r#"{"name": "Fanlight", "units": "mm", "y": "up", "glasses": [
        {"code": "R", "name": "reeded", "thickness": 4, "grain": "two-ways", "may_turn_over": false, "scored_face": "back",
         "grind_allowance": 0.5, "price": 40, "price_unit": "m2"},
        {"code": "P", "name": "plain", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
         "grind_allowance": 0.5, "price": 30, "price_unit": "m2"}],
        "panels": [{"id": "F", "quantity": 1, "pieces": [
            {"number": "1", "glass": "R", "grain": 0, "outline": [[0, 0], [120, 0], [120, 80], [0, 80]]},
            {"number": "2", "glass": "P", "outline": [[0, 0], [120, 0], [120, 80], [0, 80]]}]}]}"#;

    fn under(choice: &str) -> Result<Job, crate::Findings> {
        Job::read_choice("job.json", JOB, &ChoiceFile::typed(choice).unwrap(), |_, _| {})
    }

    /// Each piece changes once, and a grain goes where the glass has none.
    #[test]
    fn two_glasses_change_places() {
        let job = under("R=P,P=R,R:grind=2").unwrap();
        let codes: Vec<&str> = job.pieces.iter().map(|p| job.glasses[p.glass].code.as_str()).collect();
        assert_eq!(codes, ["P", "R"]);
        assert_eq!(job.source.panels[0].pieces[0].grain, None);
        // The allowance is that of the glass taken instead.
        assert_eq!(job.pieces[0].cut.bounds().width(), 124.0);
        assert_eq!(job.name, "Fanlight: R=P,P=R,R:grind=2");
    }

    #[test]
    fn a_choice_that_changes_nothing_is_named() {
        let mut choice = ChoiceFile::typed("R=P").unwrap();
        choice.glasses[0].instead = None;
        let found = Job::read_choice("job.json", JOB, &choice, |_, _| {}).unwrap_err();
        assert_eq!(found.0[0].found, "no change");
    }
}
