//! Which bodies are near: a grid over a rectangle.

/// Bounds compared at a time.
const AT_ONCE: usize = 16;
/// Cells are about so many times as wide as a typical body: a box meets one or two of them, and the bodies of a cell are compared
/// a block at a time.
const ROOMY: f64 = 3.0;

/// A grid over a rectangle: which bodies' bounds touch which cell.
#[derive(Debug, Clone)]
pub(crate) struct Grid {
    cells: Vec<Cell>,
    columns: usize,
    rows: usize,
    scale: [f64; 2],
}

/// The bodies in a cell, in blocks that are full but for the last.
#[derive(Debug, Clone, Default)]
struct Cell {
    blocks: Vec<Block>,
    count: usize,
}

/// Bodies with their bounds, and their first cells, so that each is visited once. Free places have bounds that meet nothing.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
struct Block {
    low_x: [f32; AT_ONCE],
    low_y: [f32; AT_ONCE],
    high_x: [f32; AT_ONCE],
    high_y: [f32; AT_ONCE],
    body: [u32; AT_ONCE],
    first: [[u16; 2]; AT_ONCE],
}

/// A body in a cell.
#[derive(Debug, Clone, Copy)]
struct Entry {
    body: u32,
    first: [u16; 2],
    low: [f32; 2],
    high: [f32; 2],
}

const NOBODY: Entry = Entry {
    body: u32::MAX,
    first: [0; 2],
    low: [f32::INFINITY; 2],
    high: [f32::NEG_INFINITY; 2],
};

impl Block {
    const EMPTY: Self = Self {
        low_x: [NOBODY.low[0]; AT_ONCE],
        low_y: [NOBODY.low[1]; AT_ONCE],
        high_x: [NOBODY.high[0]; AT_ONCE],
        high_y: [NOBODY.high[1]; AT_ONCE],
        body: [NOBODY.body; AT_ONCE],
        first: [NOBODY.first; AT_ONCE],
    };

    fn set(&mut self, at: usize, entry: Entry) {
        self.low_x[at] = entry.low[0];
        self.low_y[at] = entry.low[1];
        self.high_x[at] = entry.high[0];
        self.high_y[at] = entry.high[1];
        self.body[at] = entry.body;
        self.first[at] = entry.first;
    }

    fn get(&self, at: usize) -> Entry {
        Entry {
            body: self.body[at],
            first: self.first[at],
            low: [self.low_x[at], self.low_y[at]],
            high: [self.high_x[at], self.high_y[at]],
        }
    }

    /// One bit for each body whose bounds meet the box.
    #[inline(always)]
    fn near(&self, low: [f32; 2], high: [f32; 2]) -> u32 {
        let mut near = 0;
        for at in 0..AT_ONCE {
            let meets = (self.low_x[at] <= high[0])
                & (low[0] <= self.high_x[at])
                & (self.low_y[at] <= high[1])
                & (low[1] <= self.high_y[at]);
            near |= u32::from(meets) << at;
        }
        near
    }
}

impl Cell {
    fn push(&mut self, entry: Entry) {
        let at = self.count % AT_ONCE;
        if at == 0 {
            self.blocks.push(Block::EMPTY);
        }
        self.blocks[self.count / AT_ONCE].set(at, entry);
        self.count += 1;
    }

    /// The last body takes the place of the one removed.
    fn remove(&mut self, body: u32) {
        let place = |number: usize| (number / AT_ONCE, number % AT_ONCE);
        let is_it = |number: &usize| self.blocks[number / AT_ONCE].body[number % AT_ONCE] == body;
        let Some(number) = (0..self.count).find(is_it) else {
            return;
        };
        self.count -= 1;
        let ((block, at), (last_block, last)) = (place(number), place(self.count));
        let moved = self.blocks[last_block].get(last);
        self.blocks[block].set(at, moved);
        self.blocks[last_block].set(last, NOBODY);
        if last == 0 {
            self.blocks.pop();
        }
    }
}

impl Grid {
    pub(crate) fn new(width: f64, height: f64, typical: f64) -> Self {
        let cells_along = |size: f64| ((size / (ROOMY * typical)).ceil() as usize).clamp(1, 400);
        let (columns, rows) = (cells_along(width), cells_along(height));
        Self {
            cells: vec![Cell::default(); columns * rows],
            columns,
            rows,
            scale: [columns as f64 / width.max(1e-9), rows as f64 / height.max(1e-9)],
        }
    }

