//! Free-form cartoons, drawn exactly, short of their tangents and over them: read without a false finding, their areas against
//! Shapely's and closed forms. `fixtures/drawings/make_free_form.py` writes them.

mod shared;

use cullet_drawing::cartoon::{self, Cartoon};
use cullet_drawing::curve::Curve;
use cullet_drawing::read::{self, ReadOptions};
use cullet_drawing::settings::CartoonSettings;
use std::collections::BTreeMap;
use std::path::PathBuf;

const VARIANTS: [&str; 5] = ["exact", "short_0.01", "over_0.01", "short_0.2", "over_0.2"];

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/drawings/free_form")
}

/// Area of each cell and of the spaces the leads leave in it, mm².
type Areas = Vec<(f64, Vec<f64>)>;

/// By the kind's name, as Shapely finds them.
fn measured() -> BTreeMap<String, Areas> {
    let text = std::fs::read_to_string(folder().join("areas.json")).expect("areas.json");
    serde_json::from_str(&text).expect("areas by kind")
}

fn drawn(kind: &str, variant: &str) -> Cartoon {
    let name = format!("{kind}_{variant}.svg");
    let bytes = std::fs::read(folder().join(&name)).expect("a drawing of every kind and variant");
    let drawing = read::read(&name, &bytes, &ReadOptions::default()).expect("a drawing");
    let settings = CartoonSettings {
        any_glass: true,
        ..CartoonSettings::default()
    };
    cartoon::read(&drawing, &settings)
}

/// Area within the curves, by Green's theorem.
fn area(curves: &[Curve]) -> f64 {
    curves.iter().map(Curve::twice_area).sum::<f64>() / 2.0
}

/// What is true of some kinds, however they are drawn: came fills cusps to points, and some circles reach deep into a piece.
fn is_true(kind: &str, found: &str) -> bool {
    let points = found.starts_with("a corner of") || found.contains("corners under 30°");
    let deep = ["seven_circles", "vesica"].contains(&kind) && found.contains("inside curve");
    points || deep
}

#[test]
fn no_kind_gives_rise_to_a_false_finding() {
    for (kind, cells) in measured() {
        for variant in VARIANTS {
            let cartoon = drawn(&kind, variant);
            let found: Vec<&str> = cartoon.findings.iter().map(|finding| finding.found.as_str()).collect();
            assert!(
                found.iter().all(|found| is_true(&kind, found)),
                "{kind} {variant}: {found:?}"
            );
            assert_eq!(cartoon.cells.len(), cells.len(), "{kind} {variant}");
        }
    }
}

#[test]
fn finished_outlines_are_as_promised() {
    for kind in measured().into_keys() {
        for variant in VARIANTS {
            for cell in drawn(&kind, variant).cells {
                let faults = shared::faults(&cell, false);
                assert!(faults.is_empty(), "{kind} {variant}, piece {}: {faults:?}", cell.number);
            }
        }
    }
}

#[test]
fn areas_are_those_that_shapely_finds() {
    for (kind, mut cells) in measured() {
        let mut found: Vec<(f64, f64)> = drawn(&kind, "exact")
            .cells
            .iter()
            .map(|cell| (cell.area, area(&cell.finished)))
            .collect();
        let size = |glass: &[f64]| glass.iter().copied().fold(0.0, f64::max);
        // Cells that are alike differ by rounding: whole to a tenth, then by their glass.
        let key = |cell: f64, glass: f64| ((cell * 10.0).round() as i64, (glass * 100.0).round() as i64);
        found.sort_by_key(|(cell, glass)| key(*cell, *glass));
        cells.sort_by_key(|(cell, glass)| key(*cell, size(glass)));
        for ((cell, glass), (by_shapely, spaces)) in found.iter().zip(&cells) {
            assert!(
                (cell - by_shapely).abs() < 0.01,
                "{kind}: a cell of {cell}, {by_shapely}"
            );
            assert!(
                (glass - size(spaces)).abs() < 0.01,
                "{kind}: glass of {glass}, {spaces:?}"
            );
        }
    }
}

/// A circle of radius `r` less what lies beyond four straight lines `a` from its middle; closed form.
fn cut_flat(r: f64, a: f64) -> f64 {
    let segment = r * r * (a / r).acos() - a * (r * r - a * a).sqrt();
    std::f64::consts::PI * r * r - 4.0 * segment
}

/// A circle of 100 mm radius in a square of 200 mm: the lead along it takes 0.8 mm on each side, the border came 3.6 mm.
#[test]
fn a_circle_in_a_square_by_closed_forms() {
    let found = drawn("circle_in_square", "exact");
    let (square, a, outer) = (200.0f64, 96.4f64, 100.8f64);
    let corner_cell = (square * square - std::f64::consts::PI * 1e4) / 4.0;
    let corner_glass = a * a - cut_flat(outer, a) / 4.0;
    for cell in &found.cells {
        let (whole, glass) = if cell.area > 1e4 {
            (std::f64::consts::PI * 1e4, cut_flat(99.2, a))
        } else {
            (corner_cell, corner_glass)
        };
        assert!((cell.area - whole).abs() < 1e-6, "{} {whole}", cell.area);
        assert!(
            (area(&cell.finished) - glass).abs() < 1e-3,
            "{} {glass}",
            area(&cell.finished)
        );
    }
}

/// A half round keeps off the panel's edge on three sides: three lines and an arc, and so do the pieces beside it.
#[test]
fn exact_curves_stay_few() {
    let curves = |kind: &str| -> Vec<usize> { drawn(kind, "exact").cells.iter().map(|c| c.finished.len()).collect() };
    assert_eq!(curves("half_round"), [4, 4, 4]);
    assert_eq!(curves("spandrels"), [3, 3, 3, 3, 4]);
}
