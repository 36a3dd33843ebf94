//! Which breaks hold: one definition for every search.

use crate::bend::Course;
use cullet_geometry::ring::{self, length, turn_deg};
use cullet_geometry::tolerance::{TOUCH, WIDTH};
use cullet_geometry::{Outline, Point};
use cullet_trade::NIBBLED_CURVE;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::ops::Range;

/// A workshop's settings for what can be broken.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    /// Least width of what a break may leave on either side, mm; narrower waste is nibbled off.
    ///
    /// The width of a side is the smallest distance between two parallel lines that hold it: the hand that pulls has to
    /// grip there, and a strip is as wide as it is however long.
    pub narrowest_strip: f64,
    /// Most that a chain's direction may change over any stretch shorter than `bend_length`, degrees.
    pub sharpest_turn_deg: f64,
    /// The stretch over which a bend is measured, mm. Along the outline of the one piece that is opened a chain may bend more
    /// sharply, as the piece does.
    pub bend_length: f64,
    /// Radius of the tightest curve that is broken along a piece, mm; what turns more tightly is a corner.
    pub tightest_curve: f64,
    /// By how much the edge normals of a chain must keep inside a half-plane, degrees.
    pub pull_margin_deg: f64,
    /// Waste along a piece that is no thicker than this is not scored but ground off with the grind allowance, mm.
    pub ground_off: f64,
}

/// Why a break does not hold.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// Fewer than two points.
    NoChain,
    /// An end is not on the edge of the glass in hand: how far off, mm.
    EndOffEdge(f64),
    /// It leaves the glass in hand, or crosses or touches its edge on the way.
    LeavesGlass(Point),
    /// Its direction changes by more than the setting within a bend length: where, and by how much, degrees.
    SharpTurn(Point, f64),
    /// A curve of the piece too tight to be broken: where, and by how much it turns, degrees.
    TightCurve(Point, f64),
    /// Its edge normals spread over more than a half-plane less its margins: by how much they spread, degrees.
    CannotPull(f64),
    /// It parts nothing.
    PartsNothing,
    /// What should stay is narrower than the narrowest strip: its width, mm.
    Narrow(f64),
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoChain => write!(f, "it has fewer than two points"),
            Self::EndOffEdge(off) => write!(f, "an end lies {off:.3} mm off the edge of the glass in hand"),
            Self::LeavesGlass(at) => write!(f, "it leaves the glass in hand at ({:.2}, {:.2})", at.x, at.y),
            Self::SharpTurn(at, turn) => write!(f, "it bends by {turn:.1}° at ({:.2}, {:.2})", at.x, at.y),
            Self::TightCurve(at, turn) => {
                write!(f, "it curves too tightly, by {turn:.1}°, at ({:.2}, {:.2})", at.x, at.y)
            }
            Self::CannotPull(spread) => {
                write!(
                    f,
                    "its directions spread over {spread:.1}°: the sides cannot be pulled apart"
                )
            }
            Self::PartsNothing => write!(f, "it parts nothing"),
            Self::Narrow(width) => write!(f, "one side is only {width:.2} mm wide"),
        }
    }
}

impl Rule {
    /// The usual settings for a glass with this narrowest strip: bends of up to 30° in 25 mm, curves of 4 mm radius along a
    /// piece, 5° of margin (common practice, no published figures; shops set their own); everything is scored, nothing left to
    /// the grinder.
    #[must_use]
    pub fn usual(narrowest_strip: f64) -> Self {
        Self {
            narrowest_strip,
            sharpest_turn_deg: 30.0,
            bend_length: 25.0,
            tightest_curve: 4.0,
            pull_margin_deg: 5.0,
            ground_off: 0.0,
        }
    }

    /// Parts `hand` along `chain`: what lies to the left of the chain as it goes, and what to the right. Widths are for
    /// whoever knows what the sides are, see [`Rule::is_wide`]. Cost O(c·n) for c and n corners.
    ///
    /// # Errors
    /// The first thing that keeps the break from holding.
    ///
    /// ```
    /// use cullet_breakout::{Refusal, Rule};
    /// use cullet_geometry::{Outline, Point};
    /// let p = |x, y| Point { x, y };
    /// let (sheet, rule) = (Outline::rectangle(600.0, 400.0), Rule::usual(6.0));
    /// let (left, right) = rule.part(&sheet, &[p(200.0, 0.0), p(200.0, 400.0)])?;
    /// assert_eq!((left.area(), right.area()), (80_000.0, 160_000.0));
    /// let corner = [p(200.0, 0.0), p(200.0, 200.0), p(600.0, 200.0)];
    /// assert_eq!(rule.part(&sheet, &corner), Err(Refusal::SharpTurn(corner[1], 90.0)));
    /// # Ok::<(), Refusal>(())
    /// ```
    pub fn part(&self, hand: &Outline, chain: &[Point]) -> Result<(Outline, Outline), Refusal> {
        self.part_along(hand, chain, &(0..0))
    }

