//! An offcut from a photo: marks of known place are touched in the picture, then the offcut's corners. The picture stays in the browser;
//! only what was touched comes here.

use crate::answer::{self, Problem};
use crate::app::{App, Asked};
use crate::change::number;
use crate::homography::{LEAST_MARKS, Pair, View, lowered};
use crate::html::{self, Here, choice, field, hidden, to};
use crate::picture::{path, short, view_box};
use crate::{deeds, rack};
use axum::http::StatusCode;
use axum::response::Response;
use cullet_geometry::{Outline, Point, offset};
use cullet_output::caution;
use cullet_rack::Rack;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::{Value, json};
use std::sync::Arc;

/// By how much what is measured is made smaller all round where nothing else is said, mm: what a phone's picture is good for.
const MARGIN: f64 = 3.0;
/// Marks stand so far from the paper's edge, mm.
const INSET: f64 = 14.0;
/// The most corners and marks.
const MOST_POINTS: usize = 500;

/// A way of laying printed sheets: its name, what it is called, size of a sheet, sheets across and up.
const LAID: [(&str, &str, Pair, usize, usize); 4] = [
    ("a4", "one sheet of A4", [210.0, 297.0], 1, 1),
    ("letter", "one sheet of Letter", [215.9, 279.4], 1, 1),
    (
        "a4x4",
        "four sheets of A4, edge to edge, two by two",
        [210.0, 297.0],
        2,
        2,
    ),
    (
        "letterx4",
        "four sheets of Letter, edge to edge, two by two",
        [215.9, 279.4],
        2,
        2,
    ),
];

/// Marks of a way of laying sheets, mm from the lower left: the ring along the outer edges.
fn marks(size: Pair, across: usize, up: usize) -> Vec<Pair> {
    let (w, h) = (size[0] * across as f64, size[1] * up as f64);
    let along = |length: f64, count: usize| -> Vec<f64> {
        let inner = (0..count).map(|k| length * (k as f64 + 0.5) / count as f64);
        std::iter::once(INSET).chain(inner).chain([length - INSET]).collect()
    };
    let (xs, ys) = (along(w, across), along(h, up));
    let inside = &ys[1..ys.len() - 1];
    let mut ring: Vec<Pair> = xs.iter().map(|x| [*x, h - INSET]).collect();
    ring.extend(inside.iter().rev().map(|y| [w - INSET, *y]));
    ring.extend(xs.iter().rev().map(|x| [*x, INSET]));
    ring.extend(inside.iter().map(|y| [INSET, *y]));
    ring
}

