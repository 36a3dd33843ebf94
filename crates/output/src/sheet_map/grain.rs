//! The arrow that says which way the grain runs: a head at both ends where it runs two ways, one head where it has a sense.

use crate::drawing::{element, push, set};
use crate::number::mm;
use cullet_geometry::Point;
use cullet_job::GrainFile;
use svg::node::element::Element;

/// Length of an arrow against the size of the label it stands with.
const LENGTH: f64 = 1.6;

/// The same where there is little room.
const SHORT: f64 = 1.0;

/// Half the width of its head against the same, and that of a short arrow's.
const HEAD: f64 = 0.2;
const SHORT_HEAD: f64 = 0.15;

/// An arrow along the grain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arrow {
    /// Degrees counter-clockwise from the right, y up.
    deg: f64,
    both_ways: bool,
    length: f64,
    head: f64,
}

impl Arrow {
    /// The arrow of a glass; none where the glass has no grain or the direction is unknown.
    pub(super) fn of(grain: GrainFile, deg: Option<f64>) -> Option<Self> {
        let both_ways = match grain {
            GrainFile::None => return None,
            GrainFile::TwoWays => true,
            GrainFile::OneWay => false,
        };
        deg.filter(|d| d.is_finite()).map(|deg| Self {
            deg,
            both_ways,
            length: LENGTH,
            head: HEAD,
        })
    }

    /// The same arrow for narrow room.
    pub(super) fn short(self) -> Self {
        Self {
            length: SHORT,
            head: SHORT_HEAD,
            ..self
        }
    }

    /// Width and height of its box beside a label of size 1.
    pub(super) fn size(self) -> (f64, f64) {
        let (sin, cos) = self.deg.to_radians().sin_cos();
        let reach = |along: f64, across: f64| self.length * along.abs() + 2.0 * self.head * across.abs();
        (reach(cos, sin), reach(sin, cos))
    }

    /// Drawn round `middle` beside a label of `size` mm: a line with filled heads.
    pub(super) fn draw(self, middle: Point, size: f64) -> Element {
        let half = self.length / 2.0 * size;
        let head = self.head * size;
        let neck = half - 2.2 * head;
        let mut data = format!("M{} 0H{}", mm(if self.both_ways { -neck } else { -half }), mm(neck));
        let mut point = |sign: f64| {
            data.push_str(&format!(
                "M{} 0L{} {}V{}Z",
                mm(sign * half),
                mm(sign * neck),
                mm(-head),
                mm(head)
            ));
        };
        point(1.0);
        if self.both_ways {
            point(-1.0);
        }
        let turn = format!("translate({} {}) rotate({})", mm(middle.x), mm(middle.y), mm(-self.deg));
        let mut group = element("g", &[("transform", &turn)]);
        let mut path = element("path", &[("d", &data)]);
        set(&mut path, "stroke-width", &mm(size * 0.09));
        push(&mut group, path);
        group
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_arrow_has_as_many_heads_as_the_grain_has_ways() {
        let heads = |grain| {
            let arrow = Arrow::of(grain, Some(90.0))?;
            Some(
                arrow
                    .draw(Point { x: 0.0, y: 0.0 }, 10.0)
                    .to_string()
                    .matches('Z')
                    .count(),
            )
        };
        assert_eq!(heads(GrainFile::None), None);
        assert_eq!(heads(GrainFile::OneWay), Some(1));
        assert_eq!(heads(GrainFile::TwoWays), Some(2));
    }

    #[test]
    fn an_upright_grain_points_up_the_page() {
        // y runs down in SVG: an arrow at 90° must be turned by −90° there.
        let arrow = Arrow::of(GrainFile::OneWay, Some(90.0)).unwrap();
        assert!(
            arrow
                .draw(Point { x: 0.0, y: 0.0 }, 10.0)
                .to_string()
                .contains("rotate(-90)")
        );
    }
}
