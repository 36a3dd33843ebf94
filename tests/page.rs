//! The page, as its users meet it: a whole day in a browser at the width of a screen and of a phone; and as others may meet it: hostile
//! requests, two who change one job, a machine that dies while something is saved.
#![expect(
    clippy::print_stderr,
    reason = "where a day has come to; cargo shows it with --nocapture"
)]

#[path = "page/day.rs"]
mod day;
#[path = "page/driver.rs"]
mod driver;
#[path = "page/hostile.rs"]
mod hostile;
#[path = "page/open.rs"]
mod open;
#[path = "page/trouble.rs"]
mod trouble;

use cullet_tests::Checked;
use hostile::{Random, hostile};
use open::Open;
use serde_json::{Value, json};
use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::Command;

fn program(folder: &Path, args: &[&str]) -> Result<(i32, String), Box<dyn Error>> {
    let done = Command::new(env!("CARGO_BIN_EXE_cullet"))
        .args(args)
        .current_dir(folder)
        .output()?;
    let words = String::from_utf8_lossy(&done.stdout).into_owned() + &String::from_utf8_lossy(&done.stderr);
    Ok((done.status.code().unwrap_or(-1), words))
}

fn read(path: &Path) -> Result<Value, Box<dyn Error>> {
    Ok(serde_json::from_str(&fs::read_to_string(path)?)?)
}

/// A folder with one job in it.
fn with_job(folder: &Path) -> Result<String, Box<dyn Error>> {
    let job = json!({"format": 2, "name": "Porch", "units": "mm", "y": "up", "glasses": [{"code": "CL", "name": "Clear", "thickness": 3, "grain": "none",
        "may_turn_over": true, "scored_face": "show", "grind_allowance": 0.5, "price": 20, "price_unit": "m2"}],
        "panels": [{"id": "P", "quantity": 1, "pieces": [{"number": "1", "glass": "CL", "outline": [[0, 0], [120, 0], [120, 80], [0, 80]]}]}]});
    let text = serde_json::to_string_pretty(&job)?;
    fs::write(folder.join("job.json"), &text)?;
    Ok(text)
}

fn digest(open: &Open, cookie: &str) -> Result<String, Box<dyn Error>> {
    let page = open.get("/job?job=job.json", cookie)?.body;
    let value = page
        .split("name=\"digest\" value=\"")
        .nth(1)
        .and_then(|rest| rest.split('"').next());
    Ok(value.ok_or("no digest on the page")?.to_owned())
}

/// Two who change one job: the second is told, and nothing of the first is lost.
#[test]
fn what_somebody_else_changed_is_not_written_over() -> Checked {
    let home = tempfile::tempdir()?;
    with_job(home.path())?;
    let open = Open::start(home.path(), None)?;
    let cookie = open.cookie()?;
    let seen = digest(&open, &cookie)?;
    let edit =
        |quantity: u32, digest: &str| format!("job=job.json&what=panel&panel=P&quantity={quantity}&digest={digest}");
    let first = open.form("/job/edit", &cookie, &edit(3, &seen))?.ok_or("no answer")?;
    assert_eq!(first.status, 303, "{first:?}");
    let second = open.form("/job/edit", &cookie, &edit(5, &seen))?.ok_or("no answer")?;
    assert_eq!(second.status, 409);
    assert!(second.body.contains("Make my change on the job as it is now") && second.body.contains("value=\"5\""));
    assert_eq!(read(&home.path().join("job.json"))?["panels"][0]["quantity"], 3);
    // By another program, in between.
    let by_hand = fs::read_to_string(home.path().join("job.json"))?.replace("Porch", "Porch, east");
    let seen = digest(&open, &cookie)?;
    fs::write(home.path().join("job.json"), &by_hand)?;
    assert_eq!(
        open.form("/job/edit", &cookie, &edit(7, &seen))?
            .ok_or("no answer")?
            .status,
        409
    );
    assert_eq!(fs::read_to_string(home.path().join("job.json"))?, by_hand);
    // What the reader refuses is not written either.
    let seen = digest(&open, &cookie)?;
    let wrong = format!("job=job.json&what=glass&panel=P&numbers=1&glass=NONE&digest={seen}");
    assert_eq!(open.form("/job/edit", &cookie, &wrong)?.ok_or("no answer")?.status, 422);
    assert_eq!(fs::read_to_string(home.path().join("job.json"))?, by_hand);
    Ok(())
}

