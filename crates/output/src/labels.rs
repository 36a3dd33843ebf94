//! Labels for offcuts, to be printed, cut apart and stuck on the glass.
//!
//! Each has the tag in large letters and as a QR code (ISO/IEC 18004), glass, size, lot, where it came from, and a picture of
//! the outline with the way of the grain, seen from the show face: whoever takes it from the rack sees which side is which.

use crate::drawing::{element, push, set, text};
use crate::glass_picture::{shape, size_words};
use crate::number::mm;
use crate::words::{fitted, one_line};
use cullet_geometry::Point;
use cullet_job::Units;
use cullet_rack::RackItem;
use qrcode::{EcLevel, QrCode};
use svg::node::element::Element;

/// The paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO 216 A4, 210 × 297 mm.
    #[default]
    A4,
    /// US Letter, 8½ × 11 in (ANSI/ASME Y14.1 A).
    Letter,
}

impl Paper {
    fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// Why labels could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LabelError {
    /// The tag is too long to be a QR code of this size.
    #[error("tag {tag}: found {found} bytes, expected at most {MOST_TAG} to go into a QR code that can be scanned")]
    TagTooLong {
        /// The tag.
        tag: String,
        /// How long it is, bytes.
        found: usize,
    },
}

/// A sheet or offcut and, where a booking returned it, what its sheet map calls it: `keep 1a`. The bench wrote that on it first.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The sheet or offcut.
    pub item: RackItem,
    /// Its name on the map.
    pub keep: Option<String>,
}

/// Longest tag of a label, bytes: a QR code of 33 modules on 20 mm is 0.6 mm a module, which phones still read.
pub const MOST_TAG: usize = 62;

/// Size of a label, mm: two across, five down on either paper.
const LABEL: (f64, f64) = (96.0, 52.0);
const ACROSS: usize = 2;
const DOWN: usize = 5;
/// Side of the QR code with its quiet zone, mm.
const CODE: f64 = 26.0;
/// Modules of quiet zone round a QR code (ISO/IEC 18004:2015, 5.3.8).
const QUIET: usize = 4;
/// Free rim inside a label, mm.
const RIM: f64 = 3.0;

/// The labels, with sizes in `units`, as a page to print from a browser (HTML with one SVG drawing a sheet of paper, true size in mm).
///
/// # Errors
/// [`LabelError::TagTooLong`] for the first tag that no label can hold.
pub fn sheet(labels: &[Label], units: Units, paper: Paper) -> Result<String, LabelError> {
    let (width, height) = paper.size();
    let mut html = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n<title>Labels</title>\n<style>\n\
         @page {{ size: {}mm {}mm; margin: 0 }}\nbody {{ margin: 0 }}\nsvg {{ display: block; break-after: page }}\n\
         </style>\n</head>\n<body>\n",
        mm(width),
        mm(height)
    );
    for page in pages(labels, units, paper)? {
        html += &page;
        html.push('\n');
    }
    Ok(html + "</body>\n</html>\n")
}

/// The same as one SVG drawing a sheet of paper.
///
/// # Errors
/// [`LabelError::TagTooLong`] for the first tag that no label can hold.
pub fn pages(labels: &[Label], units: Units, paper: Paper) -> Result<Vec<String>, LabelError> {
    let pages = labels.chunks(ACROSS * DOWN);
    pages.map(|labels| page(labels, units, paper)).collect()
}

fn page(labels: &[Label], units: Units, paper: Paper) -> Result<String, LabelError> {
    let (width, height) = paper.size();
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
        element("rect", &[("width", "100%"), ("height", "100%"), ("fill", "#fff")]),
    );
    let left = (width - ACROSS as f64 * LABEL.0) / 2.0;
    let top = (height - DOWN as f64 * LABEL.1) / 2.0;
    for (i, one) in labels.iter().enumerate() {
        let mut label = label(one, units)?;
        let x = left + (i % ACROSS) as f64 * LABEL.0;
        let y = top + (i / ACROSS) as f64 * LABEL.1;
        set(&mut label, "transform", &format!("translate({} {})", mm(x), mm(y)));
        push(&mut root, label);
    }
    Ok(root.to_string())
}

