//! The file itself: made, brought up to date, or refused untouched.

use crate::common::{Checked, Shop, stamp};
use cullet_rack::{Rack, RackError, State, Which};
use rusqlite::Connection;
use std::fs;
use std::path::Path;

/// What a refusal says; the file must be as it was, with nothing beside it.
#[track_caller]
fn refused_untouched(path: &Path) -> String {
    let before = fs::read(path).expect("a file");
    let beside = |path: &Path| {
        fs::read_dir(path.parent().expect("a folder"))
            .expect("a folder")
            .count()
    };
    let count = beside(path);
    let mut told = String::new();
    for open in [Rack::open, Rack::open_or_create] {
        match open(path) {
            Err(RackError::Input(findings)) => told = findings.to_string(),
            other => panic!("not refused: {other:?}"),
        }
    }
    assert!(fs::read(path).expect("a file") == before, "the file was touched");
    assert_eq!(beside(path), count, "something was left beside it");
    told
}

#[test]
fn a_rack_of_version_1_opens_and_has_all_it_had() -> Checked {
    let home = tempfile::tempdir()?;
    let path = home.path().join("old.rack");
    let old = Connection::open(&path)?;
    old.execute_batch(include_str!("../../../../fixtures/rack/version-1.sql"))?;
    drop(old);

    let mut rack = Rack::open(&path)?;
    let audit = rack.audit()?;
    assert_eq!(audit.faults, Vec::<String>::new());
    assert_eq!((audit.count, audit.held), (4, 1));
    let pentagon = rack.get("17")?;
    // Beside the slanting side 330 − 70/240 · (x − 180) a rectangle from the left: best at its upper end, x = 420.
    let (width, height) = pentagon.clear;
    assert!(
        (width * height - 420.0 * 260.0).abs() < 1_500.0 && width * height >= 420.0 * 260.0 - 1.0,
        "{width} × {height}"
    );
    assert_eq!(pentagon.stock.flaws.len(), 1);
    assert_eq!(rack.get("REED-A.2")?.clear, (610.0, 1220.0));
    assert_eq!(rack.get("REED-A.2")?.held_for.as_deref(), Some("8899aabbccddeeff"));
    let kinds: Vec<String> = rack.history(None, 10)?.into_iter().map(|entry| entry.kind).collect();
    assert_eq!(kinds, ["import", "correct", "book", "hold", "add"]);
    // It goes on where it stood: R1 and R2 are known, the booking can be taken back.
    let back = rack.take_back("0011223344556677", &stamp(1))?;
    assert_eq!(
        (back.again, back.withdrawn),
        (vec!["REED-A.1".to_owned()], vec!["R1".to_owned()])
    );
    assert_eq!(rack.get("REED-A.1")?.held_for.as_deref(), Some("0011223344556677"));
    let said = [
        ("kind", "offcut"),
        ("glass", "REED"),
        ("width", "300"),
        ("height", "200"),
    ];
    assert_eq!(rack.add(&said, &stamp(2))?, ["R3"]);
    assert_eq!(rack.audit()?.faults, Vec::<String>::new());
    drop(rack);

    let version: i64 = Connection::open(&path)?.query_row("PRAGMA user_version", [], |row| row.get(0))?;
    assert_eq!(version, 3);
    Rack::open(&path)?;
    Ok(())
}

#[test]
fn a_rack_of_a_newer_version_is_refused_untouched() -> Checked {
    let shop = Shop::new()?;
    let path = shop.path();
    let Shop { home, rack } = shop;
    drop(rack);
    let later = Connection::open(&path)?;
    later.pragma_update(None, "user_version", 4)?;
    drop(later);
    let told = refused_untouched(&path);
    assert!(
        told.contains("a rack of version 4") && told.contains("newer version of the program"),
        "{told}"
    );
    drop(home);
    Ok(())
}

