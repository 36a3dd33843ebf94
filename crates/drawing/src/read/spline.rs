//! B-splines, plain or rational, up to degree 5, to Bézier curves.
//!
//! Each knot span is one Bézier piece, its control points found by the curve's polar form (Ramshaw 1989), which is knot
//! insertion done at once. Degrees 1 to 3 with equal weights are exact, and so are rational quadratics that are arcs of ellipses, as
//! CAD programs write circles; the others are parted and replaced by cubics with
//! the same ends and end tangents until a bound on the distance holds: the difference of the two, times the weight, is a
//! Bézier curve itself and lies inside the hull of its control points.

use super::affine::ellipse_arc;
use crate::drawing::Segment;
use cullet_geometry::Point;

/// A control point times its weight, and the weight.
pub(super) type Weighted = [f64; 3];

/// Highest degree that is read.
pub(super) const HIGHEST_DEGREE: usize = 5;

/// A curve as a file gives it.
#[derive(Debug, Default)]
pub(super) struct Spline {
    pub(super) degree: usize,
    pub(super) knots: Vec<f64>,
    pub(super) controls: Vec<Weighted>,
}

/// Halvings before a curve counts as one that cubics do not follow; 2⁻²⁰ of a span is below any glass.
const MOST_HALVINGS: usize = 20;

impl Spline {
    /// What is wrong with it, if anything.
    pub(super) fn fault(&self) -> Option<String> {
        let (n, p) = (self.controls.len(), self.degree);
        if n < p + 1 {
            return Some(format!("{n} control points for degree {p}"));
        }
        if self.knots.len() != n + p + 1 {
            return Some(format!(
                "{} knots for {n} control points of degree {p}",
                self.knots.len()
            ));
        }
        if self.knots.windows(2).any(|pair| pair[0] > pair[1]) {
            return Some("knots that go back".to_owned());
        }
        if !self
            .controls
            .iter()
            .all(|c| c[2] > 0.0 && c.iter().all(|v| v.is_finite()))
        {
            return Some("a weight that is not more than 0".to_owned());
        }
        let (low, high) = (self.knots[p], self.knots[n]);
        if low >= high {
            return Some("knots that are all one".to_owned());
        }
        let broken = self
            .knots
            .windows(p + 1)
            .any(|w| w[0] == w[p] && w[0] > low && w[0] < high);
        broken.then(|| format!("a knot {} times inside a curve of degree {p}, which parts it", p + 1))
    }

    /// Lines and cubics within `tolerance`, or none if more than `most` would be needed. The spline must be without
    /// [`Self::fault`].
    pub(super) fn segments(&self, tolerance: f64, most: usize) -> Option<Vec<Segment>> {
        let p = self.degree;
        let mut segments = vec![];
        for span in p..self.controls.len() {
            let (low, high) = (self.knots[span], self.knots[span + 1]);
            if low < high {
                let piece: Vec<Weighted> = (0..=p).map(|j| self.polar(span, low, high, j)).collect();
                cubics(&piece, tolerance, most, 0, &mut segments)?;
            }
        }
        Some(segments)
    }

    /// The polar form with `highs` arguments at `high` and the others at `low`.
    fn polar(&self, span: usize, low: f64, high: f64, highs: usize) -> Weighted {
        let p = self.degree;
        let first = span - p;
        let mut points: Vec<Weighted> = self.controls[first..=span].to_vec();
        for round in 1..=p {
            let at = if round <= highs { high } else { low };
            for j in (round..=p).rev() {
                let (left, right) = (self.knots[first + j], self.knots[first + j + p - round + 1]);
                points[j] = mix(points[j - 1], points[j], (at - left) / (right - left));
            }
        }
        points[p]
    }
}

fn mix(a: Weighted, b: Weighted, share: f64) -> Weighted {
    std::array::from_fn(|i| a[i] * (1.0 - share) + b[i] * share)
}

fn project(c: Weighted) -> Point {
    Point {
        x: c[0] / c[2],
        y: c[1] / c[2],
    }
}

fn between(a: Point, b: Point, share: f64) -> Point {
    Point {
        x: a.x + (b.x - a.x) * share,
        y: a.y + (b.y - a.y) * share,
    }
}

