//! Glass for a piece that broke: the smallest that gives it, and a workshop's day with one.
#![expect(clippy::print_stdout, reason = "what the long run measured, with --nocapture")]

use cullet::Exit;
use cullet_job::Job;
use cullet_model::Plan;
use cullet_planner::recut::{first_that_do, on};
use cullet_rack::{Stock, StockItem};
use cullet_tests::shapes::Random;
use cullet_tests::{Bench, Checked, bare_glass, job, piece, rectangle, run};
use cullet_verify::verify;
use rayon::prelude::*;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

/// A random offcut as a line of a stock list: a rectangle with one corner cut off, its grain turned, some with a flaw.
fn offcut(r: &mut Random, number: usize) -> String {
    let (w, h) = (r.within(60.0, 900.0), r.within(40.0, 500.0));
    let (x, y) = (w * r.within(0.4, 1.0), h * r.within(0.4, 1.0));
    let grain = if r.next() < 0.5 { 90.0 } else { 180.0 * r.next() };
    let flaw = if r.next() < 0.2 {
        // Where there is glass whatever corner is gone.
        let (x, y) = (0.4 * w * r.next(), 0.4 * h * r.next());
        format!("{x:.0} {y:.0} {:.0}", r.within(3.0, 20.0))
    } else {
        String::new()
    };
    format!("offcut,O{number},A,mm,1,0 0; {w:.1} 0; {w:.1} {y:.1}; {x:.1} {h:.1}; 0 {h:.1},{grain:.1},{flaw}\n")
}

fn rack(r: &mut Random, count: usize) -> String {
    let mut text = String::from("kind,tag,glass,units,count,outline,grain,flaws\n");
    (0..count).for_each(|i| text += &offcut(r, i));
    text
}

/// A rectangle, a hexagon or a piece with one round side, with or without a grain.
fn broken(r: &mut Random) -> Result<Job, Box<dyn std::error::Error>> {
    let (a, b) = (r.within(50.0, 300.0), r.within(40.0, 200.0));
    let piece = match (r.next() * 3.0) as u32 {
        0 => rectangle("1", "A", a, b),
        1 => {
            let corner = |k: u32| {
                let angle = f64::from(k) * std::f64::consts::FRAC_PI_3;
                [0.5 * a * angle.cos(), 0.5 * b * angle.sin()]
            };
            piece("1", "A", &(0..6).map(corner).collect::<Vec<_>>())
        }
        _ => {
            json!({ "number": "1", "glass": "A", "outline": format!("M0 0 H{a} V{b} Q{} {} 0 {b} Z", 0.5 * a, 1.3 * b) })
        }
    };
    let mut glass = bare_glass("A", 3.0);
    glass["narrowest_strip"] = json!(6.0);
    glass["edge_trim"] = json!(5.0);
    glass["grind_allowance"] = json!(0.5);
    if r.next() < 0.4 {
        glass["grain"] = json!("two-ways");
        glass["grain_tolerance"] = json!(3.0);
    }
    Ok(Job::read("job.json", &job(&[glass], 1, &[piece]).to_string())?)
}

/// The first that does is the first of all tried one by one, none passed over. `CULLET_RECUTS=50` takes 10,000 offcuts and 50
/// pieces; its record is in `benches/results/recut.md`.
#[test]
fn the_smallest_offcut_is_found() -> Checked {
    let long: Option<u64> = std::env::var("CULLET_RECUTS").ok().and_then(|n| n.parse().ok());
    let (pieces, offcuts) = long.map_or((2, 60), |n| (n, 10_000));
    let mut r = Random(5);
    let stock = Stock::read_csv("rack.csv", &rack(&mut r, offcuts))?;
    let mut items: Vec<&StockItem> = stock.items.iter().collect();
    items.sort_by(|a, b| a.outline.area().total_cmp(&b.outline.area()));
    let (mut slowest, tried) = (0.0_f64, AtomicUsize::new(0));
    for number in 0..pieces {
        let job = broken(&mut r)?;
        let start = Instant::now();
        let found = first_that_do(&job, &items, 1).pop();
        slowest = slowest.max(start.elapsed().as_secs_f64());
        // All that come before it are tried, however small.
        let one_by_one = items.par_iter().copied().find_first(|item| {
            tried.fetch_add(1, Ordering::Relaxed);
            on(&job, item).is_some()
        });
        let tag = |item: Option<&StockItem>| item.map(|i| i.tag.clone());
        assert_eq!(tag(found.as_ref().map(|f| f.0)), tag(one_by_one), "piece {number}");
        if let Some((item, plan)) = found {
            assert_eq!(verify(&plan), []);
            println!("piece {number}: {}", item.tag);
        }
    }
    println!(
        "{pieces} pieces, {offcuts} offcuts: {} tried one by one, the slowest found in {slowest:.2} s",
        tried.into_inner()
    );
    Ok(())
}

