//! The pieces, panel by panel, and their labels.

use super::panels::piece_kg;
use crate::html::{escaped, table};
use crate::measure::{size, weight};
use crate::number::plain;
use crate::source;
use cullet_job::{PieceId, Units};
use cullet_model::{Plan, PlanPiece};
use std::fmt::Write;

/// A piece in words.
pub(super) fn name(id: &PieceId) -> String {
    escaped(&id.to_string())
}

pub(super) fn lists(plan: &Plan) -> String {
    let columns = [
        "piece",
        "glass",
        "#how many",
        "finished",
        "as cut",
        "#weight",
        "grain",
        "bevel",
        "sheet maps",
    ];
    let rule = match plan.job.units {
        Units::Millimetres => "2.5 kg per square metre and millimetre of thickness",
        // 2500 kg/m³ × 0.0254 m = 63.5 kg/m² = 13.0 lb/ft².
        Units::Inches => "13 lb per square foot and inch of thickness",
    };
    let mut page = format!(
        "<p>Sizes are those of the rectangle round the outline as it stands in the panel. Weights are of one finished piece, {rule} (EN 572-1). Grain is measured from the right, counter-clockwise, as it stands in the panel.</p>\n",
    );
    for panel in &plan.job.panels {
        for mirrored in [false, true] {
            let own = plan
                .pieces
                .iter()
                .filter(|p| p.id.panel == panel.id && p.id.mirrored == mirrored);
            let rows: Vec<Vec<String>> = own.map(|piece| row(plan, piece)).collect();
            if !rows.is_empty() {
                let image = if mirrored { ", mirror image" } else { "" };
                page += &table(&format!("Panel {}{image}", panel.id), &columns, &rows);
            }
        }
    }
    page
}

fn row(plan: &Plan, piece: &PlanPiece) -> Vec<String> {
    let (finished, cut) = (piece.finished.bounds(), piece.cut.bounds());
    let layouts = plan.glasses.iter().flat_map(|g| &g.layouts);
    let on: Vec<(u32, usize)> = layouts
        .map(|l| (l.number, l.placements.iter().filter(|p| p.id == piece.id).count()))
        .filter(|(_, n)| *n > 0)
        .collect();
    let maps: Vec<String> = on.iter().map(|(map, _)| map.to_string()).collect();
    vec![
        piece.id.number.clone(),
        piece.glass.clone(),
        on.iter().map(|(_, n)| n).sum::<usize>().to_string(),
        size(finished.width(), finished.height(), plan.job.units),
        size(cut.width(), cut.height(), plan.job.units),
        weight(piece_kg(plan, piece), plan.job.units),
        piece
            .grain_deg
            .map_or_else(String::new, |g| format!("{}°", plain(g, 1))),
        if piece.bevelled { "yes".into() } else { String::new() },
        maps.join(", "),
    ]
}

pub(super) fn labels(plan: &Plan) -> String {
    let mut page = String::from("<p>One for each piece, in the order of the sheet maps.</p>\n<ul class=\"labels\">");
    for layout in plan.glasses.iter().flat_map(|g| &g.layouts) {
        for placed in source::placed(plan, layout) {
            let id = &placed.placement.id;
            let finished = placed.piece.finished.bounds();
            let grain = match placed.piece.grain_deg {
                None => String::new(),
                Some(degrees) if (degrees.rem_euclid(180.0) - 90.0).abs() < 0.05 => ", grain upright".to_owned(),
                Some(degrees) => format!(", grain {}°", plain(degrees, 1)),
            };
            let spare = if placed.placement.spare { "spare" } else { "" };
            let copy = match placed.placement.copy {
                1 => String::new(),
                copy => format!(" ({copy})"),
            };
            let _ = write!(
                page,
                "<li><b>{}{copy}</b>{spare}<br/>{}, map {}<br/>{}{grain}</li>",
                escaped(&id.to_string()),
                escaped(&placed.piece.glass),
                layout.number,
                size(finished.width(), finished.height(), plan.job.units)
            );
        }
    }
    page.push_str("</ul>\n");
    page
}
