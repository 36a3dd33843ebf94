//! Small SVG parts used by all drawings, in the sheet's frame: x to the right, y **up**, turned over when written.

use crate::number::mm;
use cullet_geometry::{Bounds, Point};
use svg::node::element::Element;

/// An element with `id`, a title and a description as SVG 2 (section 5.8) has them for readers that do not see.
pub(crate) fn group(id: &str, title: &str, description: &str) -> Element {
    let mut group = element("g", &[("id", id)]);
    push(&mut group, worded("title", title));
    if !description.is_empty() {
        push(&mut group, worded("desc", description));
    }
    group
}

/// An element with attributes.
pub(crate) fn element(name: &str, attributes: &[(&str, &str)]) -> Element {
    let mut element = Element::new(name);
    for (key, value) in attributes {
        element.get_attributes_mut().insert((*key).to_owned(), (*value).into());
    }
    element
}

/// An element that holds words only.
pub(crate) fn worded(name: &str, words: &str) -> Element {
    let mut element = Element::new(name);
    let words = crate::words::one_line(words);
    element.get_children_mut().push(Box::new(svg::node::Text::new(words)));
    element
}

/// Adds a child.
pub(crate) fn push(parent: &mut Element, child: Element) {
    parent.get_children_mut().push(Box::new(child));
}

/// Sets one attribute.
pub(crate) fn set(element: &mut Element, key: &str, value: &str) {
    element.get_attributes_mut().insert(key.to_owned(), value.into());
}

/// From the sheet's frame to the drawing's: y turned over, moved so that the sheet's box starts at the origin, and
/// mirrored in x where the drawing is seen from behind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View {
    bounds: Bounds,
    mirrored: bool,
}

impl View {
    /// As seen from the show face.
    pub(crate) fn from_front(bounds: Bounds) -> Self {
        Self {
            bounds,
            mirrored: false,
        }
    }

    /// As seen from behind: x → width − x.
    pub(crate) fn from_behind(bounds: Bounds) -> Self {
        Self { bounds, mirrored: true }
    }

    /// Where a point of the sheet is drawn.
    pub(crate) fn at(&self, p: Point) -> Point {
        Point {
            x: if self.mirrored {
                self.bounds.max.x - p.x
            } else {
                p.x - self.bounds.min.x
            },
            y: self.bounds.max.y - p.y,
        }
    }

    /// Path data through the points, closed where they go round.
    pub(crate) fn path(&self, points: &[Point], closed: bool, decimals: usize) -> String {
        let mut data = String::with_capacity(points.len() * 16);
        for (i, p) in points.iter().enumerate() {
            let p = self.at(*p);
            data.push(if i == 0 { 'M' } else { 'L' });
            data.push_str(&crate::number::plain(p.x, decimals));
            data.push(' ');
            data.push_str(&crate::number::plain(p.y, decimals));
        }
        if closed {
            data.push('Z');
        }
        data
    }
}

/// A straight line in the drawing's frame.
pub(crate) fn line(a: Point, b: Point) -> Element {
    element(
        "line",
        &[("x1", &mm(a.x)), ("y1", &mm(a.y)), ("x2", &mm(b.x)), ("y2", &mm(b.y))],
    )
}

/// Words at a point of the drawing's frame; `anchor` is `start`, `middle` or `end`, the point lies on the base line.
pub(crate) fn text(at: Point, size: f64, anchor: &str, bold: bool, words: &str) -> Element {
    let mut text = worded("text", words);
    set(&mut text, "x", &mm(at.x));
    set(&mut text, "y", &mm(at.y));
    set(&mut text, "font-size", &mm(size));
    if anchor != "start" {
        set(&mut text, "text-anchor", anchor);
    }
    if bold {
        set(&mut text, "font-weight", "bold");
    }
    text
}

/// The whole file.
pub(crate) fn file(root: &Element) -> String {
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{root}\n")
}
