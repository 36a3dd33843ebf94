//! The largest rectangle that fits inside an outline, which is what an offcut is worth.
//!
//! A band between two heights cuts the outline's inside into free stretches that no side enters. The largest upright
//! rectangle is the widest free stretch of the best band, so the search is over two heights: first every pair out of
//! a list (the corners' heights among them, which is exact for right-angled outlines), then closer and closer round
//! the best few.

use crate::clipper::{self, GRID_PER_MM, GridPoint, GridShapes, to_grid, to_mm};
use crate::{Bounds, Outline, Point};

/// A rectangle narrower than this either way, mm, is of no use to anyone and not looked for.
const NARROWEST_MM: f64 = 1.0;

/// How many heights are tried pair by pair. All corners' heights are when there are no more than these.
const MOST_HEIGHTS: usize = 104;

/// Heights spread evenly when the outline has slanting sides.
const EVEN_HEIGHTS: usize = 40;

/// How many bands are looked at more closely, and how many of those to the last digit.
const STARTS: usize = 20;
const FINALISTS: usize = 3;

/// How much too large a square may be and still count as fitting, mm: ten grid steps. Half of it is given to the search
/// on the grid, the rest to the check in full precision.
const FIT_MM: f64 = 1e-3;

/// An upright (axis-parallel) rectangle inside `outline`, as large as found; `None` for an outline with none wider than
/// 1 mm either way. Exact for upright rectangles and right-angled outlines of up to 104 corner heights; elsewhere at
/// least 99 % of the largest as a rule (tested on random stars; no bound is proven). Cost about 15 000 passes over the sides at most, some milliseconds for 50 corners.
///
/// ```
/// use cullet_geometry::{Outline, Point, rectangle};
/// let p = |x, y| Point { x, y };
/// // A right triangle holds a rectangle of half its area.
/// let offcut = Outline::new(vec![p(0.0, 0.0), p(400.0, 0.0), p(0.0, 300.0)])?;
/// let best = rectangle::largest_upright(&offcut).map(|b| b.width() * b.height());
/// assert!(best.is_some_and(|area| area > 0.9999 * 30_000.0 && area < 30_000.001));
/// # Ok::<(), cullet_geometry::OutlineError>(())
/// ```
#[must_use]
pub fn largest_upright(outline: &Outline) -> Option<Bounds> {
    let sides = sides_of(outline);
    let slanting = sides.iter().any(|s| s.low.x != s.high.x && s.low.y != s.high.y);
    let (heights, all_corners) = heights_to_try(outline, slanting);
    let mut found = best_bands(&sides, &heights);
    // Between corners' heights a right-angled outline has nothing more to find.
    if slanting || !all_corners {
        let around = around(outline, &heights);
        let fine = around / 64.0;
        for band in &mut found {
            refine(&sides, band, around, fine);
        }
        found.sort_by(|a, b| b.area.total_cmp(&a.area));
        found.truncate(FINALISTS);
        for band in &mut found {
            refine(&sides, band, fine * 2.0, 1e-6);
        }
    }
    found
        .into_iter()
        .reduce(|best, band| if band.area > best.area { band } else { best })
        .map(|band| Bounds {
            min: Point {
                x: band.stretch.0,
                y: band.low,
            },
            max: Point {
                x: band.stretch.1,
                y: band.high,
            },
        })
}

