//! DXF R12: nothing but entities, fixed decimals, layers by what they are.

use crate::drive::Run;
use crate::place::Place;
use crate::words::plain;
use cullet_geometry::{Outline, Point};
use cullet_scorepath::{Purpose, ScorePath, Stretch};
use std::fmt::Write;

/// Length of the gauge line, mm, and how far below the sheet it lies.
const GAUGE: (f64, f64) = (100.0, 20.0);
/// Height of letters, mm.
const LETTERS: f64 = 8.0;

impl Run<'_> {
    /// The DXF file: in mm, true size, seen from the scored face, its zero at the lower left corner of the sheet. Scores stand in the
    /// order in which they are driven. A table that reads DXF goes its own way; what it scores stands on SCORE, RELIEF and TRIM.
    #[must_use]
    pub fn dxf(&self) -> String {
        let place = Place::seen(self.cutting);
        let mut text = String::from("0\nSECTION\n2\nENTITIES\n");
        outline(&mut text, "SHEET", self.cutting.sheet.outline, &place);
        for path in &self.paths {
            score(&mut text, &place.path(path));
        }
        for (cut, name) in &self.cutting.names {
            let at = place.point(middle(cut));
            let name = plain(name);
            write_text(
                &mut text,
                "PIECES",
                at - Point {
                    x: LETTERS * 0.3 * name.len() as f64,
                    y: LETTERS / 2.0,
                },
                &name,
            );
        }
        let (length, below) = GAUGE;
        let (from, to) = (Point { x: 0.0, y: -below }, Point { x: length, y: -below });
        line(&mut text, "GAUGE", from, to);
        write_text(
            &mut text,
            "GAUGE",
            Point {
                x: 0.0,
                y: -below - 1.5 * LETTERS,
            },
            "THIS LINE IS 100 MM LONG",
        );
        text.push_str("0\nENDSEC\n0\nEOF\n");
        text
    }
}

fn layer(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Score => "SCORE",
        Purpose::Relief => "RELIEF",
        Purpose::Trim => "TRIM",
    }
}

fn score(text: &mut String, path: &ScorePath) {
    let layer = layer(path.purpose);
    match path.stretches.as_slice() {
        [Stretch::Line { from, to }] => line(text, layer, *from, *to),
        [Stretch::Arc { from, to, centre, ccw }] => {
            // An arc goes counter-clockwise always.
            let (from, to) = if *ccw { (*from, *to) } else { (*to, *from) };
            let angle = |p: Point| (p - *centre).y.atan2((p - *centre).x).to_degrees().rem_euclid(360.0);
            let radius = path.stretches[0].radius();
            entity(text, "ARC", layer);
            point(text, 10, *centre);
            let _ = write!(text, "40\n{radius:.6}\n50\n{:.8}\n51\n{:.8}\n", angle(from), angle(to));
        }
        stretches => {
            let corners = stretches.iter().map(|one| (one.from(), (one.sweep() / 4.0).tan()));
            let corners: Vec<(Point, f64)> = corners.chain([(path.end(), 0.0)]).collect();
            polyline(text, layer, &corners, false);
        }
    }
}

fn outline(text: &mut String, layer: &str, outline: &Outline, place: &Place) {
    let corners: Vec<(Point, f64)> = outline.points().iter().map(|p| (place.point(*p), 0.0)).collect();
    polyline(text, layer, &corners, true);
}

fn entity(text: &mut String, kind: &str, layer: &str) {
    let _ = write!(text, "0\n{kind}\n8\n{layer}\n");
}

fn point(text: &mut String, code: u32, p: Point) {
    let _ = write!(text, "{code}\n{:.6}\n{}\n{:.6}\n", p.x + 0.0, code + 10, p.y + 0.0);
}

fn line(text: &mut String, layer: &str, from: Point, to: Point) {
    entity(text, "LINE", layer);
    point(text, 10, from);
    point(text, 11, to);
}

fn polyline(text: &mut String, layer: &str, corners: &[(Point, f64)], closed: bool) {
    entity(text, "POLYLINE", layer);
    let _ = write!(text, "66\n1\n70\n{}\n", u8::from(closed));
    point(text, 10, Point::zero());
    for (p, bulge) in corners {
        entity(text, "VERTEX", layer);
        point(text, 10, *p);
        if *bulge != 0.0 {
            let _ = write!(text, "42\n{bulge:.10}\n");
        }
    }
    entity(text, "SEQEND", layer);
}

fn write_text(text: &mut String, layer: &str, at: Point, words: &str) {
    entity(text, "TEXT", layer);
    point(text, 10, at);
    let _ = write!(text, "40\n{LETTERS:.1}\n1\n{words}\n");
}

/// The middle of the box round a piece.
fn middle(outline: &Outline) -> Point {
    let bounds = outline.bounds();
    (bounds.min + bounds.max) / 2.0
}
