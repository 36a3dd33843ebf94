use super::*;
use crate::sample::varied;
use cullet_job::{FaceFile, GrainFile};
use cullet_planner::compare::{BevelKind, Run};

fn outcome(name: &str, dearer: f64) -> Outcome {
    let mut plan = varied(GrainFile::None, FaceFile::Show);
    plan.figures.pulled_cost += dearer;
    let run = Run {
        seed: 1,
        cost: plan.figures.pulled_cost,
        credit: plan.figures.returned_credit,
        missing: 0.0,
    };
    Outcome {
        name: name.into(),
        plan,
        runs: vec![run],
        bevels: vec![BevelKind {
            glass: "A".into(),
            width: 12.7,
            nose: 2.5,
            result: (dearer < 5.0).then_some(BevelResult {
                angle_deg: 11.137,
                nose_at_first_angle: 2.5 - dearer,
            }),
        }],
        impossible: vec![],
    }
}

#[test]
fn the_page_is_well_formed_and_names_are_escaped() {
    let outcomes = [
        outcome("as it stands", 0.0),
        outcome("<plain> & \"reeded\"", 0.125),
        outcome("dear", 9.0),
    ];
    let left_out = Finding {
        file: "job.json".into(),
        place: "choice <wide>".into(),
        found: "a drawing that cannot be built so".into(),
        expected: "edges that a score can follow".into(),
        hint: "Try less.".into(),
    };
    let page = page(&outcomes, &[left_out]);
    let document = roxmltree::Document::parse(page.trim_start_matches("<!DOCTYPE html>\n")).unwrap();
    let words: Vec<&str> = document.descendants().filter_map(|n| n.text()).collect();
    assert!(words.iter().any(|w| w.contains("<plain> & \"reeded\"")));
    assert!(words.contains(&"cannot be ground"));
    assert!(
        words
            .iter()
            .any(|w| w.starts_with("Left out: choice <wide>: found a drawing"))
    );
    let commas = csv(&outcomes, Signs::Commas).unwrap();
    assert!(commas.starts_with("\u{feff}choice;net_cost;"), "{commas}");
    assert!(commas.lines().skip(1).all(|line| line.contains(',')), "{commas}");
    assert!(!page.contains("NaN") && !page.contains("<script"));
}

/// 0.125 is shown as the difference of what is shown, not rounded by itself.
#[test]
fn differences_are_those_of_what_is_shown() {
    let outcomes = [outcome("as it stands", 0.0), outcome("other", 0.125)];
    let all = measures(&outcomes);
    let cents = |text: &str| (text.parse::<f64>().unwrap() * 100.0).round() as i64;
    let net = &all[0].cells;
    assert_eq!(cents(&net[1].1), cents(&net[1].0) - cents(&net[0].0));
    let nose = all.iter().find(|m| m.name.ends_with("nose at A's angle")).unwrap();
    assert_eq!(nose.cells[1], ("2.38".to_owned(), "-0.12".to_owned()));
    assert!(text(&outcomes, &[]).contains("B (other) comes to"));
}

#[test]
fn a_figure_that_is_not_a_number_is_refused() {
    assert!(csv(&[outcome("as it stands", f64::NAN)], Signs::Points).is_err());
}

#[test]
fn letters_go_on_after_z() {
    assert_eq!([letter(0), letter(25), letter(26)], ["A", "Z", "A2"]);
}
