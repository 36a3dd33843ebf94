//! Panel Q: quarries in a reeded border with bevelled corner squares, above the stair door.

use super::cartoon::Cartoon;
use super::cell::Cell;
use super::curve::point;
use super::glasses::{CLEAR, DAWN, REED, SEA};
use super::{DemoPanel, Make};
use anyhow::Result;

const WIDTH: f64 = 500.0;
const HEIGHT: f64 = 760.0;
/// Width of the border.
const BORDER: f64 = 62.0;
/// Quarries across and up.
const ACROSS: u8 = 3;
const UP: u8 = 4;

pub(super) fn panel() -> Result<DemoPanel> {
    let mut cartoon = Cartoon::panel(WIDTH, HEIGHT);
    border(&mut cartoon);
    quarries(&mut cartoon);
    let cells = cartoon.cells()?.into_iter().map(|cell| (make(&cell), cell));
    Ok(DemoPanel {
        id: "Q",
        name: "Quarries",
        width: WIDTH,
        height: HEIGHT,
        quantity: 1,
        leads: cartoon.trimmed(),
        mirrored_quantity: 0,
        cells: cells.map(|(make, cell)| (cell, make)).collect(),
    }
    .numbered(|cell, _| reading_order(cell)))
}

/// Width and height of one quarry, corner to corner.
fn quarry() -> (f64, f64) {
    (
        (WIDTH - 2.0 * BORDER) / f64::from(ACROSS),
        (HEIGHT - 2.0 * BORDER) / f64::from(UP),
    )
}

fn border(cartoon: &mut Cartoon) {
    for x in [BORDER, WIDTH - BORDER] {
        cartoon.straight(point(x, 0.0), point(x, HEIGHT));
    }
    for y in [BORDER, HEIGHT - BORDER] {
        cartoon.straight(point(0.0, y), point(WIDTH, y));
    }
    // The strips are parted where quarries touch the border.
    let (w, h) = quarry();
    for (near, far) in [(0.0, BORDER), (WIDTH - BORDER, WIDTH)] {
        for k in 1..UP {
            let y = BORDER + h * f64::from(k);
            cartoon.straight(point(near, y), point(far, y));
        }
    }
    for (near, far) in [(0.0, BORDER), (HEIGHT - BORDER, HEIGHT)] {
        for k in 1..ACROSS {
            let x = BORDER + w * f64::from(k);
            cartoon.straight(point(x, near), point(x, far));
        }
    }
}

/// Slanting lines both ways through the field, from edge to edge.
fn quarries(cartoon: &mut Cartoon) {
    let (w, h) = quarry();
    let at = |i: f64, j: f64| point(BORDER + w * i, BORDER + h * j);
    let (across, up) = (f64::from(ACROSS), f64::from(UP));
    for k in 1..ACROSS + UP {
        let k = f64::from(k);
        // Lines i + j = k and, mirrored left to right, (across − i) + j = k, within 0 ≤ i ≤ across, 0 ≤ j ≤ up.
        let (low, high) = ((k - up).max(0.0), k.min(across));
        cartoon.straight(at(low, k - low), at(high, k - high));
        cartoon.straight(at(across - low, k - low), at(across - high, k - high));
    }
}

/// From the top left as one reads, in rows of 20 mm.
fn reading_order(cell: &Cell) -> f64 {
    let middle = cell.middle();
    middle.x - 1e4 * (middle.y / 20.0).round()
}

fn make(cell: &Cell) -> Make {
    let middle = cell.middle();
    let (x, y) = (middle.x - WIDTH / 2.0, middle.y - HEIGHT / 2.0);
    let beside = x.abs() > WIDTH / 2.0 - BORDER;
    let above = y.abs() > HEIGHT / 2.0 - BORDER;
    if beside && above {
        return Make {
            spares: u32::from(x < 0.0 && y > 0.0),
            ..Make::of(0, CLEAR).bevel(12.0, 4.0)
        };
    }
    if beside || above {
        return Make::of(1, REED).grain(90.0);
    }
    let (w, h) = quarry();
    // A quarry's steps from the middle one, counted in whole quarries.
    let (across, up) = ((x / w).abs(), (y / h).abs());
    if across + up < 1.25 && (across < 0.25 || up < 0.25) && across < 0.75 {
        Make::of(2, CLEAR).bevel(16.0, 3.5)
    } else if across + up < 1.25 {
        Make::of(3, DAWN).grain(90.0)
    } else {
        Make::of(4, SEA)
    }
}
