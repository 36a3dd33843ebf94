//! What goes back to the rack: on the sheet, clear of pieces and of each other, big enough, each parted by one straight run.

use super::shape::{Shape, area, polygon_of};
use super::sheets::overlap;
use super::{Check, Sheet, TOLERANCE, copy_name};
use cullet_geometry::Outline;
use cullet_model::Style;
use geo::{Area, BooleanOps, Coord, Polygon, Rotate, unary_union};

/// How far a side may lie from the boundary that it is to follow, mm: clipping on a grid of 1e-4 mm moves it that much.
const ON_BOUNDARY: f64 = 0.005;
/// What the keep square must stay off the sides, mm: above the rounding of booleans, so that no hair of an area along a side
/// passes for room.
const HAIR: f64 = 1e-4;

pub(super) fn check(check: &mut Check<'_>, sheet: &Sheet<'_>) {
    let number = sheet.layout.number;
    let shapes: Vec<Shape> = sheet.layout.returned.iter().map(Shape::of).collect();
    for (i, (outline, shape)) in sheet.layout.returned.iter().zip(&shapes).enumerate() {
        let name = name(i);
        let out = shape.overhang_depth(&sheet.shape);
        if out > TOLERANCE {
            check.fault(number, &name, format!("it reaches {out:.3} mm over the sheet's edge"));
        }
        for laid in &sheet.laid {
            let depth = overlap(shape, &laid.cut);
            if depth > TOLERANCE {
                let place = format!("{name} and {}", copy_name(laid.placement));
                check.fault(number, place, format!("they overlap, {depth:.3} mm deep"));
            }
        }
        for (j, other) in shapes.iter().enumerate().skip(i + 1) {
            let depth = overlap(shape, other);
            if depth > TOLERANCE {
                let place = format!("{name} and {}", self::name(j));
                check.fault(number, place, format!("they overlap, {depth:.3} mm deep"));
            }
        }
        let keep = check.job.keep;
        if !has_square(outline, keep) {
            let what = format!("no {keep:.3} mm square fits inside, the keep rule asks for one");
            check.fault(number, &name, what);
        }
    }
    // In straight runs an offcut may lie between pieces: there the breaking order says how it comes off.
    if sheet.layout.style == Style::StraightRun {
        return;
    }
    for i in not_parted(&sheet.layout.stock.outline, &sheet.layout.returned) {
        let what = "no single straight run from edge to edge parts it from the glass in hand";
        check.fault(number, name(i), what);
    }
}

fn name(index: usize) -> String {
    format!("returned offcut {}", index + 1)
}

/// Whether a square of side `keep` fits inside, upright or along one of the sides.
///
/// A square with its lower left corner at c reaches outside just where c is outside or c lies in some side swept by the
/// square's point reflection; so what is left of the outline without all those sweeps is where such squares can stand.
fn has_square(outline: &Outline, keep: f64) -> bool {
    let polygon = polygon_of(outline);
    // A hair smaller, so that an exact fit leaves a place to stand.
    let size = keep - TOLERANCE;
    if size <= 0.0 {
        return true;
    }
    if area(outline) < size * size {
        return false;
    }
    let mut tried: Vec<f64> = vec![];
    for side in std::iter::once(0.0).chain(polygon.exterior().lines().map(|l| {
        let slope = l.delta();
        slope.y.atan2(slope.x).to_degrees()
    })) {
        let turn = side.rem_euclid(90.0);
        if tried.iter().any(|t| (t - turn).abs() < 1e-3) {
            continue;
        }
        tried.push(turn);
        if has_upright_square(&polygon.rotate_around_point(-turn, geo::Point::new(0.0, 0.0)), size) {
            return true;
        }
    }
    false
}

fn has_upright_square(polygon: &Polygon<f64>, size: f64) -> bool {
    let sweeps: Vec<Polygon<f64>> = polygon
        .exterior()
        .lines()
        .map(|side| {
            let (low, high) = (-HAIR, size + HAIR);
            let corners = [side.start, side.end].into_iter().flat_map(|p| {
                [(low, low), (high, low), (high, high), (low, high)].map(|(x, y)| Coord { x: p.x - x, y: p.y - y })
            });
            geo::ConvexHull::convex_hull(&geo::MultiPoint::from(corners.collect::<Vec<_>>()))
        })
        .collect();
    let swept = unary_union(&sweeps);
    polygon.difference(&swept).unsigned_area() > 0.0
}