/// What was changed can be undone by the next one who opens the folder.
#[test]
fn a_change_is_undone_after_the_program_was_ended() -> Checked {
    let home = tempfile::tempdir()?;
    let old = with_job(home.path())?;
    let job = || fs::read_to_string(home.path().join("job.json"));
    {
        let open = Open::start(home.path(), None)?;
        let cookie = open.cookie()?;
        for quantity in [3, 5] {
            let seen = digest(&open, &cookie)?;
            let form = format!("job=job.json&what=panel&panel=P&quantity={quantity}&digest={seen}");
            assert_eq!(open.form("/job/edit", &cookie, &form)?.ok_or("no answer")?.status, 303);
        }
    }
    let open = Open::start(home.path(), None)?;
    let cookie = open.cookie()?;
    let step = |way: &str| -> Checked {
        let form = format!("job=job.json&way={way}&digest={}", digest(&open, &cookie)?);
        assert_eq!(open.form("/job/step", &cookie, &form)?.ok_or("no answer")?.status, 303);
        Ok(())
    };
    step("back")?;
    step("back")?;
    assert_eq!(job()?, old);
    // There is nothing before that.
    step("back")?;
    assert_eq!(job()?, old);
    step("forth")?;
    assert_eq!(job()?, old.replace("\"quantity\": 1", "\"quantity\": 3"));
    Ok(())
}

/// Glass with a code that no job has is added, and the page says that no plan will take it; a rack comes before any list.
#[test]
fn glass_that_no_job_has_is_pointed_out() -> Checked {
    let home = tempfile::tempdir()?;
    let folder = home.path().join("Hall");
    fs::create_dir(&folder)?;
    with_job(&folder)?;
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,CL,mm,600,500,6\n";
    fs::write(folder.join("stock.csv"), stock)?;
    let open = Open::start(home.path(), None)?;
    let cookie = open.cookie()?;
    for (glass, tag, is_unknown) in [("clear float", "N1", true), ("CL", "N2", false)] {
        let rack = if is_unknown { "" } else { "rack=shop.rack&" };
        let form = format!("{rack}kind=offcut&glass={glass}&tag={tag}&units=mm&width=210&height=190&count=1");
        assert_eq!(open.form("/rack/add", &cookie, &form)?.ok_or("no answer")?.status, 303);
        let page = open.get(&format!("/rack/item?rack=shop.rack&tag={tag}"), &cookie)?.body;
        assert_eq!(page.contains("no plan will take it"), is_unknown, "{page}");
    }
    let page = open.get("/plan?job=Hall/job.json", &cookie)?.body;
    let (rack, list) = (page.find("value=\"shop.rack\""), page.find("value=\"Hall/stock.csv\""));
    assert!(rack.is_some() && rack < list, "{page}");
    Ok(())
}

/// The machine dies at every step of saving a job: the file is the one before or the one after, whole. (Stopping at steps is in
/// debug builds alone.)
#[test]
fn a_job_is_whole_wherever_saving_it_is_cut_short() -> Checked {
    let mut died = 0;
    for at in 0..12 {
        let home = tempfile::tempdir()?;
        let old = with_job(home.path())?;
        let open = Open::start(home.path(), Some(at))?;
        let cookie = open.cookie()?;
        let form = format!(
            "job=job.json&what=panel&panel=P&quantity=4&digest={}",
            digest(&open, &cookie)?
        );
        let answer = open.form("/job/edit", &cookie, &form)?;
        let new = old.replace("\"quantity\": 1", "\"quantity\": 4");
        let now = fs::read_to_string(home.path().join("job.json"))?;
        assert!(now == old || now == new, "stopped at {at}: {now}");
        died += i32::from(answer.is_none());
        if let Some(answer) = answer {
            assert_eq!((answer.status, now), (303, new));
        }
    }
    if cfg!(debug_assertions) {
        assert!(died >= 4, "it died {died} times only");
    }
    Ok(())
}

