//! How sharply the scores of a break bend, measured over stretches with `geo`.
//!
//! A score may follow the outline of the one piece that is opened, or relieve an inside curve of it, as tightly as the shop
//! breaks curves. Wherever else it runs, its direction changes by the setting at most within a bend length.

use super::shape::Shape;
use geo::{Coord, Distance, Euclidean, Length, Line, Point};

/// Points of a score nearer than this are one, mm.
const SAME_POINT: f64 = 0.01;
/// Radius of the tightest outside curve that pliers nibble, mm.
const NIBBLED_CURVE: f64 = 1.0;

/// What a shop can open.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limits {
    pub(super) turn_deg: f64,
    pub(super) stretch: f64,
    pub(super) radius: f64,
}

/// The piece that a break opens.
pub(super) struct Opened<'s> {
    pub(super) cut: &'s Shape,
    /// How far off it a score still follows it, mm.
    pub(super) off: f64,
    /// Whether the piece lies to the left of the chain.
    pub(super) on_left: bool,
}

/// What a stretch of score does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    /// It runs through glass.
    Free,
    /// It follows the piece.
    Outline,
    /// It runs from the piece to the piece in a bay of it.
    Relief,
}

/// The bends of one score.
pub(super) struct Bends {
    sides: Vec<Line<f64>>,
    ways: Vec<Way>,
    /// Direction of each side against the first, turn by turn, degrees.
    heading: Vec<f64>,
    on_left: bool,
}

impl Bends {
    pub(super) fn of(chain: &[Coord<f64>], opened: Option<&Opened<'_>>) -> Self {
        let mut kept: Vec<Coord<f64>> = vec![];
        for (i, p) in chain.iter().enumerate() {
            let last = i + 1 == chain.len();
            let same = kept.last().is_some_and(|q| Euclidean.distance(*q, *p) < SAME_POINT);
            if !same {
                kept.push(*p);
            } else if last && kept.len() > 1 {
                kept.pop();
                kept.push(*p);
            }
        }
        let sides: Vec<Line<f64>> = kept.windows(2).map(|w| Line::new(w[0], w[1])).collect();
        let mut heading = Vec::with_capacity(sides.len());
        for (i, side) in sides.iter().enumerate() {
            let turned = if i == 0 {
                0.0
            } else {
                let before = sides[i - 1].delta();
                let (d, e) = (side.delta(), before);
                heading[i - 1] + (e.x * d.y - e.y * d.x).atan2(e.x * d.x + e.y * d.y).to_degrees()
            };
            heading.push(turned);
        }
        let ways = opened.map_or_else(|| vec![Way::Free; sides.len()], |o| ways(&sides, &heading, o));
        Self {
            sides,
            ways,
            heading,
            on_left: opened.is_some_and(|o| o.on_left),
        }
    }

    /// The most that the direction changes within less than `stretch` mm, where the score does not follow the piece; degrees, and
    /// where.
    pub(super) fn sharpest(&self, stretch: f64) -> (f64, Coord<f64>) {
        let mut most = (0.0, Coord::zero());
        for i in 0..self.sides.len() {
            let mut between = 0.0;
            for j in i + 1..self.sides.len() {
                let turn = (self.heading[j] - self.heading[i]).abs();
                let own = j == i + 1 && self.ways[i] != Way::Free && self.ways[j] != Way::Free;
                if turn > most.0 && !own {
                    most = (turn, self.sides[i].end);
                }
                between += Euclidean.length(&self.sides[j]);
                if self.ways[j] != Way::Free || between >= stretch {
                    break;
                }
            }
        }
        most
    }

    /// Where the score turns by more than `corner_deg` and a curve of `radius` mm would, and by how much, degrees.
    fn tighter_than(&self, radius: f64, corner_deg: f64) -> Option<(f64, Coord<f64>)> {
        for i in 0..self.sides.len() {
            let mut between = 0.0;
            for j in i + 1..self.sides.len() {
                let curve = (between / radius).to_degrees();
                let turn = (self.heading[j] - self.heading[i]).abs();
                if turn > corner_deg + curve {
                    return Some((turn, self.sides[i].end));
                }
                if curve > 180.0 {
                    break;
                }
                between += Euclidean.length(&self.sides[j]);
            }
        }
        None
    }

    /// What is wrong with the bends, in words; `nibbled` where pliers take the waste.
    pub(super) fn fault(&self, limits: Limits, nibbled: bool, slack_deg: f64) -> Option<String> {
        let most = limits.turn_deg + slack_deg;
        let (turn, at) = self.sharpest(limits.stretch);
        if turn > most {
            return Some(format!(
                "it bends by {turn:.1}° within {:.0} mm at ({:.2}, {:.2}), at most {:.1}° can be opened",
                limits.stretch, at.x, at.y, limits.turn_deg
            ));
        }
        let side = if self.on_left { 1.0 } else { -1.0 };
        let outside = self.heading.windows(2).all(|w| side * (w[1] - w[0]) > -1.0 - slack_deg);
        let radius = if nibbled && outside {
            limits.radius.min(NIBBLED_CURVE)
        } else {
            limits.radius
        };
        self.tighter_than(radius, most).map(|(turn, at)| {
            format!(
                "it turns by {turn:.1}° at ({:.2}, {:.2}), tighter than a curve of {radius:.1} mm radius",
                at.x, at.y
            )
        })
    }
}

