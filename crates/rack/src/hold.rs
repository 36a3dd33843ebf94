//! Glass promised to a plan.

use crate::item::{Face, RackItem, RackState, Stamp, State};
use crate::rack::{Operation, Rack, enter, note, state};
use crate::rows::{Kept, select, tagged};
use crate::trouble::{RackError, Stop, told};
use crate::{Count, StockItem};
use cullet_geometry::Outline;
use rusqlite::Transaction;
use std::collections::BTreeSet;

/// A plan as the rack sees it: which glass it cuts, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// What tells this plan from every other one: a digest of what it cuts.
    pub plan: String,
    /// What it was called by an earlier version of the program, under which it may be held or booked.
    pub formerly: Option<String>,
    /// Name of the job, for the history.
    pub job: String,
    /// The rack it was made on.
    pub made_on: RackState,
    /// Its sheets and offcuts.
    pub sheets: Vec<CutSheet>,
}

/// One sheet or offcut of a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct CutSheet {
    /// Number of its sheet map.
    pub number: u32,
    /// The glass as the plan knew it.
    pub stock: StockItem,
    /// Which face the job scores, where the rack does not know.
    pub scored_face: Option<Face>,
    /// Area of the finished pieces cut from it, mm².
    pub used: f64,
    /// What goes back to the rack: outlines in the glass's own frame.
    pub returned: Vec<Outline>,
}

impl Rack {
    /// Promises to a plan all the glass on the rack that it uses, in one go; what it buys needs no promise. Returns the tags.
    /// Glass that the plan holds already stays held.
    ///
    /// # Errors
    /// [`RackError::Taken`] where any of it has gone, has changed or is promised to another plan, each named.
    pub fn hold(&mut self, cut: &Cut, stamp: &Stamp) -> Result<Vec<String>, RackError> {
        self.write(|transaction| {
            let cut = &as_known(transaction, cut)?;
            same_rack(transaction, cut)?;
            let glass = glass_of(transaction, cut)?;
            let free: Vec<&Kept> = glass
                .iter()
                .filter_map(|(_, kept)| kept.as_ref())
                .filter(|kept| kept.item.state == State::OnRack && kept.item.held_for.is_none())
                .collect();
            if free.is_empty() {
                return Ok(vec![]);
            }
            let operation = Operation {
                kind: "hold",
                plan: Some(&cut.plan),
                note: cut.job.clone(),
                ..Operation::default()
            };
            let operation = enter(transaction, &operation, stamp)?;
            for kept in &free {
                transaction.execute(
                    "INSERT INTO holds (item, plan, operation) VALUES (?1, ?2, ?3)",
                    (kept.row, &cut.plan, operation),
                )?;
                note(transaction, operation, kept.row, "held")?;
            }
            Ok(free.iter().map(|kept| kept.item.stock.tag.clone()).collect())
        })
    }

    /// What the rack knows a plan by: its former name where it is held or booked under that.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn name_of(&mut self, cut: &Cut) -> Result<String, RackError> {
        self.read(|transaction| Ok(as_known(transaction, cut)?.plan))
    }

    /// Tags of the glass that is promised to a plan; none for a plan of another rack.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn held_for(&mut self, cut: &Cut) -> Result<Vec<String>, RackError> {
        self.read(|transaction| {
            if state(transaction)?.id != cut.made_on.id {
                return Ok(vec![]);
            }
            let plan = as_known(transaction, cut)?.plan;
            let held = select(transaction, "holds.plan = ?1 ORDER BY items.id", [plan])?;
            Ok(held.into_iter().map(|kept| kept.item.stock.tag).collect())
        })
    }

    /// Lets go of all the glass that is promised to `plan`. Returns it; none where nothing is.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be written.
    pub fn release(&mut self, plan: &str, stamp: &Stamp) -> Result<Vec<RackItem>, RackError> {
        self.write(|transaction| {
            let held = select(transaction, "holds.plan = ?1 ORDER BY items.id", [plan])?;
            if held.is_empty() {
                return Ok(vec![]);
            }
            let operation = Operation {
                kind: "release",
                plan: Some(plan),
                ..Operation::default()
            };
            let operation = enter(transaction, &operation, stamp)?;
            for kept in &held {
                note(transaction, operation, kept.row, "released")?;
            }
            transaction.execute("DELETE FROM holds WHERE plan = ?1", [plan])?;
            Ok(held.into_iter().map(|kept| kept.item).collect())
        })
    }

    /// The plan that a glass is promised to.
    ///
    /// # Errors
    /// [`RackError::Input`] where there is no such glass or nobody holds it.
    pub fn holder(&mut self, tag: &str) -> Result<String, RackError> {
        self.read(|transaction| {
            let kept = crate::rows::required(transaction, tag)?;
            kept.item.held_for.clone().ok_or_else(|| {
                Stop::input(
                    &format!("tag {}", kept.item.stock.tag),
                    "glass that is not held",
                    "glass that is held",
                    "cullet rack list shows what is held.",
                )
            })
        })
    }
}

