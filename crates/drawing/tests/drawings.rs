//! Drawings as people make and save them, from the file to the cartoon: what is the panel, what layers mean, how large it is,
//! what is left out. The files of general programs are in `fixtures/drawings/programs`.

use cullet_drawing::cartoon::{self, Cartoon};
use cullet_drawing::settings::{CartoonSettings, Layers, Part};
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

/// The cartoon of the programs' files: 400 × 300, a bar 120 up with a half round of radius 80 below, a wave and a mullion above.
fn assert_is_the_cartoon(name: &str, cartoon: &Cartoon) {
    let (width, height) = size(cartoon);
    assert!(
        (width - 400.0).abs() < 1e-3 && (height - 300.0).abs() < 1e-3,
        "{name}: {width} × {height}"
    );
    let half_round = std::f64::consts::PI * 3200.0;
    // Above and below the wave, which is as much above its chord as below; beside the mullion; the half round; round it.
    let want = [18_000.0, 18_000.0, 36_000.0, half_round, 48_000.0 - half_round];
    let found = cells(cartoon);
    assert_eq!(found.len(), want.len(), "{name}: {found:?}");
    for ((number, _, area), want) in found.iter().zip(want) {
        // Programs turn arcs into cubics, off by up to 2.7e-4 of the radius.
        assert!(
            (area - want).abs() < 30.0,
            "{name}: piece {number} of {area}, not {want}"
        );
    }
    let grain: Vec<f64> = cartoon.cells.iter().filter_map(|cell| cell.grain).collect();
    assert_eq!(grain, [90.0], "{name}");
}

#[test]
fn a_drawing_program_s_own_file_is_read_alone_and_in_a_job() {
    let (name, bytes) = by_program("by_inkscape.svg");
    for settings in [alone(), in_job(&["REED", "CLEAR6"])] {
        let cartoon = read_with(&name, &bytes, None, &settings);
        assert_eq!(errors(&cartoon), [""; 0]);
        assert_is_the_cartoon(&name, &cartoon);
        let glasses: Vec<String> = cells(&cartoon).into_iter().map(|(_, glass, _)| glass).collect();
        assert_eq!(glasses, ["REED", "CLEAR6", "CLEAR6", "CLEAR6", "REED"]);
        let warnings = words(&cartoon, Severity::Warning);
        assert_says(
            &warnings,
            &["is not connected to the panel, 140.0 × 60.0 mm, 2 lines on notes"],
        );
        assert_says(&warnings, &["1 line or text that nobody sees: 1 hidden (line 110)"]);
    }
}

/// LibreCAD keeps which layers do not print but in R12, and the unit but in R12 and R14.
#[test]
fn a_cad_program_s_own_files_are_read_in_every_version() {
    for version in ["2007", "2000", "r14", "r12"] {
        let (name, bytes) = by_program(&format!("by_librecad_{version}.dxf"));
        let is_old = version == "r12";
        let settings = match is_old {
            // The layer that was not printed is an ordinary one in R12.
            true => CartoonSettings {
                layers: Layers {
                    ignore: vec!["sketch".into()],
                    ..Layers::default()
                },
                ..alone()
            },
            false => alone(),
        };
        let has_unit = version.starts_with('2');
        if !has_unit {
            let unstated = read::read(&name, &bytes, &read::ReadOptions::default()).expect_err("no unit");
            assert!(
                unstated.finding(&name).hint.contains("560 × 360 mm if in mm"),
                "{unstated}"
            );
        }
        let cartoon = read_with(&name, &bytes, (!has_unit).then_some(1.0), &settings);
        assert_eq!(errors(&cartoon), [""; 0], "{name}");
        assert_is_the_cartoon(&name, &cartoon);
        let warnings = words(&cartoon, Severity::Warning);
        assert_says(&warnings, &["is not connected to the panel, 140.0 × 60.0 mm"]);
        assert_says(&warnings, &["on the layer D", ", which does not print"]);
        if !is_old {
            assert_says(
                &warnings,
                &[
                    "2 lines and texts that nobody sees",
                    "on the layer sketch, which does not print",
                ],
            );
        }
    }
}

