//! The same questions put to the kernel, to `geo` and to `parry2d-f64`.

use crate::pieces::{Packed, Pair, Piece, polygon};
use cullet_geometry::{Outline, Point};
use cullet_nest::kernel::{Posed, Scene, Shape};
use geo::{BoundingRect, Intersects, Polygon, Translate};
use parry2d_f64::math::{Isometry, Point as ParryPoint, Vector};
use parry2d_f64::query::intersection_test;
use parry2d_f64::shape::{Compound, Polyline, Shape as Shape2d, SharedShape};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

/// Somebody who answers whether pieces overlap.
pub(crate) trait Engine {
    const NAME: &'static str;

    /// The question whether the piece at the place of this number overlaps any placed one, made ready.
    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool>;
}

/// Somebody who answers it for two pieces alone, too.
pub(crate) trait PairEngine: Engine {
    /// The question whether a pair overlaps, made ready.
    fn pair(pair: &Pair) -> Box<dyn Fn() -> bool>;
}

pub(crate) fn scene_answers<E: Engine>(packed: &Packed) -> Vec<bool> {
    let query = E::scene(packed);
    (0..packed.asked.len()).map(query).collect()
}

/// This project's kernel.
pub(crate) struct Kernel;

/// How deep pieces may sink into each other, mm.
const TOLERANCE: f64 = 0.01;

/// The piece made ready, and the point that its offsets refer to.
fn posed(piece: &Piece) -> (Posed, Point) {
    let points = piece.iter().map(|p| Point { x: p[0], y: p[1] }).collect();
    let outline = Outline::new(points).unwrap_or_else(|error| unreachable!("{error}"));
    let shape = Shape::new(&outline, TOLERANCE);
    (shape.turned(0.0, false), shape.reference())
}

impl PairEngine for Kernel {
    fn pair(pair: &Pair) -> Box<dyn Fn() -> bool> {
        let ((still, a), (moved, b)) = (posed(&pair.still), posed(&pair.moved));
        let (dx, dy) = (pair.offset[0] + b.x - a.x, pair.offset[1] + b.y - a.y);
        Box::new(move || moved.overlaps(&still, dx, dy))
    }
}

impl Engine for Kernel {
    const NAME: &'static str = "kernel";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        let mut scene = Scene::new(packed.width, packed.height, 100.0);
        for (piece, at) in &packed.placed {
            let (posed, reference) = posed(piece);
            scene.add(&posed, at[0] + reference.x, at[1] + reference.y);
        }
        let (moved, reference) = posed(&packed.moved);
        let asked = packed.asked.clone();
        Box::new(move |i| scene.overlaps(&moved, asked[i][0] + reference.x, asked[i][1] + reference.y))
    }
}

/// `geo`'s polygons, already at their places.
pub(crate) struct Geo;

impl PairEngine for Geo {
    fn pair(pair: &Pair) -> Box<dyn Fn() -> bool> {
        let still = polygon(&pair.still);
        let moved = polygon(&pair.moved).translate(pair.offset[0], pair.offset[1]);
        Box::new(move || moved.intersects(&still))
    }
}

impl Engine for Geo {
    const NAME: &'static str = "geo";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        let placed = packed.placed.iter();
        let placed: Vec<Polygon<f64>> = placed.map(|(p, at)| polygon(p).translate(at[0], at[1])).collect();
        let corners = |shape: &Polygon<f64>| {
            let bounds = shape
                .bounding_rect()
                .unwrap_or_else(|| unreachable!("a piece has corners"));
            (bounds.min().into(), bounds.max().into())
        };
        let boxes = placed.iter().enumerate().map(|(i, shape)| {
            let (low, high): ([f64; 2], [f64; 2]) = corners(shape);
            GeomWithData::new(Rectangle::from_corners(low, high), i)
        });
        let tree = RTree::bulk_load(boxes.collect());
        let moved = polygon(&packed.moved);
        let moved: Vec<(Polygon<f64>, AABB<[f64; 2]>)> = packed
            .asked
            .iter()
            .map(|at| {
                let shape = moved.translate(at[0], at[1]);
                let (low, high) = corners(&shape);
                (shape, AABB::from_corners(low, high))
            })
            .collect();
        Box::new(move |i| {
            let (shape, bounds) = &moved[i];
            tree.locate_in_envelope_intersecting(bounds)
                .any(|near| shape.intersects(&placed[near.data]))
        })
    }
}

/// `parry2d-f64`: a compound of exact convex parts.
pub(crate) struct Parts;

/// A piece cut into convex parts at its origin: as many corners in a row as stay convex make a part with the origin.
fn parts(piece: &Piece) -> Vec<SharedShape> {
    let n = piece.len();
    let at = |i: usize| piece[i % n];
    let cross = |o: [f64; 2], a: [f64; 2], b: [f64; 2]| (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]);
    let mut parts = Vec::new();
    let mut start = 0;
    while start < n {
        let mut end = start + 1;
        // The next corner joins while this one is convex and the part stays under half a turn.
        while end < n && cross(at(end - 1), at(end), at(end + 1)) > 0.0 && cross([0.0; 2], at(start), at(end + 1)) > 0.0
        {
            end += 1;
        }
        let mut corners = vec![ParryPoint::new(0.0, 0.0)];
        corners.extend((start..=end).map(|i| ParryPoint::new(at(i)[0], at(i)[1])));
        parts.push(SharedShape::convex_polyline(corners).unwrap_or_else(|| unreachable!("the part is convex")));
        start = end;
    }
    parts
}

