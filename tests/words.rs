//! Reads what the program prints and writes, for words that are not to stand there and for one of a thing in the plural.
//!
//! The people who read it know glass and not computers, and many read English as a second language.

use cullet_tests::{Bench, Checked, Outcome, names, typed};
use std::fs;
use std::path::{Path, PathBuf};

/// Words that are not printed, with what is said instead.
const BANNED: [(&str, &str); 30] = [
    ("does not hold", "fails"),
    (": holds:", "passes"),
    ("anew", "again"),
    ("if need be", "if needed"),
    ("telephone", "phone"),
    ("passed over", "skipped"),
    ("parted by", "separated by"),
    ("from memory", "what is known"),
    ("handbook", "no source"),
    ("magazine", "no source"),
    ("tutorial", "no source"),
    ("workshop tips", "no source"),
    ("restoration studio", "no source"),
    ("over all (", "overall"),
    ("glass over all", "glass overall"),
    ("is true.", "adds up"),
    ("drawn_", "pulled_"),
    ("lowest of its runs", "searches"),
    ("runs of the two", "searches"),
    ("goes back,", "returned"),
    ("mirrored left to right against", "from"),
    ("saw_loss", "cutting_loss"),
    ("let falling glass", "never try to catch falling glass"),
    ("let broken glass", "never try to catch falling glass"),
    ("wants two people", "needs two people"),
    ("Set-up", "Setting up"),
    ("capitals aside", "ignoring capitals"),
    ("promised", "held"),
    ("pieces, glass of one", "in each panel"),
    ("an empty text", "empty text"),
];
/// Words after a 1 that end with s and are one thing.
const SINGULAR: [&str; 11] = [
    "stays", "comes", "is", "has", "as", "was", "this", "plus", "less", "glass", "across",
];

/// Reads a text; `what` says where it came from.
#[track_caller]
fn read(what: &str, text: &str) {
    for (banned, instead) in BANNED {
        if let Some(at) = text.find(banned) {
            let around: String = text[..at]
                .chars()
                .rev()
                .take(60)
                .collect::<Vec<_>>()
                .into_iter()
                .rev()
                .collect();
            panic!("{what}: \"…{around}{banned}\" is printed; say \"{instead}\"");
        }
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    for pair in words.windows(2) {
        let word = pair[1].trim_end_matches(|c: char| !c.is_alphabetic());
        let is_word = word.len() > 2 && word.chars().all(|c| c.is_ascii_lowercase());
        let is_plural = is_word && word.ends_with('s') && !word.ends_with("ss") && !SINGULAR.contains(&word);
        assert!(
            !(is_plural && ["1", "(1"].contains(&pair[0])),
            "{what}: \"1 {word}\" is printed"
        );
    }
}

fn read_outcome(what: &str, outcome: &Outcome) {
    read(what, &outcome.out);
    read(what, &outcome.err);
}

/// Every file in a folder but plan.json, which is data.
fn read_folder(folder: &Path) -> Checked {
    for name in names(folder)? {
        if name != "plan.json" {
            read(&name, &fs::read_to_string(folder.join(&name))?);
        }
    }
    Ok(())
}

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures")
}

#[test]
fn help_and_schemas() {
    let commands = [
        "plan",
        "new",
        "job",
        "compare",
        "check",
        "drawing",
        "recut",
        "rack",
        "schema",
        "completions",
        "man",
    ];
    read_outcome("help", &typed(&["--help"]));
    for command in commands {
        read_outcome(command, &typed(&[command, "--help"]));
    }
    let topics = [
        "words", "job", "pieces", "shapes", "drawings", "stock", "shop", "racks", "choices", "breaking", "files",
    ];
    for topic in topics {
        let outcome = typed(&["help", topic]);
        assert!(outcome.out.lines().count() > 10, "{topic}: {outcome:?}");
        assert!(outcome.out.lines().all(|line| line.chars().count() <= 100), "{topic}");
        read_outcome(topic, &outcome);
    }
    assert_eq!(
        typed(&["help", "rack", "book"]).out,
        typed(&["rack", "book", "--help"]).out
    );
    let outcome = typed(&["help", "wrods"]);
    assert!(outcome.err.contains("Did you mean \"words\"?"), "{outcome:?}");
    read_outcome("job upgrade", &typed(&["job", "upgrade", "--help"]));
    let of_rack = [
        "add",
        "correct",
        "throw-away",
        "list",
        "find",
        "show",
        "history",
        "audit",
        "import",
        "export",
        "labels",
        "backup",
        "release",
        "book",
        "units",
    ];
    for command in of_rack {
        let outcome = typed(&["rack", command, "--help"]);
        assert!(outcome.out.contains("Usage"), "{command}: {outcome:?}");
        read_outcome(command, &outcome);
    }
    read_outcome("schema", &typed(&["schema"]));
    read_outcome("schema of the shop file", &typed(&["schema", "shop"]));
}

