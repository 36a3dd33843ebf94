//! The demo job: its panels are really tiled, its committed copy is up to date, the program reads it without a finding.

use anyhow::{Result, ensure};
use cullet_drawing::expand::expand;
use cullet_geometry::{Outline, Point};
use cullet_job::{Job, JobFile};
use cullet_rack::Stock;
use cullet_tools::demo::cell::Cell;
use cullet_tools::demo::curve::{Curve, cross, length};
use cullet_tools::demo::{self, DemoPanel, INSET};
use std::collections::BTreeMap;

const REMAKE: &str = "remake it with `cargo run -p cullet-tools -- demo`";

#[test]
fn cells_tile_each_panel() -> Result<()> {
    for panel in demo::panels()? {
        let cells: f64 = panel.cells.iter().map(|(cell, _)| cell.area()).sum();
        let whole = panel.width * panel.height;
        assert!(
            (cells - whole).abs() < 1e-6,
            "panel {}: {cells} of {whole} mm²",
            panel.id
        );
    }
    Ok(())
}

/// Every point of a finished edge along a lead stands 0.8 mm from its line, and the neighbour's edge 1.6 mm away (Whall 1905:
/// a full 1/16 in between glasses); no piece comes closer to any other.
#[test]
fn neighbours_stand_apart_by_the_came() -> Result<()> {
    for panel in demo::panels()? {
        let finished: Vec<Cell> = panel.cells.iter().map(|(cell, _)| cell.finished(INSET)).collect();
        for (i, piece) in finished.iter().enumerate() {
            for edge in piece.edges.iter().filter(|e| !e.border) {
                let gaps: Vec<f64> = samples(&edge.curve).map(|p| nearest_other(&finished, i, p)).collect();
                let (least, most) = range(&gaps);
                let place = format!("panel {}, piece {}", panel.id, i + 1);
                assert!(least > 2.0 * INSET.lead - 1e-6, "{place}: {least} mm to its neighbour");
                // Opposite a junction the nearest glass may be a little further away, never by much.
                assert!(most < 2.0 * INSET.lead * 1.42, "{place}: {most} mm to its neighbour");
            }
        }
    }
    Ok(())
}

#[test]
fn finished_edges_stand_off_their_lines_exactly() -> Result<()> {
    for panel in demo::panels()? {
        for (cell, _) in &panel.cells {
            for (line, edge) in cell.edges.iter().zip(&cell.finished(INSET).edges) {
                let inset = if line.border { INSET.border } else { INSET.lead };
                for p in samples(&edge.curve) {
                    assert!((off_carrier(&line.curve, p) - inset).abs() < 1e-7);
                }
            }
        }
    }
    Ok(())
}

/// No point under 30° (machine-cutting handbook page), no inside corner, inside curves no deeper than
/// chord : depth 4 : 1 (from memory: easy to that depth), nothing narrower than 6 mm on average (workshop tips 2010).
#[test]
fn every_piece_can_be_scored() -> Result<()> {
    for panel in demo::panels()? {
        for (i, (cell, _)) in panel.cells.iter().enumerate() {
            let place = format!("panel {}, piece {}", panel.id, i + 1);
            let (sharpest, bluntest) = cell.corner_range();
            assert!(sharpest >= 30.0, "{place}: a corner of {sharpest:.1}°");
            assert!(bluntest < 180.0 + 1e-4, "{place}: an inside corner of {bluntest:.1}°");
            let piece = cell.finished(INSET);
            for edge in &piece.edges {
                if let Curve::Arc { turn, .. } = edge.curve
                    && turn < 0.0
                {
                    let chord_to_depth = 2.0 / (turn.abs() / 4.0).tan();
                    assert!(chord_to_depth >= 4.0, "{place}: inside curve {chord_to_depth:.1} : 1");
                }
            }
            let round: f64 = piece.edges.iter().map(|e| e.curve.length()).sum();
            assert!(2.0 * piece.area() / round > 6.0, "{place} is a sliver");
        }
    }
    Ok(())
}

#[test]
fn the_scenario_has_what_it_promises() -> Result<()> {
    let job = demo::job_of_outlines()?;
    let made: u32 = job
        .panels
        .iter()
        .map(|p| (p.quantity + p.mirrored_quantity) * u32::try_from(p.pieces.len()).unwrap_or(0))
        .sum();
    assert!((150..=175).contains(&made), "{made} pieces");
    assert_eq!(
        job.panels
            .iter()
            .filter(|p| p.quantity == 1 && p.mirrored_quantity == 1)
            .count(),
        1
    );
    let pieces = || job.panels.iter().flat_map(|p| &p.pieces);
    let used = job
        .glasses
        .iter()
        .filter(|glass| pieces().any(|p| p.glass == glass.code));
    assert_eq!(
        (used.count(), job.glasses.len()),
        (4, 6),
        "four glasses, and two to compare with"
    );
    Ok(())
}

