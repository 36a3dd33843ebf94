//! Layouts as pictures, to be looked at.

use super::run::Run;
use super::schema::{HEIGHT, Instance, Room};
use anyhow::{Context, Result};
use cullet_search::Placed;
use std::collections::BTreeMap;
use std::path::Path;
use svg::Document;
use svg::node::element::{Group, Path as Shape, Rectangle, Text};

/// Space round strips and bins, mm.
const MARGIN: f64 = 40.0;

/// Most bins beside each other.
const ACROSS: usize = 6;

/// Writes the layout of `run` to `<folder>/<name>.svg`: the strip lying, or the bins in rows. Each kind of piece has its
/// number and its own grey.
///
/// # Errors
/// When the file cannot be written.
pub fn write(folder: &Path, instance: &Instance, run: &Run) -> Result<()> {
    std::fs::create_dir_all(folder).with_context(|| format!("making {}", folder.display()))?;
    let path = folder.join(format!("{}.svg", instance.name));
    svg::save(&path, &draw(instance, run)).with_context(|| format!("writing {}", path.display()))
}

fn draw(instance: &Instance, run: &Run) -> Document {
    let width = match instance.room {
        Room::Strip { .. } => run.length,
        Room::Bins { width, .. } => width * instance.scale(),
    };
    // Bins by their number, in the order in which they are drawn.
    let mut bins: BTreeMap<usize, Vec<&Placed>> = BTreeMap::new();
    for placed in &run.placed {
        bins.entry(placed.container).or_default().push(placed);
    }
    let across = bins.len().clamp(1, ACROSS);
    let down = bins.len().div_ceil(across);
    let (step_x, step_y) = (width + MARGIN, HEIGHT + MARGIN);
    let (all_x, all_y) = (across as f64 * step_x + MARGIN, down as f64 * step_y + 2.0 * MARGIN);

    let title = format!(
        "{}: density {:.2} %, {} pieces, seed {}",
        instance.name,
        run.density,
        run.placed.len(),
        run.seed
    );
    let mut page = Document::new()
        .set("viewBox", (0, 0, rounded(all_x), rounded(all_y)))
        .set("width", format!("{:.0}mm", all_x / 4.0))
        .set("height", format!("{:.0}mm", all_y / 4.0))
        .add(
            Rectangle::new()
                .set("width", "100%")
                .set("height", "100%")
                .set("fill", "#fff"),
        );
    for (i, placed) in bins.values().enumerate() {
        let (x, y) = (
            MARGIN + (i % across) as f64 * step_x,
            MARGIN + (i / across) as f64 * step_y,
        );
        // y runs down in SVG, up in layouts.
        let turn = format!("translate({} {}) scale(1 -1)", rounded(x), rounded(y + HEIGHT));
        page = page.add(bin(instance, placed, width).set("transform", turn));
    }
    page.add(
        Text::new(title)
            .set("x", MARGIN)
            .set("y", rounded(all_y - MARGIN / 2.0))
            .set("font-size", 28)
            .set("font-family", "sans-serif"),
    )
}

fn bin(instance: &Instance, placed: &[&Placed], width: f64) -> Group {
    let frame = Rectangle::new()
        .set("width", rounded(width))
        .set("height", HEIGHT)
        .set("fill", "#fff")
        .set("stroke", "#000")
        .set("stroke-width", 2);
    let mut group = Group::new().add(frame);
    for p in placed {
        let Some(piece) = instance.pieces.get(p.item) else {
            continue;
        };
        let (scale, pose) = (instance.scale(), p.pose);
        let corners: Vec<cullet_geometry::Point> = piece
            .outline
            .iter()
            .map(|c| {
                pose.apply(cullet_geometry::Point {
                    x: c[0] * scale,
                    y: c[1] * scale,
                })
            })
            .collect();
        let path: Vec<String> = corners
            .iter()
            .map(|c| format!("{} {}", rounded(c.x), rounded(c.y)))
            .collect();
        let shade = 160 + (p.item * 37) % 80;
        group = group.add(
            Shape::new()
                .set("d", format!("M{}Z", path.join("L")))
                .set("fill", format!("rgb({shade},{shade},{shade})"))
                .set("stroke", "#000")
                .set("stroke-width", 1),
        );
        let (x, y) = inside(&corners);
        group = group.add(
            Text::new(p.item.to_string())
                .set(
                    "transform",
                    format!("translate({} {}) scale(1 -1)", rounded(x), rounded(y)),
                )
                .set("font-size", 14)
                .set("text-anchor", "middle")
                .set("font-family", "sans-serif"),
        );
    }
    group
}

/// A point inside the outline, for its number.
fn inside(corners: &[cullet_geometry::Point]) -> (f64, f64) {
    let ring: Vec<(f64, f64)> = corners.iter().map(|c| (c.x, c.y)).collect();
    let outline = geo::Polygon::new(ring.into(), vec![]);
    geo::InteriorPoint::interior_point(&outline).map_or((corners[0].x, corners[0].y), |p| (p.x(), p.y()))
}

/// To a thousandth of a millimetre.
fn rounded(length: f64) -> f64 {
    (length * 1000.0).round() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_a_bent_piece_lies_inside_it() {
        let at = |x: f64, y: f64| cullet_geometry::Point { x, y };
        // An L: the mean of its corners, (3.7, 3.7), lies in its hollow.
        let l = [
            at(0.0, 0.0),
            at(10.0, 0.0),
            at(10.0, 1.0),
            at(1.0, 1.0),
            at(1.0, 10.0),
            at(0.0, 10.0),
        ];
        let (x, y) = inside(&l);
        assert!((0.0..=10.0).contains(&x) && (0.0..=10.0).contains(&y) && (x <= 1.0 || y <= 1.0));
    }
}