fn moved_to(at: [f64; 2]) -> Isometry<f64> {
    Isometry::new(Vector::new(at[0], at[1]), 0.0)
}

fn compound(pieces: &[(&Piece, [f64; 2])]) -> Compound {
    let parts = pieces
        .iter()
        .flat_map(|(piece, at)| parts(piece).into_iter().map(|part| (moved_to(*at), part)));
    Compound::new(parts.collect())
}

impl PairEngine for Parts {
    fn pair(pair: &Pair) -> Box<dyn Fn() -> bool> {
        let (still, moved) = (
            compound(&[(&pair.still, [0.0; 2])]),
            compound(&[(&pair.moved, [0.0; 2])]),
        );
        let (here, there) = (Isometry::identity(), moved_to(pair.offset));
        Box::new(move || intersection_test(&there, &moved, &here, &still).unwrap_or_default())
    }
}

impl Engine for Parts {
    const NAME: &'static str = "parry, convex parts";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        let placed: Vec<(&Piece, [f64; 2])> = packed.placed.iter().map(|(p, at)| (p, *at)).collect();
        let (placed, moved) = (compound(&placed), compound(&[(&packed.moved, [0.0; 2])]));
        let asked: Vec<Isometry<f64>> = packed.asked.iter().map(|at| moved_to(*at)).collect();
        let here = Isometry::identity();
        Box::new(move |i| intersection_test(&here, &placed, &asked[i], &moved).unwrap_or_default())
    }
}

/// `parry2d-f64`: the boundary as a line; blind to a piece wholly inside another.
pub(crate) struct Boundary;

fn boundary(pieces: &[(&Piece, [f64; 2])]) -> Polyline {
    let (mut corners, mut sides) = (Vec::new(), Vec::new());
    for (piece, at) in pieces {
        let (first, n) = (corners.len() as u32, piece.len() as u32);
        corners.extend(piece.iter().map(|p| ParryPoint::new(p[0] + at[0], p[1] + at[1])));
        sides.extend((0..n).map(|i| [first + i, first + (i + 1) % n]));
    }
    Polyline::new(corners, Some(sides))
}

impl PairEngine for Boundary {
    fn pair(pair: &Pair) -> Box<dyn Fn() -> bool> {
        let (still, moved) = (
            boundary(&[(&pair.still, [0.0; 2])]),
            boundary(&[(&pair.moved, [0.0; 2])]),
        );
        let (here, there) = (Isometry::identity(), moved_to(pair.offset));
        Box::new(move || intersection_test(&there, &moved, &here, &still).unwrap_or_default())
    }
}

impl Engine for Boundary {
    const NAME: &'static str = "parry, boundary";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        let placed: Vec<(&Piece, [f64; 2])> = packed.placed.iter().map(|(p, at)| (p, *at)).collect();
        let (placed, moved) = (boundary(&placed), boundary(&[(&packed.moved, [0.0; 2])]));
        let asked: Vec<Isometry<f64>> = packed.asked.iter().map(|at| moved_to(*at)).collect();
        let here = Isometry::identity();
        Box::new(move |i| intersection_test(&here, &placed, &asked[i], &moved).unwrap_or_default())
    }
}

/// `geo`, which has no tree of its own: its polygons asked one after another.
pub(crate) struct GeoInTurn;

impl Engine for GeoInTurn {
    const NAME: &'static str = "geo, one after another";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        let at = |piece: &Piece, at: &[f64; 2]| polygon(piece).translate(at[0], at[1]);
        let placed: Vec<Polygon<f64>> = packed.placed.iter().map(|(p, spot)| at(p, spot)).collect();
        let moved: Vec<Polygon<f64>> = packed.asked.iter().map(|spot| at(&packed.moved, spot)).collect();
        Box::new(move |i| placed.iter().any(|other| moved[i].intersects(other)))
    }
}

/// `parry2d-f64`: each boundary a line of its own that can be moved alone, as a search needs it, asked one after another.
pub(crate) struct BoundaryInTurn;

impl Engine for BoundaryInTurn {
    const NAME: &'static str = "parry, one boundary after another";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        in_turn(packed, |piece| boundary(&[(piece, [0.0; 2])]))
    }
}

/// `parry2d-f64`: the convex parts of each piece a compound of its own, asked one after another.
pub(crate) struct PartsInTurn;

impl Engine for PartsInTurn {
    const NAME: &'static str = "parry, one piece's convex parts after another";

    fn scene(packed: &Packed) -> Box<dyn Fn(usize) -> bool> {
        in_turn(packed, |piece| compound(&[(piece, [0.0; 2])]))
    }
}

/// The moved piece against one placed piece after another, each a `shape` of its own.
fn in_turn<S: Shape2d + 'static>(packed: &Packed, shape: impl Fn(&Piece) -> S) -> Box<dyn Fn(usize) -> bool> {
    let placed: Vec<(S, Isometry<f64>)> = packed.placed.iter().map(|(p, at)| (shape(p), moved_to(*at))).collect();
    let moved = shape(&packed.moved);
    let asked: Vec<Isometry<f64>> = packed.asked.iter().map(|at| moved_to(*at)).collect();
    Box::new(move |i| {
        let overlaps = |(other, there): &(S, Isometry<f64>)| {
            intersection_test(there, other, &asked[i], &moved).unwrap_or_default()
        };
        placed.iter().any(overlaps)
    })
}
