//! Faults in what is cut from what: counts, copies, glasses, sheets, lots.

use super::{Fault, on, second_clear_sheet};
use cullet_geometry::Pose;
use cullet_model::{Placement, Unplaced};
use cullet_testkit::plan::{id, placement};

pub(super) const FAULTS: &[Fault] = &[
    (
        "a missing piece",
        &["4 asked for (0 spare), 3 placed and 0 named"],
        true,
        |p, _| {
            on(p, 1).remove(0);
        },
    ),
    (
        "a missing spare",
        &["2 asked for (1 spare), 1 placed and 0 named"],
        true,
        |p, _| {
            on(p, 3).pop();
        },
    ),
    (
        "a spare both laid and named as left out",
        &[
            "0 named as unplaced, 1 spares left out",
            "1 spares are named as left out and 1 are laid, it has 1",
        ],
        true,
        |p, _| {
            p.spares_left_out.push(cullet_model::SparesLeftOut {
                id: id("C", "1", false),
                count: 1,
            });
        },
    ),
    (
        "a buy list that is a sheet short",
        &["its buy list says {}"],
        false,
        |p, _| p.glasses[1].buy.clear(),
    ),
    (
        "a piece both placed and named as unplaced",
        &["4 placed and 1 named"],
        true,
        |p, _| {
            p.unplaced.push(Unplaced {
                id: id("B", "1", false),
                count: 1,
                reason: "too large".into(),
            });
        },
    ),
    (
        "a piece too many",
        &["copies run from 1 to 4", "5 placed"],
        true,
        |p, _| {
            let more = placement(id("B", "1", false), 5, 0.0, 341.0, 11.0);
            on(p, 1).push(more);
        },
    ),
    (
        "a copy twice",
        &["the same copy is placed twice", "3 placed and 0 named"],
        true,
        |p, _| on(p, 1)[1].copy = 1,
    ),
    ("a copy zero", &["copies run from 1 to 4"], true, |p, _| {
        on(p, 1)[1].copy = 0
    }),
    (
        "a spare that is none",
        &["copies 1 to 4 are the panels' own"],
        true,
        |p, _| on(p, 1)[1].spare = true,
    ),
    ("an unknown piece", &["the job has no such piece"], true, |p, _| {
        let stranger = placement(id("Z", "9", false), 1, 0.0, 341.0, 11.0);
        on(p, 1).push(stranger);
    }),
    (
        "an unknown piece named as unplaced",
        &["named as unplaced, but the job has no such piece"],
        true,
        |p, _| {
            p.unplaced.push(Unplaced {
                id: id("Z", "9", false),
                count: 1,
                reason: String::new(),
            });
        },
    ),
    (
        "the mirror image in place of the piece",
        &["asked for", "copies run", "placed twice"],
        true,
        |p, _| {
            on(p, 1)[3] = placement(id("A", "2", true), 1, 0.0, 131.0, 121.0);
        },
    ),
    (
        "a pose of no numbers",
        &["its position is not a usable number"],
        true,
        |p, _| on(p, 1)[0].pose.x = f64::NAN,
    ),
    (
        "a rotation of no numbers",
        &["its position is not a usable number"],
        true,
        |p, _| {
            on(p, 3)[0].pose.rotation_deg = f64::INFINITY;
        },
    ),
    (
        "the wrong glass",
        &["it lies on reed, it is to be cut from clear"],
        true,
        |p, _| {
            let square = on(p, 2).remove(0);
            p.glasses[0].layouts.remove(1);
            p.glasses[1].layouts[0].number = 2;
            p.glasses[2].layouts[0].number = 3;
            let mut square = Placement {
                pose: Pose {
                    x: 300.0,
                    y: 300.0,
                    ..Pose::IDENTITY
                },
                ..square
            };
            square.pose.turned_over = false;
            p.glasses[1].layouts[0].placements.push(square);
        },
    ),
    (
        "a sheet of another glass",
        &["it is reed, it is pulled for clear", "it lies on reed"],
        true,
        |p, _| {
            let mut layout = p.glasses[0].layouts[1].clone();
            layout.stock = p.stock.items[2].clone();
            layout.copy = 2;
            layout.placements[0].pose.turned_over = false;
            layout.placements[0].pose.x = 50.0;
            p.glasses[0].layouts[1] = layout;
        },
    ),
    (
        "the same sheet pulled twice",
        &["the same one is pulled twice"],
        true,
        |p, _| {
            second_clear_sheet(p, 1);
        },
    ),
    (
        "more than there is",
        &["copy 3 is pulled, there is 2 on hand"],
        true,
        |p, _| second_clear_sheet(p, 3),
    ),
    (
        "a tag that the stock list has not",
        &["the stock list has no such tag"],
        true,
        |p, _| {
            p.glasses[0].layouts[1].stock.tag = "O9".into();
        },
    ),
    (
        "a sheet not as listed",
        &["it is not as the stock list says"],
        true,
        |p, _| {
            p.glasses[0].layouts[1].stock.flaws.clear();
        },
    ),
    ("a tag listed twice", &["has this tag twice"], true, |p, _| {
        let item = p.stock.items[3].clone();
        p.stock.items.push(item);
    }),
    ("maps out of order", &["sheet map is number"], true, |p, _| {
        p.glasses[0].layouts[0].number = 2;
        p.glasses[0].layouts[1].number = 1;
    }),
    ("a sheet pulled for nothing", &["no piece lies on it"], true, |p, _| {
        second_clear_sheet(p, 2);
        let mut square = on(p, 2).remove(0);
        (square.pose.x, square.pose.y) = (555.0, 230.0);
        on(p, 1).push(square);
    }),
    ("glasses out of order", &["out of the job's order"], true, |p, _| {
        p.glasses.swap(1, 2);
        p.glasses[1].layouts[0].number = 3;
        p.glasses[2].layouts[0].number = 4;
    }),
    (
        "a wrong clearance recorded",
        &["clearance recorded as 6.000 mm, clear asks for 8.000 mm"],
        true,
        |p, _| {
            p.glasses[0].layouts[0].clearance = 6.0;
        },
    ),
    (
        "a clearance without the kerf",
        &[
            "clearance recorded as 8.000 mm, clear asks for 8.200 mm",
            "asks for 8.200",
            "8.000 mm apart",
        ],
        true,
        |_, j| {
            j.score_kerf = 0.2;
        },
    ),
    (
        "a wrong trim recorded",
        &["edge trim recorded as NaN mm"],
        true,
        |p, _| {
            p.glasses[0].layouts[0].edge_trim = f64::NAN;
        },
    ),
    (
        "a one-lot group from two lots",
        &["one-lot group border: it comes from lot L2"],
        true,
        |p, _| {
            let mut moved = on(p, 1).remove(4);
            moved.pose = Pose {
                x: 20.0,
                y: 195.0,
                ..Pose::IDENTITY
            };
            on(p, 2).push(moved);
        },
    ),
];
