//! What goes in comes out harmless: texts that are formulas, markup or escape codes elsewhere, through every output, each judged by
//! a parser of its format; and lists that read back as they were.

use cullet::Exit;
use cullet_rack::{Rack, Which};
use cullet_tests::{Bench, Checked, bare_glass, job, rectangle, typed};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use serde_json::json;
use std::error::Error;
use std::fs;
use std::path::Path;

/// What spreadsheets, browsers, XML readers and terminals take for more than words.
const NASTY: [&str; 36] = [
    "=1+1",
    "=cmd|'/c calc'!A1",
    "+1",
    "-1+1",
    "@SUM(1)",
    "\u{ff1d}1",
    "'=1",
    "''",
    "\"",
    "\"\"",
    ",",
    ";",
    "#",
    "a\nb",
    "\t",
    "-->",
    "--",
    "]]>",
    "<![CDATA[",
    "<script>x</script>",
    "<img src=x onerror=y>",
    "</title>",
    "</style>",
    "</svg>",
    "\" onload=\"y",
    "' onload='y",
    "&amp;",
    "&x;",
    "&#0;",
    "ä ö ü ß",
    "窓",
    "\u{1b}[2J",
    "\u{7}",
    "\u{202e}",
    "../x",
    "{{x}}",
];

fn texts(count: usize) -> impl Strategy<Value = Vec<String>> {
    let text = prop::collection::vec(prop::sample::select(&NASTY[..]), 1..4).prop_map(|parts| parts.concat());
    prop::collection::vec(text, count)
}

fn quoted(cell: &str) -> String {
    format!("\"{}\"", cell.replace('"', "\"\""))
}

/// Every file of a folder by its format; how many there were.
fn judge(folder: &Path) -> Result<usize, Box<dyn Error>> {
    let mut seen = 0;
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let text = fs::read_to_string(&path)?;
        match path.extension().and_then(|e| e.to_str()) {
            Some("csv") => judge_csv(&text)?,
            Some("svg" | "html") => judge_markup(&text).map_err(|e| format!("{}: {e}\n{text}", path.display()))?,
            Some("json") => drop(serde_json::from_str::<serde_json::Value>(&text)?),
            other => return Err(format!("a file of another kind: {other:?}").into()),
        }
        seen += 1;
    }
    Ok(seen)
}

/// RFC 4180, and no cell that a spreadsheet reckons (OWASP, CSV injection): a number may begin with a minus.
fn judge_csv(text: &str) -> Checked {
    let text = text.trim_start_matches('\u{feff}');
    let separator = if text.lines().next().is_some_and(|l| l.contains(';')) {
        b';'
    } else {
        b','
    };
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .flexible(true)
        .from_reader(text.as_bytes());
    let names = reader.headers()?.len();
    for record in reader.records() {
        let record = record?;
        // The last line is the program's own mark.
        assert!(
            record.len() == names || record.get(0).is_some_and(|c| c.starts_with('#')),
            "{record:?}"
        );
        for cell in &record {
            let is_number = cell.replace(',', ".").parse::<f64>().is_ok();
            let begins = cell.starts_with([
                '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
            ]);
            assert!(!begins || is_number, "a formula: {cell:?}");
        }
    }
    Ok(())
}

/// Well-formed XML in which nothing came from a text but words.
fn judge_markup(text: &str) -> Result<(), String> {
    let body = text.trim_start_matches("<!DOCTYPE html>").trim_start();
    let document = roxmltree::Document::parse(body).map_err(|e| e.to_string())?;
    for node in document.descendants().filter(roxmltree::Node::is_element) {
        let name = node.tag_name().name();
        if ["script", "img", "iframe", "object"].contains(&name) {
            return Err(format!("an element {name}"));
        }
        let own = ["id", "class"];
        if let Some(bad) = node
            .attributes()
            .find(|a| a.name().starts_with("on") && !own.contains(&a.name()))
        {
            return Err(format!("an attribute {}", bad.name()));
        }
        if node
            .attributes()
            .any(|a| a.name() == "href" && a.value().starts_with("javascript:"))
        {
            return Err("a link that runs".into());
        }
    }
    Ok(())
}

/// Nothing that moves a terminal.
fn judge_words(words: &str) {
    let bad = words
        .chars()
        .find(|c| (c.is_control() && !matches!(c, '\n' | '\t')) || *c == '\u{202e}');
    assert_eq!(bad, None, "{words:?}");
}

fn run(args: &[&str]) -> Exit {
    let outcome = typed(args);
    judge_words(&outcome.out);
    judge_words(&outcome.err);
    outcome.exit
}

#[derive(Debug, Default)]
struct Seen {
    planned: usize,
    files: usize,
    imported: usize,
}

