//! Glass that touched pieces fit on: each sheet and offcut with the pieces drawn where they would lie.

use crate::answer::Problem;
use crate::app::{App, Asked};
use crate::html::{self, Here, choice, hidden, to};
use crate::job::head;
use crate::seen::Seen;
use crate::{deeds, picture, plans};
use axum::response::Response;
use cullet_job::{Job, PieceId, counted, measure};
use cullet_rack::{Count, StockKind};
use cullet_workshop::fits::{Fit, glass_for};
use cullet_workshop::plan::layouts;
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How many are shown.
const SHOWN: usize = 6;

/// The pieces that were picked in a panel, and what they fit on.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let job = seen
        .job
        .as_ref()
        .ok_or_else(|| Problem::Words("Mend the job first: what is wrong is named on its page.".into()))?;
    let (panel, numbers) = (asked.must("panel")?, asked.must("numbers")?);
    let picked = picked(job, panel, numbers);
    if picked.is_empty() {
        return Err(Problem::NotThere);
    }
    let sources = deeds::sources(app, &seen.name);
    let from = asked.get("from").or(sources.first().map(String::as_str));
    let body = html! {
        (head(app, &seen, &job.name, "job"))
        @match from {
            None => { p { "There is no stock list and no rack beside this job to look through." } }
            Some(from) => {
                form.inline method="get" action="/fits" {
                    (hidden("job", &seen.name)) (hidden("panel", panel)) (hidden("numbers", numbers))
                    (choice("Look through", "from", &sources.iter().map(|name| (name.clone(), name.clone())).collect::<Vec<_>>(), from))
                    button.quiet { "Look" }
                }
                @for (glass, pieces) in &picked { (of_glass(app, job, glass, pieces, from)?) }
            }
        }
        p { a.button.quiet href=(format!("{}#panel-{}", to("/job", &[("job", &seen.name)]), crate::answer::encoded(panel))) { "Back to the panel" } }
    };
    Ok(html::page(
        &format!("{}: glass that fits", job.name),
        Here::Jobs,
        &[],
        body,
    ))
}

/// The pieces of these numbers, by the codes of their glasses.
fn picked<'j>(job: &'j Job, panel: &str, numbers: &str) -> BTreeMap<&'j str, Vec<PieceId>> {
    let mut by_glass: BTreeMap<&str, Vec<PieceId>> = BTreeMap::new();
    for number in numbers.split('\u{1f}') {
        let mut own = job
            .pieces
            .iter()
            .filter(|piece| piece.id.panel == panel && piece.id.number == number);
        if let Some(piece) = own.next() {
            let pieces = by_glass.entry(&job.glasses[piece.glass].code).or_default();
            // A mirrored panel has them all mirrored, as `own` has the piece as drawn first.
            if !pieces.contains(&piece.id) {
                pieces.push(piece.id.clone());
            }
        }
    }
    by_glass
}

fn of_glass(app: &App, job: &Job, glass: &str, pieces: &[PieceId], from: &str) -> Result<Markup, Problem> {
    let found = glass_for(&job.source, pieces, &deeds::glass(app, from)?, SHOWN)?;
    let names: Vec<String> = pieces.iter().map(|id| id.number.clone()).collect();
    let together = if pieces.len() > 1 { " together" } else { "" };
    Ok(html! {
        section {
            h2 { "Glass " (glass) " for " (counted(pieces.len(), "piece")) ": " (names.join(", ")) }
            @if found.is_empty() {
                p { "Nothing in " (from) " holds " @if pieces.len() > 1 { "them together" } @else { "it" } ", with its trim and so that it comes apart. Glass held for another plan is left out." }
            } @else {
                p.what { "Smallest first, offcuts before sheets; what is drawn is cut once" (together) ". Nothing is held or booked by looking." }
            }
            ul.sheets { @for fit in &found { li { (one(app, job, from, fit)) } } }
        }
    })
}

fn one(app: &App, job: &Job, from: &str, fit: &Fit) -> Markup {
    let Fit { item, alike, plan } = fit;
    let shapes = plans::shapes(plan.pieces.iter().map(|piece| (&piece.id, &piece.cut)));
    let units = job.source.units;
    let bounds = item.outline.bounds();
    let kind = match (item.kind, item.count) {
        (StockKind::Offcut, _) => "offcut",
        (StockKind::Sheet, Count::ToBuy) => "sheet to buy",
        (StockKind::Sheet, Count::OnHand(_)) => "sheet",
    };
    let is_rack = app.place.path(from).is_ok_and(|path| cullet_rack::Rack::is_one(&path));
    html! {
        div {
            @for layout in layouts(plan) { (picture::layout(layout, &shapes)) }
            p {
                @if is_rack { a href=(to("/rack/item", &[("rack", from), ("tag", &item.tag)])) { (item.tag) } } @else { b { (item.tag) } }
                ", " (kind) ", " (measure::size(bounds.width(), bounds.height(), units))
                @if !item.place.is_empty() { ", place " (item.place) }
                @if let Count::OnHand(count @ 2..) = item.count { "; " (count) " on hand" }
                @if !alike.is_empty() { "; just like it: " (alike.join(", ")) }
            }
            p.what { @if plan.figures.returned > 0.0 { "Goes back: " (measure::area(plan.figures.returned, units)) } @else { "Nothing goes back." } }
        }
    }
}
