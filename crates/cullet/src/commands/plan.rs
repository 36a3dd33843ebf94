//! `cullet plan`: reads, searches, verifies, and only then writes.

use crate::folder::{self, Folder, Holds};
use crate::reading::Inputs;
use crate::request::{Glass, PlanRequest};
use crate::table::{ForTable, Made, NotMade};
use crate::writing::{Care, in_place};
use crate::{Exit, Session, reading, shop};
use cullet_drawing::expand::PanelDrawing;
use cullet_job::{Finding, Findings, Job, ReadWith, Shop, TableFile, counted};
use cullet_output::tables::{self, TableError};
use cullet_output::{bench, book, caution, scores, sheet_map};
use cullet_plan::model::{Layout, Plan};
use cullet_plan::planner::{self, Progress};
use cullet_plan::verify::verify;
use cullet_rack::{Rack, RackError, Signs, Stock};
use indicatif::{ProgressBar, ProgressStyle};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::path::Path;

pub(super) fn plan(request: &PlanRequest, session: &mut Session<'_>) -> Exit {
    let (inputs, mut folder, shop) = match read(request) {
        Ok(read) => read,
        Err(error) => return super::rack_error(&error, session),
    };
    let Inputs {
        job: drawn,
        stock,
        rack,
    } = inputs;
    let job = &drawn.job;
    let found = drawn.warnings().into_iter();
    let panels: Vec<&str> = drawn.drawings.iter().map(|drawing| drawing.panel.as_str()).collect();
    let found = found.chain(job.warnings(&request.job.display().to_string(), &panels));
    let warnings: Vec<String> = found.map(|warning| warning.to_string()).collect();
    for warning in &warnings {
        session.say(&format_args!("warning: {warning}"));
    }
    if let Err(error) = folder.begin() {
        return super::not_written(&error, session);
    }

    let plan = match search(request, job, &stock, session) {
        Ok(plan) => Plan { rack, ..plan },
        Err(error) => {
            session.say(&format_args!(
                "--threads {}: could not be started ({error})",
                request.threads
            ));
            return Exit::BadInput;
        }
    };
    if session.cancelled() && plan.figures.pieces == 0 {
        session.say(&"stopped before there was a plan; nothing was written");
        return Exit::Interrupted;
    }

    if session.cancelled() {
        session.say(&"stopped early: this is the best plan so far");
    }

    if let Err(faults) = verified(&plan) {
        session
            .say(&"internal fault: the plan fails its check; nothing was written. Please report it with the job file.");
        faults.iter().for_each(|fault| session.say(fault));
        return Exit::Internal;
    }
    let table = shop.as_ref().and_then(Shop::table);
    let on_table = match on_table(&plan, table, session) {
        Ok(made) => made,
        Err(exit) => return exit,
    };
    let files = match files(&plan, &warnings, &drawn.drawings, request.signs, &on_table) {
        Ok(files) => files,
        Err(error) => {
            session.say(&format_args!(
                "internal fault: {error}; nothing was written. Please report it with the job file."
            ));
            return Exit::Internal;
        }
    };
    match folder.write(&files) {
        Ok(removed) => {
            let exit = report(request, &plan, &job.notes, &removed, session);
            match (&request.glass, request.hold) {
                (Glass::Rack(rack), true) => hold(rack, &plan, exit, session),
                _ => exit,
            }
        }
        Err(error) => super::not_written(&error, session),
    }
}

/// Everything that is wrong with the job, the glass and the folder, at once.
fn read(request: &PlanRequest) -> Result<(Inputs, Folder, Option<Shop>), RackError> {
    let shop = shop::read(&request.job, &request.shop).map_err(RackError::Input)?;
    let inputs = inputs(request, shop.as_ref()).and_then(whole);
    let (Glass::List(glass) | Glass::Rack(glass)) = &request.glass;
    let care = Care::new([&request.job, glass], request.replace);
    let folder = Folder::examine(&request.out, Holds::Plan, care);
    match (inputs, folder) {
        (Ok(inputs), Ok(mut folder)) => {
            folder.reads(inputs.job.drawings.iter().map(|drawing| &drawing.file));
            folder.reads(shop.iter().map(Shop::file));
            if let Glass::Rack(rack) = &request.glass {
                nothing_held(&folder, &request.out, rack)?;
            }
            Ok((inputs, folder, shop))
        }
        (Err(RackError::Input(Findings(inputs))), Err(Findings(folder))) => {
            Err(RackError::Input(Findings([inputs, folder].concat())))
        }
        (Err(error), _) => Err(error),
        (_, Err(folder)) => Err(RackError::Input(folder)),
    }
}

