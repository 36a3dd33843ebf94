//! The job book: one page with all that a job needs, from the customer's confirmation to the labels of the pieces.
//!
//! It is one HTML file that needs nothing outside it and no script, made to be printed on A4 or Letter and to be read on a
//! telephone. Lengths are in the job's unit, inches to the nearest sixteenth. What is on other pages of the folder is not
//! repeated but for the words: the pictures of the breaks are in `sheet-N-breaks.html`.

mod measures;
mod panels;
mod pieces;
mod sheets;

use crate::caution::{self, FIGURES};
use crate::html::{STYLE, escaped, table};
use crate::tables;
use cullet_drawing::expand::PanelDrawing;
use cullet_job::Units;
use cullet_model::Plan;
use std::fmt::Write;

/// What the book is made of.
struct Book<'a> {
    plan: &'a Plan,
    /// Its sheet maps, in its order.
    maps: &'a [String],
    /// What was found in the job and its drawings.
    warnings: &'a [String],
    /// The drawings that panels came from; panels whose outlines the job gives have none.
    drawings: &'a [PanelDrawing],
}

impl Book<'_> {
    /// The drawing of a panel, where it came from one whose lead lines are there.
    fn drawing(&self, panel: &str) -> Option<&PanelDrawing> {
        let drawn = |d: &&PanelDrawing| d.panel == panel && !d.cartoon.arrangement.faces.is_empty();
        self.drawings.iter().find(drawn)
    }
}

/// The parts of the book: the name of each, its heading and what it holds.
type Part = (&'static str, &'static str, fn(&Book) -> String);

const PARTS: [Part; 9] = [
    ("confirm", "Confirmation", panels::confirmation),
    ("figures", "The job and its figures", |book| figures(book.plan)),
    ("pull", "Glass to pull and to buy", |book| sheets::pull_list(book.plan)),
    ("sheets", "Sheets and their breaks", |book| {
        sheets::maps(book.plan, book.maps)
    }),
    ("pieces", "Pieces", |book| pieces::lists(book.plan)),
    ("leads", "Leads", measures::leads),
    ("measures", "Measurements to check while leading up", measures::measures),
    ("findings", "Findings and cautions", findings),
    ("labels", "Labels for the pieces", |book| pieces::labels(book.plan)),
];

/// The book of a plan. `maps` are its sheet maps as [`crate::sheet_map::draw`] draws them, in the plan's order; `warnings` are what was found in the job and its drawings, for the findings; `drawings` are what its panels
/// were drawn as, for their look, sizes and leads: empty where the job gives outlines. The same plan gives the same text.
///
/// Cost O(breaks × corners in hand) for the words of the breaks.
#[must_use]
pub fn page(plan: &Plan, maps: &[String], warnings: &[String], drawings: &[PanelDrawing]) -> String {
    let book = Book {
        plan,
        maps,
        warnings,
        drawings,
    };
    let title = escaped(&format!("{}: job book", plan.job.name));
    let mut page = format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/><title>{title}</title>\n<style>{STYLE}</style></head>\n\
         <body><a class=\"skip\" href=\"#confirm\">To the confirmation</a>\n<h1>{}</h1>\n<nav aria-label=\"Contents\"><ul>",
        escaped(&plan.job.name)
    );
    for (id, heading, _) in PARTS {
        let _ = write!(page, "<li><a href=\"#{id}\">{heading}</a></li>");
    }
    page.push_str("</ul></nav>\n<main>\n");
    for (id, heading, part) in PARTS {
        let _ = writeln!(
            page,
            "<section id=\"{id}\"><h2>{heading}</h2>\n{}</section>",
            part(&book)
        );
    }
    page.push_str("</main></body></html>\n");
    page
}

fn figures(plan: &Plan) -> String {
    let (mut rows, _) = tables::yield_rows(plan, plan.job.units);
    let units = rows.remove(1);
    let names = rows.remove(0);
    let head = |c: usize| {
        let mark = if c < tables::NAMES { "" } else { "#" };
        match units[c].as_str() {
            "" => format!("{mark}{}", names[c]),
            unit => format!("{mark}{}, {}", names[c], escaped(unit)),
        }
    };
    // All columns side by side are wider than a sheet of paper.
    let part = |caption: &str, figures: std::ops::Range<usize>| {
        let columns: Vec<usize> = (0..tables::NAMES).chain(figures).collect();
        let heads: Vec<String> = columns.iter().map(|c| head(*c)).collect();
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let rows: Vec<Vec<String>> = rows
            .iter()
            .map(|row| columns.iter().map(|c| row[*c].clone()).collect())
            .collect();
        table(caption, &heads, &rows)
    };
    let mut page = String::from("<p>");
    page += &format!("{FIGURES} Yield = used ÷ (pulled − returned).</p>\n");
    page += &part("Yield, sheet by sheet", tables::NAMES..tables::WEIGHT);
    page += &part("Weight and cost, sheet by sheet", tables::WEIGHT..names.len());
    for line in (tables::ways_text(plan) + &tables::lost_text(plan)).lines() {
        let _ = writeln!(page, "<p>{}</p>", escaped(line));
    }
    page
}