/// A demo job as the program reads it, its drawings at hand.
fn read(file: &JobFile) -> Result<Job> {
    let drawings: BTreeMap<String, String> = demo::drawings()?.into_iter().collect();
    let load = |name: &str| {
        let found = drawings.get(name).map(|text| text.clone().into_bytes());
        (name.to_owned(), found.ok_or_else(|| "no such drawing".to_owned()))
    };
    let text = cullet_tools::files::job_text(file)?;
    let job = Job::read_with("job.json", &text, |job, report| {
        let drawn = expand(job, report, &load);
        let findings: Vec<_> = drawn.iter().flat_map(|d| &d.cartoon.findings).collect();
        assert!(
            findings.iter().all(|f| f.found.starts_with("a panel of")),
            "{findings:#?}"
        );
    })?;
    Ok(job)
}

/// How far the corners of one outline lie from the other's boundary, mm.
fn farthest(a: &Outline, b: &Outline) -> f64 {
    let sides: Vec<_> = b.points().iter().zip(b.points().iter().cycle().skip(1)).collect();
    let away = |p: &Point| {
        sides
            .iter()
            .map(|(q, r)| Curve::line(**q, **r).distance(*p))
            .fold(f64::INFINITY, f64::min)
    };
    a.points().iter().map(away).fold(0.0, f64::max)
}

#[test]
fn pieces_from_the_cartoons_are_the_outlines_worked_out_without_them() -> Result<()> {
    // Flattened finely, so that what differs is the outline and not where its chords begin.
    let fine = |mut job: JobFile| {
        job.settings.curve_tolerance = Some(0.001);
        job
    };
    let from_cartoons = read(&fine(demo::job()?))?;
    let from_outlines = read(&fine(demo::job_of_outlines()?))?;
    assert_eq!(from_cartoons.pieces.len(), from_outlines.pieces.len());
    for (a, b) in from_cartoons.pieces.iter().zip(&from_outlines.pieces) {
        assert_eq!(
            (&a.id, a.glass, a.bevel, &a.one_lot, a.spares),
            (&b.id, b.glass, b.bevel, &b.one_lot, b.spares)
        );
        let grain = (a.grain_deg - b.grain_deg + 180.0).rem_euclid(360.0) - 180.0;
        assert!(
            grain.abs() < 0.01,
            "grain of {:?}: {} and {}",
            a.id,
            a.grain_deg,
            b.grain_deg
        );
        let apart = farthest(&a.finished, &b.finished).max(farthest(&b.finished, &a.finished));
        assert!(apart < 0.02, "{:?}: {apart} mm", a.id);
    }
    Ok(())
}

#[test]
fn the_program_reads_job_and_stock_without_a_finding() -> Result<()> {
    let job = read(&demo::job()?)?;
    assert_eq!(job.warnings("job.json", &[]), vec![]);
    let drawn: f64 = demo::panels()?.iter().map(finished_area).sum();
    let read: f64 = job
        .pieces
        .iter()
        .map(|p| f64::from(p.quantity) * p.finished.area())
        .sum();
    // Curves are flattened outwards by at most 0.05 mm, so the glass read may be more by a little, never less.
    assert!(
        read >= drawn - 1.0 && read < drawn * 1.002,
        "drawn {drawn}, read {read} mm²"
    );

    let stock = Stock::read_csv("stock.csv", &demo::stock_csv())?;
    let irregular = stock.items.iter().filter(|s| s.outline.points().len() > 4).count();
    assert!(irregular >= 6, "{irregular} irregular offcuts");
    assert!(stock.items.iter().filter(|s| !s.flaws.is_empty()).count() >= 2);
    Ok(())
}

#[test]
fn committed_copy_is_what_the_command_makes() -> Result<()> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/lighthouse");
    let job = std::fs::read_to_string(format!("{folder}/job.json"))?;
    ensure!(
        job == cullet_tools::files::job_text(&demo::job()?)?,
        "job.json is stale: {REMAKE}"
    );
    for (name, text) in demo::drawings()? {
        let committed = std::fs::read_to_string(format!("{folder}/{name}"))?;
        ensure!(committed == text, "{name} is stale: {REMAKE}");
    }
    let stock = std::fs::read_to_string(format!("{folder}/stock.csv"))?;
    ensure!(stock == demo::stock_csv(), "stock.csv is stale: {REMAKE}");
    Ok(())
}

fn samples(curve: &Curve) -> impl Iterator<Item = Point> {
    (1..20).map(|k| curve.at(f64::from(k) / 20.0))
}

/// Distance from the full line or circle under a curve.
fn off_carrier(curve: &Curve, p: Point) -> f64 {
    match *curve {
        Curve::Line { from, to } => (cross(to - from, p - from) / length(to - from)).abs(),
        Curve::Arc { centre, radius, .. } => (length(p - centre) - radius).abs(),
    }
}

fn nearest_other(pieces: &[Cell], own: usize, p: Point) -> f64 {
    let others = pieces.iter().enumerate().filter(|(j, _)| *j != own);
    let edges = others.flat_map(|(_, piece)| &piece.edges);
    edges.map(|e| e.curve.distance(p)).fold(f64::INFINITY, f64::min)
}

fn range(values: &[f64]) -> (f64, f64) {
    let fold = |(low, high), v: &f64| (f64::min(low, *v), f64::max(high, *v));
    values.iter().fold((f64::INFINITY, 0.0), fold)
}

fn finished_area(panel: &DemoPanel) -> f64 {
    let one: f64 = panel.cells.iter().map(|(cell, _)| cell.finished(INSET).area()).sum();
    one * f64::from(panel.quantity + panel.mirrored_quantity)
}
