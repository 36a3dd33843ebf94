//! How much lead a panel takes.
//!
//! Where lead lines meet, one lead goes through (the two that run on most smoothly) and the others butt against it: they end
//! half its face short of its centre (leading-up notes, 2008-08), or a whole face short of the outer edge where that is the
//! line drawn. Leads of the border are mitred at its corners and reach into them.

use crate::arrange::{Arrangement, Edge};
use crate::came::Came;
use crate::curve::dot;
use crate::settings::{BorderLine, CartoonSettings};
use cullet_geometry::Point;

/// Leads of one came in one panel.
#[derive(Debug, Clone, PartialEq)]
pub struct CameLength {
    /// The came.
    pub came: Came,
    /// Length of the lines drawn, mm.
    pub lines: f64,
    /// The leads as they are cut, mm, longest first.
    pub leads: Vec<f64>,
}

impl CameLength {
    /// Length of all leads together, mm.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.leads.iter().sum()
    }
}

/// Lines that turn by less than this where they meet can be one lead: the cosine of 60°. Common practice: lead bends, but a
/// sharper corner is cut.
const BENDS: f64 = 0.5;

/// Measures the leads of every came that is used.
pub(crate) fn measure(found: &Arrangement, settings: &CartoonSettings, border: usize) -> Vec<CameLength> {
    if settings.foil.is_some() {
        return vec![];
    }
    let beside = found.faces_beside();
    let came_of = |i: usize| {
        if beside[i].contains(&None) {
            border
        } else {
            found.edges[i].came.min(border)
        }
    };
    let came = |index: usize| settings.cames.get(index).map_or(&settings.border, |used| &used.came);
    let ends = ends_at(found);
    // Which half-edge goes on in which, and what each is short of its junction.
    let mut on: Vec<Option<usize>> = vec![None; found.edges.len() * 2];
    let mut short = vec![0.0; found.edges.len() * 2];
    for around in &ends {
        let through = through_pair(found, around, &came_of, border);
        if let Some((a, b)) = through {
            on[a] = Some(b);
            on[b] = Some(a);
            let butted = came_of(a / 2).max(came_of(b / 2));
            let face = came(butted).face;
            let by = if butted == border && settings.border_line == BorderLine::OuterEdge {
                face
            } else {
                face / 2.0
            };
            for h in around.iter().filter(|h| **h != a && **h != b) {
                short[*h] = by;
            }
        }
    }
    let mut lengths: Vec<CameLength> = (0..=border)
        .map(|i| CameLength {
            came: came(i).clone(),
            lines: 0.0,
            leads: vec![],
        })
        .collect();
    for (i, edge) in found.edges.iter().enumerate() {
        lengths[came_of(i)].lines += edge.length();
    }
    let mut seen = vec![false; found.edges.len()];
    let from_ends = (0..on.len()).filter(|h| on[*h].is_none());
    for first in from_ends.chain(0..on.len()).collect::<Vec<_>>() {
        if seen[first / 2] {
            continue;
        }
        let cut = cut_along(found, first, &on, &short, &mut seen);
        let leads = &mut lengths[came_of(first / 2)].leads;
        leads.extend(cut.into_iter().filter(|size| *size > 1e-6));
    }
    lengths.retain(|length| !length.leads.is_empty());
    for length in &mut lengths {
        length.leads.sort_by(|a, b| b.total_cmp(a));
    }
    lengths
}

/// The leads of the line that begins with half-edge `first`, which goes on as `on` says: their sizes, each less what `short` says it
/// is short of its junctions.
fn cut_along(found: &Arrangement, first: usize, on: &[Option<usize>], short: &[f64], seen: &mut [bool]) -> Vec<f64> {
    let (mut at, mut cut) = (first, vec![0.0]);
    let is_ring = loop {
        seen[at / 2] = true;
        let parts = straight_parts(&found.edges[at / 2], at);
        let last = parts.len() - 1;
        for (k, part) in parts.into_iter().enumerate() {
            let taken = if k == 0 { short[at] } else { 0.0 } + if k == last { short[at ^ 1] } else { 0.0 };
            if k > 0 {
                cut.push(0.0);
            }
            let so_far = cut.len() - 1;
            cut[so_far] += part - taken;
        }
        match on[at ^ 1] {
            Some(next) if !seen[next / 2] => at = next,
            on => break on == Some(first),
        }
    };
    // A ring of several leads begins in the middle of one.
    if is_ring && cut.len() > 1 {
        let rest = cut.pop().unwrap_or_default();
        cut[0] += rest;
    }
    cut
}

