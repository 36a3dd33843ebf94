//! Jobs for people who write no JSON: piece lists, shop files and `cullet new`, from the first file to a plan that passes.

use cullet::Exit;
use cullet_model::Plan;
use cullet_tests::{Bench, Checked, Outcome, names, typed};
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

const SHOP: &str = r#"{
  "shop": "Museum workshop", "units": "mm", "settings": {"currency": "EUR"},
  "glasses": [
    {"code": "CL", "name": "Clear", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
     "grind_allowance": 0.5, "price": 20, "price_unit": "m2"},
    {"code": "RD", "name": "Reeded", "thickness": 4, "grain": "two-ways", "may_turn_over": false, "scored_face": "back",
     "grind_allowance": 0.5, "price": 48, "price_unit": "m2"}]
}"#;
const STOCK: &str = "kind,tag,glass,units,width,height,count\nsheet,C,CL,mm,600,900,buy\nsheet,R,RD,mm,600,900,buy\n";
const LIST: &str = "number;panel;glass;shape;width;height;quantity;grain;units\n\
                    1;L;CL;;120,5;80;4;;mm\n2;L;RD;round arch;300;420;1;upright;\n1;R;RD;diamond;100;150;6;;\n";

fn text(path: &Path) -> String {
    path.display().to_string()
}

fn plan_of(job: &Path, stock: &Path, out: &Path, options: &[&str]) -> Outcome {
    let (job, stock, out) = (text(job), text(stock), text(out));
    let words = ["plan", &job, "--stock", &stock, "--out", &out, "--rounds", "3"];
    typed(&[&words, options].concat())
}

