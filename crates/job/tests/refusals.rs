//! Bad job files: every one gets findings in the user's words, all at once.

use cullet_job::Job;

/// A small good job in millimetres; tests change one thing in it.
const GOOD: &str = r#"{
  "name": "Stair window", "units": "mm", "y": "up",
  "glasses": [
    {"code": "CL", "name": "clear", "thickness": 4, "grain": "none", "may_turn_over": true,
     "scored_face": "show", "grind_allowance": 0.5, "price": 40, "price_unit": "m2"},
    {"code": "RD", "name": "reeded", "thickness": 4, "grain": "two-ways", "grain_tolerance": 2,
     "may_turn_over": false, "scored_face": "back", "grind_allowance": 0.5, "price": 55, "price_unit": "m2"}
  ],
  "panels": [
    {"id": "S", "quantity": 1, "mirrored_quantity": 1, "pieces": [
      {"number": "1", "outline": [[0, 0], [100, 0], [100, 80], [0, 80]], "glass": "CL"},
      {"number": "2", "outline": [[110, 0], [210, 0], [210, 80]], "glass": "RD", "grain": 45, "spares": 1},
      {"number": "3", "outline": [[0, 90], [100, 90], [100, 190], [0, 190]], "glass": "CL",
       "bevel": {"width": 12, "nose": 2}}
    ]}
  ]
}"#;

/// Changes the good job at each `(from, to)` and compares the findings, written `place: found, expected`, in any order.
#[track_caller]
fn check(changes: &[(&str, &str)], expected: &[&str]) {
    let mut text = GOOD.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "the good job has no {from}");
        text = text.replacen(from, to, 1);
    }
    let found: Vec<String> = match Job::read("job.json", &text) {
        Ok(_) => vec![],
        Err(findings) => {
            assert!(findings.0.iter().all(|f| f.file == "job.json" && !f.hint.is_empty()));
            findings
                .0
                .iter()
                .map(|f| format!("{}: {}, {}", f.place, f.found, f.expected))
                .collect()
        }
    };
    let mut sorted = found.clone();
    sorted.sort();
    let mut expected = expected.to_vec();
    expected.sort_unstable();
    assert_eq!(sorted, expected, "all findings: {found:#?}");
}

#[test]
fn the_good_job_is_good() {
    check(&[], &[]);
}

#[test]
fn missing_fields_each_in_their_place() {
    check(
        &[("\"units\": \"mm\", ", "")],
        &["field \"units\": no such field, \"mm\" or \"in\""],
    );
    check(
        &[
            ("\"name\": \"Stair window\", ", ""),
            ("\"thickness\": 4, ", ""),
            ("\"quantity\": 1, ", ""),
            ("\"number\": \"2\", ", ""),
        ],
        &[
            "field \"name\": no such field, a text of 1 to 200 characters, in quotes",
            "glass CL, field \"thickness\": no such field, a number above 0",
            "panel S, field \"quantity\": no such field, a whole number, 0 or more",
            "panel S, piece no. 2 in the list, field \"number\": no such field, a text of 1 to 100 characters, in quotes",
        ],
    );
}

#[test]
fn unknown_fields_and_what_they_hide() {
    check(
        &[
            ("\"units\": \"mm\"", "\"unit\": \"mm\""),
            ("\"spares\"", "\"spare\""),
            ("[100, 80], [0, 80]", "[0, 80], [100, 80]"),
        ],
        &[
            "the job: the unknown field \"unit\", only fields that a job file has",
            "field \"units\": no such field, \"mm\" or \"in\"",
            "panel S, piece 2: the unknown field \"spare\", only fields that a job file has",
            "panel S, piece 1: an outline whose sides cross or touch at (50.000, 40.000), a simple closed shape",
        ],
    );
}

#[test]
fn a_broken_glass_is_reported_once_not_at_every_piece() {
    check(
        &[
            ("\"code\": \"RD\", ", "\"code\": \"RD\", \"colour\": 1, "),
            ("\"grain\": \"two-ways\"", "\"grain\": \"reeds\""),
        ],
        &[
            "glass RD: the unknown field \"colour\", only fields that a job file has",
            "glass RD, field \"grain\": the text \"reeds\", \"none\" or \"two-ways\" or \"one-way\"",
        ],
    );
}

