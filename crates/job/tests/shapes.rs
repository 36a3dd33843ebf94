//! Pieces by their shape and sizes: area and outline against closed formulas, and sizes that cannot be.
//!
//! The formulas are those of plane geometry (sector r²θ/2, segment r²(θ − sin θ)/2, ellipse πab, Heron's, the regular
//! polygon's n a² cot(π/n) / 4). Straight-sided shapes must meet them to 1e-9 of their area. Curves are flattened outwards at
//! 0.05 mm: the outline has at least the formula's area and at most what 0.05 mm along its length adds, every corner of it
//! lies on the curve or at most 0.05 mm outside, and so does the middle of every side.

use cullet_geometry::{Outline, Point};
use cullet_job::{Job, ShapeFile, ShapeKind};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::f64::consts::PI;

const TOLERANCE: f64 = 0.05;

fn job(shape: &Value, units: &str, y: &str) -> String {
    json!({
        "name": "shapes", "units": units, "y": y,
        "glasses": [{
            "code": "G", "name": "glass", "thickness": if units == "in" { 0.125 } else { 3.0 }, "grain": "none",
            "may_turn_over": true, "scored_face": "show", "grind_allowance": 0, "price": 1, "price_unit": "m2"
        }],
        "panels": [{"id": "P", "quantity": 1, "pieces": [{"number": "1", "glass": "G", "shape": shape}]}]
    })
    .to_string()
}

#[track_caller]
fn drawn(shape: &Value) -> Outline {
    read(shape, "mm", "up")
}

#[track_caller]
fn read(shape: &Value, units: &str, y: &str) -> Outline {
    match Job::read("job.json", &job(shape, units, y)) {
        Ok(job) => job.pieces[0].finished.clone(),
        Err(findings) => panic!("{shape}\n{findings}"),
    }
}

/// Size of the box round it, its lower left at the origin.
#[track_caller]
fn check_box(outline: &Outline, width: f64, height: f64, within: f64) {
    let b = outline.bounds();
    let off = [b.min.x, b.min.y, b.max.x - width, b.max.y - height];
    assert!(off.iter().all(|d| d.abs() <= within), "{b:?}, not {width} x {height}");
}

/// Straight sides: area, box, number of corners.
#[track_caller]
fn check_straight(shape: &Value, area: f64, (width, height): (f64, f64), corners: usize) {
    let outline = drawn(shape);
    let size = width.max(height);
    assert!(
        (outline.area() - area).abs() <= 1e-9 * size * size,
        "{shape}: {} not {area}",
        outline.area()
    );
    check_box(&outline, width, height, 1e-9 * size);
    assert_eq!(outline.points().len(), corners, "{shape}");
}

/// Curves: area, box, and how far each point of the outline lies outside the shape by `outside` (less than 0 inside it).
#[track_caller]
fn check_curved(shape: &Value, area: f64, length: f64, (width, height): (f64, f64), outside: impl Fn(Point) -> f64) {
    let outline = drawn(shape);
    let excess = outline.area() - area;
    assert!(
        (-1e-6 * area..=TOLERANCE * length).contains(&excess),
        "{shape}: {} not {area}",
        outline.area()
    );
    check_box(&outline, width, height, TOLERANCE + 1e-6);
    let points = outline.points();
    for (k, p) in points.iter().enumerate() {
        let q = points[(k + 1) % points.len()];
        for p in [
            *p,
            Point {
                x: (p.x + q.x) / 2.0,
                y: (p.y + q.y) / 2.0,
            },
        ] {
            let d = outside(p);
            assert!(
                (-1e-5..=TOLERANCE + 1e-5).contains(&d),
                "{shape}: {p:?} lies {d} mm outside"
            );
        }
    }
}

fn from_centre(p: Point, x: f64, y: f64) -> f64 {
    (p.x - x).hypot(p.y - y)
}

