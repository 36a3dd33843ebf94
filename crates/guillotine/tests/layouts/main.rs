//! Straight-run layouts: counts known by arithmetic, and what must hold of every layout. Checked by replaying the breaks with
//! `geo`, which shares nothing with the search.

#[path = "../../../../benches/src/runs/check.rs"]
#[expect(unreachable_pub, reason = "a library's module when it measures")]
mod check;
mod faults;
mod problems;

use cullet_breakout::{Outcome, Rule};
use cullet_geometry::{Outline, Point, boolean, offset};
use cullet_guillotine::{Sheet, StuckError, blank_for, lay, runs};
use cullet_search::{Effort, Limit, Turns};
use faults::faults;
use problems::{effort, item, laid, mixed, outline, problem, sheet};
use proptest::prelude::*;
use std::sync::atomic::AtomicBool;

#[test]
fn a_sheet_that_is_the_blank_needs_no_run() {
    let pane = Outline::rectangle(300.0, 200.0);
    let cut = |whole: &Outline| {
        let on = Sheet {
            whole,
            usable: &pane,
            kerf: 0.0,
        };
        runs(std::slice::from_ref(&pane), on, Rule::usual(6.0), &|_| false)
    };
    assert_eq!(cut(&pane).map(|c| c.breaking.steps.len()), Ok(0));
    let trimmed = cut(&offset::grow(&pane, 10.0)).expect("four runs");
    assert_eq!(trimmed.breaking.steps.len(), 4);
    assert_eq!(trimmed.breaking.steps[3].left, Outcome::Piece(0));
    assert_eq!(trimmed.blanks[0].area(), pane.area());
}

fn count_on(piece: Outline, turns: Turns, width: f64, height: f64) -> usize {
    let count = (width * height / piece.area()) as u32;
    let problem = problem(
        vec![item(piece, count, turns)],
        vec![sheet(Outline::rectangle(width, height), 1.0)],
        0.0,
    );
    let laying = laid(&problem, 3);
    assert_eq!(faults(&problem, &laying), Vec::<String>::new());
    laying.placed.len()
}

#[test]
fn quarries_lie_in_parallel_rows() {
    // Diagonals 100 x 150: side 90.14 mm, acute angle 67.38 degrees (trade facts 9.4), rows 7500 / 90.14 = 83.2 mm high.
    // Inside 10 mm of trim a sheet of 610 x 1220 is 590 x 1200: 7 rows, each of (1200 - 83.2 / tan 67.38) / 90.14 = 12.
    let quarry = outline(&[(0.0, -75.0), (50.0, 0.0), (0.0, 75.0), (-50.0, 0.0)]);
    let side = 50.0_f64.hypot(75.0);
    let high = quarry.area() / side;
    let rows = (590.0 / high).floor();
    let in_row = ((1200.0 - (side * side - high * high).sqrt()) / side).floor();
    assert_eq!(rows * in_row, 84.0);
    assert!(count_on(quarry, Turns::free(), 590.0, 1200.0) >= 84);
}

#[test]
fn two_hundred_quarries_take_three_sheets() {
    // 84 on a full sheet (above), so 32 are left for the third.
    let quarry = outline(&[(0.0, -75.0), (50.0, 0.0), (0.0, 75.0), (-50.0, 0.0)]);
    let usable = Outline::rectangle(590.0, 1200.0);
    let problem = problem(
        vec![item(quarry, 200, Turns::only(vec![0.0, 180.0]))],
        vec![sheet(usable, 1.0); 4],
        0.0,
    );
    let mut free = problem.clone();
    free.items[0].turns = Turns::free();
    for (problem, full) in [(problem, 70), (free, 84)] {
        let laying = laid(&problem, 6);
        assert_eq!(faults(&problem, &laying), Vec::<String>::new());
        assert_eq!((laying.cost, laying.left[0]), (3.0, 0));
        let most = (0..4)
            .map(|c| laying.placed.iter().filter(|p| p.container == c).count())
            .max();
        assert!(most >= Some(full), "{most:?}");
    }
}

#[test]
fn nothing_to_lay_or_nowhere_to_lay_it() {
    let pane = item(Outline::rectangle(100.0, 80.0), 2, Turns::only(vec![0.0]));
    let small = sheet(Outline::rectangle(90.0, 90.0), 1.0);
    for (items, containers, left) in [
        (vec![], vec![small.clone()], vec![]),
        (vec![pane.clone()], vec![], vec![2]),
        (vec![pane], vec![small], vec![2]),
    ] {
        let laying = laid(&problem(items, containers, 0.0), 2);
        assert_eq!((laying.placed.len(), laying.left, laying.cost), (0, left, 0.0));
    }
}

