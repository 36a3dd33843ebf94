//! Straight runs.

use crate::shapes::{is_outline, lattice_star, near, outline, p, regular, star};
use cullet_geometry::run::cut_by_line;
use cullet_geometry::{Outline, Point};
use proptest::prelude::*;

fn areas(parts: &[Outline]) -> Vec<f64> {
    parts.iter().map(Outline::area).collect()
}

#[test]
fn a_run_beside_the_glass_leaves_it_whole() {
    let sheet = Outline::rectangle(100.0, 50.0);
    assert_eq!(cut_by_line(&sheet, p(0.0, -1.0), 0.0), (vec![sheet.clone()], vec![]));
    assert_eq!(cut_by_line(&sheet, p(0.0, 50.0), 0.0), (vec![], vec![sheet.clone()]));
    assert_eq!(cut_by_line(&sheet, p(0.0, 0.0), 0.0), (vec![sheet.clone()], vec![]));
}

#[test]
fn a_comb_falls_into_its_teeth_in_order() {
    let comb = outline(&[
        (0.0, 0.0),
        (90.0, 0.0),
        (90.0, 30.0),
        (70.0, 30.0),
        (70.0, 10.0),
        (50.0, 10.0),
        (50.0, 40.0),
        (40.0, 40.0),
        (40.0, 10.0),
        (10.0, 10.0),
        (10.0, 20.0),
        (0.0, 20.0),
    ]);
    let (left, right) = cut_by_line(&comb, p(0.0, 10.0), 0.0);
    assert_eq!(areas(&left), [100.0, 300.0, 400.0]);
    assert_eq!(areas(&right), [900.0]);
    let (left, right) = cut_by_line(&comb, p(500.0, 15.0), 180.0);
    assert_eq!(areas(&right), [300.0, 250.0, 50.0]);
    assert_eq!(areas(&left), [900.0 + 50.0 + 50.0 + 100.0]);
}

#[test]
fn runs_through_corners_and_notches() {
    let square = outline(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
    let (left, right) = cut_by_line(&square, p(0.0, 0.0), 45.0);
    near(left[0].area(), 50.0, 1e-9);
    near(right[0].area(), 50.0, 1e-9);
    assert_eq!((left[0].points().len(), right[0].points().len()), (3, 3));
    // A notch whose bottom is on the line: both sides of it go their own way above, below it is one.
    let notched = outline(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 5.0), (0.0, 10.0)]);
    let (left, right) = cut_by_line(&notched, p(0.0, 5.0), 0.0);
    assert_eq!(areas(&left), [12.5, 12.5]);
    assert_eq!(areas(&right), [50.0]);
}

/// The segment of a circle cut off at height h over the centre: r² acos(h/r) − h √(r² − h²).
#[test]
fn a_circular_segment_is_cut_off() {
    let disc = regular(20_000, 100.0, 0.0);
    let (left, right) = cut_by_line(&disc, p(60.0, 0.0), 90.0);
    let segment = 10_000.0 * 0.6f64.acos() - 60.0 * 80.0;
    near(areas(&right)[0], segment, 0.01);
    near(areas(&left)[0], disc.area() - segment, 0.01);
}

fn check(shape: &Outline, through: Point, direction: f64) -> Result<(), TestCaseError> {
    let (left, right) = cut_by_line(shape, through, direction);
    let sum: f64 = areas(&left).iter().chain(&areas(&right)).sum();
    prop_assert!((sum - shape.area()).abs() < 1e-3 * (left.len() + right.len()) as f64);
    let (sin, cos) = direction.to_radians().sin_cos();
    for (parts, sign) in [(&left, 1.0), (&right, -1.0)] {
        for part in parts {
            prop_assert!(is_outline(part));
            for q in part.points() {
                let away = (q.y - through.y) * cos - (q.x - through.x) * sin;
                prop_assert!(away * sign > -2e-6, "{q:?} is {away} from the line");
            }
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn areas_add_up_and_parts_keep_to_their_side(
        shape in star(), x in -150.0..150.0f64, y in -150.0..150.0f64, direction in -360.0..360.0f64,
    ) {
        check(&shape, p(x, y), direction)?;
    }

    /// Along sides and through many corners at once.
    #[test]
    fn areas_add_up_on_a_lattice(shape in lattice_star(), x in -15..15i32, y in -15..15i32, eighth in 0..8u8) {
        check(&shape, p(f64::from(10 * x), f64::from(10 * y)), 45.0 * f64::from(eighth))?;
    }

    /// Through a corner, and through two of them.
    #[test]
    fn areas_add_up_through_corners(shape in star(), i: prop::sample::Index, j: prop::sample::Index, direction in 0.0..180.0f64) {
        let (a, b) = (*i.get(shape.points()), *j.get(shape.points()));
        check(&shape, a, direction)?;
        if a != b {
            check(&shape, a, (b.y - a.y).atan2(b.x - a.x).to_degrees())?;
        }
    }
}
