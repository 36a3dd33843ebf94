//! What changes the rack.

use crate::Session;
use crate::arguments::{AddArguments, CorrectArguments, RackFile, Units};
use crate::commands::book;
use cullet_output::{caution, glass_picture};
use cullet_rack::{Rack, RackItem, State};
use cullet_workshop::Error;
use cullet_workshop::writing::in_place;
use std::path::Path;

pub(super) fn add(asked: &AddArguments, session: &mut Session<'_>) -> Result<(), Error> {
    let mut said = asked.said.said();
    said.push(("kind", &asked.kind));
    said.push(("count", &asked.count));
    said.extend(asked.tag.as_deref().map(|tag| ("tag", tag)));
    let putting = in_place();
    let tags = Rack::add_into(&asked.file.path, &said, &session.stamp())?;
    putting.done();
    session.done();
    session.print(&format!("Entered: {}\n", tags.join(", ")));
    Ok(())
}

pub(super) fn correct(asked: &CorrectArguments, session: &mut Session<'_>) -> Result<(), Error> {
    let mut rack = Rack::open(&asked.file.path)?;
    let (item, differs) = rack.correct(&asked.tag, &asked.said.said(), &session.stamp())?;
    session.done();
    let done = if differs { "Corrected" } else { "Nothing differs" };
    let units = rack.units()?;
    session.print(&format!("{done}: {}\n", glass_picture::in_words(&item, units)));
    if let (true, Some(plan)) = (differs, &item.held_for) {
        session.print(&format!(
            "It is held for plan {plan}, which can be booked only if its outline, flaws, lot and grain are as before.\n"
        ));
    }
    Ok(())
}

pub(super) fn throw_away(file: &RackFile, tags: &[String], why: &str, session: &mut Session<'_>) -> Result<(), Error> {
    let tags: Vec<&str> = tags.iter().map(String::as_str).collect();
    let mut rack = Rack::open(&file.path)?;
    let gone = rack.throw_away(&tags, why.trim(), &session.stamp())?;
    session.done();
    let units = rack.units()?;
    let was_there = |item: &&RackItem| item.state != State::Withdrawn;
    for item in &gone {
        let done = if was_there(&item) {
            "Thrown away"
        } else {
            "Taken off the list"
        };
        session.print(&format!("{done}: {}\n", glass_picture::in_words(item, units)));
    }
    if gone.iter().any(|item| was_there(&item)) {
        session.print(&format!("{}.\n", caution::SHARP));
    }
    Ok(())
}

pub(super) fn release(
    file: &RackFile,
    plan: Option<&Path>,
    holding: Option<&str>,
    session: &mut Session<'_>,
) -> Result<(), Error> {
    let mut rack = Rack::open(&file.path)?;
    let plan = match (plan, holding) {
        (Some(path), _) => rack.name_of(&book::read_for_its_name(path, session)?)?,
        (None, tag) => rack.holder(tag.unwrap_or_default())?,
    };
    let free = rack.release(&plan, &session.stamp())?;
    session.done();
    let units = rack.units()?;
    if free.is_empty() {
        session.print(&format!("Nothing was held for plan {plan}\n"));
    }
    for item in &free {
        session.print(&format!("Released: {}\n", glass_picture::in_words(item, units)));
    }
    Ok(())
}

pub(super) fn units(file: &RackFile, asked: Option<Units>, session: &mut Session<'_>) -> Result<(), Error> {
    let units = match asked {
        Some(units) => {
            Rack::open(&file.path)?.set_units(units.of_job())?;
            session.done();
            units.of_job()
        }
        None => Rack::open_to_read(&file.path)?.units()?,
    };
    let word = match units {
        cullet_job::Units::Millimetres => "millimetres, square metres",
        cullet_job::Units::Inches => "inches, square feet",
    };
    session.print(&format!("{} is read in {word}\n", file.path.display()));
    Ok(())
}
