//! Growing and shrinking.

use crate::shapes::{boundary, is_outline, lattice_star, near, outline, p, perimeter, regular, star, to_boundary};
use cullet_geometry::{Outline, offset};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

/// Rounding of the two grids a point passes, mm.
const GRID_MM: f64 = 3e-4;

/// A convex polygon grown by d with sharp corners: A + P·d + d²·Σ tan(θ/2), θ the turn at each corner (each corner
/// adds a kite of two right triangles with legs d and d·tan(θ/2)).
#[test]
fn sharp_convex_growth_follows_the_formula() {
    for corners in [3, 4, 5, 8, 17] {
        for d in [0.5, 1.0, 2.5, 10.0] {
            let shape = regular(corners, 80.0, 0.37);
            let turns = corners as f64 * (PI / corners as f64).tan();
            let expected = shape.area() + perimeter(&shape) * d + d * d * turns;
            near(offset::grow(&shape, d).area(), expected, GRID_MM * perimeter(&shape));
        }
    }
}

/// Rounded growth is A + P·d + π·d² (Steiner's formula for convex bodies); geo's `Buffer` inscribes its rounds, and sharp
/// corners cover them.
#[test]
fn rounded_growth_lies_between_steiner_and_ours() {
    use geo::{Area, Buffer};
    for corners in [3, 4, 6, 12] {
        let shape = regular(corners, 60.0, 0.2);
        let d = 6.0;
        let steiner = shape.area() + perimeter(&shape) * d + PI * d * d;
        let buffered = shape.to_polygon().buffer(d).unsigned_area();
        let ours = offset::grow(&shape, d).area();
        near(buffered, steiner, 0.02 * PI * d * d);
        assert!(ours > steiner && ours > buffered, "{ours} {steiner} {buffered}");
    }
}

/// A polygon with an inscribed circle of radius r shrinks to A·((r − d)/r)²: it stays similar to itself.
#[test]
fn shrinking_about_an_inscribed_circle() {
    for corners in [3, 4, 7, 30] {
        let shape = regular(corners, 100.0, 0.9);
        let r = 100.0 * (PI / corners as f64).cos();
        for d in [0.5, 6.0, 25.0] {
            let left = offset::shrink(&shape, d);
            assert_eq!(left.len(), 1);
            near(
                left[0].area(),
                shape.area() * ((r - d) / r).powi(2),
                GRID_MM * TAU * 100.0,
            );
        }
        assert!(offset::shrink(&shape, r + 0.01).is_empty());
    }
}

/// Corners that hardly turn must not add up to a loss.
#[test]
fn a_finely_flattened_curve_keeps_its_distance() {
    for corners in [500, 5000, 20_000] {
        let disc = regular(corners, 100.0, 0.1);
        let inner = 100.0 * (PI / corners as f64).cos();
        for d in [0.5, 6.0] {
            for q in offset::grow(&disc, d).points() {
                assert!(q.x.hypot(q.y) > inner + d - GRID_MM);
            }
            for q in offset::shrink(&disc, d)[0].points() {
                assert!(q.x.hypot(q.y) < 100.0 - d + GRID_MM + 100.0 - inner);
            }
        }
    }
}

#[test]
fn a_point_under_29_degrees_is_cut_off_square() {
    // 20° at the origin: the mitre would run out 1 / sin 10° = 5.8 times the distance.
    let (sin, cos) = 10f64.to_radians().sin_cos();
    let sliver = outline(&[(0.0, 0.0), (300.0 * cos, -300.0 * sin), (300.0 * cos, 300.0 * sin)]);
    let grown = offset::grow(&sliver, 2.0);
    near(grown.bounds().min.x, -2.0, GRID_MM);
    // 40°: left sharp.
    let (sin, cos) = 20f64.to_radians().sin_cos();
    let sharp = outline(&[(0.0, 0.0), (300.0 * cos, -300.0 * sin), (300.0 * cos, 300.0 * sin)]);
    near(offset::grow(&sharp, 2.0).bounds().min.x, -2.0 / sin, GRID_MM);
}

#[test]
fn a_hollow_that_closes_is_filled() {
    let c = outline(&[
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 48.0),
        (90.0, 48.0),
        (90.0, 10.0),
        (10.0, 10.0),
        (10.0, 90.0),
        (90.0, 90.0),
        (90.0, 52.0),
        (100.0, 52.0),
        (100.0, 100.0),
        (0.0, 100.0),
    ]);
    near(offset::grow(&c, 3.0).area(), 106.0 * 106.0, 1e-6);
    // Exactly closing: the hollow touches the outside in a line.
    let just = offset::grow(&c, 2.0);
    assert!(Outline::new(just.points().to_vec()).is_ok());
    near(just.area(), 104.0 * 104.0, 1e-6);
}

