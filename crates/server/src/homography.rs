//! From a picture to the plane that it shows: the homography of least squares through marks of known place, by the normalised direct
//! linear transform (Hartley, IEEE PAMI 19(6) 1997, 580–593; Hartley and Zisserman, *Multiple View Geometry*, algorithm 4.2), and one
//! term of a lens's radial distortion where there are marks enough to tell it.
//!
//! Pixels on one side, millimetres on the other; which way y runs on either side does not matter.

/// A point of the picture or the plane.
pub(crate) type Pair = [f64; 2];

/// Fewest marks: four leave nothing over to judge by.
pub(crate) const LEAST_MARKS: usize = 6;
/// Marks from which distortion is estimated.
const FOR_LENS: usize = 8;
/// The most distortion that is looked for, as a share at the corner of the picture.
const MOST_LENS: f64 = 0.25;
/// Unknowns of a homography.
const UNKNOWN: f64 = 8.0;

/// What was found through the marks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct View {
    matrix: [f64; 9],
    /// Share by which a point at the picture's corner is moved outwards.
    pub(crate) lens: f64,
    centre: Pair,
    half_diagonal: f64,
    /// How far the marks lie from where they belong, mm: typically, and at worst.
    pub(crate) residual: f64,
    pub(crate) worst: f64,
    /// How far a mark is off in one direction, mm, by what is left over (the root of the sum of squares by its degrees of freedom).
    pub(crate) spread: f64,
}

impl View {
    /// Through marks, each with its place in the picture and on the plane; `size` is the picture's, pixels. Nothing where there are too
    /// few, or they lie in one line.
    pub(crate) fn through(marks: &[(Pair, Pair)], size: Pair) -> Option<Self> {
        if marks.len() < LEAST_MARKS || marks.iter().any(|(a, b)| a.iter().chain(b).any(|n| !n.is_finite())) {
            return None;
        }
        let straight = Self::with_lens(marks, size, 0.0)?;
        if marks.len() < FOR_LENS {
            return Some(straight);
        }
        let lens = best_lens(&|lens| Self::with_lens(marks, size, lens).map_or(f64::INFINITY, |view| view.spread));
        let bent = Self::with_lens(marks, size, lens)?;
        // One more unknown always fits better: it must be worth it.
        let free = 2.0 * marks.len() as f64 - UNKNOWN;
        let spread = bent.spread * (free / (free - 1.0)).sqrt();
        if spread < 0.8 * straight.spread {
            Some(Self { spread, ..bent })
        } else {
            Some(straight)
        }
    }

    fn with_lens(marks: &[(Pair, Pair)], size: Pair, lens: f64) -> Option<Self> {
        let (centre, half_diagonal) = ([size[0] / 2.0, size[1] / 2.0], size[0].hypot(size[1]) / 2.0);
        let mut view = Self {
            matrix: [0.0; 9],
            lens,
            centre,
            half_diagonal,
            residual: 0.0,
            worst: 0.0,
            spread: 0.0,
        };
        let flat: Vec<(Pair, Pair)> = marks
            .iter()
            .map(|(seen, place)| (view.straightened(*seen), *place))
            .collect();
        view.matrix = homography(&flat)?;
        let off = |(seen, place): &(Pair, Pair)| {
            let [x, y] = view.at(*seen)?;
            Some((x - place[0]).hypot(y - place[1]))
        };
        let off: Option<Vec<f64>> = marks.iter().map(off).collect();
        let off = off?;
        let squares: f64 = off.iter().map(|d| d * d).sum();
        view.residual = (squares / off.len() as f64).sqrt();
        view.worst = off.iter().copied().fold(0.0, f64::max);
        view.spread = (squares / (2.0 * off.len() as f64 - UNKNOWN)).sqrt();
        Some(view)
    }

