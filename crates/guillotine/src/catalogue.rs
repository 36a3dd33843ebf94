//! Blanks put together to larger convex shapes, before anything is laid: pairs, rows, and whole assemblies without waste.

use super::convex::Part;
use super::fit::fits;
use super::shape::{Kind, Shape};
use cullet_geometry::Point;
use cullet_search::Random;
use cullet_search::StopCondition;
use std::sync::Arc;

/// Waste that a pair may have, as a share of its hull.
const PAIR_WASTE: f64 = 0.12;

/// Most pairs kept.
const MOST_PAIRS: usize = 400;

/// Most pairs of sides looked at.
const MOST_TRIED: usize = 150_000;

/// Share of the effort that pairs may take.
const PAIRS_SHARE: f64 = 0.15;

/// Most blanks in a row.
const LONGEST_ROW: usize = 60;

/// How well sides match that are the same, mm.
const MATCH_MM: f64 = 0.02;

/// How well sides must match to be assembled, mm; drawn by lot, since drawings and saws round.
const MATCHES_MM: [f64; 4] = [MATCH_MM, MATCH_MM, 0.4, 2.0];

/// Most blanks that are assembled.
const MOST_ASSEMBLED: usize = 250;

/// Every blank by itself, either way up where it may, that fits anywhere.
pub(super) fn singles(kinds: &[Kind], rooms: &[Part]) -> Vec<Arc<Shape>> {
    (0..kinds.len())
        .flat_map(|k| [false, true].map(|over| (k, over)))
        .filter_map(|(k, over)| Shape::single(kinds, k, over))
        .filter(|shape| fit_somewhere(kinds, shape, rooms))
        .map(Arc::new)
        .collect()
}

fn fit_somewhere(kinds: &[Kind], shape: &Shape, rooms: &[Part]) -> bool {
    rooms.iter().any(|room| fits(kinds, shape, room))
}

/// Pairs with little waste and rows of equal shapes.
pub(super) fn composites(
    kinds: &[Kind],
    singles: &[Arc<Shape>],
    rooms: &[Part],
    watch: &StopCondition,
    random: &mut Random,
) -> Vec<Arc<Shape>> {
    let pairs = pairs(kinds, singles, rooms, watch, random);
    let tight = pairs.iter().filter(|p| p.loss() <= 0.001 * p.area + spare(p, kinds));
    let bases = singles.iter().chain(tight.take(60));
    let rows: Vec<Arc<Shape>> = bases.flat_map(|base| rows(kinds, base, rooms)).collect();
    pairs.iter().cloned().chain(rows).collect()
}

/// What the blanks themselves are larger than their pieces.
fn spare(shape: &Shape, kinds: &[Kind]) -> f64 {
    let blanks: f64 = shape
        .members
        .iter()
        .map(|m| super::convex::area(&kinds[m.kind].blank))
        .sum();
    blanks - shape.value
}

fn pairs(
    kinds: &[Kind],
    singles: &[Arc<Shape>],
    rooms: &[Part],
    watch: &StopCondition,
    random: &mut Random,
) -> Vec<Arc<Shape>> {
    let mut both: Vec<(usize, usize)> = (0..singles.len())
        .flat_map(|a| (a..singles.len()).map(move |b| (a, b)))
        .collect();
    random.shuffle(&mut both);
    let mut found: Vec<(f64, Arc<Shape>)> = Vec::new();
    let mut tried = 0;
    for (a, b) in both {
        if tried > MOST_TRIED || watch.over() || watch.share() > PAIRS_SHARE {
            break;
        }
        let (a, b) = (&singles[a], &singles[b]);
        tried += a.points.len() * b.points.len();
        let mut best: Vec<(f64, Arc<Shape>)> = Vec::new();
        for mine in 0..a.points.len() {
            for theirs in 0..b.points.len() {
                let first_ends: &[bool] = if (a.lengths[mine] - b.lengths[theirs]).abs() < MATCH_MM {
                    &[true]
                } else {
                    &[true, false]
                };
                for first in first_ends {
                    let (turn, at) = a.beside(mine, b, theirs, *first);
                    let Some(pair) = a.with(kinds, b, turn, at) else {
                        continue;
                    };
                    let waste = (pair.area - a.area - b.area) / pair.area;
                    if waste < PAIR_WASTE && fit_somewhere(kinds, &pair, rooms) {
                        best.push((waste, Arc::new(pair)));
                    }
                }
            }
        }
        best.sort_by(|x, y| x.0.total_cmp(&y.0));
        best.truncate(4);
        found.extend(best);
    }
    found.sort_by(|x, y| x.0.total_cmp(&y.0));
    found.truncate(MOST_PAIRS);
    found.into_iter().map(|(_, pair)| pair).collect()
}

