//! A job on the page: its panels to scale, what is wrong with it, and the changes that are made by touch.

use crate::answer::Problem;
use crate::app::{App, Asked};
use crate::html::{self, Here, choice, field, hidden, to};
use crate::jobs::about;
use crate::seen::Seen;
use crate::{deeds, picture, plans};
use axum::response::Response;
use cullet_job::{CameFile, DrawingFile, JobFile, PanelFile, counted, measure};
use maud::{Markup, html};
use serde_json::Value;
use std::sync::Arc;

/// The job.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let seen = Seen::of(app, asked.must("job")?)?;
    let short = |words: &str| app.place.short(words);
    let is_list = !seen.name.ends_with(".json");
    let title = seen
        .file
        .as_ref()
        .map_or_else(|| seen.name.clone(), |file| file.name.clone());
    let body = html! {
        (head(app, &seen, &title, "job"))
        @if is_list {
            p.note { "This is a piece list. Its pieces are changed in a spreadsheet; to work on it here, start a job from it." }
            form method="post" action="/new" { (hidden("name", &title)) (hidden("file", &seen.name)) button { "Start a job from this list" } }
        } @else { (undo_and_redo(app, &seen)) }
        (told(&seen, &short))
        @match &seen.file {
            Some(file) => {
                @if !is_list { (palette(file)) }
                @for panel in &file.panels { (of_panel(&seen, file, panel, is_list)) }
                @if !is_list { (glasses(&seen, file)) }
            }
            None => { p { "Mend the file where it says above; then look again." } }
        }
    };
    Ok(html::page(&title, Here::Jobs, &["job.js"], body))
}

/// The head of every page of a job: what it is, and the ways to its parts.
pub(crate) fn head(app: &App, seen: &Seen, title: &str, here: &str) -> Markup {
    let has_plan = plans::folder(app, &seen.name).is_ok_and(|folder| folder.join("plan.json").is_file());
    let parts = [
        ("job", "/job", "Panels", true),
        ("plan", "/plan", "Plan", true),
        ("sheets", "/sheets", "Sheets", has_plan),
        ("compare", "/compare", "Choices", true),
        ("broken", "/broken", "A piece broke", has_plan),
    ];
    html! {
        h1 { (title) }
        nav.parts aria-label="Parts of the job" {
            @for (part, path, words, there) in parts {
                @if there { a href=(to(path, &[("job", &seen.name)])) aria-current=[(part == here).then_some("page")] { (words) } }
            }
        }
    }
}

fn undo_and_redo(app: &App, seen: &Seen) -> Markup {
    let (back, forth) = app.undo.count(&seen.name, &seen.text);
    html! {
        div.tools {
            @for (way, words, count) in [("back", "Undo", back), ("forth", "Redo", forth)] {
                form method="post" action="/job/step" { (about(seen)) (hidden("way", way)) button.quiet #(way) disabled[count == 0] { (words) } }
            }
            span #saved role="status" { "Saved in " (seen.name) }
        }
    }
}

/// What is wrong, and what should be looked at.
pub(crate) fn told(seen: &Seen, short: &dyn Fn(&str) -> String) -> Markup {
    html! {
        section #told aria-label="What was found" {
            @if !seen.findings.is_empty() {
                h2 { "To mend: " (counted(seen.findings.len(), "thing")) }
                (html::findings(&seen.findings, false, short))
            }
            @if !seen.warnings.is_empty() {
                details { summary { (counted(seen.warnings.len(), "thing")) " to look at" } (html::findings(&seen.warnings, true, short)) }
            }
        }
    }
}

/// What a touch does: pick pieces, or give them a glass.
fn palette(file: &JobFile) -> Markup {
    html! {
        fieldset.palette #palette {
            legend { "Touch a piece, or draw over several, to" }
            label { input type="radio" name="brush" value="" checked; span { "pick it" } }
            @for glass in &file.glasses {
                label { input type="radio" name="brush" value=(glass.code) data-tint=(picture::tint(file, &glass.code));
                    span { svg.swatch viewBox="0 0 20 20" aria-hidden="true" { rect class={ "g" (picture::tint(file, &glass.code)) } width="20" height="20" {} }
                        "give it " b { (glass.code) } @if glass.name != glass.code { " " (glass.name) } } }
            }
        }
    }
}

