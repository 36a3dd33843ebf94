//! Whether the outlines of two forms cross.
//!
//! Sides that cross have a point in common, so only those count that reach into the box and into the slab which both forms
//! share: the slab lies across the line between their reference points, and near contact it is thin. Forms that share none are
//! apart. The sorting out is done eight sides at a time in `f32`, rounded outwards; what is left is decided in `f64`.

use crate::form::Form;
use crate::wide::{larger, smaller};

/// Sides compared at a time.
const BLOCK: usize = 16;
/// Lanes of a vector of `f32`, and of `f64`.
const WIDE: usize = 8;
const FOUR: usize = 4;
/// By this share of the sizes in play `f32` may be off, with room to spare.
const SLIP: f32 = 1e-6;

/// What two forms share, in the frame of `b`'s reference point; `a`'s lies at `(dx, dy)`.
pub(crate) struct Shared {
    dx: f64,
    dy: f64,
    /// Unit vector from `b`'s reference point to `a`'s, and how far that is.
    ux: f32,
    uy: f32,
    far: f32,
    /// The slab along that vector.
    near: f32,
    deep: f32,
    /// The box.
    low: [f32; 2],
    high: [f32; 2],
}

impl Shared {
    /// `None` where a line parts the two.
    #[inline(always)]
    pub(crate) fn of(a: &Form, b: &Form, dx: f64, dy: f64) -> Option<Self> {
        let far = dx.hypot(dy);
        let (ux, uy) = if far > 0.0 { (dx / far, dy / far) } else { (1.0, 0.0) };
        let (ux, uy, far) = (ux as f32, uy as f32, far as f32);
        let slip = SLIP * ((a.round + b.round) as f32 + far);
        let near = far + least_along(a, ux, uy) - slip;
        let deep = -least_along(b, -ux, -uy) + slip;
        (near <= deep).then(|| Self {
            dx,
            dy,
            ux,
            uy,
            far,
            near,
            deep,
            low: [
                (a.low[0] + dx).max(b.low[0]) as f32 - slip,
                (a.low[1] + dy).max(b.low[1]) as f32 - slip,
            ],
            high: [
                (a.high[0] + dx).min(b.high[0]) as f32 + slip,
                (a.high[1] + dy).min(b.high[1]) as f32 + slip,
            ],
        })
    }

    /// Whether a side of `a` has a point in common with a side of `b`.
    #[inline(always)]
    pub(crate) fn sides_cross(&self, a: &Form, b: &Form) -> bool {
        let (dx, dy) = (self.dx as f32, self.dy as f32);
        let of_a = Reaching {
            low: [self.low[0] - dx, self.low[1] - dy],
            high: [self.high[0] - dx, self.high[1] - dy],
            along: [-self.ux, -self.uy],
            least: self.far - self.deep,
        };
        let of_b = Reaching {
            low: self.low,
            high: self.high,
            along: [self.ux, self.uy],
            least: self.near,
        };
        let mut next_a = 0;
        while next_a < a.sides() {
            let first = Block::filled(a, &of_a, &mut next_a, self.dx, self.dy);
            let mut next_b = 0;
            while first.count > 0 && next_b < b.sides() {
                let second = Block::filled(b, &of_b, &mut next_b, 0.0, 0.0);
                if first.crosses(&second) {
                    return true;
                }
            }
        }
        false
    }
}

/// How far the form reaches least in a direction.
#[inline(always)]
fn least_along(form: &Form, ux: f32, uy: f32) -> f32 {
    let mut least = [f32::MAX; WIDE];
    for at in (0..form.fx.len()).step_by(WIDE) {
        let (x, y) = (eight(&form.fx, at), eight(&form.fy, at));
        for l in 0..WIDE {
            least[l] = smaller(least[l], x[l] * ux + y[l] * uy);
        }
    }
    let mut of_all = f32::MAX;
    for l in least {
        of_all = smaller(of_all, l);
    }
    of_all
}

#[inline(always)]
fn eight(values: &[f32], at: usize) -> [f32; WIDE] {
    let mut lanes = [0.0; WIDE];
    lanes.copy_from_slice(&values[at..at + WIDE]);
    lanes
}