/// The plan under the name that the rack knows it by.
pub(crate) fn as_known(transaction: &Transaction<'_>, cut: &Cut) -> Result<Cut, Stop> {
    let mut cut = cut.clone();
    if let Some(formerly) = cut.formerly.take() {
        let known = "SELECT EXISTS (SELECT 1 FROM holds WHERE plan = ?1)
             OR EXISTS (SELECT 1 FROM bookings WHERE plan = ?1 AND undone IS NULL)";
        if transaction.query_row(known, [&formerly], |row| row.get(0))? {
            cut.plan = formerly;
        }
    }
    Ok(cut)
}

/// Refuses a plan that was made on another rack.
pub(crate) fn same_rack(transaction: &Transaction<'_>, cut: &Cut) -> Result<(), Stop> {
    let now = state(transaction)?;
    if now.id == cut.made_on.id && now.revision >= cut.made_on.revision {
        return Ok(());
    }
    let found = if now.id == cut.made_on.id {
        "an older copy of the rack that the plan was made on"
    } else {
        "another rack than the plan was made on"
    };
    Err(Stop::input(
        "the whole file",
        found,
        "the same rack",
        "Name the rack that the plan was made on, or plan again on this one.",
    ))
}

/// The plan's glass as it stands on the rack now, in the plan's order; `None` with a sheet to buy.
pub(crate) fn glass_of<'c>(
    transaction: &Transaction<'_>,
    cut: &'c Cut,
) -> Result<Vec<(&'c CutSheet, Option<Kept>)>, Stop> {
    let (mut glass, mut refused, mut seen) = (vec![], vec![], BTreeSet::new());
    for sheet in &cut.sheets {
        let known = tagged(transaction, &sheet.stock.tag)?;
        let trouble = match &known {
            None => Some(told(
                &place(sheet),
                "no such tag",
                "the glass of the plan",
                "Plan again on the rack as it is now.",
            )),
            Some(kept) if sheet.stock.count != Count::ToBuy && !seen.insert(kept.row) => Some(told(
                &place(sheet),
                "the same sheet or offcut twice in one plan",
                "each glass once",
                "Plan again on the rack as it is now.",
            )),
            Some(kept) => trouble(sheet, kept, &cut.plan),
        };
        refused.extend(trouble);
        glass.push((sheet, known.filter(|kept| kept.item.state != State::ToBuy)));
    }
    if refused.is_empty() {
        Ok(glass)
    } else {
        Err(Stop::Taken(refused))
    }
}

fn place(sheet: &CutSheet) -> String {
    format!("sheet {}, tag {}", sheet.number, sheet.stock.tag)
}

/// Why the plan cannot have this glass any more.
fn trouble(sheet: &CutSheet, kept: &Kept, plan: &str) -> Option<[String; 4]> {
    let again = "Plan again on the rack as it is now.";
    let to_buy = sheet.stock.count == Count::ToBuy;
    match (kept.item.state, &kept.item.held_for) {
        (State::ToBuy, _) if to_buy => {}
        (State::OnRack, None) if !to_buy => {}
        (State::OnRack, Some(holder)) if holder == plan => {}
        (State::OnRack, Some(holder)) => {
            let found = format!("glass already taken: it is held for plan {holder}");
            return Some(told(&place(sheet), &found, "glass that is free", again));
        }
        (state, _) => {
            let found = format!("glass already taken: it is {}", state.word());
            return Some(told(&place(sheet), &found, "glass on the rack", again));
        }
    }
    let changed: Vec<&str> = differences(&sheet.stock, &kept.item.stock)
        .into_iter()
        .filter(|(_, matters)| *matters)
        .map(|(what, _)| what)
        .collect();
    (!changed.is_empty()).then(|| {
        told(
            &place(sheet),
            &format!("another {} than the plan was made with", changed.join(", another ")),
            "the glass as it was",
            again,
        )
    })
}

/// What differs between the glass as a plan knew it and as it is, and whether it matters to the plan.
pub(crate) fn differences(was: &StockItem, now: &StockItem) -> Vec<(&'static str, bool)> {
    let all = [
        ("glass", was.glass != now.glass, true),
        ("outline", was.outline != now.outline, true),
        ("set of flaws", was.flaws != now.flaws, true),
        ("lot", was.lot != now.lot, true),
        ("grain", was.grain_deg != now.grain_deg, true),
        ("place", was.place != now.place, false),
        ("price", was.price != now.price, false),
    ];
    all.into_iter()
        .filter(|(_, differs, _)| *differs)
        .map(|(what, _, matters)| (what, matters))
        .collect()
}
