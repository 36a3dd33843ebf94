//! The panels: as they will look, for the customer, and what to measure while they are leaded up.

use super::measure::{length, size};
use crate::drawing::{View, element, push, set, text};
use crate::html::{escaped, table};
use crate::number::{mm, plain};
use cullet_geometry::{Bounds, Outline, boolean};
use cullet_job::PanelFile;
use cullet_plan::model::{Plan, PlanPiece};
use std::fmt::Write;
use svg::node::element::Element;

/// Fills that tell glasses apart, all light enough for black words (contrast 7 and more), the colours none of the glass's own.
const FILLS: [&str; 8] = [
    "#ffffff", "#dfe9f5", "#f7ecd0", "#e2efdc", "#f3dfe2", "#e6e1f2", "#d9eeee", "#e8e8e8",
];
/// Width of the face of a came on the picture, mm; for looks only.
const CAME_FACE: f64 = 5.0;
/// Share of their area that pieces may lie over each other and still have places in their panel.
const OVERLAP: f64 = 0.02;

pub(super) fn confirmation(plan: &Plan) -> String {
    let mut page = String::new();
    page.push_str("<p>Drawn to scale, seen from the show face. Fills tell the glasses apart; they are not the glass's colour.</p>\n<ul>");
    for (k, glass) in plan.job.glasses.iter().enumerate() {
        let _ = write!(
            page,
            "<li><span class=\"key\" style=\"background:{}\"></span>{}: {}</li>",
            FILLS[k % FILLS.len()],
            escaped(&glass.code),
            escaped(&glass.name)
        );
    }
    page.push_str("</ul>\n");
    let scale = scale(plan);
    for panel in &plan.job.panels {
        let _ = writeln!(
            page,
            "<div class=\"keep\"><h3>Panel {}: {}</h3>",
            escaped(&panel.id),
            escaped(&panel.name)
        );
        let own = pieces_of(plan, panel);
        let made = match (panel.quantity, panel.mirrored_quantity) {
            (n, 0) => format!("{n} as drawn"),
            (0, m) => format!("{m} of its mirror image"),
            (n, m) => format!("{n} as drawn and {m} of its mirror image"),
        };
        match bounds(&own).filter(|_| have_places(&own)) {
            Some(all) => {
                let over_all = size(all.width(), all.height(), plan.job.units);
                let caption = format!(
                    "{made}; glass over all {over_all}, {} pieces; drawn 1 : {}",
                    own.len(),
                    plain(1.0 / scale, 2)
                );
                let _ = writeln!(
                    page,
                    "<figure>{}<figcaption>{}</figcaption></figure>",
                    picture(plan, &own, all, scale, &caption),
                    escaped(&caption)
                );
            }
            None => {
                let _ = writeln!(
                    page,
                    "<p>{}. The job gives the pieces without their places in the panel, so there is no picture; they are \
                     listed under Pieces.</p>",
                    escaped(&made)
                );
            }
        }
        page.push_str("</div>\n");
    }
    page.push_str("<div class=\"sign\"><span>Agreed: name</span><span>Signature</span><span>Date</span></div>\n");
    page
}

pub(super) fn measures(plan: &Plan) -> String {
    let units = plan.job.units;
    let mut rows = Vec::new();
    for panel in &plan.job.panels {
        let own = pieces_of(plan, panel);
        let Some(all) = bounds(&own).filter(|_| have_places(&own)) else {
            continue;
        };
        let diagonal = all.width().hypot(all.height());
        rows.push(vec![
            panel.id.clone(),
            length(all.width(), units),
            length(all.height(), units),
            length(diagonal, units),
            String::new(),
            String::new(),
        ]);
    }
    if rows.is_empty() {
        return "<p>The job gives no places of pieces in their panels, so there are no panel sizes to check.</p>\n"
            .to_owned();
    }
    let columns = [
        "panel",
        "#width",
        "#height",
        "#diagonals, where square",
        "#as built",
        "#opening",
    ];
    let note = "<p>Sizes are of the glass over all, without the border came. A rectangular panel is square when both diagonals \
                measure the same. Measure the opening before the last came is fitted.</p>\n";
    note.to_owned() + &table("Panels", &columns, &rows)
}

