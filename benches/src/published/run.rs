//! One search on one instance, timed and verified.

use super::memory;
use super::schema::{Instance, Piece, Room, Rotations, TOLERANCE};
use super::verify;
use anyhow::{Context, Result, anyhow};
use cullet_geometry::{Outline, Point};
use cullet_nest::{Filling, Shapes, StripLayout};
use cullet_search::{Container, Effort, Item, Limit, MOST_BACK, Placed, Problem, Turns};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

/// How to search.
#[derive(Debug, Clone, Copy)]
pub struct Settings {
    /// When a search ends.
    pub limit: Limit,
    /// How many threads it has.
    pub threads: usize,
}

/// Share of the tolerance that the search is given, so that its single-precision arithmetic stays within the whole.
const SEARCHED: f64 = 0.9;

/// What one search brought.
#[derive(Debug, Clone)]
pub struct Run {
    /// Its seed.
    pub seed: u64,
    /// Length used, mm after scaling; infinite for bins.
    pub length: f64,
    /// Number of bins used; 1 for a strip.
    pub bins: usize,
    /// Area of the pieces ÷ area of strip or bins used, percent.
    pub density: f64,
    /// Seconds to the first layout with every piece in it.
    pub first_s: f64,
    /// Seconds to the best layout.
    pub best_s: f64,
    /// Seconds in all.
    pub took_s: f64,
    /// Places judged a second, all threads together; of strips only.
    pub judged_per_s: Option<f64>,
    /// Peak memory of the process during the search, MiB.
    pub peak_mib: Option<f64>,
    /// Where the pieces lie, mm after scaling.
    pub placed: Vec<Placed>,
    /// Depth of the deepest overlap or overhang, mm after scaling.
    pub depth: f64,
    /// What the verifier found wrong.
    pub faults: Vec<String>,
}

/// Hears of layouts while the search runs and keeps the times.
struct Clock {
    start: Instant,
    seen: Mutex<Seen>,
}

/// Seconds to the first complete layout and to the best, and how good that is.
#[derive(Clone, Copy)]
struct Seen {
    first_s: Option<f64>,
    best_s: f64,
    best: f64,
}

impl Clock {
    fn start() -> Self {
        Self {
            start: Instant::now(),
            seen: Mutex::new(Seen {
                first_s: None,
                best_s: 0.0,
                best: f64::INFINITY,
            }),
        }
    }

    /// A complete layout that costs `value`.
    fn hear(&self, value: f64) {
        let now = self.start.elapsed().as_secs_f64();
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        seen.first_s.get_or_insert(now);
        // Lengths equal to a rounding are the same layout heard again.
        if value < seen.best * (1.0 - 1e-12) {
            (seen.best, seen.best_s) = (value, now);
        }
    }
}

/// Searches once and verifies what comes out.
///
/// # Errors
/// When an outline is not one, or some piece does not go into the strip at all.
pub fn run(instance: &Instance, seed: u64, settings: Settings) -> Result<Run> {
    let items = instance
        .pieces
        .iter()
        .enumerate()
        .map(|(i, piece)| item(piece, instance.scale()).with_context(|| format!("{}, piece {i}", instance.name)))
        .collect::<Result<Vec<_>>>()?;
    let effort = Effort {
        seed,
        limit: settings.limit,
        lanes: settings.threads,
    };
    let pool = rayon::ThreadPoolBuilder::new().num_threads(settings.threads).build()?;
    memory::forget_peak();
    let clock = Clock::start();
    let (length, placed, judged) = pool.install(|| match instance.room {
        Room::Strip { .. } => {
            strip(instance, &items, effort, &clock).map(|best| (best.length, best.placed, Some(best.judged)))
        }
        Room::Bins { .. } => Ok((f64::INFINITY, fill(instance, items, effort, &clock), None)),
    })?;
    let took_s = clock.start.elapsed().as_secs_f64();
    let peak_mib = memory::peak_mib();

    let checked = verify::verify(instance, length, &placed);
    let bins = placed.iter().map(|p| p.container).collect::<BTreeSet<_>>().len();
    let scale = instance.scale();
    let (width, height) = instance.room_size();
    let covered = match instance.room {
        // The measured extent, should it be more than the length claimed.
        Room::Strip { .. } => checked.length * height * scale,
        Room::Bins { .. } => bins as f64 * width * height * scale * scale,
    };
    let seen = *clock.seen.lock().unwrap_or_else(PoisonError::into_inner);
    Ok(Run {
        seed,
        length: checked.length,
        bins,
        density: 100.0 * instance.area() * scale * scale / covered,
        first_s: seen.first_s.unwrap_or(took_s),
        best_s: if seen.best.is_finite() { seen.best_s } else { took_s },
        took_s,
        judged_per_s: judged.map(|judged| judged as f64 / took_s),
        peak_mib,
        placed,
        depth: checked.depth,
        faults: checked.faults,
    })
}