/// Which sides are looked at: those that reach into a box and at least so far along a direction.
struct Reaching {
    low: [f32; 2],
    high: [f32; 2],
    along: [f32; 2],
    least: f32,
}

impl Reaching {
    /// One bit for each of the eight sides from `first` on.
    #[inline(always)]
    fn mask(&self, form: &Form, first: usize) -> u32 {
        let (x0, y0) = (eight(&form.fx, first), eight(&form.fy, first));
        let (x1, y1) = (eight(&form.fx, first + 1), eight(&form.fy, first + 1));
        let [along_x, along_y] = self.along;
        let mut mask = 0;
        for l in 0..WIDE {
            let (from, to) = (x0[l] * along_x + y0[l] * along_y, x1[l] * along_x + y1[l] * along_y);
            let reaches = (larger(from, to) >= self.least)
                & (larger(x0[l], x1[l]) >= self.low[0])
                & (smaller(x0[l], x1[l]) <= self.high[0])
                & (larger(y0[l], y1[l]) >= self.low[1])
                & (smaller(y0[l], y1[l]) <= self.high[1]);
            mask |= u32::from(reaches) << l;
        }
        mask
    }
}

/// Sides, each from one corner to the next.
struct Block {
    count: usize,
    x0: [f64; BLOCK],
    y0: [f64; BLOCK],
    x1: [f64; BLOCK],
    y1: [f64; BLOCK],
}

/// Where sides stand that fill up a block: beyond everything.
const NOWHERE: f64 = 1e30;

impl Block {
    /// The sides of `form`, moved by `(dx, dy)`, that are looked at, from side `next` on as long as there is room.
    #[inline(always)]
    fn filled(form: &Form, reaching: &Reaching, next: &mut usize, dx: f64, dy: f64) -> Self {
        let mut block = Self {
            count: 0,
            x0: [NOWHERE; BLOCK],
            y0: [NOWHERE; BLOCK],
            x1: [NOWHERE; BLOCK],
            y1: [NOWHERE; BLOCK],
        };
        let sides = form.sides();
        while *next < sides && block.count + WIDE <= BLOCK {
            let mut mask = reaching.mask(form, *next);
            while mask != 0 {
                let i = *next + mask.trailing_zeros() as usize;
                mask &= mask - 1;
                if i >= sides {
                    break;
                }
                let at = block.count;
                (block.x0[at], block.y0[at]) = (form.xs[i] + dx, form.ys[i] + dy);
                (block.x1[at], block.y1[at]) = (form.xs[i + 1] + dx, form.ys[i + 1] + dy);
                block.count += 1;
            }
            *next += WIDE;
        }
        block
    }

    /// Whether a side of one has a point in common with a side of the other.
    #[inline(always)]
    fn crosses(&self, other: &Self) -> bool {
        for i in 0..self.count {
            if other.crosses_side(self.x0[i], self.y0[i], self.x1[i], self.y1[i]) {
                return true;
            }
        }
        false
    }

    #[inline(always)]
    fn crosses_side(&self, px: f64, py: f64, qx: f64, qy: f64) -> bool {
        let (ux, uy) = (qx - px, qy - py);
        let (low_x, high_x) = (smaller(px, qx), larger(px, qx));
        let (low_y, high_y) = (smaller(py, qy), larger(py, qy));
        for first in (0..self.count).step_by(FOUR) {
            let mut meets = false;
            for l in 0..FOUR {
                let at = first + l;
                let (x0, y0, x1, y1) = (self.x0[at], self.y0[at], self.x1[at], self.y1[at]);
                let (vx, vy) = (x1 - x0, y1 - y0);
                let (ex, ey) = (x0 - px, y0 - py);
                let (fx, fy) = (x1 - px, y1 - py);
                let (gx, gy) = (qx - x0, qy - y0);
                let s = (ux * ey - uy * ex) * (ux * fy - uy * fx);
                let t = (vy * ex - vx * ey) * (vx * gy - vy * gx);
                meets |= (s <= 0.0)
                    & (t <= 0.0)
                    & (low_x <= larger(x0, x1))
                    & (smaller(x0, x1) <= high_x)
                    & (low_y <= larger(y0, y1))
                    & (smaller(y0, y1) <= high_y);
            }
            if meets {
                return true;
            }
        }
        false
    }
}
