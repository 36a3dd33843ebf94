//! How sharply the breaks of plans bend: a table over any number of plans.

use anyhow::{Context, Result};
use cullet_model::Plan;
use cullet_verify::{Sharpest, sharpest_bends};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Upper ends of the rows of the table, degrees; the last row has the rest.
const ROWS: [f64; 7] = [1.0, 10.0, 20.0, 30.05, 45.0, 60.0, 90.0];

/// The distribution of how far breaks turn within `stretch` mm where they do not follow the piece that they open, over the
/// plans named (files, or folders with a `plan.json` in them or below), and the sharpest of them.
///
/// # Errors
/// If a plan cannot be read or none is found.
pub fn table(plans: &[PathBuf], stretch: f64) -> Result<String> {
    let mut found = vec![];
    for path in plans {
        collect(path, &mut found)?;
    }
    anyhow::ensure!(!found.is_empty(), "no plan.json in what was named");
    found.sort();
    let mut bends: Vec<(usize, Sharpest)> = vec![];
    for (i, path) in found.iter().enumerate() {
        let text = std::fs::read_to_string(path).with_context(|| path.display().to_string())?;
        let plan: Plan = serde_json::from_str(&text).with_context(|| path.display().to_string())?;
        bends.extend(sharpest_bends(&plan, stretch).into_iter().map(|b| (i, b)));
    }
    let mut out = format!(
        "{} plans, {} breaks: the most that each turns within {stretch} mm\n\nturn           between pieces   opening one\n",
        found.len(),
        bends.len()
    );
    let mut from = 0.0;
    for to in ROWS.into_iter().chain([f64::INFINITY]) {
        let count = |parts: bool| {
            let within = |b: &&(usize, Sharpest)| b.1.parts == parts && b.1.turn_deg >= from && b.1.turn_deg < to;
            bends.iter().filter(within).count()
        };
        let name = if to.is_finite() {
            format!("{from:.0} to {to:.0}°")
        } else {
            format!("over {from:.0}°")
        };
        writeln!(out, "{name:<14} {:>14} {:>13}", count(true), count(false))?;
        from = to;
    }
    for (i, b) in bends.iter().filter(|b| b.1.turn_deg >= ROWS[3]).take(20) {
        let path = found[*i].display();
        writeln!(out, "{path}: map {}, break {}: {:.1}°", b.sheet, b.number, b.turn_deg)?;
    }
    Ok(out)
}

fn collect(path: &Path, found: &mut Vec<PathBuf>) -> Result<()> {
    if !path.is_dir() {
        found.push(path.to_owned());
        return Ok(());
    }
    for entry in std::fs::read_dir(path).with_context(|| path.display().to_string())? {
        let entry = entry?.path();
        if entry.is_dir() {
            collect(&entry, found)?;
        } else if entry.file_name().is_some_and(|name| name == "plan.json") {
            found.push(entry);
        }
    }
    Ok(())
}
