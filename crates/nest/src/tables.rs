//! Overlap by table, for pairs of forms whose turns are fixed.
//!
//! Where items turn in steps only, two of them overlap the same way wherever they lie: all depends on the offset between
//! them. For each pair of forms that is ever asked about, the plane of offsets is parted into cells. Most cells are wholly
//! free or wholly overlapping; a cell in between lists the few pairs of sides that can cross in it, so that the answer stays
//! exact. How badly forms overlap is read between the nodes of the grid. Measured on the published strips: 2 to 3 times as
//! many questions a second as by [`crate::overlap`] alone (`benches/results/search.md`).

use crate::form::{Form, Kind};
use crate::overlap::{cross, disks, inside, meets};
use crate::wide::{larger, smaller, vectorised};
use std::ops::RangeInclusive;
use std::sync::OnceLock;

/// Tables for all pairs of fixed forms, each made when first asked for.
#[derive(Debug)]
pub(crate) struct Tables<'a> {
    forms: Vec<&'a Form>,
    pairs: Vec<OnceLock<Table>>,
    cells: usize,
}

/// One pair's table.
#[derive(Debug)]
struct Table {
    /// Lowest offset, and cells per millimetre.
    low: [f64; 2],
    scale: [f64; 2],
    /// What holds in the cells, row by row.
    words: Vec<Word>,
    /// Where the list of each mixed cell starts in `sides`, in order, and where the last one ends.
    starts: Vec<u32>,
    /// Lists of pairs of sides, packed as `a << 16 | b`.
    sides: Vec<u32>,
    /// Overlap at the nodes in multiples of `unit`, at least 1: [`node`] says which is where.
    nodes: Vec<u16>,
    unit: f32,
}

/// What holds in each of 32 cells, two bits a cell: [`FREE`], [`OVERLAPPING`] or [`MIXED`].
#[derive(Debug, Clone, Copy, Default)]
struct Word {
    states: u64,
    /// Mixed cells in all words before.
    mixed_before: u32,
}

const FREE: u64 = 0;
const OVERLAPPING: u64 = 1;
const MIXED: u64 = 2;
/// Cells in a word.
const WORD: usize = 32;
/// The bit by which a mixed cell differs, of every cell in a word.
const MIXED_BITS: u64 = 0xaaaa_aaaa_aaaa_aaaa;
/// Rows of cells in a band of nodes.
const BAND: usize = 4;
/// Cells along each axis, in whole bands, by the number of pairs there can be: about 20 kB a pair at 64. With more pairs than
/// the last no tables are made.
const FINENESS: [(usize, usize); 3] = [(400, 64), (1500, 48), (6000, 32)];

/// Where the overlap at a cell's lower left node lies in `nodes`; the next one up follows, those to the right `BAND + 1` further
/// on. The nodes lie band by band and in a band column by column, the row between two bands in both, so that the four of a
/// cell are near each other: what a question costs is waiting for them.
#[inline(always)]
fn node(column: usize, row: usize, cells: usize) -> usize {
    (row / BAND * (cells + 1) + column) * (BAND + 1) + row % BAND
}

impl<'a> Tables<'a> {
    /// For `kinds`; `None` where some kind turns freely or there are too many pairs.
    pub(crate) fn new(kinds: &'a [Kind]) -> Option<Self> {
        let forms: Vec<&Form> = kinds.iter().flat_map(|k| k.fixed.iter().map(|p| &p.grown)).collect();
        let pairs = forms.len() * forms.len();
        let cells = FINENESS.iter().find(|(most, _)| pairs / 2 <= *most)?.1;
        let all_fixed = kinds.iter().all(|k| k.tolerance_deg == 0.0) && forms.iter().all(|f| f.xs.len() < 1 << 12);
        all_fixed.then(|| Self {
            pairs: (0..pairs).map(|_| OnceLock::new()).collect(),
            forms,
            cells,
        })
    }

