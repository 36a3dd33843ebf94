use super::names::{YIELD, sheet_map, sheet_scores};
use super::*;

fn files(sheets: u64) -> Vec<(String, String)> {
    let figures = r#"{"pulled": 0, "used": 0, "returned": 0, "cullet": 0, "grinding": 0, "pieces": 0, "pulled_kg": 0,
        "used_kg": 0, "pulled_cost": 0, "returned_credit": 0}"#;
    let plan = format!(
        r#"{{"format": "cullet-plan 5", "effort": {{"seed": {sheets}, "seconds": null, "rounds": 1}}, "pieces": [],
        "job": {{"name": "Stair", "units": "mm", "y": "up", "glasses": [], "panels": []}}, "stock": {{"items": []}},
        "glasses": [], "unplaced": [], "figures": {figures}}}"#
    );
    let plan: Plan = serde_json::from_str(&plan).expect("a plan");
    let mut others = vec![(YIELD.to_string(), format!("y {sheets}"))];
    for number in 1..=sheets {
        others.push((sheet_map(number), format!("map of {sheets}")));
        others.push((sheet_scores(number), "scores".into()));
    }
    listed(&plan, others).expect("a list")
}

fn names(path: &Path) -> Vec<String> {
    let entries = fs::read_dir(path).expect("a folder");
    let mut names: Vec<String> = entries
        .map(|entry| entry.expect("an entry").file_name().into_string().expect("UTF-8"))
        .collect();
    names.sort();
    names
}

fn examine(path: &Path) -> Result<Folder, Findings> {
    Folder::examine(path, Holds::Plan, Care::default())
}

fn write(path: &Path, files: &[(String, String)]) -> Result<Vec<String>, NotWritten> {
    let mut folder = examine(path).map_err(NotWritten::Refused)?;
    folder.begin()?;
    folder.write(files)
}

fn whole(path: &Path) -> Vec<String> {
    let path = path.join(PLAN);
    let plan = serde_json::from_slice(&fs::read(&path).expect("a plan")).expect("a plan");
    differences(&path, &plan)
}

#[test]
fn a_later_plan_replaces_an_earlier_one_and_nothing_else() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let path = home.path().join("deep/window");
    write(&path, &files(3)).expect("writable");
    fs::write(path.join("notes.txt"), "the client rang").expect("writable");
    fs::write(path.join("sheet-plan.svg"), "a drawing").expect("writable");
    let removed = write(&path, &files(2)).expect("writable");
    assert_eq!(removed, ["sheet-3-scores.svg", "sheet-3.svg"]);
    let expected = [
        "notes.txt",
        "plan.json",
        "sheet-1-scores.svg",
        "sheet-1.svg",
        "sheet-2-scores.svg",
        "sheet-2.svg",
        "sheet-plan.svg",
        "yield.csv",
    ];
    assert_eq!(names(&path), expected);
    assert_eq!(whole(&path), [""; 0]);
}

#[test]
fn a_file_that_somebody_changed_or_put_there_is_refused() {
    let home = tempfile::tempdir().expect("a temporary folder");
    for name in ["sheet-1.svg", "yield.csv", "buy.csv", "sheet-9.svg", "plan.json"] {
        let path = home.path().join(name.replace('.', " "));
        write(&path, &files(2)).expect("writable");
        fs::write(path.join(name), "mine").expect("writable");
        let found = examine(&path).expect_err("not ours");
        assert!(found.to_string().contains(name), "{found}");
        let replace = Folder::examine(&path, Holds::Plan, Care::new([] as [PathBuf; 0], true));
        assert!(replace.is_ok(), "{name}");
        let reads = Folder::examine(&path, Holds::Plan, Care::new([path.join(name)], true));
        assert!(reads.is_err(), "{name}");
    }
}

#[test]
fn files_that_do_not_go_together_are_named() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let path = home.path();
    write(path, &files(2)).expect("writable");
    fs::write(path.join("sheet-1.svg"), "of another plan").expect("writable");
    fs::remove_file(path.join("sheet-2.svg")).expect("writable");
    fs::write(path.join("sheet-3.svg"), "of another plan").expect("writable");
    let text = fs::read_to_string(path.join(PLAN)).expect("a plan");
    fs::write(path.join(PLAN), text.replace("\"seed\":2", "\"seed\":7")).expect("writable");
    let found = whole(path).join("\n");
    for what in [
        "plan.json was changed",
        "sheet-1.svg is not",
        "sheet-2.svg, which",
        "sheet-3.svg does not",
    ] {
        assert!(found.contains(what), "{found}");
    }
    assert_eq!(found.lines().count(), 4, "{found}");
}

#[test]
fn a_plan_set_otherwise_or_alone_is_still_the_plan() {
    let home = tempfile::tempdir().expect("a temporary folder");
    write(&home.path().join("a"), &files(1)).expect("writable");
    let text = fs::read_to_string(home.path().join("a").join(PLAN)).expect("a plan");
    let value: serde_json::Value = serde_json::from_str(&text).expect("a plan");
    let pretty = serde_json::to_string_pretty(&value)
        .expect("a plan")
        .replace("0.0", "0");
    fs::write(home.path().join(PLAN), pretty).expect("writable");
    assert_eq!(whole(home.path()), [""; 0]);
}

/// Cut short after any of its renames, the folder is not taken for a plan unless it is one, and the next run cleans up.
#[test]
fn what_a_run_that_was_cut_short_left_is_cleaned_up() {
    let (old, new) = (files(3), files(2));
    for done in 0..=new.len() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let path = home.path();
        write(path, &old).expect("writable");
        let staging = path.join(".cullet-x.staged");
        fs::create_dir(&staging).expect("writable");
        let mut known = examine(path).expect("ours").known();
        for (name, text) in &new {
            known.entry(name.clone()).or_default().insert(digest(text.as_bytes()));
        }
        fs::write(staging.join(RECORD), serde_json::to_string(&known).expect("JSON")).expect("writable");
        for (name, text) in new.iter().skip(1).chain(new.first()).take(done) {
            fs::write(path.join(name), text).expect("writable");
        }
        // The scores of both are the same, so nothing is wrong before the first file differs.
        assert_eq!(whole(path).is_empty(), done == 0, "after {done}: {:?}", whole(path));
        write(path, &new).expect("cleaned up");
        assert_eq!(whole(path), [""; 0]);
        assert_eq!(names(path).len(), new.len(), "{:?}", names(path));
    }
}

#[test]
fn a_strange_plan_or_a_file_in_the_way_is_refused() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let plan = home.path().join(PLAN);
    fs::write(&plan, "{\"format\": \"floor plan\"}").expect("writable");
    assert!(examine(home.path()).is_err());
    assert!(examine(&plan).is_err());
    assert!(examine(&plan.join("below")).is_err());
}

#[cfg(unix)]
#[test]
fn two_at_once_are_one_too_many() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let path = home.path().join("a/b");
    let mut first = examine(&path).expect("free");
    first.begin().expect("free");
    let mut second = examine(&path).expect("free");
    assert!(matches!(second.begin(), Err(NotWritten::Refused(_))));
    drop(second);
    first.write(&files(1)).expect("writable");
    assert_eq!(whole(&path), [""; 0]);
}

#[test]
fn a_run_that_comes_to_nothing_leaves_nothing_behind() {
    let home = tempfile::tempdir().expect("a temporary folder");
    let mut folder = examine(&home.path().join("a/b")).expect("free");
    folder.begin().expect("writable");
    drop(folder);
    assert!(names(home.path()).is_empty());
}
