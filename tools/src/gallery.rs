//! The gallery: six small windows of different character, each with its sheet maps, all invented.
//!
//! Five are drawn as cartoons, one is a piece list in inches. The command plans them with effort counted in rounds, so that the
//! same maps come out on every machine, and keeps cartoon, job, stock list and maps of each, with a page that shows them.

mod windows;

use crate::files;
use anyhow::{Context, Result, bail};
use cullet::{Exit, Session};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use windows::Window;

/// Rounds of each search.
const ROUNDS: u32 = 60;

/// Writes what each window is made from: its cartoon or piece list, its job and its stock list.
///
/// # Errors
/// When a file cannot be written.
pub fn write_windows(folder: &Path) -> Result<()> {
    for window in windows::all() {
        let folder = folder.join(window.name);
        files::write(&folder.join("stock.csv"), window.stock)?;
        match &window.cartoon {
            Some(cartoon) => {
                files::write(&folder.join("cartoon.svg"), cartoon)?;
                let job = serde_json::to_string_pretty(&job(&window)).context("a job of plain values")?;
                files::write(&folder.join("job.json"), &(job + "\n"))?;
            }
            None => files::write(&folder.join("pieces.csv"), windows::TRANSOM)?,
        }
    }
    Ok(())
}

/// The same, and plans them all and writes their maps and the page.
///
/// # Errors
/// When a file cannot be written, or a window cannot be planned whole.
pub fn write(folder: &Path) -> Result<()> {
    write_windows(folder)?;
    let mut page = String::from(
        "# Gallery\n\nSix small windows, all invented, each with the maps of the sheets and offcuts that it is cut from. \
         `cargo run --release -p cullet-tools -- gallery` remakes them.\n",
    );
    for window in windows::all() {
        let maps = plan(&window, &folder.join(window.name))?;
        let _ = write!(page, "\n## {}\n\n{}\n\n", window.title, window.about);
        if window.cartoon.is_some() {
            let _ = writeln!(
                page,
                "<img src=\"{}/cartoon.svg\" width=\"200\" alt=\"The cartoon\">",
                window.name
            );
        }
        for map in maps {
            let _ = writeln!(
                page,
                "<img src=\"{}/{map}\" width=\"300\" alt=\"A sheet map\">",
                window.name
            );
        }
    }
    files::write(&folder.join("README.md"), &page)
}

/// Plans one window where its files are, and leaves its maps there; returns their names.
fn plan(window: &Window, folder: &Path) -> Result<Vec<String>> {
    let job = if window.cartoon.is_some() {
        "job.json"
    } else {
        "pieces.csv"
    };
    let out = folder.join("plan");
    let path = |name: &str| folder.join(name).display().to_string();
    let (job, stock, rounds) = (path(job), path("stock.csv"), ROUNDS.to_string());
    let words = [
        "cullet",
        "plan",
        &job,
        "--stock",
        &stock,
        "--out",
        &path("plan"),
        "--rounds",
        &rounds,
    ];
    let (mut said, mut wrong) = (vec![], vec![]);
    let stop = AtomicBool::new(false);
    let exit = cullet::run(words, &mut Session::new(&mut said, &mut wrong, &stop));
    if exit != Exit::Done {
        bail!("{}: {}", window.name, String::from_utf8_lossy(&wrong));
    }
    let mut maps = vec![];
    for number in 1.. {
        let map = format!("sheet-{number}.svg");
        let Ok(text) = fs::read_to_string(out.join(&map)) else {
            break;
        };
        files::write(&folder.join(&map), &text)?;
        maps.push(map);
    }
    fs::remove_dir_all(&out)?;
    Ok(maps)
}

fn job(window: &Window) -> Value {
    json!({
        "format": 2, "name": window.title, "units": "mm",
        "settings": { "currency": "EUR" },
        "glasses": window.glasses,
        "panels": [{
            "id": window.panel, "quantity": 1, "mirrored_quantity": window.mirrored,
            "drawing": { "file": "cartoon.svg", "glass": window.usual, "came": window.came, "border": { "face": 10, "heart": 1.5 } }
        }]
    })
}