/// Which of `returned` cannot be parted: each in turn is taken off the glass in hand where one straight run does it, until no
/// more can be.
fn not_parted(sheet: &Outline, returned: &[Outline]) -> Vec<usize> {
    let mut in_hand = polygon_of(sheet);
    let mut left: Vec<usize> = (0..returned.len()).collect();
    loop {
        let boundary = Shape::new(in_hand.clone());
        let Some(at) = left.iter().position(|i| parts_by_one_run(&returned[*i], &boundary)) else {
            return left;
        };
        let taken = polygon_of(&returned[left.remove(at)]);
        let rest = in_hand.difference(&taken);
        let largest = rest
            .into_iter()
            .max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()));
        let Some(rest) = largest else { return left };
        in_hand = rest;
    }
}

/// Whether all of the boundary follows that of the glass in hand, but for one straight stretch.
fn parts_by_one_run(offcut: &Outline, in_hand: &Shape) -> bool {
    let polygon = polygon_of(offcut);
    let sides: Vec<_> = polygon.exterior().lines().collect();
    let follows: Vec<bool> = sides
        .iter()
        .map(|s| {
            [s.start, (s.start + s.end) / 2.0, s.end]
                .iter()
                .all(|p| in_hand.boundary_distance(*p) <= ON_BOUNDARY)
        })
        .collect();
    // Where the one stretch that leaves the boundary begins.
    let n = sides.len();
    let starts: Vec<usize> = (0..n).filter(|i| !follows[*i] && follows[(i + n - 1) % n]).collect();
    let [start] = starts[..] else { return false };
    let run: Vec<usize> = (0..n).map(|k| (start + k) % n).take_while(|i| !follows[*i]).collect();
    let (from, to) = (sides[start].start, sides[run[run.len() - 1]].end);
    let along = to - from;
    let length = along.x.hypot(along.y);
    let ends_on_edge = [from, to].iter().all(|p| in_hand.boundary_distance(*p) <= ON_BOUNDARY);
    let off_line = |p: Coord<f64>| ((p.x - from.x) * along.y - (p.y - from.y) * along.x).abs() / length;
    length > 0.0 && ends_on_edge && run.iter().all(|i| off_line(sides[*i].end) <= ON_BOUNDARY)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outline(points: &[[f64; 2]]) -> Outline {
        Outline::new(points.iter().map(|[x, y]| Coord { x: *x, y: *y }).collect()).unwrap()
    }

    #[test]
    fn the_keep_square() {
        let rect = Outline::rectangle;
        for (shape, keep, expect) in [
            (rect(150.0, 150.0), 150.0, true),
            (rect(150.0, 900.0), 150.0, true),
            (rect(149.9, 900.0), 150.0, false),
            // A right triangle of legs 300 holds a square of 150, no larger (half the leg).
            (outline(&[[0.0, 0.0], [300.0, 0.0], [0.0, 300.0]]), 150.0, true),
            (outline(&[[0.0, 0.0], [299.0, 0.0], [0.0, 299.0]]), 150.0, false),
            // An L of arms 100: its inner corner holds nothing wider than 100.
            (
                outline(&[
                    [0.0, 0.0],
                    [400.0, 0.0],
                    [400.0, 100.0],
                    [100.0, 100.0],
                    [100.0, 400.0],
                    [0.0, 400.0],
                ]),
                150.0,
                false,
            ),
            // A square on its point, sides 200.
            (
                outline(&[[0.0, -141.422], [141.422, 0.0], [0.0, 141.422], [-141.422, 0.0]]),
                199.0,
                true,
            ),
        ] {
            assert_eq!(has_square(&shape, keep), expect, "{shape:?}");
        }
    }

    #[test]
    fn runs_follow_one_another() {
        let sheet = Outline::rectangle(1000.0, 800.0);
        let right = outline(&[[700.0, 0.0], [1000.0, 0.0], [1000.0, 800.0], [700.0, 800.0]]);
        let top = outline(&[[0.0, 500.0], [700.0, 500.0], [700.0, 800.0], [0.0, 800.0]]);
        assert_eq!(not_parted(&sheet, std::slice::from_ref(&right)), Vec::<usize>::new());
        assert_eq!(not_parted(&sheet, &[top.clone(), right]), Vec::<usize>::new());
        assert_eq!(not_parted(&sheet, &[top]), [0]);
        let middle = outline(&[[300.0, 0.0], [600.0, 0.0], [600.0, 800.0], [300.0, 800.0]]);
        assert_eq!(not_parted(&sheet, &[middle]), [0]);
    }
}
