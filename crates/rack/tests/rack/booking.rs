//! Holding, booking and taking back: what is allowed, what is refused and by which name.

use crate::common::{Checked, Shop, stamp};
use cullet_rack::{Count, Cut, Face, Rack, RackError, State, Which};

/// The findings of a refusal because glass is taken.
#[track_caller]
fn taken<T: std::fmt::Debug>(outcome: Result<T, RackError>) -> String {
    match outcome {
        Err(RackError::Taken(findings)) => findings.to_string(),
        other => panic!("not refused as taken: {other:?}"),
    }
}

#[test]
fn a_cut_plan_takes_sheets_out_and_brings_offcuts_in() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["REED-A.2", "REED-NEW", "17"])?;
    let booked = shop.rack.book(&cut, "D1", &stamp(1))?;
    let out: Vec<(u32, &str, Option<&str>)> = booked
        .out
        .iter()
        .map(|(n, tag, line)| (*n, tag.as_str(), line.as_deref()))
        .collect();
    assert_eq!(
        out,
        [
            (1, "REED-A.2", None),
            (2, "REED-NEW.1", Some("REED-NEW")),
            (3, "17", None)
        ]
    );
    assert!(booked.since.is_empty() && booked.differs.is_empty());
    assert_eq!(shop.rack.get("REED-A.2")?.state, State::Used);
    assert_eq!(shop.rack.get("REED-NEW")?.state, State::ToBuy, "it can be bought again");
    assert_eq!(shop.rack.get("REED-NEW.1")?.state, State::Used);
    let offcut = shop.rack.get("R1")?;
    assert_eq!(offcut.stock.lot.as_deref(), Some("L1"));
    assert_eq!(offcut.came_from.as_deref(), Some("REED-A.2"));
    assert_eq!(
        (offcut.stock.place.as_str(), offcut.scored_face),
        ("D1", Some(Face::Back))
    );
    assert_eq!(offcut.clear, (300.0, 1200.0));
    let third = shop.rack.get("R3")?;
    assert_eq!((third.stock.grain_deg, third.stock.lot.as_deref()), (0.0, Some("L2")));
    let audit = shop.rack.audit()?;
    assert_eq!(audit.faults, Vec::<String>::new());
    // By arithmetic: of each 600 × 1200 half comes back, a sixth is used; one of them was bought.
    let pentagon = 420.0 * 330.0 - 240.0 * 70.0 / 2.0;
    assert!((audit.came_in - (3.0 * 720_000.0 + pentagon + 200_000.0)).abs() < 0.01);
    Ok(())
}

#[test]
fn flaws_go_along_with_the_offcut_they_lie_on() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["18"])?;
    shop.rack.book(&cut, "", &stamp(1))?;
    let offcut = shop.rack.get("R1")?.stock;
    // Of the two flaws the one at (300, 200) lies on the right half, which begins at 250.
    assert_eq!(offcut.flaws.len(), 1);
    let flaw = offcut.flaws[0].bounds();
    let middle = ((flaw.min.x + flaw.max.x) / 2.0, (flaw.min.y + flaw.max.y) / 2.0);
    assert!(
        (middle.0 - 50.0).abs() < 0.01 && (middle.1 - 200.0).abs() < 0.01,
        "{middle:?}"
    );
    Ok(())
}

#[test]
fn a_plan_is_booked_once() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["17"])?;
    shop.rack.book(&cut, "", &stamp(1))?;
    let before = shop.rack.list(&Which {
        glass: None,
        gone_too: true,
    })?;
    assert!(taken(shop.rack.book(&cut, "", &stamp(2))).contains("booked already"));
    assert_eq!(
        shop.rack.list(&Which {
            glass: None,
            gone_too: true
        })?,
        before
    );
    Ok(())
}

