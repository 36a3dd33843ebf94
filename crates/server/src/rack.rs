//! The rack: every sheet and offcut with its picture; found, added, put right, thrown away; labels, history, audit.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::html::{self, Here, choice, field, hidden, to};
use crate::{deeds, jobs};
use axum::response::Response;
use cullet_job::{Units, counted, measure};
use cullet_output::labels::{self, Label, Paper};
use cullet_output::{caution, glass_picture, offcut_name};
use cullet_rack::{
    Count, Face, Lines, Rack, RackItem, Room, Said, Signs, State, StockKind, Which, read_size, write_csv,
};
use cullet_workshop::writing;
use maud::{Markup, html};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::Arc;

/// What a new rack is called.
const NEW: &str = "shop.rack";
/// The most sheets and offcuts on one page.
const MOST_SHOWN: usize = 400;
/// The most entries of the history on one page.
const MOST_ENTRIES: u32 = 200;

/// The rack that is meant: named, or the only or first one of the folder.
pub(crate) fn chosen(app: &App, asked: &Asked) -> Result<PathBuf, Problem> {
    match asked.get("rack") {
        Some(name) => {
            let path = app.place.path(name)?;
            if Rack::is_one(&path) {
                Ok(path)
            } else {
                Err(Problem::NotThere)
            }
        }
        None => deeds::racks(app).into_iter().next().ok_or(Problem::NotThere),
    }
}

/// The list.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let racks = deeds::racks(app);
    if racks.is_empty() {
        return Ok(html::page("Rack", Here::Rack, &[], none_yet(app)));
    }
    let path = chosen(app, asked)?;
    let name = app.place.name_of(&path);
    let mut rack = Rack::open_to_read(&path)?;
    let units = rack.units()?;
    let (glass, size) = (asked.get("glass"), asked.get("size"));
    let gone_too = asked.get("all").is_some();
    let items = match size {
        Some(size) => {
            let bad = || {
                deeds::typed(
                    "Room for",
                    &format!("\"{size}\""),
                    "two sizes with an x between them",
                    "Write 300x200.",
                )
            };
            let (width, height) = read_size(size, units.mm()).ok_or_else(bad)?;
            rack.find(&Room {
                glass,
                width,
                height,
                most: MOST_SHOWN,
            })?
        }
        None => rack.list(&Which { glass, gone_too })?,
    };
    let codes = deeds::glasses_of(&mut rack);
    let mut options = vec![(String::new(), "every glass".to_owned())];
    options.extend(codes.iter().map(|code| (code.clone(), code.clone())));
    let at = |path: &str| to(path, &[("rack", &name)]);
    let body = html! {
        h1 { "Rack " (name) }
        @if racks.len() > 1 { p { "Others: " @for other in &racks { @let other = app.place.name_of(other); @if other != name { a href=(to("/rack", &[("rack", &other)])) { (other) } " " } } } }
        form.inline method="get" action="/rack" role="search" {
            (hidden("rack", &name)) (choice("Glass", "glass", &options, glass.unwrap_or_default()))
            (field(&format!("Room for, {}", units.code()), "size", size.unwrap_or_default(), "300x200"))
            label.tick { input type="checkbox" name="all" value="yes" checked[gone_too]; "What is gone too" }
            button.quiet { "Find" }
        }
        div.buttons {
            a.button href={ (at("/rack/photo")) } { "An offcut from a photo" }
            a.button.quiet href=(at("/rack/labels")) { "Labels" } a.button.quiet href=(at("/rack/history")) { "History" }
            a.button.quiet href=(at("/rack/audit")) { "Audit" }
            a.button.quiet href=(at("/rack/list")) { "As a stock list" } a.button.quiet href=(at("/rack/copy")) { "A copy to keep" }
        }
        details { summary { "Add glass" } (add_form(&name, units, &known_glasses(app, &codes))) }
        details { summary { "Read in " (if units == Units::Inches { "inches" } else { "millimetres" }) }
            form.inline method="post" action="/rack/units" { (hidden("rack", &name))
                (choice("Lists and labels in", "units", &[("mm".into(), "millimetres".into()), ("in".into(), "inches".into())], units.code())) button.quiet { "Set" } }
        }
        p.what { (counted(items.len(), "sheet or offcut")) @if items.len() > MOST_SHOWN { ", the first " (MOST_SHOWN) " shown: choose a glass or a size" } }
        div.wide tabindex="0" role="region" aria-label="Glass on the rack" { table.glasses role="table" {
            thead { tr { th scope="col" { "Picture" } th scope="col" { "Tag" } th scope="col" { "Glass" } th scope="col" { "State" } th scope="col" { "Size" } th scope="col" { "Clear" } th scope="col" { "Place" } th scope="col" { "Lot" } } }
            tbody { @for item in items.iter().take(MOST_SHOWN) { (row(&name, item, units)) } }
        } }
    };
    Ok(html::page("Rack", Here::Rack, &[], body))
}