/// Paths, methods, hosts, origins, sizes and bodies of all kinds: nothing outside the folder is shown, nothing inside is changed by others, no
/// answer is a fault of the program, and it stays small. `CULLET_PAGE_REQUESTS` says how many.
#[test]
fn hostile_requests_are_refused() -> Checked {
    let many: u64 = std::env::var("CULLET_PAGE_REQUESTS")
        .ok()
        .and_then(|many| many.parse().ok())
        .unwrap_or(1000);
    let home = tempfile::tempdir()?;
    let folder = home.path().join("shop");
    fs::create_dir(&folder)?;
    fs::write(home.path().join("secret.txt"), "the secret of the house")?;
    fs::write(folder.join(".hidden"), "the secret of the house")?;
    let job = with_job(&folder)?;
    #[cfg(unix)]
    std::os::unix::fs::symlink(home.path(), folder.join("link"))?;
    let mut open = Open::start(&folder, None)?;
    let cookie = open.cookie()?;
    // Some that never end what they begin.
    let slow: Vec<std::net::TcpStream> = (0..30)
        .filter_map(|_| {
            let mut stream = std::net::TcpStream::connect(&open.host).ok()?;
            std::io::Write::write_all(&mut stream, b"POST /new HTTP/1.1\r\nHost: x\r\nContent-Le").ok()?;
            Some(stream)
        })
        .collect();
    for seed in 0..many {
        let (bytes, is_own) = hostile(&mut Random(seed), &open.host, &cookie);
        let shown = || String::from_utf8_lossy(&bytes[..bytes.len().min(600)]).into_owned();
        if let Some(answer) = open.raw(&bytes)? {
            assert!(answer.status < 500, "seed {seed}: {} to {}", answer.status, shown());
            assert!(
                !answer.body.contains("the secret of the house") && !answer.body.contains("root:"),
                "seed {seed}: {}",
                shown()
            );
            let is_let_in = matches!(answer.status, 200..=299) && !answer.head.contains("text/css");
            assert!(is_own || !is_let_in, "seed {seed}: {} to {}", answer.status, shown());
            if answer.status == 200 {
                assert!(answer.head.contains("content-security-policy"), "seed {seed}");
            }
        }
        assert!(open.is_alive()?, "seed {seed} ended the program: {}", shown());
    }
    drop(slow);
    assert_eq!(fs::read_to_string(folder.join("job.json"))?, job);
    #[cfg(target_os = "linux")]
    {
        let status = fs::read_to_string(format!("/proc/{}/status", open.id()))?;
        let most = status.lines().find_map(|line| {
            line.strip_prefix("VmHWM:")?
                .trim()
                .strip_suffix(" kB")?
                .trim()
                .parse::<u64>()
                .ok()
        });
        let most = most.ok_or("no size")?;
        assert!(most < 300 << 10, "it grew to {most} kB");
    }
    assert_eq!(open.get("/", &cookie)?.status, 200);
    Ok(())
}

/// What is said on the command line is checked before anything is served.
#[test]
fn a_folder_that_cannot_be_opened_is_named() -> Checked {
    let home = tempfile::tempdir()?;
    let (exit, words) = program(home.path(), &["open", "nothing", "--no-browser"])?;
    assert!(exit == 2 && words.contains("expected a folder"), "{words}");
    let (exit, words) = program(home.path(), &["open", ".", "--no-browser", "--listen", "0.0.0.0"])?;
    assert!(exit == 2 && words.contains("--password"), "{words}");
    Ok(())
}
