//! What cannot be built, or only with trouble: pieces that no score can make, panels that want bars.
//!
//! The figures are the trade's, each with its source; none is a rule of structural safety. Glazing in doors and low panes, and
//! panels that carry wind, are for those licensed for it and for local codes.

use crate::arrange::Arrangement;
use crate::cartoon::Cell;
use crate::curve::{Curve, cross, dot, length};
use crate::finding::{At, Findings};
use crate::settings::CartoonSettings;
use cullet_geometry::Point;

/// A corner sharper than this loses its point, degrees (machine-cutting handbook page).
const SHARPEST: f64 = 30.0;
/// A corner that turns inwards by more than this is an inside corner, degrees; common practice.
const INSIDE_TURN: f64 = 10.0;
/// A piece narrower than this and longer than [`SNAPS_LENGTH`] snaps, mm (workshop tips, 2010).
const SNAPS_WIDTH: f64 = 6.0;
/// See [`SNAPS_WIDTH`].
const SNAPS_LENGTH: f64 = 125.0;
/// Chord to depth of an inside curve that is still easy (from memory; no published limit).
const EASY_DEPTH: f64 = 4.0;
/// A section of a window stays under 12 sq ft (restoration studio), mm².
const SECTION_MM2: f64 = 1.11e6;
/// A panel over 4 sq ft wants support bars (two sources), mm².
const BARS_MM2: f64 = 0.37e6;
/// A panel over 14 ft round wants support bars (two sources), mm.
const BARS_ROUND_MM: f64 = 4270.0;

pub(crate) fn check(
    cells: &[Cell],
    settings: &CartoonSettings,
    bounds: (Point, Point),
    arrangement: &Arrangement,
    findings: &mut Findings,
) {
    panel(settings, bounds, arrangement, cells, findings);
    for cell in cells.iter().filter(|cell| !cell.finished.is_empty()) {
        corners(cell, findings);
        inside_curves(cell, findings);
        sliver(cell, findings);
    }
}

fn panel(
    settings: &CartoonSettings,
    (low, high): (Point, Point),
    arrangement: &Arrangement,
    cells: &[Cell],
    findings: &mut Findings,
) {
    let (width, height) = (high.x - low.x, high.y - low.y);
    if cells.is_empty() {
        return;
    }
    let size = format!("a panel of {width:.0} × {height:.0} mm");
    let whole = At::default();
    if let Some(opening) = settings.opening {
        let wanted = opening.map(|size| size - settings.opening_clearance);
        if (wanted[0] - width).abs() > 0.5 || (wanted[1] - height).abs() > 0.5 {
            findings.error(
                whole.clone(),
                &size,
                &format!("{:.1} × {:.1} mm, the opening less its clearance", wanted[0], wanted[1]),
                "Draw the panel to that size, or correct the opening or its clearance in the job file.",
            );
        }
    }
    if arrangement.edges.is_empty() {
        return;
    }
    let area: f64 = cells.iter().map(|cell| cell.area).sum();
    let beside = arrangement.faces_beside();
    let round: f64 = arrangement
        .edges
        .iter()
        .zip(&beside)
        .filter(|(_, beside)| beside.contains(&None))
        .map(|(edge, _)| edge.length())
        .sum();
    if area > SECTION_MM2 {
        findings.warning(
            whole,
            format!("a panel of {:.2} m²", area / 1e6),
            "sections under 1.11 m² (12 sq ft)",
            "Part it into sections with bars or division bars between them (restoration studio).",
        );
    } else if area > BARS_MM2 || round > BARS_ROUND_MM || settings.in_door {
        let why = if settings.in_door { " in a door" } else { "" };
        findings.warning(
            whole,
            format!("a panel of {:.2} m², {:.2} m round{why}", area / 1e6, round / 1e3),
            "support bars on panels in doors, over 0.37 m² (4 sq ft) or over 4.27 m (14 ft) round",
            "Plan bars 300 to 450 mm apart. Whether glass there must be safety glass is for local codes to say.",
        );
    }
}

fn of_piece(cell: &Cell, at: Point) -> At {
    At {
        at: Some(at),
        piece: Some(cell.number.clone()),
        source: String::new(),
    }
}

