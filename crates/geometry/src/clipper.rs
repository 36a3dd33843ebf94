//! The one place that speaks to `geo-clipper`: millimetres to its integer grid and back.
//!
//! Only its integer interface is used (the float one truncates), coordinates are brought into range before every call
//! (the engine aborts the process otherwise), and everything handed in is a counter-clockwise ring without holes (the
//! engine would fill a hole wound like its exterior). Its round joins are not used: their tolerance is no bound.

use crate::{Outline, Point};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use geo_clipper::{ClipperInt, EndType, JoinType};

/// Grid units per millimetre; one unit is 1e-4 mm, which covers ±107 m in the engine's fast range.
pub const GRID_PER_MM: f64 = 1e4;

/// The farthest grid coordinate handed to the engine: 1e9 mm, far within its hard limit of 2^62 units.
const FARTHEST_UNITS: f64 = 1e13;

/// A point on the grid.
pub(crate) type GridPoint = Coord<i64>;

/// Counter-clockwise rings without holes, on the grid and in range.
pub(crate) struct GridShapes(MultiPolygon<i64>);

impl GridShapes {
    /// Each outline with its points moved to the nearest grid point.
    pub(crate) fn from_outlines<'a>(outlines: impl IntoIterator<Item = &'a Outline>) -> Self {
        Self::from_rings(
            outlines
                .into_iter()
                .map(|outline| outline.points().iter().map(|p| to_grid(*p)).collect()),
        )
    }

    /// Each ring as given; those that are not counter-clockwise after rounding enclose nothing and are left out.
    pub(crate) fn from_rings(rings: impl IntoIterator<Item = Vec<GridPoint>>) -> Self {
        let polygons = rings
            .into_iter()
            .filter(|ring| ring.len() >= 3 && twice_area(ring) > 0)
            .map(|ring| Polygon::new(LineString::new(ring), vec![]))
            .collect();
        Self(MultiPolygon::new(polygons))
    }
}

/// `shapes` moved outwards by `units` (inwards when negative) with mitred corners; a corner that would run out further
/// than `miter_limit · units` is cut off square at `units` from it.
pub(crate) fn offset(shapes: &GridShapes, units: f64, miter_limit: f64) -> Vec<Polygon<i64>> {
    if shapes.0.0.is_empty() {
        return vec![];
    }
    let units = units.clamp(-FARTHEST_UNITS, FARTHEST_UNITS);
    shapes
        .0
        .offset(units, JoinType::Miter(miter_limit), EndType::ClosedPolygon)
        .0
}

/// What of `from` no part of `minus` covers.
pub(crate) fn difference(from: &GridShapes, minus: &GridShapes) -> Vec<Polygon<i64>> {
    from.0.difference(&minus.0).0
}

/// What both cover.
pub(crate) fn intersection(a: &GridShapes, b: &GridShapes) -> Vec<Polygon<i64>> {
    a.0.intersection(&b.0).0
}

/// So many shapes are united at once: with many that share sides the engine's time grows with their cube (80 s for the 93 cells of
/// one panel).
const AT_ONCE: usize = 8;

/// What any of the shapes covers.
pub(crate) fn union(shapes: &GridShapes) -> Vec<Polygon<i64>> {
    let mut all = shapes.0.0.clone();
    if all.len() > AT_ONCE {
        // Neighbours together, so that each part has few rings.
        all.sort_by_cached_key(|shape| shape.exterior().0.iter().map(|p| (p.x, p.y)).min());
    }
    united(&all).0
}

fn united(shapes: &[Polygon<i64>]) -> MultiPolygon<i64> {
    if shapes.len() <= AT_ONCE {
        return MultiPolygon::new(shapes.to_vec()).union(&MultiPolygon::<i64>::new(vec![]));
    }
    let (left, right) = shapes.split_at(shapes.len() / 2);
    united(left).union(&united(right))
}

/// The nearest grid point; coordinates beyond ±1e9 mm are pulled in to that.
pub(crate) fn to_grid(p: Point) -> GridPoint {
    let units = |v: f64| (v * GRID_PER_MM).round().clamp(-FARTHEST_UNITS, FARTHEST_UNITS) as i64;
    GridPoint {
        x: units(p.x),
        y: units(p.y),
    }
}

/// Grid to millimetres.
pub(crate) fn to_mm(p: GridPoint) -> Point {
    Point {
        x: p.x as f64 / GRID_PER_MM,
        y: p.y as f64 / GRID_PER_MM,
    }
}

/// Twice the signed area of a ring in square grid units, exact.
pub(crate) fn twice_area(ring: &[GridPoint]) -> i128 {
    ring.iter()
        .enumerate()
        .map(|(i, a)| {
            let b = ring[(i + 1) % ring.len()];
            i128::from(a.x) * i128::from(b.y) - i128::from(b.x) * i128::from(a.y)
        })
        .sum()
}
