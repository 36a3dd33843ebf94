//! What is booked is what was planned: plans changed by hand, set otherwise, beside other maps; holds; backups; what is said of it.

use cullet_tests::Checked;
use cullet_tests::workshop::{all, command, cullet, ends, racked, shop};
use serde_json::{Value, json};
use std::fs;

/// A plan's piece, its edges changed as a text editor would.
#[test]
fn recut_takes_no_plan_that_check_refuses() -> Checked {
    let bench = shop()?;
    let plan = racked("shop.rack", "out");
    ends(&bench, &plan, 0)?;
    ends(&bench, &["book", "out/plan.json", "--rack", "shop.rack"], 0)?;
    let whole: Value = serde_json::from_str(&fs::read_to_string(bench.path("out/plan.json"))?)?;
    type Tamper = fn(&mut Value);
    let tampers: [(&str, Tamper); 6] = [
        ("a piece made smaller", |plan| {
            plan["job"]["panels"][0]["pieces"][0]["outline"] = json!([[0, 0], [20, 0], [20, 30], [0, 30]]);
        }),
        ("a piece moved", |plan| {
            plan["glasses"][0]["layouts"][0]["placements"][0]["pose"]["x"] = json!(3.0);
        }),
        ("figures changed", |plan| plan["figures"]["cullet"] = json!(0.0)),
        ("breaks missing", |plan| {
            plan["glasses"][0]["layouts"][0]["breaking"]["steps"] = json!([]);
        }),
        ("a layout's tag changed", |plan| {
            let tag = &mut plan["glasses"][0]["layouts"][0]["stock"]["tag"];
            *tag = json!(if *tag == "A.7" { "A.8" } else { "A.7" });
        }),
        ("another seed noted", |plan| plan["effort"]["seed"] = json!(99)),
    ];
    let before = ends(&bench, &["rack", "export", "--rack", "shop.rack"], 0)?;
    for (case, tamper) in tampers {
        let mut plan = whole.clone();
        tamper(&mut plan);
        bench.write("false.json", &plan.to_string())?;
        let refused = |args: &[&str]| -> Checked {
            let output = cullet(&bench, args)?;
            let err = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(5), "{case}: {err}");
            Ok(())
        };
        refused(&["check", "false.json"])?;
        refused(&["book", "false.json", "--rack", "shop.rack"])?;
        refused(&[
            "recut",
            "false.json",
            "--piece",
            "P1",
            "--rack",
            "shop.rack",
            "--out",
            "again",
        ])?;
        assert!(!bench.path("again").exists(), "{case}");
    }
    assert_eq!(ends(&bench, &["rack", "export", "--rack", "shop.rack"], 0)?, before);
    Ok(())
}

/// Bought glass is not on the rack to be missed: only the plan's own name keeps it from being booked again.
#[test]
fn a_plan_set_otherwise_is_not_booked_again() -> Checked {
    let bench = shop()?;
    bench.write(
        "buy.csv",
        "kind,tag,glass,units,width,height,count\nsheet,BUY,A,mm,610,700,buy\n",
    )?;
    ends(&bench, &["rack", "import", "buy.csv", "--rack", "buy.rack"], 0)?;
    let plan = racked("buy.rack", "out");
    ends(&bench, &plan, 0)?;
    ends(&bench, &["book", "out/plan.json", "--rack", "buy.rack"], 0)?;
    let text = fs::read_to_string(bench.path("out/plan.json"))?;
    let pretty = serde_json::to_string_pretty(&serde_json::from_str::<Value>(&text)?)?;
    // As programs write numbers that know no whole ones.
    bench.write("pretty.json", &pretty.replace(".0,\n", ",\n").replace(".0\n", "\n"))?;
    ends(&bench, &["check", "pretty.json"], 0)?;
    assert!(ends(&bench, &["book", "pretty.json", "--rack", "buy.rack"], 6)?.contains("booked already"));
    // Without the list of its files, as an earlier version wrote it, and with another seed.
    let mut old: Value = serde_json::from_str(&text)?;
    old.as_object_mut().ok_or("a plan")?.remove("files");
    old["effort"]["seed"] = json!(99);
    old["format"] = json!("cullet-plan 3");
    bench.write("old.json", &old.to_string())?;
    ends(&bench, &["check", "old.json"], 0)?;
    assert!(ends(&bench, &["book", "old.json", "--rack", "buy.rack"], 6)?.contains("booked already"));
    let history = ends(&bench, &["rack", "history", "--rack", "buy.rack"], 0)?;
    assert_eq!(history.matches("Z book").count(), 1, "{history}");
    ends(&bench, &["book", "pretty.json", "--rack", "buy.rack", "--undo"], 0)?;
    Ok(())
}

/// Maps of another plan beside it: what lies on the bench is not what would be booked.
#[test]
fn a_plan_beside_other_maps_is_not_booked() -> Checked {
    let bench = shop()?;
    let plan = racked("shop.rack", "out");
    ends(&bench, &plan, 0)?;
    let map = fs::read_to_string(bench.path("out/sheet-1.svg"))?;
    bench.write("out/sheet-1.svg", &map.replace("<path", "<path "))?;
    for args in [
        &["check", "out/plan.json"][..],
        &["book", "out/plan.json", "--rack", "shop.rack"],
    ] {
        assert!(
            ends(&bench, args, 5)?.contains("sheet-1.svg is not the one"),
            "{args:?}"
        );
    }
    bench.write("out/sheet-1.svg", &map)?;
    // Sent alone it is a plan as well.
    fs::create_dir(bench.path("mail"))?;
    fs::copy(bench.path("out/plan.json"), bench.path("mail/plan.json"))?;
    ends(&bench, &["check", "mail/plan.json"], 0)?;
    ends(&bench, &["book", "mail/plan.json", "--rack", "shop.rack"], 0)?;
    Ok(())
}

