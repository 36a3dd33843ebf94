//! Drawings as people make and save them, from the file to the cartoon: what is the panel, what layers mean, how large it is,
//! what is left out. The files of general programs are in `fixtures/drawings/programs`.

mod layers;
mod programs;
mod sizes;

use cullet_drawing::cartoon::{self, Cartoon};
use cullet_drawing::settings::{CartoonSettings, Part};
use cullet_drawing::{Severity, expand, read};
use cullet_job::{DrawingFile, Units};
use proptest::prelude::*;
use std::path::Path;

/// Read without a job: any word may be a glass.
fn alone() -> CartoonSettings {
    let mut settings = expand::settings(&DrawingFile::default(), 1.0, &[]);
    settings.any_glass = true;
    settings
}

/// Read as a job does that gives the drawing nothing but its glasses.
fn in_job(glasses: &[&str]) -> CartoonSettings {
    let glasses: Vec<String> = glasses.iter().map(|code| (*code).to_owned()).collect();
    let drawing = DrawingFile {
        glass: glasses.first().cloned(),
        ..DrawingFile::default()
    };
    expand::settings(&drawing, 1.0, &glasses)
}

fn read_with(name: &str, bytes: &[u8], unit_mm: Option<f64>, settings: &CartoonSettings) -> Cartoon {
    let options = read::ReadOptions {
        unit_mm,
        ..read::ReadOptions::default()
    };
    let drawing = read::read(name, bytes, &options).unwrap_or_else(|e| panic!("{name}: {e}"));
    cartoon::read(&drawing, settings)
}

/// A drawing of 1 unit = 1 mm.
fn drawn(content: &str, settings: &CartoonSettings) -> Cartoon {
    let file = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='1000mm' height='1000mm' viewBox='0 0 1000 1000'>{content}</svg>"
    );
    read_with("drawing.svg", file.as_bytes(), None, settings)
}

fn by_program(name: &str) -> (String, Vec<u8>) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../fixtures/drawings/programs")
        .join(name);
    let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    (name.to_owned(), bytes)
}

fn words(cartoon: &Cartoon, severity: Severity) -> Vec<String> {
    let found = cartoon.findings.iter().filter(|f| f.severity == severity);
    found
        .map(|f| f.in_words("x", cartoon.bounds.0, Units::Millimetres).to_string())
        .collect()
}

fn errors(cartoon: &Cartoon) -> Vec<String> {
    words(cartoon, Severity::Error)
}

#[track_caller]
fn assert_says(found: &[String], words: &[&str]) {
    let says = found.iter().any(|text| words.iter().all(|word| text.contains(word)));
    assert!(says, "no finding with {words:?} among {found:#?}");
}

fn size(cartoon: &Cartoon) -> (f64, f64) {
    let (low, high) = cartoon.bounds;
    (high.x - low.x, high.y - low.y)
}

/// Number, glass and area of each cell, by number.
fn cells(cartoon: &Cartoon) -> Vec<(String, String, f64)> {
    let mut cells: Vec<(String, String, f64)> = cartoon
        .cells
        .iter()
        .map(|cell| (cell.number.clone(), cell.glass.clone().unwrap_or_default(), cell.area))
        .collect();
    cells.sort_by(|a, b| a.0.cmp(&b.0));
    cells
}

/// Two panels and a title block on one sheet of paper.
const SHEET: &str = "<g id='left'><rect x='20' y='20' width='200' height='300'/><path d='M 20 150 H 220'/></g>
    <g id='right'><rect x='300' y='20' width='180' height='300'/></g><text x='340' y='100'>7 R</text>
    <g id='title'><rect x='300' y='400' width='180' height='50'/><text x='310' y='420'>Job 12 A</text></g>";

#[test]
fn parts_are_told_apart_by_layer_and_by_frame() {
    let read_part = |part: Part| drawn(SHEET, &CartoonSettings { part, ..alone() });
    let found = errors(&read_part(Part::default()));
    assert_says(
        &found,
        &[
            "3 parts",
            "1: 200.0 × 300.0 mm, 2 lines on left; 2: 180.0 × 300.0 mm, 1 line on right; 3: 180.0 × 50.0",
        ],
    );
    let layer = read_part(Part {
        layer: Some("RIGHT".into()),
        ..Part::default()
    });
    assert_eq!(
        (errors(&layer), cells(&layer)),
        (vec![], vec![("7".into(), "R".into(), 54_000.0)])
    );
    // The title block is not one of the panels that were told apart by a layer, nor is it the one that was meant.
    let frame = |n| {
        read_part(Part {
            frame: Some(n),
            ..Part::default()
        })
    };
    assert_eq!((errors(&frame(2)), cells(&frame(2)).len()), (vec![], 1));
    assert_eq!(cells(&frame(1)).len(), 2);
    assert_says(&errors(&frame(4)), &["no part 4", "there are 3"]);
    let none = read_part(Part {
        layer: Some("middle".into()),
        ..Part::default()
    });
    assert_says(
        &errors(&none),
        &["no layer, group or class \"middle\"", "There are: left, right, title."],
    );
}

