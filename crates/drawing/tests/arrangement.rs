//! Arrangements of random lines, arcs and curves: Euler's formula, areas that add up, points that lie in one face.

use cullet_drawing::arrange::{Arrangement, Drawn, TroubleKind, arrange};
use cullet_drawing::curve::{Curve, length, point};
use cullet_drawing::{Segment, smooth};
use cullet_geometry::Point;
use proptest::prelude::*;
use std::collections::BTreeSet;

const WIDTH: f64 = 400.0;
const HEIGHT: f64 = 300.0;
const SNAP: f64 = 0.5;

fn open(curves: Vec<Curve>) -> Drawn {
    Drawn {
        curves,
        closed: false,
        came: 0,
    }
}

fn line(from: Point, to: Point) -> Drawn {
    open(vec![Curve::line(from, to)])
}

fn border() -> Drawn {
    let corners = [
        point(0.0, 0.0),
        point(WIDTH, 0.0),
        point(WIDTH, HEIGHT),
        point(0.0, HEIGHT),
    ];
    Drawn {
        curves: (0..4).map(|i| Curve::line(corners[i], corners[(i + 1) % 4])).collect(),
        closed: true,
        came: 0,
    }
}

fn inside() -> impl Strategy<Value = Point> {
    (5.0..WIDTH - 5.0, 5.0..HEIGHT - 5.0).prop_map(|(x, y)| point(x, y))
}

/// From edge to edge of the panel, its ends short of the edge or over it by less than the tolerance.
fn across() -> impl Strategy<Value = Drawn> {
    let miss = || -0.3..0.3f64;
    (0.02..0.98f64, 0.02..0.98f64, miss(), miss(), any::<bool>()).prop_map(|(a, b, from, to, upright)| {
        if upright {
            line(point(a * WIDTH, from), point(b * WIDTH, HEIGHT + to))
        } else {
            line(point(from, a * HEIGHT), point(WIDTH + to, b * HEIGHT))
        }
    })
}

fn anywhere() -> impl Strategy<Value = Drawn> {
    prop_oneof![
        4 => across(),
        1 => (inside(), inside()).prop_map(|(a, b)| line(a, b)),
        2 => (inside(), 3.0..80.0f64, 0.0..360.0f64, -360.0..360.0f64).prop_map(|(c, r, start, sweep)| {
            // Kept within the panel.
            let r = r.min(c.x).min(c.y).min(WIDTH - c.x).min(HEIGHT - c.y) * 0.99;
            open(vec![Curve::arc(c, r, start, start + sweep)])
        }),
        1 => (inside(), 3.0..80.0f64).prop_map(|(c, r)| {
            let r = r.min(c.x).min(c.y).min(WIDTH - c.x).min(HEIGHT - c.y) * 0.99;
            Drawn { curves: vec![Curve::arc(c, r, 0.0, 360.0)], closed: true, came: 0 }
        }),
        2 => (inside(), inside(), inside(), inside())
            .prop_map(|(from, a, b, to)| open(smooth::curves(&Segment::Cubic { from, a, b, to }))),
    ]
}

fn euler(found: &Arrangement) {
    let used: BTreeSet<usize> = found.edges.iter().flat_map(|e| [e.from, e.to]).collect();
    let parts = found.outsides.len();
    assert_eq!(
        used.len() as i64 - found.edges.len() as i64 + found.faces.len() as i64 + 1,
        1 + parts as i64,
        "V − E + F = 1 + C"
    );
}

fn total(found: &Arrangement) -> f64 {
    found.faces.iter().map(|face| face.area).sum()
}

