//! What must hold of every sheet map, and pictures to look at.

use super::page::Page;
use super::{draw, label, leader};
use crate::drawing::View;
use crate::sample::{self, crowded, varied};
use crate::source;
use cullet_job::{FaceFile, GrainFile};
use cullet_model::Plan;
use proptest::prelude::*;
use std::collections::BTreeSet;

const GROUPS: [&str; 10] = [
    "sheet", "trim", "flaws", "pieces", "numbers", "grain", "returned", "cullet", "title", "scale",
];

/// Draws every layout, checks what must hold of each, and gives the files.
fn check(plan: &Plan) -> Vec<String> {
    let layouts = plan.glasses.iter().flat_map(|g| &g.layouts);
    layouts
        .map(|layout| {
            let text = draw(plan, layout);
            let file = roxmltree::Document::parse(&text).unwrap_or_else(|e| panic!("{e}\n{text}"));
            let mut ids = BTreeSet::new();
            for node in file.descendants() {
                if let Some(id) = node.attribute("id") {
                    assert!(ids.insert(id), "id {id} twice");
                }
                for name in ["x", "y", "d", "transform", "font-size", "viewBox", "stroke-width"] {
                    let value = node.attribute(name).unwrap_or("");
                    assert!(
                        !value.contains("NaN") && !value.contains("inf") && !value.contains("-0 "),
                        "{name}={value}"
                    );
                }
            }
            for id in GROUPS {
                assert!(ids.contains(id), "group {id} is missing");
            }
            let group = |id| file.descendants().find(|n| n.attribute("id") == Some(id)).unwrap();
            let drawn = |id| group(id).descendants().filter(|n| n.has_tag_name("path")).count();
            assert_eq!(drawn("pieces"), layout.placements.len());
            assert_eq!(drawn("returned"), layout.returned.len());
            assert_eq!(drawn("flaws"), layout.stock.flaws.len());
            assert!(!text.contains("textLength"));
            text
        })
        .collect()
}

#[test]
fn every_group_is_there_and_every_piece_is_drawn_once() {
    for grain in [GrainFile::None, GrainFile::TwoWays, GrainFile::OneWay] {
        let files = check(&varied(grain, FaceFile::Back));
        assert_eq!(files.len(), 2);
    }
}

#[test]
fn the_same_plan_gives_the_same_file() {
    let plan = varied(GrainFile::OneWay, FaceFile::Show);
    assert_eq!(check(&plan), check(&plan));
}

#[test]
fn the_drawing_is_true_size_in_millimetres() {
    let text = &check(&varied(GrainFile::None, FaceFile::Show))[0];
    let file = roxmltree::Document::parse(text).unwrap();
    let root = file.root_element();
    let view: Vec<f64> = root
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|v| v.parse().unwrap())
        .collect();
    let mm = |name| {
        root.attribute(name)
            .unwrap()
            .strip_suffix("mm")
            .unwrap()
            .parse::<f64>()
            .unwrap()
    };
    assert_eq!((mm("width"), mm("height")), (view[2], view[3]));
    // Piece 1, 180 × 240 mm at (10, 10) on a sheet 1220 mm high: y turned over.
    assert!(text.contains("M10 1210L190 1210L190 970L10 970Z"), "{text}");
}

#[test]
fn arrows_are_drawn_only_where_the_glass_has_a_grain() {
    let arrows = |grain| {
        let text = check(&varied(grain, FaceFile::Show)).remove(0);
        let file = roxmltree::Document::parse(&text).unwrap();
        let group = file.descendants().find(|n| n.attribute("id") == Some("grain")).unwrap();
        group.descendants().filter(|n| n.has_tag_name("path")).count()
    };
    assert_eq!(arrows(GrainFile::None), 0);
    // One a piece and one for the sheet.
    assert_eq!(arrows(GrainFile::TwoWays), 14);
    assert_eq!(arrows(GrainFile::OneWay), 14);
}