fn state(item: &RackItem) -> String {
    match &item.held_for {
        Some(plan) => format!("held for {plan}"),
        None => item.state.word().to_owned(),
    }
}

fn row(rack: &str, item: &RackItem, units: Units) -> Markup {
    let stock = &item.stock;
    let bounds = stock.outline.bounds();
    let at = [("rack", rack), ("tag", stock.tag.as_str())];
    html! {
        tr {
            td { img src=(to("/rack/picture", &at)) loading="lazy" alt=""; }
            th scope="row" { a.tap href=(to("/rack/item", &at)) { (stock.tag) } }
            td { (stock.glass) } td { (state(item)) }
            td.size data-what="Size" { (measure::down_size(bounds.width(), bounds.height(), units)) }
            td.size data-what="Clear" { (measure::down_size(item.clear.0, item.clear.1, units)) }
            td data-what="Place" { (stock.place) } td data-what="Lot" { (stock.lot.as_deref().unwrap_or_default()) }
        }
    }
}

fn none_yet(app: &App) -> Markup {
    let lists: Vec<String> = app
        .place
        .files()
        .iter()
        .map(|path| app.place.name_of(path))
        .filter(|name| name.ends_with(".csv"))
        .take(200)
        .filter(|name| app.place.path(name).is_ok_and(|path| deeds::looks_like_stock(&path)))
        .collect();
    html! {
        h1 { "Rack" }
        p { "What glass is there? On the rack every sheet and offcut has a tag of its own; plans take glass from it, and it is kept up as glass is cut. There is none in this folder yet." }
        @if !lists.is_empty() {
            section { h2 { "Take over a stock list that lies here" }
                form.inline method="post" action="/rack/import" {
                    (choice("Stock list", "list", &lists.iter().map(|name| (name.clone(), name.clone())).collect::<Vec<_>>(), ""))
                    button { "Make a rack of it" }
                }
            }
        }
        section { h2 { "Or begin with the first sheet or offcut" } (add_form("", Units::Millimetres, &known_glasses(app, &[]))) }
    }
}

/// Codes that jobs, the shop file or the rack have, each with what is known of it.
fn known_glasses(app: &App, codes: &[String]) -> BTreeMap<String, String> {
    let mut known = jobs::glasses(app).names;
    for code in codes {
        known.entry(code.clone()).or_default();
    }
    known
}

