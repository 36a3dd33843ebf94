//! Every reader is given seeds, and inputs made from them, for a few seconds: no panic, no fault of the program within, no input
//! that takes over ten seconds or a gibibyte.
//!
//! `CULLET_FUZZ_SECONDS` gives each target longer; `CULLET_FUZZ=WORD` runs those with that word in their names. What fails is left
//! in the folder that the message names: mend it and add it to `fixtures/bad` or a test. The fuzzer's seed is in what it says.
#![allow(
    clippy::print_stderr,
    reason = "how much was tried is the point; cargo shows it with --nocapture"
)]

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

type Done = Result<(), Box<dyn Error>>;

/// A target, its program, and the folders of fixtures that its seeds stand in.
const TARGETS: [(&str, &str, &[&str]); 10] = [
    ("svg", env!("CARGO_BIN_EXE_fuzz-svg"), &["drawings"]),
    ("dxf", env!("CARGO_BIN_EXE_fuzz-dxf"), &["drawings"]),
    ("job", env!("CARGO_BIN_EXE_fuzz-job"), &["bad", "quarries", "too_large"]),
    ("shop", env!("CARGO_BIN_EXE_fuzz-shop"), &["bad"]),
    ("stock_list", env!("CARGO_BIN_EXE_fuzz-stock-list"), &["stock_lists"]),
    ("piece_list", env!("CARGO_BIN_EXE_fuzz-piece-list"), &["piece_lists"]),
    ("plan", env!("CARGO_BIN_EXE_fuzz-plan"), &[]),
    ("rack", env!("CARGO_BIN_EXE_fuzz-rack"), &[]),
    ("command_line", env!("CARGO_BIN_EXE_fuzz-command-line"), &[]),
    ("page", env!("CARGO_BIN_EXE_fuzz-page"), &[]),
];

/// What is typed, one argument a line.
const TYPED: [&str; 4] = [
    "plan\njob.json\n--stock\nstock.csv\n--out\nout\n--seconds\n5\n",
    "rack\nadd\n--rack\nrack\nsheet\n--glass\nA\n--width\n100\n--height\n200\n--units\nmm\n",
    "compare\njob.json\n--stock\nstock.csv\n--try\nA:thickness=6\n",
    "recut\nplan.json\n--piece\nA-1\n--rack\nrack\n--out\nout\n",
];

/// What is asked of the page: the address, and the form or file below it.
const ASKED: [&str; 14] = [
    "/",
    "/job?job=job.json",
    "/fits?job=job.json&panel=P&numbers=1",
    "/rack?rack=shop.rack&size=300x200&glass=CL",
    "/rack/item?rack=shop.rack&tag=S",
    "/rack/labels?rack=shop.rack&tags=S",
    "/job/edit\njob=job.json&digest=now&what=piece&panel=P&numbers=1&grain=45&bevel=12&nose=1&spares=2&lot=a&number=7",
    "/job/edit\njob=job.json&digest=now&what=panel&panel=P&quantity=2&mirrored=1&name=Left",
    "/job/edit\njob=job.json&digest=now&what=glass-file&at=1&code=RED&name=Red&thickness=4&grain=two-ways&price=30&price_unit=m2",
    "/job/step\njob=job.json&digest=now&way=back",
    "/rack/add\nrack=shop.rack&kind=offcut&glass=CL&units=mm&outline=0 0; 420 0; 420 260; 0 330&flaws=20 20 5&count=1",
    "/rack/correct\nrack=shop.rack&tag=S&units=in&width=12 1/2&place=B3",
    "/rack/photo/measure\nsize=800 600&marks=0 0 10 10; 50 0 110 10; 100 0 210 10; 100 100 210 210; 50 100 110 210; 0 100 10 210&corners=20 20; 100 20; 100 90&thickness=3",
    "/new/file?folder=Hall&name=a.svg\n<svg xmlns='http://www.w3.org/2000/svg' width='40mm' viewBox='0 0 40 30'/>",
];

#[test]
fn no_reader_fails_whatever_comes_in() -> Done {
    let seconds = std::env::var("CULLET_FUZZ_SECONDS").unwrap_or_else(|_| "1".into());
    let only = std::env::var("CULLET_FUZZ").unwrap_or_default();
    let root = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fuzz");
    let targets = TARGETS.iter().filter(|(name, ..)| name.contains(&only));
    let mut failed = vec![];
    for (name, program, fixtures) in targets {
        let kept = root.join(name);
        let seeds = kept.join("seeds");
        fs::create_dir_all(&seeds)?;
        own_seeds(name, &seeds)?;
        let fixtures = fixtures.iter().map(|f| fixture(f));
        let ran = Command::new(program)
            .arg(format!("-max_total_time={seconds}"))
            .args([
                "-timeout=10",
                "-rss_limit_mb=1024",
                "-max_len=65536",
                "-print_final_stats=1",
            ])
            .arg(format!("-artifact_prefix={}/", kept.display()))
            .arg(&seeds)
            .args(fixtures)
            .output()?;
        let said = String::from_utf8_lossy(&ran.stderr);
        let figures = ["number_of_executed_units", "slowest_unit_time_sec", "peak_rss_mb"];
        for line in said.lines().filter(|l| figures.iter().any(|f| l.contains(f))) {
            eprintln!("{name}: {line}");
        }
        if !ran.status.success() {
            let end: Vec<&str> = said.lines().rev().take(40).collect();
            let end: Vec<&str> = end.into_iter().rev().collect();
            failed.push(format!("{name}, kept in {}:\n{}", kept.display(), end.join("\n")));
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n\n"));
    Ok(())
}

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures").join(name)
}

/// Seeds that no fixture is.
fn own_seeds(target: &str, seeds: &Path) -> Done {
    let run = |args: &[&str]| cullet_fuzz::runs(args);
    let at = |name: &str| seeds.join(name).display().to_string();
    match target {
        "plan" => {
            let out = tempfile::tempdir()?;
            let folder = out.path().join("plan").display().to_string();
            let (job, stock) = (fixture("too_large/job.json"), fixture("too_large/stock.csv"));
            let (job, stock) = (job.display().to_string(), stock.display().to_string());
            run(&["plan", &job, "--stock", &stock, "--out", &folder, "--rounds", "1"]);
            fs::copy(format!("{folder}/plan.json"), at("plan.json"))?;
        }
        "rack" if !Path::new(&at("rack")).exists() => {
            let size = ["--width", "100", "--height", "200"];
            run(&[
                &["rack", "add", "--rack", &at("rack"), "sheet", "--glass", "A"],
                &size[..],
            ]
            .concat());
        }
        "command_line" => {
            for (k, typed) in TYPED.iter().enumerate() {
                fs::write(at(&k.to_string()), typed)?;
            }
        }
        "page" => {
            for (k, asked) in ASKED.iter().enumerate() {
                fs::write(at(&k.to_string()), asked)?;
            }
        }
        _ => {}
    }
    Ok(())
}