#[test]
fn wrong_kinds_of_value() {
    check(
        &[
            ("\"number\": \"1\"", "\"number\": 1"),
            ("\"thickness\": 4", "\"thickness\": \"4 mm\""),
            ("\"quantity\": 1", "\"quantity\": 1.5"),
            ("\"may_turn_over\": false", "\"may_turn_over\": \"no\""),
            ("[[110, 0], [210, 0], [210, 80]]", "[[110, 0], [210], [210, 80]]"),
            ("{\"width\": 12, \"nose\": 2}", "12"),
        ],
        &[
            "panel S, piece 1, field \"number\": the number 1, a text of 1 to 100 characters, in quotes",
            "glass CL, field \"thickness\": the text \"4 mm\", a number above 0",
            "panel S, field \"quantity\": the number 1.5, a whole number, 0 or more",
            "glass RD, field \"may_turn_over\": the text \"no\", true or false",
            "panel S, piece 2, field \"outline\", point 2: a list of 1, two numbers, [x, y]",
            "panel S, piece 3, bevel: the number 12, a group of fields in { }",
        ],
    );
}

#[test]
fn numbers_out_of_range() {
    check(
        &[
            ("\"thickness\": 4", "\"thickness\": -4"),
            ("\"grain_tolerance\": 2", "\"grain_tolerance\": 46"),
            ("\"price\": 55", "\"price\": -1"),
            (
                "\"y\": \"up\"",
                "\"y\": \"up\", \"settings\": {\"credit_rate\": 1.5, \"keep\": 0}",
            ),
            ("\"mirrored_quantity\": 1", "\"mirrored_quantity\": 5000000000"),
        ],
        &[
            "glass CL, field \"thickness\": the number -4, a number above 0",
            "glass RD, field \"grain_tolerance\": the number 46, a number from 0 to 45",
            "glass RD, field \"price\": the number -1, a number, 0 or more",
            "settings, field \"credit_rate\": the number 1.5, a number from 0 to 1",
            "settings, field \"keep\": the number 0, a number above 0",
            "panel S, field \"mirrored_quantity\": the number 5000000000, a whole number, 0 or more",
        ],
    );
}

#[test]
fn sizes_that_make_no_sense() {
    check(
        &[
            ("\"thickness\": 4", "\"thickness\": 0.125"),
            (
                "\"grind_allowance\": 0.5, \"price\": 55",
                "\"grind_allowance\": 50, \"narrowest_strip\": 2, \"price\": 55",
            ),
            (
                "\"y\": \"up\"",
                "\"y\": \"up\", \"settings\": {\"score_kerf\": 9, \"curve_tolerance\": 1e-9, \
                 \"breaking\": {\"bend_length\": 600, \"tightest_curve\": 0.1}}",
            ),
            (",\n       \"bevel\": {\"width\": 12, \"nose\": 2}", ""),
        ],
        &[
            "glass CL, field \"thickness\": 0.125 mm, 1 to 25 mm",
            "glass RD, field \"grind_allowance\": 50 mm, at most 10 mm",
            "glass RD, field \"narrowest_strip\": 2 mm on glass of 4 mm, at least the thickness",
            "settings, field \"score_kerf\": 9 mm, at most 5 mm",
            "settings, field \"curve_tolerance\": 1e-9 mm, 0.001 to 1 mm",
            "settings, breaking, field \"bend_length\": 600 mm, 1 to 500 mm",
            "settings, breaking, field \"tightest_curve\": 0.1 mm, 0.5 to 500 mm",
        ],
    );
}

#[test]
fn names_used_twice_and_unknown_glass() {
    check(
        &[
            ("\"code\": \"RD\"", "\"code\": \"CL\""),
            ("\"number\": \"3\"", "\"number\": \"1\""),
        ],
        &[
            "glass CL: this code 2 times, each once",
            "panel S, piece 1: this number 2 times, each once",
            "panel S, piece 2, field \"glass\": the unknown glass \"RD\", the code of a glass of this job",
        ],
    );
}

#[test]
fn grain_for_glass_without() {
    check(
        &[
            ("\"grain\": \"none\"", "\"grain\": \"none\", \"grain_tolerance\": 3"),
            ("\"glass\": \"CL\"}", "\"glass\": \"CL\", \"grain\": 0}"),
        ],
        &[
            "glass CL, field \"grain_tolerance\": 3° for a glass without grain, no tolerance",
            "panel S, piece 1, field \"grain\": a grain direction, but glass CL has no grain, \
             a grain direction only for glass with a grain",
        ],
    );
}

