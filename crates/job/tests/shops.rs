//! Shop files: what a job takes from one, what it does not, and what is wrong with one.

use cullet_job::{ChoiceFile, Job, ReadWith, Shop};

const SHOP: &str = r#"{
  "shop": "Museum workshop", "units": "mm",
  "settings": {"credit_rate": 0.4, "currency": "EUR", "keep": 200, "breaking": {"sharpest_turn": 40}},
  "glasses": [
    {"code": "CL", "name": "Clear", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
     "grind_allowance": 0.5, "price": 20, "price_unit": "m2"},
    {"code": "REED", "name": "Reeded", "thickness": 4, "grain": "two-ways", "may_turn_over": false, "scored_face": "back",
     "grind_allowance": 0.5, "price": 48, "price_unit": "m2"},
    {"code": "SEA", "name": "Sea green", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
     "grind_allowance": 0.5, "price": 60, "price_unit": "m2"}],
  "cames": [{"name": "round 6", "face": 6, "heart": 1.2}, {"name": "flat 10", "face": 10, "heart": 1.5}],
  "drawings": {"came": "round 6", "border": "flat 10", "opening_clearance": 4}
}"#;

fn job(fields: &str, pieces: &str) -> String {
    format!(r#"{{"name": "Porch", {fields} "panels": [{{"id": "P", "quantity": 1, "pieces": [{pieces}]}}]}}"#)
}

const CIRCLE: &str = r#"{"number": "1", "glass": "CL", "shape": {"kind": "circle", "diameter": 80}}"#;

#[track_caller]
fn shop(text: &str) -> Shop {
    match Shop::read("shop.json", text) {
        Ok(shop) => shop,
        Err(findings) => panic!("{findings}"),
    }
}

#[track_caller]
fn read(text: &str) -> Job {
    let shop = shop(SHOP);
    let with = ReadWith {
        shop: Some(&shop),
        ..ReadWith::default()
    };
    match Job::read_as("job.json", text, with, |_, _| {}) {
        Ok(job) => job,
        Err(findings) => panic!("{findings}\n{text}"),
    }
}

#[test]
fn a_job_names_only_what_is_special_to_it() {
    let job = read(&job(
        r#""settings": {"keep": 120, "breaking": {"pull_margin": 3}},"#,
        CIRCLE,
    ));
    assert_eq!(
        (job.keep, job.credit_rate, job.sharpest_turn_deg, job.pull_margin_deg),
        (120.0, 0.4, 40.0, 3.0)
    );
    assert_eq!(job.source.settings.currency, "EUR");
    // Only what it used is carried along.
    let codes: Vec<&str> = job.source.glasses.iter().map(|g| g.code.as_str()).collect();
    assert_eq!(codes, ["CL"]);
    assert_eq!(
        job.notes,
        ["From shop.json: glass CL; units; settings credit_rate, currency"]
    );
    // A plan carries the job whole: it reads the same without the shop file.
    let again = Job::from_file("plan.json", job.source.clone()).expect("whole");
    assert_eq!(
        (again.glasses, again.pieces, again.keep),
        (job.glasses, job.pieces, job.keep)
    );
}

#[test]
fn what_the_job_says_counts() {
    let own = r#""glasses": [{"code": "CL", "grind_allowance": 2}, {"code": "OWN", "name": "Own", "thickness": 5, "grain": "none",
        "may_turn_over": true, "scored_face": "show", "grind_allowance": 0, "price": 1, "price_unit": "m2"}],"#;
    let job = read(&job(own, CIRCLE));
    let codes: Vec<(&str, f64)> = job
        .glasses
        .iter()
        .map(|g| (g.code.as_str(), g.grind_allowance))
        .collect();
    assert_eq!(codes, [("CL", 2.0), ("OWN", 0.0)]);
    assert_eq!(job.glasses[0].thickness, 3.0);
}

