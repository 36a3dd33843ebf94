//! Every piece is cut as often as the job asks, or named as unplaced; spares may be left out.

use super::{Check, Plan, copy_name, is_usable, layouts, piece_name};
use cullet_job::{Piece, PieceId};
use std::collections::{BTreeMap, BTreeSet};

pub(super) fn check(check: &mut Check<'_>, plan: &Plan) {
    let copies = placed(check, plan);
    let unplaced = plan.unplaced.iter().map(|entry| (&entry.id, entry.count));
    let unplaced = named(check, unplaced, "named as unplaced, but the job has no such piece");
    let left_out = plan.spares_left_out.iter().map(|entry| (&entry.id, entry.count));
    let unknown = "spares are named as left out, but the job has no such piece";
    let left_out = named(check, left_out, unknown);
    let job = check.job;
    for piece in &job.pieces {
        let of = |counts: &BTreeMap<&PieceId, u64>| counts.get(&piece.id).copied().unwrap_or(0);
        check_piece(check, piece, &copies, of(&unplaced), of(&left_out));
    }
}

/// Every copy that lies on glass of its kind, once each; what else lies there is a fault.
fn placed<'p>(check: &mut Check<'_>, plan: &'p Plan) -> BTreeSet<(&'p PieceId, u32)> {
    let mut copies = BTreeSet::new();
    for (glass_plan, layout) in layouts(plan) {
        for placement in &layout.placements {
            let name = copy_name(placement);
            let Some(piece) = check.piece(&placement.id) else {
                check.fault(layout.number, name, "the job has no such piece");
                continue;
            };
            if !is_usable(placement) {
                check.fault(layout.number, &name, "its position is not a usable number");
            }
            let glass = &check.job.glasses[piece.glass].code;
            if *glass != glass_plan.glass || *glass != layout.stock.glass {
                let what = format!("it lies on {}, it is to be cut from {glass}", layout.stock.glass);
                check.fault(layout.number, &name, what);
            }
            let last = piece.quantity.saturating_add(piece.spares);
            if placement.copy == 0 || placement.copy > last {
                let what = format!("copies run from 1 to {last}");
                check.fault(layout.number, &name, what);
            } else if placement.spare != (placement.copy > piece.quantity) {
                let what = format!(
                    "copies 1 to {} are the panels' own, those from there to {last} are spares",
                    piece.quantity
                );
                check.fault(layout.number, &name, what);
            }
            if !copies.insert((&placement.id, placement.copy)) {
                check.fault(layout.number, name, "the same copy is placed twice");
            }
        }
    }
    copies
}

/// How many of each piece are named in such a list.
fn named<'p>(
    check: &mut Check<'_>,
    list: impl Iterator<Item = (&'p PieceId, u32)>,
    unknown: &str,
) -> BTreeMap<&'p PieceId, u64> {
    let mut counts = BTreeMap::new();
    for (id, count) in list {
        if !check.pieces.contains_key(id) {
            check.fault(0, piece_name(id), unknown);
        }
        *counts.entry(id).or_default() += u64::from(count);
    }
    counts
}

/// All copies of a piece are placed or named, and no more spares are left out than it has.
fn check_piece(
    check: &mut Check<'_>,
    piece: &Piece,
    copies: &BTreeSet<(&PieceId, u32)>,
    unplaced: u64,
    spares_left_out: u64,
) {
    let from = |first: u32| copies.range((&piece.id, first)..=(&piece.id, u32::MAX)).count() as u64;
    let asked = u64::from(piece.quantity) + u64::from(piece.spares);
    let placed = from(0);
    if placed + unplaced + spares_left_out != asked {
        let what = format!(
            "{asked} asked for ({} spare), {placed} placed and {unplaced} named as unplaced{}",
            piece.spares,
            match spares_left_out {
                0 => String::new(),
                n => format!(", {n} spares left out"),
            }
        );
        check.fault(0, piece_name(&piece.id), what);
    }
    let spares_laid = from(piece.quantity.saturating_add(1));
    if spares_left_out > 0 && spares_laid + spares_left_out > u64::from(piece.spares) {
        let what = format!(
            "{spares_left_out} spares are named as left out and {spares_laid} are laid, it has {}",
            piece.spares
        );
        check.fault(0, piece_name(&piece.id), what);
    }
}
