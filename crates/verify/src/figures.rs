//! Areas, weight and money, worked out again from the placements.

use super::shape::area;
use super::{Check, Layout, Plan};
use cullet_model::figures::Figures;
use cullet_rack::StockKind;

/// How far a figure may be off, as a share of the larger one or of what its sheet draws.
const SHARE: f64 = 1e-9;
/// How far the cullet may fall below nothing, as a share of the area pulled: pieces that fill a sheet may overlap by the tolerance.
const BELOW_NOTHING: f64 = 1e-5;
/// EN 572-1: 2500 kg/m³.
const KG_PER_MM3: f64 = 2.5e-6;

pub(super) fn check(check: &mut Check<'_>, plan: &Plan) {
    let mut job = Figures::default();
    for glass_plan in &plan.glasses {
        let mut glass = Figures::default();
        for layout in &glass_plan.layouts {
            let sheet = of_sheet(check, layout);
            compare(check, layout.number, "figures of the sheet", &layout.figures, &sheet);
            if sheet.cullet < -BELOW_NOTHING * sheet.pulled {
                let what = format!("used and returned exceed pulled by {:.3} mm²", -sheet.cullet);
                check.fault(layout.number, "figures of the sheet", what);
            }
            add(&mut glass, &sheet);
        }
        let place = format!("figures of glass {}", glass_plan.glass);
        compare(check, 0, &place, &glass_plan.figures, &glass);
        if let Some(kept) = glass_plan.tried.first() {
            let place = format!("{place}, the way it is laid out");
            compare(check, 0, &place, &kept.figures, &glass);
            if glass_plan.layouts.iter().any(|l| l.style != kept.style) {
                check.fault(
                    0,
                    place,
                    "a sheet is laid out another way than the first of those tried",
                );
            }
        }
        add(&mut job, &glass);
    }
    compare(check, 0, "figures of the job", &plan.figures, &job);
}

fn of_sheet(check: &Check<'_>, layout: &Layout) -> Figures {
    let item = &layout.stock;
    let mut sheet = Figures {
        pulled: area(&item.outline),
        returned: layout.returned.iter().map(area).sum(),
        ..Figures::default()
    };
    for placement in &layout.placements {
        sheet.pieces += 1;
        if let Some(piece) = check.piece(&placement.id) {
            let finished = area(&piece.finished);
            sheet.used += finished;
            sheet.grinding += area(&piece.cut) - finished;
        }
    }
    sheet.cullet = sheet.pulled - sheet.used - sheet.returned;
    if let Some(glass) = check.glass(&item.glass) {
        let rate = check.job.credit_rate;
        let kg_per_mm2 = KG_PER_MM3 * glass.thickness;
        sheet.pulled_kg = sheet.pulled * kg_per_mm2;
        sheet.used_kg = sheet.used * kg_per_mm2;
        sheet.pulled_cost = item.price.unwrap_or(sheet.pulled * glass.price_per_mm2);
        if item.kind == StockKind::Offcut {
            sheet.pulled_cost *= rate;
        }
        sheet.returned_credit = sheet.returned * glass.price_per_mm2 * rate;
    }
    sheet
}

fn add(to: &mut Figures, part: &Figures) {
    to.pulled += part.pulled;
    to.used += part.used;
    to.returned += part.returned;
    to.cullet += part.cullet;
    to.grinding += part.grinding;
    to.pieces += part.pieces;
    to.pulled_kg += part.pulled_kg;
    to.used_kg += part.used_kg;
    to.pulled_cost += part.pulled_cost;
    to.returned_credit += part.returned_credit;
}

fn compare(check: &mut Check<'_>, sheet: u32, place: &str, recorded: &Figures, worked: &Figures) {
    let (r, w) = (recorded, worked);
    // Differences of large areas carry those areas' rounding: they are held against what was pulled.
    for (name, unit, recorded, worked, scale) in [
        ("pulled", "mm²", r.pulled, w.pulled, 0.0),
        ("used", "mm²", r.used, w.used, 0.0),
        ("returned", "mm²", r.returned, w.returned, 0.0),
        ("cullet", "mm²", r.cullet, w.cullet, w.pulled),
        ("grinding", "mm²", r.grinding, w.grinding, w.used),
        ("weight pulled", "kg", r.pulled_kg, w.pulled_kg, 0.0),
        ("weight used", "kg", r.used_kg, w.used_kg, 0.0),
        ("cost", "", r.pulled_cost, w.pulled_cost, 0.0),
        ("credit", "", r.returned_credit, w.returned_credit, 0.0),
    ] {
        let scale = recorded.abs().max(worked.abs()).max(scale);
        // Written so that a NaN is a fault.
        let agrees = (recorded - worked).abs() <= SHARE * scale;
        if !agrees {
            let what = format!("{name} is {recorded:.3} {unit}, it works out at {worked:.3} {unit}");
            check.fault(sheet, place, what.replace(" ,", ",").trim_end());
        }
    }
    if r.pieces != w.pieces {
        let what = format!("{} pieces, it works out at {}", r.pieces, w.pieces);
        check.fault(sheet, place, what);
    }
}
