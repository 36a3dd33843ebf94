//! `cullet table`: writes a plan's files for the cutting table, or reads one back and says whether it scores its sheet.

use crate::arguments::TableFilesArguments;
use crate::folder::PLAN;
use crate::table::{ForTable, NotMade};
use crate::writing::{Care, NotWritten, cannot_write, in_place};
use crate::{Exit, Session, reading, shop};
use cullet_job::{Finding, Findings, Shop, TableFile, TableFormat, counted};
use cullet_plan::model::{Layout, Plan};
use std::fs;
use std::path::Path;

pub(super) fn table(asked: &TableFilesArguments, session: &mut Session<'_>) -> Exit {
    let (plan, shop) = match read(asked) {
        Ok(read) => read,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let faults = super::book::faults(&asked.plan, &plan);
    if !faults.is_empty() {
        faults.iter().for_each(|fault| session.say(fault));
        session.say(&"the plan fails its check; nothing was written");
        return Exit::DoesNotHold;
    }
    let Some(table) = shop.table() else {
        return Exit::BadInput;
    };
    match (&asked.check, &asked.out) {
        (Some(file), _) => check(asked, file, &plan, table, session),
        (None, Some(out)) => write(asked, out, &plan, &shop, session),
        (None, None) => Exit::BadInput,
    }
}

fn one(file: &Path, place: &str, found: String, expected: &str, hint: &str) -> Findings {
    Findings(vec![Finding {
        file: file.display().to_string(),
        place: place.into(),
        found,
        expected: expected.into(),
        hint: hint.into(),
    }])
}

/// The plan, and the shop file with its table.
fn read(asked: &TableFilesArguments) -> Result<(Plan, Shop), Findings> {
    let (plan, _) = reading::plan(&asked.plan)?;
    let Some(shop) = shop::read(&asked.plan, &asked.shop)? else {
        return Err(one(
            &asked.plan,
            "shop file",
            "none beside the plan or in a folder above it".into(),
            "a shop file with a \"table\"",
            "Name it with --shop.",
        ));
    };
    if shop.table().is_none() {
        return Err(one(
            Path::new(shop.file()),
            "field \"table\"",
            "no table".into(),
            "the cutting table that files are for",
            "Describe it: its size, its wheel, its speeds and its own lines (cullet schema shop).",
        ));
    }
    for number in &asked.sheet {
        layout(&asked.plan, &plan, *number)?;
    }
    Ok((plan, shop))
}

fn layouts(plan: &Plan) -> impl Iterator<Item = &Layout> {
    plan.glasses.iter().flat_map(|glass| &glass.layouts)
}

fn layout<'a>(file: &Path, plan: &'a Plan, number: u32) -> Result<&'a Layout, Findings> {
    let found = layouts(plan).find(|layout| layout.number == number);
    found.ok_or_else(|| {
        let count = layouts(plan).count();
        let hint = "The number stands on the sheet map, at the top on the right.";
        one(
            file,
            "sheet maps",
            format!("no map {number}"),
            &format!("a map from 1 to {count}"),
            hint,
        )
    })
}

/// Writes the files of the maps asked for, all of them or none.
fn write(asked: &TableFilesArguments, out: &Path, plan: &Plan, shop: &Shop, session: &mut Session<'_>) -> Exit {
    let Some(table) = shop.table() else {
        return Exit::BadInput;
    };
    let is_asked = |layout: &&Layout| asked.sheet.is_empty() || asked.sheet.contains(&layout.number);
    let mut files = vec![];
    for layout in layouts(plan).filter(is_asked) {
        let place = format!("map {}, tag {}", layout.number, layout.stock.tag);
        match ForTable::of(plan, layout).make(table) {
            Ok(made) => {
                if let Some(warning) = &made.warning {
                    session.say(&format_args!("warning: {warning}"));
                }
                session.print(&format!("map {}: {}\n", layout.number, made.words));
                files.extend(made.files);
            }
            Err(NotMade::Cannot(error)) => {
                let hint = "Choose another table or another sheet, or break this one by hand from its map.";
                session.say(&one(
                    &asked.plan,
                    &place,
                    error.to_string(),
                    "a sheet that the table can score",
                    hint,
                ));
                return Exit::BadInput;
            }
            Err(NotMade::Faults(name, faults)) => {
                session.say(&format_args!(
                    "internal fault: {name} fails its check; nothing was written. Please report it with the plan."
                ));
                faults
                    .iter()
                    .for_each(|fault| session.say(&format_args!("{name}: {fault}")));
                return Exit::Internal;
            }
        }
    }
    match put(asked, out, shop, &files) {
        Ok(()) => {
            let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
            session.done();
            session.print(&format!("Written to {}: {}\n", out.display(), names.join(", ")));
            session.print(
                "Dry run above the glass first; guards and eye protection; the table's own manual decides.\nCheck the gauge line: \
                 100 mm.\n",
            );
            Exit::Done
        }
        Err(error) => super::not_written(&error, session),
    }
}

