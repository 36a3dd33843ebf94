//! Finished outlines checked with `geo` on fine polygons: inside the cell, as far off the lines as the came takes, nothing
//! left out.

use cullet_drawing::came::CellSide;
use cullet_drawing::cartoon::Cell;
use cullet_drawing::curve::{Curve, cross, length};
use geo::{Contains, Coord, Distance, Euclidean, LineString, Point, Polygon, Validation};
use rstar::primitives::{GeomWithData, Line};
use rstar::{PointDistance, RTree};

/// What finished outlines are promised to, mm.
const PROMISED_MM: f64 = 0.02;
/// How finely curves are taken here, mm.
const CHORD_MM: f64 = 5e-4;

/// Points along closed curves.
pub(crate) fn ring(curves: &[Curve]) -> LineString {
    let points = curves.iter().flat_map(|curve| curve.chords(CHORD_MM));
    let mut ring = LineString::from_iter(points.map(|p| Coord { x: p.x, y: p.y }));
    ring.close();
    ring
}

/// The lines around a cell in short pieces, each with its inset.
struct Lines(RTree<GeomWithData<Line<[f64; 2]>, f64>>, f64);

impl Lines {
    fn new<'a>(sides: impl Iterator<Item = &'a CellSide> + Clone) -> Self {
        let widest = sides.clone().map(|side| side.inset).fold(0.0, f64::max);
        let pieces = sides.flat_map(|side| {
            let mut points = vec![side.curve.at(0.0)];
            points.extend(side.curve.chords(CHORD_MM));
            let pieces: Vec<_> = points
                .windows(2)
                .map(|w| Line::new([w[0].x, w[0].y], [w[1].x, w[1].y]))
                .collect();
            pieces.into_iter().map(|piece| GeomWithData::new(piece, side.inset))
        });
        Self(RTree::bulk_load(pieces.collect()), widest)
    }

    /// How much farther off the lines a point is than the came takes, mm; below 0 within the came. Exact where it is small.
    fn room(&self, p: Point) -> f64 {
        let p = [p.x(), p.y()];
        let reach = self.1 + 1.0;
        let near = self.0.locate_within_distance(p, reach * reach);
        near.map(|piece| piece.geom().distance_2(&p).sqrt() - piece.data)
            .fold(1.0, f64::min)
    }
}

/// What is wrong with the finished outline in a cell; nothing where it is as promised.
pub(crate) fn faults(cell: &Cell, is_split: bool) -> Vec<String> {
    let sides: Vec<Curve> = cell.sides.iter().map(|side| side.curve).collect();
    let boundary = Polygon::new(ring(&sides), vec![]);
    let lines = Lines::new(cell.sides.iter().chain(&cell.beyond));
    let mut faults = vec![];
    let glass = Polygon::new(ring(&cell.finished), vec![]);
    if !cell.finished.is_empty() && !glass.is_valid() {
        faults.push("an outline that is not simple".to_owned());
    }
    // At a corner that turns inwards the leads are mitred: the glass stands a little farther off.
    let joints = cell.finished.iter().zip(cell.finished.iter().cycle().skip(1));
    let mitres: Vec<_> = joints
        .filter(|(before, after)| cross(before.direction(1.0), after.direction(0.0)) < -0.35)
        .map(|(before, _)| before.at(1.0))
        .collect();
    for (i, curve) in cell.finished.iter().enumerate() {
        for share in [0.0, 0.25, 0.5, 0.75] {
            let p = curve.at(share);
            let p = Point::new(p.x, p.y);
            let room = lines.room(p);
            let mitre = || mitres.iter().any(|corner| length(*corner - curve.at(share)) < 0.5);
            if room < -PROMISED_MM || (room > PROMISED_MM && !mitre()) {
                faults.push(format!("{room:.4} mm off at {share} of curve {i}, {p:?}"));
            }
            if !boundary.contains(&p) && Euclidean.distance(&p, boundary.exterior()) > CHORD_MM {
                faults.push(format!("outside the cell at {share} of curve {i}, {p:?}"));
            }
        }
    }
    if !is_split {
        let (low, high) = boundary
            .exterior()
            .coords()
            .fold(((f64::MAX, f64::MAX), (f64::MIN, f64::MIN)), |(low, high), c| {
                ((low.0.min(c.x), low.1.min(c.y)), (high.0.max(c.x), high.1.max(c.y)))
            });
        for i in 0..100 {
            // Evenly spread: the two-dimensional golden ratio.
            let (u, v) = (
                (f64::from(i) * 0.754_877_666).fract(),
                (f64::from(i) * 0.569_840_291).fract(),
            );
            let p = Point::new(low.0 + (high.0 - low.0) * u, low.1 + (high.1 - low.1) * v);
            // A place with so much room round it belongs to a space over 1 mm².
            if boundary.contains(&p) && lines.room(p) > 0.6 && !glass.contains(&p) {
                faults.push(format!("no glass at {p:?}, {:.3} mm clear of the came", lines.room(p)));
            }
        }
    }
    faults
}