fn of_panel(seen: &Seen, file: &JobFile, panel: &PanelFile, is_list: bool) -> Markup {
    let view = seen.panel(panel);
    let raw = raw_panel(seen, &panel.id);
    let drawing = raw
        .as_ref()
        .and_then(|raw| serde_json::from_value::<DrawingFile>(raw["drawing"].clone()).ok());
    let name = if panel.name.is_empty() {
        panel.id.clone()
    } else {
        format!("{}: {}", panel.id, panel.name)
    };
    html! {
        section.panel id={ "panel-" (panel.id) } {
            h2 { "Panel " (name) }
            @match &view {
                Some(view) => {
                    p.what { (counted(view.pieces.len(), "piece")) ", " (measure::size(view.bounds.width(), view.bounds.height(), file.units))
                        @if !view.is_placed { ". The job gives the pieces without their places, so they stand in rows." } }
                    figure.drawing { (picture::panel(view, file, &panel.id)) }
                    @if !view.rings.is_empty() {
                        ol.rings { @for ring in &view.rings { li.warning[!ring.is_error] { (ring.words) span.hint { (ring.hint) } } } }
                    }
                }
                None => { p { "Nothing of this panel can be drawn." } }
            }
            @if !is_list {
                (of_piece(seen, panel, drawing.is_some()))
                (how_many(seen, panel))
                @if let Some(drawing) = &drawing { (leads(seen, panel, drawing)) (another_drawing(seen, panel, drawing)) }
            }
        }
    }
}

/// What the job file itself says of a panel, before its drawing was read.
fn raw_panel(seen: &Seen, id: &str) -> Option<Value> {
    let tree: Value = serde_json::from_str(seen.text.trim_start_matches('\u{feff}')).ok()?;
    tree["panels"]
        .as_array()?
        .iter()
        .find(|panel| panel["id"] == id)
        .cloned()
}

/// The form for the pieces that are picked.
fn of_piece(seen: &Seen, panel: &PanelFile, is_drawn: bool) -> Markup {
    html! {
        form.piece method="post" action="/job/edit" data-panel=(panel.id) hidden {
            (about(seen)) (hidden("what", "piece")) (hidden("panel", &panel.id)) (hidden("numbers", ""))
            h3 { "Picked: " span.picked {} }
            div.fields {
                @if !is_drawn { (field("Number", "number", "", "")) }
                div.turn {
                    label.field { span { "Grain, degrees" } input name="grain" inputmode="decimal" autocomplete="off"; small { "empty: upright, which is 90" } }
                    button.quiet type="button" data-turn="15" aria-label="Turn the grain 15° to the left" { "↺ 15°" }
                    button.quiet type="button" data-turn="-15" aria-label="Turn the grain 15° to the right" { "↻ 15°" }
                }
                (field("Bevel width", "bevel", "", "empty for none"))
                (field("Nose of the bevel", "nose", "", "glass left at the edge"))
                (field("Spares", "spares", "", "cut besides, for each panel"))
                (field("One lot", "lot", "", "pieces with the same word come from one lot"))
            }
            div.buttons {
                button { "Set for the picked pieces" }
                button.quiet formaction="/fits" formmethod="get" { "Find glass that fits" }
            }
        }
    }
}

fn how_many(seen: &Seen, panel: &PanelFile) -> Markup {
    html! {
        form.inline method="post" action="/job/edit" {
            (about(seen)) (hidden("what", "panel")) (hidden("panel", &panel.id))
            label.field.small { span { "Made as drawn" } input name="quantity" type="number" min="0" max="10000" value=(panel.quantity); }
            label.field.small { span { "Made mirrored" } input name="mirrored" type="number" min="0" max="10000" value=(panel.mirrored_quantity); }
            (field("Called", "name", &panel.name, ""))
            button.quiet { "Set" }
        }
    }
}