    #[inline(always)]
    fn cell(&self, axis: usize, at: f64) -> usize {
        let most = if axis == 0 { self.columns } else { self.rows } - 1;
        ((at * self.scale[axis]) as u32 as usize).min(most)
    }

    pub(crate) fn insert(&mut self, body: u32, low: [f64; 2], high: [f64; 2]) {
        let first = [self.cell(0, low[0]), self.cell(1, low[1])];
        let last = [self.cell(0, high[0]), self.cell(1, high[1])];
        // Rounded outwards: the entry's bounds only sort out, they never decide.
        let slip = |v: f64, d: f32| v as f32 + d * (v.abs() as f32 * 1e-6 + 1e-6);
        let entry = Entry {
            body,
            first: [first[0] as u16, first[1] as u16],
            low: [slip(low[0], -1.0), slip(low[1], -1.0)],
            high: [slip(high[0], 1.0), slip(high[1], 1.0)],
        };
        for row in first[1]..=last[1] {
            for column in first[0]..=last[0] {
                self.cells[row * self.columns + column].push(entry);
            }
        }
    }

    pub(crate) fn remove(&mut self, body: u32, low: [f64; 2], high: [f64; 2]) {
        for row in self.cell(1, low[1])..=self.cell(1, high[1]) {
            for column in self.cell(0, low[0])..=self.cell(0, high[0]) {
                self.cells[row * self.columns + column].remove(body);
            }
        }
    }

    /// Calls `each` once for every body whose bounds meet the box, until it returns false.
    #[inline(always)]
    pub(crate) fn visit(&self, low: [f64; 2], high: [f64; 2], mut each: impl FnMut(u32) -> bool) {
        let first = [self.cell(0, low[0]), self.cell(1, low[1])];
        let last = [self.cell(0, high[0]), self.cell(1, high[1])];
        let (low, high) = ([low[0] as f32, low[1] as f32], [high[0] as f32, high[1] as f32]);
        for row in first[1]..=last[1] {
            for column in first[0]..=last[0] {
                for block in &self.cells[row * self.columns + column].blocks {
                    let mut near = block.near(low, high);
                    while near != 0 {
                        let at = near.trailing_zeros() as usize % AT_ONCE;
                        near &= near - 1;
                        // A body in several of these cells is visited in the first of them.
                        let once = (block.first[at][0] as usize).max(first[0]) == column
                            && (block.first[at][1] as usize).max(first[1]) == row;
                        if once && !each(block.body[at]) {
                            return;
                        }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_search::Random;

    #[test]
    fn every_body_whose_bounds_meet_the_box_is_visited_once() {
        let mut random = Random::new(5, 0);
        let bounds = |random: &mut Random, most: f64| {
            // Some stick out of the rectangle.
            let low = [random.within(-30.0, 1000.0), random.within(-30.0, 400.0)];
            (
                low,
                [low[0] + random.within(0.0, most), low[1] + random.within(0.0, most)],
            )
        };
        let mut grid = Grid::new(1000.0, 400.0, 25.0);
        let mut inside: Vec<Option<([f64; 2], [f64; 2])>> = vec![None; 300];
        let mut visited = 0;
        for step in 0..6000 {
            let body = random.below(inside.len());
            match inside[body].take() {
                Some((low, high)) => grid.remove(body as u32, low, high),
                None => {
                    let (low, high) = bounds(&mut random, 300.0);
                    grid.insert(body as u32, low, high);
                    inside[body] = Some((low, high));
                }
            }
            let (low, high) = bounds(&mut random, 100.0);
            let mut found = Vec::new();
            grid.visit(low, high, |body| {
                found.push(body as usize);
                true
            });
            found.sort_unstable();
            let meets = |b: &([f64; 2], [f64; 2])| (0..2).all(|a| b.0[a] <= high[a] && low[a] <= b.1[a]);
            let expected: Vec<usize> = (0..inside.len())
                .filter(|b| inside[*b].as_ref().is_some_and(meets))
                .collect();
            assert_eq!(found, expected, "seed 5, step {step}");
            visited += found.len();
        }
        assert!(visited > 50_000, "{visited}");
    }

    #[test]
    fn a_visit_ends_when_it_is_told_to() {
        let mut grid = Grid::new(10.0, 10.0, 10.0);
        (0..40).for_each(|body| grid.insert(body, [0.0; 2], [5.0; 2]));
        let mut visits = 0;
        grid.visit([1.0; 2], [2.0; 2], |_| {
            visits += 1;
            visits < 20
        });
        assert_eq!(visits, 20);
    }
}
