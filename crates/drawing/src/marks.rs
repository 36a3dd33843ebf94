//! What is written in the cells: numbers, glasses, grain.
//!
//! # Texts
//! A text is read word by word. A word that is the code of a glass gives the glass; any other word with a digit in it is the
//! piece's number. So `12 R`, or `12` above `R`, or two texts in one cell, mean the same. A word that is neither is named.
//! Where no job says which glasses there are, a word without digits is a glass, and so is one with digits that begins with a
//! letter (`CLEAR6`) if it begins with three, stands in several cells, or stands beside a word that begins with a digit: numbers
//! differ from cell to cell.
//! Pieces without a number are given the lowest numbers that are free, in reading order: rows from the top, each from the
//! left.
//!
//! # Grain marks
//! The longest straight line on the grain layer in a cell gives the direction of its grain, from its start to its end; the
//! barbs of an arrow are shorter and do not count.

mod numbers;
use numbers::{name_repeats, number_the_rest};

use crate::arrange::is_inside;
use crate::cartoon::Cell;
use crate::curve::{Curve, length};
use crate::finding::{At, Findings};
use crate::parts::{Corners, is_in};
use crate::settings::{CartoonSettings, Part, Role};
use crate::{Drawing, Segment, Text, smooth};
use cullet_geometry::Point;
use cullet_job::nearest_name;
use std::collections::{BTreeMap, BTreeSet};

/// Cells as polygons with their boxes, to find what lies in them.
struct Places {
    rings: Vec<Vec<Point>>,
    boxes: Vec<(Point, Point)>,
}

impl Places {
    fn new(cells: &[Cell]) -> Self {
        let rings: Vec<Vec<Point>> = cells
            .iter()
            .map(|cell| cell.sides.iter().flat_map(|side| side.curve.chords(0.01)).collect())
            .collect();
        let boxes = rings.iter().map(|ring| box_of(ring)).collect();
        Self { rings, boxes }
    }

    /// The cell that a point lies in; the smallest where outlines lie in each other.
    fn find(&self, p: Point) -> Option<usize> {
        (0..self.rings.len())
            .filter(|i| {
                let (low, high) = self.boxes[*i];
                p.x >= low.x && p.x <= high.x && p.y >= low.y && p.y <= high.y && is_inside(&self.rings[*i], p)
            })
            .min_by(|a, b| self.size(*a).total_cmp(&self.size(*b)))
    }

    fn size(&self, i: usize) -> f64 {
        let (low, high) = self.boxes[i];
        (high.x - low.x) * (high.y - low.y)
    }
}

fn box_of(ring: &[Point]) -> (Point, Point) {
    let first = ring.first().copied().unwrap_or(Point { x: 0.0, y: 0.0 });
    ring.iter().fold((first, first), |(low, high), p| {
        (
            Point {
                x: low.x.min(p.x),
                y: low.y.min(p.y),
            },
            Point {
                x: high.x.max(p.x),
                y: high.y.max(p.y),
            },
        )
    })
}

/// A point well inside a simple ring: of the middles of all stretches on fifteen level lines through it, the one farthest from
/// the boundary.
#[must_use]
pub(crate) fn middle(ring: &[Point]) -> Point {
    let (low, high) = box_of(ring);
    let mut best = (
        f64::NEG_INFINITY,
        Point {
            x: (low.x + high.x) / 2.0,
            y: (low.y + high.y) / 2.0,
        },
    );
    for k in 1..16 {
        let y = low.y + (high.y - low.y) * f64::from(k) / 16.0;
        let mut crossings: Vec<f64> = ring
            .iter()
            .zip(ring.iter().cycle().skip(1))
            .filter(|(a, b)| (a.y > y) != (b.y > y))
            .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let p = Point {
                x: f64::midpoint(pair[0], pair[1]),
                y,
            };
            let worth = from_boundary(ring, p);
            if worth > best.0 {
                best = (worth, p);
            }
        }
    }
    best.1
}

/// The shortest distance from a ring, mm.
fn from_boundary(ring: &[Point], p: Point) -> f64 {
    let sides = ring.iter().zip(ring.iter().cycle().skip(1));
    sides
        .map(|(a, b)| Curve::line(*a, *b).distance(p))
        .fold(f64::INFINITY, f64::min)
}

