//! The rack under blows: booking processes killed at any moment, and several booking at once.
//!
//! `CULLET_KILLS` says how many are killed (60 unless it says otherwise), `CULLET_SECONDS` how long four book from one rack (2).
#![cfg(unix)]
#![allow(
    clippy::print_stdout,
    reason = "the figures are the point; cargo shows them with --nocapture"
)]

use cullet_rack::{Rack, State, StockKind, Which, write_csv};
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
    /// The tags that it was told are out.
    booked: Vec<String>,
    taken_back: usize,
    refused: usize,
    recut: usize,
    corrected: usize,
    /// How many sheets it entered.
    entered: u32,
}

/// One of several who work on the rack at once. Any word to the user but that others were faster is an error.
struct Worker<'a> {
    home: &'a Path,
    name: usize,
    shift: Shift,
}

impl Worker<'_> {
    /// The exit code and both outputs of the program.
    fn does(&self, args: &[&str]) -> Result<(i32, String), String> {
        let done = cullet(self.home, args).output().map_err(|error| error.to_string())?;
        let said = [done.stdout, done.stderr].concat();
        let code = done.status.code().ok_or("it was killed")?;
        Ok((code, String::from_utf8_lossy(&said).into_owned()))
    }

    fn is_out(&mut self, said: &str) {
        let tags = said.lines().filter_map(|line| line.split(": out ").nth(1));
        self.shift.booked.extend(tags.map(str::to_owned));
    }

    /// Plans the job into `out`; whether there was glass for it.
    fn plans(&self, out: &str, seed: &str) -> Result<bool, String> {
        let plan = ["plan", "job.json", "--rack", "shop.rack", "--rounds", "1"];
        match self.does(&[&plan[..], &["--seed", seed, "--out", out]].concat())? {
            (0, _) => Ok(true),
            (2, said) if said.contains("no sheet or offcut left") => Ok(false),
            (code, said) => Err(format!("planning ended with {code}: {said}")),
        }
    }

    /// Books the plan; `None` where others were faster.
    fn books(&mut self, plan: &str) -> Result<Option<String>, String> {
        match self.does(&["book", plan, "--rack", "shop.rack"])? {
            (0, said) => Ok(Some(said)),
            // Another one has planned, and booked, the very same cut.
            (6, said) if said.contains("already taken") || said.contains("booked already") => {
                self.shift.refused += 1;
                Ok(None)
            }
            (code, said) => Err(format!("booking ended with {code}: {said}")),
        }
    }

    /// Takes the booking back; false where it stands.
    fn takes_back(&mut self, plan: &str) -> Result<bool, String> {
        match self.does(&["book", plan, "--rack", "shop.rack", "--undo"])? {
            (0, _) => {
                self.shift.taken_back += 1;
                Ok(true)
            }
            // Another one has cut from its offcut already.
            (6, said) if said.contains("an offcut that is") => Ok(false),
            (code, said) => Err(format!("taking back ended with {code}: {said}")),
        }
    }

    /// The piece broke.
    fn recuts(&mut self, plan: &str) -> Result<(), String> {
        let out = format!("recut{}", self.name);
        let recut = ["recut", plan, "--piece", "P-1", "--rack", "shop.rack", "--out", &out];
        match self.does(&recut)? {
            (0, said) => {
                self.is_out(&said);
                self.shift.recut += 1;
            }
            (6, said) if said.contains("already taken") || said.contains("booked already") => self.shift.refused += 1,
            (3, _) => {}
            (code, said) => return Err(format!("recut ended with {code}: {said}")),
        }
        Ok(())
    }

    /// Glass comes in, and somebody notes where a sheet stands.
    fn minds_the_rack(&mut self, round: usize, share: f64) -> Result<(), String> {
        let (list, tag) = (format!("list{}.csv", self.name), format!("W{}-{round}", self.name));
        let sheet = Sheet {
            tag: &tag,
            glass: "A",
            width: 700.0,
            height: 600.0,
            count: 2,
        };
        fs::write(self.home.join(&list), sheets(&[sheet])).map_err(|error| error.to_string())?;
        match self.does(&["rack", "import", &list, "--rack", "shop.rack"])? {
            (0, _) => self.shift.entered += 2,
            (code, said) => return Err(format!("importing ended with {code}: {said}")),
        }
        let (tag, place) = (format!("A.{}", 1 + (share * 40.0) as u32), format!("bay {round}"));
        match self.does(&["rack", "correct", &tag, "--place", &place, "--rack", "shop.rack"])? {
            (0, _) => self.shift.corrected += 1,
            (6, said) if said.contains("found glass that is used") => {}
            (code, said) => return Err(format!("correcting ended with {code}: {said}")),
        }
        Ok(())
    }
}

/// Plans and books for `time`; takes back, cuts again, enters and corrects glass now and then.
fn work(home: &Path, name: usize, time: Duration) -> Result<Shift, String> {
    let (start, mut share) = (Instant::now(), shares(name as u64));
    let mut worker = Worker {
        home,
        name,
        shift: Shift::default(),
    };
    let (out, mut round) = (format!("out{name}"), 0);
    let plan = format!("{out}/plan.json");
    while start.elapsed() < time {
        round += 1;
        if share() < 0.3 {
            worker.minds_the_rack(round, share())?;
        }
        if !worker.plans(&out, &(name * 1_000_000 + round).to_string())? {
            break;
        }
        let Some(said) = worker.books(&plan)? else { continue };
        if share() < 0.6 && worker.takes_back(&plan)? {
            continue;
        }
        worker.is_out(&said);
        if share() < 0.5 {
            worker.recuts(&plan)?;
        }
    }
    Ok(worker.shift)
}

#[test]
fn four_who_book_from_one_rack_never_use_a_glass_twice() -> Checked {
    let time = Duration::from_secs(number("CULLET_SECONDS", 2));
    // Enough for the whole time.
    let at_first = 40 + 20 * time.as_secs() as u32;
    let bench = shop(at_first)?;
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
    let entered: u32 = shifts.iter().map(|shift| shift.entered).sum();
    let sheets = all.iter().filter(|item| item.stock.kind == StockKind::Sheet).count();
    assert_eq!(sheets, (at_first + entered) as usize, "sheets that came in");
    let sum = |count: fn(&Shift) -> usize| shifts.iter().map(count).sum::<usize>();
    println!(
        "out {}, taken back {}, recut {}, entered {entered}, corrected {}; others were faster {} times",
        booked.len(),
        sum(|shift| shift.taken_back),
        sum(|shift| shift.recut),
        sum(|shift| shift.corrected),
        sum(|shift| shift.refused)
    );
    assert!(!booked.is_empty());
    Ok(())
}