/// A plan that glass is held for is not replaced: nothing would be left to release it with.
#[test]
fn a_hold_is_not_orphaned() -> Checked {
    let bench = shop()?;
    let hold = [
        "plan",
        "job.json",
        "--rack",
        "shop.rack",
        "--rounds",
        "1",
        "--out",
        "out",
        "--hold",
    ];
    ends(&bench, &hold, 0)?;
    let before = all(&bench.path("out"))?;
    assert!(ends(&bench, &hold, 2)?.contains("a plan that glass is held for"));
    assert!(ends(&bench, &hold[..8], 2)?.contains("a plan that glass is held for"));
    assert_eq!(all(&bench.path("out"))?, before);
    ends(&bench, &["rack", "release", "out/plan.json", "--rack", "shop.rack"], 0)?;
    ends(&bench, &hold, 0)?;
    let listed = ends(&bench, &["rack", "list", "--rack", "shop.rack"], 0)?;
    assert_eq!(listed.matches("held for").count(), 1, "{listed}");
    // Only a rack can hold anything.
    let list = [
        "plan",
        "job.json",
        "--stock",
        "stock.csv",
        "--hold",
        "--rounds",
        "1",
        "--out",
        "listed",
    ];
    ends(&bench, &list, 2)?;
    assert!(!bench.path("listed").exists());
    Ok(())
}

/// Escape codes in a list are refused, and none of it or of a file's name reaches a terminal.
#[test]
fn what_others_wrote_does_not_move_the_terminal() -> Checked {
    let bench = shop()?;
    let list = |place: &str| format!("kind,tag,glass,units,width,height,count,place\nsheet,X,A,mm,700,600,1,{place}\n");
    let import = ["rack", "import", "list.csv", "--rack", "shop.rack"];
    bench.write("list.csv", &list("bay\u{1b}[2J"))?;
    let told = ends(&bench, &import, 2)?;
    assert!(told.contains("line 2") && !told.contains('\u{1b}'), "{told}");
    bench.write("list.csv", &list("bay\u{202e}1"))?;
    ends(&bench, &import, 0)?;
    for args in [
        &["rack", "list", "--rack", "shop.rack"][..],
        &["rack", "show", "X", "--rack", "shop.rack"],
    ] {
        let told = ends(&bench, args, 0)?;
        assert!(!told.contains(['\u{1b}', '\u{202e}']), "{told}");
    }
    let told = ends(&bench, &["check", "no\u{1b}[2Jplan.json"], 2)?;
    assert!(!told.contains('\u{1b}') && told.contains("\\u{1b}"), "{told}");
    Ok(())
}

/// A list or an entry that is refused leaves no rack behind where there was none.
#[test]
fn what_is_refused_makes_no_rack() -> Checked {
    let bench = shop()?;
    let twice = "kind,tag,glass,units,width,height,count\nsheet,A.1,A,mm,700,600,1\nsheet,A,A,mm,700,600,2\n";
    bench.write("twice.csv", twice)?;
    ends(&bench, &["rack", "import", "twice.csv", "--rack", "new.rack"], 2)?;
    let add = [
        "rack", "add", "offcut", "--rack", "new.rack", "--glass", "A", "--width", "-3", "--height", "5",
    ];
    ends(&bench, &add, 2)?;
    assert!(
        !bench.names("")?.iter().any(|name| name.contains("new.rack")),
        "{:?}",
        bench.names("")?
    );
    Ok(())
}

/// A copy made while another process has the rack open has its last booking; one of the file alone need not.
#[test]
fn a_backup_is_whole_and_reads_on_its_own() -> Checked {
    let bench = shop()?;
    let mut open = cullet_rack::Rack::open(&bench.path("shop.rack"))?;
    open.audit()?;
    ends(&bench, &["rack", "throw-away", "A.1", "--rack", "shop.rack"], 0)?;
    ends(&bench, &["rack", "backup", "copy.rack", "--rack", "shop.rack"], 0)?;
    let list = |rack: &str| ends(&bench, &["rack", "export", "--rack", rack], 0);
    assert_eq!(list("copy.rack")?, list("shop.rack")?);
    assert!(!list("copy.rack")?.contains("A.1,"));
    ends(&bench, &["rack", "audit", "--rack", "copy.rack"], 0)?;
    assert!(ends(&bench, &["rack", "backup", "copy.rack", "--rack", "shop.rack"], 2)?.contains("a new name"));
    assert!(ends(&bench, &["rack", "backup", "job.json", "--rack", "shop.rack"], 2)?.contains("a new name"));
    drop(open);
    Ok(())
}

/// Standard output that takes nothing does not make what was booked undone.
#[cfg(target_os = "linux")]
#[test]
fn a_booking_that_cannot_be_told_is_still_a_booking() -> Checked {
    let bench = shop()?;
    let plan = racked("shop.rack", "out");
    ends(&bench, &plan, 0)?;
    let output = command(&bench, &["book", "out/plan.json", "--rack", "shop.rack"])
        .stdout(fs::OpenOptions::new().write(true).open("/dev/full")?)
        .output()?;
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{err}");
    assert!(
        err.contains("map 1: keep 1a → R1 A") && err.contains("it was done all the same"),
        "{err}"
    );
    let lost = command(&bench, &["rack", "list", "--rack", "shop.rack"])
        .stdout(fs::OpenOptions::new().write(true).open("/dev/full")?)
        .output()?;
    assert_eq!(lost.status.code(), Some(1));
    Ok(())
}