    /// Where a lens without distortion would have put a point.
    fn straightened(&self, [x, y]: Pair) -> Pair {
        let (x, y) = (x - self.centre[0], y - self.centre[1]);
        let r2 = (x * x + y * y) / (self.half_diagonal * self.half_diagonal);
        let by = 1.0 + self.lens * r2;
        [self.centre[0] + x * by, self.centre[1] + y * by]
    }

    /// Where on the plane a point of the picture lies, mm; nothing for one beyond the horizon.
    pub(crate) fn at(&self, seen: Pair) -> Option<Pair> {
        apply(&self.matrix, self.straightened(seen))
    }

    /// Where on the plane the middle of the picture lies: under the lens, where that looked straight down.
    pub(crate) fn middle(&self) -> Option<Pair> {
        self.at(self.centre)
    }
}

/// An edge `thickness` above the plane is seen farther out from the point under the lens; by similar triangles it lies
/// (height − thickness) / height as far from there, `height` being the lens's.
pub(crate) fn lowered(seen: Pair, under: Pair, thickness: f64, height: f64) -> Pair {
    let by = (height - thickness) / height;
    [
        under[0] + (seen[0] - under[0]) * by,
        under[1] + (seen[1] - under[1]) * by,
    ]
}

/// The distortion of least spread: a coarse look, then ever finer round the best.
fn best_lens(spread: &dyn Fn(f64) -> f64) -> f64 {
    let (mut best, mut step) = (0.0, MOST_LENS / 10.0);
    let mut least = spread(best);
    while step > 1e-7 {
        for k in -10..=10_i32 {
            let lens = best + f64::from(k) * step;
            let now = if lens.abs() > MOST_LENS {
                f64::INFINITY
            } else {
                spread(lens)
            };
            if now < least {
                (best, least) = (lens, now);
            }
        }
        step /= 6.0;
    }
    best
}

