//! Reads what the program prints and writes, for words that are not to stand there and for one of a thing in the plural.
//!
//! The people who read it know glass and not computers, and many read English as a second language.

#[path = "words/inches.rs"]
mod inches;

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
