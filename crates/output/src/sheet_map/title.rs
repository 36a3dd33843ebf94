//! The title block under the sheet: what glass to pull, what comes of it, which face is up, what to mind.

use super::block::CAPITAL;
use super::grain::Arrow;
use super::page::Page;
use crate::caution::SHARP;
use crate::drawing::{element, group, line, push, set, text};
use crate::measure::{area, heavy, short, short_size};
use crate::number::{fixed, mm};
use crate::source::{self, stock_tag};
use crate::words::{fitted, width_em};
use cullet_geometry::{Bounds, Outline, Point};
use cullet_job::GrainFile;
use cullet_model::{Layout, Placement, Plan, Style};
use cullet_rack::StockKind;
use cullet_trade::TWO_PEOPLE_KG;
use svg::node::element::Element;

/// What the list beside the title says of a letter on the map.
pub(super) struct Keyed {
    pub(super) letter: String,
    pub(super) words: String,
}

/// A pen that goes down the block.
struct Pen<'a> {
    page: &'a Page,
    y: f64,
    block: Element,
}

impl Pen<'_> {
    fn width(&self) -> f64 {
        self.page.text_right() - self.page.text_left()
    }

    fn down(&mut self, sizes: f64) {
        self.y += sizes * self.page.size;
    }

    fn rule(&mut self) {
        let (left, right) = (self.page.text_left(), self.page.text_right());
        let mut rule = line(Point { x: left, y: self.y }, Point { x: right, y: self.y });
        set(&mut rule, "stroke", "#000");
        set(&mut rule, "stroke-width", &mm(self.page.size * 0.06));
        push(&mut self.block, rule);
    }

    /// Words at `x` on the line of the pen, cut to `room` mm.
    fn put(&mut self, x: f64, room: f64, sizes: f64, bold: bool, words: &str) {
        let size = sizes * self.page.size;
        let words = fitted(words, bold, room / size);
        let at = Point { x, y: self.y };
        push(&mut self.block, text(at, size, "start", bold, &words));
    }

    /// A line of words, broken where it is longer than the block; `sizes` against the page's.
    fn lines(&mut self, sizes: f64, bold: bool, words: &str) {
        let room = self.width();
        let mut rest = words.split(' ').peekable();
        while rest.peek().is_some() {
            let mut row = String::new();
            while let Some(word) = rest.peek() {
                let longer = if row.is_empty() {
                    (*word).to_owned()
                } else {
                    format!("{row} {word}")
                };
                if !row.is_empty() && width_em(&longer, bold) * sizes * self.page.size > room {
                    break;
                }
                row = longer;
                rest.next();
            }
            self.down(sizes * 1.4);
            self.put(self.page.text_left(), room, sizes, bold, &row);
        }
    }

    /// Named values side by side: the name small above the value; shares of the block's width.
    fn fields(&mut self, fields: &[(f64, &str, String)], value_sizes: f64, bold: bool) {
        self.down(1.3);
        let (mut x, width) = (self.page.text_left(), self.width());
        let top = self.y;
        for (share, name, value) in fields {
            let room = width * share - 0.8 * self.page.size;
            self.y = top;
            self.put(x, room, 0.8, false, name);
            self.down(0.55 + value_sizes * CAPITAL);
            self.put(x, room, value_sizes, bold, value);
            x += width * share;
        }
        self.down(0.3);
    }
}

/// The block with its upper edge at `top`, and where it ends; `on_table` is what the scores come to there.
pub(super) fn draw(
    plan: &Plan,
    layout: &Layout,
    page: &Page,
    (top, on_table): (f64, Option<&str>),
    keyed: &[Keyed],
) -> (Element, f64) {
    let block = group("title", "Title block", "");
    let mut pen = Pen { page, y: top, block };
    pen.rule();
    names(&mut pen, plan, layout);
    pen.rule();
    glass(&mut pen, plan, layout);
    figures(&mut pen, plan, layout);
    pen.rule();
    let faces = faces_in_words(plan, layout);
    pen.down(0.15);
    pen.lines(0.9, false, &faces);
    if let Some(words) = on_table {
        pen.lines(0.9, false, words);
    }
    pen.lines(0.9, true, &cautions(layout));
    pen.down(0.55);
    pen.rule();
    legend(&mut pen, plan, layout);
    if !keyed.is_empty() {
        key_list(&mut pen, keyed);
    }
    (pen.block, pen.y + 0.9 * page.size)
}

fn names(pen: &mut Pen<'_>, plan: &Plan, layout: &Layout) {
    let count = format!("sheet map {} of {}", layout.number, source::map_count(plan));
    let size = 1.2;
    let count_width = width_em(&count, true) * size * pen.page.size;
    pen.down(1.75);
    let (left, room) = (pen.page.text_left(), pen.width() - count_width - pen.page.size);
    pen.put(left, room, 1.4, true, &plan.job.name);
    let at = Point {
        x: pen.page.text_right(),
        y: pen.y,
    };
    push(&mut pen.block, text(at, size * pen.page.size, "end", true, &count));
    pen.down(0.6);
}

