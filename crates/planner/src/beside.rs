//! Pieces that lie beside each other in the window and fit along their lead line.
//!
//! Between two cut outlines of a drawing is what the heart of the came takes less both grinding allowances: a few tenths of a
//! millimetre, all along the line, however it curves. Where that is no more than is ground off both anyway, one score in the middle
//! parts them.

use cullet_geometry::boolean::{self, Region};
use cullet_geometry::tolerance::SINK;
use cullet_geometry::{Bounds, Outline, Point, ring};

/// What is kept below the most that is ground off an edge, mm: the places between corners of flattened curves lie a little further apart.
const BETWEEN: f64 = 0.05;
/// What two outlines that only touch may have in common by rounding, mm².
const OVERLAP: f64 = 0.01;
/// What is left free on either side of the middle between two pieces, mm: room for the wheel to find its way.
pub(super) const ROOM: f64 = 0.1;

/// How far apart two cut outlines may lie to share a score, mm: nothing where nothing is ground off.
pub(super) fn most_apart(kerf: f64, ground_off: f64) -> Option<f64> {
    (ground_off > BETWEEN + ROOM).then_some(kerf + 2.0 * (ground_off - BETWEEN - ROOM))
}

/// How long two outlines run along each other, `kerf` to `most` apart, mm; nothing where they are nearer anywhere. Cost O(n·m) for
/// outlines whose bounds meet.
pub(super) fn run(one: &Outline, other: &Outline, kerf: f64, most: f64) -> Option<f64> {
    if !may_meet(one, other, most) {
        return Some(0.0);
    }
    // Pieces of a list all lie at the origin.
    if other.contains(one.inner_point()) || one.contains(other.inner_point()) {
        return None;
    }
    let common: f64 = boolean::intersection(one, other).iter().map(Region::area).sum();
    if common > OVERLAP || one.distance_to(other) < kerf - SINK {
        return None;
    }
    let near = |p: Point| ring::is_on(other.points(), p, most);
    let along = ring::sides(one.points()).filter(|(p, q)| near(*p) && near(*q) && near((*p + *q) / 2.0));
    Some(
        along
            .map(|(p, q)| ring::length(q - p))
            .fold(0.0, |sum, side| sum + side),
    )
}

/// Whether the bounds of two outlines come so near each other.
pub(super) fn may_meet(one: &Outline, other: &Outline, most: f64) -> bool {
    bounds_meet(&one.bounds(), &other.bounds(), most)
}

/// The pairs of outlines whose bounds come so near each other.
pub(super) fn that_may_meet(outlines: &[Outline], most: f64) -> Vec<(usize, usize)> {
    let bounds: Vec<Bounds> = outlines.iter().map(Outline::bounds).collect();
    let mut across: Vec<usize> = (0..outlines.len()).collect();
    across.sort_by(|a, b| bounds[*a].min.x.total_cmp(&bounds[*b].min.x));
    let mut pairs = vec![];
    for (k, i) in across.iter().enumerate() {
        let beyond = bounds[*i].max.x + most;
        for j in across[k + 1..].iter().take_while(|j| bounds[**j].min.x <= beyond) {
            if bounds_meet(&bounds[*i], &bounds[*j], most) {
                pairs.push((*i, *j));
            }
        }
    }
    pairs
}

fn bounds_meet(a: &Bounds, b: &Bounds, most: f64) -> bool {
    let apart = [
        b.min.x - a.max.x,
        a.min.x - b.max.x,
        b.min.y - a.max.y,
        a.min.y - b.max.y,
    ];
    apart.iter().all(|gap| *gap <= most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// A band along half a ring, from radius `inner` to `outer`.
    fn band(inner: f64, outer: f64) -> Outline {
        let at = |r: f64, k: u32| {
            let (sin, cos) = (PI * f64::from(k) / 180.0).sin_cos();
            Point { x: r * cos, y: r * sin }
        };
        let outside = (0..=180).map(|k| at(outer, k));
        Outline::new(outside.chain((0..=180).rev().map(|k| at(inner, k))).collect()).unwrap()
    }

    /// Two bands with 0.2 mm between them run along each other for half a circle of 100 mm radius, 314 mm.
    #[test]
    fn two_bands_of_one_ring() {
        let (inner, outer) = (band(60.0, 99.9), band(100.1, 140.0));
        let most = most_apart(0.0, 0.5).unwrap();
        let along = run(&inner, &outer, 0.0, most).unwrap();
        assert!((along - PI * 99.9).abs() < 1.0, "{along}");
        assert_eq!(run(&inner, &band(101.0, 140.0), 0.0, most), Some(0.0));
        let wide = most_apart(0.3, 0.5).unwrap();
        assert_eq!(run(&inner, &outer, 0.3, wide), None, "the score takes 0.3 mm");
        assert_eq!(run(&inner, &band(99.0, 140.0), 0.0, most), None, "they overlap");
        assert_eq!(most_apart(0.0, 0.0), None);
    }
}
