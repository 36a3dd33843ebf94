//! Booking a cut plan: glass out, offcuts in, in one transaction; and taking that back.

use crate::change::{new_copy, new_tag};
use crate::history::{Entry, entries_since};
use crate::hold::{Cut, CutSheet, as_known, differences, glass_of, same_rack};
use crate::item::{RackItem, Stamp, State};
use crate::rack::{Operation, Rack, enter, hundredths, note};
use crate::rows::{Kept, insert, select, set_state};
use crate::stock::clear_rectangle;
use crate::trouble::{RackError, Stop, told};
use crate::{Count, StockItem, StockKind};
use cullet_geometry::{Outline, boolean};
use rusqlite::{OptionalExtension, Transaction};

/// What a booking did.
#[derive(Debug, Clone, PartialEq)]
pub struct Booked {
    /// Number of its entry in the history.
    pub entry: u64,
    /// Every sheet and offcut that went out, in the plan's order: number of the sheet map, its tag, and the line it was bought
    /// from where it was bought.
    pub out: Vec<(u32, String, Option<String>)>,
    /// The offcuts that came back, in the plan's order, each with the number of its sheet map.
    pub back: Vec<(u32, RackItem)>,
    /// What was done at the rack since the plan was made, oldest first, without this plan's own hold.
    pub since: Vec<Entry>,
    /// What of the plan's glass is noted otherwise than the plan knew, and does not matter to it: tag and what differs.
    pub differs: Vec<(String, Vec<&'static str>)>,
}

/// What taking a booking back did.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenBack {
    /// Tags of the glass that stands on the rack again.
    pub again: Vec<String>,
    /// Tags that are gone for good: of offcuts that are none now, and of sheets that were not bought.
    pub withdrawn: Vec<String>,
}

impl Rack {
    /// Books a plan that has been cut: its glass goes out, what is left comes in under new tags that the glass is to be
    /// marked with, all in one transaction. Offcuts take on lot, grain, faces, and the flaws that lie on them. `place` is
    /// where they are put.
    ///
    /// # Errors
    /// [`RackError::Taken`] where the plan is booked already, or any of its glass has gone, is held for another plan or is
    /// noted with another outline, lot or grain or other flaws, each named. [`RackError::Input`] for a plan of another rack.
    pub fn book(&mut self, cut: &Cut, place: &str, stamp: &Stamp) -> Result<Booked, RackError> {
        self.write(|transaction| {
            let cut = &as_known(transaction, cut)?;
            same_rack(transaction, cut)?;
            not_yet_booked(transaction, &cut.plan)?;
            let glass = glass_of(transaction, cut)?;
            let since = entries_since(transaction, cut.made_on.revision, &cut.plan)?;
            let areas = areas(&glass);
            let entry = enter(transaction, &operation(cut, &areas), stamp)?;
            transaction.execute("INSERT INTO bookings (id, plan) VALUES (?1, ?2)", (entry, &cut.plan))?;

            let mut booked = Booked {
                entry: entry.unsigned_abs(),
                out: vec![],
                back: vec![],
                since,
                differs: vec![],
            };
            for (sheet, kept) in &glass {
                let tag = take_out(transaction, entry, sheet, kept.as_ref())?;
                if let Some(kept) = kept {
                    let small = differences(&sheet.stock, &kept.item.stock);
                    let small: Vec<_> = small.into_iter().map(|(what, _)| what).collect();
                    if !small.is_empty() {
                        booked.differs.push((tag.clone(), small));
                    }
                }
                for outline in &sheet.returned {
                    let face = kept
                        .as_ref()
                        .and_then(|kept| kept.item.scored_face)
                        .or(sheet.scored_face);
                    let mut offcut = offcut(&sheet.stock, outline, &tag, place);
                    offcut.scored_face = face;
                    offcut.stock.tag = new_tag(transaction)?;
                    bring_back(transaction, entry, sheet.number, &offcut)?;
                    booked.back.push((sheet.number, offcut));
                }
                let bought = kept.is_none().then(|| sheet.stock.tag.clone());
                booked.out.push((sheet.number, tag, bought));
            }
            Ok(booked)
        })
    }

