//! No input takes more than its time and memory: every case of [`cullet_tests::hostile`] ends within one gibibyte of addresses and
//! so many seconds of a processor, with a plan or one clear error.
//!
//! `CULLET_HOSTILE=WORD` runs the cases with that word in their names (all where it is empty), those among them that are only run
//! when asked for, and prints what each took, without a limit but `CULLET_HOSTILE_KIB` and `CULLET_HOSTILE_SECONDS`;
//! `CULLET_PROGRAM` names another build of the program.
#![cfg(unix)]
#![allow(
    clippy::print_stdout,
    reason = "the figures are the point; cargo shows them with --nocapture"
)]

use cullet_tests::hostile::{self, Case};
use cullet_tests::{Bench, Checked};
use std::error::Error;
use std::fs;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// What a run may take: kibibytes of addresses, and seconds of a processor, two searching ones for two seconds among them. The
/// goal is ten; tests are built to be compiled fast.
const MOST_KIB: u64 = 1 << 20;
const MOST_SECONDS: u64 = 50;

fn number(name: &str, otherwise: u64) -> u64 {
    let set = std::env::var(name).ok();
    set.and_then(|text| text.parse().ok()).unwrap_or(otherwise)
}

struct Took {
    code: Option<i32>,
    seconds: f64,
    peak_mib: f64,
    out: String,
}

fn run(case: &Case) -> Result<Took, Box<dyn Error>> {
    let bench = Bench::new()?;
    for (name, content) in &case.files {
        fs::write(bench.path(name), content)?;
    }
    for name in &case.pipes {
        let made = Command::new("mkfifo").arg(bench.path(name)).status()?;
        assert!(made.success(), "mkfifo");
    }
    let program = std::env::var("CULLET_PROGRAM").unwrap_or_else(|_| env!("CARGO_BIN_EXE_cullet").into());
    let file = fs::File::create(bench.path("said"))?;
    let start = Instant::now();
    let most = number("CULLET_HOSTILE_KIB", MOST_KIB);
    let seconds = number("CULLET_HOSTILE_SECONDS", MOST_SECONDS);
    let mut child = Command::new("sh")
        .args([
            "-c",
            &format!("ulimit -v {most}; ulimit -t {seconds}; exec \"$@\""),
            "sh",
            &program,
        ])
        .args(&case.typed)
        // More threads would ask for addresses that they do not use.
        .env("RAYON_NUM_THREADS", "2")
        .current_dir(bench.path(""))
        .stdin(Stdio::null())
        .stdout(file.try_clone()?)
        .stderr(file)
        .spawn()?;
    let longest = Duration::from_secs(10 * seconds);
    let mut peak_mib: f64 = 0.0;
    let code = loop {
        if let Ok(status) = fs::read_to_string(format!("/proc/{}/status", child.id())) {
            let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
            let kib = line.and_then(|line| line.trim().trim_end_matches(" kB").parse::<f64>().ok());
            peak_mib = peak_mib.max(kib.unwrap_or(0.0) / 1024.0);
        }
        if let Some(status) = child.try_wait()? {
            break status.code();
        }
        if start.elapsed() > longest {
            child.kill()?;
            child.wait()?;
            break Some(-1);
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    Ok(Took {
        code,
        seconds: start.elapsed().as_secs_f64(),
        peak_mib,
        out: String::from_utf8_lossy(&fs::read(bench.path("said"))?).into_owned(),
    })
}

fn look(cases: &[Case]) -> Checked {
    let word = std::env::var("CULLET_HOSTILE").ok();
    for case in cases {
        if word.as_ref().is_some_and(|word| !case.name.contains(word.as_str())) {
            continue;
        }
        if word.is_none() && case.only_asked {
            continue;
        }
        let took = run(case)?;
        if word.is_some() {
            let said = took.out.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
            let said: String = said.chars().take(150).collect();
            println!(
                "{:50} | {:?} | {:.1} s | {:.0} MiB | {said}",
                case.name, took.code, took.seconds, took.peak_mib
            );
            continue;
        }
        assert!(
            took.code.is_some_and(|code| case.codes.contains(&code)) && took.out.contains(case.says),
            "{}: ended with {:?} after {:.1} s: {}",
            case.name,
            took.code,
            took.seconds,
            took.out
        );
    }
    Ok(())
}

#[test]
fn drawings() -> Checked {
    look(&hostile::drawings())
}

#[test]
fn jobs() -> Checked {
    look(&hostile::jobs())
}

#[test]
fn stock_lists() -> Checked {
    look(&hostile::stock_lists())
}

#[test]
fn plans() -> Checked {
    look(&hostile::plans())
}

#[test]
fn pipes() -> Checked {
    look(&hostile::pipes())
}
