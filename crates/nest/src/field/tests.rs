use super::*;
use crate::Shapes;
use crate::prepare::Prepared;
use cullet_geometry::{Outline, Point};
use cullet_search::{Container, Item, Problem, Turns};
use proptest::prelude::*;

/// An L, a triangle and a needle, free to turn or in quarters, in a cut-off sheet with a flaw and in a small one.
fn ready() -> Prepared {
    let outline = |points: &[[f64; 2]]| {
        let points = points.iter().map(|[x, y]| Point { x: *x, y: *y }).collect();
        Outline::new(points).expect("an outline")
    };
    let ell = [
        [0.0, 0.0],
        [60.0, 0.0],
        [60.0, 20.0],
        [20.0, 20.0],
        [20.0, 50.0],
        [0.0, 50.0],
    ];
    let item = |points: &[[f64; 2]], turns: Turns| Item {
        outline: outline(points),
        count: 3,
        turned_over: Some(turns.clone()),
        turns,
        allowed: vec![],
    };
    let quarters = Turns::only(vec![0.0, 90.0, 180.0, 270.0]);
    let container = |outline: Outline, keep_off: Vec<Outline>| Container {
        outline,
        keep_off,
        cost: 1.0,
    };
    let cut_off = outline(&[[0.0, 0.0], [200.0, 0.0], [200.0, 90.0], [120.0, 150.0], [0.0, 150.0]]);
    Prepared::new(
        &Problem {
            items: vec![
                item(&ell, quarters.clone()),
                item(&[[0.0, 0.0], [55.0, 5.0], [20.0, 45.0]], Turns::free()),
                item(&[[0.0, 0.0], [80.0, 1.0], [80.0, 9.0]], quarters),
            ],
            containers: vec![
                container(cut_off, vec![Outline::rectangle(15.0, 15.0).translated(90.0, 60.0)]),
                container(Outline::rectangle(110.0, 95.0), vec![]),
            ],
            clearance: 2.0,
            tolerance: 0.001,
        },
        &Shapes::default(),
    )
}

/// What every pair would be measured at from nothing, in the order of the field's own.
fn from_nothing(field: &Field) -> Vec<f32> {
    let count = field.slots.len();
    let mut all = vec![0.0; count * field.stride];
    for (i, slot) in field.slots.iter().enumerate().filter(|(_, s)| s.placed) {
        for (j, other) in field.slots.iter().enumerate() {
            if i != j && other.placed && other.spot.bin == slot.spot.bin {
                all[i * field.stride + j] = between(field.tables, &slot.posture, slot.spot, other);
            }
        }
        for k in field.bins[slot.spot.bin].obstacles.clone() {
            let found = overlap(slot.posture.bare(), &field.obstacles[k], slot.spot.x, slot.spot.y);
            all[i * field.stride + count + k] = found;
        }
    }
    all
}

proptest! {
    /// Whatever was put, lifted, fitted anew or gone back to: what is kept of the overlaps is what measuring all pairs
    /// would find.
    #[test]
    fn overlaps_kept_are_those_that_measuring_finds(
        by_table in proptest::bool::ANY,
        moves in proptest::collection::vec((0..6u8, 0..9usize, 0..2usize, 0.0..1.0f64, 0.0..1.0f64, 0..64usize), 1..60),
    ) {
        let ready = ready();
        let tables = Tables::new(&ready.kinds).filter(|_| by_table);
        let bins: Vec<Bin> = ready.bins.iter().map(|b| b.bin.clone()).collect();
        let field = Field::new(&ready.kinds, bins, &ready.obstacles, &ready.slot_kinds);
        let mut field = field.with_tables(tables.as_ref());
        let mut before = field.snapshot();
        for (what, i, bin, x, y, turn) in moves {
            let kind = &ready.kinds[ready.slot_kinds[i]];
            match what {
                0..=2 => {
                    let mut posture = Posture::default();
                    match kind.fixed.get(turn) {
                        Some(fixed) => posture.clone_from(fixed),
                        None => posture.set(kind, kind.turns[turn % kind.turns.len()]),
                    }
                    if let Some((low, high)) = field.range(&posture, bin) {
                        let at = |k: usize, share: f64| low[k] + share * (high[k] - low[k]);
                        field.put(i, &posture, Spot { bin, x: at(0, x), y: at(1, y) });
                    }
                }
                3 => field.lift(i),
                4 => {
                    field.bins[1].width = 90.0 + 40.0 * x;
                    for homeless in field.refit() {
                        prop_assert!(!field.slots[homeless].placed);
                    }
                }
                _ => {
                    let now = field.snapshot();
                    field.restore(&before);
                    before = now;
                }
            }
            let all = from_nothing(&field);
            let count = field.slots.len();
            for (k, kept) in field.overlaps.iter().enumerate() {
                let (i, j) = (k / field.stride, k % field.stride);
                // Of a pair, that which moved last is measured against the other.
                let other = if j < count { all[j * field.stride + i] } else { all[k] };
                let is_found = [all[k], other].iter().any(|found| (kept - found).abs() <= 1e-3 * found.max(1.0));
                prop_assert!(is_found, "{i} with {j}: {kept}, measured {} or {other}", all[k]);
                prop_assert!(by_table || (all[k] == 0.0) == (other == 0.0), "{i} with {j} by order");
            }
            let sum: f32 = (0..field.slots.len()).map(|i| field.overlap_of(i)).sum();
            prop_assert_eq!(sum == 0.0, field.total() == 0.0);
        }
    }
}