    /// The offcuts that came back when a plan was booked, whatever has become of them since; none where it is not booked.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn came_back(&mut self, plan: &str) -> Result<Vec<RackItem>, RackError> {
        self.read(|transaction| {
            let Some(booking) = booking(transaction, plan)? else {
                return Ok(vec![]);
            };
            let returned = "items.id IN (SELECT item FROM returns WHERE booking = ?1) ORDER BY items.id";
            let back = select(transaction, returned, [booking])?;
            Ok(back.into_iter().map(|kept| kept.item).collect())
        })
    }

    /// Takes a booking back: the rack is as if it had not been, but for its history and the tags that were given. Glass that
    /// was held for the plan is held again.
    ///
    /// # Errors
    /// [`RackError::Taken`] where the plan is not booked, or any offcut from it has been used, held or thrown away since,
    /// each named.
    pub fn take_back(&mut self, plan: &str, stamp: &Stamp) -> Result<TakenBack, RackError> {
        self.write(|transaction| {
            let Some(booking) = booking(transaction, plan)? else {
                return Err(Stop::taken(
                    &format!("plan {plan}"),
                    "a plan that is not booked",
                    "a plan that is booked and not taken back",
                    "cullet rack history shows what was booked.",
                ));
            };
            let used = select(
                transaction,
                "items.id IN (SELECT item FROM uses WHERE booking = ?1) ORDER BY items.id",
                [booking],
            )?;
            let back = select(
                transaction,
                "items.id IN (SELECT item FROM returns WHERE booking = ?1) ORDER BY items.id",
                [booking],
            )?;
            untouched(&back)?;
            take_back(transaction, plan, booking, &used, &back, stamp)
        })
    }
}

fn booking(transaction: &Transaction<'_>, plan: &str) -> Result<Option<i64>, Stop> {
    let text = "SELECT id FROM bookings WHERE plan = ?1 AND undone IS NULL";
    Ok(transaction.query_row(text, [plan], |row| row.get(0)).optional()?)
}

fn not_yet_booked(transaction: &Transaction<'_>, plan: &str) -> Result<(), Stop> {
    match booking(transaction, plan)? {
        None => Ok(()),
        Some(entry) => Err(Stop::taken(
            &format!("plan {plan}"),
            &format!("a plan that is booked already, entry {entry} of the history"),
            "a plan that is not booked",
            "If this one was booked, nothing is left to do; cullet rack book --undo undoes it. If somebody else cut the same from that glass, plan or recut again.",
        )),
    }
}

/// Areas of a booking in hundredths of a square millimetre.
struct Areas {
    drawn: i64,
    bought: i64,
    used: i64,
    returned: i64,
}

fn areas(glass: &[(&CutSheet, Option<Kept>)]) -> Areas {
    let area = |sheet: &CutSheet| hundredths(sheet.stock.outline.area());
    let returned = glass.iter().flat_map(|(sheet, _)| &sheet.returned);
    let bought = glass.iter().filter(|(_, kept)| kept.is_none());
    Areas {
        drawn: glass.iter().map(|(sheet, _)| area(sheet)).sum(),
        bought: bought.map(|(sheet, _)| area(sheet)).sum(),
        used: glass.iter().map(|(sheet, _)| hundredths(sheet.used)).sum(),
        returned: returned.map(|outline| hundredths(outline.area())).sum(),
    }
}

fn operation<'c>(cut: &'c Cut, areas: &Areas) -> Operation<'c> {
    Operation {
        kind: "book",
        plan: Some(&cut.plan),
        note: cut.job.clone(),
        on_rack: areas.bought - areas.drawn + areas.returned,
        used: areas.used,
        cullet: areas.drawn - areas.used - areas.returned,
        thrown_away: 0,
    }
}

/// Takes one glass out, buying it first where it is to buy. Returns its tag.
fn take_out(transaction: &Transaction<'_>, entry: i64, sheet: &CutSheet, kept: Option<&Kept>) -> Result<String, Stop> {
    let (row, tag, what) = match kept {
        Some(kept) => {
            set_state(transaction, kept.row, State::Used)?;
            (kept.row, kept.item.stock.tag.clone(), "used")
        }
        None => {
            let item = bought(sheet, new_copy(transaction, &sheet.stock.tag)?);
            (insert(transaction, &item, entry)?, item.stock.tag, "bought and used")
        }
    };
    let held = transaction.execute("DELETE FROM holds WHERE item = ?1", [row])?;
    transaction.execute(
        "INSERT INTO uses (item, booking, sheet, bought, held) VALUES (?1, ?2, ?3, ?4, ?5)",
        (row, entry, sheet.number, kept.is_none(), held > 0),
    )?;
    note(transaction, entry, row, what)?;
    Ok(tag)
}

/// A sheet that was bought for the plan and is in its windows now.
fn bought(sheet: &CutSheet, tag: String) -> RackItem {
    RackItem {
        clear: clear_rectangle(&sheet.stock.outline),
        stock: StockItem {
            tag,
            count: Count::OnHand(1),
            ..sheet.stock.clone()
        },
        scored_face: sheet.scored_face,
        came_from: Some(sheet.stock.tag.clone()),
        state: State::Used,
        held_for: None,
    }
}