/// One set of texts through everything.
fn through(t: &[String], seen: &mut Seen) -> Checked {
    let bench = Bench::new()?;
    let at = |name: &str| bench.path(name).display().to_string();
    let mut glass = bare_glass(&t[0], 3.0);
    glass["name"] = json!(t[1]);
    glass["texture"] = json!(t[2]);
    let mut order = job(
        &[glass],
        1,
        &[rectangle(&t[3], &t[0], 200.0, 300.0), rectangle("2", &t[0], 50.0, 60.0)],
    );
    order["name"] = json!(t[4]);
    order["panels"][0]["id"] = json!(t[5]);
    order["panels"][0]["name"] = json!(t[6]);
    bench.write("job.json", &order.to_string())?;
    let line = |tag: &str| {
        let cells = ["offcut", tag, &t[0], "mm", "700", "600", "1", &t[8], &t[9]];
        cells.map(quoted).join(",") + "\n"
    };
    let list = format!(
        "kind,tag,glass,units,width,height,count,lot,place\n{}{}",
        line(&t[7]),
        line("plain")
    );
    bench.write("stock.csv", &list)?;
    let (job_file, stock, out, choices) = (at("job.json"), at("stock.csv"), at("out"), at("choices"));
    for mark in [None, Some("--decimal-comma")] {
        let mut args = vec!["plan", &job_file, "--stock", &stock, "--rounds", "1", "--out", &out];
        args.extend(mark);
        let exit = run(&args);
        assert!(
            [Exit::Done, Exit::Unplaced, Exit::BadInput].contains(&exit),
            "{exit:?} for {t:?}"
        );
        if exit != Exit::BadInput {
            seen.planned += 1;
            seen.files += judge(&bench.path("out"))?;
            assert_eq!(run(&["check", &at("out/plan.json")]), Exit::Done, "{t:?}");
        }
    }
    if run(&[
        "compare", &job_file, "--stock", &stock, "--try", "foil=0.4", "--rounds", "1", "--seeds", "1", "--out",
        &choices,
    ]) == Exit::Done
    {
        seen.files += judge(&bench.path("choices"))?;
    }
    rack(&bench, &stock, t, seen)
}

fn rack(bench: &Bench, stock: &str, t: &[String], seen: &mut Seen) -> Checked {
    let at = |name: &str| bench.path(name).display().to_string();
    let (one, two) = (at("one.rack"), at("two.rack"));
    if run(&["rack", "import", stock, "--rack", &one]) != Exit::Done {
        return Ok(());
    }
    seen.imported += 1;
    fs::create_dir(bench.path("lists"))?;
    for (list, marks) in [
        ("lists/points.csv", None),
        ("lists/commas.csv", Some("--decimal-comma")),
    ] {
        let list = at(list);
        let mut args = vec!["rack", "export", &list, "--rack", &one];
        args.extend(marks);
        assert_eq!(run(&args), Exit::Done, "{t:?}");
        let _ = fs::remove_file(bench.path("two.rack"));
        assert_eq!(run(&["rack", "import", &list, "--rack", &two]), Exit::Done, "{t:?}");
        let items = |path: &str| -> Result<_, Box<dyn Error>> {
            let items = Rack::open_to_read(path.as_ref())?.list(&Which::default())?;
            Ok(items.into_iter().map(|item| item.stock).collect::<Vec<_>>())
        };
        assert_eq!(items(&one)?, items(&two)?, "{t:?}");
    }
    assert_eq!(
        run(&["rack", "labels", "--rack", &one, "--out", &at("lists/labels.html")]),
        Exit::Done
    );
    seen.files += judge(&bench.path("lists"))?;
    for look in ["list", "history", "audit"] {
        assert_eq!(run(&["rack", look, "--rack", &one]), Exit::Done);
    }
    Ok(())
}

#[test]
fn hostile_texts_come_out_as_words() -> Checked {
    let cases = std::env::var("CULLET_TEXTS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(4);
    let mut runner = TestRunner::new(Config {
        cases,
        failure_persistence: None,
        ..Config::default()
    });
    let seen = std::cell::RefCell::new(Seen::default());
    runner.run(&texts(10), |texts| {
        through(&texts, &mut seen.borrow_mut()).map_err(|e| TestCaseError::fail(e.to_string()))
    })?;
    // Each of them alone, so that none is refused for another.
    for nasty in NASTY {
        let mut plain: Vec<String> = (0..10).map(|i| format!("t{i}")).collect();
        let text = format!("{nasty}x");
        for i in [1, 2, 4, 6, 8, 9] {
            plain[i].clone_from(&text);
        }
        through(&plain, &mut seen.borrow_mut()).map_err(|e| format!("{nasty:?}: {e}"))?;
        for i in [0, 3, 5, 7] {
            plain[i].clone_from(&text);
        }
        through(&plain, &mut seen.borrow_mut()).map_err(|e| format!("{nasty:?}: {e}"))?;
    }
    let seen = seen.into_inner();
    assert!(seen.planned > 40 && seen.files > 300 && seen.imported > 40, "{seen:?}");
    Ok(())
}

/// A drawing's texts and layers, in the marked-up drawing and the table of lead.
#[test]
fn a_hostile_drawing_comes_out_as_words() -> Checked {
    for nasty in NASTY {
        let words: String = nasty.chars().filter(|c| !c.is_control()).collect();
        let words = words
            .replace('&', "&amp;")
            .replace('<', "&lt;")
            .replace('"', "&quot;")
            .replace("]]>", "]]&gt;");
        let bench = Bench::new()?;
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400mm\" height=\"400mm\" viewBox=\"0 0 400 400\">\
             <g id=\"{words}\" class=\"{words}\"><rect x=\"0\" y=\"0\" width=\"400\" height=\"400\"/><path d=\"M0 200H400M0 90H50\"/></g>\
             <text x=\"100\" y=\"100\">{words}</text></svg>"
        );
        let at = |name: &str| bench.path(name).display().to_string();
        let panel = bench.write("panel.svg", &svg)?.display().to_string();
        fs::create_dir(bench.path("out"))?;
        let exit = run(&[
            "drawing",
            &panel,
            "--out",
            &at("out/marked.svg"),
            "--leads",
            &at("out/leads.csv"),
        ]);
        assert!([Exit::Done, Exit::BadInput].contains(&exit), "{nasty:?}: {exit:?}");
        judge(&bench.path("out")).map_err(|e| format!("{nasty:?}: {e}"))?;
    }
    Ok(())
}
