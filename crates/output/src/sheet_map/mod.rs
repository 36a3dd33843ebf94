//! The sheet map: one layout drawn for the bench, in black and white.
//!
//! # What is on it
//! The sheet with its edge trim and flaws, every piece with its number and panel and, where the glass has one, the way of
//! its grain, what goes back to the rack, the cullet hatched, a scale bar, and a title block with the glass to pull and the
//! four figures. It carries no date and no path: the same plan gives the same file, byte for byte.
//!
//! # Size and axes
//! True size: width and height in mm, one unit of the viewBox is 1 mm, the sheet's upper left corner is the origin, y runs
//! down. Letters are sized against the sheet, so the map may be printed on A3 or looked at on a phone.
//!
//! # Groups
//! `sheet`, `cullet`, `trim`, `returned`, `flaws`, `breaks`, `pieces`, `break-numbers`, `numbers`, `grain`, `scale`, `title`, each with a title for
//! those who do not see it (W3C SVG 2, section 5.8).

mod block;
mod breaks;
mod glass;
mod grain;
mod label;
mod leader;
mod nearby;
mod page;
mod scale;
#[cfg(test)]
mod tests;
mod title;

use crate::drawing::{self, View, element, group, push, set, worded};
use crate::number::mm;
use crate::source::{self, Placed};
use cullet_job::{GrainFile, Units, counted};
use cullet_model::{Layout, Plan};
use grain::Arrow;
use label::{Item, Stand};
use page::Page;
use svg::node::element::Element;

/// Draws the map of one layout as an SVG file, in mm, seen from the show face.
///
/// Pieces that are too small for their number carry a letter, which a list under the sheet explains, or a line to the
/// margin. A placement of a piece that the plan does not list is left out: a verified plan has none.
///
/// Cost: for every piece a search for the roomiest place of its label, O(points) for each of some dozen places tried.
#[must_use]
pub fn draw(plan: &Plan, layout: &Layout) -> String {
    draw_for_table(plan, layout, None)
}

/// The same with a sentence on what the scores come to on the cutting table.
#[must_use]
pub fn draw_for_table(plan: &Plan, layout: &Layout, on_table: Option<&str>) -> String {
    let bounds = layout.stock.outline.bounds();
    let view = View::from_front(bounds);
    let mut page = Page::new(bounds);
    let placed = source::placed(plan, layout);
    let ways = source::grain(plan, layout);

    let items = items(&placed, layout, ways, plan.job.units);
    let stands = label::stands(&items, page.size, &view, &layout.stock.outline);
    let leaders = leader::place(&stands, &view, label::size_of(&layout.stock.outline));
    for leader in &leaders {
        let (left, right) = leader.reach();
        page.widen(left, right);
    }

    let mut numbers = group("numbers", "Numbers", "Piece number and panel on every piece.");
    let mut arrows = group("grain", "Grain", "Arrows along the grain.");
    set(&mut arrows, "fill", "#000");
    set(&mut arrows, "stroke", "#000");
    let mut lines = element("g", &[("fill", "#000"), ("stroke", "#000")]);
    set(&mut lines, "stroke-width", &mm(page.size * 0.05));
    let mut words = element("g", &[]);
    let keyed = labels(&stands, &view, &mut lines, &mut words, &mut arrows);
    for leader in &leaders {
        let (line, rows, arrow) = leader.draw();
        push(&mut lines, line);
        push(&mut words, rows);
        arrow.into_iter().for_each(|a| push(&mut arrows, a));
    }
    push(&mut numbers, lines);
    push(&mut numbers, words);

    let below = bounds.height() + 1.4 * page.size;
    if let Some(arrow) = title::sheet_grain(plan, layout, &page, below) {
        push(&mut arrows, arrow);
    }
    let (title, bottom) = title::draw(
        plan,
        layout,
        &page,
        (below + (scale::HEIGHT + 0.4) * page.size, on_table),
        &keyed,
    );
    let mut root = root(plan, layout, &page, bottom);
    for part in [
        glass::hatchings(&page),
        glass::sheet(layout, &view, &page),
        glass::cullet(layout, &view),
        glass::trim(layout, &view, &page, plan.job.units),
        glass::returned(layout, &view, &page),
        glass::flaws(layout, &view, &page),
        breaks::lines(layout, &view, &page),
        glass::pieces(&placed, &view, &page),
        breaks::numbers(layout, &stands, &view, &page),
        numbers,
        arrows,
        scale::draw(&page, below, plan.job.units),
        title,
    ] {
        push(&mut root, part);
    }
    drawing::file(&root)
}

/// Everything that is labelled: pieces, returned offcuts, flaws.
fn items<'a>(placed: &'a [Placed<'a>], layout: &'a Layout, ways: GrainFile, units: Units) -> Vec<Item<'a>> {
    let pieces = placed.iter().map(|p| Item::piece(p, Arrow::of(ways, p.grain_deg())));
    let returned = layout
        .returned
        .iter()
        .enumerate()
        .map(|(n, o)| Item::returned(layout, n, o, units));
    pieces
        .chain(returned)
        .chain(layout.stock.flaws.iter().map(Item::flaw))
        .collect()
}

/// The outermost element, with a white ground.
fn root(plan: &Plan, layout: &Layout, page: &Page, bottom: f64) -> Element {
    let top = -1.4 * page.size;
    let (width, height) = (mm(page.right - page.left), mm(bottom - top));
    let (left, top) = (mm(page.left), mm(top));
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", &format!("{width}mm")),
            ("height", &format!("{height}mm")),
            ("viewBox", &format!("{left} {top} {width} {height}")),
            ("font-family", "sans-serif"),
            ("role", "img"),
        ],
    );
    let name = format!(
        "{}: sheet map {} of {}",
        plan.job.name,
        layout.number,
        source::map_count(plan)
    );
    push(&mut root, worded("title", &name));
    let words = format!(
        "{} on {}. {}",
        counted(layout.placements.len(), "piece"),
        source::stock_tag(layout),
        title::faces_in_words(plan, layout)
    );
    push(&mut root, worded("desc", &words));
    let ground = [
        ("x", left.as_str()),
        ("y", &top),
        ("width", &width),
        ("height", &height),
        ("fill", "#fff"),
    ];
    push(&mut root, element("rect", &ground));
    root
}

/// Labels that stand on the glass: lines, words and arrows go to their groups; what the letters stand for comes back.
fn labels(
    stands: &[Stand],
    view: &View,
    lines: &mut Element,
    words: &mut Element,
    arrows: &mut Element,
) -> Vec<title::Keyed> {
    let mut keyed = Vec::new();
    for stand in stands {
        let (block, centre, size) = match stand {
            Stand::Margin { .. } => continue,
            Stand::Inside { block, spot, size } | Stand::Letter { block, spot, size, .. } => {
                (block, spot.centre, *size)
            }
            Stand::Nearby { block, from, at, size } => {
                push(lines, leader::pointer(view.at(*from), view.at(*at), *size));
                (block, *at, *size)
            }
        };
        let centre = view.at(centre);
        let mut rows = block.draw_rows(centre, size);
        if let Stand::Letter { letter, words, .. } = stand {
            set(&mut rows, "font-style", "italic");
            keyed.push(title::Keyed {
                letter: letter.clone(),
                words: words.clone(),
            });
        }
        push(words, rows);
        block.draw_arrow(centre, size).into_iter().for_each(|a| push(arrows, a));
    }
    keyed
}
