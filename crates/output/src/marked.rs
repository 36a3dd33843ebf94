//! A drawing as it was read: lead lines, the glass between them, numbers and glasses, and every finding ringed.
//!
//! True size (1 unit of the viewBox is 1 mm, y down), seen from the show face. Group `glass` holds the finished outlines,
//! `leads` the lines joined, `loose` those that bound no piece, `numbers` what stands in the cells, `rings` one ring for
//! each finding that has a place: a full line for an error, a broken one for a warning. The list under the drawing says the
//! same in words, by the rings' numbers.

use crate::drawing::{View, element, file, group, push, set, text, worded};
use crate::number::mm;
use cullet_drawing::cartoon::Cartoon;
use cullet_drawing::curve::{Curve, polar};
use cullet_drawing::{DrawingFinding, Severity};
use cullet_geometry::{Bounds, Point};
use cullet_job::measure::short_size;
use cullet_job::{Units, counted};
use svg::node::element::Element;

/// Letters across the drawing, as on the sheet maps.
const SIZES_ACROSS: f64 = 54.0;
/// Width of a letter on average, in sizes.
const LETTER: f64 = 0.52;
/// How finely arcs are drawn, mm.
const CHORD_MM: f64 = 0.02;
/// The most findings that are ringed and listed; a drawing with more is not one that has slips.
const MOST_RINGS: usize = 200;

/// The marked-up drawing; `title` is what it is called, lengths are told in `units`.
#[must_use]
pub fn draw(title: &str, cartoon: &Cartoon, units: Units) -> String {
    let (low, high) = cartoon.bounds;
    let bounds = Bounds {
        min: low,
        max: Point {
            x: high.x.max(low.x + 1.0),
            y: high.y.max(low.y + 1.0),
        },
    };
    let size = bounds.width().max(0.6 * bounds.height()) * 1.06 / SIZES_ACROSS;
    let view = View::from_front(bounds);
    let ringed: Vec<&DrawingFinding> = cartoon.findings.iter().take(MOST_RINGS).collect();

    let words = "Seen from the show face, true size. Rings are numbered as in the list under the drawing: a full line for an \
                 error, a broken one for a warning.";
    let mut parts = vec![glass(cartoon, view, size), leads(cartoon, view, size)];
    parts.push(numbers(cartoon, view, size));
    parts.push(rings(&ringed, view, size));
    let (list, foot) = list((title, units), cartoon, &ringed, bounds, size);
    parts.push(list);

    // Room for rings that stand on the panel's edge, and for lines that run out of it.
    let (mut left, mut right, mut top) = (3.0 * size, 3.0 * size, 3.0 * size);
    for p in ringed.iter().filter_map(|finding| finding.at) {
        let p = view.at(p);
        left = left.max(3.0 * size - p.x);
        right = right.max(p.x + 3.0 * size - bounds.width());
        top = top.max(3.0 * size - p.y);
    }
    let (width, height) = (left + bounds.width() + right, top + foot + size);
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", &format!("{}mm", mm(width))),
            ("height", &format!("{}mm", mm(height))),
            (
                "viewBox",
                &format!("{} {} {} {}", mm(-left), mm(-top), mm(width), mm(height)),
            ),
            ("font-family", "sans-serif"),
        ],
    );
    push(&mut root, worded("title", title));
    push(&mut root, worded("desc", words));
    let ground = [
        ("x", mm(-left)),
        ("y", mm(-top)),
        ("width", mm(width)),
        ("height", mm(height)),
    ];
    let mut paper = element("rect", &[("fill", "#fff")]);
    for (key, value) in &ground {
        set(&mut paper, key, value);
    }
    push(&mut root, paper);
    for part in parts {
        push(&mut root, part);
    }
    file(&root)
}

fn points(curves: &[Curve]) -> Vec<Point> {
    let start = curves.first().map(|curve| curve.at(0.0));
    start
        .into_iter()
        .chain(curves.iter().flat_map(|curve| curve.chords(CHORD_MM)))
        .collect()
}

fn path(data: &str, fill: &str, width: f64) -> Element {
    let mut path = element("path", &[("d", data), ("fill", fill), ("stroke", "#000")]);
    set(&mut path, "stroke-width", &mm(width));
    path
}

fn glass(cartoon: &Cartoon, view: View, size: f64) -> Element {
    let mut all = group("glass", "Glass", "The finished outline of every piece.");
    for cell in cartoon.cells.iter().filter(|cell| !cell.finished.is_empty()) {
        let mut outline = points(&cell.finished);
        outline.pop();
        let mut piece = path(&view.path(&outline, true, 3), "#eee", size * 0.03);
        push(&mut piece, worded("title", &format!("Piece {}", cell.number)));
        push(&mut all, piece);
    }
    all
}

fn leads(cartoon: &Cartoon, view: View, size: f64) -> Element {
    let found = &cartoon.arrangement;
    let mut all = group("leads", "Lead lines", "The lines as they were joined.");
    for edge in &found.edges {
        push(
            &mut all,
            path(&view.path(&points(&edge.curves), false, 3), "none", size * 0.1),
        );
    }
    let mut loose = group("loose", "Loose lines", "Lines that bound no piece.");
    for edge in &found.loose {
        let mut line = path(&view.path(&points(&edge.curves), false, 3), "none", size * 0.1);
        set(
            &mut line,
            "stroke-dasharray",
            &format!("{} {}", mm(size * 0.4), mm(size * 0.3)),
        );
        push(&mut loose, line);
    }
    push(&mut all, loose);
    all
}

