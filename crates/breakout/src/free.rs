//! Freeing one piece from the glass round it.
//!
//! The piece's edges are opened one smooth stretch after the other: a chain follows the stretch and is led out to the edge of
//! the glass in hand at both ends, tangentially or bent a little away from the piece (relief scores), unless it ends on an edge
//! that is open already. Inside curves go first, since an outside curve that runs into one can only be led out once the bay is
//! open; deep ones are taken off by shallower scores, one after the other.

mod bays;
use bays::{Bay, Span};

use crate::ground;
use crate::rule::Rule;
use cullet_geometry::ring::{self, length, turned};
use cullet_geometry::stripes::Striped;
use cullet_geometry::tolerance::TOUCH;
use cullet_geometry::{Outline, Point};
use std::ops::Range;

/// A curve that turns the other way by less than this, degrees, goes on as it was: facets of one curve turn to and fro a little.
const WAVERS_DEG: f64 = 1.0;
/// So many inside and outside curves in a row are tried as one stretch, besides all to the end.
const MOST_CURVES: usize = 16;
/// Bends tried where a chain cannot be led out tangentially, as shares of the sharpest turn.
const BENDS: [f64; 7] = [0.0, 0.2, -0.2, 0.5, -0.5, 0.97, -0.97];

/// One break on the way to a piece: what lies to the right of the chain is waste, the piece stays on the left.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// The scores to be opened, from edge to edge, the piece on the left.
    pub chain: Vec<Point>,
    /// The sides of the chain that follow the piece's outline, or relieve an inside curve of it; the others lead out.
    pub along: Range<usize>,
    /// Whether the waste is narrower than the narrowest strip.
    pub nibbled: bool,
}

/// A chain, and which of its sides follow the piece.
type Scored = (Vec<Point>, Range<usize>);

/// Why a piece cannot be freed.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocked {
    /// Where the first edge lies that no break can open.
    pub at: Point,
}

/// The breaks that free `piece` from `blank`, first to last; none where they are the same, or where what is between them is
/// ground off by the rule.
///
/// `blank` is any glass in hand that holds the piece and no other. Pieces whose inside corners are within the rule and whose
/// bays are no narrower at the mouth than inside can be freed from any blank. The breaks pass [`Rule::part`] one after the
/// other. Cost O(b·n·(n + m)) for b breaks, n corners of the piece and m of the blank.
///
/// # Errors
/// Where the first edge lies that cannot be opened.
///
/// ```
/// use cullet_breakout::{Rule, free};
/// use cullet_geometry::{Outline, path};
/// let blank = Outline::rectangle(120.0, 120.0);
/// let round = path::flatten("M 10 60 A 50 50 0 0 1 110 60 A 50 50 0 0 1 10 60 Z", 1.0, path::YAxis::Up, 0.05)?;
/// // No break goes half-way round: three stretches.
/// assert_eq!(free(&blank, &round, &Rule::usual(6.0)).map(|breaks| breaks.len()), Ok(3));
/// # Ok::<(), path::PathError>(())
/// ```
pub fn free(blank: &Outline, piece: &Outline, rule: &Rule) -> Result<Vec<Relief>, Blocked> {
    free_ring(blank.points(), piece.points(), rule)
}

pub(crate) fn free_ring(blank: &[Point], piece: &[Point], rule: &Rule) -> Result<Vec<Relief>, Blocked> {
    let breaks = opened(blank, piece, rule)?;
    Ok(ground::without_thin(breaks, blank, piece, rule))
}

/// Every edge of the piece opened by a break.
fn opened(blank: &[Point], piece: &[Point], rule: &Rule) -> Result<Vec<Relief>, Blocked> {
    let mut hand = blank.to_vec();
    let mut breaks = Vec::new();
    let mut bays: Vec<Point> = Vec::new();
    // Each break opens at least one side; shallower scores come on top.
    for _ in 0..4 * piece.len() + 64 {
        let edges = Edges::of(&hand, piece);
        let Some(first) = edges.closed().next() else {
            return Ok(breaks);
        };
        let deep = edges.bays(rule).into_iter().find(|bay| !bays.contains(&bay.corners[0]));
        let chains = if let Some(bay) = deep {
            bays.push(bay.corners[0]);
            bay.shallower(&hand, piece, rule)
        } else if let Some(chain) = edges.next_chain(rule, &hand) {
            vec![chain]
        } else {
            return Err(Blocked { at: edges.ring[first] });
        };
        for (chain, along) in chains {
            let Ok((left, right)) = rule.part_ring(&hand, &chain, &along) else {
                continue;
            };
            breaks.push(Relief {
                chain,
                along,
                nibbled: !rule.is_wide(&right),
            });
            hand = left;
        }
    }
    Err(Blocked { at: piece[0] })
}