fn leads(seen: &Seen, panel: &PanelFile, drawing: &DrawingFile) -> Markup {
    let raw = raw_panel(seen, &panel.id).unwrap_or_default();
    let came = |name: &str, file: Option<&CameFile>| {
        // A came of the shop file stands there by its name.
        match (raw["drawing"][name].as_str(), file) {
            (Some(named), _) => (named.to_owned(), String::new()),
            (None, Some(came)) => (came.face.to_string(), came.heart.to_string()),
            (None, None) => (String::new(), String::new()),
        }
    };
    let (face, heart) = came("came", drawing.came.as_ref());
    let (border, border_heart) = came("border", drawing.border.as_ref());
    html! {
        details { summary { "Lead" }
            form.inline method="post" action="/job/edit" {
                (about(seen)) (hidden("what", "lead")) (hidden("panel", &panel.id))
                (field("Came: face, or its name in the shop file", "face", &face, "empty: the usual, 6 mm"))
                (field("Heart", "heart", &heart, ""))
                (field("Border came: face or name", "border", &border, "empty: as the others"))
                (field("Its heart", "border_heart", &border_heart, ""))
                (field("Foil instead: taken on each side", "foil", &drawing.foil.map(|foil| foil.to_string()).unwrap_or_default(), "0.375 mm is usual"))
                button.quiet { "Set the lead" }
            }
        }
    }
}

fn another_drawing(seen: &Seen, panel: &PanelFile, drawing: &DrawingFile) -> Markup {
    html! {
        details.redraw open[!seen.findings.is_empty()] { summary { "Another drawing for this panel" }
            p { "Now: " code { (drawing.file) } ". What was said of its pieces stays, by their numbers." }
            form.redraw method="post" action="/job/redraw" data-panel=(panel.id) {
                (about(seen)) (hidden("panel", &panel.id))
                label.drop { span { b { "Drawing (SVG, DXF)" } " Drop it here, or choose it." } input type="file" accept=".svg,.dxf"; }
                p.told role="status" {}
                button.quiet { "Take this drawing" }
            }
        }
    }
}

/// The glasses that the job file lists itself.
fn glasses(seen: &Seen, file: &JobFile) -> Markup {
    let tree: Value = serde_json::from_str(seen.text.trim_start_matches('\u{feff}')).unwrap_or_default();
    let own: Vec<Value> = tree["glasses"].as_array().cloned().unwrap_or_default();
    html! {
        section aria-label="Glass" {
            h2 { "Glass" }
            @if own.len() < file.glasses.len() { p { "Glasses of the shop file are under " a href="/shop" { "Glass and shop" } "." } }
            @for (k, glass) in own.iter().enumerate() {
                details { summary { (glass["code"].as_str().unwrap_or_default()) ": " (glass["name"].as_str().unwrap_or_default()) }
                    form.glass method="post" action="/job/edit" {
                        (about(seen)) (hidden("what", "glass-file")) (hidden("at", &k.to_string()))
                        (crate::shop::glass_fields(glass, file.units))
                        button.quiet { "Set" }
                    }
                }
            }
            details { summary { "Another glass" }
                form.glass method="post" action="/job/edit" {
                    (about(seen)) (hidden("what", "glass-file")) (hidden("at", &own.len().to_string()))
                    (crate::shop::glass_fields(&Value::Null, file.units))
                    button.quiet { "Add" }
                }
            }
        }
    }
}

/// The stock lists and racks that a job may be cut from, as a choice.
pub(crate) fn glass_from(app: &App, job: &str) -> Markup {
    let sources = deeds::sources(app, job);
    let options: Vec<(String, String)> = sources.iter().map(|source| (source.clone(), source.clone())).collect();
    let first = sources.first().cloned().unwrap_or_default();
    choice("Glass from", "from", &options, &first)
}
