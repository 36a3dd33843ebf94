//! The rack under blows: booking processes killed at any moment, and several booking at once.
//!
//! `CULLET_KILLS` says how many are killed (60 unless it says otherwise), `CULLET_SECONDS` how long four book from one rack (2).
#![cfg(unix)]
#![allow(
    clippy::print_stdout,
    reason = "the figures are the point; cargo shows them with --nocapture"
)]

use cullet_rack::{Rack, State, Which, write_csv};
use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, rectangle, sheets};
use std::collections::BTreeSet;
use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name)
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(otherwise)
}

fn cullet(home: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cullet"));
    command.args(args).current_dir(home).stdin(Stdio::null());
    command
}

fn run(home: &Path, args: &[&str], code: i32) -> Result<Output, Box<dyn Error>> {
    let output = cullet(home, args).output()?;
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    if output.status.code() == Some(code) {
        Ok(output)
    } else {
        Err(format!("{args:?} ended with {:?}: {err}", output.status).into())
    }
}

/// A bench with a rack of `sheets` sheets and a job of one small piece.
fn shop(count: u32) -> Result<Bench, Box<dyn Error>> {
    let bench = Bench::new()?;
    let pieces = [rectangle("1", "A", 200.0, 300.0)];
    bench.write("job.json", &job(&[bare_glass("A", 3.0)], 1, &pieces).to_string())?;
    let sheet = Sheet {
        tag: "A",
        glass: "A",
        width: 700.0,
        height: 600.0,
        count,
    };
    bench.write("stock.csv", &sheets(&[sheet]))?;
    run(
        &bench.path(""),
        &["rack", "import", "stock.csv", "--rack", "shop.rack"],
        0,
    )?;
    Ok(bench)
}

/// Everything that is known of every glass, and how often anything was done.
fn whole(rack: &mut Rack) -> Result<(String, usize), Box<dyn Error>> {
    let all = rack.list(&Which {
        glass: None,
        gone_too: true,
    })?;
    let states: Vec<&str> = all.iter().map(|item| item.state.word()).collect();
    Ok((
        format!("{}{states:?}", write_csv(&all, cullet_rack::Signs::Points)),
        rack.history(None, 1000)?.len(),
    ))
}

/// Pseudo-random numbers from 0 to 1, the same each time (a 64-bit linear congruential generator with Knuth's factor).
fn shares(mut seed: u64) -> impl FnMut() -> f64 {
    move || {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as f64 / f64::from(u32::MAX >> 1)
    }
}

/// Plans the job and holds its glass.
fn held_plan(home: &Path) -> Checked {
    run(
        home,
        &[
            "plan",
            "job.json",
            "--rack",
            "shop.rack",
            "--rounds",
            "1",
            "--out",
            "out",
            "--hold",
        ],
        0,
    )?;
    Ok(())
}

#[test]
fn a_booking_killed_at_any_moment_is_done_or_not_done() -> Checked {
    let kills = number("CULLET_KILLS", 60);
    let bench = shop(3)?;
    let home = bench.path("");
    held_plan(&home)?;
    let book = ["book", "out/plan.json", "--rack", "try.rack"];
    let fresh = || -> Result<(), Box<dyn Error>> {
        for beside in ["try.rack", "try.rack-wal", "try.rack-shm", "try.rack-journal"] {
            let _ = fs::remove_file(bench.path(beside));
        }
        fs::copy(bench.path("shop.rack"), bench.path("try.rack"))?;
        Ok(())
    };
    fresh()?;
    let before = whole(&mut Rack::open(&bench.path("try.rack"))?)?;
    fresh()?;
    let start = Instant::now();
    run(&home, &book, 0)?;
    let usual = start.elapsed();
    let after = whole(&mut Rack::open(&bench.path("try.rack"))?)?;
    assert_ne!(before, after);

    let (mut share, mut done, mut not_done, mut cut_short) = (shares(7), 0, 0, 0);
    for kill in 0..kills {
        fresh()?;
        let mut child = cullet(&home, &book)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()?;
        std::thread::sleep(usual.mul_f64(1.2 * share()));
        child.kill()?;
        cut_short += u64::from(!child.wait()?.success());
        let mut rack = Rack::open(&bench.path("try.rack"))?;
        let audit = rack.audit()?;
        assert_eq!(audit.faults, Vec::<String>::new(), "kill {kill}");
        let now = whole(&mut rack)?;
        drop(rack);
        if now == before {
            not_done += 1;
            run(&home, &book, 0)?;
            assert!(
                whole(&mut Rack::open(&bench.path("try.rack"))?)? == after,
                "kill {kill}: the next booking differs"
            );
        } else {
            assert!(now == after, "kill {kill}: neither before nor after");
            done += 1;
            run(&home, &book, 6)?;
        }
    }
    println!("{kills} kills, {cut_short} before the end; booked {done}, not booked {not_done}");
    assert!(
        cut_short > kills / 4,
        "too few were killed while at work: {cut_short} of {kills}"
    );
    Ok(())
}