/// The plan in a folder, which `cullet check` passes.
fn checked(out: &Path) -> Result<Plan, Box<dyn Error>> {
    let path = out.join("plan.json");
    let outcome = typed(&["check", &text(&path)]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    Ok(serde_json::from_str(&fs::read_to_string(path)?)?)
}

#[test]
fn a_piece_list_is_planned_with_a_shop_file_and_checked_without() -> Checked {
    let bench = Bench::new()?;
    fs::create_dir_all(bench.path("jobs/porch"))?;
    let shop = bench.write("shop.json", SHOP)?;
    let list = bench.write("jobs/porch/pieces.csv", LIST)?;
    let stock = bench.write("stock.csv", STOCK)?;
    let out = bench.path("out");
    let outcome = plan_of(&list, &stock, &out, &[]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    let told = outcome.out.lines().find(|line| line.starts_with("From "));
    assert!(
        told.is_some_and(|told| told.ends_with("shop.json: glasses CL, RD; settings currency")),
        "{}",
        outcome.out
    );
    let plan = checked(&out)?;
    assert_eq!((plan.figures.pieces, plan.job.glasses.len()), (11, 2));
    // A plan stays checkable without the shop file, and so does the book.
    fs::remove_file(&shop)?;
    checked(&out)?;
    // Without it the glasses are unknown; with --shop it may lie anywhere.
    let outcome = plan_of(&list, &stock, &bench.path("no"), &[]);
    assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    assert!(
        outcome.err.contains("or list the glass in a shop file"),
        "{}",
        outcome.err
    );
    let named = text(&bench.write("other.json", SHOP)?);
    let outcome = plan_of(&list, &stock, &out, &["--shop", &named]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    bench.write("shop.json", SHOP)?;
    let outcome = plan_of(&list, &stock, &bench.path("no"), &["--no-shop"]);
    assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    Ok(())
}

#[test]
fn choices_and_recuts_know_lists_and_shop_files() -> Checked {
    let bench = Bench::new()?;
    bench.write("shop.json", SHOP)?;
    let list = text(&bench.write("pieces.csv", LIST)?);
    let stock = text(&bench.write("stock.csv", STOCK)?);
    let (choices, rack) = (text(&bench.path("choices")), text(&bench.path("shop.rack")));
    let words = [
        "compare", &list, "--stock", &stock, "--out", &choices, "--rounds", "2", "--seeds", "1", "--try", "RD=CL",
    ];
    let outcome = typed(&words);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    assert!(
        outcome.out.contains("From ") && outcome.out.contains("shop.json"),
        "{}",
        outcome.out
    );

    let on_hand = bench.write("hand.csv", &STOCK.replace("buy", "3"))?;
    assert_eq!(
        typed(&["rack", "import", &text(&on_hand), "--rack", &rack]).exit,
        Exit::Done
    );
    let (out, again) = (text(&bench.path("out")), text(&bench.path("again")));
    let outcome = typed(&["plan", &list, "--rack", &rack, "--out", &out, "--rounds", "3"]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    let plan = text(&bench.path("out").join("plan.json"));
    assert_eq!(typed(&["book", &plan, "--rack", &rack]).exit, Exit::Done);
    // One of four equal pieces broke: one is cut again.
    let outcome = typed(&["recut", &plan, "--piece", "L1", "--rack", &rack, "--out", &again]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    assert_eq!(checked(&bench.path("again"))?.figures.pieces, 1);
    Ok(())
}

/// Plans what `cullet new` left in `folder`, as its last line says.
fn planned(folder: &Path, told: &str) -> Result<Plan, Box<dyn Error>> {
    let line = told.lines().last().unwrap_or_default();
    let command = line
        .strip_prefix("Then plan it: cullet ")
        .ok_or(format!("no command: {told}"))?;
    let words: Vec<&str> = command.split(' ').chain(["--rounds", "3"]).collect();
    let outcome = typed(&words);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    checked(&folder.join("plan"))
}

#[test]
fn an_example_plans_at_once() -> Checked {
    let inches = SHOP.replace("\"units\": \"mm\"", "\"units\": \"in\"");
    let inches = inches
        .replace("\"thickness\": 3", "\"thickness\": 0.125")
        .replace("\"thickness\": 4", "\"thickness\": 0.15");
    let inches = inches.replace("\"grind_allowance\": 0.5", "\"grind_allowance\": 0.02");
    for shop in [None, Some(SHOP), Some(&inches)] {
        let bench = Bench::new()?;
        if let Some(shop) = shop {
            bench.write("shop.json", shop)?;
        }
        let folder = bench.path("porch");
        let outcome = typed(&["new", &text(&folder)]);
        assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
        assert_eq!(names(&folder)?, ["pieces.csv", "stock.csv"]);
        let list = fs::read_to_string(folder.join("pieces.csv"))?;
        assert_eq!(list.contains(",thickness,"), shop.is_none(), "{list}");
        assert_eq!(list.contains(",in\n"), shop == Some(inches.as_str()), "{list}");
        assert_eq!(planned(&folder, &outcome.out)?.figures.pieces, 11);
    }
    Ok(())
}

#[test]
fn a_job_from_a_piece_list_plans_at_once() -> Checked {
    let bench = Bench::new()?;
    let list = bench.write(
        "my list.csv",
        &LIST
            .replace(";units", ";units;thickness;glass_grain")
            .replace(";mm\n", ";mm;3;\n")
            .replace("upright;\n", "upright;;4;two-ways\n"),
    )?;
    let folder = bench.path("porch");
    let outcome = typed(&["new", &text(&folder), &text(&list)]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    assert!(
        outcome
            .out
            .contains("Assumed for glass CL: no grain, no grinding allowance, price 1 per m²"),
        "{}",
        outcome.out
    );
    let job = fs::read_to_string(folder.join("job.json"))?;
    assert!(
        job.contains(r#""shape": {"kind": "round-arch", "width": 300, "height": 420}"#),
        "{job}"
    );
    assert_eq!(planned(&folder, &outcome.out)?.figures.pieces, 11);
    // A second time nothing is touched.
    fs::write(folder.join("job.json"), "mine")?;
    let outcome = typed(&["new", &text(&folder), &text(&list)]);
    assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    assert!(outcome.err.contains("written over nothing"), "{}", outcome.err);
    assert_eq!(fs::read_to_string(folder.join("job.json"))?, "mine");
    Ok(())
}

const FANLIGHT: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
  <rect class="border" width="400" height="300"/>
  <path d="M 0 180 H 400 M 200 0 V 180"/>
  <path class="grain" d="M 300 100 V 60"/>
  <text x="60" y="90">1 CL</text> <text x="300" y="90">2 REED</text> <text x="200" y="220">3</text>
</svg>"#;

#[test]
fn a_job_from_drawings_plans_at_once() -> Checked {
    let bench = Bench::new()?;
    fs::create_dir_all(bench.path("drawings"))?;
    let first = bench.write("drawings/fanlight.svg", FANLIGHT)?;
    let second = bench.write("fanlight.svg", &FANLIGHT.replace("CL", "SEA"))?;
    let folder = bench.path("porch");
    fs::create_dir(&folder)?;
    let outcome = typed(&["new", &text(&folder), &text(&first), &text(&second)]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    let job = fs::read_to_string(folder.join("job.json"))?;
    for told in [
        "../drawings/fanlight.svg",
        "\"../fanlight.svg\"",
        "\"fanlight-2\"",
        "\"two-ways\"",
        "\"SEA\"",
    ] {
        assert!(job.contains(told), "no {told} in {job}");
    }
    assert!(
        outcome
            .out
            .contains("glass CL for 1 piece to which the drawing gives none"),
        "{}",
        outcome.out
    );
    let plan = planned(&folder, &outcome.out)?;
    assert_eq!(plan.figures.pieces, 6);
    Ok(())
}

/// With a shop file its glasses are not listed again; a stock list that is there stays.
#[test]
fn a_job_from_a_drawing_takes_the_shops_glasses() -> Checked {
    let bench = Bench::new()?;
    bench.write("shop.json", &SHOP.replace("RD", "REED"))?;
    fs::create_dir(bench.path("porch"))?;
    let drawing = bench.write("porch/fanlight.svg", FANLIGHT)?;
    let stock = bench.write("porch/stock.csv", &STOCK.replace("RD", "REED"))?;
    let folder = bench.path("porch");
    let outcome = typed(&["new", &text(&folder), &text(&drawing)]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    let job = fs::read_to_string(folder.join("job.json"))?;
    assert!(
        !job.contains("glasses") && job.contains("\"file\": \"fanlight.svg\""),
        "{job}"
    );
    assert_eq!(fs::read_to_string(&stock)?, STOCK.replace("RD", "REED"));
    assert!(outcome.out.contains("was there and stays as it is"), "{}", outcome.out);
    assert_eq!(planned(&folder, &outcome.out)?.figures.pieces, 3);
    Ok(())
}

/// A drawing that holds two panels: the program asks which, and takes the answer.
#[test]
fn a_job_from_one_of_two_panels() -> Checked {
    let bench = Bench::new()?;
    let lights = FANLIGHT.replace("class=\"border\" ", "");
    let two = lights
        .replace("width=\"400mm\"", "width=\"900mm\"")
        .replace("0 0 400 300", "0 0 900 300")
        .replace(
            "</svg>",
            "<rect x=\"500\" width=\"300\" height=\"300\"/><path d=\"M 500 100 H 800\"/></svg>",
        );
    let drawing = text(&bench.write("two.svg", &two)?);
    let folder = bench.path("porch");
    let outcome = typed(&["new", &text(&folder), &drawing]);
    assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    assert!(outcome.err.contains("frame=1") && !folder.exists(), "{outcome:?}");
    let outcome = typed(&["new", &text(&folder), &drawing, "--part", "frame=1"]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    assert_eq!(planned(&folder, &outcome.out)?.figures.pieces, 3);
    Ok(())
}

/// A job of format 1 is rewritten where that was asked for, and nowhere else.
#[test]
fn a_job_of_format_1_is_upgraded() -> Checked {
    let bench = Bench::new()?;
    bench.write("fanlight.svg", FANLIGHT)?;
    let old = r#"{ "name": "Porch", "units": "mm",
  "glasses": [
    {"code": "CL", "name": "Clear", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
     "grind_allowance": 0.50, "price": 20, "price_unit": "m2"},
    {"code": "REED", "name": "Reeded", "thickness": 4, "grain": "two-ways", "may_turn_over": false, "scored_face": "back",
     "grind_allowance": 0.5, "price": 48, "price_unit": "m2"}],
  "panels": [{"id": "P", "quantity": 1, "drawing": {"file": "fanlight.svg", "glass": "CL", "saw_loss": 2.5}}] }
"#;
    let job = text(&bench.write("job.json", old)?);
    let new = bench.path("new.json");
    let outcome = typed(&["job", "upgrade", &job]);
    assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    let outcome = typed(&["job", "upgrade", &job, "--out", &text(&new)]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    assert!(
        outcome.out.contains("\"saw_loss\" is now \"cutting_loss\" (panel P)"),
        "{outcome:?}"
    );
    let upgraded = fs::read_to_string(&new)?;
    let expected = old
        .replace("{ \"name\"", "{ \"format\": 2, \"name\"")
        .replace("saw_loss", "cutting_loss");
    assert_eq!(upgraded, expected);
    // Not over a file that is there, nor over the job itself by another name.
    for out in [&text(&new), &job] {
        let outcome = typed(&["job", "upgrade", &job, "--out", out]);
        assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    }
    assert_eq!(fs::read_to_string(&job)?, old);
    // Both are planned alike.
    let stock = text(&bench.write(
        "stock.csv",
        "kind,tag,glass,units,width,height,count\nsheet,C,CL,mm,600,900,1\nsheet,R,REED,mm,600,900,1\n",
    )?);
    let mut plans = vec![];
    for (job, out) in [(&job, "old"), (&text(&new), "new")] {
        let out = text(&bench.path(out));
        let outcome = typed(&["plan", job, "--stock", &stock, "--out", &out, "--rounds", "2"]);
        assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
        plans.push(fs::read_to_string(Path::new(&out).join("yield.csv"))?);
    }
    assert_eq!(plans[0], plans[1]);
    let outcome = typed(&["job", "upgrade", &job, "--replace"]);
    assert_eq!(outcome.exit, Exit::Done, "{outcome:?}");
    assert_eq!(fs::read_to_string(&job)?, expected);
    let outcome = typed(&["job", "upgrade", &job, "--replace"]);
    assert!(outcome.out.contains("nothing to change"), "{outcome:?}");
    Ok(())
}

#[test]
fn what_cannot_be_started_is_named_and_nothing_is_written() -> Checked {
    let bench = Bench::new()?;
    let gap = bench.write("gap.svg", &FANLIGHT.replace("V 180\"", "V 170\""))?;
    let list = bench.write("list.csv", "number,glass\n1,CL\n")?;
    let file = bench.write("file", "")?;
    let cases: [(&str, &[&PathBuf]); 4] = [
        ("a", &[&gap]),
        ("b", &[&list]),
        ("c", &[&gap, &list]),
        ("d", &[&bench.path("nowhere.svg")]),
    ];
    for (folder, files) in cases {
        let folder = bench.path(folder);
        let files: Vec<String> = files.iter().map(|file| text(file)).collect();
        let at = text(&folder);
        let words: Vec<&str> = ["new", &at]
            .into_iter()
            .chain(files.iter().map(String::as_str))
            .collect();
        let outcome = typed(&words);
        assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
        assert!(outcome.err.contains(": found ") && !folder.exists(), "{outcome:?}");
        assert!(outcome.err.contains("Nothing was written."), "{outcome:?}");
        assert!(
            outcome.err.lines().all(|line| !line.contains("job file's folder")),
            "{outcome:?}"
        );
    }
    // What is said to do next shows the place.
    let outcome = typed(&["new", &text(&bench.path("a")), &text(&gap)]);
    let marked = bench.path("gap.marked.svg");
    let told = format!("cullet drawing {} --out {}", text(&gap), text(&marked));
    assert!(outcome.err.contains(&told), "{outcome:?}");
    assert_eq!(typed(&told.split(' ').skip(1).collect::<Vec<_>>()).exit, Exit::BadInput);
    assert!(fs::read_to_string(&marked)?.contains("cannot"));
    let outcome = typed(&["new", &text(&file)]);
    assert_eq!(outcome.exit, Exit::BadInput, "{outcome:?}");
    assert!(file.is_file());
    Ok(())
}
