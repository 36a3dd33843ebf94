//! A job in inches is told in inches: no metric figure is printed or written.

use cullet_tests::{Bench, Checked, names, typed};
use std::fs;

/// What stands in a text besides its tags.
fn without_tags(text: &str) -> String {
    let parts = text
        .split('<')
        .map(|part| part.split_once('>').map_or(part, |(_, rest)| rest));
    parts.collect::<Vec<_>>().join(" ")
}

/// No metric figure, but for the scale of a drawing.
#[track_caller]
fn is_in_inches(what: &str, text: &str) {
    let text = without_tags(text).replace("1 unit = 1 mm", "");
    let words: Vec<&str> = text.split_whitespace().collect();
    for pair in words.windows(2) {
        let is_figure = pair[0]
            .trim_start_matches('(')
            .starts_with(|c: char| c.is_ascii_digit());
        let unit = pair[1].trim_end_matches(|c: char| !c.is_alphanumeric() && c != '²');
        assert!(
            !(is_figure && ["mm", "m", "m²", "kg"].contains(&unit)),
            "{what}: \"{} {}\" in a job in inches",
            pair[0],
            pair[1]
        );
    }
    for column in ["_mm", "_m2", "_kg", "lines_m,"] {
        assert!(!text.contains(column), "{what}: {column} in a job in inches");
    }
}

/// What commands print in a shop of inches.
fn say_it_in_inches(steps: &[&[&str]]) {
    for words in steps {
        let outcome = typed(words);
        let name = words[..2].join(" ");
        is_in_inches(&name, &outcome.out);
        is_in_inches(&name, &outcome.err);
        assert!(
            !outcome.out.is_empty() || !outcome.err.is_empty(),
            "{name}: {outcome:?}"
        );
    }
}

/// What commands wrote: folders of plans, and files.
fn wrote_it_in_inches(bench: &Bench, folders: &[&str], files: &[&str]) -> Checked {
    for folder in folders {
        assert!(!names(&bench.path(folder))?.is_empty(), "{folder}");
        for name in names(&bench.path(folder))?.iter().filter(|name| *name != "plan.json") {
            is_in_inches(
                &format!("{folder}/{name}"),
                &fs::read_to_string(bench.path(folder).join(name))?,
            );
        }
    }
    for name in files {
        is_in_inches(name, &fs::read_to_string(bench.path(name))?);
    }
    Ok(())
}

const STOCK_IN_INCHES: &str =
    "kind,tag,glass,units,width,height,count\nsheet,C,CL,in,12,15,2\nsheet,N,CL,in,24,36,buy\n";

/// Tables, maps, pages, findings, the rack: a job in inches, and a rack that is read in inches.
#[test]
fn a_job_in_inches_is_told_in_inches() -> Checked {
    let bench = Bench::new()?;
    let path = |name: &str| bench.path(name).display().to_string();
    let list = "number,glass,shape,width,height,units,thickness,price,glass_grain,bevel,nose\n\
                1,CL,round arch,8,12 1/2,in,1/4,4,two-ways,1/2,1/8\n2,CL,,60,60,,,,,,\n3,CL,,1/8,8,,,,,,\n";
    bench.write("list.csv", list)?;
    bench.write("stock.csv", STOCK_IN_INCHES)?;
    let (list, stock, rack) = (path("list.csv"), path("stock.csv"), path("shop.rack"));
    let plan = path("out/plan.json");
    say_it_in_inches(&[
        &["rack", "import", &stock, "--rack", &rack],
        &["rack", "units", "in", "--rack", &rack],
        &["plan", &list, "--rack", &rack, "--out", &path("out"), "--rounds", "2"],
        &[
            "compare",
            &list,
            "--stock",
            &stock,
            "--out",
            &path("choices"),
            "--rounds",
            "1",
            "--seeds",
            "1",
            "--try",
            "CL:grind=0.05",
        ],
        &["rack", "book", &plan, "--rack", &rack],
        &[
            "recut",
            &plan,
            "--piece",
            "A-1",
            "--rack",
            &rack,
            "--out",
            &path("again"),
        ],
        &["rack", "list", "--rack", &rack],
        &["rack", "find", "--size", "2x3", "--rack", &rack],
        &["rack", "show", "N", "--out", &path("n.svg"), "--rack", &rack],
        &["rack", "audit", "--rack", &rack],
        &["rack", "labels", "--rack", &rack, "--out", &path("labels.html")],
        &["rack", "throw-away", "N", "--rack", &rack],
        &["new", &path("hall"), &list],
        &["rack", "units", "--rack", &rack],
    ]);
    wrote_it_in_inches(&bench, &["out", "choices", "again"], &["n.svg", "labels.html"])
}

/// A drawing in inches, marked up and planned: faulty, and mended.
#[test]
fn a_drawing_in_inches_is_told_in_inches() -> Checked {
    let bench = Bench::new()?;
    let path = |name: &str| bench.path(name).display().to_string();
    bench.write("stock.csv", STOCK_IN_INCHES)?;
    let stock = path("stock.csv");
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="20in" height="40in" viewBox="0 0 20 40">
        <rect class="border" width="20" height="40"/><path d="M 0 15 H 20 M 0.2 20 H 19.9 M 19 15 V 20"/><text x="6" y="9">1 CL</text></svg>"#;
    bench.write("panel.svg", drawing)?;
    let job = r#"{"format": 2, "name": "Light", "units": "in", "glasses": [{"code": "CL", "name": "Clear", "thickness": 0.125,
        "grain": "none", "may_turn_over": true, "scored_face": "show", "grind_allowance": 0.02, "price": 4, "price_unit": "ft2"}],
        "panels": [{"id": "P", "quantity": 1, "drawing": {"file": "panel.svg", "glass": "CL", "opening": [21, 40.125]}}]}"#;
    bench.write("light.json", job)?;
    bench.write(
        "built.json",
        &job.replace("panel.svg", "built.svg")
            .replace(", \"opening\": [21, 40.125]", ""),
    )?;
    bench.write("built.svg", &drawing.replace(" M 0.2 20 H 19.9 M 19 15 V 20", ""))?;
    say_it_in_inches(&[
        &[
            "drawing",
            "--job",
            &path("light.json"),
            "--out",
            &path("marked.svg"),
            "--leads",
            &path("leads.csv"),
        ],
        &[
            "plan",
            &path("light.json"),
            "--stock",
            &stock,
            "--out",
            &path("light"),
            "--rounds",
            "1",
        ],
        &[
            "plan",
            &path("built.json"),
            "--stock",
            &stock,
            "--out",
            &path("light"),
            "--rounds",
            "1",
        ],
    ]);
    wrote_it_in_inches(&bench, &["light"], &["marked.svg", "leads.csv"])
}
