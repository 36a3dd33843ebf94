//! Where scores meet: which of them go on in one, and how the others end.
//!
//! Every line is cut where another one ends on it. Of what meets there, two that go on without a corner are driven in one; the
//! rest stops a gap short. Scores along a piece are kept whole before those that only open waste: so a circle that is opened by
//! reliefs is still one path. Without crossings no more than one pair goes through a junction.

use crate::index::{Index, foot};
use crate::network::{Beside, Line, between};
use crate::path::{Curving, Purpose, ScorePath};
use crate::stretch::{Stretch, norm, turn, unit};
use crate::{Settings, fit};
use cullet_geometry::Point;

/// Scores that come so near meet there, mm.
const MEETS: f64 = 0.05;
/// Two scores stay at least so far apart where one stops short of the other, mm: at a flat angle that is more than the gap.
const APART: f64 = 0.03;
/// What a path may lose of its length to gaps and runs.
const MOST_LOST: f64 = 0.5;
/// A path that turns less is straight, radians (5°).
const STRAIGHT: f64 = 0.087;

/// A line between two junctions.
#[derive(Debug)]
struct Edge {
    line: usize,
    points: Vec<Point>,
    beside: Vec<Beside>,
    nodes: [usize; 2],
}

/// A place where lines start, end or meet.
#[derive(Debug)]
struct Node {
    at: Point,
    on_edge: bool,
    /// The edges that leave it: which, and whether from its end.
    leaving: Vec<(usize, bool)>,
}

/// What is driven in one, before corners part it.
#[derive(Debug)]
pub(crate) struct Route {
    points: Vec<Point>,
    beside: Vec<Beside>,
    lines: Vec<usize>,
    /// By how much it is shortened at the start and the end, mm; below 0 it is lengthened.
    short: [f64; 2],
}

/// The routes through all lines, and how often they cross.
pub(crate) fn routes(lines: &[Line], settings: &Settings) -> (Vec<Route>, usize) {
    let (edges, nodes) = parted(lines);
    // Which half edge goes on as which; half edge 2k leaves edge k's start, 2k + 1 its end.
    let mut partner: Vec<Option<usize>> = vec![None; 2 * edges.len()];
    let mut crossings = 0;
    for node in &nodes {
        let pairs = pairs(node, &edges, settings);
        crossings += pairs.len().saturating_sub(1);
        for (a, b) in pairs {
            (partner[a], partner[b]) = (Some(b), Some(a));
        }
    }
    let mut done = vec![false; edges.len()];
    let mut routes = vec![];
    let open = (0..2 * edges.len()).filter(|half| partner[*half].is_none());
    for start in open.chain((0..edges.len()).map(|edge| 2 * edge)) {
        if done[start / 2] {
            continue;
        }
        let mut halves = vec![];
        let mut half = start;
        loop {
            done[half / 2] = true;
            halves.push(half);
            match partner[half ^ 1] {
                Some(next) if !done[next / 2] => half = next,
                _ => break,
            }
        }
        let is_closed = partner[start].is_some();
        routes.push(route(&halves, is_closed, &edges, &nodes, settings));
    }
    (routes, crossings)
}

/// Where each line is cut, as distances along it: at its end, and where others end on it.
fn cuts(lines: &[Line]) -> Vec<Vec<f64>> {
    let mut index = Index::new();
    for (number, line) in lines.iter().enumerate() {
        let mut at = 0.0;
        for w in line.points.windows(2) {
            index.add(w[0], w[1], (number, at));
            at += norm(w[1] - w[0]);
        }
    }
    let mut cuts: Vec<Vec<f64>> = lines.iter().map(|line| vec![length(&line.points)]).collect();
    for (number, line) in lines.iter().enumerate() {
        for (end, p) in [line.points[0], line.points[line.points.len() - 1]]
            .into_iter()
            .enumerate()
        {
            if line.on_edge[end] {
                continue;
            }
            for (a, b, (other, from)) in index.near(p, p, MEETS) {
                let (share, off) = foot(*a, *b, p);
                if *other != number && off <= MEETS {
                    cuts[*other].push(from + share * norm(*b - *a));
                }
            }
        }
    }
    cuts
}

