//! The sheets of a plan: maps to zoom and walk over, the breaks one by one, the files, and the booking.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::html::{self, Here, field, hidden, to};
use crate::job::head;
use crate::plan_page::figures;
use crate::plans::{self, Found};
use crate::seen::Seen;
use crate::{deeds, picture};
use axum::http::StatusCode;
use axum::response::Response;
use cullet_job::{PieceId, counted, measure};
use cullet_model::{Layout, Plan};
use cullet_output::{bench, caution, offcut_name, tables};
use cullet_rack::{Count, Rack};
use cullet_workshop::folder::names;
use cullet_workshop::{book, plan as planning};
use maud::{Markup, html};
use serde_json::{Value, json};
use std::fs;
use std::path::PathBuf;
use std::sync::Arc;

fn found(app: &App, seen: &Seen) -> Result<Found, Problem> {
    plans::of(app, seen).ok_or_else(|| Problem::Words("There is no plan of this job yet: plan it first.".into()))
}

fn layout_of(plan: &Plan, number: u32) -> Result<&Layout, Problem> {
    planning::layouts(plan)
        .find(|layout| layout.number == number)
        .ok_or(Problem::NotThere)
}

fn tag(layout: &Layout) -> String {
    match layout.stock.count {
        Count::OnHand(1) => layout.stock.tag.clone(),
        _ => format!("{}.{}", layout.stock.tag, layout.copy),
    }
}

fn address(job: &str, name: &str) -> String {
    to("/file", &[("job", job), ("name", name)])
}

/// All sheets, the files and the booking.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let found = found(app, &seen)?;
    let plan = &found.plan;
    let body = html! {
        (head(app, &seen, &plan.job.name, "sheets"))
        @if !found.is_present { p.note { "The job was changed since this plan was made." } }
        (figures(plan))
        @for line in (tables::ways_text(plan) + &tables::lost_text(plan)).lines() { p.what { (line) } }
        p.caution { (caution::SHARP) "; never try to catch falling glass. " (caution::lift(plan)) }
        ul.sheets {
            @for layout in planning::layouts(plan) {
                li {
                    a href=(to("/sheet", &[("job", &seen.name), ("map", &layout.number.to_string())])) {
                        img src=(address(&seen.name, &names::sheet_map(layout.number.into()))) loading="lazy" alt="";
                        b { "Map " (layout.number) ": " (layout.stock.glass) } br;
                        (tag(layout)) ", " (counted(layout.placements.len(), "piece")) ", " (counted(layout.breaking.steps.len(), "break"))
                        @if !layout.stock.place.is_empty() { br; "place " (layout.stock.place) }
                    }
                }
            }
        }
        @if !plan.unplaced.is_empty() {
            h2 { "Not placed" }
            ul.findings { @for left in &plan.unplaced { li { (left.id.to_string()) ", " (left.count) " of it: " (left.reason) } } }
        }
        (booking(app, &seen, &found))
        (files(&seen, plan))
    };
    Ok(html::page(&format!("{}: sheets", plan.job.name), Here::Jobs, &[], body))
}

fn files(seen: &Seen, plan: &Plan) -> Markup {
    let about = |name: &str| match name {
        "book.html" => "the job book, to print",
        "yield.csv" => "the figures",
        "buy.csv" => "what to order",
        "breaking.csv" => "all breaks as a table",
        "plan.json" => "the plan itself",
        name if name.ends_with("-scores.svg") => "scores of a sheet",
        name if name.ends_with("-breaks.html") => "breaks of a sheet with pictures, to print",
        name if name.ends_with(".ngc") => "for the cutting table, G-code",
        name if name.ends_with(".dxf") => "for the cutting table, DXF",
        _ => "sheet map",
    };
    html! {
        h2 { "Files" }
        p { a.button.quiet href=(address(&seen.name, names::BOOK)) { "Open the job book to print" } }
        details { summary { "All files" }
            ul { @for name in plan.files.keys() {
                li { a href=(address(&seen.name, name)) { (name) } " " a href={ (address(&seen.name, name)) "&keep=yes" } aria-label={ "Download " (name) } { "download" } " – " (about(name)) }
            } }
        }
    }
}

