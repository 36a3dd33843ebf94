//! Plans for tests, laid out by hand or by a plain rule; invented, no real shop.

use cullet_breakout::{Breaking, Rule, Style, order};
use cullet_geometry::{Outline, Point, Pose};
use cullet_job::{
    FaceFile, GlassFile, GrainFile, JobFile, OutlineFile, PanelFile, PieceFile, PieceId, PriceUnit, Settings, Units,
    YDirection,
};
use cullet_model::figures::Figures;
use cullet_model::{Effort, FORMAT, GlassPlan, Layout, Placement, Plan, PlanPiece, Unplaced};
use cullet_rack::{Count, Stock, StockItem, StockKind};

/// A piece to lay: number, outline in its own frame, pose.
pub(crate) struct Lay {
    pub(crate) number: String,
    pub(crate) outline: Outline,
    pub(crate) pose: Pose,
    pub(crate) mirrored: bool,
    pub(crate) spare: bool,
}

pub(crate) fn at(x: f64, y: f64) -> Pose {
    Pose { x, y, ..Pose::IDENTITY }
}

pub(crate) fn outline(points: &[(f64, f64)]) -> Outline {
    Outline::new(points.iter().map(|&(x, y)| Point { x, y }).collect()).unwrap()
}

pub(crate) fn lay(number: &str, outline: Outline, pose: Pose) -> Lay {
    Lay {
        number: number.to_owned(),
        outline,
        pose,
        mirrored: false,
        spare: false,
    }
}

/// What a layout is made of.
pub(crate) struct Sheet {
    pub(crate) item: StockItem,
    pub(crate) pieces: Vec<Lay>,
    pub(crate) returned: Vec<Outline>,
}

pub(crate) fn item(tag: &str, kind: StockKind, outline: Outline) -> StockItem {
    StockItem {
        tag: tag.to_owned(),
        glass: "R3".to_owned(),
        kind,
        outline,
        count: Count::OnHand(if kind == StockKind::Sheet { 4 } else { 1 }),
        place: "B2".to_owned(),
        lot: Some("77".to_owned()),
        grain_deg: 90.0,
        flaws: vec![],
        price: None,
    }
}

fn glass(grain: GrainFile, scored_face: FaceFile) -> GlassFile {
    GlassFile {
        code: "R3".to_owned(),
        name: "reeded clear".to_owned(),
        thickness: 3.0,
        texture: "reeded".to_owned(),
        grain,
        grain_tolerance: 2.0,
        may_turn_over: false,
        scored_face,
        grind_allowance: 0.5,
        narrowest_strip: None,
        edge_trim: None,
        layout: None,
        price: 60.0,
        price_unit: PriceUnit::SquareMetre,
    }
}

/// How a sheet comes apart; nothing where its pieces lie too close for that.
fn ordered(item: &StockItem, placements: &[Placement], pieces: &[PlanPiece], returned: &[Outline]) -> Breaking {
    let cut = |p: &Placement| pieces.iter().find(|q| q.id == p.id).unwrap().cut.posed(&p.pose);
    let cut: Vec<Outline> = placements.iter().map(cut).collect();
    order(&item.outline, 0.0, &cut, returned, &Rule::usual(6.0)).unwrap_or(Breaking { steps: vec![] })
}

/// The map of a sheet; what is cut from it is added to `pieces`.
fn layout(number: u32, sheet: Sheet, grain: GrainFile, pieces: &mut Vec<PlanPiece>) -> Layout {
    let mut placements = Vec::new();
    let (mut used, mut cut) = (0.0, 0.0);
    for lay in sheet.pieces {
        let id = PieceId {
            panel: "S".to_owned(),
            number: lay.number,
            mirrored: lay.mirrored,
        };
        used += lay.outline.area() * 0.98;
        cut += lay.outline.area();
        placements.push(Placement {
            id: id.clone(),
            copy: 1,
            spare: lay.spare,
            pose: lay.pose,
        });
        let grain_deg = (grain != GrainFile::None).then_some(90.0);
        let finished = lay.outline.clone();
        pieces.push(PlanPiece {
            id,
            glass: "R3".to_owned(),
            finished,
            cut: lay.outline,
            grain_deg,
            bevelled: false,
        });
    }
    let pulled = sheet.item.outline.area();
    let returned = sheet.returned.iter().map(Outline::area).sum();
    let figures = Figures {
        pulled,
        used,
        returned,
        cullet: pulled - used - returned,
        grinding: cut - used,
        pieces: u32::try_from(placements.len()).unwrap(),
        pulled_kg: pulled * 7.5e-6,
        used_kg: used * 7.5e-6,
        pulled_cost: pulled * 60e-6,
        returned_credit: returned * 30e-6,
    };
    let breaking = ordered(&sheet.item, &placements, pieces, &sheet.returned);
    Layout {
        breaking,
        number,
        stock: sheet.item,
        copy: 1,
        edge_trim: 8.0,
        clearance: 6.0,
        style: Style::Shaped,
        placements,
        returned: sheet.returned,
        figures,
    }
}

