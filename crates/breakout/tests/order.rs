//! Breaking orders of random layouts: every piece is freed, every break holds, nothing is lost.

use cullet_breakout::{Breaking, Outcome, Rule, free, order};
use cullet_geometry::{Outline, Point, Pose, path};
use std::collections::BTreeMap;

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// Length round an outline, mm.
fn around(outline: &Outline) -> f64 {
    let points = outline.points();
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| (b.x - a.x).hypot(b.y - a.y)).sum()
}

/// Replays the breaks with [`Rule::part`]: leaves are as large as what they are said to be.
fn replay(sheet: &Outline, pieces: &[Outline], offcuts: &[Outline], rule: &Rule, breaking: &Breaking) {
    let mut hands = BTreeMap::from([(0, sheet.clone())]);
    let mut freed = vec![0; pieces.len()];
    for (k, step) in breaking.steps.iter().enumerate() {
        let hand = hands
            .remove(&step.part)
            .unwrap_or_else(|| panic!("step {k}: part {} not in hand", step.part));
        // Waste comes off along a piece, whose curves it follows.
        let opens = [step.left, step.right]
            .iter()
            .any(|o| matches!(o, Outcome::Cullet | Outcome::Nibbled));
        let along = if opens { 0..step.chain.len() } else { 0..0 };
        let (left, right) = rule
            .part_along(&hand, &step.chain, &along)
            .unwrap_or_else(|e| panic!("step {k}: {e}"));
        assert!((left.area() + right.area() - hand.area()).abs() < 1e-6 * hand.area());
        for (side, outcome) in [(left, step.left), (right, step.right)] {
            match outcome {
                Outcome::Part(n) => assert!(hands.insert(n, side).is_none()),
                Outcome::Piece(i) => {
                    // No side is off by more than what counts as touching.
                    let off = (side.area() - pieces[i].area()).abs() / around(&pieces[i]);
                    assert!(off < 0.01, "step {k}: piece {i} is off by {off} mm");
                    freed[i] += 1;
                }
                Outcome::Offcut(i) => assert!((side.area() - offcuts[i].area()).abs() < 1.0),
                Outcome::Cullet => assert!(rule.is_wide(side.points()), "step {k}"),
                Outcome::Nibbled => assert!(!rule.is_wide(side.points()), "step {k}"),
            }
        }
    }
    assert!(hands.is_empty(), "left in hand: {:?}", hands.keys().collect::<Vec<_>>());
    assert!(freed.iter().all(|n| *n == 1), "{freed:?}");
}

fn shape(data: &str) -> Outline {
    path::flatten(data, 1.0, path::YAxis::Up, 0.05).unwrap()
}

fn freed(piece: &Outline) -> usize {
    let rule = Rule::usual(6.0);
    let low = piece.bounds();
    let blank =
        Outline::rectangle(low.width() + 20.0, low.height() + 20.0).translated(low.min.x - 10.0, low.min.y - 10.0);
    let breaks = free(&blank, piece, &rule).unwrap_or_else(|b| panic!("held at {:?}", b.at));
    let mut hand = blank;
    for (k, relief) in breaks.iter().enumerate() {
        let (left, right) = rule
            .part_along(&hand, &relief.chain, &relief.along)
            .unwrap_or_else(|e| panic!("break {k}: {e}"));
        assert_eq!(relief.nibbled, !rule.is_wide(right.points()), "break {k}");
        hand = left;
    }
    assert!(
        (hand.area() - piece.area()).abs() < 0.01,
        "{} {}",
        hand.area(),
        piece.area()
    );
    never_short(
        &Outline::rectangle(low.width() + 0.6, low.height() + 0.6).translated(low.min.x - 0.3, low.min.y - 0.3),
        piece,
    );
    breaks.len()
}

/// Where the grinder takes thin waste the piece comes out whole: no corner of it lies outside by more than a thousandth.
fn never_short(blank: &Outline, piece: &Outline) {
    let rule = Rule {
        ground_off: 0.5,
        ..Rule::usual(6.0)
    };
    let Ok(breaks) = free(blank, piece, &rule) else { return };
    let mut hand = blank.clone();
    for relief in &breaks {
        hand = rule
            .part_along(&hand, &relief.chain, &relief.along)
            .expect("it holds")
            .0;
    }
    let far = |p: Point| {
        let sides = hand.points().iter().zip(hand.points().iter().cycle().skip(1));
        let off = |(a, b): (&Point, &Point)| {
            let (d, q) = (*b - *a, p - *a);
            let t = ((q.x * d.x + q.y * d.y) / (d.x * d.x + d.y * d.y)).clamp(0.0, 1.0);
            (q.x - d.x * t).hypot(q.y - d.y * t)
        };
        sides.map(off).fold(f64::INFINITY, f64::min)
    };
    for p in piece.points() {
        assert!(hand.contains(*p) || far(*p) <= 0.001, "{p:?} is {} mm outside", far(*p));
    }
}

