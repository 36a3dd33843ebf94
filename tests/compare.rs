//! A job under several choices: what must win by arithmetic does, what is equal comes out equal, figures against worked
//! examples.

use cullet::Exit;
use cullet_tests::{Bench, Checked, bare_glass, job, rectangle, run};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::error::Error;
use std::fs;

/// Compares on a fresh bench; what was printed, and `compare.csv` by choice and column.
struct Compared {
    bench: Bench,
    exit: Exit,
    out: String,
    err: String,
    table: BTreeMap<String, BTreeMap<String, String>>,
}

impl Compared {
    fn of(job: &Value, stock: &str, options: &[&str]) -> Result<Self, Box<dyn Error>> {
        let bench = Bench::new()?;
        bench.write("job.json", &job.to_string())?;
        bench.write("stock.csv", stock)?;
        Self::on(bench, options)
    }

    fn on(bench: Bench, options: &[&str]) -> Result<Self, Box<dyn Error>> {
        let path = |name: &str| bench.path(name).display().to_string();
        let mut args: Vec<String> = vec!["compare".into(), path("job.json"), "--stock".into(), path("stock.csv")];
        args.extend(["--out".into(), path("out"), "--rounds".into(), "4".into()]);
        args.extend(options.iter().map(ToString::to_string));
        let done = run(&args);
        let mut table = BTreeMap::new();
        if let Ok(text) = fs::read_to_string(bench.path("out/compare.csv")) {
            let mut lines = text.lines().map(|line| line.split(',').map(str::to_owned));
            let columns: Vec<String> = lines.next().ok_or("a head")?.collect();
            for line in lines {
                let row: BTreeMap<String, String> = columns.iter().cloned().zip(line).collect();
                table.insert(row["choice"].clone(), row);
            }
        }
        Ok(Self {
            bench,
            exit: done.exit,
            out: done.out,
            err: done.err,
            table,
        })
    }

    fn cell(&self, choice: &str, column: &str) -> Result<&str, String> {
        let row = self
            .table
            .get(choice)
            .ok_or(format!("no choice {choice}: {}", self.err))?;
        Ok(row.get(column).ok_or(format!("no column {column}"))?)
    }

    fn number(&self, choice: &str, column: &str) -> Result<f64, Box<dyn Error>> {
        Ok(self.cell(choice, column)?.parse()?)
    }
}

const STANDS: &str = "as it stands";

/// Four squares of 300 mm, 12 mm apart: a sheet of 400 holds one, a sheet of 700 all four. Without credit that is four times 9
/// or once 20.
#[test]
fn the_choice_that_is_better_by_arithmetic_wins() -> Checked {
    let mut glass = bare_glass("A", 6.0);
    glass["narrowest_strip"] = json!(12.0);
    let pieces: Vec<Value> = (1..=4).map(|n| rectangle(&n.to_string(), "A", 300.0, 300.0)).collect();
    let mut job = job(&[glass], 1, &pieces);
    job["settings"] = json!({ "credit_rate": 0, "currency": "EUR" });
    job["choices"] = json!([
        { "name": "small sheets", "glasses": [{ "code": "A", "sheets": ["SMALL"] }] },
        { "name": "large sheets", "glasses": [{ "code": "A", "sheets": ["LARGE"] }] },
    ]);
    let stock = "kind,tag,glass,units,width,height,count,price\n\
                 sheet,SMALL,A,mm,400,400,buy,9\nsheet,LARGE,A,mm,700,700,buy,20\n";
    let done = Compared::of(&job, stock, &[])?;
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    let nets = [
        (STANDS, 20.0, "1", "first"),
        ("large sheets", 20.0, "1", "within spread"),
        ("small sheets", 36.0, "4", "differs"),
    ];
    for (choice, net, sheets, against) in nets {
        assert!(
            (done.number(choice, "net_cost")? - net).abs() < 1e-9,
            "{choice}: {}",
            done.out
        );
        assert_eq!(done.cell(choice, "to_buy")?, sheets, "{choice}");
        assert_eq!(done.cell(choice, "against_first")?, against, "{choice}");
    }
    assert!(
        done.out.contains("B (small sheets) comes to 16.00 EUR more than A"),
        "{}",
        done.out
    );
    assert!(
        done.out.contains("C (large sheets) comes to the same net cost as A"),
        "{}",
        done.out
    );
    Ok(())
}

