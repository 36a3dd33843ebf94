//! The opening by a disc against figures by hand. Of every corner of a quarter turn it leaves out (1 − π/4) r².

use cullet_geometry::{Outline, opening};
use std::f64::consts::PI;

const RADIUS: f64 = 6.0;

/// What it reaches of 80 × 80 mm without these rectangles: x, y, width, height.
fn reached(taken: &[[f64; 4]]) -> f64 {
    let taken: Vec<Outline> = taken
        .iter()
        .map(|[x, y, width, height]| Outline::rectangle(*width, *height).translated(*x, *y))
        .collect();
    opening::area(&Outline::rectangle(80.0, 80.0), &taken, RADIUS)
}

#[test]
fn wide_and_narrow_by_hand() {
    let near = |found: f64, area: f64, corners: f64| {
        let expected = area - corners * (1.0 - PI / 4.0) * RADIUS * RADIUS;
        // A disc is drawn as a polygon inside it.
        assert!((found - expected).abs() < 2.0, "{found}, expected {expected}");
    };
    near(reached(&[]), 6400.0, 4.0);
    // A piece in a corner leaves an L of five corners.
    near(reached(&[[0.0, 0.0, 40.0, 40.0]]), 4800.0, 5.0);
    // Two pieces 6 mm apart that fill the rest: nothing.
    near(reached(&[[0.0, 0.0, 30.0, 80.0], [36.0, 0.0, 44.0, 80.0]]), 0.0, 0.0);
    // A piece in the middle, wide all round.
    near(reached(&[[20.0, 20.0, 40.0, 40.0]]), 4800.0, 4.0);
    // Two in the middle, 6 mm apart: not the slot of 6 × 50 mm between them, but for what a disc dips into each of its mouths:
    // half the slot's width w against r, a segment of r² asin(w/2r) − (w/2) √(r² − w²/4) − … less than w²/4.
    let slot = reached(&[[15.0, 15.0, 22.0, 50.0], [43.0, 15.0, 22.0, 50.0]]);
    let without = 6400.0 - 2.0 * 22.0 * 50.0 - 6.0 * 50.0 - 4.0 * (1.0 - PI / 4.0) * RADIUS * RADIUS;
    assert!(
        (without - 2.0..without + 2.0 * 9.0).contains(&slot),
        "{slot}, {without}"
    );
}

/// A wedge of 20° between two pieces: a disc touches both sides at r / tan 10° from the tip, and what lies beyond is left out, less the disc's
/// own part: r² / tan 10° − r² (π/2 − 10° in radians).
#[test]
fn the_tip_of_a_wedge_is_left_out() {
    let half = 10.0_f64.to_radians();
    let (long, high) = (200.0, 400.0 * half.tan());
    let ring = [(0.0, 0.0), (long, -high / 2.0), (long, high / 2.0)];
    let wedge = Outline::new(
        ring.iter()
            .map(|(x, y)| cullet_geometry::Point { x: *x, y: *y })
            .collect(),
    );
    let wedge = wedge.expect("a triangle");
    let found = wedge.area() - opening::area(&wedge, &[], RADIUS);
    let tip = |half: f64| RADIUS * RADIUS * (1.0 / half.tan() - (PI / 2.0 - half));
    let expected = tip(half) + 2.0 * tip((PI / 2.0 - half) / 2.0);
    assert!((found - expected).abs() < 2.0, "{found}, expected {expected}");
}