#[test]
fn shapes_are_freed_from_their_blanks() {
    // A rectangle by its sides.
    assert_eq!(freed(&Outline::rectangle(80.0, 50.0)), 4);
    // A shallow bay: three sides and the bay.
    assert_eq!(freed(&shape("M0 0 H100 V60 A 200 200 0 0 0 0 60 Z")), 4);
    // A semicircular bay wants shallower scores first.
    assert!(freed(&shape("M0 0 H140 V100 H110 A 40 40 0 0 0 30 100 H0 Z")) > 6);
    // A flowing leaf with an S-shaped side.
    freed(&shape("M0 0 C 40 30 80 -30 120 0 V 80 C 80 60 40 110 0 80 Z"));
    // A crescent.
    freed(&shape("M0 0 A 100 100 0 0 0 150 0 A 160 160 0 0 1 0 0 Z"));
    // A wave, a lens, a ring segment.
    freed(&shape(
        "M0 0 C 30 50 60 -50 90 0 S 150 50 180 0 V 60 C 150 110 120 10 90 60 S 30 10 0 60 Z",
    ));
    freed(&shape("M0 0 A 80 80 0 0 1 100 0 A 80 80 0 0 1 0 0 Z"));
    freed(&shape("M 100 0 A 100 100 0 0 1 0 100 V 60 A 60 60 0 0 0 60 0 Z"));
}

#[test]
fn an_inside_corner_is_named() {
    let notched = Outline::new(vec![
        p(0.0, 0.0),
        p(100.0, 0.0),
        p(100.0, 50.0),
        p(50.0, 50.0),
        p(50.0, 100.0),
        p(0.0, 100.0),
    ])
    .unwrap();
    let blank = Outline::rectangle(120.0, 120.0).translated(-10.0, -10.0);
    assert!(free(&blank, &notched, &Rule::usual(6.0)).is_err());
}

/// Bricks in running bond: no straight run upright, chains go round the corners.
#[test]
fn bricks_rings_and_rows() {
    let rule = Rule::usual(6.0);
    let sheet = Outline::rectangle(600.0, 600.0);
    let mut bricks = vec![];
    for row in 0..8 {
        let shift = if row % 2 == 0 { 10.0 } else { 55.0 };
        for k in 0..5 {
            bricks.push(
                Outline::rectangle(90.0, 50.0).translated(shift + 96.0 * f64::from(k), 10.0 + 56.0 * f64::from(row)),
            );
        }
    }
    let breaking = order(&sheet, 0.0, &bricks, &[], &rule).unwrap();
    replay(&sheet, &bricks, &[], &rule, &breaking);
}

/// A pinwheel of four rectangles of a length about a square, `gap` apart: no straight run at all.
fn pinwheel(long: f64, gap: f64) -> (Outline, Vec<Outline>) {
    let (near, far, size) = (70.0 + gap, 10.0 + long + gap, 80.0 + long + gap);
    let at = |w, h, x, y| Outline::rectangle(w, h).translated(x, y);
    let pieces = vec![
        at(long, 60.0, 10.0, 10.0),
        at(60.0, long, far, 10.0),
        at(long, 60.0, near, far),
        at(60.0, long, 10.0, near),
        at(long - 60.0 - gap, long - 60.0 - gap, near, near),
    ];
    (Outline::rectangle(size, size), pieces)
}

/// No crack runs round a right angle: a pinwheel with its pieces the narrowest strip apart holds itself together.
#[test]
fn a_pinwheel_holds_itself_together() {
    let rule = Rule::usual(6.0);
    let (sheet, pieces) = pinwheel(124.0, 6.0);
    let held = order(&sheet, 0.0, &pieces, &[], &rule).expect_err("no score parts it");
    assert_eq!(held.pieces, [0, 1, 2, 3, 4]);
    // A shop that opens such corners has it apart.
    let thumbs = Rule {
        sharpest_turn_deg: 80.0,
        ..rule
    };
    let breaking = order(&sheet, 0.0, &pieces, &[], &thumbs).expect("round the corners");
    replay(&sheet, &pieces, &[], &thumbs, &breaking);
}

