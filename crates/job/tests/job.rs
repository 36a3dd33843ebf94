//! Good jobs: units, mirror images, cut outlines, defaults, bevels and warnings, checked against figures worked by hand.

use cullet_job::{Bevel, Grain, Job, JobFile, Piece};
use proptest::prelude::*;

/// A job of one glass and one panel; `settings`, `glass` and `panel` are fields to add, `pieces` the list.
fn text(units: &str, y: &str, settings: &str, glass: &str, panel: &str, pieces: &str) -> String {
    let (thickness, grind) = if units == "in" { (0.125, 0.02) } else { (3.0, 0.5) };
    format!(
        r#"{{"name": "test", "units": "{units}", "y": "{y}", "settings": {{{settings}}},
        "glasses": [{{"code": "G", "name": "glass", "thickness": {thickness}, "grind_allowance": {grind},
          "may_turn_over": true, "scored_face": "show", "price": 92.90304, "price_unit": "ft2", {glass}}}],
        "panels": [{{"id": "P", {panel}, "pieces": [{pieces}]}}]}}"#
    )
}

#[track_caller]
fn read(text: &str) -> Job {
    match Job::read("job.json", text) {
        Ok(job) => job,
        Err(findings) => panic!("{findings}\n{text}"),
    }
}

fn points(outline: &cullet_geometry::Outline) -> Vec<[f64; 2]> {
    outline.points().iter().map(|p| [p.x, p.y]).collect()
}

const TRIANGLE: &str = r#"{"number": "1", "glass": "G", "outline": [[0, 0], [100, 0], [100, 60]]}"#;

