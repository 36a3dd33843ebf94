//! Room for a label in the cullet beside a piece that is too small for it.

use super::label::Item;
use crate::lines::{cross, sides};
use cullet_geometry::{Bounds, Outline, Point};

/// Directions looked in round the piece, and steps outwards in each.
const DIRECTIONS: u32 = 24;
const STEPS: u32 = 8;

/// What is taken already, in the sheet's frame.
pub(super) struct Taken<'a> {
    sheet: &'a Outline,
    shapes: Vec<(Bounds, &'a Outline)>,
    labels: Vec<Bounds>,
}

impl<'a> Taken<'a> {
    /// Everything that is to be labelled stands on the sheet already.
    pub(super) fn new(sheet: &'a Outline, items: &[Item<'a>]) -> Self {
        let shapes = items.iter().map(|i| (i.shape().bounds(), i.shape())).collect();
        Self {
            sheet,
            shapes,
            labels: Vec::new(),
        }
    }

    /// The middle of the nearest free place for a label `width` × `height` mm of the shape round `from`, with a free line
    /// to it; the place is taken then. O(shapes) for each of some hundred places tried.
    pub(super) fn take(&mut self, own: &Outline, from: Point, width: f64, height: f64) -> Option<Point> {
        let at = self.find(own, from, width, height)?;
        self.labels.push(around(at, width, height));
        Some(at)
    }

    fn find(&self, own: &Outline, from: Point, width: f64, height: f64) -> Option<Point> {
        let half_own = own.bounds().width().hypot(own.bounds().height()) / 2.0;
        for step in 0..STEPS {
            for direction in 0..DIRECTIONS {
                let angle = std::f64::consts::TAU * f64::from(direction) / f64::from(DIRECTIONS);
                let (sin, cos) = angle.sin_cos();
                let gap = half_own.min(height) * 0.5 + height * (0.25 + 0.5 * f64::from(step));
                let at = Point {
                    x: from.x + cos * (width / 2.0 + gap),
                    y: from.y + sin * (height / 2.0 + gap),
                };
                let white = height * 0.12;
                if self.is_free(own, from, at, around(at, width + white, height + white)) {
                    return Some(at);
                }
            }
        }
        None
    }

    fn is_free(&self, own: &Outline, from: Point, at: Point, label: Bounds) -> bool {
        let corners = corners(label);
        let on_sheet = corners.iter().all(|c| contains(self.sheet, *c)) && !crosses(self.sheet, label);
        let reach = Bounds {
            min: Point {
                x: label.min.x.min(from.x),
                y: label.min.y.min(from.y),
            },
            max: Point {
                x: label.max.x.max(from.x),
                y: label.max.y.max(from.y),
            },
        };
        on_sheet
            && self.labels.iter().all(|other| !overlap(*other, reach))
            && self
                .shapes
                .iter()
                .filter(|(bounds, _)| overlap(*bounds, reach))
                .all(|(_, shape)| {
                    let clear = !crosses(shape, label) && !contains(shape, corners[0]);
                    clear && (std::ptr::eq(*shape, own) || !sides(shape).any(|[a, b]| cross(a, b, from, at)))
                })
    }
}

fn around(at: Point, width: f64, height: f64) -> Bounds {
    let half = Point {
        x: width / 2.0,
        y: height / 2.0,
    };
    Bounds {
        min: at - half,
        max: at + half,
    }
}

fn corners(b: Bounds) -> [Point; 4] {
    let p = |x, y| Point { x, y };
    [b.min, p(b.max.x, b.min.y), b.max, p(b.min.x, b.max.y)]
}

fn overlap(a: Bounds, b: Bounds) -> bool {
    a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
}

/// Whether a side of the outline runs through the box.
fn crosses(outline: &Outline, label: Bounds) -> bool {
    sides(outline).any(|[a, b]| through(a, b, label))
}

/// Whether a part of a line lies within a box: the line is cut back to each pair of the box's sides in turn.
pub(super) fn through(a: Point, b: Point, label: Bounds) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let axes = [
        (a.x, b.x - a.x, label.min.x, label.max.x),
        (a.y, b.y - a.y, label.min.y, label.max.y),
    ];
    for (start, step, low, high) in axes {
        if step == 0.0 {
            if start <= low || start >= high {
                return false;
            }
            continue;
        }
        let (t, u) = ((low - start) / step, (high - start) / step);
        from = from.max(t.min(u));
        to = to.min(t.max(u));
    }
    from < to
}

fn contains(outline: &Outline, p: Point) -> bool {
    let crossings = sides(outline)
        .filter(|[a, b]| (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) * (b.x - a.x) / (b.y - a.y));
    crossings.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_through_a_box_are_seen() {
        let p = |x, y| Point { x, y };
        let label = around(p(0.0, 0.0), 20.0, 10.0);
        for (a, b, expect) in [
            (p(-20.0, 0.0), p(20.0, 0.0), true),
            (p(0.0, -20.0), p(0.0, 20.0), true),
            // Cuts off a corner without reaching a diagonal of the box.
            (p(7.0, 6.0), p(11.0, 2.0), true),
            (p(-1.0, -1.0), p(1.0, 1.0), true),
            (p(9.0, 8.0), p(14.0, 3.0), false),
            (p(-20.0, 5.0), p(20.0, 5.0), false),
            (p(11.0, -20.0), p(11.0, 20.0), false),
        ] {
            assert_eq!(through(a, b, label), expect, "{a:?} {b:?}");
        }
    }

    #[test]
    fn a_label_finds_the_free_side() {
        // A small piece low in a corner, another piece right above it: the only room is to the right.
        let at = |x: f64, y: f64, w: f64, h: f64| {
            Outline::rectangle(w, h).posed(&cullet_geometry::Pose {
                x,
                y,
                ..cullet_geometry::Pose::IDENTITY
            })
        };
        let (sheet, own, above) = (
            Outline::rectangle(200.0, 100.0),
            at(5.0, 5.0, 8.0, 8.0),
            at(5.0, 20.0, 190.0, 70.0),
        );
        let items = [Item::flaw(&own), Item::flaw(&above)];
        let mut taken = Taken::new(&sheet, &items);
        let from = Point { x: 9.0, y: 9.0 };
        let first = taken.take(&own, from, 30.0, 10.0).unwrap();
        assert!(first.x > 28.0 && first.y > 5.0 && first.y < 15.0, "{first:?}");
        // The place is taken now, and past it there is no free line.
        assert_eq!(taken.take(&own, from, 30.0, 10.0), None);
    }
}
