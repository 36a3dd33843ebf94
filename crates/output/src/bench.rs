//! The breaks of a sheet one by one, for the bench: a table of all sheets, and a page with a small picture of every break.
//!
//! # What a picture shows
//! The part in hand, seen from the show face as on the sheet map; the scores to be opened, bold; what comes off, shaded; what
//! stays on the bench, white. The words say it too, so nothing hangs on colour.
//!
//! # Words
//! The table numbers the parts: 0 is the sheet, each break makes new ones. Sentences name a part by the pieces in it, since a number would
//! be taken for that of a piece. A break of two points is a straight run, any other a curve. Cullet comes off in one; nibbled waste is
//! taken off bit by bit with pliers.

mod words;

use self::words::{Parts, name};
use crate::caution;
use crate::drawing::{View, element, push, set, text};
use crate::html::escaped;
use crate::number::{fixed, mm};
use crate::source::{self, Placed};
use crate::tables::{TableError, signs};
use crate::words::one_line;
use cullet_breakout::{Outcome, Step, Taken};
use cullet_geometry::{Bounds, Point};
use cullet_job::counted;
use cullet_job::measure::lengths;
use cullet_model::{Layout, Plan};
use cullet_rack::Signs;
use std::fmt::Write;
use svg::node::element::Element;

/// Width of a picture, in pixels; its height follows, at most as much.
const PICTURE: f64 = 230.0;

/// A row a break: sheet map, number of the break, part in hand, length, straight or curved, and what lies on either side.
///
/// # Errors
/// [`TableError`] where a length is not a number or the table cannot be written.
pub fn breaking_csv(plan: &Plan, signs: Signs) -> Result<String, TableError> {
    let mut table = signs::writer(signs);
    let scale = lengths(plan.job.units);
    let column = format!("length_{}", scale.code);
    // A tenth of a millimetre, or three thousandths of an inch.
    let decimals = if scale.one > 1.0 { 3 } else { 1 };
    table.write_record([
        "sheet_map",
        "break",
        "part_in_hand",
        "score",
        &column,
        "left",
        "left_is",
        "right",
        "right_is",
    ])?;
    for layout in plan.glasses.iter().flat_map(|g| &g.layouts) {
        let placed = source::placed(plan, layout);
        for (k, step) in layout.breaking.steps.iter().enumerate() {
            let length = length(step);
            if !length.is_finite() {
                return Err(TableError::NotANumber {
                    place: format!("sheet map {}, break {}", layout.number, k + 1),
                    column,
                    value: length,
                });
            }
            let (left, right) = (name(step.left, layout, &placed), name(step.right, layout, &placed));
            table.write_record([
                layout.number.to_string(),
                (k + 1).to_string(),
                step.part.to_string(),
                shape(step).to_owned(),
                signs::number(fixed(length / scale.one, decimals), signs),
                left,
                kind(step.left).to_owned(),
                right,
                kind(step.right).to_owned(),
            ])?;
        }
    }
    signs::text(table, signs)
}

/// A page with a picture of every break of one sheet: HTML, nothing outside it is needed. Cost O(breaks × corners in hand).
#[must_use]
pub fn page(plan: &Plan, layout: &Layout) -> String {
    page_for_table(plan, layout, None)
}

/// The same with a sentence on what the scores come to on the cutting table.
#[must_use]
pub fn page_for_table(plan: &Plan, layout: &Layout, on_table: Option<&str>) -> String {
    let placed = source::placed(plan, layout);
    let taken = layout.breaking.taken(&layout.stock.outline);
    let parts = Parts::of(layout, &placed, &taken);
    let title = format!(
        "{}: breaks of sheet map {} of {}",
        plan.job.name,
        layout.number,
        source::map_count(plan)
    );
    let face = if source::scored_on_show_face(plan, layout) {
        "Pictures are seen from the show face, which is the scored face."
    } else {
        "Pictures are seen from the show face, as on the sheet map. The back is scored: turn the picture over left to right for \
         the glass as it lies scored face up."
    };
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/><title>{t}</title>\n<style>{STYLE}</style></head>\n\
         <body><h1>{t}</h1>\n<p>{tag}, {n}, {k}. {face} Bold: the score to open. Shaded: what comes off. White: what \
         stays in hand. Score soon, break soon: open each score before the next one that meets it.{on_table}</p>\n\
         <p class=\"c\">{sharp}; never try to catch falling glass. {heavy}</p>\n<ol>\n",
        t = escaped(&title),
        tag = escaped(&source::stock_tag(layout)),
        n = counted(layout.placements.len(), "piece"),
        k = counted(layout.breaking.steps.len(), "break"),
        on_table = on_table.map_or_else(String::new, |words| format!(" {}", escaped(words))),
        sharp = caution::SHARP,
        heavy = caution::heavy(plan.job.units),
    );
    for (step, taken) in layout.breaking.steps.iter().zip(&taken) {
        let words = parts.words(step, plan.job.units);
        let held: Vec<&Placed<'_>> = parts.inside(step.part).iter().map(|k| &placed[*k]).collect();
        let _ = writeln!(
            page,
            "<li><p>{}</p>{}</li>",
            escaped(&words),
            picture(step, taken, &held, &words)
        );
    }
    page.push_str("</ol></body></html>\n");
    page
}

