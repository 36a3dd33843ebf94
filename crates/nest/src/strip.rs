//! The shortest end: items in one rectangle of fixed height, its length made as short as can be.
//!
//! A valid layout is shortened a little, which makes items overlap, and the overlaps are drawn apart again; when that
//! succeeds the layout is shortened further. Lanes search side by side and share the shortest layout found.

use crate::field::{Bin, Field, Slot, Spot};
use crate::first::{self, Lean, Putting};
use crate::form::{Form, Kind, Posture, Turn};
use crate::lane::Lane;
use crate::prepare::Prepared;
use crate::repeat::Group;
use crate::tables::Tables;
use crate::tile;
use cullet_geometry::{Outline, Point};
use cullet_search::{Effort, Limit, Placed, Random, StopCondition, run_lanes};

/// A strip layout: its length and where the slots lie.
#[derive(Debug, Clone)]
pub(crate) struct Shortest {
    pub(crate) length: f64,
    pub(crate) slots: Vec<Slot>,
    /// Places judged by all lanes until now.
    pub(crate) judged: u64,
}

/// What items are laid on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ground<'a> {
    pub(crate) kinds: &'a [Kind],
    pub(crate) bins: &'a [Bin],
    pub(crate) obstacles: &'a [Form],
}

/// What is shortened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct End {
    /// The bin.
    pub(crate) bin: usize,
    /// 0 for its width, 1 for its height.
    pub(crate) axis: usize,
}

impl End {
    /// How far the bin is used.
    pub(crate) fn used(self, slots: &[Slot]) -> f64 {
        let far = |s: &Slot| if self.axis == 0 { s.spot.x } else { s.spot.y } + s.posture.high[self.axis];
        slots
            .iter()
            .filter(|s| s.placed && s.spot.bin == self.bin)
            .map(far)
            .fold(0.0, f64::max)
    }
}

/// An open-ended strip.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Room {
    pub(crate) height: f64,
    /// Whether items may touch: then a layout without any gap is looked for first.
    pub(crate) touching: bool,
}

/// The shortest layout of all items in a strip found within `effort`, beginning with `start` where there is one. `report` hears
/// of every improvement.
pub(crate) fn shortest(
    ready: &Prepared,
    room: Room,
    start: Option<Shortest>,
    effort: Effort,
    watch: &StopCondition,
    report: &(dyn Fn(&Shortest) + Sync),
) -> Option<Shortest> {
    let (kinds, slot_kinds, height) = (&ready.kinds, &ready.slot_kinds, room.height);
    if let Some(mut start) = start {
        alike(kinds, &mut start.slots);
        return Some(shorten_strip(kinds, height, start, effort, watch, report));
    }
    let mut first = first_strip(kinds, slot_kinds, height, effort.seed)?;
    report(&first);
    if room.touching
        && let Some(exact) = exact_strip(kinds, slot_kinds, height, effort, watch)
    {
        report(&exact);
        first = exact;
    }
    let Some(group) = Group::of(slot_kinds, kinds.len()) else {
        return Some(shorten_strip(kinds, height, first, effort, watch, report));
    };
    let (now, later) = (watch.part(0.0, GROUPED), watch.part(GROUPED, 1.0));
    let small = first_strip(kinds, &group.slot_kinds, height, effort.seed)?;
    let laid = shorten_strip(kinds, height, small, effort.part(GROUPED), &now, &|_| {});
    let judged = laid.judged;
    let repeated = group.repeated(&laid, kinds, slot_kinds, height);
    if let Some(repeated) = repeated.filter(|r| r.length < first.length) {
        report(&repeated);
        first = repeated;
    }
    first.judged = judged;
    Some(shorten_strip(
        kinds,
        height,
        first,
        effort.part(1.0 - GROUPED),
        &later,
        report,
    ))
}

/// Share of the effort that goes to a group of the items, where there is one to be repeated.
const GROUPED: f64 = 0.5;

