//! Nothing a user stored is lost: every command that writes against everything that may stand where it writes; runs stopped at
//! every step, given up, and two at once.
#![expect(
    clippy::print_stdout,
    reason = "at how many steps runs were stopped; cargo shows it with --nocapture"
)]

use cullet_tests::{Bench, Checked, Sheet, bare_glass, job, passed_over, rectangle, sheets};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const RULED: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">
    <path d="M0 0H200V300H0Z" fill="none" stroke="black"/></svg>"#;

fn command(bench: &Bench, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_cullet"));
    command.args(args).current_dir(bench.path("")).stdin(Stdio::null());
    command
}

fn cullet(bench: &Bench, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    Ok(command(bench, args).output()?)
}

/// The same, asserting the exit code; returns both outputs one after the other.
#[track_caller]
fn ends(bench: &Bench, args: &[&str], code: i32) -> Result<String, Box<dyn Error>> {
    let output = cullet(bench, args)?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let all = text(&output.stdout) + &text(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{args:?}: {all}");
    Ok(all)
}

/// A job of two pieces, its sheets on a rack and on a list, a drawing and the job around it.
fn shop() -> Result<Bench, Box<dyn Error>> {
    let bench = Bench::new()?;
    let pieces = [rectangle("1", "A", 200.0, 300.0), rectangle("2", "A", 150.0, 100.0)];
    let job = job(&[bare_glass("A", 3.0)], 1, &pieces);
    bench.write("job.json", &job.to_string())?;
    let mut drawn = job;
    drawn["panels"] = json!([{ "id": "P", "quantity": 1, "drawing": { "file": "panel.svg", "glass": "A" } }]);
    bench.write("drawn.json", &drawn.to_string())?;
    bench.write("panel.svg", RULED)?;
    let sheet = Sheet {
        tag: "A",
        glass: "A",
        width: 700.0,
        height: 600.0,
        count: 60,
    };
    bench.write("stock.csv", &sheets(&[sheet]))?;
    for rack in ["shop.rack", "other.rack"] {
        ends(&bench, &["rack", "import", "stock.csv", "--rack", rack], 0)?;
    }
    Ok(bench)
}

/// A command that writes: what is typed for a target, which file of it is looked at, and whether the target is a folder.
struct Writer {
    name: &'static str,
    args: &'static [&'static str],
    /// In a folder that it writes; none where it writes one file.
    file: Option<&'static str>,
    /// A file that it reads and that might stand in the way.
    reads: &'static str,
}

const WRITERS: [Writer; 10] = [
    Writer {
        name: "export",
        args: &["rack", "export", "TARGET", "--rack", "shop.rack"],
        file: None,
        reads: "shop.rack",
    },
    Writer {
        name: "labels",
        args: &["rack", "labels", "A.1", "--rack", "shop.rack", "--out", "TARGET"],
        file: None,
        reads: "shop.rack",
    },
    Writer {
        name: "show",
        args: &["rack", "show", "A.1", "--rack", "shop.rack", "--out", "TARGET"],
        file: None,
        reads: "shop.rack",
    },
    Writer {
        name: "marked drawing",
        args: &["drawing", "panel.svg", "--out", "TARGET"],
        file: None,
        reads: "panel.svg",
    },
    Writer {
        name: "leads",
        args: &["drawing", "--job", "drawn.json", "--leads", "TARGET"],
        file: None,
        reads: "drawn.json",
    },
    Writer {
        name: "leads beside the drawing",
        args: &["drawing", "--job", "drawn.json", "--leads", "TARGET"],
        file: None,
        reads: "panel.svg",
    },
    Writer {
        name: "plan from a list",
        args: &[
            "plan",
            "job.json",
            "--stock",
            "stock.csv",
            "--rounds",
            "1",
            "--out",
            "TARGET",
        ],
        file: Some("yield.csv"),
        reads: "job.json",
    },
    Writer {
        name: "plan from a rack",
        args: &[
            "plan",
            "job.json",
            "--rack",
            "shop.rack",
            "--rounds",
            "1",
            "--out",
            "TARGET",
        ],
        file: Some("plan.json"),
        reads: "job.json",
    },
    Writer {
        name: "compare",
        args: &[
            "compare",
            "job.json",
            "--stock",
            "stock.csv",
            "--rounds",
            "1",
            "--seeds",
            "1",
            "--try",
            "A:grind=1",
            "--out",
            "TARGET",
        ],
        file: Some("compare.csv"),
        reads: "stock.csv",
    },
    Writer {
        name: "recut",
        args: &[
            "recut",
            "booked/plan.json",
            "--piece",
            "P1",
            "--rack",
            "shop.rack",
            "--out",
            "TARGET",
        ],
        file: Some("sheet-1.svg"),
        reads: "booked/plan.json",
    },
];

