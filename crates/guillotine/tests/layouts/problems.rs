//! Problems that the tests lay out, and their pieces where they came to lie.

use cullet_breakout::Rule;
use cullet_geometry::{Outline, Point, path};
use cullet_guillotine::{Laying, lay};
use cullet_search::{Container, Effort, Item, Limit, Problem, Turns};

pub(crate) fn outline(points: &[(f64, f64)]) -> Outline {
    Outline::new(points.iter().map(|(x, y)| Point { x: *x, y: *y }).collect()).expect("a simple outline")
}

pub(crate) fn item(outline: Outline, count: u32, turns: Turns) -> Item {
    Item {
        outline,
        count,
        turns,
        turned_over: None,
        allowed: vec![],
    }
}

pub(crate) fn sheet(outline: Outline, cost: f64) -> Container {
    Container {
        outline,
        keep_off: vec![],
        cost,
    }
}

pub(crate) fn problem(items: Vec<Item>, containers: Vec<Container>, kerf: f64) -> Problem {
    Problem {
        items,
        containers,
        clearance: kerf,
        tolerance: 0.001,
    }
}

pub(crate) fn effort(rounds: u64) -> Effort {
    Effort {
        seed: 7,
        limit: Limit::Rounds(rounds),
        lanes: 2,
    }
}

pub(crate) fn laid(problem: &Problem, rounds: u64) -> Laying {
    lay(problem, Rule::usual(6.0), effort(rounds), &false.into(), &|_, _| {})
}

pub(crate) fn pieces_in(problem: &Problem, laying: &Laying, container: usize) -> Vec<Outline> {
    let here = laying.placed.iter().filter(|p| p.container == container);
    here.map(|p| problem.items[p.item].outline.posed(&p.pose)).collect()
}

/// Pieces of several kinds, turns and sides on a sheet, an offcut with an inside corner and one with a flaw.
pub(crate) fn mixed(seed: u64, kerf: f64) -> Problem {
    let f = |k: u64| ((seed * 37 + k * 53) % 97) as f64;
    let mut items = vec![
        item(
            Outline::rectangle(60.0 + f(1), 40.0 + f(2)),
            4,
            Turns::only(vec![0.0, 90.0]),
        ),
        item(
            outline(&[(0.0, 0.0), (90.0 + f(3), 0.0), (20.0 + f(4), 100.0)]),
            5,
            Turns::free(),
        ),
        item(
            outline(&[(0.0, 0.0), (120.0, -10.0), (150.0, 50.0), (60.0, 110.0), (-20.0, 60.0)]),
            3,
            Turns {
                angles_deg: vec![0.0, 180.0],
                tolerance_deg: 5.0,
            },
        ),
        item(
            outline(&[(0.0, 0.0), (140.0, 0.0), (100.0, 70.0), (40.0, 70.0)]),
            4,
            Turns::only(vec![0.0]),
        ),
    ];
    let round = "M 0 0 L 120 0 A 60 60 0 0 1 0 0 Z";
    let round = path::flatten(round, 1.0, path::YAxis::Up, 0.05).expect("a half round");
    items.push(item(round, 2, Turns::free()));
    items[1].turned_over = Some(Turns::free());
    items[3].turned_over = Some(Turns::only(vec![0.0, 180.0]));
    items[0].allowed = vec![true, true, false];
    let mut flawed = sheet(Outline::rectangle(500.0, 300.0), 1.0);
    flawed.keep_off = vec![outline(&[
        (200.0 + f(5), 100.0),
        (230.0 + f(5), 90.0),
        (220.0 + f(5), 140.0),
    ])];
    let containers = vec![
        sheet(Outline::rectangle(400.0 + f(6), 300.0), 3.0),
        sheet(
            outline(&[
                (0.0, 0.0),
                (400.0, 0.0),
                (380.0, 150.0),
                (200.0, 150.0 + f(7)),
                (210.0, 300.0),
                (0.0, 320.0),
            ]),
            1.0,
        ),
        flawed,
    ];
    problem(items, containers, kerf)
}
