//! What may be pulled for one glass: every offcut and sheet by itself, in a frame whose grain runs upwards.

use cullet_geometry::{Outline, Pose, offset};
use cullet_job::Glass;
use cullet_model::figures::Accounts;
use cullet_rack::{Count, Stock, StockItem, StockKind};
use cullet_search::Container;
use std::collections::{BTreeMap, BTreeSet};

/// One sheet or offcut that may be pulled.
#[derive(Debug, Clone)]
pub(super) struct Candidate<'s> {
    pub(super) item: &'s StockItem,
    /// Which of the equal ones of its line, from 1.
    pub(super) copy: u32,
    /// Degrees by which its frame is turned so that its grain runs upwards.
    pub(super) turned: f64,
    pub(super) container: Container,
    /// Which lot it counts as: candidates with the same text are one lot.
    pub(super) lot: String,
    /// Candidates with the same text are alike in all that matters for choosing.
    pub(super) alike: String,
}

/// Glass to buy costs this share more than glass on hand, so that of equal sheets those on hand go first.
const BUY_MORE: f64 = 1e-6;
/// Sheets of one line that could be needed at worst are reckoned at this filling, with one to spare.
const LOOSEST: f64 = 0.4;
/// No more sheets of one line than this are looked at.
const MOST_COPIES: u32 = 200;

/// Candidates of `glass`, cheapest by area first, that could be of use for pieces of `needed` mm².
///
/// None of those `used` already, by tag and copy. Pieces lie half of `kerf` further in than the edge trim, which the score that takes it off takes.
pub(super) fn candidates<'s>(
    stock: &'s Stock,
    glass: &Glass,
    kerf: f64,
    needed: f64,
    used: &BTreeSet<(&str, u32)>,
    accounts: &Accounts,
) -> Vec<Candidate<'s>> {
    let margin = if glass.edge_trim > 0.0 {
        glass.edge_trim + 0.5 * kerf
    } else {
        0.0
    };
    let mut found: Vec<Candidate<'s>> = Vec::new();
    let mut equals: BTreeMap<Key, u32> = BTreeMap::new();
    let lines = stock.items.iter().enumerate();
    for (line, item) in lines.filter(|(_, item)| item.glass == glass.code) {
        let turned = if glass.grain == cullet_job::Grain::None {
            0.0
        } else {
            90.0 - item.grain_deg
        };
        let Some(usable) = usable(&turn(&item.outline, turned), margin) else {
            continue;
        };
        let enough = (needed / (LOOSEST * usable.area())).ceil() as u32 + 1;
        let (last, dearer) = match item.count {
            Count::OnHand(count) => (count, 0.0),
            Count::ToBuy => (u32::MAX, BUY_MORE),
        };
        let cost = accounts.value(item) * (1.0 + dearer);
        let container = Container {
            outline: usable,
            keep_off: item.flaws.iter().map(|flaw| turn(flaw, turned)).collect(),
            cost,
        };
        let copies = (1..=last).filter(|copy| !used.contains(&(item.tag.as_str(), *copy)));
        for copy in copies.take(enough.min(MOST_COPIES) as usize) {
            // A rack keeps equal sheets as lines of their own: no more of them are of use than of one line.
            let same = key(item, &container);
            let name = format!("{same:?}");
            let alike = equals.entry(same).or_insert(0u32);
            *alike += 1;
            if *alike > enough {
                break;
            }
            found.push(Candidate {
                item,
                copy,
                turned,
                container: container.clone(),
                lot: lot(item, line, copy),
                alike: name,
            });
        }
    }
    let mut found = promising(found, needed);
    sort(&mut found);
    found
}

/// Offcuts first, then what is on hand, then the cheapest by area.
fn sort(candidates: &mut [Candidate<'_>]) {
    let order = |c: &Candidate<'_>| {
        let to_buy = c.item.count == Count::ToBuy;
        let price = c.container.cost / c.container.outline.area();
        (c.item.kind != StockKind::Offcut, to_buy, price)
    };
    candidates.sort_by(|a, b| {
        let (a, b) = (order(a), order(b));
        (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2))
    });
}

fn turn(outline: &Outline, rotation_deg: f64) -> Outline {
    outline.posed(&Pose {
        rotation_deg,
        ..Pose::IDENTITY
    })
}

/// What is left inside the trim. A trim that parts the glass leaves the larger part.
fn usable(outline: &Outline, margin: f64) -> Option<Outline> {
    let parts = offset::shrink(outline, margin).into_iter();
    parts.max_by(|a, b| a.area().total_cmp(&b.area()))
}

/// What makes rectangles without flaws alike: lot, cost, width and height as exact numbers. Anything else is like its own line
/// only, and that is its tag.
type Key = (String, [u64; 3]);

fn key(item: &StockItem, container: &Container) -> Key {
    let corners = container.outline.points().len();
    let bounds = container.outline.bounds();
    let (width, height) = (bounds.width(), bounds.height());
    let rectangle = corners == 4 && container.outline.area() >= width * height * (1.0 - 1e-9);
    if rectangle && container.keep_off.is_empty() && item.kind == StockKind::Sheet {
        let lot = item.lot.clone().unwrap_or_default();
        (format!("lot {lot}"), [container.cost, width, height].map(f64::to_bits))
    } else {
        (format!("tag {}", item.tag), [0; 3])
    }
}

/// No more offcuts than this are looked at for one glass, and among them so many of the smallest that could hold everything.
const MOST_OFFCUTS: usize = 60;
const LARGE_ENOUGH: usize = 20;
/// A filling that one offcut can be hoped to take.
const HOPED: f64 = 0.75;

