//! How time, memory and density grow with the number of pieces.

use super::table::{Row, aligned};

/// What the demands are multiplied by.
pub const FACTORS: [u32; 5] = [1, 2, 4, 8, 16];

/// One factor of one instance.
#[derive(Debug)]
pub struct Step {
    /// What the demands were multiplied by.
    pub factor: u32,
    /// The runs.
    pub row: Row,
}

/// The table, with the exponent of time to the first layout and the density lost from the first step to the last.
/// `steps` are of one instance.
#[must_use]
pub fn text(name: &str, steps: &[Step]) -> String {
    let heads = [
        "growth", "times", "pieces", "first s", "best", "mean", "peak MiB", "depth mm", "faults",
    ];
    let mut lines = vec![heads.map(String::from).to_vec()];
    for step in steps {
        let row = &step.row;
        let peak = row.runs.iter().filter_map(|run| run.peak_mib).reduce(f64::max);
        lines.push(vec![
            name.to_string(),
            step.factor.to_string(),
            row.instance.count().to_string(),
            format!("{:.3}", row.mean(|run| run.first_s)),
            format!("{:.2}", row.best().map_or(0.0, |run| run.density)),
            format!("{:.2}", row.mean(|run| run.density)),
            peak.map_or_else(|| "-".into(), |mib| format!("{mib:.0}")),
            format!("{:.4}", row.runs.iter().map(|r| r.depth).fold(0.0, f64::max)),
            row.faults().to_string(),
        ]);
    }
    let mut out = aligned(&lines);
    if let [first, .., last] = steps {
        let more = f64::from(last.row.instance.count()) / f64::from(first.row.instance.count());
        let slower = last.row.mean(|run| run.first_s) / first.row.mean(|run| run.first_s);
        out += &format!(
            "{name}: time to first grows as n^{:.2}; density {:+.2} points from x {} to x {}\n",
            slower.ln() / more.ln(),
            last.row.mean(|run| run.density) - first.row.mean(|run| run.density),
            first.factor,
            last.factor
        );
    }
    out
}
