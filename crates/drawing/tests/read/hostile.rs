//! Bad files: a clear message each, never a panic, limits that hold.

use crate::fixtures;
use cullet_drawing::read::{Limit, Limits, ReadError, ReadOptions, dxf, read, svg};
use proptest::prelude::*;
use std::fmt::Write;

fn bad(name: &str) -> ReadError {
    let ending = name.rsplit_once('.').expect("an ending").1;
    let file = fixtures("bad", ending)
        .into_iter()
        .find(|f| f.ends_with(name))
        .expect("the fixture");
    read(name, &std::fs::read(file).expect("a file"), &ReadOptions::default()).expect_err("it is refused")
}

#[test]
fn every_bad_value_is_named_at_once() {
    let findings = bad("bad_values.svg").findings("window.svg");
    let places: Vec<&str> = findings.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(
        places,
        ["line 2, path \"lead\"", "line 3, rect", "line 4, g", "line 5, polygon"]
    );
    assert!(
        findings
            .iter()
            .all(|f| f.file == "window.svg" && !f.found.is_empty() && !f.hint.is_empty())
    );
    let findings = bad("bad_number.dxf").findings("window.dxf");
    assert_eq!(findings.len(), 2, "{findings:?}");
    assert!(
        findings[0].found.contains("\"abc") && findings[1].found.contains("\"12,5\""),
        "{findings:?}"
    );
}

#[test]
fn a_file_cut_short_says_where() {
    let error = bad("truncated.dxf");
    let ReadError::Truncated { line, inside } = &error else {
        panic!("{error:?}")
    };
    assert!(*line > 1000 && inside.contains("ENTITIES, in CIRCLE"), "{error}");
    let error = bad("truncated.svg");
    assert!(matches!(error, ReadError::Truncated { line: 3, .. }), "{error:?}");
}

#[test]
fn a_drawing_without_a_unit_is_asked_about() {
    let error = bad("unit_unstated.dxf");
    let finding = error.finding("window.dxf");
    assert!(finding.found.contains("15.7500 × 23.5000"), "{finding}");
    // What no panel measures is not offered: 16 × 24 mm, 16 × 24 m.
    let readings = "it is 400 × 597 mm if in inches (25.4), 158 × 235 mm if in cm (10)";
    assert!(finding.hint.ends_with(readings), "{finding}");
}

#[test]
fn other_files_are_called_what_they_are() {
    let check = |bytes: &[u8], word: &str, hint: &str| {
        let error = read("window.svg", bytes, &ReadOptions::default()).expect_err("refused");
        let finding = error.finding("window.svg");
        assert!(finding.found.contains(word) && finding.hint.contains(hint), "{finding}");
    };
    let with_layers = "as SVG (not compressed) with its layers";
    let traced = "draw the lead lines over it";
    check(b"", "empty", with_layers);
    check(b"%PDF-1.7", "PDF", with_layers);
    check(b"%!PS-Adobe-3.0 EPSF-3.0", "PS or EPS", with_layers);
    check(b"\xc5\xd0\xd3\xc6rest", "EPS", with_layers);
    check(b"\x89PNG\r\n", "picture (PNG)", traced);
    check(b"\xff\xd8\xff\xe0", "picture (JPEG)", traced);
    check(b"II*\0", "picture (TIFF)", traced);
    check(b"\x1f\x8b\x08", "compressed", "not compressed");
    check(b"AutoCAD Binary DXF\r\n\x1a\0rest", "binary form", "as text");
    check(b"<html><body/></html>", "\"html\"", "SVG (not compressed)");
    check(b"\xff\xfe0\0\r\0\n\0S\0", "text in UTF-16", "UTF-8");
    let error = read("notes.txt", b"hello", &ReadOptions::default()).expect_err("refused");
    assert!(matches!(error, ReadError::Kind { .. }));
    let error = read("a.dxf", b"hello", &ReadOptions::default()).expect_err("refused");
    assert!(matches!(error, ReadError::GroupCode { line: 1, .. }));
}

#[test]
fn units_may_be_given() {
    let file = br#"<svg xmlns="http://www.w3.org/2000/svg"><line x2="90"/></svg>"#;
    let options = |unit_mm| ReadOptions {
        unit_mm: Some(unit_mm),
        ..ReadOptions::default()
    };
    let drawing = svg(file, &options(25.4 / 90.0)).expect("a drawing");
    assert!((crate::figures::length(&drawing) - 25.4).abs() < 1e-12);
    for unit in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matches!(svg(file, &options(unit)), Err(ReadError::UnitOption { .. })));
        assert!(matches!(dxf(b"", &options(unit)), Err(ReadError::UnitOption { .. })));
    }
}

