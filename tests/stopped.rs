//! Runs stopped at every step, given up, two at once, and on a full disk: each time all is as it was, or done.
#![expect(
    clippy::print_stdout,
    reason = "at how many steps runs were stopped; cargo shows it with --nocapture"
)]

use cullet_tests::workshop::{all, command, cullet, ends, shop};
use cullet_tests::{Bench, Checked, bare_glass, job, passed_over, rectangle};
use std::error::Error;
use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};

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