/// The same glass under two codes: what differs is within the spread of the runs, both where the runs are counted in rounds and
/// where they are in time.
#[test]
fn equal_choices_come_out_equal() -> Checked {
    let mut one = bare_glass("A", 3.0);
    one["narrowest_strip"] = json!(6.0);
    let mut other = one.clone();
    other["code"] = json!("B");
    let pieces: Vec<Value> = (1..=9)
        .map(|n| {
            rectangle(
                &n.to_string(),
                "A",
                60.0 + 17.0 * f64::from(n),
                150.0 - 7.0 * f64::from(n),
            )
        })
        .collect();
    let job = job(&[one, other], 2, &pieces);
    let lines = |glass: &str| format!("sheet,{glass}-1,{glass},mm,610,1220,2\nsheet,{glass}-2,{glass},mm,500,700,2\n");
    let stock = format!("kind,tag,glass,units,width,height,count\n{}{}", lines("A"), lines("B"));
    for effort in ["--rounds=6", "--seconds=0.3"] {
        let bench = Bench::new()?;
        bench.write("job.json", &job.to_string())?;
        bench.write("stock.csv", &stock)?;
        let path = |name: &str| bench.path(name).display().to_string();
        let args = [
            "compare",
            &path("job.json"),
            "--stock",
            &path("stock.csv"),
            "--out",
            &path("out"),
        ];
        let mut args: Vec<String> = args.map(String::from).into();
        args.extend(["--try".into(), "A=B".into(), effort.into()]);
        let done = run(&args);
        assert_eq!(done.exit, Exit::Done, "{}", done.err);
        let table = fs::read_to_string(bench.path("out/compare.csv"))?;
        assert!(table.contains(",within spread,"), "{effort}: {table}");
    }
    Ok(())
}

/// 1830 × 2440 × 6 mm weighs 66.98 kg, 24 × 48 in × 3 mm 5.57 kg (EN 572-1: 2.5 kg per m² and mm; trade figures 9.3). A bevel
/// 1/2 in wide with a nose of 2.5 mm on 5 mm glass lies at 11.1°; at 7° a bevel takes 1.23 mm over 10 mm, 3.07 over 25 and 4.91 over 40
/// (tan 7° = 0.12278; trade figures 9.5).
#[test]
fn weights_and_bevels_are_those_of_the_worked_examples() -> Checked {
    let glasses: Vec<Value> = [("A6", 6.0), ("A3", 3.0), ("A5", 5.0), ("A8", 8.0), ("A10", 10.0)]
        .iter()
        .map(|(code, thickness)| {
            let mut glass = bare_glass(code, *thickness);
            glass["narrowest_strip"] = json!(12.0);
            glass
        })
        .collect();
    let plain = job(&glasses, 1, &[rectangle("1", "A6", 300.0, 200.0)]);
    let stock = "kind,tag,glass,units,width,height,count\nsheet,BIG,A6,mm,1830,2440,1\nsheet,ART,A3,in,24,48,1\n\
                 sheet,S5,A5,mm,1000,1000,1\nsheet,S8,A8,mm,1000,1000,1\nsheet,S10,A10,mm,1000,1000,1\n";
    let done = Compared::of(&plain, stock, &["--try", "A6=A3", "--seeds", "1"])?;
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    assert!((done.number(STANDS, "pulled_kg")? - 66.98).abs() < 0.005);
    assert!((done.number("A6=A3", "pulled_kg")? - 5.57).abs() < 0.005);

    let mut half_inch = rectangle("1", "A6", 200.0, 200.0);
    half_inch["bevel"] = json!({ "width": 12.7, "nose": 2.5 });
    let done = Compared::of(
        &job(&glasses, 1, &[half_inch]),
        stock,
        &["--try", "A6=A5", "--seeds", "1"],
    )?;
    assert!(
        (done.number("A6=A5", "angles_deg")? - 11.1).abs() < 0.05,
        "{}",
        done.out
    );
    assert!(done.out.contains("bevel A6 12.7 × 2.5: angle"), "{}", done.out);

    for (width, takes) in [(10.0, 1.23), (25.0, 3.07), (40.0, 4.91)] {
        let mut at_seven = rectangle("1", "A8", 200.0, 200.0);
        at_seven["bevel"] = json!({ "width": width, "nose": 8.0 - width * 7.0_f64.to_radians().tan() });
        let job = job(&glasses, 1, &[at_seven]);
        let done = Compared::of(&job, stock, &["--try", "A8=A10", "--seeds", "1"])?;
        assert_eq!(done.exit, Exit::Done, "{}", done.err);
        assert!((done.number(STANDS, "angles_deg")? - 7.0).abs() < 1e-3);
        let nose = done.number("A8=A10", "noses_at_first_angle_mm")?;
        assert!((10.0 - nose - takes).abs() < 0.005, "{width}: {nose}");
    }
    Ok(())
}

