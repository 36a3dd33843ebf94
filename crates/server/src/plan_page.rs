//! Planning on the page: ask for a plan, watch it come, stop it.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::change::number;
use crate::html::{self, Here, choice, field, hidden, to};
use crate::job::{glass_from, head};
use crate::runs::{Now, Phase, Run, Runs, What};
use crate::seen::Seen;
use crate::{deeds, picture, plans};
use axum::body::{Body, Bytes};
use axum::http::StatusCode;
use axum::response::Response;
use cullet_job::measure;
use cullet_model::{Effort, Plan};
use cullet_workshop::plan::{DEFAULT_SECONDS, PlanRequest};
use cullet_workshop::reading::Glass;
use maud::{Markup, html};
use serde_json::{Value, json};
use std::convert::Infallible;
use std::sync::Arc;
use std::time::Duration;

/// Pictures are sent no more often than this.
const PACE: Duration = Duration::from_millis(300);
/// The longest search, seconds: a day.
const MOST_SECONDS: f64 = 86_400.0;
/// The most sheets of a glass that are drawn while the search runs.
const MOST_SHEETS: usize = 12;
/// The most points of the course that are sent.
const MOST_POINTS: usize = 400;

/// The page.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let title = seen
        .file
        .as_ref()
        .map_or_else(|| seen.name.clone(), |file| file.name.clone());
    let found = plans::of(app, &seen);
    let run = app.runs.of(&seen.name, false);
    let is_open = run.as_ref().is_some_and(|run| !run.now().phase.is_over());
    let body = html! {
        (head(app, &seen, &title, "plan"))
        @if let Some(run) = &run { (live(run)) }
        @if !is_open {
            @if let Some(found) = &found {
                section aria-label="The plan" {
                    h2 { "The plan" }
                    @if !found.is_present { p.note { "The job was changed since: plan it again." } }
                    (figures(&found.plan))
                    p { a.button href=(to("/sheets", &[("job", &seen.name)])) { "To its sheets" } }
                }
            }
            @if seen.job.is_none() {
                p { "Mend the job first: " a href=(to("/job", &[("job", &seen.name)])) { "what was found" } "." }
            } @else { (ask_form(app, &seen, found.is_some(), run.as_ref().map_or(1, |_| 2))) }
        }
    };
    Ok(html::page(&format!("{title}: plan"), Here::Jobs, &["plan.js"], body))
}

/// Areas, yield and money.
pub(crate) fn figures(plan: &Plan) -> Markup {
    let (figures, currency, units) = (&plan.figures, &plan.job.settings.currency, plan.job.units);
    html! {
        dl.figures {
            div { dt { "Net cost" } dd { (format!("{:.2} {currency}", figures.net_cost())) } }
            div { dt { "Yield" } dd { (format!("{:.1} %", figures.yield_share() * 100.0)) } }
            div { dt { "Pieces" } dd { (figures.pieces) } }
            div { dt { "Pulled" } dd { (measure::area(figures.pulled, units)) } }
            div { dt { "Returned" } dd { (measure::area(figures.returned, units)) } }
        }
    }
}

fn ask_form(app: &App, seen: &Seen, has_plan: bool, seed: u64) -> Markup {
    let sources = deeds::sources(app, &seen.name);
    let choices: Vec<&str> = seen
        .file
        .iter()
        .flat_map(|file| &file.choices)
        .map(|choice| choice.name.as_str())
        .collect();
    let mut options = vec![(String::new(), "the job as it stands".to_owned())];
    options.extend(choices.iter().map(|name| ((*name).to_owned(), (*name).to_owned())));
    html! {
        section aria-label="Plan it" {
            h2 { @if has_plan { "Search on" } @else { "Plan it" } }
            @if sources.is_empty() {
                p { "There is no glass yet: no rack and no stock list beside the job or in a folder above it. " a href="/rack" { "Start a rack" } "." }
            } @else {
                form.inline method="post" action="/plan" {
                    (hidden("job", &seen.name)) (hidden("seed", &seed.to_string()))
                    (glass_from(app, &seen.name))
                    (field("Seconds to search", "seconds", &DEFAULT_SECONDS.to_string(), "you can stop it sooner"))
                    @if !choices.is_empty() { (choice("Plan", "choice", &options, "")) }
                    label.tick { input type="checkbox" name="hold" value="yes"; "Hold its glass on the rack" }
                    @if has_plan { label.tick { input type="checkbox" name="replace" value="yes"; "Replace the plan even by a dearer one" } }
                    button { @if has_plan { "Search for a better plan" } @else { "Plan" } }
                }
            }
        }
    }
}

