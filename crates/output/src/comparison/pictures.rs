//! The sheets of every choice side by side at one scale.

use super::letter;
use crate::drawing::{View, element, push, set};
use crate::html::escaped;
use crate::number::{fixed, mm, plain};
use crate::source;
use cullet_geometry::Outline;
use cullet_model::{Layout, Plan};
use cullet_planner::compare::Outcome;
use std::fmt::Write;
use svg::node::element::Element;

/// Widest picture of a sheet on the page, mm.
const WIDEST: f64 = 55.0;
/// Scales that pictures may have.
const SCALES: [f64; 7] = [5.0, 10.0, 20.0, 25.0, 40.0, 50.0, 100.0];
/// Fills and edges as on the sheet maps: cullet is hatched, pieces are outlined, what is kept has a heavy edge.
const CULLET: &str = "url(#cullet-hatching)";
const GLASS: &str = "#ffffff";
const HEAVY: f64 = 2.5;

/// The hatching of all pictures: lines 1.5 mm apart on the page.
fn hatching(scale: f64) -> String {
    let apart = mm(1.5 * scale);
    let half = mm(0.75 * scale);
    let width = mm(0.15 * scale);
    format!(
        "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\"><defs><pattern id=\"cullet-hatching\" \
         patternUnits=\"userSpaceOnUse\" width=\"{apart}\" height=\"{apart}\" patternTransform=\"rotate(45)\"><path d=\"M{half} 0V{apart}\" \
         stroke=\"#777\" stroke-width=\"{width}\"/></pattern></defs></svg>\n"
    )
}

/// A column a choice, a picture a sheet.
pub(super) fn side_by_side(outcomes: &[Outcome]) -> String {
    let layouts = || outcomes.iter().flat_map(|o| &o.plan.glasses).flat_map(|g| &g.layouts);
    let widest = layouts().map(|l| l.stock.outline.bounds().width()).fold(0.0, f64::max);
    let scale = SCALES.into_iter().find(|by| widest / by <= WIDEST).unwrap_or(200.0);
    let mut page = format!(
        "<h2>The sheets</h2>\n<p>Scale 1 : {} when printed at 100 %. As on the sheet maps: pieces are outlined, what is kept has a \
         heavy edge, cullet is hatched.</p>\n{}<div class=\"choices\" tabindex=\"0\" role=\"group\" \
         aria-label=\"The sheets of every choice\">\n",
        plain(scale, 0),
        hatching(scale)
    );
    for (k, outcome) in outcomes.iter().enumerate() {
        let _ = writeln!(page, "<section><h3>{}</h3>", letter(k));
        for layout in outcome.plan.glasses.iter().flat_map(|g| &g.layouts) {
            let words = format!(
                "{} {}, yield {} %",
                layout.stock.glass,
                source::stock_tag(layout),
                fixed(layout.figures.yield_share() * 100.0, 0)
            );
            let _ = writeln!(
                page,
                "<figure>{}<figcaption>{}</figcaption></figure>",
                picture(&outcome.plan, layout, scale, &words),
                escaped(&words)
            );
        }
        page.push_str("</section>\n");
    }
    page.push_str("</div>\n");
    page
}

fn picture(plan: &Plan, layout: &Layout, scale: f64, words: &str) -> Element {
    let bounds = layout.stock.outline.bounds();
    let view = View::from_front(bounds);
    // Half a heavy line on the page stands out on every side.
    let thin = 0.25 * scale;
    let line = HEAVY * thin;
    let box_of = [-line, -line, bounds.width() + 2.0 * line, bounds.height() + 2.0 * line].map(mm);
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("role", "img"),
            ("aria-label", words),
            ("width", &format!("{}mm", mm((bounds.width() + 2.0 * line) / scale))),
            ("viewBox", &box_of.join(" ")),
        ],
    );
    let mut shape = |outline: &Outline, fill: &str, width: f64| {
        let path = view.path(outline.points(), true, 1);
        let mut shape = element("path", &[("d", &path), ("fill", fill), ("stroke", "#222")]);
        set(&mut shape, "stroke-width", &mm(width));
        push(&mut root, shape);
    };
    shape(&layout.stock.outline, CULLET, thin);
    for placed in source::placed(plan, layout) {
        shape(&placed.cut, GLASS, thin);
    }
    layout.returned.iter().for_each(|back| shape(back, GLASS, line));
    root
}