fn shorten_strip(
    kinds: &[Kind],
    height: f64,
    first: Shortest,
    effort: Effort,
    watch: &StopCondition,
    report: &(dyn Fn(&Shortest) + Sync),
) -> Shortest {
    let bin = Bin {
        width: first.length,
        height,
        open: true,
        obstacles: 0..0,
    };
    let ground = Ground {
        kinds,
        bins: &[bin],
        obstacles: &[],
    };
    shorten(ground, STRIP, first, effort, watch, report)
}

/// Gives slots of an earlier search, at the same turns, the postures of these kinds.
fn alike(kinds: &[Kind], slots: &mut [Slot]) {
    for slot in slots {
        slot.posture = posture(&kinds[slot.kind], slot.posture.turn);
    }
}

/// The layout found within `effort` that uses `end`'s bin the least far, starting from a valid one in `bins`; items may move
/// to other bins.
pub(crate) fn shorten(
    ground: Ground,
    end: End,
    first: Shortest,
    effort: Effort,
    watch: &StopCondition,
    report: &(dyn Fn(&Shortest) + Sync),
) -> Shortest {
    let Ground { kinds, bins, obstacles } = ground;
    let slot_kinds: Vec<usize> = first.slots.iter().map(|s| s.kind).collect();
    let most_rounds = match effort.limit {
        Limit::Rounds(rounds) => rounds,
        Limit::Seconds(_) => u64::MAX,
    };
    let least = least_length(kinds, &slot_kinds, bins, end);
    let judged_before = first.judged;
    let tables = Tables::new(kinds);
    let mut lanes: Vec<Lane> = (0..effort.lanes.max(1))
        .map(|lane| {
            let field = Field::new(kinds, bins.to_vec(), obstacles, &slot_kinds);
            let mut field = field.with_tables(tables.as_ref());
            field.restore(&first.slots);
            Lane::new(field, end, first.clone(), least, Random::new(effort.seed, lane + 1))
        })
        .collect();
    let is_enough = |best: &Shortest| best.length <= least * (1.0 + 1e-6);
    run_lanes(&mut lanes, first, most_rounds, watch, &is_enough, &mut |best, lanes| {
        best.judged = judged_before + lanes.iter().map(|l| l.field.evaluations).sum::<u64>();
        report(best);
    })
}

/// No layout uses `end` less far than this: the area that the other bins cannot hold must lie there, and of a strip every
/// item.
fn least_length(kinds: &[Kind], slot_kinds: &[usize], bins: &[Bin], end: End) -> f64 {
    let elsewhere: f64 = bins
        .iter()
        .enumerate()
        .filter(|(b, bin)| *b != end.bin && bin.open)
        .map(|(_, b)| b.width * b.height)
        .sum();
    let area: f64 = slot_kinds.iter().map(|k| kinds[*k].area).sum();
    let bin = &bins[end.bin];
    let by_area = (area - elsewhere) / if end.axis == 0 { bin.height } else { bin.width };
    let by_item = if bins.iter().filter(|bin| bin.open).count() > 1 {
        0.0
    } else {
        slot_kinds
            .iter()
            .map(|k| kinds[*k].least_extent(end.axis))
            .fold(0.0, f64::max)
    };
    by_area.max(by_item)
}

/// The only end of a strip.
pub(crate) const STRIP: End = End { bin: 0, axis: 0 };

/// Share of the effort after which an exact fit is no longer looked for.
const EXACT: f64 = 0.04;

/// A layout of the items' own area, without a gap, if there is one and it is found.
fn exact_strip(
    kinds: &[Kind],
    slot_kinds: &[usize],
    height: f64,
    effort: Effort,
    watch: &StopCondition,
) -> Option<Shortest> {
    let mut counts = vec![0; kinds.len()];
    slot_kinds.iter().for_each(|k| counts[*k] += 1);
    let length = slot_kinds.iter().map(|k| kinds[*k].area).sum::<f64>() / height;
    let region = [Outline::rectangle(length, height)];
    let tiles = tile::cover(kinds, &counts, &region, effort, watch, EXACT)?;
    let mut field = Field::new(
        kinds,
        vec![Bin {
            width: length,
            height,
            open: true,
            obstacles: 0..0,
        }],
        &[],
        slot_kinds,
    );
    tile::put_all(&mut field, &tiles, 0);
    (field.slots.iter().all(|s| s.placed) && field.total() <= 0.0).then(|| Shortest {
        length: STRIP.used(&field.slots).max(length),
        slots: field.snapshot(),
        judged: 0,
    })
}