impl Writer {
    /// The command for `target` with further words.
    fn run(&self, bench: &Bench, target: &str, more: &[&str]) -> Result<Output, Box<dyn Error>> {
        let word = |word: &&'static str| match *word {
            "TARGET" => target.to_owned(),
            word => word.to_owned(),
        };
        let words: Vec<String> = self.args.iter().map(word).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).chain(more.iter().copied()).collect();
        cullet(bench, &words)
    }
}

/// Everything on a bench but what SQLite keeps beside a rack: kind, rights and content by name.
fn all(folder: &Path) -> Result<BTreeMap<String, String>, Box<dyn Error>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let name = path.to_string_lossy().into_owned();
        let about = fs::symlink_metadata(&path)?;
        if name.ends_with("-wal") || name.ends_with("-shm") {
            continue;
        }
        if about.is_dir() {
            found.extend(all(&path)?);
        }
        let content = if about.is_symlink() {
            fs::read_link(&path)?.to_string_lossy().into_owned()
        } else if about.is_file() {
            let bytes = fs::read(&path)?;
            format!("{} bytes, {:x}", bytes.len(), sum(&bytes))
        } else {
            String::new()
        };
        found.insert(
            name,
            format!("{:?} {:?} {content}", about.file_type(), about.permissions()),
        );
    }
    Ok(found)
}

/// FNV-1a of 64 bits: enough to see that a file was changed.
fn sum(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// Every command against everything that may stand there. What the program did not write stays as it is, links stay links,
/// and `--replace` does not reach racks, inputs, folders and pipes.
#[cfg(unix)]
#[test]
fn no_command_writes_over_what_is_not_the_programs_own() -> Checked {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let bench = shop()?;
    let plan = [
        "plan",
        "job.json",
        "--rack",
        "shop.rack",
        "--rounds",
        "1",
        "--out",
        "booked",
    ];
    ends(&bench, &plan, 0)?;
    ends(&bench, &["book", "booked/plan.json", "--rack", "shop.rack"], 0)?;
    let mut number = 0;
    for writer in &WRITERS {
        // A fresh place: the target as it is typed, and the file of it that is looked at.
        let mut place = || -> Result<(String, String), Box<dyn Error>> {
            number += 1;
            let home = format!("case{number}");
            fs::create_dir(bench.path(&home))?;
            Ok(match writer.file {
                None => (format!("{home}/file"), format!("{home}/file")),
                Some(file) => (home.clone(), format!("{home}/{file}")),
            })
        };
        let name = writer.name;
        let run = |target: &str, more: &[&str]| writer.run(&bench, target, more);
        let refused = |case: &str, target: &str, more: &[&str]| -> Checked {
            let before = all(&bench.path(""))?;
            let output = run(target, more)?;
            let err = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(2), "{name}, {case}: {err}");
            assert!(
                err.contains(": found ") && err.contains(", expected "),
                "{name}, {case}: {err}"
            );
            let after = all(&bench.path(""))?;
            assert_eq!(before, after, "{name}, {case}: something was changed");
            Ok(())
        };
        let done = |case: &str, target: &str, more: &[&str]| -> Checked {
            let output = run(target, more)?;
            let err = String::from_utf8_lossy(&output.stderr).into_owned();
            assert_eq!(output.status.code(), Some(0), "{name}, {case}: {err}");
            Ok(())
        };

        // Its own, as others may read it; then changed by somebody.
        let (target, file) = place()?;
        done("nothing there", &target, &[])?;
        let mask = fs::metadata(bench.path("job.json"))?.permissions().mode();
        assert_eq!(fs::metadata(bench.path(&file))?.permissions().mode(), mask, "{name}");
        done("its own", &target, &[])?;
        let mut own = fs::OpenOptions::new().append(true).open(bench.path(&file))?;
        own.write_all(b" and a note\n")?;
        refused("its own, changed", &target, &[])?;
        done("its own, changed, --replace", &target, &["--replace"])?;

        let (target, file) = place()?;
        bench.write(&file, "mine")?;
        refused("somebody's file", &target, &[])?;
        fs::set_permissions(bench.path(&file), PermissionsExt::from_mode(0o444))?;
        refused("a file that may not be written", &target, &["--replace"])?;
        fs::set_permissions(bench.path(&file), PermissionsExt::from_mode(0o644))?;
        done("somebody's file, --replace", &target, &["--replace"])?;

        let (target, file) = place()?;
        bench.write(&file, "")?;
        refused("an empty file", &target, &[])?;

        let (target, file) = place()?;
        fs::create_dir(bench.path(&file))?;
        refused("a folder", &target, &["--replace"])?;

        let (target, file) = place()?;
        assert!(Command::new("mkfifo").arg(bench.path(&file)).status()?.success());
        refused("a pipe", &target, &["--replace"])?;

        let (target, file) = place()?;
        symlink("nowhere", bench.path(&file))?;
        refused("a link to nothing", &target, &["--replace"])?;

        let (target, file) = place()?;
        bench.write("linked", "mine")?;
        symlink(bench.path("linked"), bench.path(&file))?;
        refused("a link to somebody's file", &target, &[])?;

        let (target, file) = place()?;
        symlink(bench.path("other.rack"), bench.path(&file))?;
        refused("a link to a rack", &target, &["--replace"])?;

        for (case, at) in [("a rack", "other.rack"), ("a file that it reads", writer.reads)] {
            let (target, file) = place()?;
            // By another name for the same file.
            fs::hard_link(bench.path(at), bench.path(&file))?;
            refused(case, &target, &["--replace"])?;
            if writer.file.is_none() {
                refused(case, at, &["--replace"])?;
            }
        }
    }
    assert!(ends(&bench, &["rack", "audit", "--rack", "shop.rack"], 0)?.contains("The rack adds up."));
    Ok(())
}