/// Lengths of an edge between its sharp corners, where leads are cut and mitred, walked from a half-edge.
fn straight_parts(edge: &Edge, half: usize) -> Vec<f64> {
    let mut parts = vec![0.0];
    for (i, curve) in edge.curves.iter().enumerate() {
        let turns = i > 0 && dot(edge.curves[i - 1].direction(1.0), curve.direction(0.0)) < BENDS;
        if turns {
            parts.push(0.0);
        }
        let last = parts.len() - 1;
        parts[last] += curve.length();
    }
    if half % 2 == 1 {
        parts.reverse();
    }
    parts
}

/// The half-edges (2 · edge, + 1 for its end) at each junction.
fn ends_at(found: &Arrangement) -> Vec<Vec<usize>> {
    let mut ends = vec![vec![]; found.junctions.len()];
    for (i, edge) in found.edges.iter().enumerate() {
        ends[edge.from].push(2 * i);
        ends[edge.to].push(2 * i + 1);
    }
    ends
}

/// The two of one came that run on most smoothly. At a corner of two lines they do whatever the angle, if it is the border's.
fn through_pair(
    found: &Arrangement,
    around: &[usize],
    came_of: &dyn Fn(usize) -> usize,
    border: usize,
) -> Option<(usize, usize)> {
    let mut best: Option<(f64, (usize, usize))> = None;
    for (k, a) in around.iter().enumerate() {
        for b in &around[..k] {
            if came_of(a / 2) != came_of(b / 2) {
                continue;
            }
            let straight = -dot(leaving(&found.edges[a / 2], *a), leaving(&found.edges[b / 2], *b));
            // The border goes through whatever meets it.
            let worth = if came_of(a / 2) == border {
                straight + 4.0
            } else {
                straight
            };
            if worth > BENDS && best.is_none_or(|(least, _)| worth > least) {
                best = Some((worth, (*b, *a)));
            }
        }
    }
    let pair = best.map(|(_, pair)| pair)?;
    // A corner of the border is mitred: two leads.
    let is_corner = came_of(pair.0 / 2) == border && best.is_some_and(|(worth, _)| worth < 4.0 + BENDS);
    (!is_corner || around.len() > 2).then_some(pair)
}

/// Direction in which a half-edge leaves its junction.
fn leaving(edge: &Edge, half: usize) -> Point {
    if half.is_multiple_of(2) {
        edge.curves[0].direction(0.0)
    } else {
        edge.curves[edge.curves.len() - 1].direction(1.0) * -1.0
    }
}

/// How leads are cut from stock lengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockLength {
    /// A stock length, mm: about 2 m or 6 ft (came table of a stained-glass handbook site).
    pub length: f64,
    /// What the saw or the knife takes at each cut, mm.
    pub cutting_loss: f64,
}

/// How many stock lengths leads need.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StockCount {
    /// Lengths to buy.
    pub lengths: usize,
    /// No way of cutting does with fewer than this.
    pub at_least: usize,
    /// Leads longer than a stock length, which must be joined in the panel.
    pub joined: usize,
}

/// Counts the stock lengths that leads need: longest first, each from the length with the least left that still holds it. A
/// lead longer than a stock length takes whole ones and a rest. Cost O(n²).
///
/// ```
/// use cullet_drawing::leads::{StockLength, stock_lengths};
/// let stock = StockLength { length: 2000.0, cutting_loss: 2.0 };
/// // Two of 1200 mm cannot share a length, but each shares one with 790 mm.
/// let count = stock_lengths(&[1200.0, 790.0, 1200.0, 790.0], stock);
/// assert_eq!((count.lengths, count.at_least), (2, 2));
/// ```
#[must_use]
pub fn stock_lengths(leads: &[f64], stock: StockLength) -> StockCount {
    let whole = stock.length.max(1.0);
    let mut parts: Vec<f64> = vec![];
    let (mut lengths, mut joined, mut sum) = (0, 0, 0.0);
    for lead in leads {
        let mut rest = *lead;
        joined += usize::from(rest > whole);
        sum += rest;
        while rest > whole {
            rest -= whole;
            lengths += 1;
        }
        if rest > 1e-9 {
            parts.push(rest);
        }
    }
    let bound = (sum / whole - 1e-9).ceil().max(0.0) as usize;
    // Leads over half a length each need one of their own.
    let large = parts.iter().filter(|part| **part * 2.0 > whole).count();
    let at_least = bound.max(lengths + large);
    parts.sort_by(|a, b| b.total_cmp(a));
    let mut left: Vec<f64> = vec![];
    for part in parts {
        let fitting = left
            .iter_mut()
            .filter(|left| **left >= part)
            .min_by(|a, b| a.total_cmp(b));
        match fitting {
            Some(left) => *left -= part + stock.cutting_loss,
            None => left.push(whole - part - stock.cutting_loss),
        }
    }
    lengths += left.len();
    StockCount {
        lengths,
        at_least,
        joined,
    }
}
