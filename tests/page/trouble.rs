//! Two browsers on one rack, and a program that is killed at any moment of a working day.

use crate::hostile::Random;
use crate::open::{Answer, Open};
use crate::{program, with_job};
use cullet_tests::Checked;
use std::error::Error;
use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};
use std::time::{Duration, Instant};

type Tried<T> = Result<T, Box<dyn Error>>;

const STOCK: &str =
    "kind,tag,glass,units,width,height,count,place\nsheet,S,CL,mm,600,500,6,A1\noffcut,K,CL,mm,300,200,4,A2\n";

/// A job, and a rack for it.
fn shop(folder: &Path) -> Checked {
    with_job(folder)?;
    fs::write(folder.join("stock.csv"), STOCK)?;
    let (exit, words) = program(folder, &["rack", "import", "stock.csv", "--rack", "shop.rack"])?;
    assert_eq!(exit, 0, "{words}");
    fs::remove_file(folder.join("stock.csv"))?;
    Ok(())
}

/// Asks for a plan and waits until it is written.
fn planned(open: &Open, cookie: &str) -> Checked {
    let asked = "job=job.json&from=shop.rack&seconds=0.2&seed=1";
    let answer = open.form("/plan", cookie, asked)?.ok_or("no answer")?;
    assert_eq!(answer.status, 303, "{}", answer.body);
    let began = Instant::now();
    while began.elapsed() < Duration::from_secs(60) {
        if open
            .get("/plan?job=job.json", cookie)?
            .body
            .contains("data-phase=\"done\"")
        {
            return Ok(());
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    Err("the plan does not end".into())
}

/// Two browsers book one plan, correct one offcut and add glass at once: one booking goes through, the other is told, and the rack
/// adds up.
#[test]
fn two_browsers_on_one_rack() -> Checked {
    let home = tempfile::tempdir()?;
    shop(home.path())?;
    let open = Open::start(home.path(), None)?;
    let cookie = open.cookie()?;
    planned(&open, &cookie)?;
    let both = |path: &'static str, forms: [&'static str; 2]| -> Tried<Vec<Answer>> {
        let ask = |form: &str| -> Result<Answer, String> {
            let answer = open.form(path, &cookie, form).map_err(|error| error.to_string())?;
            answer.ok_or_else(|| "no answer".to_owned())
        };
        std::thread::scope(|scope| {
            let asked = forms.map(|form| scope.spawn(move || ask(form)));
            asked
                .into_iter()
                .map(|one| Ok(one.join().map_err(|_| "a thread broke off")??))
                .collect()
        })
    };
    let booked = both("/book", ["job=job.json&place=B1", "job=job.json&place=B2"])?;
    let mut states: Vec<u16> = booked.iter().map(|answer| answer.status).collect();
    states.sort_unstable();
    assert!(states[0] == 200 && states[1] >= 400, "{states:?}");
    let late = booked.iter().find(|answer| answer.status != 200).ok_or("both booked")?;
    assert!(late.body.contains("booked already"), "{}", late.body);

    let added = both(
        "/rack/add",
        [
            "rack=shop.rack&kind=offcut&glass=CL&tag=N1&units=mm&width=210&height=190&count=1",
            "rack=shop.rack&kind=offcut&glass=CL&tag=N1&units=mm&width=310&height=290&count=1",
        ],
    )?;
    let through = added.iter().filter(|answer| answer.status == 303).count();
    assert_eq!(through, 1, "one tag was given twice");
    let corrected = both(
        "/rack/correct",
        [
            "rack=shop.rack&tag=K.2&units=mm&place=C1",
            "rack=shop.rack&tag=K.2&units=mm&place=C2",
        ],
    )?;
    assert!(
        corrected.iter().all(|answer| answer.status == 303),
        "{:?}",
        corrected.iter().map(|answer| answer.status).collect::<Vec<_>>()
    );
    let (exit, words) = program(home.path(), &["rack", "audit", "--rack", "shop.rack"])?;
    assert_eq!(exit, 0, "{words}");
    Ok(())
}

/// One thing that somebody at the page does.
fn deed(open: &Open, cookie: &str, random: &mut Random) -> Tried<Option<Answer>> {
    let quantity = 1 + random.below(4);
    match random.below(6) {
        0 | 1 => {
            let digest = crate::digest(open, cookie)?;
            let form = format!("job=job.json&what=panel&panel=P&quantity={quantity}&digest={digest}");
            open.form("/job/edit", cookie, &form)
        }
        2 => {
            let digest = crate::digest(open, cookie)?;
            open.form("/job/step", cookie, &format!("job=job.json&way=back&digest={digest}"))
        }
        3 => {
            let asked = "job=job.json&from=shop.rack&seconds=0.1&hold=yes&replace=yes";
            open.form("/plan", cookie, asked)
        }
        4 => open.form("/book", cookie, "job=job.json&place=B1"),
        _ => open.form("/book/undo", cookie, "job=job.json"),
    }
}

/// What is in the folder is whole: the job is one that the page wrote, the plan passes its check, the rack adds up.
fn is_whole(folder: &Path, jobs: &[String]) -> Checked {
    let job = fs::read_to_string(folder.join("job.json"))?;
    assert!(jobs.contains(&job), "{job}");
    if folder.join("plan/plan.json").exists() {
        let (exit, words) = program(folder, &["check", "plan/plan.json"])?;
        assert_eq!(exit, 0, "{words}");
    }
    let (exit, words) = program(folder, &["rack", "audit", "--rack", "shop.rack"])?;
    assert_eq!(exit, 0, "{words}");
    Ok(())
}

/// The program dies at a random moment while jobs are changed and undone, planned, held, booked and taken back; what it left is whole, and it
/// opens again and goes on. `CULLET_PAGE_KILLS` says how often, `CULLET_SEED` which moments.
#[test]
fn whatever_moment_it_is_killed_the_folder_is_whole() -> Checked {
    let number = |name: &str| std::env::var(name).ok().and_then(|many| many.parse().ok());
    let (kills, seed) = (
        number("CULLET_PAGE_KILLS").unwrap_or(8),
        number("CULLET_SEED").unwrap_or(1),
    );
    let home = tempfile::tempdir()?;
    shop(home.path())?;
    let first = fs::read_to_string(home.path().join("job.json"))?;
    let jobs: Vec<String> = (1..=4)
        .map(|quantity| first.replace("\"quantity\": 1", &format!("\"quantity\": {quantity}")))
        .collect();
    let (done, unanswered) = (AtomicU32::new(0), AtomicU32::new(0));
    for kill in 0..kills {
        let mut random = Random(seed << 32 | kill);
        let moment = Duration::from_millis(50 + random.below(700));
        let mut open = Open::start(home.path(), None)?;
        let cookie = open.cookie()?;
        let mut process = open.take_process().ok_or("no process")?;
        let is_over = AtomicBool::new(false);
        std::thread::scope(|scope| {
            for worker in 0..2 {
                let (open, cookie, is_over, done, unanswered) = (&open, &cookie, &is_over, &done, &unanswered);
                let mut random = Random(seed << 32 | kill << 8 | (worker + 1));
                scope.spawn(move || {
                    while !is_over.load(Ordering::Relaxed) {
                        let is_answered = deed(open, cookie, &mut random).is_ok_and(|answer| answer.is_some());
                        let count = if is_answered { done } else { unanswered };
                        count.fetch_add(1, Ordering::Relaxed);
                    }
                });
            }
            std::thread::sleep(moment);
            let killed = process.kill().and_then(|()| process.wait());
            is_over.store(true, Ordering::Relaxed);
            killed
        })?;
        is_whole(home.path(), &jobs).map_err(|error| format!("seed {seed}, kill {kill}: {error}"))?;
    }
    let (done, unanswered) = (done.into_inner(), unanswered.into_inner());
    eprintln!("{kills} kills: {done} answered, {unanswered} cut short");
    assert!(u64::from(unanswered) >= kills / 2, "it was seldom killed at work");
    let open = Open::start(home.path(), None)?;
    assert_eq!(open.get("/job?job=job.json", &open.cookie()?)?.status, 200);
    Ok(())
}
