//! Looking things up.

use crate::item::{RackItem, RackState};
use crate::rack::{Rack, state};
use crate::rows::{each, required, select};
use crate::trouble::{RackError, Stop};
use crate::{Count, Stock};
use cullet_geometry::{Outline, Point, rectangle};
use rusqlite::Transaction;
use std::collections::BTreeMap;

/// Which items to list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Which<'a> {
    /// Only of this glass.
    pub glass: Option<&'a str>,
    /// Also what is used, thrown away or withdrawn.
    pub gone_too: bool,
}

/// What to find: glass with room for a rectangle.
#[derive(Debug, Clone, PartialEq)]
pub struct Room<'a> {
    /// Of this glass.
    pub glass: Option<&'a str>,
    /// One side of the rectangle, mm.
    pub width: f64,
    /// The other side, mm. The rectangle may lie either way round.
    pub height: f64,
    /// At most so many are returned, the smallest by area first.
    pub most: usize,
}

/// What a job wants of one glass.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted<'a> {
    /// Code of the glass.
    pub glass: &'a str,
    /// Area of its smallest piece, mm²: glass smaller than that is of no use and left out.
    pub least_area: f64,
}

/// Glass that stands on the rack and is promised to nobody.
const FREE: &str = "state = 'on the rack' AND holds.item IS NULL";

impl Rack {
    /// Items in the order they were entered: what is on the rack, promised or not, and what can be bought.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn list(&mut self, which: &Which<'_>) -> Result<Vec<RackItem>, RackError> {
        let states = if which.gone_too {
            "1"
        } else {
            "state IN ('on the rack', 'to buy')"
        };
        self.read(|transaction| {
            let of_glass = if which.glass.is_some() {
                "glass = ?1"
            } else {
                "?1 IS NULL"
            };
            let condition = format!("{states} AND {of_glass} ORDER BY items.id");
            items(transaction, &condition, [which.glass])
        })
    }

    /// The item with this tag.
    ///
    /// # Errors
    /// [`RackError::Input`] where there is none.
    pub fn get(&mut self, tag: &str) -> Result<RackItem, RackError> {
        self.read(|transaction| Ok(required(transaction, tag)?.item))
    }

    /// Glass on the rack, promised or not, with room for an upright rectangle either way round, the smallest first. Flaws
    /// are not taken off.
    ///
    /// Cost O(log n + k) by the index on glass and area for k items looked at, each O(c²) in its corners where its largest
    /// rectangle does not decide.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn find(&mut self, room: &Room<'_>) -> Result<Vec<RackItem>, RackError> {
        let (long, short) = (room.width.max(room.height), room.width.min(room.height));
        let least = crate::rack::hundredths(long * short * (1.0 - 1e-9)).saturating_sub(1);
        let of_glass = if room.glass.is_some() {
            "glass = ?1"
        } else {
            "?1 IS NULL"
        };
        let condition = format!(
            "state = 'on the rack' AND {of_glass} AND area >= ?2
             AND max(width, height) >= ?3 - 0.001 AND min(width, height) >= ?4 - 0.001 ORDER BY area, items.id"
        );
        self.read(|transaction| {
            let mut found = vec![];
            each(transaction, &condition, (room.glass, least, long, short), |kept| {
                if found.len() < room.most && has_room(&kept.item, long, short) {
                    found.push(kept.item);
                }
                found.len() < room.most
            })?;
            Ok(found)
        })
    }

    /// What a plan may pull for these glasses, and the state of the rack that this is: glass that is not held and
    /// large enough for a piece, and what can be bought. Every sheet is a line of its own with its own tag.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn stock(&mut self, wanted: &[Wanted<'_>]) -> Result<(Stock, RackState), RackError> {
        self.read(|transaction| {
            let mut stock = Stock::default();
            let enough = format!("{FREE} AND glass = ?1 AND area >= ?2 ORDER BY items.id");
            for Wanted { glass, least_area } in wanted {
                let least = crate::rack::hundredths(*least_area).saturating_sub(1);
                let free = items(transaction, &enough, (glass, least))?;
                let to_buy = items(
                    transaction,
                    "state = 'to buy' AND glass = ?1 ORDER BY items.id",
                    [glass],
                )?;
                stock
                    .items
                    .extend(free.into_iter().chain(to_buy).map(|item| item.stock));
            }
            Ok((stock, state(transaction)?))
        })
    }

    /// Every glass that the rack has a tag of, and how many of it a plan may pull now.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn glasses(&mut self) -> Result<BTreeMap<String, Count>, RackError> {
        self.read(|transaction| {
            let mut statement = transaction.prepare(
                "SELECT glass, sum(state = 'on the rack' AND holds.item IS NULL), sum(state = 'to buy')
                 FROM items LEFT JOIN holds ON holds.item = items.id GROUP BY glass",
            )?;
            let mut rows = statement.query([])?;
            let mut glasses = BTreeMap::new();
            while let Some(row) = rows.next()? {
                let to_buy: i64 = row.get(2)?;
                let free = u32::try_from(row.get::<_, i64>(1)?).unwrap_or(u32::MAX);
                let count = if to_buy > 0 { Count::ToBuy } else { Count::OnHand(free) };
                glasses.insert(row.get(0)?, count);
            }
            Ok(glasses)
        })
    }

    /// Which rack it is and how far its history has come.
    ///
    /// # Errors
    /// [`RackError::File`] where the file cannot be read.
    pub fn state(&mut self) -> Result<RackState, RackError> {
        self.read(state)
    }
}

