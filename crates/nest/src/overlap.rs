//! How badly two forms overlap: the kernel that the whole search stands on.
//!
//! [`overlap`] is 0 exactly when the two polygons do not overlap (their outlines are inset by half the tolerance each,
//! so touching does not count), and otherwise positive and smooth: it falls as the forms are drawn apart.

use crate::form::{Form, LANE};
use crate::sides::Shared;
use crate::wide::{larger, smaller, vectorised};

/// Overlap of `a`, moved by `(dx, dy)` against `b`, in mm² of "depth × size". 0 when they do not overlap.
///
/// Either order agrees on whether they overlap; the figures differ by some percent where they barely do, since disks of `a` well
/// outside the bounds of `b` are left out, but not the other way round. Cost: one look at the bounds and one at the corners; for pairs that no line across parts, O(disks²)
/// in whole-vector steps; where the disks do not touch, crossing tests of the few sides that reach into what both share.
#[inline(always)]
pub(crate) fn overlap(a: &Form, b: &Form, dx: f64, dy: f64) -> f32 {
    if boxes_meet(a, b, dx, dy) {
        of_near(a, b, dx, dy)
    } else {
        0.0
    }
}

vectorised! {
/// See [`overlap`].
fn of_near(a: &Form, b: &Form, dx: f64, dy: f64) -> f32 {
    let Some(shared) = Shared::of(a, b, dx, dy) else {
        return 0.0;
    };
    let (sum, deepest) = disks(a, b, dx as f32, dy as f32);
    if deepest <= 0.0 && !outlines_meet(&shared, a, b, dx, dy) {
        return 0.0;
    }
    sum.sqrt() * a.bulk * b.bulk
}
}

/// Whether they overlap at all.
#[inline(always)]
pub(crate) fn meets(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    boxes_meet(a, b, dx, dy) && near_meet(a, b, dx, dy)
}

vectorised! {
/// See [`meets`].
fn near_meet(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    let Some(shared) = Shared::of(a, b, dx, dy) else {
        return false;
    };
    disks_meet(a, b, dx as f32, dy as f32) || outlines_meet(&shared, a, b, dx, dy)
}
}

/// Whether a side of one crosses or touches a side of the other, or one lies inside the other.
#[inline(always)]
fn outlines_meet(shared: &Shared, a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    shared.sides_cross(a, b) || inside(a, b, dx, dy) || inside(b, a, -dx, -dy)
}

#[inline(always)]
fn boxes_meet(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    let round = a.round + b.round;
    dx * dx + dy * dy < round * round
        && a.low[0] + dx < b.high[0]
        && b.low[0] < a.high[0] + dx
        && a.low[1] + dy < b.high[1]
        && b.low[1] < a.high[1] + dy
}

/// Disks further apart than this many soft depths are not felt.
const FELT: f32 = 4.0;

/// Sum over disk pairs of (softened depth × smaller radius), and the greatest depth.
#[inline(always)]
pub(crate) fn disks(a: &Form, b: &Form, dx: f32, dy: f32) -> (f32, f32) {
    // Below this depth the measure fades out smoothly instead of stopping, so that there is a slope even where only thin
    // parts without disks overlap.
    let soft = 0.01 * a.reach.max(b.reach);
    let low = [b.low[0] as f32, b.low[1] as f32];
    let high = [b.high[0] as f32, b.high[1] as f32];
    let mut sum = [0.0f32; LANE];
    let mut deepest = [f32::MIN; LANE];
    let (xs, ys, rs) = (lanes(&b.disk_x), lanes(&b.disk_y), lanes(&b.disk_r));
    let others = xs.len().min(ys.len()).min(rs.len());
    for p in 0..a.disks {
        let (px, py, pr) = (a.disk_x[p] + dx, a.disk_y[p] + dy, a.disk_r[p]);
        // A disk well outside the other's bounds adds next to nothing.
        let out_x = larger(larger(low[0] - px, px - high[0]), 0.0);
        let out_y = larger(larger(low[1] - py, py - high[1]), 0.0);
        let felt_within = pr + FELT * soft;
        if out_x * out_x + out_y * out_y > felt_within * felt_within {
            continue;
        }
        for k in 0..others {
            let (qx, qy, qr) = (&xs[k], &ys[k], &rs[k]);
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
    let (mut of_all, mut most) = (0.0, f32::MIN);
    for l in 0..LANE {
        of_all += sum[l];
        most = larger(most, deepest[l]);
    }
    (of_all + soft * soft * 1e-3, most)
}

/// Whether one of the largest disks of each meet: enough to tell at once where forms lie deep in each other.
#[inline(always)]
fn disks_meet(a: &Form, b: &Form, dx: f32, dy: f32) -> bool {
    let (qx, qy, qr) = (&lanes(&b.disk_x)[0], &lanes(&b.disk_y)[0], &lanes(&b.disk_r)[0]);
    let mut most = [f32::MIN; LANE];
    for p in 0..a.disks.min(LANE) {
        let (px, py, pr) = (a.disk_x[p] + dx, a.disk_y[p] + dy, a.disk_r[p]);
        for l in 0..LANE {
            let (ex, ey, r) = (px - qx[l], py - qy[l], larger(pr + qr[l], 0.0));
            most[l] = larger(most[l], r * r - (ex * ex + ey * ey));
        }
    }
    let mut meet = false;
    for m in most {
        meet |= m > 0.0;
    }
    meet
}

#[inline(always)]
fn lanes(values: &[f32]) -> &[[f32; LANE]] {
    values.as_chunks().0
}

/// Whether two sides have a point in common.
#[inline(always)]
pub(crate) fn cross(p: [f64; 4], q: [f64; 4]) -> bool {
    let (px, py, qx, qy) = (p[2] - p[0], p[3] - p[1], q[2] - q[0], q[3] - q[1]);
    let (ex, ey) = (q[0] - p[0], q[1] - p[1]);
    let (fx, fy) = (q[2] - p[0], q[3] - p[1]);
    let (gx, gy) = (p[2] - q[0], p[3] - q[1]);
    let s = (px * ey - py * ex) * (px * fy - py * fx);
    let t = (qy * ex - qx * ey) * (qx * gy - qy * gx);
    (s <= 0.0)
        & (t <= 0.0)
        & (smaller(p[0], p[2]) <= larger(q[0], q[2]))
        & (smaller(q[0], q[2]) <= larger(p[0], p[2]))
        & (smaller(p[1], p[3]) <= larger(q[1], q[3]))
        & (smaller(q[1], q[3]) <= larger(p[1], p[3]))
}

/// Whether `a`, whose outline crosses nothing of `b`, lies inside `b`.
#[inline(always)]
pub(crate) fn inside(a: &Form, b: &Form, dx: f64, dy: f64) -> bool {
    let nested = a.low[0] + dx >= b.low[0]
        && a.high[0] + dx <= b.high[0]
        && a.low[1] + dy >= b.low[1]
        && a.high[1] + dy <= b.high[1];
    nested && {
        let (x, y) = (a.xs[0] + dx, a.ys[0] + dy);
        let mut odd = false;
        for k in 0..b.sides() {
            let (bx, by) = ([b.xs[k], b.xs[k + 1]], [b.ys[k], b.ys[k + 1]]);
            if (by[0] > y) != (by[1] > y) && x < (bx[1] - bx[0]) * (y - by[0]) / (by[1] - by[0]) + bx[0] {
                odd = !odd;
            }
        }
        odd
    }
}
