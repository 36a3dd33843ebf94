//! Neighbours of a window in one glass are cut as they lie in it, one score along each lead line, straight or curved.

use cullet::Exit;
use cullet_model::Plan;
use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, sheets};
use cullet_verify::verify;
use serde_json::{Value, json};
use std::error::Error;

/// Plans a drawn panel on one sheet of this size.
fn planned(svg: &str, size: (f64, f64), kerf: f64) -> Result<Plan, Box<dyn Error>> {
    let stock = sheets(&[Sheet {
        tag: "S",
        glass: "A",
        width: size.0,
        height: size.1,
        count: 1,
    }]);
    planned_on(&Bench::new()?, svg, &json!([]), &stock, kerf)
}

/// Plans a drawn panel with details of its pieces on a stock list.
fn planned_on(bench: &Bench, svg: &str, details: &Value, stock: &str, kerf: f64) -> Result<Plan, Box<dyn Error>> {
    bench.write("window.svg", svg)?;
    let mut glass = bare_glass("A", 3.0);
    glass["grind_allowance"] = json!(0.5);
    glass["narrowest_strip"] = json!(6.0);
    let mut job = job(&[glass], 1, &[]);
    job["settings"] = json!({ "score_kerf": kerf });
    job["y"] = json!("down");
    job["panels"][0]["drawing"] = json!({ "file": "window.svg", "glass": "A", "details": details });
    let outcome = bench.plan(&job, stock, &["--rounds", "10"])?;
    if outcome.exit != Exit::Done {
        return Err(format!("{outcome:?}").into());
    }
    bench.checked_plan()
}

/// 400 × 600 mm: five bands of landscape parted by waves of 24 mm, and a stem that winds down through them.
fn landscape() -> String {
    let bands: String = (1..5)
        .map(|k| {
            let y = 120 * k;
            format!(
                "M 0 {y} C 70 {} 130 {} 200 {y} S 330 {} 400 {y} ",
                y - 24,
                y - 24,
                y + 24
            )
        })
        .collect();
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="600mm" viewBox="0 0 400 600" fill="none" stroke="black">
        <rect class="border" width="400" height="600"/><path d="{bands}"/><path d="M 190 0 C 230 200 170 400 215 600"/></svg>"#
    )
}

/// A panel that is all one glass without grain needs its own area and what the leads take: on a sheet of its size the yield is
/// over 95 % (area of the cut outlines by that of the sheet), and every piece lies as it does in the window. The same with a score kerf.
#[test]
fn a_window_of_one_glass_takes_a_sheet_of_its_size() -> Checked {
    for kerf in [0.0, 0.2] {
        let plan = planned(&landscape(), (401.0, 601.0), kerf)?;
        assert_eq!((plan.figures.pieces, plan.unplaced.len()), (10, 0), "kerf {kerf}");
        let yielded = plan.figures.used / (401.0 * 601.0);
        assert!(yielded > 0.95, "kerf {kerf}: {yielded}");
        let placements = &plan.glasses[0].layouts[0].placements;
        let first = placements[0].pose;
        let turned = |p: &cullet_model::Placement| (p.pose.rotation_deg - first.rotation_deg).abs();
        assert!(placements.iter().all(|p| turned(p) < 1e-6), "{placements:?}");
    }
    Ok(())
}

/// The two halves of a disc share their diameter, and the scores round it are its own.
#[test]
fn two_half_discs_share_their_diameter() -> Checked {
    let disc = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300" fill="none" stroke="black">
        <circle class="border" cx="150" cy="150" r="150"/><path d="M 150 0 V 300"/></svg>"#;
    let plan = planned(disc, (330.0, 330.0), 0.0)?;
    assert_eq!((plan.figures.pieces, plan.unplaced.len()), (2, 0));
    // Without a shared score they would lie a strip of 6 mm apart.
    let cut = |i: usize| {
        let placement = &plan.glasses[0].layouts[0].placements[i];
        let piece = plan.pieces.iter().find(|p| p.id == placement.id);
        piece.map(|p| p.cut.posed(&placement.pose)).ok_or("the piece")
    };
    let apart = cut(0)?.distance_to(&cut(1)?);
    assert!(apart < 1.0, "{apart}");
    Ok(())
}

/// A piece pushed over the score that it shares comes out short, one pushed away from it too large; the verifier finds both.
#[test]
fn a_piece_off_its_shared_score_is_found() -> Checked {
    let plan = planned(&landscape(), (401.0, 601.0), 0.0)?;
    assert_eq!(verify(&plan), []);
    for by in [-0.5, 0.5] {
        let mut moved = plan.clone();
        moved.glasses[0].layouts[0].placements[4].pose.y += by;
        let faults: Vec<String> = verify(&moved).iter().map(ToString::to_string).collect();
        let is_named = faults.iter().any(|f| f.contains("short") || f.contains("too large"));
        assert!(is_named, "moved by {by}: {faults:?}");
    }
    Ok(())
}

/// A group that must come from one lot is cut as drawn too: the window lies whole on one sheet, though the other is there, and the map
/// says that its lines are shared.
#[test]
fn a_group_of_one_lot_lies_as_drawn() -> Checked {
    let bench = Bench::new()?;
    let numbers: Vec<String> = (1..=10).map(|k| k.to_string()).collect();
    let stock = "kind,tag,glass,units,width,height,count,lot\n\
        sheet,S,A,mm,401,601,1,first\nsheet,T,A,mm,401,601,1,second\n";
    let details = json!([{ "numbers": numbers, "one_lot": "sky" }]);
    let plan = planned_on(&bench, &landscape(), &details, stock, 0.0)?;
    let layouts = &plan.glasses[0].layouts;
    assert_eq!((layouts.len(), layouts[0].placements.len()), (1, 10));
    let map = std::fs::read_to_string(bench.path("out/sheet-1.svg"))?;
    assert!(map.contains("one score for both"), "{map}");
    Ok(())
}
