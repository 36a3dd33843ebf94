//! The program as a process of its own: what it writes, what it says and with which code it ends.

#[path = "command_line/refused.rs"]
mod refused;

use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, names, rectangle, sheets};
use refused::assert_refused;
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