fn add_form(rack: &str, units: Units, glasses: &BTreeMap<String, String>) -> Markup {
    html! {
        form method="post" action="/rack/add" {
            (hidden("rack", rack)) (hidden("units", units.code()))
            div.fields {
                (choice("What", "kind", &[("offcut".into(), "offcut".into()), ("sheet".into(), "sheet".into())], "offcut"))
                label.field { span { "Glass" } input name="glass" required list="codes" autocomplete="off"; datalist #codes { @for (code, name) in glasses { option value=(code) { (name) } } }
                    small { @if glasses.is_empty() { "its code, as the jobs will have it" } @else { "its code: " (glasses.keys().take(12).cloned().collect::<Vec<_>>().join(", ")) } } }
                (field("Tag", "tag", "", "empty: a new one"))
                (field(&format!("Width, {}", units.code()), "width", "", "")) (field(&format!("Height, {}", units.code()), "height", "", ""))
                (field("How many", "count", "1", "or the word buy: to be bought when a plan wants it"))
                (field("Place", "place", "", "")) (field("Lot", "lot", "", ""))
            }
            details { summary { "More: no rectangle, flaws, grain, price" }
                div.fields {
                    (field("Its corners, instead of width and height", "outline", "", "0 0; 420 0; 420 260; 0 330"))
                    (field("Flaws", "flaws", "", "x y radius of each, with | between them"))
                    (field("Grain, degrees", "grain", "", "empty: upright, which is 90")) (field("Price of one", "price", "", "empty: by the area"))
                }
            }
            button { "Add" }
        }
    }
}

const COLUMNS: [&str; 12] = [
    "glass",
    "units",
    "width",
    "height",
    "outline",
    "grain",
    "lot",
    "place",
    "flaws",
    "price",
    "scored_face",
    "source",
];

/// What the form says, by the columns of the stock list.
fn said<'a>(asked: &'a Asked, also: &[&'static str]) -> Vec<(&'a str, &'a str)> {
    let names = COLUMNS.iter().chain(also);
    names.filter_map(|name| Some((*name, asked.get(name)?))).collect()
}

/// Adds glass; by a form, or by the page of the photo.
pub(crate) fn add(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = match asked.get("rack") {
        Some(_) => chosen(app, asked)?,
        None => app.place.path(NEW)?,
    };
    let said = said(asked, &["kind", "tag", "count"]);
    let said: &Said<'_> = &said;
    let putting = writing::in_place();
    let tags = Rack::add_into(&path, said, &app.stamp());
    drop(putting);
    let tags = tags?;
    let name = app.place.name_of(&path);
    Ok(answer::go(&match tags.as_slice() {
        [tag] => to("/rack/item", &[("rack", &name), ("tag", tag)]),
        _ => to("/rack", &[("rack", &name)]),
    }))
}

/// Makes a rack of a stock list.
pub(crate) fn import(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let list = app.place.path(asked.must("list")?)?;
    let text = deeds::text(&list)?;
    let lines = Lines::read_csv(&list.display().to_string(), &text)?;
    let path = list.parent().unwrap_or(app.place.root()).join(NEW);
    let putting = writing::in_place();
    let done = Rack::import_into(&path, &lines, &app.stamp());
    drop(putting);
    done?;
    Ok(answer::go(&to("/rack", &[("rack", &app.place.name_of(&path))])))
}

/// Whether the jobs here have glasses, and surely not this one.
fn is_unknown(app: &App, code: &str) -> bool {
    let known = jobs::glasses(app);
    known.is_all && !known.names.is_empty() && !known.names.contains_key(code)
}

