//! How badly two forms overlap: the kernel that the whole search stands on.
//!
//! [`overlap`] is 0 exactly when the two polygons do not overlap (their outlines are inset by half the tolerance each,
//! so touching does not count), and otherwise positive and smooth: it falls as the forms are drawn apart.

use crate::form::{Form, LANE};
use crate::sides::Shared;

/// Overlap of `a`, moved by `(dx, dy)` against `b`, in mm² of "depth × size". 0 when they do not overlap.
///
/// Either order agrees on whether they overlap; the figures differ by some percent where they barely do, since disks of `a` well
/// outside the bounds of `b` are left out, but not the other way round. Cost: one look at the bounds and one at the corners; for pairs that no line across parts, O(disks²)
/// in whole-vector steps; where the disks do not touch, crossing tests of the few sides that reach into what both share.
pub(crate) fn overlap(a: &Form, b: &Form, dx: f64, dy: f64) -> f32 {
    if !boxes_meet(a, b, dx, dy) {
        return 0.0;
    }
    let Some(shared) = Shared::of(a, b, dx, dy) else {
        return 0.0;
    };
    let (sum, deepest) = disks(a, b, dx as f32, dy as f32);
    if deepest <= 0.0 && !outlines_meet(&shared, a, b, dx, dy) {
        return 0.0;
    }
    sum.sqrt() * a.bulk * b.bulk
}

/// Whether they overlap at all.
pub(crate) fn meets(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    boxes_meet(a, b, dx, dy)
        && Shared::of(a, b, dx, dy)
            .is_some_and(|shared| disks_meet(a, b, dx as f32, dy as f32) || outlines_meet(&shared, a, b, dx, dy))
}

/// Whether a side of one crosses or touches a side of the other, or one lies inside the other.
#[inline]
fn outlines_meet(shared: &Shared, a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    shared.sides_cross(a, b) || inside(a, b, dx, dy) || inside(b, a, -dx, -dy)
}

#[inline]
fn boxes_meet(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    let round = a.round + b.round;
    dx * dx + dy * dy < round * round
        && a.low[0] + dx < b.high[0]
        && b.low[0] < a.high[0] + dx
        && a.low[1] + dy < b.high[1]
        && b.low[1] < a.high[1] + dy
}

/// Like `f32::max` and `f32::min` for numbers that are never NaN: one instruction each.
#[inline(always)]
fn larger(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

#[inline(always)]
fn smaller(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// Disks further apart than this many soft depths are not felt.
const FELT: f32 = 4.0;

/// Sum over disk pairs of (softened depth × smaller radius), and the greatest depth.
#[inline]
pub(crate) fn disks(a: &Form, b: &Form, dx: f32, dy: f32) -> (f32, f32) {
    // Below this depth the measure fades out smoothly instead of stopping, so that there is a slope even where only thin
    // parts without disks overlap.
    let soft = 0.01 * a.reach.max(b.reach);
    let (low, high) = (b.low.map(|v| v as f32), b.high.map(|v| v as f32));
    let mut sum = [0.0f32; LANE];
    let mut deepest = [f32::MIN; LANE];
    for p in 0..a.disks {
        let (px, py, pr) = (a.disk_x[p] + dx, a.disk_y[p] + dy, a.disk_r[p]);
        // A disk well outside the other's bounds adds next to nothing.
        let out_x = larger(larger(low[0] - px, px - high[0]), 0.0);
        let out_y = larger(larger(low[1] - py, py - high[1]), 0.0);
        let felt_within = pr + FELT * soft;
        if out_x * out_x + out_y * out_y > felt_within * felt_within {
            continue;
        }
        let others = b
            .disk_x
            .chunks_exact(LANE)
            .zip(b.disk_y.chunks_exact(LANE))
            .zip(b.disk_r.chunks_exact(LANE));
        for ((qx, qy), qr) in others {
            for l in 0..LANE {
                let (ex, ey) = (px - qx[l], py - qy[l]);
                let depth = pr + qr[l] - (ex * ex + ey * ey).sqrt();
                let faded = soft * soft / larger(2.0 * soft - depth, soft);
                let felt = if depth >= soft { depth } else { faded };
                sum[l] += felt * larger(smaller(pr, qr[l]), 0.0);
                deepest[l] = larger(deepest[l], depth);
            }
        }
    }
    (
        sum.iter().sum::<f32>() + soft * soft * 1e-3,
        deepest.iter().copied().fold(f32::MIN, f32::max),
    )
}

/// Whether one of the largest disks of each meet: enough to tell at once where forms lie deep in each other.
#[inline]
fn disks_meet(a: &Form, b: &Form, dx: f32, dy: f32) -> bool {
    let lanes = |values: &[f32]| {
        let mut lanes = [0.0; LANE];
        lanes.copy_from_slice(&values[..LANE]);
        lanes
    };
    let (qx, qy, qr) = (lanes(&b.disk_x), lanes(&b.disk_y), lanes(&b.disk_r));
    let mut most = [f32::MIN; LANE];
    for p in 0..a.disks.min(LANE) {
        let (px, py, pr) = (a.disk_x[p] + dx, a.disk_y[p] + dy, a.disk_r[p]);
        for l in 0..LANE {
            let (ex, ey, r) = (px - qx[l], py - qy[l], larger(pr + qr[l], 0.0));
            most[l] = larger(most[l], r * r - (ex * ex + ey * ey));
        }
    }
    most.into_iter().any(|m| m > 0.0)
}

/// Whether two sides have a point in common.
#[inline]
pub(crate) fn cross(p: [f64; 4], q: [f64; 4]) -> bool {
    let (px, py, qx, qy) = (p[2] - p[0], p[3] - p[1], q[2] - q[0], q[3] - q[1]);
    let (ex, ey) = (q[0] - p[0], q[1] - p[1]);
    let (fx, fy) = (q[2] - p[0], q[3] - p[1]);
    let (gx, gy) = (p[2] - q[0], p[3] - q[1]);
    let s = (px * ey - py * ex) * (px * fy - py * fx);
    let t = (qy * ex - qx * ey) * (qx * gy - qy * gx);
    (s <= 0.0)
        & (t <= 0.0)
        & (p[0].min(p[2]) <= q[0].max(q[2]))
        & (q[0].min(q[2]) <= p[0].max(p[2]))
        & (p[1].min(p[3]) <= q[1].max(q[3]))
        & (q[1].min(q[3]) <= p[1].max(p[3]))
}

/// Whether `a`, whose outline crosses nothing of `b`, lies inside `b`.
pub(crate) fn inside(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    let nested = a.low[0] + dx >= b.low[0]
        && a.high[0] + dx <= b.high[0]
        && a.low[1] + dy >= b.low[1]
        && a.high[1] + dy <= b.high[1];
    nested && {
        let (x, y) = (a.xs[0] + dx, a.ys[0] + dy);
        let mut odd = false;
        for (bx, by) in b.xs.windows(2).zip(b.ys.windows(2)) {
            if (by[0] > y) != (by[1] > y) && x < (bx[1] - bx[0]) * (y - by[0]) / (by[1] - by[0]) + bx[0] {
                odd = !odd;
            }
        }
        odd
    }
}