    /// Whether a side is at least a narrowest strip wide; if not, only waste may come off there, nibbled.
    #[must_use]
    pub fn is_wide(&self, side: &[Point]) -> bool {
        ring::width(side) >= self.narrowest_strip - WIDTH
    }

    /// [`Rule::part`] for the breaks that open one piece, on the left: the sides `along` of the chain follow its outline, or
    /// relieve an inside curve of it from end to end, and may bend as it does.
    ///
    /// # Errors
    /// As [`Rule::part`].
    pub fn part_along(
        &self,
        hand: &Outline,
        chain: &[Point],
        along: &Range<usize>,
    ) -> Result<(Outline, Outline), Refusal> {
        let (left, right) = self.part_ring(hand.points(), chain, along)?;
        let outline = |ring: Vec<Point>| Outline::new(ring).map_err(|_| Refusal::PartsNothing);
        Ok((outline(left)?, outline(right)?))
    }

    /// [`Rule::part_along`] for rings that need not be outlines to the last bit; nothing is followed where `along` is empty.
    pub(crate) fn part_ring(
        &self,
        hand: &[Point],
        chain: &[Point],
        along: &Range<usize>,
    ) -> Result<(Vec<Point>, Vec<Point>), Refusal> {
        let tight = match self.follows(chain, along) {
            Err(Refusal::TightCurve(at, turn)) => Some(Refusal::TightCurve(at, turn)),
            judged => {
                judged?;
                None
            }
        };
        for end in [chain[0], chain[chain.len() - 1]] {
            let off = ring::on_ring(hand, end).2;
            if off > TOUCH {
                return Err(Refusal::EndOffEdge(off));
            }
        }
        stays_inside(hand, chain)?;
        let (left, right) = ring::parted(hand, chain).ok_or(Refusal::PartsNothing)?;
        match tight {
            Some(tight) if self.is_wide(&right) || !self.is_nibbled_round(chain, along) => Err(tight),
            _ => Ok((left, right)),
        }
    }

    /// Whether a chain with a tight curve is one that pliers take round a piece on its left.
    fn is_nibbled_round(&self, chain: &[Point], along: &Range<usize>) -> bool {
        let course = Course::of(chain, along);
        let outside = course.heading.windows(2).all(|w| w[1] - w[0] > -1.0);
        outside
            && course
                .tight_curve(self.sharpest_turn_deg, NIBBLED_CURVE.min(self.tightest_curve))
                .is_none()
    }

    /// Whether a wheel can follow the chain and its sides can be pulled apart, whatever glass it lies on. The sides `along` of it
    /// follow the outline of the one piece that is opened; none where the range is empty.
    ///
    /// # Errors
    /// What keeps it from that; a curve that is only too tight to be broken in one comes last.
    pub fn follows(&self, chain: &[Point], along: &Range<usize>) -> Result<(), Refusal> {
        if chain.len() < 2 {
            return Err(Refusal::NoChain);
        }
        let course = Course::of(chain, along);
        if let Some((at, turn)) = course.sharp_turn(self.sharpest_turn_deg, self.bend_length) {
            return Err(Refusal::SharpTurn(at, turn));
        }
        let directions: Vec<Point> = chain.windows(2).map(|w| w[1] - w[0]).collect();
        let spread = spread_deg(&directions);
        if spread > 180.0 - 2.0 * self.pull_margin_deg + 1e-6 {
            return Err(Refusal::CannotPull(spread));
        }
        match course.tight_curve(self.sharpest_turn_deg, self.tightest_curve) {
            Some((at, turn)) => Err(Refusal::TightCurve(at, turn)),
            None => Ok(()),
        }
    }
}

/// How far the directions of a chain, followed turn by turn, spread, degrees.
pub(crate) fn spread_deg(directions: &[Point]) -> f64 {
    let (mut at, mut low, mut high) = (0.0_f64, 0.0_f64, 0.0_f64);
    for w in directions.windows(2) {
        at += turn_deg(w[0], w[1]);
        (low, high) = (low.min(at), high.max(at));
    }
    high - low
}

