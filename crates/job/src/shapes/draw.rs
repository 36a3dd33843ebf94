//! From a shape's sizes to its outline, counter-clockwise from the lower left.

use super::path::{Line, corners};
use super::sizes::{Sizes, Trouble};
use super::{CornerFile, ShapeFile, ShapeKind};
use crate::{OutlineFile, YDirection};
use std::f64::consts::{PI, TAU};

/// The outline, or all that is wrong with the sizes.
pub(super) fn outline(shape: &ShapeFile, y: YDirection) -> Result<OutlineFile, Vec<Trouble>> {
    let mut sizes = Sizes::new(shape);
    let drawn = match shape.kind {
        ShapeKind::Rectangle => sizes
            .need(["width", "height"])
            .map(|[w, h]| corners(&[[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]], y)),
        ShapeKind::ClippedRectangle => clipped(&mut sizes, shape, y),
        ShapeKind::RoundedRectangle => rounded(&mut sizes, shape, y),
        ShapeKind::Circle => sizes.need(["diameter"]).map(|[d]| ellipse(d, d, y)),
        ShapeKind::Ellipse => sizes.need(["width", "height"]).map(|[w, h]| ellipse(w, h, y)),
        ShapeKind::HalfRound => sizes.need(["width"]).map(|[w]| {
            let r = w / 2.0;
            Line::from(0.0, 0.0, y).to(w, 0.0).arc([r, r], 0.0, 0.0).closed()
        }),
        ShapeKind::QuarterCircle => sizes
            .need(["radius"])
            .map(|[r]| Line::from(0.0, 0.0, y).to(r, 0.0).arc([r, r], 0.0, r).closed()),
        ShapeKind::RoundArch => round_arch(&mut sizes, y),
        ShapeKind::SegmentalArch => segmental_arch(&mut sizes, y),
        ShapeKind::PointedArch => pointed_arch(&mut sizes, y),
        ShapeKind::Diamond => diamond(&mut sizes, y),
        ShapeKind::Triangle if sizes.has_any(&["left", "right"]) => triangle_of_sides(&mut sizes, y),
        ShapeKind::Triangle => triangle_of_height(&mut sizes, y),
        ShapeKind::Trapezium => trapezium(&mut sizes, y),
        ShapeKind::Polygon => polygon(&mut sizes, y),
    };
    let troubles = sizes.into_troubles();
    match drawn {
        Some(outline) if troubles.is_empty() => Ok(outline),
        _ => Err(troubles),
    }
}

fn ellipse(w: f64, h: f64, y: YDirection) -> OutlineFile {
    let radii = [w / 2.0, h / 2.0];
    Line::from(w, h / 2.0, y)
        .arc(radii, 0.0, h / 2.0)
        .arc(radii, w, h / 2.0)
        .closed()
}

fn round_arch(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let [w, h] = sizes.need(["width", "height"])?;
    let r = w / 2.0;
    if h < r {
        sizes.refuse(
            "height",
            format!("height {h} of a round arch {w} wide"),
            format!("at least half the width, {r}"),
            "Measure it from the bottom to the top of the curve. A flatter one is a segmental arch, with its rise.",
        );
        return None;
    }
    Some(arched(w, h - r, r, y))
}

/// A rectangle up to where the curve springs, and one arc over it.
fn arched(w: f64, spring: f64, radius: f64, y: YDirection) -> OutlineFile {
    Line::from(0.0, 0.0, y)
        .to(w, 0.0)
        .to(w, spring)
        .arc([radius, radius], 0.0, spring)
        .closed()
}

/// Radius from chord c and rise f: (c²/4 + f²) / 2f.
fn segmental_arch(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let [w, h, rise] = sizes.need(["width", "height", "rise"])?;
    let is_flat = rise <= w / 2.0;
    if !is_flat {
        sizes.refuse(
            "rise",
            format!("rise {rise} of a segmental arch {w} wide"),
            format!("at most half the width, {}", w / 2.0),
            "A higher one is a pointed arch. The rise is measured from where the curve begins, not from the bottom.",
        );
    }
    if !rises_within(sizes, h, rise) || !is_flat {
        return None;
    }
    Some(arched(w, h - rise, (w * w / 4.0 + rise * rise) / (2.0 * rise), y))
}

