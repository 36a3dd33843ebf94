//! Blocks made from above: what hangs together in a panel is parted along its lead lines, first into parts that fill the glass, then
//! each part into halves, down to single pieces.
//!
//! Every half that comes apart is a block of its own, so that a block that finds no room can be let go by halves.

use super::drawn::Growing;
use cullet_geometry::{Outline, Point};
use geo::{Area, ConvexHull, MultiPoint};
use std::collections::BTreeSet;

/// Directions in which pieces are put in order to part them.
const DIRECTIONS: u32 = 16;
/// Most lines in one direction.
const MOST_LINES: usize = 32;
/// What a half that is smaller than the other counts for, against waste in the hulls, each as a share of the whole.
const UNEVEN: f64 = 0.3;
/// Smallest half, as a share of the whole.
const SMALLEST: f64 = 0.2;
/// Parts for one glass that are looked at closely, the best of them.
const MOST_TRIED: usize = 6;
/// Pieces in a block, at least, on the mean, for larger ones to be tried.
const FEWEST_IN_BLOCK: usize = 4;
/// A group whose halves are more blocks than this is not tried as one: what holds its parts together holds it too.
const MOST_CHILDREN: usize = 3;

/// What is asked of a piece again and again.
pub(super) struct PieceShape {
    area: f64,
    hull: Vec<Point>,
    middle: Point,
}

impl PieceShape {
    pub(super) fn of(outline: &Outline) -> Self {
        let bounds = outline.bounds();
        Self {
            area: outline.area(),
            hull: outline.convex_hull().points().to_vec(),
            middle: (bounds.min + bounds.max) / 2.0,
        }
    }
}

/// Pieces of a group on either side of a line.
struct Parting {
    here: Vec<usize>,
    there: Vec<usize>,
    /// The better, the higher.
    score: f64,
}

/// How good a parting into two is; nothing where it is none.
type Score<'s> = &'s dyn Fn(&[usize], &[usize]) -> Option<f64>;

impl Growing<'_, '_> {
    /// Parts every group that hangs together into blocks as large as the glass.
    pub(super) fn part_all(&mut self) {
        let all: Vec<usize> = (0..self.blocks.singles).collect();
        for group in self.hanging_together(&all) {
            self.part(group);
        }
    }

    /// Halves a group; where it is no block as a whole, takes off it what fills the glass, until what is left fits too.
    fn part(&mut self, group: Vec<usize>) {
        let mut whole = self.clone();
        let blocks = whole.halved(&group);
        // Where little comes apart, larger parts do not either.
        let is_done = blocks.len() == 1 || blocks.len() * FEWEST_IN_BLOCK > group.len();
        let filling = if is_done { None } else { self.filling(&group) };
        let Some(parting) = filling else {
            *self = whole;
            return;
        };
        self.halved(&parting.here);
        for rest in self.hanging_together(&parting.there) {
            self.part(rest);
        }
    }

    /// The blocks that a group comes to, one where it can be: each block is made of its halves.
    fn halved(&mut self, group: &[usize]) -> Vec<usize> {
        if let [piece] = group {
            return vec![*piece];
        }
        let Some(halves) = self.halves(group) else {
            return group.to_vec();
        };
        let [mut blocks, others] = [halves.here, halves.there].map(|half| self.halved(&half));
        blocks.extend(others);
        if blocks.len() > MOST_CHILDREN {
            return blocks;
        }
        match self.joined(group) {
            Some(item) => vec![self.put(&blocks, item)],
            None => blocks,
        }
    }

    /// The best way to part a group into two that hang together, each not much smaller than the other.
    fn halves(&self, group: &[usize]) -> Option<Parting> {
        let whole = self.area(group);
        let all = self.partings(group, &|here, there| {
            let share = self.area(here) / whole;
            let is_fair = share.min(1.0 - share) >= SMALLEST || group.len() < 4;
            is_fair.then(|| -(self.waste(here) + self.waste(there)) / whole - UNEVEN * (share - 0.5).abs())
        });
        let both =
            |p: &Parting| self.hanging_together(&p.here).len() == 1 && self.hanging_together(&p.there).len() == 1;
        all.into_iter().find(both)
    }

    /// The best part of a group that fills the largest glass that blocks are made for, where one comes apart.
    fn filling(&self, group: &[usize]) -> Option<Parting> {
        let glass = self.sizes_of_glass();
        let all = self.partings(group, &|here, there| {
            let fits = self.may_fit(here, &glass);
            fits.then(|| self.area(here) - self.waste(here) - self.waste(there))
        });
        let whole = all.into_iter().filter(|p| self.hanging_together(&p.here).len() == 1);
        whole.take(MOST_TRIED).find(|p| self.joined(&p.here).is_some())
    }