fn limit(result: Result<cullet_drawing::Drawing, ReadError>) -> Limit {
    match result {
        Err(ReadError::Limit { what, .. }) => what,
        other => panic!("{other:?}"),
    }
}

#[test]
fn limits_hold() {
    let with = |limits: Limits| ReadOptions {
        limits,
        unit_mm: Some(1.0),
    };
    let all = Limits::default();
    let file = br#"<svg><g><g><path d="M0 0h1v1h1v1"/></g></g><text>abcdef</text></svg>"#;
    assert!(svg(file, &with(all)).is_ok());
    assert_eq!(limit(svg(file, &with(Limits { bytes: 20, ..all }))), Limit::Bytes);
    assert_eq!(limit(svg(file, &with(Limits { elements: 3, ..all }))), Limit::Elements);
    assert_eq!(limit(svg(file, &with(Limits { depth: 2, ..all }))), Limit::Depth);
    assert_eq!(limit(svg(file, &with(Limits { segments: 3, ..all }))), Limit::Segments);
    assert_eq!(limit(svg(file, &with(Limits { text: 5, ..all }))), Limit::Text);
    let insert = fixtures("dxf", "dxf")
        .into_iter()
        .find(|f| f.ends_with("insert_nested.dxf"))
        .expect("the fixture");
    let file = std::fs::read(insert).expect("a file");
    assert_eq!(limit(dxf(&file, &with(Limits { bytes: 20, ..all }))), Limit::Bytes);
    assert_eq!(limit(dxf(&file, &with(Limits { elements: 3, ..all }))), Limit::Elements);
    assert_eq!(limit(dxf(&file, &with(Limits { depth: 1, ..all }))), Limit::Depth);
    assert_eq!(limit(dxf(&file, &with(Limits { segments: 3, ..all }))), Limit::Segments);
    assert_eq!(limit(dxf(&file, &with(Limits { text: 0, ..all }))), Limit::Text);
}

/// Uses of uses of uses, 2³⁰ rectangles in 3 kB; groups 100 000 deep; an array of 10⁹ blocks.
#[test]
fn bombs_are_refused() {
    assert!(matches!(
        bad("deep_use.svg"),
        ReadError::Limit {
            what: Limit::Elements | Limit::Depth,
            ..
        }
    ));
    let deep = format!("<svg>{}{}</svg>", "<g>".repeat(100_000), "</g>".repeat(100_000));
    assert_eq!(limit(svg(deep.as_bytes(), &ReadOptions::default())), Limit::Depth);
    let entity = format!("<!DOCTYPE svg [<!ENTITY e '{}'>]><svg>&e;</svg>", "<g>".repeat(100_000));
    assert_eq!(limit(svg(entity.as_bytes(), &ReadOptions::default())), Limit::Depth);
    let path = format!(
        "<svg><defs><path id='p' d='{}'/></defs>{}</svg>",
        "M0 0".repeat(100_000),
        "<use href='#p'/>".repeat(1000)
    );
    assert_eq!(limit(svg(path.as_bytes(), &ReadOptions::default())), Limit::Bytes);
    let array = "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nB\n10\n0\n20\n0\n0\nENDBLK\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nINSERT\n2\nB\n10\n0\n20\n0\n70\n32000\n71\n32000\n0\nENDSEC\n0\nEOF\n";
    assert_eq!(limit(dxf(array.as_bytes(), &ReadOptions::default())), Limit::Elements);
}

