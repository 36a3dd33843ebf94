//! Files for the cutting table: written beside a plan, read back, planted faults found, and judged by programs from outside.
#![allow(
    clippy::print_stdout,
    reason = "how many files others judged is the point; cargo shows it with --nocapture"
)]

#[path = "table/kinds.rs"]
mod kinds;
#[path = "table/outside.rs"]
mod outside;
#[path = "table/planted.rs"]
mod planted;

use cullet::Exit;
use cullet_tests::any_job::any_job;
use cullet_tests::{Bench, Checked, Outcome, typed};
use outside::interpreted;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// A table of no particular make: every figure is an example.
fn table() -> Value {
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/table/shop.json");
    let text = fs::read_to_string(fixture).unwrap_or_default();
    serde_json::from_str::<Value>(&text).map_or(Value::Null, |shop| shop["table"].clone())
}

fn shop(table: &Value) -> String {
    json!({"shop": "Test", "units": "mm", "table": table}).to_string()
}

/// Discs, half rounds, a piece with an inside curve and panes, scored on the back.
fn job() -> (Value, String) {
    let glass = json!({
        "code": "SEA", "name": "Sea (green) \"ü\" [plain]", "thickness": 3, "grain": "none", "may_turn_over": false,
        "scored_face": "back", "grind_allowance": 0.5, "price": 60, "price_unit": "m2"
    });
    let piece = |number: &str, path: &str| json!({"number": number, "glass": "SEA", "outline": path});
    let pieces = json!([
        piece("1", "M 0 60 A 60 60 0 0 1 120 60 A 60 60 0 0 1 0 60 Z"),
        piece("2", "M 0 0 A 80 80 0 0 1 160 0 Z"),
        piece("3", "M 0 0 L 160 0 L 160 90 L 120 90 Q 80 60 40 90 L 0 90 Z"),
        piece("4", "M 0 0 L 100 0 L 100 140 L 0 140 Z"),
        piece("(5)", "M 0 0 L 130 10 L 120 90 C 90 110 40 100 0 80 Z"),
    ]);
    let job = json!({
        "name": "Grüße (a) \"b\" [c]", "units": "mm", "y": "up", "glasses": [glass],
        "panels": [{"id": "P", "quantity": 2, "pieces": pieces}]
    });
    (
        job,
        "kind,tag,glass,units,width,height,count\nsheet,S 1,SEA,mm,600,500,4\n".into(),
    )
}

/// The job planned with a table, and the name of its folder.
fn planned(table: &Value) -> Result<(Bench, Outcome), Box<dyn std::error::Error>> {
    let bench = Bench::new()?;
    bench.write("shop.json", &shop(table))?;
    let (job, stock) = job();
    let outcome = bench.plan(&job, &stock, &["--rounds", "4", "--seed", "1"])?;
    Ok((bench, outcome))
}

fn text(path: &Path) -> Result<String, Box<dyn std::error::Error>> {
    fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()).into())
}

/// What `cullet table --check` says of this text as a file of map 1.
fn checked(bench: &Bench, content: &str, kind: &str) -> Result<Outcome, Box<dyn std::error::Error>> {
    let file = bench.write(&format!("sheet-1.{kind}"), content)?;
    let plan = bench.path("out").join("plan.json");
    Ok(typed(&[
        "table",
        "--check",
        &file.display().to_string(),
        &plan.display().to_string(),
    ]))
}

#[test]
fn a_plan_has_its_table_files_and_they_pass() -> Checked {
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let names = bench.names("out")?;
    for name in ["sheet-1.ngc", "sheet-1.dxf"] {
        assert!(names.iter().any(|found| found == name), "{names:?}");
    }
    let plan = bench.checked_plan()?;
    assert!(plan.files.contains_key("sheet-1.ngc") && plan.files.contains_key("sheet-1.dxf"));
    let out = bench.path("out");
    for kind in ["ngc", "dxf"] {
        let said = checked(&bench, &text(&out.join(format!("sheet-1.{kind}")))?, kind)?;
        assert_eq!(said.exit, Exit::Done, "{}", said.err);
        assert!(said.out.contains("passes"), "{}", said.out);
    }
    // Discs are arcs again, and the words of the job break nothing.
    let ngc = text(&out.join("sheet-1.ngc"))?;
    assert!(
        ngc.lines()
            .filter(|line| line.starts_with("G2 ") || line.starts_with("G3 "))
            .count()
            >= 8
    );
    assert!(ngc.lines().all(|line| line.len() <= 70 && line.is_ascii()));
    assert!(ngc.contains("Gruesse <a>") && ngc.contains("Back up") && ngc.contains("Dry run above the glass first"));
    for name in ["sheet-1.svg", "sheet-1-breaks.html"] {
        let page = text(&out.join(name))?;
        assert!(page.contains("m of scores") && page.contains("lifts"), "{name}");
    }
    // Written again elsewhere: the same bytes; and not over others.
    let plan = out.join("plan.json").display().to_string();
    let again = bench.path("again").display().to_string();
    let said = typed(&["table", &plan, "--sheet", "1", "--out", &again]);
    assert_eq!(said.exit, Exit::Done, "{}", said.err);
    assert_eq!(text(&bench.path("again").join("sheet-1.ngc"))?, ngc);
    bench.write("again/sheet-1.ngc", "mine")?;
    let said = typed(&["table", &plan, "--sheet", "1", "--out", &again]);
    assert_eq!(
        (said.exit, text(&bench.path("again").join("sheet-1.ngc"))?.as_str()),
        (Exit::BadInput, "mine")
    );
    assert_eq!(
        typed(&["table", &plan, "--out", &out.display().to_string()]).exit,
        Exit::BadInput
    );
    Ok(())
}