fn apply(h: &[f64; 9], [x, y]: Pair) -> Option<Pair> {
    let w = h[6] * x + h[7] * y + h[8];
    let found = [(h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w];
    (w.abs() > 1e-12 && found.iter().all(|n| n.is_finite())).then_some(found)
}

/// The homography of least algebraic error from the first of each pair to the second, between points moved so that their middle is the
/// origin and their mean distance from it √2.
fn homography(pairs: &[(Pair, Pair)]) -> Option<[f64; 9]> {
    let (from, to) = (
        normaliser(pairs.iter().map(|pair| pair.0))?,
        normaliser(pairs.iter().map(|pair| pair.1))?,
    );
    let mut square = [[0.0; 9]; 9];
    for (a, b) in pairs {
        let ([x, y], [u, v]) = (normalised(&from, *a), normalised(&to, *b));
        for row in [
            [-x, -y, -1.0, 0.0, 0.0, 0.0, u * x, u * y, u],
            [0.0, 0.0, 0.0, -x, -y, -1.0, v * x, v * y, v],
        ] {
            for i in 0..9 {
                for j in 0..9 {
                    square[i][j] += row[i] * row[j];
                }
            }
        }
    }
    let h = least_vector(square)?;
    // Undone on both sides: T'⁻¹ · H · T.
    let ([s, tx, ty], [r, ux, uy]) = (from, to);
    let t = [s, 0.0, -s * tx, 0.0, s, -s * ty, 0.0, 0.0, 1.0];
    let back = [1.0 / r, 0.0, ux, 0.0, 1.0 / r, uy, 0.0, 0.0, 1.0];
    let matrix = product(&back, &product(&h, &t));
    matrix.iter().all(|n| n.is_finite()).then_some(matrix)
}

/// Scale and middle.
fn normaliser(points: impl Iterator<Item = Pair> + Clone) -> Option<[f64; 3]> {
    let count = points.clone().count() as f64;
    let sum = points.clone().fold([0.0; 2], |sum, p| [sum[0] + p[0], sum[1] + p[1]]);
    let middle = [sum[0] / count, sum[1] / count];
    let far = points.map(|p| (p[0] - middle[0]).hypot(p[1] - middle[1])).sum::<f64>() / count;
    (far > 1e-9).then(|| [std::f64::consts::SQRT_2 / far, middle[0], middle[1]])
}

fn normalised([s, x, y]: &[f64; 3], p: Pair) -> Pair {
    [s * (p[0] - x), s * (p[1] - y)]
}

fn product(a: &[f64; 9], b: &[f64; 9]) -> [f64; 9] {
    std::array::from_fn(|k| (0..3).map(|i| a[k / 3 * 3 + i] * b[i * 3 + k % 3]).sum())
}

/// The eigenvector of the least eigenvalue of a symmetric matrix, by Jacobi's rotations; nothing where there is more than one.
#[expect(clippy::needless_range_loop, reason = "rows and columns are turned by their numbers")]
fn least_vector(mut a: [[f64; 9]; 9]) -> Option<[f64; 9]> {
    let mut v = [[0.0; 9]; 9];
    (0..9).for_each(|i| v[i][i] = 1.0);
    for _ in 0..60 {
        let off: f64 = (0..9)
            .flat_map(|i| (0..i).map(move |j| (i, j)))
            .map(|(i, j)| a[i][j] * a[i][j])
            .sum();
        if off < 1e-26 {
            break;
        }
        for p in 0..9 {
            for q in p + 1..9 {
                if a[p][q].abs() < 1e-300 {
                    continue;
                }
                let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let t = theta.signum() / (theta.abs() + theta.hypot(1.0));
                let t = if theta == 0.0 { 1.0 } else { t };
                let c = 1.0 / t.hypot(1.0);
                let s = t * c;
                for k in 0..9 {
                    (a[k][p], a[k][q]) = (c * a[k][p] - s * a[k][q], s * a[k][p] + c * a[k][q]);
                }
                for k in 0..9 {
                    (a[p][k], a[q][k]) = (c * a[p][k] - s * a[q][k], s * a[p][k] + c * a[q][k]);
                }
                for k in 0..9 {
                    (v[k][p], v[k][q]) = (c * v[k][p] - s * v[k][q], s * v[k][p] + c * v[k][q]);
                }
            }
        }
    }
    let mut order: Vec<usize> = (0..9).collect();
    order.sort_by(|i, j| a[*i][*i].total_cmp(&a[*j][*j]));
    let (least, next, most) = (order[0], a[order[1]][order[1]], a[order[8]][order[8]]);
    (next > 1e-9 * most).then(|| std::array::from_fn(|k| v[k][least]))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The projective map of the unit square to a quadrilateral in closed form (Heckbert, *Fundamentals of Texture Mapping and Image
    /// Warping*, UCB/CSD 89/516, 1989, section 2.2.3): with Δ1 = p1 − p2, Δ2 = p3 − p2, Σ = p0 − p1 + p2 − p3,
    /// g = |Σ Δ2| / |Δ1 Δ2|, h = |Δ1 Σ| / |Δ1 Δ2|.
    fn of_square([p0, p1, p2, p3]: [Pair; 4]) -> [f64; 9] {
        let cross = |a: Pair, b: Pair| a[0] * b[1] - a[1] * b[0];
        let minus = |a: Pair, b: Pair| [a[0] - b[0], a[1] - b[1]];
        let (d1, d2) = (minus(p1, p2), minus(p3, p2));
        let s = [p0[0] - p1[0] + p2[0] - p3[0], p0[1] - p1[1] + p2[1] - p3[1]];
        let (g, h) = (cross(s, d2) / cross(d1, d2), cross(d1, s) / cross(d1, d2));
        let row = |k: usize| [p1[k] - p0[k] + g * p1[k], p3[k] - p0[k] + h * p3[k], p0[k]];
        let (x, y) = (row(0), row(1));
        [x[0], x[1], x[2], y[0], y[1], y[2], g, h, 1.0]
    }

    #[test]
    fn closed_forms_are_found_again() {
        let quads: [[Pair; 4]; 4] = [
            [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]],
            [[100.0, 50.0], [900.0, 120.0], [780.0, 640.0], [160.0, 700.0]],
            [[3000.0, 2000.0], [10.0, 1900.0], [700.0, 30.0], [2500.0, 300.0]],
            [[0.0, 0.0], [4000.0, 0.0], [2100.0, 900.0], [1900.0, 900.0]],
        ];
        for quad in quads {
            let exact = of_square(quad);
            let grid = (0..4).flat_map(|i| (0..4).map(move |j| [f64::from(i) / 3.0, f64::from(j) / 3.0]));
            let marks: Vec<(Pair, Pair)> = grid
                .map(|p| (apply(&exact, p).expect("in front"), [p[0] * 400.0, p[1] * 300.0]))
                .collect();
            let found = homography(&marks).expect("a homography");
            for i in 0..=10 {
                let p = [f64::from(i) / 10.0, f64::from(i * i) / 100.0];
                let [x, y] = apply(&found, apply(&exact, p).expect("in front")).expect("in front");
                assert!(
                    (x - 400.0 * p[0]).hypot(y - 300.0 * p[1]) < 1e-7,
                    "{quad:?} {p:?} {x} {y}"
                );
            }
        }
    }

    #[test]
    fn marks_that_say_nothing_are_refused() {
        let line: Vec<(Pair, Pair)> = (0..9)
            .map(|k| ([f64::from(k) * 10.0, f64::from(k) * 20.0], [f64::from(k), 0.0]))
            .collect();
        assert_eq!(View::through(&line, [100.0, 200.0]), None);
        assert_eq!(View::through(&line[..5], [100.0, 200.0]), None);
        let same: Vec<(Pair, Pair)> = (0..9).map(|_| ([1.0, 1.0], [2.0, 2.0])).collect();
        assert_eq!(View::through(&same, [100.0, 200.0]), None);
        let mut bad = line.clone();
        bad[0].0[0] = f64::NAN;
        assert_eq!(View::through(&bad, [100.0, 200.0]), None);
    }

    /// A lens 1.2 m up sees the edge of 3 mm glass 1.0 mm too far out at 400 mm, that of 6 mm glass 2.0 mm (similar triangles).
    #[test]
    fn thickness_is_taken_off() {
        for (thickness, shift) in [(3.0, 1.0025), (6.0, 2.0101)] {
            let [x, _] = lowered([400.0 + shift, 0.0], [0.0, 0.0], thickness, 1200.0);
            assert!((x - 400.0).abs() < 1e-3, "{x}");
        }
    }

    /// Numbers that look random and are the same every time (Steele, Lea and Flood, SplitMix64, 2014).
    struct Random(u64);

    impl Random {
        /// From 0 to 1.
        fn next(&mut self) -> f64 {
            self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = self.0;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            (z ^ (z >> 31)) as f64 / u64::MAX as f64
        }
    }

    /// A camera at a random height and tilt, with a lens and a hand that touches pixels a little off; sees a plane.
    struct Camera {
        f: f64,
        size: Pair,
        /// Rows of the rotation, then where the camera stands.
        r: [[f64; 3]; 3],
        at: [f64; 3],
        lens: f64,
    }

    impl Camera {
        fn random(rng: &mut Random, lens: f64) -> Self {
            let mut any = |low: f64, high: f64| low + (high - low) * rng.next();
            let height = any(700.0, 1500.0);
            let (tilt, turn, roll) = (
                any(0.0, 0.35),
                any(0.0, std::f64::consts::TAU),
                any(0.0, std::f64::consts::TAU),
            );
            let at = [
                300.0 + height * tilt.sin() * turn.cos(),
                220.0 + height * tilt.sin() * turn.sin(),
                height * tilt.cos(),
            ];
            let target = [300.0 + any(-30.0, 30.0), 220.0 + any(-30.0, 30.0), 0.0];
            let unit = |v: [f64; 3]| {
                let n = v.iter().map(|c| c * c).sum::<f64>().sqrt();
                v.map(|c| c / n)
            };
            let cross = |a: [f64; 3], b: [f64; 3]| {
                [
                    a[1] * b[2] - a[2] * b[1],
                    a[2] * b[0] - a[0] * b[2],
                    a[0] * b[1] - a[1] * b[0],
                ]
            };
            let ahead = unit([target[0] - at[0], target[1] - at[1], target[2] - at[2]]);
            let right = unit(cross(ahead, [roll.cos(), roll.sin(), 0.0]));
            Self {
                f: 3100.0,
                size: [4032.0, 3024.0],
                r: [right, cross(ahead, right), ahead],
                at,
                lens,
            }
        }

        fn sees(&self, [x, y]: Pair) -> Pair {
            let d = [x - self.at[0], y - self.at[1], -self.at[2]];
            let c: [f64; 3] = std::array::from_fn(|k| (0..3).map(|i| self.r[k][i] * d[i]).sum());
            let (u, v) = (self.f * c[0] / c[2], self.f * c[1] / c[2]);
            // The lens moves a point inwards or outwards; found so that straightening it by `lens` gives the point again.
            let half = self.size[0].hypot(self.size[1]) / 2.0;
            let mut by = 1.0;
            for _ in 0..50 {
                by = 1.0 / (1.0 + self.lens * (u * u + v * v) * by * by / (half * half));
            }
            [self.size[0] / 2.0 + u * by, self.size[1] / 2.0 + v * by]
        }
    }

    /// Marks round a table of 600 × 440 mm, mm.
    const RING: [Pair; 12] = [
        [0.0, 0.0],
        [600.0, 0.0],
        [600.0, 440.0],
        [0.0, 440.0],
        [300.0, 0.0],
        [600.0, 220.0],
        [0.0, 220.0],
        [300.0, 440.0],
        [150.0, 0.0],
        [450.0, 0.0],
        [150.0, 440.0],
        [450.0, 440.0],
    ];
    const CORNERS: [Pair; 5] = [
        [80.0, 60.0],
        [520.0, 90.0],
        [480.0, 300.0],
        [250.0, 380.0],
        [90.0, 330.0],
    ];

    /// An offcut's corners in 500 pictures through so many marks, all touched with the loupe: 0.7 px off either way (standard deviation).
    /// The share of corners within `mm`, and of those that lie no farther off than the page says.
    fn within(marks: usize, lens: f64, mm: f64) -> (f64, f64) {
        let mut rng = Random(7);
        let (mut good, mut all, mut told) = (0, 0, 0);
        for _ in 0..500 {
            let camera = Camera::random(&mut rng, lens);
            let mut hand = |[x, y]: Pair| {
                // The sum of six even ones has a variance of a half.
                let mut off = || (0..6).map(|_| rng.next() - 0.5).sum::<f64>();
                [x + off(), y + off()]
            };
            let ring = RING[..marks].iter();
            let touched: Vec<(Pair, Pair)> = ring.map(|mark| (hand(camera.sees(*mark)), *mark)).collect();
            let view = View::through(&touched, camera.size).expect("marks all round");
            for corner in CORNERS {
                let [x, y] = view.at(hand(camera.sees(corner))).expect("in front");
                let off = (x - corner[0]).hypot(y - corner[1]);
                all += 1;
                good += i32::from(off <= mm);
                told += i32::from(off <= 3.5 * view.spread + 0.1);
            }
        }
        (f64::from(good) / f64::from(all), f64::from(told) / f64::from(all))
    }

    #[test]
    fn corners_are_found_within_a_millimetre_and_the_residual_says_how_well() {
        for (marks, lens, mm) in [(12, 0.0, 1.0), (8, 0.0, 1.0), (12, 0.03, 1.0), (7, 0.005, 2.5)] {
            let (good, told) = within(marks, lens, mm);
            let case = format!("{marks} marks, lens {lens}: {good} within {mm} mm, {told} as told");
            assert!(good >= 0.95 && told >= 0.95, "{case}");
        }
    }
}
