//! Whether a straight-run layout holds: by `geo` and plain replaying, with nothing of the search's.

use cullet_breakout::{Breaking, Outcome};
use cullet_geometry::{Outline, Point};
use geo::{Area, BooleanOps, Contains, Polygon};

/// How far anything may be off, mm.
const OFF_MM: f64 = 0.001;

fn polygon(points: &[Point]) -> Polygon<f64> {
    Polygon::new(geo::LineString(points.to_vec()), vec![])
}

/// Everything wrong with the breaking order of one sheet.
#[must_use]
pub fn faults(sheet: &Outline, pieces: &[Outline], breaking: &Breaking) -> Vec<String> {
    let mut faults = Vec::new();
    let mut parts: Vec<Option<Polygon<f64>>> = vec![Some(sheet.to_polygon())];
    let mut freed: Vec<Option<Polygon<f64>>> = vec![None; pieces.len()];
    let mut total = 0.0;
    for (number, step) in breaking.steps.iter().enumerate() {
        let Some(hand) = parts.get_mut(step.part).and_then(Option::take) else {
            faults.push(format!("step {number} takes part {} that is not there", step.part));
            continue;
        };
        let [from, to] = step.chain[..] else {
            faults.push(format!("step {number} is no straight run"));
            continue;
        };
        let Some((left, right)) = parted(&hand, from, to) else {
            faults.push(format!("step {number} does not part the glass in hand in two"));
            continue;
        };
        // What the slit takes.
        total += 0.5 * OFF_MM * (to - from).x.hypot((to - from).y);
        for (what, side) in [(step.left, left), (step.right, right)] {
            match what {
                Outcome::Part(k) => {
                    parts.resize(parts.len().max(k + 1), None);
                    parts[k] = Some(side);
                }
                Outcome::Piece(k) => {
                    total += side.unsigned_area();
                    freed[k] = Some(side);
                }
                Outcome::Offcut(_) | Outcome::Cullet | Outcome::Nibbled => total += side.unsigned_area(),
            }
        }
    }
    for (k, piece) in pieces.iter().enumerate() {
        let Some(glass) = &freed[k] else {
            // A piece that is the whole sheet needs no break.
            if breaking.steps.is_empty() && pieces.len() == 1 {
                total += sheet.area();
            } else {
                faults.push(format!("piece {k} is not freed"));
            }
            continue;
        };
        let lost = piece.to_polygon().difference(glass).unsigned_area();
        if lost > OFF_MM * perimeter(piece) {
            faults.push(format!("piece {k} loses {lost:.4} mm2 to a break"));
        }
    }
    if parts.iter().any(Option::is_some) && !breaking.steps.is_empty() {
        faults.push("a part is never taken in hand".to_owned());
    }
    if (total - sheet.area()).abs() > 1e-3 * perimeter(sheet) + 1.0 {
        faults.push(format!("leaves are {total:.2} mm2 of {:.2}", sheet.area()));
    }
    faults
}

/// Pairs of pieces that overlap.
#[must_use]
pub fn overlaps(pieces: &[Outline]) -> Vec<String> {
    let mut faults = Vec::new();
    for (k, a) in pieces.iter().enumerate() {
        for (j, b) in pieces[..k].iter().enumerate() {
            let (p, q) = (a.bounds(), b.bounds());
            if p.min.x >= q.max.x || q.min.x >= p.max.x || p.min.y >= q.max.y || q.min.y >= p.max.y {
                continue;
            }
            let common = a.to_polygon().intersection(&b.to_polygon()).unsigned_area();
            if common > OFF_MM * perimeter(a).min(perimeter(b)) {
                faults.push(format!("pieces {j} and {k} overlap by {common:.4} mm2"));
            }
        }
    }
    faults
}

fn perimeter(outline: &Outline) -> f64 {
    let p = outline.points();
    (0..p.len())
        .map(|i| (p[(i + 1) % p.len()] - p[i]).x.hypot((p[(i + 1) % p.len()] - p[i]).y))
        .sum()
}

/// What lies left and right of a run from edge to edge: the glass without a slit along it.
fn parted(hand: &Polygon<f64>, from: Point, to: Point) -> Option<(Polygon<f64>, Polygon<f64>)> {
    let along = (to - from) / (to - from).x.hypot((to - from).y);
    let out = Point {
        x: -along.y,
        y: along.x,
    };
    // Half as wide as anything may be off, and as much too long.
    let (wide, long) = (out * (0.25 * OFF_MM), along * (1.5 * OFF_MM));
    let slit = polygon(&[
        from - long - wide,
        to + long - wide,
        to + long + wide,
        from - long + wide,
    ]);
    let parts: Vec<Polygon<f64>> = hand
        .difference(&slit)
        .0
        .into_iter()
        .filter(|p| p.unsigned_area() > 0.01)
        .collect();
    let [one, other] = <[Polygon<f64>; 2]>::try_from(parts).ok()?;
    // Somewhere along the run, a little to its left, is glass of the left part only.
    let middle = from + (to - from) * 0.5;
    let beside = |p: &Polygon<f64>, by: f64| p.contains(&geo::Point(middle + out * by));
    match (beside(&one, OFF_MM), beside(&other, OFF_MM)) {
        (true, false) => Some((one, other)),
        (false, true) => Some((other, one)),
        _ => None,
    }
}