#[test]
fn defaults_are_the_trades_usual_values() {
    let job = read(&text(
        "mm",
        "up",
        "",
        r#""grain": "none""#,
        r#""quantity": 1"#,
        TRIANGLE,
    ));
    // Narrowest strip max(2 t, 6 mm), the same for the trim (machine-cutting handbook page); keep over about 6 in
    // (trade newsletter no. 63).
    let glass = &job.glasses[0];
    assert_eq!((glass.narrowest_strip, glass.edge_trim), (6.0, 6.0));
    assert_eq!(
        (job.keep, job.curve_tolerance, job.score_kerf, job.credit_rate),
        (150.0, 0.05, 0.0, 0.5)
    );
    assert_eq!(glass.grain, Grain::None);
    // 92.90304 a square foot of 92 903.04 mm².
    assert!((glass.price_per_mm2 - 1e-3).abs() < 1e-15);
    let thick = text("mm", "up", "", r#""grain": "none""#, r#""quantity": 1"#, TRIANGLE)
        .replace("\"thickness\": 3", "\"thickness\": 8, \"edge_trim\": 0");
    assert_eq!(read(&thick).glasses[0].narrowest_strip, 16.0);
    assert_eq!(read(&thick).glasses[0].edge_trim, 0.0);
}

#[test]
fn inches_are_25_4_mm() {
    let pieces = r#"{"number": "1", "glass": "G", "outline": [[0, 0], [10, 0], [10, 6]]}"#;
    let job = read(&text(
        "in",
        "up",
        r#""keep": 6"#,
        r#""grain": "none""#,
        r#""quantity": 1"#,
        pieces,
    ));
    assert_eq!(
        points(&job.pieces[0].finished),
        [[0.0, 0.0], [254.0, 0.0], [254.0, 6.0 * 25.4]]
    );
    assert_eq!(job.glasses[0].thickness, 3.175);
    assert_eq!(job.keep, 6.0 * 25.4);
    assert_eq!(job.curve_tolerance, 0.05);
}

#[test]
fn y_down_is_turned_up_and_stays_counter_clockwise() {
    let job = read(&text(
        "mm",
        "down",
        "",
        r#""grain": "none""#,
        r#""quantity": 1"#,
        TRIANGLE,
    ));
    let mut found = points(&job.pieces[0].finished);
    found.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    assert_eq!(found, [[0.0, 0.0], [100.0, -60.0], [100.0, 0.0]]);
    assert!((job.pieces[0].finished.area() - 3000.0).abs() < 1e-9);
}

#[test]
fn mirrored_panels_have_pieces_of_their_own() {
    let pieces =
        r#"{"number": "1", "glass": "G", "outline": [[10, 0], [110, 0], [110, 60]], "grain": 30, "spares": 2}"#;
    let panel = r#""quantity": 2, "mirrored_quantity": 3"#;
    let job = read(&text(
        "mm",
        "up",
        "",
        r#""grain": "one-way", "grain_tolerance": 5"#,
        panel,
        pieces,
    ));
    let [drawn, mirrored] = &job.pieces[..] else {
        panic!("{} pieces", job.pieces.len())
    };
    assert!(!drawn.id.mirrored && mirrored.id.mirrored);
    assert_eq!((drawn.quantity, drawn.spares), (2, 4));
    assert_eq!((mirrored.quantity, mirrored.spares), (3, 6));
    assert_eq!((drawn.grain_deg, mirrored.grain_deg), (30.0, 150.0));
    assert_eq!(mirrored.finished.bounds().min.x, -110.0);
    assert_eq!(mirrored.finished.bounds().max.x, -10.0);
    assert_eq!(mirrored.finished.area(), drawn.finished.area());
    assert_eq!(job.glasses[0].grain, Grain::OneWay { tolerance: 5.0 });

    let only_mirrored = read(&text(
        "mm",
        "up",
        "",
        r#""grain": "two-ways""#,
        r#""quantity": 0, "mirrored_quantity": 1"#,
        TRIANGLE,
    ));
    assert_eq!(only_mirrored.pieces.len(), 1);
    assert!(only_mirrored.pieces[0].id.mirrored);
    assert_eq!(only_mirrored.pieces[0].grain_deg, 90.0);
}

/// Cut outline = finished outline + grind allowance + half the score kerf, corners sharp. The first figures are those of a
/// glass processor's note on cutting rates: 454 × 131 mm with 0.5 mm on each side.
#[test]
fn cut_outlines() {
    let pieces = r#"{"number": "1", "glass": "G", "outline": [[0, 0], [454, 0], [454, 131], [0, 131]]}"#;
    let cut = |settings: &str| {
        let job = read(&text(
            "mm",
            "up",
            settings,
            r#""grain": "none""#,
            r#""quantity": 1"#,
            pieces,
        ));
        let bounds = job.pieces[0].cut.bounds();
        assert_eq!(job.pieces[0].cut.points().len(), 4);
        (bounds.width(), bounds.height())
    };
    assert_eq!(cut(""), (455.0, 132.0));
    // The kerf widens the clearance between pieces, not the piece.
    assert_eq!(cut(r#""score_kerf": 0.2"#), (455.0, 132.0));
}

/// A circle of 50 mm radius: area π r², flattened outwards by no more than the tolerance.
#[test]
fn curves_are_never_short_of_glass() {
    let pieces = r#"{"number": "1", "glass": "G", "outline": "M50 0A50 50 0 0 1 -50 0A50 50 0 0 1 50 0Z"}"#;
    let job = read(&text(
        "mm",
        "down",
        r#""curve_tolerance": 0.02"#,
        r#""grain": "none""#,
        r#""quantity": 1"#,
        pieces,
    ));
    let area = job.pieces[0].finished.area();
    let circle = |radius: f64| std::f64::consts::PI * radius * radius;
    assert!(area >= circle(50.0) && area <= circle(50.02), "{area}");
}

/// tan(angle) = (t − nose) / width, worked by arithmetic: 5 mm, 1/2 in, 2.5 mm nose: 11.1°; 6 mm, 1 in, 1/8 in nose:
/// 6.35°. At 7° a bevel 10 mm wide takes 1.23 mm, 25 takes 3.07, 40 takes 4.91.
#[test]
fn bevel_angles() {
    let angle = |t: f64, width: f64, nose: f64| Bevel::new(t, width, nose).angle_deg;
    assert!((angle(5.0, 12.7, 2.5) - 11.1).abs() < 0.05);
    assert!((angle(6.0, 25.4, 3.175) - 6.35).abs() < 0.005);
    for (width, taken) in [(10.0, 1.23), (25.0, 3.07), (40.0, 4.91)] {
        assert!((angle(10.0, width, 10.0 - taken) - 7.0).abs() < 0.03);
    }
}

#[test]
fn a_bevelled_piece_is_handed() {
    let pieces = r#"{"number": "1", "glass": "G", "outline": [[0, 0], [100, 0], [100, 60], [0, 60]],
        "bevel": {"width": 10, "nose": 2}}"#;
    let job = read(&text("mm", "up", "", r#""grain": "none""#, r#""quantity": 1"#, pieces));
    assert!(!job.pieces[0].may_turn_over && job.glasses[0].may_turn_over);
}

#[test]
fn warnings_name_pieces_hard_to_break() {
    #[track_caller]
    fn check(outline: &str, extra: &str, expected: &[&str]) {
        let pieces = format!(r#"{{"number": "7", "glass": "G", "outline": {outline}{extra}}}"#);
        let panel = r#""quantity": 1, "mirrored_quantity": 1"#;
        let job = read(&text("mm", "up", "", r#""grain": "none""#, panel, &pieces));
        let found: Vec<String> = job
            .warnings("job.json", &[])
            .iter()
            .map(|f| format!("{}: {}", f.place.trim_start_matches("panel P, "), f.found))
            .collect();
        assert_eq!(found, expected);
    }
    check("[[0, 0], [100, 0], [100, 60], [0, 60]]", "", &[]);
    check("\"M0 0H80A40 40 0 0 1 0 0Z\"", "", &[]);
    // Machine-cutting handbook page: under 30°.
    check(
        "[[0, 0], [100, 0], [100, 57]]",
        "",
        &["piece 7: 1 corner under 30°, the sharpest 29.7°"],
    );
    check("[[0, 0], [100, 0], [100, 58]]", "", &[]);
    // Two cutting tutorials: no inside right angle.
    check(
        "[[0, 0], [100, 0], [100, 100], [50, 100], [50, 50], [0, 50]]",
        "",
        &["piece 7: 1 inside corner"],
    );
    // Workshop tips 2010: narrower than 6 mm and longer than 125 mm snaps (about 1:20).
    check(
        "[[0, 0], [126, 0], [126, 5.9], [0, 5.9]]",
        "",
        &["piece 7: a strip of about 126 × 5.9 mm"],
    );
    check("[[0, 0], [117, 0], [117, 5.9], [0, 5.9]]", "", &[]);
    // Narrowest strip of 3 mm glass: 6 mm, and 0.5 mm of grinding on either side.
    check(
        "[[0, 0], [80, 0], [80, 4.9], [0, 4.9]]",
        "",
        &["piece 7: a piece that is nowhere as wide as 6 mm"],
    );
    // Bevel plane 3–10° to the face.
    check(
        "[[0, 0], [100, 0], [100, 60], [0, 60]]",
        r#", "bevel": {"width": 5, "nose": 2}"#,
        &["piece 7, bevel: an angle of 11.3°"],
    );
}

#[test]
fn the_schema_is_that_of_the_file() {
    let schema = Job::schema();
    assert_eq!(schema["title"], "JobFile");
    assert_eq!(
        schema["$defs"]["GlassFile"]["properties"]["grain_tolerance"]["maximum"],
        45.0
    );
    assert_eq!(
        schema["$defs"]["BevelFile"]["properties"]["nose"]["exclusiveMinimum"],
        0
    );
    assert_eq!(schema["additionalProperties"], false);
}

/// A NaN that code puts into a parsed file is found like any other.
#[test]
fn from_file_checks_as_well() {
    let mut file: JobFile = read(&text(
        "mm",
        "up",
        "",
        r#""grain": "none""#,
        r#""quantity": 1"#,
        TRIANGLE,
    ))
    .source;
    assert!(Job::from_file("plan.json", file.clone()).is_ok());
    file.glasses[0].thickness = f64::NAN;
    let findings = Job::from_file("plan.json", file).unwrap_err();
    assert_eq!(findings.0[0].place, "glass G, field \"thickness\"");
    assert_eq!(findings.0.len(), 1);
}

/// Random good jobs: convex pieces about a centre, any quantities.
fn jobs() -> impl Strategy<Value = String> {
    let piece = (
        3_usize..9,
        20.0..200.0_f64,
        0_u32..3,
        prop::option::of(-360.0..360.0_f64),
    );
    (
        prop::collection::vec(piece, 1..8),
        0_u32..4,
        0_u32..4,
        prop::bool::ANY,
        prop::bool::ANY,
    )
        .prop_map(|(pieces, quantity, mirrored, inches, down)| {
            let pieces: Vec<String> = pieces
                .iter()
                .enumerate()
                .map(|(i, (corners, radius, spares, grain))| {
                    let corner = |k: usize| {
                        let (sin, cos) = (std::f64::consts::TAU * k as f64 / *corners as f64).sin_cos();
                        format!("[{}, {}]", radius * cos, radius * sin)
                    };
                    let corners = (0..*corners).map(corner).collect::<Vec<_>>().join(", ");
                    let grain = grain.map_or_else(String::new, |grain| format!(", \"grain\": {grain}"));
                    format!(r#"{{"number": "{i}", "glass": "G", "outline": [{corners}], "spares": {spares}{grain}}}"#)
                })
                .collect();
            let panel = format!(r#""quantity": {}, "mirrored_quantity": {mirrored}"#, quantity + 1);
            let units = if inches { "in" } else { "mm" };
            let y = if down { "down" } else { "up" };
            text(units, y, "", r#""grain": "two-ways""#, &panel, &pieces.join(", "))
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn round_trip_through_the_file(text in jobs()) {
        let job = read(&text);
        let written = serde_json::to_string(&job.source).unwrap_or_default();
        prop_assert_eq!(read(&written), job.clone());
        prop_assert_eq!(Job::from_file("job.json", job.source.clone()).ok(), Some(job));
    }

    #[test]
    fn cut_outlines_cover_the_finished_ones(text in jobs()) {
        for Piece { finished, cut, grain_deg, .. } in read(&text).pieces {
            prop_assert!(finished.points().iter().all(|p| cut.contains(*p)));
            prop_assert!(cut.area() > finished.area());
            prop_assert!((0.0..360.0).contains(&grain_deg));
        }
    }

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*") {
        if let Err(findings) = Job::read("job.json", &text) {
            prop_assert!(!findings.0.is_empty());
        }
    }

    /// A good file with a few bytes changed, cut or put in.
    #[test]
    fn a_damaged_file_is_read_or_refused(
        text in jobs(),
        damage in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..4, "[\\[\\]{}\",:0-9eE.\\-nM a-z]{0,3}"), 1..4),
    ) {
        let mut bytes = text.into_bytes();
        for (at, cut, put) in damage {
            let at = at.index(bytes.len());
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, put.into_bytes());
        }
        let text = String::from_utf8_lossy(&bytes);
        if let Err(findings) = Job::read("job.json", &text) {
            prop_assert!(!findings.0.is_empty());
            prop_assert!(findings.0.iter().all(|f| !f.found.is_empty() && !f.expected.is_empty() && !f.hint.is_empty()));
        }
    }

    /// Any JSON at all in place of any one value.
    #[test]
    fn a_wrong_value_anywhere_is_read_or_refused(
        text in jobs(),
        place in any::<prop::sample::Index>(),
        value in prop::sample::select(vec!["null", "[]", "{}", "-1", "1e300", "\"\"", "\"x\"", "[[1,2],[3,4],[1,1e300]]", "1e-300"]),
    ) {
        let mut tree: serde_json::Value = serde_json::from_str(&text).unwrap_or_default();
        let mut places = vec![];
        collect(&tree, String::new(), &mut places);
        let pointer = &places[place.index(places.len())];
        if let Some(target) = tree.pointer_mut(pointer) {
            *target = serde_json::from_str(value).unwrap_or_default();
        }
        if let Err(findings) = Job::read("job.json", &tree.to_string()) {
            prop_assert!(!findings.0.is_empty());
        }
    }
}

/// JSON pointers of every value in the tree.
fn collect(tree: &serde_json::Value, at: String, places: &mut Vec<String>) {
    match tree {
        serde_json::Value::Object(fields) => {
            fields
                .iter()
                .for_each(|(name, value)| collect(value, format!("{at}/{name}"), places));
        }
        serde_json::Value::Array(items) => {
            items
                .iter()
                .enumerate()
                .for_each(|(i, value)| collect(value, format!("{at}/{i}"), places));
        }
        _ => {}
    }
    places.push(at);
}
