//! What looks things up.

use super::table;
use crate::arguments::{RackFile, Units};
use crate::commands::book;
use crate::{Exit, Session};
use cullet_job::{Finding, Findings, counted, measure};
use cullet_output::glass_picture;
use cullet_rack::{Rack, RackItem, Room, Which, read_size};
use cullet_workshop::Error;
use cullet_workshop::writing::{Care, Kind, NotWritten};
use std::path::Path;

pub(super) fn list(file: &RackFile, glass: Option<&str>, all: bool, session: &mut Session<'_>) -> Result<(), Error> {
    let mut rack = Rack::open_to_read(&file.path)?;
    let items = rack.list(&Which { glass, gone_too: all })?;
    let units = rack.units()?;
    session.print(&table::of(&items, units));
    Ok(())
}

pub(super) fn find(
    file: &RackFile,
    glass: Option<&str>,
    (size, units): (&str, Option<Units>),
    most: usize,
    session: &mut Session<'_>,
) -> Result<(), Error> {
    let mut rack = Rack::open_to_read(&file.path)?;
    let of_rack = rack.units()?;
    let units = units.map_or(of_rack, Units::of_job);
    let Some((width, height)) = read_size(size, units.mm()) else {
        return Err(Findings(vec![Finding {
            file: "command line".into(),
            place: "--size".into(),
            found: format!("\"{size}\""),
            expected: "two sizes above 0 with an x between them".into(),
            hint: "Write 300x200; inches with --units in, then also \"12 1/2x8\".".into(),
        }])
        .into());
    };
    let items = rack.find(&Room {
        glass,
        width,
        height,
        most,
    })?;
    if items.is_empty() {
        session.print("No glass on the rack has room for that.\n");
    } else {
        session.print(&table::of(&items, of_rack));
    }
    Ok(())
}

pub(super) fn show(
    file: &RackFile,
    tag: &str,
    out: Option<&Path>,
    care: &Care,
    session: &mut Session<'_>,
) -> Result<(), Error> {
    let mut rack = Rack::open_to_read(&file.path)?;
    if let Some(out) = out {
        care.may_put(out).map_err(NotWritten::from)?;
    }
    let item = rack.get(tag)?;
    let history = rack.history(Some(tag), u32::MAX)?;
    let units = rack.units()?;
    session.print(&table::of(std::slice::from_ref(&item), units));
    session.print(&details(&item));
    for entry in history {
        session.print(&format!("{}\n", book::entry_in_words(&entry)));
        for (_, what) in &entry.glass {
            session.print(&format!("  {what}\n"));
        }
    }
    if let Some(out) = out {
        care.put(out, &glass_picture::draw(&item, units), Kind::Markup)?;
        session.print(&format!("Written: {}\n", out.display()));
    }
    Ok(())
}

/// What the table has no column for.
fn details(item: &RackItem) -> String {
    let mut text = format!("grain {}°", item.stock.grain_deg);
    if let Some(face) = item.scored_face {
        text += &format!(", scored on the {} face", face.word());
    }
    if let Some(price) = item.stock.price {
        text += &format!(", price {price}");
    }
    text + "\n"
}

pub(super) fn history(file: &RackFile, tag: Option<&str>, most: u32, session: &mut Session<'_>) -> Result<(), Error> {
    let mut rack = Rack::open_to_read(&file.path)?;
    for entry in rack.history(tag, most)? {
        session.print(&format!("{}\n", book::entry_in_words(&entry)));
        for (tag, what) in &entry.glass {
            session.print(&format!("  {tag} {what}\n"));
        }
    }
    Ok(())
}

pub(super) fn audit(file: &RackFile, session: &mut Session<'_>) -> Result<Exit, Error> {
    let mut rack = Rack::open_to_read(&file.path)?;
    let audit = rack.audit()?;
    // A rack that was changed by hand may not even have this.
    let scale = measure::areas(rack.units().unwrap_or_default());
    let mut text = String::new();
    for (what, mm2) in [
        ("received", audit.came_in),
        ("on the rack", audit.on_rack),
        ("used", audit.used),
        ("cullet", audit.cullet),
        ("thrown away", audit.thrown_away),
    ] {
        text += &format!("{what:<12} {:>12.4} {}\n", mm2 / scale.one, scale.sign);
    }
    session.print(&text);
    session.print(&format!(
        "{} on the rack, {} of them held\n",
        counted(audit.count, "sheet or offcut"),
        audit.held
    ));
    if audit.faults.is_empty() {
        session.print("The rack adds up.\n");
        return Ok(Exit::Done);
    }
    for fault in &audit.faults {
        session.say(&format_args!("{}: {fault}", file.path.display()));
    }
    Ok(Exit::Untrue)
}