fn booking(app: &App, seen: &Seen, found: &Found) -> Markup {
    let rack = deeds::rack_of(app, &found.plan).map(|path| app.place.name_of(&path));
    let held = || {
        let cut = book::cut(&found.plan)?;
        let path = deeds::rack_of(app, &found.plan)?;
        Rack::open_to_read(&path).ok()?.held_for(&cut).ok()
    };
    let held = held().unwrap_or_default();
    html! {
        h2 { "Booking" }
        @match (&rack, found.is_booked) {
            (None, _) if found.plan.rack.is_none() => { p { "This plan was made from a stock list, so there is nothing to book. With a " a href="/rack" { "rack" } " it would be kept up." } }
            (None, _) => { p { "The rack that this plan was made on is not in this folder." } }
            (Some(rack), true) => {
                p.good { "Cut and booked on " b { (rack) } "." }
                form method="post" action="/book/undo" { (hidden("job", &seen.name)) button.danger { "Undo the booking" } }
            }
            (Some(rack), false) => {
                p { "Once all sheets are cut: what was pulled goes out of " b { (rack) } ", what is kept goes in, at once." }
                form.inline method="post" action="/book" {
                    (hidden("job", &seen.name)) (field("Place of what is kept", "place", "", "where in the rack"))
                    button { "Book it as cut" }
                }
                @if !held.is_empty() {
                    p { "Held for this plan: " (held.join(", ")) }
                    form method="post" action="/book/release" { (hidden("job", &seen.name)) button.quiet { "Let go of the held glass" } }
                }
            }
        }
    }
}

/// A file of the plan, as the plan lists it.
pub(crate) fn file(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let (job, name) = (asked.must("job")?, asked.must("name")?);
    let folder = plans::folder(app, job)?;
    let plan = deeds::plan(&folder.join(names::PLAN))?;
    let is_comparison = names::COMPARISON.contains(&name);
    if !plan.files.contains_key(name) && !is_comparison {
        return Err(Problem::NotThere);
    }
    given(app, &app.place.name_of(&folder), name, asked.get("keep").is_some())
}

/// A file of a folder with the kind that its ending says.
pub(crate) fn given(app: &App, folder: &str, name: &str, keep: bool) -> Result<Response, Problem> {
    let path = app.place.path(&format!("{folder}/{name}"))?;
    let content = cullet_workshop::reading::bytes(&path).map_err(|_| Problem::NotThere)?;
    let kind = match name.rsplit('.').next() {
        Some("svg") => "image/svg+xml",
        Some("html") => "text/html; charset=utf-8",
        Some("csv") => "text/csv; charset=utf-8",
        Some("json") => "application/json",
        _ => "text/plain; charset=utf-8",
    };
    Ok(answer::file(name, kind, keep, content))
}

/// One sheet: its map, and its breaks one by one.
pub(crate) fn sheet(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let number: u32 = asked.must("map")?.parse().map_err(|_| Problem::NotThere)?;
    let found = found(app, &seen)?;
    let plan = &found.plan;
    let layout = layout_of(plan, number)?;
    let count = planning::layouts(plan).count() as u32;
    let other = |number: u32| to("/sheet", &[("job", &seen.name), ("map", &number.to_string())]);
    let bounds = layout.stock.outline.bounds();
    let map = address(&seen.name, &names::sheet_map(number.into()));
    let body = html! {
        (head(app, &seen, &plan.job.name, "sheet"))
        h2 { "Map " (number) " of " (count) ": " (layout.stock.glass) ", " (tag(layout)) }
        p { (measure::size(bounds.width(), bounds.height(), plan.job.units)) @if !layout.stock.place.is_empty() { ", place " (layout.stock.place) }
            ", " (counted(layout.placements.len(), "piece")) ". Seen from the show face." }
        section aria-label="The map" {
            div.buttons { button.quiet type="button" data-zoom="1.4" { "Nearer" } button.quiet type="button" data-zoom="0.714" { "Farther" }
                button.quiet type="button" data-zoom="0" { "Whole" } a.button.quiet href=(to("/sheet/print", &[("job", &seen.name), ("map", &number.to_string())])) { "The map alone, to print" } }
            div.view #view tabindex="0" role="region" aria-label="The map: drag to walk over it, plus and minus to zoom, arrows to move" { img src=(map) alt={ "Sheet map " (number) } draggable="false"; }
        }
        section #breaks data-job=(seen.name) data-map=(number) aria-label="Breaks one by one" {
            h2 { "Break by break" }
            p.caution { (caution::SHARP) "; never try to catch falling glass." }
            p.step #words role="status" aria-live="polite" { "…" }
            svg.hand #hand role="img" aria-label="The part in hand" {}
            p.note { "Bold: the score to open. Shaded: what comes off. White: what stays in hand." }
            div.buttons { button.big.quiet #before type="button" { "◂ Back" } button.big #next type="button" { "Done, next break ▸" }
                a.button.big #after hidden href=(if number < count { other(number + 1) } else { to("/sheets", &[("job", &seen.name)]) }) { @if number < count { "Next sheet: map " (number + 1) " ▸" } @else { "All sheets: book what is cut ▸" } } }
            p #where role="status" {}
            h3 { "Pieces" } ul.ticks #ticks {}
        }
        div.buttons {
            @if number > 1 { a.button.quiet href=(other(number - 1)) { "Map " (number - 1) } }
            @if number < count { a.button.quiet href=(other(number + 1)) { "Map " (number + 1) } }
        }
    };
    Ok(html::page(
        &format!("{}: map {number}", plan.job.name),
        Here::Jobs,
        &["sheet.js"],
        body,
    ))
}

