//! A small workshop in a folder of its own, and the program run there as a user runs it.

use crate::{Bench, Sheet, bare_glass, job, rectangle, sheets};
use serde_json::json;
use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// The program that was built with the test that runs.
///
/// # Errors
/// Where the test does not know where it is itself.
pub fn program() -> std::io::Result<PathBuf> {
    let test = std::env::current_exe()?;
    let built = test.ancestors().nth(2).unwrap_or(Path::new("."));
    Ok(built.join(format!("cullet{}", std::env::consts::EXE_SUFFIX)))
}

const RULED: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">
    <path d="M0 0H200V300H0Z" fill="none" stroke="black"/></svg>"#;

/// The program with these arguments in the folder, with nothing to read from.
///
/// # Panics
/// Where the program is not known.
#[must_use]
pub fn command(bench: &Bench, args: &[&str]) -> Command {
    let mut command = Command::new(program().expect("where the program is"));
    command.args(args).current_dir(bench.path("")).stdin(Stdio::null());
    command
}

/// What the program does with these arguments.
///
/// # Errors
/// Where it cannot be run.
pub fn cullet(bench: &Bench, args: &[&str]) -> Result<Output, Box<dyn Error>> {
    Ok(command(bench, args).output()?)
}

/// The same, asserting the exit code; returns both outputs one after the other.
///
/// # Errors
/// Where it cannot be run.
///
/// # Panics
/// Where it ends with another code.
#[track_caller]
pub fn ends(bench: &Bench, args: &[&str], code: i32) -> Result<String, Box<dyn Error>> {
    let output = cullet(bench, args)?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let all = text(&output.stdout) + &text(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{args:?}: {all}");
    Ok(all)
}

/// What is typed to plan the workshop's job from a rack into a folder, in one round.
#[must_use]
pub const fn racked<'a>(rack: &'a str, out: &'a str) -> [&'a str; 8] {
    ["plan", "job.json", "--rack", rack, "--rounds", "1", "--out", out]
}

/// A job of two pieces, its sheets on a rack and on a list, a drawing and the job around it.
///
/// # Errors
/// Where it cannot be set up.
pub fn shop() -> Result<Bench, Box<dyn Error>> {
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

/// Everything on a bench but what SQLite keeps beside a rack: kind, rights and content by name.
///
/// # Errors
/// Where something cannot be read.
pub fn all(folder: &Path) -> Result<BTreeMap<String, String>, Box<dyn Error>> {
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