    /// Every parting of a group by a straight line that `score` likes, the best first.
    fn partings(&self, group: &[usize], score: Score<'_>) -> Vec<Parting> {
        let mut all = vec![];
        for direction in 0..DIRECTIONS {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(direction) / f64::from(DIRECTIONS)).sin_cos();
            let along = |piece: &usize| cos * self.shapes[*piece].middle.x + sin * self.shapes[*piece].middle.y;
            let mut ordered = group.to_vec();
            ordered.sort_by(|a, b| along(a).total_cmp(&along(b)));
            // Of many pieces not every line between two of them is looked at.
            for k in (1..ordered.len()).step_by(ordered.len().div_ceil(MOST_LINES)) {
                let (here, there) = ordered.split_at(k);
                if let Some(score) = score(here, there) {
                    all.push(Parting {
                        here: here.to_vec(),
                        there: there.to_vec(),
                        score,
                    });
                }
            }
        }
        all.sort_by(|a, b| b.score.total_cmp(&a.score));
        all
    }

    /// The groups of `pieces` that run along each other.
    fn hanging_together(&self, pieces: &[usize]) -> Vec<Vec<usize>> {
        let mut left: BTreeSet<usize> = pieces.iter().copied().collect();
        let mut groups = vec![];
        while let Some(first) = left.pop_first() {
            let mut group = vec![first];
            let mut looked_at = 0;
            while let Some(piece) = group.get(looked_at).copied() {
                let beside = |other: &usize| self.beside.contains_key(&(piece.min(*other), piece.max(*other)));
                let near: Vec<usize> = left.iter().copied().filter(beside).collect();
                near.iter().for_each(|other| {
                    left.remove(other);
                });
                group.extend(near);
                looked_at += 1;
            }
            groups.push(group);
        }
        groups
    }

    fn area(&self, pieces: &[usize]) -> f64 {
        let areas = pieces.iter().map(|p| self.shapes[*p].area);
        areas.fold(0.0, |sum, area| sum + area)
    }

    /// What the hull of pieces holds beside them, mm².
    fn waste(&self, pieces: &[usize]) -> f64 {
        self.hull(pieces).unsigned_area() - self.area(pieces)
    }

    fn hull(&self, pieces: &[usize]) -> geo::Polygon<f64> {
        let corners = pieces.iter().flat_map(|p| self.shapes[*p].hull.iter().copied());
        MultiPoint::from(corners.collect::<Vec<Point>>()).convex_hull()
    }

    /// Width and height of the largest glass that blocks are made for.
    fn sizes_of_glass(&self) -> Vec<(f64, f64)> {
        let containers = self.blocks.problem.containers.iter().map(|c| &c.outline);
        let mut glass: Vec<&Outline> = containers.filter(|o| o.area() <= self.glass).collect();
        glass.sort_by(|a, b| b.area().total_cmp(&a.area()));
        let size = |outline: &Outline| (outline.bounds().width(), outline.bounds().height());
        glass.first().map(|outline| size(outline)).into_iter().collect()
    }

    /// Whether pieces go into one of the rectangles, at whatever turn: a look before it is tried.
    fn may_fit(&self, pieces: &[usize], sizes: &[(f64, f64)]) -> bool {
        let hull = self.hull(pieces);
        if hull.unsigned_area() > self.largest {
            return false;
        }
        let corners: Vec<Point> = hull.exterior().0.clone();
        hull.exterior().lines().any(|side| {
            let length = side.dx().hypot(side.dy());
            let along = Point {
                x: side.dx() / length,
                y: side.dy() / length,
            };
            let extent = |x: f64, y: f64| {
                let reach = corners.iter().map(|p| x * p.x + y * p.y);
                let (low, high) = reach.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), r| (l.min(r), h.max(r)));
                high - low
            };
            let (wide, high) = (extent(along.x, along.y), extent(-along.y, along.x));
            let goes = |(w, h): &(f64, f64)| (wide <= *w && high <= *h) || (wide <= *h && high <= *w);
            length > 0.0 && sizes.iter().any(goes)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Abutted, Known};
    use cullet_breakout::Rule;
    use cullet_geometry::Outline;
    use cullet_search::{Container, Item, Problem, Turns};

    /// A panel of four by eight quarries a lead line apart, 400 × 800 mm, with half sheets that hold six of the eight rows: first comes
    /// a block of those, and one of the other two.
    #[test]
    fn the_first_block_fills_the_glass_and_the_rest_is_the_next() {
        let sheet = |wide: f64, high: f64| Container {
            outline: Outline::rectangle(wide, high),
            keep_off: vec![],
            cost: wide * high,
        };
        let quarry = |k: usize| Item {
            outline: Outline::rectangle(99.4, 99.4).translated((k % 4) as f64 * 100.0, (k / 4) as f64 * 100.0),
            count: 1,
            turns: Turns::free(),
            turned_over: None,
            allowed: vec![],
        };
        let problem = Problem {
            items: (0..32).map(quarry).collect(),
            containers: vec![sheet(900.0, 1300.0), sheet(450.0, 650.0)],
            clearance: 6.0,
            tolerance: 0.001,
        };
        let known = Known {
            kerf: 0.0,
            rule: Rule {
                ground_off: 0.75,
                ..Rule::usual(6.0)
            },
            homes: &[Some(0); 32],
            group: &|_| None,
            shapes: &cullet_nest::Shapes::default(),
        };
        let ways = Abutted::as_drawn(&problem, &known, 9);
        let mut sizes: Vec<usize> = ways[0].contents().iter().map(|(pieces, _)| pieces.len()).collect();
        sizes.sort_unstable();
        assert_eq!(sizes, [8, 24]);
        // On the largest sheet they are one.
        let whole = ways
            .iter()
            .any(|way| way.contents().iter().all(|(pieces, _)| pieces.len() == 32));
        assert!(whole);
        // Let go by halves they end as single pieces, each once.
        let single: Vec<u32> = ways[0].finer(9).problem.items.iter().map(|item| item.count).collect();
        assert_eq!(single.iter().take(32).sum::<u32>(), 32);
        assert_eq!(single.iter().sum::<u32>(), 32);
    }
}