/// Tolerance t for the search, so that no corner sinks deeper than [`TOLERANCE`]. The search takes t/2 off every side, which
/// draws a corner of angle α back by 1 / sin(α/2) as much. The deepest that can lie is a corner in an inside corner that it
/// fits: both are drawn back, by t / sin(α/2) together.
fn searched_tolerance(instance: &Instance) -> f64 {
    let sharpest = instance.pieces.iter().map(Piece::sharpest_deg).fold(180.0, f64::min);
    let back = 1.0 / (sharpest / 2.0).to_radians().sin();
    SEARCHED * TOLERANCE / back.min(MOST_BACK)
}

fn strip(instance: &Instance, items: &[Item], effort: Effort, clock: &Clock) -> Result<StripLayout> {
    let height = instance.room_size().1 * instance.scale();
    let cancel = AtomicBool::new(false);
    let heard = |layout: &StripLayout| clock.hear(layout.length);
    let best = cullet_nest::strip(
        items,
        height,
        0.0,
        searched_tolerance(instance),
        effort,
        &cancel,
        &heard,
    )
    .ok_or_else(|| anyhow!("{}: a piece does not go into the strip", instance.name))?;
    clock.hear(best.length);
    Ok(best)
}

fn fill(instance: &Instance, items: Vec<Item>, effort: Effort, clock: &Clock) -> Vec<Placed> {
    let (width, height) = instance.room_size();
    let bin = Container {
        outline: Outline::rectangle(width * instance.scale(), height * instance.scale()),
        keep_off: Vec::new(),
        cost: 1.0,
    };
    // Enough for any search worth the name; one that needs more leaves pieces out and fails the verifier.
    let bins = (f64::from(instance.bins_by_area()) * 1.6).ceil() as usize + 2;
    let problem = Problem {
        items,
        containers: vec![bin; bins],
        clearance: 0.0,
        tolerance: searched_tolerance(instance),
    };
    let heard = |filling: &Filling| {
        if filling.left.iter().all(|left| *left == 0) {
            clock.hear(filling.cost);
        }
    };
    let best = cullet_nest::fill(
        &problem,
        &Shapes::default(),
        effort,
        &AtomicBool::new(false),
        &|filling, _| heard(filling),
    );
    heard(&best);
    best.placed
}

