//! A plan that holds passes; every kind of fault planted in it is caught, and nothing else is.

mod breaking;
mod faults;

use super::*;
use cullet_geometry::{Outline, Pose};
use cullet_model::Unplaced;
use cullet_rack::Count;
use cullet_testkit::plan::{self as sample, figure, id, placement, rectangle};
use faults::{Plant, on, second_clear_sheet};
use proptest::prelude::*;

fn told(plan: &Plan, job: &Job) -> Vec<String> {
    against(plan, job).iter().map(ToString::to_string).collect()
}

#[test]
fn a_plan_that_holds_passes() {
    assert_eq!(told(&sample::plan(), &sample::job()), Vec::<String>::new());
}

#[test]
fn every_planted_fault_is_caught_and_nothing_else() {
    let mut wrong = vec![];
    for (name, words, again, plant) in faults::all() {
        let (mut plan, mut job) = (sample::plan(), sample::job());
        plant(&mut plan, &mut job);
        if *again {
            figure(&mut plan, &job);
        }
        let told = told(&plan, &job);
        let caught = told.iter().any(|t| t.contains(words[0]));
        // A piece moved by a fault comes apart another way: `breaking` has faults of its own.
        let stray: Vec<_> = told
            .iter()
            .filter(|t| !words.iter().any(|w| t.contains(w)) && !t.contains("breaking order"))
            .collect();
        if !caught || !stray.is_empty() {
            wrong.push(format!("{name}: told {told:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Changes that leave the plan as good as it was.
#[test]
fn what_is_allowed_passes() {
    let allowed: &[(&str, Plant)] = &[
        ("a shortfall within the tolerance", |p, _| on(p, 1)[0].pose.y += 0.0015),
        ("the whole grain tolerance", |p, _| {
            on(p, 3)[0].pose = Pose {
                rotation_deg: -2.0,
                x: 250.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
        }),
        ("pieces named as unplaced", |p, _| {
            on(p, 1).remove(0);
            p.unplaced.push(Unplaced {
                id: id("B", "1", false),
                count: 1,
                reason: "no room".into(),
            });
        }),
        ("a second sheet of a line with a lot", |p, _| {
            second_clear_sheet(p, 2);
            let mut moved = on(p, 1).remove(4);
            moved.pose = Pose {
                x: 300.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
            on(p, 2).push(moved);
        }),
        ("a one-lot group on sheets to buy of one line", |p, j| {
            for item in [&mut p.stock.items[0], &mut p.glasses[0].layouts[0].stock] {
                (item.count, item.lot) = (Count::ToBuy, None);
            }
            second_clear_sheet(p, 7);
            let mut moved = on(p, 1).remove(4);
            moved.pose = Pose {
                x: 300.0,
                y: 300.0,
                ..Pose::IDENTITY
            };
            on(p, 2).push(moved);
            let _ = j;
        }),
        ("glass that is pulled with a price of its own", |p, _| {
            p.stock.items[1].price = Some(3.0);
            p.glasses[0].layouts[1].stock.price = Some(3.0);
        }),
    ];
    for (name, change) in allowed {
        let (mut plan, mut job) = (sample::plan(), sample::job());
        change(&mut plan, &mut job);
        figure(&mut plan, &job);
        assert_eq!(told(&plan, &job), Vec::<String>::new(), "{name}");
    }
}

/// Without a lot on glass on hand, two sheets of one line are two batches.
#[test]
fn two_sheets_on_hand_without_a_lot_are_two_batches() {
    let (mut plan, job) = (sample::plan(), sample::job());
    plan.stock.items[0].lot = None;
    plan.glasses[0].layouts[0].stock.lot = None;
    second_clear_sheet(&mut plan, 2);
    let mut moved = on(&mut plan, 1).remove(4);
    moved.pose = Pose {
        x: 300.0,
        y: 300.0,
        ..Pose::IDENTITY
    };
    on(&mut plan, 2).push(moved);
    figure(&mut plan, &job);
    let told = told(&plan, &job);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(
        told[0].contains("it comes from S1 copy 2, which has no lot"),
        "{told:?}"
    );
}

/// The job in the plan is read again: the same plan holds, with one more panel ordered it does not.
#[test]
fn the_job_is_read_from_the_plan() {
    let job = Job::from_file("sample", sample::job_file()).unwrap();
    let mut plan = sample::plan_of(&job);
    assert_eq!(verify(&plan), vec![]);
    plan.job.panels[1].quantity += 1;
    let told: Vec<String> = verify(&plan).iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        ["panel B piece 1: 5 asked for (0 spare), 4 placed and 0 named as unplaced"]
    );
}

#[test]
fn a_job_that_cannot_be_read_is_a_fault() {
    let mut plan = sample::plan();
    plan.job.glasses[0].thickness = -4.0;
    assert!(!verify(&plan).is_empty());
}

#[test]
fn another_format_is_refused() {
    let mut plan = sample::plan();
    plan.format = "cullet-plan 0".into();
    assert_eq!(verify(&plan).len(), 1);
}

/// A grid of equal rectangles on one sheet, each turned by a quarter or half turn or turned over, `gap` apart.
fn grid(width: f64, height: f64, columns: u32, rows: u32, gap: f64, turns: &[u8]) -> (Plan, Job) {
    let mut job = sample::job();
    job.glasses.truncate(1);
    job.glasses[0].narrowest_strip = gap;
    job.glasses[0].edge_trim = gap;
    job.pieces = vec![Piece {
        finished: Outline::rectangle(width, height),
        cut: rectangle(-1.0, -1.0, width + 2.0, height + 2.0),
        quantity: columns * rows,
        ..job.pieces[2].clone()
    }];
    let mut plan = sample::plan();
    plan.pieces = sample::pieces(&job);
    plan.glasses.truncate(1);
    plan.glasses[0].layouts.truncate(1);
    let (step_x, step_y) = (width + 2.0 + gap, height + 2.0 + gap);
    let sheet = Outline::rectangle(f64::from(columns) * step_x + gap, f64::from(rows) * step_y + gap);
    plan.stock.items.truncate(1);
    plan.stock.items[0].outline = sheet;
    plan.stock.items[0].flaws.clear();
    let layout = &mut plan.glasses[0].layouts[0];
    layout.stock = plan.stock.items[0].clone();
    (layout.edge_trim, layout.clearance) = (gap, gap);
    layout.returned.clear();
    layout.placements = (0..columns * rows)
        .map(|i| {
            let x = gap + 1.0 + f64::from(i % columns) * step_x;
            let y = gap + 1.0 + f64::from(i / columns) * step_y;
            // The rectangle lies the same whichever way; what differs is where its corner goes.
            let (rotation, over, dx, dy) = match turns[i as usize % turns.len()] % 3 {
                0 => (0.0, false, 0.0, 0.0),
                1 => (180.0, false, width, height),
                _ => (0.0, true, width, 0.0),
            };
            let mut at = placement(id("B", "1", false), i + 1, rotation, x + dx, y + dy);
            at.pose.turned_over = over;
            at
        })
        .collect();
    figure(&mut plan, &job);
    (plan, job)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_grid_passes_and_a_planted_fault_fails(
        // No piece narrower than the widest gap, which is the narrowest strip too.
        size in (12.0f64..300.0, 12.0f64..300.0),
        columns in 2u32..6,
        rows in 2u32..5,
        gap in prop_oneof![Just(0.0), 0.5f64..12.0],
        turns in prop::collection::vec(0u8..3, 1..6),
        which in any::<prop::sample::Index>(),
        kind in 0u8..6,
        by in 0.01f64..5.0,
    ) {
        // So near that the grinders of both leave room for one score only: no fault.
        prop_assume!(kind > 1 || !(0.0..=1.05).contains(&(gap - by)));
        let (mut plan, job) = grid(size.0, size.1, columns, rows, gap, &turns);
        prop_assert_eq!(told(&plan, &job), Vec::<String>::new());

        let placements = &mut plan.glasses[0].layouts[0].placements;
        let at = which.index(placements.len());
        match kind {
            0 => placements[at].pose.x += by,
            1 => placements[at].pose.y -= by,
            2 => placements[at].pose.rotation_deg += by,
            3 => { placements.remove(at); }
            4 => placements[at].copy = placements[(at + 1) % (columns * rows) as usize].copy,
            _ => plan.glasses[0].layouts[0].clearance += by,
        }
        figure(&mut plan, &job);
        prop_assert!(!told(&plan, &job).is_empty(), "fault of kind {} at {} by {} was missed", kind, at, by);
    }
}

/// 2,000 pieces of 60 sides each, close together.
#[test]
fn two_thousand_pieces_take_seconds() {
    let (mut plan, mut job) = grid(40.0, 40.0, 50, 40, 6.0, &[0]);
    let ring = |radius: f64| {
        let corner = |k: u32| {
            let (sin, cos) = (f64::from(k) * 6.0).to_radians().sin_cos();
            [20.0 + radius * cos, 20.0 + radius * sin]
        };
        sample::outline(&(0..60).map(corner).collect::<Vec<_>>())
    };
    job.pieces[0].finished = ring(19.9);
    job.pieces[0].cut = ring(21.0);
    plan.pieces = sample::pieces(&job);
    figure(&mut plan, &job);
    let began = std::time::Instant::now();
    assert_eq!(told(&plan, &job), Vec::<String>::new());
    assert!(began.elapsed().as_secs_f64() < 5.0, "took {:?}", began.elapsed());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// Whatever `leftover` gives back holds: on sheets with a corner cut off and on angled ones, lying at any angle.
    #[test]
    fn what_leftover_returns_holds(
        size in (100.0f64..300.0, 100.0f64..300.0),
        more in (0.0f64..900.0, 0.0f64..900.0),
        cut_off in 0.0f64..0.9,
        is_angled in any::<bool>(),
        tilt in prop_oneof![Just(0.0), 0.0f64..360.0],
        keep in 20.0f64..200.0,
    ) {
        let (mut plan, mut job) = grid(size.0, size.1, 2, 2, 8.0, &[0]);
        job.keep = keep;
        let bounds = plan.stock.items[0].outline.bounds();
        let (width, height) = (bounds.width() + more.0, bounds.height() + more.1);
        // The corner lies above and to the right of the pieces.
        let (x, y) = (bounds.width() + more.0 * cut_off, bounds.height() + more.1 * cut_off);
        let mut corners = vec![[0.0, 0.0], [width, 0.0], [width, y], [x, height], [0.0, height]];
        if is_angled && x < width && y < height {
            corners.insert(3, [x, y]);
        }
        let (sin, cos) = f64::to_radians(tilt).sin_cos();
        let turn = |x: f64, y: f64| [cos * x - sin * y, sin * x + cos * y];
        let sheet = sample::outline(&corners.iter().map(|c| turn(c[0], c[1])).collect::<Vec<_>>());
        plan.stock.items[0].outline = sheet.clone();
        let layout = &mut plan.glasses[0].layouts[0];
        layout.stock.outline = sheet.clone();
        for placement in &mut layout.placements {
            let [x, y] = turn(placement.pose.x, placement.pose.y);
            placement.pose = Pose { rotation_deg: tilt, x, y, ..Pose::IDENTITY };
        }
        let cut: Vec<Outline> = layout.placements.iter().map(|p| job.pieces[0].cut.posed(&p.pose)).collect();
        layout.returned = cullet_planner::leftover::returned(&sheet, &[], &cut, 8.0, keep);
        figure(&mut plan, &job);
        // A corner cut close by may leave less than the trim; that is not what is tried here.
        let told: Vec<String> = told(&plan, &job).into_iter().filter(|t| !t.contains("edge trim")).collect();
        prop_assert_eq!(told, Vec::<String>::new());
    }
}

/// Pieces of a shaped layout stand a narrowest strip apart, or share a score.
#[test]
fn neighbours_share_a_score_or_stand_apart() {
    // Two rows of three of 102 × 82 mm on a sheet with 8 mm of strip and trim, then moved together.
    let told_with = |moved: &[(usize, f64, f64)]| {
        let (mut plan, job) = grid(100.0, 80.0, 3, 2, 8.0, &[0]);
        for (i, dx, dy) in moved {
            let pose = &mut plan.glasses[0].layouts[0].placements[*i].pose;
            (pose.x, pose.y) = (pose.x + dx, pose.y + dy);
        }
        figure(&mut plan, &job);
        let told = told(&plan, &job);
        told.into_iter().filter(|t| t.contains("apart, at least")).count()
    };
    assert_eq!(told_with(&[]), 0);
    // The first two side by side, then a block of four whose corners meet.
    assert_eq!(told_with(&[(0, 8.0, 0.0)]), 0);
    assert_eq!(told_with(&[(0, 8.0, 8.0), (1, 0.0, 8.0), (3, 8.0, 0.0)]), 0);
    // What lies between two is ground off both, up to 0.5 mm each; 1.1 mm are more. A run of 6 mm is no shared score (the fourth moved
    // out of the way).
    assert_eq!(told_with(&[(0, 7.9, 0.0)]), 0);
    assert_eq!(told_with(&[(0, 7.1, 0.0)]), 0);
    assert_eq!(told_with(&[(0, 6.9, 0.0)]), 1);
    assert_eq!(told_with(&[(0, 8.0, 76.0), (3, -110.0, 0.0)]), 1);
}

/// Sixty copies on one place overlap in 1,770 pairs: a thousand faults are told, and that there are more.
#[test]
fn faults_are_told_up_to_a_number() {
    let (mut plan, job) = (sample::plan(), sample::job());
    let placements = on(&mut plan, 1);
    let first = placements[0].clone();
    placements.extend((2..60).map(|copy| cullet_model::Placement { copy, ..first.clone() }));
    let faults = against(&plan, &job);
    assert_eq!(faults.len(), MOST_FAULTS + 1);
    assert!(
        faults[MOST_FAULTS].what.contains("more than"),
        "{}",
        faults[MOST_FAULTS]
    );
}
