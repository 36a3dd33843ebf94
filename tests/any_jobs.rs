//! Small random jobs over all settings: each ends, with a plan that the verifier passes.
//!
//! A few are run each time; `CULLET_ANY_JOBS=10000` runs so many, `CULLET_ANY_JOBS_FROM=500` from that seed on. `CULLET_PLANS=FOLDER`
//! keeps the job and the stock list of each that goes wrong there.

#![allow(clippy::print_stderr, reason = "a long run tells where it is")]

use cullet::Exit;
use cullet_tests::any_job::any_job;
use cullet_tests::{Bench, Checked};
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

/// A job that takes longer than this, in the least effort there is, does not end.
const LONGEST: Duration = Duration::from_secs(300);

#[derive(Debug, Default)]
struct Tally {
    done: u32,
    unplaced: u32,
    refused: u32,
    wrong: Vec<String>,
}

fn one(seed: u64, tally: &mut Tally) -> Checked {
    let (job, stock) = any_job(seed);
    let bench = Bench::new()?;
    let began = Instant::now();
    // Effort in rounds repeats, but the least of it is seconds; most jobs are searched for a moment only.
    let effort: &[&str] = if seed.is_multiple_of(10) {
        &["--rounds", "1", "--seed", "1"]
    } else {
        &["--seconds", "0.05", "--threads", "1", "--seed", "1"]
    };
    let outcome = bench.plan_within(&job, &stock, effort, LONGEST)?;
    if std::env::var_os("CULLET_ANY_JOBS_TOLD").is_some() {
        eprintln!("{seed} {:?} {:.2} s", outcome.exit, began.elapsed().as_secs_f64());
    }
    match outcome.exit {
        Exit::Done => tally.done += 1,
        Exit::Unplaced => tally.unplaced += 1,
        Exit::BadInput => {
            tally.refused += 1;
            return Ok(());
        }
        exit => return Err(format!("{exit:?}: {}", outcome.err).into()),
    }
    if outcome.err.contains("stopped early") {
        return Err("it does not end".into());
    }
    let plan = bench.checked_plan()?;
    // What is proven to be the least must not be above what a plan comes to.
    let net = plan.figures.net_cost();
    match cullet_planner::least::of_plan(&plan) {
        Some(least) if least > net + 1e-6 => Err(format!("at least {least}, but it costs {net}").into()),
        _ => Ok(()),
    }
}

fn keep(seed: u64) -> Checked {
    let Some(folder) = std::env::var_os("CULLET_PLANS") else {
        return Ok(());
    };
    let folder = Path::new(&folder).join(seed.to_string());
    fs::create_dir_all(&folder)?;
    let (job, stock) = any_job(seed);
    fs::write(folder.join("job.json"), job.to_string())?;
    fs::write(folder.join("stock.csv"), stock)?;
    Ok(())
}

#[test]
fn every_random_job_ends_with_a_plan_that_passes() {
    let number = |name: &str| std::env::var(name).ok().and_then(|n| n.parse::<u64>().ok());
    let from = number("CULLET_ANY_JOBS_FROM").unwrap_or(0);
    let count = number("CULLET_ANY_JOBS").unwrap_or(24);
    let mut tally = Tally::default();
    for seed in from..from + count {
        if let Err(error) = one(seed, &mut tally) {
            keep(seed).unwrap_or_else(|error| eprintln!("seed {seed}: not kept: {error}"));
            eprintln!("seed {seed}: {error}");
            tally.wrong.push(format!("seed {seed}: {error}"));
        }
    }
    eprintln!(
        "{} planned, {} in part, {} refused, {} wrong",
        tally.done,
        tally.unplaced,
        tally.refused,
        tally.wrong.len()
    );
    assert!(
        tally.wrong.is_empty(),
        "{} of {count}:\n{}",
        tally.wrong.len(),
        tally.wrong.join("\n")
    );
    assert!(
        u64::from(tally.refused) * 20 <= count,
        "{} of {count} were refused",
        tally.refused
    );
}
