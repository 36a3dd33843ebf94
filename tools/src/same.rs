//! Two builds of the program held against each other: plans of five jobs, all but the digests of the files beside them, whose words may
//! change. A change that only moves code changes none.

use crate::{big, windows};
use anyhow::{Context, Result, ensure};
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Rounds of each plan: enough that every stage of the search is passed through, few enough for a developer to wait.
const ROUNDS: &str = "6";
/// Seed of each plan.
const SEED: &str = "7";

/// Plans every job with both programs and returns a line for each job; the demo, the quarries, a job of 300 pieces, two windows.
///
/// # Errors
/// When a program cannot be run or leaves no plan.
pub fn table(one: &Path, other: &Path) -> Result<String> {
    let home = tempfile::tempdir()?;
    big::write(&home.path().join("big"), 300, 30)?;
    windows::write(&home.path().join("windows"), 1)?;
    let made = |name: &str| home.path().join(name);
    let jobs: [(&str, PathBuf); 5] = [
        ("demo", "fixtures/lighthouse".into()),
        ("quarries", "fixtures/quarries".into()),
        ("big", made("big")),
        ("petals", made("windows/petals")),
        ("lattice", made("windows/lattice")),
    ];
    let (mut lines, mut differing) = (String::new(), 0);
    for (name, job) in &jobs {
        let [a, b] = [(one, "one"), (other, "other")]
            .map(|(program, out)| plan(program, job, &home.path().join(out).join(name)));
        let is_same = a? == b?;
        differing += u32::from(!is_same);
        writeln!(lines, "{name}: {}", if is_same { "the same" } else { "another plan" })?;
    }
    ensure!(differing == 0, "{lines}{differing} plans differ");
    Ok(lines)
}

/// The plan that a program makes of a job.
fn plan(program: &Path, job: &Path, out: &Path) -> Result<Value> {
    let status = Command::new(program)
        .arg("plan")
        .arg(job.join("job.json"))
        .arg("--stock")
        .arg(job.join("stock.csv"))
        .arg("--out")
        .arg(out)
        .args(["--rounds", ROUNDS, "--seed", SEED])
        .output()
        .with_context(|| format!("{} cannot be run", program.display()))?;
    let plan = fs::read(out.join("plan.json"));
    let plan = plan.with_context(|| format!("no plan: {}", String::from_utf8_lossy(&status.stderr)))?;
    let mut plan: Value = serde_json::from_slice(&plan)?;
    plan["files"].take();
    Ok(plan)
}
