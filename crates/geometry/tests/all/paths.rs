//! Path data to outlines.

use crate::shapes::{near, p, to_boundary};
use cullet_geometry::path::{PathError, YAxis, exact_area, flatten};
use cullet_geometry::{Outline, OutlineError, Point};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

#[track_caller]
fn flat(data: &str, tolerance: f64) -> Outline {
    flatten(data, 1.0, YAxis::Up, tolerance).unwrap_or_else(|e| panic!("{data}: {e}"))
}

/// The drawn curve must lie inside, and the outline nowhere farther than the tolerance from it.
#[track_caller]
fn check_cover(outline: &Outline, drawn: &[Point], tolerance: f64) {
    for q in drawn {
        assert!(
            outline.contains(*q) || to_boundary(outline, *q) < 1e-6,
            "{q:?} sticks out"
        );
        assert!(to_boundary(outline, *q) < tolerance + 1e-6, "{q:?} lies too deep");
    }
    for (i, a) in outline.points().iter().enumerate() {
        let b = outline.points()[(i + 1) % outline.points().len()];
        for k in 0..4 {
            let q = *a + (b - *a) * (f64::from(k) / 4.0);
            let away = drawn
                .iter()
                .enumerate()
                .map(|(j, c)| to_side(*c, drawn[(j + 1) % drawn.len()], q))
                .fold(f64::INFINITY, f64::min);
            assert!(away < tolerance * 1.001 + 1e-4, "{q:?} is {away} outside");
        }
    }
}

fn to_side(a: Point, b: Point, q: Point) -> f64 {
    let (u, v) = (b - a, q - a);
    let t = ((u.x * v.x + u.y * v.y) / (u.x * u.x + u.y * u.y).max(1e-300)).clamp(0.0, 1.0);
    (v.x - u.x * t).hypot(v.y - u.y * t)
}

fn cubic(c: [Point; 4], n: usize) -> Vec<Point> {
    (0..n)
        .map(|i| {
            let t = i as f64 / n as f64;
            let s = 1.0 - t;
            c[0] * (s * s * s) + c[1] * (3.0 * s * s * t) + c[2] * (3.0 * s * t * t) + c[3] * (t * t * t)
        })
        .collect()
}

/// W3C SVG 2, 9.3: every command, absolute and relative, draws the same square or bump.
#[test]
fn all_commands_are_read() {
    let square = Outline::rectangle(10.0, 10.0);
    for data in [
        "M0 0 L10 0 L10 10 L0 10 Z",
        "M0,0 10,0 10,10 0,10z",
        "m0 0l10 0l0 10l-10 0z",
        "M0 0H10V10H0Z",
        "m0 0h10v10h-10v-10",
        "M0 0 h1e1 v10.0 h-1.0e1 z m5 5",
        "M 99 99 M 0 0 H 10 V 10 H 0 Z",
    ] {
        assert_eq!(flat(data, 0.05), square, "{data}");
    }
    // A smooth command is the curve with its control point mirrored.
    for (short, long) in [
        (
            "M0 0 C0 5 5 10 10 10 S20 5 20 0 Z",
            "M0 0 C0 5 5 10 10 10 C15 10 20 5 20 0 Z",
        ),
        (
            "m0 0c0 5 5 10 10 10s10-5 10-10z",
            "M0 0 C0 5 5 10 10 10 C15 10 20 5 20 0 Z",
        ),
        ("M0 0 Q5 8 10 8 T20 0 Z", "M0 0 Q5 8 10 8 Q15 8 20 0 Z"),
        ("m0 0q5 8 10 8t10-8z", "M0 0 Q5 8 10 8 Q15 8 20 0 Z"),
        ("M0 0 L0 5 S5 9 20 5 V0 Z", "M0 0 L0 5 C0 5 5 9 20 5 V0 Z"),
        ("M0 0 L0 5 T20 5 V0 Z", "M0 0 V5 H20 V0 Z"),
        ("m0 0a10 10 0 0020 0z", "M0 0 A10 10 0 0 0 20 0 Z"),
    ] {
        near(
            exact_area(short, 1.0).expect(short),
            exact_area(long, 1.0).expect(long),
            1e-12,
        );
        near(flat(short, 0.01).area(), flat(long, 0.01).area(), 1e-9);
    }
}