#[test]
fn everything_that_is_refused() -> Checked {
    let bench = Bench::new()?;
    let out = bench.path("out").display().to_string();
    for name in names(&fixtures().join("bad"))? {
        let case = fixtures().join("bad").join(&name);
        let list = case.join("pieces.csv");
        let job = if list.is_file() { list } else { case.join("job.json") };
        let stock = case.join("stock.csv").display().to_string();
        let outcome = typed(&[
            "plan",
            &job.display().to_string(),
            "--stock",
            &stock,
            "--out",
            &out,
            "--rounds",
            "1",
        ]);
        assert!(!outcome.err.is_empty(), "{name}");
        // A former name is named where it is refused.
        let said = outcome.err.replace("the unknown field \"saw_loss\"", "");
        read(&name, &said);
        read(&name, &outcome.out);
    }
    Ok(())
}

/// Reads what commands print.
fn read_steps(steps: &[&[&str]]) {
    for words in steps {
        let outcome = typed(words);
        let name = words[..2].join(" ");
        assert!(
            !outcome.out.is_empty() || !outcome.err.is_empty(),
            "{name}: {outcome:?}"
        );
        read_outcome(&name, &outcome);
    }
}

/// One piece on one sheet: everything that is printed and written for it.
#[test]
fn plans_books_and_racks() -> Checked {
    let bench = Bench::new()?;
    let path = |name: &str| bench.path(name).display().to_string();
    let list = "number,glass,shape,width,height,diameter,units,thickness,glass_grain,bevel,nose\n\
                1,CL,round arch,200,300,,mm,4,two-ways,12,2\n";
    bench.write("one.csv", list)?;
    bench.write(
        "hand.csv",
        "kind,tag,glass,units,width,height,count\nsheet,C,CL,mm,300,400,1\nsheet,N,CL,mm,600,900,buy\n",
    )?;
    let (one, stock, rack) = (path("one.csv"), path("hand.csv"), path("shop.rack"));
    let steps: [&[&str]; 13] = [
        &["rack", "import", &stock, "--rack", &rack],
        &[
            "plan",
            &one,
            "--rack",
            &rack,
            "--hold",
            "--out",
            &path("out"),
            "--rounds",
            "2",
        ],
        &["check", &path("out/plan.json")],
        &[
            "compare",
            &one,
            "--stock",
            &stock,
            "--out",
            &path("choices"),
            "--rounds",
            "1",
            "--seeds",
            "1",
            "--try",
            "CL:grind=1",
        ],
        &["rack", "book", &path("out/plan.json"), "--rack", &rack],
        &["rack", "list", "--rack", &rack],
        &["rack", "history", "--rack", &rack],
        &["rack", "audit", "--rack", &rack],
        &["rack", "labels", "--rack", &rack, "--out", &path("labels.html")],
        &["rack", "export", "--rack", &rack, &path("list.csv")],
        &["rack", "book", &path("out/plan.json"), "--rack", &rack],
        &[
            "recut",
            &path("out/plan.json"),
            "--piece",
            "A-1",
            "--rack",
            &rack,
            "--out",
            &path("again"),
        ],
        &["new", &path("hall")],
    ];
    read_steps(&steps);
    for folder in ["out", "choices", "hall"] {
        read_folder(&bench.path(folder))?;
    }
    read("labels", &fs::read_to_string(bench.path("labels.html"))?);
    Ok(())
}

/// A panel from its drawing: leads, measurements, the pictures of the book.
#[test]
fn a_panel_from_its_drawing() -> Checked {
    let bench = Bench::new()?;
    let path = |name: &str| bench.path(name).display().to_string();
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">
        <rect class="border" width="200" height="300"/><path d="M 0 150 H 200"/><text x="60" y="90">1 CL</text></svg>"#;
    bench.write("panel.svg", drawing)?;
    let outcome = typed(&["new", &path("light"), &path("panel.svg")]);
    read_outcome("new", &outcome);
    let (job, stock) = (path("light/job.json"), path("light/stock.csv"));
    let outcome = typed(&[
        "plan",
        &job,
        "--stock",
        &stock,
        "--out",
        &path("drawn"),
        "--rounds",
        "2",
    ]);
    read_outcome("a plan from a drawing", &outcome);
    read_folder(&bench.path("drawn"))?;
    let demo = fixtures().join("lighthouse/job.json").display().to_string();
    for job in [&job, &demo] {
        let outcome = typed(&["drawing", "--job", job]);
        assert!(!outcome.out.is_empty(), "{outcome:?}");
        read_outcome("drawings", &outcome);
    }
    Ok(())
}

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
