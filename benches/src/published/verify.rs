//! Verifies a layout by calculations of its own: corners placed by its own arithmetic, overlaps by `geo`'s booleans. It
//! shares nothing with the search but the list of poses.

use super::schema::{Instance, Room, Rotations, TOLERANCE};
use cullet_search::Placed;
use geo::{Area, BooleanOps, BoundingRect, Coord, Distance, Euclidean, LineString, Point, Polygon, Rect};

/// Degrees that a rotation may be off: rounding alone.
const ANGLE: f64 = 1e-9;

/// What the verifier measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Checked {
    /// Length of the strip used: as claimed or as measured, whichever is more; infinite for bins. Millimetres.
    pub length: f64,
    /// Depth of the deepest overlap or overhang, mm.
    pub depth: f64,
    /// What is wrong.
    pub faults: Vec<String>,
}

/// A piece where it lies.
struct Laid {
    item: usize,
    bin: usize,
    shape: Polygon<f64>,
    bounds: Rect<f64>,
}

/// Checks that every piece lies `demand` times, in an allowed rotation, inside the strip of `length` or its bin, and
/// that no two sink deeper than the tolerance into each other.
#[must_use]
pub fn verify(instance: &Instance, length: f64, placed: &[Placed]) -> Checked {
    let mut faults = counts(instance, placed);
    faults.extend(placed.iter().filter_map(|p| turn(instance, p)));
    let laid: Vec<Laid> = placed.iter().filter_map(|p| laid(instance, p)).collect();
    if laid.len() < placed.len() {
        faults.push("a pose is not a number, or of no piece".into());
    }

    let reach = laid.iter().map(|l| l.bounds.max().x).fold(0.0, f64::max);
    let length = length.max(reach);
    let mut depth: f64 = 0.0;
    for piece in &laid {
        let over = overhang(instance, length, piece.bounds);
        if over > TOLERANCE {
            faults.push(format!("piece {} hangs {over:.4} mm over an edge", piece.item));
        }
        depth = depth.max(over);
    }
    for (i, a) in laid.iter().enumerate() {
        for b in laid[..i].iter().filter(|b| b.bin == a.bin && near(a.bounds, b.bounds)) {
            let deep = overlap(&a.shape, &b.shape);
            if deep > TOLERANCE {
                faults.push(format!("pieces {} and {} overlap {deep:.4} mm", b.item, a.item));
            }
            depth = depth.max(deep);
        }
    }
    Checked { length, depth, faults }
}

fn counts(instance: &Instance, placed: &[Placed]) -> Vec<String> {
    let count = |item: usize| placed.iter().filter(|p| p.item == item).count();
    instance
        .pieces
        .iter()
        .enumerate()
        .filter(|(i, piece)| count(*i) != piece.demand as usize)
        .map(|(i, piece)| format!("piece {i} lies {} times, not {}", count(i), piece.demand))
        .collect()
}

/// What is wrong with how a piece is turned.
fn turn(instance: &Instance, placed: &Placed) -> Option<String> {
    let piece = instance.pieces.get(placed.item)?;
    let rotation = placed.pose.rotation_deg;
    let off = |allowed: f64| {
        let apart = (rotation - allowed).rem_euclid(360.0);
        apart.min(360.0 - apart)
    };
    if placed.pose.turned_over && !piece.may_turn_over {
        return Some(format!("piece {} is turned over", placed.item));
    }
    match &piece.rotations {
        Rotations::Only(list) if !list.iter().any(|allowed| off(*allowed) <= ANGLE) => {
            Some(format!("piece {} is turned by {rotation}°", placed.item))
        }
        _ => None,
    }
}

/// The piece where it lies: scaled, turned counter-clockwise, turned over (x → −x), moved.
fn laid(instance: &Instance, placed: &Placed) -> Option<Laid> {
    let piece = instance.pieces.get(placed.item)?;
    let (scale, pose) = (instance.scale(), placed.pose);
    let (sin, cos) = pose.rotation_deg.to_radians().sin_cos();
    let side = if pose.turned_over { -1.0 } else { 1.0 };
    let corners: Vec<Coord<f64>> = piece
        .outline
        .iter()
        .map(|p| Coord {
            x: pose.x + side * scale * (p[0] * cos - p[1] * sin),
            y: pose.y + scale * (p[0] * sin + p[1] * cos),
        })
        .collect();
    if !corners.iter().all(|c| c.x.is_finite() && c.y.is_finite()) {
        return None;
    }
    let shape = Polygon::new(LineString::new(corners), Vec::new());
    let bounds = shape.bounding_rect()?;
    Some(Laid {
        item: placed.item,
        bin: placed.container,
        shape,
        bounds,
    })
}

/// How far a piece hangs over the strip or bin, 0 or more, mm.
fn overhang(instance: &Instance, length: f64, bounds: Rect<f64>) -> f64 {
    let scale = instance.scale();
    let (width, height) = match instance.room {
        Room::Strip { height } => (length, height * scale),
        Room::Bins { width, height, .. } => (width * scale, height * scale),
    };
    let (low, high) = (bounds.min(), bounds.max());
    [-low.x, -low.y, high.x - width, high.y - height, 0.0]
        .into_iter()
        .fold(0.0, f64::max)
}