fn label(Label { item, keep }: &Label, units: Units) -> Result<Element, LabelError> {
    let stock = &item.stock;
    let mut label = element("g", &[]);
    push(
        &mut label,
        element(
            "rect",
            &[
                ("width", &mm(LABEL.0)),
                ("height", &mm(LABEL.1)),
                ("fill", "none"),
                ("stroke", "#aaa"),
                ("stroke-width", "0.2"),
            ],
        ),
    );
    let room = LABEL.0 / 2.0 - RIM;
    let at = |x: f64, y: f64| Point { x, y };
    let mut written = |y: f64, size: f64, bold: bool, words: &str| {
        if !one_line(words).is_empty() {
            let words = fitted(words, bold, room / size);
            push(&mut label, text(at(RIM, y), size, "start", bold, &words));
        }
    };
    let bounds = stock.outline.bounds();
    written(RIM + 7.0, tag_size(&stock.tag, room), true, &stock.tag);
    written(RIM + 12.0, 3.6, true, &stock.glass);
    written(
        RIM + 16.4,
        3.2,
        false,
        &size_words(bounds.width(), bounds.height(), units),
    );
    // Beside the code.
    let beside = RIM + CODE;
    let right = room - CODE;
    let mut y = LABEL.1 - RIM - CODE + 6.0;
    let lot = stock.lot.as_ref().map(|lot| ("lot", lot.as_str()));
    let from = item.came_from.as_ref().map(|from| ("from", from.as_str()));
    let place = Some(("place", stock.place.as_str())).filter(|(_, place)| !place.is_empty());
    let keep = keep.as_ref().map(|keep| ("on the map", keep.as_str()));
    // There is room for three.
    for (name, words) in [keep, lot, place, from].into_iter().flatten().take(3) {
        push(&mut label, text(at(beside, y), 2.4, "start", false, name));
        let words = fitted(words, false, right / 3.0);
        push(&mut label, text(at(beside, y + 3.4), 3.0, "start", false, &words));
        y += 7.2;
    }
    let mut code = code(&stock.tag)?;
    set(
        &mut code,
        "transform",
        &format!("translate({} {})", mm(RIM - 2.0), mm(LABEL.1 - RIM - CODE + 2.0)),
    );
    push(&mut label, code);
    push(&mut label, picture(item));
    Ok(label)
}

/// Large, but small enough for the whole tag to be read.
fn tag_size(tag: &str, room: f64) -> f64 {
    (room / crate::words::width_em(&one_line(tag), true)).clamp(2.0, 8.0)
}

/// The outline in the right half, as large as it goes, with its scale-free sizes along it.
fn picture(item: &RackItem) -> Element {
    let stock = &item.stock;
    let bounds = stock.outline.bounds();
    let (left, caption) = (LABEL.0 / 2.0 + RIM, 4.0);
    let (width, height) = (LABEL.0 / 2.0 - 2.0 * RIM, LABEL.1 - 2.0 * RIM - caption);
    let scale = (width / bounds.width()).min(height / bounds.height());
    let mut glass = shape(&stock.outline, &stock.flaws, stock.grain_deg, 3.0 / scale);
    let x = left + (width - bounds.width() * scale) / 2.0;
    let y = RIM + (height - bounds.height() * scale) / 2.0;
    set(
        &mut glass,
        "transform",
        &format!(
            "translate({} {}) scale({})",
            mm(x),
            mm(y),
            crate::number::plain(scale, 6)
        ),
    );
    let mut picture = element("g", &[]);
    push(&mut picture, glass);
    let middle = Point {
        x: left + width / 2.0,
        y: LABEL.1 - RIM,
    };
    push(
        &mut picture,
        text(middle, 2.4, "middle", false, "seen from the show face"),
    );
    picture
}