/// The one break that frees `offcut` from `hand`, the offcut on its left; nothing where it takes more than one.
pub(crate) fn one_break(hand: &[Point], offcut: &[Point], rule: &Rule) -> Option<(Vec<Point>, Vec<Point>)> {
    let edges = Edges::of(hand, offcut);
    let n = edges.ring.len();
    let first = (0..n).find(|i| !edges.open[*i] && edges.open[(i + n - 1) % n])?;
    let count = (0..n).take_while(|k| !edges.open[(first + k) % n]).count();
    if edges.closed().count() != count {
        return None;
    }
    let mut chain: Vec<Point> = (first..=first + count).map(|i| edges.corner(i)).collect();
    for end in [0, chain.len() - 1] {
        chain[end] = *edges
            .ways_out((first + end) % n, edges.along(first), 1.0, rule, hand)
            .first()?;
    }
    let (left, right) = rule.part_ring(hand, &chain, &(0..0)).ok()?;
    ((ring::area(&left) - ring::area(offcut)).abs() < 0.5 && rule.is_wide(&left)).then_some((chain, right))
}

/// The sides of the piece, and which of them lie on the edge of the glass in hand.
struct Edges {
    /// The piece's corners, and the corners of the glass in hand that lie on its sides.
    ring: Vec<Point>,
    /// Whether side i (from corner i on) is open.
    open: Vec<bool>,
    /// Whether corner i lies on the edge of the glass.
    on_edge: Vec<bool>,
}

impl Edges {
    fn of(hand: &[Point], piece: &[Point]) -> Self {
        // Corners of the glass in hand that lie on sides of the piece, with the share of the side that they lie at.
        let mut on_sides: Vec<Vec<(f64, Point)>> = vec![vec![]; piece.len()];
        let striped = Striped::of(piece, TOUCH);
        for p in hand {
            for (i, a, b) in striped.near(*p) {
                let (t, far) = ring::nearest(a, b, *p);
                let is_between = length(*p - a) > 2.0 * TOUCH && length(*p - b) > 2.0 * TOUCH;
                if far <= TOUCH && (0.0..1.0).contains(&t) && is_between {
                    on_sides[i].push((t, a + (b - a) * t));
                }
            }
        }
        let mut refined: Vec<Point> = Vec::with_capacity(piece.len());
        for (corner, mut on_side) in piece.iter().zip(on_sides) {
            refined.push(*corner);
            on_side.sort_by(|x, y| x.0.total_cmp(&y.0));
            for (_, p) in on_side {
                if refined.last().is_none_or(|q| length(p - *q) > 2.0 * TOUCH) {
                    refined.push(p);
                }
            }
        }
        let n = refined.len();
        let edge = Striped::of(hand, TOUCH);
        let on_edge: Vec<bool> = refined.iter().map(|p| edge.is_on(*p)).collect();
        let open = (0..n)
            .map(|i| on_edge[i] && on_edge[(i + 1) % n] && edge.is_on((refined[i] + refined[(i + 1) % n]) / 2.0))
            .collect();
        Self {
            ring: refined,
            open,
            on_edge,
        }
    }