/// What one worker did.
#[derive(Debug, Default)]
struct Shift {
    booked: Vec<String>,
    taken_back: usize,
    refused: usize,
}

/// Plans, books and now and then takes back, for `time`. Any word to the user but "already taken" is an error.
fn work(home: &Path, name: usize, time: Duration) -> Result<Shift, String> {
    let (start, mut shift, mut share) = (Instant::now(), Shift::default(), shares(name as u64));
    let out = format!("out{name}");
    let plan_file = format!("{out}/plan.json");
    for round in 0.. {
        if start.elapsed() > time {
            break;
        }
        let seed = (name * 1_000_000 + round).to_string();
        let plan = [
            "plan",
            "job.json",
            "--rack",
            "shop.rack",
            "--rounds",
            "1",
            "--seed",
            &seed,
            "--out",
            &out,
        ];
        let planned = cullet(home, &plan).output().map_err(|error| error.to_string())?;
        let told = String::from_utf8_lossy(&planned.stderr).into_owned();
        if planned.status.code() == Some(2) && told.contains("no sheet or offcut left") {
            break;
        }
        if planned.status.code() != Some(0) {
            return Err(format!("planning: {told}"));
        }
        let book = ["book", &plan_file, "--rack", "shop.rack"];
        let booked = cullet(home, &book).output().map_err(|error| error.to_string())?;
        let told = String::from_utf8_lossy(&booked.stderr).into_owned();
        match booked.status.code() {
            Some(0) => {}
            // Another one has planned, and booked, the very same cut.
            Some(6) if told.contains("already taken") || told.contains("booked already") => {
                shift.refused += 1;
                continue;
            }
            code => return Err(format!("booking ended with {code:?}: {told}")),
        }
        if share() < 0.7 {
            let undo = ["book", &plan_file, "--rack", "shop.rack", "--undo"];
            let undone = cullet(home, &undo).output().map_err(|error| error.to_string())?;
            let told = String::from_utf8_lossy(&undone.stderr).into_owned();
            match undone.status.code() {
                Some(0) => {
                    shift.taken_back += 1;
                    continue;
                }
                // Another one has cut from its offcut already.
                Some(6) if told.contains("an offcut that is") => {}
                code => return Err(format!("taking back ended with {code:?}: {told}")),
            }
        }
        let text = String::from_utf8_lossy(&booked.stdout).into_owned();
        shift.booked.extend(
            text.lines()
                .filter_map(|line| line.split(": out ").nth(1))
                .map(str::to_owned),
        );
    }
    Ok(shift)
}

#[test]
fn four_who_book_from_one_rack_never_use_a_glass_twice() -> Checked {
    let time = Duration::from_secs(number("CULLET_SECONDS", 2));
    // Enough for the whole time.
    let bench = shop(40 + 20 * time.as_secs() as u32)?;
    let home = bench.path("");
    let home = &home;
    let worker = |name| move || work(home, name, time);
    let shifts: Vec<Result<Shift, String>> = std::thread::scope(|scope| {
        let workers: Vec<_> = (1..=4).map(|name| scope.spawn(worker(name))).collect();
        workers
            .into_iter()
            .map(|worker| worker.join().unwrap_or_else(|_| Err("a worker panicked".into())))
            .collect()
    });
    let shifts = shifts.into_iter().collect::<Result<Vec<_>, _>>()?;
    let mut rack = Rack::open(&bench.path("shop.rack"))?;
    assert_eq!(rack.audit()?.faults, Vec::<String>::new());
    let booked: Vec<&String> = shifts.iter().flat_map(|shift| &shift.booked).collect();
    let tags: BTreeSet<&String> = booked.iter().copied().collect();
    assert_eq!(tags.len(), booked.len(), "a glass was booked twice");
    let all = rack.list(&Which {
        glass: None,
        gone_too: true,
    })?;
    let used: BTreeSet<&String> = all
        .iter()
        .filter(|item| item.state == State::Used)
        .map(|item| &item.stock.tag)
        .collect();
    assert_eq!(
        used, tags,
        "a booking was lost, or one was made that nobody was told of"
    );
    let sum = |count: fn(&Shift) -> usize| shifts.iter().map(count).sum::<usize>();
    println!(
        "booked {}, taken back {}, already taken {}",
        booked.len(),
        sum(|shift| shift.taken_back),
        sum(|shift| shift.refused)
    );
    assert!(!booked.is_empty());
    Ok(())
}