/// Bench work with a rack: the job of one rectangle and a list of glass, planned and booked.
fn booked(bench: &Bench, job: &Value, stock: &str) -> Result<String, Box<dyn std::error::Error>> {
    let path = |name: &str| bench.path(name).display().to_string();
    bench.write("job.json", &job.to_string())?;
    bench.write("stock.csv", stock)?;
    for line in [
        vec!["rack", "import", &path("stock.csv"), "--rack", &path("rack")],
        vec![
            "plan",
            &path("job.json"),
            "--rack",
            &path("rack"),
            "--out",
            &path("out"),
            "--rounds",
            "8",
        ],
        vec!["book", &path("out/plan.json"), "--rack", &path("rack")],
    ] {
        let args: Vec<String> = line.iter().map(ToString::to_string).collect();
        let done = run(&args);
        if done.exit != Exit::Done {
            return Err(format!("{line:?}: {done:?}").into());
        }
    }
    Ok(path("out/plan.json"))
}

fn recut(bench: &Bench, plan: &str, pieces: &[&str], options: &[&str]) -> cullet_tests::Outcome {
    let path = |name: &str| bench.path(name).display().to_string();
    let mut args: Vec<String> = ["recut", plan, "--rack", &path("rack"), "--out", &path("again")]
        .map(String::from)
        .into();
    args.extend(pieces.iter().flat_map(|p| ["--piece".to_string(), (*p).to_string()]));
    args.extend(options.iter().map(ToString::to_string));
    run(&args)
}

/// One pane of 200 × 100 mm of glass A with a grain; the sheet leaves an offcut.
fn one_pane() -> Value {
    let mut glass = bare_glass("A", 3.0);
    glass["grain"] = json!("two-ways");
    glass["narrowest_strip"] = json!(6.0);
    job(&[glass], 1, &[rectangle("7", "A", 200.0, 100.0)])
}

#[test]
fn the_plans_own_offcut_goes_first() -> Checked {
    let bench = Bench::new()?;
    let stock = "kind,tag,glass,units,width,height,count\n\
                 sheet,S,A,mm,600,400,1\noffcut,SMALL,A,mm,50,40,1\n";
    let plan = booked(&bench, &one_pane(), stock)?;
    // Smaller than what came back from the sheet, but not of this plan; it comes in once the plan is booked.
    let path = |name: &str| bench.path(name).display().to_string();
    bench.write(
        "more.csv",
        "kind,tag,glass,units,width,height,count\noffcut,O1,A,mm,210,110,1\n",
    )?;
    let _ = run(&["rack", "import", &path("more.csv"), "--rack", &path("rack")].map(String::from));
    let looked = recut(&bench, &plan, &["P7"], &["--look"]);
    assert_eq!(looked.exit, Exit::Done, "{looked:?}");
    assert!(
        looked.out.contains("take  R") && looked.out.contains("or    O1"),
        "{}",
        looked.out
    );
    assert!(!bench.path("again").exists());
    let taken = recut(&bench, &plan, &["P 7"], &["--from", "O1"]);
    assert_eq!(taken.exit, Exit::Done, "{taken:?}");
    let again: Plan = serde_json::from_str(&fs::read_to_string(bench.path("again/plan.json"))?)?;
    assert_eq!((verify(&again), again.figures.pieces), (vec![], 1));
    let audit = run(&["rack", "audit", "--rack", &path("rack")].map(String::from));
    assert_eq!(audit.exit, Exit::Done, "{audit:?}");
    // The glass has gone; the same again is refused.
    let gone = recut(&bench, &plan, &["7"], &["--from", "O1"]);
    assert_eq!(gone.exit, Exit::Unplaced, "{gone:?}");
    Ok(())
}

/// What is left is 206 × 106 mm, its grain 7° off its sides: along the grain the pane of 200 × 100 mm would need 211 × 124 mm.
#[test]
fn the_rule_that_would_have_to_give_is_named() -> Checked {
    let bench = Bench::new()?;
    let stock = "kind,tag,glass,units,width,height,count,grain,price\n\
                 sheet,S,A,mm,200,100,1,90,\n\
                 offcut,ASKEW,A,mm,206,106,1,97,\n\
                 sheet,NEW,A,mm,600,400,buy,90,14.40\n";
    let plan = booked(&bench, &one_pane(), stock)?;
    let left = recut(&bench, &plan, &["7"], &[]);
    assert_eq!(left.exit, Exit::Unplaced, "{left:?}");
    // There is room to turn the pane by some 1.6° at most, so the grain is 5.4 to 7° off.
    let off = left
        .err
        .split("may lie ")
        .nth(1)
        .and_then(|t| t.split('°').next()?.parse::<f64>().ok());
    assert!(
        off.is_some_and(|off| (5.3..=7.0).contains(&off)) && left.err.contains("ASKEW"),
        "{}",
        left.err
    );
    assert!(left.err.contains("To buy: NEW, 600 × 400 mm, 14.40"), "{}", left.err);
    assert!(!bench.path("again").exists());
    Ok(())
}