#[test]
fn diamonds_of_sixty_degrees_lie_in_parallel_rows() {
    // Side 100: rows 86.6 high, 6 across 590, each of (1200 - 50) / 100 = 11.
    let half = 50.0 * 3.0_f64.sqrt();
    let diamond = outline(&[(0.0, -half), (50.0, 0.0), (0.0, half), (-50.0, 0.0)]);
    assert!(count_on(diamond, Turns::free(), 590.0, 1200.0) >= 66);
}

#[test]
fn squares_and_border_strips_lie_in_rows_and_columns() {
    let square = Outline::rectangle(100.0, 100.0);
    assert_eq!(count_on(square, Turns::only(vec![0.0, 90.0]), 590.0, 1200.0), 5 * 12);
    // 14 x 6 upright; 3 x 30 lying.
    let strip = Outline::rectangle(40.0, 180.0);
    assert!(count_on(strip, Turns::only(vec![0.0, 90.0]), 590.0, 1200.0) >= 3 * 30);
}

#[test]
fn seventy_two_panes_come_from_one_sheet() {
    // Trade facts 9.2: 454 x 131 and 0.5 mm on each side, 1830 x 2440: 72 pieces.
    let problem = problem(
        vec![item(Outline::rectangle(455.0, 132.0), 72, Turns::only(vec![0.0]))],
        vec![sheet(Outline::rectangle(1830.0, 2440.0), 1.0); 2],
        0.0,
    );
    let laying = laid(&problem, 4);
    assert_eq!(faults(&problem, &laying), Vec::<String>::new());
    assert_eq!((laying.placed.len(), laying.cost), (72, 1.0));
}

#[test]
fn a_set_cut_from_a_sheet_goes_back() {
    // 600 x 400 cut at 45 degrees and then square to that.
    let items = [
        outline(&[(0.0, 0.0), (400.0, 0.0), (0.0, 400.0)]),
        outline(&[
            (400.0, 0.0),
            (600.0, 0.0),
            (600.0, 200.0),
            (500.0, 300.0),
            (300.0, 100.0),
        ]),
        outline(&[(0.0, 400.0), (300.0, 100.0), (500.0, 300.0), (400.0, 400.0)]),
        outline(&[(600.0, 200.0), (600.0, 400.0), (400.0, 400.0)]),
    ];
    let items = items.into_iter().map(|o| item(o, 1, Turns::free())).collect();
    let problem = problem(items, vec![sheet(Outline::rectangle(600.0, 400.0), 1.0)], 0.0);
    let laying = laid(&problem, 8);
    assert_eq!(laying.placed.len(), 4);
    assert_eq!(faults(&problem, &laying), Vec::<String>::new());
}

#[test]
fn threads_do_not_matter() {
    let problem = mixed(5, 0.2);
    let run = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        pool.install(|| laid(&problem, 8))
    };
    assert_eq!(run(1), run(2));
}

#[test]
fn told_to_stop_it_stops() {
    let problem = mixed(9, 0.0);
    let stop = AtomicBool::new(true);
    let begun = std::time::Instant::now();
    let long = Effort {
        limit: Limit::Seconds(60.0),
        ..effort(1)
    };
    let laying = lay(&problem, Rule::usual(6.0), long, &stop, &|_, _| {});
    assert!(begun.elapsed().as_secs() < 5, "{:?}", begun.elapsed());
    assert_eq!(faults(&problem, &laying), Vec::<String>::new());
}

#[test]
fn cheap_glass_is_used_first() {
    let items = vec![item(Outline::rectangle(100.0, 80.0), 6, Turns::only(vec![0.0, 90.0]))];
    let containers = vec![
        sheet(Outline::rectangle(1000.0, 1000.0), 100.0),
        sheet(
            outline(&[(0.0, 0.0), (400.0, 0.0), (400.0, 90.0), (250.0, 250.0), (0.0, 250.0)]),
            5.0,
        ),
    ];
    let problem = problem(items, containers, 0.0);
    let laying = laid(&problem, 12);
    assert_eq!((laying.cost, laying.left[0]), (5.0, 0));
    assert_eq!(faults(&problem, &laying), Vec::<String>::new());
}

