//! Runs the README's small job and its console examples, and compares what they print.
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
    let job = block(&text, "json")?;
    let home = tempfile::tempdir()?;
    std::fs::write(home.path().join("job.json"), job)?;
    std::fs::write(home.path().join("stock.csv"), block(&text, "csv")?)?;
    std::fs::write(home.path().join("fanlight.svg"), block(&text, "svg")?)?;
    std::fs::write(home.path().join("wrong.json"), wrong(job)?)?;
    std::fs::create_dir(home.path().join("porch"))?;
    for (kind, name) in [("csv", "porch/pieces.csv"), ("json", "porch/shop.json")] {
        std::fs::write(home.path().join(name), block(&text, &format!("{kind} {name}"))?)?;
    }
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

/// The README's job with the two faults it tells of.
fn wrong(job: &str) -> Result<String, Box<dyn Error>> {
    let faults = [
        ("\"thickness\": 3,", "\"thickness\": -3,"),
        ("\"glass\": \"REED\"", "\"glass\": \"READ\""),
    ];
    let mut text = job.to_owned();
    for (right, wrong) in faults {
        if text.matches(right).count() != 1 {
            return Err(format!("{right} does not stand once in the README's job").into());
        }
        text = text.replace(right, wrong);
    }
    Ok(text)
}
