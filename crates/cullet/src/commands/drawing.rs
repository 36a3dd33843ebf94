//! `cullet drawing`: reads cartoons, says what is in them and what cannot be built.

use crate::arguments::{DrawingArguments, all_of};
use crate::{Exit, Session};
use cullet_drawing::Severity;
use cullet_drawing::expand::{self, PanelDrawing};
use cullet_job::{DrawingFile, Finding, Findings, Job, JobFile, ReadWith, Report, Units, counted, measure};
use cullet_output::{caution, marked, tables};
use cullet_workshop::reading;
use cullet_workshop::shop::{self, WhichShop};
use cullet_workshop::writing::{Care, Kind, NotWritten};
use std::path::Path;

pub(super) fn drawing(asked: &DrawingArguments, session: &mut Session<'_>) -> Exit {
    let (drawings, others) = match read(asked) {
        Ok(read) => read,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let inputs = asked.file.iter().chain(&asked.job).cloned();
    let inputs = inputs.chain(drawings.iter().map(|drawing| drawing.file.clone().into()));
    let care = Care::new(inputs, asked.replace);
    if asked.out.is_some() && asked.out == asked.leads {
        session.say(&one(
            "command line",
            "--out, --leads",
            "the same file twice",
            "a file each",
            "Give the two different names.",
        ));
        return Exit::BadInput;
    }
    let refused: Vec<Finding> = [&asked.out, &asked.leads]
        .into_iter()
        .flatten()
        .filter_map(|out| care.may_put(out).err())
        .collect();
    if !refused.is_empty() {
        session.say(&Findings(refused));
        return Exit::BadInput;
    }
    let mut is_good = others.is_empty();
    for finding in &others {
        session.say(finding);
    }
    for drawing in &drawings {
        for finding in &drawing.cartoon.findings {
            let words = finding.in_words(&drawing.file, drawing.cartoon.bounds.0, drawing.settings.units);
            match finding.severity {
                Severity::Warning => session.say(&format_args!("warning: {words}")),
                Severity::Error => {
                    is_good = false;
                    session.say(&words);
                }
            }
        }
        session.print(&summary(drawing));
    }
    session.print(&tables::leads_text(&drawings, units(&drawings)));
    if drawings.iter().any(|drawing| !drawing.cartoon.leads.is_empty()) {
        session.print(&format!("{}\n", caution::LEAD));
    }
    if let Err(error) = write(asked, &drawings, &care, session) {
        return super::refused(&error.into(), session);
    }
    if is_good { Exit::Done } else { Exit::BadInput }
}

/// The drawings asked for, and what else is wrong with the job around them.
fn read(asked: &DrawingArguments) -> Result<(Vec<PanelDrawing>, Vec<Finding>), Findings> {
    let (drawings, others) = match (&asked.job, &asked.file) {
        (Some(job), file) => of_job(job, &asked.shop.which(), asked.panel.as_deref(), file.as_deref())?,
        (None, Some(file)) => (vec![alone(file, asked)?], vec![]),
        (None, None) => (vec![], vec![]),
    };
    if asked.out.is_some() && drawings.len() > 1 {
        return Err(one(
            "command line",
            "--out",
            &format!("{} panels with drawings", drawings.len()),
            "one",
            "Say which with --panel.",
        ));
    }
    Ok((drawings, others))
}

/// A drawing with the usual settings and what was asked for besides.
fn alone(file: &Path, asked: &DrawingArguments) -> Result<PanelDrawing, Findings> {
    let name = file.display().to_string();
    let part = all_of(&asked.part);
    let drawing = DrawingFile {
        file: name.clone(),
        unit_mm: asked.unit_mm,
        part,
        ..DrawingFile::default()
    };
    let mut settings = expand::settings(&drawing, 1.0, &[]);
    // Without a job no glass is known: any word may be one.
    settings.any_glass = true;
    let bytes = reading::bytes(file).map_err(|error| cullet_rack::plain_words(&error, file));
    Ok(PanelDrawing {
        panel: file
            .file_stem()
            .map_or(name.clone(), |stem| stem.to_string_lossy().into_owned()),
        count: 1,
        cartoon: expand::read_file(&name, bytes, &drawing, &settings).map_err(Findings)?,
        file: name,
        stock: expand::stock_length(&drawing, 1.0),
        settings,
    })
}

fn of_job(
    path: &Path,
    shop: &WhichShop,
    panel: Option<&str>,
    file: Option<&Path>,
) -> Result<(Vec<PanelDrawing>, Vec<Finding>), Findings> {
    let text = reading::text(path, "a job file (JSON)")?;
    let shop = shop::read(path, shop)?;
    let with = ReadWith {
        shop: shop.as_ref(),
        choice: None,
    };
    let mut drawings = vec![];
    let mut chosen = Ok(());
    let name = path.display().to_string();
    let read = Job::read_as(&name, &text, with, |job: &mut JobFile, report: &mut Report| {
        chosen = choose(&name, job, panel, file);
        if chosen.is_ok() {
            drawings = reading::expand_beside(path, job, report);
        }
    });
    chosen?;
    if drawings.is_empty() {
        read?;
        return Err(one(
            &name,
            "panels",
            "no panel with a drawing",
            "one",
            "Give its drawing to the panel.",
        ));
    }
    // The drawing's own findings are told from the drawing, with its warnings.
    let of_drawings = |finding: &Finding| {
        drawings.iter().any(|drawing: &PanelDrawing| {
            let errors = drawing.cartoon.findings.iter();
            drawing.file == finding.file
                && errors
                    .clone()
                    .any(|e| e.in_words(&drawing.file, drawing.cartoon.bounds.0, drawing.settings.units) == *finding)
        })
    };
    let others = read.err().map(|found| found.0).unwrap_or_default();
    let others = others.into_iter().filter(|finding| !of_drawings(finding)).collect();
    Ok((drawings, others))
}

/// Leaves only the panels asked for in the job.
fn choose(name: &str, job: &mut JobFile, panel: Option<&str>, file: Option<&Path>) -> Result<(), Findings> {
    if let Some(id) = panel {
        let ids: Vec<String> = job.panels.iter().map(|panel| panel.id.clone()).collect();
        if !ids.iter().any(|known| known == id) {
            let known = format!("The panels are: {}.", ids.join(", "));
            return Err(one(
                "command line",
                "--panel",
                id,
                &format!("a panel of {name}"),
                &known,
            ));
        }
        job.panels.retain(|panel| panel.id == id);
    }
    if let Some(file) = file {
        // Another file in the place of the one the job names.
        let [panel] = job.panels.as_mut_slice() else {
            return Err(one(
                "command line",
                "FILE",
                &format!("one drawing for {} panels", job.panels.len()),
                "one panel",
                "Say which with --panel, or leave the file out.",
            ));
        };
        let full = std::path::absolute(file).unwrap_or_else(|_| file.to_path_buf());
        let full = full.display().to_string();
        panel.pieces.clear();
        match &mut panel.drawing {
            Some(drawing) => drawing.file = full,
            None => {
                panel.drawing = Some(DrawingFile {
                    file: full,
                    ..DrawingFile::default()
                });
            }
        }
    }
    job.panels.retain(|panel| panel.drawing.is_some());
    Ok(())
}

fn one(file: &str, place: &str, found: &str, expected: &str, hint: &str) -> Findings {
    Findings(vec![Finding {
        file: file.into(),
        place: place.into(),
        found: found.into(),
        expected: expected.into(),
        hint: hint.into(),
    }])
}

/// The unit of the job that they belong to.
fn units(drawings: &[PanelDrawing]) -> Units {
    drawings
        .first()
        .map(|drawing| drawing.settings.units)
        .unwrap_or_default()
}

/// One line for each drawing.
fn summary(drawing: &PanelDrawing) -> String {
    let cartoon = &drawing.cartoon;
    let (low, high) = cartoon.bounds;
    let count = |severity| cartoon.findings.iter().filter(|f| f.severity == severity).count();
    format!(
        "{}: {}, {}, {}, {}\n",
        drawing.file,
        measure::size(high.x - low.x, high.y - low.y, drawing.settings.units),
        counted(cartoon.cells.len(), "piece"),
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
    )
}

/// Writes what was asked for; all of it may be written or nothing is.
fn write(
    asked: &DrawingArguments,
    drawings: &[PanelDrawing],
    care: &Care,
    session: &mut Session<'_>,
) -> Result<(), NotWritten> {
    if let (Some(out), Some(drawing)) = (&asked.out, drawings.first()) {
        let title = format!("Panel {}", drawing.panel);
        care.put(
            out,
            &marked::draw(&title, &drawing.cartoon, drawing.settings.units),
            Kind::Markup,
        )?;
        session.print(&format!("Written: {}\n", out.display()));
    }
    if let Some(out) = &asked.leads {
        let table = tables::leads_csv(drawings, units(drawings), asked.tables.signs())
            .map_err(|error| NotWritten::CannotWrite(error.to_string()))?;
        care.put(out, &table, Kind::Csv)?;
        session.print(&format!("Written: {}\n", out.display()));
    }
    Ok(())
}
