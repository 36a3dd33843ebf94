//! Panels of curves that meet at a tangent: sunburst, tulip, fish scales, quatrefoil, circle in a square, ribbons.

use cullet::Exit;
use cullet_tests::{Bench, Checked, run};
use std::path::Path;

#[test]
fn six_free_form_panels_are_planned_and_break_out() -> Checked {
    let bench = Bench::new()?;
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/free_form");
    let args = [
        "plan".to_owned(),
        fixtures.join("job.json").display().to_string(),
        "--stock".into(),
        fixtures.join("stock.csv").display().to_string(),
        "--out".into(),
        bench.path("out").display().to_string(),
        "--rounds".into(),
        "2".into(),
    ];
    let outcome = run(&args);
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let warnings: Vec<&str> = outcome.err.lines().filter(|line| line.starts_with("warning")).collect();
    // Cusps come to points, which is said once for a piece; numbers were not drawn.
    let is_true =
        |said: &&str| said.contains("corner of") || said.contains("corners under") || said.contains("without a number");
    assert!(warnings.iter().all(is_true), "{warnings:#?}");
    let mut pieces: Vec<&str> = warnings
        .iter()
        .filter_map(|said| said.split(" mm from").next())
        .collect();
    pieces.sort_unstable();
    let count = pieces.len();
    pieces.dedup_by_key(|said| said.rsplit_once(',').map(|(piece, _)| piece.to_owned()));
    assert_eq!(pieces.len(), count, "{warnings:#?}");
    let plan = bench.checked_plan()?;
    assert_eq!((plan.pieces.len(), plan.unplaced.len()), (57, 0));
    Ok(())
}