#[test]
fn inches_and_millimetres_meet() {
    let job = read(&job(r#""units": "in","#, &CIRCLE.replace("80", "3")));
    assert!((job.glasses[0].thickness - 3.0).abs() < 1e-12 && (job.keep - 200.0).abs() < 1e-9);
    assert!((job.pieces[0].finished.bounds().width() - 76.2).abs() < 0.11);
}

#[test]
fn a_choice_may_take_any_glass_of_the_shop() {
    let shop = shop(SHOP);
    let choice = ChoiceFile::typed("CL=SEA").expect("a choice");
    let with = ReadWith {
        shop: Some(&shop),
        choice: Some(&choice),
    };
    let job = Job::read_as("job.json", &job("", CIRCLE), with, |_, _| {}).expect("a job");
    assert_eq!(job.glasses[job.pieces[0].glass].code, "SEA");
    assert_eq!(job.source.glasses.len(), 1);
}

#[test]
fn cames_are_named_by_drawings() {
    let panel = |drawing: &str| {
        format!(
            r#"{{"name": "Porch", "panels": [{{"id": "P", "quantity": 1, "drawing": {{"file": "p.svg"{drawing}}}}}]}}"#
        )
    };
    let shop = shop(SHOP);
    let with = ReadWith {
        shop: Some(&shop),
        ..ReadWith::default()
    };
    let look = |text: &str, check: &dyn Fn(&cullet_job::DrawingFile)| {
        let mut looked = false;
        let read = Job::read_as("job.json", text, with, |job, _| {
            check(job.panels[0].drawing.as_ref().expect("a drawing"));
            looked = true;
        });
        assert!(looked, "{read:?}");
    };
    let face = |came: &Option<cullet_job::CameFile>| came.as_ref().map(|came| came.face);
    look(&panel(""), &|d| {
        assert_eq!(
            (face(&d.came), face(&d.border), d.opening_clearance),
            (Some(6.0), Some(10.0), Some(4.0))
        );
    });
    look(
        &panel(r#", "came": "flat 10", "border": {"face": 12, "heart": 2}"#),
        &|d| {
            assert_eq!((face(&d.came), face(&d.border)), (Some(10.0), Some(12.0)));
        },
    );
    look(
        &panel(r#", "cames": [{"name": "flat 10", "layers": ["thick"], "heart": 0.9}]"#),
        &|d| {
            assert_eq!((d.cames[0].face, d.cames[0].heart), (10.0, 0.9));
        },
    );
    let findings =
        Job::read_as("job.json", &panel(r#", "came": "flat 1O""#), with, |_, _| {}).expect_err("no such came");
    let told = &findings.0[0];
    assert_eq!(told.place, "panel P, drawing, field \"came\"");
    assert!(told.hint.contains("Did you mean \"flat 10\"?"), "{told}");
}

#[test]
fn a_glass_that_nobody_has_is_told_with_those_of_the_shop() {
    let shop = shop(SHOP);
    let with = ReadWith {
        shop: Some(&shop),
        ..ReadWith::default()
    };
    let text = job("", &CIRCLE.replace("CL", "REEDS"));
    let findings = Job::read_as("job.json", &text, with, |_, _| {}).expect_err("no such glass");
    assert!(
        findings.0[0]
            .hint
            .contains("Did you mean \"REED\"? The glasses are: CL, REED, SEA."),
        "{findings}"
    );
}

#[track_caller]
fn refused(text: &str, expected: &[&str]) {
    let findings = Shop::read("shop.json", text).expect_err("refused");
    let told: Vec<String> = findings.0.iter().map(|f| format!("{}: {}", f.place, f.found)).collect();
    assert_eq!(told, expected, "{findings}");
}

#[test]
fn everything_wrong_with_a_shop_file_is_told() {
    refused(
        &SHOP
            .replace("\"currency\"", "\"curency\"")
            .replace("\"thickness\": 4", "\"thickness\": 40")
            .replace("\"code\": \"SEA\"", "\"code\": \"CL\"")
            .replace("\"border\": \"flat 10\"", "\"border\": \"flat\"")
            .replace("\"keep\": 200", "\"keep\": 1e9"),
        &[
            "settings: the unknown field \"curency\"",
            "glass CL: this code 2 times",
            "glass REED, field \"thickness\": 40 mm",
            "settings, field \"keep\": a size over 100 m",
            "drawings, field \"border\": the unknown came \"flat\"",
        ],
    );
    refused(r#"{"units": "mm"}"#, &["field \"shop\": no such field"]);
    refused(
        r#"{"name": "x", "units": "mm"}"#,
        &[
            "the shop file: the unknown field \"name\"",
            "field \"shop\": no such field",
        ],
    );
    refused("[]", &["the shop file: an empty list"]);
}

/// Without a shop file a job says all itself, and y where a piece has an outline.
#[test]
fn without_a_shop_file_all_is_said() {
    let findings = Job::read("job.json", &job("", CIRCLE)).expect_err("no units, no glasses");
    let places: Vec<&str> = findings.0.iter().map(|f| f.place.as_str()).collect();
    assert_eq!(places, ["field \"glasses\"", "field \"units\""]);
    let drawn = CIRCLE.replace(
        r#""shape": {"kind": "circle", "diameter": 80}"#,
        r#""outline": [[0, 0], [9, 0], [0, 9]]"#,
    );
    let findings = Job::read("job.json", &job("", &drawn)).expect_err("no y");
    assert!(findings.0.iter().any(|f| f.place == "field \"y\""), "{findings}");
}

/// Former names of fields are still read; both at once are not.
#[test]
fn former_names_are_read() {
    let panel = |fields: &str| {
        format!(
            r#"{{"name": "Porch", "units": "mm", "y": "up", "glasses": [{{"code": "CL", "name": "Clear", "thickness": 3, "grain": "none",
            "may_turn_over": true, "scored_face": "show", "grind_allowance": 0.5, "price": 20, "price_unit": "m2"}}],
            "panels": [{{"id": "P", "quantity": 1, "drawing": {{"file": "p.svg", {fields}}}}}]}}"#
        )
    };
    let mut seen = None;
    let former = panel(r#""saw_loss": 3, "make": [{"glass": "CL", "spares": 1}]"#);
    let _ = Job::read_with("job.json", &former, |job, _| seen = job.panels[0].drawing.clone());
    let seen = seen.expect("a drawing");
    assert_eq!((seen.cutting_loss, seen.details[0].spares), (Some(3.0), Some(1)));
    let both = panel(r#""saw_loss": 3, "cutting_loss": 2"#);
    let findings = Job::read("job.json", &both).expect_err("both names");
    assert!(
        findings.0[0].found.contains("the unknown field \"saw_loss\""),
        "{findings}"
    );
}
