use super::*;
use cullet_testkit::plan::{outline, rectangle};

/// Each offcut by its bounds (x, y, width, height) and area.
fn check(sheet: &Outline, flaws: &[Outline], pieces: &[Outline], expect: &[([f64; 4], f64)]) {
    let found = returned(sheet, flaws, pieces, 8.0, 150.0);
    let told: Vec<_> = found
        .iter()
        .map(|o| {
            let b = o.bounds();
            ([b.min.x, b.min.y, b.width(), b.height()], o.area())
        })
        .collect();
    assert_eq!(told.len(), expect.len(), "{told:?}");
    for ((bounds, area), (expect_bounds, expect_area)) in told.iter().zip(expect) {
        let near = bounds.iter().zip(expect_bounds).all(|(a, b)| (a - b).abs() < 1e-3);
        assert!(
            near && (area - expect_area).abs() < 0.5,
            "{told:?}, expected {expect:?}"
        );
    }
}

#[test]
fn nothing_cut_nothing_returned() {
    check(&Outline::rectangle(1000.0, 800.0), &[], &[], &[]);
}

/// Both orders give 800 000 − 318 × 218; the level run first gives the larger offcut, 1000 × 582 against 682 × 800.
#[test]
fn two_runs_in_the_better_order() {
    check(
        &Outline::rectangle(1000.0, 800.0),
        &[],
        &[rectangle(10.0, 10.0, 300.0, 200.0)],
        &[
            ([0.0, 218.0, 1000.0, 582.0], 582_000.0),
            ([318.0, 0.0, 682.0, 218.0], 682.0 * 218.0),
        ],
    );
}

/// Above the piece 82 mm are left: too narrow to keep.
#[test]
fn a_narrow_strip_is_not_returned() {
    check(
        &Outline::rectangle(1000.0, 800.0),
        &[],
        &[rectangle(10.0, 10.0, 300.0, 700.0)],
        &[([318.0, 0.0, 682.0, 800.0], 545_600.0)],
    );
}

/// The level run first would leave 149 beside the pieces' 700 × 651 but take 1000 × 149 at the top: neither is kept.
/// Right of it 200 are left over the whole height.
#[test]
fn the_order_that_passes_the_keep_rule_is_found() {
    check(
        &Outline::rectangle(1000.0, 800.0),
        &[],
        &[rectangle(0.0, 0.0, 792.0, 643.0)],
        &[([800.0, 0.0, 200.0, 800.0], 160_000.0)],
    );
}

#[test]
fn the_keep_rule_to_the_hundredth() {
    let sheet = Outline::rectangle(1000.0, 800.0);
    check(
        &sheet,
        &[],
        &[rectangle(0.0, 0.0, 842.0, 800.0)],
        &[([850.0, 0.0, 150.0, 800.0], 120_000.0)],
    );
    check(&sheet, &[], &[rectangle(0.0, 0.0, 842.01, 800.0)], &[]);
}

/// Pieces at the right and the top leave the left and the bottom.
#[test]
fn runs_on_every_side() {
    check(
        &Outline::rectangle(1000.0, 800.0),
        &[],
        &[rectangle(600.0, 500.0, 400.0, 300.0)],
        &[
            ([0.0, 0.0, 1000.0, 492.0], 492_000.0),
            ([0.0, 492.0, 592.0, 308.0], 592.0 * 308.0),
        ],
    );
}

/// A flaw in the middle of 160 × 300 leaves no square of 150 beside it; one at the end does.
#[test]
fn the_square_is_free_of_flaws() {
    let sheet = Outline::rectangle(400.0, 300.0);
    let piece = [rectangle(0.0, 0.0, 232.0, 300.0)];
    let expect = [([240.0, 0.0, 160.0, 300.0], 48_000.0)];
    check(&sheet, &[rectangle(300.0, 140.0, 20.0, 20.0)], &piece, &[]);
    check(&sheet, &[rectangle(300.0, 10.0, 20.0, 20.0)], &piece, &expect);
}

/// An L of arms 300, 1000 long; the piece sits in its corner. Both runs leave 218 × 218: the rest is
/// 510 000 − 218². The part beyond the first run is itself an L.
#[test]
fn an_angled_offcut() {
    let sheet = outline(&[
        [0.0, 0.0],
        [1000.0, 0.0],
        [1000.0, 300.0],
        [300.0, 300.0],
        [300.0, 1000.0],
        [0.0, 1000.0],
    ]);
    check(
        &sheet,
        &[],
        &[rectangle(10.0, 10.0, 200.0, 200.0)],
        &[
            ([218.0, 0.0, 782.0, 1000.0], 782.0 * 300.0 + 82.0 * 700.0),
            ([0.0, 218.0, 218.0, 782.0], 218.0 * 782.0),
        ],
    );
}

/// A comb of two teeth 200 wide: the run over the bay parts both teeth.
#[test]
fn a_bay_parts_what_is_beyond() {
    let sheet = outline(&[
        [0.0, 0.0],
        [600.0, 0.0],
        [600.0, 500.0],
        [400.0, 500.0],
        [400.0, 200.0],
        [200.0, 200.0],
        [200.0, 500.0],
        [0.0, 500.0],
    ]);
    let found = returned(&sheet, &[], &[rectangle(0.0, 0.0, 600.0, 242.0)], 8.0, 150.0);
    assert_eq!(
        found.iter().map(Outline::area).collect::<Vec<_>>(),
        [50_000.0, 50_000.0]
    );
}

/// A strip of 300 turned by 30°: the run along its own end is worth more than upright ones. The piece fills 300 at one end,
/// so 300 × (1000 − 308) come back.
#[test]
fn runs_follow_the_sides_of_an_irregular_offcut() {
    let turn = |o: Outline| {
        o.posed(&cullet_geometry::Pose {
            rotation_deg: 30.0,
            turned_over: false,
            x: 150.0,
            y: 0.0,
        })
    };
    let sheet = turn(Outline::rectangle(1000.0, 300.0));
    let found = returned(&sheet, &[], &[turn(Outline::rectangle(300.0, 300.0))], 8.0, 150.0);
    let areas: Vec<f64> = found.iter().map(Outline::area).collect();
    assert_eq!(areas.len(), 1, "{areas:?}");
    assert!((areas[0] - 300.0 * 692.0).abs() < 1e-3, "{areas:?}");
}