/// Further apart there is room for a gentle bend round the corner.
#[test]
fn a_wide_pinwheel_comes_apart() {
    let rule = Rule::usual(6.0);
    let (sheet, pieces) = pinwheel(170.0, 45.0);
    let breaking = order(&sheet, 0.0, &pieces, &[], &rule).expect("a bend round the corner");
    replay(&sheet, &pieces, &[], &rule, &breaking);
}

#[test]
fn offcuts_come_off_first() {
    let rule = Rule::usual(6.0);
    let sheet = Outline::rectangle(600.0, 600.0);
    let pieces = [
        Outline::rectangle(100.0, 100.0).translated(10.0, 10.0),
        Outline::rectangle(100.0, 100.0).translated(116.0, 10.0),
    ];
    let offcuts = [
        Outline::rectangle(600.0, 484.0).translated(0.0, 116.0),
        Outline::rectangle(378.0, 116.0).translated(222.0, 0.0),
    ];
    let breaking = order(&sheet, 0.0, &pieces, &offcuts, &rule).unwrap();
    assert_eq!(breaking.steps[0].left, Outcome::Offcut(0));
    assert_eq!(breaking.steps[1].left, Outcome::Offcut(1));
    replay(&sheet, &pieces, &offcuts, &rule, &breaking);
}

/// A hundred and fifty random convex and round pieces, dropped where they lie 6 mm apart; each order within a second.
#[test]
fn random_heaps_come_apart() {
    for seed in 1..=8u64 {
        let mut state = seed;
        let mut random = move || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let sheet = Outline::rectangle(1500.0, 1200.0);
        let mut pieces: Vec<Outline> = vec![];
        for _ in 0..20_000 {
            if pieces.len() >= 150 {
                break;
            }
            let (a, b) = (15.0 + 45.0 * random(), 15.0 + 45.0 * random());
            let corners = 3 + (random() * 20.0) as usize;
            let ring = (0..corners)
                .map(|i| {
                    let angle = std::f64::consts::TAU * i as f64 / corners as f64;
                    p(a * angle.cos(), b * angle.sin())
                })
                .collect();
            let pose = Pose {
                rotation_deg: 360.0 * random(),
                x: 70.0 + 1360.0 * random(),
                y: 70.0 + 1060.0 * random(),
                ..Pose::IDENTITY
            };
            let piece = Outline::new(ring).unwrap().posed(&pose);
            if pieces.iter().all(|q| q.distance_to(&piece) >= 6.0) {
                pieces.push(piece);
            }
        }
        assert_eq!(pieces.len(), 150);
        let rule = Rule::usual(6.0);
        let start = std::time::Instant::now();
        let breaking = order(&sheet, 10.0, &pieces, &[], &rule).unwrap_or_else(|u| panic!("seed {seed}: {u:?}"));
        assert!(
            start.elapsed().as_secs_f64() < 5.0,
            "seed {seed}: {:?} for {} pieces",
            start.elapsed(),
            pieces.len()
        );
        replay(&sheet, &pieces, &[], &rule, &breaking);
    }
}

/// A piece flush in a corner of its sheet is what is left once the two offcuts are off: no break frees it from anything.
#[test]
fn what_the_offcuts_leave_may_be_the_piece() {
    let sheet = Outline::rectangle(700.0, 600.0);
    let piece = Outline::rectangle(200.0, 300.0);
    let offcuts = [
        Outline::rectangle(500.0, 600.0).translated(200.0, 0.0),
        Outline::rectangle(200.0, 300.0).translated(0.0, 300.0),
    ];
    let breaking = order(&sheet, 0.0, &[piece], &offcuts, &Rule::usual(6.0)).expect("two runs");
    assert_eq!(breaking.steps.len(), 2);
    let last = &breaking.steps[1];
    assert!([last.left, last.right].contains(&Outcome::Piece(0)));
}