/// Reads all marks and numbers the cells; what stands `aside` belongs to what is not the panel.
pub(crate) fn read(
    drawing: &Drawing,
    settings: &CartoonSettings,
    aside: &[Corners],
    cells: &mut [Cell],
    findings: &mut Findings,
) {
    let places = Places::new(cells);
    let is_aside = |p: Point| aside.iter().any(|part| is_in(*part, p));
    let mut numbers: Vec<Vec<String>> = vec![vec![]; cells.len()];
    let (mut placed, mut beside) = (vec![], vec![]);
    for text in &drawing.texts {
        if settings.text_role(&text.layer, &text.classes) != Role::Text {
            continue;
        }
        match places.find(text.at) {
            Some(cell) => placed.push((text, cell)),
            None if is_aside(text.at) => beside.push(text),
            None => name_outside(text, findings),
        }
    }
    // Where the panel was told from others, theirs are no news.
    if settings.part == Part::default() {
        name_beside(&beside, findings);
    }
    let words = Words::of(&placed);
    for (text, cell) in &placed {
        read_text(text, settings, &words, *cell, cells, &mut numbers, findings);
    }
    read_grain(drawing, settings, &places, &is_aside, cells, findings);
    for (cell, numbers) in cells.iter_mut().zip(&numbers) {
        if let Some(first) = numbers.first() {
            cell.number.clone_from(first);
            cell.is_numbered = true;
        }
    }
    number_the_rest(cells, !drawing.texts.is_empty(), findings);
    for (cell, numbers) in cells.iter_mut().zip(&numbers) {
        if numbers.len() > 1 {
            findings.error(
                of_piece(cell),
                format!("the numbers {} in one cell", numbers.join(" and ")),
                "one number in each cell",
                "Take one out; or, if these are two pieces, draw the lead line between them.",
            );
        }
        if cell.glass.is_none() {
            cell.glass.clone_from(&settings.glass);
        }
        if cell.glass.is_none() && !settings.any_glass {
            findings.error(
                of_piece(cell),
                "a piece without glass",
                "the code of a glass in its cell",
                "Write the code into the cell, or give the panel's drawing a glass of its own.",
            );
        }
    }
    name_repeats(cells, findings);
}

fn of_piece(cell: &Cell) -> At {
    At {
        at: Some(cell.middle),
        piece: Some(cell.number.clone()),
        source: String::new(),
    }
}

fn at_text(text: &Text) -> At {
    At {
        at: Some(text.at),
        piece: None,
        source: match text.place.line {
            0 => text.place.what.clone(),
            line => format!("{}, line {line}", text.place.what),
        },
    }
}

fn name_outside(text: &Text, findings: &mut Findings) {
    let shown = text.content.split_whitespace().collect::<Vec<_>>().join(" ");
    if !shown.is_empty() {
        findings.warning(
            at_text(text),
            format!("the text \"{shown}\" outside every cell"),
            "texts inside cells",
            "Move it into its cell; or put it on a layer that is left out, if it is no mark.",
        );
    }
}

/// Texts that are named one by one of those beside the panel.
const MOST_BESIDE: usize = 5;

fn name_beside(texts: &[&Text], findings: &mut Findings) {
    let Some(first) = texts.first() else { return };
    let mut shown: Vec<String> = texts
        .iter()
        .take(MOST_BESIDE)
        .map(|text| format!("\"{}\"", text.content.split_whitespace().collect::<Vec<_>>().join(" ")))
        .collect();
    if texts.len() > MOST_BESIDE {
        shown.push(format!("and {} more", texts.len() - MOST_BESIDE));
    }
    findings.warning(
        At {
            at: None,
            ..at_text(first)
        },
        format!(
            "{} beside the panel ({})",
            if texts.len() == 1 { "a text" } else { "texts" },
            shown.join(", ")
        ),
        "numbers and glasses in its cells",
        "They are left out with what they stand in. Move them into their cells if they are marks of the panel.",
    );
}

/// The words of the cells, for telling numbers from glasses that no job names.
#[derive(Default)]
struct Words<'a> {
    /// The cells that each word stands in.
    cells: BTreeMap<&'a str, BTreeSet<usize>>,
    /// Cells with a word that begins with a digit.
    numbered: BTreeSet<usize>,
}