fn put(asked: &TableFilesArguments, out: &Path, shop: &Shop, files: &[(String, String)]) -> Result<(), NotWritten> {
    let same = |a: &Path, b: &Path| matches!((a.canonicalize(), b.canonicalize()), (Ok(a), Ok(b)) if a == b);
    let own = asked
        .plan
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    if same(own, out) && asked.plan.file_name().is_some_and(|name| name == PLAN) {
        let found = "the plan's own folder".into();
        let hint = "Its files belong to the plan; choose another folder with --out.";
        return Err(NotWritten::Refused(one(
            out,
            "folder to write to",
            found,
            "another folder",
            hint,
        )));
    }
    let care = Care::new([asked.plan.clone(), shop.file().into()], asked.replace);
    let mut places = vec![];
    let mut refused = vec![];
    for (name, text) in files {
        // Without a mark, which tables would stumble over, only the very same file is known as the program's own.
        match care.place(&out.join(name), |bytes| bytes == text.as_bytes()) {
            Ok(place) => places.push((place, text)),
            Err(finding) => refused.push(finding),
        }
    }
    if !refused.is_empty() {
        return Err(NotWritten::Refused(Findings(refused)));
    }
    let putting = in_place();
    fs::create_dir_all(out).map_err(|error| NotWritten::CannotWrite(cannot_write(out, &error)))?;
    for (place, text) in places {
        let written = place.write(text.as_bytes());
        written.map_err(|error| NotWritten::CannotWrite(cannot_write(out, &error)))?;
    }
    putting.done();
    Ok(())
}

/// Reads a file back and says whether it scores its map.
fn check(asked: &TableFilesArguments, file: &Path, plan: &Plan, table: &TableFile, session: &mut Session<'_>) -> Exit {
    let read = || -> Result<(TableFormat, String, &Layout), Findings> {
        let name = file
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .to_ascii_lowercase();
        let format = match name.rsplit_once('.') {
            Some((_, "dxf")) => TableFormat::Dxf,
            Some((_, "ngc" | "nc" | "tap" | "gcode")) => TableFormat::Ngc,
            _ => {
                let hint = "Name the file as it was written: sheet-2.ngc, sheet-2.dxf.";
                return Err(one(
                    file,
                    "its name",
                    name.escape_debug().to_string(),
                    "one that ends in .ngc or .dxf",
                    hint,
                ));
            }
        };
        let digits = name
            .strip_prefix("sheet-")
            .and_then(|rest| rest.split(['.', '-']).next());
        let number = asked.sheet.first().copied().or_else(|| digits?.parse().ok());
        let Some(number) = number else {
            let hint = "Say which map it is for with --sheet.";
            return Err(one(
                file,
                "its name",
                name.escape_debug().to_string(),
                "sheet-N.ngc or sheet-N.dxf",
                hint,
            ));
        };
        let text = reading::text(file, "a file for a cutting table")?;
        Ok((format, text, layout(&asked.plan, plan, number)?))
    };
    let (format, text, layout) = match read() {
        Ok(read) => read,
        Err(findings) => {
            session.say(&findings);
            return Exit::BadInput;
        }
    };
    let faults = ForTable::of(plan, layout).faults(format, &text, table);
    let name = file.display();
    if faults.is_empty() {
        let breaks = counted(layout.breaking.steps.len(), "break");
        session.print(&format!(
            "{name}: passes: it scores map {}, {breaks}, and nothing else\n",
            layout.number
        ));
        return Exit::Done;
    }
    faults
        .iter()
        .for_each(|fault| session.say(&format_args!("{name}: {fault}")));
    session.print(&format!("{name}: fails: {} named\n", counted(faults.len(), "fault")));
    Exit::DoesNotHold
}
