//! The demo's panels as a workshop draws them: lead lines with ends that miss by a hair, a number and a glass in every cell,
//! grain arrows. One writer for SVG, a small one for DXF.

use super::cell::Cell;
use super::curve::{Curve, point, polar};
use super::{DemoPanel, Make};
use cullet_geometry::Point;
use std::f64::consts::PI;
use std::fmt::Write as _;

/// Ends of lead lines run over by this or fall short of it in turn, mm: as a hand draws, below the snap tolerance.
const MISS_MM: f64 = 0.2;
/// Length of a grain arrow, mm.
const ARROW_MM: f64 = 14.0;

/// The lead lines with their small misses.
fn lead_lines(panel: &DemoPanel) -> Vec<Curve> {
    let missed = panel.leads.iter().enumerate().map(|(i, curve)| {
        let share = |k: usize| if (i + k).is_multiple_of(2) { MISS_MM } else { -MISS_MM } / curve.length();
        curve.part(-share(0), 1.0 + share(1))
    });
    missed.collect()
}

/// The arrow's shaft and barbs, each as its ends.
fn arrow(cell: &Cell, grain_deg: f64) -> [(Point, Point); 3] {
    let along = grain_deg.to_radians();
    let middle = cell.middle();
    let (start, tip) = (
        polar(middle, -ARROW_MM / 2.0, along),
        polar(middle, ARROW_MM / 2.0, along),
    );
    let barb = |side: f64| (tip, polar(tip, ARROW_MM / 4.0, along + PI + side));
    [(start, tip), barb(0.5), barb(-0.5)]
}

/// What stands in a cell.
fn words(number: usize, make: &Make) -> String {
    format!("{number} {}", make.glass)
}

/// The panel as SVG, y down, 1 unit of the viewBox 1 mm.
#[must_use]
pub fn svg(panel: &DemoPanel) -> String {
    let (w, h) = (panel.width, panel.height);
    let at = |p: Point| format!("{} {}", round(p.x), round(h - p.y));
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n\
         <title>Cartoon of panel {}, {}</title>\n\
         <style>\n  path, rect {{ fill: none; stroke: #000 }}\n  .border {{ stroke-width: 3 }}\n  .lead {{ stroke-width: 1.5 }}\n  \
         .grain {{ stroke-width: 0.5 }}\n  text {{ font: 9px sans-serif; text-anchor: middle }}\n</style>\n\
         <rect class=\"border\" width=\"{w}\" height=\"{h}\"/>\n",
        panel.id, panel.name
    );
    for curve in lead_lines(panel) {
        // Writing to a String cannot fail.
        let _ = match curve {
            Curve::Line { from, to } => writeln!(text, "<path class=\"lead\" d=\"M {} L {}\"/>", at(from), at(to)),
            Curve::Arc { radius, turn, .. } => {
                let sweep = u8::from(turn < 0.0);
                let mut data = format!("M {}", at(curve.at(0.0)));
                for part in [curve.part(0.0, 0.5), curve.part(0.5, 1.0)] {
                    let _ = write!(data, " A {r} {r} 0 0 {sweep} {}", at(part.at(1.0)), r = round(radius));
                }
                writeln!(text, "<path class=\"lead\" d=\"{data}\"/>")
            }
        };
    }
    for (i, (cell, make)) in panel.cells.iter().enumerate() {
        let middle = cell.middle();
        let _ = writeln!(
            text,
            "<text x=\"{}\" y=\"{}\">{}</text>",
            round(middle.x),
            round(h - middle.y),
            words(i + 1, make)
        );
        for (from, to) in make.grain.iter().flat_map(|grain| arrow(cell, *grain)) {
            let _ = writeln!(text, "<path class=\"grain\" d=\"M {} L {}\"/>", at(from), at(to));
        }
    }
    text.push_str("</svg>\n");
    text
}

/// The panel as DXF in millimetres, y up: LINE, ARC and TEXT on the layers `border`, `lead`, `marks` and `grain`.
#[must_use]
pub fn dxf(panel: &DemoPanel) -> String {
    let mut file = Dxf::default();
    file.pair(0, "SECTION");
    file.pair(2, "HEADER");
    file.pair(9, "$ACADVER");
    file.pair(1, "AC1009");
    file.pair(9, "$INSUNITS");
    file.pair(70, "4");
    file.pair(0, "ENDSEC");
    file.pair(0, "SECTION");
    file.pair(2, "ENTITIES");
    let (w, h) = (panel.width, panel.height);
    let corners = [point(0.0, 0.0), point(w, 0.0), point(w, h), point(0.0, h)];
    for i in 0..4 {
        file.line("border", corners[i], corners[(i + 1) % 4]);
    }
    for curve in lead_lines(panel) {
        match curve {
            Curve::Line { from, to } => file.line("lead", from, to),
            Curve::Arc {
                centre,
                radius,
                start,
                turn,
            } => {
                // Arcs run counter-clockwise.
                let first = if turn < 0.0 { start + turn } else { start };
                file.entity("ARC", "lead");
                file.point(10, centre);
                file.number(40, radius);
                file.number(50, first.to_degrees());
                file.number(51, (first + turn.abs()).to_degrees());
            }
        }
    }
    for (i, (cell, make)) in panel.cells.iter().enumerate() {
        file.entity("TEXT", "marks");
        file.point(10, cell.middle());
        file.number(40, 9.0);
        file.pair(1, &words(i + 1, make));
        for (from, to) in make.grain.iter().flat_map(|grain| arrow(cell, *grain)) {
            file.line("grain", from, to);
        }
    }
    file.pair(0, "ENDSEC");
    file.pair(0, "EOF");
    file.text
}

#[derive(Default)]
struct Dxf {
    text: String,
}

impl Dxf {
    fn pair(&mut self, code: u16, value: &str) {
        let _ = writeln!(self.text, "{code}\n{value}");
    }

    fn number(&mut self, code: u16, value: f64) {
        self.pair(code, &format!("{:.6}", value + 0.0));
    }

    fn point(&mut self, code: u16, p: Point) {
        self.number(code, p.x);
        self.number(code + 10, p.y);
    }

    fn entity(&mut self, kind: &str, layer: &str) {
        self.pair(0, kind);
        self.pair(8, layer);
    }

    fn line(&mut self, layer: &str, from: Point, to: Point) {
        self.entity("LINE", layer);
        self.point(10, from);
        self.point(11, to);
    }
}

/// To the grid of 1e-4 mm, and never −0.
fn round(x: f64) -> f64 {
    (x * 1e4).round() / 1e4 + 0.0
}