fn cubics(piece: &[Weighted], tolerance: f64, most: usize, halvings: usize, out: &mut Vec<Segment>) -> Option<()> {
    if out.len() >= most {
        return None;
    }
    let p = piece.len() - 1;
    let (from, to) = (project(piece[0]), project(piece[p]));
    let equal_weights = piece.iter().all(|c| (c[2] - piece[0][2]).abs() <= 1e-15 * piece[0][2]);
    let exact = match (equal_weights, p) {
        (true, 1) => Some(Segment::Line { from, to }),
        (true, 2) => {
            let middle = project(piece[1]);
            let (a, b) = (between(from, middle, 2.0 / 3.0), between(to, middle, 2.0 / 3.0));
            Some(Segment::Cubic { from, a, b, to })
        }
        (true, 3) => Some(Segment::Cubic {
            from,
            a: project(piece[1]),
            b: project(piece[2]),
            to,
        }),
        (false, 2) => ellipse(piece),
        // A rational straight line is the same line at another pace.
        (false, 1) => Some(Segment::Line { from, to }),
        _ => None,
    };
    if let Some(segment) = exact {
        out.push(segment);
        return Some(());
    }
    // r'(0) = p · w₁/w₀ · (P₁ − P₀) for a rational Bézier curve, and likewise at its end.
    let pace = p as f64 / 3.0;
    let a = between(from, project(piece[1]), pace * piece[1][2] / piece[0][2]);
    let b = between(to, project(piece[p - 1]), pace * piece[p - 1][2] / piece[p][2]);
    let distance = distance_bound(piece, [from, a, b, to]);
    if distance <= tolerance {
        out.push(Segment::Cubic { from, a, b, to });
        return Some(());
    }
    if !distance.is_finite() || halvings >= MOST_HALVINGS {
        return None;
    }
    let (left, right) = halves(piece);
    cubics(&left, tolerance, most, halvings + 1, out)?;
    cubics(&right, tolerance, most, halvings + 1, out)
}

/// A rational quadratic as the arc of an ellipse; none where it is part of a parabola or hyperbola, or near to it.
///
/// With weights 1, w, 1 and w = cos φ < 1 it is the affine image of the circle's arc from −φ to φ, whose tangents meet at
/// 1 / cos φ (Farin, Curves and Surfaces for CAGD, conics; only w₁² / w₀w₂ matters for the shape).
fn ellipse(piece: &[Weighted]) -> Option<Segment> {
    let w = piece[1][2] / (piece[0][2] * piece[2][2]).sqrt();
    // Nearer to a parabola the centre runs off and takes the digits with it.
    if w > 1.0 - 1e-4 {
        return None;
    }
    let (from, corner, to) = (project(piece[0]), project(piece[1]), project(piece[2]));
    let middle = between(from, to, 0.5);
    let (sin, stretch) = ((1.0 - w * w).sqrt(), w / (1.0 - w * w));
    let u = Point {
        x: (corner.x - middle.x) * stretch,
        y: (corner.y - middle.y) * stretch,
    };
    let v = Point {
        x: (to.x - from.x) / (2.0 * sin),
        y: (to.y - from.y) / (2.0 * sin),
    };
    // A corner on the chord makes a straight line, which has no axes.
    if (u.x * v.y - u.y * v.x).abs() <= 1e-9 * (u.x.hypot(u.y) + v.x.hypot(v.y)).powi(2) {
        return None;
    }
    let centre = Point {
        x: middle.x - w * u.x,
        y: middle.y - w * u.y,
    };
    let half = w.acos().to_degrees();
    Some(ellipse_arc(centre, u, v, -half, 2.0 * half))
}

/// Largest distance between the curve and the cubic at one parameter is at most this.
fn distance_bound(piece: &[Weighted], cubic: [Point; 4]) -> f64 {
    let p = piece.len() - 1;
    let least_weight = piece.iter().map(|c| c[2]).fold(f64::INFINITY, f64::min);
    let mut worst = 0.0_f64;
    for k in 0..=p + 3 {
        let (mut x, mut y) = (0.0, 0.0);
        for j in k.saturating_sub(p)..=k.min(3) {
            // Both curves raised to degree p + 3: the cubic times the weight, the curve times 1.
            let share = choose(p, k - j) * choose(3, j) / choose(p + 3, k);
            let c = piece[k - j];
            x += share * (c[0] - cubic[j].x * c[2]);
            y += share * (c[1] - cubic[j].y * c[2]);
        }
        let off = x.hypot(y) / least_weight;
        if off.is_nan() {
            return off;
        }
        worst = worst.max(off);
    }
    worst
}

fn choose(n: usize, k: usize) -> f64 {
    (0..k).fold(1.0, |product, i| product * (n - i) as f64 / (i + 1) as f64)
}

