//! What of a cut sheet goes back to the rack.
//!
//! An offcut is worth racking when it comes off by one straight run from edge to edge of the glass in hand, leaves the pieces'
//! side whole, and passes the keep rule. [`returned`] looks for the runs that give the most.

use cullet_geometry::run::cut_by_line;
use cullet_geometry::tolerance::SHORT;
use cullet_geometry::{Outline, Point};
use geo::{Area, BooleanOps, ConvexHull, LineString, MultiPoint, MultiPolygon, Polygon, Rotate, unary_union};

/// Runs one after the other on an upright sheet: one a side.
const MOST_RUNS: u32 = 4;
/// Runs one after the other where there are many directions: two bound the pieces' corner of a sheet.
const MOST_SLANTED_RUNS: u32 = 2;
/// Directions tried on an irregular offcut: the work grows with the square of their number.
const MOST_DIRECTIONS: usize = 24;
/// Directions nearer than this are one, as a cosine (about 0.03°).
const SAME_DIRECTION: f64 = 1.0 - 1e-7;
/// Areas nearer than this are equal, mm²; far below what a run can follow.
const SAME_AREA: f64 = 1e-3;
/// Corners nearer to a run lie on it, mm; a few times what the cut itself allows.
const ON_LINE: f64 = 1e-5;
/// What the square must keep off the sides, mm: far above the rounding of booleans, which else leaves hairs along them that
/// look like room to stand.
const HAIR: f64 = 1e-4;

/// The offcuts that go back to the rack when `pieces` (cut outlines in the sheet's frame) are cut from `sheet`, in the order
/// of their runs.
///
/// Each is parted by one straight run at least `strip` mm (the narrowest strip that breaks) from every piece: upright or level,
/// on an irregular sheet also along its own sides and along the pieces' hull. Each holds a square of `keep` mm, free of
/// `flaws`, upright or along one of its long sides; flaws elsewhere on it are kept with it. Of all sets of up to four runs
/// (two on an irregular sheet) the one of largest area is taken, among equal ones that with the largest single offcut.
///
/// Empty when no piece lies on the sheet, since it is not pulled then. Exact to rounding. Cost
/// O(d² n log n) for d directions (at most 24) and n sides; on an upright sheet 24 orders of four runs.
///
/// ```
/// use cullet_geometry::Outline;
/// use cullet_planner::leftover::returned;
/// // A piece of 300 × 800 fills the left of a sheet of 1000 × 800; the run stands 8 mm off it.
/// let back = returned(&Outline::rectangle(1000.0, 800.0), &[], &[Outline::rectangle(300.0, 800.0)], 8.0, 150.0);
/// assert_eq!(back.len(), 1);
/// assert!((back[0].area() - (1000.0 - 308.0) * 800.0).abs() < 1e-6);
/// ```
#[must_use]
pub fn returned(sheet: &Outline, flaws: &[Outline], pieces: &[Outline], strip: f64, keep: f64) -> Vec<Outline> {
    if pieces.is_empty() {
        return vec![];
    }
    let corners: MultiPoint<f64> = pieces
        .iter()
        .flat_map(|p| p.points().to_vec())
        .collect::<Vec<_>>()
        .into();
    let hull = corners.convex_hull();
    let runs: Vec<Run> = directions(sheet, &hull)
        .into_iter()
        .map(|normal| Run::beyond(&hull, normal, strip))
        .collect();
    let rule = KeepRule { keep, flaws };
    let most = if runs.len() > 4 { MOST_SLANTED_RUNS } else { MOST_RUNS };
    best(sheet, &runs, &rule, most).parts
}

/// Whether an offcut passes the keep rule: a square of `keep` mm, free of `flaws`, fits inside.
pub(crate) fn keeps(offcut: &Outline, flaws: &[Outline], keep: f64) -> bool {
    KeepRule { keep, flaws }.keeps(offcut)
}

/// A straight run: what lies beyond it has `normal · p ≥ at`.
#[derive(Clone, Copy)]
struct Run {
    normal: Point,
    at: f64,
}

