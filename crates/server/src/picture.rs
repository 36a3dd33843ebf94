//! Panels and layouts as small pictures in the drawing style of the maps: black lines on white, light tints, y down.

use crate::plans::Shapes;
use crate::seen::{PanelView, PieceView};
use cullet_geometry::{Bounds, Outline, Point};
use cullet_job::{GrainFile, JobFile, Units, counted, measure};
use cullet_model::Layout;
use maud::{Markup, PreEscaped, html};
use std::fmt::Write;

/// How many tints there are; glasses beyond that share them, their codes stand in the pieces.
pub(crate) const TINTS: usize = 9;
/// Width of a letter against its height.
const LETTER: f64 = 0.62;

/// Path data through points, y turned down, to a hundredth of a millimetre.
pub(crate) fn path(points: &[Point], closed: bool) -> String {
    let mut data = String::with_capacity(points.len() * 14);
    for (k, p) in points.iter().enumerate() {
        let _ = write!(data, "{}{} {}", if k == 0 { 'M' } else { 'L' }, short(p.x), short(-p.y));
    }
    if closed {
        data.push('Z');
    }
    data
}

/// A number with two decimals at most.
pub(crate) fn short(number: f64) -> f64 {
    (number * 100.0).round() / 100.0 + 0.0
}

/// `viewBox` round bounds with a margin.
pub(crate) fn view_box(bounds: Bounds, margin: f64) -> String {
    format!(
        "{} {} {} {}",
        short(bounds.min.x - margin),
        short(-bounds.max.y - margin),
        short(bounds.width() + 2.0 * margin),
        short(bounds.height() + 2.0 * margin)
    )
}

/// The place of a glass among those of the job, for its tint.
pub(crate) fn tint(file: &JobFile, code: &str) -> usize {
    file.glasses
        .iter()
        .position(|glass| glass.code == code)
        .map_or(TINTS - 1, |at| at % (TINTS - 1))
}

/// A panel to be worked on: every piece can be reached, rings say where something is wrong.
pub(crate) fn panel(view: &PanelView, file: &JobFile, id: &str) -> Markup {
    let largest = view.bounds.width().max(view.bounds.height()) / 44.0;
    let margin = 1.2 * largest;
    html! {
        svg.panel viewBox=(view_box(view.bounds, margin)) data-panel=(id) role="group" aria-label={ "Panel " (id) }
            data-size=(short(view.bounds.width())) preserveAspectRatio="xMidYMid meet" {
            g.pieces { @for piece in &view.pieces { (one(piece, file, largest)) } }
            @if !view.leads.is_empty() {
                path.leads d=(view.leads.iter().map(|line| path(line, false)).collect::<String>()) {}
            }
            @for (k, ring) in view.rings.iter().enumerate() {
                g.ring.warning[!ring.is_error] role="img" aria-label=(ring.words) {
                    circle cx=(short(ring.at.x)) cy=(short(-ring.at.y)) r=(short(1.1 * largest)) {}
                    text x=(short(ring.at.x + 1.2 * largest)) y=(short(-ring.at.y - 0.8 * largest)) font-size=(short(0.9 * largest)) { (k + 1) }
                }
            }
        }
    }
}

