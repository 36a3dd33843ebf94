//! The rack as a workshop uses it: the program as a process, files and exit codes.

use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, rectangle, sheets};
use serde_json::Value;
use std::error::Error;
use std::fs;
use std::process::{Command, Output};

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// The program at a bench: paths in `args` are names on it where they have an ending.
fn cullet(bench: &Bench, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cullet"));
    Ok(command.args(args).current_dir(bench.path("")).output()?)
}

/// The same, asserting the exit code; returns both outputs one after the other.
#[track_caller]
fn done(bench: &Bench, args: &[&str], code: i32) -> Result<String, Box<dyn Error>> {
    let output = cullet(bench, args)?;
    let all = text(&output.stdout) + &text(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{args:?}: {all}");
    Ok(all)
}

fn small_job() -> Value {
    job(
        &[bare_glass("A", 3.0)],
        2,
        &[rectangle("1", "A", 200.0, 300.0), rectangle("2", "A", 150.0, 100.0)],
    )
}

/// A bench with a job and a rack of three sheets.
fn shop() -> Result<Bench, Box<dyn Error>> {
    let bench = Bench::new()?;
    bench.write("job.json", &small_job().to_string())?;
    let stock = sheets(&[Sheet {
        tag: "A",
        glass: "A",
        width: 700.0,
        height: 600.0,
        count: 3,
    }]);
    bench.write("stock.csv", &stock)?;
    done(&bench, &["rack", "import", "stock.csv", "--rack", "shop.rack"], 0)?;
    Ok(bench)
}

const PLAN: [&str; 8] = [
    "plan",
    "job.json",
    "--rack",
    "shop.rack",
    "--rounds",
    "2",
    "--out",
    "out",
];

#[test]
fn from_plan_to_booking_and_back() -> Checked {
    let bench = shop()?;
    done(&bench, &[&PLAN[..], &["--hold"]].concat(), 0)?;
    let checked = bench.checked_plan()?;
    assert_eq!(checked.rack.map(|state| state.revision), Some(1));
    let tag = &checked.glasses[0].layouts[0].stock.tag;
    assert!(done(&bench, &["rack", "list", "--rack", "shop.rack"], 0)?.contains("held for"));

    let before = done(&bench, &["rack", "export", "--rack", "shop.rack"], 0)?;
    let book = ["book", "out/plan.json", "--rack", "shop.rack"];
    let booked = done(&bench, &book, 0)?;
    assert!(
        booked.contains(&format!("map 1: out {tag}")) && booked.contains("map 1: keep 1a → R1 A"),
        "{booked}"
    );
    assert!(done(&bench, &book, 6)?.contains("booked already"));
    let shown = done(
        &bench,
        &["rack", "show", "R1", "--rack", "shop.rack", "--out", "r1.svg"],
        0,
    )?;
    assert!(shown.contains(tag), "{shown}");
    assert!(fs::read_to_string(bench.path("r1.svg"))?.contains("<svg"));
    done(
        &bench,
        &["rack", "labels", "--rack", "shop.rack", "--out", "labels.html"],
        0,
    )?;
    assert!(fs::read_to_string(bench.path("labels.html"))?.contains(">R1<"));
    done(&bench, &["rack", "audit", "--rack", "shop.rack"], 0)?;

    done(&bench, &[&book[..], &["--undo"]].concat(), 0)?;
    assert_eq!(done(&bench, &["rack", "export", "--rack", "shop.rack"], 0)?, before);
    assert!(done(&bench, &["rack", "release", "out/plan.json", "--rack", "shop.rack"], 0)?.contains("Released"));
    let history = done(&bench, &["rack", "history", "--rack", "shop.rack"], 0)?;
    for kind in ["import", "hold", "book", "undo booking", "release"] {
        assert!(history.contains(&format!("Z {kind}")), "{kind} is not in\n{history}");
    }
    Ok(())
}

#[test]
fn a_plan_is_verified_before_it_is_booked() -> Checked {
    let bench = shop()?;
    done(&bench, &PLAN, 0)?;
    let mut plan: Value = serde_json::from_str(&fs::read_to_string(bench.path("out/plan.json"))?)?;
    let placements = &mut plan["glasses"][0]["layouts"][0]["placements"];
    placements[0]["pose"] = placements[1]["pose"].clone();
    bench.write("false.json", &plan.to_string())?;
    let before = fs::read(bench.path("shop.rack"))?;
    assert!(done(&bench, &["book", "false.json", "--rack", "shop.rack"], 5)?.contains("overlap"));
    assert!(before == fs::read(bench.path("shop.rack"))?, "the rack was touched");
    Ok(())
}

#[test]
fn a_plan_from_a_list_or_of_another_rack_is_refused() -> Checked {
    let bench = shop()?;
    let args = [
        "plan",
        "job.json",
        "--stock",
        "stock.csv",
        "--rounds",
        "1",
        "--out",
        "listed",
    ];
    done(&bench, &args, 0)?;
    assert!(done(&bench, &["book", "listed/plan.json", "--rack", "shop.rack"], 2)?.contains("stock list"));
    done(&bench, &PLAN, 0)?;
    done(&bench, &["rack", "import", "stock.csv", "--rack", "other.rack"], 0)?;
    assert!(done(&bench, &["book", "out/plan.json", "--rack", "other.rack"], 2)?.contains("another rack"));
    assert!(
        done(&bench, &["rack", "import", "stock.csv", "--rack", "shop.rack"], 6)?.contains("line 2, column \"tag\"")
    );
    Ok(())
}

#[test]
fn glass_taken_meanwhile_is_named() -> Checked {
    let bench = shop()?;
    done(&bench, &PLAN, 0)?;
    let tag = bench.checked_plan()?.glasses[0].layouts[0].stock.tag.clone();
    done(
        &bench,
        &["rack", "correct", &tag, "--rack", "shop.rack", "--place", "B7"],
        0,
    )?;
    done(
        &bench,
        &["rack", "throw-away", &tag, "--rack", "shop.rack", "--why", "fell"],
        0,
    )?;
    let told = done(&bench, &["book", "out/plan.json", "--rack", "shop.rack"], 6)?;
    assert!(
        told.contains(&format!("tag {tag}: found glass already taken: it is thrown away")),
        "{told}"
    );
    Ok(())
}

#[test]
fn everything_wrong_with_an_entry_is_named() -> Checked {
    let bench = shop()?;
    let args = [
        "rack",
        "add",
        "offcut",
        "--rack",
        "shop.rack",
        "--glass",
        "A",
        "--width",
        "-3",
        "--height",
        "x",
    ];
    let told = done(&bench, &args, 2)?;
    assert!(
        told.contains("command line: --width: ") && told.contains("command line: --height: "),
        "{told}"
    );
    let args = [
        "rack",
        "add",
        "offcut",
        "--rack",
        "shop.rack",
        "--glass",
        "A",
        "--outline",
        "0 0; 300 0; 0 200",
    ];
    assert!(done(&bench, &args, 0)?.contains("Entered: R1"));
    let args = [
        "rack",
        "add",
        "sheet",
        "--rack",
        "shop.rack",
        "--glass",
        "A",
        "--units",
        "in",
        "--width",
        "24 1/2",
        "--height",
        "48",
        "--count",
        "2",
        "--tag",
        "IN",
    ];
    assert!(done(&bench, &args, 0)?.contains("IN.1, IN.2"));
    let args = [
        "rack",
        "find",
        "--rack",
        "shop.rack",
        "--glass",
        "A",
        "--size",
        "24 1/2x40",
        "--units",
        "in",
    ];
    let found = done(&bench, &args, 0)?;
    assert!(found.contains("IN.1") && !found.contains("R1"), "{found}");
    assert!(done(&bench, &["rack", "show", "in1", "--rack", "shop.rack"], 2)?.contains("Did you mean IN.1?"));
    Ok(())
}

#[test]
fn slips_on_the_command_line_are_guessed() -> Checked {
    let bench = shop()?;
    let swapped = ["plan", "stock.csv", "--stock", "job.json", "--out", "o"];
    assert!(done(&bench, &swapped, 2)?.contains("the other way round"));
    let args = ["plan", "job.json", "--stock", "job.json", "--out", "o"];
    assert!(done(&bench, &args, 2)?.contains("expected a stock list (CSV)"));
    done(&bench, &PLAN, 0)?;
    assert!(done(&bench, &["check", "out"], 2)?.contains("out/plan.json"));
    for args in [
        &["check", "none.json"][..],
        &["plan", "out", "--stock", "out", "--out", "o"],
    ] {
        let told = done(&bench, args, 2)?;
        assert!(!told.contains("os error"), "{told}");
    }
    assert_eq!(
        cullet(&bench, &["plan", "job.json", "--out", "o"])?.status.code(),
        Some(2)
    );
    Ok(())
}
