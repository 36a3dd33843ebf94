//! Files for the cutting table: written beside a plan, read back, planted faults found, and judged by programs from outside.
#![allow(
    clippy::print_stdout,
    reason = "how many files others judged is the point; cargo shows it with --nocapture"
)]

use cullet::Exit;
use cullet_tests::any_job::any_job;
use cullet_tests::{Bench, Checked, Outcome, names, passed_over, typed};
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

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

/// The blocks of a file from a travel to the wheel's being lifted, as ranges of lines; those with a straight score only.
fn straight_blocks(lines: &[&str]) -> Vec<(usize, usize)> {
    let starts = lines
        .iter()
        .enumerate()
        .filter(|(_, line)| line.starts_with("G0 "))
        .map(|(k, _)| k);
    let blocks = starts.filter_map(|k| Some((k, k + lines[k..].iter().position(|line| *line == "M9")?)));
    blocks
        .filter(|(a, b)| {
            lines[*a..*b]
                .iter()
                .filter(|line| line.starts_with('G') && !line.starts_with("G4"))
                .count()
                == 2
        })
        .collect()
}

/// The number behind a letter changed.
fn with(line: &str, letter: char, change: impl Fn(f64) -> f64) -> String {
    let words = line.split(' ').map(
        |word| match word.strip_prefix(letter).and_then(|n| n.parse::<f64>().ok()) {
            Some(number) => format!("{letter}{:.4}", change(number)),
            None => word.to_owned(),
        },
    );
    words.collect::<Vec<_>>().join(" ")
}

#[test]
fn planted_faults_are_found() -> Checked {
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let good = text(&bench.path("out").join("sheet-1.ngc"))?;
    let lines: Vec<&str> = good.lines().collect();
    let blocks = straight_blocks(&lines);
    assert!(blocks.len() > 3, "{} straight scores", blocks.len());
    let edited = |edit: &dyn Fn(&mut Vec<String>, usize, usize)| {
        let (a, b) = blocks[blocks.len() / 2];
        let mut lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
        edit(&mut lines, a, b);
        lines.join("\n") + "\n"
    };
    let arc = lines.iter().position(|line| line.starts_with("G3 ")).ok_or("no arc")?;
    // At places all over the sheet: some lie in pieces.
    let places = (1..20).flat_map(|x| (1..16).map(move |y| (30 * x, 30 * y)));
    let all_over: String = places
        .map(|(x, y)| format!("G0 X{x}.0000 Y{y}.0000 C0.0000\nM3\nM5\n"))
        .collect();
    let cases: Vec<(&str, String, &str)> = vec![
        (
            "a score left out",
            edited(&|l, a, b| drop(l.drain(a..=b))),
            "is not scored",
        ),
        (
            "a score doubled",
            edited(&|l, a, b| {
                let twice = l[a..=b].to_vec();
                l.splice(b + 1..b + 1, twice);
            }),
            "scored twice",
        ),
        (
            "0.05 mm off",
            edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(&with(line, 'X', |x| x + 0.05), 'Y', |y| y + 0.05);
                }
            }),
            "off the nearest break",
        ),
        (
            "turned by 2°",
            edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'C', |c| c + 2.0);
                }
            }),
            "off its path",
        ),
        (
            "down in a travel",
            edited(&|l, a, b| {
                l.retain({
                    let mut k = 0;
                    move |line| {
                        k += 1;
                        !(k > a + 1 && k <= b + 1 && line == "M5")
                    }
                })
            }),
            "with the wheel down",
        ),
        (
            "the wrong mirror",
            edited(&|l, _, _| {
                for line in l.iter_mut() {
                    *line = with(line, 'X', |x| 600.0 - x);
                }
            }),
            "off the nearest break",
        ),
        (
            "beyond the edge",
            edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'X', |x| x - 620.0);
                }
            }),
            "beyond the sheet's edge",
        ),
        (
            "off the table",
            edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'Y', |y| y - 3000.0);
                }
            }),
            "off the table",
        ),
        (
            "wound too far",
            edited(&|l, a, b| {
                for line in &mut l[a..=b] {
                    *line = with(line, 'C', |c| c + 1440.0);
                }
            }),
            "the cable allows",
        ),
        (
            "an arc off its circle",
            edited(&|l, _, _| l[arc] = with(&with(&l[arc], 'X', |x| x + 0.05), 'Y', |y| y + 0.07)),
            "",
        ),
        (
            "an arc the other way",
            edited(&|l, _, _| l[arc] = l[arc].replace("G3", "G2")),
            "off its path",
        ),
        ("no unit", good.replace("G17 G21 G40", "G17 G40"), "no unit"),
        ("a foreign word", good.replace("G61", "G64"), "none of this table's"),
        ("cut short", good.replace("M2\n", ""), "does not end with M2"),
        (
            "a score with the wheel up",
            edited(&|l, a, b| {
                l.retain({
                    let mut k = 0;
                    move |line| {
                        k += 1;
                        !(k > a + 1 && k <= b + 1 && (line == "M3" || line == "M5"))
                    }
                })
            }),
            "with the wheel up",
        ),
        (
            "lowered inside a piece",
            good.replace("M2\n", &format!("{all_over}M2\n")),
            "lowered inside a piece",
        ),
    ];
    for (what, text, expected) in &cases {
        let said = checked(&bench, text, "ngc")?;
        assert_eq!(said.exit, Exit::DoesNotHold, "{what}: {}", said.out);
        assert!(said.err.contains(expected), "{what}: {}", said.err);
    }
    let good = text(&bench.path("out").join("sheet-1.dxf"))?;
    let at = good
        .find("0\nLINE\n8\nSCORE\n")
        .or(good.find("0\nLINE\n8\nTRIM\n"))
        .ok_or("no line")?;
    let end = at + 2 + good[at + 2..].find("\n0\n").ok_or("no end")? + 1;
    for (what, text, expected) in [
        ("left out", format!("{}{}", &good[..at], &good[end..]), "is not scored"),
        (
            "doubled",
            format!("{}{}{}", &good[..end], &good[at..end], &good[end..]),
            "scored twice",
        ),
        (
            "a foreign layer",
            good.replace("\nGAUGE\n", "\nOTHER\n"),
            "none of these files'",
        ),
    ] {
        let said = checked(&bench, &text, "dxf")?;
        assert_eq!(said.exit, Exit::DoesNotHold, "DXF, {what}");
        assert!(said.err.contains(expected), "DXF, {what}: {}", said.err);
    }
    Ok(())
}

