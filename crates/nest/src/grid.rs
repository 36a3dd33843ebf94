//! Which bodies are near: a grid over a rectangle.

/// A grid over a rectangle: which bodies' bounds touch which cell.
#[derive(Debug, Clone)]
pub(crate) struct Grid {
    cells: Vec<Vec<Entry>>,
    columns: usize,
    rows: usize,
    scale: [f64; 2],
}

/// A body in a cell, with its bounds and first cell, so that each is visited once.
#[derive(Debug, Clone, Copy)]
struct Entry {
    body: u32,
    first: [u16; 2],
    low: [f32; 2],
    high: [f32; 2],
}

impl Grid {
    pub(crate) fn new(width: f64, height: f64, typical: f64) -> Self {
        let cells_along = |size: f64| ((size / typical).ceil() as usize).clamp(1, 400);
        let (columns, rows) = (cells_along(width), cells_along(height));
        Self {
            cells: vec![Vec::new(); columns * rows],
            columns,
            rows,
            scale: [columns as f64 / width.max(1e-9), rows as f64 / height.max(1e-9)],
        }
    }

    fn cell(&self, axis: usize, at: f64) -> usize {
        let most = if axis == 0 { self.columns } else { self.rows } - 1;
        ((at * self.scale[axis]).max(0.0) as usize).min(most)
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
                let cell = &mut self.cells[row * self.columns + column];
                if let Some(at) = cell.iter().position(|e| e.body == body) {
                    cell.swap_remove(at);
                }
            }
        }
    }

    /// Calls `each` once for every body whose bounds meet the box, until it returns false.
    #[inline]
    pub(crate) fn visit(&self, low: [f64; 2], high: [f64; 2], mut each: impl FnMut(u32) -> bool) {
        let first = [self.cell(0, low[0]), self.cell(1, low[1])];
        let last = [self.cell(0, high[0]), self.cell(1, high[1])];
        let (lx, ly, hx, hy) = (low[0] as f32, low[1] as f32, high[0] as f32, high[1] as f32);
        for row in first[1]..=last[1] {
            for column in first[0]..=last[0] {
                for entry in &self.cells[row * self.columns + column] {
                    let once = (entry.first[0] as usize).max(first[0]) == column
                        && (entry.first[1] as usize).max(first[1]) == row;
                    let near = entry.low[0] <= hx && lx <= entry.high[0] && entry.low[1] <= hy && ly <= entry.high[1];
                    if near && once && !each(entry.body) {
                        return;
                    }
                }
            }
        }
    }
}