/// A first strip layout; `None` when an item is higher than the strip.
fn first_strip(kinds: &[Kind], slot_kinds: &[usize], height: f64, seed: u64) -> Option<Shortest> {
    let area: f64 = slot_kinds.iter().map(|k| kinds[*k].area).sum();
    let widest = slot_kinds.iter().map(|k| 2.0 * kinds[*k].radius).fold(0.0, f64::max);
    let mut length = 1.5 * area / height + widest;
    let mut random = Random::new(seed, 0);
    for _ in 0..40 {
        let bins = vec![Bin {
            width: length,
            height,
            open: true,
            obstacles: 0..0,
        }];
        let mut field = Field::new(kinds, bins, &[], slot_kinds);
        let mut putting = Putting::new(&field, Lean::Left);
        let all = first::order(&field)
            .into_iter()
            .all(|i| putting.put(&mut field, i, 0, 200, &mut random));
        if all {
            let slots = field.snapshot();
            return Some(Shortest {
                length: STRIP.used(&slots),
                slots,
                judged: 0,
            });
        }
        length *= 1.5;
    }
    None
}

/// Slots as the caller sees them.
pub(crate) fn placed(kinds: &[Kind], slots: &[Slot], container_of: impl Fn(&Spot) -> (usize, f64, f64)) -> Vec<Placed> {
    slots
        .iter()
        .filter(|slot| slot.placed)
        .map(|slot| {
            let (container, x, y) = container_of(&slot.spot);
            Placed {
                item: slot.kind,
                container,
                pose: pose(&kinds[slot.kind], &slot.posture, slot.spot.x + x, slot.spot.y + y),
            }
        })
        .collect()
}

/// The pose that brings an item's own frame to where its reference point lies at `(x, y)`.
fn pose(kind: &Kind, posture: &Posture, x: f64, y: f64) -> cullet_geometry::Pose {
    let turned = cullet_geometry::Pose {
        rotation_deg: posture.turn.degrees.rem_euclid(360.0),
        turned_over: posture.turn.over,
        x: 0.0,
        y: 0.0,
    };
    let reference = turned.apply(kind.reference);
    cullet_geometry::Pose {
        x: x - reference.x,
        y: y - reference.y,
        ..turned
    }
}

/// A kind at a turn.
fn posture(kind: &Kind, turn: Turn) -> Posture {
    let same = |p: &&Posture| p.turn.over == turn.over && (p.turn.degrees - turn.degrees).rem_euclid(360.0) < 1e-9;
    kind.fixed.iter().find(same).cloned().unwrap_or_else(|| {
        let mut posture = Posture::default();
        posture.set(kind, turn);
        posture
    })
}

/// Slots from what an earlier search placed in containers whose bins' lower left corners are at `origins`.
pub(crate) fn taken_up(kinds: &[Kind], layout: &[Placed], origins: &[Point]) -> Vec<Slot> {
    layout
        .iter()
        .map(|placed| {
            let kind = &kinds[placed.item];
            let turn = Turn {
                degrees: placed.pose.rotation_deg,
                over: placed.pose.turned_over,
            };
            let posture = posture(kind, turn);
            let at = placed.pose.apply(kind.reference);
            let origin = origins[placed.container];
            let spot = Spot {
                bin: placed.container,
                x: at.x - origin.x,
                y: at.y - origin.y,
            };
            Slot {
                kind: placed.item,
                spot,
                posture,
                placed: true,
            }
        })
        .collect()
}