/// The map on a page of its own, as large as the paper.
pub(crate) fn print(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let number: u32 = asked.must("map")?.parse().map_err(|_| Problem::NotThere)?;
    let found = found(app, &seen)?;
    layout_of(&found.plan, number)?;
    let map = address(&seen.name, &names::sheet_map(number.into()));
    let back = to("/sheet", &[("job", &seen.name), ("map", &number.to_string())]);
    let title = format!("{}: map {number}", found.plan.job.name);
    let body = html! {
        h1.tools { (title) }
        div.buttons { button #print type="button" { "Print" } a.button.quiet href=(back) { "Back to the sheet" } a.button.quiet href={ (map) "&keep=yes" } { "Download" } }
        figure.paper { img src=(map) alt={ "Sheet map " (number) }; }
    };
    Ok(html::page(&title, Here::Jobs, &["print.js"], body))
}

/// The breaks of a sheet, as the script draws them.
pub(crate) fn breaks(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let number: u32 = asked.must("map")?.parse().map_err(|_| Problem::NotThere)?;
    let found = found(app, &seen)?;
    let plan = &found.plan;
    let layout = layout_of(plan, number)?;
    let shapes = plans::shapes(plan.pieces.iter().map(|piece| (&piece.id, &piece.cut)));
    let bounds = layout.stock.outline.bounds();
    let largest = bounds.width().max(bounds.height()) / 26.0;
    let pieces: Vec<Value> = layout
        .placements
        .iter()
        .map(|placement| {
            let Some(cut) = shapes.get(&placement.id).map(|cut| cut.posed(&placement.pose)) else { return Value::Null };
            let (at, size) = picture::label(&cut, placement.id.number.chars().count(), largest);
            let name = name(&placement.id, placement.copy, placement.spare);
            json!({"name": name, "number": placement.id.number, "path": picture::path(cut.points(), true), "x": picture::short(at.x), "y": picture::short(-at.y), "size": picture::short(size)})
        })
        .collect();
    let steps: Vec<Value> = bench::breaks(plan, layout)
        .into_iter()
        .map(|one| {
            let (low, high) = one
                .hand
                .iter()
                .fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(low, high), p| {
                    ([low[0].min(p.x), low[1].min(p.y)], [high[0].max(p.x), high[1].max(p.y)])
                });
            let edge = 0.03 * (high[0] - low[0]).max(high[1] - low[1]);
            let view = [
                low[0] - edge,
                -high[1] - edge,
                high[0] - low[0] + 2.0 * edge,
                high[1] - low[1] + 2.0 * edge,
            ]
            .map(picture::short);
            json!({"words": one.words, "hand": picture::path(&one.hand, true), "off": picture::path(&one.off, true),
                   "score": picture::path(&one.score, false), "inside": one.inside, "free": one.free, "view": view})
        })
        .collect();
    let folder = plans::folder(app, &seen.name)?;
    let text = fs::read_to_string(folder.join(names::PLAN)).unwrap_or_default();
    let content = json!({"pieces": pieces, "steps": steps, "plan": deeds::digest(&text)});
    Ok(answer::data(StatusCode::OK, &content))
}

