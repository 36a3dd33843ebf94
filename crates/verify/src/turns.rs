//! Grain runs as it should, and only what may be turned over is.

use super::{Check, Laid, Sheet};
use cullet_job::Grain;

/// Rounding of angles, degrees.
const ROUNDING: f64 = 1e-6;

pub(super) fn check(check: &mut Check<'_>, sheet: &Sheet<'_>) {
    for laid in &sheet.laid {
        if laid.placement.pose.turned_over {
            if laid.piece.bevel.is_some() {
                check.piece_fault(sheet, laid.placement, "bevelled, but turned over");
            } else if !laid.piece.may_turn_over || sheet.glass.is_some_and(|g| !g.may_turn_over) {
                let what = "turned over, which its glass does not allow";
                check.piece_fault(sheet, laid.placement, what);
            }
        }
        if let Some(what) = grain_fault(check, sheet, laid) {
            check.piece_fault(sheet, laid.placement, what);
        }
    }
}

/// How the grain is wrong, if it is: the piece's arrow is carried along with its pose and held against the sheet's.
fn grain_fault(check: &Check<'_>, sheet: &Sheet<'_>, laid: &Laid<'_>) -> Option<String> {
    let (two_ways, tolerance) = match check.job.glasses[laid.piece.glass].grain {
        Grain::None => return None,
        Grain::TwoWays { tolerance } => (true, tolerance),
        Grain::OneWay { tolerance } => (false, tolerance),
    };
    let pose = &laid.placement.pose;
    let (sin, cos) = (laid.piece.grain_deg + pose.rotation_deg).to_radians().sin_cos();
    let arrow = (if pose.turned_over { -cos } else { cos }, sin);
    let (sin, cos) = sheet.layout.stock.grain_deg.to_radians().sin_cos();
    let along = arrow.0 * cos + arrow.1 * sin;
    let across = arrow.1 * cos - arrow.0 * sin;
    let along = if two_ways { along.abs() } else { along };
    let off = across.abs().atan2(along).to_degrees();
    // Written so that a NaN is a fault.
    let holds = off <= tolerance + ROUNDING;
    let ways = if two_ways { "either way along" } else { "one way along" };
    (!holds).then(|| format!("its grain is {off:.3}° off, it must run {ways} the sheet's within {tolerance:.3}°"))
}
