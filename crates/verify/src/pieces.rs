//! The plan's pieces are the job's, and each cut outline leaves the grind allowance.

use super::shape::Shape;
use super::{Check, Plan, PlanPiece, piece_name};
use cullet_geometry::Outline;
use cullet_job::{Glass, Grain, Piece};

/// How far outlines written in the plan may differ from the job's, mm.
const SAME: f64 = 1e-6;
/// How much of the grind allowance may be missing, mm: the grid of the offset, ten times over.
const SHORT: f64 = 0.001;
/// How far the two of a mirrored pair may differ, mm: both follow the drawn curve within its tolerance.
const PAIR: f64 = 0.01;

pub(super) fn check(check: &mut Check<'_>, plan: &Plan) {
    let job = check.job;
    if plan.pieces.len() != job.pieces.len() {
        let what = format!("the plan lists {}, the job has {}", plan.pieces.len(), job.pieces.len());
        check.fault(0, "pieces", what);
    }
    for (listed, piece) in plan.pieces.iter().zip(&job.pieces) {
        for what in differences(listed, piece, &job.glasses[piece.glass]) {
            check.fault(0, piece_name(&listed.id), what);
        }
    }
    for piece in &job.pieces {
        let allowance = job.glasses[piece.glass].grind_allowance;
        if let Some(what) = allowance_missing(piece, allowance) {
            check.fault(0, piece_name(&piece.id), what);
        }
        if let Some(what) = not_its_mirror(piece, check) {
            check.fault(0, piece_name(&piece.id), what);
        }
    }
}

/// Where a listed piece is not what the job gives.
fn differences(listed: &PlanPiece, piece: &Piece, glass: &Glass) -> Vec<String> {
    let mut found = vec![];
    if listed.id != piece.id {
        return vec![format!("the job has {} in its place", piece_name(&piece.id))];
    }
    if listed.glass != glass.code {
        found.push(format!("listed as {}, the job says {}", listed.glass, glass.code));
    }
    if !same(&listed.finished, &piece.finished) {
        found.push("its finished outline is not the job's".into());
    }
    if !same(&listed.cut, &piece.cut) {
        found.push("its cut outline is not the job's".into());
    }
    if listed.bevelled != piece.bevel.is_some() {
        found.push(format!("bevelled: {}, the job says otherwise", listed.bevelled));
    }
    let grain = (glass.grain != Grain::None).then_some(piece.grain_deg);
    let grain_holds = match (listed.grain_deg, grain) {
        (Some(a), Some(b)) => (a - b).abs() <= SAME,
        (None, None) => true,
        _ => false,
    };
    if !grain_holds {
        found.push(format!(
            "its grain is listed as {}, the job says {}",
            degrees(listed.grain_deg),
            degrees(grain)
        ));
    }
    found
}

fn degrees(grain: Option<f64>) -> String {
    grain.map_or("none".into(), |g| format!("{g:.3}°"))
}

fn same(a: &Outline, b: &Outline) -> bool {
    let (a, b) = (a.points(), b.points());
    let near = |(a, b): (&geo::Coord, &geo::Coord)| (a.x - b.x).abs() <= SAME && (a.y - b.y).abs() <= SAME;
    a.len() == b.len() && a.iter().zip(b).all(near)
}

/// Why the cut outline is too small, if it is.
fn allowance_missing(piece: &Piece, allowance: f64) -> Option<String> {
    let (finished, cut) = (Shape::of(&piece.finished), Shape::of(&piece.cut));
    let out = finished.overhang_depth(&cut);
    if out > SHORT {
        return Some(format!(
            "its finished outline reaches {out:.3} mm outside its cut outline"
        ));
    }
    let needed = allowance - SHORT;
    let gap = if needed > 0.0 {
        finished.gap_within(&cut, needed)
    } else {
        None
    };
    gap.filter(|g| *g < needed)
        .map(|gap| format!("its cut outline leaves {gap:.3} mm to grind, the allowance is {allowance:.3} mm"))
}

/// Why a mirrored piece is not the mirror image of its partner, where the job has both.
fn not_its_mirror(piece: &Piece, check: &Check<'_>) -> Option<String> {
    if !piece.id.mirrored {
        return None;
    }
    let mut id = piece.id.clone();
    id.mirrored = false;
    let partner = check.piece(&id)?;
    let image: Vec<_> = partner.finished.points().iter().map(|p| (-p.x, p.y)).collect();
    let own = piece.finished.points();
    // Both sets of corners moved to their lower left, then compared.
    let corner = |points: &[(f64, f64)]| {
        points
            .iter()
            .fold((f64::INFINITY, f64::INFINITY), |m, p| (m.0.min(p.0), m.1.min(p.1)))
    };
    let own: Vec<_> = own.iter().map(|p| (p.x, p.y)).collect();
    let (a, b) = (corner(&image), corner(&own));
    let moved = |points: &[(f64, f64)], by: (f64, f64)| {
        let ring: Vec<(f64, f64)> = points.iter().map(|p| (p.0 - by.0, p.1 - by.1)).collect();
        Shape::new(geo::Polygon::new(geo::LineString::from(ring), vec![]))
    };
    let (image, own) = (moved(&image, a), moved(&own, b));
    let off = |from: &Shape, to: &Shape| {
        from.polygon
            .exterior()
            .coords()
            .map(|c| to.boundary_distance(*c))
            .fold(0.0, f64::max)
    };
    let worst: f64 = off(&image, &own).max(off(&own, &image));
    (worst > PAIR).then(|| format!("it is not the mirror image of its partner, {worst:.3} mm off"))
}