/// Every kind of table there is writes files that pass, and another table's check refuses them.
#[test]
fn corners_wheels_and_units() -> Checked {
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let plan = bench.path("out").join("plan.json").display().to_string();
    let mut number = 0;
    let mut made = |table: &Value| -> Result<(Outcome, PathBuf, String), Box<dyn std::error::Error>> {
        number += 1;
        let shop = bench
            .write(&format!("shop-{number}.json"), &shop(table))?
            .display()
            .to_string();
        let out = bench.path(&format!("table-{number}"));
        let said = typed(&[
            "table",
            &plan,
            "--shop",
            &shop,
            "--sheet",
            "1",
            "--out",
            &out.display().to_string(),
        ]);
        Ok((said, out.join("sheet-1.ngc"), shop))
    };
    let changed = |changes: &[(&str, Value)]| {
        let mut table = table();
        for (field, value) in changes {
            table[*field] = value.clone();
        }
        table
    };
    let (_, first, own) = made(&table())?;
    let caster = json!({"kind": "caster", "trail": 2.5});
    for (what, changes) in [
        ("lower right", vec![("corner", json!("lower-right"))]),
        (
            "upper left, X upright",
            vec![("corner", json!("upper-left")), ("x_runs", json!("upright"))],
        ),
        (
            "upper right, offset",
            vec![("corner", json!("upper-right")), ("offset", json!([30.5, 12.25]))],
        ),
        ("inches", vec![("file_units", json!("in"))]),
        (
            "all axes",
            vec![("feed", json!("all-axes")), ("line_numbers", json!(true))],
        ),
        (
            "from 0 to 360",
            vec![(
                "wheel",
                json!({"kind": "steered", "letter": "A", "angles": "modulo", "zero": 90}),
            )],
        ),
        (
            "a short cable",
            vec![("wheel", json!({"kind": "steered", "cable": 361}))],
        ),
        ("a caster", vec![("wheel", caster), ("offset", json!([20, 20]))]),
        (
            "beyond the edge",
            vec![("edge_run", json!(-3)), ("offset", json!([20, 20]))],
        ),
        ("the hardest first", vec![("hardest_first", json!(true))]),
        ("crossings", vec![("may_cross", json!(true))]),
    ] {
        let (said, file, shop) = made(&changed(&changes))?;
        assert_eq!(said.exit, Exit::Done, "{what}: {}", said.err);
        let file = file.display().to_string();
        let said = typed(&["table", "--check", &file, &plan, "--shop", &shop]);
        assert_eq!(said.exit, Exit::Done, "{what}: {}", said.err);
        if ![
            "inches",
            "all axes",
            "a short cable",
            "the hardest first",
            "crossings",
            "beyond the edge",
        ]
        .contains(&what)
        {
            let said = typed(&["table", "--check", &first.display().to_string(), &plan, "--shop", &shop]);
            assert_eq!(said.exit, Exit::DoesNotHold, "{what}: the first table's file passes");
        }
    }
    let said = typed(&["table", "--check", &first.display().to_string(), &plan, "--shop", &own]);
    assert_eq!(said.exit, Exit::Done, "{}", said.err);
    // What a table cannot score.
    let (said, file, _) = made(&changed(&[("size", json!([590, 490]))]))?;
    assert!(
        said.exit == Exit::BadInput && said.err.contains("map 1, tag S 1") && !file.exists(),
        "{}",
        said.err
    );
    let (said, file, _) = made(&changed(&[(
        "lines",
        json!([{"up_to": 2, "down": ["M3"], "up": ["M5"]}]),
    )]))?;
    assert!(
        said.exit == Exit::BadInput && said.err.contains("3 mm thick") && !file.exists(),
        "{}",
        said.err
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
    let moved = text(&plan)?.replacen("\"x\":", "\"x\":1", 1);
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

/// The interpreter of RS-274/NGC that Debian ships (package linuxcnc-uspace), where it is: in the path, or in `CULLET_RS274`.
fn interpreter() -> Option<PathBuf> {
    let named = std::env::var_os("CULLET_RS274").map(PathBuf::from);
    let in_path = || {
        let path = std::env::var_os("PATH")?;
        std::env::split_paths(&path)
            .map(|folder| folder.join("rs274"))
            .find(|file| file.is_file())
    };
    named.or_else(in_path)
}

/// Has the interpreter read a file, writes what it would do as G-code again, and has that checked against the plan.
fn interpreted(bench: &Bench, file: &Path, plan: &Path) -> Result<bool, Box<dyn std::error::Error>> {
    let Some(program) = interpreter() else { return Ok(false) };
    let (tools, variables) = (bench.write("tools.tbl", "")?, bench.write("variables.var", "")?);
    let ran = Command::new(program)
        .args(["-g", "-t"])
        .arg(tools)
        .arg("-v")
        .arg(variables)
        .arg(file)
        .output()?;
    let moves = String::from_utf8_lossy(&ran.stdout).into_owned();
    assert!(
        ran.status.success(),
        "{}: {}{moves}",
        file.display(),
        String::from_utf8_lossy(&ran.stderr)
    );
    let mut again = String::from("G17 G21 G40\nG90 G94\nG61\n");
    let (mut x, mut y) = (0.0, 0.0);
    for line in moves.lines() {
        let Some((name, rest)) = line.split_once("..... ").and_then(|(_, rest)| rest.split_once('(')) else {
            continue;
        };
        let n: Vec<f64> = rest
            .trim_end_matches(')')
            .split(',')
            .filter_map(|n| n.trim().parse().ok())
            .collect();
        match (name, n.as_slice()) {
            ("STRAIGHT_TRAVERSE", [a, b, .., c]) => {
                again += &format!("G0 X{a:.4} Y{b:.4} C{c:.4}\n");
                (x, y) = (*a, *b);
            }
            ("STRAIGHT_FEED", [a, b, .., c]) => {
                again += &format!("G1 X{a:.4} Y{b:.4} C{c:.4} F1\n");
                (x, y) = (*a, *b);
            }
            ("ARC_FEED", [a, b, i, j, way, .., c]) => {
                let g = if *way > 0.0 { "G3" } else { "G2" };
                again += &format!("F1\n{g} X{a:.4} Y{b:.4} I{:.4} J{:.4} C{c:.4}\n", i - x, j - y);
                (x, y) = (*a, *b);
            }
            ("START_SPINDLE_CLOCKWISE", _) => again += "M3\n",
            ("STOP_SPINDLE_TURNING", _) if again.contains("M3") && again.rfind("M3") > again.rfind("M5") => {
                again += "M5\n"
            }
            _ => {}
        }
    }
    again += "M2\n";
    let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let again = bench.write(&name, &again)?.display().to_string();
    let said = typed(&["table", "--check", &again, &plan.display().to_string()]);
    assert_eq!(said.exit, Exit::Done, "as interpreted, {name}: {}", said.err);
    Ok(true)
}

/// Folders with table files and the plans that they are for: a small one, and those of the plans that `CULLET_TABLE_PLANS` names, parted
/// by colons.
fn made(bench: &Bench) -> Result<Vec<(PathBuf, PathBuf)>, Box<dyn std::error::Error>> {
    let out = bench.path("out");
    let mut made = vec![(out.clone(), out.join("plan.json"))];
    let shop = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/table/shop.json");
    let more = std::env::var("CULLET_TABLE_PLANS").unwrap_or_default();
    for (k, plan) in more.split(':').filter(|plan| !plan.is_empty()).enumerate() {
        let folder = bench.path(&format!("more{k}"));
        let said = typed(&["table", plan, "--shop", shop, "--out", &folder.display().to_string()]);
        assert_eq!(said.exit, Exit::Done, "{plan}: {}", said.err);
        made.push((folder, PathBuf::from(plan)));
    }
    Ok(made)
}

#[test]
fn the_open_interpreter_does_what_the_plan_says() -> Checked {
    if interpreter().is_none() {
        return Ok(passed_over(
            "G-code in the RS-274/NGC interpreter (rs274 of the package linuxcnc-uspace is missing)",
        )?);
    }
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let mut count = 0;
    for (folder, plan) in made(&bench)? {
        for name in names(&folder)?.iter().filter(|name| name.ends_with(".ngc")) {
            assert!(interpreted(&bench, &folder.join(name), &plan)?);
            count += 1;
        }
    }
    println!("{count} files of G-code interpreted");
    Ok(())
}

/// `ezdxf` (M. Moitzi; PyPI) audits the drawings and finds the lengths that the program says.
#[test]
fn a_general_library_reads_the_drawing() -> Checked {
    let python = std::env::var("CULLET_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python).args(["-c", "import ezdxf"]).output();
    if !has.is_ok_and(|ran| ran.status.success()) {
        return Ok(passed_over(
            "DXF in ezdxf (pip install ezdxf, or name a Python that has it in CULLET_PYTHON)",
        )?);
    }
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let mut count = 0;
    for (folder, _) in made(&bench)? {
        for name in names(&folder)?.iter().filter(|name| name.ends_with(".dxf")) {
            let ran = Command::new(&python)
                .args(["-c", LENGTH])
                .arg(folder.join(name))
                .output()?;
            assert!(ran.status.success(), "{name}: {}", String::from_utf8_lossy(&ran.stderr));
            let found = String::from_utf8_lossy(&ran.stdout).trim().to_owned();
            let ngc = text(&folder.join(name.replace(".dxf", ".ngc")))?;
            assert!(
                ngc.contains(&format!("(- {found} m of scores")),
                "{name}: {found} m by ezdxf"
            );
            count += 1;
        }
    }
    println!("{count} drawings read");
    Ok(())
}

/// Audits a drawing and prints the length of its scores in metres.
const LENGTH: &str = "
import sys, math, ezdxf
doc = ezdxf.readfile(sys.argv[1])
assert not doc.audit().has_errors
def arc(p, q, bulge):
    chord, turn = math.dist(p, q), 4 * math.atan(abs(bulge))
    return chord if turn == 0 else chord / 2 / math.sin(turn / 2) * turn
total = 0
for e in doc.modelspace():
    if e.dxf.layer in ('SCORE', 'RELIEF', 'TRIM'):
        if e.dxftype() == 'LINE': total += math.dist(e.dxf.start, e.dxf.end)
        elif e.dxftype() == 'ARC': total += math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360) * e.dxf.radius
        else:
            v = [(tuple(p.dxf.location)[:2], p.dxf.bulge) for p in e.vertices]
            total += sum(arc(a[0], b[0], a[1]) for a, b in zip(v, v[1:]))
print(f'{total / 1000:.1f}')
";
