//! The scale bar under the sheet.

use super::page::Page;
use crate::drawing::{element, group, line, push, set, text};
use crate::number::mm;
use cullet_geometry::Point;
use cullet_job::Units;
use svg::node::element::Element;

/// Height that the bar with its figures takes, against the letters' size.
pub(super) const HEIGHT: f64 = 2.4;

/// The bar, upper edge at `top`; true to the sheet, so it holds whatever size the map is printed at.
pub(super) fn draw(page: &Page, top: f64, units: Units) -> Element {
    let (one, name) = match units {
        Units::Millimetres => (1.0, "mm"),
        Units::Inches => (25.4, "in"),
    };
    let room = page.text_right() - page.text_left() - 14.0 * page.size;
    let (length, step) = length_and_step(room / one);
    let words = format!(
        "The bar is {} {name} long, with a tick every {} {name}.",
        mm(length),
        mm(step)
    );
    let figure = |i: f64| mm(i * step);
    let (length, step) = (length * one, step * one);
    let left = page.text_left();
    let y = top + 1.0 * page.size;
    let mut bar = group("scale", "Scale bar", &words);
    set(&mut bar, "stroke", "#000");
    set(&mut bar, "stroke-width", &mm(page.size * 0.09));
    push(&mut bar, line(Point { x: left, y }, Point { x: left + length, y }));
    let ticks = (length / step).round();
    let mut figures = element("g", &[("stroke", "none")]);
    let mut i = 0.0;
    while i <= ticks {
        let x = left + i * step;
        let (whole, last) = (i == 0.0 || i * 2.0 == ticks, i == ticks);
        let up = if whole || last { 0.7 } else { 0.4 };
        push(
            &mut bar,
            line(
                Point {
                    x,
                    y: y - up * page.size,
                },
                Point { x, y },
            ),
        );
        if whole || last {
            let unit = if last { format!(" {name}") } else { String::new() };
            let words = format!("{}{unit}", figure(i));
            let anchor = if i == 0.0 { "start" } else { "middle" };
            push(
                &mut figures,
                text(Point { x, y: y + page.size }, page.size * 0.85, anchor, false, &words),
            );
        }
        i += 1.0;
    }
    push(&mut bar, figures);
    bar
}

/// The longest bar of 1, 2 or 5 times a power of ten that takes at most 70 % of `room`, and its tick: a tenth of it.
fn length_and_step(room: f64) -> (f64, f64) {
    let most = (0.7 * room).max(1e-3);
    let decade = 10_f64.powf(most.log10().floor());
    let factor = [5.0, 2.0, 1.0]
        .into_iter()
        .find(|f| f * decade <= most * (1.0 + 1e-9))
        .unwrap_or(1.0);
    (factor * decade, factor * decade / 10.0)
}

#[cfg(test)]
mod tests {
    use super::length_and_step;

    #[test]
    fn bars_are_round_lengths() {
        for (room, length, step) in [
            (2440.0, 1000.0, 100.0),
            (610.0, 200.0, 20.0),
            (1000.0, 500.0, 50.0),
            (2.0, 1.0, 0.1),
        ] {
            let (l, s) = length_and_step(room);
            assert!((l - length).abs() < 1e-9 && (s - step).abs() < 1e-9, "{room}: {l} {s}");
        }
    }
}