#[test]
fn what_no_run_parts_is_named() {
    // Four panes round a square hole, as a pinwheel: no straight run goes through.
    let blanks = [
        Outline::rectangle(200.0, 100.0),
        Outline::rectangle(100.0, 200.0).translated(200.0, 0.0),
        Outline::rectangle(200.0, 100.0).translated(100.0, 200.0),
        Outline::rectangle(100.0, 200.0).translated(0.0, 100.0),
    ];
    let whole = Outline::rectangle(300.0, 300.0);
    let on = Sheet {
        whole: &whole,
        usable: &whole,
        kerf: 0.0,
    };
    let stuck = StuckError {
        blanks: vec![0, 1, 2, 3],
    };
    assert_eq!(runs(&blanks, on, Rule::usual(6.0), &|_| false), Err(stuck));
}

#[test]
fn narrow_waste_is_counted_as_nibbled() {
    let whole = Outline::rectangle(104.0, 50.0);
    let on = Sheet {
        whole: &whole,
        usable: &whole,
        kerf: 0.0,
    };
    let cut = runs(&[Outline::rectangle(100.0, 50.0)], on, Rule::usual(6.0), &|_| false).expect("one run frees it");
    assert_eq!((cut.nibbled, cut.breaking.steps.len()), (1, 1));
    let step = &cut.breaking.steps[0];
    assert_eq!((step.left, step.right), (Outcome::Piece(0), Outcome::Nibbled));
}

/// A blank stood 0.0006 mm inside an edge of the glass in hand, and a run was scored along that edge; another took 0.0015 mm² off
/// a corner.
#[test]
fn no_run_takes_off_a_sliver_or_a_speck() {
    for (seed, kerf) in [(83, 0.152_757_874_327_743_35), (488, 0.196_000_000_000_000_78)] {
        let problem = mixed(seed, kerf);
        assert_eq!(
            faults(&problem, &laid(&problem, 6)),
            Vec::<String>::new(),
            "seed {seed}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_layout_holds(seed in 0_u64..1000, kerf in prop_oneof![Just(0.0), 0.05..0.3]) {
        let problem = mixed(seed, kerf);
        let laying = laid(&problem, 6);
        prop_assert_eq!(faults(&problem, &laying), Vec::<String>::new());
        prop_assert!(laying.placed.len() > 3);
    }

    #[test]
    fn a_blank_covers_its_piece(corners in prop::collection::vec((0.0..100.0, 20.0..60.0_f64), 3..40)) {
        // Star-shaped about the origin, so simple.
        let n = corners.len() as f64;
        let points: Vec<Point> = corners.iter().enumerate().map(|(i, (_, far))| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / n).sin_cos();
            Point { x: far * cos, y: far * sin }
        }).collect();
        let piece = Outline::new(points).expect("star-shaped");
        let around = blank_for(&piece, &Rule::usual(1.0));
        prop_assert!(around.points().len() <= 8);
        let out: f64 = boolean::difference(&piece, std::slice::from_ref(&around)).iter().map(boolean::Region::area).sum();
        prop_assert!(out < 0.1, "{out}");
        prop_assert!(around.area() < 1.5 * piece.convex_hull().area());
    }
}

/// Two panes at one end of a sheet with 10 mm of trim: the offcut keeps the full width of the sheet, then the trim comes off the
/// end that is left, then the panes part.
#[test]
fn what_goes_back_keeps_its_edges() {
    let whole = Outline::rectangle(400.0, 1000.0);
    let usable = Outline::rectangle(380.0, 980.0).translated(10.0, 10.0);
    let panes = [
        Outline::rectangle(190.0, 300.0).translated(10.0, 10.0),
        Outline::rectangle(190.0, 300.0).translated(200.0, 10.0),
    ];
    let sheet = Sheet {
        whole: &whole,
        usable: &usable,
        kerf: 0.0,
    };
    let cut = runs(&panes, sheet, Rule::usual(6.0), &|waste| waste.area() > 50_000.0).expect("two panes");
    let offcut = cut.offcuts[0].bounds();
    assert_eq!((cut.offcuts.len(), offcut.width(), offcut.height()), (1, 400.0, 690.0));
    let steps = &cut.breaking.steps;
    assert_eq!(steps.len(), 1 + 3 + 1);
    assert!(steps[1..4].iter().all(|s| s.right == Outcome::Cullet));
    assert!(matches!(
        (steps[4].left, steps[4].right),
        (Outcome::Piece(_), Outcome::Piece(_))
    ));
}