/// A link to a file of the program's own is followed: the file behind it is written, the link stays.
#[cfg(unix)]
#[test]
fn links_to_the_programs_own_files_are_followed() -> Checked {
    let bench = shop()?;
    ends(&bench, &["rack", "export", "list.csv", "--rack", "shop.rack"], 0)?;
    std::os::unix::fs::symlink("list.csv", bench.path("latest.csv"))?;
    ends(&bench, &["rack", "throw-away", "A.1", "--rack", "shop.rack"], 0)?;
    ends(&bench, &["rack", "export", "latest.csv", "--rack", "shop.rack"], 0)?;
    assert!(fs::symlink_metadata(bench.path("latest.csv"))?.is_symlink());
    assert!(!fs::read_to_string(bench.path("list.csv"))?.contains("A.1,"));
    // What was exported goes in again as it is.
    ends(&bench, &["rack", "import", "list.csv", "--rack", "again.rack"], 0)?;
    assert_eq!(
        ends(&bench, &["rack", "export", "--rack", "again.rack"], 0)?,
        ends(&bench, &["rack", "export", "--rack", "shop.rack"], 0)?
    );
    Ok(())
}

/// The stock list that is read is named as what the plan would write: `buy.csv`, and the original plan as what a recut would.
#[test]
fn the_files_of_a_folder_may_be_inputs() -> Checked {
    let bench = shop()?;
    fs::create_dir(bench.path("out"))?;
    fs::copy(bench.path("stock.csv"), bench.path("out/buy.csv"))?;
    let plan = [
        "plan",
        "job.json",
        "--stock",
        "out/buy.csv",
        "--rounds",
        "1",
        "--out",
        "out",
    ];
    assert!(ends(&bench, &plan, 2)?.contains("a file that this run reads"));
    assert_eq!(bench.names("out")?, ["buy.csv"]);
    let plan = [
        "plan",
        "job.json",
        "--rack",
        "shop.rack",
        "--rounds",
        "1",
        "--out",
        "planned",
    ];
    ends(&bench, &plan, 0)?;
    ends(&bench, &["book", "planned/plan.json", "--rack", "shop.rack"], 0)?;
    let before = all(&bench.path("planned"))?;
    let recut = [
        "recut",
        "planned/plan.json",
        "--piece",
        "P1",
        "--rack",
        "shop.rack",
        "--out",
        "planned",
        "--replace",
    ];
    assert!(ends(&bench, &recut, 2)?.contains("a file that this run reads"));
    assert_eq!(all(&bench.path("planned"))?, before);
    Ok(())
}