fn numbers(cartoon: &Cartoon, view: View, size: f64) -> Element {
    let mut all = group("numbers", "Numbers and glasses", "");
    for cell in &cartoon.cells {
        let across = cell.area.sqrt();
        let letters = cell.number.chars().count().max(1) as f64;
        let high = size.min(across * 0.4).min(across * 0.9 / letters);
        let at = view.at(cell.middle);
        push(
            &mut all,
            text(
                Point {
                    y: at.y + 0.1 * high,
                    ..at
                },
                high,
                "middle",
                true,
                &cell.number,
            ),
        );
        if let Some(glass) = &cell.glass {
            let letters = glass.chars().count().max(1) as f64;
            let small = (0.7 * high).min(across * 0.9 / letters);
            let below = Point {
                x: at.x,
                y: at.y + 0.95 * high,
            };
            push(&mut all, text(below, small, "middle", false, glass));
        }
        if let Some(grain) = cell.grain {
            push(&mut all, grain_line(at, grain, high));
        }
    }
    all
}

/// A short line above the number along the grain. Arrow heads say which way a grain runs, and a drawing does not know that.
fn grain_line(at: Point, grain_deg: f64, size: f64) -> Element {
    let middle = Point {
        x: at.x,
        y: at.y - 1.3 * size,
    };
    // y runs down here.
    let along = |angle: f64, reach: f64| polar(middle, reach, -(grain_deg + angle).to_radians());
    let (from, to) = (along(180.0, 0.5 * size), along(0.0, 0.5 * size));
    let data = format!("M{} {}L{} {}", mm(from.x), mm(from.y), mm(to.x), mm(to.y));
    path(&data, "none", size * 0.07)
}

fn rings(findings: &[&DrawingFinding], view: View, size: f64) -> Element {
    let mut all = group(
        "rings",
        "Findings",
        "A ring at the place of every finding, numbered as in the list.",
    );
    for (i, finding) in findings.iter().enumerate() {
        let Some(p) = finding.at else { continue };
        let at = view.at(p);
        let radius = 1.3 * size;
        let mut ring = element("circle", &[("fill", "none"), ("stroke", "#000")]);
        for (key, value) in [("cx", at.x), ("cy", at.y), ("r", radius), ("stroke-width", 0.16 * size)] {
            set(&mut ring, key, &mm(value));
        }
        if finding.severity == Severity::Warning {
            set(
                &mut ring,
                "stroke-dasharray",
                &format!("{} {}", mm(size * 0.5), mm(size * 0.35)),
            );
        }
        push(&mut ring, worded("title", &finding.found));
        push(&mut all, ring);
        let corner = Point {
            x: at.x + 0.8 * radius,
            y: at.y - 0.8 * radius,
        };
        let mut number = text(corner, 0.9 * size, "start", true, &(i + 1).to_string());
        // A white edge keeps the number readable on lead lines.
        for (key, value) in [
            ("stroke", "#fff"),
            ("paint-order", "stroke"),
            ("stroke-width", &mm(0.25 * size)),
        ] {
            set(&mut number, key, value);
        }
        push(&mut all, number);
    }
    all
}

/// The words under the drawing, and where they end.
fn list(
    (title, units): (&str, Units),
    cartoon: &Cartoon,
    findings: &[&DrawingFinding],
    bounds: Bounds,
    size: f64,
) -> (Element, f64) {
    let across = ((bounds.width() + 4.0 * size) / (0.85 * size * LETTER)) as usize;
    let mut lines: Vec<(bool, String)> = vec![];
    let errors = cartoon
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error)
        .count();
    lines.push((
        true,
        format!(
            "{title}: {}, {}, {}, {}",
            short_size(bounds.width(), bounds.height(), 0, units),
            counted(cartoon.cells.len(), "piece"),
            counted(errors, "error"),
            counted(cartoon.findings.len() - errors, "warning")
        ),
    ));
    for (i, finding) in findings.iter().enumerate() {
        let kind = match finding.severity {
            Severity::Error => "error",
            Severity::Warning => "warning",
        };
        let said = finding.in_words("", cartoon.bounds.0, units);
        let words = format!(
            "{}  {kind}, {}: {}, expected {}. {}",
            i + 1,
            said.place,
            said.found,
            said.expected,
            said.hint
        );
        lines.extend(wrapped(&words, across.max(20)).into_iter().map(|line| (false, line)));
    }
    if cartoon.findings.len() > findings.len() {
        lines.push((false, format!("and {} more", cartoon.findings.len() - findings.len())));
    }
    let mut all = group("list", "List of findings", "");
    let mut y = bounds.height() + 4.0 * size;
    for (bold, line) in lines {
        let at = Point { x: -2.0 * size, y };
        push(
            &mut all,
            text(at, if bold { size } else { 0.85 * size }, "start", bold, &line),
        );
        y += 1.25 * size;
    }
    (all, y)
}

fn wrapped(words: &str, across: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in words.split(' ') {
        let last = lines.len() - 1;
        if !lines[last].is_empty() && lines[last].chars().count() + 1 + word.chars().count() > across {
            lines.push(format!("    {word}"));
        } else {
            if !lines[last].is_empty() {
                lines[last].push(' ');
            }
            lines[last].push_str(word);
        }
    }
    lines
}
