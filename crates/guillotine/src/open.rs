//! Opening a container: runs that make its parts convex and part the flaws from them.

use super::convex::{Part, area, cross, dot, length};
use super::part_tree::Node;
use cullet_geometry::{Outline, Point};
use cullet_search::Random;

/// A container as the search sees it.
#[derive(Debug, Clone)]
pub(super) struct Room {
    pub(super) outline: Vec<Point>,
    pub(super) flaws: Vec<Vec<Point>>,
    /// Convex and around all of it.
    pub(super) hull: Part,
    pub(super) area: f64,
    pub(super) cost: f64,
}

impl Room {
    pub(super) fn new(outline: &Outline, flaws: &[Outline], cost: f64) -> Option<Self> {
        Some(Self {
            outline: outline.points().to_vec(),
            flaws: flaws.iter().map(|f| f.convex_hull().points().to_vec()).collect(),
            hull: Part::new(outline.convex_hull().points().to_vec())?,
            area: outline.area(),
            cost,
        })
    }

    /// The part of the container on the near side of `end`, opened by runs drawn at random.
    pub(super) fn opened(&self, end: Option<End>, least_width: f64, random: &mut Random) -> Node {
        convex_parts(self.outline.clone(), end, &self.flaws, least_width, random)
    }
}

/// A run beyond which nothing is laid: everything lies within `offset` along the unit vector `out`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct End {
    pub(super) out: Point,
    pub(super) offset: f64,
}

fn convex_parts(
    points: Vec<Point>,
    end: Option<End>,
    flaws: &[Vec<Point>],
    least_width: f64,
    random: &mut Random,
) -> Node {
    let n = points.len();
    let inside_corners: Vec<usize> = (0..n)
        .filter(|i| {
            let (a, b, c) = (points[(i + n - 1) % n], points[*i], points[(i + 1) % n]);
            cross(b - a, c - b) < -1e-6 * length(b - a).max(length(c - b))
        })
        .collect();
    if !inside_corners.is_empty() {
        let corner = inside_corners[random.below(inside_corners.len())];
        if let Some((one, two)) = parted_at(&points, corner, random) {
            let a = convex_parts(one, end, flaws, least_width, random);
            let b = convex_parts(two, end, flaws, least_width, random);
            return Node::Run(None, Box::new(a), Box::new(b));
        }
        return Node::Flaw;
    }
    let part = Part::new(points).and_then(|part| match end {
        Some(end) => {
            let along = Point {
                x: -end.out.y,
                y: end.out.x,
            };
            part.cut(end.out * end.offset, along).0
        }
        None => Some(part),
    });
    part.map_or(Node::Flaw, |part| without_flaws(part, flaws, least_width, random))
}

/// Parts a polygon by the extension of one of the sides at an inside corner.
fn parted_at(points: &[Point], corner: usize, random: &mut Random) -> Option<(Vec<Point>, Vec<Point>)> {
    let n = points.len();
    let (a, b, c) = (points[(corner + n - 1) % n], points[corner], points[(corner + 1) % n]);
    let along = if random.below(2) == 0 { b - a } else { b - c };
    let along = along / length(along);
    let mut hit: Option<(f64, usize)> = None;
    for j in 0..n {
        let (p, q) = (points[j], points[(j + 1) % n]);
        if j == corner || (j + 1) % n == corner {
            continue;
        }
        let (d, e) = (cross(along, p - b), cross(along, q - b));
        if (d > 0.0) == (e > 0.0) {
            continue;
        }
        let far = dot(along, p + (q - p) * (d / (d - e)) - b);
        if far > 1e-6 && hit.is_none_or(|(h, _)| far < h) {
            hit = Some((far, j));
        }
    }
    let (far, j) = hit?;
    let at = b + along * far;
    let walk = |from: usize, to: usize| {
        let mut list = vec![points[from]];
        let mut k = from;
        while k != to {
            k = (k + 1) % n;
            list.push(points[k]);
        }
        list
    };
    let mut one = walk(corner, j);
    let mut two = walk((j + 1) % n, corner);
    one.push(at);
    two.push(at);
    Some((tidied(one), tidied(two))).filter(|(x, y)| area(x) > 1e-3 && area(y) > 1e-3)
}

fn tidied(points: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for p in points {
        if kept.last().is_none_or(|q| length(p - *q) > 1e-6) {
            kept.push(p);
        }
    }
    while kept.len() > 3 && length(kept[0] - kept[kept.len() - 1]) <= 1e-6 {
        kept.pop();
    }
    kept
}

fn without_flaws(part: Part, flaws: &[Vec<Point>], least_width: f64, random: &mut Random) -> Node {
    let reached: Vec<&Vec<Point>> = flaws.iter().filter(|flaw| reaches(&part, flaw)).collect();
    if reached.is_empty() {
        return Node::Free(part);
    }
    let flaw = reached[random.below(reached.len())];
    let mut runs: Vec<(f64, Part, Part)> = Vec::new();
    let quarter = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].map(|(x, y)| Point { x, y });
    let outs = part.sides.iter().map(|s| s.normal).chain(quarter);
    for out in outs {
        let offset = super::shape::reach(flaw, out);
        let along = Point { x: -out.y, y: out.x };
        if let (Some(near), Some(clean)) = part.cut(out * offset, along)
            && clean.width() >= least_width
        {
            runs.push((clean.area * random.within(0.2, 1.0), near, clean));
        }
    }
    let best = runs.into_iter().max_by(|a, b| a.0.total_cmp(&b.0));
    match best {
        Some((_, near, clean)) => Node::Run(
            None,
            Box::new(without_flaws(near, flaws, least_width, random)),
            Box::new(without_flaws(clean, flaws, least_width, random)),
        ),
        None => Node::Flaw,
    }
}

/// Whether a flaw takes any of the part: no side of either parts them.
fn reaches(part: &Part, flaw: &[Point]) -> bool {
    let apart = |a: &[Point], b: &[Point]| {
        super::convex::sides(a).any(|(p, q)| {
            let along = q - p;
            b.iter().all(|r| cross(along, *r - p) <= 1e-6 * length(along))
        })
    };
    !apart(&part.points, flaw) && !apart(flaw, &part.points)
}