/// The page: choose a picture, touch marks and corners, see what it comes to, add it.
pub(crate) fn page(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let path = rack::chosen(app, asked)?;
    let name = app.place.name_of(&path);
    let codes = deeds::glasses_of(&mut Rack::open_to_read(&path)?);
    let laid: Vec<(String, String)> = LAID
        .iter()
        .map(|(name, words, ..)| ((*name).to_owned(), (*words).to_owned()))
        .collect();
    let places: Value = LAID
        .iter()
        .map(|(name, _, size, across, up)| ((*name).to_owned(), json!(marks(*size, *across, *up))))
        .collect::<serde_json::Map<_, _>>()
        .into();
    let body = html! {
        h1 { "An offcut from a photo" }
        p { a href=(to("/rack", &[("rack", &name)])) { "Rack " (name) } }
        ol.how {
            li { "Print the marks at 100 % and lay them flat, four sheets edge to edge for a large offcut. " span.buttons { @for (name, words, ..) in LAID { a.button.quiet href=(to("/rack/marks", &[("laid", name)])) { "Marks: " (words) } } } }
            li { "Lay the offcut among the marks. Photograph it from straight above, a metre or more away, all marks in the picture." }
            li { "Choose the photo here. Touch each mark at the middle of its cross, then the corners of the offcut in turn; along a curve touch more points." }
        }
        form #setup data-marks=(places) {
            (choice("Marks", "laid", &laid, "a4"))
            label.field { span { "Or marks of your own, mm from one corner: x y; x y; …" } input name="own" placeholder="0 0; 600 0; 600 400; 0 400; 300 0; 300 400" autocomplete="off"; }
            label.drop { span { b { "The photo" } " It stays in this browser." } input type="file" accept="image/*" #photo; }
        }
        section #work hidden aria-label="The photo" {
            p.step #ask role="status" aria-live="polite" {}
            canvas.photo #picture tabindex="0" aria-label="The photo: touch, or move the last point with the arrow keys" {}
            div.buttons {
                button.quiet #back type="button" { "Take the last point back" } button.quiet #skip type="button" { "This mark is not to be seen" }
                button.quiet #corners type="button" { "On to the corners" } button.quiet #check type="button" { "Measure a length" }
            }
            p.note { "The loupe shows the last point: move it with the arrow keys or these." }
            div.loupe { canvas #loupe width="220" height="220" aria-hidden="true" {}
                div.buttons { @for (words, x, y) in [("◂", -1, 0), ("▸", 1, 0), ("▴", 0, -1), ("▾", 0, 1)] { button.quiet type="button" data-x=(x) data-y=(y) aria-label={ "Move the last point " (words) } { (words) } } } }
        }
        form #settings.inline {
            (field("Thickness of the glass, mm", "thickness", "3", "0 where you touch its lower edge"))
            (field("Height of the lens, mm", "height", "1000", "about"))
            (field("Made smaller all round by, mm", "margin", &MARGIN.to_string(), ""))
        }
        section #result hidden aria-label="What it comes to" {
            h2 { "What it comes to" }
            p #residual role="status" {} p #length {}
            svg.outline #shape role="img" aria-label="The offcut as measured" {}
            form method="post" action="/rack/add" {
                (hidden("rack", &name)) (hidden("units", "mm")) (hidden("kind", "offcut")) (hidden("outline", ""))
                div.fields {
                    label.field { span { "Glass" } input name="glass" required list="codes" autocomplete="off"; datalist #codes { @for code in &codes { option value=(code) {} } } }
                    (field("Tag", "tag", "", "empty: a new one")) (field("Place", "place", "", "")) (field("Lot", "lot", "", ""))
                    (field("Grain, degrees", "grain", "", "empty: 90, upwards in the photo's marks"))
                }
                button { "Add it to the rack" }
            }
        }
        p.caution { (caution::SHARP) "." }
    };
    Ok(html::page("An offcut from a photo", Here::Rack, &["photo.js"], body))
}

/// The marks to print: one page a sheet, true size.
pub(crate) fn sheets(_: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    let found = LAID.iter().find(|(name, ..)| Some(*name) == asked.get("laid"));
    let (_, words, size, across, up) = found.ok_or(Problem::NotThere)?;
    let all = marks(*size, *across, *up);
    let page = html! {
        (DOCTYPE)
        html lang="en" { head { meta charset="utf-8"; title { "Marks" }
            style { (PreEscaped(format!("@page{{size:{}mm {}mm;margin:0}}body{{margin:0;font-family:sans-serif}}svg{{display:block;break-after:page}}", size[0], size[1]))) } }
            body { @for row in (0..*up).rev() { @for column in 0..*across { (one_page(*size, (column, row), &all, words, across * up)) } } } }
    };
    Ok(answer::file(
        "marks.html",
        "text/html; charset=utf-8",
        false,
        page.into_string().into_bytes(),
    ))
}

