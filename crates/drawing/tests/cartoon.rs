//! Cartoons against the trade's worked figures, and finished outlines against polygon offsets.

use cullet_drawing::came::{self, Came, CellSide, Space};
use cullet_drawing::cartoon::{self, Cartoon};
use cullet_drawing::curve::{Curve, point};
use cullet_drawing::settings::{BorderLine, CameUse, CartoonSettings, Layers};
use cullet_drawing::{Drawing, Place, Segment, Severity, Stroke, Text};
use cullet_geometry::{Outline, Point, boolean, offset};
use proptest::prelude::*;

fn stroke(layer: &str, points: &[(f64, f64)]) -> Stroke {
    let p = |i: usize| point(points[i].0, points[i].1);
    Stroke {
        segments: (1..points.len())
            .map(|i| Segment::Line {
                from: p(i - 1),
                to: p(i),
            })
            .collect(),
        closed: false,
        layer: layer.into(),
        classes: vec![],
        place: Place {
            line: 7,
            what: "path".into(),
        },
    }
}

fn edge(width: f64, height: f64) -> Stroke {
    stroke(
        "",
        &[(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)],
    )
}

fn text(x: f64, y: f64, content: &str) -> Text {
    Text {
        at: point(x, y),
        content: content.into(),
        layer: String::new(),
        classes: vec![],
        place: Place {
            line: 9,
            what: "text".into(),
        },
    }
}

fn settings() -> CartoonSettings {
    CartoonSettings {
        glasses: vec!["R".into(), "CLEAR6".into()],
        glass: Some("R".into()),
        ..CartoonSettings::default()
    }
}

fn read(strokes: Vec<Stroke>, texts: Vec<Text>, settings: &CartoonSettings) -> Cartoon {
    let drawing = Drawing {
        strokes,
        texts,
        ..Drawing::default()
    };
    cartoon::read(&drawing, settings)
}

fn finished(cartoon: &Cartoon, i: usize) -> Outline {
    came::outline(&cartoon.cells[i].finished, 0.002).expect("a simple outline")
}

/// Quarries (trade notes 9.4, by arithmetic): cutline 400 × 600, 4 across, 4 down.
#[test]
fn quarries_are_counted_and_their_lead_measured() {
    let (w, h, n, m) = (400.0, 600.0, 4, 4);
    let mut strokes = vec![edge(w, h)];
    // Diagonals into the corners of a lattice of 100 × 150: both families, clipped to the panel.
    for k in -m..=n {
        let (x0, x1) = (f64::from(k) * 100.0, f64::from(k + m) * 100.0);
        let clip = |x: f64, slope: f64, from: f64| (x, from + (x - x0) * slope);
        let (a, b) = (x0.max(0.0), x1.min(w));
        if b > a {
            let (p, q) = (clip(a, 1.5, 0.0), clip(b, 1.5, 0.0));
            strokes.push(stroke("", &[p, q]));
            strokes.push(stroke("", &[(p.0, h - p.1), (q.0, h - q.1)]));
        }
    }
    let settings = CartoonSettings {
        border_line: BorderLine::Glass,
        ..settings()
    };
    let cartoon = read(strokes, vec![], &settings);
    let full = cartoon
        .cells
        .iter()
        .filter(|cell| (cell.area - 7500.0).abs() < 1e-6)
        .count();
    let half = cartoon
        .cells
        .iter()
        .filter(|cell| (cell.area - 3750.0).abs() < 1e-6)
        .count();
    assert_eq!((full, half, cartoon.cells.len()), (24, 16, 40));
    let area: f64 = cartoon.cells.iter().map(|cell| cell.area).sum();
    assert!((area - w * h).abs() < 1e-6);
    let side = cartoon
        .cells
        .iter()
        .find(|cell| (cell.area - 7500.0).abs() < 1e-6)
        .map(|cell| cell.sides[0].curve.length());
    assert!((side.unwrap_or_default() - 90.14).abs() < 0.005);
    let lead = cartoon
        .leads
        .iter()
        .find(|lead| lead.came.name == "came")
        .expect("lead lines");
    assert!((lead.lines - 5769.0).abs() < 0.5, "{}", lead.lines);
    // What is cut is shorter: one of two goes through at each crossing, and all end short of the border.
    assert!(lead.total() < lead.lines && lead.total() > lead.lines - 64.0 * 6.0);
}