    /// The same as [`crate::overlap::overlap`] of forms `a` and `b`, to the accuracy of the grid; 0 for exactly the same
    /// offsets.
    #[inline(always)]
    pub(crate) fn overlap(&self, a: u32, b: u32, dx: f64, dy: f64) -> f32 {
        let (a, b, dx, dy) = if a <= b { (a, b, dx, dy) } else { (b, a, -dx, -dy) };
        let (first, second) = (self.forms[a as usize], self.forms[b as usize]);
        let table = self.pairs[a as usize * self.forms.len() + b as usize]
            .get_or_init(|| Table::new(first, second, self.cells));
        table.overlap(first, second, dx, dy, self.cells)
    }
}

impl Table {
    fn new(a: &Form, b: &Form, cells: usize) -> Self {
        let low = [b.low[0] - a.high[0], b.low[1] - a.high[1]];
        let size = [b.high[0] - a.low[0] - low[0], b.high[1] - a.low[1] - low[1]];
        let cell = size.map(|s| s / cells as f64);
        let (nodes, unit) = felt(a, b, low, cell, cells);
        let mut table = Self {
            low,
            scale: cell.map(|c| 1.0 / c),
            words: vec![Word::default(); (cells * cells).div_ceil(WORD)],
            starts: vec![0],
            sides: Vec::new(),
            nodes,
            unit,
        };
        let lists = crossing_sides(a, b, low, cell, cells);
        for (index, list) in lists.into_iter().enumerate() {
            let middle = [
                low[0] + ((index % cells) as f64 + 0.5) * cell[0],
                low[1] + ((index / cells) as f64 + 0.5) * cell[1],
            ];
            let state = match list {
                None => OVERLAPPING,
                // No side can cross another in this cell: what holds in its middle holds throughout.
                Some(list) if list.is_empty() => {
                    if meets(a, b, middle[0], middle[1]) {
                        OVERLAPPING
                    } else {
                        FREE
                    }
                }
                Some(list) => {
                    let (_, deepest) = disks(a, b, middle[0] as f32, middle[1] as f32);
                    // A disk's depth changes no faster than the offset.
                    let reach = 0.5 * cell[0].hypot(cell[1]) * 1.001 + 1e-3 * cell[0];
                    if f64::from(deepest) > reach {
                        OVERLAPPING
                    } else {
                        table.sides.extend(list);
                        table.starts.push(table.sides.len() as u32);
                        MIXED
                    }
                }
            };
            let word = &mut table.words[index / WORD];
            if index % WORD == 0 {
                word.mixed_before = table.starts.len() as u32 - 1 - u32::from(state == MIXED);
            }
            word.states |= state << (2 * (index % WORD));
        }
        table
    }

    #[inline(always)]
    fn overlap(&self, a: &Form, b: &Form, dx: f64, dy: f64, cells: usize) -> f32 {
        let x = (dx - self.low[0]) * self.scale[0];
        let y = (dy - self.low[1]) * self.scale[1];
        let most = cells as f64;
        if !(x > 0.0 && y > 0.0 && x < most && y < most) {
            return 0.0;
        }
        let (column, row) = (x as u32 as usize, y as u32 as usize);
        let cell = row * cells + column;
        let (word, at) = (self.words[cell / WORD], 2 * (cell % WORD));
        let state = word.states >> at & 3;
        if state == FREE {
            return 0.0;
        }
        if state == MIXED {
            let mixed_before = word.mixed_before + (word.states & MIXED_BITS & ((1 << at) - 1)).count_ones();
            if !self.crosses(a, b, dx, dy, mixed_before as usize) {
                return 0.0;
            }
        }
        let node = node(column, row, cells);
        let nodes = &self.nodes[node..node + BAND + 3];
        let (n00, n01) = (f32::from(nodes[0]), f32::from(nodes[1]));
        let (n10, n11) = (f32::from(nodes[BAND + 1]), f32::from(nodes[BAND + 2]));
        let (u, v) = ((x - column as f64) as f32, (y - row as f64) as f32);
        let (below, above) = (n00 + (n10 - n00) * u, n01 + (n11 - n01) * u);
        (below + (above - below) * v) * self.unit
    }

