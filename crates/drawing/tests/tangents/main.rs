//! Circles, arcs and splines that touch lines, arcs and each other, exactly and nearly: no false finding, and finished
//! outlines as promised. `CULLET_TANGENTS=10000` for as many random panels, `CULLET_SEED=8` for others.

mod panel;
#[path = "../shared/mod.rs"]
mod shared;

use cullet_drawing::cartoon::{self, Cartoon};
use cullet_drawing::settings::CartoonSettings;
use panel::{base, drawn, element};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

/// Findings that such a drawing cannot give rise to: nothing in it has an inside corner, ends in the open or lies on another.
fn false_findings(cartoon: &Cartoon) -> Vec<&str> {
    const NEVER: [&str; 5] = [
        "inside corner",
        "open glass",
        "a gap",
        "runs",
        "two lines on top of each other",
    ];
    let said = cartoon.findings.iter().map(|finding| finding.found.as_str());
    said.filter(|said| NEVER.iter().any(|never| said.contains(never)))
        .collect()
}

fn said_twice(cartoon: &Cartoon) -> bool {
    let kind = |text: &str| text.chars().filter(|c| c.is_alphabetic()).collect::<String>();
    let mut said: Vec<_> = cartoon
        .findings
        .iter()
        .map(|f| (f.piece.clone(), f.severity, kind(&f.found)))
        .collect();
    said.sort();
    said.windows(2).any(|pair| pair[0].0.is_some() && pair[0] == pair[1])
}

#[test]
fn tangent_curves_are_read_without_a_false_finding() {
    let asked = |name: &str| std::env::var(name).ok().and_then(|n| n.parse::<u32>().ok());
    let cases = asked("CULLET_TANGENTS").unwrap_or(200);
    let seed = asked("CULLET_SEED").unwrap_or(7);
    let mut bytes = [0; 32];
    bytes[..4].copy_from_slice(&seed.to_le_bytes());
    let random = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
    let mut runner = TestRunner::new_with_rng(ProptestConfig::with_cases(cases), random);
    let panels = (base(), prop::collection::vec(element(), 1..7));
    let result = runner.run(&panels, |(base, elements)| {
        let settings = CartoonSettings {
            any_glass: true,
            ..CartoonSettings::default()
        };
        let drawing = drawn(base, &elements);
        let cartoon = cartoon::read(&drawing, &settings);
        let wrong = false_findings(&cartoon);
        let segments = || {
            drawing
                .strokes
                .iter()
                .map(|s| format!("{:?}", s.segments))
                .collect::<Vec<_>>()
                .join("\n")
        };
        prop_assert!(wrong.is_empty(), "{wrong:?} in\n{}", segments());
        prop_assert!(
            !said_twice(&cartoon),
            "{:?}",
            cartoon
                .findings
                .iter()
                .map(|f| (f.piece.clone(), f.found.clone()))
                .collect::<Vec<_>>()
        );
        for cell in &cartoon.cells {
            let said = |what: &str| {
                let of_it = cartoon
                    .findings
                    .iter()
                    .filter(|f| f.piece.as_deref() == Some(cell.number.as_str()));
                of_it.into_iter().any(|f| f.found.contains(what))
            };
            if said("surrounds others") {
                continue;
            }
            let faults = shared::faults(cell, said("that the leads split into"));
            prop_assert!(
                faults.is_empty(),
                "piece {}: {faults:?} in\n{}",
                cell.number,
                segments()
            );
        }
        Ok(())
    });
    if let Err(error) = result {
        panic!("CULLET_SEED={seed}: {error}");
    }
}