/// How far outside what lies left of, right of and below the box.
fn box_sides(p: Point, width: f64) -> f64 {
    (-p.x).max(p.x - width).max(-p.y)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn straight_sided(w in 20.0..2000.0f64, h in 20.0..2000.0f64, share in 0.05..0.95f64, n in 3u32..40) {
        check_straight(&json!({"kind": "rectangle", "width": w, "height": h}), w * h, (w, h), 4);
        check_straight(&json!({"kind": "diamond", "width": w, "height": h}), w * h / 2.0, (w, h), 4);
        check_straight(&json!({"kind": "triangle", "width": w, "height": h}), w * h / 2.0, (w, h), 3);
        let tip = w * share;
        check_straight(&json!({"kind": "triangle", "width": w, "height": h, "offset": tip}), w * h / 2.0, (w, h), 3);
        check_straight(&json!({"kind": "triangle", "width": w, "height": h, "offset": -tip}), w * h / 2.0, (w + tip, h), 3);
        let top = w * share;
        check_straight(&json!({"kind": "trapezium", "width": w, "top": top, "height": h}), (w + top) / 2.0 * h, (w, h), 4);
        check_straight(&json!({"kind": "trapezium", "width": top, "top": w, "height": h}), (w + top) / 2.0 * h, (w, h), 4);
        let clip = share * w.min(h) / 2.0;
        check_straight(
            &json!({"kind": "clipped-rectangle", "width": w, "height": h, "clip": clip}),
            w * h - 2.0 * clip * clip, (w, h), 8,
        );
        check_straight(
            &json!({"kind": "clipped-rectangle", "width": w, "height": h, "clip": clip, "corners": ["top-left", "bottom-right"]}),
            w * h - clip * clip, (w, h), 6,
        );
        // n a² cot(π/n) / 4, and the same from the circle through the corners: n R² sin(2π/n) / 2.
        let k = f64::from(n);
        let polygon = drawn(&json!({"kind": "polygon", "sides": n, "side": w / 4.0}));
        let area = k * (w / 4.0).powi(2) / (PI / k).tan() / 4.0;
        prop_assert!((polygon.area() - area).abs() <= 1e-9 * area);
        prop_assert_eq!(polygon.points().len(), n as usize);
        let polygon = drawn(&json!({"kind": "polygon", "sides": n, "diameter": w}));
        prop_assert!((polygon.area() - k * w * w / 8.0 * (2.0 * PI / k).sin()).abs() <= 1e-9 * w * w);
        // Its first side lies at the bottom.
        let low = polygon.points().iter().filter(|p| p.y.abs() < 1e-9 * w).count();
        prop_assert_eq!(low, 2);
    }

    /// s² sin(angle), the angle at the top.
    #[test]
    fn diamonds_by_side_and_angle(side in 20.0..500.0f64, angle in 10.0..170.0f64) {
        let half = (angle / 2.0).to_radians();
        check_straight(
            &json!({"kind": "diamond", "side": side, "angle": angle}),
            side * side * angle.to_radians().sin(),
            (2.0 * side * half.sin(), 2.0 * side * half.cos()),
            4,
        );
    }

    /// Heron's formula; sides as long as they were asked for.
    #[test]
    fn triangles_by_three_sides(a in 50.0..500.0f64, b in 50.0..500.0f64, share in 0.05..0.95f64) {
        let c = (a - b).abs() + share * (a + b - (a - b).abs());
        let outline = drawn(&json!({"kind": "triangle", "width": a, "left": b, "right": c}));
        let s = (a + b + c) / 2.0;
        let area = (s * (s - a) * (s - b) * (s - c)).sqrt();
        prop_assert!((outline.area() - area).abs() <= 1e-9 * a.max(b).powi(2));
        let p = outline.points();
        let mut sides: Vec<f64> = (0..3).map(|i| from_centre(p[i], p[(i + 1) % 3].x, p[(i + 1) % 3].y)).collect();
        let mut asked = vec![a, b, c];
        sides.sort_by(f64::total_cmp);
        asked.sort_by(f64::total_cmp);
        for (side, asked) in sides.iter().zip(asked) {
            prop_assert!((side - asked).abs() <= 1e-9 * 1000.0, "{side} not {asked}");
        }
    }

    #[test]
    fn circles_and_their_parts(d in 20.0..1500.0f64) {
        let r = d / 2.0;
        check_curved(&json!({"kind": "circle", "diameter": d}), PI * r * r, PI * d, (d, d), |p| from_centre(p, r, r) - r);
        check_curved(
            &json!({"kind": "half-round", "width": d}), PI * r * r / 2.0, PI * r, (d, r),
            |p| (from_centre(p, r, 0.0) - r).max(-p.y),
        );
        check_curved(
            &json!({"kind": "quarter-circle", "radius": d}), PI * d * d / 4.0, PI * d / 2.0, (d, d),
            |p| (from_centre(p, 0.0, 0.0) - d).max(-p.x).max(-p.y),
        );
    }

    #[test]
    fn ellipses(w in 40.0..1000.0f64, share in 0.2..5.0f64) {
        let (a, b) = (w / 2.0, w * share / 2.0);
        let shape = json!({"kind": "ellipse", "width": w, "height": 2.0 * b});
        let outline = drawn(&shape);
        // Ramanujan 1914: the length to a few parts in 10⁵ for these.
        let length = PI * (3.0 * (a + b) - ((3.0 * a + b) * (a + 3.0 * b)).sqrt());
        let excess = outline.area() - PI * a * b;
        prop_assert!(excess >= -1e-6 * a * b && excess <= TOLERANCE * length * 1.001, "{shape}: {excess}");
        check_box(&outline, w, 2.0 * b, TOLERANCE + 1e-6);
        // Every corner lies within ellipses 0.05 mm larger (a bound) and on or outside this one.
        for p in outline.points() {
            let level = ((p.x - a) / a).powi(2) + ((p.y - b) / b).powi(2);
            prop_assert!(level >= 1.0 - 1e-6, "{p:?} lies inside");
            let outer = ((p.x - a) / (a + 2.0 * TOLERANCE)).powi(2) + ((p.y - b) / (b + 2.0 * TOLERANCE)).powi(2);
            prop_assert!(outer <= 1.0, "{p:?} lies far outside");
        }
    }

    #[test]
    fn arches(w in 60.0..1500.0f64, straight in 0.0..800.0f64, share in 0.1..0.999f64, steep in 1.01..2.5f64) {
        let r = w / 2.0;
        let h = straight + r;
        check_curved(
            &json!({"kind": "round-arch", "width": w, "height": h}), w * straight + PI * r * r / 2.0, PI * r, (w, h),
            |p| if p.y > straight { from_centre(p, r, straight) - r } else { box_sides(p, w) },
        );
        // Segmental: radius and half angle from chord and rise.
        let f = share * r;
        let radius = (r * r + f * f) / (2.0 * f);
        let theta = 2.0 * (r / radius).asin();
        let segment = radius * radius / 2.0 * (theta - theta.sin());
        check_curved(
            &json!({"kind": "segmental-arch", "width": w, "height": straight + f, "rise": f}),
            w * straight + segment, radius * theta, (w, straight + f),
            |p| if p.y > straight { from_centre(p, r, straight + f - radius) - radius } else { box_sides(p, w) },
        );
        // Pointed: each half is a sector less the triangle between centre, middle and tip.
        let f = steep * r;
        let radius = (r * r + f * f) / w;
        let angle = (f / radius).atan2((radius - r) / radius);
        let half = radius * radius * angle / 2.0 - (radius - r) * f / 2.0;
        check_curved(
            &json!({"kind": "pointed-arch", "width": w, "height": straight + f, "rise": f}),
            w * straight + 2.0 * half, 2.0 * radius * angle, (w, straight + f),
            |p| match p.y > straight {
                true => (from_centre(p, radius, straight) - radius).max(from_centre(p, w - radius, straight) - radius)
                    // Over the tip the two sides run on until they meet.
                    .min(from_centre(p, r, straight + f)),
                false => box_sides(p, w),
            },
        );
    }

    #[test]
    fn rounded_rectangles(w in 40.0..1000.0f64, h in 40.0..1000.0f64, share in 0.05..1.0f64) {
        let r = share * w.min(h) / 2.0;
        let outside = |p: Point| {
            let (x, y) = ((p.x - w / 2.0).abs() - (w / 2.0 - r), (p.y - h / 2.0).abs() - (h / 2.0 - r));
            if x > 0.0 && y > 0.0 { x.hypot(y) - r } else { x.max(y) - r }
        };
        check_curved(
            &json!({"kind": "rounded-rectangle", "width": w, "height": h, "radius": r}),
            w * h - (4.0 - PI) * r * r, 2.0 * PI * r, (w, h), outside,
        );
        let top = json!({"kind": "rounded-rectangle", "width": w, "height": h, "radius": r, "corners": ["top-left", "top-right"]});
        let outline = drawn(&top);
        let excess = outline.area() - (w * h - (2.0 - PI / 2.0) * r * r);
        prop_assert!((-1e-6 * w * h..=TOLERANCE * PI * r).contains(&excess));
        prop_assert!(outline.points().iter().any(|p| p.x.abs() < 1e-9 && p.y.abs() < 1e-9));
    }
}