#[test]
fn a_plan_whose_glass_has_gone_or_changed_is_refused_with_every_glass_named() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["REED-A.1", "REED-A.2", "17", "18"])?;
    shop.rack.throw_away(&["REED-A.1"], "fell", &stamp(1))?;
    shop.rack.correct("reed-a.2", &[("flaws", "10 10 5")], &stamp(2))?;
    shop.rack.correct("17", &[("lot", "L9"), ("grain", "45")], &stamp(3))?;
    let other = shop.plan("p2", &["18"])?;
    shop.rack.hold(&other, &stamp(4))?;
    let told = taken(shop.rack.book(&cut, "", &stamp(5)));
    for named in [
        "sheet 1, tag REED-A.1: found glass already taken: it is thrown away",
        "sheet 2, tag REED-A.2: found another set of flaws",
        "sheet 3, tag 17: found another lot, another grain",
        "sheet 4, tag 18: found glass already taken: it is held for plan p2",
    ] {
        assert!(told.contains(named), "{named} is not in\n{told}");
    }
    assert_eq!(shop.rack.get("18")?.held_for.as_deref(), Some("p2"));
    Ok(())
}

#[test]
fn what_changed_and_does_not_matter_is_told() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["17"])?;
    shop.rack
        .correct("17", &[("place", "E9"), ("price", "12.5")], &stamp(1))?;
    shop.rack.throw_away(&["18"], "", &stamp(2))?;
    let booked = shop.rack.book(&cut, "", &stamp(3))?;
    let kinds: Vec<&str> = booked.since.iter().map(|entry| entry.kind.as_str()).collect();
    assert_eq!(kinds, ["correct", "throw away"]);
    assert_eq!(booked.differs, [("17".to_owned(), vec!["place", "price"])]);
    Ok(())
}

#[test]
fn held_glass_is_left_to_its_plan() -> Checked {
    let mut shop = Shop::new()?;
    let (mine, other) = (shop.plan("p1", &["17", "REED-A.1"])?, shop.plan("p2", &["17"])?);
    assert_eq!(shop.rack.hold(&mine, &stamp(1))?, ["17", "REED-A.1"]);
    assert_eq!(
        shop.rack.hold(&mine, &stamp(1))?,
        Vec::<String>::new(),
        "it is held already"
    );
    assert!(taken(shop.rack.hold(&other, &stamp(2))).contains("held for plan p1"));
    assert!(taken(shop.rack.throw_away(&["17"], "", &stamp(2))).contains("held for plan p1"));
    let free: Vec<String> = shop.stock("REED")?.into_iter().map(|item| item.tag).collect();
    assert_eq!(free, ["REED-A.2", "REED-NEW"]);
    assert_eq!(shop.rack.holder("17")?, "p1");
    assert_eq!(shop.rack.release("p1", &stamp(3))?.len(), 2);
    shop.rack.book(&other, "", &stamp(4))?;
    assert!(taken(shop.rack.book(&mine, "", &stamp(5))).contains("it is used"));
    Ok(())
}

#[test]
fn taking_back_leaves_the_rack_as_it_was_and_gives_no_tag_twice() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["17", "REED-NEW"])?;
    shop.rack.hold(&cut, &stamp(1))?;
    let before = shop.rack.list(&Which::default())?;
    shop.rack.book(&cut, "", &stamp(2))?;
    let back = shop.rack.take_back("p1", &stamp(3))?;
    assert_eq!(back.again, ["17"]);
    assert_eq!(back.withdrawn, ["REED-NEW.1", "R1", "R2"]);
    assert_eq!(shop.rack.list(&Which::default())?, before, "held for p1 again, too");
    assert!(taken(shop.rack.take_back("p1", &stamp(4))).contains("not booked"));
    let booked = shop.rack.book(&cut, "", &stamp(5))?;
    assert_eq!(booked.out[1].1, "REED-NEW.2");
    assert_eq!(booked.back[0].1.stock.tag, "R3");
    assert_eq!(shop.rack.audit()?.faults, Vec::<String>::new());
    Ok(())
}

#[test]
fn nothing_is_taken_back_that_others_have_built_on() -> Checked {
    let mut shop = Shop::new()?;
    let first = shop.plan("p1", &["REED-A.1", "REED-A.2"])?;
    shop.rack.book(&first, "", &stamp(1))?;
    let second = shop.plan("p2", &["R1"])?;
    shop.rack.hold(&second, &stamp(2))?;
    assert!(taken(shop.rack.take_back("p1", &stamp(3))).contains("tag R1: found an offcut that is held for plan p2"));
    shop.rack.book(&second, "", &stamp(4))?;
    assert!(taken(shop.rack.take_back("p1", &stamp(5))).contains("an offcut that is used"));
    shop.rack.take_back("p2", &stamp(6))?;
    shop.rack.release("p2", &stamp(7))?;
    shop.rack.take_back("p1", &stamp(8))?;
    assert_eq!(shop.rack.get("REED-A.1")?.state, State::OnRack);
    Ok(())
}