fn findings(book: &Book) -> String {
    let (plan, warnings) = (book.plan, book.warnings);
    let mut text = String::new();
    if plan.unplaced.is_empty() && plan.spares_left_out.is_empty() {
        text.push_str("<p>Every piece is placed.</p>\n");
    }
    if !plan.unplaced.is_empty() {
        text.push_str("<h3>Not placed</h3><ul>");
        for unplaced in &plan.unplaced {
            let name = pieces::name(&unplaced.id);
            let _ = write!(
                text,
                "<li>{} of {name}: {}</li>",
                unplaced.count,
                escaped(&unplaced.reason)
            );
        }
        text.push_str("</ul>\n");
    }
    if !plan.spares_left_out.is_empty() {
        text.push_str("<h3>Spares that do not fit on the glass pulled</h3><ul>");
        for spare in &plan.spares_left_out {
            let _ = write!(text, "<li>{} of {}</li>", spare.count, pieces::name(&spare.id));
        }
        text.push_str("</ul>\n");
    }
    if !warnings.is_empty() {
        text.push_str("<h3>To look at</h3><ul>");
        for warning in warnings {
            let _ = write!(text, "<li>{}</li>", escaped(warning));
        }
        text.push_str("</ul>\n");
    }
    text += &cautions(book.plan.job.units);
    text
}

fn cautions(units: Units) -> String {
    format!(
        "<div class=\"caution\"><h3>Cautions</h3><ul>\
<li>{sharp}; never try to catch falling glass. Grind wet, never sweep dry.</li>\
<li>{heavy}</li>\
<li>{lead}</li>\
<li>Safety glazing: glass in and beside doors, in wet areas, in large panes near the floor and at stairs may have to be safety glass. \
Local code and the authority having jurisdiction decide; ask before the glass is cut.</li>\
<li>Scored or bevelled glass cannot be toughened afterwards; toughened or heat-strengthened glass and insulating units cannot be cut.</li>\
<li>{structure}</li>\
</ul></div>\n",
        sharp = caution::SHARP,
        heavy = caution::heavy(units),
        lead = caution::LEAD,
        structure = caution::STRUCTURE,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::varied;
    use cullet_job::{FaceFile, GrainFile, Units};

    /// Read as XML, so that every element is closed and every name escaped.
    fn read(page: &str) -> Vec<String> {
        let body = page.trim_start_matches("<!DOCTYPE html>\n");
        let document = roxmltree::Document::parse(body).unwrap();
        let cells = document.descendants().filter(|n| n.is_element());
        cells.filter_map(|n| n.text().map(str::to_owned)).collect()
    }

    #[test]
    fn every_part_and_every_piece_is_there() {
        for units in [Units::Millimetres, Units::Inches] {
            let mut plan = varied(GrainFile::TwoWays, FaceFile::Back);
            plan.job.units = units;
            plan.job.name = "<Nave> & \"aisle\"".into();
            let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
            let maps: Vec<String> = layouts.map(|layout| crate::sheet_map::draw(&plan, layout)).collect();
            let page = page(&plan, &maps, &["a bevel of 14\u{b0}".to_owned()], &[]);
            let words = read(&page);
            assert!(words.iter().any(|w| w.contains("bevel of 14")));
            // Every name once, and every link leads to one.
            let mut ids: Vec<&str> = page
                .split(" id=\"")
                .skip(1)
                .filter_map(|t| t.split('"').next())
                .collect();
            let links: Vec<&str> = page
                .split("href=\"#")
                .skip(1)
                .filter_map(|t| t.split('"').next())
                .collect();
            assert!(links.iter().all(|link| ids.contains(link)), "{links:?}");
            let all = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), all);
            for (_, heading, _) in PARTS {
                assert!(words.iter().any(|w| w == heading), "{heading}");
            }
            for piece in &plan.pieces {
                assert!(words.contains(&piece.id.number), "piece {}", piece.id.number);
            }
            let placed: usize = plan
                .glasses
                .iter()
                .flat_map(|g| &g.layouts)
                .map(|l| l.placements.len())
                .sum();
            let (_, labels) = page.split_once("<ul class=\"labels\">").unwrap();
            assert_eq!(labels.matches("<li>").count(), placed);
            assert!(!page.contains("NaN") && !page.contains("<script"));
            // No address but the one that names the SVG standard.
            assert_eq!(
                page.matches("http").count(),
                page.matches("http://www.w3.org/2000/svg").count()
            );
        }
    }
}