fn one(piece: &PieceView, file: &JobFile, largest: f64) -> Markup {
    let number = &piece.file.number;
    let bounds = piece.outline.bounds();
    let glass = file.glasses.iter().find(|glass| glass.code == piece.file.glass);
    let has_grain = glass.is_some_and(|glass| glass.grain != GrainFile::None);
    let grain = piece.file.grain.unwrap_or(90.0);
    let bevel = piece
        .file
        .bevel
        .map(|bevel| format!("{}/{}", bevel.width, bevel.nose))
        .unwrap_or_default();
    let (at, size) = label(
        &piece.outline,
        number.chars().count().max(piece.file.glass.chars().count().div_ceil(2)),
        largest,
    );
    html! {
        g.piece role="button" tabindex="-1" aria-pressed="false" aria-label=(words(piece, file.units))
            data-number=(number) data-glass=(piece.file.glass) data-grain=(if has_grain { grain.to_string() } else { String::new() })
            data-bevel=(bevel) data-spares=(piece.file.spares) data-lot=(piece.file.one_lot.as_deref().unwrap_or_default()) {
            path class={ "g" (tint(file, &piece.file.glass)) } d=(path(piece.outline.points(), true)) {}
            @if has_grain { (arrow(&piece.outline, Point { x: at.x, y: at.y - 1.3 * size }, size, grain, glass.is_some_and(|glass| glass.grain == GrainFile::OneWay))) }
            text.number x=(short(at.x)) y=(short(-at.y)) font-size=(short(size)) { (number) }
            text.code x=(short(at.x)) y=(short(-at.y + 0.8 * size)) font-size=(short(0.52 * size)) { (piece.file.glass) }
            @if piece.file.bevel.is_some() || piece.file.spares > 0 || piece.file.one_lot.is_some() {
                text.more x=(short(at.x)) y=(short(-at.y - 0.95 * size)) font-size=(short(0.42 * size)) { (marks(piece)) }
            }
            title { (words(piece, file.units)) " " (measure::size(bounds.width(), bounds.height(), file.units)) }
        }
    }
}

/// A piece in words, for those who do not see it.
fn words(piece: &PieceView, units: Units) -> String {
    let bounds = piece.outline.bounds();
    let mut words = format!(
        "Piece {}, {}, {}",
        piece.file.number,
        if piece.file.glass.is_empty() {
            "no glass yet"
        } else {
            &piece.file.glass
        },
        measure::size(bounds.width(), bounds.height(), units)
    );
    let marks = marks(piece);
    if !marks.is_empty() {
        let _ = write!(words, ", {marks}");
    }
    words
}

fn marks(piece: &PieceView) -> String {
    let bevel = piece.file.bevel.map(|_| "bevel".to_owned());
    let spares = (piece.file.spares > 0).then(|| format!("+{}", piece.file.spares));
    let lot = piece.file.one_lot.as_ref().map(|_| "lot".to_owned());
    [bevel, spares, lot]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", ")
}

/// Where words go in a piece, and how large they are.
pub(crate) fn label(outline: &Outline, letters: usize, largest: f64) -> (Point, f64) {
    let bounds = outline.bounds();
    let middle = Point {
        x: (bounds.min.x + bounds.max.x) / 2.0,
        y: (bounds.min.y + bounds.max.y) / 2.0,
    };
    let at = if outline.contains(middle) {
        middle
    } else {
        outline.inner_point()
    };
    // As wide as the piece is at that height, as far as its corners tell.
    let fill = (outline.area() / (bounds.width() * bounds.height()).max(1e-9)).clamp(0.2, 1.0);
    let wide = 0.8 * bounds.width() * fill / (LETTER * letters.max(1) as f64);
    (at, wide.min(0.36 * bounds.height() * fill).min(largest))
}

/// The way of the grain: a line with a head at each end it may run to.
fn arrow(outline: &Outline, at: Point, size: f64, grain: f64, one_way: bool) -> Markup {
    let bounds = outline.bounds();
    let half = (0.3 * bounds.width().min(bounds.height()))
        .min(1.6 * size)
        .max(0.7 * size);
    let (sin, cos) = grain.to_radians().sin_cos();
    let along = |t: f64, aside: f64| {
        (
            short(at.x + t * cos - aside * sin),
            short(-(at.y + t * sin + aside * cos)),
        )
    };
    let head = |end: f64| {
        let (a, b, c) = (
            along(end - end.signum() * 0.5 * size, 0.25 * size),
            along(end, 0.0),
            along(end - end.signum() * 0.5 * size, -0.25 * size),
        );
        format!("M{} {}L{} {}L{} {}", a.0, a.1, b.0, b.1, c.0, c.1)
    };
    let (a, b) = (along(-half, 0.0), along(half, 0.0));
    let mut data = format!("M{} {}L{} {}{}", a.0, a.1, b.0, b.1, head(half));
    if !one_way {
        data += &head(-half);
    }
    html! { path.arrow d=(data) stroke-width=(short(0.07 * size)) {} }
}

