use super::*;
use crate::corridor::taut_path;
use proptest::prelude::*;

fn gate(x: f64, floor: f64, ceiling: f64) -> Gate {
    Gate { x, floor, ceiling }
}

/// Groups that a line parts are parted by it, whatever the direction they are seen from.
#[test]
fn a_slanting_gap_is_passed_straight() {
    let gates: Vec<Gate> = (0..=40)
        .map(|i| gate(10.0 * f64::from(i), 2.0 * f64::from(i) - 3.0, 2.0 * f64::from(i) + 3.0))
        .collect();
    let path = gentle_path(&gates, 100.0, &Rule::usual(6.0)).expect("a straight line");
    let course = Course::of(&path, &(0..0));
    let most = course.heading.iter().fold(0.0_f64, |m, h| m.max(h.abs()));
    assert!(most < 0.2, "{most}");
}

/// A beam over one support, held down at its ends, is bent like the spline of the handbooks: y = δ(3x/L − 4x³/L³)
/// up to the middle (any handbook of structural mechanics: simple beam, load in the middle).
#[test]
fn it_is_bent_like_a_beam() {
    let (span, deep) = (400.0, 10.0);
    let gates = [
        gate(0.0, f64::NEG_INFINITY, 0.0),
        gate(span / 2.0, deep, f64::INFINITY),
        gate(span, f64::NEG_INFINITY, 0.0),
    ];
    let corridor = Corridor::of(&gates).expect("gates");
    let heights = corridor.solved(&vec![1.0; corridor.places], None).expect("a way");
    for (k, y) in heights.iter().enumerate() {
        let x = corridor.from + corridor.step * k as f64;
        if (0.0..=span / 2.0).contains(&x) {
            let beam = deep * (3.0 * x / span - 4.0 * (x / span).powi(3));
            let y = y + corridor.middle;
            assert!((y - beam).abs() < 0.1, "{y} instead of {beam} at {x}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Nothing is called hopeless that has a path.
    #[test]
    fn what_has_a_path_is_not_hopeless(
        steps in proptest::collection::vec((4.0..60.0f64, -35.0..35.0f64, 4.0..40.0f64), 2..14),
    ) {
        let (mut x, mut floor) = (0.0, 0.0);
        let gates: Vec<Gate> = steps
            .iter()
            .map(|(along, up, wide)| {
                (x, floor) = (x + along, floor + up);
                gate(x, floor, floor + wide)
            })
            .collect();
        let rule = Rule::usual(6.0);
        if let Some(shortest) = taut_path(&gates, 100.0)
            && gentle_path(&gates, 100.0, &rule).is_some()
        {
            prop_assert!(!is_hopeless(&gates, &shortest, &rule));
        }
    }
}

#[test]
fn a_step_too_steep_for_the_rule_has_no_path() {
    let step = |wide: f64| {
        let height = |x: f64| 60.0 * ((x - 200.0) / wide).clamp(0.0, 1.0);
        let gates: Vec<Gate> = (0..=(400.0 + wide) as u32)
            .map(|x| gate(f64::from(x), height(f64::from(x)) - 1.0, height(f64::from(x)) + 1.0))
            .collect();
        let shortest = taut_path(&gates, 100.0).expect("a path");
        let rule = Rule::usual(6.0);
        (
            is_hopeless(&gates, &shortest, &rule),
            gentle_path(&gates, 100.0, &rule).is_some(),
        )
    };
    assert_eq!(step(20.0), (true, false));
    assert_eq!(step(200.0), (false, true));
}

#[test]
fn bands_are_solved() {
    let matrix = Banded(vec![
        [4.0, 1.0, 0.5],
        [5.0, -1.0, 0.25],
        [6.0, 2.0, 0.0],
        [3.0, 0.0, 0.0],
    ]);
    let x = vec![1.0, -2.0, 3.0, 0.5];
    let found = matrix.clone().solve(matrix.times(&x)).expect("positive definite");
    assert!(found.iter().zip(&x).all(|(a, b)| (a - b).abs() < 1e-12), "{found:?}");
}
