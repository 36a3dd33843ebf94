use super::*;
use crate::Shapes;
use cullet_geometry::Outline;
use cullet_search::{Container, Item, Problem, Turns};

#[test]
fn rows_of_rectangles_are_filled_to_the_last_place() {
    // Pieces of 454 × 131 mm with 0.5 mm each side on 1830 × 2440: 72 in rows of four (glass processor's note on
    // cutting rates).
    let problem = Problem {
        items: vec![Item {
            outline: Outline::rectangle(455.0, 132.0),
            count: 72,
            turns: Turns::free(),
            turned_over: Some(Turns::free()),
            allowed: vec![],
        }],
        containers: vec![Container {
            outline: Outline::rectangle(1830.0, 2440.0),
            keep_off: vec![],
            cost: 1.0,
        }],
        clearance: 0.0,
        tolerance: 0.001,
    };
    let ready = Prepared::new(&problem, &Shapes::default());
    for seed in 0..5 {
        let bins = ready.bins.iter().map(|b| b.bin.clone()).collect();
        let mut field = Field::new(&ready.kinds, bins, &[], &ready.slot_kinds);
        put_all(&mut field, &[false], Lean::Down, 300, &mut Random::new(seed, 0));
        assert_eq!(field.slots.iter().filter(|s| s.placed).count(), 72, "seed {seed}");
    }
}

/// Two pieces and a sheet with room for both, which one of them may not lie on: it stays left, however long the search is.
#[test]
fn what_may_lie_nowhere_is_left() {
    let item = |allowed: Vec<bool>| Item {
        outline: Outline::rectangle(60.0, 40.0),
        count: 1,
        turns: Turns::free(),
        turned_over: None,
        allowed,
    };
    let problem = Problem {
        items: vec![item(vec![false]), item(vec![])],
        containers: vec![Container {
            outline: Outline::rectangle(300.0, 300.0),
            keep_off: vec![],
            cost: 1.0,
        }],
        clearance: 6.0,
        tolerance: 0.001,
    };
    let effort = Effort {
        seed: 1,
        limit: Limit::Rounds(4),
        lanes: 1,
    };
    let filling = crate::fill(&problem, &Shapes::default(), effort, &false.into(), &|_, _| {});
    assert_eq!(filling.left, [1, 0]);
    assert_eq!(filling.placed.iter().map(|p| p.item).collect::<Vec<_>>(), [1]);
}

/// Whether a pane fits is told at sight where it plainly does, and by search where it must be turned or the sheet has a flaw.
#[test]
fn a_pane_that_fits_only_when_turned_is_found_too() {
    let fits = |(wide, high): (f64, f64), turns: Turns, keep_off: Vec<Outline>| {
        let problem = Problem {
            items: vec![Item {
                outline: Outline::rectangle(wide, high),
                count: 1,
                turns,
                turned_over: None,
                allowed: vec![],
            }],
            containers: vec![Container {
                outline: Outline::rectangle(300.0, 100.0),
                keep_off,
                cost: 1.0,
            }],
            clearance: 6.0,
            tolerance: 0.001,
        };
        crate::fits_alone(&problem, 0, 0, &Shapes::default())
    };
    assert!(fits((250.0, 60.0), Turns::only(vec![0.0]), vec![]));
    assert!(fits((60.0, 250.0), Turns::only(vec![0.0, 90.0]), vec![]));
    assert!(fits((60.0, 250.0), Turns::free(), vec![]));
    assert!(!fits((250.0, 60.0), Turns::only(vec![90.0]), vec![]));
    assert!(!fits((301.0, 60.0), Turns::only(vec![0.0]), vec![]));
    let flaw = || vec![Outline::rectangle(20.0, 20.0).translated(140.0, 40.0)];
    assert!(!fits((250.0, 60.0), Turns::only(vec![0.0]), flaw()));
    assert!(fits((120.0, 60.0), Turns::only(vec![0.0]), flaw()));
}