fn job(grain: GrainFile, scored_face: FaceFile) -> JobFile {
    JobFile {
        schema: None,
        format: cullet_job::JOB_FORMAT,
        name: "Lighthouse museum, stair window".to_owned(),
        units: Units::Millimetres,
        y: YDirection::Up,
        settings: Settings {
            currency: "EUR".to_owned(),
            ..Settings::default()
        },
        glasses: vec![glass(grain, scored_face)],
        panels: vec![panel()],
        choices: vec![],
    }
}

/// A plan of one glass with the sheets given; figures are worked out from the outlines.
pub(crate) fn plan(grain: GrainFile, scored_face: FaceFile, sheets: Vec<Sheet>) -> Plan {
    let mut pieces: Vec<PlanPiece> = Vec::new();
    let mut layouts = Vec::new();
    for (number, sheet) in (1..).zip(sheets) {
        layouts.push(layout(number, sheet, grain, &mut pieces));
    }
    let figures = Figures::sum(layouts.iter().map(|l| &l.figures));
    Plan {
        format: FORMAT.to_owned(),
        effort: Effort::rounds(1, 10),
        job: job(grain, scored_face),
        stock: Stock {
            items: layouts.iter().map(|l| l.stock.clone()).collect(),
        },
        rack: None,
        pieces,
        glasses: vec![GlassPlan {
            glass: "R3".to_owned(),
            layouts,
            tried: vec![],
            buy: vec![],
            figures,
        }],
        unplaced: vec![],
        spares_left_out: vec![],
        files: std::collections::BTreeMap::new(),
        figures,
    }
}

