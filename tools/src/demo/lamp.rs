//! Panel L: the lens of bevelled glass, its beams through a streaky sky, the tower and the sea below.

use super::cartoon::Cartoon;
use super::cell::Cell;
use super::curve::{Curve, length, point, polar};
use super::glasses::{CLEAR, DAWN, REED, SEA};
use super::{DemoPanel, Make};
use anyhow::Result;
use cullet_geometry::Point;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 900.0;
/// Middle of the lens.
pub(super) const LENS: Point = point(280.0, 590.0);
const ROUNDEL: f64 = 58.0;
const LENS_RING: f64 = 116.0;
const HALO: f64 = 212.0;
/// Angle between beams, degrees.
const BEAM: f64 = 24.0;
/// Half the tower's width at the lens and at the foot.
const TOWER_TOP: f64 = 68.0;
const TOWER_FOOT: f64 = 112.0;
/// Centre of the swell, far below the panel.
const SWELL: Point = point(280.0, -700.0);
const SEA_TOP: f64 = 890.0;
const SEA_MIDDLE: f64 = 812.0;
/// Overhang of lines that butt against others, mm or degrees; the cartoon trims it.
const OVER: f64 = 4.0;

pub(super) fn panel() -> Result<DemoPanel> {
    let mut cartoon = Cartoon::panel(WIDTH, HEIGHT);
    lens(&mut cartoon);
    sky(&mut cartoon);
    tower(&mut cartoon);
    sea(&mut cartoon);
    let cells = cartoon.cells()?.into_iter().map(|cell| (make(&cell), cell));
    Ok(DemoPanel {
        id: "L",
        name: "Lamp",
        width: WIDTH,
        height: HEIGHT,
        quantity: 1,
        leads: cartoon.trimmed(),
        mirrored_quantity: 0,
        cells: cells.map(|(make, cell)| (cell, make)).collect(),
    }
    .numbered(order))
}

fn ray(cartoon: &mut Cartoon, degrees: f64, from: f64, to: f64) {
    let angle = degrees.to_radians();
    cartoon.straight(polar(LENS, from, angle), polar(LENS, to, angle));
}

fn lens(cartoon: &mut Cartoon) {
    cartoon.circle(LENS, ROUNDEL);
    cartoon.circle(LENS, LENS_RING);
    for k in 0..8 {
        ray(cartoon, 22.5 + 45.0 * f64::from(k), ROUNDEL, LENS_RING);
    }
}

fn sky(cartoon: &mut Cartoon) {
    // The halo is open where the tower stands; it runs a little into it and is trimmed there.
    let foot = (tower_half_width(LENS.y - HALO) / HALO).asin().to_degrees() - OVER;
    cartoon.lead(Curve::arc(LENS, HALO, -90.0 + foot, 270.0 - foot));
    for k in -5..=5 {
        ray(cartoon, 90.0 + BEAM * f64::from(k), LENS_RING, 700.0);
    }
    for side in [-51.0, 231.0] {
        ray(cartoon, side, HALO, 700.0);
    }
}

fn tower_half_width(y: f64) -> f64 {
    TOWER_FOOT + (TOWER_TOP - TOWER_FOOT) * y / LENS.y
}

fn tower(cartoon: &mut Cartoon) {
    // The sides run a little into the lens.
    let top = LENS.y - (LENS_RING.powi(2) - tower_half_width(LENS.y - LENS_RING).powi(2)).sqrt() + OVER;
    for side in [-1.0, 1.0] {
        let at = |y: f64| point(LENS.x + side * tower_half_width(y), y);
        cartoon.straight(at(0.0), at(top));
    }
    for y in [58.0, 150.0, 242.0, 334.0, 426.0] {
        let half = tower_half_width(y);
        cartoon.straight(point(LENS.x - half, y), point(LENS.x + half, y));
    }
}

fn sea(cartoon: &mut Cartoon) {
    for side in [-1.0, 1.0] {
        for radius in [SEA_TOP, SEA_MIDDLE] {
            // From beyond the panel's edge to a little inside the tower.
            let tower = (TOWER_TOP / radius).asin().to_degrees();
            cartoon.lead(Curve::arc(SWELL, radius, 90.0 - side * 22.0, 90.0 - side * tower));
        }
        let across = |degrees: f64, from: f64, to: f64| {
            let angle = (90.0 - side * degrees).to_radians();
            Curve::line(polar(SWELL, from, angle), polar(SWELL, to, angle))
        };
        cartoon.lead(across(13.0, SEA_MIDDLE, SEA_TOP));
        cartoon.lead(across(11.0, 700.0, SEA_MIDDLE));
    }
}

/// Round the lens clockwise from below; the tower from the top; the sea from the left.
fn order(cell: &Cell, make: &Make) -> f64 {
    let middle = cell.middle();
    let from_lens = middle - LENS;
    match make.part {
        0..=2 => (-90.0 - from_lens.y.atan2(from_lens.x).to_degrees()).rem_euclid(360.0),
        3 => -middle.y,
        _ => middle.x,
    }
}

fn make(cell: &Cell) -> Make {
    let middle = cell.middle();
    let from_lens = middle - LENS;
    let away = length(from_lens);
    let outward = from_lens.y.atan2(from_lens.x).to_degrees();
    if away < 1.0 {
        return Make {
            spares: 1,
            ..Make::of(0, CLEAR).bevel(19.0, 3.2)
        };
    }
    if away < LENS_RING {
        return Make::of(1, CLEAR).bevel(14.0, 3.6);
    }
    if (middle.x - LENS.x).abs() < tower_half_width(middle.y) && middle.y < LENS.y {
        let course = (middle.y / 92.0).round();
        return if course % 2.0 == 0.0 {
            Make::of(3, SEA)
        } else {
            Make::of(3, REED).grain(90.0)
        };
    }
    let depth = length(middle - SWELL);
    if depth < SEA_MIDDLE {
        return Make::of(5, SEA);
    }
    if depth < SEA_TOP {
        return Make::of(4, REED).grain(90.0);
    }
    Make {
        one_lot: Some("lamp sky"),
        ..Make::of(2, DAWN).grain(outward)
    }
}
