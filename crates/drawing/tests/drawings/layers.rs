//! What layers and classes mean, and what is said of their names.

use crate::{alone, assert_says, cells, drawn, errors, in_job, size, words};
use cullet_drawing::Severity;
use cullet_drawing::settings::CartoonSettings;
use cullet_drawing::settings::Layers;

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
