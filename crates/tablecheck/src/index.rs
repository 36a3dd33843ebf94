//! Short sides found by where they lie.

use cullet_geometry::Point;
use std::collections::HashMap;

const CELL: f64 = 5.0;

/// Sides in cells of 5 mm.
#[derive(Debug, Default)]
pub(crate) struct Cells {
    cells: HashMap<(i32, i32), Vec<u32>>,
}

fn cell(x: f64) -> i32 {
    (x / CELL).floor() as i32
}

impl Cells {
    /// Enters side `number`; a long one step by step.
    pub(crate) fn enter(&mut self, a: Point, b: Point, number: u32) {
        let steps = ((b.x - a.x).hypot(b.y - a.y) / CELL).ceil().max(1.0);
        for k in 0..=steps as u32 {
            let p = a + (b - a) * (f64::from(k) / steps);
            let list = self.cells.entry((cell(p.x), cell(p.y))).or_default();
            if list.last() != Some(&number) {
                list.push(number);
            }
        }
    }

    /// The sides entered in the cell of `p` and those round it.
    pub(crate) fn round(&self, p: Point) -> Vec<u32> {
        let mut found = vec![];
        for x in -1..=1 {
            for y in -1..=1 {
                found.extend(self.cells.get(&(cell(p.x) + x, cell(p.y) + y)).into_iter().flatten());
            }
        }
        found.sort_unstable();
        found.dedup();
        found
    }
}