    /// Whether the sides listed for one of the mixed cells cross, or one form lies inside the other.
    #[inline(always)]
    fn crosses(&self, a: &Form, b: &Form, dx: f64, dy: f64, mixed: usize) -> bool {
        let list = self.starts[mixed] as usize..self.starts[mixed + 1] as usize;
        for pair in &self.sides[list] {
            let (i, j) = ((pair >> 16) as usize, (pair & 0xffff) as usize);
            let of_a = [a.xs[i] + dx, a.ys[i] + dy, a.xs[i + 1] + dx, a.ys[i + 1] + dy];
            if cross(of_a, [b.xs[j], b.ys[j], b.xs[j + 1], b.ys[j + 1]]) {
                return true;
            }
        }
        inside(a, b, dx, dy) || inside(b, a, -dx, -dy)
    }
}

vectorised! {
/// How badly two forms overlap at the nodes of the grid, in multiples of a unit, and that unit.
/// For each cell the pairs of sides that cross at some of its offsets; `None` where some pair crosses at all of them.
fn crossing_sides(a: &Form, b: &Form, low: [f64; 2], cell: [f64; 2], cells: usize) -> Vec<Option<Vec<u32>>> {
    let mut lists: Vec<Option<Vec<u32>>> = vec![Some(Vec::new()); cells * cells];
    for i in 0..a.xs.len() - 1 {
        for j in 0..b.xs.len() - 1 {
            let crossing = Crossing::new(a, i, b, j);
            let columns = crossing.cells_met(0, low, cell, cells);
            let rows = crossing.cells_met(1, low, cell, cells);
            for row in rows {
                for column in columns.clone() {
                    let list = &mut lists[row * cells + column];
                    let corner = [
                        low[0] + column as f64 * cell[0],
                        low[1] + row as f64 * cell[1],
                    ];
                    match (crossing.meets(corner, cell), list.as_mut()) {
                        (Meeting::Whole, _) => *list = None,
                        (Meeting::Part, Some(list)) => list.push((i << 16 | j) as u32),
                        _ => {}
                    }
                }
            }
        }
    }
    lists
}
}

vectorised! {
fn felt(a: &Form, b: &Form, low: [f64; 2], cell: [f64; 2], cells: usize) -> (Vec<u16>, f32) {
    let at = |column: usize, row: usize| {
        let (dx, dy) = (low[0] + column as f64 * cell[0], low[1] + row as f64 * cell[1]);
        let (sum, _) = disks(a, b, dx as f32, dy as f32);
        sum.sqrt() * a.bulk * b.bulk
    };
    let mut values = Vec::with_capacity(cells / BAND * (cells + 1) * (BAND + 1));
    for band in 0..cells / BAND {
        for column in 0..=cells {
            values.extend((band * BAND..=(band + 1) * BAND).map(|row| at(column, row)));
        }
    }
    let unit = values.iter().copied().fold(0.0, f32::max) / f32::from(u16::MAX);
    let nodes = values.iter().map(|value| ((value / unit) as u16).max(1)).collect();
    (nodes, unit)
}
}

/// The offsets at which two sides cross: a parallelogram.
struct Crossing {
    corners: [[f64; 2]; 4],
    low: [f64; 2],
    high: [f64; 2],
    /// Normals of its sides with its extent along them.
    axes: [([f64; 2], f64, f64); 2],
}

/// How a parallelogram and a cell meet.
enum Meeting {
    Apart,
    Part,
    Whole,
}

impl Crossing {
    #[inline(always)]
    fn new(a: &Form, i: usize, b: &Form, j: usize) -> Self {
        let (p, q) = ([a.xs[i], a.ys[i]], [a.xs[i + 1], a.ys[i + 1]]);
        let (r, s) = ([b.xs[j], b.ys[j]], [b.xs[j + 1], b.ys[j + 1]]);
        let minus = |u: [f64; 2], v: [f64; 2]| [u[0] - v[0], u[1] - v[1]];
        let corners = [minus(r, p), minus(s, p), minus(s, q), minus(r, q)];
        let least = |v: [f64; 4]| smaller(smaller(v[0], v[1]), smaller(v[2], v[3]));
        let most = |v: [f64; 4]| larger(larger(v[0], v[1]), larger(v[2], v[3]));
        let (x, y) = (corners.map(|c| c[0]), corners.map(|c| c[1]));
        let along = |from: [f64; 2], to: [f64; 2]| {
            let normal = [from[1] - to[1], to[0] - from[0]];
            let at = corners.map(|c| c[0] * normal[0] + c[1] * normal[1]);
            (normal, least(at), most(at))
        };
        Self {
            corners,
            low: [least(x), least(y)],
            high: [most(x), most(y)],
            axes: [along(p, q), along(r, s)],
        }
    }