/// Pieces that the thinner glass cannot take are counted and named, the others planned, and the costs are not set against each
/// other; planning that choice is refused.
#[test]
fn pieces_that_become_impossible_are_named() -> Checked {
    let glasses = [bare_glass("A6", 6.0), bare_glass("A4", 4.0)];
    let mut bevelled = rectangle("1", "A6", 200.0, 200.0);
    bevelled["bevel"] = json!({ "width": 30.0, "nose": 3.0 });
    let job = job(&glasses, 2, &[bevelled, rectangle("2", "A6", 100.0, 100.0)]);
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S6,A6,mm,1000,1000,1\nsheet,S4,A4,mm,1000,1000,1\n";
    let done = Compared::of(&job, stock, &["--try", "A6=A4", "--seeds", "1"])?;
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    assert_eq!(
        (done.cell("A6=A4", "impossible")?, done.cell("A6=A4", "pieces")?),
        ("2", "2")
    );
    assert_eq!(done.cell("A6=A4", "against_first")?, "not comparable");
    assert!(
        done.out
            .contains("a bevel 30 mm wide on glass of 4 mm, expected at most 25 mm"),
        "{}",
        done.out
    );
    let planned = done.bench.plan(&job, stock, &["--choice", "A6=A4", "--rounds", "2"])?;
    assert_eq!(planned.exit, Exit::BadInput);
    assert!(planned.err.contains("at most 25 mm"), "{}", planned.err);
    Ok(())
}

/// What is printed adds up to the cent: net is cost less credit in every column, differences are those of what is printed.
#[test]
fn what_is_shown_adds_up() -> Checked {
    let mut glass = bare_glass("A", 3.0);
    glass["narrowest_strip"] = json!(6.0);
    glass["price"] = json!(33.37);
    let pieces: Vec<Value> = (1..=5)
        .map(|n| rectangle(&n.to_string(), "A", 90.0 + 13.3 * f64::from(n), 111.1))
        .collect();
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,611,723,2\n";
    let done = Compared::of(
        &job(&[glass], 1, &pieces),
        stock,
        &["--try", "A:grind=2.5", "--seeds", "2"],
    )?;
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    let row = |name: &str| -> Result<[f64; 3], Box<dyn Error>> {
        let line = done
            .out
            .lines()
            .find(|line| line.starts_with(name))
            .ok_or(name.to_owned())?;
        let mut cells = line.split_whitespace().rev().map(|cell| match cell {
            "=" => Ok(0.0),
            cell => cell.trim_start_matches('+').parse::<f64>(),
        });
        let (less, b, a) = (cells.next(), cells.next(), cells.next());
        Ok([a.ok_or("A")??, b.ok_or("B")??, less.ok_or("less A")??])
    };
    let (net, cost, credit) = (row("net cost")?, row("cost of the glass")?, row("credit")?);
    let (drawn, used, back, cullet) = (row("pulled")?, row("used")?, row("returned")?, row("cullet")?);
    for k in 0..3 {
        assert!((net[k] - (cost[k] - credit[k])).abs() < 1e-9, "{}", done.out);
        assert!(
            (cullet[k] - (drawn[k] - used[k] - back[k])).abs() < 1e-9,
            "{}",
            done.out
        );
    }
    for row in [net, cost, credit, drawn, used, back, cullet, row("grinding")?] {
        assert!((row[1] - row[0] - row[2]).abs() < 1e-9, "{}", done.out);
    }
    Ok(())
}

