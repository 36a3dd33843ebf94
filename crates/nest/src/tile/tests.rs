use super::*;
use cullet_search::{Item, Limit, Problem, Turns};
use std::sync::atomic::AtomicBool;

fn kinds(items: &[(Vec<[f64; 2]>, Turns)]) -> Vec<Kind> {
    let items: Vec<Item> = items
        .iter()
        .map(|(points, turns)| Item {
            outline: Outline::try_from(points.clone()).unwrap(),
            count: 1,
            turns: turns.clone(),
            turned_over: None,
            allowed: vec![],
        })
        .collect();
    let problem = Problem {
        items: items.clone(),
        containers: vec![],
        clearance: 0.0,
        tolerance: 0.001,
    };
    items.iter().map(|item| Kind::new(item, &problem)).collect()
}

fn covers(kinds: &[Kind], width: f64, height: f64) -> bool {
    let cancel = AtomicBool::new(false);
    let effort = Effort {
        seed: 1,
        limit: Limit::Rounds(5_000),
        lanes: 2,
    };
    let watch = StopCondition::new(effort.limit, &cancel);
    let region = [Outline::rectangle(width, height)];
    match cover(kinds, &vec![1; kinds.len()], &region, effort, &watch, 1.0) {
        None => false,
        Some(tiles) => {
            assert_eq!(tiles.len(), kinds.len());
            true
        }
    }
}

fn squares(sides: &[f64]) -> Vec<Kind> {
    let square = |s: &f64| (vec![[0.0, 0.0], [*s, 0.0], [*s, *s], [0.0, *s]], Turns::only(vec![0.0]));
    kinds(&sides.iter().map(square).collect::<Vec<_>>())
}

#[test]
fn squared_rectangles_are_found() {
    // Moroń 1925: 33 × 32 by nine different squares; 69 × 61 likewise (mathematical facts).
    assert!(covers(
        &squares(&[18.0, 15.0, 14.0, 10.0, 9.0, 8.0, 7.0, 4.0, 1.0]),
        33.0,
        32.0
    ));
    assert!(covers(
        &squares(&[36.0, 33.0, 28.0, 25.0, 16.0, 9.0, 7.0, 5.0, 2.0]),
        69.0,
        61.0
    ));
    // One square exchanged for one of the same size less a little: no cover.
    assert!(!covers(
        &squares(&[18.0, 15.0, 14.0, 10.0, 9.0, 8.0, 7.0, 4.0, 0.9]),
        33.0,
        32.0
    ));
}

fn tangram(turns: &Turns) -> Vec<Kind> {
    let big = vec![[0.0, 0.0], [8.0, 0.0], [4.0, 4.0]];
    let small = vec![[0.0, 0.0], [4.0, 0.0], [2.0, 2.0]];
    let middle = vec![[0.0, 0.0], [4.0, 0.0], [4.0, 4.0]];
    let square = vec![[2.0, 0.0], [4.0, 2.0], [2.0, 4.0], [0.0, 2.0]];
    let slanted = vec![[2.0, 0.0], [6.0, 0.0], [4.0, 2.0], [0.0, 2.0]];
    let all = [big.clone(), big, small.clone(), small, middle, square, slanted];
    kinds(&all.map(|p| (p.iter().map(|[x, y]| [x * 25.0, y * 25.0]).collect(), turns.clone())))
}

#[test]
fn the_tangram_square_is_found() {
    // Traditional dissection: seven pieces of a square.
    assert!(covers(
        &tangram(&Turns::only((0..8).map(|k| 45.0 * f64::from(k)).collect())),
        200.0,
        200.0
    ));
    assert!(covers(&tangram(&Turns::free()), 200.0, 200.0));
}
