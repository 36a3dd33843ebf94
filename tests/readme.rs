//! Runs the README's console examples on its drawing and lists, and compares what they print.
//!
//! To remake the examples after a change: `TRYCMD=overwrite cargo test -p cullet --test readme`, then read the difference.

use cullet_tests::Checked;
use std::error::Error;
use std::path::Path;

#[test]
fn the_readmes_examples_print_what_it_says() -> Checked {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../README.md")
        .canonicalize()?;
    let text = std::fs::read_to_string(&readme)?;
    let home = tempfile::tempdir()?;
    std::fs::create_dir(home.path().join("porch"))?;
    let named = [
        ("csv", "stock.csv"),
        ("svg", "fanlight.svg"),
        ("csv porch/pieces.csv", "porch/pieces.csv"),
        ("csv porch/wrong.csv", "porch/wrong.csv"),
        ("json porch/shop.json", "porch/shop.json"),
    ];
    for (kind, name) in named {
        std::fs::write(home.path().join(name), block(&text, kind)?)?;
    }
    std::fs::write(home.path().join("gap.svg"), gap(block(&text, "svg")?)?)?;
    // The examples run where their files are. Nothing else runs in this process.
    std::env::set_current_dir(home.path())?;
    trycmd::TestCases::new()
        .register_bin("cullet", Path::new(env!("CARGO_BIN_EXE_cullet")))
        .case(readme)
        .run();
    std::env::set_current_dir(env!("CARGO_MANIFEST_DIR"))?;
    Ok(())
}

/// The README's only block of a kind.
fn block<'t>(text: &'t str, kind: &str) -> Result<&'t str, Box<dyn Error>> {
    let parts: Vec<&str> = text.split(&format!("```{kind}\n")).collect();
    match parts[..] {
        [_, rest] => Ok(rest.split("```").next().unwrap_or_default()),
        _ => Err(format!("the README has {} blocks of {kind}, not one", parts.len() - 1).into()),
    }
}

/// The README's drawing with the gap that it tells of.
fn gap(drawing: &str) -> Result<String, Box<dyn Error>> {
    let whole = "V 260\"";
    match drawing.matches(whole).count() {
        1 => Ok(drawing.replace(whole, "V 262\"")),
        _ => Err(format!("{whole} does not stand once in the README's drawing").into()),
    }
}