fn items(transaction: &Transaction<'_>, condition: &str, values: impl rusqlite::Params) -> Result<Vec<RackItem>, Stop> {
    let found = select(transaction, condition, values)?;
    Ok(found.into_iter().map(|kept| kept.item).collect())
}

/// Whether a rectangle fits, either way round: decided by the largest rectangle where that is large enough both ways, else by
/// stretching the glass so that the rectangle becomes a square.
fn has_room(item: &RackItem, long: f64, short: f64) -> bool {
    let (width, height) = item.clear;
    let hair = 1e-3;
    if width.max(height) >= long - hair && width.min(height) >= short - hair {
        return true;
    }
    let outline = &item.stock.outline;
    let ways = [(long, short), (short, long)];
    !is_upright(outline) && ways.into_iter().any(|(across, up)| fits(outline, across, up))
}

/// Whether it is an upright rectangle, which is its own largest one.
fn is_upright(outline: &Outline) -> bool {
    let bounds = outline.bounds();
    (outline.area() - bounds.width() * bounds.height()).abs() < 1e-6
}

/// Whether the upright rectangle fits, this way round.
fn fits(outline: &Outline, across: f64, up: f64) -> bool {
    let bounds = outline.bounds();
    if across > bounds.width() + 1e-3 || up > bounds.height() + 1e-3 || across * up > outline.area() + 1.0 {
        return false;
    }
    let stretch = across / up;
    let points = outline.points().iter();
    let stretched = points.map(|p| Point {
        x: p.x,
        y: p.y * stretch,
    });
    Outline::new(stretched.collect()).is_ok_and(|outline| rectangle::fits_square(&outline, across))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_fits_an_l_on_either_leg_though_the_largest_lies_on_one() {
        let p = |x, y| Point { x, y };
        let l = Outline::new(vec![
            p(0.0, 0.0),
            p(600.0, 0.0),
            p(600.0, 100.0),
            p(200.0, 100.0),
            p(200.0, 500.0),
            p(0.0, 500.0),
        ])
        .expect("an L");
        assert!(fits(&l, 600.0, 100.0));
        assert!(fits(&l, 200.0, 500.0));
        assert!(!fits(&l, 201.0, 110.0));
        assert!(!fits(&l, 600.0, 101.0));
    }
}