/// All panels of a job side by side, without anything to reach: for the list of jobs. A file of its own.
pub(crate) fn small(views: &[PanelView], file: &JobFile) -> String {
    let height = views.iter().map(|view| view.bounds.height()).fold(1.0, f64::max);
    let gap = height * 0.08;
    let (mut x, mut inside) = (0.0, String::new());
    for view in views {
        let _ = write!(
            inside,
            "<g transform=\"translate({} {})\">",
            short(x - view.bounds.min.x),
            short(view.bounds.max.y)
        );
        for piece in &view.pieces {
            let _ = write!(
                inside,
                "<path fill=\"{}\" d=\"{}\"/>",
                FILLS[tint(file, &piece.file.glass)],
                path(piece.outline.points(), true)
            );
        }
        let leads: String = view.leads.iter().map(|line| path(line, false)).collect();
        let _ = write!(
            inside,
            "<path fill=\"none\" stroke-width=\"{}\" d=\"{leads}\"/>",
            short(height / 130.0)
        );
        for ring in view.rings.iter().filter(|ring| ring.is_error) {
            let _ = write!(
                inside,
                "<circle fill=\"none\" stroke=\"#a3241b\" stroke-width=\"{}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                short(height / 60.0),
                short(ring.at.x),
                short(-ring.at.y),
                short(height / 16.0)
            );
        }
        inside.push_str("</g>");
        x += view.bounds.width() + gap;
    }
    let width = (x - gap).max(1.0);
    let line = short(height.max(width) / 260.0);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{0} {0} {1} {2}\" stroke=\"#333\" stroke-width=\"{line}\" \
         stroke-linejoin=\"round\">{inside}</svg>\n",
        -gap / 2.0,
        short(width + gap),
        short(height + gap)
    )
}

/// A sheet with its pieces as a search has laid them so far: outlines and numbers.
pub(crate) fn layout(layout: &Layout, pieces: &Shapes) -> Markup {
    let outline = &layout.stock.outline;
    let bounds = outline.bounds();
    let largest = bounds.width().max(bounds.height()) / 28.0;
    let line = short(largest / 14.0);
    let laid = layout
        .placements
        .iter()
        .filter_map(|placement| Some((placement, pieces.get(&placement.id)?.posed(&placement.pose))));
    let words = format!(
        "{}, {} laid",
        layout.stock.tag,
        counted(layout.placements.len(), "piece")
    );
    html! {
        svg viewBox=(view_box(bounds, largest / 2.0)) role="img" aria-label=(words) {
            path d=(path(outline.points(), true)) fill="#fff" stroke="#111" stroke-width=(line) {}
            @for flaw in &layout.stock.flaws { path d=(path(flaw.points(), true)) fill="#999" {} }
            @for kept in &layout.returned { path d=(path(kept.points(), true)) fill="none" stroke="#111" stroke-width=(short(line * 2.4)) {} }
            @for (placement, piece) in laid {
                @let (at, size) = label(&piece, placement.id.number.chars().count(), largest);
                path d=(path(piece.points(), true)) fill="#e9eef2" stroke="#111" stroke-width=(line) {}
                text x=(short(at.x)) y=(short(-at.y)) font-size=(short(size)) { (placement.id.number) }
            }
        }
    }
}

/// The tints, as in the job book and the style sheet; the last is for pieces without a glass.
const FILLS: [&str; TINTS] = [
    "#ffffff", "#dfe9f5", "#f7ecd0", "#e2efdc", "#f3dfe2", "#e6e1f2", "#d9eeee", "#e8e8e8", "#fdfdfd",
];

/// Words that are safe in a picture's text.
pub(crate) fn raw(svg: String) -> Markup {
    PreEscaped(svg)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_style_sheet_has_the_same_tints() {
        let style = include_str!("../assets/page.css");
        for (k, fill) in FILLS.iter().enumerate() {
            assert!(style.contains(&format!(".g{k}{{fill:{fill}}}")), "{k}");
        }
    }
}