/// The lines cut where others end on them.
fn parted(lines: &[Line]) -> (Vec<Edge>, Vec<Node>) {
    let mut cuts = cuts(lines);
    let mut nodes: Vec<Node> = vec![];
    let mut places: Index<usize> = Index::new();
    let mut node = |p: Point, on_edge: bool, nodes: &mut Vec<Node>| {
        let near = places.near(p, p, MEETS);
        let near = near
            .iter()
            .find(|(at, _, _)| norm(*at - p) <= MEETS)
            .map(|(_, _, k)| *k);
        let number = near.unwrap_or_else(|| {
            places.add(p, p, nodes.len());
            nodes.push(Node {
                at: p,
                on_edge: false,
                leaving: vec![],
            });
            nodes.len() - 1
        });
        nodes[number].on_edge |= on_edge;
        number
    };
    let mut edges = vec![];
    for (number, line) in lines.iter().enumerate() {
        let mut cuts = std::mem::take(&mut cuts[number]);
        cuts.sort_by(f64::total_cmp);
        let whole = length(&line.points);
        let mut at = 0.0;
        for cut in cuts {
            let is_end = whole - cut <= MEETS;
            let cut = if is_end { whole } else { cut };
            if cut - at <= MEETS && !(is_end && at == 0.0) {
                continue;
            }
            let points = between(&line.points, at, cut);
            let on_edge = [at == 0.0 && line.on_edge[0], is_end && line.on_edge[1]];
            if points.len() > 1 {
                let from = node(points[0], on_edge[0], &mut nodes);
                let to = node(points[points.len() - 1], on_edge[1], &mut nodes);
                nodes[from].leaving.push((edges.len(), false));
                nodes[to].leaving.push((edges.len(), true));
                edges.push(Edge {
                    line: number,
                    beside: sides_between(line, at, cut, points.len() - 1),
                    points,
                    nodes: [from, to],
                });
            }
            at = cut;
        }
    }
    (edges, nodes)
}

fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|w| norm(w[1] - w[0])).sum()
}

/// What the sides between two distances along the line follow.
fn sides_between(line: &Line, low: f64, high: f64, count: usize) -> Vec<Beside> {
    let mut at = 0.0;
    let mut sides = vec![];
    for (w, beside) in line.points.windows(2).zip(&line.beside) {
        let length = norm(w[1] - w[0]);
        if at + length > low && at < high && length > 0.0 {
            sides.push(*beside);
        }
        at += length;
    }
    sides.resize(count, Beside::None);
    sides
}

/// Which half edges go on as one at a node, best first.
fn pairs(node: &Node, edges: &[Edge], settings: &Settings) -> Vec<(usize, usize)> {
    let mut found = vec![];
    let half = |(edge, from_end): (usize, bool)| 2 * edge + usize::from(from_end);
    for (i, a) in node.leaving.iter().enumerate() {
        for b in &node.leaving[i + 1..] {
            let (first, second) = (first_side(&edges[a.0], a.1), first_side(&edges[b.0], b.1));
            let bend = turn(first * -1.0, second).abs();
            let shorter = norm(first).min(norm(second));
            let is_facet = bend < 0.79 && shorter / 2.0 * (bend / 4.0).tan() <= settings.facet;
            if bend > settings.turn_limit_deg.to_radians() && !is_facet {
                continue;
            }
            let follows = |(edge, from_end): (usize, bool)| {
                let edge = &edges[edge];
                let beside = edge.beside[if from_end { edge.beside.len() - 1 } else { 0 }];
                beside != Beside::None
            };
            let class = match (follows(*a) && follows(*b), edges[a.0].line == edges[b.0].line) {
                (true, _) => 0,
                (false, true) => 1,
                (false, false) => 2,
            };
            found.push((class, bend, half(*a), half(*b)));
        }
    }
    found.sort_by_key(|x| (x.0, x.2, x.3));
    found.sort_by(|x, y| x.0.cmp(&y.0).then(x.1.total_cmp(&y.1)));
    let mut pairs: Vec<(usize, usize)> = vec![];
    for (_, _, a, b) in found {
        let is_free = pairs
            .iter()
            .all(|(c, d)| ![*c, *d].contains(&a) && ![*c, *d].contains(&b));
        if is_free && (pairs.is_empty() || settings.may_cross) && a / 2 != b / 2 {
            pairs.push((a, b));
        }
    }
    pairs
}

fn first_side(edge: &Edge, from_end: bool) -> Point {
    let n = edge.points.len();
    if from_end {
        edge.points[n - 2] - edge.points[n - 1]
    } else {
        edge.points[1] - edge.points[0]
    }
}

fn route(halves: &[usize], is_closed: bool, edges: &[Edge], nodes: &[Node], settings: &Settings) -> Route {
    let mut route = Route {
        points: vec![],
        beside: vec![],
        lines: vec![],
        short: [0.0; 2],
    };
    for half in halves {
        let edge = &edges[half / 2];
        let is_back = half % 2 == 1;
        let mut points = edge.points.clone();
        let mut beside = edge.beside.clone();
        if is_back {
            points.reverse();
            beside.reverse();
            for one in &mut beside {
                *one = match one {
                    Beside::Left => Beside::Right,
                    Beside::Right => Beside::Left,
                    Beside::None => Beside::None,
                };
            }
        }
        let skip = usize::from(!route.points.is_empty());
        route.points.extend(points.into_iter().skip(skip));
        route.beside.extend(beside);
        route.lines.push(edge.line);
    }
    if !is_closed {
        let ends = [halves[0], halves[halves.len() - 1] ^ 1];
        let whole = length(&route.points);
        route.short = ends.map(|half| shortened(half, whole, edges, nodes, settings));
        let lost: f64 = route.short.iter().map(|short| short.max(0.0)).sum();
        if lost > whole * MOST_LOST {
            route.short = route.short.map(|short| short.min(short * whole * MOST_LOST / lost));
        }
    }
    route
}

