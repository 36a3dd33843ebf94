//! The demo job with a score kerf: pieces that share a score lie a kerf apart, in every layout method.

use cullet_tests::{Bench, Checked};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// 0.05 mm to 2 mm, a moment of search each.
#[test]
fn the_demo_is_planned_with_any_score_kerf() -> Checked {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/lighthouse");
    let plain: Value = serde_json::from_str(&fs::read_to_string(folder.join("job.json"))?)?;
    let stock = fs::read_to_string(folder.join("stock.csv"))?;
    for (layout, kerf) in [
        ("shaped", 0.05),
        ("shaped", 2.0),
        ("straight-run", 0.2),
        ("straight-run", 2.0),
        ("either", 1.0),
    ] {
        let bench = Bench::new()?;
        for drawing in ["lamp.svg", "quarries.dxf", "waves.svg"] {
            fs::copy(folder.join(drawing), bench.path(drawing))?;
        }
        let mut job = plain.clone();
        job["settings"]["score_kerf"] = json!(kerf);
        job["settings"]["layout"] = json!(layout);
        for glass in job["glasses"].as_array_mut().into_iter().flatten() {
            glass["layout"] = json!(layout);
        }
        let outcome = bench.plan(&job, &stock, &["--seconds", "0.2", "--seed", "1"])?;
        let plan = bench
            .checked_plan()
            .map_err(|error| format!("{layout}, {kerf} mm: {error}; {}", outcome.err))?;
        assert!(plan.unplaced.is_empty(), "{layout}, {kerf} mm: {}", outcome.err);
    }
    Ok(())
}