fn corners(cell: &Cell, findings: &mut Findings) {
    let curves = &cell.finished;
    let count = curves.len();
    // Facets of an outline worked out with polygons are no corners.
    for i in 0..count {
        let (before, after) = (&curves[(i + count - 1) % count], &curves[i]);
        let (into, out) = (before.direction(1.0), after.direction(0.0));
        let turn = cross(into, out).atan2(dot(into, out)).to_degrees();
        let at = of_piece(cell, after.at(0.0));
        if turn < -INSIDE_TURN {
            findings.error(
                at,
                format!("an inside corner of {:.0}°", 180.0 - turn),
                "edges that a score can follow and a break can open",
                "An inside corner cannot be scored and broken (two cutting tutorials): split the piece there with a lead \
                 line, or draw a curve.",
            );
        } else if 180.0 - turn < SHARPEST {
            findings.warning(
                at,
                format!("a corner of {:.1}°", 180.0 - turn),
                "corners of 30° or more",
                "So sharp a corner loses its point (machine-cutting handbook). A lost tip hides under came, not under \
                 foil: blunt it in the drawing or cut a spare.",
            );
        }
    }
}

/// Runs of sides that bend inwards, smoothly joined, each as one curve.
fn inside_curves(cell: &Cell, findings: &mut Findings) {
    let curves = &cell.finished;
    let count = curves.len();
    let bends_in = |i: usize| matches!(curves[i % count], Curve::Arc { turn, .. } if turn < 0.0);
    let smooth = |i: usize| {
        let (into, out) = (curves[i % count].direction(1.0), curves[(i + 1) % count].direction(0.0));
        cross(into, out).abs() < 0.17 && dot(into, out) > 0.0
    };
    if count > 1 && (0..count).all(|i| bends_in(i) && smooth(i)) {
        return;
    }
    for first in 0..count {
        if !bends_in(first) || (count > 1 && bends_in(first + count - 1) && smooth(first + count - 1)) {
            continue;
        }
        let mut last = first;
        while last + 1 < first + count && bends_in(last + 1) && smooth(last) {
            last += 1;
        }
        let (from, to) = (curves[first].at(0.0), curves[last % count].at(1.0));
        let chord = length(to - from);
        let along = (to - from) / chord.max(1e-9);
        let points = (first..=last).flat_map(|i| curves[i % count].chords(0.05));
        let (depth, at) = points.fold((0.0, from), |deepest: (f64, Point), p| {
            let away = cross(along, p - from).abs();
            if away > deepest.0 { (away, p) } else { deepest }
        });
        if depth < 0.5 {
            continue;
        }
        let turn: f64 = (first..=last)
            .map(|i| match curves[i % count] {
                Curve::Arc { turn, .. } => -turn.to_degrees(),
                Curve::Line { .. } => 0.0,
            })
            .sum();
        let found = format!("an inside curve {depth:.1} mm deep on a chord of {chord:.1} mm");
        if turn >= 179.0 || depth * 2.0 >= chord * 0.999 {
            findings.error(
                of_piece(cell, at),
                found,
                "inside curves shallower than a half circle",
                "It cannot be broken out in steps (half a circle is the end, from memory): split the piece with a lead line \
                 that runs into the curve.",
            );
        } else if chord < EASY_DEPTH * depth {
            findings.warning(
                of_piece(cell, at),
                found,
                "a chord of 4 times the depth or more",
                "A tight inside curve takes up to a dozen scores, each broken out before the next (kiln-glass notes, 2008): \
                 allow time and a spare, or flatten the curve.",
            );
        }
    }
}

fn sliver(cell: &Cell, findings: &mut Findings) {
    let half_round = cell.finished.iter().map(Curve::length).sum::<f64>() / 2.0;
    let area = cell.finished.iter().map(Curve::twice_area).sum::<f64>() / 2.0;
    // The rectangle with the same area and perimeter: strips straight and bent alike.
    let root = (half_round * half_round - 4.0 * area).max(0.0).sqrt();
    let (size, width) = (f64::midpoint(half_round, root), (half_round - root) / 2.0);
    if width < SNAPS_WIDTH && size > SNAPS_LENGTH {
        findings.warning(
            of_piece(cell, cell.middle),
            format!("a strip of about {size:.0} × {width:.1} mm"),
            "pieces at least 6 mm wide, or at most 125 mm long",
            "Narrower and longer it snaps (workshop tips, 2010): part it with a lead line, or cut spares.",
        );
    }
}