/// By how much a route that starts with this half edge is shortened there.
fn shortened(half: usize, whole: f64, edges: &[Edge], nodes: &[Node], settings: &Settings) -> f64 {
    let edge = &edges[half / 2];
    let is_back = half % 2 == 1;
    let number = edge.nodes[usize::from(is_back)];
    let node = &nodes[number];
    if node.on_edge {
        return settings.edge_run;
    }
    let mut points = edge.points.clone();
    if is_back {
        points.reverse();
    }
    let others: Vec<&Edge> = node
        .leaving
        .iter()
        .filter(|(other, _)| *other != half / 2)
        .map(|(other, _)| &edges[*other])
        .collect();
    let off = |p: Point| {
        let sides = others.iter().flat_map(|edge| edge.points.windows(2));
        sides.map(|w| foot(w[0], w[1], p).1).fold(f64::INFINITY, f64::min)
    };
    let mut short = settings.gap;
    let most = (whole * MOST_LOST / 2.0).min(length(&points));
    while short < most && off(at(&points, short)) < APART {
        short += 0.25;
    }
    debug_assert!(norm(node.at - points[0]) <= 2.0 * MEETS);
    short
}

fn at(points: &[Point], distance: f64) -> Point {
    let found = between(points, distance, f64::INFINITY);
    found.first().copied().unwrap_or(points[points.len() - 1])
}

/// What is driven of a route: its sections between corners.
pub(crate) fn driven(route: &Route, lines: &[Line], settings: &Settings) -> Vec<ScorePath> {
    let whole = length(&route.points);
    let [start, end] = route.short;
    let mut points = between(&route.points, start.max(0.0), whole - end.max(0.0));
    if points.len() < 2 {
        return vec![];
    }
    let n = points.len();
    if start < 0.0 {
        points[0] = points[0] + unit(points[0] - points[1]) * -start;
    }
    if end < 0.0 {
        points[n - 1] = points[n - 1] + unit(points[n - 1] - points[n - 2]) * -end;
    }
    let mut breaks: Vec<usize> = route.lines.iter().map(|line| lines[*line].step).collect();
    breaks.sort_unstable();
    breaks.dedup();
    let otherwise = route.lines.iter().map(|line| lines[*line].otherwise).min();
    let mut driven = start;
    let mut paths = vec![];
    for stretches in fit::sections(&points, settings) {
        let mut turns = Turns::default();
        for stretch in &stretches {
            let length = stretch.length();
            turns.add(stretch, beside_at(route, driven + length / 2.0), length);
            driven += length;
        }
        let purpose = match otherwise {
            _ if turns.followed > 0.1 * turns.length => Purpose::Score,
            Some(otherwise) => otherwise,
            None => Purpose::Relief,
        };
        paths.push(ScorePath {
            curving: turns.curving(),
            purpose,
            stretches,
            breaks: breaks.clone(),
        });
    }
    paths
}

fn beside_at(route: &Route, distance: f64) -> Beside {
    let mut at = 0.0;
    for (w, beside) in route.points.windows(2).zip(&route.beside) {
        at += norm(w[1] - w[0]);
        if at >= distance {
            return *beside;
        }
    }
    route.beside.last().copied().unwrap_or(Beside::None)
}

/// How a path turns in all.
#[derive(Default)]
struct Turns {
    length: f64,
    followed: f64,
    inside: f64,
    outside: f64,
}

impl Turns {
    fn add(&mut self, stretch: &Stretch, beside: Beside, length: f64) {
        let sweep = stretch.sweep();
        self.length += length;
        if beside != Beside::None {
            self.followed += length;
        }
        match beside {
            Beside::Left if sweep < 0.0 => self.inside -= sweep,
            Beside::Right if sweep > 0.0 => self.inside += sweep,
            _ => self.outside += sweep.abs(),
        }
    }

    fn curving(&self) -> Curving {
        if self.inside + self.outside < STRAIGHT {
            Curving::Straight
        } else if self.inside > STRAIGHT && self.inside >= self.outside {
            Curving::Inside
        } else {
            Curving::Outside
        }
    }
}