#[test]
fn outlines_that_are_none() {
    let outline = "[[110, 0], [210, 0], [210, 80]]";
    let place = "panel S, piece 2";
    for (bad, expected) in [
        (
            "[]",
            format!("{place}, field \"outline\": neither an outline nor a shape, one of the two"),
        ),
        (
            "[[1, 1], [1, 1], [2, 2]]",
            format!("{place}: an outline of 2 different points, at least 3"),
        ),
        (
            "[[0, 0], [1, 1], [2, 2]]",
            format!("{place}: an outline that encloses no area, a simple closed shape"),
        ),
        (
            "[[0, 0], [1e9, 0], [0, 5]]",
            format!("{place}: an outline whose point 2 lies 1000000 m from the origin, at most 100 m"),
        ),
        (
            "\"\"",
            format!("{place}, field \"outline\": empty text, SVG path data of 1 to 1000000 characters, in quotes"),
        ),
        (
            "\"M0 0H10V10Z M20 20H30V30Z\"",
            format!("{place}: path data of 2 closed parts, exactly 1"),
        ),
        (
            "\"M0 0H10V10\"",
            format!("{place}: an open line, its end 14.142 from its start, a closed line"),
        ),
        (
            "null",
            format!(
                "{place}, field \"outline\": nothing (null), SVG path data of 1 to 1000000 characters, in quotes, \
                 or a list of points [x, y] with at most 5000 entries"
            ),
        ),
    ] {
        check(&[(outline, bad)], &[&expected]);
    }
}

#[test]
fn crossings_are_told_in_the_files_own_axes_and_unit() {
    check(
        &[
            ("\"y\": \"up\"", "\"y\": \"down\""),
            ("\"units\": \"mm\"", "\"units\": \"in\""),
            ("\"thickness\": 4", "\"thickness\": 0.15"),
            ("\"thickness\": 4", "\"thickness\": 0.15"),
            ("\"grind_allowance\": 0.5", "\"grind_allowance\": 0.02"),
            ("\"grind_allowance\": 0.5", "\"grind_allowance\": 0.02"),
            ("{\"width\": 12, \"nose\": 2}", "{\"width\": 0.5, \"nose\": 0.1}"),
            ("[100, 80], [0, 80]", "[0, 80], [100, 80]"),
        ],
        &["panel S, piece 1: an outline whose sides cross or touch at (50.000, 40.000), a simple closed shape"],
    );
}

#[test]
fn a_million_points() {
    let points = format!("[{}[0, 0]]", "[1.5, 2.5], ".repeat(1_000_000));
    check(
        &[("[[110, 0], [210, 0], [210, 80]]", &points)],
        &[
            "panel S, piece 2, field \"outline\": a list of more than 100000, a list of points [x, y] with at most 5000 entries",
        ],
    );
    let path = format!("\"M0 0{}Z\"", "L1.5 2.5".repeat(1_000_000));
    check(
        &[("[[110, 0], [210, 0], [210, 80]]", &path)],
        &["panel S, piece 2, field \"outline\": a text of 8000005 characters, \
           \"M0 0L1.5 2.5L1.5 2.5L1.5 2.5L1.5 2.5L1.5 …\", SVG path data of 1 to 1000000 characters, in quotes"],
    );
}

#[test]
fn too_many_of_anything() {
    check(
        &[
            ("\"quantity\": 1", "\"quantity\": 4000000000"),
            ("\"spares\": 1", "\"spares\": 4000000000"),
        ],
        &["panels: 16000000016000000003 pieces in all, copies and spares counted, at most 100000"],
    );
    check(
        &[("\"quantity\": 1, \"mirrored_quantity\": 1", "\"quantity\": 0")],
        &["panel S: quantity 0 and mirrored_quantity 0, at least one panel to make"],
    );
    let findings = Job::read("job.json", &" ".repeat(33 << 20)).unwrap_err();
    assert_eq!(findings.0[0].expected, "at most 25.2 MB");
}