/// A trim of 10 mm round two pieces: the one 10 mm off the edge is touched by the run, the strip along the other is widened to
/// it, since 4 mm could not be broken off afterwards.
#[test]
fn the_trim_comes_off_first() {
    let (sheet, rule) = (Outline::rectangle(400.0, 300.0), Rule::usual(6.0));
    let pieces = [
        Outline::rectangle(100.0, 100.0).translated(10.0, 14.0),
        Outline::rectangle(100.0, 100.0).translated(200.0, 60.0),
    ];
    let breaking = order(&sheet, 10.0, &pieces, &[], &rule).expect("two panes");
    let levels: Vec<f64> = breaking.steps[..2].iter().map(|s| s.chain[0].y).collect();
    assert_eq!(levels, [14.0, 290.0]);
    let uprights: Vec<f64> = breaking.steps[2..4].iter().map(|s| s.chain[0].x).collect();
    assert_eq!(uprights, [390.0, 10.0]);
    assert!(breaking.steps[..4].iter().all(|s| s.right == Outcome::Cullet));
    replay(&sheet, &pieces, &[], &rule, &breaking);
    // Four millimetres of trim could not be broken off.
    let narrow = order(&sheet, 4.0, &pieces, &[], &rule).expect("two panes");
    assert_eq!(narrow, order(&sheet, 0.0, &pieces, &[], &rule).expect("two panes"));
}

/// Pieces that share straight scores in a shaped layout: two panes, a lens beside them, a pair of half quarries.
#[test]
fn neighbours_may_share_a_score() {
    let (sheet, rule) = (Outline::rectangle(500.0, 300.0), Rule::usual(6.0));
    let pieces = [
        Outline::rectangle(100.0, 80.0).translated(20.0, 20.0),
        Outline::rectangle(90.0, 80.0).translated(120.0, 20.0),
        shape("M0 0 A 80 80 0 0 1 100 0 A 80 80 0 0 1 0 0 Z").translated(60.0, 140.0),
        shape("M0 0 L 100 0 L 50 75 Z").translated(250.0, 100.0),
        shape("M0 0 L 50 -75 L 100 0 Z").translated(250.0, 100.0),
        shape("M100 0 L 150 75 L 50 75 Z").translated(250.0, 100.0),
    ];
    let breaking = order(&sheet, 10.0, &pieces, &[], &rule).expect("shared scores are straight runs");
    replay(&sheet, &pieces, &[], &rule, &breaking);
}

/// A score between two groups is found whichever way the sheet lies on the bench: leaves in a band, as drawn, that share their scores.
#[test]
fn a_band_of_leaves_comes_apart_however_it_is_turned() {
    // Seams from the foot of the band to its top: straight at first, then round a leaf on either side.
    let (foot, tip, top) = (0.0, 60.0, 190.0);
    let bulge = |t: f64, by: f64| by * (std::f64::consts::PI * t).sin();
    let seam = |x: f64, by: f64| -> Vec<Point> {
        let curve = (0..=20).map(|k| f64::from(k) / 20.0);
        std::iter::once(p(x, foot))
            .chain(curve.map(|t| p(x + bulge(t, by), tip + (top - tip) * t)))
            .collect()
    };
    let between = |left: Vec<Point>, right: Vec<Point>, gap: f64| -> Outline {
        let moved = |ring: Vec<Point>, by: f64| ring.into_iter().map(move |at| p(at.x + by, at.y));
        let ring = moved(right, -gap).chain(moved(left, gap).rev()).collect();
        Outline::new(ring).expect("an outline")
    };
    let (gap, leaf) = (0.1, 22.0);
    let mut pieces = vec![];
    for k in 0..4 {
        let (from, to) = (130.0 * f64::from(k), 130.0 * f64::from(k + 1));
        let left = if k == 0 { 0.0 } else { leaf };
        let right = if k == 3 { 0.0 } else { -leaf };
        pieces.push(between(seam(from, left), seam(to, right), gap));
        if k > 0 {
            // Between its tips, where it is wider than what is left free on either side.
            let side = |by: f64| seam(from, by)[2..21].to_vec();
            pieces.push(between(side(-leaf), side(leaf), gap));
        }
    }
    let rule = Rule {
        ground_off: 0.3,
        ..Rule::usual(6.0)
    };
    let blank = Outline::rectangle(580.0, 250.0).translated(-30.0, -30.0);
    for turn in 0..24 {
        let pose = Pose {
            rotation_deg: 15.0 * f64::from(turn),
            ..Pose::IDENTITY
        };
        let turned: Vec<Outline> = pieces.iter().map(|piece| piece.posed(&pose)).collect();
        let found = order(&blank.posed(&pose), 0.0, &turned, &[], &rule);
        assert!(found.is_ok(), "turned by {}°: {found:?}", pose.rotation_deg);
    }
}
