//! Every rule of breaking out, broken at least once.

use super::*;
use cullet_model::Layout;
use cullet_model::{Breaking, Outcome, Step, Style};
use geo::Coord;

/// A fault: its name, what it is told by, how it is planted in the first sheet of the sample.
type Fault = (&'static str, &'static str, fn(&mut Breaking));

fn c(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// The first step that a test looks for.
fn of(breaking: &mut Breaking, wanted: fn(&Step) -> bool) -> &mut Step {
    breaking.steps.iter_mut().find(|s| wanted(s)).unwrap()
}

fn frees(s: &Step) -> bool {
    matches!(s.left, Outcome::Piece(_))
}

/// 0.02 mm to one side.
fn shifted(step: &mut Step, by: f64) {
    let (a, b) = (step.chain[0], step.chain[step.chain.len() - 1]);
    let length = (b.x - a.x).hypot(b.y - a.y);
    for p in &mut step.chain {
        p.x -= by * (b.y - a.y) / length;
        p.y += by * (b.x - a.x) / length;
    }
}

/// A score that comes in from the left edge and turns up round a corner of this radius, in facets of `facet_deg`.
fn rounded(turn_deg: f64, radius: f64, facet_deg: f64) -> Vec<Coord<f64>> {
    let count = (turn_deg / facet_deg).round();
    let mut chain = vec![c(0.0, 500.0)];
    chain.extend((0..=count as usize).map(|i| {
        let (sin, cos) = (turn_deg * i as f64 / count).to_radians().sin_cos();
        c(500.0 + radius * sin, 500.0 + radius * (1.0 - cos))
    }));
    // On to the upper edge.
    let last = chain[chain.len() - 1];
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    chain.push(c(last.x + (800.0 - last.y) * cos / sin, 800.0));
    chain
}

const FAULTS: &[Fault] = &[
    ("a break is left out", "is never broken further", |b| {
        b.steps.pop();
    }),
    (
        "a break is made before its part is there",
        "has not come off yet",
        |b| b.steps.reverse(),
    ),
    ("a part is taken in hand twice", "is in hand no more", |b| {
        let again = b.steps[1].clone();
        b.steps.insert(2, again);
    }),
    ("a number is given twice", "is there twice", |b| {
        let first = b.steps.iter().find_map(|s| match s.right {
            Outcome::Part(n) => Some(n),
            _ => None,
        });
        let last = b
            .steps
            .iter_mut()
            .rev()
            .find(|s| matches!(s.left, Outcome::Part(_)))
            .unwrap();
        last.left = Outcome::Part(first.unwrap());
    }),
    ("no chain", "its scores do not join up", |b| {
        b.steps[0].chain.truncate(1)
    }),
    ("not a number", "its scores do not join up", |b| {
        b.steps[0].chain[0].x = f64::NAN
    }),
    ("it stops in good glass", "off the edge of the glass in hand", |b| {
        let chain = &mut b.steps[0].chain;
        let n = chain.len();
        chain[n - 1] = (chain[0] + chain[n - 1]) / 2.0;
    }),
    ("it ends beyond the edge", "off the edge of the glass in hand", |b| {
        let chain = &mut b.steps[0].chain;
        let n = chain.len();
        chain[n - 1] = chain[n - 1] * 1.5 - chain[0] * 0.5;
    }),
    ("it leaves the glass on the way", "outside the glass in hand", |b| {
        let step = &mut b.steps[0];
        step.chain = vec![c(0.0, 790.0), c(500.0, 805.0), c(1000.0, 790.0)];
    }),
    ("a corner", "at most 30.0° can be opened", |b| {
        b.steps[0].chain = vec![c(0.0, 500.0), c(500.0, 500.0), c(500.0, 800.0)];
    }),
    ("a corner in small turns", "at most 30.0° can be opened", |b| {
        b.steps[0].chain = vec![
            c(0.0, 500.0),
            c(500.0, 500.0),
            c(500.1, 500.05),
            c(500.15, 500.15),
            c(500.15, 800.0),
        ];
    }),
    ("a corner rounded at 1.5 mm", "it bends by", |b| {
        b.steps[0].chain = rounded(85.0, 1.5, 25.0)
    }),
    ("a corner rounded at 5 mm", "it bends by", |b| {
        b.steps[0].chain = rounded(85.0, 5.0, 5.0)
    }),
    ("a corner rounded at 10 mm", "it bends by", |b| {
        b.steps[0].chain = rounded(90.0, 10.0, 2.0)
    }),
    ("60° within 12 mm in facets of 1°", "it bends by", |b| {
        b.steps[0].chain = rounded(60.0, 12.0 / 60_f64.to_radians(), 1.0);
    }),
    ("a score beside the piece that it opens has a jog", "it bends by", |b| {
        let step = of(b, |s| s.right == Outcome::Cullet && s.chain.len() == 2);
        let (from, to) = (step.chain[0], step.chain[1]);
        let along = (to - from) / (to.x - from.x).hypot(to.y - from.y);
        let right = c(along.y, -along.x) * 4.0;
        let middle = (from + to) / 2.0;
        step.chain = vec![from, middle, middle + right, middle + right + along * 10.0, to];
    }),
    ("it wraps round", "cannot be pulled apart", |b| {
        let round = (0..=40).map(|i| {
            let (sin, cos) = (180.0 - 4.5 * f64::from(i)).to_radians().sin_cos();
            c(500.0 + 200.0 * cos, 200.0 * sin)
        });
        b.steps[0].chain = round.collect();
    }),
    ("it parts nothing", "does not part the glass in hand in two", |b| {
        b.steps[0].chain = vec![c(0.0, 0.0), c(1000.0, 0.0)];
    }),
    ("a piece comes out short", "short", |b| {
        let step = of(b, frees);
        shifted(step, 0.02);
        for p in [0, step.chain.len() - 1] {
            step.chain[p].x = step.chain[p].x.clamp(0.0, 1000.0);
        }
    }),
    ("the sides are the wrong way round", "short", |b| {
        let step = of(b, frees);
        (step.left, step.right) = (step.right, step.left);
    }),
    ("another piece than said", "short", |b| {
        let n = b.steps.iter().filter(|s| frees(s)).count();
        assert!(n > 1);
        let step = of(b, frees);
        step.left = Outcome::Piece(if step.left == Outcome::Piece(0) { 3 } else { 0 });
    }),
    ("a piece comes off that is none", "comes off", |b| {
        of(b, frees).left = Outcome::Piece(99)
    }),
    ("an offcut comes off that is none", "comes off", |b| {
        b.steps[0].left = Outcome::Offcut(9)
    }),
    ("another offcut than said", "returned offcut", |b| {
        b.steps[0].left = Outcome::Offcut(1)
    }),
    ("a piece goes to the cullet", "it is never freed", |b| {
        of(b, frees).left = Outcome::Cullet
    }),
    (
        "an offcut goes to the cullet",
        "returned offcut 1: it is never freed",
        |b| b.steps[0].left = Outcome::Cullet,
    ),
    ("a piece that is not broken out to its edge", "too large", |b| {
        let step = b.steps.iter_mut().rev().nth(1).unwrap();
        step.left = Outcome::Piece(0);
    }),
    ("wide waste called nibbled", "is called nibbled", |b| {
        of(b, |s| s.right == Outcome::Cullet).right = Outcome::Nibbled;
    }),
    ("no order at all", "too large", |b| b.steps.clear()),
];

fn first(plan: &mut Plan) -> &mut Layout {
    &mut plan.glasses[0].layouts[0]
}

#[test]
fn every_rule_of_breaking_is_checked() {
    let mut wrong = vec![];
    for (name, words, plant) in FAULTS {
        let (mut plan, job) = (sample::plan(), sample::job());
        plant(&mut first(&mut plan).breaking);
        let told = told(&plan, &job);
        if !told.iter().any(|t| t.contains("breaking order") && t.contains(words)) {
            wrong.push(format!("{name}: told {told:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The trim under the pieces is 10 mm wide: with a narrowest strip of 12 it has to be nibbled, and is not said to be.
#[test]
fn narrow_waste_must_be_called_nibbled() {
    let (mut plan, mut job) = (sample::plan(), sample::job());
    job.glasses[0].narrowest_strip = 12.0;
    plan.job.glasses[0].narrowest_strip = Some(12.0);
    let told = told(&plan, &job);
    assert!(told.iter().any(|t| t.contains("not said to be nibbled")), "{told:#?}");
}

/// A piece 0.55 mm too large on one side: the grinder takes 0.5 mm besides the allowance, a score kerf of 0.1 mm the rest.
#[test]
fn a_score_kerf_lets_a_piece_be_so_much_larger() {
    let (mut plan, mut job) = (sample::plan(), sample::job());
    let step = of(&mut first(&mut plan).breaking, frees);
    shifted(step, -0.55);
    for p in [0, step.chain.len() - 1] {
        step.chain[p].x = step.chain[p].x.clamp(0.0, 1000.0);
    }
    let too_large = |told: &[String]| told.iter().any(|t| t.contains("too large"));
    assert!(too_large(&told(&plan, &job)));
    job.score_kerf = 0.1;
    assert!(!too_large(&told(&plan, &job)));
}

/// A bend of a tenth of a millimetre, where several pieces are still in hand.
#[test]
fn a_straight_run_layout_is_parted_by_straight_runs() {
    for (style, bend, told_of) in [
        (Style::StraightRun, 0.1, true),
        (Style::StraightRun, 0.0, false),
        (Style::Shaped, 0.1, false),
    ] {
        let (mut plan, job) = (sample::plan(), sample::job());
        let layout = first(&mut plan);
        layout.style = style;
        let step = of(&mut layout.breaking, |s| {
            s.chain.len() == 2 && matches!((s.left, s.right), (Outcome::Part(_), Outcome::Part(_)))
        });
        let (a, b) = (step.chain[0], step.chain[1]);
        let aside = c(a.y - b.y, b.x - a.x) / (b.x - a.x).hypot(b.y - a.y);
        step.chain.insert(1, (a + b) / 2.0 + aside * bend);
        let told = told(&plan, &job);
        assert_eq!(
            told.iter().any(|t| t.contains("should be a straight run")),
            told_of,
            "{told:#?}"
        );
    }
}

/// A piece that lies a little off its scores comes out short; it is named, and none of the others.
#[test]
fn who_comes_out_short_is_named_alone() {
    let (mut plan, job) = (sample::plan(), sample::job());
    let layout = &mut plan.glasses[0].layouts[0];
    assert!(layout.placements.len() > 1 && held(layout, &job).is_empty());
    layout.placements[0].pose.y += 0.05;
    assert_eq!(held(layout, &job), [0]);
}
