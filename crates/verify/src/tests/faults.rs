//! Every kind of fault that is planted, one idea each.

use cullet_geometry::{Outline, Pose};
use cullet_job::Job;
use cullet_model::{Placement, Plan, Unplaced};
use cullet_rack::StockKind;
use cullet_testkit::plan::{self as sample, id, placement, rectangle};

/// A change to a plan and its job.
pub(super) type Plant = fn(&mut Plan, &mut Job);

/// Every planted fault, the words it is told by, and whether the figures are worked out again after planting (so that only
/// the fault itself is left to be found).
pub(super) const FAULTS: &[(&str, &[&str], bool, Plant)] = &[
    ("overlap of 0.01 mm", &["they overlap, 0.010 mm deep"], true, |p, _| {
        // Side by side, 102 wide, one 8.01 nearer.
        on(p, 1)[1].pose.x -= 8.01;
        on(p, 1)[1].pose.y += 300.0;
        on(p, 1)[0].pose.y += 300.0;
        p.glasses[0].layouts[0].returned.pop();
    }),
    ("one piece within another", &["they overlap"], true, |p, _| {
        let pose = on(p, 3)[0].pose;
        on(p, 3)[1].pose = pose;
    }),
    (
        "0.01 mm short of the clearance",
        &["7.990 mm apart, at least 8.000 mm"],
        true,
        |p, _| {
            on(p, 1)[0].pose.y += 0.01;
        },
    ),
    (
        "0.01 mm over the trim",
        &["9.990 mm from the sheet's edge, the edge trim is 10.000 mm"],
        true,
        |p, _| {
            on(p, 1)[0].pose.x -= 0.01;
        },
    ),
    (
        "0.01 mm over the trim of an offcut",
        &["9.990 mm from the sheet's edge"],
        true,
        |p, _| {
            // The square's corner against the slanting corner cut: x + y = 500, 10 mm inside it.
            let pose = &mut on(p, 2)[0].pose;
            (pose.x, pose.y) = (240.0, 500.0 - 10.0 * 2f64.sqrt() - 241.0 - 101.0 + 0.01 * 2f64.sqrt());
        },
    ),
    (
        "0.01 mm over the edge",
        &["it sticks out 0.010 mm over the sheet's edge"],
        true,
        |p, _| {
            on(p, 1)[0].pose.x = 0.99;
        },
    ),
    ("off the sheet", &["it lies off the sheet"], true, |p, _| {
        on(p, 1)[0].pose.x = -5000.0
    }),
    ("0.01 mm on a flaw", &["it lies 0.010 mm over flaw 1"], true, |p, _| {
        on(p, 2)[0].pose.x += 9.01
    }),
    (
        "reeds across",
        &["its grain is 90.000° off, it must run either way"],
        true,
        |p, _| {
            on(p, 3)[0].pose = Pose {
                rotation_deg: 90.0,
                x: 250.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "just over the grain tolerance",
        &["its grain is 2.001° off"],
        true,
        |p, _| {
            on(p, 3)[0].pose = Pose {
                rotation_deg: 2.001,
                x: 250.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "a one-way grain upside down",
        &["its grain is 180.000° off, it must run one way"],
        true,
        |p, _| {
            on(p, 4)[0].pose = Pose {
                rotation_deg: 210.0,
                x: 300.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "a bevelled piece turned over",
        &["copy 1: bevelled, but turned over"],
        true,
        |p, _| {
            on(p, 1)[5].pose = Pose {
                turned_over: true,
                x: 430.0,
                y: 121.0,
                ..Pose::IDENTITY
            };
        },
    ),
    (
        "turned over where the glass forbids it",
        &["turned over, which its glass does not allow"],
        true,
        |p, _| {
            on(p, 3)[0].pose = Pose {
                turned_over: true,
                x: 300.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        },
    ),
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
    (
        "a returned offcut over a piece",
        &["they overlap, 0.010 mm deep"],
        true,
        |p, _| {
            // The mirrored border piece ends in a point: 1 mm to grind on both sides of its angle of 63.4° moves
            // that out by the golden ratio.
            let left = 550.0 + (1.0 + 5f64.sqrt()) / 2.0 - 0.01;
            p.glasses[0].layouts[0].returned = vec![rectangle(left, 0.0, 1000.0 - left, 800.0)];
        },
    ),
    (
        "returned offcuts over each other",
        &["they overlap, 0.010 mm deep", "no single straight run"],
        true,
        |p, _| {
            p.glasses[0].layouts[0].returned[1] = rectangle(0.0, 400.0, 600.01, 400.0);
        },
    ),
    (
        "a returned offcut over the edge",
        &["it reaches 0.010 mm over the sheet's edge", "no single straight run"],
        true,
        |p, _| {
            p.glasses[0].layouts[0].returned[0] = rectangle(600.0, 0.0, 400.01, 800.0);
        },
    ),
    (
        "a returned offcut under the keep rule",
        &["no 150.000 mm square fits inside"],
        true,
        |p, _| {
            p.glasses[0].layouts[0].returned[0] = rectangle(850.01, 0.0, 149.99, 800.0);
            p.glasses[0].layouts[0].returned.pop();
        },
    ),
    (
        "a returned offcut that no run parts",
        &["no single straight run from edge to edge parts it"],
        true,
        |p, _| {
            p.glasses[0].layouts[0].returned = vec![rectangle(600.0, 200.0, 300.0, 600.0)];
        },
    ),
    (
        "a cut outline too small",
        &["leaves 0.500 mm to grind, the allowance is 1.000 mm"],
        true,
        |p, j| {
            j.pieces[4].cut = sample::grown(&j.pieces[4].finished, 0.5);
            p.pieces = sample::pieces(j);
        },
    ),
    (
        "a cut outline that misses a corner",
        &["mm to grind, the allowance is 1.000 mm"],
        true,
        |p, j| {
            j.pieces[4].cut = sample::outline(&[
                [-1.0, -1.0],
                [151.0, -1.0],
                [151.0, 99.6],
                [149.6, 101.0],
                [-1.0, 101.0],
            ]);
            p.pieces = sample::pieces(j);
        },
    ),
    (
        "a finished outline beyond the cut outline",
        &["reaches 1.000 mm outside its cut outline"],
        true,
        |p, j| {
            j.pieces[4].cut = rectangle(1.0, -1.0, 150.0, 102.0);
            p.pieces = sample::pieces(j);
        },
    ),
    (
        "an outline that is not the job's",
        &[
            "its finished outline is not the job's",
            "its cut outline is not the job's",
        ],
        true,
        |p, _| {
            p.pieces[2].finished = Outline::rectangle(100.0, 99.999);
            p.pieces[2].cut = rectangle(-1.0, -1.0, 102.0, 101.999);
        },
    ),
    (
        "a listed glass that is not the job's",
        &["listed as reed, the job says clear"],
        true,
        |p, _| {
            p.pieces[0].glass = "reed".into();
        },
    ),
    ("a bevel left out", &["bevelled: false"], true, |p, _| {
        p.pieces[0].bevelled = false
    }),
    (
        "a grain that is not the job's",
        &["its grain is listed as 0.000°, the job says 90.000°"],
        true,
        |p, _| {
            p.pieces[3].grain_deg = Some(0.0);
        },
    ),
    (
        "a piece not listed",
        &["the plan lists 4, the job has 5"],
        true,
        |p, _| {
            p.pieces.pop();
        },
    ),
    ("pieces listed in another order", &["in its place"], true, |p, _| {
        p.pieces.swap(2, 3)
    }),
    (
        "a mirrored piece that is no mirror image",
        &["it is not the mirror image of its partner"],
        true,
        |p, j| {
            j.pieces[1].finished = j.pieces[0].finished.clone();
            j.pieces[1].cut = j.pieces[0].cut.clone();
            on(p, 1)[5].pose.x = 430.0;
            p.pieces = sample::pieces(j);
        },
    ),
    (
        "a wrong area on a sheet",
        &["figures of the sheet: used is"],
        false,
        |p, _| {
            p.glasses[0].layouts[0].figures.used *= 1.0 + 1e-8;
        },
    ),
    (
        "wrong cullet of a glass",
        &["figures of glass clear: cullet is"],
        false,
        |p, _| p.glasses[0].figures.cullet += 1.0,
    ),
    (
        "a wrong cost of the job",
        &["figures of the job: cost is"],
        false,
        |p, _| p.figures.pulled_cost *= 0.99,
    ),
    (
        "a weight of no number",
        &["figures of the job: weight used is NaN kg"],
        false,
        |p, _| p.figures.used_kg = f64::NAN,
    ),
    (
        "a wrong count of pieces",
        &["figures of the job: 8 pieces, it works out at 10"],
        false,
        |p, _| p.figures.pieces = 8,
    ),
    ("an offcut at full price", &["cost is"], false, |p, _| {
        p.stock.items[1].kind = StockKind::Sheet;
        p.glasses[0].layouts[1].stock.kind = StockKind::Sheet;
    }),
];

/// The placements of a sheet.
pub(super) fn on(plan: &mut Plan, sheet: u32) -> &mut Vec<Placement> {
    let layouts = plan.glasses.iter_mut().flat_map(|g| &mut g.layouts);
    let mut found: Vec<_> = layouts.filter(|l| l.number == sheet).collect();
    &mut found.remove(0).placements
}

/// Cuts the piece on the offcut from a second sheet of the first line instead.
pub(super) fn second_clear_sheet(plan: &mut Plan, copy: u32) {
    let item = plan.stock.items[0].clone();
    let layout = &mut plan.glasses[0].layouts[1];
    layout.stock = item;
    layout.copy = copy;
}
