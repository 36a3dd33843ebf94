//! The results as JSON: every run, and the best layout of each instance in the source's own units.

use super::run::Run;
use super::schema::{Room, TOLERANCE};
use super::table::Row;
use anyhow::{Context, Result};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

/// Writes the record of `rows` to `path`, first under another name, so that a stop leaves no half file.
///
/// # Errors
/// When it cannot be written.
pub fn write(path: &Path, rows: &[Row], settings: &Value) -> Result<()> {
    let record = json!({
        "settings": settings,
        "machine": machine(),
        "unix_seconds": SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |t| t.as_secs()),
        "tolerance": TOLERANCE / super::schema::HEIGHT,
        "pose": "a corner p goes to (dx, dy) + M R p, R the rotation, M the mirror image x -> -x where turned_over",
        "instances": rows.iter().map(instance).collect::<Vec<_>>(),
    });
    let draft = path.with_extension("draft");
    fs::write(&draft, serde_json::to_string_pretty(&record)? + "\n")
        .and_then(|()| fs::rename(&draft, path))
        .with_context(|| format!("writing {}", path.display()))
}

/// Kind of processor and number of threads it runs.
#[must_use]
pub fn machine() -> Value {
    let info = fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let model = info
        .lines()
        .find_map(|line| line.strip_prefix("model name")?.split(':').nth(1));
    json!({
        "cpu": model.map_or("unknown", str::trim),
        "threads": std::thread::available_parallelism().map_or(0, usize::from),
    })
}

fn instance(row: &Row) -> Value {
    let strip = matches!(row.instance.room, Room::Strip { .. });
    let scale = row.instance.scale();
    let (width, height) = row.instance.room_size();
    let best = row.best();
    let layout = |run: &Run| -> Vec<Value> {
        run.placed
            .iter()
            .map(|p| {
                json!({
                    "piece": p.item, "bin": p.container, "rotation_deg": p.pose.rotation_deg,
                    "turned_over": p.pose.turned_over, "dx": p.pose.x / scale, "dy": p.pose.y / scale,
                })
            })
            .collect()
    };
    json!({
        "name": row.instance.name,
        "pieces": row.instance.count(),
        "height": height,
        "bin_width": if strip { Value::Null } else { json!(width) },
        "optimal_bins": row.instance.optimal_bins,
        "best_density": best.map(|run| run.density),
        "mean_density": row.mean(|run| run.density),
        "best_length": best.filter(|_| strip).map(|run| run.length / scale),
        "best_bins": best.filter(|_| !strip).map(|run| run.bins),
        "mean_bins": if strip { Value::Null } else { json!(row.mean(|run| run.bins as f64)) },
        "published": row.figures,
        "runs": row.runs.iter().map(|run| json!({
            "seed": run.seed, "density": run.density, "length": strip.then_some(run.length / scale),
            "bins": (!strip).then_some(run.bins), "first_s": run.first_s, "best_s": run.best_s, "took_s": run.took_s,
            "judged_per_s": run.judged_per_s, "peak_mib": run.peak_mib, "depth": run.depth / scale, "faults": run.faults,
        })).collect::<Vec<_>>(),
        "best_layout": best.map(layout),
    })
}
