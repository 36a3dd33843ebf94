//! The panels as they will look, for the customer.

use super::Book;
use crate::drawing::{View, element, push, set, text};
use crate::html::escaped;
use crate::measure::{length, size, weight};
use crate::number::{mm, plain};
use crate::source;
use crate::spot::roomiest;
use crate::words::width_em;
use cullet_drawing::came::Came;
use cullet_drawing::expand::PanelDrawing;
use cullet_drawing::panel;
use cullet_drawing::settings::BorderLine;
use cullet_geometry::{Bounds, Outline, Point, boolean};
use cullet_job::{PanelFile, Units, YDirection, counted};
use cullet_model::figures::weight_kg;
use cullet_model::{Plan, PlanPiece};
use std::collections::BTreeMap;
use std::fmt::Write;
use svg::node::element::Element;

/// Fills that tell glasses apart, all light enough for black words (contrast 7 and more), the colours none of the glass's own.
const FILLS: [&str; 8] = [
    "#ffffff", "#dfe9f5", "#f7ecd0", "#e2efdc", "#f3dfe2", "#e6e1f2", "#d9eeee", "#e8e8e8",
];
/// Width of a seam on the picture where no came is known or the panel is foiled, mm; for looks only.
const SEAM: f64 = 5.0;
/// Colour of came on the picture.
const CAME: &str = "#3a3a3a";
/// Share of their area that pieces may lie over each other and still have places in their panel.
const OVERLAP: f64 = 0.02;
/// Furthest that drawn arcs lie from their chords, mm.
const CHORD: f64 = 0.05;

pub(super) fn confirmation(book: &Book) -> String {
    let plan = book.plan;
    let mut page = String::new();
    page.push_str(
        "<p>To scale, seen from the show face. The tints only tell the glasses apart; they are not their colours.</p>\n<ul>",
    );
    for (k, glass) in plan.job.glasses.iter().enumerate() {
        if !plan.pieces.iter().any(|piece| piece.glass == glass.code) {
            continue;
        }
        let texture = match glass.texture.as_str() {
            "" => String::new(),
            texture => format!(", {texture}"),
        };
        let _ = write!(
            page,
            "<li><span class=\"key\" style=\"background:{}\"></span>{}, {}{}</li>",
            FILLS[k % FILLS.len()],
            escaped(&match glass.name == glass.code {
                true => glass.code.clone(),
                false => format!("{}: {}", glass.code, glass.name),
            }),
            length(source::thickness_mm(plan, glass), plan.job.units),
            escaped(&texture)
        );
    }
    page.push_str("</ul>\n");
    let scale = scale(book);
    for panel in &plan.job.panels {
        let _ = writeln!(
            page,
            "<div class=\"keep\"><h3>Panel {}: {}</h3>",
            escaped(&panel.id),
            escaped(&panel.name)
        );
        page += &panel_look(book, panel, scale);
        page.push_str("</div>\n");
    }
    page.push_str(
        "<p class=\"caution\">Glass in and beside doors, in wet areas, in large panes near the floor and at stairs may have to be safety \
         glass; leaded glass as shown here is not safety glass. Local code and the authority having jurisdiction decide: ask before the glass is \
         cut.</p>\n<div class=\"sign\"><span>Agreed: name</span><span>Signature</span><span>Date</span></div>\n",
    );
    page
}