#[test]
fn the_same_in_inches_and_with_y_down() {
    for shape in [
        json!({"kind": "round-arch", "width": 12, "height": 20}),
        json!({"kind": "triangle", "width": 12, "height": 20, "offset": 0}),
        json!({"kind": "rounded-rectangle", "width": 12, "height": 20, "radius": 3, "corners": ["top-right"]}),
    ] {
        let up = read(&shape, "in", "up");
        let down = read(&shape, "in", "down");
        assert!((up.area() - down.area()).abs() < 1e-6, "{shape}");
        // Upright both times, seen from the front.
        let low = up.bounds().min.y - down.bounds().min.y;
        let moved = down.translated(0.0, low);
        assert!(
            up.points()
                .iter()
                .all(|p| moved.points().iter().any(|q| from_centre(*p, q.x, q.y) < 1e-6)),
            "{shape}"
        );
        assert!((up.bounds().height() - 508.0).abs() < TOLERANCE, "{shape}");
    }
}

#[track_caller]
fn refused(shape: &Value, field: &str, found: &str, hint: &str) {
    let findings = Job::read("job.json", &job(shape, "mm", "up")).expect_err("refused");
    let all = findings.to_string();
    let told = findings
        .0
        .iter()
        .any(|f| f.place == format!("panel P, piece 1, {field}") && f.found.contains(found) && f.hint.contains(hint));
    assert!(told, "{all}");
}

