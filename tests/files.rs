//! Nothing a user stored is lost: every command that writes against everything that may stand where it writes.

use cullet_tests::workshop::{all, cullet, ends, racked, shop};
use cullet_tests::{Bench, Checked};
use std::error::Error;
use std::fs;
use std::io::Write as _;
use std::process::{Command, Output};

struct Writer {
    name: &'static str,
    args: &'static [&'static str],
    /// In a folder that it writes; none where it writes one file.
    file: Option<&'static str>,
    /// A file that it reads and that might stand in the way.
    reads: &'static str,
}

const WRITERS: [Writer; 11] = [
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
        args: &racked("shop.rack", "TARGET"),
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
    Writer {
        name: "table",
        args: &["table", "booked/plan.json", "--shop", "table.json", "--out", "TARGET"],
        file: Some("sheet-1.ngc"),
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

/// A command that writes, tried at one fresh place after another.
#[cfg(unix)]
struct Trial<'a> {
    bench: &'a Bench,
    writer: &'a Writer,
    count: usize,
}

#[cfg(unix)]
impl Trial<'_> {
    /// A fresh place: the target as it is typed, and the file of it that is looked at.
    fn place(&mut self) -> Result<(String, String), Box<dyn Error>> {
        self.count += 1;
        let home = format!("{}{}", self.writer.name.replace(' ', "-"), self.count);
        fs::create_dir(self.bench.path(&home))?;
        Ok(match self.writer.file {
            None => (format!("{home}/file"), format!("{home}/file")),
            Some(file) => (home.clone(), format!("{home}/{file}")),
        })
    }

    fn refused(&self, case: &str, target: &str, more: &[&str]) -> Checked {
        let name = self.writer.name;
        let before = all(&self.bench.path(""))?;
        let output = self.writer.run(self.bench, target, more)?;
        let err = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{name}, {case}: {err}");
        assert!(
            err.contains(": found ") && err.contains(", expected "),
            "{name}, {case}: {err}"
        );
        let after = all(&self.bench.path(""))?;
        assert_eq!(before, after, "{name}, {case}: something was changed");
        Ok(())
    }

    fn done(&self, case: &str, target: &str, more: &[&str]) -> Checked {
        let output = self.writer.run(self.bench, target, more)?;
        let err = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{}, {case}: {err}", self.writer.name);
        Ok(())
    }

    /// Its own files, changed and not, and somebody else's.
    fn files(&mut self) -> Checked {
        use std::os::unix::fs::PermissionsExt;
        // Its own, as others may read it; then changed by somebody.
        let (target, file) = self.place()?;
        self.done("nothing there", &target, &[])?;
        let mask = fs::metadata(self.bench.path("job.json"))?.permissions().mode();
        assert_eq!(
            fs::metadata(self.bench.path(&file))?.permissions().mode(),
            mask,
            "{}",
            self.writer.name
        );
        self.done("its own", &target, &[])?;
        let mut own = fs::OpenOptions::new().append(true).open(self.bench.path(&file))?;
        own.write_all(b" and a note\n")?;
        self.refused("its own, changed", &target, &[])?;
        self.done("its own, changed, --replace", &target, &["--replace"])?;

        let (target, file) = self.place()?;
        self.bench.write(&file, "mine")?;
        self.refused("somebody's file", &target, &[])?;
        fs::set_permissions(self.bench.path(&file), PermissionsExt::from_mode(0o444))?;
        self.refused("a file that may not be written", &target, &["--replace"])?;
        fs::set_permissions(self.bench.path(&file), PermissionsExt::from_mode(0o644))?;
        self.done("somebody's file, --replace", &target, &["--replace"])?;

        Ok(())
    }

    /// What is no file with words in it.
    fn no_files(&mut self) -> Checked {
        let (target, file) = self.place()?;
        self.bench.write(&file, "")?;
        self.refused("an empty file", &target, &[])?;

        let (target, file) = self.place()?;
        fs::create_dir(self.bench.path(&file))?;
        self.refused("a folder", &target, &["--replace"])?;

        let (target, file) = self.place()?;
        assert!(Command::new("mkfifo").arg(self.bench.path(&file)).status()?.success());
        self.refused("a pipe", &target, &["--replace"])?;

        Ok(())
    }

    /// Links, racks and inputs.
    fn links(&mut self) -> Checked {
        use std::os::unix::fs::symlink;
        let (target, file) = self.place()?;
        symlink("nowhere", self.bench.path(&file))?;
        self.refused("a link to nothing", &target, &["--replace"])?;

        let (target, file) = self.place()?;
        self.bench.write("linked", "mine")?;
        symlink(self.bench.path("linked"), self.bench.path(&file))?;
        self.refused("a link to somebody's file", &target, &[])?;

        let (target, file) = self.place()?;
        symlink(self.bench.path("other.rack"), self.bench.path(&file))?;
        self.refused("a link to a rack", &target, &["--replace"])?;

        for (case, at) in [("a rack", "other.rack"), ("a file that it reads", self.writer.reads)] {
            let (target, file) = self.place()?;
            // By another name for the same file.
            fs::hard_link(self.bench.path(at), self.bench.path(&file))?;
            self.refused(case, &target, &["--replace"])?;
            if self.writer.file.is_none() {
                self.refused(case, at, &["--replace"])?;
            }
        }
        Ok(())
    }
}

/// Every command against everything that may stand there. What the program did not write stays as it is, links stay links,
/// and `--replace` does not reach racks, inputs, folders and pipes.
#[cfg(unix)]
#[test]
fn no_command_writes_over_what_is_not_the_programs_own() -> Checked {
    let bench = shop()?;
    let plan = racked("shop.rack", "booked");
    ends(&bench, &plan, 0)?;
    ends(&bench, &["book", "booked/plan.json", "--rack", "shop.rack"], 0)?;
    let table = concat!(env!("CARGO_MANIFEST_DIR"), "/../../fixtures/table/shop.json");
    fs::copy(table, bench.path("table.json"))?;
    for writer in &WRITERS {
        let mut trial = Trial {
            bench: &bench,
            writer,
            count: 0,
        };
        trial.files()?;
        trial.no_files()?;
        trial.links()?;
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
    let plan = racked("shop.rack", "planned");
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