fn glass(pen: &mut Pen<'_>, plan: &Plan, layout: &Layout) {
    let (stock, units) = (&layout.stock, plan.job.units);
    let glass = source::glass(plan, layout);
    let name = glass.map_or_else(
        || stock.glass.clone(),
        |g| {
            let thickness = short(source::thickness_mm(plan, g), 2, units);
            match g.name == g.code {
                true => format!("{}, {thickness}", g.code),
                false => format!("{} {}, {thickness}", g.code, g.name),
            }
        },
    );
    let kind = match stock.kind {
        StockKind::Sheet => "sheet",
        StockKind::Offcut => "offcut",
    };
    let or_dash = |words: &str| {
        if words.trim().is_empty() {
            "–".to_owned()
        } else {
            words.to_owned()
        }
    };
    let box_size = stock.outline.bounds();
    let size = short_size(box_size.width(), box_size.height(), 1, units);
    let kg = layout.figures.pulled_kg;
    let weight = if kg > TWO_PEOPLE_KG {
        format!("{}: two people", heavy(kg, units))
    } else {
        heavy(kg, units)
    };
    let top_row = [
        (0.46, "glass", name),
        (0.22, kind, stock_tag(layout)),
        (0.16, "place", or_dash(&stock.place)),
        (0.16, "lot", or_dash(stock.lot.as_deref().unwrap_or(""))),
    ];
    pen.fields(&top_row, 1.05, true);
    let second_row = [
        (0.25, "size", size),
        (0.25, "weight", weight),
        (0.16, "pieces", layout.placements.len().to_string()),
        (0.17, "between pieces", short(layout.clearance, 2, units)),
        (0.17, "edge trim", short(layout.edge_trim, 2, units)),
    ];
    pen.fields(&second_row, 1.0, false);
}

fn figures(pen: &mut Pen<'_>, plan: &Plan, layout: &Layout) {
    let f = &layout.figures;
    let area = |mm2: f64| area(mm2, plan.job.units);
    let row = [
        (0.21, "pulled", area(f.pulled)),
        (0.21, "used", area(f.used)),
        (0.21, "returned", area(f.returned)),
        (0.21, "cullet", area(f.cullet)),
        (0.16, "yield", format!("{} %", fixed(f.yield_share() * 100.0, 1))),
    ];
    pen.fields(&row, 1.0, true);
    pen.down(0.3);
}

/// Which face is up on this map, and how the glass lies on the table.
pub(super) fn faces_in_words(plan: &Plan, layout: &Layout) -> String {
    if source::scored_on_show_face(plan, layout) {
        "Show face up. Scored on the show face: on the table the glass lies as drawn here.".to_owned()
    } else {
        format!(
            "Show face up. Scored on the back: on the table the glass lies show face down, mirrored left to right from this map, as in sheet-{}-scores.svg.",
            layout.number
        )
    }
}

fn cautions(layout: &Layout) -> String {
    let lift = if layout.figures.pulled_kg > TWO_PEOPLE_KG {
        "Two people to lift this sheet. "
    } else {
        ""
    };
    format!("{lift}{SHARP}; never try to catch falling glass.")
}

/// What the marks mean; only those on this map.
fn legend(pen: &mut Pen<'_>, plan: &Plan, layout: &Layout) {
    pen.down(1.3);
    let mut x = pen.page.text_left();
    let swatch = |pen: &mut Pen<'_>, x: &mut f64, style: &[(&str, &str)], width: f64, words: &str| {
        let size = pen.page.size;
        let needs = (2.1 + width_em(words, false) * 0.85 + 1.2) * size;
        if *x + needs - 1.2 * size > pen.page.text_right() {
            *x = pen.page.text_left();
            pen.down(1.35);
        }
        let mut mark = element("rect", style);
        for (key, value) in [
            ("x", *x),
            ("y", pen.y - 0.75 * size),
            ("width", 1.6 * size),
            ("height", 0.85 * size),
        ] {
            set(&mut mark, key, &mm(value));
        }
        set(&mut mark, "stroke-width", &mm(width * size));
        push(&mut pen.block, mark);
        let room = needs;
        pen.put(*x + 2.1 * size, room, 0.85, false, words);
        *x += needs;
    };
    let plain_box = [("fill", "#fff"), ("stroke", "#000")];
    swatch(pen, &mut x, &plain_box, 0.08, "piece, as scored");
    let hatched = [("fill", "url(#cullet-hatching)"), ("stroke", "#999")];
    swatch(pen, &mut x, &hatched, 0.04, "cullet");
    if !layout.returned.is_empty() {
        swatch(pen, &mut x, &plain_box, 0.2, "keep: back to the rack");
    }
    if !layout.stock.flaws.is_empty() {
        let flawed = [("fill", "url(#flaw-hatching)"), ("stroke", "#000")];
        swatch(pen, &mut x, &flawed, 0.09, "flaw");
    }
    if layout.edge_trim > 0.0 {
        let dash = format!("{} {}", mm(pen.page.size * 0.4), mm(pen.page.size * 0.3));
        let dashed = [
            ("fill", "none"),
            ("stroke", "#000"),
            ("stroke-dasharray", dash.as_str()),
        ];
        swatch(pen, &mut x, &dashed, 0.05, "edge trim");
    }
    let words = marks_in_words(plan, layout);
    if !words.is_empty() {
        pen.lines(0.85, false, &words);
    }
}