/// Border came (trade notes 9.1, finished-size tutorial).
#[test]
fn border_came_takes_what_the_tutorial_says() {
    for (face, width, height) in [(12.0, 186.0, 286.0), (10.0, 188.0, 288.0), (8.0, 190.0, 290.0)] {
        let settings = CartoonSettings {
            border: Came::new("border", face, 2.0),
            ..settings()
        };
        let cartoon = read(vec![edge(200.0, 300.0)], vec![], &settings);
        let bounds = finished(&cartoon, 0).bounds();
        assert!((bounds.width() - width).abs() < 1e-9 && (bounds.height() - height).abs() < 1e-9);
    }
}

#[test]
fn each_side_has_its_own_came() {
    let settings = CartoonSettings {
        cames: vec![
            CameUse {
                came: Came::new("lead", 6.0, 1.2),
                layers: vec![],
            },
            CameUse {
                came: Came {
                    name: "bar".into(),
                    face: 12.0,
                    heart: 3.0,
                    clearance: 0.5,
                },
                layers: vec!["BARS".into()],
            },
        ],
        ..settings()
    };
    let strokes = vec![
        edge(300.0, 200.0),
        stroke("", &[(100.0, 0.0), (100.0, 200.0)]),
        stroke("bars", &[(200.0, 0.0), (200.0, 200.0)]),
    ];
    let cartoon = read(strokes, vec![], &settings);
    // Between the lead (half of 1.6 mm) and the bar (1.5 + 0.5 mm), border (6 + 1.2) / 2.
    let middle = cartoon
        .cells
        .iter()
        .position(|cell| (cell.middle.x - 150.0).abs() < 1.0)
        .expect("the middle cell");
    let bounds = finished(&cartoon, middle).bounds();
    assert!((bounds.min.x - 100.8).abs() < 1e-9 && (bounds.max.x - 198.0).abs() < 1e-9);
    assert!((bounds.min.y - 3.6).abs() < 1e-9);
    let bar = cartoon
        .leads
        .iter()
        .find(|lead| lead.came.name == "bar")
        .expect("the bar");
    assert_eq!((bar.lines, bar.leads.clone()), (200.0, vec![188.0]));
}

#[test]
fn foil_takes_its_own() {
    let settings = CartoonSettings {
        foil: Some(came::FOIL_MM),
        border_line: BorderLine::Glass,
        ..settings()
    };
    let cartoon = read(
        vec![edge(100.0, 100.0), stroke("", &[(50.0, 0.0), (50.0, 100.0)])],
        vec![],
        &settings,
    );
    assert!((finished(&cartoon, 0).bounds().width() - 49.625).abs() < 1e-9);
    assert!(cartoon.leads.is_empty());
}

#[test]
fn marks_say_number_glass_and_grain() {
    let settings = CartoonSettings {
        layers: Layers {
            grain: vec!["grain".into()],
            ..Layers::default()
        },
        ..settings()
    };
    let strokes = vec![
        edge(400.0, 100.0),
        stroke("", &[(100.0, 0.0), (100.0, 100.0)]),
        stroke("", &[(200.0, 0.0), (200.0, 100.0)]),
        stroke("", &[(300.0, 0.0), (300.0, 100.0)]),
        stroke("grain", &[(150.0, 30.0), (150.0, 60.0)]),
        stroke("grain", &[(150.0, 60.0), (145.0, 52.0)]),
    ];
    let texts = vec![
        text(50.0, 50.0, "3 R"),
        text(140.0, 20.0, "7\nCLEAR6"),
        text(250.0, 50.0, "clear6"),
        text(500.0, 0.0, "drawn by"),
        text(350.0, 40.0, "8 9"),
        text(350.0, 70.0, "blue"),
    ];
    let cartoon = read(strokes, texts, &settings);
    let mut cells: Vec<_> = cartoon.cells.iter().collect();
    cells.sort_by(|a, b| a.middle.x.total_cmp(&b.middle.x));
    let said: Vec<_> = cells
        .iter()
        .map(|c| (c.number.as_str(), c.glass.as_deref(), c.grain))
        .collect();
    assert_eq!(
        said,
        [
            ("3", Some("R"), None),
            ("7", Some("CLEAR6"), Some(90.0)),
            ("1", Some("CLEAR6"), None),
            ("8", Some("R"), None),
        ]
    );
    let found: Vec<_> = cartoon
        .findings
        .iter()
        .map(|f| (f.severity, f.found.as_str()))
        .collect();
    assert!(
        found.contains(&(Severity::Error, "the numbers 8 and 9 in one cell")),
        "{found:?}"
    );
    assert!(found.contains(&(Severity::Error, "the unknown word \"blue\"")));
    assert!(found.contains(&(Severity::Warning, "the text \"drawn by\" outside every cell")));
    assert!(found.contains(&(Severity::Warning, "a cell without a number")));
}

