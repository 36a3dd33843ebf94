//! The frame of every page, and what pages are made of.

use crate::answer::{self, Problem, encoded};
use axum::http::StatusCode;
use axum::response::Response;
use cullet_job::Finding;
use maud::{DOCTYPE, Markup, html};

/// Which of the places in the head of the page is the present one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Here {
    Jobs,
    Rack,
    Shop,
    Nowhere,
}

/// A page: its title, where it belongs, what is on it, and the scripts that move things on it.
pub(crate) fn page(title: &str, here: Here, scripts: &[&str], body: Markup) -> Response {
    answer::page(StatusCode::OK, frame(title, here, scripts, body))
}

pub(crate) fn frame(title: &str, here: Here, scripts: &[&str], body: Markup) -> Markup {
    let places = [
        ("/", "Jobs", Here::Jobs),
        ("/rack", "Rack", Here::Rack),
        ("/shop", "Glass and shop", Here::Shop),
    ];
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · Cullet" }
                link rel="stylesheet" href="/assets/page.css";
                link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                @for script in scripts { script type="module" src={ "/assets/" (script) } {} }
            }
            body {
                a.skip href="#main" { "To the content" }
                header.top {
                    span.name { "Cullet" }
                    nav aria-label="Places" {
                        @for (to, words, place) in places {
                            @if place == here { a href=(to) aria-current="page" { (words) } } @else { a href=(to) { (words) } }
                        }
                    }
                }
                main #main tabindex="-1" { (body) }
            }
        }
    }
}

/// Why something was not done, as a page of its own, with a way back.
pub(crate) fn problem(problem: &Problem, back: Option<&str>, short: &dyn Fn(&str) -> String) -> Response {
    let title = match problem {
        Problem::NotThere => "Nothing there",
        Problem::Changed(_) => "Changed meanwhile",
        Problem::Findings(_) | Problem::Words(_) => "Not done",
    };
    let body = html! {
        h1 { (title) }
        (lines(problem, short))
        div.buttons { @if let Some(back) = back { a.button href=(back) { "Back" } } a.button.quiet href="/" { "To the jobs" } }
    };
    answer::page(problem.status(), frame(title, Here::Nowhere, &[], body))
}

/// What is wrong, a line each.
pub(crate) fn lines(problem: &Problem, short: &dyn Fn(&str) -> String) -> Markup {
    html! {
        ul.findings role="alert" {
            @for (what, hint) in problem.lines() {
                li { (short(&what)) @if !hint.is_empty() { span.hint { (short(&hint)) } } }
            }
        }
    }
}

/// Findings as a list; warnings as such.
pub(crate) fn findings(found: &[Finding], is_warning: bool, short: &dyn Fn(&str) -> String) -> Markup {
    html! {
        ul.findings.warning[is_warning] {
            @for finding in found {
                @let (what, hint) = answer::in_words(finding);
                li { @if is_warning { b { "To look at: " } } (short(&what)) @if !hint.is_empty() { span.hint { (short(&hint)) } } }
            }
        }
    }
}

/// A field to type in, with its name.
pub(crate) fn field(label: &str, name: &str, value: &str, note: &str) -> Markup {
    html! {
        label.field { span { (label) } input name=(name) value=(value) autocomplete="off"; @if !note.is_empty() { small { (note) } } }
    }
}

/// The same of something that must be said.
pub(crate) fn needed(label: &str, name: &str, value: &str, note: &str) -> Markup {
    html! {
        label.field { span { (label) } input name=(name) value=(value) required autocomplete="off"; @if !note.is_empty() { small { (note) } } }
    }
}

/// One of several.
pub(crate) fn choice(label: &str, name: &str, options: &[(String, String)], chosen: &str) -> Markup {
    html! {
        label.field { span { (label) }
            select name=(name) {
                @for (value, words) in options { option value=(value) selected[value == chosen] { (words) } }
            }
        }
    }
}

/// A field that is not seen.
pub(crate) fn hidden(name: &str, value: &str) -> Markup {
    html! { input type="hidden" name=(name) value=(value); }
}

/// An address of ours with its fields.
pub(crate) fn to(path: &str, fields: &[(&str, &str)]) -> String {
    let fields: Vec<String> = fields
        .iter()
        .map(|(name, value)| format!("{name}={}", encoded(value)))
        .collect();
    if fields.is_empty() {
        path.to_owned()
    } else {
        format!("{path}?{}", fields.join("&"))
    }
}
