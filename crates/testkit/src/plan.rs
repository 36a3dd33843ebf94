//! A small job, its stock and a plan that holds, all laid by hand, for tests to start from.
//!
//! Two sheets of clear glass (one of them an offcut), one reeded, one streaky: trim 10 mm, clearance 8 mm, 1 mm to grind.

use cullet_breakout::{Breaking, Rule, Style, order};
use cullet_geometry::{Outline, Point, Pose};
use cullet_job::{Bevel, Glass, Grain, Job, JobFile, LayoutFile, Panel, Piece, PieceId, PriceUnit};
use cullet_model::figures::{Accounts, Figures};
use cullet_model::{Effort, FORMAT, GlassPlan, Layout, Placement, Plan, PlanPiece, Purchase};
use cullet_rack::{Count, Stock, StockItem, StockKind};

/// The outline with these corners, mm.
///
/// # Panics
/// Where they make no outline.
#[must_use]
pub fn outline(points: &[[f64; 2]]) -> Outline {
    Outline::new(points.iter().map(|[x, y]| Point { x: *x, y: *y }).collect()).unwrap()
}

/// A rectangle with its lower left corner at (x, y).
pub fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Outline {
    outline(&[[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
}

/// The name of a piece.
#[must_use]
pub fn id(panel: &str, number: &str, mirrored: bool) -> PieceId {
    PieceId {
        panel: panel.into(),
        number: number.into(),
        mirrored,
    }
}

/// The job file of [`job`].
pub fn job_file() -> JobFile {
    let text = r#"{
        "name": "Sample", "units": "mm", "y": "up",
        "glasses": [
            {"code": "clear", "name": "Clear", "thickness": 4, "grain": "none", "may_turn_over": true, "scored_face": "show",
             "grind_allowance": 1, "narrowest_strip": 8, "edge_trim": 10, "price": 40, "price_unit": "m2"},
            {"code": "reed", "name": "Reeded", "thickness": 4, "grain": "two-ways", "grain_tolerance": 2,
             "may_turn_over": false, "scored_face": "back",
             "grind_allowance": 1, "narrowest_strip": 8, "edge_trim": 10, "price": 60, "price_unit": "m2"},
            {"code": "streak", "name": "Streaky", "thickness": 3, "grain": "one-way", "grain_tolerance": 1,
             "may_turn_over": false, "scored_face": "show",
             "grind_allowance": 1, "narrowest_strip": 8, "edge_trim": 10, "price": 90, "price_unit": "m2"}
        ],
        "panels": [
            {"id": "A", "quantity": 2, "mirrored_quantity": 1, "pieces": [
                {"number": "2", "outline": [[0, 0], [120, 0], [120, 80], [40, 80]], "glass": "clear",
                 "bevel": {"width": 10, "nose": 2.5}, "one_lot": "border"}]},
            {"id": "B", "quantity": 4, "pieces": [
                {"number": "1", "outline": [[0, 0], [100, 0], [100, 100], [0, 100]], "glass": "clear"}]},
            {"id": "C", "quantity": 1, "pieces": [
                {"number": "1", "outline": [[0, 0], [60, 0], [60, 200], [0, 200]], "glass": "reed", "grain": 90, "spares": 1},
                {"number": "2", "outline": [[0, 0], [150, 0], [150, 100], [0, 100]], "glass": "streak", "grain": 0}]}
        ]
    }"#;
    serde_json::from_str(text).unwrap()
}

fn glass(code: &str, thickness: f64, grain: Grain, may_turn_over: bool, price: f64) -> Glass {
    Glass {
        code: code.into(),
        name: code.into(),
        thickness,
        texture: String::new(),
        grain,
        may_turn_over,
        scored_on_show_face: code != "reed",
        grind_allowance: 1.0,
        narrowest_strip: 8.0,
        edge_trim: 10.0,
        layout: LayoutFile::Either,
        price_per_mm2: price * 1e-6,
        price: (price, PriceUnit::SquareMetre),
    }
}

/// The job worked out by hand.
pub fn job() -> Job {
    let source = job_file();
    let piece = |id, glass, finished: Outline, quantity| Piece {
        id,
        glass,
        cut: grown(&finished, 1.0),
        finished,
        grain_deg: 0.0,
        may_turn_over: glass == 0,
        bevel: None,
        one_lot: None,
        quantity,
        spares: 0,
    };
    let border = |mirrored, quantity| {
        let drawn = outline(&[[0.0, 0.0], [120.0, 0.0], [120.0, 80.0], [40.0, 80.0]]);
        let finished = if mirrored { drawn.mirrored() } else { drawn };
        Piece {
            bevel: Some(Bevel {
                width: 10.0,
                nose: 2.5,
                angle_deg: 8.53,
            }),
            may_turn_over: false,
            one_lot: Some("border".into()),
            ..piece(id("A", "2", mirrored), 0, finished, quantity)
        }
    };
    let panel = |id: &str, quantity, mirrored_quantity| Panel {
        id: id.into(),
        name: String::new(),
        quantity,
        mirrored_quantity,
    };
    Job {
        name: source.name.clone(),
        source,
        score_kerf: 0.0,
        curve_tolerance: 0.05,
        keep: 150.0,
        credit_rate: 0.5,
        sharpest_turn_deg: 30.0,
        bend_length: 25.0,
        tightest_curve: 4.0,
        pull_margin_deg: 5.0,
        glasses: vec![
            glass("clear", 4.0, Grain::None, true, 40.0),
            glass("reed", 4.0, Grain::TwoWays { tolerance: 2.0 }, false, 60.0),
            glass("streak", 3.0, Grain::OneWay { tolerance: 1.0 }, false, 90.0),
        ],
        panels: vec![panel("A", 2, 1), panel("B", 4, 0), panel("C", 1, 0)],
        impossible: vec![],
        notes: vec![],
        pieces: vec![
            border(false, 2),
            border(true, 1),
            piece(id("B", "1", false), 0, Outline::rectangle(100.0, 100.0), 4),
            Piece {
                grain_deg: 90.0,
                spares: 1,
                ..piece(id("C", "1", false), 1, Outline::rectangle(60.0, 200.0), 1)
            },
            piece(id("C", "2", false), 2, Outline::rectangle(150.0, 100.0), 1),
        ],
    }
}

/// A convex outline with every side moved out by `by`.
pub fn grown(convex: &Outline, by: f64) -> Outline {
    let points = convex.points();
    let n = points.len();
    let corner = |i: usize| {
        let (a, b, c) = (points[(i + n - 1) % n], points[i], points[(i + 1) % n]);
        let normal = |p: Point, q: Point| {
            let length = (q.x - p.x).hypot(q.y - p.y);
            ((q.y - p.y) / length, (p.x - q.x) / length)
        };
        let (m, k) = (normal(a, b), normal(b, c));
        let scale = by / (1.0 + m.0 * k.0 + m.1 * k.1);
        [b.x + scale * (m.0 + k.0), b.y + scale * (m.1 + k.1)]
    };
    outline(&(0..n).map(corner).collect::<Vec<_>>())
}

/// What the plan pulls from, and a second clear sheet.
pub fn stock() -> Stock {
    let item = |tag: &str, glass: &str, kind, outline, count, lot: Option<&str>, grain_deg, flaws| StockItem {
        tag: tag.into(),
        glass: glass.into(),
        kind,
        outline,
        count,
        place: "bay 1".into(),
        lot: lot.map(Into::into),
        grain_deg,
        flaws,
        price: None,
    };
    let pentagon = outline(&[[0.0, 0.0], [300.0, 0.0], [300.0, 200.0], [200.0, 300.0], [0.0, 300.0]]);
    Stock {
        items: vec![
            item(
                "S1",
                "clear",
                StockKind::Sheet,
                Outline::rectangle(1000.0, 800.0),
                Count::OnHand(2),
                Some("L1"),
                90.0,
                vec![rectangle(640.0, 300.0, 20.0, 20.0)],
            ),
            item(
                "O1",
                "clear",
                StockKind::Offcut,
                pentagon,
                Count::OnHand(1),
                Some("L2"),
                0.0,
                vec![rectangle(160.0, 40.0, 20.0, 80.0)],
            ),
            item(
                "R1",
                "reed",
                StockKind::Sheet,
                Outline::rectangle(600.0, 600.0),
                Count::ToBuy,
                None,
                90.0,
                vec![],
            ),
            item(
                "K1",
                "streak",
                StockKind::Offcut,
                Outline::rectangle(500.0, 400.0),
                Count::OnHand(1),
                None,
                30.0,
                vec![],
            ),
        ],
    }
}

/// Where a piece goes.
pub fn placement(id: PieceId, copy: u32, rotation_deg: f64, x: f64, y: f64) -> Placement {
    let pose = Pose {
        rotation_deg,
        turned_over: false,
        x,
        y,
    };
    Placement {
        id,
        copy,
        spare: false,
        pose,
    }
}

/// A plan of [`job`] that holds.
pub fn plan() -> Plan {
    plan_of(&job())
}

fn layout(number: u32, stock: StockItem, placements: Vec<Placement>, returned: Vec<Outline>) -> Layout {
    Layout {
        number,
        stock,
        copy: 1,
        edge_trim: 10.0,
        clearance: 8.0,
        placements,
        returned,
        style: Style::Shaped,
        breaking: Breaking { steps: vec![] },
        figures: Figures::default(),
    }
}

/// The same layouts for a job that equals [`job`].
pub fn plan_of(job: &Job) -> Plan {
    let stock = stock();
    let layout =
        |number, item: usize, placements, returned| layout(number, stock.items[item].clone(), placements, returned);
    let square = || id("B", "1", false);
    let border = |mirrored| id("A", "2", mirrored);
    let mut turned = placement(square(), 4, 0.0, 150.0, 50.0);
    turned.pose.turned_over = true;
    let mut spare = placement(id("C", "1", false), 2, 180.0, 144.0, 212.0);
    spare.spare = true;

    // Squares 102 wide from the trim at 10, 8 apart: the closest that holds.
    let clear = vec![
        layout(
            1,
            0,
            vec![
                placement(square(), 1, 0.0, 11.0, 11.0),
                placement(square(), 2, 0.0, 121.0, 11.0),
                placement(square(), 3, 90.0, 331.0, 11.0),
                placement(border(false), 1, 0.0, 12.0, 121.0),
                placement(border(false), 2, 180.0, 400.0, 221.0),
                placement(border(true), 1, 0.0, 550.0, 121.0),
            ],
            vec![rectangle(600.0, 0.0, 400.0, 800.0), rectangle(0.0, 400.0, 600.0, 400.0)],
        ),
        layout(2, 1, vec![turned], vec![]),
    ];
    let reeded = vec![placement(id("C", "1", false), 1, 0.0, 12.0, 12.0), spare];
    let streaky = vec![placement(id("C", "2", false), 1, 30.0, 150.0, 50.0)];
    let glass = |code: &str, layouts| GlassPlan {
        glass: code.into(),
        layouts,
        tried: vec![],
        buy: vec![],
        figures: Figures::default(),
    };
    let mut plan = Plan {
        format: FORMAT.into(),
        effort: Effort::rounds(1, 1),
        job: job.source.clone(),
        pieces: pieces(job),
        glasses: vec![
            glass("clear", clear),
            glass("reed", vec![layout(3, 2, reeded, vec![])]),
            glass("streak", vec![layout(4, 3, streaky, vec![])]),
        ],
        unplaced: vec![],
        spares_left_out: vec![],
        files: std::collections::BTreeMap::new(),
        figures: Figures::default(),
        stock,
        rack: None,
    };
    figure(&mut plan, job);
    plan
}

/// The job's pieces as a plan lists them.
pub fn pieces(job: &Job) -> Vec<PlanPiece> {
    job.pieces
        .iter()
        .map(|p| PlanPiece {
            id: p.id.clone(),
            glass: job.glasses[p.glass].code.clone(),
            finished: p.finished.clone(),
            cut: p.cut.clone(),
            grain_deg: (job.glasses[p.glass].grain != Grain::None).then_some(p.grain_deg),
            bevelled: p.bevel.is_some(),
        })
        .collect()
}

/// A breaking order, where there is one.
pub fn ordered(layout: &Layout, job: &Job) -> Option<Breaking> {
    let cut = |p: &Placement| Some(job.pieces.iter().find(|q| q.id == p.id)?.cut.posed(&p.pose));
    let pieces: Vec<Outline> = layout.placements.iter().filter_map(cut).collect();
    order(&layout.stock.outline, 0.0, &pieces, &layout.returned, &Rule::usual(8.0)).ok()
}

/// Works the figures and the breaking orders out again.
pub fn figure(plan: &mut Plan, job: &Job) {
    let accounts = Accounts::new(job);
    for glass in &mut plan.glasses {
        for layout in &mut glass.layouts {
            if let Some(breaking) = ordered(layout, job) {
                layout.breaking = breaking;
            }
            layout.figures = accounts.layout(&layout.stock, &layout.placements, &layout.returned);
        }
        glass.figures = Figures::sum(glass.layouts.iter().map(|l| &l.figures));
    }
    plan.figures = Figures::sum(plan.glasses.iter().map(|g| &g.figures));
    for glass in &mut plan.glasses {
        glass.buy = Vec::new();
        for layout in glass.layouts.iter().filter(|l| l.stock.count == Count::ToBuy) {
            match glass.buy.iter_mut().find(|line| line.tag == layout.stock.tag) {
                Some(line) => line.count += 1,
                None => glass.buy.push(Purchase {
                    tag: layout.stock.tag.clone(),
                    count: 1,
                    each: 1.0,
                    next_size: None,
                }),
            }
        }
    }
}
