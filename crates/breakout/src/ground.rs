//! What the grinder takes: waste too thin to be scored stays on the piece.

use crate::free::Relief;
use crate::rule::Rule;
use cullet_geometry::Point;
use cullet_geometry::ring::{self, length};
use cullet_geometry::stripes::Striped;
use cullet_geometry::tolerance::{SHORT, TOUCH};

/// What the corners and middles of sides may miss of the deepest place between them, mm.
const BETWEEN: f64 = 0.02;

/// Whether nothing of the glass in hand lies further off the piece than is ground off: its edge runs along the piece's, and the
/// piece's along it.
#[must_use]
pub fn is_ground(hand: &[Point], piece: &[Point], rule: &Rule) -> bool {
    let most = rule.ground_off - BETWEEN;
    let runs_along = |one: &[Point], other: &[Point]| {
        let other = Striped::of(other, most);
        ring::sides(one).all(|(a, b)| [a, (a + b) / 2.0].iter().all(|p| other.is_on(*p)))
    };
    runs_along(hand, piece) && runs_along(piece, hand)
}

/// The breaks without those whose waste the grinder takes, the later ones tried first. A chain that ended on a break left out
/// is led on to the edge of the glass; the piece never comes out larger than what is ground off.
pub(crate) fn without_thin(mut breaks: Vec<Relief>, blank: &[Point], piece: &[Point], rule: &Rule) -> Vec<Relief> {
    if rule.ground_off <= 0.0 {
        return breaks;
    }
    for k in (0..breaks.len()).rev() {
        if !breaks[k].nibbled {
            continue;
        }
        let mut fewer = breaks.clone();
        fewer.remove(k);
        if let Some(fewer) = led_on(fewer, blank, piece, rule) {
            breaks = fewer;
        }
    }
    breaks
}

/// The breaks with their ends on the glass that is then in hand; nothing where they do not hold so or leave too much.
fn led_on(mut breaks: Vec<Relief>, blank: &[Point], piece: &[Point], rule: &Rule) -> Option<Vec<Relief>> {
    let mut hand = blank.to_vec();
    for relief in &mut breaks {
        for _ in 0..2 {
            lead_on(&mut relief.chain, &hand, piece)?;
            relief.chain.reverse();
        }
        let (left, right) = rule.part_ring(&hand, &relief.chain, &relief.along).ok()?;
        relief.nibbled = !rule.is_wide(&right);
        hand = left;
    }
    let edge = Striped::of(&hand, SHORT);
    let is_whole = piece.iter().all(|p| edge.is_on(*p) || ring::contains(&hand, *p));
    (is_whole && is_ground(&hand, piece, rule)).then_some(breaks)
}

/// Leads the end of a chain straight on to the edge of the glass in hand, where it is not there; nothing where that cuts into the
/// piece.
fn lead_on(chain: &mut [Point], hand: &[Point], piece: &[Point]) -> Option<()> {
    let [.., before, end] = chain else { return None };
    if ring::is_on(hand, *end, TOUCH) {
        return Some(());
    }
    let along = (*end - *before) / length(*end - *before);
    let far = ring::ray(hand, *end, along, 0.0)?;
    *end = *end + along * far;
    ring::cut_at(piece, &[*before, *end], TOUCH).is_none().then_some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::free;
    use cullet_geometry::Outline;

    /// A pane 0.3 mm off two sides of its blank and 20 mm off the others: two breaks instead of four.
    #[test]
    fn thin_waste_is_left_to_the_grinder() {
        let blank = Outline::rectangle(120.3, 80.3);
        let pane = Outline::rectangle(100.0, 60.0).translated(0.3, 0.3);
        let all = free(&blank, &pane, &Rule::usual(6.0)).expect("a pane").len();
        let rule = Rule {
            ground_off: 0.5,
            ..Rule::usual(6.0)
        };
        let fewer = free(&blank, &pane, &rule).expect("a pane");
        assert_eq!((all, fewer.len()), (4, 2));
        let mut hand = blank;
        for relief in &fewer {
            hand = rule
                .part_along(&hand, &relief.chain, &relief.along)
                .expect("it holds")
                .0;
        }
        assert!((hand.area() - 100.3 * 60.3).abs() < 1e-6, "{}", hand.area());
        // What the grinder does not take is scored.
        let coarse = Outline::rectangle(100.0, 60.0).translated(0.6, 0.6);
        assert_eq!(
            free(&Outline::rectangle(120.6, 80.6), &coarse, &rule).map(|b| b.len()),
            Ok(4)
        );
    }
}