/// The tag as a QR code, black on white, quiet zone included.
fn code(tag: &str) -> Result<Element, LabelError> {
    let too_long = || LabelError::TagTooLong {
        tag: tag.to_owned(),
        found: tag.len(),
    };
    if tag.len() > MOST_TAG {
        return Err(too_long());
    }
    let code = QrCode::with_error_correction_level(tag, EcLevel::M).map_err(|_| too_long())?;
    let width = code.width();
    let mut data = String::new();
    for (row, colors) in code.to_colors().chunks(width).enumerate() {
        for (column, _) in colors
            .iter()
            .enumerate()
            .filter(|(_, color)| **color == qrcode::Color::Dark)
        {
            data += &format!("M{} {}h1v1h-1z", column + QUIET, row + QUIET);
        }
    }
    let side = CODE / (width + 2 * QUIET) as f64;
    let modules = element(
        "path",
        &[
            ("d", data.as_str()),
            ("fill", "#000"),
            ("shape-rendering", "crispEdges"),
            ("transform", &format!("scale({})", crate::number::plain(side, 6))),
        ],
    );
    let mut code = element("g", &[]);
    push(&mut code, modules);
    Ok(code)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Outline;
    use cullet_rack::{Count, State, StockItem, StockKind};

    fn offcut(tag: &str) -> Label {
        let item = RackItem {
            stock: StockItem {
                tag: tag.into(),
                glass: "REED".into(),
                kind: StockKind::Offcut,
                outline: Outline::rectangle(300.0, 500.0),
                count: Count::OnHand(1),
                place: "A3".into(),
                lot: Some("G-31".into()),
                grain_deg: 90.0,
                flaws: vec![Outline::rectangle(20.0, 20.0).translated(40.0, 60.0)],
                price: None,
            },
            scored_face: None,
            came_from: Some("REED-A.1".into()),
            state: State::OnRack,
            clear: (300.0, 500.0),
            held_for: None,
        };
        Label { item, keep: None }
    }

    #[test]
    fn every_offcut_has_a_label_and_every_ten_a_page() {
        let items: Vec<Label> = (1..=21).map(|n| offcut(&format!("R{n}"))).collect();
        let pages = pages(&items, Units::Millimetres, Paper::A4).expect("short tags");
        assert_eq!(pages.len(), 3);
        for page in &pages {
            roxmltree::Document::parse(page).expect("well-formed");
        }
        assert!(pages[2].contains(">R21<"));
        let named = Label {
            keep: Some("keep 1a".into()),
            ..offcut("R1")
        };
        let page = &self::pages(&[named], Units::Inches, Paper::A4).expect("a short tag")[0];
        assert!(
            page.contains(">keep 1a<") && page.contains(">11 3/4 × 19 5/8 in<"),
            "{page}"
        );
        let html = sheet(&items, Units::Inches, Paper::Letter).expect("short tags");
        assert_eq!(html.matches("<svg").count(), 3);
    }

    #[test]
    fn what_users_wrote_is_escaped_and_a_tag_beyond_the_code_is_named() {
        let mut item = offcut("R<&>1");
        item.item.stock.glass = "\"<script>\"".into();
        let page = &pages(&[item], Units::Millimetres, Paper::A4).expect("a short tag")[0];
        roxmltree::Document::parse(page).expect("well-formed");
        assert!(!page.contains("<script>"));
        let long = offcut(&"x".repeat(MOST_TAG + 1));
        assert!(pages(&[long], Units::Millimetres, Paper::A4).is_err());
        assert!(pages(&[offcut(&"é".repeat(MOST_TAG / 2))], Units::Millimetres, Paper::A4).is_ok());
    }

    /// A 21-module code holds 14 bytes at level M (ISO/IEC 18004:2015, table 7): the usual tags stay that small.
    #[test]
    fn a_usual_tag_is_the_smallest_code() {
        let code = QrCode::with_error_correction_level("REED-A.1", EcLevel::M).expect("short");
        assert_eq!(code.width(), 21);
    }
}
