//! Every sheet pulled is in the stock list, of the right glass, and pulled once; its rules are its glass's own.

use super::{Check, Layout, Plan, layouts};
use cullet_rack::Count;
use std::collections::{BTreeMap, BTreeSet};

/// How far a recorded rule may differ from the glass's, mm.
const SAME: f64 = 1e-9;

pub(super) fn check(check: &mut Check<'_>, plan: &Plan) {
    tags_are_unique(check, plan);
    glasses_in_order(check, plan);
    buy_lists(check, plan);
    let mut pulled: BTreeSet<(&str, u32)> = BTreeSet::new();
    for (index, (glass_plan, layout)) in layouts(plan).enumerate() {
        let name = sheet_name(layout);
        if usize::try_from(layout.number).ok() != Some(index + 1) {
            let what = format!("its sheet map is number {}, it should be {}", layout.number, index + 1);
            check.fault(layout.number, &name, what);
        }
        if layout.stock.glass != glass_plan.glass {
            let what = format!("it is {}, it is pulled for {}", layout.stock.glass, glass_plan.glass);
            check.fault(layout.number, &name, what);
        }
        if layout.placements.is_empty() {
            check.fault(layout.number, &name, "it is pulled, but no piece lies on it");
        }
        match plan.stock.items.iter().find(|i| i.tag == layout.stock.tag) {
            None => check.fault(layout.number, &name, "the stock list has no such tag"),
            Some(item) if *item != layout.stock => {
                check.fault(layout.number, &name, "it is not as the stock list says");
            }
            Some(_) => {}
        }
        let there_is = match layout.stock.count {
            Count::OnHand(count) => (1..=count).contains(&layout.copy),
            Count::ToBuy => layout.copy > 0,
        };
        if !there_is {
            let what = format!(
                "copy {} is pulled, there is {}",
                layout.copy,
                count_name(layout.stock.count)
            );
            check.fault(layout.number, &name, what);
        }
        if !pulled.insert((&layout.stock.tag, layout.copy)) {
            check.fault(layout.number, &name, "the same one is pulled twice");
        }
        rules(check, layout);
    }
}

/// The rules recorded with a layout are those of its glass: a piece stays the edge trim from the sheet's edge and, from its
/// neighbours, the narrowest strip and the score kerf; in a straight-run layout they share scores, the kerf apart.
fn rules(check: &mut Check<'_>, layout: &Layout) {
    let Some(glass) = check.glass(&layout.stock.glass) else {
        return;
    };
    let name = sheet_name(layout);
    let clearance = check.clearance(layout, glass);
    for (rule, recorded, asked) in [
        ("edge trim", layout.edge_trim, glass.edge_trim),
        ("clearance", layout.clearance, clearance),
    ] {
        // Written so that a NaN is a fault.
        let agrees = (recorded - asked).abs() <= SAME;
        if !agrees {
            let what = format!(
                "{rule} recorded as {recorded:.3} mm, {} asks for {asked:.3} mm",
                glass.code
            );
            check.fault(layout.number, &name, what);
        }
    }
}

fn tags_are_unique(check: &mut Check<'_>, plan: &Plan) {
    let mut seen = BTreeSet::new();
    for item in &plan.stock.items {
        if !seen.insert(&item.tag) {
            check.fault(0, format!("stock {}", item.tag), "the stock list has this tag twice");
        }
    }
}

/// Glasses stand in the job's order, each once.
fn glasses_in_order(check: &mut Check<'_>, plan: &Plan) {
    let mut next = 0;
    for glass_plan in &plan.glasses {
        let place = format!("glass {}", glass_plan.glass);
        match check.job.glasses.iter().position(|g| g.code == glass_plan.glass) {
            None => check.fault(0, place, "the job has no such glass"),
            Some(at) if at < next => check.fault(0, place, "it is listed twice or out of the job's order"),
            Some(at) => next = at + 1,
        }
    }
}

/// The buy list of each glass names just the sheets to buy that its layouts need.
fn buy_lists(check: &mut Check<'_>, plan: &Plan) {
    for glass in &plan.glasses {
        let mut needed: BTreeMap<&str, u32> = BTreeMap::new();
        for layout in glass.layouts.iter().filter(|l| l.stock.count == Count::ToBuy) {
            *needed.entry(&layout.stock.tag).or_default() += 1;
        }
        let listed: BTreeMap<&str, u32> = glass.buy.iter().map(|l| (l.tag.as_str(), l.count)).collect();
        if needed != listed || listed.len() != glass.buy.len() {
            let what = format!("its buy list says {listed:?}, its layouts need {needed:?}");
            check.fault(0, format!("glass {}", glass.glass), what);
        }
    }
}

pub(super) fn sheet_name(layout: &Layout) -> String {
    format!("stock {}, copy {}", layout.stock.tag, layout.copy)
}

fn count_name(count: Count) -> String {
    match count {
        Count::OnHand(count) => format!("{count} on hand"),
        Count::ToBuy => "any number to buy, counted from 1".into(),
    }
}
