//! The largest rectangle and the keep rule's square.

use crate::shapes::{boundary, near, outline, p, regular, star, to_boundary};
use cullet_geometry::rectangle::{fits_square, largest_upright};
use cullet_geometry::{Bounds, Outline};
use proptest::prelude::*;
use std::time::Instant;

fn area(b: Bounds) -> f64 {
    b.width() * b.height()
}

#[track_caller]
fn largest(outline: &Outline) -> f64 {
    let found = largest_upright(outline).expect("there is one");
    assert_inside(outline, found);
    area(found)
}

#[track_caller]
fn assert_inside(outline: &Outline, found: Bounds) {
    let rectangle = Outline::rectangle(found.width(), found.height()).translated(found.min.x, found.min.y);
    for q in boundary(&rectangle, 40) {
        assert!(
            outline.contains(q) || to_boundary(outline, q) < 1e-6,
            "{q:?} is outside"
        );
    }
    for q in outline.points() {
        let deep = (q.x - found.min.x)
            .min(found.max.x - q.x)
            .min(q.y - found.min.y)
            .min(found.max.y - q.y);
        assert!(deep < 1e-6, "{q:?} is within the rectangle");
    }
}

#[test]
fn right_angled_outlines_are_exact() {
    assert_eq!(largest(&Outline::rectangle(600.0, 150.0)), 90_000.0);
    let l = outline(&[
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 30.0),
        (40.0, 30.0),
        (40.0, 90.0),
        (0.0, 90.0),
    ]);
    assert_eq!(largest(&l), 3600.0);
    let u = outline(&[
        (0.0, 0.0),
        (90.0, 0.0),
        (90.0, 80.0),
        (70.0, 80.0),
        (70.0, 20.0),
        (20.0, 20.0),
        (20.0, 80.0),
        (0.0, 80.0),
    ]);
    assert_eq!(largest(&u), 1800.0);
    let cross = outline(&[
        (30.0, 0.0),
        (50.0, 0.0),
        (50.0, 30.0),
        (80.0, 30.0),
        (80.0, 60.0),
        (50.0, 60.0),
        (50.0, 95.0),
        (30.0, 95.0),
        (30.0, 60.0),
        (0.0, 60.0),
        (0.0, 30.0),
        (30.0, 30.0),
    ]);
    assert_eq!(largest(&cross), 2400.0);
}

/// Calculus: half the area of a triangle on a level base, half of a diamond, 2ab of an ellipse, 2r² of a circle.
#[test]
fn known_largest_rectangles_are_reached_to_one_part_in_ten_thousand() {
    let close = |shape: &Outline, expected: f64| near(largest(shape), expected, 1e-4 * expected);
    close(&outline(&[(0.0, 0.0), (200.0, 0.0), (70.0, 120.0)]), 6000.0);
    close(
        &outline(&[(0.0, 40.0), (100.0, 0.0), (200.0, 40.0), (100.0, 80.0)]),
        4000.0,
    );
    close(&regular(720, 100.0, 0.0), 20_000.0);
    let ellipse: Vec<_> = regular(720, 1.0, 0.0)
        .points()
        .iter()
        .map(|q| (q.x * 150.0, q.y * 60.0))
        .collect();
    close(&outline(&ellipse), 2.0 * 150.0 * 60.0);
}

#[test]
fn nothing_is_found_in_a_sliver() {
    assert_eq!(largest_upright(&Outline::rectangle(500.0, 0.9)), None);
    assert_eq!(
        largest_upright(&outline(&[(0.0, 0.0), (300.0, 300.0), (300.0, 300.5)])),
        None
    );
}

#[test]
fn squares_fit_up_to_their_side() {
    // The largest upright square: in a diamond of diagonals w and h, wh/(w+h); in a circle, r√2.
    for (shape, side) in [
        (Outline::rectangle(150.0, 400.0), 150.0),
        (
            outline(&[(0.0, 40.0), (100.0, 0.0), (200.0, 40.0), (100.0, 80.0)]),
            200.0 * 80.0 / 280.0,
        ),
        (
            outline(&[(0.0, 0.0), (400.0, 0.0), (0.0, 300.0)]),
            400.0 * 300.0 / 700.0,
        ),
        (
            regular(3600, 100.0, std::f64::consts::PI / 3600.0),
            200f64.sqrt() * 10.0,
        ),
    ] {
        assert!(fits_square(&shape, side - 0.003), "{side}");
        assert!(!fits_square(&shape, side + 0.003), "{side}");
    }
    assert!(fits_square(&Outline::rectangle(150.0, 400.0), 150.0));
}

