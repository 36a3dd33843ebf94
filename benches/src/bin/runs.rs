//! Lays out sets for straight runs, checks every breaking order, and sets the results beside their targets.

use anyhow::{Context, Result, bail, ensure};
use clap::Parser;
use cullet_benches::runs::{check, sets};
use cullet_breakout::Rule;
use cullet_geometry::{Outline, Point};
use cullet_guillotine::{Laying, Sheet, lay, runs};
use cullet_search::{Container, Effort, Item, Limit, Problem, Turns};
use serde::Deserialize;
use std::io::{Write, stderr, stdout};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;

/// Stock size of the glass data, whose files hold none. From memory.
const GLASS_SHEET: (f64, f64) = (2250.0, 3210.0);

/// Lays out sets for straight runs and sets the results beside their targets.
///
/// Exit code 1 when nothing ran or a breaking order does not hold.
#[derive(Parser)]
struct Arguments {
    /// Folder or file with convex glass data (.json); without it only the generated sets are laid.
    #[arg(long, value_name = "PATH")]
    data: Vec<PathBuf>,
    /// Seconds a layout.
    #[arg(long, value_name = "N", default_value_t = 30.0)]
    seconds: f64,
    /// Sets of each generated kind.
    #[arg(long, value_name = "N", default_value_t = 50)]
    sets: u64,
    /// Corners and sizes of the generated sets are rounded to multiples of this, mm; 0 for not at all.
    #[arg(long, value_name = "MM", default_value_t = 0.0)]
    step: f64,
    /// Threads a layout.
    #[arg(long, value_name = "T", default_value_t = 1)]
    threads: usize,
    /// Just these: counts, order, large, rectangles, convex, or names of data files.
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    only: Vec<String>,
}

#[derive(Deserialize)]
struct Data {
    name: String,
    pieces: Vec<DataPiece>,
}

#[derive(Deserialize)]
struct DataPiece {
    demand: u32,
    outline: Vec<[f64; 2]>,
}

fn main() -> ExitCode {
    match measure(&Arguments::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            let _ = writeln!(stderr(), "{error:#}");
            ExitCode::FAILURE
        }
    }
}

/// What was measured: the rows of the table, and how many faults were found.
#[derive(Default)]
struct Report {
    rows: Vec<String>,
    faults: usize,
}

fn measure(arguments: &Arguments) -> Result<()> {
    let wanted = |name: &str| arguments.only.is_empty() || arguments.only.iter().any(|o| o == name);
    let mut report = Report::default();
    if wanted("counts") {
        known_counts(arguments, &mut report);
    }
    if wanted("order") {
        one_order(&mut report)?;
    }
    if wanted("large") {
        one_large_set(arguments, &mut report);
    }
    for kind in ["rectangles", "convex"] {
        if wanted(kind) {
            cut_up_sheets(kind, arguments, &mut report);
        }
    }
    let mut ratios: Vec<f64> = Vec::new();
    for path in data_files(&arguments.data)? {
        let text = std::fs::read_to_string(&path).with_context(|| format!("reading {}", path.display()))?;
        let data: Data = serde_json::from_str(&text).with_context(|| format!("reading {}", path.display()))?;
        if wanted(&data.name) {
            ratios.push(glass_data(&data, arguments, &mut report)?);
        }
    }
    if !ratios.is_empty() {
        let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
        report.rows.push(format!(
            "| mean of {} | sheets / area bound | 1.25, aim 1.15 | {mean:.3} |",
            ratios.len()
        ));
    }
    ensure!(!report.rows.is_empty(), "nothing was run");
    let table = format!(
        "| what | figure | target | reached |\n|---|---|---|---|\n{}\n",
        report.rows.join("\n")
    );
    stdout().write_all(table.as_bytes())?;
    if report.faults > 0 {
        bail!("{} faults in breaking orders", report.faults);
    }
    Ok(())
}

/// Pieces whose count on a sheet is known by arithmetic.
fn known_counts(arguments: &Arguments, report: &mut Report) {
    for (name, item, sheet, least) in counts() {
        let problem = problem(vec![(item, 200, Turns::only(vec![0.0, 90.0, 180.0, 270.0]))], sheet, 1);
        let problem = if name.starts_with("quarries") {
            freed(problem)
        } else {
            problem
        };
        let laying = laid(&problem, arguments);
        report.faults += checked(&problem, &laying);
        report.rows.push(format!(
            "| {name} | pieces on one sheet | at least {least} | {} |",
            laying.placed.len()
        ));
    }
}