impl Run {
    /// The nearest run to the pieces with their hull on its inner side.
    fn beyond(hull: &Polygon<f64>, normal: Point, strip: f64) -> Self {
        let reach = hull.exterior().coords().map(|p| dot(normal, *p));
        Self {
            normal,
            at: reach.fold(f64::NEG_INFINITY, f64::max) + strip,
        }
    }

    /// The parts beyond the run that `rule` keeps, and the glass in hand after that where another run may follow; `None`
    /// where nothing is kept.
    ///
    /// Where the sheet has bays the line crosses it several times: each part beyond comes off by a run of its own, if one
    /// stretch of the line bounds it. Another run may follow when nothing but the pieces' part is left.
    fn part(self, in_hand: &Outline, rule: &KeepRule<'_>) -> Option<(Vec<Outline>, Option<Outline>)> {
        let outwards = self.normal.y.atan2(self.normal.x).to_degrees();
        let (mut inner, beyond) = cut_by_line(in_hand, self.normal * self.at, outwards + 90.0);
        let all = beyond.len();
        let kept: Vec<Outline> = beyond
            .into_iter()
            .filter(|o| self.stretches(o) == 1 && rule.keeps(o))
            .collect();
        if kept.is_empty() {
            return None;
        }
        let rest = inner.pop().filter(|_| inner.is_empty() && kept.len() == all);
        Some((kept, rest))
    }

    /// How many sides of a part lie on the run.
    fn stretches(self, part: &Outline) -> usize {
        let on_line = |p: Point| (dot(self.normal, p) - self.at).abs() <= ON_LINE;
        let points = part.points();
        let next = points.iter().cycle().skip(1);
        points
            .iter()
            .zip(next)
            .filter(|(a, b)| on_line(**a) && on_line(**b))
            .count()
    }
}

/// Offcuts found, and what they are worth.
#[derive(Default)]
struct Found {
    parts: Vec<Outline>,
    total: f64,
    largest: f64,
}

impl Found {
    fn with(parts: Vec<Outline>, more: Self) -> Self {
        let areas = || parts.iter().map(Outline::area);
        Self {
            total: areas().sum::<f64>() + more.total,
            largest: areas().fold(more.largest, f64::max),
            parts: parts.iter().cloned().chain(more.parts).collect(),
        }
    }

    fn beats(&self, other: &Self) -> bool {
        self.total > other.total + SAME_AREA
            || (self.total > other.total - SAME_AREA && self.largest > other.largest + SAME_AREA)
    }
}

/// The best of at most `runs_left` runs after one another.
fn best(in_hand: &Outline, runs: &[Run], rule: &KeepRule<'_>, runs_left: u32) -> Found {
    let mut found = Found::default();
    if runs_left == 0 {
        return found;
    }
    for run in runs {
        if let Some((parts, rest)) = run.part(in_hand, rule) {
            let candidate = Found::with(
                parts,
                rest.map_or_else(Found::default, |rest| best(&rest, runs, rule, runs_left - 1)),
            );
            if candidate.beats(&found) {
                found = candidate;
            }
        }
    }
    found
}

/// Outward normals of the runs to try: right, top, left, bottom; on a sheet with other sides also those of its long sides and
/// of the pieces' hull, the longest first.
fn directions(sheet: &Outline, hull: &Polygon<f64>) -> Vec<Point> {
    let mut found: Vec<Point> = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
        .map(|(x, y)| Point { x, y })
        .to_vec();
    let sheet = sheet.to_polygon();
    let is_upright = sheet.exterior().lines().all(|l| l.dx() == 0.0 || l.dy() == 0.0);
    if is_upright {
        return found;
    }
    let mut sides: Vec<(f64, Point)> = sheet
        .exterior()
        .lines()
        .chain(hull.exterior().lines())
        .map(|l| (l.dx().hypot(l.dy()), l.delta()))
        .filter(|(length, _)| *length > 0.0)
        // Counter-clockwise: the outside is on the right. A run may face either way along a side of the sheet.
        .flat_map(|(length, d)| {
            [1.0, -1.0].map(|s| {
                (
                    length,
                    Point {
                        x: s * d.y / length,
                        y: -s * d.x / length,
                    },
                )
            })
        })
        .collect();
    sides.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (_, normal) in sides {
        if found.len() == MOST_DIRECTIONS {
            break;
        }
        if found.iter().all(|f| dot(*f, normal) < SAME_DIRECTION) {
            found.push(normal);
        }
    }
    found
}

