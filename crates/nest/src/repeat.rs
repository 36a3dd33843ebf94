//! Many of the same: where every kind is wanted several times over, a group of items is laid out well once and that layout
//! repeated, which is soon better than a search over all of them.

use crate::field::{Bin, Field, Slot, Spot};
use crate::form::Kind;
use crate::strip::{STRIP, Shortest};

/// From so many items on a group is looked for …
const MANY: usize = 100;
/// … of at least so many.
const SMALLEST: usize = 40;
/// Steps in which a repeated layout is pushed against the one before it, over its length.
const STEPS: u32 = 400;

/// A part of the items that, taken `times` times, is all of them.
#[derive(Debug, Clone)]
pub(crate) struct Group {
    pub(crate) slot_kinds: Vec<usize>,
    pub(crate) times: usize,
}

impl Group {
    /// The smallest worth repeating; `None` where there is none.
    pub(crate) fn of(slot_kinds: &[usize], kinds: usize) -> Option<Self> {
        let mut counts = vec![0usize; kinds];
        slot_kinds.iter().for_each(|k| counts[*k] += 1);
        let common = counts.iter().fold(0, |a, b| greatest_common_divisor(a, *b));
        let all = slot_kinds.len();
        let times = (2..=common).rev().find(|t| common % t == 0 && all / t >= SMALLEST)?;
        let group = counts
            .iter()
            .enumerate()
            .flat_map(|(kind, count)| std::iter::repeat_n(kind, count / times));
        (all >= MANY).then(|| Self {
            slot_kinds: group.collect(),
            times,
        })
    }

    /// The layout of the group repeated until every item of `slot_kinds` lies, each as close to the one before it as it goes.
    /// `None` where that fails.
    pub(crate) fn repeated(
        &self,
        layout: &Shortest,
        kinds: &[Kind],
        slot_kinds: &[usize],
        height: f64,
    ) -> Option<Shortest> {
        let apart = self.pushed_together(layout, kinds, height);
        [apart, layout.length].into_iter().find_map(|apart| {
            let mut slots: Vec<Slot> = (0..self.times).flat_map(|t| moved(layout, t as f64 * apart)).collect();
            // In the order of all items: stable, so that equal ones keep their order along the strip.
            slots.sort_by_key(|slot| slot.kind);
            debug_assert!(slots.iter().map(|s| s.kind).eq(slot_kinds.iter().copied()));
            let field = laid(kinds, height, &slots);
            (field.total() <= 0.0).then(|| Shortest {
                length: STRIP.used(&field.slots),
                slots: field.snapshot(),
                judged: layout.judged,
            })
        })
    }

    /// The least distance found at which the layout does not overlap itself, coming from afar.
    fn pushed_together(&self, layout: &Shortest, kinds: &[Kind], height: f64) -> f64 {
        let step = layout.length / f64::from(STEPS);
        let clear = |apart: f64| {
            let slots: Vec<Slot> = moved(layout, 0.0).chain(moved(layout, apart)).collect();
            laid(kinds, height, &slots).total() <= 0.0
        };
        let mut apart = layout.length;
        while apart > step && clear(apart - step) {
            apart -= step;
        }
        let (mut tight, mut loose) = (apart - step, apart);
        for _ in 0..12 {
            let middle = (tight + loose) / 2.0;
            if clear(middle) {
                loose = middle;
            } else {
                tight = middle;
            }
        }
        loose
    }
}

/// The layout's slots further along the strip.
fn moved(layout: &Shortest, by: f64) -> impl Iterator<Item = Slot> {
    layout.slots.iter().map(move |slot| Slot {
        spot: Spot {
            x: slot.spot.x + by,
            ..slot.spot
        },
        ..slot.clone()
    })
}

/// The slots in a strip that is long enough for them.
fn laid<'a>(kinds: &'a [Kind], height: f64, slots: &[Slot]) -> Field<'a> {
    let bin = Bin {
        width: STRIP.used(slots) + 1.0,
        height,
        open: true,
        obstacles: 0..0,
    };
    let slot_kinds: Vec<usize> = slots.iter().map(|s| s.kind).collect();
    let mut field = Field::new(kinds, vec![bin], &[], &slot_kinds);
    field.restore(slots);
    field
}

fn greatest_common_divisor(a: usize, b: usize) -> usize {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_group_is_a_whole_part_of_the_items_and_not_too_small() {
        let wanted = |counts: &[usize]| -> Vec<usize> {
            let kinds = counts.iter().enumerate();
            kinds.flat_map(|(k, n)| std::iter::repeat_n(k, *n)).collect()
        };
        // 16 times 48 items: repeated 16 times.
        let counts = [32, 64, 160, 512];
        let group = Group::of(&wanted(&counts), 4).unwrap();
        assert_eq!((group.times, group.slot_kinds.len()), (16, 48));
        // 120 items with common divisor 12, groups of 40 or more: 3 times 40.
        let group = Group::of(&wanted(&[60, 60]), 2).unwrap();
        assert_eq!((group.times, group.slot_kinds.len()), (3, 40));
        // Nothing in common, or too few.
        assert!(Group::of(&wanted(&[61, 60]), 2).is_none());
        assert!(Group::of(&wanted(&[40, 40]), 2).is_none());
    }
}
