use super::*;

/// Counted, not timed: what a round of 4,999 corners may keep in memory, and that equal shapes are found by their corners.
#[test]
fn an_outline_of_many_corners_has_few_snapped_turns() {
    let round = |n: u32| -> Vec<Point> {
        let corner = |i: u32| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(n)).sin_cos();
            // Not quite round, so that no two turns are alike.
            Point {
                x: 100.0 * cos,
                y: (90.0 + f64::from(i) * 1e-4) * sin,
            }
        };
        (0..n).map(corner).collect()
    };
    let free = [Turn::default()];
    for (corners, most) in [(300, 1024), (4_999, 80)] {
        let own = round(corners);
        let snaps = snaps(&hull(&own), &free, 180.0, most_snapped(own.len()));
        assert!(
            snaps.len() <= most,
            "{} snapped turns of {corners} corners",
            snaps.len()
        );
        assert!(distinct(&own, snaps.into_iter()).len() > 10);
    }
    let square = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]].map(|[x, y]| Point { x, y });
    let quarters = (0..8).map(|k| {
        (
            Turn {
                degrees: 45.0 * f64::from(k),
                over: false,
            },
            k as usize,
        )
    });
    let kept: Vec<usize> = distinct(&square, quarters).into_iter().map(|t| t.1).collect();
    assert_eq!(kept, [0, 1]);
}

#[test]
fn no_corner_is_drawn_back_further_than_two_distances() {
    let p = |x, y| Point { x, y };
    // A needle of 5.7°, a right angle, and blunt corners.
    let outline = [p(0.0, 0.0), p(100.0, 0.0), p(100.0, 10.0)];
    for (before, after) in outline.iter().zip(inset(&outline, 0.5)) {
        let moved = (before.x - after.x).hypot(before.y - after.y);
        assert!(moved <= 1.0 + 1e-12, "{before:?} moved by {moved}");
    }
    // The square's sides move by just the distance.
    let square = [p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0), p(0.0, 10.0)];
    assert!(
        inset(&square, 0.5)
            .iter()
            .all(|c| ((c.x - 5.0).abs() - 4.5).abs() < 1e-12 && ((c.y - 5.0).abs() - 4.5).abs() < 1e-12)
    );
}
