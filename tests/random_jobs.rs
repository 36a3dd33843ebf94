//! For random jobs every plan passes the verifier and accounts for every piece.

use cullet::Exit;
use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, piece, sheets};
use proptest::prelude::*;
use serde_json::{Value, json};

/// A convex outline: points on an ellipse at growing angles, so that it never crosses itself.
fn outline() -> impl Strategy<Value = Vec<[f64; 2]>> {
    (30.0..140.0f64, 30.0..140.0f64, 3usize..8, 0.0..1.0f64).prop_map(|(a, b, corners, turn)| {
        (0..corners)
            .map(|i| {
                let angle = (i as f64 + turn) / corners as f64 * std::f64::consts::TAU;
                [a * angle.cos(), b * angle.sin()]
            })
            .collect()
    })
}

#[derive(Debug, Clone)]
struct Case {
    glass: Value,
    pieces: Vec<Value>,
    quantity: u32,
    mirrored: u32,
    sheet: (f64, f64, u32),
    seed: u64,
}

fn case() -> impl Strategy<Value = Case> {
    let glass = (
        0usize..3,
        any::<bool>(),
        any::<bool>(),
        0.0..1.5f64,
        6.0..12.0f64,
        0.0..20.0f64,
    );
    let glass = glass.prop_map(|(grain, turn, face, allowance, strip, trim)| {
        let mut glass = bare_glass("A", 3.0);
        glass["grain"] = json!(["none", "two-ways", "one-way"][grain]);
        if grain > 0 {
            glass["grain_tolerance"] = json!(5.0);
        }
        glass["may_turn_over"] = json!(turn);
        glass["scored_face"] = json!(if face { "show" } else { "back" });
        glass["grind_allowance"] = json!(allowance);
        glass["narrowest_strip"] = json!(strip);
        glass["edge_trim"] = json!(trim);
        glass
    });
    let pieces = prop::collection::vec(outline(), 1..7).prop_map(|outlines| {
        let number = |(i, corners): (usize, &Vec<[f64; 2]>)| piece(&(i + 1).to_string(), "A", corners);
        outlines.iter().enumerate().map(number).collect()
    });
    let sheet = (250.0..700.0f64, 250.0..700.0f64, 1u32..4);
    (glass, pieces, 1u32..3, 0u32..2, sheet, any::<u64>()).prop_map(
        |(glass, pieces, quantity, mirrored, sheet, seed)| Case {
            glass,
            pieces,
            quantity,
            mirrored,
            sheet,
            seed,
        },
    )
}

proptest! {
    // Each case plans a whole job; the search's own properties are tested by the hundred in its crate.
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_plan_holds_and_accounts_for_every_piece(case in case()) {
        let mut job = job(&[case.glass], case.quantity, &case.pieces);
        job["panels"][0]["mirrored_quantity"] = json!(case.mirrored);
        let (width, height, count) = case.sheet;
        let stock = sheets(&[Sheet { tag: "S", glass: "A", width, height, count }]);
        let bench = Bench::new().map_err(|error| TestCaseError::fail(error.to_string()))?;
        let seed = case.seed.to_string();
        let outcome = bench.plan(&job, &stock, &["--rounds", "12", "--seed", &seed])
            .map_err(|error| TestCaseError::fail(error.to_string()))?;
        // Exit code 4 would be a plan that the verifier refused.
        prop_assert!(matches!(outcome.exit, Exit::Done | Exit::Unplaced), "{outcome:?}");
        let plan = bench.checked_plan().map_err(|error| TestCaseError::fail(error.to_string()))?;
        let unplaced: u32 = plan.unplaced.iter().map(|unplaced| unplaced.count).sum();
        let wanted = case.pieces.len() as u32 * (case.quantity + case.mirrored);
        prop_assert_eq!(plan.figures.pieces + unplaced, wanted);
        prop_assert_eq!(unplaced > 0, outcome.exit == Exit::Unplaced);
    }
}

/// Two large pieces, one to a sheet, and small ones beside them: drawing a sheet together once lost a large piece.
#[test]
fn a_piece_with_a_sheet_to_itself_is_not_lost() -> Checked {
    let corners = [
        vec![
            [125.3, 0.0],
            [38.7, 75.5],
            [-101.4, 46.6],
            [-101.4, -46.6],
            [38.7, -75.5],
        ],
        vec![[30.0, 0.0], [-15.0, 26.0], [-15.0, -26.0]],
        vec![[113.5, 0.0], [-56.7, 45.5], [-56.7, -45.5]],
    ];
    let numbered = |(i, corners): (usize, &Vec<[f64; 2]>)| piece(&(i + 1).to_string(), "A", corners);
    let pieces: Vec<Value> = corners.iter().enumerate().map(numbered).collect();
    let mut glass = bare_glass("A", 3.0);
    glass["grain"] = json!("two-ways");
    glass["grain_tolerance"] = json!(5.0);
    glass["may_turn_over"] = json!(false);
    glass["narrowest_strip"] = json!(6.0);
    glass["edge_trim"] = json!(20.0);
    let mut job = job(&[glass], 1, &pieces);
    job["panels"][0]["mirrored_quantity"] = json!(1);
    let stock = sheets(&[Sheet {
        tag: "S",
        glass: "A",
        width: 325.5,
        height: 291.0,
        count: 2,
    }]);
    for seed in ["1", "2", "3"] {
        let bench = Bench::new()?;
        let outcome = bench.plan(&job, &stock, &["--rounds", "20", "--seed", seed])?;
        assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
        assert_eq!(bench.checked_plan()?.figures.pieces, 6);
    }
    Ok(())
}