fn field(name: &str) -> String {
    format!("field \"{name}\"")
}

#[test]
fn sizes_that_no_figure_has_are_refused() {
    refused(&json!({"kind": "circle"}), &field("diameter"), "nothing", "Measure");
    refused(
        &json!({"kind": "circle", "diameter": 80, "width": 80}),
        &field("width"),
        "which the circle does not have",
        "rectangle",
    );
    refused(
        &json!({"kind": "triangle", "width": 100, "left": 30, "right": 60}),
        &field("width"),
        "sides of 100, 30 and 60",
        "again",
    );
    refused(
        &json!({"kind": "round-arch", "width": 300, "height": 120}),
        &field("height"),
        "height 120 of a round arch 300 wide",
        "segmental",
    );
    refused(
        &json!({"kind": "segmental-arch", "width": 300, "height": 500, "rise": 200}),
        &field("rise"),
        "rise 200",
        "pointed arch",
    );
    refused(
        &json!({"kind": "segmental-arch", "width": 300, "height": 80, "rise": 100}),
        &field("height"),
        "height 80 with a rise of 100",
        "same as the rise",
    );
    refused(
        &json!({"kind": "pointed-arch", "width": 300, "height": 500, "rise": 150}),
        &field("rise"),
        "rise 150",
        "round or a segmental",
    );
    refused(
        &json!({"kind": "clipped-rectangle", "width": 300, "height": 100, "clip": 60}),
        &field("clip"),
        "clip 60 on a rectangle of 300 × 100",
        "corners",
    );
}

