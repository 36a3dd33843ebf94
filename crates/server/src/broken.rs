//! A piece that broke: touch it, see which glass would do, have it drawn and booked.

use crate::answer::Problem;
use crate::app::{App, Asked};
use crate::html::{self, Here, field, hidden, to};
use crate::job::head;
use crate::plans;
use crate::seen::Seen;
use crate::sheets::{booked_page, plan_and_rack};
use crate::{deeds, picture};
use axum::response::Response;
use cullet_drawing::expand::by_number;
use cullet_geometry::Outline;
use cullet_job::{PieceId, measure};
use cullet_model::Plan;
use cullet_rack::{Signs, StockItem, StockKind};
use cullet_workshop::folder::names;
use cullet_workshop::plan::layouts;
use cullet_workshop::recut::{RecutRequest, Work};
use maud::{Markup, html};
use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::Arc;

/// How many of those that would do are shown.
const SHOWN: usize = 4;

/// Which piece, and what would do.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let plan = deeds::plan(&plans::folder(app, &seen.name)?.join(names::PLAN))?;
    let pieces = asked.all("piece");
    let body = html! {
        (head(app, &seen, &plan.job.name, "broken"))
        @if pieces.is_empty() { (pick(&seen, &plan)) } @else { (what_would_do(app, &seen, &pieces)?) }
    };
    Ok(html::page(
        &format!("{}: a piece broke", plan.job.name),
        Here::Jobs,
        &[],
        body,
    ))
}

fn pick(seen: &Seen, plan: &Plan) -> Markup {
    let named: BTreeSet<String> = layouts(plan)
        .flat_map(|layout| &layout.placements)
        .map(|placement| placement.id.to_string())
        .collect();
    let shapes = plans::shapes(plan.pieces.iter().map(|piece| (&piece.id, &piece.cut)));
    html! {
        h2 { "Which piece broke?" }
        @if plan.rack.is_none() { p.note { "This plan was made from a stock list: glass for a piece is found on a rack. Plan the job from a rack." } }
        form method="get" action="/broken" {
            (hidden("job", &seen.name))
            ul.picks {
                @for (id, cut) in counted_through(&shapes).into_iter().filter(|(id, _)| named.contains(&id.to_string())) {
                    li { label.tick { input type="checkbox" name="piece" value=(id.to_string());
                        svg.swatch viewBox=(picture::view_box(cut.bounds(), 2.0)) aria-hidden="true" { path d=(picture::path(cut.points(), true)) fill="#e9eef2" stroke="#111" stroke-width=(picture::short(cut.bounds().width() / 40.0)) {} }
                        " " (id.to_string()) } }
                }
            }
            button { "See which glass would do" }
        }
    }
}

/// Pieces as people count them: 2 before 10.
fn counted_through(shapes: &plans::Shapes) -> Vec<(&PieceId, &Outline)> {
    let mut all: Vec<_> = shapes.iter().collect();
    all.sort_by_cached_key(|(id, _)| (id.panel.clone(), by_number(&id.number), id.mirrored));
    all
}

fn request(app: &App, job: &str, pieces: &[&str], from: Option<&str>, place: &str) -> Result<RecutRequest, Problem> {
    let (plan, rack, _) = plan_and_rack(app, job)?;
    Ok(RecutRequest {
        out: free_folder(app, job)?,
        plan,
        pieces: pieces.iter().map(|piece| (*piece).to_owned()).collect(),
        rack,
        from: from.map(str::to_owned),
        replace: false,
        place: place.to_owned(),
        signs: Signs::default(),
    })
}

/// The folder a recut is written to, beside the plan's.
fn free_folder(app: &App, job: &str) -> Result<PathBuf, Problem> {
    let plan = plans::folder_name(job);
    for n in 1..10_000 {
        let path = app.place.path(&format!("{plan}-again-{n}"))?;
        if path.symlink_metadata().is_err() {
            return Ok(path);
        }
    }
    Err(Problem::Words(
        "There are too many recuts of this job in the folder.".into(),
    ))
}

fn what_would_do(app: &App, seen: &Seen, pieces: &[&str]) -> Result<Markup, Problem> {
    let work = Work::read(request(app, &seen.name, pieces, None, "")?)?;
    let found = work.first_that_do(SHOWN);
    let units = work.units();
    let kind = |item: &StockItem| match (work.is_own(&item.tag), item.kind) {
        (true, _) => "offcut of this job",
        (false, StockKind::Offcut) => "offcut",
        (false, StockKind::Sheet) => "sheet",
    };
    Ok(html! {
        h2 { "Glass for " (pieces.join(", ")) }
        @if found.is_empty() { (nothing_does(&work)) }
        ul.sheets {
            @for (item, plan) in &found {
                @let shapes = plans::shapes(plan.pieces.iter().map(|piece| (&piece.id, &piece.cut)));
                @let bounds = item.outline.bounds();
                li { div {
                    @for layout in layouts(plan) { (picture::layout(layout, &shapes)) }
                    p { b { (item.tag) } ", " (kind(item)) ", " (measure::size(bounds.width(), bounds.height(), units)) @if !item.place.is_empty() { ", place " (item.place) } }
                    p.what { "Returned: " (measure::area(plan.figures.returned, units)) }
                    form method="post" action="/broken" {
                        (hidden("job", &seen.name)) (hidden("from", &item.tag))
                        @for piece in pieces { (hidden("piece", piece)) }
                        (field("Place of what is kept", "place", &item.place, ""))
                        button { "Take " (item.tag) ": draw it and book it" }
                    }
                } }
            }
        }
        p { a.button.quiet href=(to("/broken", &[("job", &seen.name)])) { "Other pieces" } }
    })
}

fn nothing_does(work: &Work) -> Markup {
    let instead = work.instead();
    html! {
        p { "Nothing on hand does." }
        ul {
            @if let Some((lot, item)) = instead.other_lot { li { (item.tag) " would, but is not of lot " (lot) "." } }
            @if let Some((item, off)) = instead.grain_off { li { (item.tag) " would if the grain might lie " (format!("{off:.0}")) "° off." } }
            @if let Some((item, cost)) = instead.buy { li { "Buy one of " (item.tag) ": it comes to " (format!("{cost:.2}")) "." } }
        }
    }
}

/// Draws the map and books it.
pub(crate) fn take(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let job = asked.must("job")?;
    let request = request(
        app,
        job,
        &asked.all("piece"),
        Some(asked.must("from")?),
        asked.get("place").unwrap_or_default(),
    )?;
    let rack = request.rack.clone();
    let work = Work::read(request)?;
    let found = work.first_that_do(1).into_iter().next().map(|(_, plan)| plan);
    let plan = found.ok_or_else(|| Problem::Words("That glass does not do any more: look again.".into()))?;
    let to_book = work.write(&plan)?;
    let (booked, units) = to_book.book(&app.stamp())?;
    Ok(booked_page(app, job, &rack, &booked, units))
}
