//! The breaking order on the map: relief scores and runs dotted, and the number of each break beside its score.

use super::label::Stand;
use super::page::Page;
use crate::drawing::{View, element, group, push, set, text};
use crate::number::mm;
use cullet_geometry::Point;
use cullet_model::Layout;
use svg::node::element::Element;

/// Size of the numbers against the map's letters, while there are few.
const SIZE: f64 = 0.55;
/// From so many breaks on the numbers get smaller.
const FEW: f64 = 60.0;
/// The smallest against the map's letters: what is smaller is read on the page of the breaks.
const SMALLEST: f64 = 0.42;
/// Places tried along each score.
const PLACES: usize = 16;

/// Where the breaks run, under the pieces.
pub(super) fn lines(layout: &Layout, view: &View, page: &Page) -> Element {
    let mut group = group("breaks", "Breaks", "The breaks, dotted.");
    set(&mut group, "fill", "none");
    set(&mut group, "stroke", "#000");
    set(&mut group, "stroke-width", &mm(page.size * 0.09));
    set(&mut group, "stroke-linecap", "round");
    set(&mut group, "stroke-dasharray", &format!("0 {}", mm(page.size * 0.22)));
    for step in &layout.breaking.steps {
        push(&mut group, element("path", &[("d", &view.path(&step.chain, false, 3))]));
    }
    group
}

/// Room round a number beyond which more is no better, in letter sizes: to the next number, and to a label.
const CLEAR: f64 = 3.0;
const CLEAR_OF_WORDS: f64 = 1.2;

/// The number of every break, over the pieces, clear of their labels and of each other as far as there is room.
pub(super) fn numbers(layout: &Layout, stands: &[Stand], view: &View, page: &Page) -> Element {
    let mut group = group(
        "break-numbers",
        "Order of the breaks",
        "Number of each break beside its score.",
    );
    set(&mut group, "font-style", "italic");
    set(&mut group, "stroke", "#fff");
    set(&mut group, "paint-order", "stroke");
    let count = layout.breaking.steps.len() as f64;
    let size = page.size * (SIZE * (FEW / count.max(FEW)).sqrt()).max(SMALLEST);
    set(&mut group, "stroke-width", &mm(size * 0.25));
    let labels: Vec<(Point, f64)> = stands.iter().filter_map(taken).collect();
    let mut placed: Vec<Point> = Vec::with_capacity(layout.breaking.steps.len());
    for (k, step) in layout.breaking.steps.iter().enumerate() {
        let room = |at: Point| {
            let near = |p: &Point, reach: f64| (p.x - at.x).abs() < reach && (p.y - at.y).abs() < reach;
            let others = placed.iter().filter(|p| near(p, CLEAR * size));
            let others = others.map(|p| distance(*p, at) / size).fold(CLEAR, f64::min);
            let words = labels
                .iter()
                .filter(|(p, reach)| near(p, reach + CLEAR_OF_WORDS * size));
            let words = words.map(|(p, reach)| (distance(*p, at) - reach) / size);
            others + words.fold(CLEAR_OF_WORDS, f64::min)
        };
        let rooms = places(&step.chain).into_iter().map(|at| (at, room(at)));
        let Some((at, _)) = rooms.max_by(|a, b| a.1.total_cmp(&b.1)) else {
            continue;
        };
        placed.push(at);
        let drawn = view.at(at);
        let base = Point {
            x: drawn.x,
            y: drawn.y + 0.35 * size,
        };
        push(&mut group, text(base, size, "middle", false, &(k + 1).to_string()));
    }
    group
}

/// Middle and reach of a label that stands on the glass.
fn taken(stand: &Stand) -> Option<(Point, f64)> {
    match stand {
        Stand::Inside { spot, size, .. } => Some((spot.centre, 1.6 * size)),
        Stand::Letter { spot, size, .. } => Some((spot.centre, 0.8 * size)),
        Stand::Nearby { at, size, .. } => Some((*at, 1.6 * size)),
        Stand::Margin { .. } => None,
    }
}

/// Places spread evenly over a chain.
fn places(chain: &[Point]) -> Vec<Point> {
    let whole: f64 = chain.windows(2).map(|w| distance(w[0], w[1])).sum();
    (0..PLACES)
        .filter_map(|k| {
            let mut left = whole * (k as f64 + 0.5) / PLACES as f64;
            chain.windows(2).find_map(|w| {
                let length = distance(w[0], w[1]);
                if left <= length {
                    return Some(w[0] + (w[1] - w[0]) * (left / length.max(1e-9)));
                }
                left -= length;
                None
            })
        })
        .collect()
}

fn distance(a: Point, b: Point) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}