/// Of a great many offcuts the smallest of those that could hold everything, and the largest of the others.
fn promising(found: Vec<Candidate<'_>>, needed: f64) -> Vec<Candidate<'_>> {
    let (mut offcuts, mut kept): (Vec<_>, Vec<_>) = found.into_iter().partition(|c| c.item.kind == StockKind::Offcut);
    if offcuts.len() > MOST_OFFCUTS {
        let area = |c: &Candidate| c.container.outline.area();
        offcuts.sort_by(|a, b| area(a).total_cmp(&area(b)).then(a.item.tag.cmp(&b.item.tag)));
        let enough = offcuts.partition_point(|c| area(c) * HOPED < needed);
        offcuts.truncate(enough + LARGE_ENOUGH);
        offcuts.drain(..offcuts.len().saturating_sub(MOST_OFFCUTS));
    }
    kept.extend(offcuts);
    kept
}

/// One lot is: what carries the same lot, all that is bought by one line, or one sheet without a lot.
fn lot(item: &StockItem, line: usize, copy: u32) -> String {
    match (&item.lot, item.count) {
        (Some(lot), _) => format!("lot {lot}"),
        (None, Count::ToBuy) => format!("line {line}"),
        (None, Count::OnHand(_)) => format!("line {line} copy {copy}"),
    }
}

impl Candidate<'_> {
    /// A pose in the container's frame as a pose in the sheet's own.
    pub(super) fn to_sheet(&self, pose: Pose) -> Pose {
        let back = Pose {
            rotation_deg: -self.turned,
            ..Pose::IDENTITY
        };
        let at = back.apply(cullet_geometry::Point { x: pose.x, y: pose.y });
        // Rotation after turning over is rotation the other way before it.
        let turn = if pose.turned_over { self.turned } else { -self.turned };
        let rotation_deg = (pose.rotation_deg + turn).rem_euclid(360.0);
        Pose {
            rotation_deg,
            turned_over: pose.turned_over,
            x: at.x,
            y: at.y,
        }
    }

    /// How much too small it is for `outline` at its best turn, mm; for naming the nearest sheet.
    pub(super) fn lack(&self, outline: &Outline) -> f64 {
        let (usable, piece) = (self.container.outline.bounds(), outline.bounds());
        let over = |a: f64, b: f64| (a - usable.width()).max(0.0) + (b - usable.height()).max(0.0);
        over(piece.width(), piece.height()).min(over(piece.height(), piece.width()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Point;

    /// Of a large rack: fifty equal sheets as lines of their own, and a thousand offcuts of 100 × 100 to 1099 × 100 mm.
    #[test]
    fn of_a_large_rack_only_what_could_be_of_use_is_looked_at() {
        let item = |tag: String, kind, width: f64, height: f64| StockItem {
            tag,
            glass: "clear".into(),
            kind,
            outline: Outline::rectangle(width, height),
            count: Count::OnHand(1),
            place: String::new(),
            lot: None,
            grain_deg: 90.0,
            flaws: vec![],
            price: None,
        };
        let sheets = (0..50).map(|k| item(format!("S{k}"), StockKind::Sheet, 1000.0, 800.0));
        let offcuts = (0..1000).map(|k| item(format!("O{k}"), StockKind::Offcut, 100.0 + f64::from(k), 100.0));
        let items = sheets.chain(offcuts).collect();
        let (job, stock) = (cullet_testkit::plan::job(), Stock { items });
        let glass = Glass {
            edge_trim: 0.0,
            ..job.glasses[0].clone()
        };
        let tags = |needed: f64| -> Vec<String> {
            let found = candidates(&stock, &glass, 0.0, needed, &BTreeSet::new(), &Accounts::new(&job));
            found.iter().map(|c| c.item.tag.clone()).collect()
        };
        // 45,000 mm² want one sheet and one to spare; offcuts of 600 × 100 mm could hold them, and 20 of these are kept.
        let kept = tags(45_000.0);
        assert_eq!(kept.iter().filter(|t| t.starts_with('S')).count(), 2);
        assert_eq!(kept.iter().filter(|t| t.starts_with('O')).count(), MOST_OFFCUTS);
        assert!(kept.contains(&"O500".into()) && kept.contains(&"O519".into()) && !kept.contains(&"O520".into()));
        assert!(kept.contains(&"O460".into()) && !kept.contains(&"O459".into()));
        // Where no offcut could hold it all, the largest are kept.
        let kept = tags(800_000.0);
        assert!(kept.contains(&"O999".into()) && !kept.contains(&"O939".into()));
    }

    #[test]
    fn a_pose_in_the_turned_frame_is_the_same_place_on_the_sheet() {
        let item = StockItem {
            tag: "a".into(),
            glass: "R".into(),
            kind: StockKind::Sheet,
            outline: Outline::rectangle(600.0, 400.0),
            count: Count::OnHand(1),
            place: String::new(),
            lot: None,
            grain_deg: 20.0,
            flaws: vec![],
            price: None,
        };
        for turned_over in [false, true] {
            let container = Container {
                outline: item.outline.clone(),
                keep_off: vec![],
                cost: 0.0,
            };
            let candidate = Candidate {
                item: &item,
                copy: 1,
                turned: 70.0,
                container,
                lot: String::new(),
                alike: String::new(),
            };
            let pose = Pose {
                rotation_deg: 33.0,
                turned_over,
                x: 12.0,
                y: 5.0,
            };
            let corner = Point { x: 3.0, y: 8.0 };
            let turn = Pose {
                rotation_deg: 70.0,
                ..Pose::IDENTITY
            };
            let there = turn.apply(candidate.to_sheet(pose).apply(corner));
            let expected = pose.apply(corner);
            assert!((there.x - expected.x).abs() < 1e-9 && (there.y - expected.y).abs() < 1e-9);
        }
    }
}