/// What is drawn anew while the search runs.
fn live(run: &Arc<Run>) -> Markup {
    let now = run.now();
    html! {
        section #live data-job=(run.job) data-phase=(now.phase.word()) aria-label="The search" {
            h2 { "The search" }
            p #stage role="status" aria-live="polite" {
                @match now.phase { Phase::Waiting => "Waiting for its turn", Phase::Searching => "Searching", other => (other.word()) }
            }
            @for words in &now.words { p { (words) } }
            @if !now.phase.is_over() {
                progress #share max="1" value=(now.share) aria-label="Share of the effort used up" {}
                div.buttons {
                    @for (what, words, class) in [("keep", "Stop and keep the best so far", ""), ("drop", "Stop and let go of it", "quiet")] {
                        form method="post" action="/plan/stop" { (hidden("job", &run.job)) (hidden("what", what)) button class=(class) { (words) } }
                    }
                }
            }
            dl.figures {
                div { dt { "Net cost so far" } dd #net { "–" } }
                div { dt { "Yield so far" } dd #yield { "–" } }
                div { dt { "No plan can cost less than" } dd #least { "–" } }
                div { dt { "Glasses laid" } dd #laid { "–" } }
            }
            svg.course #course role="img" aria-label="Net cost and yield against time" viewBox="0 0 600 170" preserveAspectRatio="none" {}
            p.note #key { "Full line: net cost. Broken line: yield. Dotted: the least that any plan can cost." }
            div #sheets {}
        }
    }
}

/// Asks for a plan.
pub(crate) fn plan(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("job")?;
    let seen = Seen::of(app, name)?;
    if seen.job.is_none() {
        return Err(Problem::Findings(seen.findings));
    }
    let glass = deeds::glass(app, asked.must("from")?)?;
    let seconds = number(asked.get("seconds").unwrap_or("20"), "Seconds to search")?;
    if !(seconds > 0.0 && seconds <= MOST_SECONDS) {
        return Err(deeds::typed(
            "Seconds to search",
            &seconds.to_string(),
            "more than 0, at most 86400",
            "20 suits most windows.",
        ));
    }
    let hold = asked.get("hold").is_some() && matches!(glass, Glass::Rack(_));
    let mut request = PlanRequest::new(app.place.path(name)?, glass, plans::folder(app, name)?);
    request.choice = asked.get("choice").map(str::to_owned);
    request.effort = Effort::seconds(
        asked.get("seed").and_then(|seed| seed.parse().ok()).unwrap_or(1),
        seconds,
    );
    let what = What::Plan {
        request: Box::new(request),
        hold,
        replace_better: asked.get("replace").is_some(),
    };
    Runs::ask(app, name, what)?;
    Ok(answer::go(&to("/plan", &[("job", name)])))
}

/// Stops a search.
pub(crate) fn stop(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let name = asked.must("job")?;
    let is_comparison = asked.get("kind") == Some("compare");
    app.runs.stop(name, is_comparison, asked.get("what") == Some("drop"));
    Ok(answer::go(&to(
        if is_comparison { "/compare" } else { "/plan" },
        &[("job", name)],
    )))
}

/// How a search stands, as a script draws it; `since` is the step up to which pictures are known.
fn told(app: &App, run: &Arc<Run>, since: u64) -> Value {
    let now = run.now();
    let figures = now.figures();
    let before = app.runs.before(run);
    let stage = match now.phase {
        Phase::Waiting if before.is_empty() => "Waiting for its turn".to_owned(),
        Phase::Waiting => format!("Waiting for its turn, behind {}", before.join(", ")),
        Phase::Searching => format!("Searching. {}", now.stage),
        Phase::Writing => "Checking the plan and writing its files".to_owned(),
        Phase::Done => "Done".to_owned(),
        Phase::Refused => "Not done".to_owned(),
        Phase::Dropped => "Stopped".to_owned(),
    };
    let thinned = now.course.len().div_ceil(MOST_POINTS).max(1);
    let last = now.course.len().saturating_sub(1);
    let course = now
        .course
        .iter()
        .enumerate()
        .filter(|(k, _)| k % thinned == 0 || *k == last);
    let course: Vec<Value> = course
        .map(|(_, (at, net, share, laid))| json!([picture::short(*at), picture::short(*net), share, laid]))
        .collect();
    let has_all = now.glasses > 0 && now.best.len() == now.glasses;
    let money = |sum: f64| format!("{sum:.2} {}", now.currency).trim().to_owned();
    json!({
        "phase": now.phase.word(), "over": now.phase.is_over(), "stage": stage, "share": now.share, "course": course,
        "net": if now.best.is_empty() { "–".to_owned() } else { money(figures.net_cost()) + if has_all { "" } else { " and more" } },
        "yield": if now.best.is_empty() { "–".to_owned() } else { format!("{:.1} %", figures.yield_share() * 100.0) },
        "least": now.least.map_or_else(|| "–".to_owned(), money), "least_number": now.least, "glasses": now.glasses,
        "laid": format!("{} of {}", now.best.len(), now.glasses), "words": now.words, "sheets": sheets(&now, since),
        "step": now.best.values().map(|(step, _)| *step).max().unwrap_or_default(),
    })
}

fn sheets(now: &Now, since: u64) -> Vec<Value> {
    let newer = now.best.iter().filter(|(_, (step, _))| *step > since);
    newer
        .map(|(code, (_, better))| {
            let markup = html! {
                h3 { (code) ": " (cullet_job::counted(better.layouts.len(), "sheet")) }
                ul.sheets {
                    @for layout in better.layouts.iter().take(MOST_SHEETS) {
                        li { div { (picture::layout(layout, &now.pieces)) p.what { (layout.stock.tag) ", " (layout.placements.len()) " laid" } } }
                    }
                }
                @if better.layouts.len() > MOST_SHEETS { p { "and " (better.layouts.len() - MOST_SHEETS) " more" } }
            };
            json!({"glass": code, "html": markup.into_string()})
        })
        .collect()
}

/// The search as it goes on, until it is over or nobody listens any more.
pub(crate) fn watch(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let is_comparison = asked.get("kind") == Some("compare");
    let run = app
        .runs
        .of(asked.must("job")?, is_comparison)
        .ok_or(Problem::NotThere)?;
    let listener = run.changed.subscribe();
    let start = (Arc::clone(app), run, listener, 0_u64, false);
    let stream = futures_util::stream::unfold(start, |(app, run, mut listener, since, is_last)| async move {
        if is_last {
            return None;
        }
        if since > 0 {
            // Waits for something to happen, and now and then says that it is still there.
            let _ = tokio::time::timeout(Duration::from_secs(5), listener.changed()).await;
            tokio::time::sleep(PACE).await;
        }
        listener.mark_unchanged();
        let (for_picture, at) = (Arc::clone(&run), Arc::clone(&app));
        let told = tokio::task::spawn_blocking(move || told(&at, &for_picture, since))
            .await
            .unwrap_or_default();
        let is_last = told["over"] == true || told.is_null();
        let step = told["step"].as_u64().unwrap_or_default().max(since).max(1);
        let event = Bytes::from(format!("data: {told}\n\n"));
        Some((Ok::<_, Infallible>(event), (app, run, listener, step, is_last)))
    });
    Ok(crate::routes::stream(Body::from_stream(stream)))
}

/// The same once, for a script that cannot listen.
pub(crate) fn state(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let run = app
        .runs
        .of(asked.must("job")?, asked.get("kind") == Some("compare"))
        .ok_or(Problem::NotThere)?;
    Ok(answer::data(StatusCode::OK, &told(app, &run, 0)))
}