fn bring_back(transaction: &Transaction<'_>, entry: i64, sheet: u32, offcut: &RackItem) -> Result<(), Stop> {
    let row = insert(transaction, offcut, entry)?;
    transaction.execute(
        "INSERT INTO returns (item, booking, sheet) VALUES (?1, ?2, ?3)",
        (row, entry, sheet),
    )?;
    note(transaction, entry, row, "came back")
}

/// What is left of `from`, in a frame of its own: lower left of its bounds at the origin, the flaws that lie on it with it.
/// It has no price of its own any more, the glass's price counts.
fn offcut(from: &StockItem, outline: &Outline, tag: &str, place: &str) -> RackItem {
    let corner = outline.bounds().min;
    let moved = |outline: &Outline| outline.translated(-corner.x, -corner.y);
    let flaws = from.flaws.iter().flat_map(|flaw| boolean::intersection(outline, flaw));
    let stock = StockItem {
        tag: String::new(),
        glass: from.glass.clone(),
        kind: StockKind::Offcut,
        outline: moved(outline),
        count: Count::OnHand(1),
        place: place.to_owned(),
        lot: from.lot.clone(),
        grain_deg: from.grain_deg,
        flaws: flaws.map(|region| moved(&region.outer)).collect(),
        price: None,
    };
    RackItem {
        clear: clear_rectangle(&stock.outline),
        stock,
        scored_face: None,
        came_from: Some(tag.to_owned()),
        state: State::OnRack,
        held_for: None,
    }
}

/// Refuses to take back what others have built on.
fn untouched(back: &[Kept]) -> Result<(), Stop> {
    let mut refused = vec![];
    for kept in back {
        let found = match (kept.item.state, &kept.item.held_for) {
            (State::OnRack, None) => continue,
            (State::OnRack, Some(plan)) => format!("an offcut that is held for plan {plan}"),
            (state, _) => format!("an offcut that is {}", state.word()),
        };
        refused.push(told(
            &format!("tag {}", kept.item.stock.tag),
            &found,
            "an offcut that nobody has used or held since",
            "Take back or release that plan first; what was thrown away cannot be brought back.",
        ));
    }
    if refused.is_empty() {
        Ok(())
    } else {
        Err(Stop::Taken(refused))
    }
}

fn take_back(
    transaction: &Transaction<'_>,
    plan: &str,
    booking: i64,
    used: &[Kept],
    back: &[Kept],
    stamp: &Stamp,
) -> Result<TakenBack, Stop> {
    let facts = "SELECT used, cullet, note FROM operations WHERE id = ?1";
    let (in_windows, cullet, job): (i64, i64, String) =
        transaction.query_row(facts, [booking], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let mut how = transaction.prepare("SELECT bought, held FROM uses WHERE item = ?1")?;
    let mut was = vec![];
    for kept in used {
        was.push(how.query_row([kept.row], |row| Ok((row.get::<_, bool>(0)?, row.get::<_, bool>(1)?)))?);
    }
    let on_hand = used.iter().zip(&was).filter(|(_, (bought, _))| !bought);
    let again: i64 = on_hand.map(|(kept, _)| kept.area).sum();
    let gone: i64 = back.iter().map(|kept| kept.area).sum();
    let operation = Operation {
        kind: "take back",
        plan: Some(plan),
        note: job,
        on_rack: again - gone,
        used: -in_windows,
        cullet: -cullet,
        thrown_away: 0,
    };
    let entry = enter(transaction, &operation, stamp)?;
    transaction.execute("UPDATE bookings SET undone = ?2 WHERE id = ?1", (booking, entry))?;
    transaction.execute("DELETE FROM uses WHERE booking = ?1", [booking])?;

    let mut done = TakenBack {
        again: vec![],
        withdrawn: vec![],
    };
    for (kept, (bought, held)) in used.iter().zip(was) {
        let tag = kept.item.stock.tag.clone();
        if bought {
            set_state(transaction, kept.row, State::Withdrawn)?;
            note(transaction, entry, kept.row, "withdrawn: it was not bought")?;
            done.withdrawn.push(tag);
            continue;
        }
        set_state(transaction, kept.row, State::OnRack)?;
        note(transaction, entry, kept.row, "on the rack again")?;
        if held {
            transaction.execute(
                "INSERT INTO holds (item, plan, operation) VALUES (?1, ?2, ?3)",
                (kept.row, plan, entry),
            )?;
        }
        done.again.push(tag);
    }
    for kept in back {
        set_state(transaction, kept.row, State::Withdrawn)?;
        note(transaction, entry, kept.row, "withdrawn: it was not cut off")?;
        done.withdrawn.push(kept.item.stock.tag.clone());
    }
    Ok(done)
}
