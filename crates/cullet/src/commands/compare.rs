//! `cullet compare`: plans the job under each choice with the same effort and says what each comes to.

use super::plan::progress_bar;
use super::refused;
use crate::{Exit, Session};
use cullet_output::comparison;
use cullet_planner::compare::Outcome;
use cullet_workshop::Error;
use cullet_workshop::compare::{CompareRequest, Ready};

pub(super) fn compare(request: &CompareRequest, session: &mut Session<'_>) -> Exit {
    match made(request, session) {
        Ok(()) => Exit::Done,
        Err(error) => refused(&error, session),
    }
}

fn made(request: &CompareRequest, session: &mut Session<'_>) -> Result<(), Error> {
    let mut ready = Ready::read(request.clone())?;
    ready.begin()?;
    let outcomes = search(&ready, session)?;
    if session.cancelled() {
        session.say(&format_args!(
            "stopped early: each choice was planned {} times instead of {}",
            outcomes[0].runs.len(),
            request.seeds
        ));
    }
    let notes: Vec<String> = ready.notes().cloned().collect();
    let left_out = ready.left_out().to_vec();
    ready.write(&outcomes)?;
    session.print(&comparison::text(&outcomes, &left_out));
    session.print(&format!(
        "\nWritten to {}: compare.html with the sheets of every choice, compare.csv\n",
        request.out.display()
    ));
    session.print("Safety glazing in doors and other hazardous places: local code and the authority having jurisdiction decide.\n");
    notes.iter().for_each(|note| session.print(&format!("{note}\n")));
    Ok(())
}

fn search(ready: &Ready, session: &Session<'_>) -> Result<Vec<Outcome>, Error> {
    let bar = progress_bar(session.draw_progress());
    bar.set_message("planning every choice");
    let show = |share: f64| bar.set_position((share.clamp(0.0, 1.0) * 1000.0) as u64);
    let outcomes = ready.search(session.cancel(), &show);
    bar.finish_and_clear();
    outcomes
}
