//! `cullet plan`: reads, searches, verifies, and only then writes; says what came out.

use super::refused;
use crate::request::PlanAndHold;
use crate::{Exit, Session};
use cullet_job::counted;
use cullet_model::Plan;
use cullet_output::{caution, tables};
use cullet_planner::Progress;
use cullet_workshop::Error;
use cullet_workshop::plan::{Ready, hold, layouts};
use cullet_workshop::reading::Glass;
use indicatif::{ProgressBar, ProgressStyle};

pub(super) fn plan(asked: &PlanAndHold, session: &mut Session<'_>) -> Exit {
    made(asked, session).unwrap_or_else(|error| refused(&error, session))
}

fn made(asked: &PlanAndHold, session: &mut Session<'_>) -> Result<Exit, Error> {
    let mut ready = Ready::read(asked.plan.clone())?;
    warn(ready.warnings(), session);
    ready.begin()?;
    let plan = search(&ready, session)?;
    if session.cancelled() && plan.figures.pieces == 0 {
        return Err(Error::Stopped("there was a plan"));
    }
    if session.cancelled() {
        session.say(&"stopped early: this is the best plan so far");
    }
    let files = ready.files(&plan)?;
    warn(&files.warnings, session);
    let notes = ready.inputs().job.job.notes.clone();
    let removed = ready.write(&files)?;
    let exit = report(asked, &plan, &notes, &removed, session);
    match (&asked.plan.glass, asked.hold) {
        (Glass::Rack(rack), true) => {
            let held = hold(rack, &plan, &session.stamp());
            Ok(say_held(held, exit, session))
        }
        _ => Ok(exit),
    }
}

fn warn(warnings: &[String], session: &mut Session<'_>) {
    for warning in warnings {
        session.say(&format_args!("warning: {warning}"));
    }
}

fn search(ready: &Ready, session: &Session<'_>) -> Result<Plan, Error> {
    let bar = progress_bar(session.draw_progress());
    let show = |progress: Progress| {
        bar.set_position((progress.share.clamp(0.0, 1.0) * 1000.0) as u64);
        bar.set_message(progress.stage);
    };
    let plan = ready.search(session.cancel(), &show);
    bar.finish_and_clear();
    plan
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

/// What became of holding the glass. The plan is written by then: where glass was taken meanwhile, that is told.
fn say_held(held: Result<Vec<String>, Error>, exit: Exit, session: &mut Session<'_>) -> Exit {
    match held {
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
            refused(&error, session)
        }
    }
}

/// Says what came out: the yield table and what was written on standard output, what is missing on standard error.
fn report(asked: &PlanAndHold, plan: &Plan, notes: &[String], removed: &[String], session: &mut Session<'_>) -> Exit {
    session.print(&tables::yield_text(plan));
    session.print(&tables::buy_text(plan));
    let sheets = layouts(plan).count();
    session.print(&format!(
        "\nWritten to {}: {sheets} sheet map{s} (sheet-N.svg) with {} scores (sheet-N-scores.svg) and breaks \
         (sheet-N-breaks.html), book.html, breaking.csv, plan.json, yield.csv{buy}\n",
        asked.plan.out.display(),
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