/// One sheet or offcut.
pub(crate) fn item(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    let name = app.place.name_of(&path);
    let tag = asked.must("tag")?;
    let mut rack = Rack::open_to_read(&path)?;
    let item = rack.get(tag)?;
    let units = rack.units()?;
    let history = rack.history(Some(tag), MOST_ENTRIES)?;
    let at = [("rack", name.as_str()), ("tag", tag)];
    let is_there = matches!(item.state, State::OnRack | State::ToBuy);
    let stock = &item.stock;
    let length = |mm: f64| measure::exact(mm, 1, units);
    let bounds = stock.outline.bounds();
    let body = html! {
        h1 { (tag) ", " (stock.glass) }
        p { a href=(to("/rack", &[("rack", &name)])) { "Rack " (name) } }
        figure.drawing { img.glass src=(to("/rack/picture", &at)) alt={ (glass_picture::in_words(&item, units)) }; }
        @if is_there && is_unknown(app, &stock.glass) {
            p.note { b { "To look at: " } "no job here and no shop file has a glass " (stock.glass) ", so no plan will take it. If another code is meant, change it below." }
        }
        p { (state(&item)) @if stock.count == Count::ToBuy { ", to buy" } ". Grain " (stock.grain_deg) "°"
            @if let Some(face) = item.scored_face { ", scored on the " (face.word()) " face" } @if let Some(price) = stock.price { ", price " (price) } "." }
        @if is_there {
            p { a.button.quiet href=(to("/rack/labels", &[("rack", &name), ("tags", tag)])) { "Its label" } }
            details { summary { "Change" }
                form method="post" action="/rack/correct" {
                    (hidden("rack", &name)) (hidden("tag", tag)) (hidden("units", units.code()))
                    p.note { "What is left empty stays as it is." }
                    div.fields {
                        (field("Glass", "glass", "", &stock.glass)) (field(&format!("Width, {}", units.code()), "width", "", &length(bounds.width())))
                        (field(&format!("Height, {}", units.code()), "height", "", &length(bounds.height()))) (field("Or its corners", "outline", "", ""))
                        (field("Place", "place", "", &stock.place)) (field("Lot", "lot", "", stock.lot.as_deref().unwrap_or_default()))
                        (field("Grain, degrees", "grain", "", &stock.grain_deg.to_string())) (field("Flaws", "flaws", "", &counted(stock.flaws.len(), "flaw")))
                        (field("Price of one", "price", "", ""))
                        (choice("Scored face", "scored_face", &[(String::new(), "as it is".into()), ("show".into(), Face::Show.word().into()), ("back".into(), Face::Back.word().into())], ""))
                    }
                    button { "Change it" }
                }
            }
            details { summary { "Throw away" }
                form.inline method="post" action="/rack/throw-away" { (hidden("rack", &name)) (hidden("tag", tag)) (field("Why", "why", "", "broken, lost, not worth its place")) button.danger { "Throw " (tag) " away" } }
                p { (caution::SHARP) "." }
            }
        }
        h2 { "History" }
        ul { @for entry in &history { li { (entry.at) " " (entry.kind) @if !entry.note.is_empty() { ", " (entry.note) } @if !entry.who.is_empty() { ", by " (entry.who) } @for (_, what) in &entry.glass { ": " (what) } } } }
    };
    Ok(html::page(tag, Here::Rack, &[], body))
}

/// Its picture.
pub(crate) fn picture(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let mut rack = Rack::open_to_read(&chosen(app, asked)?)?;
    let item = rack.get(asked.must("tag")?)?;
    let units = rack.units()?;
    Ok(answer::own("image/svg+xml", glass_picture::draw(&item, units)))
}

pub(crate) fn correct(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    let tag = asked.must("tag")?;
    let said = said(asked, &[]);
    // The unit alone says nothing.
    if said.iter().any(|(name, _)| *name != "units") {
        Rack::open(&path)?.correct(tag, &said, &app.stamp())?;
    }
    Ok(answer::go(&to(
        "/rack/item",
        &[("rack", &app.place.name_of(&path)), ("tag", tag)],
    )))
}

pub(crate) fn throw_away(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    Rack::open(&path)?.throw_away(
        &[asked.must("tag")?],
        asked.get("why").unwrap_or_default(),
        &app.stamp(),
    )?;
    Ok(answer::go(&to("/rack", &[("rack", &app.place.name_of(&path))])))
}