/// Changes that cannot be meant are slips of the hand.
#[test]
fn choices_that_cannot_be_meant_are_refused() -> Checked {
    let bench = shop()?;
    for (choice, told) in [
        ("A=A", "A instead of itself"),
        ("A:grind=1,A:grind=2", "A:grind changed twice"),
        ("A:grind=0", "no change"),
    ] {
        let compare = [
            "compare",
            "job.json",
            "--stock",
            "stock.csv",
            "--rounds",
            "1",
            "--out",
            "choices",
            "--try",
            choice,
        ];
        assert!(ends(&bench, &compare, 2)?.contains(told), "{choice}");
        assert!(!bench.path("choices").exists());
    }
    Ok(())
}

/// Two outputs of one run are two files.
#[test]
fn one_name_for_two_files_is_refused() -> Checked {
    let bench = shop()?;
    let twice = ["drawing", "panel.svg", "--out", "both", "--leads", "both"];
    assert!(ends(&bench, &twice, 2)?.contains("the same file twice"));
    assert!(!bench.path("both").exists());
    Ok(())
}

/// A job whose plan takes two sheets, so that its files differ from those of the small one in every way.
fn larger(bench: &Bench) -> Checked {
    let pieces = [rectangle("1", "A", 500.0, 500.0), rectangle("2", "A", 400.0, 500.0)];
    bench.write("larger.json", &job(&[bare_glass("A", 3.0)], 1, &pieces).to_string())?;
    Ok(())
}

fn plan_of<'a>(job: &'a str, rounds: &'a str) -> [&'a str; 8] {
    ["plan", job, "--stock", "stock.csv", "--rounds", rounds, "--out", "out"]
}

/// Stopped dead at each step in turn while a plan of other sheets replaces one: the folder holds the one or the other, or
/// `check` says that it holds none; the next run puts it right and leaves nothing of its own lying about.
#[test]
fn a_plan_stopped_at_any_step_is_whole_or_is_not_taken_for_one() -> Checked {
    if !cfg!(debug_assertions) {
        return Ok(passed_over(
            "runs stopped at every step: only builds without --release stop there",
        )?);
    }
    let (mut before, mut neither, mut after) = (0, 0, 0);
    let bench = shop()?;
    larger(&bench)?;
    ends(&bench, &plan_of("larger.json", "1"), 0)?;
    let old: Vec<(String, Vec<u8>)> = bench
        .names("out")?
        .into_iter()
        .map(|name| Ok((name.clone(), fs::read(bench.path("out").join(name))?)))
        .collect::<Result<_, std::io::Error>>()?;
    for step in 0.. {
        let _ = fs::remove_dir_all(bench.path("out"));
        fs::create_dir(bench.path("out"))?;
        for (name, content) in &old {
            fs::write(bench.path("out").join(name), content)?;
        }
        let stopped = command(&bench, &plan_of("job.json", "1"))
            .env("CULLET_STOP_AT", step.to_string())
            .output()?;
        let is_old = old
            .iter()
            .all(|(name, content)| fs::read(bench.path("out").join(name)).is_ok_and(|now| now == *content));
        match cullet(&bench, &["check", "out/plan.json"])?.status.code() {
            Some(0) if is_old => before += 1,
            Some(0) => after += 1,
            Some(5) => neither += 1,
            code => return Err(format!("check ended with {code:?} after step {step}").into()),
        }
        ends(&bench, &plan_of("job.json", "1"), 0)?;
        ends(&bench, &["check", "out/plan.json"], 0)?;
        let names = bench.names("out")?;
        assert!(
            !names.iter().any(|name| name.starts_with('.')),
            "step {step}: {names:?}"
        );
        if stopped.status.code() == Some(0) {
            break;
        }
    }
    println!(
        "stopped at {} steps: {before} before, {neither} neither, {after} after",
        before + neither + after - 1
    );
    assert!(
        before > 5 && neither > 2 && after > 2,
        "{before} before, {neither} neither, {after} after"
    );
    Ok(())
}

