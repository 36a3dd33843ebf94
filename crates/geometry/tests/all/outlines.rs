//! What is an outline and what is not.

use crate::shapes::{boundary, is_outline, near, outline, p, regular, star, to_boundary};
use cullet_geometry::{MOST_POINTS, Outline, OutlineError, Point, Pose};
use proptest::prelude::*;
use std::time::{Duration, Instant};

#[track_caller]
fn refused(points: &[(f64, f64)]) -> OutlineError {
    Outline::new(points.iter().map(|(x, y)| p(*x, *y)).collect()).expect_err("this is no outline")
}

#[test]
fn each_fault_has_its_own_error() {
    let two = [(0.0, 0.0), (1.0, 0.0), (1.0, 0.0), (0.0, 0.0)];
    assert_eq!(refused(&two), OutlineError::TooFewPoints { found: 2 });
    assert_eq!(refused(&[]), OutlineError::TooFewPoints { found: 0 });
    let straight = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0)];
    assert_eq!(refused(&straight), OutlineError::Empty);
    let nan = refused(&[(0.0, 0.0), (1.0, f64::NAN), (0.0, 1.0)]);
    assert!(matches!(nan, OutlineError::NotFinite { index: 1, .. }));
    let far = refused(&[(0.0, 0.0), (100_001.0, 0.0), (0.0, 1.0)]);
    assert_eq!(
        far,
        OutlineError::TooFar {
            index: 1,
            reach: 100_001.0
        }
    );
    let million = vec![p(0.0, 0.0); 1_000_000];
    let error = Outline::new(million).expect_err("too many");
    assert!(matches!(error, OutlineError::TooManyPoints { found: 1_000_000, .. }));
}

#[test]
fn crossings_and_touches_are_found_where_they_are() {
    let at = |x, y| OutlineError::SelfCrossing { x, y };
    // A bow tie, a spike, a corner on a side, a corner met twice, sides that overlap.
    let bow_tie = [(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)];
    assert_eq!(refused(&bow_tie), at(5.0, 5.0));
    let spike = [
        (0.0, 0.0),
        (10.0, 0.0),
        (20.0, 0.0),
        (10.0, 0.0),
        (10.0, 10.0),
        (0.0, 10.0),
    ];
    assert_eq!(refused(&spike), at(10.0, 0.0));
    let long_spike = [(0.0, 0.0), (20.0, 0.0), (10.0, 0.0), (10.0, 10.0)];
    assert_eq!(refused(&long_spike), at(10.0, 0.0));
    let on_side = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 0.0), (0.0, 10.0)];
    assert_eq!(refused(&on_side), at(5.0, 0.0));
    let twice = [
        (0.0, 0.0),
        (10.0, 0.0),
        (5.0, 5.0),
        (10.0, 10.0),
        (0.0, 10.0),
        (5.0, 5.0),
    ];
    assert_eq!(refused(&twice), at(5.0, 5.0));
    let overlap = [
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 10.0),
        (20.0, 10.0),
        (20.0, 0.0),
        (10.0, 0.0),
        (10.0, 10.0),
        (0.0, 10.0),
    ];
    assert!(matches!(refused(&overlap), OutlineError::SelfCrossing { .. }));
}

#[test]
fn clockwise_lists_are_turned_and_repeats_dropped() {
    let made = outline(&[(0.0, 0.0), (0.0, 5.0), (0.0, 5.0), (5.0, 5.0), (5.0, 0.0), (0.0, 0.0)]);
    assert_eq!((made.points().len(), made.area()), (4, 25.0));
    let with_middle = outline(&[(0.0, 0.0), (2.0, 0.0), (5.0, 0.0), (5.0, 5.0), (0.0, 5.0)]);
    assert_eq!(with_middle.points().len(), 5);
}

/// The largest outline, round and as a comb of long teeth whose boxes all overlap, is checked in well under a second.
#[test]
fn hundred_thousand_points_are_checked_in_time() {
    let began = Instant::now();
    let round = regular(MOST_POINTS, 500.0, 0.1);
    near(round.area(), std::f64::consts::PI * 250_000.0, 0.01);
    let half = MOST_POINTS as i32 / 2 - 1;
    let mut comb: Vec<Point> = (0..half)
        .flat_map(|i| {
            let x = f64::from(i) * 0.01;
            [p(x, x), p(x + 1000.0, x + 1000.5)]
        })
        .collect();
    let crossed = comb.clone();
    comb.push(p(2000.0, -10.0));
    let comb = Outline::new(comb).map(|o| o.points().len());
    assert_eq!(comb, Ok(2 * half as usize + 1));
    // Without that corner the last side runs back across the teeth.
    assert!(matches!(Outline::new(crossed), Err(OutlineError::SelfCrossing { .. })));
    assert!(began.elapsed() < Duration::from_secs(3), "took {:?}", began.elapsed());
}