/// Two arcs with their centres on the line they spring from; through its end and the tip the radius is (c²/4 + f²) / c.
fn pointed_arch(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let [w, h, rise] = sizes.need(["width", "height", "rise"])?;
    let is_pointed = rise > w / 2.0;
    if !is_pointed {
        sizes.refuse(
            "rise",
            format!("rise {rise} of a pointed arch {w} wide"),
            format!("more than half the width, {}", w / 2.0),
            "A lower one is a round or a segmental arch. For the arch on an equilateral triangle it is 0.866 of the width.",
        );
    }
    if !rises_within(sizes, h, rise) || !is_pointed {
        return None;
    }
    let (r, spring) = ((w * w / 4.0 + rise * rise) / w, h - rise);
    Some(
        Line::from(0.0, 0.0, y)
            .to(w, 0.0)
            .to(w, spring)
            .arc([r, r], w / 2.0, h)
            .arc([r, r], 0.0, spring)
            .closed(),
    )
}

fn rises_within(sizes: &mut Sizes, height: f64, rise: f64) -> bool {
    if height < rise {
        sizes.refuse(
            "height",
            format!("height {height} with a rise of {rise}"),
            "at least the rise",
            "The height goes from the bottom to the top of the curve; without straight sides it is the same as the rise.",
        );
    }
    height >= rise
}

fn diamond(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let (w, h) = if sizes.has_any(&["side", "angle"]) {
        let [side, angle] = sizes.need(["side", "angle"])?;
        let (sin, cos) = (angle / 2.0).to_radians().sin_cos();
        (2.0 * side * sin, 2.0 * side * cos)
    } else {
        let [w, h] = sizes.need(["width", "height"])?;
        (w, h)
    };
    Some(corners(
        &[[w / 2.0, 0.0], [w, h / 2.0], [w / 2.0, h], [0.0, h / 2.0]],
        y,
    ))
}

fn triangle_of_height(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let offset = sizes.may("offset");
    let [w, h] = sizes.need(["width", "height"])?;
    let tip = offset.unwrap_or(w / 2.0);
    Some(corners(&[[0.0, 0.0], [w, 0.0], [tip, h]], y))
}

/// The tip by the law of cosines; its height by Heron's formula as W. Kahan sets it out, which stays exact for flat triangles.
fn triangle_of_sides(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let [w, left, right] = sizes.need(["width", "left", "right"])?;
    let mut by_length = [("width", w), ("left", left), ("right", right)];
    by_length.sort_by(|a, b| b.1.total_cmp(&a.1));
    let [(longest, a), (_, b), (_, c)] = by_length;
    if a >= b + c {
        sizes.refuse(
            longest,
            format!("sides of {w}, {left} and {right}"),
            format!(
                "each side shorter than the other two together; {b} and {c} make {}",
                b + c
            ),
            "Measure the sides again.",
        );
        return None;
    }
    let area = 0.25 * ((a + (b + c)) * (c - (a - b)) * (c + (a - b)) * (a + (b - c))).sqrt();
    let tip = (w * w + (left - right) * (left + right)) / (2.0 * w);
    Some(corners(&[[0.0, 0.0], [w, 0.0], [tip, 2.0 * area / w]], y))
}

fn trapezium(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let offset = sizes.may("offset");
    let [w, top, h] = sizes.need(["width", "top", "height"])?;
    let left = offset.unwrap_or((w - top) / 2.0);
    Some(corners(&[[0.0, 0.0], [w, 0.0], [left + top, h], [left, h]], y))
}