fn near(a: Rect<f64>, b: Rect<f64>) -> bool {
    a.min().x < b.max().x && b.min().x < a.max().x && a.min().y < b.max().y && b.min().y < a.max().y
}

/// How deep two shapes sink into each other, mm: over every region they share, the greater of how far one of its corners
/// lies from the boundary of either shape, and its width (twice its area over its perimeter: between the inscribed
/// circle's radius and its diameter for a convex region), which sees shapes that cover each other corner on corner.
fn overlap(a: &Polygon<f64>, b: &Polygon<f64>) -> f64 {
    let mut deepest: f64 = 0.0;
    for shared in &a.intersection(b) {
        let rim = shared.exterior();
        let perimeter: f64 = rim.lines().map(|l| l.delta().x.hypot(l.delta().y)).sum();
        if perimeter > 0.0 {
            deepest = deepest.max(2.0 * shared.unsigned_area() / perimeter);
        }
        for corner in rim.points() {
            deepest = deepest.max(inside(corner, a)).max(inside(corner, b));
        }
    }
    deepest
}

fn inside(point: Point<f64>, shape: &Polygon<f64>) -> f64 {
    Euclidean.distance(&point, shape.exterior())
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Pose;

    /// Two kinds: a 5 × 4 rectangle twice, a 3 × 3 triangle once; a strip 10 high, 100 mm to the unit.
    fn instance() -> Instance {
        let text = r#"{"name":"A","strip_width":10,"pieces":[
            {"demand":2,"allowed_rotations_deg":[0,90],"outline":[[0,0],[5,0],[5,4],[0,4]]},
            {"demand":1,"allowed_rotations_deg":[0],"outline":[[0,0],[3,0],[0,3]]}]}"#;
        Instance::read(text, "f", "d").unwrap_or_else(|e| unreachable!("{e}"))
    }

    fn at(item: usize, rotation_deg: f64, x: f64, y: f64) -> Placed {
        let turned_over = false;
        Placed {
            item,
            container: 0,
            pose: Pose {
                rotation_deg,
                turned_over,
                x,
                y,
            },
        }
    }

    /// The rectangles side by side, one upright, the triangle above the other.
    fn good() -> Vec<Placed> {
        vec![at(0, 0.0, 0.0, 0.0), at(0, 90.0, 900.0, 0.0), at(1, 0.0, 0.0, 400.0)]
    }

    fn faults(placed: &[Placed]) -> Vec<String> {
        verify(&instance(), 900.0, placed).faults
    }

    #[test]
    fn a_good_layout_holds() {
        let checked = verify(&instance(), 900.0, &good());
        assert_eq!(checked.faults, Vec::<String>::new());
        assert_eq!(checked.length, 900.0);
        assert!(checked.depth < 1e-6, "{}", checked.depth);
        // A length too short is not believed.
        assert!((verify(&instance(), 800.0, &good()).length - 900.0).abs() < 1e-9);
    }

    #[test]
    fn every_fault_is_caught() {
        let faulty = |change: &dyn Fn(&mut Vec<Placed>)| {
            let mut placed = good();
            change(&mut placed);
            faults(&placed)
        };
        assert_eq!(faulty(&|p| p.truncate(2)), ["piece 1 lies 0 times, not 1"]);
        assert_eq!(faulty(&|p| p.push(at(1, 0.0, 50.0, 500.0))).len(), 2);
        assert_eq!(
            faulty(&|p| p[2].pose.rotation_deg = 0.001),
            ["piece 1 is turned by 0.001°"]
        );
        assert_eq!(faulty(&|p| p[2].pose.turned_over = true)[0], "piece 1 is turned over");
        assert_eq!(
            faulty(&|p| p[0].pose.x = -0.02),
            ["piece 0 hangs 0.0200 mm over an edge"]
        );
        assert_eq!(
            faulty(&|p| p[2].pose.y = 700.02),
            ["piece 1 hangs 0.0200 mm over an edge"]
        );
        assert_eq!(faulty(&|p| p[2].pose.y = 399.98), ["pieces 0 and 1 overlap 0.0200 mm"]);
        assert_eq!(faulty(&|p| p[2].pose.x = f64::NAN).len(), 1);
        // Within the tolerance.
        assert_eq!(faulty(&|p| p[2].pose.y = 399.995), Vec::<String>::new());
        // One exactly on the other: no corner lies inside.
        assert_eq!(faulty(&|p| p[1] = p[0]).len(), 1);
    }

    #[test]
    fn a_corner_that_pokes_is_measured_by_its_depth() {
        let square = |x: f64, y: f64, r: f64| {
            Polygon::new(
                LineString::from(vec![(x - r, y), (x, y - r), (x + r, y), (x, y + r)]),
                Vec::new(),
            )
        };
        let floor = Polygon::new(
            LineString::from(vec![(-9.0, -9.0), (9.0, -9.0), (9.0, 0.0), (-9.0, 0.0)]),
            Vec::new(),
        );
        let deep = overlap(&floor, &square(0.0, 0.97, 1.0));
        assert!((deep - 0.03).abs() < 1e-6, "{deep}");
        assert_eq!(overlap(&floor, &square(0.0, 1.5, 1.0)), 0.0);
    }
}