/// Rows of one shape along each direction in which it repeats without a gap.
fn rows(kinds: &[Kind], base: &Arc<Shape>, rooms: &[Part]) -> Vec<Arc<Shape>> {
    let n = base.points.len();
    let mut list = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            let opposite = (base.angles[j] - base.angles[i]).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
            if opposite.abs() > 1e-7 || (base.lengths[i] - base.lengths[j]).abs() > 1e-4 {
                continue;
            }
            let step = base.points[i] - base.points[(j + 1) % n];
            let mut row = base.clone();
            for times in 1..LONGEST_ROW {
                let at: Point = step * times as f64;
                let Some(longer) = row.with(kinds, base, 0.0, at) else {
                    break;
                };
                if !fit_somewhere(kinds, &longer, rooms) {
                    break;
                }
                row = Arc::new(longer);
                list.push(row.clone());
            }
        }
    }
    list
}

/// Two shapes that join along a whole side of each.
#[derive(Debug, Clone, Copy)]
struct Join {
    a: usize,
    b: usize,
    mine: usize,
    theirs: usize,
    /// How many of the side's ends become straight, and a lot drawn.
    draw: f64,
}

/// Joins blanks of the stock at random along sides of equal length, without waste, as far as it goes; every shape made on
/// the way is given.
pub(super) fn assemble(
    kinds: &[Kind],
    singles: &[Arc<Shape>],
    stock: &[u32],
    rooms: &[Part],
    random: &mut Random,
) -> Vec<Arc<Shape>> {
    let mut blocks: Vec<Option<Arc<Shape>>> = Vec::new();
    for shape in singles {
        let m = &shape.members[0];
        let ways = singles.iter().filter(|s| s.members[0].kind == m.kind).count() as u32;
        // A blank that may be turned over is assembled one way up only, by lot.
        let n = stock[m.kind];
        let mine = if ways == 1 || random.below(2) == usize::from(m.over) {
            n
        } else {
            0
        };
        blocks.extend((0..mine).map(|_| Some(shape.clone())));
    }
    if blocks.len() < 2 || blocks.len() > MOST_ASSEMBLED {
        return Vec::new();
    }
    let near = MATCHES_MM[random.below(MATCHES_MM.len())];
    let mut joins: Vec<Join> = Vec::new();
    for b in 1..blocks.len() {
        find_joins(&blocks, b, near, &mut joins, random);
    }
    let mut made: Vec<Arc<Shape>> = Vec::new();
    while let Some(best) = joins.iter().max_by(|x, y| x.draw.total_cmp(&y.draw)).copied() {
        let joined = match (&blocks[best.a], &blocks[best.b]) {
            (Some(a), Some(b)) => join(kinds, a, b, &best, near).filter(|shape| fit_somewhere(kinds, shape, rooms)),
            _ => None,
        };
        let Some(joined) = joined else {
            joins.retain(|j| (j.a, j.b, j.mine, j.theirs) != (best.a, best.b, best.mine, best.theirs));
            continue;
        };
        blocks[best.a] = None;
        blocks[best.b] = None;
        joins.retain(|j| ![j.a, j.b].iter().any(|k| [best.a, best.b].contains(k)));
        let joined = Arc::new(joined);
        made.push(joined.clone());
        blocks.push(Some(joined));
        find_joins(&blocks, blocks.len() - 1, near, &mut joins, random);
    }
    made
}

fn join(kinds: &[Kind], a: &Shape, b: &Shape, join: &Join, near: f64) -> Option<Shape> {
    let (turn, at) = a.beside(join.mine, b, join.theirs, true);
    let shape = a.with(kinds, b, turn, at)?;
    ((shape.area - a.area - b.area).abs() < near * a.lengths[join.mine]).then_some(shape)
}

/// Joins of block `b` with those before it.
fn find_joins(blocks: &[Option<Arc<Shape>>], b: usize, near: f64, joins: &mut Vec<Join>, random: &mut Random) {
    let Some(two) = &blocks[b] else { return };
    for (a, one) in blocks[..b].iter().enumerate() {
        let Some(one) = one else { continue };
        for mine in 0..one.points.len() {
            for theirs in 0..two.points.len() {
                let long = one.lengths[mine];
                let apart = (long - two.lengths[theirs]).abs();
                if apart > near {
                    continue;
                }
                let begin = one.corner(mine) + two.corner((theirs + 1) % two.points.len()) - std::f64::consts::PI;
                let end = one.corner((mine + 1) % one.points.len()) + two.corner(theirs) - std::f64::consts::PI;
                // Over how much the ends may be out of line: the match's tolerance at the side's length.
                let tolerance_deg = 1e-7 + near / long.max(1.0);
                if begin > tolerance_deg || end > tolerance_deg {
                    continue;
                }
                let straight = u32::from(begin.abs() <= tolerance_deg) + u32::from(end.abs() <= tolerance_deg);
                joins.push(Join {
                    a,
                    b,
                    mine,
                    theirs,
                    draw: f64::from(straight) + 0.9 * random.unit() - 0.5 * apart / near,
                });
            }
        }
    }
}
