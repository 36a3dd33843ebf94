//! What every search result must keep, whatever it was asked: checked with `geo`, which shares no code with the search.

use cullet_geometry::Outline;
use cullet_nest::kernel::Shape;
use cullet_nest::{Axis, Shapes};
use cullet_search::{Container, Effort, Item, Limit, Placed, Problem, Turns};
use geo::{Area, BooleanOps, Contains, Distance, Euclidean, Intersects, Polygon};
use proptest::prelude::*;
use std::sync::atomic::AtomicBool;

const TOLERANCE: f64 = 0.001;

/// A star-shaped outline with inside curves; radii in mm.
fn star(radii: Vec<f64>) -> Outline {
    let count = radii.len() as f64;
    let corner = |(k, r): (usize, f64)| {
        let turn = k as f64 / count * std::f64::consts::TAU;
        [r * turn.cos(), r * turn.sin()]
    };
    Outline::try_from(radii.into_iter().enumerate().map(corner).collect::<Vec<_>>()).expect("star-shaped")
}

fn turns() -> impl Strategy<Value = Turns> {
    prop_oneof![
        Just(Turns::only(vec![0.0, 90.0, 180.0])),
        Just(Turns::free()),
        Just(Turns {
            angles_deg: vec![30.0, 210.0],
            tolerance_deg: 2.0
        }),
    ]
}

fn item() -> impl Strategy<Value = Item> {
    (prop::collection::vec(15.0..60.0, 3..9), 1u32..5, turns(), any::<bool>()).prop_map(
        |(radii, count, turns, over)| Item {
            outline: star(radii),
            count,
            turned_over: over.then(|| turns.clone()),
            turns,
            allowed: vec![],
        },
    )
}

/// An upright sheet with a flaw, and an offcut with a corner off.
fn containers() -> Vec<Container> {
    let flaw = Outline::rectangle(40.0, 30.0).translated(150.0, 100.0);
    let offcut = vec![[0.0, 0.0], [300.0, 20.0], [260.0, 240.0], [120.0, 280.0], [10.0, 160.0]];
    vec![
        Container {
            outline: Outline::try_from(offcut).expect("simple"),
            keep_off: vec![],
            cost: 1.0,
        },
        Container {
            outline: Outline::rectangle(400.0, 300.0),
            keep_off: vec![flaw],
            cost: 3.0,
        },
        Container {
            outline: Outline::rectangle(400.0, 300.0),
            keep_off: vec![],
            cost: 3.0,
        },
        Container {
            outline: Outline::rectangle(400.0, 300.0),
            keep_off: vec![],
            cost: 3.0,
        },
    ]
}

fn polygons(problem: &Problem, placed: &[Placed]) -> Vec<(usize, Polygon<f64>)> {
    placed
        .iter()
        .map(|p| (p.container, problem.items[p.item].outline.posed(&p.pose).to_polygon()))
        .collect()
}

/// How deep two polygons sink into each other, about: twice the common area over its boundary.
fn depth(a: &Polygon<f64>, b: &Polygon<f64>) -> f64 {
    use geo::{Euclidean, Length};
    let common = a.intersection(b);
    let round: f64 = common.iter().map(|p| Euclidean.length(p.exterior())).sum();
    if round > 0.0 {
        2.0 * common.unsigned_area() / round
    } else {
        0.0
    }
}

