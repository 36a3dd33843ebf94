//! The program as a process of its own: what it writes, what it says and with which code it ends.

use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, names, rectangle, sheets};
use serde_json::{Value, json};
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures")
}

fn cullet() -> Command {
    Command::new(env!("CARGO_BIN_EXE_cullet"))
}

fn plan(job: &Path, stock: &Path, out: &Path, options: &[&str]) -> Result<Output, Box<dyn Error>> {
    Ok(plan_command(job, stock, out).args(options).output()?)
}

fn plan_command(job: &Path, stock: &Path, out: &Path) -> Command {
    let mut command = cullet();
    command
        .arg("plan")
        .arg(job)
        .arg("--stock")
        .arg(stock)
        .arg("--out")
        .arg(out);
    command
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A small job that every layout can hold, and glass for it.
fn small_job() -> (Value, String) {
    let pieces = [rectangle("1", "A", 120.0, 80.0), rectangle("2", "A", 60.0, 200.0)];
    let mut glass = bare_glass("A", 3.0);
    glass["narrowest_strip"] = json!(6.0);
    let stock = sheets(&[Sheet {
        tag: "S1",
        glass: "A",
        width: 600.0,
        height: 400.0,
        count: 3,
    }]);
    (job(&[glass], 4, &pieces), stock)
}

/// Asserts that `output` refuses bad input: exit code 2, nothing on standard output, and findings that each name one of
/// `files`, a place, what was found, what was expected and, on a line of its own, what to do. Returns how many.
fn assert_refused(case: &str, output: &Output, files: &[&Path]) -> usize {
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
fn a_piece_larger_than_every_sheet_is_named_and_the_rest_is_planned() -> Checked {
    let bench = Bench::new()?;
    let case = fixtures().join("too_large");
    let out = bench.path("out");
    let stock = case.join("stock.csv");
    let output = plan(&case.join("job.json"), &stock, &out, &["--rounds", "20"])?;
    let err = text(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{err}");
    let plan = bench.checked_plan()?;
    assert!(plan.figures.pieces > 0, "the rest was not planned");
    assert_eq!(plan.unplaced.len(), 1);
    for unplaced in &plan.unplaced {
        assert!(err.contains(&format!("not placed: {}", unplaced.id)), "{err}");
        let named = plan.stock.items.iter().any(|item| unplaced.reason.contains(&item.tag));
        assert!(named, "the nearest sheet is not named: {}", unplaced.reason);
    }
    Ok(())
}

#[test]
fn a_plan_leaves_its_files_and_holds() -> Checked {
    let (job, stock) = small_job();
    let bench = Bench::new()?;
    let job = bench.write("job.json", &job.to_string())?;
    let stock = bench.write("stock.csv", &stock)?;
    let out = bench.path("deep/out");
    let output = plan(&job, &stock, &out, &["--rounds", "20"])?;
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(
        output.stderr.is_empty(),
        "nothing draws a progress bar but a terminal: {}",
        text(&output.stderr)
    );
    let written = names(&out)?;
    let expected = [
        "book.html",
        "breaking.csv",
        "plan.json",
        "sheet-1-breaks.html",
        "sheet-1-scores.svg",
        "sheet-1.svg",
        "yield.csv",
    ];
    assert_eq!(written, expected);
    let checked = cullet().arg("check").arg(out.join("plan.json")).output()?;
    assert_eq!(checked.status.code(), Some(0), "{}", text(&checked.stderr));
    assert!(
        text(&checked.stdout).contains("passes: 8 pieces"),
        "{}",
        text(&checked.stdout)
    );
    Ok(())
}

/// Spreadsheets that want decimal commas take 0.744 for 744.
#[test]
fn every_command_that_writes_tables_writes_decimal_commas() -> Checked {
    let (job, stock) = small_job();
    let bench = Bench::new()?;
    let job = bench.write("job.json", &job.to_string())?;
    let stock = bench.write("stock.csv", &stock)?;
    let out = bench.path("out");
    let planned = plan(&job, &stock, &out, &["--rounds", "1", "--decimal-comma"])?;
    assert_eq!(planned.status.code(), Some(0), "{}", text(&planned.stderr));
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">
        <rect width="200" height="300"/></svg>"#;
    let drawing = bench.write("panel.svg", drawing)?;
    let leads = bench.path("out").join("leads.csv");
    let read = cullet()
        .arg("drawing")
        .arg(&drawing)
        .arg("--leads")
        .arg(&leads)
        .arg("--decimal-comma")
        .output()?;
    assert_eq!(read.status.code(), Some(0), "{}", text(&read.stderr));
    for table in ["yield.csv", "breaking.csv", "leads.csv"] {
        let written = fs::read_to_string(out.join(table))?;
        let head = written.lines().next().unwrap_or_default();
        assert!(
            head.starts_with('\u{feff}') && head.contains(';') && !head.contains(','),
            "{table}: {head}"
        );
        let figures = written.lines().skip(1);
        assert!(figures.clone().any(|line| line.contains(',')), "{table}: {written}");
        let mut cells = figures.flat_map(|line| line.split(';'));
        assert!(
            cells.all(|cell| !cell.contains('.') || cell.parse::<f64>().is_err()),
            "{table}: {written}"
        );
    }
    for command in [
        vec!["plan"],
        vec!["compare"],
        vec!["drawing"],
        vec!["recut"],
        vec!["rack", "export"],
    ] {
        let help = text(&cullet().args(&command).arg("--help").output()?.stdout);
        assert!(help.contains("--decimal-comma"), "{command:?}: {help}");
    }
    Ok(())
}

#[test]
fn a_tampered_plan_does_not_hold() -> Checked {
    let (job, stock) = small_job();
    let bench = Bench::new()?;
    bench.plan(&job, &stock, &["--rounds", "20"])?;
    let whole: Value = serde_json::from_str(&fs::read_to_string(bench.path("out/plan.json"))?)?;
    type Tamper = fn(&mut Value);
    let faults: [(&str, Tamper); 4] = [
        ("a piece moved onto another", |plan| {
            let placements = &mut plan["glasses"][0]["layouts"][0]["placements"];
            placements[0]["pose"] = placements[1]["pose"].clone();
        }),
        ("a piece taken away", |plan| {
            if let Some(list) = plan["glasses"][0]["layouts"][0]["placements"].as_array_mut() {
                list.pop();
            }
        }),
        ("a piece turned over", |plan| {
            plan["glasses"][0]["layouts"][0]["placements"][0]["pose"]["turned_over"] = json!(true);
        }),
        ("cullet talked down", |plan| plan["figures"]["cullet"] = json!(0.0)),
    ];
    for (fault, tamper) in faults {
        let mut plan = whole.clone();
        tamper(&mut plan);
        let path = bench.write("tampered.json", &plan.to_string())?;
        let checked = cullet().arg("check").arg(path).output()?;
        assert_eq!(checked.status.code(), Some(5), "{fault}: {}", text(&checked.stderr));
        assert!(!checked.stderr.is_empty(), "{fault}: no fault is named");
    }
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
fn the_same_seed_and_rounds_give_the_same_plan() -> Checked {
    let (job, stock) = small_job();
    let bench = Bench::new()?;
    let job = bench.write("job.json", &job.to_string())?;
    let stock = bench.write("stock.csv", &stock)?;
    let mut plans = vec![];
    for threads in ["1", "2", "2"] {
        let out = bench.path(&format!("out {}", plans.len()));
        let output = plan(
            &job,
            &stock,
            &out,
            &["--rounds", "30", "--seed", "7", "--threads", threads],
        )?;
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        plans.push(fs::read(out.join("plan.json"))?);
    }
    assert!(plans[1] == plans[2], "the plan differs from run to run");
    assert!(plans[0] == plans[1], "the plan depends on the number of threads");
    Ok(())
}

#[test]
fn somebody_elses_sheet_map_is_left_alone() -> Checked {
    let (job, stock) = small_job();
    let bench = Bench::new()?;
    let job = bench.write("job.json", &job.to_string())?;
    let stock = bench.write("stock.csv", &stock)?;
    fs::create_dir(bench.path("out"))?;
    bench.write("out/sheet-1.svg", "mine")?;
    let out = bench.path("out");
    let output = plan(&job, &stock, &out, &["--rounds", "1"])?;
    assert_eq!(assert_refused("strange map", &output, &[&out.join("sheet-1.svg")]), 1);
    assert_eq!(fs::read_to_string(bench.path("out/sheet-1.svg"))?, "mine");
    assert_eq!(bench.names("out")?, ["sheet-1.svg"]);
    Ok(())
}

/// Ctrl-C during a long search, or SIGTERM from a service that ends, keeps the best plan so far and ends soon.
#[cfg(unix)]
#[test]
fn ctrl_c_and_sigterm_keep_the_best_plan_so_far() -> Checked {
    for signal in ["-INT", "-TERM"] {
        let (job, stock) = small_job();
        let bench = Bench::new()?;
        let job = bench.write("job.json", &job.to_string())?;
        let stock = bench.write("stock.csv", &stock)?;
        let out = bench.path("out");
        let mut child = plan_command(&job, &stock, &out)
            .args(["--seconds", "300"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()?;
        std::thread::sleep(Duration::from_secs(2));
        let start = Instant::now();
        let interrupted = Command::new("kill").args([signal, &child.id().to_string()]).status()?;
        assert!(interrupted.success());
        let status = child.wait()?;
        let took = start.elapsed();
        assert!(took < Duration::from_secs(10), "{signal}: it took {took:?}");
        assert_eq!(status.code(), Some(0), "{signal}");
        assert_eq!(bench.checked_plan()?.figures.pieces, 8);
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

#[test]
fn schema_completions_and_manual_page_are_printed() -> Checked {
    let schema = text(&cullet().arg("schema").output()?.stdout);
    let committed = fs::read_to_string(fixtures().join("job.schema.json"))?;
    assert!(schema == committed, "remake it: cargo run -p cullet-tools -- schema");
    for shell in ["bash", "fish", "zsh"] {
        let script = cullet().args(["completions", shell]).output()?;
        assert!(script.status.success() && text(&script.stdout).contains("cullet"));
    }
    for (command, tells) in [(None, "stock list"), (Some("plan"), "rounds")] {
        let page = text(&cullet().arg("man").args(command).output()?.stdout);
        assert!(page.contains(".TH cullet") && page.contains(tells), "{page}");
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