/// Whether an upright square with sides of `side` mm fits inside `outline`, touching allowed; exact to 1e-3 mm in the
/// side. Used by the rule that an offcut is kept when a rectangle at least so wide both ways fits into it.
///
/// The square is slid round the outside of every side (Minkowski sum, on the integer grid): it fits if a place for its
/// lower left corner is left over. Cost about O(n² log n) at worst, far less for usual outlines.
///
/// # Panics
/// If `side` is negative or not a number.
///
/// ```
/// use cullet_geometry::{Outline, rectangle};
/// let strip = Outline::rectangle(600.0, 150.0);
/// assert!(rectangle::fits_square(&strip, 150.0));
/// assert!(!rectangle::fits_square(&strip, 150.01));
/// ```
#[must_use]
pub fn fits_square(outline: &Outline, side: f64) -> bool {
    assert!(side >= 0.0, "a square of side {side} mm was asked for");
    let bounds = outline.bounds();
    let certain = side - FIT_MM;
    if certain > bounds.width().min(bounds.height()) {
        return false;
    }
    let reach = ((side - FIT_MM / 2.0) * GRID_PER_MM).floor() as i64;
    if reach <= 0 {
        return true;
    }
    let corners: Vec<GridPoint> = outline.points().iter().map(|p| to_grid(*p)).collect();
    let barred = corners
        .iter()
        .enumerate()
        .map(|(i, a)| swept_square(*a, corners[(i + 1) % corners.len()], reach));
    let places = clipper::difference(&GridShapes::from_outlines([outline]), &GridShapes::from_rings(barred));
    // Rounding on the grid can leave a hair of a place where there is none, so each is tried.
    let sides = sides_of(outline);
    let mut scratch = vec![];
    places.iter().flat_map(|place| place.exterior().0.iter()).any(|corner| {
        let low = to_mm(*corner).y;
        band(&sides, low, low + certain, 0.0, &mut scratch).is_some_and(|b| b.stretch.1 - b.stretch.0 >= certain)
    })
}

/// Where the lower left corner of a square must not lie lest the square meet the side from `a` to `b`.
fn swept_square(a: GridPoint, b: GridPoint, reach: i64) -> Vec<GridPoint> {
    let (a, b) = if (a.x, a.y) <= (b.x, b.y) { (a, b) } else { (b, a) };
    let at = |p: GridPoint, left: i64, down: i64| GridPoint {
        x: p.x - left * reach,
        y: p.y - down * reach,
    };
    if a.y <= b.y {
        vec![
            at(a, 1, 1),
            at(a, 0, 1),
            at(b, 0, 1),
            at(b, 0, 0),
            at(b, 1, 0),
            at(a, 1, 0),
        ]
    } else {
        vec![
            at(a, 1, 1),
            at(b, 1, 1),
            at(b, 0, 1),
            at(b, 0, 0),
            at(a, 0, 0),
            at(a, 1, 0),
        ]
    }
}

/// A side of the outline, lower end first.
#[derive(Clone, Copy)]
struct Side {
    low: Point,
    high: Point,
}

/// A band of heights with its widest free stretch.
#[derive(Clone, Copy)]
struct Band {
    low: f64,
    high: f64,
    stretch: (f64, f64),
    area: f64,
}

fn sides_of(outline: &Outline) -> Vec<Side> {
    let points = outline.points();
    points
        .iter()
        .enumerate()
        .map(|(i, &a)| {
            let b = points[(i + 1) % points.len()];
            let (low, high) = if a.y <= b.y { (a, b) } else { (b, a) };
            Side { low, high }
        })
        .collect()
}

/// Heights at which a best rectangle may begin or end: corners' heights, and even steps if any side slants; and whether
/// all corners are among them.
fn heights_to_try(outline: &Outline, slanting: bool) -> (Vec<f64>, bool) {
    let bounds = outline.bounds();
    let mut heights: Vec<f64> = outline.points().iter().map(|p| p.y).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    let room = if slanting {
        MOST_HEIGHTS - EVEN_HEIGHTS
    } else {
        MOST_HEIGHTS
    };
    let all_corners = heights.len() <= room;
    if !all_corners {
        let last = heights.len() - 1;
        heights = (0..room).map(|i| heights[i * last / (room - 1)]).collect();
    }
    if slanting {
        let step = bounds.height() / (EVEN_HEIGHTS - 1) as f64;
        heights.extend((0..EVEN_HEIGHTS).map(|i| bounds.min.y + step * i as f64));
        heights.sort_by(f64::total_cmp);
        heights.dedup();
    }
    (heights, all_corners)
}

