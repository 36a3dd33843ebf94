//! One sheet or offcut of the rack as a picture: outline, flaws, grain, largest rectangle inside.

use crate::drawing::{View, element, file, group, line, push, set, text, worded};
use crate::number::mm;
use crate::words::{fitted, one_line};
use cullet_geometry::{Bounds, Outline, Point, rectangle};
use cullet_job::Units;
use cullet_job::measure::down_size;
use cullet_rack::RackItem;
use svg::node::element::Element;

/// Draws an item true to size, seen from the show face, with its tag and what is known of it underneath.
#[must_use]
pub fn draw(item: &RackItem, units: Units) -> String {
    let stock = &item.stock;
    let bounds = stock.outline.bounds();
    let size = (bounds.width().max(bounds.height()) / 30.0).max(4.0);
    let margin = size;
    let lines = lines(item, units);
    let width = bounds.width().max(14.0 * size) + 2.0 * margin;
    let height = bounds.height() + (lines.len() as f64 + 0.5) * size * 1.4 + 2.0 * margin;
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("width", &format!("{}mm", mm(width))),
            ("height", &format!("{}mm", mm(height))),
            ("viewBox", &format!("0 0 {} {}", mm(width), mm(height))),
            ("font-family", "sans-serif"),
        ],
    );
    push(
        &mut root,
        worded("title", &format!("{} {}, {}", kind(item), stock.tag, stock.glass)),
    );
    push(
        &mut root,
        worded("desc", "True size in millimetres, seen from the show face."),
    );
    let mut paper = element("rect", &[("width", "100%"), ("height", "100%"), ("fill", "#fff")]);
    set(&mut paper, "stroke", "none");
    push(&mut root, paper);

    let mut glass = shape(&stock.outline, &stock.flaws, stock.grain_deg, size);
    set(
        &mut glass,
        "transform",
        &format!("translate({} {})", mm(margin), mm(margin)),
    );
    push(&mut root, glass);
    let mut y = margin + bounds.height() + size * 1.9;
    for (i, words) in lines.iter().enumerate() {
        let words = fitted(words, i == 0, (width - 2.0 * margin) / size);
        push(&mut root, text(Point { x: margin, y }, size, "start", i == 0, &words));
        y += size * 1.4;
    }
    file(&root)
}

fn kind(item: &RackItem) -> &'static str {
    match item.stock.kind {
        cullet_rack::StockKind::Sheet => "Sheet",
        cullet_rack::StockKind::Offcut => "Offcut",
    }
}

/// What is known of it, a line each.
fn lines(item: &RackItem, units: Units) -> Vec<String> {
    let stock = &item.stock;
    let bounds = stock.outline.bounds();
    let mut lines = vec![
        format!("{}  {}", stock.tag, stock.glass),
        format!(
            "{}, clear {}",
            size_words(bounds.width(), bounds.height(), units),
            size_words(item.clear.0, item.clear.1, units)
        ),
    ];
    let lot = stock.lot.iter().map(|lot| format!("lot {lot}"));
    let place = Some(&stock.place)
        .filter(|place| !place.is_empty())
        .map(|place| format!("place {place}"));
    let from = item.came_from.iter().map(|from| format!("from {from}"));
    let face = item
        .scored_face
        .iter()
        .map(|face| format!("scored on the {} face", face.word()));
    let known: Vec<String> = lot.chain(place).chain(from).chain(face).collect();
    lines.push(known.join(", "));
    lines.push("seen from the show face".to_owned());
    lines.retain(|line| !line.is_empty());
    lines
}

/// A size as it is written on glass: whole millimetres or sixteenths of an inch, never more than there is.
pub(crate) fn size_words(width: f64, height: f64, units: Units) -> String {
    format!("{} {}", down_size(width, height, units), units.code())
}

/// Outline, flaws and grain with its upper left corner at the origin; `size` is that of a letter, in its own mm.
pub(crate) fn shape(outline: &Outline, flaws: &[Outline], grain_deg: f64, size: f64) -> Element {
    let bounds = outline.bounds();
    let view = View::from_front(bounds);
    let thin = mm(size / 12.0);
    let mut all = group("glass", "the glass", "");
    let path = |outline: &Outline, fill: &str| {
        element(
            "path",
            &[
                ("d", view.path(outline.points(), true, 3).as_str()),
                ("fill", fill),
                ("stroke", "#000"),
                ("stroke-width", thin.as_str()),
            ],
        )
    };
    push(&mut all, path(outline, "#eef3f5"));
    for flaw in flaws {
        push(&mut all, path(flaw, "#999"));
    }
    // In the roomiest part: in the middle of the bounds there may be no glass.
    let room = rectangle::largest_upright(outline).unwrap_or(bounds);
    push(&mut all, grain_line(room, &view, grain_deg, size));
    all
}

/// A line along the grain, in the middle. Arrow heads say which way a grain runs, and the rack does not know that: it has none.
fn grain_line(room: Bounds, view: &View, grain_deg: f64, size: f64) -> Element {
    let middle = Point {
        x: (room.min.x + room.max.x) / 2.0,
        y: (room.min.y + room.max.y) / 2.0,
    };
    let half = (room.width().min(room.height()) * 0.4).min(size * 3.0);
    let (sin, cos) = grain_deg.to_radians().sin_cos();
    let at = |along: f64| {
        view.at(Point {
            x: middle.x + along * cos,
            y: middle.y + along * sin,
        })
    };
    let mut arrow = group("grain", "the way of the grain", "");
    set(&mut arrow, "stroke", "#000");
    set(&mut arrow, "stroke-width", &mm(size / 8.0));
    push(&mut arrow, line(at(-half), at(half)));
    arrow
}

/// Tag, glass and size on one line, for lists.
#[must_use]
pub fn in_words(item: &RackItem, units: Units) -> String {
    let bounds = item.stock.outline.bounds();
    let size = size_words(bounds.width(), bounds.height(), units);
    one_line(&format!("{} {}, {size}", item.stock.tag, item.stock.glass))
}