/// The same for a single file: the old one or the new one, and nothing beside it in the end.
#[test]
fn a_file_stopped_at_any_step_is_the_old_or_the_new_one() -> Checked {
    if !cfg!(debug_assertions) {
        return Ok(passed_over(
            "runs stopped at every step: only builds without --release stop there",
        )?);
    }
    let bench = shop()?;
    let export = ["rack", "export", "list.csv", "--rack", "shop.rack"];
    ends(&bench, &export, 0)?;
    let old = fs::read_to_string(bench.path("list.csv"))?;
    ends(&bench, &["rack", "throw-away", "A.1", "--rack", "shop.rack"], 0)?;
    for step in 0.. {
        bench.write("list.csv", &old)?;
        let stopped = command(&bench, &export)
            .env("CULLET_STOP_AT", step.to_string())
            .output()?;
        let now = fs::read_to_string(bench.path("list.csv"))?;
        assert!(
            now == old || !now.contains("A.1,"),
            "step {step}: neither the old nor the new one"
        );
        ends(&bench, &export, 0)?;
        let names = bench.names("")?;
        assert!(
            !names.iter().any(|name| name.starts_with(".cullet")),
            "step {step}: {names:?}"
        );
        if stopped.status.code() == Some(0) {
            assert!(step > 4, "only {step} steps");
            return Ok(());
        }
    }
    Ok(())
}

/// Ctrl-C again and again: exit code 130 and nothing written, or the plan as a whole.
#[cfg(unix)]
#[test]
fn a_run_given_up_has_written_nothing_or_all() -> Checked {
    let bench = shop()?;
    larger(&bench)?;
    let mut written = 0;
    for round in 0..6_u64 {
        let _ = fs::remove_dir_all(bench.path("out"));
        let mut args = plan_of("larger.json", "1").to_vec();
        if round % 2 == 0 {
            args[4..6].copy_from_slice(&["--seconds", "60"]);
        }
        let mut child = command(&bench, &args)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()?;
        std::thread::sleep(std::time::Duration::from_millis(100 + 40 * round));
        let id = child.id().to_string();
        let status = loop {
            let _ = Command::new("kill")
                .args(["-INT", &id])
                .stderr(Stdio::null())
                .status()?;
            if let Some(status) = child.try_wait()? {
                break status;
            }
        };
        match status.code() {
            Some(130) => assert!(!bench.path("out").exists(), "{:?}", bench.names("out")?),
            Some(0) => {
                written += 1;
                ends(&bench, &["check", "out/plan.json"], 0)?;
            }
            // Before the program could listen.
            None => assert!(!bench.path("out").exists(), "{:?}", bench.names("out")?),
            code => return Err(format!("ended with {code:?}").into()),
        }
        ends(&bench, &plan_of("job.json", "1"), 0)?;
    }
    assert!(written < 6, "no run was given up");
    Ok(())
}

/// Whoever comes second is told, and the first is not disturbed.
#[cfg(unix)]
#[test]
fn two_plans_into_one_folder_are_one_too_many() -> Checked {
    let bench = shop()?;
    let mut long = plan_of("job.json", "1").to_vec();
    long[4..6].copy_from_slice(&["--seconds", "60"]);
    let mut first = command(&bench, &long)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()?;
    while !bench.path("out").exists() {
        std::thread::sleep(std::time::Duration::from_millis(10));
    }
    std::thread::sleep(std::time::Duration::from_millis(200));
    assert!(ends(&bench, &plan_of("job.json", "1"), 2)?.contains("another run of the program"));
    assert!(
        Command::new("kill")
            .args(["-INT", &first.id().to_string()])
            .status()?
            .success()
    );
    assert_eq!(first.wait()?.code(), Some(0));
    ends(&bench, &["check", "out/plan.json"], 0)?;
    Ok(())
}

/// A file system of 256 KiB, taken away at the end; none where the machine does not let anybody have one.
#[cfg(target_os = "linux")]
struct Small<'b>(&'b Path);

