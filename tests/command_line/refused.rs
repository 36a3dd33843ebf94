//! Bad input: every finding is named, exit code 2, and nothing is written.

use crate::{cullet, fixtures, plan, small_job, text};
use cullet_tests::{Bench, Checked, names};
use serde_json::json;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;
use std::time::{Duration, Instant};

/// Asserts that `output` refuses bad input: exit code 2, nothing on standard output, and findings that each name one of
/// `files`, a place, what was found, what was expected and, on a line of its own, what to do. Returns how many.
pub(crate) fn assert_refused(case: &str, output: &Output, files: &[&Path]) -> usize {
    let err = text(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{case}: {err}");
    assert!(output.stdout.is_empty(), "{case}: {}", text(&output.stdout));
    let mut lines = err.lines();
    let mut findings = 0;
    while let Some(line) = lines.next() {
        let file = files
            .iter()
            .find_map(|file| line.strip_prefix(&format!("{}: ", file.display())));
        let rest = file.unwrap_or_else(|| panic!("{case}: no file named: {line}"));
        let found = rest
            .find(": found ")
            .unwrap_or_else(|| panic!("{case}: nothing found: {line}"));
        assert!(found > 0, "{case}: no place named: {line}");
        let expected = rest
            .rfind(", expected ")
            .unwrap_or_else(|| panic!("{case}: nothing expected: {line}"));
        assert!(expected > found + ": found ".len(), "{case}: nothing found: {line}");
        assert!(
            rest.len() > expected + ", expected ".len(),
            "{case}: nothing expected: {line}"
        );
        let hint = lines.next().unwrap_or_default();
        assert!(
            hint.starts_with("  ") && hint.trim().len() > 5,
            "{case}: no hint after: {line}"
        );
        findings += 1;
    }
    findings
}

#[test]
fn every_bad_input_is_named_and_nothing_is_written() -> Checked {
    let mut cases: Vec<PathBuf> = vec![];
    for entry in fs::read_dir(fixtures().join("bad"))? {
        let path = entry?.path();
        if path.is_dir() {
            cases.push(path);
        }
    }
    cases.sort();
    assert!(cases.len() >= 10, "only {} cases of bad input were found", cases.len());
    for case in cases {
        let name = case.display().to_string();
        let list = case.join("pieces.csv");
        let job = if list.is_file() { list } else { case.join("job.json") };
        let stock = case.join("stock.csv");
        let bench = Bench::new()?;
        let output = plan(&job, &stock, &bench.path("out"), &["--rounds", "1"])?;
        let files: Vec<PathBuf> = names(&case)?.iter().map(|name| case.join(name)).collect();
        let files: Vec<&Path> = files.iter().map(PathBuf::as_path).collect();
        let findings = assert_refused(&name, &output, &files);
        assert!(findings > 0, "{name}: nothing was said");
        assert!(names(&bench.path(""))?.is_empty(), "{name}: something was written");
    }
    Ok(())
}

#[test]
fn findings_of_job_and_stock_come_at_once() -> Checked {
    let (mut wrong, stock) = small_job();
    wrong["glasses"][0]["thickness"] = json!(-3.0);
    wrong["panels"][0]["pieces"][1]["number"] = json!("1");
    let bench = Bench::new()?;
    let job = bench.write("job.json", &wrong.to_string())?;
    let stock = bench.write("stock.csv", &stock.replace("600", "-600"))?;
    let output = plan(&job, &stock, &bench.path("out"), &[])?;
    let findings = assert_refused("two files", &output, &[&job, &stock]);
    let err = text(&output.stderr);
    assert!(findings >= 3, "{err}");
    assert!(err.contains("job.json") && err.contains("stock.csv"), "{err}");
    assert!(bench.names("out")?.is_empty());
    Ok(())
}

#[test]
fn stock_without_the_glass_is_refused() -> Checked {
    let (job, stock) = small_job();
    let bench = Bench::new()?;
    let job = bench.write("job.json", &job.to_string())?;
    let stock = bench.write("stock.csv", &stock.replace("S1,A", "S1,B"))?;
    let output = plan(&job, &stock, &bench.path("out"), &[])?;
    assert_eq!(assert_refused("no stock", &output, &[&job, &stock]), 1);
    assert!(text(&output.stderr).contains("glass A"), "{}", text(&output.stderr));
    Ok(())
}

#[test]
fn an_outline_of_a_million_points_is_refused() -> Checked {
    let corner = |i: i32| {
        let angle = f64::from(i) / 1e6 * std::f64::consts::TAU;
        json!([(5e6 * angle.cos()).round() / 1e4, (5e6 * angle.sin()).round() / 1e4])
    };
    let (mut wrong, stock) = small_job();
    wrong["panels"][0]["pieces"][0]["outline"] = (0..1_000_000).map(corner).collect();
    let bench = Bench::new()?;
    let job = bench.write("job.json", &wrong.to_string())?;
    let stock = bench.write("stock.csv", &stock)?;
    let start = Instant::now();
    let output = plan(&job, &stock, &bench.path("out"), &[])?;
    assert_eq!(assert_refused("a million points", &output, &[&job, &stock]), 1);
    assert!(
        text(&output.stderr).contains("panel P, piece 1"),
        "{}",
        text(&output.stderr)
    );
    assert!(
        start.elapsed() < Duration::from_secs(20),
        "it took {:?}",
        start.elapsed()
    );
    assert!(bench.names("out")?.is_empty());
    Ok(())
}

#[test]
fn files_that_are_not_there_are_both_named() -> Checked {
    let bench = Bench::new()?;
    let (job, stock) = (bench.path("no.json"), bench.path("no.csv"));
    let output = plan(&job, &stock, &bench.path("out"), &[])?;
    assert_eq!(assert_refused("no files", &output, &[&job, &stock]), 2);
    Ok(())
}

#[test]
fn what_is_not_a_plan_is_refused() -> Checked {
    let bench = Bench::new()?;
    let other = r#"{"format": "cullet-plan 999"}"#;
    for (name, content) in [("broken.json", "{"), ("list.json", "[]"), ("other.json", other)] {
        let path = bench.write(name, content)?;
        let output = cullet().arg("check").arg(&path).output()?;
        assert_eq!(assert_refused(name, &output, &[&path]), 1);
    }
    Ok(())
}

#[test]
fn mistyped_command_lines_are_bad_input() -> Checked {
    for args in [
        &["plann"][..],
        &["plan"],
        &["plan", "j", "--stock", "s", "--out", "o", "--seconds", "-1"],
    ] {
        let output = cullet().args(args).output()?;
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty() && !output.stderr.is_empty(), "{args:?}");
    }
    Ok(())
}

