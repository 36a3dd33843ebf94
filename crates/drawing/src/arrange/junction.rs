//! Meeting places within the snap tolerance as one junction.

use super::WELD_MM;
use super::course::{Course, Spot};
use super::grid::Grid;
use super::meet::{Cuts, Index};
use crate::curve::length;
use cullet_geometry::Point;

/// The junctions, and which one each meeting place belongs to.
pub(super) struct Junctions {
    pub(super) points: Vec<Point>,
    pub(super) of_place: Vec<usize>,
}

/// First what is one point but for rounding, then what lies within the tolerance. The place with the most lines stays
/// where it is.
pub(super) fn cluster(cuts: &Cuts, snap: f64) -> Junctions {
    let mut weight = vec![0usize; cuts.places.len()];
    for cut in &cuts.cuts {
        weight[cut.place] += 1;
    }
    let (welded, to_welded) = gather(&cuts.places, &weight, WELD_MM.min(snap));
    let mut welded_weight = vec![0usize; welded.len()];
    for (place, to) in to_welded.iter().enumerate() {
        welded_weight[*to] += weight[place];
    }
    let (points, to_point) = gather(&welded, &welded_weight, snap);
    Junctions {
        points,
        of_place: to_welded.iter().map(|w| to_point[*w]).collect(),
    }
}

/// Groups of points within `reach` of their heaviest.
fn gather(points: &[Point], weight: &[usize], reach: f64) -> (Vec<Point>, Vec<usize>) {
    let mut grid = Grid::new(reach);
    for (i, p) in points.iter().enumerate() {
        grid.add(*p, i);
    }
    let mut order: Vec<usize> = (0..points.len()).filter(|i| weight[*i] > 0).collect();
    order.sort_by(|a, b| weight[*b].cmp(&weight[*a]).then(a.cmp(b)));
    let (mut middles, mut group) = (vec![], vec![usize::MAX; points.len()]);
    for i in order {
        if group[i] != usize::MAX {
            continue;
        }
        for j in grid.near(points[i]) {
            if group[j] == usize::MAX && weight[j] > 0 && length(points[j] - points[i]) <= reach {
                group[j] = middles.len();
            }
        }
        middles.push(points[i]);
    }
    // Places without a line are nobody's; they share the first junction, which nothing asks for.
    for g in &mut group {
        if *g == usize::MAX {
            *g = 0;
        }
    }
    (middles, group)
}

/// Courses that pass a junction within the tolerance are cut there too, so that near-double lines between junctions fall
/// on each other instead of crossing (the idea of snap rounding: Hobby, Computational Geometry 13, 1999).
pub(super) fn cut_passing(
    courses: &[Course],
    index: &Index,
    cuts: &mut Cuts,
    junctions: &mut Junctions,
    snap: f64,
) {
    let mut stops: Vec<Vec<(usize, Spot)>> = vec![vec![]; courses.len()];
    for cut in &cuts.cuts {
        stops[cut.course].push((junctions.of_place[cut.place], cut.spot));
    }
    for (j, p) in junctions.points.iter().enumerate() {
        // The nearest spot of each course, once for each time it comes by.
        let mut passing: Vec<(usize, Spot, f64)> = vec![];
        for i in index.within(*p, *p, snap) {
            let part = &index.parts[i];
            let (t, away) = part.curve.nearest(*p);
            let spot = Spot { curve: part.index, t };
            let is_stop = |(at, stop): &(usize, Spot)| *at == j && courses[part.course].apart(*stop, spot) < 4.0 * snap;
            if away > snap || stops[part.course].iter().any(is_stop) {
                continue;
            }
            match passing.last_mut() {
                Some((course, last, least))
                    if *course == part.course && courses[part.course].apart(*last, spot) < 4.0 * snap =>
                {
                    if away < *least {
                        (*last, *least) = (spot, away);
                    }
                }
                _ => passing.push((part.course, spot, away)),
            }
        }
        for (course, spot, _) in passing {
            let place = cuts.place(*p);
            cuts.add(course, spot, place);
            junctions.of_place.push(j);
        }
    }
}