fn inputs(request: &PlanRequest, shop: Option<&Shop>) -> Result<Inputs, RackError> {
    let with = ReadWith { shop, choice: None };
    let Some(asked) = &request.choice else {
        return reading::inputs(&request.job, &request.glass, with);
    };
    let plain = reading::job(&request.job, with).map_err(RackError::Input)?;
    let choice = reading::choice(&request.job, &plain.job, asked).map_err(RackError::Input)?;
    let with = ReadWith {
        choice: Some(&choice),
        ..with
    };
    reading::inputs(&request.job, &request.glass, with)
}

/// A choice with pieces that cannot be made is refused as a job with such pieces is.
fn whole(inputs: Inputs) -> Result<Inputs, RackError> {
    let impossible = &inputs.job.job.impossible;
    if impossible.is_empty() {
        return Ok(inputs);
    }
    let mut why: Vec<Finding> = impossible.iter().map(|one| one.why.clone()).collect();
    why.dedup();
    Err(RackError::Input(Findings(why)))
}

/// Refuses to replace a plan that glass is held for: nothing would be left to release it or to book it with.
pub(super) fn nothing_held(folder: &Folder, out: &Path, rack: &Path) -> Result<(), RackError> {
    let Some(cut) = folder.earlier_plan().and_then(|plan| super::book::cut(&plan)) else {
        return Ok(());
    };
    let held = Rack::open_to_read(rack)?.held_for(&cut)?;
    if held.is_empty() {
        return Ok(());
    }
    let plan = out.join(folder::PLAN).display().to_string();
    Err(RackError::Input(Findings(vec![Finding {
        place: "folder to write to".into(),
        found: format!("a plan that glass is held for: {}", held.join(", ")),
        expected: "a plan that nothing is held for, or none yet".into(),
        hint: format!(
            "Let go of it first (cullet rack release {plan} --rack {}), or choose another folder with --out.",
            rack.display()
        ),
        file: plan,
    }])))
}

/// Holds the plan's glass on the rack. The plan is written by then: where glass was taken meanwhile, that is told.
fn hold(rack: &Path, plan: &Plan, exit: Exit, session: &mut Session<'_>) -> Exit {
    let held = || {
        let Some(cut) = super::book::cut(plan) else {
            return Ok(vec![]);
        };
        let putting = in_place();
        let held = Rack::open(rack)?.hold(&cut, &session.stamp());
        putting.done();
        held
    };
    match held() {
        Ok(tags) if tags.is_empty() => {
            session.print("Nothing to hold: the plan uses no glass of the rack.\n");
            exit
        }
        Ok(tags) => {
            session.print(&format!("Held for this plan: {}\n", tags.join(", ")));
            exit
        }
        Err(error) => {
            session.say(&"the plan was written, but its glass is not held: plan again");
            super::rack_error(&error, session)
        }
    }
}

fn search(
    request: &PlanRequest,
    job: &Job,
    stock: &Stock,
    session: &Session<'_>,
) -> Result<Plan, rayon::ThreadPoolBuildError> {
    let threads = rayon::ThreadPoolBuilder::new().num_threads(request.threads).build()?;
    let cancel = session.cancel();
    let bar = progress_bar(session.draw_progress());
    let show = |progress: Progress| {
        bar.set_position((progress.share.clamp(0.0, 1.0) * 1000.0) as u64);
        bar.set_message(progress.stage);
    };
    let plan = threads.install(|| planner::plan(job, stock, request.effort, cancel, &show));
    bar.finish_and_clear();
    Ok(plan)
}

pub(super) fn progress_bar(draw: bool) -> ProgressBar {
    if !draw {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(1000);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {percent:>3} %  {elapsed}  {msg}") {
        bar.set_style(style);
    }
    bar
}

/// Whether the plan reads back the same from its file and holds. JSON has no NaN and writes `null` for it without a word;
/// reading back finds that, and makes what is verified the very thing that is written.
pub(super) fn verified(plan: &Plan) -> Result<(), Vec<String>> {
    let text = serde_json::to_string(plan).map_err(|error| vec![error.to_string()])?;
    let read_back: Plan = serde_json::from_str(&text).map_err(|error| {
        vec![format!(
            "the plan cannot be read back, a number in it is not finite: {error}"
        )]
    })?;
    if read_back != *plan {
        return Err(vec!["the plan reads back as another one".into()]);
    }
    let faults = verify(&read_back);
    if faults.is_empty() {
        Ok(())
    } else {
        Err(faults.iter().map(super::fault_in_words).collect())
    }
}

fn layouts(plan: &Plan) -> impl Iterator<Item = &Layout> {
    plan.glasses.iter().flat_map(|glass| &glass.layouts)
}

