//! Whole plans against figures that others published, and against mathematical facts.
//!
//! A fact needs no source: the plan proves it. Names and years beside it say who found it, "from memory" where not re-read.

use cullet::Exit;
use cullet_model::Plan;
use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, piece, rectangle, sheets};
use serde_json::json;
use std::error::Error;

/// Plans squares of these sides, which fill a sheet of `width` × `height` mm, and checks that they are not said to come from
/// it: in a squared rectangle of the lowest order no line runs from edge to edge (or a smaller one would lie on one side of
/// it), so no break opens it, and glass cannot be cut that way. That the search finds the cover is tested in `cullet-nest`.
fn squares_cannot_be_broken_out(width: f64, height: f64, sides: &[f64]) -> Checked {
    let area: f64 = sides.iter().map(|side| side * side).sum();
    assert_eq!(area, width * height, "the squares' areas must add up");
    // Ten millimetres to the unit: pieces narrower than a narrowest strip are no test of glass.
    let scale = 10.0;
    let pieces: Vec<_> = sides
        .iter()
        .map(|side| rectangle(&side.to_string(), "A", side * scale, side * scale))
        .collect();
    let stock = sheets(&[Sheet {
        tag: "one",
        glass: "A",
        width: width * scale,
        height: height * scale,
        count: 1,
    }]);
    let bench = Bench::new()?;
    let job = job(&[bare_glass("A", 3.0)], 1, &pieces);
    let outcome = bench.plan(&job, &stock, &["--seconds", "4"])?;
    assert_eq!(outcome.exit, Exit::Unplaced, "{}", outcome.err);
    let plan = bench.checked_plan()?;
    let layout = only_layout(&plan)?;
    assert!(layout.placements.len() < sides.len());
    assert!(!layout.placements.is_empty());
    Ok(())
}

fn fills_one_sheet(job: &serde_json::Value, stock: &str, pieces: usize) -> Checked {
    let bench = Bench::new()?;
    let outcome = bench.plan(job, stock, &["--seconds", "8"])?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let plan = bench.checked_plan()?;
    let layout = only_layout(&plan)?;
    assert_eq!(layout.placements.len(), pieces);
    let gap = layout.figures.pulled - layout.figures.used;
    assert!(
        gap.abs() < 1e-6 * layout.figures.pulled,
        "{gap} mm² of the sheet are not covered"
    );
    Ok(())
}

fn only_layout(plan: &Plan) -> Result<&cullet_model::Layout, Box<dyn Error>> {
    let mut layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
    match (layouts.next(), layouts.next()) {
        (Some(layout), None) => Ok(layout),
        _ => Err("the plan does not pull exactly one sheet".into()),
    }
}

/// A mathematical fact, checked here by the areas and by the plan itself: nine different squares fill 33 × 32. Found by
/// Z. Moroń, *O rozkładach prostokątów na kwadraty*, Przegląd Matematyczno-Fizyczny 3 (1925); title and sides from memory.
#[test]
fn moron_33_by_32_cannot_be_broken_out() -> Checked {
    squares_cannot_be_broken_out(33.0, 32.0, &[18.0, 15.0, 14.0, 10.0, 9.0, 8.0, 7.0, 4.0, 1.0])
}

/// A mathematical fact, checked here by the areas and by the plan itself: the other squared rectangle of order nine,
/// 69 × 61. In R. L. Brooks, C. A. B. Smith, A. H. Stone, W. T. Tutte, *The dissection of rectangles into squares*, Duke
/// Mathematical Journal 7 (1940); reference and sides from memory.
#[test]
fn squared_69_by_61_cannot_be_broken_out() -> Checked {
    squares_cannot_be_broken_out(69.0, 61.0, &[36.0, 33.0, 28.0, 25.0, 16.0, 9.0, 7.0, 5.0, 2.0])
}