fn panel() -> PanelFile {
    PanelFile {
        id: "S".to_owned(),
        name: String::new(),
        quantity: 1,
        mirrored_quantity: 1,
        drawing: None,
        pieces: vec![PieceFile {
            shape: None,
            quantity: 1,
            number: "1".to_owned(),
            outline: OutlineFile::Points(vec![[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]),
            glass: "R3".to_owned(),
            grain: None,
            bevel: None,
            one_lot: None,
            spares: 0,
        }],
    }
}

/// A half round, 0 to 180°, radius `r`, flattened.
pub(crate) fn half_round(r: f64) -> Outline {
    let points: Vec<(f64, f64)> = (0..=48)
        .map(|i| {
            let angle = std::f64::consts::PI * f64::from(i) / 48.0;
            (r * angle.cos(), r * angle.sin())
        })
        .collect();
    outline(&points)
}

/// An irregular offcut with flaws, and two pieces on it.
fn flawed_offcut() -> Sheet {
    let shape = outline(&[(0.0, 0.0), (520.0, 0.0), (470.0, 300.0), (240.0, 380.0), (40.0, 330.0)]);
    let mut offcut = item("OC-14", StockKind::Offcut, shape);
    offcut.flaws = vec![
        outline(&[(300.0, 120.0), (350.0, 110.0), (370.0, 150.0), (320.0, 170.0)]),
        outline(&[(60.0, 290.0), (70.0, 288.0), (68.0, 300.0)]),
    ];
    Sheet {
        item: offcut,
        pieces: vec![
            lay("12", Outline::rectangle(120.0, 200.0), at(50.0, 30.0)),
            lay(
                "13",
                outline(&[(0.0, 0.0), (110.0, 0.0), (55.0, 180.0)]),
                at(190.0, 30.0),
            ),
        ],
        returned: vec![outline(&[(380.0, 0.0), (520.0, 0.0), (470.0, 300.0), (380.0, 331.3)])],
    }
}

/// Two sheets of everything: rectangles, an L, a half round, a triangle, a sliver, a spare, a mirrored and a turned-over
/// piece; a returned offcut; then an irregular offcut with flaws.
pub(crate) fn varied(grain: GrainFile, scored_face: FaceFile) -> Plan {
    let l = outline(&[
        (0.0, 0.0),
        (160.0, 0.0),
        (160.0, 60.0),
        (60.0, 60.0),
        (60.0, 180.0),
        (0.0, 180.0),
    ]);
    let mut spare = lay("7", Outline::rectangle(90.0, 60.0), at(480.0, 300.0));
    spare.spare = true;
    let mut mirrored = lay("8", outline(&[(0.0, 0.0), (140.0, 0.0), (0.0, 110.0)]), at(400.0, 14.0));
    mirrored.mirrored = true;
    let over = lay(
        "9",
        Outline::rectangle(70.0, 110.0),
        Pose {
            turned_over: true,
            ..at(590.0, 170.0)
        },
    );
    let first = Sheet {
        item: item("SH-3", StockKind::Sheet, Outline::rectangle(610.0, 1220.0)),
        pieces: vec![
            lay("1", Outline::rectangle(180.0, 240.0), at(10.0, 10.0)),
            lay("2", Outline::rectangle(180.0, 240.0), at(196.0, 10.0)),
            lay("3", l, at(10.0, 260.0)),
            lay("4", half_round(110.0), at(290.0, 370.0)),
            lay("5", Outline::rectangle(12.0, 120.0), at(550.0, 14.0)),
            lay("5a", Outline::rectangle(20.0, 120.0), at(568.0, 14.0)),
            lay("6", Outline::rectangle(22.0, 24.0), at(90.0, 340.0)),
            lay("6a", Outline::rectangle(9.0, 9.0), at(120.0, 340.0)),
            spare,
            mirrored,
            over,
            lay("10", Outline::rectangle(280.0, 26.0), at(205.0, 270.0)),
            lay(
                "11",
                Outline::rectangle(100.0, 60.0),
                Pose {
                    rotation_deg: 180.0,
                    ..at(590.0, 440.0)
                },
            ),
        ],
        returned: vec![outline(&[(0.0, 500.0), (610.0, 500.0), (610.0, 1220.0), (0.0, 1220.0)])],
    };
    let mut plan = plan(grain, scored_face, vec![first, flawed_offcut()]);
    plan.unplaced = vec![Unplaced {
        id: PieceId {
            panel: "S".to_owned(),
            number: "99".to_owned(),
            mirrored: true,
        },
        count: 2,
        reason: "longer than every sheet; the nearest is SH-3, 1220 mm".to_owned(),
    }];
    plan
}

/// Rows of rectangles of given sizes, as many as fit.
pub(crate) fn rows(sheet: (f64, f64), sizes: &[(f64, f64)], gap: f64) -> Sheet {
    let (mut x, mut y, mut row) = (8.0, 8.0, 0.0_f64);
    let mut pieces = Vec::new();
    for (i, &(w, h)) in sizes.iter().enumerate() {
        if x + w + 8.0 > sheet.0 {
            (x, y, row) = (8.0, y + row + gap, 0.0);
        }
        if x + w + 8.0 > sheet.0 || y + h + 8.0 > sheet.1 {
            continue;
        }
        pieces.push(lay(&(i + 1).to_string(), Outline::rectangle(w, h), at(x, y)));
        x += w + gap;
        row = row.max(h);
    }
    Sheet {
        item: item("SH-9", StockKind::Sheet, Outline::rectangle(sheet.0, sheet.1)),
        pieces,
        returned: vec![],
    }
}

/// A sheet crowded with `count` pieces of all sizes.
pub(crate) fn crowded(count: usize, sheet: (f64, f64), scale: f64) -> Plan {
    let sizes: Vec<(f64, f64)> = (0..count)
        .map(|i| {
            let a = [210.0, 34.0, 120.0, 18.0, 66.0, 150.0, 11.0, 90.0][i % 8];
            let b = [160.0, 120.0, 28.0, 60.0, 95.0, 14.0, 40.0][i % 7];
            (a * scale, b * scale)
        })
        .collect();
    plan(GrainFile::TwoWays, FaceFile::Back, vec![rows(sheet, &sizes, 6.0)])
}