#[test]
fn y_down_is_mirrored_and_units_are_scaled() {
    let tall = "M0 0 H2 V3 Q1 4 0 3 Z";
    let up = flatten(tall, 25.4, YAxis::Up, 0.05).expect("closed");
    let down = flatten(tall, 25.4, YAxis::Down, 0.05).expect("closed");
    near(up.area(), down.area(), 1e-9);
    near(up.bounds().min.y, 0.0, 1e-12);
    near(down.bounds().max.y, 0.0, 1e-12);
    near(up.bounds().width(), 50.8, 1e-12);
    // A tilted arc, too: its mirror image covers the same.
    let tilted = "M0 0 A30 12 25 1 1 20 10 Z";
    let (up, down) = (
        flatten(tilted, 1.0, YAxis::Up, 0.01).expect("closed"),
        flatten(tilted, 1.0, YAxis::Down, 0.01).expect("closed"),
    );
    near(up.area(), down.area(), 1e-9);
    near(up.bounds().max.y, -down.bounds().min.y, 1e-9);
}

/// Circle πr², ellipse πab, circular segment r²(θ − sin θ)/2, sector r²θ/2, half ellipse πab/2, parabolic segment ⅔ of
/// its box (Archimedes), and the quarter-turn cubic with k = 0.5522847498: 1/2 + 6k/10·… by Green's theorem, here from
/// a fine sum.
#[test]
fn areas_agree_with_closed_formulas() {
    let check = |data: &str, expected: f64| near(exact_area(data, 1.0).expect(data), expected, 1e-9 * expected);
    check("M50 0 A50 50 0 1 1 -50 0 A50 50 0 1 1 50 0 Z", PI * 2500.0);
    check("M50 0 A50 20 0 0 1 -50 0 A50 20 0 0 1 50 0 Z", PI * 1000.0);
    check("M50 0 A50 20 0 0 1 -50 0 Z", PI * 500.0);
    // 60° segment and sector of r = 100: the chord is 100 long.
    let h = 100.0 * 3f64.sqrt() / 2.0;
    let third = PI / 3.0;
    check(&format!("M0 0 L100 0 A100 100 0 0 1 50 {h} Z"), 5000.0 * third);
    check(
        &format!("M100 0 A100 100 0 0 1 50 {h} Z"),
        5000.0 * (third - third.sin()),
    );
    check(
        &format!("M100 0 A100 100 0 1 0 50 {h} Z"),
        5000.0 * (TAU - third + third.sin()),
    );
    // Too small a radius is scaled up to the half chord (SVG 2, B.2.5), a radius of 0 is a line (9.5.1).
    check("M0 0 A1 1 0 0 1 100 0 Z", PI * 1250.0);
    check("M0 0 A0 5 0 0 1 100 0 L100 40 Z", 2000.0);
    check("M0 0 Q50 60 100 0 Z", 2.0 / 3.0 * 100.0 * 30.0);
    let k = 0.552_284_749_8 * 100.0;
    let curve = [p(100.0, 0.0), p(100.0, k), p(k, 100.0), p(0.0, 100.0)];
    let mut fine: Vec<Point> = cubic(curve, 20_000);
    fine.extend([p(0.0, 100.0), p(0.0, 0.0)]);
    let sum: f64 = (0..fine.len())
        .map(|i| {
            let (a, b) = (fine[i], fine[(i + 1) % fine.len()]);
            (a.x * b.y - b.x * a.y) / 2.0
        })
        .sum();
    near(
        exact_area(&format!("M100 0 C100 {k} {k} 100 0 100 L0 0 Z"), 1.0).expect("closed"),
        sum,
        1e-4,
    );
}

#[test]
fn outward_and_inward_arcs_are_covered() {
    for tolerance in [1.0, 0.05, 0.002] {
        // A plate with a round top and a round bite.
        let data = "M0 0 H40 A20 20 0 0 0 80 0 H120 V50 A60 30 0 0 1 0 50 Z";
        let shape = flat(data, tolerance);
        let mut drawn = vec![p(0.0, 0.0)];
        drawn.extend((0..4000).map(|i| {
            let a = PI - PI * f64::from(i) / 4000.0;
            p(60.0 + 20.0 * a.cos(), 20.0 * a.sin())
        }));
        drawn.extend([p(80.0, 0.0), p(120.0, 0.0)]);
        drawn.extend((0..=4000).map(|i| {
            let a = PI * f64::from(i) / 4000.0;
            p(60.0 + 60.0 * a.cos(), 50.0 + 30.0 * a.sin())
        }));
        check_cover(&shape, &drawn, tolerance);
        assert!(shape.area() > exact_area(data, 1.0).expect("closed"));
        // Drawn the other way round it is the same.
        let back = flat("M0 0 V50 A60 30 0 0 0 120 50 V0 H80 A20 20 0 0 1 40 0 Z", tolerance);
        near(back.area(), shape.area(), 1e-6);
    }
}

