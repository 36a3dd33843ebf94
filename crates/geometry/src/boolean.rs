//! Outlines cut from and joined with each other, on the integer grid of 1e-4 mm.
//!
//! Points are moved to the grid first, so areas may differ from the exact ones by about 1e-4 mm times the length of the
//! boundary. Outlines that only touch share nothing. Cost about O((n + k) log n) for n sides and k crossings.

use crate::Outline;
use crate::clipper::{self, GridShapes};
use crate::rings::{self, Give, Parts};
use geo::Polygon;

/// Parts smaller than this, mm², are rounding and not glass: a strip of one grid step 10 mm long.
pub(crate) const SLIVER_MM2: f64 = 1e-3;

/// A region with holes, as booleans give it.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// The outer boundary.
    pub outer: Outline,
    /// What is cut out of it, each counter-clockwise too. A hole may touch the outer boundary in a point.
    pub holes: Vec<Outline>,
}

impl Region {
    /// Area in mm²: the outer boundary's less the holes'.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.outer.area() - self.holes.iter().map(Outline::area).sum::<f64>()
    }
}

/// What of `from` is not covered by any of `minus`; slivers under 1e-3 mm² are dropped. Largest first.
///
/// ```
/// use cullet_geometry::{Outline, boolean};
/// let sheet = Outline::rectangle(100.0, 100.0);
/// let left = boolean::difference(&sheet, &[Outline::rectangle(20.0, 20.0).translated(40.0, 40.0)]);
/// assert_eq!((left.len(), left[0].holes.len(), left[0].area()), (1, 1, 9600.0));
/// ```
#[must_use]
pub fn difference(from: &Outline, minus: &[Outline]) -> Vec<Region> {
    regions(&clipper::difference(
        &GridShapes::from_outlines([from]),
        &GridShapes::from_outlines(minus),
    ))
}

/// What both have in common; slivers under 1e-3 mm² are dropped. Largest first.
#[must_use]
pub fn intersection(a: &Outline, b: &Outline) -> Vec<Region> {
    regions(&clipper::intersection(
        &GridShapes::from_outlines([a]),
        &GridShapes::from_outlines([b]),
    ))
}

/// What any of the outlines covers; outlines that share a side become one. Largest first.
#[must_use]
pub fn union(outlines: &[Outline]) -> Vec<Region> {
    regions(&clipper::union(&GridShapes::from_outlines(outlines)))
}

fn regions(polygons: &[Polygon<i64>]) -> Vec<Region> {
    let mut regions: Vec<Region> = polygons.iter().flat_map(regions_of).collect();
    regions.sort_by(|a, b| b.area().total_cmp(&a.area()));
    regions
}

fn regions_of(polygon: &Polygon<i64>) -> Vec<Region> {
    let Parts { bodies, mut holes } = rings::parts(polygon, Give::Inwards);
    holes.retain(|hole| hole.area() >= SLIVER_MM2);
    let mut regions: Vec<Region> = bodies
        .into_iter()
        .map(|outer| Region { outer, holes: vec![] })
        .collect();
    for hole in holes {
        let home = regions
            .iter_mut()
            .find(|region| hole.points().iter().all(|p| region.outer.contains(*p)));
        if let Some(region) = home {
            region.holes.push(hole);
        }
    }
    regions.retain(|region| region.area() >= SLIVER_MM2);
    regions
}