    fn closed(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.ring.len()).filter(|i| !self.open[*i])
    }

    fn corner(&self, i: usize) -> Point {
        self.ring[i % self.ring.len()]
    }

    fn along(&self, i: usize) -> Point {
        self.corner(i + 1) - self.corner(i)
    }

    /// Turn at corner i, degrees, positive where the piece is convex.
    fn turn(&self, i: usize) -> f64 {
        let n = self.ring.len();
        ring::turn_deg(self.along(i + n - 1), self.along(i))
    }

    /// Whether a chain may pass corner i.
    fn is_smooth(&self, i: usize, rule: &Rule) -> bool {
        let n = self.ring.len();
        let (before, after) = (self.corner(i + n - 1), self.corner(i + 1));
        rule.follows(&[before, self.corner(i), after], &(0..2)).is_ok()
    }

    /// The best stretch that can be opened next: inside curves first, then the longest.
    fn next_chain(&self, rule: &Rule, hand: &[Point]) -> Option<Scored> {
        let mut spans: Vec<Span> = self.spans(rule);
        spans.sort_by(|a, b| b.rank().total_cmp(&a.rank()));
        for span in &spans {
            if let Some(chain) = self.led_out(span, rule, hand) {
                return Some(chain);
            }
        }
        // Shorter ones: any part of a stretch whose ends can be led out.
        for span in &spans {
            let whole = span.to - span.from;
            let mut size = whole.saturating_sub(1);
            while size > 0 {
                for from in [span.from, span.to - size, span.from + (whole - size) / 2] {
                    let part = Span {
                        from,
                        to: from + size,
                        inside_deg: 0.0,
                        length: 0.0,
                    };
                    if let Some(chain) = self.led_out(&part, rule, hand) {
                        return Some(chain);
                    }
                }
                size = if size > 12 { size * 3 / 4 } else { size - 1 };
            }
        }
        None
    }

    /// The inside curves that are still closed and too deep for one break.
    fn bays(&self, rule: &Rule) -> Vec<Bay> {
        let mut found = Vec::new();
        for (from, to) in self.stretches(rule) {
            for curve in self
                .curves(from, to)
                .windows(2)
                .filter(|c| self.turned(c[0], c[1]) < 0.0)
            {
                found.extend(Bay::of((curve[0]..=curve[1]).map(|i| self.corner(i)).collect()));
            }
        }
        found
    }

    /// Smooth closed stretches, from corner to corner; they end where the piece has a corner or touches the edge of the glass.
    fn stretches(&self, rule: &Rule) -> Vec<(usize, usize)> {
        let n = self.ring.len();
        let starts_here = |i: usize| !self.open[i % n] && (self.on_edge[i % n] || !self.is_smooth(i % n, rule));
        // A smooth closed curve has no start: any will do. Where a corner touches the edge of the glass a break ends.
        let start = (0..n).find(|i| starts_here(*i)).or_else(|| self.closed().next());
        let Some(start) = start else { return vec![] };
        let mut found = Vec::new();
        let mut i = start;
        while i < start + n {
            if self.open[i % n] {
                i += 1;
                continue;
            }
            let mut j = i + 1;
            while j < start + n && !self.on_edge[j % n] && self.is_smooth(j % n, rule) {
                j += 1;
            }
            found.push((i, j));
            i = j;
        }
        found
    }

    /// The ends of a stretch, and the corners between at which an inside curve becomes an outside one or the other way round:
    /// those of the outside curve, from which the side runs on clear of the piece.
    fn curves(&self, from: usize, to: usize) -> Vec<usize> {
        let mut ends = vec![from];
        let mut direction = 0.0_f64;
        // The corner at which the direction went furthest to each side, and how far.
        let (mut left, mut right) = ((0.0_f64, from), (0.0_f64, from));
        let mut sense = 0.0_f64;
        for i in from + 1..to {
            direction += self.turn(i % self.ring.len());
            if direction > left.0 {
                left = (direction, i);
            }
            if direction <= right.0 {
                right = (direction, i);
            }
            if sense >= 0.0 && left.0 - direction > WAVERS_DEG {
                if sense > 0.0 {
                    ends.push(left.1);
                }
                (sense, right) = (-1.0, (direction, i));
            } else if sense <= 0.0 && direction - right.0 > WAVERS_DEG {
                if sense < 0.0 {
                    ends.push((right.1 + 1).min(i));
                }
                (sense, left) = (1.0, (direction, i));
            }
        }
        ends.push(to);
        ends.dedup();
        ends
    }

    /// By how much the corners between two turn in all, degrees, positive where the piece is convex.
    fn turned(&self, from: usize, to: usize) -> f64 {
        (from + 1..to).map(|i| self.turn(i % self.ring.len())).sum()
    }

    /// By how much a stretch turns inwards at most, degrees.
    fn inside_deg(&self, from: usize, to: usize) -> f64 {
        let (mut direction, mut furthest, mut inside) = (0.0_f64, 0.0_f64, 0.0_f64);
        for i in from + 1..to {
            direction += self.turn(i % self.ring.len());
            furthest = furthest.max(direction);
            inside = inside.max(furthest - direction);
        }
        inside
    }

    /// Stretches that one break can open, cut where they spread too far and where an inside curve becomes an outside one.
    fn spans(&self, rule: &Rule) -> Vec<Span> {
        let mut found = Vec::new();
        for (from, to) in self.stretches(rule) {
            self.cut_span(from, to, rule, &mut found);
        }
        found.sort_by_key(|span| (span.from, span.to));
        found.dedup_by_key(|span| (span.from, span.to));
        found
    }

    fn cut_span(&self, from: usize, to: usize, rule: &Rule, found: &mut Vec<Span>) {
        let spread = 180.0 - 2.0 * rule.pull_margin_deg;
        let marks = self.curves(from, to);
        let mut add = |from: usize, to: usize| {
            if to > from {
                found.push(Span {
                    from,
                    to,
                    inside_deg: self.inside_deg(from, to),
                    length: (from..to).map(|i| length(self.along(i))).sum(),
                });
            }
        };
        for (k, &low) in marks.iter().enumerate() {
            let near = marks[k + 1..].iter().take(MOST_CURVES);
            let last = marks.last().filter(|_| marks.len() > k + 1 + MOST_CURVES);
            for &high in near.chain(last) {
                let reach = self.reach(low + 1..high, spread).unwrap_or(high);
                add(low, reach);
                if reach < high {
                    add(self.reach((low + 1..high).rev(), spread).unwrap_or(low), high);
                }
            }
        }
    }

    /// The first of some corners, one after the other, at which the directions have spread over more than `most` degrees.
    fn reach(&self, mut corners: impl Iterator<Item = usize>, most: f64) -> Option<usize> {
        let (mut direction, mut left, mut right) = (0.0_f64, 0.0_f64, 0.0_f64);
        corners.find(|i| {
            direction += self.turn(i % self.ring.len());
            (left, right) = (left.max(direction), right.min(direction));
            left - right > most
        })
    }

    /// The chain along a span, led out at both ends, if that holds.
    fn led_out(&self, span: &Span, rule: &Rule, hand: &[Point]) -> Option<Scored> {
        let n = self.ring.len();
        let corners: Vec<Point> = (span.from..=span.to).map(|i| self.corner(i)).collect();
        let (first, last) = (corners[0], corners[corners.len() - 1]);
        let starts = self.ways_out(span.from % n, self.along(span.from) * -1.0, -1.0, rule, hand);
        let ends = self.ways_out(span.to % n, self.along(span.to - 1), 1.0, rule, hand);
        for start in &starts {
            for end in &ends {
                let mut chain = corners.clone();
                let mut along = 0..corners.len() - 1;
                if length(*start - first) > TOUCH {
                    chain.insert(0, *start);
                    along = 1..corners.len();
                } else {
                    chain[0] = *start;
                }
                if length(*end - last) > TOUCH {
                    chain.push(*end);
                } else if let Some(p) = chain.last_mut() {
                    *p = *end;
                }
                if rule
                    .part_ring(hand, &chain, &along)
                    .is_ok_and(|(left, _)| ring::area(&left) < ring::area(hand))
                {
                    return Some((chain, along));
                }
            }
        }
        None
    }

    /// Where a chain that comes to corner i in a direction can end on the edge of the glass, the straightest way first. `side`
    /// is 1 where the piece lies to the left as the chain goes on, −1 where it lies to the right.
    fn ways_out(&self, i: usize, direction: Point, side: f64, rule: &Rule, hand: &[Point]) -> Vec<Point> {
        let at = self.ring[i];
        if self.on_edge[i] {
            let (k, t, _) = ring::on_ring(hand, at);
            let (a, b) = (hand[k], hand[(k + 1) % hand.len()]);
            let mut place = a + (b - a) * t;
            // A corner of the glass so near is the place itself.
            for corner in [a, b] {
                if length(corner - place) <= TOUCH {
                    place = corner;
                }
            }
            return vec![place];
        }
        let unit = direction / length(direction);
        BENDS
            .iter()
            .filter_map(|bend| {
                let along = turned(unit, -side * bend * rule.sharpest_turn_deg);
                let far = ring::ray(hand, at, along, TOUCH)?;
                let to = at + along * far;
                self.is_clear(at, along, far).then_some(to)
            })
            .collect()
    }

    /// Whether the way out keeps off the piece.
    fn is_clear(&self, at: Point, along: Point, far: f64) -> bool {
        let probe = at + along * (far / 2.0).min(0.05);
        if ring::contains(&self.ring, probe) && !ring::is_on(&self.ring, probe, 1e-6) {
            return false;
        }
        let meets = ring::ray(&self.ring, at, along, TOUCH);
        meets.is_none_or(|d| d >= far - TOUCH)
    }
}