/// The number of faces that a point lies in.
fn faces_around(outlines: &[Vec<Point>], p: Point) -> usize {
    outlines
        .iter()
        .filter(|ring| {
            let sides = ring.iter().zip(ring.iter().cycle().skip(1));
            sides
                .filter(|(a, b)| (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x)
                .count()
                % 2
                == 1
        })
        .count()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn random_cartoons_part_the_panel(
        lines in prop::collection::vec(anywhere(), 1..25),
        probes in prop::collection::vec(inside(), 40),
    ) {
        let mut all = vec![border()];
        all.extend(lines);
        let found = arrange(&all, SNAP).expect("few lines");
        euler(&found);
        // The panel's edge may give way by the tolerance where a junction near it pulls it.
        prop_assert!((total(&found) - WIDTH * HEIGHT).abs() < 40.0, "{}", total(&found));
        let connected = found.outsides.len() == 1;
        let outlines: Vec<Vec<Point>> = found.faces.iter().map(|face| found.points_of(&face.sides)).collect();
        for p in probes {
            let near = found.edges.iter().any(|e| e.distance(p) < 2.0 * SNAP);
            let count = faces_around(&outlines, p);
            if connected && !near {
                prop_assert_eq!(count, 1, "at {:?}", p);
            }
        }
        for edge in &found.edges {
            let start = edge.curves[0].at(0.0);
            let end = edge.curves[edge.curves.len() - 1].at(1.0);
            prop_assert!(length(start - found.junctions[edge.from]) < 1e-6);
            prop_assert!(length(end - found.junctions[edge.to]) < 1e-6);
        }
    }

    /// Lines from edge to edge only: as many cells as Euler's formula gives for the crossings that are there.
    #[test]
    fn straight_lines_across_give_the_cells_counted(lines in prop::collection::vec(across(), 1..12)) {
        let mut all = vec![border()];
        all.extend(lines.clone());
        let found = arrange(&all, SNAP).expect("few lines");
        euler(&found);
        prop_assert!((total(&found) - WIDTH * HEIGHT).abs() < 20.0);
        prop_assert!(found.loose.is_empty() && found.outsides.len() == 1);
        // A line across adds one cell and one more for each line it crosses within the panel.
        let course = |d: &Drawn| (d.curves[0].at(0.0), d.curves[0].at(1.0));
        let mut crossings = vec![];
        for (i, a) in lines.iter().enumerate() {
            for b in &lines[..i] {
                let ((p, q), (r, s)) = (course(a), course(b));
                let side = |a: Point, b: Point, c: Point| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
                if side(p, q, r) * side(p, q, s) < 0.0 && side(r, s, p) * side(r, s, q) < 0.0 {
                    let t = side(r, s, p) / (side(r, s, p) - side(r, s, q));
                    crossings.push(p + (q - p) * t);
                }
            }
        }
        let ends: Vec<Point> = lines.iter().flat_map(|d| [course(d).0, course(d).1]).collect();
        let places: Vec<Point> = crossings.iter().chain(&ends).copied().collect();
        let apart = places.iter().enumerate().all(|(i, p)| places[..i].iter().all(|q| length(*p - *q) > 4.0));
        if apart {
            prop_assert_eq!(found.faces.len(), 1 + lines.len() + crossings.len());
            prop_assert!((total(&found) - WIDTH * HEIGHT).abs() < 1e-6);
        }
    }
}

#[test]
fn a_corner_left_open_by_less_than_the_tolerance_is_closed_where_the_lines_meet() {
    // Four lines of a square, each 0.2 mm short at both ends.
    let p = [point(0.0, 0.0), point(50.0, 0.0), point(50.0, 50.0), point(0.0, 50.0)];
    let side = |i: usize| {
        let (a, b) = (p[i], p[(i + 1) % 4]);
        let along = (b - a) / 50.0;
        line(a + along * 0.2, b - along * 0.2)
    };
    let found = arrange(&[side(0), side(1), side(2), side(3)], SNAP).expect("few lines");
    assert_eq!(found.faces.len(), 1);
    assert!((found.faces[0].area - 2500.0).abs() < 1e-9, "{}", found.faces[0].area);
    assert!(found.troubles.is_empty());
}

#[test]
fn touching_circles_and_lines_make_cells() {
    // A roundel that touches all four edges of a square, drawn 0.01 mm too small.
    let square = [
        point(0.0, 0.0),
        point(100.0, 0.0),
        point(100.0, 100.0),
        point(0.0, 100.0),
    ];
    let edge = Drawn {
        curves: (0..4).map(|i| Curve::line(square[i], square[(i + 1) % 4])).collect(),
        closed: true,
        came: 0,
    };
    let roundel = Drawn {
        curves: vec![Curve::arc(point(50.0, 50.0), 49.99, 0.0, 360.0)],
        closed: true,
        came: 0,
    };
    let found = arrange(&[edge, roundel], SNAP).expect("few lines");
    assert_eq!(found.faces.len(), 5);
    assert!((total(&found) - 10_000.0).abs() < 1e-6);
}

#[test]
fn doubled_lines_count_once_and_are_named() {
    let ring = |r: f64| Drawn {
        curves: vec![Curve::arc(point(0.0, 0.0), r, 0.0, 360.0)],
        closed: true,
        came: 0,
    };
    // A ring drawn twice, a bar drawn twice 0.2 mm apart, and a bar half on another.
    let lines = [
        ring(50.0),
        ring(50.0),
        line(point(-50.0, 0.0), point(50.0, 0.0)),
        line(point(-50.0, 0.2), point(50.0, 0.2)),
        line(point(0.0, 0.0), point(0.0, 50.0)),
        line(point(0.0, 20.0), point(0.0, 50.0)),
    ];
    let found = arrange(&lines, SNAP).expect("few lines");
    assert_eq!(found.faces.len(), 3);
    let doubled = |a: usize, b: usize| {
        found
            .troubles
            .iter()
            .find(|t| t.lines == [a, b])
            .and_then(|t| match t.kind {
                TroubleKind::Doubled { length } => Some(length.round()),
                _ => None,
            })
    };
    assert_eq!(doubled(0, 1), Some(314.0));
    assert_eq!(doubled(2, 3), Some(100.0));
    assert_eq!(doubled(4, 5), Some(30.0));
}

#[test]
fn ends_in_the_open_gaps_and_overhangs_are_told_apart() {
    let lines = [
        border(),
        line(point(100.0, 0.0), point(100.0, 150.0)),
        line(point(200.0, 0.0), point(200.0, HEIGHT - 1.4)),
        line(point(300.0, -2.0), point(300.0, HEIGHT)),
    ];
    let found = arrange(&lines, SNAP).expect("few lines");
    let kinds: Vec<TroubleKind> = found.troubles.iter().map(|t| t.kind).collect();
    assert_eq!(kinds.len(), 3, "{kinds:?}");
    assert!(kinds.contains(&TroubleKind::OpenEnd));
    assert!(
        kinds
            .iter()
            .any(|k| matches!(k, TroubleKind::Gap { width } if (width - 1.4).abs() < 1e-9))
    );
    assert!(
        kinds
            .iter()
            .any(|k| matches!(k, TroubleKind::Overhang { length } if (length - 2.0).abs() < 1e-9))
    );
    assert_eq!((found.faces.len(), found.loose.len()), (2, 3));
}

#[test]
fn an_island_is_a_hole_in_its_face() {
    let ring = |r: f64| Drawn {
        curves: vec![Curve::arc(point(200.0, 150.0), r, 0.0, 360.0)],
        closed: true,
        came: 0,
    };
    let found = arrange(&[border(), ring(80.0), ring(30.0)], SNAP).expect("few lines");
    euler(&found);
    assert_eq!(found.faces.iter().filter(|f| f.holes.len() == 1).count(), 2);
    assert!((total(&found) - WIDTH * HEIGHT).abs() < 1e-6);
}

#[test]
fn lines_drawn_in_short_pieces_are_one_line() {
    // An arc exported as lines of 0.3 mm, each of its own, over the whole panel.
    let arc = Curve::arc(point(200.0, -400.0), 600.0, 60.0, 120.0);
    let count = 2000;
    let pieces = (0..count).map(|i| {
        let at = |k: i32| arc.at(f64::from(k) / f64::from(count));
        line(at(i), at(i + 1))
    });
    let mut lines = vec![border()];
    lines.extend(pieces);
    let found = arrange(&lines, SNAP).expect("few lines");
    assert_eq!((found.faces.len(), found.edges.len()), (2, 3));
    assert!((total(&found) - WIDTH * HEIGHT).abs() < 1e-6);
}