/// Plain SVG keeps no layer's name: what is meant is asked for, and can be said.
#[test]
fn a_file_without_its_layers_asks_which_part_is_the_panel() {
    let (name, bytes) = by_program("by_inkscape_plain.svg");
    let cartoon = read_with(&name, &bytes, None, &alone());
    assert_says(
        &errors(&cartoon),
        &[
            "2 parts that are not connected (1: 400.0 × 300.0 mm, 5 lines on layer1, layer2; 2: 140.0 × 60.0 mm",
            "\"frame\": 1",
        ],
    );
    assert_says(&errors(&cartoon), &["a line that ends in open glass", "layer layer3"]);
    let said = CartoonSettings {
        part: Part {
            frame: Some(1),
            ..Part::default()
        },
        layers: Layers {
            grain: vec!["layer3".into()],
            ..Layers::default()
        },
        ..alone()
    };
    let cartoon = read_with(&name, &bytes, None, &said);
    assert_eq!(errors(&cartoon), [""; 0]);
    assert_is_the_cartoon(&name, &cartoon);
}

/// Inkscape's DXF (R14) keeps layers and the unit, and loses what is hidden and all texts.
#[test]
fn a_drawing_program_s_dxf_is_read() {
    let (name, bytes) = by_program("by_inkscape_r14.dxf");
    let cartoon = read_with(&name, &bytes, None, &alone());
    assert_says(&errors(&cartoon), &["a line that ends in open glass", "layer sketch"]);
    let said = CartoonSettings {
        layers: Layers {
            ignore: vec!["SKETCH".into()],
            ..Layers::default()
        },
        ..alone()
    };
    let cartoon = read_with(&name, &bytes, None, &said);
    assert_eq!(errors(&cartoon), [""; 0]);
    assert_eq!((cartoon.cells.len(), size(&cartoon)), (5, (400.0, 300.0)));
}

#[test]
fn outlined_texts_and_strokes_are_called_so() {
    let (name, bytes) = by_program("by_inkscape_text_outlined.svg");
    let cartoon = read_with(&name, &bytes, None, &alone());
    assert_eq!((errors(&cartoon), cartoon.cells.len()), (vec![], 5));
    assert_says(
        &words(&cartoon, Severity::Warning),
        &["a layer of texts", "If text was turned into outlines"],
    );
    let (name, bytes) = by_program("by_inkscape_strokes_outlined.svg");
    let found = errors(&read_with(&name, &bytes, None, &alone()));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_says(
        &found,
        &[
            "5 closed shapes as narrow as a line, about 0.6 mm",
            "strokes were turned into outlines",
        ],
    );
    // Letters on no layer of their own: areas of colour are left out, lines might be meant as glass.
    let letters = |paint: &str| {
        let glyphs: String = (0..5)
            .map(|i| format!("<path d='M {} 50 h 6 v 9 h -6 z'/>", 40 + 10 * i))
            .collect();
        drawn(
            &format!("<rect width='200' height='300' fill='none' stroke='#000'/><g {paint}>{glyphs}</g>"),
            &alone(),
        )
    };
    let filled = letters("fill='#000' stroke='none'");
    assert_eq!((errors(&filled), filled.cells.len()), (vec![], 1));
    assert_says(
        &words(&filled, Severity::Warning),
        &["5 closed shapes that are connected to nothing, 9.0 mm or less"],
    );
    let found = errors(&letters("fill='none' stroke='#000'"));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_says(&found, &["5 closed shapes", "text was turned into outlines"]);
    // One shape of glass that no lead line leads to is what it was.
    let one = drawn(
        "<rect width='200' height='300'/><circle cx='100' cy='100' r='15'/>",
        &alone(),
    );
    assert_says(&errors(&one), &["surrounds others", "frame of the page"]);
}

#[test]
fn flowed_text_is_called_so() {
    let (name, bytes) = by_program("by_inkscape_flowed.svg");
    let cartoon = read_with(&name, &bytes, None, &alone());
    // The new form stands where it is, the old one does not.
    assert_eq!(cells(&cartoon)[0].1, "REED");
    assert_says(
        &words(&cartoon, Severity::Warning),
        &["flowRoot, line 51", "flowed text", "plain text"],
    );
}