/// A mathematical fact, checked here by the plan itself: the seven pieces of the tangram make a square. Their areas are
/// 1/4, 1/4, 1/8, 1/16, 1/16, 1/8 and 1/8 of it; the dissection is a traditional one, its corners from memory. The
/// parallelogram may be turned over, as in the puzzle.
#[test]
fn tangram_fills_the_square() -> Checked {
    let side = 200.0;
    let at = |x: f64, y: f64| [x * side, y * side];
    // Drawn a quarter turn round, so that laying every piece as it is drawn does not do.
    let turned = |x: f64, y: f64| [-y * side, x * side];
    let pieces = [
        piece("large 1", "A", &[at(0.0, 0.0), at(1.0, 0.0), at(0.5, 0.5)]),
        piece("large 2", "A", &[turned(0.0, 0.0), turned(0.5, 0.5), turned(0.0, 1.0)]),
        piece("middle", "A", &[turned(1.0, 1.0), turned(0.5, 1.0), turned(1.0, 0.5)]),
        piece(
            "small 1",
            "A",
            &[turned(1.0, 0.0), turned(1.0, 0.5), turned(0.75, 0.25)],
        ),
        piece("small 2", "A", &[at(0.25, 0.75), at(0.5, 0.5), at(0.75, 0.75)]),
        piece(
            "square",
            "A",
            &[at(0.5, 0.5), at(0.75, 0.25), at(1.0, 0.5), at(0.75, 0.75)],
        ),
        piece(
            "lozenge",
            "A",
            &[
                turned(0.0, 1.0),
                turned(0.25, 0.75),
                turned(0.75, 0.75),
                turned(0.5, 1.0),
            ],
        ),
    ];
    let mut glass = bare_glass("A", 3.0);
    glass["may_turn_over"] = json!(true);
    let stock = sheets(&[Sheet {
        tag: "one",
        glass: "A",
        width: side,
        height: side,
        count: 1,
    }]);
    fills_one_sheet(&job(&[glass], 1, &pieces), &stock, pieces.len())
}

/// A glass processor's note on cutting rates (trade figure 9.2): 72 pieces of 454 × 131 mm with 0.5 mm on each side come
/// out of one 1830 × 2440 sheet without trim, 95.9 % of it in cut size. With the 0.5 mm it is 72 × 455 × 132 mm, 96.8 %,
/// by hand.
#[test]
fn cutting_rate_of_the_processors_note() -> Checked {
    let bench = Bench::new()?;
    let mut glass = bare_glass("A", 4.0);
    glass["grind_allowance"] = json!(0.5);
    let stock = sheets(&[Sheet {
        tag: "float",
        glass: "A",
        width: 1830.0,
        height: 2440.0,
        count: 1,
    }]);
    let outcome = bench.plan(
        &job(&[glass], 72, &[rectangle("1", "A", 454.0, 131.0)]),
        &stock,
        &["--seconds", "8"],
    )?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let plan = bench.checked_plan()?;
    let figures = only_layout(&plan)?.figures;
    assert_eq!(figures.pieces, 72);
    for (share, expected) in [
        (figures.used / figures.pulled, 0.959),
        ((figures.used + figures.grinding) / figures.pulled, 0.968),
    ] {
        assert!(
            (share - expected).abs() < 0.0005,
            "{share} of the sheet, not {expected}"
        );
    }
    Ok(())
}

/// EN 572-1 gives 2500 kg/m³; the weights are worked out by hand from it (trade figure 9.3): 1830 × 2440 × 6 mm weighs
/// 66.98 kg, 24 × 48 in × 3 mm weighs 5.57 kg.
#[test]
fn weights_by_en_572_1() -> Checked {
    let inch = 25.4;
    for (thickness, width, height, kg) in [(6.0, 1830.0, 2440.0, 66.98), (3.0, 24.0 * inch, 48.0 * inch, 5.57)] {
        let bench = Bench::new()?;
        let stock = sheets(&[Sheet {
            tag: "sheet",
            glass: "A",
            width,
            height,
            count: 1,
        }]);
        let outcome = bench.plan(
            &job(&[bare_glass("A", thickness)], 1, &[rectangle("1", "A", 100.0, 100.0)]),
            &stock,
            &["--rounds", "1"],
        )?;
        assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
        let weight = bench.checked_plan()?.figures.pulled_kg;
        assert!((weight - kg).abs() < 0.005, "{weight} kg, not {kg}");
        let heavy = outcome.out.contains("two people");
        assert_eq!(heavy, kg > 25.0, "{}", outcome.out);
    }
    Ok(())
}

/// Trade figures 9.5, derived from tan(angle) = (t − nose) / width: 5 mm glass, 1/2 in wide, 2.5 mm nose gives 11.1°. At
/// 7° a bevel 10, 25, 40 mm wide takes 1.23, 3.07, 4.91 mm.
#[test]
fn bevel_angles() -> Checked {
    for (thickness, width, nose, angle) in [
        (5.0, 12.7, 2.5, 11.1),
        (6.0, 10.0, 6.0 - 1.23, 7.0),
        (8.0, 25.0, 8.0 - 3.07, 7.0),
        (10.0, 40.0, 10.0 - 4.91, 7.0),
    ] {
        let mut bevelled = rectangle("1", "A", 200.0, 200.0);
        bevelled["bevel"] = json!({ "width": width, "nose": nose });
        let text = job(&[bare_glass("A", thickness)], 1, &[bevelled]).to_string();
        let job = cullet_job::Job::read("job.json", &text)?;
        let bevel = job.pieces[0].bevel.ok_or("the bevel is lost")?;
        assert!(
            (bevel.angle_deg - angle).abs() < 0.05,
            "{} at {width} mm, not {angle}",
            bevel.angle_deg
        );
    }
    Ok(())
}