    /// The cells along an axis that it may meet.
    #[inline(always)]
    fn cells_met(&self, axis: usize, low: [f64; 2], cell: [f64; 2], cells: usize) -> RangeInclusive<usize> {
        let scale = 1.0 / cell[axis];
        let from = (self.low[axis] - low[axis]) * scale - 1e-6;
        let to = (self.high[axis] - low[axis]) * scale + 1e-6;
        (from as u32 as usize).min(cells - 1)..=(to as u32 as usize).min(cells - 1)
    }

    /// A cell with its lower left `corner` counts as met a little beyond its sides, and as whole a little within.
    #[inline(always)]
    fn meets(&self, corner: [f64; 2], size: [f64; 2]) -> Meeting {
        let slip = 1e-6 * (size[0] + size[1]);
        let apart =
            |axis: usize| self.high[axis] < corner[axis] - slip || self.low[axis] > corner[axis] + size[axis] + slip;
        if apart(0) || apart(1) {
            return Meeting::Apart;
        }
        let mut whole = true;
        for (normal, low, high) in self.axes {
            let middle = (corner[0] + size[0] / 2.0) * normal[0] + (corner[1] + size[1] / 2.0) * normal[1];
            let reach = (size[0] * normal[0].abs() + size[1] * normal[1].abs()) / 2.0;
            let slip = slip * (normal[0].abs() + normal[1].abs());
            if middle + reach < low - slip || middle - reach > high + slip {
                return Meeting::Apart;
            }
            whole &= middle - reach > low + slip && middle + reach < high - slip;
        }
        let flat = {
            let [p, q, _, s] = self.corners;
            ((q[0] - p[0]) * (s[1] - p[1]) - (q[1] - p[1]) * (s[0] - p[0])).abs() < slip * slip
        };
        if whole && !flat { Meeting::Whole } else { Meeting::Part }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::overlap::overlap;
    use cullet_geometry::Outline;
    use cullet_search::Random;
    use cullet_search::{Item, Problem, Turns};

    /// Star-shaped outlines with inside curves.
    fn star(random: &mut Random, corners: usize) -> Outline {
        let points = (0..corners).map(|k| {
            let (r, t) = (
                random.within(20.0, 100.0),
                (k as f64 + random.within(0.0, 0.8)) / corners as f64,
            );
            [
                r * (t * std::f64::consts::TAU).cos(),
                r * (t * std::f64::consts::TAU).sin(),
            ]
        });
        Outline::try_from(points.collect::<Vec<_>>()).unwrap()
    }

    #[test]
    fn the_table_says_overlapping_exactly_where_the_outlines_do() {
        let mut random = Random::new(7, 0);
        let items: Vec<Item> = (0..4)
            .map(|k| Item {
                outline: star(&mut random, 5 + 4 * k),
                count: 1,
                turns: Turns::only(vec![0.0, 90.0]),
                turned_over: None,
                allowed: vec![],
            })
            .collect();
        let problem = Problem {
            items: items.clone(),
            containers: vec![],
            clearance: 0.0,
            tolerance: 0.01,
        };
        let kinds: Vec<Kind> = items.iter().map(|item| Kind::new(item, &problem)).collect();
        let tables = Tables::new(&kinds).unwrap();
        let mut both = [0, 0];
        for _ in 0..40_000 {
            let (a, b) = (random.below(8), random.below(8));
            let (dx, dy) = (random.within(-220.0, 220.0), random.within(-220.0, 220.0));
            let by_table = tables.overlap(a as u32, b as u32, dx, dy);
            let direct = overlap(tables.forms[a], tables.forms[b], dx, dy);
            assert_eq!(
                by_table > 0.0,
                direct > 0.0,
                "seed 7: forms {a}, {b} at ({dx}, {dy}): {by_table} against {direct}"
            );
            both[usize::from(direct > 0.0)] += 1;
        }
        assert!(both[0] > 5_000 && both[1] > 5_000, "{both:?}");
    }
}
