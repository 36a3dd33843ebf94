//! Points found by where they are.

use cullet_geometry::Point;
use std::collections::BTreeMap;

/// Points in square boxes of one size.
pub(super) struct Grid {
    size: f64,
    boxes: BTreeMap<(i64, i64), Vec<usize>>,
}

impl Grid {
    pub(super) fn new(size: f64) -> Self {
        Self {
            size,
            boxes: BTreeMap::new(),
        }
    }

    pub(super) fn add(&mut self, p: Point, what: usize) {
        self.boxes.entry(self.box_of(p)).or_default().push(what);
    }

    /// What was added in the box of `p` and the eight around it: all within the size of it, and more.
    pub(super) fn near(&self, p: Point) -> impl Iterator<Item = usize> {
        let (x, y) = self.box_of(p);
        (-1..=1)
            .flat_map(move |dx| (-1..=1).map(move |dy| (x + dx, y + dy)))
            .filter_map(|key| self.boxes.get(&key))
            .flatten()
            .copied()
    }

    fn box_of(&self, p: Point) -> (i64, i64) {
        // Drawings lie within 100 m, which the cast holds.
        ((p.x / self.size).floor() as i64, (p.y / self.size).floor() as i64)
    }
}
