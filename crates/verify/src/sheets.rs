//! Pieces on a sheet keep off its edge, its flaws and each other.

use super::breaking::ground_off;
use super::shape::Shape;
use super::{Check, Laid, Sheet, TOLERANCE, copy_name, key};
use rstar::RTree;
use rstar::primitives::{GeomWithData, Rectangle};

pub(super) fn check(check: &mut Check<'_>, sheet: &Sheet<'_>) {
    let layout = sheet.layout;
    // What the glass asks for; `stock` compares what the layout records with it.
    let trim = sheet.glass.map_or(layout.edge_trim, |g| g.edge_trim);
    let clearance = sheet.glass.map_or(layout.clearance, |g| check.clearance(layout, g));
    let flaws: Vec<Shape> = layout.stock.flaws.iter().map(Shape::of).collect();

    for laid in &sheet.laid {
        if let Some(what) = edge_fault(&laid.cut, &sheet.shape, trim) {
            check.piece_fault(sheet, laid.placement, what);
        }
        for (number, flaw) in flaws.iter().enumerate() {
            let depth = overlap(&laid.cut, flaw);
            if depth > TOLERANCE {
                let what = format!("it lies {depth:.3} mm over flaw {} of the sheet", number + 1);
                check.piece_fault(sheet, laid.placement, what);
            }
        }
    }
    let kerf = check.job.score_kerf;
    let near = neighbours(&sheet.laid, clearance);
    // What lies between two pieces that share a score is ground off both.
    let ground_off = ground_off(sheet);
    let joined = joined(sheet.laid.len(), &near, |i, j| {
        let (a, b) = (&sheet.laid[i].cut, &sheet.laid[j].cut);
        let run = || a.shared_run(b, kerf + 2.0 * TOLERANCE);
        let curved = || a.runs_along(b, kerf + 2.0 * (ground_off + TOLERANCE));
        kerf < clearance && (run() >= clearance || curved() >= clearance)
    });
    for (i, j) in near {
        if check.is_full() {
            check.more = true;
            return;
        }
        let (a, b) = (&sheet.laid[i], &sheet.laid[j]);
        // Nearer only among pieces that share scores; that these can be broken the breaking order shows.
        let apart = if joined[i] == joined[j] { kerf } else { clearance };
        if let Some(what) = pair_fault(&a.cut, &b.cut, apart) {
            let place = format!("{} and {}", copy_name(a.placement), copy_name(b.placement));
            check.fault(layout.number, place, what);
            check.at_fault.extend([key(a.placement), key(b.placement)]);
        }
    }
}

/// For each of so many pieces the first that it hangs together with by pairs that share a score.
fn joined(count: usize, near: &[(usize, usize)], shares: impl Fn(usize, usize) -> bool) -> Vec<usize> {
    let mut first: Vec<usize> = (0..count).collect();
    for (i, j) in near.iter().filter(|(i, j)| shares(*i, *j)) {
        let (low, high) = (first[*i].min(first[*j]), first[*i].max(first[*j]));
        for f in &mut first {
            if *f == high {
                *f = low;
            }
        }
    }
    first
}

/// How a piece is too near the sheet's edge, if it is.
fn edge_fault(piece: &Shape, sheet: &Shape, trim: f64) -> Option<String> {
    let Some(gap) = sheet.gap_within(piece, trim.max(TOLERANCE)) else {
        // Far from the edge: all in or all out.
        return (!sheet.holds(piece)).then(|| "it lies off the sheet".into());
    };
    let out = piece.overhang_depth(sheet);
    if out > TOLERANCE {
        return Some(format!("it sticks out {out:.3} mm over the sheet's edge"));
    }
    let needed = trim - TOLERANCE;
    (gap < needed).then(|| format!("{gap:.3} mm from the sheet's edge, the edge trim is {trim:.3} mm"))
}

/// How two pieces are too near each other, if they are.
fn pair_fault(a: &Shape, b: &Shape, clearance: f64) -> Option<String> {
    let needed = clearance - TOLERANCE;
    let depth = overlap(a, b);
    if depth > TOLERANCE {
        return Some(format!("they overlap, {depth:.3} mm deep"));
    }
    let gap = a.gap_within(b, clearance.max(TOLERANCE))?;
    (gap < needed).then(|| format!("{gap:.3} mm apart, at least {clearance:.3} mm are needed"))
}

/// Depth of overlap, worked out only where the two come near each other or one may lie in the other.
pub(super) fn overlap(a: &Shape, b: &Shape) -> f64 {
    if a.gap_within(b, TOLERANCE).is_some() || a.holds(b) || b.holds(a) {
        a.overlap_depth(b)
    } else {
        0.0
    }
}

/// Pairs whose bounds come within `reach` of each other, in the layout's order.
fn neighbours(laid: &[Laid<'_>], reach: f64) -> Vec<(usize, usize)> {
    let boxes = laid.iter().enumerate().map(|(i, l)| {
        let bounds = l.cut.envelope(0.0);
        GeomWithData::new(Rectangle::from_aabb(bounds), i)
    });
    let tree = RTree::bulk_load(boxes.collect());
    let mut pairs = vec![];
    for (i, piece) in laid.iter().enumerate() {
        let near = tree.locate_in_envelope_intersecting(&piece.cut.envelope(reach.max(TOLERANCE)));
        let mut others: Vec<usize> = near.map(|n| n.data).filter(|j| *j > i).collect();
        others.sort_unstable();
        pairs.extend(others.into_iter().map(|j| (i, j)));
    }
    pairs
}
