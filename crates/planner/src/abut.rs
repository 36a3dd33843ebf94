//! Pieces that share a straight score in a shaped layout; those that share curved ones too are in `drawn`.
//!
//! Two pieces with straight edges of one length are laid as one item: side by side, the score between them shared, so that the
//! narrowest strip between them is saved. Pairs are chosen by what they save: the strip along the shared edge, less the waste
//! that the pair has in its hull and its pieces have not. Pairs pair up again, to rows and blocks.

use super::scored::{rule_for, scored};
use cullet_breakout::{Rule, order};
use cullet_geometry::tolerance::JOIN;
use cullet_geometry::{Outline, Point, Pose, boolean, offset};
use cullet_search::{Container, Item, Placed, Problem, Turns};
use geo::{Area, ConvexHull, MultiPoint};

mod contents;
mod drawn;
mod parts;
pub(super) use drawn::Known;

/// Shortest edge that is worth sharing, in narrowest strips.
const SHORTEST: f64 = 4.0;
/// Least that a pair saves, as a share of its area: pairs that save less only bind the search's hands.
const LEAST_SAVED: f64 = 0.025;
/// Share of all glass that lies in pairs, at least, for pairs to be worth it.
const LEAST_PAIRED: f64 = 0.25;
/// Times that pairs are paired up again.
const ROUNDS: usize = 3;
/// Largest pair, as a share of the largest container: larger ones leave the search no room.
const LARGEST: f64 = 0.2;
/// Most edges looked at; beyond that the longest.
const MOST_EDGES: usize = 400;

/// The name of the group of which a piece is: its glass must come from one lot.
pub(super) type Group<'g> = &'g (dyn Fn(usize) -> Option<&'g str> + Sync);

/// A problem whose last items are pairs.
#[derive(Clone)]
pub(super) struct Abutted {
    pub(super) problem: Problem,
    /// The items in each pair or block, and how they lie in its frame.
    pairs: Vec<Vec<(usize, Pose)>>,
    /// How many items are no pairs.
    singles: usize,
    /// Whether the pairs lie as in their panel.
    is_drawn: bool,
}

/// A straight edge of an item.
struct Edge {
    item: usize,
    from: Point,
    to: Point,
    length: f64,
    angle_deg: f64,
}

/// One way of laying two items edge to edge.
struct Match {
    saved: f64,
    first: usize,
    second: usize,
    /// Of the second in the frame of the first.
    pose: Pose,
}

impl Abutted {
    /// The problem with the pairs that save most; nothing where they are too few. Only pieces of one `group` are paired.
    pub(super) fn of(problem: &Problem, kerf: f64, rule: &Rule, group: Group<'_>) -> Option<Self> {
        let mut abutted = Self {
            problem: problem.clone(),
            pairs: vec![],
            singles: problem.items.len(),
            is_drawn: false,
        };
        abutted.pair_all(kerf, rule, group);
        let area = |items: &[Item]| -> f64 { items.iter().map(|i| f64::from(i.count) * i.outline.area()).sum() };
        let paired = area(&abutted.problem.items[abutted.singles..]);
        (paired >= LEAST_PAIRED * area(&problem.items) && paired > 0.0).then_some(abutted)
    }

    /// Pairs of what there is, and pairs of those.
    fn pair_all(&mut self, kerf: f64, rule: &Rule, group: Group<'_>) {
        let most = most(self.problem.containers.iter());
        for _ in 0..ROUNDS {
            self.pair_up(kerf, most, rule, group);
        }
    }

    /// Pairs of what there is, the most saving by their size first.
    fn pair_up(&mut self, kerf: f64, most: f64, rule: &Rule, group: Group<'_>) {
        let problem = self.problem.clone();
        let of_one_group = |i: usize, j: usize| group(self.piece(i)) == group(self.piece(j));
        let mut all = matches(&problem, kerf, most, &of_one_group);
        let size = |m: &Match| problem.items[m.first].outline.area() + problem.items[m.second].outline.area();
        all.sort_by(|a, b| (b.saved / size(b)).total_cmp(&(a.saved / size(a))));
        for found in all {
            let left = |i: usize| self.problem.items[i].count;
            let count = if found.first == found.second {
                left(found.first) / 2
            } else {
                left(found.first).min(left(found.second))
            };
            if count == 0 {
                continue;
            }
            let members = [
                self.members(found.first, Pose::IDENTITY),
                self.members(found.second, found.pose),
            ]
            .concat();
            let pieces: Vec<Outline> = members
                .iter()
                .map(|(i, pose)| problem.items[*i].outline.posed(pose))
                .collect();
            let Some(item) = pair(&problem, &found, count, pieces, kerf, rule) else {
                continue;
            };
            self.problem.items[found.first].count -= count;
            self.problem.items[found.second].count -= count;
            self.problem.items.push(item);
            self.pairs
                .push(vec![(found.first, Pose::IDENTITY), (found.second, found.pose)]);
        }
    }

    /// Whether a pair lies on glass for which it would not have been made, larger glass being left unused.
    pub(super) fn are_too_large(&self, placed: &[Placed]) -> bool {
        let most = most(placed.iter().map(|p| &self.problem.containers[p.container]));
        let is_large = |p: &Placed| p.item >= self.singles && self.problem.items[p.item].outline.area() > most;
        !self.is_drawn && placed.iter().any(is_large)
    }
}

/// The largest pair for such glass, mm².
fn most<'a>(containers: impl Iterator<Item = &'a Container>) -> f64 {
    containers.map(|c| c.outline.area()).fold(0.0, f64::max) * LARGEST
}