#[test]
fn numbers_follow_reading_order() {
    let mut strokes = vec![edge(300.0, 300.0)];
    for k in [100.0, 200.0] {
        strokes.push(stroke("", &[(k, 0.0), (k, 300.0)]));
        strokes.push(stroke("", &[(0.0, k), (300.0, k)]));
    }
    let cartoon = read(strokes, vec![], &settings());
    for cell in &cartoon.cells {
        let (column, row) = ((cell.middle.x / 100.0).floor(), 2.0 - (cell.middle.y / 100.0).floor());
        assert_eq!(cell.number, (row * 3.0 + column + 1.0).to_string());
    }
}

#[test]
fn what_cannot_be_built_is_named_all_at_once() {
    let strokes = vec![
        edge(400.0, 300.0),
        // An inside corner, a point, a line that ends in the open, a cell too narrow for any glass.
        stroke("", &[(0.0, 200.0), (100.0, 200.0), (100.0, 300.0)]),
        stroke("", &[(400.0, 0.0), (200.0, 40.0), (400.0, 60.0)]),
        stroke("", &[(300.0, 300.0), (300.0, 200.0)]),
        stroke("", &[(0.0, 1.0), (50.0, 1.0), (50.0, 0.0)]),
    ];
    let cartoon = read(strokes, vec![], &settings());
    let has = |severity: Severity, what: &str| {
        cartoon
            .findings
            .iter()
            .any(|f| f.severity == severity && f.found.contains(what))
    };
    let all: Vec<&str> = cartoon.findings.iter().map(|f| f.found.as_str()).collect();
    assert!(has(Severity::Error, "2 inside corners, the largest of 343°"), "{all:?}");
    assert!(has(Severity::Warning, "a corner of 17"), "{all:?}");
    assert!(has(Severity::Error, "ends in open glass"), "{all:?}");
    assert!(has(Severity::Error, "that the leads fill completely"), "{all:?}");
}

#[test]
fn inside_curves_are_judged_by_their_depth() {
    // A roundel let into the middle of a panel with lines to both sides: the cells round it have inside half circles.
    let roundel = |start: f64, sweep: f64| Stroke {
        segments: vec![Segment::Arc {
            centre: point(150.0, 100.0),
            radii: [40.0, 40.0],
            rotation_deg: 0.0,
            start_deg: start,
            sweep_deg: sweep,
        }],
        ..stroke("", &[])
    };
    let across = [
        stroke("", &[(0.0, 100.0), (110.0, 100.0)]),
        stroke("", &[(190.0, 100.0), (300.0, 100.0)]),
    ];
    let cartoon = read(
        [vec![edge(300.0, 200.0), roundel(0.0, 360.0)], across.to_vec()].concat(),
        vec![],
        &settings(),
    );
    let deep = cartoon
        .findings
        .iter()
        .filter(|f| f.found.contains("an inside curve"))
        .count();
    assert_eq!((cartoon.cells.len(), deep), (3, 2));
}

#[test]
fn inches_read_as_millimetres_get_a_hint() {
    let cartoon = read(vec![edge(3048.0, 4064.0)], vec![], &settings());
    let hint = cartoon
        .findings
        .iter()
        .find(|f| f.hint.contains("inches"))
        .map(|f| f.hint.as_str());
    assert!(hint.is_some_and(|hint| hint.contains("120.0 × 160.0 mm")), "{hint:?}");
}