#[test]
fn distances_agree_with_parry2d() {
    use parry2d_f64::math::Isometry;
    use parry2d_f64::query;
    use parry2d_f64::shape::Polyline;
    let a = regular(7, 50.0, 0.3);
    for (x, y) in [(130.0, 10.0), (-90.0, 70.0), (0.0, 101.0), (300.0, -400.0)] {
        let b = regular(5, 40.0, 1.1).translated(x, y);
        let line = |o: &Outline| {
            let mut points: Vec<_> = o.points().iter().map(|q| [q.x, q.y].into()).collect();
            points.push(points[0]);
            Polyline::new(points, None)
        };
        let identity = Isometry::identity();
        let expected = query::distance(&identity, &line(&a), &identity, &line(&b)).expect("polylines have distances");
        near(a.distance_to(&b), expected, 1e-9);
    }
}

#[test]
fn distance_is_nothing_when_one_covers_the_other() {
    let outer = Outline::rectangle(100.0, 100.0);
    let inner = Outline::rectangle(1.0, 1.0).translated(50.0, 50.0);
    assert_eq!((outer.distance_to(&inner), inner.distance_to(&outer)), (0.0, 0.0));
}

#[test]
fn json_is_read_back_to_the_last_digit_and_checked() {
    let made = regular(9, 33.3, 0.7);
    let text = serde_json::to_string(&made).expect("outlines can be written");
    assert_eq!(serde_json::from_str::<Outline>(&text).expect("and read"), made);
    assert!(serde_json::from_str::<Outline>("[[0,0],[10,10],[10,0],[0,10]]").is_err());
}

proptest! {
    /// The sweep agrees with trying every pair of sides.
    #[test]
    fn sweep_agrees_with_all_pairs(raw in prop::collection::vec((0..12i32, 0..12i32), 3..12)) {
        let mut points: Vec<Point> = raw.iter().map(|(x, y)| p(f64::from(*x), f64::from(*y))).collect();
        points.dedup();
        while points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        prop_assume!(points.len() >= 3);
        prop_assert_eq!(Outline::new(points.clone()).is_ok(), simple_by_all_pairs(&points));
    }

    #[test]
    fn contains_agrees_with_geo(star in star(), x in -220.0..220.0f64, y in -220.0..220.0f64) {
        use geo::Intersects;
        prop_assert_eq!(star.contains(p(x, y)), star.to_polygon().intersects(&p(x, y)));
    }

    #[test]
    fn corners_are_contained_and_the_hull_contains_all(star in star()) {
        let hull = star.convex_hull();
        prop_assert!(hull.area() >= star.area() - 1e-9);
        for q in star.points() {
            prop_assert!(star.contains(*q));
            prop_assert!(hull.contains(*q) || to_boundary(&hull, *q) < 1e-9);
        }
    }

    #[test]
    fn posed_outlines_keep_area_and_stay_outlines(
        star in star(), rotation_deg in -360.0..360.0f64, turned_over: bool, x in -1e4..1e4f64, y in -1e4..1e4f64,
    ) {
        let posed = star.posed(&Pose { rotation_deg, turned_over, x, y });
        prop_assert!((posed.area() - star.area()).abs() < 1e-6);
        prop_assert!(is_outline(&posed));
        prop_assert_eq!(boundary(&posed, 2).len(), boundary(&star, 2).len());
    }
}

/// Slow and plain, in whole numbers: no two sides meet but neighbours in their shared corner.
fn simple_by_all_pairs(points: &[Point]) -> bool {
    let n = points.len();
    let side = |i: usize| (points[i], points[(i + 1) % n]);
    let turn = |a: Point, b: Point, c: Point| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    let on = |(a, b): (Point, Point), q: Point| {
        turn(a, b, q) == 0.0
            && (a.x.min(b.x)..=a.x.max(b.x)).contains(&q.x)
            && (a.y.min(b.y)..=a.y.max(b.y)).contains(&q.y)
    };
    for i in 0..n {
        for j in i + 1..n {
            let (s, t) = (side(i), side(j));
            let shared = if j == i + 1 {
                Some(s.1)
            } else if i == 0 && j == n - 1 {
                Some(s.0)
            } else {
                None
            };
            let touching = [s.0, s.1]
                .into_iter()
                .filter(|q| on(t, *q))
                .chain([t.0, t.1].into_iter().filter(|q| on(s, *q)));
            for q in touching {
                if Some(q) != shared {
                    return false;
                }
            }
            let proper =
                turn(s.0, s.1, t.0) * turn(s.0, s.1, t.1) < 0.0 && turn(t.0, t.1, s.0) * turn(t.0, t.1, s.1) < 0.0;
            if proper {
                return false;
            }
        }
    }
    true
}