fn matches(problem: &Problem, kerf: f64, most: f64, may_pair: &dyn Fn(usize, usize) -> bool) -> Vec<Match> {
    let strip = problem.clearance;
    let mut edges: Vec<Edge> = (0..problem.items.len())
        .filter(|i| problem.items[*i].count > 0)
        .flat_map(|i| edges(i, &problem.items[i].outline))
        .filter(|e| e.length >= SHORTEST * strip)
        .collect();
    edges.sort_by(|a, b| b.length.total_cmp(&a.length));
    edges.truncate(MOST_EDGES);
    let hulls: Vec<f64> = problem.items.iter().map(|i| i.outline.convex_hull().area()).collect();
    let mut found = Vec::new();
    for (k, a) in edges.iter().enumerate() {
        for b in edges[k..].iter().take_while(|b| a.length - b.length <= strip) {
            if (a.item == b.item && problem.items[a.item].count < 2) || !may_pair(a.item, b.item) {
                continue;
            }
            let (one, other) = (&problem.items[a.item], &problem.items[b.item]);
            let rotation_deg = (a.angle_deg + 180.0 - b.angle_deg).rem_euclid(360.0);
            if turns(&one.turns, &other.turns, rotation_deg).is_none() {
                continue;
            }
            let turn = Pose {
                rotation_deg,
                ..Pose::IDENTITY
            };
            let along = (a.to - a.from) / a.length;
            let outwards = Point {
                x: along.y,
                y: -along.x,
            };
            // Both ends where they differ.
            for shift in [0.0, a.length - b.length]
                .iter()
                .take(if a.length - b.length > 0.5 { 2 } else { 1 })
            {
                let start = a.to - along * *shift + outwards * kerf;
                let at = start - turn.apply(b.from);
                let pose = Pose {
                    x: at.x,
                    y: at.y,
                    ..turn
                };
                let points = one.outline.points().iter().copied();
                let both: Vec<Point> = points
                    .chain(other.outline.points().iter().map(|p| pose.apply(*p)))
                    .collect();
                let hull = MultiPoint::from(both).convex_hull().unsigned_area();
                let saved = strip * b.length - (hull - hulls[a.item] - hulls[b.item]);
                let least = LEAST_SAVED * (one.outline.area() + other.outline.area());
                if saved > least && hull < most {
                    found.push(Match {
                        saved,
                        first: a.item,
                        second: b.item,
                        pose,
                    });
                }
            }
        }
    }
    found
}

fn edges(item: usize, outline: &Outline) -> Vec<Edge> {
    let points = outline.points();
    (0..points.len())
        .map(|i| {
            let (from, to) = (points[i], points[(i + 1) % points.len()]);
            let along = to - from;
            Edge {
                item,
                from,
                to,
                length: along.x.hypot(along.y),
                angle_deg: along.y.atan2(along.x).to_degrees(),
            }
        })
        .collect()
}

/// The pair as one item, if its pieces do not overlap and come apart.
fn pair(problem: &Problem, found: &Match, count: u32, pieces: Vec<Outline>, kerf: f64, rule: &Rule) -> Option<Item> {
    let (one, other) = (&problem.items[found.first], &problem.items[found.second]);
    let second = other.outline.posed(&found.pose);
    let common: f64 = boolean::intersection(&one.outline, &second)
        .iter()
        .map(boolean::Region::area)
        .sum();
    if common > 0.01 {
        return None;
    }
    let close = JOIN + 0.5 * kerf;
    let grown = [&one.outline, &second].map(|o| offset::grow(o, close));
    let [region] = <[boolean::Region; 1]>::try_from(boolean::union(&grown)).ok()?;
    let [outline] = <[Outline; 1]>::try_from(offset::shrink(&region.outer, close)).ok()?;
    let blank = offset::grow(&outline.convex_hull(), problem.clearance);
    comes_apart(pieces, &blank, kerf, rule).then_some(())?;
    let turned = |a: &Option<Turns>, b: &Option<Turns>| turns(a.as_ref()?, b.as_ref()?, found.pose.rotation_deg);
    Some(Item {
        outline,
        count,
        turns: turns(&one.turns, &other.turns, found.pose.rotation_deg)?,
        turned_over: turned(&one.turned_over, &other.turned_over),
        allowed: vec![],
    })
}

/// Whether pieces come apart out of a blank of their own.
fn comes_apart(pieces: Vec<Outline>, blank: &Outline, kerf: f64, rule: &Rule) -> bool {
    let own = rule_for(&pieces, kerf, rule);
    order(blank, 0.0, &scored(pieces, blank, kerf, rule.ground_off), &[], &own).is_ok()
}