/// A cartoon of 5000 lines in either format; the reader is to take well under a second.
#[test]
fn five_thousand_lines_are_read() {
    let mut as_svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" viewBox="0 0 1000 1000">"#.to_owned();
    let mut as_dxf = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n".to_owned();
    for i in 0..5000 {
        let (x, y) = (i % 71 * 14, i / 71 * 14);
        writeln!(as_svg, r#"<path id="l{i}" class="lead" d="M{x} {y} l14 9"/>"#).expect("a string");
        write!(
            as_dxf,
            "0\nLINE\n5\n{i:X}\n8\nLEAD\n10\n{x}\n20\n{y}\n11\n{}\n21\n{}\n",
            x + 14,
            y + 9
        )
        .expect("a string");
    }
    as_svg.push_str("</svg>");
    as_dxf.push_str("0\nENDSEC\n0\nEOF\n");
    for (name, file) in [("a.svg", as_svg), ("a.dxf", as_dxf)] {
        let began = std::time::Instant::now();
        let drawing = read(name, file.as_bytes(), &ReadOptions::default()).expect("a drawing");
        assert_eq!(drawing.strokes.len(), 5000);
        assert_eq!(
            drawing.strokes[4999].place.line,
            if name == "a.svg" { 5000 } else { 14 + 4999 * 14 + 2 }
        );
        assert!(began.elapsed().as_secs_f64() < 1.0, "{name}: {:?}", began.elapsed());
    }
}

/// Files put together from what the formats are made of get further in than arbitrary bytes.
fn dxf_like() -> impl Strategy<Value = String> {
    let value = prop_oneof![
        prop::sample::select(vec![
            "SECTION",
            "ENDSEC",
            "ENTITIES",
            "BLOCKS",
            "BLOCK",
            "ENDBLK",
            "HEADER",
            "$INSUNITS",
            "LINE",
            "ARC",
            "CIRCLE",
            "ELLIPSE",
            "SPLINE",
            "LWPOLYLINE",
            "POLYLINE",
            "VERTEX",
            "SEQEND",
            "INSERT",
            "TEXT",
            "MTEXT",
            "EOF",
            "B",
        ])
        .prop_map(str::to_owned),
        (-400.0..400.0f64).prop_map(|v| v.to_string()),
        (0..9i32).prop_map(|v| v.to_string()),
        "\\PC{0,9}",
    ];
    let code = prop::sample::select(vec![
        0, 0, 1, 2, 3, 8, 9, 10, 11, 20, 21, 40, 41, 42, 50, 51, 70, 71, 72, 73, 210, 230,
    ]);
    prop::collection::vec((code, value), 0..60).prop_map(|pairs| {
        pairs.iter().fold(String::new(), |file, (code, value)| {
            file + &format!("{code}\n{value}\n")
        })
    })
}

fn svg_like() -> impl Strategy<Value = String> {
    let number = prop_oneof![
        (-400.0..400.0f64).prop_map(|v| v.to_string()),
        prop::sample::select(vec!["0", "1e300", "-0", "50%", "3mm", "1e-300", ""]).prop_map(str::to_owned)
    ];
    let name = prop::sample::select(vec![
        "x",
        "y",
        "width",
        "height",
        "rx",
        "ry",
        "r",
        "cx",
        "d",
        "points",
        "transform",
        "viewBox",
        "href",
    ]);
    let value = prop_oneof![
        number,
        "[MmLlHhVvCcSsQqTtAaZz0-9 .,-]{0,30}",
        "(translate|rotate|scale|matrix|skewX)\\([0-9 .-]{0,12}\\)",
        "#[ab]"
    ];
    let element = prop::sample::select(vec![
        "g", "path", "rect", "circle", "use", "svg", "polygon", "text", "symbol", "ellipse",
    ]);
    let one = (element, prop::collection::btree_map(name, value, 0..4), prop::bool::ANY);
    prop::collection::vec(one, 0..12).prop_map(|elements| {
        let mut file = "<svg>".to_owned();
        let mut open = vec![];
        for (i, (element, attributes, close)) in elements.into_iter().enumerate() {
            let attributes: String = attributes.iter().map(|(n, v)| format!(" {n}=\"{v}\"")).collect();
            let id = if i % 3 == 0 { " id=\"a\"" } else { "" };
            file += &format!("<{element}{id}{attributes}{}>", if close { "/" } else { "" });
            if !close {
                open.push(element);
            }
        }
        for element in open.iter().rev() {
            file += &format!("</{element}>");
        }
        file + "</svg>"
    })
}

/// Whatever is read is finite and within reach.
fn check(result: Result<cullet_drawing::Drawing, ReadError>) -> Result<(), TestCaseError> {
    match result {
        Ok(drawing) => {
            if let Some(bounds) = crate::figures::bounds(&drawing) {
                prop_assert!(bounds.iter().all(|v| v.is_finite()), "{bounds:?}");
            }
        }
        Err(error) => prop_assert!(!error.findings("a").is_empty()),
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn arbitrary_bytes_do_no_harm(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let options = ReadOptions::default();
        check(read("a", &bytes, &options))?;
        check(svg(&bytes, &options))?;
        check(dxf(&bytes, &options))?;
    }

    #[test]
    fn files_like_dxf_do_no_harm(file in dxf_like()) {
        let wrapped = format!("0\nSECTION\n2\nENTITIES\n{file}0\nENDSEC\n0\nEOF\n");
        let options = ReadOptions { unit_mm: Some(1.0), ..ReadOptions::default() };
        check(dxf(file.as_bytes(), &options))?;
        check(dxf(wrapped.as_bytes(), &options))?;
    }

    #[test]
    fn files_like_svg_do_no_harm(file in svg_like()) {
        check(svg(file.as_bytes(), &ReadOptions::default()))?;
    }
}
