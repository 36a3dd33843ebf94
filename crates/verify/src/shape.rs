//! Outlines as the verifier sees them: turned by its own arithmetic, measured with `geo` and `rstar`.

use cullet_geometry::{Outline, Pose};
use geo::{AffineOps, AffineTransform, Area, BooleanOps, BoundingRect, Contains, Distance, Euclidean, Length, Line};
use geo::{Coord, LineString, MultiPolygon, Point, Polygon, Rect};
use rstar::{AABB, RTree, RTreeObject};

/// A polygon with its sides in a search tree.
pub(super) struct Shape {
    pub(super) polygon: Polygon<f64>,
    sides: RTree<Line<f64>>,
    bounds: Rect<f64>,
}

impl Shape {
    pub(super) fn new(polygon: Polygon<f64>) -> Self {
        // Holes too: what was parted can stay behind as a hole a rounding away from the edge.
        let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        Self {
            sides: RTree::bulk_load(rings.flat_map(LineString::lines).collect()),
            bounds: polygon
                .bounding_rect()
                .unwrap_or_else(|| Rect::new(Coord::zero(), Coord::zero())),
            polygon,
        }
    }

    pub(super) fn of(outline: &Outline) -> Self {
        Self::new(polygon_of(outline))
    }

    /// `outline` rotated, then turned over (x → −x) if asked, then moved.
    pub(super) fn placed(outline: &Outline, pose: &Pose) -> Self {
        let (sin, cos) = pose.rotation_deg.to_radians().sin_cos();
        let side = if pose.turned_over { -1.0 } else { 1.0 };
        let matrix = AffineTransform::new(side * cos, -side * sin, pose.x, sin, cos, pose.y);
        Self::new(polygon_of(outline).affine_transform(&matrix))
    }

    /// Bounds grown by `margin` on every side.
    pub(super) fn envelope(&self, margin: f64) -> AABB<Point<f64>> {
        let (min, max) = (self.bounds.min(), self.bounds.max());
        AABB::from_corners(
            Point::new(min.x - margin, min.y - margin),
            Point::new(max.x + margin, max.y + margin),
        )
    }

    /// Least distance between the two boundaries, where it is at most `limit`; 0 where they meet.
    pub(super) fn gap_within(&self, other: &Self, limit: f64) -> Option<f64> {
        let mut least: Option<f64> = None;
        let reach = other.envelope(limit);
        for side in self.sides.locate_in_envelope_intersecting(&reach) {
            let e = side.envelope();
            let near = AABB::from_corners(
                Point::new(e.lower().x() - limit, e.lower().y() - limit),
                Point::new(e.upper().x() + limit, e.upper().y() + limit),
            );
            for facing in other.sides.locate_in_envelope_intersecting(&near) {
                let gap = Euclidean.distance(side, facing);
                if gap <= limit && least.is_none_or(|l| gap < l) {
                    least = Some(gap);
                }
            }
        }
        least
    }

    /// How far straight sides of the two run along each other, at most `apart` from one another, mm: the longest stretch.
    pub(super) fn shared_run(&self, other: &Self, apart: f64) -> f64 {
        let mut longest: f64 = 0.0;
        for side in self.sides.locate_in_envelope_intersecting(&other.envelope(apart)) {
            let length = Euclidean.length(side);
            let along = side.delta() / length.max(1e-12);
            // Along the side, and off it.
            let of = |p: Coord<f64>| {
                let to = p - side.start;
                (to.x * along.x + to.y * along.y, (along.x * to.y - along.y * to.x).abs())
            };
            let e = side.envelope();
            let near = AABB::from_corners(
                Point::new(e.lower().x() - apart, e.lower().y() - apart),
                Point::new(e.upper().x() + apart, e.upper().y() + apart),
            );
            for facing in other.sides.locate_in_envelope_intersecting(&near) {
                let ((s, off_s), (t, off_t)) = (of(facing.start), of(facing.end));
                if off_s.max(off_t) <= apart {
                    longest = longest.max(s.max(t).min(length) - s.min(t).max(0.0));
                }
            }
        }
        longest
    }

