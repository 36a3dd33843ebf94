//! A label as it is set: rows of words with, where the glass has a grain, an arrow beside or under them.

use super::grain::Arrow;
use crate::drawing::{element, push, set, text};
use crate::number::mm;
use crate::words::{one_line, width_em};
use cullet_geometry::Point;
use svg::node::element::Element;

/// Height of figures and capitals at size 1 in a sans-serif face.
pub(super) const CAPITAL: f64 = 0.74;

/// White between rows, at size 1.
const BETWEEN: f64 = 0.24;

/// White kept round a label, at size 1.
const ROUND: f64 = 0.18;

/// Words of one size.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) words: String,
    /// Against the label's own size.
    pub(super) size: f64,
    pub(super) bold: bool,
}

/// How strongly a row is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Plain,
    Bold,
}

impl Row {
    pub(super) fn new(words: &str, size: f64, weight: Weight) -> Self {
        Self {
            words: one_line(words),
            size,
            bold: weight == Weight::Bold,
        }
    }

    fn width(&self) -> f64 {
        width_em(&self.words, self.bold) * self.size
    }
}

/// Where the arrow stands to the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ArrowAt {
    Left,
    Under,
}

impl ArrowAt {
    /// Both, the one first that suits the arrow's own way.
    pub(super) fn both(arrow: Arrow) -> [Self; 2] {
        let (width, height) = arrow.size();
        if height >= width {
            [Self::Left, Self::Under]
        } else {
            [Self::Under, Self::Left]
        }
    }
}

/// Rows and arrow with the box they need, for a label of size 1.
#[derive(Debug, Clone)]
pub(super) struct Block {
    rows: Vec<Row>,
    /// Reads from bottom to top.
    turned: bool,
    arrow: Option<Arrow>,
    /// Middle of the rows and of the arrow against the middle of the box.
    rows_at: Point,
    arrow_at: Point,
    /// Whether it stands on hatching and wants white under it.
    on_hatching: bool,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Block {
    pub(super) fn new(rows: Vec<Row>, turned: bool, grain: Option<(Arrow, ArrowAt)>) -> Self {
        let across = rows.iter().map(Row::width).fold(0.0, f64::max);
        let along = rows_height(&rows);
        let (rows_width, rows_height) = if turned { (along, across) } else { (across, along) };
        let nowhere = Point { x: 0.0, y: 0.0 };
        let mut block = Self {
            rows,
            turned,
            arrow: grain.map(|g| g.0),
            rows_at: nowhere,
            arrow_at: nowhere,
            on_hatching: false,
            width: rows_width,
            height: rows_height,
        };
        if let Some((arrow, arrow_at)) = grain {
            let (arrow_width, arrow_height) = arrow.size();
            if arrow_at == ArrowAt::Left {
                block.width = rows_width + BETWEEN + arrow_width;
                block.height = rows_height.max(arrow_height);
                block.arrow_at.x = (arrow_width - block.width) / 2.0;
                block.rows_at.x = (block.width - rows_width) / 2.0;
            } else {
                block.width = rows_width.max(arrow_width);
                block.height = rows_height + BETWEEN + arrow_height;
                block.arrow_at.y = (block.height - arrow_height) / 2.0;
                block.rows_at.y = (rows_height - block.height) / 2.0;
            }
        }
        block.width += 2.0 * ROUND;
        block.height += 2.0 * ROUND;
        block
    }

    /// The same label with white under it.
    pub(super) fn on_hatching(mut self) -> Self {
        self.on_hatching = true;
        self
    }

    /// The rows, middle of the box at `centre` in the drawing's frame, set at `size` mm.
    pub(super) fn draw_rows(&self, centre: Point, size: f64) -> Element {
        let mut label = element("g", &[]);
        if self.on_hatching {
            let mut ground = element("rect", &[("fill", "#fff")]);
            for (key, value) in [
                ("x", centre.x - self.width * size / 2.0),
                ("y", centre.y - self.height * size / 2.0),
                ("width", self.width * size),
                ("height", self.height * size),
            ] {
                set(&mut ground, key, &mm(value));
            }
            push(&mut label, ground);
        }
        let middle = centre + self.rows_at * size;
        let mut place = format!("translate({} {})", mm(middle.x), mm(middle.y));
        if self.turned {
            place.push_str(" rotate(-90)");
        }
        let mut rows = element("g", &[("transform", &place), ("text-anchor", "middle")]);
        let mut y = -rows_height(&self.rows) / 2.0;
        for row in &self.rows {
            y += CAPITAL * row.size;
            let at = Point { x: 0.0, y: y * size };
            push(&mut rows, text(at, row.size * size, "start", row.bold, &row.words));
            y += BETWEEN;
        }
        push(&mut label, rows);
        label
    }

    /// The arrow, if there is one.
    pub(super) fn draw_arrow(&self, centre: Point, size: f64) -> Option<Element> {
        let arrow = self.arrow?;
        Some(arrow.draw(centre + self.arrow_at * size, size))
    }
}

fn rows_height(rows: &[Row]) -> f64 {
    let words: f64 = rows.iter().map(|r| r.size * CAPITAL).sum();
    words + BETWEEN * rows.len().saturating_sub(1) as f64
}
