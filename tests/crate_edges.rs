//! Which crate must not know which: read from the manifests, so that a wrong dependency fails here and not in a review.

use cullet_tests::Checked;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// Each crate of the product, and all of ours that it may depend on. The data goes one way: nothing to the left knows
/// anything to its right.
const MAY_KNOW: &[(&str, &[&str])] = &[
    ("cullet-geometry", &[]),
    ("cullet-findings", &[]),
    // Numbers with their sources, and nothing else.
    ("cullet-trade", &[]),
    ("cullet-list", &["cullet-findings"]),
    ("cullet-breakout", &["cullet-geometry", "cullet-trade"]),
    // Two searches in one frame; neither knows the other.
    ("cullet-search", &["cullet-geometry"]),
    ("cullet-nest", &["cullet-geometry", "cullet-search"]),
    (
        "cullet-guillotine",
        &["cullet-geometry", "cullet-search", "cullet-breakout"],
    ),
    (
        "cullet-job",
        &["cullet-geometry", "cullet-trade", "cullet-findings", "cullet-list"],
    ),
    ("cullet-drawing", &["cullet-geometry", "cullet-trade", "cullet-job"]),
    ("cullet-rack", &["cullet-geometry", "cullet-list", "cullet-job"]),
    (
        "cullet-model",
        &[
            "cullet-geometry",
            "cullet-trade",
            "cullet-breakout",
            "cullet-job",
            "cullet-rack",
        ],
    ),
    // The verifier shares nothing with the search: neither the offsets and booleans nor the rules of breaking.
    (
        "cullet-verify",
        &["cullet-geometry", "cullet-job", "cullet-rack", "cullet-model"],
    ),
    (
        "cullet-planner",
        &[
            "cullet-geometry",
            "cullet-search",
            "cullet-nest",
            "cullet-guillotine",
            "cullet-breakout",
            "cullet-job",
            "cullet-rack",
            "cullet-model",
            "cullet-verify",
        ],
    ),
    ("cullet-scorepath", &["cullet-geometry", "cullet-breakout"]),
    ("cullet-table", &["cullet-geometry", "cullet-job", "cullet-scorepath"]),
    // What reads table files back shares nothing with what writes them.
    (
        "cullet-tablecheck",
        &["cullet-geometry", "cullet-breakout", "cullet-job"],
    ),
    (
        "cullet-output",
        &[
            "cullet-geometry",
            "cullet-trade",
            "cullet-breakout",
            "cullet-job",
            "cullet-drawing",
            "cullet-rack",
            "cullet-model",
            "cullet-planner",
        ],
    ),
    // What a user does, without a terminal.
    (
        "cullet-workshop",
        &[
            "cullet-geometry",
            "cullet-job",
            "cullet-drawing",
            "cullet-rack",
            "cullet-model",
            "cullet-planner",
            "cullet-verify",
            "cullet-scorepath",
            "cullet-table",
            "cullet-tablecheck",
            "cullet-output",
        ],
    ),
    // The page asks the workshop, as the command line does.
    (
        "cullet-server",
        &[
            "cullet-geometry",
            "cullet-job",
            "cullet-drawing",
            "cullet-rack",
            "cullet-model",
            "cullet-planner",
            "cullet-output",
            "cullet-workshop",
        ],
    ),
    // The command line asks the workshop, and has what it returns put into words.
    (
        "cullet",
        &[
            "cullet-server",
            "cullet-workshop",
            "cullet-job",
            "cullet-drawing",
            "cullet-rack",
            "cullet-model",
            "cullet-planner",
            "cullet-output",
        ],
    ),
];

/// Libraries that only these crates may depend on: what they are for is nobody else's business.
const ONLY_IN: &[(&str, &[&str])] = &[
    // The integer engine stays behind one module of the geometry crate.
    ("geo-clipper", &["cullet-geometry"]),
    // Only the program speaks with terminals and signals.
    ("clap", &["cullet"]),
    ("indicatif", &["cullet"]),
    ("ctrlc", &["cullet"]),
    // Only the outputs draw, and only drawings are read from XML or DXF.
    ("svg", &["cullet-output"]),
    ("roxmltree", &["cullet-drawing"]),
    ("dxf", &["cullet-drawing"]),
    // Lists in, tables out.
    ("csv", &["cullet-list", "cullet-rack", "cullet-output"]),
    // The rack is one file, and only its crate knows how it is kept.
    ("rusqlite", &["cullet-rack"]),
    ("qrcode", &["cullet-output"]),
    // Only the page speaks with browsers.
    ("axum", &["cullet-server"]),
    ("hyper", &["cullet-server"]),
    ("tokio", &["cullet-server"]),
    ("maud", &["cullet-server"]),
    // Random numbers are the search's own, and seeded.
    ("rand_xoshiro", &["cullet-search"]),
];

