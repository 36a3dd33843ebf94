//! A cut plan entered in the rack, or taken back.

use crate::folder::differences;
use crate::plan::fault_in_words;
use crate::writing::in_place;
use crate::{Error, identity, reading};
use cullet_job::{FaceFile, Finding, Units};
use cullet_model::Plan;
use cullet_rack::{Booked, Cut, CutSheet, Face, Rack, Stamp, TakenBack};
use cullet_verify::verify;
use std::path::Path;

/// Books a plan at `place`: the glass it cuts goes out, what it keeps goes in. Also the unit in which the rack is read.
///
/// # Errors
/// A plan that fails its check or was made from a stock list; glass that is gone or has changed; a plan booked already.
pub fn book(plan: &Path, rack: &Path, place: &str, stamp: &Stamp) -> Result<(Booked, Units), Error> {
    // What goes into the rack is only what the verifier has worked out again.
    let (_, cut) = read_verified(plan)?;
    let putting = in_place();
    let booked = enter(rack, &cut, place, stamp);
    putting.done();
    booked
}

/// Books what a plan does to the rack.
pub(crate) fn enter(path: &Path, cut: &Cut, place: &str, stamp: &Stamp) -> Result<(Booked, Units), Error> {
    let mut rack = Rack::open(path)?;
    let units = rack.units()?;
    Ok((rack.book(cut, place.trim(), stamp)?, units))
}

/// Takes a booking back.
///
/// # Errors
/// A plan that was not booked, or whose offcuts have been used or held since.
pub fn take_back(cut: &Cut, rack: &Path, stamp: &Stamp) -> Result<TakenBack, Error> {
    let mut rack = Rack::open(rack)?;
    let plan = rack.name_of(cut)?;
    let putting = in_place();
    let done = rack.take_back(&plan, stamp);
    putting.done();
    Ok(done?)
}

/// All that is wrong with the plan at `path`, a line each: what the verifier finds, and files beside it that are not its own.
#[must_use]
pub fn faults(path: &Path, plan: &Plan) -> Vec<String> {
    let faults = verify(plan).into_iter().map(|fault| fault_in_words(&fault));
    let beside = differences(path, plan).into_iter().map(|what| format!("files: {what}"));
    let lines = faults.chain(beside);
    lines.map(|line| format!("{}: {line}", path.display())).collect()
}

/// A plan that passes, as the rack that it was made on sees it.
///
/// # Errors
/// What keeps it from being read, or every fault of it.
pub fn read_verified(path: &Path) -> Result<(Plan, Cut), Error> {
    let (plan, cut) = read(path)?;
    let faults = faults(path, &plan);
    if faults.is_empty() {
        return Ok((plan, cut));
    }
    Err(Error::DoesNotHold(faults))
}

/// A plan of which only the name counts: what it was booked or held under, and its faults. They do not keep
/// anybody from taking back what an earlier version of the program let pass.
///
/// # Errors
/// What keeps it from being read.
pub fn read_for_its_name(path: &Path) -> Result<(Cut, Vec<String>), Error> {
    let (plan, cut) = read(path)?;
    Ok((cut, faults(path, &plan)))
}

/// A plan that was made on a rack, as that rack sees it.
fn read(path: &Path) -> Result<(Plan, Cut), Error> {
    let (plan, digest) = reading::plan(path)?;
    match cut(&plan) {
        // Plans that list no files were booked under a digest of their text.
        Some(cut) if plan.files.is_empty() => {
            let formerly = Some(digest);
            Ok((plan, Cut { formerly, ..cut }))
        }
        Some(cut) => Ok((plan, cut)),
        None => Err(Finding {
            file: path.display().to_string(),
            place: "field \"rack\"".into(),
            found: "a plan that was made from a stock list".into(),
            expected: "a plan that was made with --rack".into(),
            hint: "Import the list into a rack (cullet rack import) and plan from that.".into(),
        }
        .into()),
    }
}

/// What a plan does to the rack that it was made on; none for a plan from a stock list.
#[must_use]
pub fn cut(plan: &Plan) -> Option<Cut> {
    let made_on = plan.rack.clone()?;
    let face = |glass: &str| {
        let glass = plan.job.glasses.iter().find(|known| known.code == glass)?;
        Some(match glass.scored_face {
            FaceFile::Show => Face::Show,
            FaceFile::Back => Face::Back,
        })
    };
    let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
    let sheets = layouts.map(|layout| CutSheet {
        number: layout.number,
        stock: layout.stock.clone(),
        scored_face: face(&layout.stock.glass),
        used: layout.figures.used,
        returned: layout.returned.clone(),
    });
    Some(Cut {
        plan: identity::of(plan),
        formerly: None,
        job: plan.job.name.clone(),
        made_on,
        sheets: sheets.collect(),
    })
}