#[test]
fn a_table_that_cannot_be_is_named() -> Checked {
    for (field, value, expected) in [
        (
            "wheel",
            json!({"kind": "steered", "letter": "Y"}),
            "an axis letter used twice",
        ),
        (
            "speeds",
            json!({"straight": -1, "outside": 1, "inside": 1, "relief": 1, "travel": 1, "turning": 1}),
            "straight",
        ),
        ("lines", json!([{"up_to": 4, "up": ["M5"]}]), "down"),
        ("lines", json!([{"up_to": 4, "down": [], "up": ["M5"]}]), "down"),
        (
            "lines",
            json!([{"up_to": 4, "down": ["M5"], "up": ["M5"]}]),
            "the same lines",
        ),
        (
            "lines",
            json!([{"up_to": 4, "down": ["G1 X5"], "up": ["M5"]}]),
            "without X, Y",
        ),
        ("header", json!(["M2"]), "does not end the file"),
        ("header", json!(["(open"]), "brackets"),
        ("header", json!(["G20"]), "units"),
        ("size", json!([0, 100]), "size"),
        ("decimals", json!(3), "at least 4"),
    ] {
        let mut table = table();
        table[field] = value;
        let (bench, outcome) = planned(&table)?;
        assert_eq!(outcome.exit, Exit::BadInput, "{expected}: {}", outcome.out);
        assert!(
            outcome.err.contains("shop.json") && outcome.err.contains(expected),
            "{expected}: {}",
            outcome.err
        );
        assert!(bench.names("out")?.is_empty());
    }
    Ok(())
}

#[test]
fn a_plan_that_fails_and_a_file_that_is_another_s() -> Checked {
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let plan = bench.path("out").join("plan.json");
    let shop = bench.path("shop.json").display().to_string();
    // A metre further to the right, whatever the sign of what stands there.
    let mut moved: Value = serde_json::from_str(&text(&plan)?)?;
    let x = &mut moved["glasses"][0]["layouts"][0]["placements"][0]["pose"]["x"];
    *x = json!(x.as_f64().ok_or("no place of a piece")? + 1000.0);
    let moved = serde_json::to_string(&moved)?;
    let moved = bench.write("moved.json", &moved)?.display().to_string();
    let out = bench.path("none");
    let said = typed(&["table", &moved, "--out", &out.display().to_string(), "--shop", &shop]);
    assert!(
        said.exit == Exit::DoesNotHold && !out.exists(),
        "{:?} {}",
        said.exit,
        said.err
    );
    for (args, exit) in [
        (vec!["table", "--check", "sheet-1.txt", "PLAN"], Exit::BadInput),
        (vec!["table", "--check", "gone.ngc", "PLAN"], Exit::BadInput),
        (vec!["table", "PLAN", "--sheet", "99", "--out", "never"], Exit::BadInput),
        (vec!["table", "PLAN", "--no-shop", "--out", "never"], Exit::BadInput),
        (vec!["table", "PLAN"], Exit::BadInput),
    ] {
        let plan = plan.display().to_string();
        let args: Vec<&str> = args
            .into_iter()
            .map(|arg| if arg == "PLAN" { plan.as_str() } else { arg })
            .collect();
        assert_eq!(typed(&args).exit, exit, "{args:?}");
    }
    Ok(())
}

/// Random jobs over all settings; `CULLET_TABLES=50` for so many, `CULLET_TABLES_FROM=49` from that seed on. A plan whose files fail is
/// kept in the folder that `CULLET_PLANS` names.
#[test]
fn random_plans_have_files_that_pass() -> Checked {
    let count = std::env::var("CULLET_TABLES")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(8_u64);
    let mut wide = table();
    wide["size"] = json!([20000, 20000]);
    wide["lines"] = json!([{"up_to": 100, "down": ["M3"], "up": ["M5"]}]);
    let mut made = 0;
    let from = std::env::var("CULLET_TABLES_FROM")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(0_u64);
    for seed in from..from + count {
        let (job, stock) = any_job(seed);
        let bench = Bench::new()?;
        bench.write("shop.json", &shop(&wide))?;
        let outcome = bench.plan(&job, &stock, &["--seconds", "0.05", "--threads", "1"])?;
        if outcome.exit == Exit::BadInput {
            continue;
        }
        if let (Exit::Internal, Some(folder)) = (outcome.exit, std::env::var_os("CULLET_PLANS")) {
            bench.plan(&job, &stock, &["--seconds", "0.05", "--threads", "1", "--no-shop"])?;
            fs::create_dir_all(&folder)?;
            let kept = Path::new(&folder).join(format!("{seed}.json"));
            fs::copy(bench.path("out").join("plan.json"), kept)?;
        }
        assert!(
            [Exit::Done, Exit::Unplaced].contains(&outcome.exit),
            "seed {seed}: {:?} {}",
            outcome.exit,
            outcome.err
        );
        let plan = bench.checked_plan()?;
        let sheets: usize = plan.glasses.iter().map(|glass| glass.layouts.len()).sum();
        let files = plan.files.keys().filter(|name| name.ends_with(".ngc")).count();
        assert_eq!(files, sheets, "seed {seed}: {}", outcome.err);
        for name in plan.files.keys().filter(|name| name.ends_with(".ngc")) {
            interpreted(
                &bench,
                &bench.path("out").join(name),
                &bench.path("out").join("plan.json"),
            )?;
        }
        made += files;
    }
    assert!(made as u64 * 2 >= count, "only {made} sheets in {count} jobs");
    Ok(())
}
