//! Every piece is cut as often as the job asks, or named as unplaced; spares may be left out.

use super::{Check, Plan, copy_name, is_usable, layouts, piece_name};
use cullet_job::PieceId;
use std::collections::BTreeMap;

pub(super) fn check(check: &mut Check<'_>, plan: &Plan) {
    let mut times: BTreeMap<(&PieceId, u32), u32> = BTreeMap::new();
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
            let placed = times.entry((&placement.id, placement.copy)).or_default();
            *placed += 1;
            if *placed == 2 {
                check.fault(layout.number, name, "the same copy is placed twice");
            }
        }
    }

    let mut unplaced: BTreeMap<&PieceId, u64> = BTreeMap::new();
    for entry in &plan.unplaced {
        if !check.pieces.contains_key(&entry.id) {
            check.fault(
                0,
                piece_name(&entry.id),
                "named as unplaced, but the job has no such piece",
            );
        }
        *unplaced.entry(&entry.id).or_default() += u64::from(entry.count);
    }
    let mut left_out: BTreeMap<&PieceId, u64> = BTreeMap::new();
    for entry in &plan.spares_left_out {
        if !check.pieces.contains_key(&entry.id) {
            let what = "spares are named as left out, but the job has no such piece";
            check.fault(0, piece_name(&entry.id), what);
        }
        *left_out.entry(&entry.id).or_default() += u64::from(entry.count);
    }
    for piece in &check.job.pieces {
        let asked = u64::from(piece.quantity) + u64::from(piece.spares);
        let placed = times.range((&piece.id, 0)..=(&piece.id, u32::MAX)).count() as u64;
        let named = unplaced.get(&piece.id).copied().unwrap_or(0);
        let spares_left_out = left_out.get(&piece.id).copied().unwrap_or(0);
        if placed + named + spares_left_out != asked {
            let what = format!(
                "{asked} asked for ({} spare), {placed} placed and {named} named as unplaced{}",
                piece.spares,
                match spares_left_out {
                    0 => String::new(),
                    n => format!(", {n} spares left out"),
                }
            );
            check.fault(0, piece_name(&piece.id), what);
        }
        let spares_laid = times
            .range((&piece.id, piece.quantity.saturating_add(1))..=(&piece.id, u32::MAX))
            .count() as u64;
        if spares_left_out > 0 && spares_laid + spares_left_out > u64::from(piece.spares) {
            let what = format!(
                "{spares_left_out} spares are named as left out and {spares_laid} are laid, it has {}",
                piece.spares
            );
            check.fault(0, piece_name(&piece.id), what);
        }
    }
}
