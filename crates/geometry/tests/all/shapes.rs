//! Shapes that several checks use.

use cullet_geometry::{Outline, Point};
use proptest::prelude::*;

pub(crate) fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

pub(crate) fn outline(points: &[(f64, f64)]) -> Outline {
    Outline::new(points.iter().map(|(x, y)| p(*x, *y)).collect()).expect("a test shape is an outline")
}

pub(crate) fn regular(corners: usize, radius: f64, turn: f64) -> Outline {
    let step = std::f64::consts::TAU / corners as f64;
    let points = (0..corners).map(|i| {
        let (sin, cos) = (turn + step * i as f64).sin_cos();
        (radius * cos, radius * sin)
    });
    outline(&points.collect::<Vec<_>>())
}

/// Random simple polygons: star-shaped round the origin, 3 to 24 corners 20 to 200 mm out.
pub(crate) fn star() -> impl Strategy<Value = Outline> {
    prop::collection::vec((20.0..200.0f64, 0.15..0.85f64), 3..24).prop_map(|corners| {
        let step = std::f64::consts::TAU / corners.len() as f64;
        let points: Vec<_> = corners
            .iter()
            .enumerate()
            .map(|(i, (radius, part))| {
                let (sin, cos) = (step * (i as f64 + part)).sin_cos();
                (radius * cos, radius * sin)
            })
            .collect();
        outline(&points)
    })
}

/// The same with all corners on a 10 mm lattice: collinear, touching and closing exactly is the rule rather than the
/// exception.
pub(crate) fn lattice_star() -> impl Strategy<Value = Outline> {
    star().prop_filter_map("corners fell together", |star| {
        let snap = |v: f64| (v / 10.0).round() * 10.0;
        Outline::new(star.points().iter().map(|q| p(snap(q.x), snap(q.y))).collect()).ok()
    })
}

/// Points all along the boundary, `per_side` on each side.
pub(crate) fn boundary(outline: &Outline, per_side: usize) -> Vec<Point> {
    let points = outline.points();
    (0..points.len())
        .flat_map(|i| {
            let (a, b) = (points[i], points[(i + 1) % points.len()]);
            (0..per_side).map(move |k| a + (b - a) * (k as f64 / per_side as f64))
        })
        .collect()
}

/// Distance from a point to the boundary, mm.
pub(crate) fn to_boundary(outline: &Outline, q: Point) -> f64 {
    let points = outline.points();
    (0..points.len())
        .map(|i| {
            let (a, b) = (points[i], points[(i + 1) % points.len()]);
            let (u, v) = (b - a, q - a);
            let t = ((u.x * v.x + u.y * v.y) / (u.x * u.x + u.y * u.y)).clamp(0.0, 1.0);
            (v.x - u.x * t).hypot(v.y - u.y * t)
        })
        .fold(f64::INFINITY, f64::min)
}

/// Whether a result stands up to the checks of an outline, unchanged.
pub(crate) fn is_outline(made: &Outline) -> bool {
    Outline::new(made.points().to_vec()).is_ok_and(|again| again == *made)
}

pub(crate) fn perimeter(outline: &Outline) -> f64 {
    let points = outline.points();
    (0..points.len())
        .map(|i| {
            let d = points[(i + 1) % points.len()] - points[i];
            d.x.hypot(d.y)
        })
        .sum()
}

#[track_caller]
pub(crate) fn near(found: f64, expected: f64, within: f64) {
    assert!(
        (found - expected).abs() <= within,
        "found {found}, expected {expected} within {within}"
    );
}