/// A panel as it will look, with its sizes, weight and leads in words.
fn panel_look(book: &Book, panel: &PanelFile, scale: f64) -> String {
    let (plan, units) = (book.plan, book.plan.job.units);
    let own = pieces_of(plan, panel);
    let made = match (panel.quantity, panel.mirrored_quantity) {
        (n, 0) => format!("{n} as drawn"),
        (0, m) => format!("{m} mirrored"),
        (n, m) => format!("{n} as drawn, {m} mirrored"),
    };
    let in_one = |piece: &PlanPiece| {
        panel
            .pieces
            .iter()
            .find(|p| p.number == piece.id.number)
            .map_or(1, |p| p.quantity)
    };
    let count: u32 = own.iter().map(|piece| in_one(piece)).sum();
    let kg: f64 = own
        .iter()
        .map(|piece| piece_kg(plan, piece) * f64::from(in_one(piece)))
        .sum();
    let glass = format!(
        "{}, {} of glass in each panel",
        counted(count, "piece"),
        weight(kg, units)
    );
    let Some(place) = place_of(book, panel) else {
        return format!(
            "<p>{}. The job gives the pieces without their places in the panel, so there is no picture; they are listed under \
             Pieces.</p>\n",
            escaped(&format!("{made}; {glass}"))
        );
    };
    let drawing = book.drawing(&panel.id);
    let what = if drawing.is_some() { "overall" } else { "glass overall" };
    let over_all = size(place.width(), place.height(), units);
    let leads = drawing.map_or_else(String::new, |drawing| format!("; {}", leads_in_words(drawing, units)));
    let door = if drawing.is_some_and(|drawing| drawing.settings.in_door) {
        "; goes into a door"
    } else {
        ""
    };
    let caption = format!(
        "{made}; {what} {over_all}, {glass}{leads}{door}; scale 1 : {} when printed at 100 %",
        plain(1.0 / scale, 2)
    );
    format!(
        "<figure>{}<figcaption>{}</figcaption></figure>\n",
        picture(book, panel, &own, place, scale, &caption),
        escaped(&caption)
    )
}

fn leads_in_words(drawing: &PanelDrawing, units: Units) -> String {
    let of = |came: &Came| format!("{} {}", came.name, length(came.face, units));
    if drawing.settings.foil.is_some() {
        return format!("foiled, {} round the edge", of(&drawing.settings.border));
    }
    let cames = drawing.cartoon.leads.iter().map(|lead| of(&lead.came));
    let cames: Vec<String> = cames.collect();
    format!("came {}", cames.join(", "))
}

/// Weight of one finished piece, kg.
pub(super) fn piece_kg(plan: &Plan, piece: &PlanPiece) -> f64 {
    let glass = plan.job.glasses.iter().find(|g| g.code == piece.glass);
    let thickness = glass.map_or(0.0, |g| source::thickness_mm(plan, g));
    weight_kg(piece.finished.area(), thickness)
}

/// The pieces of a panel as drawn, or of its mirror image where only that is made.
pub(super) fn pieces_of<'a>(plan: &'a Plan, panel: &PanelFile) -> Vec<&'a PlanPiece> {
    let mirrored = is_mirrored(panel);
    let of = |p: &&PlanPiece| p.id.panel == panel.id && p.id.mirrored == mirrored;
    plan.pieces.iter().filter(of).collect()
}

fn is_mirrored(panel: &PanelFile) -> bool {
    panel.quantity == 0
}

/// The box round a panel, over its border came where its drawing is there, else over its glass; none where the pieces have no
/// places in it.
pub(super) fn place_of(book: &Book, panel: &PanelFile) -> Option<Bounds> {
    if let Some(drawing) = book.drawing(&panel.id) {
        let (low, high) = panel::over_all(&drawing.cartoon, &drawing.settings);
        let frame = Frame::of(book.plan, panel, drawing);
        let (a, b) = (frame.at(low), frame.at(high));
        return Some(Bounds {
            min: Point {
                x: a.x.min(b.x),
                y: a.y,
            },
            max: Point {
                x: a.x.max(b.x),
                y: b.y,
            },
        });
    }
    // A piece that the panel has several times has no one place in it.
    if panel.pieces.iter().any(|piece| piece.quantity > 1) {
        return None;
    }
    let own = pieces_of(book.plan, panel);
    bounds(&own).filter(|_| have_places(&own))
}

/// From a drawing to the frame of its panel's pieces, whose outlines begin at the corner where the job file's axes do.
struct Frame {
    origin: Point,
    is_mirrored: bool,
}

impl Frame {
    fn of(plan: &Plan, panel: &PanelFile, drawing: &PanelDrawing) -> Self {
        let (low, high) = drawing.cartoon.bounds;
        Self {
            origin: Point {
                x: low.x,
                y: match plan.job.y {
                    YDirection::Up => low.y,
                    YDirection::Down => high.y,
                },
            },
            is_mirrored: is_mirrored(panel),
        }
    }

    fn at(&self, p: Point) -> Point {
        let x = p.x - self.origin.x;
        Point {
            x: if self.is_mirrored { -x } else { x },
            y: p.y - self.origin.y,
        }
    }
}