#[test]
fn curves_that_turn_both_ways_are_covered() {
    for (data, control) in [
        (
            "M0 0 C40 60 60 -60 100 0 V80 H0 Z",
            [p(0.0, 0.0), p(40.0, 60.0), p(60.0, -60.0), p(100.0, 0.0)],
        ),
        (
            "M0 0 C60 -60 90 30 100 0 V80 H0 Z",
            [p(0.0, 0.0), p(60.0, -60.0), p(90.0, 30.0), p(100.0, 0.0)],
        ),
        // Both control points on the ends, and one.
        (
            "M0 0 C0 0 100 0 100 0 V80 H0 Z",
            [p(0.0, 0.0), p(0.0, 0.0), p(100.0, 0.0), p(100.0, 0.0)],
        ),
        (
            "M0 0 C0 0 60 -70 100 0 V80 H0 Z",
            [p(0.0, 0.0), p(0.0, 0.0), p(60.0, -70.0), p(100.0, 0.0)],
        ),
        // A cusp pointing outwards.
        (
            "M0 0 C100 -60 0 -60 100 0 V80 H0 Z",
            [p(0.0, 0.0), p(100.0, -60.0), p(0.0, -60.0), p(100.0, 0.0)],
        ),
    ] {
        let mut drawn = cubic(control, 4000);
        drawn.extend([p(100.0, 0.0), p(100.0, 80.0), p(0.0, 80.0)]);
        check_cover(&flat(data, 0.05), &drawn, 0.05);
    }
}

/// Two lobes that meet in a notch of no width: the tangents coincide there, the notch is filled, nothing is lost.
#[test]
fn a_notch_of_no_width_is_covered() {
    let data = "M-40 0 A20 20 0 0 1 0 0 A20 20 0 0 1 40 0 L0 -60 Z";
    let data = data.replace("-60", "60");
    for tolerance in [0.5, 0.05] {
        let shape = flatten(&data, 1.0, YAxis::Down, tolerance).expect("a heart is an outline");
        let exact = exact_area(&data, 1.0).expect("closed");
        assert!(shape.area() > exact && shape.area() < exact + 300.0 * tolerance);
        for k in 0..2000 {
            let a = PI * f64::from(k) / 2000.0;
            for x in [-20.0, 20.0] {
                let q = p(x + 20.0 * a.cos(), 20.0 * a.sin());
                assert!(shape.contains(q) || to_boundary(&shape, q) < 3e-4);
            }
        }
    }
}

#[test]
fn what_is_no_outline_is_refused_with_its_reason() {
    let refused = |data: &str| flatten(data, 1.0, YAxis::Up, 0.05).expect_err(data);
    assert_eq!(refused(""), PathError::Parts { found: 0 });
    assert_eq!(refused("M5 5"), PathError::Parts { found: 0 });
    assert_eq!(refused("M0 0H9V9Z M20 0H29V9Z"), PathError::Parts { found: 2 });
    assert_eq!(refused("M0 0H9V9H0"), PathError::Open { gap_mm: 9.0 });
    assert!(matches!(
        refused("M0 0 H9 V9 X"),
        PathError::Syntax { position: 12, .. }
    ));
    assert!(matches!(refused("hello"), PathError::Syntax { position: 1, .. }));
    assert!(matches!(refused("M0 0 L"), PathError::Syntax { .. }));
    assert!(matches!(
        refused("M0 0H1e999V9Z"),
        PathError::Outline(_) | PathError::Syntax { .. }
    ));
    assert!(matches!(
        refused("M0 0H2e5V9Z"),
        PathError::Outline(OutlineError::TooFar { .. })
    ));
    assert!(matches!(
        refused("M0 0H1e300V9Z"),
        PathError::Outline(OutlineError::TooFar { .. })
    ));
    assert!(matches!(
        refused("M0 0L9 9H0L9 0Z"),
        PathError::Outline(OutlineError::SelfCrossing { .. })
    ));
    assert!(matches!(
        refused("M0 0H9Z"),
        PathError::Outline(OutlineError::TooFewPoints { .. })
    ));
    assert!(matches!(
        refused("M0 0L0 0Z"),
        PathError::Outline(OutlineError::TooFewPoints { found: 0 })
    ));
    // A loop within one curve, and a curve that runs back along itself.
    assert!(matches!(
        refused("M0 0C200 -90 -100 -90 100 0V50H0Z"),
        PathError::Outline(OutlineError::SelfCrossing { .. })
    ));
    assert!(matches!(
        refused("M0 0C200 0 -100 0 100 0V50H0Z"),
        PathError::Outline(OutlineError::SelfCrossing { .. })
    ));
    let fine = flatten("M0 0A50 50 0 0 1 100 0Z", 1.0, YAxis::Up, 1e-12).expect_err("too fine");
    assert!(matches!(fine, PathError::Outline(OutlineError::TooManyPoints { .. })));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let unit = flatten("M0 0H9V9Z", bad, YAxis::Up, 0.05).expect_err("bad unit");
        assert!(matches!(unit, PathError::Setting { name: "unit", .. }));
        let tolerance = flatten("M0 0H9V9Z", 1.0, YAxis::Up, bad).expect_err("bad tolerance");
        assert!(matches!(tolerance, PathError::Setting { name: "tolerance", .. }));
    }
}

