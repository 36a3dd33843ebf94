//! One-lot groups come from one batch of glass.
//!
//! The rule. All pieces of one glass with the same `one_lot` name, whatever their panel and however many panels are made, come
//! from one batch; spares are free. A batch is
//!
//! - every stock item with the same lot written on it;
//! - all sheets to buy of one line without a lot, since they are ordered together and must be ordered as one lot;
//! - otherwise one physical sheet or offcut: of glass on hand without a lot nobody can say where it came from.
//!
//! Two glasses can never be one lot, so a group that names pieces of several glasses is one group in each.

use super::{Check, Layout, Plan, copy_name, layouts};
use cullet_rack::Count;
use std::collections::BTreeMap;

/// One batch of glass.
#[derive(Debug, PartialEq)]
enum Batch<'p> {
    Lot(&'p str),
    Order(&'p str),
    Single(&'p str, u32),
}

impl<'p> Batch<'p> {
    fn of(layout: &'p Layout) -> Self {
        let item = &layout.stock;
        match (&item.lot, item.count) {
            (Some(lot), _) => Self::Lot(lot),
            (None, Count::ToBuy) => Self::Order(&item.tag),
            (None, Count::OnHand(_)) => Self::Single(&item.tag, layout.copy),
        }
    }

    fn name(&self) -> String {
        match self {
            Self::Lot(lot) => format!("lot {lot}"),
            Self::Order(tag) => format!("an order of {tag}"),
            Self::Single(tag, copy) => format!("{tag} copy {copy}, which has no lot"),
        }
    }
}

pub(super) fn check(check: &mut Check<'_>, plan: &Plan) {
    let mut first: BTreeMap<(usize, &str), (Batch<'_>, String)> = BTreeMap::new();
    for (_, layout) in layouts(plan) {
        for placement in layout.placements.iter().filter(|p| !p.spare) {
            let Some(piece) = check.piece(&placement.id) else {
                continue;
            };
            let Some(group) = &piece.one_lot else { continue };
            let batch = Batch::of(layout);
            let Some((taken, by)) = first.get(&(piece.glass, group.as_str())) else {
                first.insert((piece.glass, group), (batch, copy_name(placement)));
                continue;
            };
            if batch != *taken {
                let what = format!(
                    "one-lot group {group}: it comes from {}, {by} comes from {}",
                    batch.name(),
                    taken.name()
                );
                check.fault(layout.number, copy_name(placement), what);
            }
        }
    }
}