fn check(problem: &Problem, placed: &[Placed]) {
    let polygons = polygons(problem, placed);
    for (i, (c, a)) in polygons.iter().enumerate() {
        let usable = problem.containers[*c].outline.to_polygon();
        let outside = a.difference(&usable).unsigned_area();
        assert!(
            usable.contains(a) || outside < 0.3,
            "item {i} sticks out by {outside} mm²"
        );
        for zone in &problem.containers[*c].keep_off {
            assert!(
                depth(a, &zone.to_polygon()) <= TOLERANCE,
                "item {i} on a zone to keep off"
            );
        }
        for (j, (_, b)) in polygons.iter().enumerate().filter(|(j, (d, _))| *j < i && c == d) {
            if problem.clearance > 0.0 {
                let apart = Euclidean.distance(a, b);
                assert!(
                    apart >= problem.clearance - TOLERANCE - 3e-4,
                    "items {i}, {j} are {apart} mm apart"
                );
            } else {
                assert!(depth(a, b) <= TOLERANCE, "items {i}, {j} overlap");
            }
        }
    }
    for (k, item) in problem.items.iter().enumerate() {
        for p in placed.iter().filter(|p| p.item == k) {
            let turns = if p.pose.turned_over {
                item.turned_over.as_ref()
            } else {
                Some(&item.turns)
            };
            let turns = turns.expect("turned over only where it may be");
            let off = |c: &f64| ((p.pose.rotation_deg - c + 180.0).rem_euclid(360.0) - 180.0).abs();
            assert!(
                turns.angles_deg.iter().any(|c| off(c) <= turns.tolerance_deg + 1e-6),
                "a turn that is not allowed"
            );
        }
    }
}

fn fill(problem: &Problem, seed: u64, threads: usize) -> cullet_nest::Filling {
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .expect("threads");
    let effort = Effort {
        seed,
        limit: Limit::Rounds(60),
        lanes: 2,
    };
    pool.install(|| cullet_nest::fill(problem, &Shapes::default(), effort, &AtomicBool::new(false), &|_, _| {}))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn fillings_keep_every_rule(items in prop::collection::vec(item(), 1..6), clearance in prop_oneof![Just(0.0), 2.0..8.0], seed in 0u64..1000) {
        let problem = Problem { items, containers: containers(), clearance, tolerance: TOLERANCE };
        let filling = fill(&problem, seed, 2);
        check(&problem, &filling.placed);
        for (k, item) in problem.items.iter().enumerate() {
            let placed = filling.placed.iter().filter(|p| p.item == k).count() as u32;
            prop_assert_eq!(placed + filling.left[k], item.count);
        }
        // Drawing the pieces of a sheet together keeps the rules too, and reaches no further.
        if let Some(c) = filling.placed.iter().map(|p| p.container).max() {
            let effort = Effort { seed, limit: Limit::Rounds(40), lanes: 2 };
            let drawn = cullet_nest::shorten(&problem, &Shapes::default(), (c, Axis::Across), &filling.placed, effort, &AtomicBool::new(false), &|_| {});
            check(&problem, &drawn);
            prop_assert_eq!(drawn.len(), filling.placed.len());
        }
    }

    #[test]
    fn rounds_give_the_same_layout_on_one_thread_and_two(items in prop::collection::vec(item(), 2..5), seed in 0u64..1000) {
        let problem = Problem { items, containers: containers(), clearance: 3.0, tolerance: TOLERANCE };
        prop_assert_eq!(fill(&problem, seed, 1), fill(&problem, seed, 2));
    }

    #[test]
    fn the_kernel_agrees_with_geo(a in prop::collection::vec(10.0..60.0f64, 3..24), b in prop::collection::vec(10.0..60.0f64, 3..24), turn in 0.0..360.0f64, dx in -120.0..120.0f64, dy in -120.0..120.0f64) {
        let (a, b) = (star(a), star(b));
        let (first, second) = (Shape::new(&a, TOLERANCE), Shape::new(&b, TOLERANCE));
        let (posed, other) = (first.turned(turn, false), second.turned(0.0, false));
        let (ra, rb) = (first.reference(), second.reference());
        let rotate = cullet_geometry::Pose { rotation_deg: turn, ..cullet_geometry::Pose::IDENTITY };
        let (ta, tb) = (rotate.apply(ra), rb);
        let at = a.posed(&rotate).translated(tb.x + dx - ta.x, tb.y + dy - ta.y).to_polygon();
        let there = b.to_polygon();
        let (ours, apart) = (posed.overlaps(&other, dx, dy), !at.intersects(&there));
        if apart {
            prop_assert!(!ours);
        } else if depth(&at, &there) > 2.0 * TOLERANCE {
            prop_assert!(ours);
        }
        prop_assert_eq!(posed.overlap(&other, dx, dy) > 0.0, ours);
        prop_assert_eq!(other.overlaps(&posed, -dx, -dy), ours);
    }
}