#[test]
fn a_plan_of_another_rack_is_refused() -> Checked {
    let (mut mine, mut other) = (Shop::new()?, Shop::new()?);
    let cut = other.plan("p1", &["17"])?;
    match mine.rack.book(&cut, "", &stamp(1)) {
        Err(RackError::Input(findings)) => assert!(findings.to_string().contains("another rack")),
        outcome => panic!("{outcome:?}"),
    }
    Ok(())
}

#[test]
fn the_same_glass_twice_in_one_plan_is_refused() -> Checked {
    let mut shop = Shop::new()?;
    let cut = shop.plan("p1", &["17", "17"])?;
    assert!(taken(shop.rack.book(&cut, "", &stamp(1))).contains("the same sheet or offcut twice"));
    assert_eq!(shop.rack.get("17")?.stock.count, Count::OnHand(1));
    assert_eq!(shop.rack.get("17")?.state, State::OnRack);
    Ok(())
}

#[test]
fn new_tags_cannot_be_taken_for_known_ones() -> Checked {
    let mut shop = Shop::new()?;
    let said = |tag| {
        [
            ("kind", "offcut"),
            ("glass", "REED"),
            ("width", "300"),
            ("height", "200"),
            ("tag", tag),
        ]
    };
    shop.rack.add(&said("R-1"), &stamp(1))?;
    shop.rack.add(&said("r 2"), &stamp(1))?;
    let cut = shop.plan("p1", &["17"])?;
    assert_eq!(shop.rack.book(&cut, "", &stamp(2))?.back[0].1.stock.tag, "R3");
    assert_eq!(shop.rack.add(&said(""), &stamp(3))?, ["R4"]);
    assert!(taken(shop.rack.add(&said("r-1"), &stamp(4))).contains("\"r-1\", which is on the rack already"));
    Ok(())
}

#[test]
fn the_history_says_who_did_what_when_and_what_it_was() -> Checked {
    let mut shop = Shop::new()?;
    // 2026-01-02 03:04:05 UTC.
    shop.rack
        .correct("17", &[("place", "E9"), ("flaws", "100 100 10")], &stamp(1_767_323_045))?;
    let last = shop.rack.history(Some("17"), 10)?.pop().ok_or("no history")?;
    assert_eq!(
        (last.at.as_str(), last.who.as_str(), last.kind.as_str()),
        ("2026-01-02T03:04:05Z", "Ada", "correct")
    );
    assert_eq!(
        last.glass,
        [("17".to_owned(), "corrected; it was: place C4, no flaws".to_owned())]
    );
    let (_, differs) = shop.rack.correct("17", &[("place", "E9")], &stamp(2))?;
    assert!(!differs);
    Ok(())
}

#[test]
fn several_may_have_the_rack_open() -> Checked {
    let mut shop = Shop::new()?;
    let mut second = Rack::open(&shop.path())?;
    let cut = shop.plan("p1", &["17"])?;
    second.book(&cut, "", &stamp(1))?;
    assert!(taken(shop.rack.book(&cut, "", &stamp(2))).contains("booked already"));
    Ok(())
}

/// An earlier version knew a plan by the bytes of its file: what it held or booked under that name is still the plan's.
#[test]
fn a_plan_is_known_by_its_former_name() -> Checked {
    let mut shop = Shop::new()?;
    let old = shop.plan("bytes", &["REED-A.1"])?;
    let now = Cut {
        plan: "cut".into(),
        formerly: Some("bytes".into()),
        ..old.clone()
    };
    shop.rack.hold(&old, &stamp(1))?;
    assert_eq!(shop.rack.held_for(&now)?, ["REED-A.1"]);
    assert_eq!(shop.rack.name_of(&now)?, "bytes");
    shop.rack.book(&now, "", &stamp(2))?;
    assert!(shop.rack.book(&now, "", &stamp(3)).is_err());
    assert!(shop.rack.book(&old, "", &stamp(3)).is_err());
    assert_eq!(shop.rack.audit()?.faults, Vec::<String>::new());
    let name = shop.rack.name_of(&now)?;
    shop.rack.take_back(&name, &stamp(4))?;
    Ok(())
}