/// When an offcut is worth racking.
struct KeepRule<'f> {
    keep: f64,
    flaws: &'f [Outline],
}

impl KeepRule<'_> {
    /// Whether a square of the keep size fits, free of flaws.
    fn keeps(&self, offcut: &Outline) -> bool {
        let size = self.keep - SHORT;
        if size <= 0.0 {
            return true;
        }
        if offcut.area() < size * size {
            return false;
        }
        let polygon = offcut.to_polygon();
        let bounds = offcut.bounds();
        let near = |flaw: &&Outline| {
            let other = flaw.bounds();
            other.min.x <= bounds.max.x
                && other.max.x >= bounds.min.x
                && other.min.y <= bounds.max.y
                && other.max.y >= bounds.min.y
        };
        let flaws: Vec<Polygon<f64>> = self.flaws.iter().filter(near).map(Outline::to_polygon).collect();
        // Most are told by their size alone: strips are too narrow, upright rectangles wide enough.
        let (wide, high) = (bounds.width(), bounds.height());
        let fills_bounds = offcut.area() >= wide * high * (1.0 - 1e-12);
        if flaws.is_empty() && fills_bounds && wide.min(high) >= size + 10.0 * HAIR {
            return true;
        }
        if width(&polygon.convex_hull()) < size - 10.0 * HAIR {
            return false;
        }
        self.turns(&polygon).into_iter().any(|turn| {
            let origin = geo::Point::new(0.0, 0.0);
            let flaws: Vec<_> = flaws.iter().map(|f| f.rotate_around_point(-turn, origin)).collect();
            square_stands(&polygon.rotate_around_point(-turn, origin), &flaws, size)
        })
    }

    /// Angles of the square to try, degrees: upright, and along the sides that are long enough to matter.
    fn turns(&self, polygon: &Polygon<f64>) -> Vec<f64> {
        let mut turns = vec![0.0];
        for side in polygon.exterior().lines() {
            let turn = side.dy().atan2(side.dx()).to_degrees().rem_euclid(90.0);
            let is_long = side.dx().hypot(side.dy()) >= self.keep / 2.0;
            if is_long && turns.iter().all(|t: &f64| (t - turn).abs() > 0.01) && turns.len() < MOST_DIRECTIONS {
                turns.push(turn);
            }
        }
        turns
    }
}

/// The smallest distance between two parallel lines that hold a convex polygon, mm.
fn width(hull: &Polygon<f64>) -> f64 {
    let sides = hull.exterior().lines().filter(|l| l.dx() != 0.0 || l.dy() != 0.0);
    let across = sides.map(|l| {
        let length = l.dx().hypot(l.dy());
        let off = |p: &Point| (l.dx() * (p.y - l.start.y) - l.dy() * (p.x - l.start.x)).abs() / length;
        hull.exterior().coords().map(off).fold(0.0, f64::max)
    });
    across.fold(f64::INFINITY, f64::min)
}

/// Whether an upright square fits into `polygon` clear of `flaws`: its lower left corner must lie where no side, moved over the
/// square's mirror image in its corner, passes.
fn square_stands(polygon: &Polygon<f64>, flaws: &[Polygon<f64>], size: f64) -> bool {
    let sides = std::iter::once(polygon).chain(flaws).flat_map(|p| p.exterior().lines());
    let mut barred: Vec<Polygon<f64>> = sides
        .map(|side| {
            let corners: Vec<Point> = [side.start, side.end]
                .into_iter()
                .flat_map(|p| {
                    let (low, high) = (-HAIR, size + HAIR);
                    [(low, low), (high, low), (high, high), (low, high)].map(|(x, y)| Point { x: p.x - x, y: p.y - y })
                })
                .collect();
            Polygon::new(LineString::from(corners), vec![]).convex_hull()
        })
        .collect();
    barred.extend(flaws.iter().cloned());
    let barred: MultiPolygon<f64> = unary_union(&barred);
    polygon.difference(&barred).unsigned_area() > 0.0
}

fn dot(a: Point, b: Point) -> f64 {
    a.x * b.x + a.y * b.y
}

#[cfg(test)]
mod tests;