/// Names of the crates that each crate of the workspace depends on, development dependencies left out.
fn dependencies() -> Result<BTreeMap<String, BTreeSet<String>>, Box<dyn std::error::Error>> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let listed = Command::new(cargo)
        .args(["metadata", "--no-deps", "--offline", "--format-version", "1"])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()?;
    assert!(listed.status.success(), "{}", String::from_utf8_lossy(&listed.stderr));
    let metadata: Value = serde_json::from_slice(&listed.stdout)?;
    let text = |value: &Value| value.as_str().unwrap_or_default().to_string();
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    Ok(list(&metadata["packages"])
        .iter()
        .map(|package| {
            let known = list(&package["dependencies"])
                .iter()
                .filter(|dependency| dependency["kind"].as_str() != Some("dev"))
                .map(|dependency| text(&dependency["name"]))
                .collect();
            (text(&package["name"]), known)
        })
        .collect())
}

#[test]
fn no_crate_knows_what_it_must_not() -> Checked {
    let dependencies = dependencies()?;
    for (name, allowed) in MAY_KNOW {
        let known = dependencies
            .get(*name)
            .ok_or(format!("{name} is not in the workspace"))?;
        let ours = known
            .iter()
            .filter(|known| known.as_str() == "cullet" || known.starts_with("cullet-"));
        for known in ours {
            assert!(allowed.contains(&known.as_str()), "{name} must not know {known}");
        }
    }
    Ok(())
}

#[test]
fn every_crate_of_the_product_has_its_rule() -> Checked {
    let unruled: Vec<String> = dependencies()?
        .into_keys()
        .filter(|name| {
            ![
                "cullet-benches",
                "cullet-fuzz",
                "cullet-testkit",
                "cullet-tests",
                "cullet-tools",
            ]
            .contains(&name.as_str())
        })
        .filter(|name| MAY_KNOW.iter().all(|(ruled, _)| ruled != name))
        .collect();
    assert!(unruled.is_empty(), "say in MAY_KNOW what {unruled:?} may know");
    Ok(())
}

#[test]
fn libraries_stay_where_they_belong() -> Checked {
    for (name, known) in dependencies()? {
        let product = MAY_KNOW.iter().any(|(ruled, _)| *ruled == name);
        for (library, allowed) in ONLY_IN.iter().filter(|_| product) {
            let wrong = known.contains(*library) && !allowed.contains(&name.as_str());
            assert!(!wrong, "{name} must not depend on {library}: only {allowed:?}");
        }
    }
    Ok(())
}

/// The crates of the product from the ground up, each with those of ours that it depends on.
fn arrows(dependencies: &BTreeMap<String, BTreeSet<String>>) -> String {
    let is_ours = |name: &str| MAY_KNOW.iter().any(|(ruled, _)| *ruled == name);
    let mut left: BTreeMap<&str, BTreeSet<&str>> = dependencies
        .iter()
        .filter(|(name, _)| is_ours(name))
        .map(|(name, known)| {
            let known = known.iter().map(String::as_str).filter(|known| is_ours(known));
            (name.as_str(), known.collect())
        })
        .collect();
    let mut lines = String::new();
    while !left.is_empty() {
        let stands = |known: &BTreeSet<&str>| known.iter().all(|known| !left.contains_key(known));
        let floor: Vec<&str> = left
            .iter()
            .filter(|(_, known)| stands(known))
            .map(|(name, _)| *name)
            .collect();
        assert!(!floor.is_empty(), "crates that know each other in a circle: {left:?}");
        for name in floor {
            let known: Vec<&str> = left.remove(name).into_iter().flatten().collect();
            let short = |name: &str| name.strip_prefix("cullet-").unwrap_or(name).to_owned();
            let known: Vec<String> = known.into_iter().map(short).collect();
            lines += format!("{} → {}", short(name), known.join(", ")).trim_end_matches([' ', '→']);
            lines.push('\n');
        }
    }
    lines
}

/// Files and folders that the developers' page names from the top are there.
#[test]
fn what_the_developers_page_names_is_there() -> Checked {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let text = std::fs::read_to_string(root.join("DEVELOPERS.md"))?;
    let named: std::collections::BTreeSet<&str> = text.split('`').skip(1).step_by(2).collect();
    let tops = ["crates/", "tests/", "benches/", "fixtures/", "tools/"];
    let is_path = |word: &&str| tops.iter().any(|top| word.starts_with(top)) && !word.contains([' ', '*', '\n']);
    let paths: Vec<&str> = named.into_iter().filter(is_path).collect();
    assert!(paths.len() > 40, "only {} paths were found", paths.len());
    let missing: Vec<&str> = paths.into_iter().filter(|path| !root.join(path).exists()).collect();
    assert_eq!(missing, Vec::<&str>::new());
    Ok(())
}

#[test]
fn the_developers_picture_is_the_true_one() -> Checked {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../DEVELOPERS.md"))?;
    let arrows = arrows(&dependencies()?);
    assert!(
        text.contains(&format!("```text\n{arrows}```\n")),
        "in DEVELOPERS.md under \"Who knows whom\" should stand:\n{arrows}"
    );
    Ok(())
}