/// The pieces of a panel as drawn, or of its mirror image where only that is made.
fn pieces_of<'a>(plan: &'a Plan, panel: &PanelFile) -> Vec<&'a PlanPiece> {
    let mirrored = panel.quantity == 0;
    let of = |p: &&PlanPiece| p.id.panel == panel.id && p.id.mirrored == mirrored;
    plan.pieces.iter().filter(of).collect()
}

fn bounds(pieces: &[&PlanPiece]) -> Option<Bounds> {
    let all = pieces.iter().map(|p| p.finished.bounds());
    all.reduce(|a, b| Bounds {
        min: cullet_geometry::Point {
            x: a.min.x.min(b.min.x),
            y: a.min.y.min(b.min.y),
        },
        max: cullet_geometry::Point {
            x: a.max.x.max(b.max.x),
            y: a.max.y.max(b.max.y),
        },
    })
}

/// Largest picture of a panel, mm: it goes on a page of A4 or Letter.
const ROOM: (f64, f64) = (180.0, 195.0);
/// Scales that a drawing may have.
const SCALES: [f64; 8] = [1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 20.0, 50.0];

/// The scale at which every panel goes on a page.
fn scale(plan: &Plan) -> f64 {
    let fits = |by: &f64| {
        let mut panels = plan
            .job
            .panels
            .iter()
            .filter_map(|panel| bounds(&pieces_of(plan, panel)));
        panels.all(|b| b.width() / by <= ROOM.0 && b.height() / by <= ROOM.1)
    };
    1.0 / SCALES.into_iter().find(fits).unwrap_or(100.0)
}

/// Whether the pieces lie side by side and not on top of each other.
fn have_places(pieces: &[&PlanPiece]) -> bool {
    let outlines: Vec<Outline> = pieces.iter().map(|p| p.finished.clone()).collect();
    let sum: f64 = outlines.iter().map(Outline::area).sum();
    let covered: f64 = boolean::union(&outlines).iter().map(boolean::Region::area).sum();
    covered >= sum * (1.0 - OVERLAP)
}

fn picture(plan: &Plan, pieces: &[&PlanPiece], all: Bounds, scale: f64, words: &str) -> Element {
    let view = View::from_front(all);
    let edge = CAME_FACE;
    let view_box = [-edge, -edge, all.width() + 2.0 * edge, all.height() + 2.0 * edge]
        .map(mm)
        .join(" ");
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("role", "img"),
            ("aria-label", words),
            ("width", &format!("{}mm", mm(scale * (all.width() + 2.0 * edge)))),
            ("viewBox", &view_box),
            ("font-family", "sans-serif"),
        ],
    );
    for piece in pieces {
        let glass = plan.job.glasses.iter().position(|g| g.code == piece.glass).unwrap_or(0);
        let path = view.path(piece.finished.points(), true, 2);
        let mut shape = element("path", &[("d", &path), ("fill", FILLS[glass % FILLS.len()])]);
        set(&mut shape, "stroke", "#333");
        set(&mut shape, "stroke-width", &mm(CAME_FACE));
        set(&mut shape, "stroke-linejoin", "round");
        push(&mut root, shape);
    }
    for piece in pieces {
        let bounds = piece.finished.bounds();
        let number = &piece.id.number;
        let letters = number.chars().count().max(1) as f64;
        let height = (all.height() / 40.0)
            .min(bounds.width() * 0.6 / (0.6 * letters))
            .min(bounds.height() * 0.5);
        let mut at = view.at(inside(&piece.finished));
        at.y += 0.35 * height;
        push(&mut root, text(at, height, "middle", false, number));
    }
    root
}

fn inside(outline: &Outline) -> cullet_geometry::Point {
    geo::InteriorPoint::interior_point(&outline.to_polygon()).map_or(outline.points()[0], |p| p.0)
}