fn item(piece: &Piece, scale: f64) -> Result<Item> {
    let points = piece
        .outline
        .iter()
        .map(|p| Point {
            x: p[0] * scale,
            y: p[1] * scale,
        })
        .collect();
    let turns = match &piece.rotations {
        Rotations::Free => Turns::free(),
        Rotations::Only(list) => Turns::only(list.clone()),
    };
    Ok(Item {
        outline: Outline::new(points)?,
        count: piece.demand,
        turned_over: piece.may_turn_over.then(|| turns.clone()),
        turns,
        allowed: Vec::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Pose;
    use cullet_nest::kernel::Shape;

    const SETTINGS: Settings = Settings {
        limit: Limit::Rounds(5),
        threads: 1,
    };

    #[test]
    fn a_strip_is_run_and_verified() -> Result<()> {
        let text = r#"{"name":"A","strip_width":10,"pieces":[
            {"demand":4,"allowed_rotations_deg":[0,90],"outline":[[0,0],[5,0],[5,4],[0,4]]}]}"#;
        let run = run(&Instance::read(text, "f", "d")?, 1, SETTINGS)?;
        assert_eq!(run.faults, Vec::<String>::new());
        assert_eq!((run.placed.len(), run.bins), (4, 1));
        // 80 square units at a height of 10: no length below 8 units, 800 mm, but for the tolerance at both ends.
        assert!(run.length > 800.0 - 4.0 * TOLERANCE && run.density > 60.0, "{run:?}");
        assert!(run.first_s <= run.best_s && run.best_s <= run.took_s);
        Ok(())
    }

    #[test]
    fn sharp_corners_narrow_the_tolerance() -> Result<()> {
        let with = |outline: &str| -> Result<f64> {
            let text = format!(r#"{{"name":"A","strip_width":10,"pieces":[{{"demand":1,"outline":{outline}}}]}}"#);
            Ok(searched_tolerance(&Instance::read(&text, "f", "d")?) / (SEARCHED * TOLERANCE))
        };
        // 90° draws a corner back by √2, 45° by the most there is, inside corners as much.
        assert!((with("[[0,0],[5,0],[5,5],[0,5]]")? - 0.5f64.sqrt()).abs() < 1e-9);
        assert!((with("[[0,0],[5,0],[0,5]]")? - 0.5).abs() < 1e-9);
        assert!((with("[[0,0],[9,0],[9,5],[4.5,0.5],[0,5]]")? - 0.5).abs() < 1e-9);
        Ok(())
    }

    #[test]
    fn a_corner_in_a_notch_sinks_no_deeper_than_the_tolerance() -> Result<()> {
        // An L of three unit squares and a square that fits its notch, pushed in along the bisector as far as the kernel lets it.
        let text = r#"{"name":"N","strip_width":2,"pieces":[
            {"demand":1,"outline":[[0,0],[2,0],[2,1],[1,1],[1,2],[0,2]],"allowed_rotations_deg":[0]},
            {"demand":1,"outline":[[0,0],[1,0],[1,1],[0,1]],"allowed_rotations_deg":[0]}]}"#;
        let instance = Instance::read(text, "f", "d")?;
        let shapes: Vec<Shape> = (instance.pieces.iter())
            .map(|piece| {
                let corners: Vec<[f64; 2]> = piece.outline.iter().map(|p| p.map(|v| v * instance.scale())).collect();
                Ok(Shape::new(&Outline::try_from(corners)?, searched_tolerance(&instance)))
            })
            .collect::<Result<_>>()?;
        let (l, square) = (shapes[0].turned(0.0, false), shapes[1].turned(0.0, false));
        let (from, to) = (shapes[0].reference(), shapes[1].reference());
        let overlaps = |at: f64| square.overlaps(&l, at + to.x - from.x, at + to.y - from.y);
        let (mut clear, mut deep) = (instance.scale(), instance.scale() - 1.0);
        assert!(!overlaps(clear) && overlaps(deep));
        for _ in 0..40 {
            let at = (clear + deep) / 2.0;
            *(if overlaps(at) { &mut deep } else { &mut clear }) = at;
        }
        let laid = |item: usize, at: f64| Placed {
            item,
            container: 0,
            pose: Pose {
                x: at,
                y: at,
                rotation_deg: 0.0,
                turned_over: false,
            },
        };
        let checked = verify::verify(&instance, 2.0 * instance.scale(), &[laid(0, 0.0), laid(1, clear)]);
        assert_eq!(checked.faults, Vec::<String>::new());
        // Single precision takes some of the tenth that is kept back.
        assert!(checked.depth > 0.85 * TOLERANCE, "{}", checked.depth);
        Ok(())
    }

    #[test]
    fn bins_are_counted() -> Result<()> {
        let text = r#"{"name":"B","bin_width":10,"bin_height":10,"optimal_bins":3,
            "pieces":[{"demand":3,"outline":[[0,0],[9,0],[9,9],[0,9]]}]}"#;
        let run = run(&Instance::read(text, "f", "d")?, 1, SETTINGS)?;
        assert_eq!(run.faults, Vec::<String>::new());
        assert_eq!((run.bins, run.placed.len()), (3, 3));
        assert!((run.density - 81.0).abs() < 1e-9);
        Ok(())
    }
}
