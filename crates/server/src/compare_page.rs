//! Choices side by side: other glass, lead or grinding, each planned as often and as long, with their sheets.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::change::number;
use crate::html::{self, Here, choice, field, hidden, to};
use crate::job::{glass_from, head};
use crate::runs::{Runs, What};
use crate::seen::Seen;
use crate::{deeds, plans, sheets};
use axum::response::Response;
use cullet_job::JobFile;
use cullet_model::Effort;
use cullet_rack::Signs;
use cullet_workshop::compare::{CompareRequest, DEFAULT_SECONDS_OF_A_RUN};
use cullet_workshop::folder::names::COMPARISON;
use cullet_workshop::shop::WhichShop;
use maud::{Markup, html};
use std::sync::Arc;

/// How often each choice is planned.
const SEEDS: u32 = 3;

/// The folder of a comparison, beside the plan's.
fn folder(job: &str) -> String {
    let plan = plans::folder_name(job);
    format!("{}choices", plan.strip_suffix("plan").unwrap_or(&plan))
}

pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let title = seen
        .file
        .as_ref()
        .map_or_else(|| seen.name.clone(), |file| file.name.clone());
    let run = app.runs.of(&seen.name, true);
    let now = run.as_ref().map(|run| run.now());
    let is_open = now.as_ref().is_some_and(|now| !now.phase.is_over());
    let [written, table] = COMPARISON;
    let at = |name: &str| to("/compare/file", &[("job", &seen.name), ("name", name)]);
    let is_there = app
        .place
        .path(&format!("{}/{written}", folder(&seen.name)))
        .is_ok_and(|path| path.is_file());
    let body = html! {
        (head(app, &seen, &title, "compare"))
        @if let Some(now) = &now {
            section #live data-job=(seen.name) data-phase=(now.phase.word()) data-kind="compare" aria-label="The search" {
                p #stage role="status" aria-live="polite" { (now.phase.word()) }
                @for words in &now.words { p { (words) } }
                @if is_open {
                    progress #share max="1" value=(now.share) aria-label="Share of the searches done" {}
                    form method="post" action="/plan/stop" { (hidden("job", &seen.name)) (hidden("kind", "compare")) (hidden("what", "drop")) button.quiet { "Stop" } }
                }
                div #sheets hidden {}
            }
        }
        @match (&seen.file, &seen.job) {
            (Some(file), Some(_)) if !is_open => { (ask_form(app, &seen, file)) }
            (_, None) => { p { "Mend the job first: " a href=(to("/job", &[("job", &seen.name)])) { "what was found" } "." } }
            _ => {}
        }
        @if is_there && !is_open {
            h2 { "Side by side" }
            p { a href=(at(written)) { "The comparison alone, to print" } ", " a href={ (at(table)) "&keep=yes" } { "its table to download" } }
            iframe.written src=(at(written)) title="The choices side by side" {}
        }
    };
    Ok(html::page(&format!("{title}: choices"), Here::Jobs, &["plan.js"], body))
}

fn ask_form(app: &App, seen: &Seen, file: &JobFile) -> Markup {
    let mut codes = vec![(String::new(), "–".to_owned())];
    codes.extend(
        file.glasses
            .iter()
            .map(|glass| (glass.code.clone(), format!("{} {}", glass.code, glass.name))),
    );
    html! {
        form method="post" action="/compare" {
            (hidden("job", &seen.name))
            h2 { "What to try beside the job as it stands" }
            @for named in &file.choices { label.tick { input type="checkbox" name="try" value=(named.name); (named.name) } }
            @for k in ["1", "2", "3"] {
                div.inline { (choice("Instead of", &format!("of{k}"), &codes, "")) (choice("cut from", &format!("by{k}"), &codes, "")) }
            }
            div.inline {
                (field("Came: face/heart", "came", "", "8/1.2"))
                (field("Foil, on each side", "foil", "", "0.375"))
                (field("Or typed", "typed", "", "REED:grind=1, CLEAR:sheets=A+B"))
            }
            div.inline {
                (glass_from(app, &seen.name))
                (field("Seconds for each search", "seconds", &DEFAULT_SECONDS_OF_A_RUN.to_string(), &format!("each choice is searched for {SEEDS} times")))
                button { "Set them side by side" }
            }
        }
    }
}

/// Asks for the comparison.
pub(crate) fn compare(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("job")?;
    let mut tries: Vec<String> = asked.all("try").into_iter().map(str::to_owned).collect();
    for k in ["1", "2", "3"] {
        if let (Some(of), Some(by)) = (asked.get(&format!("of{k}")), asked.get(&format!("by{k}"))) {
            tries.push(format!("{of}={by}"));
        }
    }
    tries.extend(asked.get("came").map(|came| format!("came={came}")));
    tries.extend(asked.get("foil").map(|foil| format!("foil={foil}")));
    tries.extend(asked.get("typed").map(str::to_owned));
    if tries.is_empty() {
        return Err(deeds::typed(
            "Choices",
            "nothing to try",
            "at least one choice",
            "Choose a glass and what it is cut from instead.",
        ));
    }
    let seconds = number(asked.get("seconds").unwrap_or("5"), "Seconds for each search")?;
    if !(seconds > 0.0 && seconds <= 3600.0) {
        return Err(deeds::typed(
            "Seconds for each search",
            &seconds.to_string(),
            "more than 0, at most 3600",
            "5 suits most windows.",
        ));
    }
    let request = CompareRequest {
        job: app.place.path(name)?,
        shop: WhichShop::Nearest,
        glass: deeds::glass(app, asked.must("from")?)?,
        tries,
        out: app.place.path(&folder(name))?,
        replace: false,
        effort: Effort::seconds(1, seconds),
        seeds: SEEDS,
        threads: 0,
        signs: Signs::default(),
    };
    // What is wrong with the choices is said at once, and not after a wait.
    drop(cullet_workshop::compare::Ready::read(request.clone())?);
    Runs::ask(app, name, What::Compare(Box::new(request)))?;
    Ok(answer::go(&to("/compare", &[("job", name)])))
}

/// The page or the table of a comparison.
pub(crate) fn file(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("name")?;
    if !COMPARISON.contains(&name) {
        return Err(Problem::NotThere);
    }
    sheets::given(app, &folder(asked.must("job")?), name, asked.get("keep").is_some())
}
