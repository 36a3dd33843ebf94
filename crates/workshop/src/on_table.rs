//! A sheet's files for the cutting table: made from a verified plan, read back and held against it before anybody writes them.

use crate::folder::names;
use cullet_geometry::Outline;
use cullet_job::{FaceFile, GlassFile, TableFile, TableFormat, counted};
use cullet_model::{Layout, Plan};
use cullet_scorepath::Sheet;
use cullet_table::{Cutting, Run, TableError};
use cullet_tablecheck::{Fault, Wanted};

/// What the job flattens curves by where it does not say, mm.
const CURVE_TOLERANCE: f64 = 0.05;
/// An allowance makes a flattened curve larger, and with it how far its corners stand out.
const ALLOWANCE: f64 = 1.25;
/// What counts where the table does not say: breaks a minute, and how old a score may be, minutes.
const BREAKS_A_MINUTE: f64 = 6.0;
const SCORE_AGES: f64 = 30.0;

/// A sheet with everything of it that its files are made from and checked against.
pub struct ForTable<'a> {
    plan: &'a Plan,
    layout: &'a Layout,
    pieces: Vec<Outline>,
    names: Vec<String>,
    on_show_face: bool,
    thickness: f64,
    glass: String,
    facet: f64,
}

/// The files of one sheet.
#[derive(Debug)]
pub struct Made {
    /// Name and content.
    pub files: Vec<(String, String)>,
    /// What they come to, for people.
    pub words: String,
    /// That scores grow too old.
    pub warning: Option<String>,
}

/// Why there are none.
#[derive(Debug)]
pub enum NotMade {
    /// The table cannot do it.
    Cannot(TableError),
    /// What was made does not score the sheet as planned.
    Faults(String, Vec<Fault>),
}

impl<'a> ForTable<'a> {
    /// Sheet `layout` of `plan`.
    #[must_use]
    pub fn of(plan: &'a Plan, layout: &'a Layout) -> Self {
        let glass: Option<&GlassFile> = plan.job.glasses.iter().find(|glass| glass.code == layout.stock.glass);
        let mm = plan.job.units.mm();
        let placed = layout.placements.iter().filter_map(|placement| {
            let piece = plan.pieces.iter().find(|piece| piece.id == placement.id)?;
            let copy = if placement.copy > 1 {
                format!(" ({})", placement.copy)
            } else {
                String::new()
            };
            Some((piece.cut.posed(&placement.pose), format!("{}{copy}", placement.id)))
        });
        let (pieces, names) = placed.unzip();
        let tolerance = plan
            .job
            .settings
            .curve_tolerance
            .map_or(CURVE_TOLERANCE, |size| size * mm);
        Self {
            plan,
            layout,
            pieces,
            names,
            on_show_face: glass.is_none_or(|glass| glass.scored_face == FaceFile::Show),
            thickness: glass.map_or(0.0, |glass| glass.thickness * mm),
            glass: glass.map_or_else(
                || layout.stock.glass.clone(),
                |glass| format!("{} {}", glass.code, glass.name),
            ),
            facet: tolerance * ALLOWANCE,
        }
    }

    fn wanted(&self) -> Wanted<'_> {
        Wanted {
            outline: &self.layout.stock.outline,
            breaking: &self.layout.breaking,
            pieces: &self.pieces,
            on_show_face: self.on_show_face,
            thickness: self.thickness,
            facet: self.facet,
        }
    }

    /// The files that the table wants, each verified.
    ///
    /// # Errors
    /// A sheet that the table cannot score, or a file that does not score what it should.
    pub fn make(&self, table: &TableFile) -> Result<Made, NotMade> {
        let maps = self.plan.glasses.iter().map(|glass| glass.layouts.len()).sum();
        let cutting = Cutting {
            sheet: Sheet {
                outline: &self.layout.stock.outline,
                breaking: &self.layout.breaking,
                pieces: &self.pieces,
                offcuts: &self.layout.returned,
            },
            on_show_face: self.on_show_face,
            thickness: self.thickness,
            job: &self.plan.job.name,
            map: (self.layout.number, maps),
            glass: self.glass.clone(),
            tag: &self.layout.stock.tag,
            names: self.pieces.iter().zip(self.names.iter().cloned()).collect(),
            facet: self.facet,
        };
        let run = Run::plan(&cutting, table).map_err(NotMade::Cannot)?;
        let mut files: Vec<(String, String)> = vec![];
        for format in &table.files {
            let (name, text) = match format {
                TableFormat::Ngc => (names::sheet_ngc(u64::from(self.layout.number)), run.ngc()),
                TableFormat::Dxf => (names::sheet_dxf(u64::from(self.layout.number)), run.dxf()),
            };
            let faults = self.faults(*format, &text, table);
            if !faults.is_empty() {
                return Err(NotMade::Faults(name, faults));
            }
            if files.iter().all(|(known, _)| *known != name) {
                files.push((name, text));
            }
        }
        Ok(Made {
            files,
            words: words(&run),
            warning: self.ages(&run, table),
        })
    }

    /// What is wrong with a file for this sheet.
    #[must_use]
    pub fn faults(&self, format: TableFormat, text: &str, table: &TableFile) -> Vec<Fault> {
        match format {
            TableFormat::Ngc => cullet_tablecheck::ngc(text, table, &self.wanted()),
            TableFormat::Dxf => cullet_tablecheck::dxf(text, table, &self.wanted()),
        }
    }

    /// From the first score to the last break.
    fn ages(&self, run: &Run<'_>, table: &TableFile) -> Option<String> {
        let breaks = self.layout.breaking.steps.len();
        let rate = table.breaks_a_minute.unwrap_or(BREAKS_A_MINUTE);
        let minutes = run.reckoning.seconds / 60.0 + breaks as f64 / rate;
        let most = table.score_ages.unwrap_or(SCORE_AGES);
        (minutes > most).then(|| {
            format!(
                "map {}: about {minutes:.0} minutes from the first score to the last of its {}; a score is best broken \
                 within {most:.0} minutes: score and break it part by part",
                self.layout.number,
                counted(breaks, "break")
            )
        })
    }
}

/// What a sheet's scores come to, in a sentence.
fn words(run: &Run<'_>) -> String {
    let reckoned = &run.reckoning;
    let crossings = match run.crossings {
        0 => String::new(),
        n => format!(", {} of scores", counted(n, "crossing")),
    };
    let dearer = if run.table_is_hardest_first() {
        format!(
            "; the hardest first, {:.1} min longer than the shortest order",
            run.dearer / 60.0
        )
    } else {
        String::new()
    };
    format!(
        "On the table: {:.1} m of scores, {}, {:.1} m of travel{crossings}, about {:.1} min{dearer}.",
        reckoned.scored / 1000.0,
        counted(reckoned.lifts, "lift"),
        reckoned.travel / 1000.0,
        reckoned.seconds / 60.0,
    )
}