/// Between its ends the chain may not leave the glass nor cross its edge.
fn stays_inside(hand: &[Point], chain: &[Point]) -> Result<(), Refusal> {
    let last = chain.len() - 1;
    for (k, w) in chain.windows(2).enumerate() {
        let (low, high) = (
            Point {
                x: w[0].x.min(w[1].x),
                y: w[0].y.min(w[1].y),
            },
            Point {
                x: w[0].x.max(w[1].x),
                y: w[0].y.max(w[1].y),
            },
        );
        for (a, b) in ring::sides(hand) {
            if a.x.max(b.x) < low.x || a.x.min(b.x) > high.x || a.y.max(b.y) < low.y || a.y.min(b.y) > high.y {
                continue;
            }
            if let Some((t, _)) = ring::meeting(w[0], w[1], a, b) {
                let at = w[0] + (w[1] - w[0]) * t;
                let at_end = length(at - chain[0]) <= 2.0 * TOUCH || length(at - chain[last]) <= 2.0 * TOUCH;
                // Along an edge that it only touches the chain may be off by rounding.
                let grazes = |p: Point| ring::is_on(hand, p, TOUCH);
                let along_edge = grazes(w[0]) && grazes(w[1]);
                if !(at_end || along_edge || grazes_at(hand, w, t)) {
                    return Err(Refusal::LeavesGlass(at));
                }
            }
        }
        let middle = (w[0] + w[1]) / 2.0;
        let is_whole = k == 0 || k + 1 == last || chain.len() < 40;
        if is_whole && !ring::contains(hand, middle) && !ring::is_on(hand, middle, TOUCH) {
            return Err(Refusal::LeavesGlass(middle));
        }
    }
    Ok(())
}

/// Whether the chain only touches the edge there, without coming out on the other side.
fn grazes_at(hand: &[Point], w: &[Point], t: f64) -> bool {
    let whole = length(w[1] - w[0]);
    let beside = |shift: f64| {
        let s = (t + shift / whole).clamp(0.0, 1.0);
        let p = w[0] + (w[1] - w[0]) * s;
        ring::contains(hand, p) || ring::is_on(hand, p, TOUCH)
    };
    beside(-4.0 * TOUCH) && beside(4.0 * TOUCH) && beside(-1.0) && beside(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    fn sheet() -> Outline {
        Outline::rectangle(600.0, 400.0)
    }

    /// Points on an arc round (300, 0), from and to in degrees, flattened at 0.05 mm.
    fn arc(radius: f64, from: f64, to: f64) -> Vec<Point> {
        let step = 2.0 * (1.0 - 0.05 / radius).acos().to_degrees();
        let n = ((to - from).abs() / step).ceil();
        (0..=n as usize)
            .map(|i| {
                let (sin, cos) = (from + (to - from) * i as f64 / n).to_radians().sin_cos();
                p(300.0 + radius * cos, radius * sin)
            })
            .collect()
    }

    #[test]
    fn flattened_curves_of_a_piece_do_not_trip_the_rule() {
        let along = |radius: f64| {
            let chain = arc(radius, 150.0, 10.0);
            Rule::usual(6.0).follows(&chain, &(0..chain.len()))
        };
        for radius in [4.0, 5.0, 10.0, 200.0] {
            assert_eq!(along(radius), Ok(()), "radius {radius}");
        }
        for radius in [1.0, 1.5, 2.5] {
            assert!(matches!(along(radius), Err(Refusal::TightCurve(..))), "radius {radius}");
        }
    }

    #[test]
    fn between_pieces_a_score_bends_by_30_degrees_in_25_mm_at_most() {
        let free = |radius: f64| Rule::usual(6.0).follows(&arc(radius, 150.0, 10.0), &(0..0));
        assert_eq!(free(50.0), Ok(()));
        assert!(matches!(free(45.0), Err(Refusal::SharpTurn(..))));
    }

    #[test]
    fn a_corner_in_small_turns_is_one_turn() {
        let chain = [p(0.0, 0.0), p(10.0, 0.0), p(10.1, 0.05), p(10.15, 0.15), p(10.15, 10.0)];
        assert!(matches!(
            Rule::usual(6.0).follows(&chain, &(0..0)),
            Err(Refusal::SharpTurn(..))
        ));
    }

    #[test]
    fn a_break_that_wraps_round_cannot_be_pulled() {
        assert_eq!(Rule::usual(6.0).follows(&arc(100.0, 172.0, 4.0), &(0..0)), Ok(()));
        assert!(matches!(
            Rule::usual(6.0).follows(&arc(100.0, 179.0, 1.0), &(0..0)),
            Err(Refusal::CannotPull(_))
        ));
    }

    #[test]
    fn ends_on_the_edge_and_never_outside() {
        let rule = Rule::usual(6.0);
        let refused = |chain: &[Point]| rule.part(&sheet(), chain).err();
        assert!(matches!(
            refused(&[p(100.0, 0.0), p(100.0, 390.0)]),
            Some(Refusal::EndOffEdge(_))
        ));
        assert!(matches!(
            refused(&[p(0.0, 380.0), p(300.0, 410.0), p(600.0, 380.0)]),
            Some(Refusal::LeavesGlass(_))
        ));
        assert!(matches!(
            refused(&[p(0.0, 0.0), p(600.0, 0.0)]),
            Some(Refusal::PartsNothing)
        ));
        assert!(matches!(refused(&[p(0.0, 0.0)]), Some(Refusal::NoChain)));
    }

    #[test]
    fn strips_by_their_width() {
        let rule = Rule::usual(6.0);
        assert!(rule.is_wide(Outline::rectangle(500.0, 6.0).points()));
        assert!(!rule.is_wide(Outline::rectangle(500.0, 5.9).points()));
    }
}