    /// How long this runs along `other`, straight or curved, at most `apart` from it, mm: all sides that do so together.
    pub(super) fn runs_along(&self, other: &Self, apart: f64) -> f64 {
        let near = |p: Coord<f64>| other.boundary_distance(p) <= apart;
        self.polygon
            .exterior()
            .lines()
            .filter(|l| near(l.start) && near(l.end) && near((l.start + l.end) / 2.0))
            .map(|l| Euclidean.length(&l))
            .sum()
    }

    /// Whether a corner of `other` lies strictly inside: with boundaries apart, whether `other` does as a whole.
    pub(super) fn holds(&self, other: &Self) -> bool {
        let corner = other.polygon.exterior().0[0];
        self.polygon.contains(&corner)
    }

    /// How deep the two overlap, mm; 0 where they only touch.
    pub(super) fn overlap_depth(&self, other: &Self) -> f64 {
        self.depth_of(other, &self.polygon.intersection(&other.polygon))
    }

    /// How far this sticks out of `container`, mm; 0 where it only touches its boundary.
    pub(super) fn overhang_depth(&self, container: &Self) -> f64 {
        self.depth_of(container, &self.polygon.difference(&container.polygon))
    }

    /// How far this sticks out of `container` across its sides, mm: beyond a corner how far off the lines of both sides there,
    /// as what is scored at one distance from every side reaches further at a corner the sharper that is.
    pub(super) fn overhang_across(&self, container: &Self) -> f64 {
        let mut most: f64 = 0.0;
        for part in &self.polygon.difference(&container.polygon) {
            for side in std::iter::once(part.exterior())
                .chain(part.interiors())
                .flat_map(LineString::lines)
            {
                for at in [side.start, (side.start + side.end) / 2.0] {
                    most = most.max(container.across(at));
                }
            }
        }
        most
    }

    /// How far a point lies off the boundary, beyond a corner off the lines of its two sides, mm.
    fn across(&self, at: Coord<f64>) -> f64 {
        let off = self.boundary_distance(at);
        let reach = AABB::from_corners(
            Point::new(at.x - off - 1e-9, at.y - off - 1e-9),
            Point::new(at.x + off + 1e-9, at.y + off + 1e-9),
        );
        let is_near = |p: Coord<f64>| Euclidean.distance(&Point::from(at), &Point::from(p)) <= off + 1e-9;
        let nearest = self
            .sides
            .locate_in_envelope_intersecting(&reach)
            .filter(|side| is_near(side.start) || is_near(side.end));
        let off_lines = nearest.map(|side| {
            let (along, to) = (side.delta(), at - side.start);
            (along.x * to.y - along.y * to.x).abs() / Euclidean.length(side).max(1e-12)
        });
        // A corner has two sides; one alone is the nearest by its middle.
        let off_lines: Vec<f64> = off_lines.collect();
        if off_lines.len() < 2 {
            return off;
        }
        off_lines.into_iter().fold(0.0, f64::max).min(off)
    }

    /// Distance of a point from the boundary, mm.
    pub(super) fn boundary_distance(&self, at: Coord<f64>) -> f64 {
        let at = Point::from(at);
        self.sides
            .nearest_neighbor(&at)
            .map_or(f64::INFINITY, |side| Euclidean.distance(&at, side))
    }

    /// Depth of a region bounded by parts of both boundaries.
    ///
    /// Two lower bounds of it, each good where the other fails: how far the region's corners and middles of sides lie from the
    /// boundary that they are not on (long slivers, thin points), and area over half the perimeter (shapes that coincide,
    /// where every corner lies on both boundaries). Either alone catches a strip of even width exactly.
    fn depth_of(&self, other: &Self, region: &MultiPolygon<f64>) -> f64 {
        let mut depth: f64 = 0.0;
        for part in region {
            let perimeter = Euclidean.length(part.exterior());
            if perimeter > 0.0 {
                depth = depth.max(part.unsigned_area() / (perimeter / 2.0));
            }
            for ring in std::iter::once(part.exterior()).chain(part.interiors()) {
                for side in ring.lines() {
                    for at in [side.start, (side.start + side.end) / 2.0] {
                        depth = depth.max(self.boundary_distance(at)).max(other.boundary_distance(at));
                    }
                }
            }
        }
        depth
    }
}