#[test]
fn pages_tell_panels_apart() {
    let (name, bytes) = by_program("by_inkscape_pages.svg");
    let read_part = |part: Part| read_with(&name, &bytes, None, &CartoonSettings { part, ..alone() });
    let page = |page: &str| Part {
        page: Some(page.into()),
        ..Part::default()
    };
    let both = read_part(Part::default());
    assert_says(
        &errors(&both),
        &["2 parts", "1: 260.0 × 160.0 mm", "2: 250.0 × 150.0 mm"],
    );
    for (name, want) in [("1", (260.0, 160.0)), ("Door", (250.0, 150.0)), ("2", (250.0, 150.0))] {
        let cartoon = read_part(page(name));
        assert_eq!(
            (errors(&cartoon), words(&cartoon, Severity::Warning)),
            (vec![], vec![]),
            "page {name}"
        );
        assert!(
            (size(&cartoon).0 - want.0).abs() < 1e-9 && (size(&cartoon).1 - want.1).abs() < 1e-9,
            "page {name}"
        );
    }
    assert_says(
        &errors(&read_part(page("attic"))),
        &["no page \"attic\"", "The pages are: 1, door."],
    );
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

#[test]
fn the_border_layer_says_what_the_panel_is() {
    let panel = "<g id='border'><rect x='50' y='50' width='200' height='300'/></g><path d='M 50 200 H 250'/>";
    let frame = "<rect x='5' y='5' width='990' height='990'/><path d='M 5 900 H 995'/><text x='30' y='950'>12 A</text>";
    // A page frame round it, a legend beside it, lines that lead nowhere.
    let cartoon = drawn(&format!("{frame}{panel}<path d='M 600 600 h 40'/>"), &alone());
    assert_eq!(
        (errors(&cartoon), cartoon.cells.len(), size(&cartoon)),
        (vec![], 2, (200.0, 300.0))
    );
    let warnings = words(&cartoon, Severity::Warning);
    assert_says(
        &warnings,
        &["a part that is not connected to the panel, 990.0 × 990.0 mm"],
    );
    assert_says(&warnings, &["outside the panel 1 line, connected"]);
    assert_says(&warnings, &["a text beside the panel (\"12 A\")"]);
    // A white sheet of paper behind it is no glass, wherever the border is.
    let paper = "<rect width='1000' height='1000' fill='#fff'/>";
    let plain = drawn(
        &format!("{paper}<rect x='50' y='50' width='200' height='300' fill='none' stroke='#000'/>"),
        &alone(),
    );
    assert_eq!(
        (errors(&plain), plain.cells.len(), size(&plain)),
        (vec![], 1, (200.0, 300.0))
    );
    assert_says(
        &words(&plain, Severity::Warning),
        &["an area of colour behind the panel, 1000.0 × 1000.0 mm"],
    );
    // A gap wider than the tolerance does not make two panels of one: it is named as it was.
    let gap = drawn(
        "<path d='M 50 50 H 250 V 350'/><path d='M 247.5 350 H 50 V 50'/>",
        &alone(),
    );
    assert_says(&errors(&gap), &["a gap of 2.50 mm"]);
}

/// The README's own form of job: a file and a glass.
#[test]
fn layers_mean_what_they_say_unless_the_job_says_otherwise() {
    let content = "<g id='Border'><rect width='200' height='300'/></g>
        <g id='lead'><path d='M 0 150 H 200'/></g><g id='Grain'><path d='M 50 20 V 60'/></g>
        <g id='ignore'><path d='M 0 0 L 90 90'/></g><g id='text'><path d='M 20 100 h 30'/><text x='50' y='80'>1</text></g>
        <text x='50' y='200'>2</text>";
    let alone = drawn(content, &alone());
    let job = drawn(content, &in_job(&["R"]));
    for cartoon in [&alone, &job] {
        assert_eq!(errors(cartoon), [""; 0]);
        let grain: Vec<Option<f64>> = cartoon.cells.iter().map(|cell| cell.grain).collect();
        assert_eq!(
            (cartoon.cells.len(), grain.contains(&Some(270.0))),
            (2, true),
            "{grain:?}"
        );
        assert_says(
            &words(cartoon, Severity::Warning),
            &["1 line on text, a layer of texts"],
        );
    }
    // Said otherwise: a layer called grain that carries lead lines.
    let lead = CartoonSettings {
        layers: Layers {
            lead: vec!["lead".into(), "grain".into()],
            ..Layers::default()
        },
        ..in_job(&["R"])
    };
    assert_says(
        &errors(&drawn(content, &lead)),
        &["a line that ends in open glass", "layer Grain"],
    );
}

#[test]
fn lines_beside_a_layer_called_lead_are_said_to_count() {
    let content = "<g id='lead'><rect width='200' height='300'/></g><g id='bars'><path d='M 0 150 H 200'/></g>";
    let cartoon = drawn(content, &alone());
    assert_eq!((errors(&cartoon), cartoon.cells.len()), (vec![], 2));
    assert_says(
        &words(&cartoon, Severity::Warning),
        &["1 line on bars beside the layer lead"],
    );
}

/// The demo's codes have digits in them.
#[test]
fn glasses_with_digits_are_told_from_numbers_without_a_job() {
    let grid = "<rect width='400' height='300'/><path d='M 200 0 V 300 M 0 150 H 400'/>";
    let check = |texts: [&str; 4], want: [(&str, &str); 4]| {
        let places = [(50, 50), (250, 50), (50, 200), (250, 200)];
        let texts: String = std::iter::zip(places, texts)
            .map(|((x, y), text)| format!("<text x='{x}' y='{y}'>{text}</text>"))
            .collect();
        let found: Vec<(String, String)> = cells(&drawn(&format!("{grid}{texts}"), &alone()))
            .into_iter()
            .map(|(number, glass, _)| (number, glass))
            .collect();
        assert_eq!(found, want.map(|(number, glass)| (number.to_owned(), glass.to_owned())));
    };
    check(
        ["1 CLEAR6", "2 CLEAR6", "3 W96", "4 R"],
        [("1", "CLEAR6"), ("2", "CLEAR6"), ("3", "W96"), ("4", "R")],
    );
    check(
        ["T1 G3", "T2 G3", "T3 G3", "T4"],
        [("T1", "G3"), ("T2", "G3"), ("T3", "G3"), ("T4", "")],
    );
    check(["12a", "T7", "3", "4"], [("12a", ""), ("3", ""), ("4", ""), ("T7", "")]);
}

#[test]
fn names_of_layers_that_match_nothing_are_found() {
    let content =
        "<g id='lead'><rect width='200' height='300'/></g><g id='grain'><path d='M 50 20 V 60'/></g><g id='off'/>";
    let named = |layers: Layers| {
        let cartoon = drawn(content, &CartoonSettings { layers, ..alone() });
        (errors(&cartoon), words(&cartoon, Severity::Warning))
    };
    let (found, _) = named(Layers {
        lead: vec!["leads".into()],
        ..Layers::default()
    });
    assert_says(
        &found,
        &[
            "layers, lead: found no layer, group or class \"leads\"",
            "Did you mean \"lead\"? There are: grain, lead.",
        ],
    );
    // An empty layer is there; one that would be left out need not be, unless it is misspelt.
    let (found, warned) = named(Layers {
        text: vec!["OFF".into()],
        ignore: vec!["notes".into(), "grains".into()],
        ..Layers::default()
    });
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_says(&found, &["\"grains\"", "Did you mean \"grain\"?"]);
    assert_says(&warned, &["\"notes\""]);
}

#[test]
fn an_open_end_names_its_layer() {
    let cartoon = drawn(
        "<rect width='200' height='300'/><g id='notes'><path d='M 0 100 H 90'/></g>",
        &alone(),
    );
    assert_says(
        &errors(&cartoon),
        &["path, line 1, layer notes: found a line that ends in open glass"],
    );
    let cartoon = drawn(
        "<rect width='200' height='300'/><path class='thin' d='M 0 100 H 90'/>",
        &alone(),
    );
    assert_says(&errors(&cartoon), &["path, line 1, class thin"]);
}

/// 96 px to the inch are CSS's (CSS Values 3); 90 and 72 are those of programs.
#[test]
fn a_size_in_pixels_is_asked_about_with_every_reading() {
    let (name, bytes) = by_program("by_inkscape_pixels.svg");
    let found = errors(&read_with(&name, &bytes, None, &alone()));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert_says(
        &found,
        &[
            "no true size, pixels alone (width=\"400\" height=\"600\")",
            "105.8 × 158.8 mm at 96 to the inch (0.264583)",
            "112.9 × 169.3 mm at 90 to the inch (0.282222)",
            "141.1 × 211.7 mm at 72 to the inch (0.352778)",
            "400.0 × 600.0 mm at 1 mm to the unit (1)",
        ],
    );
    let right = read_with(&name, &bytes, Some(1.0), &alone());
    assert_eq!((errors(&right), size(&right)), (vec![], (400.0, 600.0)));
    // Each number gives the size behind which it stands.
    let ninety = read_with(&name, &bytes, Some(0.282222), &alone());
    assert!((size(&ninety).0 - 400.0 * 25.4 / 90.0).abs() < 1e-3 && errors(&ninety).is_empty());
    // Where the size is stated the reading that gives it is marked.
    let stated = CartoonSettings {
        size: Some([400.0, 600.0]),
        ..alone()
    };
    assert_says(
        &errors(&read_with(&name, &bytes, None, &stated)),
        &["(1, the size stated)"],
    );
}

#[test]
fn a_program_that_counted_otherwise_is_believed() {
    let check = |root: &str, word: Option<&str>| {
        let file = format!(
            "{root} xmlns='http://www.w3.org/2000/svg' xmlns:inkscape='http://www.inkscape.org/namespaces/inkscape'>\
             <rect width='800' height='900'/></svg>"
        );
        let found = errors(&read_with("a.svg", file.as_bytes(), None, &alone()));
        match word {
            Some(word) => assert_says(&found, &["no true size", word]),
            None => assert_eq!(found, [""; 0], "{root}"),
        }
    };
    let ninety = "The program that saved the file counts 90 to the inch.";
    check(
        "<svg inkscape:version='0.48.4 r9939' width='744.09' height='1052.36'",
        Some(ninety),
    );
    // mm without a viewBox: the coordinates are pixels of the program's own.
    check(
        "<svg inkscape:version='0.91 r13725' width='210mm' height='297mm'",
        Some("no viewBox"),
    );
    check(
        "<svg inkscape:version='0.91 r13725' width='210mm' height='297mm' viewBox='0 0 744.09 1052.36'",
        None,
    );
    check("<svg inkscape:version='1.2.2' width='210mm' height='297mm'", None);
    let comment =
        "<!-- Generator: Adobe Illustrator 19.0.0 --><svg width='595.28px' height='841.89px' viewBox='0 0 800 900'";
    check(comment, Some("counts 72 to the inch"));
    check("<svg viewBox='0 0 800 900'", Some("neither width nor height"));
    check(
        "<svg width='100%' height='100%' viewBox='0 0 800 900'",
        Some("width=\"100%\""),
    );
}

#[test]
fn a_stated_size_is_checked() {
    let panel = "<rect width='400' height='600'/>";
    let with_size = |size: [f64; 2]| {
        errors(&drawn(
            panel,
            &CartoonSettings {
                size: Some(size),
                ..alone()
            },
        ))
    };
    assert_eq!(with_size([400.5, 599.5]), [""; 0]);
    assert_says(
        &with_size([4000.0, 6000.0]),
        &[
            "a panel of 400.0 × 600.0 mm",
            "4000.0 × 6000.0 mm, as",
            "\"unit_mm\": 10.",
        ],
    );
    assert_says(&with_size([600.0, 400.0]), &["turn the two round"]);
    assert_says(&with_size([410.0, 600.0]), &["correct the size"]);
}

#[test]
fn sizes_that_no_panel_has_get_a_word() {
    let check = |content: &str, unit: f64, words_: &[&str]| {
        let file = format!("<svg width='100mm' height='100mm' viewBox='0 0 100 100'>{content}</svg>");
        let cartoon = read_with("a.svg", file.as_bytes(), Some(unit), &alone());
        let said: Vec<String> = words(&cartoon, Severity::Warning)
            .into_iter()
            .filter(|w| w.contains("full size"))
            .collect();
        match words_ {
            [] => assert_eq!(said, [""; 0]),
            words_ => assert_says(&said, words_),
        }
    };
    check(
        "<rect width='40' height='60'/>",
        1.0,
        &[
            "40.0 × 60.0 mm",
            "1 : 10",
            "400.0 × 600.0 mm with \"unit_mm\": 10, or 1016.0 × 1524.0 mm with \"unit_mm\": 25.4 in",
        ],
    );
    check(
        "<rect width='40' height='60'/>",
        100.0,
        &[
            "4000.0 × 6000.0 mm",
            "ten times too large",
            "400.0 × 600.0 mm with \"unit_mm\": 10, or",
        ],
    );
    check("<rect width='40' height='60'/>", 10.0, &[]);
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
