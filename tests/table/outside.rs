//! Table files judged by programs from outside: an interpreter of G-code, a library that reads DXF.

use crate::{planned, table, text};
use cullet::Exit;
use cullet_tests::{Bench, Checked, names, passed_over, typed};
use std::path::{Path, PathBuf};
use std::process::Command;

/// The interpreter of RS-274/NGC that Debian ships (package linuxcnc-uspace), where it is: in the path, or in `CULLET_RS274`.
fn interpreter() -> Option<PathBuf> {
    let named = std::env::var_os("CULLET_RS274").map(PathBuf::from);
    let in_path = || {
        let path = std::env::var_os("PATH")?;
        std::env::split_paths(&path)
            .map(|folder| folder.join("rs274"))
            .find(|file| file.is_file())
    };
    named.or_else(in_path)
}

/// Has the interpreter read a file, writes what it would do as G-code again, and has that checked against the plan.
pub(crate) fn interpreted(bench: &Bench, file: &Path, plan: &Path) -> Result<bool, Box<dyn std::error::Error>> {
    let Some(program) = interpreter() else { return Ok(false) };
    let (tools, variables) = (bench.write("tools.tbl", "")?, bench.write("variables.var", "")?);
    let ran = Command::new(program)
        .args(["-g", "-t"])
        .arg(tools)
        .arg("-v")
        .arg(variables)
        .arg(file)
        .output()?;
    let moves = String::from_utf8_lossy(&ran.stdout).into_owned();
    assert!(
        ran.status.success(),
        "{}: {}{moves}",
        file.display(),
        String::from_utf8_lossy(&ran.stderr)
    );
    let mut again = String::from("G17 G21 G40\nG90 G94\nG61\n");
    let (mut x, mut y) = (0.0, 0.0);
    for line in moves.lines() {
        let Some((name, rest)) = line.split_once("..... ").and_then(|(_, rest)| rest.split_once('(')) else {
            continue;
        };
        let n: Vec<f64> = rest
            .trim_end_matches(')')
            .split(',')
            .filter_map(|n| n.trim().parse().ok())
            .collect();
        match (name, n.as_slice()) {
            ("STRAIGHT_TRAVERSE", [a, b, .., c]) => {
                again += &format!("G0 X{a:.4} Y{b:.4} C{c:.4}\n");
                (x, y) = (*a, *b);
            }
            ("STRAIGHT_FEED", [a, b, .., c]) => {
                again += &format!("G1 X{a:.4} Y{b:.4} C{c:.4} F1\n");
                (x, y) = (*a, *b);
            }
            ("ARC_FEED", [a, b, i, j, way, .., c]) => {
                let g = if *way > 0.0 { "G3" } else { "G2" };
                again += &format!("F1\n{g} X{a:.4} Y{b:.4} I{:.4} J{:.4} C{c:.4}\n", i - x, j - y);
                (x, y) = (*a, *b);
            }
            ("START_SPINDLE_CLOCKWISE", _) => again += "M3\n",
            ("STOP_SPINDLE_TURNING", _) if again.contains("M3") && again.rfind("M3") > again.rfind("M5") => {
                again += "M5\n"
            }
            _ => {}
        }
    }
    again += "M2\n";
    let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let again = bench.write(&name, &again)?.display().to_string();
    let said = typed(&["table", "--check", &again, &plan.display().to_string()]);
    assert_eq!(said.exit, Exit::Done, "as interpreted, {name}: {}", said.err);
    Ok(true)
}

/// Folders with table files and the plans that they are for: a small one, and those of the plans that `CULLET_TABLE_PLANS` names, parted
/// by colons.
fn made(bench: &Bench) -> Result<Vec<(PathBuf, PathBuf)>, Box<dyn std::error::Error>> {
    let out = bench.path("out");
    let mut made = vec![(out.clone(), out.join("plan.json"))];
    let shop = concat!(env!("CARGO_MANIFEST_DIR"), "/../fixtures/table/shop.json");
    let more = std::env::var("CULLET_TABLE_PLANS").unwrap_or_default();
    for (k, plan) in more.split(':').filter(|plan| !plan.is_empty()).enumerate() {
        let folder = bench.path(&format!("more{k}"));
        let said = typed(&["table", plan, "--shop", shop, "--out", &folder.display().to_string()]);
        assert_eq!(said.exit, Exit::Done, "{plan}: {}", said.err);
        made.push((folder, PathBuf::from(plan)));
    }
    Ok(made)
}

#[test]
fn the_open_interpreter_does_what_the_plan_says() -> Checked {
    if interpreter().is_none() {
        return Ok(passed_over(
            "G-code in the RS-274/NGC interpreter (rs274 of the package linuxcnc-uspace is missing)",
        )?);
    }
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let mut count = 0;
    for (folder, plan) in made(&bench)? {
        for name in names(&folder)?.iter().filter(|name| name.ends_with(".ngc")) {
            assert!(interpreted(&bench, &folder.join(name), &plan)?);
            count += 1;
        }
    }
    println!("{count} files of G-code interpreted");
    Ok(())
}

/// `ezdxf` (M. Moitzi; PyPI) audits the drawings and finds the lengths that the program says.
#[test]
fn a_general_library_reads_the_drawing() -> Checked {
    let python = std::env::var("CULLET_PYTHON").unwrap_or_else(|_| "python3".into());
    let has = Command::new(&python).args(["-c", "import ezdxf"]).output();
    if !has.is_ok_and(|ran| ran.status.success()) {
        return Ok(passed_over(
            "DXF in ezdxf (pip install ezdxf, or name a Python that has it in CULLET_PYTHON)",
        )?);
    }
    let (bench, outcome) = planned(&table())?;
    assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
    let mut count = 0;
    for (folder, _) in made(&bench)? {
        for name in names(&folder)?.iter().filter(|name| name.ends_with(".dxf")) {
            let ran = Command::new(&python)
                .args(["-c", LENGTH])
                .arg(folder.join(name))
                .output()?;
            assert!(ran.status.success(), "{name}: {}", String::from_utf8_lossy(&ran.stderr));
            let found = String::from_utf8_lossy(&ran.stdout).trim().to_owned();
            let ngc = text(&folder.join(name.replace(".dxf", ".ngc")))?;
            assert!(
                ngc.contains(&format!("(- {found} m of scores")),
                "{name}: {found} m by ezdxf"
            );
            count += 1;
        }
    }
    println!("{count} drawings read");
    Ok(())
}

/// Audits a drawing and prints the length of its scores in metres.
const LENGTH: &str = "
import sys, math, ezdxf
doc = ezdxf.readfile(sys.argv[1])
assert not doc.audit().has_errors
def arc(p, q, bulge):
    chord, turn = math.dist(p, q), 4 * math.atan(abs(bulge))
    return chord if turn == 0 else chord / 2 / math.sin(turn / 2) * turn
total = 0
for e in doc.modelspace():
    if e.dxf.layer in ('SCORE', 'RELIEF', 'TRIM'):
        if e.dxftype() == 'LINE': total += math.dist(e.dxf.start, e.dxf.end)
        elif e.dxftype() == 'ARC': total += math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360) * e.dxf.radius
        else:
            v = [(tuple(p.dxf.location)[:2], p.dxf.bulge) for p in e.vertices]
            total += sum(arc(a[0], b[0], a[1]) for a, b in zip(v, v[1:]))
print(f'{total / 1000:.1f}')
";