/// Everything that is wrong with the choices is said at once, and nothing is written.
#[test]
fn bad_choices_are_refused() -> Checked {
    let job = job(&[bare_glass("A", 3.0)], 1, &[rectangle("1", "A", 100.0, 100.0)]);
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,600,600,2\n";
    let bad = [
        "--try",
        "thicker",
        "--try",
        "A=B",
        "--try",
        "foil=0.4",
        "--try",
        "A:sheets=T",
    ];
    let done = Compared::of(&job, stock, &bad)?;
    assert_eq!(done.exit, Exit::BadInput);
    for words in [
        "\"thicker\"",
        "the unknown glass \"B\"",
        "no panel that names its drawing",
        "no sheet T of glass A",
    ] {
        assert!(done.err.contains(words), "{words}: {}", done.err);
    }
    assert_eq!(done.bench.names("out")?, [] as [String; 0]);
    let nothing = Compared::on(done.bench, &[])?;
    assert_eq!(nothing.exit, Exit::BadInput);
    assert!(nothing.err.contains("none, and no --try"), "{}", nothing.err);
    Ok(())
}

/// Foil of 28 mm on each side of a line leaves nothing of a strip of 30 mm: that choice is left out and named, the others are compared, and
/// alone it is refused.
#[test]
fn a_choice_whose_drawing_cannot_be_built_is_left_out() -> Checked {
    let bench = || -> Result<Bench, Box<dyn Error>> {
        let bench = Bench::new()?;
        let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">
            <path d="M0 0H200V300H0ZM30 0V300" fill="none" stroke="black"/></svg>"#;
        bench.write("panel.svg", drawing)?;
        let mut job = job(&[bare_glass("A", 3.0)], 1, &[]);
        job["panels"][0]["drawing"] = json!({ "file": "panel.svg", "glass": "A" });
        bench.write("job.json", &job.to_string())?;
        let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,600,600,1\n";
        bench.write("stock.csv", stock)?;
        Ok(bench)
    };
    let tries = ["--try", "foil=28", "--try", "foil=0.4", "--seeds", "1"];
    let done = Compared::on(bench()?, &tries)?;
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    assert_eq!(done.table.keys().collect::<Vec<_>>(), [STANDS, "foil=0.4"]);
    assert!(done.out.contains("Left out: choice foil=28: found"), "{}", done.out);
    assert!(done.out.contains("panel.svg, "), "{}", done.out);
    let page = fs::read_to_string(done.bench.path("out/compare.html"))?;
    assert!(page.contains("Left out: choice foil=28: found"), "{page}");
    let alone = Compared::on(bench()?, &tries[..2])?;
    assert_eq!(alone.exit, Exit::BadInput, "{}", alone.out);
    assert!(alone.err.contains("choice foil=28: found"), "{}", alone.err);
    assert_eq!(alone.bench.names("out")?, [] as [String; 0]);
    Ok(())
}

/// A comparison may be written again over its own files, not over anybody else's.
#[test]
fn only_a_comparison_is_written_over() -> Checked {
    let job = job(&[bare_glass("A", 3.0)], 1, &[rectangle("1", "A", 100.0, 100.0)]);
    let stock = "kind,tag,glass,units,width,height,count\nsheet,S,A,mm,600,600,2\n";
    let options = ["--try", "A:grind=1", "--seeds", "1"];
    let done = Compared::of(&job, stock, &options)?;
    assert_eq!(
        (done.exit, done.bench.names("out")?.len()),
        (Exit::Done, 2),
        "{}",
        done.err
    );
    let done = Compared::on(done.bench, &options)?;
    assert_eq!(done.exit, Exit::Done, "{}", done.err);
    done.bench.write("out/compare.csv", "the client's own\n")?;
    let done = Compared::on(done.bench, &options)?;
    assert_eq!(done.exit, Exit::BadInput);
    assert_eq!(
        fs::read_to_string(done.bench.path("out/compare.csv"))?,
        "the client's own\n"
    );
    Ok(())
}