/// How far from a height of the list the next one may be, about.
fn around(outline: &Outline, heights: &[f64]) -> f64 {
    let height = outline.bounds().height();
    heights
        .windows(2)
        .map(|w| w[1] - w[0])
        .fold(0.0, f64::max)
        .min(height / 4.0)
}

/// The best bands between two of the heights, no two of them with nearly the same heights.
fn best_bands(sides: &[Side], heights: &[f64]) -> Vec<Band> {
    let mut bands = vec![];
    let mut scratch = vec![];
    for (i, &low) in heights.iter().enumerate() {
        bands.extend(
            heights[i + 1..]
                .iter()
                .filter_map(|&high| band(sides, low, high, NARROWEST_MM, &mut scratch)),
        );
    }
    bands.sort_by(|a, b| b.area.total_cmp(&a.area));
    let span = heights.last().zip(heights.first()).map_or(0.0, |(a, b)| a - b);
    let near = span / EVEN_HEIGHTS as f64 * 1.5;
    let mut chosen: Vec<Band> = vec![];
    for band in bands {
        let alike = |c: &Band| (c.low - band.low).abs() <= near && (c.high - band.high).abs() <= near;
        if !chosen.iter().any(alike) {
            chosen.push(band);
        }
        if chosen.len() == STARTS {
            break;
        }
    }
    chosen
}

/// Looks closer and closer round a band, in a net of 7 × 7 bands that shrinks by half, from `around` to `until` mm.
fn refine(sides: &[Side], best: &mut Band, around: f64, until: f64) {
    const HALF: i32 = 3;
    let mut scratch = vec![];
    let mut reach = around;
    while reach > until {
        let centre = *best;
        for i in -HALF..=HALF {
            for j in -HALF..=HALF {
                let step = |k: i32| reach * f64::from(k) / f64::from(HALF);
                let tried = band(
                    sides,
                    centre.low + step(i),
                    centre.high + step(j),
                    NARROWEST_MM,
                    &mut scratch,
                );
                if let Some(better) = tried.filter(|t| t.area > best.area) {
                    *best = better;
                }
            }
        }
        reach *= 0.5;
    }
}

/// The widest free stretch between two heights, `None` if there is none wider than `narrowest` either way.
fn band(sides: &[Side], low: f64, high: f64, narrowest: f64, scratch: &mut Vec<(f64, f64, bool)>) -> Option<Band> {
    if high - low <= narrowest {
        return None;
    }
    let middle = (low + high) / 2.0;
    scratch.clear();
    for side in sides {
        if side.high.y <= low || side.low.y >= high {
            continue;
        }
        let (a, b) = (x_at(side, low), x_at(side, high));
        let crosses_middle = side.low.y <= middle && middle < side.high.y;
        scratch.push((a.min(b), a.max(b), crosses_middle));
    }
    scratch.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut widest: Option<(f64, f64)> = None;
    let mut inside = false;
    let mut reached = f64::NEG_INFINITY;
    for &(from, to, crosses_middle) in scratch.iter() {
        let width = widest.map_or(narrowest, |(a, b)| b - a);
        if inside && from - reached > width {
            widest = Some((reached, from));
        }
        reached = reached.max(to);
        inside ^= crosses_middle;
    }
    widest.map(|stretch| Band {
        low,
        high,
        stretch,
        area: (stretch.1 - stretch.0) * (high - low),
    })
}

/// Where a side is at a height, or the end of it that is nearer when it does not reach it. A level side within the band
/// spans from its one end to the other.
fn x_at(side: &Side, height: f64) -> f64 {
    if height <= side.low.y {
        side.low.x
    } else if height >= side.high.y {
        side.high.x
    } else {
        let t = (height - side.low.y) / (side.high.y - side.low.y);
        side.low.x + t * (side.high.x - side.low.x)
    }
}
