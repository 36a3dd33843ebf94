//! Whatever is done in whatever order: what came in is on the rack, used, cullet or thrown away, and no tag appears twice.

use crate::common::{Shop, halved, stamp};
use cullet_rack::{Count, Cut, RackError, RackItem, State, Which};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// Something done, with numbers that say to which glass or plan.
#[derive(Debug, Clone)]
enum Deed {
    Plan(Vec<usize>),
    Hold(usize),
    Release(usize),
    Book(usize),
    TakeBack(usize),
    Correct(usize, f64),
    ThrowAway(usize),
    Add(f64),
}

fn deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        4 => prop::collection::vec(0..20_usize, 1..4).prop_map(Deed::Plan),
        2 => (0..10_usize).prop_map(Deed::Hold),
        1 => (0..10_usize).prop_map(Deed::Release),
        5 => (0..10_usize).prop_map(Deed::Book),
        3 => (0..10_usize).prop_map(Deed::TakeBack),
        2 => (0..20_usize, 150.0..600.0_f64).prop_map(|(n, width)| Deed::Correct(n, width)),
        1 => (0..20_usize).prop_map(Deed::ThrowAway),
        1 => (150.0..900.0_f64).prop_map(Deed::Add),
    ]
}

/// Does it; refusals because glass is taken are part of the game, nothing else is.
fn act(shop: &mut Shop, plans: &mut Vec<Cut>, deed: &Deed, at: i64) -> Result<(), Box<dyn std::error::Error>> {
    let there: Vec<RackItem> = shop.rack.list(&Which::default())?;
    let wants_glass = matches!(deed, Deed::Plan(_) | Deed::Correct(..) | Deed::ThrowAway(_));
    if there.is_empty() && wants_glass {
        return Ok(());
    }
    let item = |n: usize| there[n % there.len()].clone();
    let plan = |n: usize| plans.get(n % plans.len().max(1)).cloned();
    let done = match deed {
        Deed::Plan(numbers) => {
            let mut sheets = vec![];
            let mut pulled = BTreeSet::new();
            for n in numbers {
                let stock = item(*n).stock;
                // Sheets to buy may be pulled as often as wanted.
                if stock.count == Count::ToBuy || pulled.insert(stock.tag.clone()) {
                    sheets.push(halved(sheets.len() as u32 + 1, stock));
                }
            }
            plans.push(Cut {
                plan: format!("plan {}", plans.len()),
                formerly: None,
                job: "Window".into(),
                made_on: shop.rack.state()?,
                sheets,
            });
            return Ok(());
        }
        Deed::Hold(n) => plan(*n).map_or(Ok(()), |cut| shop.rack.hold(&cut, &stamp(at)).map(drop)),
        Deed::Release(n) => plan(*n).map_or(Ok(()), |cut| shop.rack.release(&cut.plan, &stamp(at)).map(drop)),
        Deed::Book(n) => plan(*n).map_or(Ok(()), |cut| shop.rack.book(&cut, "", &stamp(at)).map(drop)),
        Deed::TakeBack(n) => match plan(*n) {
            None => Ok(()),
            Some(cut) => {
                let (tag_count, before) = (tags(shop)?.len(), shop.rack.audit()?);
                let outcome = shop.rack.take_back(&cut.plan, &stamp(at));
                assert_eq!(tags(shop)?.len(), tag_count, "a tag went or came");
                assert!(shop.rack.audit()?.used <= before.used);
                outcome.map(drop)
            }
        },
        Deed::Correct(n, width) => {
            let width = width.to_string();
            let said = [("width", width.as_str()), ("height", "333.25"), ("flaws", "")];
            shop.rack.correct(&item(*n).stock.tag, &said, &stamp(at)).map(drop)
        }
        Deed::ThrowAway(n) => shop.rack.throw_away(&[&item(*n).stock.tag], "", &stamp(at)).map(drop),
        Deed::Add(width) => {
            let width = width.to_string();
            let said = [
                ("kind", "offcut"),
                ("glass", "REED"),
                ("width", width.as_str()),
                ("height", "200"),
            ];
            shop.rack.add(&said, &stamp(at)).map(drop)
        }
    };
    match done {
        Ok(()) | Err(RackError::Taken(_)) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

/// Every tag that ever was, in capitals.
fn tags(shop: &mut Shop) -> Result<BTreeSet<String>, RackError> {
    let all = shop.rack.list(&Which {
        glass: None,
        gone_too: true,
    })?;
    let tags: BTreeSet<String> = all.iter().map(|item| item.stock.tag.to_uppercase()).collect();
    assert_eq!(tags.len(), all.len(), "a tag appears twice");
    Ok(tags)
}

fn check(shop: &mut Shop, known: &mut BTreeSet<String>) -> Result<(), Box<dyn std::error::Error>> {
    let audit = shop.rack.audit()?;
    assert_eq!(audit.faults, Vec::<String>::new());
    let sum = audit.on_rack + audit.used + audit.cullet + audit.thrown_away;
    assert!((audit.came_in - sum).abs() < 0.005, "{audit:?}");
    // Measured on the outlines, sharing nothing with the books but rounding to a hundredth each.
    let all = shop.rack.list(&Which {
        glass: None,
        gone_too: true,
    })?;
    let mut areas: BTreeMap<State, f64> = BTreeMap::new();
    for item in &all {
        *areas.entry(item.state).or_default() += item.stock.outline.area();
    }
    let slack = 0.01 * all.len() as f64;
    let area = |state| areas.get(&state).copied().unwrap_or_default();
    assert!((area(State::OnRack) - audit.on_rack).abs() < slack);
    assert!((area(State::ThrownAway) - audit.thrown_away).abs() < slack);
    assert!(audit.used >= 0.0 && audit.cullet >= -slack);
    let now = tags(shop)?;
    assert!(now.is_superset(known), "a tag was given up");
    *known = now;
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn no_glass_is_lost_or_made(deeds in prop::collection::vec(deed(), 1..40)) {
        let mut shop = Shop::new().expect("a rack");
        let (mut plans, mut known) = (vec![], BTreeSet::new());
        for (at, deed) in deeds.iter().enumerate() {
            act(&mut shop, &mut plans, deed, at as i64).unwrap_or_else(|error| panic!("{deed:?}: {error}"));
            check(&mut shop, &mut known).unwrap_or_else(|error| panic!("{deed:?}: {error}"));
        }
    }
}
