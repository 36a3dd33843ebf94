//! Arcs through flattened curves, against the curves' closed formulas; 4,000 random ones of each kind.

use cullet_geometry::{Point, path};
use cullet_scorepath::{Settings, Stretch, fit};
use proptest::prelude::*;

/// What the job flattens curves by, mm.
const FLATTENED: f64 = 0.05;

fn settings() -> Settings {
    Settings {
        facet: 1.25 * FLATTENED,
        ..Settings::default()
    }
}

/// The outline of path data, from the middle of its longest side round to the same.
fn round(data: &str) -> Vec<Point> {
    let outline = path::flatten(data, 1.0, path::YAxis::Up, FLATTENED).expect("an outline");
    let mut points = outline.points().to_vec();
    let n = points.len();
    let length = |k: usize| {
        (points[(k + 1) % n] - points[k])
            .x
            .hypot((points[(k + 1) % n] - points[k]).y)
    };
    let longest = (0..n).max_by(|a, b| length(*a).total_cmp(&length(*b))).unwrap_or(0);
    points.rotate_left((longest + 1) % n);
    let middle = (points[0] + points[points.len() - 1]) / 2.0;
    points.insert(0, middle);
    points.push(middle);
    points
}

fn off_line(points: &[Point], p: Point) -> f64 {
    let sides = points
        .windows(2)
        .map(|w| Stretch::Line { from: w[0], to: w[1] }.distance(p));
    sides.fold(f64::INFINITY, f64::min)
}

/// What holds for every fitted path: near the corner points' line, on every side of it, its stretches sharing ends and tangents.
fn holds(points: &[Point], sections: &[Vec<Stretch>]) -> Result<(), TestCaseError> {
    let all: Vec<&Stretch> = sections.iter().flatten().collect();
    for stretch in &all {
        for k in 0..=8 {
            let off = off_line(points, stretch.at(f64::from(k) / 8.0));
            prop_assert!(off <= 0.02 + 1.25 * FLATTENED, "{off} mm off at {stretch:?}");
        }
    }
    for w in points.windows(2) {
        let middle = (w[0] + w[1]) / 2.0;
        let off = all.iter().map(|one| one.distance(middle)).fold(f64::INFINITY, f64::min);
        prop_assert!(off <= 0.02, "the side at {middle:?} is {off} mm off");
    }
    for section in sections {
        for w in section.windows(2) {
            let (a, b) = (w[0].end_heading(), w[1].heading());
            let bend = (a.x * b.y - a.y * b.x).atan2(a.x * b.x + a.y * b.y).to_degrees();
            let gap = w[1].from() - w[0].to();
            prop_assert!(
                gap.x.hypot(gap.y) < 1e-6 && bend.abs() < 0.25,
                "a bend of {bend}° at {:?}",
                w[0].to()
            );
        }
    }
    Ok(())
}

/// Signed distance from an ellipse round zero, outside positive; to first order, which a hundredth of a millimetre is.
fn outside(p: Point, a: f64, b: f64) -> f64 {
    let value = (p.x / a).powi(2) + (p.y / b).powi(2) - 1.0;
    value / (2.0 * p.x / (a * a)).hypot(2.0 * p.y / (b * b))
}

/// Four cubics that touch, as path data: corners on the axes, tangents square to them.
fn drawn(radii: &[f64; 4], pulls: &[f64; 4]) -> String {
    let corners: Vec<(f64, f64)> = radii
        .iter()
        .zip([(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)])
        .map(|(r, (x, y))| (r * x, r * y))
        .collect();
    let mut data = format!("M {} {}", corners[0].0, corners[0].1);
    for k in 0..4 {
        let (a, b) = (corners[k], corners[(k + 1) % 4]);
        let p = pulls[k];
        data += &format!(
            " C {} {} {} {} {} {}",
            a.0 + p * b.0,
            a.1 + p * b.1,
            b.0 + p * a.0,
            b.1 + p * a.1,
            b.0,
            b.1
        );
    }
    data += " Z";
    data
}

/// One that was once 0.0001 mm too far off.
#[test]
fn a_flat_curve_beside_a_tight_one() -> Result<(), TestCaseError> {
    let radii = [
        136.268_240_375_807_52,
        61.144_142_190_915_375,
        40.0,
        43.306_301_688_991_38,
    ];
    let pulls = [0.530_182_202_527_117, 0.45, 0.45, 0.502_641_915_987_914_4];
    let points = round(&drawn(&radii, &pulls));
    holds(&points, &fit::sections(&points, &settings()))
}

proptest! {
    // `PROPTEST_CASES=4000` for the long run.
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// A circle is two or three arcs of its own radius.
    #[test]
    fn circles_stay_circles(radius in 2.5_f64..600.0) {
        let points = round(&format!("M {radius} 0 A {radius} {radius} 0 0 1 {} 0 A {radius} {radius} 0 0 1 {radius} 0 Z", -radius));
        let sections = fit::sections(&points, &settings());
        holds(&points, &sections)?;
        prop_assert_eq!(sections.len(), 1);
        prop_assert!(sections[0].len() <= 3, "{} stretches", sections[0].len());
        for arc in &sections[0] {
            prop_assert!((arc.radius() - radius).abs() < 0.02, "{} of {radius}", arc.radius());
        }
    }

    /// An ellipse: no glass short, few arcs.
    #[test]
    fn ellipses_are_nowhere_short(a in 20.0_f64..400.0, ratio in 0.4_f64..1.0) {
        let b = a * ratio;
        let points = round(&format!("M {a} 0 A {a} {b} 0 0 1 {} 0 A {a} {b} 0 0 1 {a} 0 Z", -a));
        let sections = fit::sections(&points, &settings());
        holds(&points, &sections)?;
        prop_assert_eq!(sections.len(), 1);
        for stretch in sections.iter().flatten() {
            for k in 0..=8 {
                let out = outside(stretch.at(f64::from(k) / 8.0), a, b);
                prop_assert!((-0.01..=0.07).contains(&out), "{out} mm outside at {stretch:?}");
            }
        }
        // No more than an arc and a line for each facet.
        prop_assert!(sections[0].len() < 2 * points.len(), "{} stretches for {} points", sections[0].len(), points.len());
    }

    /// Four cubics that touch, as a hand draws them: curvature grows and falls along each as along a clothoid.
    #[test]
    fn drawn_curves(
        radii in prop::array::uniform4(40.0_f64..150.0),
        pulls in prop::array::uniform4(0.45_f64..0.75),
    ) {
        let data = drawn(&radii, &pulls);
        let points = round(&data);
        let sections = fit::sections(&points, &settings());
        holds(&points, &sections)?;
        prop_assert_eq!(sections.len(), 1);
    }
}

/// At a corner over the limit the wheel lifts, at one under it does not.
#[test]
fn corners() {
    let bent = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let p = |x: f64, y: f64| Point { x, y };
        fit::sections(
            &[p(0.0, 0.0), p(100.0, 0.0), p(100.0 + 100.0 * cos, 100.0 * sin)],
            &settings(),
        )
    };
    assert_eq!(bent(2.9).len(), 1);
    assert_eq!(bent(3.1).len(), 2);
    assert_eq!(bent(90.0).len(), 2);
    assert!(fit::sections(&[], &settings()).is_empty());
    assert!(fit::sections(&[Point { x: 1.0, y: 1.0 }; 2], &settings()).is_empty());
}
