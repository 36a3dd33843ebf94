//! The least that any plan of a job can cost, proven: what the pieces themselves use up, and the glass that must be pulled for them.
//!
//! A sheet of value v and area A, of which pieces of cut area U are taken, goes back at best as A − U: its net cost is at least
//! v − r (A − U), with r the credit of a mm². Summed over the glass that is pulled that is r U for all the pieces, and v − r A for every sheet
//! and offcut; whose usable areas must hold the pieces. The least of that over all that may be pulled is a covering knapsack, which is
//! solved exactly, or bounded from below by its fractional form where it is too large.

use cullet_geometry::{Outline, offset};
use cullet_job::{Glass, Job, Piece};
use cullet_model::Plan;
use cullet_model::figures::Accounts;
use cullet_rack::{Count, Stock, StockItem};
use std::collections::BTreeMap;

/// Sets that are looked into before the fractional form is taken.
const MOST_SETS: u32 = 200_000;

/// The least net cost of a job, in its currency.
///
/// No plan that places every piece costs less, whoever makes it: strips, wedges and short rests count as nothing here, so it is
/// below what can be reached. `None` where glass can be bought that costs less than what comes back for it.
/// Cost: well under a millisecond for tens of lines of stock; at worst 200,000 steps a glass.
#[must_use]
pub fn least(job: &Job, stock: &Stock) -> Option<f64> {
    let accounts = Accounts::new(job);
    let glasses = job.glasses.iter().enumerate();
    glasses
        .map(|(index, glass)| of_glass(job, index, glass, stock, &accounts))
        .sum()
}

/// That of the job in a plan, from the stock that the plan carries; none where pieces are left unplaced, since it holds for whole plans.
#[must_use]
pub fn of_plan(plan: &Plan) -> Option<f64> {
    if !plan.unplaced.is_empty() {
        return None;
    }
    let job = Job::from_file("job in the plan", plan.job.clone()).ok()?;
    least(&job, &plan.stock)
}

fn of_glass(job: &Job, index: usize, glass: &Glass, stock: &Stock, accounts: &Accounts<'_>) -> Option<f64> {
    let pieces: Vec<&Piece> = job.pieces.iter().filter(|piece| piece.glass == index).collect();
    let area: f64 = pieces
        .iter()
        .map(|piece| piece.cut.area() * f64::from(piece.quantity))
        .sum();
    if area == 0.0 {
        return Some(0.0);
    }
    let smallest = pieces
        .iter()
        .map(|piece| piece.cut.area())
        .fold(f64::INFINITY, f64::min);
    let credit = glass.price_per_mm2 * job.credit_rate;
    let items = stock.items.iter().filter(|item| item.glass == glass.code);
    let kinds = kinds(items, glass, smallest, credit, accounts)?;
    Some(credit * area + cover(kinds, area))
}

/// Equal sheets or offcuts.
#[derive(Debug, Clone, Copy)]
struct Kind {
    /// What pulling one costs beyond the credit of its whole area; 0 or more.
    cost: f64,
    /// Area that pieces may lie on.
    usable: f64,
    count: u32,
}

/// What may be pulled, the same together; glass that earns by being pulled is taken as free. `None` where such glass can be bought.
fn kinds<'s>(
    items: impl Iterator<Item = &'s StockItem>,
    glass: &Glass,
    smallest: f64,
    credit: f64,
    accounts: &Accounts<'_>,
) -> Option<Vec<Kind>> {
    let mut kinds: BTreeMap<[u64; 2], Kind> = BTreeMap::new();
    for item in items {
        let usable: f64 = offset::shrink(&item.outline, glass.edge_trim)
            .iter()
            .map(Outline::area)
            .sum();
        if usable < smallest {
            continue;
        }
        let cost = accounts.value(item) - credit * item.outline.area();
        let count = match item.count {
            Count::OnHand(count) => count,
            Count::ToBuy if cost < 0.0 => return None,
            Count::ToBuy => u32::MAX,
        };
        let kind = kinds
            .entry([cost.to_bits(), usable.to_bits()])
            .or_insert(Kind { cost, usable, count: 0 });
        kind.count = kind.count.saturating_add(count);
    }
    Some(kinds.into_values().collect())
}

