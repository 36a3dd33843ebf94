//! The results as a table, plain text.

use super::figures::Figures;
use super::run::Run;
use super::schema::{Instance, Room, TOLERANCE};
use std::fmt::Write;

/// One instance with all its runs, one at least.
#[derive(Debug)]
pub struct Row {
    /// The instance.
    pub instance: Instance,
    /// Its runs, one for each seed.
    pub runs: Vec<Run>,
    /// What others published on it; nothing where the instance was changed.
    pub figures: Figures,
}

impl Row {
    /// The run with the fewest bins, or the shortest strip.
    #[must_use]
    pub fn best(&self) -> Option<&Run> {
        let cost = |run: &Run| match self.instance.room {
            Room::Strip { .. } => run.length,
            Room::Bins { .. } => run.bins as f64,
        };
        self.runs.iter().min_by(|a, b| cost(a).total_cmp(&cost(b)))
    }

    /// Mean over the runs.
    #[must_use]
    pub fn mean(&self, of: impl Fn(&Run) -> f64) -> f64 {
        self.runs.iter().map(of).sum::<f64>() / self.runs.len().max(1) as f64
    }

    /// Number of faults in all runs.
    #[must_use]
    pub fn faults(&self) -> usize {
        self.runs.iter().map(|run| run.faults.len()).sum()
    }
}

/// What must be known to read the table.
#[must_use]
pub fn notes() -> String {
    format!(
        "Density = total piece area / (height x length), or / area of the bins used, in percent.\n\
         Strips and bins are scaled to a height of 1000 mm. Pieces may sink {TOLERANCE} mm (1e-5 of the height) into each other or\n\
         over an edge; the literature widens some strips by 1e-4. Every layout is verified apart from the search.\n"
    )
}

/// The whole table.
#[must_use]
pub fn text(rows: &[Row]) -> String {
    let (strips, bins): (Vec<&Row>, Vec<&Row>) = rows
        .iter()
        .partition(|row| matches!(row.instance.room, Room::Strip { .. }));
    let mut out = notes();
    if !strips.is_empty() {
        out += &strip_table(&strips);
    }
    if !bins.is_empty() {
        out += &bin_table(&bins);
    }
    out
}

fn strip_table(rows: &[&Row]) -> String {
    let heads = [
        "strip", "pieces", "best", "mean", "worst", "pub.best", "diff", "2013mean", "diff", "2025mean", "diff",
        "optimum", "first s", "best s", "depth mm", "faults",
    ];
    let mut lines = vec![heads.map(String::from).to_vec()];
    for row in rows {
        let best = row.best().map_or(0.0, |run| run.density);
        let mean = row.mean(|run| run.density);
        let f = row.figures;
        lines.push(vec![
            row.instance.name.clone(),
            row.instance.count().to_string(),
            format!("{best:.2}"),
            format!("{mean:.2}"),
            format!(
                "{:.2}",
                row.runs.iter().map(|r| r.density).fold(f64::INFINITY, f64::min)
            ),
            known(f.best),
            apart(best, f.best),
            known(f.of_2013.mean),
            apart(mean, f.of_2013.mean),
            known(f.of_2025.mean),
            apart(mean, f.of_2025.mean),
            known(f.optimum),
            format!("{:.2}", row.mean(|run| run.first_s)),
            format!("{:.1}", row.mean(|run| run.best_s)),
            format!("{:.4}", row.runs.iter().map(|r| r.depth).fold(0.0, f64::max)),
            row.faults().to_string(),
        ]);
    }
    aligned(&lines)
        + "diff: best less the best published, then mean less the mean of 2013 and of 2025. pub.best is the best of all papers, some\n\
           figures from memory: see the table they are read from. Times are means.\n"
}

fn bin_table(rows: &[&Row]) -> String {
    let heads = [
        "bins", "pieces", "best", "mean", "optimum", "by area", "density", "first s", "best s", "depth mm", "faults",
    ];
    let mut lines = vec![heads.map(String::from).to_vec()];
    for row in rows {
        let optimum = row.instance.optimal_bins;
        lines.push(vec![
            row.instance.name.clone(),
            row.instance.count().to_string(),
            row.best().map_or(0, |run| run.bins).to_string(),
            format!("{:.2}", row.mean(|run| run.bins as f64)),
            optimum.map_or_else(|| "-".into(), |bins| bins.to_string()),
            row.instance.bins_by_area().to_string(),
            format!("{:.2}", row.mean(|run| run.density)),
            format!("{:.2}", row.mean(|run| run.first_s)),
            format!("{:.1}", row.mean(|run| run.best_s)),
            format!("{:.4}", row.runs.iter().map(|r| r.depth).fold(0.0, f64::max)),
            row.faults().to_string(),
        ]);
    }
    let mut out = aligned(&lines);
    let known: Vec<(&&Row, f64)> = rows
        .iter()
        .filter_map(|row| Some((row, f64::from(row.instance.optimal_bins?))))
        .collect();
    if !known.is_empty() {
        let optimum: f64 = known.iter().map(|(_, bins)| bins).sum();
        let mean: f64 = known.iter().map(|(row, _)| row.mean(|run| run.bins as f64)).sum();
        let _ = writeln!(
            out,
            "{} instances of known optimum: {mean:.1} bins (mean of the seeds), sum of the optima {optimum}: {:.4} times",
            known.len(),
            mean / optimum
        );
    }
    if rows
        .iter()
        .any(|row| matches!(row.instance.room, Room::Bins { assumed: true, .. }))
    {
        out += "The J and H files hold no bin size: 2250 x 3210 is from memory. Their published figures are for guillotine cuts.\n";
    }
    out
}

fn known(figure: Option<f64>) -> String {
    figure.map_or_else(|| "-".into(), |figure| format!("{figure:.2}"))
}

fn apart(ours: f64, theirs: Option<f64>) -> String {
    theirs.map_or_else(|| "-".into(), |theirs| format!("{:+.2}", ours - theirs))
}

/// Columns of equal width: the first to the left, the others to the right.
pub(crate) fn aligned(lines: &[Vec<String>]) -> String {
    let columns = lines.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|c| {
            lines
                .iter()
                .filter_map(|line| line.get(c))
                .map(|cell| cell.chars().count())
                .max()
                .unwrap_or(0)
        })
        .collect();
    let mut out = String::from("\n");
    for line in lines {
        let cells: Vec<String> = line
            .iter()
            .zip(&widths)
            .enumerate()
            .map(|(c, (cell, width))| {
                if c == 0 {
                    format!("{cell:<width$}")
                } else {
                    format!("{cell:>width$}")
                }
            })
            .collect();
        out += cells.join("  ").trim_end();
        out.push('\n');
    }
    out
}