/// What each break of a layout does, in a sentence each.
pub(crate) fn steps(plan: &Plan, layout: &Layout) -> Vec<String> {
    let placed = source::placed(plan, layout);
    let taken = layout.breaking.taken(&layout.stock.outline);
    let parts = Parts::of(layout, &placed, &taken);
    let steps = layout.breaking.steps.iter();
    steps.map(|step| parts.words(step, plan.job.units)).collect()
}

/// One break, for whoever draws it otherwise than the page does.
#[derive(Debug, Clone, PartialEq)]
pub struct Break {
    /// What is done, in a sentence.
    pub words: String,
    /// The part in hand, mm in the sheet's frame, seen from the show face.
    pub hand: Vec<Point>,
    /// What comes off.
    pub off: Vec<Point>,
    /// The scores that are opened.
    pub score: Vec<Point>,
    /// Pieces still in the part in hand, by their places among the layout's placements.
    pub inside: Vec<usize>,
    /// Pieces that this break sets free.
    pub free: Vec<usize>,
}

/// The breaks of a layout in their order. Cost O(breaks × pieces × corners in hand).
#[must_use]
pub fn breaks(plan: &Plan, layout: &Layout) -> Vec<Break> {
    let placed = source::placed(plan, layout);
    let taken = layout.breaking.taken(&layout.stock.outline);
    let parts = Parts::of(layout, &placed, &taken);
    let steps = layout.breaking.steps.iter().zip(taken);
    let made = steps.map(|(step, taken)| Break {
        words: parts.words(step, plan.job.units),
        off: if comes_off_left(step) { taken.left } else { taken.right },
        inside: parts.inside(step.part).to_vec(),
        free: [step.left, step.right]
            .into_iter()
            .filter_map(|outcome| match outcome {
                Outcome::Piece(k) => Some(k),
                _ => None,
            })
            .collect(),
        hand: taken.hand,
        score: step.chain.clone(),
    });
    made.collect()
}

const STYLE: &str = "body{font-family:sans-serif;margin:1em;color:#000;background:#fff}h1{font-size:1.2em}\
ol{display:grid;grid-template-columns:repeat(auto-fill,minmax(250px,1fr));gap:.6em;padding:0;list-style:none;counter-reset:b}\
li{counter-increment:b;border:1px solid #888;padding:.5em;break-inside:avoid}\
li p{margin:0 0 .4em;font-size:.85em;min-height:3.2em}li p::before{content:counter(b) '. ';font-weight:bold}.c{font-weight:bold}\
svg{display:block;max-width:100%}";

/// Waste, offcuts and pieces come off; of two parts the right one is called off.
fn off_and_stays(step: &Step) -> (Outcome, Outcome) {
    if comes_off_left(step) {
        (step.left, step.right)
    } else {
        (step.right, step.left)
    }
}

fn comes_off_left(step: &Step) -> bool {
    let rank = |outcome: Outcome| match outcome {
        Outcome::Nibbled | Outcome::Cullet => 3,
        Outcome::Offcut(_) => 2,
        Outcome::Piece(_) => 1,
        Outcome::Part(_) => 0,
    };
    rank(step.left) > rank(step.right)
}