fn marks_in_words(plan: &Plan, layout: &Layout) -> String {
    let mut words = vec!["dotted, numbered = breaks in their order; see the breaks page"];
    match source::grain(plan, layout) {
        GrainFile::None => {}
        GrainFile::TwoWays => words.push("arrow with two heads = along the grain, either way"),
        GrainFile::OneWay => words.push("arrow = along the grain, one way only"),
    }
    let placements = &layout.placements;
    if placements.iter().any(|p| p.id.mirrored) {
        words.push("m = piece of the mirrored panel");
    }
    if placements.iter().any(|p| p.pose.turned_over) {
        words.push("face down = lies turned over, show face down");
    }
    if share_lead_lines(plan, layout) {
        words.push("a line between two pieces that lie as in the window = one score for both; a little more than the allowance is ground off there");
    }
    if placements.iter().any(|p| p.spare) {
        words.push("spare = in addition, against breakage");
    }
    words.join("; ")
}

/// Whether neighbours share a score though something is left between their cut outlines.
fn share_lead_lines(plan: &Plan, layout: &Layout) -> bool {
    if layout.style != Style::Shaped {
        return false;
    }
    let kerf = plan.job.settings.score_kerf;
    let (least, most) = (kerf + 0.05, kerf + 1.0);
    let cut = |p: &Placement| Some(plan.pieces.iter().find(|q| q.id == p.id)?.cut.posed(&p.pose));
    let cut: Vec<Outline> = layout.placements.iter().filter_map(cut).collect();
    let near = |a: &Bounds, b: &Bounds| {
        a.min.x < b.max.x + most && b.min.x < a.max.x + most && a.min.y < b.max.y + most && b.min.y < a.max.y + most
    };
    let bounds: Vec<Bounds> = cut.iter().map(Outline::bounds).collect();
    (0..cut.len())
        .any(|i| (0..i).any(|j| near(&bounds[i], &bounds[j]) && (least..most).contains(&cut[i].distance_to(&cut[j]))))
}

/// Small pieces by their letters, in columns.
fn key_list(pen: &mut Pen<'_>, keyed: &[Keyed]) {
    let sizes = 0.95;
    let widest = |f: &dyn Fn(&Keyed) -> f64| keyed.iter().map(f).fold(0.0, f64::max);
    let letter_width = widest(&|k| width_em(&k.letter, false)) + 0.6;
    let column =
        ((letter_width + widest(&|k| width_em(&k.words, true)) + 1.2) * sizes * pen.page.size).min(pen.width());
    pen.down(0.6);
    pen.rule();
    pen.down(1.3);
    pen.put(
        pen.page.text_left(),
        pen.width(),
        0.8,
        false,
        "small pieces by their letters",
    );
    let mut x = f64::INFINITY;
    for one in keyed {
        if x + column > pen.page.text_right() + 1.2 * pen.page.size {
            x = pen.page.text_left();
            pen.down(1.35);
        }
        let letter_room = letter_width * sizes * pen.page.size;
        let at = Point { x, y: pen.y };
        let mut letter = text(at, sizes * pen.page.size, "start", false, &one.letter);
        set(&mut letter, "font-style", "italic");
        push(&mut pen.block, letter);
        pen.put(x + letter_room, column - letter_room, sizes, true, &one.words);
        x += column;
    }
}

/// The way the grain of the glass runs, in words and as an arrow, at the right end of the scale bar's row.
pub(super) fn sheet_grain(plan: &Plan, layout: &Layout, page: &Page, top: f64) -> Option<Element> {
    let arrow = Arrow::of(source::grain(plan, layout), Some(layout.stock.grain_deg))?;
    let words = "grain of the sheet";
    let size = page.size * 0.85;
    let right = page.text_right();
    let (width, _) = arrow.size();
    let middle = Point {
        x: right - width / 2.0 * page.size,
        y: top + 1.0 * page.size,
    };
    let mut row = element("g", &[]);
    push(&mut row, arrow.draw(middle, page.size));
    let end = Point {
        x: right - (width + 0.6) * page.size,
        y: top + 1.0 * page.size + CAPITAL * size / 2.0,
    };
    let mut label = text(end, size, "end", false, words);
    set(&mut label, "stroke", "none");
    push(&mut row, label);
    Some(row)
}
