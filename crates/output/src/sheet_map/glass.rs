//! The glass itself: sheet, trim, flaws, pieces, what goes back, and the cullet between. Line weights carry the meaning:
//! heavy for what is kept, middling for what is scored, thin and dashed for what only guides.

use super::page::Page;
use crate::drawing::{View, element, group, push, set};
use crate::measure::short;
use crate::number::mm;
use crate::source::{Placed, offcut_name};
use cullet_geometry::{Outline, offset};
use cullet_job::Units;
use cullet_model::Layout;
use svg::node::element::Element;

fn shape(view: &View, outline: &Outline) -> Element {
    element("path", &[("d", &view.path(outline.points(), true, 3))])
}

fn styled(mut group: Element, fill: &str, stroke: &str, width: f64) -> Element {
    set(&mut group, "fill", fill);
    set(&mut group, "stroke", stroke);
    set(&mut group, "stroke-width", &mm(width));
    set(&mut group, "stroke-linejoin", "round");
    group
}

/// The hatchings, as wide as the map's size asks.
pub(super) fn hatchings(page: &Page) -> Element {
    let mut definitions = element("defs", &[]);
    push(
        &mut definitions,
        hatching("cullet-hatching", page.size * 0.75, page.size * 0.05, "#999", false),
    );
    push(
        &mut definitions,
        hatching("flaw-hatching", page.size * 0.34, page.size * 0.05, "#333", true),
    );
    definitions
}

fn hatching(id: &str, apart: f64, width: f64, grey: &str, crossed: bool) -> Element {
    let side = mm(apart);
    let mut pattern = element(
        "pattern",
        &[
            ("id", id),
            ("patternUnits", "userSpaceOnUse"),
            ("width", &side),
            ("height", &side),
            ("patternTransform", "rotate(45)"),
        ],
    );
    let half = mm(apart / 2.0);
    let mut data = format!("M{half} 0V{side}");
    if crossed {
        data.push_str(&format!("M0 {half}H{side}"));
    }
    let mut lines = element("path", &[("d", &data), ("fill", "none"), ("stroke", grey)]);
    set(&mut lines, "stroke-width", &mm(width));
    push(&mut pattern, lines);
    pattern
}

/// The outline of the sheet.
pub(super) fn sheet(layout: &Layout, view: &View, page: &Page) -> Element {
    let group = group(
        "sheet",
        "Sheet",
        "Outline of the sheet or offcut pulled, seen from the show face.",
    );
    let mut group = styled(group, "#fff", "#000", page.size * 0.12);
    push(&mut group, shape(view, &layout.stock.outline));
    group
}

/// Hatching over the whole sheet: pieces and returned offcuts are laid over it in white, what stays is cullet.
pub(super) fn cullet(layout: &Layout, view: &View) -> Element {
    let mut group = group(
        "cullet",
        "Cullet",
        "What stays hatched between the pieces cannot be used again.",
    );
    let mut hatched = shape(view, &layout.stock.outline);
    set(&mut hatched, "fill", "url(#cullet-hatching)");
    push(&mut group, hatched);
    group
}

/// The edge trim, a thin dashed line.
pub(super) fn trim(layout: &Layout, view: &View, page: &Page, units: Units) -> Element {
    let words = format!(
        "No piece lies nearer to the sheet's edge than {}.",
        short(layout.edge_trim, 3, units)
    );
    let group = group("trim", "Edge trim", &words);
    let mut group = styled(group, "none", "#000", page.size * 0.05);
    let dash = format!("{} {}", mm(page.size * 0.4), mm(page.size * 0.3));
    set(&mut group, "stroke-dasharray", &dash);
    if layout.edge_trim > 0.0 {
        for inner in offset::shrink(&layout.stock.outline, layout.edge_trim) {
            push(&mut group, shape(view, &inner));
        }
    }
    group
}

/// The flaws, crossed hatching.
pub(super) fn flaws(layout: &Layout, view: &View, page: &Page) -> Element {
    let group = group("flaws", "Flaws", "Zones of the sheet that no piece may touch.");
    let mut group = styled(group, "url(#flaw-hatching)", "#000", page.size * 0.09);
    for flaw in &layout.stock.flaws {
        push(&mut group, shape(view, flaw));
    }
    group
}

/// The pieces as they are scored: one group a piece, named in words.
pub(super) fn pieces(placed: &[Placed<'_>], view: &View, page: &Page) -> Element {
    let words = "Cut outlines: finished outline and grinding allowance.";
    let mut group = styled(group("pieces", "Pieces", words), "#fff", "#000", page.size * 0.08);
    for (i, piece) in placed.iter().enumerate() {
        let mut one = crate::drawing::group(&format!("piece-{}", i + 1), &piece.words(), "");
        push(&mut one, shape(view, &piece.cut));
        push(&mut group, one);
    }
    group
}

/// What goes back to the rack, outlined heavily.
pub(super) fn returned(layout: &Layout, view: &View, page: &Page) -> Element {
    let words = "Offcuts to keep: the rack gives each its tag when the plan is booked.";
    let mut group = styled(
        group("returned", "Returned offcuts", words),
        "#fff",
        "#000",
        page.size * 0.2,
    );
    for (n, outline) in layout.returned.iter().enumerate() {
        let title = format!("keep {}", offcut_name(layout, n));
        let mut one = crate::drawing::group(&format!("returned-{}", n + 1), &title, "");
        push(&mut one, shape(view, outline));
        push(&mut group, one);
    }
    group
}
