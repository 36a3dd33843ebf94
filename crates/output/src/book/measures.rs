//! What is leaded up: the leads, the sizes to check, and how much of each bevel shows.

use super::Book;
use super::panels::{pieces_of, place_of};
use crate::caution;
use crate::html::table;
use crate::measure::{length, size};
use crate::number::plain;
use crate::source;
use crate::tables::leads_rows;
use cullet_drawing::expand::PanelDrawing;
use cullet_drawing::panel;
use cullet_geometry::Outline;
use cullet_job::{Bevel, PanelFile, PieceFile, Units};
use cullet_model::Plan;

/// A panel whose cells cover less of the box round them is not a rectangle.
const RECTANGLE: f64 = 0.999;

fn lead_caution() -> String {
    format!("<p class=\"caution\">{}</p>\n", caution::LEAD)
}

pub(super) fn leads(book: &Book) -> String {
    let units = book.plan.job.units;
    let rows: Vec<Vec<String>> = leads_rows(book.drawings)
        .into_iter()
        .map(|row| {
            vec![
                row.panel.unwrap_or("all").to_owned(),
                row.length.came.name.clone(),
                length(row.length.came.face, units),
                length(row.length.came.heart, units),
                row.length.leads.len().to_string(),
                run(row.length.total(), units),
                row.count.lengths.to_string(),
                run(row.stock.length, units),
            ]
        })
        .collect();
    if rows.is_empty() {
        return "<p>No panel of this job came from a drawing of lead lines, so its leads are not measured.</p>\n"
            .to_owned();
    }
    let columns = [
        "panel",
        "came",
        "#face",
        "#heart",
        "#leads",
        "#total length",
        "#lengths to buy",
        "#length of each",
    ];
    let note = "<p>For all panels made. Where leads meet, the one that runs on goes through; the others stop half its face short of its centre.</p>\n";
    note.to_owned() + &table("Leads, came by came", &columns, &rows) + &lead_caution()
}

/// A length of came: metres or feet.
fn run(mm: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{:.2} m", mm / 1e3),
        Units::Inches => format!("{:.2} ft", mm / 304.8),
    }
}

pub(super) fn measures(book: &Book) -> String {
    let units = book.plan.job.units;
    let mut rows = Vec::new();
    for panel in &book.plan.job.panels {
        let Some(all) = place_of(book, panel) else { continue };
        let drawing = book.drawing(&panel.id);
        let diagonal = if is_rectangle(book, panel) {
            length(all.width().hypot(all.height()), units)
        } else {
            "not rectangular".into()
        };
        let what = if drawing.is_some() {
            "over the border came"
        } else {
            "glass overall"
        };
        rows.push(vec![
            panel.id.clone(),
            what.into(),
            length(all.width(), units),
            length(all.height(), units),
            diagonal,
            drawing.map_or_else(String::new, |drawing| {
                opening(drawing, all.width(), all.height(), units)
            }),
            String::new(),
        ]);
    }
    let sizes = if rows.is_empty() {
        "<p>The job does not say where the pieces lie in their panels, so there are no panel sizes to check.</p>\n"
            .to_owned()
    } else {
        let columns = [
            "panel",
            "measured",
            "#width",
            "#height",
            "#both diagonals, if square",
            "opening in the frame",
            "as built",
        ];
        let note = "<p>A rectangular panel is square when both diagonals measure the same. Measure the opening before the last came is \
                    fitted.</p>\n";
        note.to_owned() + &table("Panels", &columns, &rows)
    };
    sizes + &bevels(book) + &lead_caution()
}

/// The opening that the job gives, or the least that the panel goes into.
fn opening(drawing: &PanelDrawing, width: f64, height: f64, units: Units) -> String {
    let room = drawing.settings.opening_clearance;
    match drawing.settings.opening {
        Some([w, h]) => size(w, h, units),
        None => format!("at least {}", size(width + room, height + room, units)),
    }
}