/// The files for the cutting table, where there is one, of every sheet that it can score; what it cannot is said.
fn on_table(plan: &Plan, table: Option<&TableFile>, session: &mut Session<'_>) -> Result<BTreeMap<u32, Made>, Exit> {
    let Some(table) = table else {
        return Ok(BTreeMap::new());
    };
    let sheets: Vec<&Layout> = layouts(plan).collect();
    let made: Vec<_> = sheets
        .into_par_iter()
        .map(|layout| (layout, ForTable::of(plan, layout).make(table)))
        .collect();
    let mut files = BTreeMap::new();
    for (layout, made) in made {
        match made {
            Ok(made) => {
                if let Some(warning) = &made.warning {
                    session.say(&format_args!("warning: {warning}"));
                }
                files.insert(layout.number, made);
            }
            Err(NotMade::Cannot(error)) => {
                session.say(&format_args!(
                    "warning: map {}: no files for the table: {error}",
                    layout.number
                ));
            }
            Err(NotMade::Faults(name, faults)) => {
                session.say(&format_args!(
                    "internal fault: {name} fails its check; nothing was written. Please report it with the job file."
                ));
                faults
                    .iter()
                    .for_each(|fault| session.say(&format_args!("{name}: {fault}")));
                return Err(Exit::Internal);
            }
        }
    }
    Ok(files)
}

/// The plan's file, which lists the others, and these.
pub(super) fn files(
    plan: &Plan,
    warnings: &[String],
    drawings: &[PanelDrawing],
    signs: Signs,
    on_table: &BTreeMap<u32, Made>,
) -> Result<Vec<(String, String)>, TableError> {
    let sheets: Vec<&Layout> = layouts(plan).collect();
    let words = |layout: &Layout| on_table.get(&layout.number).map(|made| made.words.as_str());
    let map = |layout: &&Layout| sheet_map::draw_for_table(plan, layout, words(layout));
    let maps: Vec<String> = sheets.par_iter().map(map).collect();
    let mut files = vec![
        (folder::YIELD.to_string(), tables::yield_csv(plan, signs)?),
        (folder::BREAKING.to_string(), bench::breaking_csv(plan, signs)?),
        (folder::BOOK.to_string(), book::page(plan, &maps, warnings, drawings)),
    ];
    if let Some(list) = tables::buy_csv(plan, signs)? {
        files.push((folder::BUY.to_string(), list));
    }
    let of_sheets = sheets.into_par_iter().zip(maps).flat_map_iter(|(layout, map)| {
        let number = u64::from(layout.number);
        let made = on_table.get(&layout.number);
        let mut files = vec![
            (folder::sheet_map(number), map),
            (folder::sheet_scores(number), scores::draw(plan, layout)),
            (
                folder::sheet_breaks(number),
                bench::page_for_table(plan, layout, words(layout)),
            ),
        ];
        files.extend(made.into_iter().flat_map(|made| made.files.iter().cloned()));
        files
    });
    files.extend(of_sheets.collect::<Vec<_>>());
    folder::listed(plan, files).map_err(TableError::Text)
}

/// Says what came out: the yield table and what was written on standard output, what is missing on standard error.
fn report(request: &PlanRequest, plan: &Plan, notes: &[String], removed: &[String], session: &mut Session<'_>) -> Exit {
    session.print(&tables::yield_text(plan));
    session.print(&tables::buy_text(plan));
    let sheets = layouts(plan).count();
    session.print(&format!(
        "\nWritten to {}: {sheets} sheet map{s} (sheet-N.svg) with {} scores (sheet-N-scores.svg) and breaks \
         (sheet-N-breaks.html), book.html, breaking.csv, plan.json, yield.csv{buy}\n",
        request.out.display(),
        if sheets == 1 { "its" } else { "their" },
        s = if sheets == 1 { "" } else { "s" },
        buy = if plan.glasses.iter().all(|g| g.buy.is_empty()) {
            ""
        } else {
            ", buy.csv"
        },
    ));
    notes.iter().for_each(|note| session.print(&format!("{note}\n")));
    if !removed.is_empty() {
        session.print(&format!(
            "Removed from the earlier plan there: {}\n",
            removed.join(", ")
        ));
    }
    session.print(&cautions(plan));
    if plan.unplaced.is_empty() {
        return Exit::Done;
    }
    for unplaced in &plan.unplaced {
        session.say(&format_args!(
            "not placed: {}, {}: {}",
            unplaced.id,
            counted(unplaced.count, "copy"),
            unplaced.reason
        ));
    }
    Exit::Unplaced
}

/// The usual cautions, with the sheets that are too heavy for one.
pub(super) fn cautions(plan: &Plan) -> String {
    let words = format!("{}. {}", caution::SHARP, caution::lift(plan));
    words.trim_end().to_owned() + "\n"
}