fn one_page(size: Pair, (column, row): (usize, usize), all: &[Pair], words: &str, pages: usize) -> Markup {
    let (left, low) = (size[0] * column as f64, size[1] * row as f64);
    let own = all
        .iter()
        .enumerate()
        .filter(|(_, [x, y])| (left..left + size[0]).contains(x) && (low..low + size[1]).contains(y));
    html! {
        svg xmlns="http://www.w3.org/2000/svg" width={ (size[0]) "mm" } height={ (size[1]) "mm" } viewBox=(format!("0 0 {} {}", size[0], size[1])) {
            @for (k, [x, y]) in own {
                @let (x, y) = (x - left, size[1] - (y - low));
                path d=(format!("M{} {}h12M{} {}v12", short(x - 6.0), short(y), short(x), short(y - 6.0))) stroke="#000" stroke-width="0.35" fill="none" {}
                circle cx=(short(x)) cy=(short(y)) r="4" fill="none" stroke="#000" stroke-width="0.35" {}
                text x=(short(x + if x > size[0] / 2.0 { -9.0 } else { 5.0 })) y=(short(y + if y > size[1] / 2.0 { -6.0 } else { 9.0 })) font-size="5" { (k + 1) }
            }
            text x="30" y=(short(size[1] / 2.0)) font-size="4" { "Cullet: marks, " (words) @if pages > 1 { ", " (if row > 0 { "upper" } else { "lower" }) " " (if column > 0 { "right" } else { "left" }) } ". Print at 100 %." }
            path d=(format!("M30 {}h100m0 -2v4m-100 -4v4", short(size[1] / 2.0 + 8.0))) stroke="#000" stroke-width="0.35" fill="none" {}
            text x="62" y=(short(size[1] / 2.0 + 13.0)) font-size="4" { "100 mm: check with a rule" }
        }
    }
}

/// Numbers in rows: `a b; a b`.
fn rows(text: &str, width: usize) -> Result<Vec<Vec<f64>>, Problem> {
    let bad = || {
        deeds::typed(
            "photo",
            "points that are no numbers",
            "marks and corners as the page sends them",
            "Touch them again.",
        )
    };
    let row = |row: &str| -> Option<Vec<f64>> {
        let numbers: Option<Vec<f64>> = row
            .split_whitespace()
            .map(|word| word.parse().ok().filter(|n: &f64| n.is_finite() && n.abs() < 1e6))
            .collect();
        numbers.filter(|numbers| numbers.len() == width)
    };
    let rows: Option<Vec<Vec<f64>>> = text.split(';').filter(|row| !row.trim().is_empty()).map(row).collect();
    rows.filter(|rows| rows.len() <= MOST_POINTS).ok_or_else(bad)
}

/// What the touched points come to.
pub(crate) fn measure(app: &Arc<App>, asked: &Asked) -> Result<Response, Problem> {
    Ok(match measured(asked) {
        Ok(found) => answer::data(StatusCode::OK, &found),
        Err(problem) => {
            let lines: Vec<String> = problem
                .lines()
                .into_iter()
                .map(|(what, hint)| app.place.short(&format!("{what} {hint}")))
                .collect();
            answer::data(problem.status(), &json!({"problem": lines}))
        }
    })
}

fn words(words: &str) -> Problem {
    Problem::Words(words.to_owned())
}

/// What the touched marks say of the picture.
fn view_of(asked: &Asked) -> Result<View, Problem> {
    let marks = rows(asked.must("marks")?, 4)?;
    let marks: Vec<(Pair, Pair)> = marks.iter().map(|r| ([r[0], r[1]], [r[2], r[3]])).collect();
    let size = rows(asked.must("size")?, 2)?;
    let size = size.first().map(|r| [r[0], r[1]]).ok_or(Problem::NotThere)?;
    if marks.len() < LEAST_MARKS {
        return Err(Problem::Words(format!(
            "Touch at least {LEAST_MARKS} marks: fewer leave nothing to judge the measuring by."
        )));
    }
    View::through(&marks, size).ok_or_else(|| words("These marks lie in one line or on each other: touch them again."))
}

