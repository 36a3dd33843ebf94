//! How large a drawing is: what the file says, what is asked.

use crate::{alone, assert_says, by_program, drawn, errors, read_with, size, words};
use cullet_drawing::Severity;
use cullet_drawing::settings::CartoonSettings;

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