fn bounds(pieces: &[&PlanPiece]) -> Option<Bounds> {
    let all = pieces.iter().map(|p| p.finished.bounds());
    all.reduce(|a, b| Bounds {
        min: Point {
            x: a.min.x.min(b.min.x),
            y: a.min.y.min(b.min.y),
        },
        max: Point {
            x: a.max.x.max(b.max.x),
            y: a.max.y.max(b.max.y),
        },
    })
}

/// Largest picture of a panel, mm: it goes on a page of A4 or Letter.
const ROOM: (f64, f64) = (180.0, 195.0);
/// Scales that a drawing may have.
const SCALES: [f64; 8] = [1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 20.0, 50.0];

/// The scale at which every panel goes on a page.
fn scale(book: &Book) -> f64 {
    let panels = book.plan.job.panels.iter();
    let places: Vec<Bounds> = panels.filter_map(|panel| place_of(book, panel)).collect();
    let fits = |by: &f64| {
        let mut places = places.iter();
        places.all(|b| b.width() / by <= ROOM.0 && b.height() / by <= ROOM.1)
    };
    1.0 / SCALES.into_iter().find(fits).unwrap_or(100.0)
}

/// Whether the pieces lie side by side and not on top of each other.
fn have_places(pieces: &[&PlanPiece]) -> bool {
    let mut outlines: Vec<&Outline> = pieces.iter().map(|p| &p.finished).collect();
    outlines.sort_by(|a, b| a.bounds().min.x.total_cmp(&b.bounds().min.x));
    let most = OVERLAP * outlines.iter().map(|o| o.area()).sum::<f64>();
    let mut doubled = 0.0;
    for (k, one) in outlines.iter().enumerate() {
        let own = one.bounds();
        let beside = outlines[k + 1..].iter().take_while(|o| o.bounds().min.x < own.max.x);
        for other in beside.filter(|o| o.bounds().min.y < own.max.y && own.min.y < o.bounds().max.y) {
            doubled += boolean::intersection(one, other)
                .iter()
                .map(boolean::Region::area)
                .sum::<f64>();
            if doubled > most {
                return false;
            }
        }
    }
    true
}

fn picture(book: &Book, panel: &PanelFile, pieces: &[&PlanPiece], place: Bounds, scale: f64, words: &str) -> Element {
    let plan = book.plan;
    let view = View::from_front(place);
    let edge = SEAM;
    let view_box = [-edge, -edge, place.width() + 2.0 * edge, place.height() + 2.0 * edge]
        .map(mm)
        .join(" ");
    let mut root = element(
        "svg",
        &[
            ("xmlns", "http://www.w3.org/2000/svg"),
            ("role", "img"),
            ("aria-label", words),
            ("width", &format!("{}mm", mm(scale * (place.width() + 2.0 * edge)))),
            ("viewBox", &view_box),
            ("font-family", "sans-serif"),
        ],
    );
    let drawing = book.drawing(&panel.id);
    for piece in pieces {
        let glass = plan.job.glasses.iter().position(|g| g.code == piece.glass).unwrap_or(0);
        let path = view.path(piece.finished.points(), true, 2);
        let mut shape = element("path", &[("d", &path), ("fill", FILLS[glass % FILLS.len()])]);
        // Without a drawing the edges of the glass stand for the leads.
        if drawing.is_none() {
            set(&mut shape, "stroke", CAME);
            set(&mut shape, "stroke-width", &mm(SEAM));
            set(&mut shape, "stroke-linejoin", "round");
        }
        push(&mut root, shape);
    }
    if let Some(drawing) = drawing {
        push(
            &mut root,
            cames(drawing, &view, &Frame::of(plan, panel, drawing), place, &panel.id),
        );
    }
    for piece in pieces {
        push(&mut root, number(piece, &view, place.height() / 40.0));
    }
    root
}

