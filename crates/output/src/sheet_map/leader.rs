//! Labels in the margin: which place beside the sheet each takes, so that no line runs through a label or another line.

use super::block::Block;
use super::label::Stand;
use super::nearby::through;
use crate::drawing::{View, element, line, push, set};
use crate::lines::cross;
use crate::number::mm;
use cullet_geometry::{Bounds, Point};
use svg::node::element::Element;

/// White between two labels in the margin, against the height of one.
const APART: f64 = 1.08;

/// From the sheet's edge to the words, against the labels' size.
const GAP: f64 = 0.9;

/// A label beside the sheet and the line to it, in the drawing's frame.
pub(super) struct Leader<'a> {
    block: &'a Block,
    size: f64,
    from: Point,
    to: Point,
    /// Middle of the words.
    at: Point,
}

impl Leader<'_> {
    /// Left and right end of what is drawn.
    pub(super) fn reach(&self) -> (f64, f64) {
        let half = self.block.width * self.size / 2.0;
        (self.at.x - half, self.at.x + half)
    }

    /// The line, the words and the arrow.
    pub(super) fn draw(&self) -> (Element, Element, Option<Element>) {
        let line = pointer(self.from, self.to, self.size);
        (
            line,
            self.block.draw_rows(self.at, self.size),
            self.block.draw_arrow(self.at, self.size),
        )
    }
}

/// A line with a dot where it starts.
pub(super) fn pointer(from: Point, to: Point, size: f64) -> Element {
    let mut group = element("g", &[]);
    push(&mut group, line(from, to));
    let mut dot = element("circle", &[("cx", &mm(from.x)), ("cy", &mm(from.y))]);
    set(&mut dot, "r", &mm(size * 0.12));
    push(&mut group, dot);
    group
}

/// Finds a place for every label that stands in the margin, top to bottom.
pub(super) fn place<'a>(stands: &'a [Stand], view: &View, (width, height): (f64, f64)) -> Vec<Leader<'a>> {
    let mut waiting: Vec<(&Block, Point, f64)> = Vec::new();
    for stand in stands {
        if let Stand::Margin { block, spot, size } = stand {
            waiting.push((block, view.at(spot.centre), *size));
        }
    }
    let boxes = boxes(stands, view);
    waiting.sort_by(|a, b| a.1.y.total_cmp(&b.1.y).then(a.1.x.total_cmp(&b.1.x)));
    let step = waiting.iter().map(|w| w.0.height * w.2).fold(0.0, f64::max) * APART;
    let mut slots = slots(
        width,
        height,
        step,
        waiting.first().map_or(0.0, |w| w.2 * GAP),
        waiting.len(),
    );
    let mut placed: Vec<Leader<'a>> = Vec::new();
    for (block, from, size) in waiting {
        slots.sort_by(|a, b| distance(*a, from).total_cmp(&distance(*b, from)));
        let faults = |to: &Point| {
            let lines = placed.iter().filter(|l| cross(from, *to, l.from, l.to)).count();
            let labels = boxes.iter().filter(|b| through(from, *to, **b)).count();
            (lines, labels)
        };
        // A free line wins, then one through the fewest others, then the shortest: the slots are sorted by length.
        let Some((chosen, _)) = slots.iter().enumerate().min_by_key(|(_, to)| faults(to)) else {
            break;
        };
        let to = slots.remove(chosen);
        let half = block.width * size / 2.0;
        let x = if to.x < width / 2.0 { to.x - half } else { to.x + half };
        let at = Point { x, y: to.y };
        placed.push(Leader {
            block,
            size,
            from,
            to,
            at,
        });
    }
    placed
}

/// How many lines run through a label or another line.
pub(super) fn faults(leaders: &[Leader<'_>], stands: &[Stand], view: &View) -> usize {
    let boxes = boxes(stands, view);
    let mut faults = 0;
    for (i, leader) in leaders.iter().enumerate() {
        faults += boxes.iter().filter(|b| through(leader.from, leader.to, **b)).count();
        faults += leaders[..i]
            .iter()
            .filter(|l| cross(leader.from, leader.to, l.from, l.to))
            .count();
    }
    faults
}

/// The boxes of the labels on the glass, in the drawing's frame.
pub(super) fn boxes(stands: &[Stand], view: &View) -> Vec<Bounds> {
    let mut boxes = Vec::new();
    for stand in stands {
        let (block, centre, size) = match stand {
            Stand::Inside { block, spot, size } | Stand::Letter { block, spot, size, .. } => (block, spot.centre, size),
            Stand::Nearby { block, at, size, .. } => (block, *at, size),
            Stand::Margin { .. } => continue,
        };
        let centre = view.at(centre);
        let half = Point {
            x: block.width * size / 2.0,
            y: block.height * size / 2.0,
        };
        boxes.push(Bounds {
            min: centre - half,
            max: centre + half,
        });
    }
    boxes
}

/// Ends of lines at both sides; more than the sheet is high where there are more labels than that.
fn slots(width: f64, height: f64, step: f64, gap: f64, least: usize) -> Vec<Point> {
    if step <= 0.0 {
        return Vec::new();
    }
    let mut slots = Vec::new();
    let mut y = step / 2.0;
    while y <= height - step / 2.0 || slots.len() < least {
        slots.push(Point { x: -gap, y });
        slots.push(Point { x: width + gap, y });
        y += step;
    }
    slots
}

fn distance(a: Point, b: Point) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}