/// 120 pieces of two kinds, 60 of each, are one group of 40 laid three times: every rule holds for all of them.
#[test]
fn many_of_the_same_keep_every_rule_and_repeat_from_a_seed() {
    let l = vec![
        [0.0, 0.0],
        [60.0, 0.0],
        [60.0, 20.0],
        [20.0, 20.0],
        [20.0, 50.0],
        [0.0, 50.0],
    ];
    let kite = vec![[0.0, 0.0], [30.0, 10.0], [45.0, 45.0], [10.0, 30.0]];
    let items: Vec<Item> = [l, kite]
        .into_iter()
        .map(|corners| Item {
            outline: Outline::try_from(corners).expect("simple"),
            count: 60,
            turns: Turns::only(vec![0.0, 180.0]),
            turned_over: None,
            allowed: vec![],
        })
        .collect();
    let strip = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("threads");
        let effort = Effort {
            seed: 5,
            limit: Limit::Rounds(400),
            lanes: 2,
        };
        let cancel = AtomicBool::new(false);
        pool.install(|| cullet_nest::strip(&items, 300.0, 2.0, TOLERANCE, effort, &cancel, &|_| {}))
            .expect("every piece fits the height")
    };
    let found = strip(1);
    assert_eq!(found.placed.len(), 120);
    let container = Container {
        outline: Outline::rectangle(found.length, 300.0),
        keep_off: vec![],
        cost: 1.0,
    };
    let problem = Problem {
        items: items.clone(),
        containers: vec![container],
        clearance: 2.0,
        tolerance: TOLERANCE,
    };
    check(&problem, &found.placed);
    assert_eq!(found.placed, strip(2).placed);
}

/// Two panes on two slanted offcuts: nothing shorter fits, so that no question is asked; effort counted in questions ends all
/// the same.
#[test]
fn what_has_no_room_at_all_ends_too() {
    let slanted = |corners: [[f64; 2]; 4]| Container {
        outline: Outline::try_from(corners.to_vec()).expect("four corners"),
        keep_off: vec![],
        cost: 1.0,
    };
    let pane = |width: f64, height: f64| Item {
        outline: Outline::rectangle(width, height),
        count: 1,
        turns: Turns::free(),
        turned_over: None,
        allowed: vec![],
    };
    let problem = Problem {
        items: vec![pane(200.0, 150.0), pane(180.0, 120.0)],
        containers: vec![
            slanted([[6.0, 36.0], [236.0, 6.0], [254.0, 184.0], [26.0, 194.0]]),
            slanted([[6.0, 26.0], [214.0, 6.0], [234.0, 164.0], [16.0, 174.0]]),
        ],
        clearance: 6.0,
        tolerance: TOLERANCE,
    };
    let effort = Effort {
        seed: 1,
        limit: Limit::Rounds(1),
        lanes: 2,
    };
    let cancel = AtomicBool::new(false);
    let filling = cullet_nest::fill(&problem, &Shapes::default(), effort, &cancel, &|_, _| {});
    // What was made ready for an earlier search, or another item of its shape, changes nothing.
    let shapes = Shapes::default();
    for _ in 0..2 {
        let again = cullet_nest::fill(&problem, &shapes, effort, &cancel, &|_, _| {});
        assert_eq!(again.placed, filling.placed);
    }
    for container in 0..2 {
        for axis in [Axis::Across, Axis::Up] {
            let drawn = cullet_nest::shorten(
                &problem,
                &Shapes::default(),
                (container, axis),
                &filling.placed,
                effort,
                &cancel,
                &|_| {},
            );
            assert_eq!(drawn.len(), filling.placed.len());
        }
    }
}