fn picture(step: &Step, taken: &Taken, held: &[&Placed<'_>], words: &str) -> Element {
    let bounds = around(&taken.hand);
    let view = View::from_front(bounds);
    let (width, height) = (bounds.width().max(1.0), bounds.height().max(1.0));
    let unit = width.max(height) / PICTURE;
    let edge = 6.0 * unit;
    let decimals = if unit > 0.5 { 1 } else { 2 };
    let shape = |points: &[Point], closed: bool, fill: &str, stroke: f64| {
        let mut shape = element("path", &[("d", &view.path(points, closed, decimals)), ("fill", fill)]);
        if stroke > 0.0 {
            set(&mut shape, "stroke", "#000");
            set(&mut shape, "stroke-width", &mm(stroke * unit));
        }
        shape
    };
    let view_box = [-edge, -edge, width + 2.0 * edge, height + 2.0 * edge]
        .map(mm)
        .join(" ");
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("role", "img"),
            ("aria-label", &one_line(words)),
            ("width", &mm(width / unit + 12.0)),
            ("height", &mm(height / unit + 12.0)),
            ("viewBox", &view_box),
        ],
    );
    let off = if comes_off_left(step) {
        &taken.left
    } else {
        &taken.right
    };
    push(&mut root, shape(&taken.hand, true, "#fff", 1.0));
    push(&mut root, shape(off, true, "#bbb", 0.0));
    // Pieces still inside, thin, with their numbers where there is room.
    for piece in held {
        push(&mut root, shape(piece.cut.points(), true, "none", 0.4));
        let bounds = piece.cut.bounds();
        let number = &piece.placement.id.number;
        let size = (12.0 * unit)
            .min(bounds.width() / (0.7 * number.chars().count() as f64))
            .min(bounds.height() * 0.8);
        if size >= 7.0 * unit {
            let mut at = view.at(piece.cut.inner_point());
            at.y += 0.35 * size;
            push(&mut root, text(at, size, "middle", false, number));
        }
    }
    let mut score = shape(&step.chain, false, "none", 3.0);
    set(&mut score, "stroke-linejoin", "round");
    push(&mut root, score);
    root
}

/// The box round the points.
fn around(points: &[Point]) -> Bounds {
    let start = points.first().copied().unwrap_or(Point { x: 0.0, y: 0.0 });
    let start = Bounds { min: start, max: start };
    points.iter().fold(start, |b, p| Bounds {
        min: Point {
            x: b.min.x.min(p.x),
            y: b.min.y.min(p.y),
        },
        max: Point {
            x: b.max.x.max(p.x),
            y: b.max.y.max(p.y),
        },
    })
}

fn length(step: &Step) -> f64 {
    step.chain
        .windows(2)
        .map(|w| (w[1].x - w[0].x).hypot(w[1].y - w[0].y))
        .sum()
}

fn shape(step: &Step) -> &'static str {
    if step.chain.len() == 2 { "straight" } else { "curved" }
}

fn kind(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Part(_) => "part",
        Outcome::Piece(_) => "piece",
        Outcome::Offcut(_) => "offcut",
        Outcome::Cullet => "cullet",
        Outcome::Nibbled => "nibbled",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, varied};
    use cullet_job::{FaceFile, GrainFile};

    #[test]
    fn a_row_and_a_picture_for_every_break() {
        let sizes = [(120.0, 80.0), (90.0, 80.0), (200.0, 60.0)];
        let sheet = sample::rows((600.0, 400.0), &sizes, 6.0);
        let plan = sample::plan(GrainFile::None, FaceFile::Back, vec![sheet]);
        let all: usize = plan.glasses[0].layouts.iter().map(|l| l.breaking.steps.len()).sum();
        assert!(all >= 6, "{all} breaks");
        let table = breaking_csv(&plan, Signs::Points).unwrap();
        assert_eq!(table.lines().count(), all + 1);
        for layout in &plan.glasses[0].layouts {
            let page = page(&plan, layout);
            assert_eq!(page.matches("<svg").count(), layout.breaking.steps.len());
            assert!(page.contains("gloves") && page.contains("The back is scored"));
            assert!(!page.contains("NaN"));
            // Nothing outside the page is needed: the only address in it names the SVG standard.
            assert_eq!(
                page.matches("http").count(),
                page.matches("http://www.w3.org/2000/svg").count()
            );
            for piece in source::placed(&plan, layout) {
                assert_eq!(
                    table.matches(&piece.words()).count(),
                    table.lines().filter(|l| l.contains(&piece.words())).count()
                );
            }
        }
    }

    #[test]
    fn user_words_are_escaped() {
        let mut plan = varied(GrainFile::None, FaceFile::Show);
        plan.job.name = "<b>Nave & aisle</b>".to_owned();
        let page = page(&plan, &plan.glasses[0].layouts[0]);
        assert!(page.contains("&lt;b&gt;Nave &amp; aisle") && !page.contains("<b>"));
    }
}
