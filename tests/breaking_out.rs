//! Random jobs of six kinds, every piece of which must be freed by a breaking order that the verifier replays.
//!
//! A few are run each time; `CULLET_RANDOM_JOBS=200` runs so many, and `CULLET_PLANS=FOLDER` keeps their plans there, for
//! `cullet-tools bends`.

use cullet::Exit;
use cullet_tests::shapes::{Random, outlines};
use cullet_tests::{Bench, Checked, bare_glass, job};
use serde_json::{Value, json};

fn one(seed: u64) -> Result<(), String> {
    let mut r = Random(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let kind = (seed % 6) as usize;
    let layout = ["shaped", "either", "straight-run"][(seed / 6 % 3) as usize];
    let pieces: Vec<Value> = outlines(kind, &mut r)
        .iter()
        .enumerate()
        .map(|(i, data)| json!({ "number": (i + 1).to_string(), "glass": "A", "outline": data }))
        .collect();
    let mut glass = bare_glass("A", 3.0);
    glass["narrowest_strip"] = json!(6.0);
    glass["edge_trim"] = json!(if r.next() < 0.5 { 10.0 } else { 0.0 });
    glass["grind_allowance"] = json!(if r.next() < 0.5 { 0.5 } else { 0.0 });
    glass["may_turn_over"] = json!(r.next() < 0.5);
    glass["layout"] = json!(layout);
    if r.next() < 0.3 {
        glass["grain"] = json!("two-ways");
        glass["grain_tolerance"] = json!(3.0);
    }
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,610,1220,buy\n";
    let told = |error: Box<dyn std::error::Error>| format!("seed {seed}: {error}");
    let bench = Bench::new().map_err(told)?;
    let job = job(&[glass], 1, &pieces);
    let outcome = bench
        .plan(&job, stock, &["--rounds", "8", "--seed", "1"])
        .map_err(told)?;
    if outcome.exit != Exit::Done {
        return Err(format!(
            "seed {seed}, kind {kind}, {layout}: {:?}: {}",
            outcome.exit, outcome.err
        ));
    }
    let plan = bench.checked_plan().map_err(told)?;
    if let Some(folder) = std::env::var_os("CULLET_PLANS") {
        let folder = std::path::Path::new(&folder).join(seed.to_string());
        std::fs::create_dir_all(&folder).map_err(|e| told(e.into()))?;
        std::fs::copy(bench.path("out").join("plan.json"), folder.join("plan.json")).map_err(|e| told(e.into()))?;
    }
    if plan.figures.pieces as usize != pieces.len() {
        return Err(format!(
            "seed {seed}: {} of {} pieces",
            plan.figures.pieces,
            pieces.len()
        ));
    }
    Ok(())
}

#[test]
fn every_piece_of_random_jobs_is_freed() -> Checked {
    let count: u64 = std::env::var("CULLET_RANDOM_JOBS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(8);
    let wrong: Vec<String> = (0..count).filter_map(|seed| one(seed).err()).collect();
    assert!(wrong.is_empty(), "{} of {count}:\n{}", wrong.len(), wrong.join("\n"));
    Ok(())
}