#[test]
fn faces_weight_and_marks_are_said_in_words() {
    let words = |text: &str| {
        let file = roxmltree::Document::parse(text).unwrap();
        let of: Vec<&str> = file
            .descendants()
            .filter(|n| n.has_tag_name("text"))
            .filter_map(|n| n.text())
            .collect();
        of.join(" ")
    };
    let back = words(&check(&varied(GrainFile::TwoWays, FaceFile::Back))[0]);
    for phrase in [
        "Scored on the back",
        "mirrored left to right",
        "gloves",
        "eye protection",
        "m = piece",
        "spare =",
        "face down =",
    ] {
        assert!(back.contains(phrase), "{phrase}: {back}");
    }
    assert!(!back.contains("two people"));
    let show = words(&check(&varied(GrainFile::None, FaceFile::Show))[1]);
    assert!(
        show.contains("Scored on the show face") && show.contains("flaw") && show.contains("keep"),
        "{show}"
    );
    // 3210 × 2250 × 3 mm weighs 54.2 kg (EN 572-1: 2.5 kg per m² and mm).
    let heavy = words(&check(&crowded(20, (3210.0, 2250.0), 3.0))[0]);
    assert!(heavy.contains("54.2 kg: two people"), "{heavy}");
}

#[test]
fn every_piece_is_named_on_the_map_or_in_its_list() {
    let plan = crowded(60, (1220.0, 900.0), 1.0);
    let text = check(&plan).remove(0);
    let file = roxmltree::Document::parse(&text).unwrap();
    let words: Vec<&str> = file
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .filter_map(|n| n.text())
        .collect();
    for placement in &plan.glasses[0].layouts[0].placements {
        let number = placement.id.number.as_str();
        let in_line = format!("{number} S");
        assert!(words.iter().any(|w| *w == number || *w == in_line), "piece {number}");
    }
}

/// No label lies on another, and no line to the margin runs through one.
fn check_labels(plan: &Plan) {
    for layout in plan.glasses.iter().flat_map(|g| &g.layouts) {
        let bounds = layout.stock.outline.bounds();
        let (view, page) = (View::from_front(bounds), Page::new(bounds));
        let placed = source::placed(plan, layout);
        let ways = source::grain(plan, layout);
        let items = super::items(&placed, layout, ways, plan.job.units);
        let stands = label::stands(&items, page.size, &view, &layout.stock.outline);
        assert_eq!(stands.len(), items.len());
        let boxes = leader::boxes(&stands, &view);
        for (i, a) in boxes.iter().enumerate() {
            for b in &boxes[..i] {
                let apart_x = (a.min.x - b.max.x).max(b.min.x - a.max.x);
                let apart_y = (a.min.y - b.max.y).max(b.min.y - a.max.y);
                assert!(apart_x.max(apart_y) > -1e-6, "{a:?} {b:?}");
            }
        }
        let leaders = leader::place(&stands, &view, label::size_of(&layout.stock.outline));
        assert_eq!(leader::faults(&leaders, &stands, &view), 0);
    }
}

#[test]
fn labels_lie_apart() {
    for grain in [GrainFile::None, GrainFile::TwoWays, GrainFile::OneWay] {
        check_labels(&varied(grain, FaceFile::Back));
    }
    check_labels(&rosette());
    check_labels(&crowded(60, (1220.0, 900.0), 1.0));
    check_labels(&crowded(400, (3210.0, 2250.0), 1.0));
    check_labels(&crowded(20, (200.0, 1800.0), 0.8));
}

#[test]
fn names_from_users_break_nothing() {
    let mut plan = varied(GrainFile::TwoWays, FaceFile::Show);
    let nasty = "<svg> & \"quotes\" 'single' 🪟 ]]> <!-- \u{0}\u{8}\u{FFFE}\n\t--> ";
    plan.job.name = nasty.repeat(60);
    plan.job.glasses[0].name = nasty.repeat(10);
    for layout in &mut plan.glasses[0].layouts {
        layout.stock.tag = nasty.to_owned();
        layout.stock.place = nasty.repeat(3);
        layout.stock.lot = Some(nasty.to_owned());
    }
    for placement in plan.glasses[0].layouts.iter_mut().flat_map(|l| &mut l.placements) {
        placement.id.number = format!("{nasty}{}", placement.id.number);
    }
    for piece in &mut plan.pieces {
        piece.id.number = format!("{nasty}{}", piece.id.number);
    }
    assert!(check(&plan)[0].contains('…'));
}