#[test]
fn relative_steps_that_come_back_to_the_start_count_as_closed() {
    let steps = "m0.1 0.2 l0.1 0 l0.2 0 l0.7 0 l0 0.3 l-1 0 l0 -0.3";
    near(
        flatten(steps, 100.0, YAxis::Up, 0.05).expect("closed").area(),
        3000.0,
        1e-6,
    );
}

#[test]
fn nearly_straight_arcs_of_vast_radius_are_lines() {
    let shape = flat("M0 0 A1e15 1e15 0 0 1 100 0 V50 H0 Z", 0.05);
    near(shape.area(), 5000.0, 1e-3);
    let bowed = flat("M0 0 A1e6 1e6 0 0 0 100 0 V-50 H0 Z", 0.001);
    near(
        bowed.area(),
        exact_area("M0 0 A1e6 1e6 0 0 0 100 0 V-50 H0 Z", 1.0).expect("closed"),
        0.2,
    );
}

proptest! {
    // Half of the random curves cross themselves or the plate and are no outlines.
    #![proptest_config(ProptestConfig { cases: 64, max_global_rejects: 100_000, ..ProptestConfig::default() })]

    /// Any cubic as the upper edge of a plate: covered, and within the tolerance, whenever it is an outline at all.
    #[test]
    fn random_cubics_are_covered(
        a in (-60.0..160.0f64, -80.0..80.0f64), b in (-60.0..160.0f64, -80.0..80.0f64), tolerance in 0.01..1.0f64,
    ) {
        let data = format!("M0 0C{} {} {} {} 100 0V200H0Z", a.0, a.1, b.0, b.1);
        let made = flatten(&data, 1.0, YAxis::Up, tolerance);
        prop_assume!(made.is_ok());
        let mut drawn = cubic([p(0.0, 0.0), p(a.0, a.1), p(b.0, b.1), p(100.0, 0.0)], 3000);
        drawn.extend([p(100.0, 0.0), p(100.0, 200.0), p(0.0, 200.0)]);
        prop_assume!(Outline::new(drawn.clone()).is_ok());
        check_cover(&made.expect("assumed"), &drawn, tolerance);
    }

    /// Any arc over a chord: between the exact area and that plus the tolerance along its length.
    #[test]
    fn random_arcs_cost_no_more_than_the_tolerance(
        rx in 30.0..200.0f64, ry in 30.0..200.0f64, tilt in -180.0..180.0f64, large in 0..2u8, sweep in 0..2u8,
    ) {
        let data = format!("M0 0A{rx} {ry} {tilt} {large} {sweep} 60 0Z");
        let shape = flatten(&data, 1.0, YAxis::Up, 0.05).expect("an arc and its chord");
        let exact = exact_area(&data, 1.0).expect("closed");
        prop_assert!(shape.area() >= exact - 1e-6);
        prop_assert!(shape.area() <= exact + 0.05 * TAU * rx.max(ry).max(60.0) * 1.1);
    }

    #[test]
    fn no_text_makes_it_panic(text in "[MLHVCSQTAZmlhvcsqtaz0-9 .,eE+-]{0,60}") {
        let _ = flatten(&text, 1.0, YAxis::Down, 0.05);
        let _ = exact_area(&text, 1.0);
    }
}