/// How long the breaking order of a full sheet takes.
fn one_order(report: &mut Report) -> Result<()> {
    let blanks = sets::convex_in_place(1, 150);
    let whole = Outline::rectangle(sets::SHEET.0, sets::SHEET.1);
    let on = Sheet {
        whole: &whole,
        usable: &whole,
        kerf: 0.0,
    };
    let begun = Instant::now();
    let cut = runs(&blanks, on, Rule::usual(0.0), &|_| false)?;
    let took = begun.elapsed().as_secs_f64();
    report.faults += check::faults(&whole, &blanks, &cut.breaking).len();
    report.rows.push(format!(
        "| breaking order of 150 blanks on one sheet | s | 1 | {took:.3} |"
    ));
    Ok(())
}

/// A large set of pieces that are all different.
fn one_large_set(arguments: &Arguments, report: &mut Report) {
    let items = (1..=10).flat_map(|seed| sets::convex(seed, 0.0)).take(150);
    let items = items.map(|p| (p, 1, Turns::free())).collect();
    let problem = problem(items, sets::SHEET, 12);
    let begun = Instant::now();
    let laying = laid(&problem, arguments);
    let took = begun.elapsed().as_secs_f64();
    report.faults += checked(&problem, &laying);
    let (sheets, _) = sheets_used(&problem, &laying);
    let bound = placed_area(&problem, &laying) / (sets::SHEET.0 * sets::SHEET.1);
    report.rows.push(format!(
        "| 150 different convex pieces in {} s | sheets; s taken | bound {bound:.2} | {sheets}; {took:.2} |",
        arguments.seconds
    ));
}

/// Sheets cut up at random: how much of each is placed back.
fn cut_up_sheets(kind: &str, arguments: &Arguments, report: &mut Report) {
    let mut shares: Vec<f64> = Vec::new();
    for seed in 1..=arguments.sets {
        let (pieces, turns) = if kind == "rectangles" {
            (sets::rectangles(seed, arguments.step), Turns::only(vec![0.0, 90.0]))
        } else {
            (sets::convex(seed, arguments.step), Turns::free())
        };
        let items = pieces.into_iter().map(|p| (p, 1, turns.clone())).collect();
        let problem = problem(items, sets::SHEET, 1);
        let laying = laid(&problem, arguments);
        report.faults += checked(&problem, &laying);
        let share = 100.0 * placed_area(&problem, &laying) / (sets::SHEET.0 * sets::SHEET.1);
        progress(&format!("{kind} {seed}: {} pieces, {share:.2} %", problem.items.len()));
        shares.push(share);
    }
    let mean = shares.iter().sum::<f64>() / shares.len().max(1) as f64;
    let least = shares.iter().copied().fold(f64::INFINITY, f64::min);
    let target = if kind == "rectangles" { "96" } else { "85, aim 92" };
    report.rows.push(format!(
        "| {} sets of {kind}, rounded to {} mm | % of the sheet placed back, mean (least) | {target} | {mean:.2} ({least:.2}) |",
        shares.len(),
        arguments.step
    ));
}

/// Lays out a set of glass data; the sheets it takes over what its area would.
fn glass_data(data: &Data, arguments: &Arguments, report: &mut Report) -> Result<f64> {
    let mut items = Vec::new();
    for piece in &data.pieces {
        let points = piece.outline.iter().map(|[x, y]| Point { x: *x, y: *y }).collect();
        items.push((Outline::new(points)?, piece.demand, Turns::free()));
    }
    let total: f64 = items.iter().map(|(o, n, _)| o.area() * f64::from(*n)).sum();
    let bound = total / (GLASS_SHEET.0 * GLASS_SHEET.1);
    let problem = problem(items, GLASS_SHEET, (2.0 * bound).ceil() as usize + 1);
    let laying = laid(&problem, arguments);
    report.faults += checked(&problem, &laying);
    ensure!(laying.left.iter().all(|n| *n == 0), "{}: pieces left over", data.name);
    let (sheets, used) = sheets_used(&problem, &laying);
    let row = format!(
        "| {} | sheets / area bound of {bound:.3} | 1.25, aim 1.15 | {used:.3} ({sheets} sheets) = {:.3} |",
        data.name,
        used / bound
    );
    progress(&row);
    report.rows.push(row);
    Ok(used / bound)
}