#[test]
fn sizes_that_are_missing_or_misspelt_are_refused() {
    refused(&json!({"kind": "polygon", "side": 60}), &field("sides"), "nothing", "");
    refused(
        &json!({"kind": "diamond", "side": 60, "width": 40}),
        &field("angle"),
        "nothing",
        "",
    );
    refused(
        &json!({"kind": "circel", "diameter": 3}),
        "shape, field \"kind\"",
        "circel",
        "Did you mean \"circle\"",
    );
    refused(
        &json!({"kind": "circle", "diametre": 3}),
        "shape",
        "diametre",
        "Did you mean \"diameter\"",
    );
    refused(
        &json!({"kind": "circle", "diameter": -3}),
        "shape, field \"diameter\"",
        "-3",
        "",
    );
}

#[test]
fn a_piece_has_an_outline_or_a_shape() {
    let text = job(&json!({"kind": "circle", "diameter": 80}), "mm", "up");
    let both = text.replace("\"number\":\"1\"", "\"number\":\"1\",\"outline\":[[0,0],[9,0],[0,9]]");
    let findings = Job::read("job.json", &both).expect_err("both");
    assert_eq!(findings.0.len(), 1, "{findings}");
    assert!(findings.0[0].found.contains("as well as"), "{findings}");
    let neither = text.replace("\"shape\":{\"diameter\":80,\"kind\":\"circle\"}", "\"spares\":0");
    let findings = Job::read("job.json", &neither).expect_err("neither");
    assert_eq!(findings.0.len(), 1, "{findings}");
    assert!(findings.0[0].found.contains("neither"), "{findings}");
}

#[test]
fn copies_in_a_panel_are_made_in_each() {
    let text = job(&json!({"kind": "diamond", "width": 100, "height": 150}), "mm", "up");
    let text = text.replace("\"number\":\"1\"", "\"number\":\"1\",\"quantity\":12,\"spares\":1");
    let text = text.replace("\"id\":\"P\",", "\"id\":\"P\",\"mirrored_quantity\":3,");
    let job = Job::read("job.json", &text.replace("\"quantity\":1}", "\"quantity\":2}")).expect("a good job");
    let counts: Vec<(u32, u32)> = job.pieces.iter().map(|p| (p.quantity, p.spares)).collect();
    assert_eq!(counts, [(24, 2), (36, 3)]);
}

/// What the plan carries has outlines in place of shapes, and reads back as the same pieces.
#[test]
fn a_job_carries_outlines() {
    for kind in ShapeKind::ALL {
        let shape = example(kind);
        let job = Job::read("job.json", &job(&json!(shape), "mm", "up")).expect("a good job");
        assert!(job.source.panels[0].pieces[0].shape.is_none());
        let again = Job::from_file("plan.json", job.source.clone()).expect("a good job");
        assert_eq!(again.pieces, job.pieces, "{kind}");
    }
}

fn example(kind: ShapeKind) -> ShapeFile {
    let sizes = match kind {
        ShapeKind::Rectangle | ShapeKind::Ellipse => json!({"width": 200, "height": 300}),
        ShapeKind::ClippedRectangle => json!({"width": 200, "height": 300, "clip": 20}),
        ShapeKind::RoundedRectangle => json!({"width": 200, "height": 300, "radius": 20}),
        ShapeKind::Circle => json!({"diameter": 80}),
        ShapeKind::HalfRound => json!({"width": 80}),
        ShapeKind::QuarterCircle => json!({"radius": 80}),
        ShapeKind::RoundArch => json!({"width": 200, "height": 300}),
        ShapeKind::SegmentalArch => json!({"width": 200, "height": 300, "rise": 30}),
        ShapeKind::PointedArch => json!({"width": 200, "height": 300, "rise": 180}),
        ShapeKind::Diamond => json!({"side": 80, "angle": 60}),
        ShapeKind::Triangle => json!({"width": 80, "left": 60, "right": 100}),
        ShapeKind::Trapezium => json!({"width": 80, "top": 60, "height": 100}),
        ShapeKind::Polygon => json!({"sides": 8, "side": 50}),
    };
    let mut sizes = sizes;
    sizes["kind"] = json!(kind.name());
    serde_json::from_value(sizes).expect("a shape")
}