#[test]
fn a_usual_offcut_takes_milliseconds() {
    let shape = regular(50, 300.0, 0.01);
    let began = Instant::now();
    let rounds = 5;
    for _ in 0..rounds {
        assert!(largest_upright(&shape).is_some());
    }
    let each = began.elapsed() / rounds;
    assert!(each.as_millis() < 100, "took {each:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// At least 99 % of what a patient search over many rectangles finds.
    #[test]
    fn no_patient_search_finds_much_more(star in star(), seeds in prop::collection::vec((0.0..1.0f64, 0.0..1.0f64), 60)) {
        let found = largest_upright(&star).map_or(0.0, area);
        if let Some(found) = largest_upright(&star) {
            assert_inside(&star, found);
        }
        let bounds = star.bounds();
        for (u, v) in seeds {
            let centre = p(bounds.min.x + u * bounds.width(), bounds.min.y + v * bounds.height());
            let patient = grown_from(&star, centre);
            prop_assert!(found >= 0.99 * patient, "found {found}, patient {patient}");
        }
    }

    #[test]
    fn squares_agree_with_the_largest_rectangle(star in star(), side in 5.0..150.0f64) {
        let within = largest_upright(&star).is_some_and(|b| b.width().min(b.height()) > side + 0.002);
        prop_assert!(!within || fits_square(&star, side));
        // The other way: a square that fits has its area within the largest rectangle's.
        if fits_square(&star, side) {
            let found = largest_upright(&star).map_or(0.0, area);
            prop_assert!(found >= 0.99 * (side - 0.002).powi(2));
        }
    }
}

/// The largest rectangle that hill climbing reaches from a point, moving one edge or two at a time; 0 outside
/// and in slivers.
fn grown_from(outline: &Outline, centre: cullet_geometry::Point) -> f64 {
    if !outline.contains(centre) {
        return 0.0;
    }
    let holds = |r: [f64; 4]| {
        r[2] - r[0] > 0.0 && r[3] - r[1] > 0.0 && {
            let corners = [(r[0], r[1]), (r[2], r[1]), (r[2], r[3]), (r[0], r[3])];
            corners.iter().all(|(x, y)| outline.contains(p(*x, *y))) && !sides_enter(outline, r)
        }
    };
    let size = |r: [f64; 4]| (r[2] - r[0]) * (r[3] - r[1]);
    let mut best = [centre.x, centre.y, centre.x, centre.y];
    let mut step = 32.0;
    while step > 0.01 {
        let mut moved = false;
        for first in 0..4 {
            for second in 0..4 {
                for back in [0.0, -1.0, -0.5] {
                    let mut tried = best;
                    let out = |i: usize| if i < 2 { -1.0 } else { 1.0 };
                    tried[first] += out(first) * step;
                    if second != first {
                        tried[second] += out(second) * step * back;
                    }
                    let thin = [
                        tried[0].min(tried[2] - 1e-3),
                        tried[1].min(tried[3] - 1e-3),
                        tried[2],
                        tried[3],
                    ];
                    if size(thin) > size(best) && holds(thin) {
                        best = thin;
                        moved = true;
                    }
                }
            }
        }
        if !moved {
            step /= 2.0;
        }
    }
    // The search leaves out what is narrower than 1 mm.
    if best[2] - best[0] > 1.0 && best[3] - best[1] > 1.0 {
        size(best)
    } else {
        0.0
    }
}

/// Whether a side of the outline runs through the rectangle's inside.
fn sides_enter(outline: &Outline, r: [f64; 4]) -> bool {
    let points = outline.points();
    (0..points.len()).any(|i| {
        let (a, b) = (points[i], points[(i + 1) % points.len()]);
        // Clip the side to the rectangle (Liang & Barsky 1984).
        let (mut from, mut to) = (0.0f64, 1.0f64);
        for (start, delta, low, high) in [(a.x, b.x - a.x, r[0], r[2]), (a.y, b.y - a.y, r[1], r[3])] {
            if delta == 0.0 {
                if start <= low || start >= high {
                    return false;
                }
            } else {
                let (t, u) = ((low - start) / delta, (high - start) / delta);
                from = from.max(t.min(u));
                to = to.min(t.max(u));
            }
        }
        to - from > 1e-12
    })
}