fn measured(asked: &Asked) -> Result<Value, Problem> {
    let view = view_of(asked)?;
    let get = |name: &str, usual: f64| asked.get(name).map_or(Ok(usual), |word| number(word, name));
    let (thickness, height, margin) = (get("thickness", 0.0)?, get("height", 1000.0)?, get("margin", MARGIN)?);
    if !(0.0..=60.0).contains(&thickness) || !(100.0..=20_000.0).contains(&height) || !(0.0..=100.0).contains(&margin) {
        return Err(words(
            "Thickness is 0 to 60 mm, the lens 100 to 20000 mm up, the margin 0 to 100 mm.",
        ));
    }
    let under = view
        .middle()
        .ok_or_else(|| words("The middle of the photo shows no table: take it from straight above."))?;
    let places = |name: &str| -> Result<Vec<Pair>, Problem> {
        let touched = rows(asked.get(name).unwrap_or_default(), 2)?;
        let seen = touched.iter().map(|r| view.at([r[0], r[1]]));
        let places: Option<Vec<Pair>> = seen
            .map(|seen| Some(lowered(seen?, under, thickness, height)))
            .collect();
        places.ok_or_else(|| words("A point lies beyond the table: touch it again."))
    };
    let length = match places("length")?.as_slice() {
        [a, b] => {
            let length = (a[0] - b[0]).hypot(a[1] - b[1]);
            Some(format!("That is {length:.1} mm: compare it with a rule."))
        }
        _ => None,
    };
    let mut told = json!({
        "residual": format!(
            "The marks lie {:.2} mm from where they belong, {:.2} mm at worst. Expect corners within {:.1} mm.",
            view.residual, view.worst, 3.5 * view.spread + 0.1
        ),
        "good": view.spread < 1.0, "length": length,
    });
    let corners = places("corners")?;
    if corners.len() >= 3 {
        shape(&corners, margin, &mut told)?;
    }
    Ok(told)
}

/// The offcut that the corners make, smaller by the margin: its outline for the rack, its size, its picture.
fn shape(corners: &[Pair], margin: f64, told: &mut Value) -> Result<(), Problem> {
    let outline = Outline::new(corners.iter().map(|[x, y]| Point { x: *x, y: *y }).collect());
    let crossed = "The corners cross each other: touch them again, one after the other round the offcut.";
    let outline = outline.map_err(|_| words(crossed))?;
    let smaller = offset::shrink(&outline, margin);
    let kept = smaller.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()));
    let kept = kept.ok_or_else(|| words("Nothing is left of it within the margin."))?;
    let bounds = kept.bounds();
    let tenth = |n: f64| (n * 10.0).round() / 10.0 + 0.0;
    let points = kept.points().iter();
    let points: Vec<String> = points
        .map(|p| format!("{} {}", tenth(p.x - bounds.min.x), tenth(p.y - bounds.min.y)))
        .collect();
    told["outline"] = json!(points.join("; "));
    told["size"] = json!(format!(
        "{:.0} × {:.0} mm as it goes into the rack, {margin} mm smaller all round",
        bounds.width(),
        bounds.height()
    ));
    told["view"] = json!(view_box(outline.bounds(), 10.0));
    told["paths"] = json!([path(outline.points(), true), path(kept.points(), true)]);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_go_round_each_once() {
        assert_eq!(marks([210.0, 297.0], 1, 1).len(), 8);
        let ring = marks([210.0, 297.0], 2, 2);
        assert_eq!((ring.len(), ring[0], ring[3]), (12, [14.0, 580.0], [406.0, 580.0]));
        let mut sorted = ring.clone();
        sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        sorted.dedup();
        assert_eq!(sorted.len(), 12);
    }

    /// A picture of two pixels a millimetre, seen straight on: the offcut of 200 × 100 mm is 194 × 94 mm with the margin.
    #[test]
    fn an_offcut_is_measured_and_made_smaller() {
        let marks: Vec<String> = marks([210.0, 297.0], 1, 1)
            .iter()
            .map(|[x, y]| format!("{} {} {x} {y}", 2.0 * x, 600.0 - 2.0 * y))
            .collect();
        let corners = "10 590;410 590;410 390;10 390";
        let query = format!(
            "marks={}&size=420 600&corners={corners}&length=10 590;410 590",
            marks.join(";")
        );
        let told = measured(&Asked::new(&query.replace(' ', "+"), &[], vec![])).expect("measured");
        let mut outline: Vec<&str> = told["outline"].as_str().expect("an outline").split("; ").collect();
        outline.sort_unstable();
        assert_eq!(outline, ["0 0", "0 94", "194 0", "194 94"]);
        assert!(
            told["length"].as_str().is_some_and(|words| words.contains("200.0 mm")),
            "{told}"
        );
        let few = query
            .replace(' ', "+")
            .replace(&marks[7].replace(' ', "+"), "")
            .replace(&marks[6].replace(' ', "+"), "")
            .replace(&marks[5].replace(' ', "+"), "");
        assert!(measured(&Asked::new(&few, &[], vec![])).is_err());
    }
}