/// Labels to print: of the tags named, or of all offcuts.
pub(crate) fn labels(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    let mut rack = Rack::open_to_read(&path)?;
    let items: Vec<RackItem> = match asked.get("tags") {
        Some(tags) => tags.split(',').map(|tag| rack.get(tag)).collect::<Result<_, _>>()?,
        None => {
            let is_offcut = |item: &RackItem| item.stock.kind == StockKind::Offcut && item.state == State::OnRack;
            rack.list(&Which::default())?.into_iter().filter(is_offcut).collect()
        }
    };
    let paper = if asked.get("paper") == Some("letter") {
        Paper::Letter
    } else {
        Paper::A4
    };
    let mut made = vec![];
    for item in items {
        let keep = rack
            .kept_as(&item.stock.tag)?
            .map(|(sheet, n)| format!("keep {}", offcut_name(sheet, n)));
        made.push(Label { item, keep });
    }
    let page = labels::sheet(&made, rack.units()?, paper);
    let page = page.map_err(|labels::LabelError::TagTooLong { tag, found }| {
        deeds::typed(
            &format!("tag {tag}"),
            &format!("{found} bytes"),
            "a tag that a QR code can hold",
            "Name the tags that do fit.",
        )
    })?;
    Ok(answer::file(
        "labels.html",
        "text/html; charset=utf-8",
        false,
        page.into_bytes(),
    ))
}

pub(crate) fn history(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    let name = app.place.name_of(&path);
    let mut entries = Rack::open_to_read(&path)?.history(None, MOST_ENTRIES)?;
    entries.reverse();
    let body = html! {
        h1 { "History of " (name) } p { a href=(to("/rack", &[("rack", &name)])) { "Back to the rack" } }
        ol reversed start=(entries.first().map_or(0, |entry| entry.number)) {
            @for entry in &entries { li value=(entry.number) { (entry.at) " " b { (entry.kind) } @if !entry.note.is_empty() { ", " (entry.note) } @if !entry.who.is_empty() { ", by " (entry.who) }
                @if !entry.glass.is_empty() { details { summary { (counted(entry.glass.len(), "sheet or offcut")) } ul { @for (tag, what) in &entry.glass { li { (tag) ": " (what) } } } } } } }
        }
    };
    Ok(html::page("History", Here::Rack, &[], body))
}

pub(crate) fn audit(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    let name = app.place.name_of(&path);
    let mut rack = Rack::open_to_read(&path)?;
    let audit = rack.audit()?;
    let units = rack.units().unwrap_or_default();
    let areas = [
        ("received", audit.came_in),
        ("on the rack", audit.on_rack),
        ("used", audit.used),
        ("cullet", audit.cullet),
        ("thrown away", audit.thrown_away),
    ];
    let body = html! {
        h1 { "Audit of " (name) } p { a href=(to("/rack", &[("rack", &name)])) { "Back to the rack" } }
        @if audit.faults.is_empty() { p.good role="status" { "The rack adds up." } } @else { ul.findings role="alert" { @for fault in &audit.faults { li { (app.place.short(fault)) } } } }
        div.wide { table { tbody { @for (what, area) in areas { tr { th scope="row" { (what) } td.n { (measure::area(area, units)) } } } } } }
        p { (counted(audit.count as usize, "sheet or offcut")) " on the rack, " (audit.held) " of them held." }
    };
    Ok(html::page("Audit", Here::Rack, &[], body))
}

/// The unit in which people read it.
pub(crate) fn units(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = chosen(app, asked)?;
    let units = if asked.get("units") == Some("in") {
        Units::Inches
    } else {
        Units::Millimetres
    };
    Rack::open(&path)?.set_units(units)?;
    Ok(answer::go(&to("/rack", &[("rack", &app.place.name_of(&path))])))
}

/// What is on it as a stock list, to download.
pub(crate) fn list(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let items = Rack::open_to_read(&chosen(app, asked)?)?.list(&Which::default())?;
    let text = write_csv(&items, Signs::Points);
    Ok(answer::file(
        "stock.csv",
        "text/csv; charset=utf-8",
        true,
        text.into_bytes(),
    ))
}

/// A whole copy of the file, to download.
pub(crate) fn copy(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let bytes = Rack::open_to_read(&chosen(app, asked)?)?.copy()?;
    Ok(answer::file("copy.rack", "application/octet-stream", true, bytes))
}
