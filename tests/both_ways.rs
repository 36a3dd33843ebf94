//! Straight-run and shaped: both are tried, and the better one that holds is kept.

use cullet::Exit;
use cullet_model::Plan;
use cullet_model::figures::Figures;
use cullet_planner::Objective;
use cullet_tests::shapes::{Random, outlines};
use cullet_tests::{Bench, Checked, bare_glass, job};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// One job planned with its glass's layout as said.
fn planned(seed: u64, layout: &str, rounds: u64) -> Result<Plan, Box<dyn std::error::Error>> {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let kind = if seed.is_multiple_of(3) { 5 } else { (seed % 5) as usize };
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

fn cents(figures: &Figures) -> i64 {
    (figures.net_cost() * 100.0).round() as i64
}

/// Mixed jobs, each planned with one way, with the other and with both, with as many rounds in all: what is kept is the better of
/// what was tried, and since the effort goes where it does most, both together come to no more than 3 % above the better way with half of
/// it. `CULLET_BOTH_WAYS` says how many jobs.
#[test]
fn the_better_of_two_ways_is_kept() -> Checked {
    let count: u64 = std::env::var("CULLET_BOTH_WAYS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(5);
    let (mut wrong, mut straight_runs) = (vec![], 0);
    let (mut all_better, mut all_both) = (0, 0);
    for seed in 0..count {
        let shaped = planned(seed, "shaped", 4)?;
        let straight = planned(seed, "straight-run", 4)?;
        let both = planned(seed, "either", 8)?;
        straight_runs += u64::from(Objective::of_plan(&straight) < Objective::of_plan(&shaped));
        all_better += cents(&shaped.figures).min(cents(&straight.figures));
        all_both += cents(&both.figures);
        let tried = &both.glasses[0].tried;
        let is_best = tried.len() == 2
            && tried[0].figures == both.figures
            && (tried[0].unplaced, cents(&tried[0].figures)) <= (tried[1].unplaced, cents(&tried[1].figures));
        if !is_best {
            wrong.push(format!("seed {seed}: {tried:?}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {count}:\n{}", wrong.len(), wrong.join("\n"));
    assert!(
        all_both as f64 <= 1.03 * all_better as f64,
        "both {all_both}, the better {all_better}"
    );
    // Neither way is always the better one, or there would be nothing to try.
    assert!(
        count < 5 || (1..count).contains(&straight_runs),
        "{straight_runs} of {count}"
    );
    Ok(())
}

/// Two hundred quarries of 100 × 150 mm on 610 × 1220 mm with 10 mm of trim. Parallel rows give 84 on a sheet, by arithmetic:
/// a side is √(50² + 75²) = 90.14 mm and the quarry 7500 / 90.14 = 83.2 mm wide across it, so seven columns lie in 590 mm, with
/// twelve quarries each: 12 × 90.14 mm, and 34.7 mm more since their ends lean, are less than 1200 mm.
#[test]
fn sharing_scores_is_worth_what_the_readme_says() -> Checked {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/quarries");
    let mut job: Value = serde_json::from_str(&fs::read_to_string(folder.join("job.json"))?)?;
    let stock = fs::read_to_string(folder.join("stock.csv"))?;
    let mut plans = vec![];
    for layout in ["straight-run", "shaped"] {
        job["glasses"][0]["layout"] = json!(layout);
        let bench = Bench::new()?;
        let outcome = bench.plan(&job, &stock, &["--rounds", "12", "--seed", "1"])?;
        assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
        plans.push(bench.checked_plan()?);
    }
    let full = |plan: &Plan| plan.glasses[0].layouts.iter().map(|l| l.placements.len()).max();
    assert_eq!((full(&plans[0]), full(&plans[1])), (Some(84), Some(72)));
    let yields = [0, 1].map(|i: usize| plans[i].figures.yield_share());
    assert!(yields[0] > 0.82 && yields[1] < 0.75, "{yields:?}");
    Ok(())
}
