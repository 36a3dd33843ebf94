//! Lead lines that a drawing program has turned into outlines: each line then is a thin closed shape, and the drawing falls
//! apart into strips that no lead runs between.

use crate::arrange::Arrangement;
use crate::cartoon::Cell;
use crate::finding::{At, Findings};
use crate::settings::CartoonSettings;
use std::collections::BTreeSet;

/// A strip is at least so many times as long as wide.
const STRIP: f64 = 10.0;
/// Strips that make a drawing one of outlines: at least so many, and this share of its lines.
const LEAST: usize = 3;
const SHARE: f64 = 0.25;

/// Names strips, all at once, and drops what else is said of them one by one.
pub(crate) fn name(found: &Arrangement, cells: &[Cell], settings: &CartoonSettings, findings: &mut Findings) {
    // What no glass is left of: narrower than half the narrowest face.
    let faces = settings.cames.iter().map(|used| used.came.face);
    let narrow = faces.fold(settings.border.face, f64::min) / 2.0;
    let strips: Vec<(&Cell, f64, f64)> = cells
        .iter()
        .filter_map(|cell| {
            let round: f64 = cell.sides.iter().map(|side| side.curve.length()).sum();
            let (long, wide) = (round / 2.0, 2.0 * cell.area / round);
            (wide < narrow && long > STRIP * wide).then_some((cell, long, wide))
        })
        .collect();
    let all: f64 = found.edges.iter().map(crate::arrange::Edge::length).sum();
    let long: f64 = strips.iter().map(|(_, long, _)| 2.0 * long).sum();
    if strips.len() < LEAST || long < SHARE * all {
        return;
    }
    let wide = strips.iter().map(|(_, _, wide)| wide).sum::<f64>() / strips.len() as f64;
    let numbers: BTreeSet<&String> = strips.iter().map(|(cell, _, _)| &cell.number).collect();
    findings
        .0
        .retain(|finding| finding.piece.as_ref().is_none_or(|piece| !numbers.contains(piece)));
    findings.error(
        At {
            at: Some(strips[0].0.middle),
            ..At::default()
        },
        format!("{} thin strips about {wide:.1} mm wide among {} cells", strips.len(), cells.len()),
        "lead lines drawn as single lines, at the centre of the lead",
        "It looks as if strokes were turned into outlines: undo that in the drawing program. How wide the lead is the job says.",
    );
}