/// Name, piece, sheet inside its trim, and how many rows and columns give by arithmetic.
fn counts() -> Vec<(&'static str, Outline, (f64, f64), usize)> {
    let diamond = |w: f64, h: f64| {
        let points = [(0.0, -0.5 * h), (0.5 * w, 0.0), (0.0, 0.5 * h), (-0.5 * w, 0.0)];
        Outline::new(points.iter().map(|(x, y)| Point { x: *x, y: *y }).collect()).ok()
    };
    let mut list = vec![
        (
            "border strips 40 x 180 on 590 x 1200",
            Outline::rectangle(40.0, 180.0),
            (590.0, 1200.0),
            // 14 x 6 upright, 3 x 30 lying.
            3 * 30,
        ),
        (
            "squares 100 on 590 x 1200",
            Outline::rectangle(100.0, 100.0),
            (590.0, 1200.0),
            5 * 12,
        ),
        (
            "panes 455 x 132 on 1830 x 2440",
            Outline::rectangle(455.0, 132.0),
            (1830.0, 2440.0),
            72,
        ),
    ];
    list.extend(diamond(100.0, 150.0).map(|d| ("quarries 100 x 150 on 590 x 1200", d, (590.0, 1200.0), 84)));
    // Side 100: rows 86.6 high, 6 of them across 590; 11 to a row, (1200 - 50) / 100. Or 13 rows of 5.
    list.extend(diamond(100.0, 100.0 * 3.0_f64.sqrt()).map(|d| {
        (
            "quarries of 60 degrees, side 100, on 590 x 1200",
            d,
            (590.0, 1200.0),
            66,
        )
    }));
    list
}

fn problem(items: Vec<(Outline, u32, Turns)>, sheet: (f64, f64), sheets: usize) -> Problem {
    let items = items.into_iter().map(|(outline, count, turns)| Item {
        outline,
        count,
        turns,
        turned_over: None,
        allowed: vec![],
    });
    let container = Container {
        outline: Outline::rectangle(sheet.0, sheet.1),
        keep_off: vec![],
        cost: 1.0,
    };
    Problem {
        items: items.collect(),
        containers: vec![container; sheets],
        clearance: 0.0,
        tolerance: 0.001,
    }
}

fn freed(mut problem: Problem) -> Problem {
    for item in &mut problem.items {
        item.turns = Turns::free();
    }
    problem
}

fn laid(problem: &Problem, arguments: &Arguments) -> Laying {
    let effort = Effort {
        seed: 1,
        limit: Limit::Seconds(arguments.seconds),
        lanes: arguments.threads,
    };
    lay(problem, Rule::usual(0.0), effort, &false.into(), &|_, _| {})
}

fn outlines(problem: &Problem, laying: &Laying, container: usize) -> Vec<Outline> {
    let here = laying.placed.iter().filter(|p| p.container == container);
    here.map(|p| problem.items[p.item].outline.posed(&p.pose)).collect()
}

fn placed_area(problem: &Problem, laying: &Laying) -> f64 {
    laying.placed.iter().map(|p| problem.items[p.item].outline.area()).sum()
}

/// Makes the breaking order of every sheet and replays it; the number of faults, which are told.
fn checked(problem: &Problem, laying: &Laying) -> usize {
    let mut all = Vec::new();
    for (c, container) in problem.containers.iter().enumerate() {
        let pieces = outlines(problem, laying, c);
        if pieces.is_empty() {
            continue;
        }
        let sheet = Sheet {
            whole: &container.outline,
            usable: &container.outline,
            kerf: problem.clearance,
        };
        match runs(&pieces, sheet, Rule::usual(0.0), &|_| false) {
            Ok(cut) => all.extend(check::faults(&container.outline, &pieces, &cut.breaking)),
            Err(error) => all.push(error.to_string()),
        }
        all.extend(check::overlaps(&pieces));
    }
    for fault in &all {
        progress(&format!("  fault: {fault}"));
    }
    all.len()
}

/// Sheets used, and that with the one whose rest is largest counted by the length of the straight cut that frees the rest.
fn sheets_used(problem: &Problem, laying: &Laying) -> (usize, f64) {
    let mut sheets = 0;
    let mut most = 0.0_f64;
    for c in 0..problem.containers.len() {
        let pieces = outlines(problem, laying, c);
        if pieces.is_empty() {
            continue;
        }
        sheets += 1;
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (0.0_f64, 0.0_f64));
        for b in pieces.iter().map(Outline::bounds) {
            low = (low.0.min(b.min.x), low.1.min(b.min.y));
            high = (high.0.max(b.max.x), high.1.max(b.max.y));
        }
        let (w, h) = GLASS_SHEET;
        let rests = [low.0 / w, low.1 / h, 1.0 - high.0 / w, 1.0 - high.1 / h];
        most = rests.into_iter().fold(most, f64::max);
    }
    (sheets, sheets as f64 - most)
}

fn data_files(paths: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for path in paths {
        if path.is_file() {
            files.push(path.clone());
            continue;
        }
        let entries = std::fs::read_dir(path).with_context(|| format!("reading folder {}", path.display()))?;
        for entry in entries {
            let file = entry?.path();
            let glass = |p: &Path| {
                p.file_name()
                    .is_some_and(|n| n.to_string_lossy().starts_with(['J', 'H']))
            };
            if file.extension().is_some_and(|e| e == "json") && glass(&file) {
                files.push(file);
            }
        }
    }
    files.sort();
    Ok(files)
}

fn progress(line: &str) {
    let _ = writeln!(stderr(), "{line}");
}