/// The area between two outlines.
fn apart(a: &Outline, b: &Outline) -> f64 {
    let common: f64 = boolean::intersection(a, b).iter().map(boolean::Region::area).sum();
    a.area() + b.area() - 2.0 * common
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Finished outlines of star shapes with lines and arcs against the integer offset of a fine polygon.
    #[test]
    fn insets_agree_with_polygon_offsets(
        radii in prop::collection::vec(20.0..100.0f64, 3..9),
        bends in prop::collection::vec(-0.35..0.35f64, 9),
        inset in 0.5..4.0f64,
    ) {
        let count = radii.len();
        let corner = |i: usize| {
            let a = std::f64::consts::TAU * (i % count) as f64 / count as f64;
            point(a.cos(), a.sin()) * radii[i % count]
        };
        let sides: Vec<CellSide> = (0..count)
            .map(|i| {
                let (a, b) = (corner(i), corner(i + 1));
                let along = b - a;
                let (sin, cos) = bends[i].sin_cos();
                let size = (along.x * along.x + along.y * along.y).sqrt();
                let way = Point { x: along.x * cos - along.y * sin, y: along.x * sin + along.y * cos } / size;
                CellSide { curve: Curve::tangent_arc(a, way, b), inset }
            })
            .collect();
        let flat: Vec<Curve> = sides.iter().map(|s| s.curve).collect();
        let Some(cell) = came::outline(&flat, 0.001) else { return Ok(()) };
        let by_polygon = offset::shrink(&cell, inset);
        match came::finished(&sides, &[]) {
            Space::Glass(curves) => {
                let exact = came::outline(&curves, 0.001).expect("simple");
                let round: f64 = curves.iter().map(Curve::length).sum();
                // Inside corners are mitred in one and may be cut square or round in the other.
                let corners = count as f64 * inset * inset * 4.0;
                prop_assert!(!by_polygon.is_empty());
                prop_assert!(apart(&exact, &by_polygon[0]) < round * 0.02 + corners, "{} {}", exact.area(), by_polygon[0].area());
                prop_assert!(exact.area() < by_polygon[0].area() + round * 0.02);
            }
            Space::Split(..) => prop_assert!(by_polygon.len() != 1),
            Space::None => prop_assert!(by_polygon.iter().map(Outline::area).sum::<f64>() < 5.0),
        }
    }
}

/// The border of a panel of 300 × 200 mm with one lead down the middle: four mitred leads; the lead ends a face of 6 mm
/// short of the outer edge at both ends.
#[test]
fn border_leads_are_mitred_at_the_corners() {
    let cartoon = read(
        vec![edge(300.0, 200.0), stroke("", &[(150.0, 0.0), (150.0, 200.0)])],
        vec![],
        &settings(),
    );
    let leads = |name: &str| {
        let found = cartoon.leads.iter().find(|lead| lead.came.name == name);
        found
            .map(|lead| lead.leads.iter().map(|size| size.round()).collect::<Vec<_>>())
            .unwrap_or_default()
    };
    assert_eq!(leads("border"), [300.0, 300.0, 200.0, 200.0]);
    assert_eq!(leads("came"), [188.0]);
}

/// A cartoon of 5,000 lines is read in under two seconds.
#[test]
fn five_thousand_lines_are_read_quickly() {
    // 100 by 49 cells, drawn as 4,950 short lines and more across, each with ends that miss a little.
    let mut strokes = vec![edge(2000.0, 1000.0)];
    for i in 0..50 {
        let y = 20.0 * f64::from(i);
        for k in 0..99 {
            let x = 20.0 * f64::from(k + 1);
            strokes.push(stroke("", &[(x, y - 0.2), (x + 3.0, y + 19.9)]));
        }
        if i > 0 {
            strokes.push(stroke("", &[(0.0, y), (2000.3, y)]));
        }
    }
    assert!(strokes.len() >= 5_000);
    let start = std::time::Instant::now();
    let cartoon = read(strokes, vec![], &settings());
    let took = start.elapsed();
    assert_eq!(cartoon.cells.len(), 5_000);
    let area: f64 = cartoon.cells.iter().map(|cell| cell.area).sum();
    assert!((area - 2e6).abs() < 100.0, "{area}");
    assert!(took.as_secs_f64() < 2.0, "{took:?}");
}