/// What each side of a score does beside the piece that it opens.
fn ways(sides: &[Line<f64>], heading: &[f64], opened: &Opened<'_>) -> Vec<Way> {
    let edge = opened.cut.polygon.exterior();
    let near = |p: Coord<f64>| Euclidean.distance(&Point::from(p), edge) <= opened.off;
    let touches: Vec<bool> = sides
        .first()
        .map(|s| near(s.start))
        .into_iter()
        .chain(sides.iter().map(|s| near(s.end)))
        .collect();
    let mut ways: Vec<Way> = sides
        .iter()
        .enumerate()
        .map(|(i, s)| {
            let follows = touches[i] && touches[i + 1] && near((s.start + s.end) / 2.0);
            if follows { Way::Outline } else { Way::Free }
        })
        .collect();
    let inwards = if opened.on_left { -1.0 } else { 1.0 };
    let mut from = 0;
    while from < sides.len() {
        let mut to = from;
        while ways[to] == Way::Free && !touches[to + 1] && to + 1 < sides.len() {
            to += 1;
        }
        let turns = (from..to).map(|i| inwards * (heading[i + 1] - heading[i]));
        if ways[from] == Way::Free && touches[from] && touches[to + 1] && turns.fold(f64::INFINITY, f64::min) > -0.01 {
            ways[from..=to].fill(Way::Relief);
        }
        from = to + 1;
    }
    ways
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{LineString, Polygon};

    const LIMITS: Limits = Limits {
        turn_deg: 30.0,
        stretch: 25.0,
        radius: 4.0,
    };

    fn c(x: f64, y: f64) -> Coord<f64> {
        Coord { x, y }
    }

    /// Corners on a quarter of a circle about the origin, from (0, −r) to (r, 0).
    fn quarter(radius: f64) -> Vec<Coord<f64>> {
        (0..=18)
            .map(|i| {
                let (sin, cos) = (5.0 * f64::from(i) - 90.0).to_radians().sin_cos();
                c(radius * cos, radius * sin)
            })
            .collect()
    }

    /// A pane with one corner rounded, and the score round that corner from edge to edge of the glass.
    fn round_corner(radius: f64) -> (Shape, Vec<Coord<f64>>) {
        let mut ring = quarter(radius);
        ring.extend([c(radius, 100.0), c(-100.0, 100.0), c(-100.0, -radius)]);
        let mut chain = vec![c(-100.0, -radius)];
        chain.extend(quarter(radius));
        chain.push(c(radius, 100.0));
        (Shape::new(Polygon::new(LineString::from(ring), vec![])), chain)
    }

    #[test]
    fn along_a_piece_only_curves_that_can_be_broken() {
        for (radius, nibbled, told) in [
            (20.0, false, false),
            (5.0, false, false),
            (2.0, false, true),
            (2.0, true, false),
            (0.4, true, true),
        ] {
            let (cut, chain) = round_corner(radius);
            let opened = Opened {
                cut: &cut,
                off: 0.01,
                on_left: true,
            };
            let fault = Bends::of(&chain, Some(&opened)).fault(LIMITS, nibbled, 0.01);
            assert_eq!(fault.is_some(), told, "radius {radius}: {fault:?}");
            // Where more than this piece is in hand the same score is a corner.
            assert!(Bends::of(&chain, None).fault(LIMITS, nibbled, 0.01).is_some());
        }
    }

    /// Through the waste from one end of a bay to the other: as tight as the shop breaks curves, but only inwards.
    #[test]
    fn a_bay_may_be_relieved_but_not_gone_round() {
        let shape = |deep: f64| -> Vec<Coord<f64>> {
            (0..=20)
                .map(|i| {
                    let t = f64::from(i) / 20.0;
                    c(60.0 * t, -4.0 * deep * t * (1.0 - t))
                })
                .collect()
        };
        // The piece lies under a bay 28 mm deep.
        let mut ring = shape(28.0);
        ring.extend([c(90.0, 0.0), c(90.0, -60.0), c(-30.0, -60.0), c(-30.0, 0.0)]);
        let cut = Shape::new(Polygon::new(LineString::from(ring), vec![]));
        let opened = |on_left| Opened {
            cut: &cut,
            off: 0.01,
            on_left,
        };
        let shallow = shape(15.0);
        assert_eq!(
            Bends::of(&shallow, Some(&opened(false))).fault(LIMITS, false, 0.01),
            None
        );
        assert!(
            Bends::of(&shallow, Some(&opened(true)))
                .fault(LIMITS, false, 0.01)
                .is_some()
        );
    }
}
