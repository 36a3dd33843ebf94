//! Files that general programs saved.

use crate::{alone, assert_says, by_program, cells, drawn, errors, in_job, read_with, size, words};
use cullet_drawing::Severity;
use cullet_drawing::cartoon::Cartoon;
use cullet_drawing::read;
use cullet_drawing::settings::CartoonSettings;
use cullet_drawing::settings::Layers;
use cullet_drawing::settings::Part;

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
