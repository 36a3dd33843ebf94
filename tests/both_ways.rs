//! Straight-run and shaped: both are tried, and the better one that holds is kept.

use cullet::Exit;
use cullet_plan::figures::Figures;
use cullet_plan::model::Plan;
use cullet_tests::shapes::{Random, outlines};
use cullet_tests::{Bench, Checked, bare_glass, job};
use serde_json::{Value, json};

/// One job planned with its glass's layout as said.
fn planned(seed: u64, layout: &str, rounds: u64) -> Result<Plan, Box<dyn std::error::Error>> {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let kind = if seed % 3 == 0 { 5 } else { (seed % 5) as usize };
    let pieces: Vec<Value> = outlines(kind, &mut r)
        .iter()
        .enumerate()
        .map(|(i, data)| json!({ "number": (i + 1).to_string(), "glass": "A", "outline": data }))
        .collect();
    let mut glass = bare_glass("A", 3.0);
    glass["narrowest_strip"] = json!(6.0);
    glass["edge_trim"] = json!(10.0);
    glass["layout"] = json!(layout);
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,610,1220,buy\n";
    let bench = Bench::new()?;
    let rounds = rounds.to_string();
    let outcome = bench.plan(&job(&[glass], 1, &pieces), stock, &["--rounds", &rounds, "--seed", "1"])?;
    if outcome.exit != Exit::Done {
        return Err(format!("seed {seed}, {layout}: {:?}: {}", outcome.exit, outcome.err).into());
    }
    bench.checked_plan()
}

/// The order of a plan's worth: net cost in cents, sheets, the largest offcut in mm².
fn worth(plan: &Plan) -> (i64, usize, i64) {
    let layouts = &plan.glasses[0].layouts;
    let returned = layouts.iter().flat_map(|l| &l.returned);
    let largest = returned.map(cullet_geometry::Outline::area).fold(0.0, f64::max);
    (cents(&plan.figures), layouts.len(), -(largest.round() as i64))
}

fn cents(figures: &Figures) -> i64 {
    (figures.net_cost() * 100.0).round() as i64
}

/// Thirty mixed jobs, each planned with one way, with the other and with both: as many rounds for each way. `CULLET_BOTH_WAYS`
/// says how many of them.
#[test]
fn the_better_of_two_ways_is_kept() -> Checked {
    let count: u64 = std::env::var("CULLET_BOTH_WAYS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(5);
    let (mut wrong, mut straight_runs) = (vec![], 0);
    for seed in 0..count {
        let shaped = planned(seed, "shaped", 8)?;
        let straight = planned(seed, "straight-run", 8)?;
        let both = planned(seed, "either", 16)?;
        let better = worth(&shaped).min(worth(&straight));
        straight_runs += u32::from(worth(&straight) < worth(&shaped));
        if worth(&both) != better || both.glasses[0].tried.len() != 2 {
            let all = [&shaped, &straight, &both].map(worth);
            wrong.push(format!("seed {seed}: shaped, straight-run, both: {all:?}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {count}:\n{}", wrong.len(), wrong.join("\n"));
    println!("straight-run was better in {straight_runs} of {count}");
    Ok(())
}

/// Quarries of 100 × 150 mm: shared scores lay more on a sheet than 6 mm between neighbours.
#[test]
fn on_straight_sides_straight_runs_save_glass() -> Checked {
    let quarry = json!({ "number": "1", "glass": "A", "outline": "M50 0 L100 75 L50 150 L0 75 Z" });
    let mut net = vec![];
    for layout in ["straight-run", "shaped"] {
        let mut glass = bare_glass("A", 3.0);
        glass["narrowest_strip"] = json!(6.0);
        glass["edge_trim"] = json!(10.0);
        glass["layout"] = json!(layout);
        let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,610,1220,buy\n";
        let bench = Bench::new()?;
        let outcome = bench.plan(
            &job(&[glass], 100, std::slice::from_ref(&quarry)),
            stock,
            &["--rounds", "8", "--seed", "1"],
        )?;
        assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
        net.push(bench.checked_plan()?.figures.net_cost());
    }
    assert!(net[0] < net[1], "{net:?}");
    Ok(())
}