/// Rotations of a pair that both its pieces may have, the second turned by so much against the first.
fn turns(one: &Turns, other: &Turns, by_deg: f64) -> Option<Turns> {
    if one.is_free() {
        return Some(other.clone());
    }
    let mut tolerance_deg = one.tolerance_deg.min(other.tolerance_deg);
    let mut angles_deg = Vec::new();
    for a in &one.angles_deg {
        for b in &other.angles_deg {
            let off = (b - by_deg - a + 180.0).rem_euclid(360.0) - 180.0;
            let (low, high) = (
                (-one.tolerance_deg).max(off - other.tolerance_deg),
                one.tolerance_deg.min(off + other.tolerance_deg),
            );
            if low <= high {
                tolerance_deg = tolerance_deg.min(0.5 * (high - low));
                angles_deg.push(a + 0.5 * (low + high));
            }
        }
    }
    (!angles_deg.is_empty()).then_some(Turns {
        angles_deg,
        tolerance_deg,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_search::Container;

    fn problem(items: Vec<Item>) -> Problem {
        let sheet = Container {
            outline: Outline::rectangle(1000.0, 800.0),
            keep_off: vec![],
            cost: 1.0,
        };
        Problem {
            items,
            containers: vec![sheet],
            clearance: 6.0,
            tolerance: 0.001,
        }
    }

    fn item(outline: Outline, count: u32, turns: Turns) -> Item {
        Item {
            outline,
            count,
            turns,
            turned_over: None,
            allowed: vec![],
        }
    }

    /// Sixteen half quarries become four blocks of four, and every piece is there again where the blocks lie.
    #[test]
    fn half_quarries_pair_up_to_blocks() {
        let half = Outline::new(vec![
            Point { x: 0.0, y: 0.0 },
            Point { x: 100.0, y: 0.0 },
            Point { x: 50.0, y: 75.0 },
        ])
        .unwrap();
        let problem = problem(vec![item(half.clone(), 16, Turns::free())]);
        let abutted = Abutted::of(&problem, 0.0, &Rule::usual(6.0), &|_| None).unwrap();
        let counts: Vec<u32> = abutted.problem.items.iter().map(|i| i.count).collect();
        assert_eq!(counts.iter().rev().find(|c| **c > 0), Some(&4), "{counts:?}");
        let block = abutted.problem.items.iter().rposition(|i| i.count == 4).unwrap();
        let pose = Pose {
            rotation_deg: 33.0,
            turned_over: true,
            x: 300.0,
            y: 200.0,
        };
        let placed = Placed {
            item: block,
            container: 0,
            pose,
        };
        let pieces: Vec<Outline> = abutted.parted(&[placed]).iter().map(|p| half.posed(&p.pose)).collect();
        assert_eq!(pieces.len(), 4);
        let outline = abutted.problem.items[block].outline.posed(&pose);
        let covered: f64 = boolean::union(&pieces).iter().map(boolean::Region::area).sum();
        assert!((covered - 4.0 * half.area()).abs() < 1.0 && (outline.area() - covered).abs() < 1.0);
        assert!(
            pieces
                .iter()
                .all(|p| p.points().iter().all(|q| outline.contains(*q) || near(&outline, *q)))
        );
    }

    fn near(outline: &Outline, p: Point) -> bool {
        let dot = Outline::rectangle(0.002, 0.002).translated(p.x - 0.001, p.y - 0.001);
        outline.distance_to(&dot) < 0.001
    }

    /// With the grain both ways, 1° either way, only half turns match; one way, the two sides of a pane side by side do.
    #[test]
    fn pairs_keep_to_the_grain() {
        let turns = |angles_deg: &[f64], tolerance_deg| Turns {
            angles_deg: angles_deg.to_vec(),
            tolerance_deg,
        };
        let both = turns(&[90.0, 270.0], 1.0);
        assert_eq!(super::turns(&both, &both, 180.0), Some(both.clone()));
        assert_eq!(super::turns(&both, &both, 90.0), None);
        let one = turns(&[90.0], 10.0);
        assert_eq!(super::turns(&one, &one, 8.0), Some(turns(&[86.0], 6.0)));
        assert_eq!(super::turns(&one, &one, 180.0), None);
        // One that may turn less decides alone while it lies within the other's.
        assert_eq!(super::turns(&one, &turns(&[95.0], 2.0), 0.0), Some(turns(&[95.0], 2.0)));
    }

    /// Round pieces have no edge to share.
    #[test]
    fn rounds_stay_single() {
        let round = cullet_geometry::path::flatten(
            "M 0 50 A 50 50 0 0 1 100 50 A 50 50 0 0 1 0 50 Z",
            1.0,
            cullet_geometry::path::YAxis::Up,
            0.05,
        );
        let problem = problem(vec![item(round.unwrap(), 10, Turns::free())]);
        assert!(Abutted::of(&problem, 0.0, &Rule::usual(6.0), &|_| None).is_none());
    }
}