/// The cames as they run, each as wide as its face; the border came lies inside the outer line where that is the panel's edge.
fn cames(drawing: &PanelDrawing, view: &View, frame: &Frame, place: Bounds, id: &str) -> Element {
    let (cartoon, settings) = (&drawing.cartoon, &drawing.settings);
    let name = format!("panel-{}", id.bytes().map(|b| format!("{b:02x}")).collect::<String>());
    let mut group = element(
        "g",
        &[
            ("fill", "none"),
            ("stroke", CAME),
            ("stroke-linecap", "round"),
            ("stroke-linejoin", "round"),
            ("clip-path", &format!("url(#{name})")),
        ],
    );
    let mut clip = element("clipPath", &[("id", &name)]);
    push(&mut clip, clipped_to(drawing, view, frame, place));
    push(&mut group, clip);
    // One path a width: where two of them overlap, their edges would be seen.
    let mut paths: BTreeMap<String, String> = BTreeMap::new();
    for (edge, follows) in cartoon.arrangement.edges.iter().zip(panel::followed(cartoon, settings)) {
        let start = edge.curves.first().map(|curve| curve.at(0.0));
        let chords = edge.curves.iter().flat_map(|curve| curve.chords(CHORD));
        let points: Vec<Point> = start.into_iter().chain(chords).map(|p| frame.at(p)).collect();
        let face = follows.came.map_or(SEAM, |came| came.face);
        let width = match settings.border_line {
            // Half of a line this wide lies outside and is clipped.
            BorderLine::OuterEdge if follows.is_outer => 2.0 * face,
            BorderLine::Glass if follows.is_outer => 2.0 * settings.border.border_inset(),
            _ => face,
        };
        paths
            .entry(mm(width))
            .or_default()
            .push_str(&view.path(&points, false, 2));
    }
    for (width, path) in paths {
        push(&mut group, element("path", &[("d", &path), ("stroke-width", &width)]));
    }
    group
}

/// The panel within its outer line, or a box round all of it where came reaches beyond that line.
fn clipped_to(drawing: &PanelDrawing, view: &View, frame: &Frame, place: Bounds) -> Element {
    let found = &drawing.cartoon.arrangement;
    let path: Vec<String> = match drawing.settings.border_line {
        BorderLine::OuterEdge if !found.outsides.is_empty() => {
            let outsides = found.outsides.iter().map(|sides| found.points_of(sides));
            let framed = outsides.map(|ring| ring.into_iter().map(|p| frame.at(p)).collect::<Vec<Point>>());
            framed.map(|ring| view.path(&ring, true, 2)).collect()
        }
        _ => vec![view.path(
            &[
                place.min,
                Point {
                    x: place.max.x,
                    y: place.min.y,
                },
                place.max,
                Point {
                    x: place.min.x,
                    y: place.max.y,
                },
            ],
            true,
            2,
        )],
    };
    element("path", &[("d", &path.join(""))])
}

/// The piece's number where it has the most room, no higher than `largest`.
fn number(piece: &PlanPiece, view: &View, largest: f64) -> Element {
    let number = &piece.id.number;
    let wide = width_em(number, false).max(0.6);
    let (centre, scale) = roomiest(&piece.finished, &[], ROOMY * wide * largest, ROOMY * largest, 1.0)
        .map_or((piece.finished.inner_point(), 0.3), |spot| (spot.centre, spot.scale));
    let height = largest * scale.min(1.0);
    let mut at = view.at(centre);
    at.y += 0.35 * height;
    text(at, height, "middle", false, number)
}

/// Room that a number wants round itself, as a share of its size: came lies over the edges of the glass.
const ROOMY: f64 = 1.5;

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of two colours `#rrggbb` by WCAG 2.2 (relative luminance, contrast ratio).
    fn contrast(a: &str, b: &str) -> f64 {
        let luminance = |colour: &str| {
            let part = |at: usize| {
                let c = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
                if c <= 0.04045 {
                    c / 12.92
                } else {
                    ((c + 0.055) / 1.055).powf(2.4)
                }
            };
            0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5)
        };
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    /// 1.4.3 asks for 4.5, 1.4.6 for 7, 1.4.11 for 3 where shapes tell.
    #[test]
    fn numbers_and_cames_stand_out_from_every_glass() {
        assert!((contrast("#ffffff", "#000000") - 21.0).abs() < 1e-9);
        for fill in FILLS {
            assert!(contrast(fill, "#000000") >= 7.0, "{fill}");
            assert!(contrast(fill, CAME) >= 7.0, "{fill}");
        }
    }
}