/// The least cost of kinds whose usable areas add up to `area`; where they do not, that of all of them. Kinds that cost less than
/// nothing are all taken.
fn cover(mut kinds: Vec<Kind>, area: f64) -> f64 {
    let earns: f64 = kinds
        .iter()
        .filter(|k| k.cost < 0.0)
        .map(|k| k.cost * f64::from(k.count))
        .sum();
    kinds.iter_mut().for_each(|kind| kind.cost = kind.cost.max(0.0));
    kinds.sort_by(|a, b| (a.cost / a.usable).total_cmp(&(b.cost / b.usable)));
    let mut search = Search {
        kinds: &kinds,
        best: f64::INFINITY,
        sets: 0,
    };
    search.from(0, area, 0.0);
    let least = if search.sets < MOST_SETS && search.best.is_finite() {
        search.best
    } else {
        fractional(&kinds, area)
    };
    earns + least
}

/// The least cost where parts of sheets may be pulled: the cheapest by area first.
fn fractional(kinds: &[Kind], mut area: f64) -> f64 {
    let mut cost = 0.0;
    for kind in kinds {
        let share = (area / kind.usable).min(f64::from(kind.count));
        cost += share * kind.cost;
        area -= share * kind.usable;
        if area <= 0.0 {
            break;
        }
    }
    cost
}

/// Branch and bound over how many of each kind are pulled, the cheapest by area first.
struct Search<'k> {
    kinds: &'k [Kind],
    best: f64,
    sets: u32,
}

impl Search<'_> {
    fn from(&mut self, first: usize, area: f64, cost: f64) {
        self.sets += 1;
        if area <= 0.0 {
            self.best = self.best.min(cost);
            return;
        }
        let rest = &self.kinds[first..];
        let Some(kind) = rest.first() else { return };
        if self.sets >= MOST_SETS || cost + fractional(rest, area) >= self.best {
            return;
        }
        let most = (area / kind.usable).ceil().min(f64::from(kind.count)) as u32;
        for count in (0..=most).rev() {
            let count = f64::from(count);
            self.from(first + 1, area - count * kind.usable, cost + count * kind.cost);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kind(cost: f64, usable: f64, count: u32) -> Kind {
        Kind { cost, usable, count }
    }

    #[test]
    fn covers_by_hand() {
        // 10 m² from sheets of 4 m² at 4 and of 3 m² at 2: two small and one large hold 10 for 8; one small and two large,
        // 11 for 10.
        let both = vec![kind(4.0, 4.0, u32::MAX), kind(2.0, 3.0, 3)];
        assert_eq!(cover(both, 10.0), 8.0);
        let one = vec![kind(4.0, 4.0, u32::MAX), kind(2.0, 3.0, 1)];
        assert_eq!(cover(one, 10.0), 10.0);
        assert_eq!(cover(vec![kind(2.0, 3.0, 4)], 10.0), 8.0);
        // An offcut is free, and what earns is all taken.
        assert_eq!(cover(vec![kind(0.0, 6.0, 1), kind(4.0, 4.0, u32::MAX)], 10.0), 4.0);
        assert_eq!(cover(vec![kind(-1.0, 1.0, 2), kind(4.0, 4.0, u32::MAX)], 2.0), -2.0);
    }

    proptest! {
        /// Never above the cheapest of all sets that hold the area, and never below the fractional form.
        #[test]
        fn it_is_the_cheapest_of_all_sets(
            sizes in proptest::collection::vec((0u32..20, 1u32..10, 0u32..4), 1..5),
            area in 1u32..40,
        ) {
            let kinds: Vec<Kind> = sizes.iter().map(|(c, a, n)| kind(f64::from(*c), f64::from(*a), *n)).collect();
            let mut best = f64::INFINITY;
            let mut counts = vec![0u32; kinds.len()];
            'all: loop {
                let sum = |of: fn(&Kind) -> f64| -> f64 { kinds.iter().zip(&counts).map(|(k, n)| of(k) * f64::from(*n)).sum() };
                if sum(|k| k.usable) >= f64::from(area) {
                    best = best.min(sum(|k| k.cost));
                }
                for k in 0..=kinds.len() {
                    if k == kinds.len() {
                        break 'all;
                    }
                    if counts[k] < kinds[k].count {
                        counts[k] += 1;
                        break;
                    }
                    counts[k] = 0;
                }
            }
            let found = cover(kinds, f64::from(area));
            if best.is_finite() {
                prop_assert!((found - best).abs() < 1e-9, "{found} is not {best}");
            }
        }
    }
}