/// SVG 2, 13: a shape without a word about it is filled, and has no stroke.
#[test]
fn what_nobody_sees_is_no_lead() {
    let frame = "<rect width='200' height='300' stroke='#000'/>";
    let line = |paint: &str| drawn(&format!("{frame}<path {paint} d='M 0 150 H 200'/>"), &alone());
    let unseen = [
        ("fill='none'", "with neither fill nor stroke"),
        ("fill='none' stroke='none'", "with neither fill nor stroke"),
        (
            "style='fill:none;stroke:#000;stroke-opacity:0'",
            "with neither fill nor stroke",
        ),
        (
            "style='fill:transparent;stroke:rgba(0, 0, 0, 0)'",
            "with neither fill nor stroke",
        ),
        (
            "fill='none' stroke='#000' stroke-width='0'",
            "with neither fill nor stroke",
        ),
        ("stroke='#000' opacity='0'", "wholly transparent"),
        ("style='stroke:#000;display:none'", "hidden"),
        ("stroke='#000' visibility='hidden'", "hidden"),
    ];
    for (paint, why) in unseen {
        let cartoon = line(paint);
        assert_eq!((errors(&cartoon), cartoon.cells.len()), (vec![], 1), "{paint}");
        let why = format!("1 line or text that nobody sees: 1 {why} (line 1)");
        assert_says(&words(&cartoon, Severity::Warning), &[&why]);
    }
    for seen in [
        "",
        "fill='none' stroke='#000'",
        "style='fill:none;stroke:#f00;opacity:0.2'",
        "fill='none' stroke='rgb(0,0,0)'",
    ] {
        let cartoon = line(seen);
        assert_eq!(
            (cartoon.cells.len(), words(&cartoon, Severity::Warning)),
            (2, vec![]),
            "{seen}"
        );
    }
    // Inherited, from a style sheet, and with a rule that is not applied and might paint it.
    let styled = |css: &str| {
        let line = "<g class='a' fill='none'><path d='M 0 150 H 200'/></g>";
        drawn(&format!("<style>{css}</style>{frame}{line}"), &alone())
            .cells
            .len()
    };
    assert_eq!(
        (styled(""), styled(".a{stroke:#000}"), styled(".a > path{stroke:#000}")),
        (1, 2, 2)
    );
    let group = drawn(
        &format!("{frame}<g opacity='0'><path d='M 0 9 H 200'/><text x='9' y='9'>1 X</text><g id='deep'/></g>"),
        &alone(),
    );
    assert_says(
        &words(&group, Severity::Warning),
        &["2 lines and texts that nobody sees: 2 wholly transparent"],
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Panels in rows on one sheet of paper: each is found by its number, and one on the border layer by itself.
    #[test]
    fn panels_on_one_sheet_are_told_apart(
        sizes in prop::collection::vec((60.0_f64..140.0, 60.0_f64..140.0), 2..12),
        across in 1_usize..5,
        which in any::<prop::sample::Index>(),
    ) {
        let which = which.index(sizes.len());
        let panel = |i: usize, class: &str| {
            let (w, h) = sizes[i];
            let (x, y) = (200.0 * (i % across) as f64, 200.0 * (i / across) as f64);
            // A bar through the middle, and a title that stands below the panel.
            format!(
                "<rect {class} x='{x}' y='{y}' width='{w}' height='{h}'/><path d='M {x} {m} h {w}'/><text x='{x}' y='{t}'>A</text>",
                m = y + h / 2.0,
                t = y + h + 9.0,
            )
        };
        let file = |border: bool| -> String {
            let class = |i: usize| if border && i == which { "class='border'" } else { "" };
            (0..sizes.len()).map(|i| panel(i, class(i))).collect()
        };
        let by_number = drawn(&file(false), &CartoonSettings { part: Part { frame: Some(which + 1), ..Part::default() }, ..alone() });
        let by_border = drawn(&file(true), &alone());
        for cartoon in [by_number, by_border] {
            prop_assert!(errors(&cartoon).is_empty(), "{:#?}", errors(&cartoon));
            let (w, h) = sizes[which];
            let (found_w, found_h) = size(&cartoon);
            prop_assert!((found_w - w).abs() < 1e-6 && (found_h - h).abs() < 1e-6);
            prop_assert_eq!(cartoon.cells.len(), 2);
        }
        // Without a word about it all of them are named.
        let asked = errors(&drawn(&file(false), &alone()));
        let named = format!("{} parts that are not connected", sizes.len());
        prop_assert!(asked.iter().any(|text| text.contains(&named)), "{asked:#?}");
    }
}