/// Whether the panel fills the box round it: its cells where it is drawn, else its glass, which leads part.
fn is_rectangle(book: &Book, panel: &PanelFile) -> bool {
    let Some(drawing) = book.drawing(&panel.id) else {
        return true;
    };
    let found = &drawing.cartoon.arrangement;
    let outsides = found.outsides.iter().map(|sides| Outline::new(found.points_of(sides)));
    let area = outsides.flatten().map(|outside| outside.area()).fold(0.0, f64::max);
    let (low, high) = drawing.cartoon.bounds;
    area >= RECTANGLE * (high.x - low.x) * (high.y - low.y)
}

/// How much of each bevel shows: what came covers is taken off its width.
fn bevels(book: &Book) -> String {
    let units = book.plan.job.units;
    let mut rows: Vec<(Vec<String>, Vec<String>)> = vec![];
    for panel in &book.plan.job.panels {
        let made = pieces_of(book.plan, panel);
        for piece in panel
            .pieces
            .iter()
            .filter(|p| made.iter().any(|m| m.id.number == p.number))
        {
            let Some(cells) = bevel_row(book, panel, piece, units) else {
                continue;
            };
            match rows.iter_mut().find(|row| row.0 == cells) {
                Some(row) => row.1.push(piece.number.clone()),
                None => rows.push((cells, vec![piece.number.clone()])),
            }
        }
    }
    if rows.is_empty() {
        return String::new();
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(mut cells, numbers)| {
            cells.insert(1, numbers.join(", "));
            cells
        })
        .collect();
    let columns = [
        "panel",
        "pieces",
        "#width",
        "#nose",
        "#angle",
        "#shows beside lead",
        "#shows beside the border",
        "#rebate no deeper than",
    ];
    let note = "<p>Came covers the outer part of a bevel, nose first. Where the frame's rebate is deeper than the face of the border came, the difference is lost from the bevel beside the border.</p>\n";
    note.to_owned() + &table("How much of each bevel shows", &columns, &rows)
}

/// A bevelled piece's cells but for its number; nothing where it has no bevel.
fn bevel_row(book: &Book, panel: &PanelFile, piece: &PieceFile, units: Units) -> Option<Vec<String>> {
    let plan: &Plan = book.plan;
    let bevel = piece.bevel?;
    let unit = match units {
        Units::Millimetres => 1.0,
        Units::Inches => 25.4,
    };
    let glass = plan.job.glasses.iter().find(|g| g.code == piece.glass)?;
    let bevel = Bevel::new(source::thickness_mm(plan, glass), bevel.width * unit, bevel.nose * unit);
    let (mut beside_lead, mut beside_border, mut rebate) = (vec![], vec![], String::new());
    if let Some(drawing) = book.drawing(&panel.id) {
        let of = panel::followed(&drawing.cartoon, &drawing.settings);
        let cell = drawing
            .cartoon
            .cells
            .iter()
            .position(|cell| cell.number == piece.number);
        for cover in cell.map_or(vec![], |cell| {
            panel::covers(&drawing.cartoon, &drawing.settings, &of, cell)
        }) {
            let shows = (bevel.width - cover.covered).max(0.0);
            if cover.is_border {
                beside_border.push(shows);
                rebate = length(cover.came.face, units);
            } else {
                beside_lead.push(shows);
            }
        }
    }
    Some(vec![
        panel.id.clone(),
        length(bevel.width, units),
        length(bevel.nose, units),
        format!("{}°", plain(bevel.angle_deg, 1)),
        span(&beside_lead, units),
        span(&beside_border, units),
        rebate,
    ])
}

/// The least and the most of some lengths.
fn span(all: &[f64], units: Units) -> String {
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    let most = all.iter().copied().fold(0.0, f64::max);
    match all {
        [] => String::new(),
        _ if length(least, units) == length(most, units) => length(least, units),
        _ => format!("{} to {}", length(least, units), length(most, units)),
    }
}