fn polygon(sizes: &mut Sizes, y: YDirection) -> Option<OutlineFile> {
    let count = sizes.need(["sides"]);
    let radius = if sizes.has_any(&["diameter"]) {
        sizes.need(["diameter"]).map(|[d]| d / 2.0)
    } else {
        let side = sizes.need(["side"]);
        count.zip(side).map(|([n], [side])| side / (2.0 * (PI / n).sin()))
    };
    let ([n], radius) = (count?, radius?);
    let corner = |k: u32| {
        // The first side lies at the bottom.
        let angle = TAU * (f64::from(k) - 0.5) / n - PI / 2.0;
        [radius * angle.cos(), radius * angle.sin()]
    };
    let points: Vec<[f64; 2]> = (0..n as u32).map(corner).collect();
    Some(corners(&points, y))
}

/// Which corners are meant, counter-clockwise from the lower left.
fn meant(shape: &ShapeFile) -> [bool; 4] {
    let all = [
        CornerFile::BottomLeft,
        CornerFile::BottomRight,
        CornerFile::TopRight,
        CornerFile::TopLeft,
    ];
    all.map(|corner| shape.corners.is_empty() || shape.corners.contains(&corner))
}

/// Whether `cut` fits at the corners that are meant; where two lie on a side it fits twice.
fn cut_fits(sizes: &mut Sizes, field: &'static str, [w, h, cut]: [f64; 3], meant: [bool; 4]) -> bool {
    let [bottom_left, bottom_right, top_right, top_left] = meant;
    let times = |a: bool, b: bool| f64::from(u8::from(a) + u8::from(b));
    let across = times(bottom_left, bottom_right).max(times(top_left, top_right));
    let up = times(bottom_left, top_left).max(times(bottom_right, top_right));
    let most = (w / across.max(1.0)).min(h / up.max(1.0));
    if cut > most {
        sizes.refuse(
            field,
            format!("{field} {cut} on a rectangle of {w} × {h}"),
            format!("at most {most}: the corners on one side must not meet"),
            "Measure it again, or name the corners that have it.",
        );
    }
    cut <= most
}

fn clipped(sizes: &mut Sizes, shape: &ShapeFile, y: YDirection) -> Option<OutlineFile> {
    sizes.may("corners");
    let [w, h, c] = sizes.need(["width", "height", "clip"])?;
    let meant = meant(shape);
    if !cut_fits(sizes, "clip", [w, h, c], meant) {
        return None;
    }
    let line = cut_corners([w, h, c], meant, y, |line, [x, y]| line.to(x, y));
    Some(line.closed())
}

fn rounded(sizes: &mut Sizes, shape: &ShapeFile, y: YDirection) -> Option<OutlineFile> {
    sizes.may("corners");
    let [w, h, r] = sizes.need(["width", "height", "radius"])?;
    let meant = meant(shape);
    if !cut_fits(sizes, "radius", [w, h, r], meant) {
        return None;
    }
    let line = cut_corners([w, h, r], meant, y, |line, [x, y]| line.arc([r, r], x, y));
    Some(line.closed())
}

/// Round the rectangle; `turn` goes from one side to the next at the corners that are meant.
fn cut_corners([w, h, cut]: [f64; 3], meant: [bool; 4], y: YDirection, turn: impl Fn(Line, [f64; 2]) -> Line) -> Line {
    let at_corner = meant.map(|is_meant| if is_meant { cut } else { 0.0 });
    let [bottom_left, bottom_right, top_right, top_left] = at_corner;
    let ends = [
        ([w - bottom_right, 0.0], [w, bottom_right]),
        ([w, h - top_right], [w - top_right, h]),
        ([top_left, h], [0.0, h - top_left]),
        ([0.0, bottom_left], [bottom_left, 0.0]),
    ];
    let is_cut = [bottom_right, top_right, top_left, bottom_left].map(|cut| cut > 0.0);
    let mut line = Line::from(bottom_left, 0.0, y);
    for ((side, next), is_cut) in ends.into_iter().zip(is_cut) {
        line = line.to(side[0], side[1]);
        if is_cut {
            line = turn(line, next);
        }
    }
    line
}