impl<'a> Words<'a> {
    fn of(placed: &[(&'a Text, usize)]) -> Self {
        let mut words = Self::default();
        for (text, cell) in placed {
            for word in text.content.split_whitespace() {
                words.cells.entry(word).or_default().insert(*cell);
                if word.starts_with(|c: char| c.is_ascii_digit()) {
                    words.numbered.insert(*cell);
                }
            }
        }
        words
    }

    /// Whether a word that stands in `cell` is taken for a glass.
    fn is_glass(&self, word: &str, cell: usize) -> bool {
        let letters = word.chars().take_while(|c| c.is_alphabetic()).count();
        let has_digit = word.chars().any(|c| c.is_ascii_digit());
        let recurs = self.cells.get(word).is_some_and(|cells| cells.len() > 1);
        !has_digit || letters >= 3 || (letters > 0 && (recurs || self.numbered.contains(&cell)))
    }
}

fn read_text(
    text: &Text,
    settings: &CartoonSettings,
    words: &Words,
    i: usize,
    cells: &mut [Cell],
    numbers: &mut [Vec<String>],
    findings: &mut Findings,
) {
    for word in text.content.split_whitespace() {
        let exact = settings.glasses.iter().find(|code| *code == word);
        let alike = || settings.glasses.iter().find(|code| code.eq_ignore_ascii_case(word));
        if let Some(code) = exact.or_else(alike) {
            match &cells[i].glass {
                Some(other) if other != code => findings.error(
                    at_text(text),
                    format!("the glasses {other} and {code} in one cell"),
                    "one glass in each cell",
                    "Take one out; or, if these are two pieces, draw the lead line between them.",
                ),
                _ => cells[i].glass = Some(code.clone()),
            }
        } else if settings.any_glass && words.is_glass(word, i) {
            cells[i].glass = Some(word.to_owned());
        } else if word.chars().any(|c| c.is_ascii_digit()) {
            if !numbers[i].iter().any(|n| n == word) {
                numbers[i].push(word.to_owned());
            }
        } else {
            let near = nearest_name(word, settings.glasses.iter().map(String::as_str));
            let near = near.map_or_else(String::new, |name| format!("Did you mean \"{name}\"? "));
            findings.error(
                at_text(text),
                format!("the unknown word \"{word}\""),
                "a number or the code of a glass of this job",
                &format!("{near}The glasses are: {}.", settings.glasses.join(", ")),
            );
        }
    }
}

fn read_grain(
    drawing: &Drawing,
    settings: &CartoonSettings,
    places: &Places,
    is_aside: &dyn Fn(Point) -> bool,
    cells: &mut [Cell],
    findings: &mut Findings,
) {
    let mut longest = vec![0.0; cells.len()];
    for stroke in &drawing.strokes {
        if settings.role(&stroke.layer, &stroke.classes) != Role::Grain {
            continue;
        }
        for (from, to) in stroke.segments.iter().filter_map(ends_of) {
            let size = length(to - from);
            if size < 1e-6 {
                continue;
            }
            let middle = (from + to) / 2.0;
            let Some(i) = places.find(middle) else {
                if is_aside(middle) {
                    continue;
                }
                let at = At {
                    at: Some(middle),
                    piece: None,
                    source: format!("{}, line {}", stroke.place.what, stroke.place.line),
                };
                findings.warning(
                    at,
                    "a grain mark outside every cell",
                    "grain marks inside cells",
                    "Move it into its cell.",
                );
                continue;
            };
            if size > longest[i] {
                longest[i] = size;
                let d = to - from;
                cells[i].grain = Some(round_degrees(d.y.atan2(d.x).to_degrees()));
            }
        }
    }
}

/// To a thousandth of a degree, 0 to 360.
fn round_degrees(angle: f64) -> f64 {
    ((angle * 1e3).round() / 1e3).rem_euclid(360.0)
}

fn ends_of(segment: &Segment) -> Option<(Point, Point)> {
    match segment {
        Segment::Line { from, to } => Some((*from, *to)),
        // A bent mark points from its start to its end.
        other => {
            let curves = smooth::curves(other);
            Some((curves.first()?.at(0.0), curves.last()?.at(1.0)))
        }
    }
}