pub(super) fn polygon_of(outline: &Outline) -> Polygon<f64> {
    Polygon::new(LineString::from(outline.points().to_vec()), vec![])
}

/// Area of an outline in mm², by `geo`.
pub(super) fn area(outline: &Outline) -> f64 {
    polygon_of(outline).unsigned_area()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x: f64, y: f64, width: f64, height: f64) -> Shape {
        let pose = Pose { x, y, ..Pose::IDENTITY };
        Shape::placed(&Outline::rectangle(width, height), &pose)
    }

    fn check(depth: f64, expect: f64) {
        assert!((depth - expect).abs() < 1e-4, "depth {depth}, expected {expect}");
    }

    #[test]
    fn overlap_along_an_edge_is_measured_whatever_its_length() {
        for length in [0.5, 10.0, 3000.0] {
            let a = rect(0.0, 0.0, length, 50.0);
            check(a.overlap_depth(&rect(0.0, 49.99, length, 50.0)), 0.01);
            check(a.overlap_depth(&rect(0.0, 50.0, length, 50.0)), 0.0);
            check(a.overlap_depth(&rect(0.0, 50.01, length, 50.0)), 0.0);
        }
    }

    #[test]
    fn a_sharp_point_poking_in_is_measured() {
        let p = |x, y| Coord { x, y };
        // A point of about 6°, 0.01 mm into the square's right side.
        let point = Shape::new(Polygon::new(
            LineString::from(vec![p(99.99, 50.0), p(150.0, 47.5), p(150.0, 52.5)]),
            vec![],
        ));
        check(rect(0.0, 0.0, 100.0, 100.0).overlap_depth(&point), 0.01);
    }

    #[test]
    fn crossing_bars_and_equal_shapes_are_deep() {
        let a = rect(0.0, 40.0, 100.0, 20.0);
        assert!(a.overlap_depth(&rect(40.0, 0.0, 20.0, 100.0)) >= 10.0);
        assert!(a.overlap_depth(&rect(0.0, 40.0, 100.0, 20.0)) >= 10.0);
    }

    #[test]
    fn overhang_is_measured() {
        let sheet = rect(0.0, 0.0, 1000.0, 800.0);
        check(rect(900.01, 0.0, 100.0, 100.0).overhang_depth(&sheet), 0.01);
        check(rect(900.0, 0.0, 100.0, 100.0).overhang_depth(&sheet), 0.0);
    }

    #[test]
    fn a_pose_turns_then_turns_over_then_moves() {
        let pose = Pose {
            rotation_deg: 90.0,
            turned_over: true,
            x: 10.0,
            y: 5.0,
        };
        // 4 × 2 stands up at 90° left of the origin, its mirror image right of it.
        let shape = Shape::placed(&Outline::rectangle(4.0, 2.0), &pose);
        let (min, max) = (shape.bounds.min(), shape.bounds.max());
        assert!((min.x - 10.0).abs() < 1e-12 && (max.x - 12.0).abs() < 1e-12);
        assert!((min.y - 5.0).abs() < 1e-12 && (max.y - 9.0).abs() < 1e-12);
    }

    #[test]
    fn gaps_are_the_least_between_boundaries() {
        let a = rect(0.0, 0.0, 100.0, 100.0);
        let gap = a.gap_within(&rect(103.0, 104.0, 10.0, 10.0), 6.0);
        assert!((gap.unwrap() - 5.0).abs() < 1e-12);
        assert_eq!(a.gap_within(&rect(107.0, 0.0, 10.0, 10.0), 6.0), None);
        assert_eq!(a.gap_within(&rect(50.0, 50.0, 100.0, 100.0), 6.0), Some(0.0));
        assert!(a.holds(&rect(40.0, 40.0, 10.0, 10.0)));
    }
}