/// Bevels that trade practice refuses; figures from the sources that the findings name.
#[test]
fn impossible_bevels() {
    let place = "panel S, piece 3, bevel";
    let bevel = |thickness: &str, bevel: &str, expected: &[&str]| {
        let thickness = format!("\"thickness\": {thickness}");
        check(
            &[
                ("\"thickness\": 4", &thickness),
                ("{\"width\": 12, \"nose\": 2}", bevel),
            ],
            expected,
        );
    };
    // Trade magazine, July 1998: 13 mm at most on 3.2 mm glass, 25 on 4, 38 on 5.
    bevel("3.2", r#"{"width": 13, "nose": 2}"#, &[]);
    bevel(
        "3.2",
        r#"{"width": 14, "nose": 2}"#,
        &[&format!(
            "{place}: a bevel 14 mm wide on glass of 3.2 mm, at most 13 mm"
        )],
    );
    bevel("4", r#"{"width": 25, "nose": 2}"#, &[]);
    bevel(
        "4",
        r#"{"width": 26, "nose": 2}"#,
        &[&format!("{place}: a bevel 26 mm wide on glass of 4 mm, at most 25 mm")],
    );
    bevel("5", r#"{"width": 38.1, "nose": 2}"#, &[]);
    bevel(
        "5",
        r#"{"width": 39, "nose": 2}"#,
        &[&format!("{place}: a bevel 39 mm wide on glass of 5 mm, at most 38 mm")],
    );
    // By arithmetic: at 7° a 1½ in bevel on 5 mm glass leaves 0.32 mm.
    bevel(
        "5",
        r#"{"width": 38.1, "nose": 0.32}"#,
        &[&format!("{place}: a nose of 0.32 mm, at least 1 mm")],
    );
    bevel(
        "5",
        r#"{"width": 12.7, "nose": 5}"#,
        &[&format!(
            "{place}: a nose of 5 mm on glass of 5 mm, a nose thinner than the glass"
        )],
    );
    // A bevel all round needs a piece wider than twice the bevel; piece 3 is 100 mm wide.
    bevel("6", r#"{"width": 49.9, "nose": 3}"#, &[]);
    bevel(
        "6",
        r#"{"width": 50, "nose": 3}"#,
        &[&format!(
            "{place}: a bevel 50 mm wide all round, a piece wider than twice the bevel"
        )],
    );
}

#[test]
fn text_that_is_no_json() {
    let number = "\"thickness\": 4";
    check(
        &[(number, "\"thickness\": NaN")],
        &["line 4, column 50: `NaN`, a number"],
    );
    check(
        &[(number, "\"thickness\": -Infinity")],
        &["line 4, column 51: `-Infinity`, a number"],
    );
    check(
        &[(number, "\"thickness\": 1e999")],
        &["line 4, column 54: a number too large to read, a size"],
    );
    check(&[("\"mm\", ", "\"mm\" ")], &["line 2, column 41: `\"`, `,` or `}`"]);
    check(
        &[("0.5, \"price\": 40", "0.5, \"thickness\": 5, \"price\": 40")],
        &["line 5, column 66: two fields named \"thickness\", each field once"],
    );
    for (text, found) in [
        ("", "an empty file"),
        ("{\"name\": ", "the end of the file"),
        ("[1,]", "a comma before a closing bracket"),
    ] {
        let findings = Job::read("job.json", text).unwrap_err();
        assert_eq!((findings.0.len(), findings.0[0].found.as_str()), (1, found));
    }
    let deep = "[".repeat(100_000);
    assert_eq!(Job::read("job.json", &deep).unwrap_err().0.len(), 1);
}

#[test]
fn no_flood_of_findings() {
    let fields: String = (0..5000).map(|i| format!("\"unknown{i}\": 1, ")).collect();
    let findings = Job::read("job.json", &GOOD.replacen("\"name\"", &format!("{fields}\"name\""), 1)).unwrap_err();
    assert_eq!(findings.0.len(), 1001);
    assert_eq!(findings.0[1000].found, "4000 more things wrong");
}

/// Flattened at 0.001 mm, an arc of 45 m radius has more corners than a piece may have.
#[test]
fn a_curve_too_large_to_flatten() {
    let settings = (
        "\"y\": \"up\"",
        "\"y\": \"up\", \"settings\": {\"curve_tolerance\": 0.001}",
    );
    let mut text = GOOD.replacen(settings.0, settings.1, 1);
    text = text.replacen("[[110, 0], [210, 0], [210, 80]]", "\"M0 0A45e3 45e3 0 0 1 90e3 0Z\"", 1);
    let findings = Job::read("job.json", &text).unwrap_err();
    assert_eq!(findings.0.len(), 1);
    assert!(findings.0[0].found.ends_with(" points") && findings.0[0].expected == "at most 5000");
}

/// The job file's schema has a longest number; a drawing's texts come by another way.
#[test]
fn a_drawings_piece_numbers_have_a_longest_too() {
    let text = r#"{"name": "test", "units": "mm", "y": "up", "glasses": [{"code": "G", "name": "glass", "thickness": 3,
        "grain": "none", "grind_allowance": 0, "may_turn_over": true, "scored_face": "show", "price": 9, "price_unit": "m2"}],
        "panels": [{"id": "P", "quantity": 1, "drawing": {"file": "p.svg"}}]}"#;
    let drawn = |length: usize| {
        Job::read_with("job.json", text, |source, _| {
            let piece = serde_json::json!({ "number": "7".repeat(length), "glass": "G", "outline": [[0, 0], [90, 0], [90, 60]] });
            source.panels[0].drawing = None;
            source.panels[0].pieces = vec![serde_json::from_value(piece).expect("a piece")];
        })
    };
    assert!(drawn(100).is_ok());
    let told = drawn(101).expect_err("too long").to_string();
    assert!(told.contains("a number of 101 characters in the drawing"), "{told}");
}
