//! What an audit finds in a file that something else has changed by hand.

use crate::common::{Checked, Shop, stamp};
use cullet_rack::{Lines, Rack};
use rusqlite::Connection;
use std::error::Error;

/// A rack with a plan booked, one held, glass thrown away and glass to buy.
fn busy() -> Result<Shop, Box<dyn Error>> {
    let mut shop = Shop::new()?;
    let list = "kind,tag,glass,units,width,height,count\nsheet,A,A,mm,600,400,4\nsheet,B,A,mm,600,400,buy\n";
    shop.rack.import(&Lines::read_csv("more.csv", list)?, &stamp(0))?;
    let booked = shop.plan("booked", &["A.1", "B"])?;
    shop.rack.book(&booked, "R1", &stamp(1))?;
    let undone = shop.plan("undone", &["A.2"])?;
    shop.rack.book(&undone, "R1", &stamp(2))?;
    shop.rack.take_back("undone", &stamp(3))?;
    let held = shop.plan("held", &["A.3"])?;
    shop.rack.hold(&held, &stamp(4))?;
    shop.rack.throw_away(&["A.4"], "fell", &stamp(5))?;
    assert_eq!(shop.rack.audit()?.faults, Vec::<String>::new());
    Ok(shop)
}

/// Each change on a fresh rack, with the triggers out of the way as whoever changes the file by hand would have them.
#[test]
fn every_change_by_hand_is_found() -> Checked {
    // Corners of a bow tie: (0, 0), (600, 400), (600, 0), (0, 400), little-endian.
    let bow_tie: String = [0.0_f64, 0.0, 600.0, 400.0, 600.0, 0.0, 0.0, 400.0]
        .iter()
        .flat_map(|number| number.to_le_bytes())
        .map(|byte| format!("{byte:02x}"))
        .collect();
    let bow_tie = format!("UPDATE items SET outline = x'{bow_tie}' WHERE tag = 'A.2'");
    let changes = [
        bow_tie.as_str(),
        "UPDATE items SET outline = x'00' WHERE tag = 'A.2'",
        "UPDATE items SET outline = (SELECT outline FROM items WHERE tag LIKE 'R%') WHERE tag = 'A.2'",
        "UPDATE items SET flaws = x'01' WHERE tag = 'A.2'",
        "UPDATE items SET area = area + 1 WHERE tag = 'A.2'",
        "UPDATE items SET width = 601 WHERE tag = 'A.2'",
        "UPDATE items SET clear_width = 700 WHERE tag = 'A.2'",
        "UPDATE items SET bare = 'A9' WHERE tag = 'A.2'",
        "UPDATE items SET state = 'used' WHERE tag = 'A.3'",
        "UPDATE items SET state = 'on the rack' WHERE tag = 'A.4'",
        "UPDATE items SET state = 'withdrawn' WHERE tag = 'B'",
        "DELETE FROM rack",
        "DELETE FROM holds",
        "DELETE FROM uses",
        "DELETE FROM returns",
        "DELETE FROM bookings",
        "DELETE FROM changes",
        "DELETE FROM operations",
        "DELETE FROM operations WHERE kind = 'hold'",
        "DELETE FROM items",
        "DELETE FROM items WHERE tag = 'B'",
        "UPDATE bookings SET undone = NULL",
        "UPDATE uses SET booking = 77",
    ];
    for change in changes {
        let shop = busy()?;
        let path = shop.path();
        let Shop { home: _home, rack } = shop;
        drop(rack);
        let by_hand = Connection::open(&path)?;
        by_hand.pragma_update(None, "foreign_keys", false)?;
        by_hand.execute_batch(
            "DROP TRIGGER history_stays; DROP TRIGGER history_is_kept; DROP TRIGGER tags_stay; DROP TRIGGER tags_are_kept;",
        )?;
        by_hand.execute_batch(change)?;
        drop(by_hand);
        let faults = Rack::open(&path)?.audit()?.faults;
        assert!(!faults.is_empty(), "not found: {change}");
        assert!(faults.iter().all(|fault| !fault.is_empty()), "{change}: {faults:?}");
    }
    Ok(())
}
