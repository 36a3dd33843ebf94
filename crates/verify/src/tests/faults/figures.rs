//! Faults in what goes back, in outlines and in figures.

use super::{Fault, on};
use cullet_geometry::Outline;
use cullet_rack::StockKind;
use cullet_testkit::plan::{self as sample, rectangle};

pub(super) const FAULTS: &[Fault] = &[
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