#[test]
fn a_file_that_is_no_rack_is_refused_untouched() -> Checked {
    let home = tempfile::tempdir()?;
    let path = home.path().join("stock.csv");
    fs::write(&path, crate::common::LIST)?;
    refused_untouched(&path);
    fs::write(&path, b"SQLite format 3\0 cut short")?;
    refused_untouched(&path);

    let other = home.path().join("other.db");
    Connection::open(&other)?.execute_batch("CREATE TABLE notes (words TEXT); PRAGMA user_version = 7;")?;
    refused_untouched(&other);
    let marked = home.path().join("marked.db");
    Connection::open(&marked)?.execute_batch("PRAGMA application_id = 77; CREATE TABLE notes (words TEXT);")?;
    refused_untouched(&marked);
    Ok(())
}

#[test]
fn no_file_and_a_folder_are_told() -> Checked {
    let home = tempfile::tempdir()?;
    let missing = Rack::open(&home.path().join("none.rack"))
        .expect_err("no file")
        .to_string();
    assert!(missing.contains("no such file"), "{missing}");
    assert!(!home.path().join("none.rack").exists());
    let folder = Rack::open_or_create(home.path()).expect_err("a folder").to_string();
    assert!(
        folder.contains("found a folder") && !folder.contains("os error"),
        "{folder}"
    );
    Ok(())
}

#[test]
fn two_may_make_the_same_rack_at_once() -> Checked {
    for _ in 0..20 {
        let home = tempfile::tempdir()?;
        let path = home.path().join("new.rack");
        let ids: Vec<String> = std::thread::scope(|scope| {
            let open = || {
                Rack::open_or_create(&path)
                    .and_then(|mut rack| rack.state())
                    .map(|state| state.id)
            };
            let racing: Vec<_> = (0..4).map(|_| scope.spawn(open)).collect();
            racing
                .into_iter()
                .map(|one| one.join().expect("no panic").expect("a rack"))
                .collect()
        });
        assert!(ids.iter().all(|id| *id == ids[0]), "{ids:?}");
    }
    Ok(())
}

/// What the code forgets, the file does not allow.
#[test]
fn the_file_itself_keeps_tags_and_history() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["17"])?;
    shop.rack.book(&cut, "", &stamp(1))?;
    let raw = Connection::open(shop.path())?;
    for forbidden in [
        "DELETE FROM items WHERE tag = '18'",
        "UPDATE items SET tag = '19' WHERE tag = '18'",
        "DELETE FROM operations",
        "UPDATE operations SET who = 'nobody'",
        "INSERT INTO uses SELECT item, booking, sheet, bought, held FROM uses",
        "INSERT INTO bookings (id, plan) VALUES (1, 'p1')",
        "INSERT INTO operations (kind, at, who, note, came_in, on_rack) VALUES ('add', 0, '', '', 5, 4)",
    ] {
        assert!(raw.execute_batch(forbidden).is_err(), "{forbidden}");
    }
    Ok(())
}

#[test]
fn an_audit_finds_glass_that_was_made_or_lost() -> Checked {
    let mut shop = Shop::new()?;
    let raw = Connection::open(shop.path())?;
    raw.execute_batch("UPDATE items SET area = area + 100 WHERE tag = '18'")?;
    assert!(
        shop.rack
            .audit()?
            .faults
            .iter()
            .any(|fault| fault.starts_with("on the rack"))
    );
    raw.execute_batch("UPDATE items SET area = area - 100, state = 'used' WHERE tag = '18'")?;
    let faults = shop.rack.audit()?.faults;
    assert!(
        faults.iter().any(|fault| fault.contains("used by no plan")),
        "{faults:?}"
    );
    assert_eq!(
        shop.rack
            .list(&Which::default())?
            .iter()
            .filter(|i| i.state == State::Used)
            .count(),
        0
    );
    Ok(())
}

/// A crash in the very first transaction: an empty file, which a new rack may be made in.
#[test]
fn an_empty_file_becomes_a_rack_only_when_one_is_made() -> Checked {
    let home = tempfile::tempdir()?;
    let path = home.path().join("empty.rack");
    fs::write(&path, "")?;
    assert!(Rack::open(&path).is_err());
    assert_eq!(fs::read(&path)?.len(), 0);
    assert_eq!(Rack::open_or_create(&path)?.audit()?.count, 0);
    Ok(())
}