#[test]
fn a_group_keeps_to_its_lot() -> Checked {
    let bench = Bench::new()?;
    let stock = "kind,tag,glass,units,width,height,count,lot\n\
                 sheet,S,A,mm,210,110,1,L1\n\
                 offcut,O1,A,mm,250,150,1,L2\n\
                 offcut,O2,A,mm,400,300,1,L1\n";
    let mut job = one_pane();
    job["glasses"][0]["grain"] = json!("none");
    job["panels"][0]["pieces"][0]["one_lot"] = json!("sky");
    let plan = booked(&bench, &job, stock)?;
    let text = fs::read_to_string(&plan)?;
    let first: Plan = serde_json::from_str(&text)?;
    let lot = first.glasses[0].layouts[0].stock.lot.clone();
    let done = recut(&bench, &plan, &["7"], &[]);
    if done.exit == Exit::Done {
        let again: Plan = serde_json::from_str(&fs::read_to_string(bench.path("again/plan.json"))?)?;
        assert_eq!(again.glasses[0].layouts[0].stock.lot, lot);
    } else {
        assert!(done.err.contains("of two lots"), "{}", done.err);
    }
    Ok(())
}

#[test]
fn what_is_wrong_is_named_at_once() -> Checked {
    let bench = Bench::new()?;
    let plan = booked(
        &bench,
        &one_pane(),
        "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,600,400,1\n",
    )?;
    let wrong = recut(&bench, &plan, &["Q9", "P8"], &[]);
    assert_eq!(wrong.exit, Exit::BadInput);
    assert!(
        wrong.err.contains("--piece Q9") && wrong.err.contains("--piece P8"),
        "{}",
        wrong.err
    );
    let missing = run(&["recut", "no.json", "--piece", "1", "--rack", "no.rack", "--out", "x"].map(String::from));
    assert_eq!(missing.exit, Exit::BadInput, "{missing:?}");
    Ok(())
}

/// A command that ends as it is expected to.
fn step(line: &[&str], expected: Exit) -> Checked {
    let args: Vec<String> = line.iter().map(ToString::to_string).collect();
    let done = run(&args);
    if done.exit == expected {
        Ok(())
    } else {
        Err(format!("{line:?}: {done:?}").into())
    }
}

/// A planner's day with the demo: the rack is imported, the window planned from its drawings and booked; a piece breaks,
/// and its recut is taken back and booked again. The rack adds up at the end.
#[test]
fn a_day_at_the_bench() -> Checked {
    let bench = Bench::new()?;
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures/lighthouse");
    let path = |name: &str| bench.path(name).display().to_string();
    let fixture = |name: &str| fixtures.join(name).display().to_string();
    let (rack, plan, out) = (path("rack"), path("out/plan.json"), path("again"));
    step(&["rack", "import", &fixture("stock.csv"), "--rack", &rack], Exit::Done)?;
    let chosen = "bevels on 5 mm glass";
    step(
        &[
            "compare",
            &fixture("job.json"),
            "--rack",
            &rack,
            "--try",
            chosen,
            "--try",
            "REED:grind=1",
            "--out",
            &path("choices"),
            "--rounds",
            "1",
            "--seeds",
            "1",
        ],
        Exit::Done,
    )?;
    step(
        &[
            "plan",
            &fixture("job.json"),
            "--choice",
            chosen,
            "--rack",
            &rack,
            "--hold",
            "--out",
            &path("out"),
            "--rounds",
            "3",
        ],
        Exit::Done,
    )?;
    step(&["check", &plan], Exit::Done)?;
    step(&["book", &plan, "--rack", &rack, "--place", "B2"], Exit::Done)?;
    let recut = |pieces: &[&str], expected: Exit| {
        let mut line = vec!["recut", &plan, "--rack", &rack, "--out", &out];
        line.extend(pieces.iter().flat_map(|piece| ["--piece", piece]));
        step(&line, expected)
    };
    recut(&["L12", "Q1"], Exit::BadInput)?;
    recut(&["L12"], Exit::Done)?;
    let again = path("again/plan.json");
    step(&["check", &again], Exit::Done)?;
    step(&["book", &again, "--rack", &rack], Exit::Taken)?;
    step(&["book", &again, "--rack", &rack, "--undo"], Exit::Done)?;
    step(&["book", &again, "--rack", &rack], Exit::Done)?;
    step(&["rack", "audit", "--rack", &rack], Exit::Done)?;
    Ok(())
}
