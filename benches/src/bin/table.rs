//! What the score paths of plans come to: lifts, travel and minutes against the breaks driven one by one as they are listed, and
//! against a bound no order can beat; then how long the ordering of many paths takes.
//!
//! ```sh
//! cargo run --release -p cullet-benches --bin table -- window/plan.json quarries/plan.json
//! ```

use anyhow::{Context, Result};
use cullet_geometry::{Outline, Point};
use cullet_model::{Layout, Plan};
use cullet_scorepath::{
    Curving, Motion, Order, Purpose, Reckoning, ScorePath, Settings, Sheet, Stretch, bound, fit, order, paths,
};
use std::io::Write;
use std::path::PathBuf;
use std::time::Instant;

/// Speeds of no particular table: examples, no published figures.
const MOTION: Motion = Motion {
    straight: 400.0,
    outside: 200.0,
    inside: 120.0,
    relief: 200.0,
    travel: 800.0,
    acceleration: 2000.0,
    turning: 6.0,
    turning_acceleration: 60.0,
    lower: 0.3,
    lift: 0.2,
    home: Point { x: 0.0, y: 0.0 },
    goes_home: true,
};

/// So many random paths are put in order.
const MANY: usize = 3000;

fn main() -> Result<()> {
    let mut out = std::io::stdout();
    writeln!(
        out,
        "| plan | map | breaks | paths | lines, arcs | scored m | lifts | travel m | of breaks' travel | minutes | breaks' minutes | over bound | hardest first | ms |\n\
         |---|---|---|---|---|---|---|---|---|---|---|---|---|---|"
    )?;
    for file in std::env::args().skip(1).map(PathBuf::from) {
        let text = std::fs::read_to_string(&file).with_context(|| file.display().to_string())?;
        let plan: Plan = serde_json::from_str(&text).with_context(|| file.display().to_string())?;
        let name = file.parent().and_then(|folder| folder.file_name()).unwrap_or_default();
        for layout in plan.glasses.iter().flat_map(|glass| &glass.layouts) {
            row(&mut out, &name.to_string_lossy(), &plan, layout)?;
        }
    }
    let many = random(MANY);
    let begun = Instant::now();
    let found = order(&many, &MOTION, false);
    let took = begun.elapsed().as_secs_f64();
    let reckoned = MOTION.reckon(&many, &found);
    writeln!(
        out,
        "\n{MANY} random paths in order in {took:.2} s: {:.1} m of travel, {:.1} minutes",
        reckoned.travel / 1000.0,
        reckoned.seconds / 60.0
    )?;
    Ok(())
}

fn row(out: &mut impl Write, name: &str, plan: &Plan, layout: &Layout) -> Result<()> {
    let placed = |id, pose| plan.pieces.iter().find(|p| p.id == id).map(|p| p.cut.posed(&pose));
    let pieces: Vec<Outline> = layout
        .placements
        .iter()
        .filter_map(|p| placed(p.id.clone(), p.pose))
        .collect();
    let sheet = Sheet {
        outline: &layout.stock.outline,
        breaking: &layout.breaking,
        pieces: &pieces,
        offcuts: &layout.returned,
    };
    let settings = Settings::default();
    let begun = Instant::now();
    let found = paths(&sheet, &settings);
    let best = order(&found.paths, &MOTION, false);
    let took = begun.elapsed().as_secs_f64();
    let reckoned = MOTION.reckon(&found.paths, &best);
    let hardest = MOTION.reckon(&found.paths, &order(&found.paths, &MOTION, true));
    let (driven, listed) = as_listed(layout, &settings);
    let stretches = found.paths.iter().flat_map(|path| &path.stretches);
    let arcs = stretches
        .clone()
        .filter(|one| matches!(one, Stretch::Arc { .. }))
        .count();
    writeln!(
        out,
        "| {name} | {} | {} | {} | {}, {arcs} | {:.1} | {} | {:.1} | {:.0} % of {:.1} m | {:.1} | {:.1} | {:.1} % | +{:.1} min | {:.0} |",
        layout.number,
        layout.breaking.steps.len(),
        found.paths.len(),
        stretches.count() - arcs,
        reckoned.scored / 1000.0,
        reckoned.lifts,
        reckoned.travel / 1000.0,
        100.0 * reckoned.travel / listed.travel,
        listed.travel / 1000.0,
        reckoned.seconds / 60.0,
        listed.seconds / 60.0,
        100.0 * (reckoned.seconds / bound(&found.paths, &MOTION) - 1.0),
        (hardest.seconds - reckoned.seconds) / 60.0,
        took * 1000.0,
    )?;
    let _ = driven;
    Ok(())
}

/// The breaks driven one by one, as they are listed: each from its start to its end, lifted at corners.
fn as_listed(layout: &Layout, settings: &Settings) -> (Vec<ScorePath>, Reckoning) {
    let mut driven = vec![];
    for (k, step) in layout.breaking.steps.iter().enumerate() {
        for stretches in fit::sections(&step.chain, settings) {
            driven.push(ScorePath {
                stretches,
                purpose: Purpose::Score,
                curving: if step.chain.len() == 2 {
                    Curving::Straight
                } else {
                    Curving::Outside
                },
                breaks: vec![k],
            });
        }
    }
    let sequence = (0..driven.len()).map(|k| (k, false)).collect();
    let reckoned = MOTION.reckon(&driven, &Order { sequence });
    (driven, reckoned)
}

/// Straight paths of 20 to 200 mm on a sheet of 3 × 2 m.
fn random(count: usize) -> Vec<ScorePath> {
    let mut state = 7_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    (0..count)
        .map(|k| {
            let from = Point {
                x: 3000.0 * next(),
                y: 2000.0 * next(),
            };
            let (length, angle) = (20.0 + 180.0 * next(), std::f64::consts::TAU * next());
            let to = from
                + Point {
                    x: length * angle.cos(),
                    y: length * angle.sin(),
                };
            ScorePath {
                stretches: vec![Stretch::Line { from, to }],
                purpose: Purpose::Score,
                curving: Curving::Straight,
                breaks: vec![k],
            }
        })
        .collect()
}