/// A piece as tables and maps name it.
pub(crate) fn name(id: &PieceId, copy: u32, spare: bool) -> String {
    let copy = if copy > 1 { format!(" ({copy})") } else { String::new() };
    format!("{id}{copy}{}", if spare { ", spare" } else { "" })
}

/// The job's plan and its rack.
pub(crate) fn plan_and_rack(app: &App, job: &str) -> Result<(PathBuf, PathBuf, Plan), Problem> {
    let path = plans::folder(app, job)?.join(names::PLAN);
    let plan = deeds::plan(&path)?;
    let rack = deeds::rack_of(app, &plan);
    let rack =
        rack.ok_or_else(|| Problem::Words("The rack that this plan was made on is not in this folder.".into()))?;
    Ok((path, rack, plan))
}

/// Books the plan.
pub(crate) fn book(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let job = asked.must("job")?;
    let (plan, rack, _) = plan_and_rack(app, job)?;
    let (booked, units) = book::book(&plan, &rack, asked.get("place").unwrap_or_default(), &app.stamp())?;
    Ok(booked_page(app, job, &rack, &booked, units))
}

/// What was booked, and the tags to write.
pub(crate) fn booked_page(
    app: &App,
    job: &str,
    rack: &std::path::Path,
    booked: &cullet_rack::Booked,
    units: cullet_job::Units,
) -> Response {
    let back = |sheet: u32| booked.back.iter().filter(move |(of, _)| *of == sheet).enumerate();
    let tags: Vec<&str> = booked.back.iter().map(|(_, item)| item.stock.tag.as_str()).collect();
    let rack = app.place.name_of(rack);
    let body = html! {
        h1 { "Booked as entry " (booked.entry) }
        @if !booked.since.is_empty() { p { "Since the plan was made, " (counted(booked.since.len(), "other thing")) " was done at the rack. None of it keeps this plan from being booked." } }
        div.wide { table { thead { tr { th scope="col" { "Map" } th scope="col" { "Out" } th scope="col" { "Kept: write these tags on the glass" } } }
            tbody { @for (sheet, tag, bought) in &booked.out { tr {
                th scope="row" { (sheet) } td { (tag) @if let Some(line) = bought { ", bought as " (line) } }
                td { @for (n, (_, item)) in back(*sheet) { div { (offcut_name(*sheet, n)) " → " (cullet_output::glass_picture::in_words(item, units)) } } }
            } } } } }
        @if !tags.is_empty() { p { a.button href=(to("/rack/labels", &[("rack", &rack), ("tags", &tags.join(","))])) { "Labels to print" } } }
        p.caution { (caution::SHARP) "." }
        p { a.button.quiet href=(to("/sheets", &[("job", job)])) { "Back to the sheets" } " " a.button.quiet href=(to("/rack", &[("rack", &rack)])) { "To the rack" } }
    };
    html::page("Booked", Here::Jobs, &[], body)
}

/// Takes the booking back.
pub(crate) fn undo(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let job = asked.must("job")?;
    let (plan, rack, _) = plan_and_rack(app, job)?;
    let (cut, _) = book::read_for_its_name(&plan)?;
    let done = book::take_back(&cut, &rack, &app.stamp())?;
    let list = |tags: &[String]| {
        if tags.is_empty() {
            "none".to_owned()
        } else {
            tags.join(", ")
        }
    };
    let body = html! {
        h1 { "Booking undone" }
        p { "On the rack again: " (list(&done.again)) } p { "Tags withdrawn for good: " (list(&done.withdrawn)) }
        p { a.button href=(to("/sheets", &[("job", job)])) { "Back to the sheets" } }
    };
    Ok(html::page("Booking undone", Here::Jobs, &[], body))
}

/// Lets go of held glass.
pub(crate) fn release(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let job = asked.must("job")?;
    let (plan, rack, _) = plan_and_rack(app, job)?;
    let (cut, _) = book::read_for_its_name(&plan)?;
    let mut rack = Rack::open(&rack)?;
    let name = rack.name_of(&cut)?;
    rack.release(&name, &app.stamp())?;
    Ok(answer::go(&to("/sheets", &[("job", job)])))
}