#[test]
fn a_neck_parts_and_a_needle_still_grows() {
    let dumb_bell = outline(&[
        (0.0, 0.0),
        (40.0, 0.0),
        (40.0, 18.0),
        (60.0, 18.0),
        (60.0, 0.0),
        (100.0, 0.0),
        (100.0, 40.0),
        (60.0, 40.0),
        (60.0, 22.0),
        (40.0, 22.0),
        (40.0, 40.0),
        (0.0, 40.0),
    ]);
    let parts = offset::shrink(&dumb_bell, 3.0);
    assert_eq!(parts.iter().map(Outline::area).collect::<Vec<_>>(), [34.0 * 34.0; 2]);
    // Thinner than the grid: the grown outline must still cover it.
    let needle = outline(&[(0.0, 0.0), (100.0, 0.0), (50.0, 1e-5)]);
    let grown = offset::grow(&needle, 1.0);
    assert!(needle.points().iter().all(|q| grown.contains(*q)));
    assert!(grown.area() > 200.0);
    let slanting = outline(&[(0.0, 0.0), (60.0, 80.0), (30.0, 40.000_01)]);
    let grown = offset::grow(&slanting, 1.0);
    assert!(slanting.points().iter().all(|q| grown.contains(*q)));
    assert!(grown.area() > 200.0 && grown.area() < 210.0);
}

/// Points of far less than a degree: on the grid their sides run back on each other. Long and short, level and turned.
#[test]
fn needles_keep_their_distance() {
    for (length, thick) in [(500.0, 0.01), (500.0, 0.001), (100.0, 0.01), (30.0, 0.05)] {
        let shapes: [&[(f64, f64)]; 3] = [
            &[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)],
            &[(0.0, 0.0), (1.0, 0.0), (0.5, 1.0)],
            &[(0.0, 0.0), (1.0, 0.0), (1.2, 1.0), (0.2, 1.0)],
        ];
        for shape in shapes {
            for turn in [0.0f64, 17.3, 90.0, 211.0] {
                let (sin, cos) = turn.to_radians().sin_cos();
                let corner = |(x, y): &(f64, f64)| {
                    let (x, y) = (x * length, y * thick);
                    (cos * x - sin * y, sin * x + cos * y)
                };
                let needle = outline(&shape.iter().map(corner).collect::<Vec<_>>());
                for d in [0.5, 2.0] {
                    let grown = offset::grow(&needle, d);
                    let least = needle
                        .points()
                        .iter()
                        .map(|q| to_boundary(&grown, *q))
                        .fold(d, f64::min);
                    assert!(
                        needle.points().iter().all(|q| grown.contains(*q)),
                        "{needle:?} grown by {d}"
                    );
                    assert!(least > d - GRID_MM, "{needle:?} grown by {d}: {least}");
                }
            }
        }
    }
}

#[test]
fn nothing_is_done_for_nothing() {
    let off_grid = outline(&[(0.000_012_3, 0.0), (7.0, 0.1), (3.0, 9.876_543_21)]);
    assert_eq!(offset::grow(&off_grid, 0.0), off_grid);
    assert_eq!(offset::shrink(&off_grid, 0.0), vec![off_grid]);
}

proptest! {
    /// The rounded offset, sampled round every corner and along every side, is covered.
    #[test]
    fn growth_covers_the_rounded_offset(star in star(), d in 0.05..30.0f64) {
        let grown = offset::grow(&star, d);
        prop_assert!(is_outline(&grown));
        for q in boundary(&star, 5) {
            for k in 0..24 {
                let (sin, cos) = (TAU * f64::from(k) / 24.0).sin_cos();
                let reached = p(q.x + d * cos, q.y + d * sin);
                prop_assert!(grown.contains(reached) || to_boundary(&grown, reached) < GRID_MM);
            }
        }
        // And the boundary is nowhere nearer than d nor farther than the sharpest mitre allowed.
        for q in boundary(&grown, 7) {
            let away = to_boundary(&star, q);
            prop_assert!(away > d - GRID_MM && away < 4.0 * d + GRID_MM, "{away}");
        }
    }

    #[test]
    fn shrinking_keeps_the_distance(star in star(), d in 0.05..30.0f64) {
        for part in offset::shrink(&star, d) {
            prop_assert!(is_outline(&part));
            for q in boundary(&part, 5) {
                prop_assert!(star.contains(q) && to_boundary(&star, q) > d - GRID_MM);
            }
        }
    }

    /// Whole millimetres on a lattice, where necks and hollows close exactly.
    #[test]
    fn exact_closings_leave_outlines(star in lattice_star(), half in 1..60u8) {
        let d = f64::from(half) / 2.0;
        let grown = offset::grow(&star, d);
        prop_assert!(is_outline(&grown));
        prop_assert!(star.points().iter().all(|q| grown.contains(*q)));
        for part in offset::shrink(&star, d) {
            prop_assert!(is_outline(&part));
            prop_assert!(part.points().iter().all(|q| to_boundary(&star, *q) > d - GRID_MM));
        }
    }

    /// A convex outline grown and shrunk by the same distance comes back.
    #[test]
    fn convex_there_and_back(star in star(), d in 0.05..20.0f64) {
        let hull = star.convex_hull();
        let back = offset::shrink(&offset::grow(&hull, d), d);
        prop_assert_eq!(back.len(), 1);
        prop_assert!((back[0].area() - hull.area()).abs() < 4.0 * GRID_MM * perimeter(&hull));
    }
}
