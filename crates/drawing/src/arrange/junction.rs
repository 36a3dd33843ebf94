//! Meeting places within the snap tolerance as one junction.

use super::WELD_MM;
use super::course::{Course, Spot};
use super::grid::Grid;
use super::meet::{Cuts, Index};
use crate::curve::length;
use cullet_geometry::Point;
use std::collections::BTreeMap;

/// The junctions, and which one each meeting place belongs to.
pub(super) struct Junctions {
    pub(super) points: Vec<Point>,
    pub(super) of_place: Vec<usize>,
}

/// How often places are gathered anew after lines were cut at those they pass.
const ROUNDS: usize = 6;

/// Gathers meeting places to junctions until no line passes one within the tolerance.
pub(super) fn settle(courses: &[Course], index: &Index, cuts: &mut Cuts, snap: f64) -> Junctions {
    let mut junctions = cluster(courses, cuts, snap);
    for _ in 0..ROUNDS {
        if !cut_passing(courses, index, cuts, &mut junctions, snap) {
            break;
        }
        for (place, of) in cuts.places.iter_mut().zip(&junctions.of_place) {
            *place = junctions.points[*of];
        }
        junctions = cluster(courses, cuts, snap);
    }
    junctions
}

/// First what is one point but for rounding, then what lies within the tolerance. The place on the longest lines stays
/// where it is: moving it would change the most glass.
fn cluster(courses: &[Course], cuts: &Cuts, snap: f64) -> Junctions {
    let mut weight = vec![0.0; cuts.places.len()];
    for cut in &cuts.cuts {
        weight[cut.place] += courses[cut.course].length();
    }
    let (welded, to_welded) = gather(&cuts.places, &weight, WELD_MM.min(snap));
    let mut welded_weight = vec![0.0; welded.len()];
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
fn gather(points: &[Point], weight: &[f64], reach: f64) -> (Vec<Point>, Vec<usize>) {
    let mut grid = Grid::new(reach);
    for (i, p) in points.iter().enumerate() {
        grid.add(*p, i);
    }
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|a, b| weight[*b].total_cmp(&weight[*a]).then(a.cmp(b)));
    let (mut middles, mut group) = (vec![], vec![usize::MAX; points.len()]);
    for i in order {
        if group[i] != usize::MAX {
            continue;
        }
        for j in grid.near(points[i]) {
            if group[j] == usize::MAX && length(points[j] - points[i]) <= reach {
                group[j] = middles.len();
            }
        }
        middles.push(points[i]);
    }
    (middles, group)
}

/// Courses that pass a junction within the tolerance are cut there too, so that near-double lines between junctions fall
/// on each other instead of crossing (the idea of snap rounding: Hobby, Computational Geometry 13, 1999). A junction goes onto
/// the longest line it is near. Whether there was any.
fn cut_passing(courses: &[Course], index: &Index, cuts: &mut Cuts, junctions: &mut Junctions, snap: f64) -> bool {
    let mut any = false;
    let mut stops: BTreeMap<(usize, usize), Vec<Spot>> = BTreeMap::new();
    let mut longest = vec![0.0; junctions.points.len()];
    for cut in &cuts.cuts {
        let junction = junctions.of_place[cut.place];
        stops.entry((junction, cut.course)).or_default().push(cut.spot);
        longest[junction] = courses[cut.course].length().max(longest[junction]);
    }
    for (j, p) in junctions.points.iter_mut().enumerate() {
        // The nearest spot of each course, once for each time it comes by.
        let mut passing: Vec<(usize, Spot, f64)> = vec![];
        for i in index.within(*p, *p, snap) {
            let part = &index.parts[i];
            let (t, away) = part.curve.nearest(*p);
            let spot = Spot { curve: part.index, t };
            let is_stop = |stop: &Spot| courses[part.course].apart(*stop, spot) < 4.0 * snap;
            if away > snap || stops.get(&(j, part.course)).is_some_and(|all| all.iter().any(is_stop)) {
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
        let long = passing
            .iter()
            .max_by(|a, b| courses[a.0].length().total_cmp(&courses[b.0].length()));
        if let Some((course, spot, _)) = long
            && courses[*course].length() > longest[j]
        {
            *p = courses[*course].at(*spot);
        }
        for (course, spot, _) in passing {
            any = true;
            let place = cuts.place(*p);
            cuts.add(course, spot, place);
            junctions.of_place.push(j);
        }
    }
    any
}