#[cfg(target_os = "linux")]
impl<'b> Small<'b> {
    fn at(folder: &'b Path) -> Result<Option<Self>, Box<dyn Error>> {
        fs::create_dir(folder)?;
        let mounted = Command::new("mount")
            .args(["-t", "tmpfs", "-o", "size=256k", "tmpfs"])
            .arg(folder)
            .output();
        Ok(mounted
            .is_ok_and(|mounted| mounted.status.success())
            .then_some(Self(folder)))
    }

    fn set(&self, options: &str) -> Checked {
        let set = Command::new("mount").args(["-o", options]).arg(self.0).status()?;
        assert!(set.success());
        Ok(())
    }

    /// Takes all the room but so many bytes.
    fn fill(&self, leave: u64) -> Checked {
        let mut filler = fs::File::create(self.0.join("filler"))?;
        while filler.write_all(&[0; 1024]).is_ok() {}
        let length = filler.metadata()?.len();
        filler.set_len(length.saturating_sub(leave))?;
        Ok(())
    }
}

#[cfg(target_os = "linux")]
impl Drop for Small<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0).status();
    }
}

/// On a full disk the earlier plan and the earlier list stay as they were, and the rack can be looked at; so can one that
/// may not be written.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_loses_nothing() -> Checked {
    let bench = shop()?;
    larger(&bench)?;
    let folder = bench.path("small");
    let Some(small) = Small::at(&folder)? else {
        return Ok(passed_over("a full disk: no file system could be mounted")?);
    };
    let mut plan = plan_of("job.json", "1").to_vec();
    plan[7] = "small/out";
    ends(&bench, &plan, 0)?;
    ends(&bench, &["rack", "export", "small/list.csv", "--rack", "shop.rack"], 0)?;
    bench.write(
        "few.csv",
        "kind,tag,glass,units,width,height,count\nsheet,F,A,mm,700,600,2\n",
    )?;
    ends(&bench, &["rack", "import", "few.csv", "--rack", "small/shop.rack"], 0)?;
    let before = all(&folder)?;
    let still = |case: &str| -> Checked {
        let mut now = all(&folder)?;
        now.remove(&folder.join("filler").to_string_lossy().into_owned());
        assert_eq!(now, before, "{case}");
        Ok(())
    };
    small.fill(4096)?;
    plan[1] = "larger.json";
    ends(&bench, &plan, 1)?;
    still("plan")?;
    ends(&bench, &["check", "small/out/plan.json"], 0)?;
    fs::File::options()
        .append(true)
        .open(folder.join("filler"))?
        .write_all(&[0; 4096])
        .ok();
    small.fill(0)?;
    ends(&bench, &["rack", "export", "small/list.csv", "--rack", "shop.rack"], 1)?;
    still("export")?;
    assert!(ends(&bench, &["rack", "list", "--rack", "small/shop.rack"], 0)?.contains("F.2"));
    ends(&bench, &["rack", "audit", "--rack", "small/shop.rack"], 0)?;
    fs::remove_file(folder.join("filler"))?;
    small.set("remount,ro")?;
    assert!(ends(&bench, &["rack", "list", "--rack", "small/shop.rack"], 0)?.contains("F.2"));
    ends(&bench, &["rack", "throw-away", "F.1", "--rack", "small/shop.rack"], 1)?;
    ends(&bench, &["rack", "backup", "copy.rack", "--rack", "small/shop.rack"], 0)?;
    ends(&bench, &["rack", "audit", "--rack", "copy.rack"], 0)?;
    small.set("remount,rw")?;
    Ok(())
}

/// A plan's piece, its edges changed as a text editor would.
#[test]
fn recut_takes_no_plan_that_check_refuses() -> Checked {
    let bench = shop()?;
    let plan = [
        "plan",
        "job.json",
        "--rack",
        "shop.rack",
        "--rounds",
        "1",
        "--out",
        "out",
    ];
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
    let plan = [
        "plan", "job.json", "--rack", "buy.rack", "--rounds", "1", "--out", "out",
    ];
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
    let plan = [
        "plan",
        "job.json",
        "--rack",
        "shop.rack",
        "--rounds",
        "1",
        "--out",
        "out",
    ];
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
    let plan = [
        "plan",
        "job.json",
        "--rack",
        "shop.rack",
        "--rounds",
        "1",
        "--out",
        "out",
    ];
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