fn halves(piece: &[Weighted]) -> (Vec<Weighted>, Vec<Weighted>) {
    let mut points = piece.to_vec();
    let mut left = vec![piece[0]];
    let mut right = vec![piece[piece.len() - 1]];
    while points.len() > 1 {
        points = points.windows(2).map(|pair| mix(pair[0], pair[1], 0.5)).collect();
        left.push(points[0]);
        right.push(points[points.len() - 1]);
    }
    right.reverse();
    (left, right)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cubic_at(segment: &Segment, t: f64) -> Point {
        let Segment::Cubic { from, a, b, to } = *segment else {
            panic!("a cubic")
        };
        let [w0, w1, w2, w3] = [
            (1.0 - t).powi(3),
            3.0 * t * (1.0 - t).powi(2),
            3.0 * t * t * (1.0 - t),
            t.powi(3),
        ];
        Point {
            x: w0 * from.x + w1 * a.x + w2 * b.x + w3 * to.x,
            y: w0 * from.y + w1 * a.y + w2 * b.y + w3 * to.y,
        }
    }

    /// A full circle as a rational quadratic (Piegl & Tiller, The NURBS Book, 7.5: nine points, weights 1 and √½).
    #[test]
    fn a_rational_circle_is_four_arcs() {
        let s = 0.5_f64.sqrt();
        let corners = [
            (1, 0),
            (1, 1),
            (0, 1),
            (-1, 1),
            (-1, 0),
            (-1, -1),
            (0, -1),
            (1, -1),
            (1, 0),
        ];
        let controls = corners.iter().enumerate().map(|(i, (x, y))| {
            let w = if i % 2 == 0 { 1.0 } else { s };
            [f64::from(*x) * 800.0 * w, f64::from(*y) * 800.0 * w, w]
        });
        let knots = vec![0.0, 0.0, 0.0, 1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 4.0, 4.0, 4.0];
        let spline = Spline {
            degree: 2,
            knots,
            controls: controls.collect(),
        };
        assert_eq!(spline.fault(), None);
        let segments = spline.segments(0.001, 4).expect("four pieces");
        for segment in segments {
            let Segment::Arc {
                centre,
                radii,
                sweep_deg,
                ..
            } = segment
            else {
                panic!("an arc, not {segment:?}")
            };
            assert!(centre.x.hypot(centre.y) < 1e-9 && (radii[0] - 800.0).abs() < 1e-9 && radii[0] == radii[1]);
            assert!((sweep_deg - 90.0).abs() < 1e-9);
        }
    }

    /// The quarter circle raised to a rational cubic, which is no arc to the reader, keeps its distance from the centre.
    #[test]
    fn a_rational_cubic_is_followed_within_the_tolerance() {
        let (s, radius) = (0.5_f64.sqrt(), 800.0);
        let quarter = [[radius, 0.0, 1.0], [radius * s, radius * s, s], [0.0, radius, 1.0]];
        let controls = vec![
            quarter[0],
            mix(quarter[0], quarter[1], 2.0 / 3.0),
            mix(quarter[2], quarter[1], 2.0 / 3.0),
            quarter[2],
        ];
        let knots = vec![0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0];
        let spline = Spline {
            degree: 3,
            knots,
            controls,
        };
        let segments = spline.segments(0.001, 1000).expect("few pieces");
        assert!(segments.len() < 40, "{}", segments.len());
        for segment in &segments {
            for i in 0..=20 {
                let p = cubic_at(segment, f64::from(i) / 20.0);
                assert!((p.x.hypot(p.y) - radius).abs() <= 0.001);
            }
        }
    }

    /// x³ has the polar form uvw: the control points of a cubic spline on knots t are products of three neighbours.
    #[test]
    fn a_cubic_on_uneven_knots_is_exact() {
        let knots = vec![0.0, 0.0, 0.0, 0.0, 1.0, 1.5, 4.0, 4.0, 4.0, 4.0];
        let controls = (0..6).map(|i| {
            let [u, v, w] = [knots[i + 1], knots[i + 2], knots[i + 3]];
            [(u + v + w) / 3.0, u * v * w, 1.0]
        });
        let spline = Spline {
            degree: 3,
            controls: controls.collect(),
            knots,
        };
        for segment in spline.segments(0.001, 100).expect("three pieces") {
            let p = cubic_at(&segment, 0.37);
            assert!((p.y - p.x.powi(3)).abs() < 1e-12, "{p:?}");
        }
    }

    #[test]
    fn faults_are_named() {
        let c = [0.0, 0.0, 1.0];
        let fault = |knots: &[f64], controls: &[Weighted]| {
            Spline {
                degree: 2,
                knots: knots.to_vec(),
                controls: controls.to_vec(),
            }
            .fault()
        };
        assert!(fault(&[0.0; 5], &[c; 2]).is_some_and(|f| f.contains("2 control points")));
        assert!(fault(&[0.0; 5], &[c; 3]).is_some_and(|f| f.contains("5 knots")));
        assert!(fault(&[0.0; 6], &[c; 3]).is_some_and(|f| f.contains("all one")));
        assert!(fault(&[0.0, 0.0, 0.0, 1.0, 0.5, 1.0], &[c; 3]).is_some_and(|f| f.contains("go back")));
        assert!(fault(&[0.0, 0.0, 0.0, 1.0, 1.0, 1.0], &[[0.0; 3]; 3]).is_some_and(|f| f.contains("weight")));
    }
}