#[test]
fn two_thousand_pieces_on_one_sheet_are_drawn() {
    let plan = crowded(3000, (6000.0, 3210.0), 0.7);
    assert!(plan.pieces.len() > 1500);
    check(&plan);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_rows_of_rectangles_give_a_sound_map(
        sizes in prop::collection::vec((1.0_f64..400.0, 1.0_f64..400.0), 0..60),
        width in 100.0_f64..3000.0,
        height in 100.0_f64..3000.0,
        back in any::<bool>(),
    ) {
        let face = if back { FaceFile::Back } else { FaceFile::Show };
        let plan = sample::plan(GrainFile::OneWay, face, vec![sample::rows((width, height), &sizes, 6.0)]);
        check(&plan);
        check_labels(&plan);
    }
}

/// Curved and pointed pieces at all angles: the petals of a rosette, nested in rows, some mirrored.
fn rosette() -> Plan {
    let petal: Vec<(f64, f64)> = (0..=20)
        .map(|i| {
            (
                f64::from(i) * 8.0,
                26.0 * (std::f64::consts::PI * f64::from(i) / 20.0).sin(),
            )
        })
        .chain((1..20).rev().map(|i| {
            (
                f64::from(i) * 8.0,
                -9.0 * (std::f64::consts::PI * f64::from(i) / 20.0).sin(),
            )
        }))
        .collect();
    let wedge = [(0.0, 0.0), (70.0, -16.0), (80.0, 0.0), (70.0, 16.0)];
    let mut pieces = Vec::new();
    for i in 0..32_u32 {
        let (column, row) = (f64::from(i % 4), f64::from(i / 4));
        let turned = 11.25 * f64::from(i);
        let (x, y) = (110.0 + 195.0 * column, 100.0 + 180.0 * row);
        let reach = turned.to_radians().sin_cos();
        let pose = |x: f64, y: f64| cullet_geometry::Pose {
            rotation_deg: turned,
            ..sample::at(x, y)
        };
        let mut one = sample::lay(
            &format!("{}", i + 1),
            sample::outline(&petal),
            pose(x - 80.0 * reach.1, y - 80.0 * reach.0),
        );
        one.mirrored = i % 3 == 0;
        pieces.push(one);
        pieces.push(sample::lay(
            &format!("{}b", i + 1),
            sample::outline(&wedge),
            pose(x + 38.0 * reach.0, y - 38.0 * reach.1),
        ));
    }
    let mut item = sample::item(
        "SH-2",
        cullet_rack::StockKind::Sheet,
        cullet_geometry::Outline::rectangle(840.0, 1500.0),
    );
    item.grain_deg = 0.0;
    sample::plan(
        GrainFile::OneWay,
        FaceFile::Show,
        vec![sample::Sheet {
            item,
            pieces,
            returned: vec![],
        }],
    )
}

/// Writes maps into `target/maps`, to be looked at as pictures:
/// `cargo test -p cullet-output -- --ignored`, then `cargo run --release -p cullet-tools -- picture IN.svg OUT.png`.
#[test]
#[ignore = "writes pictures for people to look at"]
fn pictures_to_look_at() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/maps");
    std::fs::create_dir_all(&folder).unwrap();
    let plans = [
        ("varied", varied(GrainFile::TwoWays, FaceFile::Back)),
        ("one-way", varied(GrainFile::OneWay, FaceFile::Show)),
        ("crowded", crowded(60, (1220.0, 900.0), 1.0)),
        ("wide", crowded(60, (2440.0, 1220.0), 1.6)),
        ("many", crowded(400, (3210.0, 2250.0), 1.0)),
        ("rosette", rosette()),
        ("strip", crowded(20, (200.0, 1800.0), 0.8)),
    ];
    for (name, plan) in &plans {
        for (i, text) in check(plan).iter().enumerate() {
            std::fs::write(folder.join(format!("{name}-{}.svg", i + 1)), text).unwrap();
        }
        for layout in plan.glasses.iter().flat_map(|g| &g.layouts) {
            let text = crate::scores::draw(plan, layout);
            std::fs::write(folder.join(format!("{name}-{}-scores.svg", layout.number)), text).unwrap();
        }
        std::fs::write(folder.join(format!("{name}.txt")), crate::tables::yield_text(plan)).unwrap();
    }
}