/// A rack whose pages were written over is bad input, not a file that cannot be written.
#[test]
fn a_damaged_rack_is_bad_input() -> Checked {
    let bench = Bench::new()?;
    let rack = bench.path("shop.rack");
    let rack = rack.to_str().ok_or("a path in Unicode")?;
    let add = [
        "rack", "add", "--rack", rack, "sheet", "--glass", "A", "--width", "300", "--height", "200",
    ];
    assert!(cullet().args(add).output()?.status.success());
    let whole = fs::read(rack)?;
    for (what, bytes) in [
        (
            "no database",
            [b"no database at all. ".repeat(50), whole[..].to_vec()].concat(),
        ),
        (
            "pages of noise",
            [whole[..100].to_vec(), vec![0xa5; whole.len() - 100]].concat(),
        ),
    ] {
        fs::write(rack, &bytes)?;
        for suffix in ["-wal", "-shm"] {
            let _ = fs::remove_file(format!("{rack}{suffix}"));
        }
        for command in ["audit", "list"] {
            let output = cullet().args(["rack", command, "--rack", rack]).output()?;
            let err = text(&output.stderr);
            assert_eq!(output.status.code(), Some(2), "{what}, {command}: {err}");
            assert!(
                err.contains("expected") && fs::read(rack)? == bytes,
                "{what}, {command}: {err}"
            );
        }
    }
    Ok(())
}
