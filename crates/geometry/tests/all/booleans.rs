//! Cutting and joining.

use crate::shapes::{is_outline, lattice_star, near, outline, perimeter, star};
use cullet_geometry::boolean::{Region, difference, intersection, union};
use cullet_geometry::{Outline, Pose};
use proptest::prelude::*;

fn area(regions: &[Region]) -> f64 {
    regions.iter().map(Region::area).sum()
}

#[test]
fn a_strip_across_leaves_two_parts() {
    let left = difference(
        &Outline::rectangle(100.0, 30.0),
        &[Outline::rectangle(20.0, 50.0).translated(30.0, -10.0)],
    );
    let areas: Vec<f64> = left.iter().map(Region::area).collect();
    assert_eq!(areas, [1500.0, 900.0]);
}

#[test]
fn holes_may_touch_the_edge_or_each_other_in_a_point() {
    let sheet = Outline::rectangle(100.0, 100.0);
    let diamond = outline(&[(0.0, 50.0), (50.0, 0.0), (100.0, 50.0), (50.0, 100.0)]);
    let corners = difference(&sheet, std::slice::from_ref(&diamond));
    assert_eq!(corners.len(), 4);
    near(area(&corners), 5000.0, 1e-9);
    let small = outline(&[(0.0, 50.0), (20.0, 40.0), (40.0, 50.0), (20.0, 60.0)]);
    let next = small.translated(40.0, 0.0);
    let left = difference(&sheet, &[small, next]);
    near(area(&left), 10_000.0 - 800.0, 1e-9);
    for region in &left {
        assert!(Outline::new(region.outer.points().to_vec()).is_ok());
    }
}

/// Many cells that share their sides, as those of a panel do: one region, and the hole in it stays.
#[test]
fn many_cells_join_round_a_hole() {
    let side = 10.0;
    let cells: Vec<Outline> = (0..400)
        .map(|k| (k % 20, k / 20))
        .filter(|(x, y)| !((8..12).contains(x) && (8..12).contains(y)))
        .map(|(x, y)| Outline::rectangle(side, side).translated(side * f64::from(x), side * f64::from(y)))
        .collect();
    let joined = union(&cells);
    assert_eq!(joined.len(), 1);
    assert_eq!(joined[0].holes.len(), 1);
    near(area(&joined), 384.0 * side * side, 1e-6);
}

#[test]
fn neighbours_join_and_strangers_do_not() {
    let a = Outline::rectangle(10.0, 10.0);
    let joined = union(&[a.clone(), a.translated(10.0, 0.0), a.translated(30.0, 0.0)]);
    let areas: Vec<f64> = joined.iter().map(Region::area).collect();
    assert_eq!(areas, [200.0, 100.0]);
    assert!(union(&[]).is_empty());
    assert!(intersection(&a, &a.translated(10.0, 0.0)).is_empty());
    assert!(difference(&a, std::slice::from_ref(&a)).is_empty());
}

#[test]
fn a_frame_keeps_its_hole() {
    let bar = |w, h, x, y| Outline::rectangle(w, h).translated(x, y);
    let frame = union(&[
        bar(100.0, 10.0, 0.0, 0.0),
        bar(100.0, 10.0, 0.0, 90.0),
        bar(10.0, 100.0, 0.0, 0.0),
        bar(10.0, 100.0, 90.0, 0.0),
    ]);
    assert_eq!((frame.len(), frame[0].holes.len(), frame[0].area()), (1, 1, 3600.0));
}

#[test]
fn no_distance_is_too_far_for_the_engine() {
    let a = Outline::rectangle(10.0, 10.0);
    let gone = a.translated(1e300, -1e300);
    assert_eq!(area(&difference(&a, &[gone])), 100.0);
}

proptest! {
    /// A = A ∩ B + A ∖ B, A ∪ B = A + B − A ∩ B; and geo's own engine finds the same area in common.
    #[test]
    fn areas_add_up(a in star(), b in star(), rotation_deg in 0.0..360.0f64, x in -250.0..250.0f64, y in -250.0..250.0f64) {
        let b = b.posed(&Pose { rotation_deg, turned_over: false, x, y });
        check_areas(&a, &b)?;
    }

    /// The same where sides overlap and corners touch.
    #[test]
    fn areas_add_up_on_a_lattice(a in lattice_star(), b in lattice_star(), quarter in 0..4u8, x in -20..20i32, y in -20..20i32) {
        let rotation_deg = 90.0 * f64::from(quarter);
        let b = b.posed(&Pose { rotation_deg, turned_over: quarter > 1, x: f64::from(10 * x), y: f64::from(10 * y) });
        check_areas(&a, &b)?;
    }
}

fn check_areas(a: &Outline, b: &Outline) -> Result<(), TestCaseError> {
    use geo::{Area, BooleanOps};
    let slack = 1e-4 * (perimeter(a) + perimeter(b)) + 0.01;
    let both = intersection(a, b);
    let rest = difference(a, std::slice::from_ref(b));
    prop_assert!((area(&both) + area(&rest) - a.area()).abs() < slack);
    let any = union(&[a.clone(), b.clone()]);
    prop_assert!((area(&any) - (a.area() + b.area() - area(&both))).abs() < slack);
    let foreign = a.to_polygon().intersection(&b.to_polygon()).unsigned_area();
    prop_assert!((area(&both) - foreign).abs() < slack);
    for region in both.iter().chain(&rest).chain(&any) {
        for ring in std::iter::once(&region.outer).chain(&region.holes) {
            prop_assert!(is_outline(ring));
        }
    }
    Ok(())
}
