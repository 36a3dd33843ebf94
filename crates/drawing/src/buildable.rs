//! What cannot be built, or only with trouble: pieces that no score can make, panels that want bars.
//!
//! Corners and bends are judged on the curves of the finished outline, before they are flattened; what was drawn as short
//! lines is judged as the bend that is meant. One finding of a kind for a piece: how many there are, and the worst.
//!
//! The figures are the trade's, each with its source; none is a rule of structural safety. Glazing in doors and low panes, and
//! panels that carry wind, are for those licensed for it and for local codes.

use crate::arrange::Arrangement;
use crate::cartoon::Cell;
use crate::curve::{Curve, cross, dot, length};
use crate::finding::{At, Findings};
use crate::settings::CartoonSettings;
use cullet_geometry::Point;
use cullet_job::Units;
use cullet_job::measure::{self, short_size};
use cullet_trade::{
    BARS, BARS_ROUND, EASY_DEPTH, INSIDE_CORNER_DEG, SECTION, SHARPEST_CORNER_DEG, SNAPS_LENGTH, SNAPS_WIDTH,
    TIGHTEST_INSIDE,
};

/// How far off a corner is looked at, mm: what is much smaller no score follows.
const SEEN_MM: f64 = 1.0;
/// A bend drawn as short lines may lie so far from the curve that is meant, mm; common practice.
const FACET_MM: f64 = 0.25;
/// Two lines that turn by more than this are no part of a bend, degrees; common practice.
const FACET_TURN: f64 = 30.0;
pub(crate) fn check(
    cells: &[Cell],
    settings: &CartoonSettings,
    bounds: (Point, Point),
    arrangement: &Arrangement,
    findings: &mut Findings,
) {
    panel(settings, bounds, arrangement, cells, findings);
    for cell in cells.iter().filter(|cell| !cell.finished.is_empty()) {
        corners(cell, findings);
        inside_curves(cell, findings);
        sliver(cell, findings);
    }
}

fn panel(
    settings: &CartoonSettings,
    (low, high): (Point, Point),
    arrangement: &Arrangement,
    cells: &[Cell],
    findings: &mut Findings,
) {
    let (width, height) = (high.x - low.x, high.y - low.y);
    if cells.is_empty() {
        return;
    }
    let units = findings.1;
    let whole = At::default();
    if let Some(opening) = settings.opening {
        fits_opening(
            (width, height),
            opening.map(|size| size - settings.opening_clearance),
            findings,
        );
    }
    if arrangement.edges.is_empty() {
        return;
    }
    let area: f64 = cells.iter().map(|cell| cell.area).sum();
    let beside = arrangement.faces_beside();
    let round: f64 = arrangement
        .edges
        .iter()
        .zip(&beside)
        .filter(|(_, beside)| beside.contains(&None))
        .map(|(edge, _)| edge.length())
        .sum();
    if area > SECTION {
        findings.warning(
            whole,
            format!("a panel of {}", measure::area(area, units)),
            match units {
                Units::Millimetres => "sections under 1.11 m²",
                Units::Inches => "sections under 12 ft²",
            },
            "Divide it into sections with saddle bars or division bars between them.",
        );
    } else if area > BARS || round > BARS_ROUND || settings.in_door {
        let why = if settings.in_door { " in a door" } else { "" };
        findings.warning(
            whole,
            format!(
                "a panel of {}, perimeter {}{why}",
                measure::area(area, units),
                measure::long(round, units)
            ),
            match units {
                Units::Millimetres => "support bars on panels in doors, over 0.37 m² or of a perimeter over 4.27 m",
                Units::Inches => "support bars on panels in doors, over 4 ft² or of a perimeter over 14 ft",
            },
            match units {
                Units::Millimetres => {
                    "Support bars are usual here, 300 to 450 mm apart; their size and fixing are for a licensed person, safety glass \
                     for local codes."
                }
                Units::Inches => {
                    "Support bars are usual here, 12 to 18 in apart; their size and fixing are for a licensed person, safety glass \
                     for local codes."
                }
            },
        );
    }
}

/// Names a panel that is not of the size `wanted` for its opening.
fn fits_opening((width, height): (f64, f64), wanted: [f64; 2], findings: &mut Findings) {
    let units = findings.1;
    let size = format!("a panel of {}", short_size(width, height, 0, units));
    if (wanted[0] - width).abs() > 0.5 || (wanted[1] - height).abs() > 0.5 {
        findings.error(
            At::default(),
            &size,
            &format!(
                "{}, the opening less its clearance",
                measure::size(wanted[0], wanted[1], units)
            ),
            "Draw the panel to that size, or correct the opening or its clearance in the job file.",
        );
    }
}

fn of_piece(cell: &Cell, at: Point) -> At {
    At {
        at: Some(at),
        piece: Some(cell.number.clone()),
        source: String::new(),
    }
}

/// A finished outline and how it turns from each curve to the next.
struct Outline<'a> {
    curves: &'a [Curve],
    /// Turn at the end of each curve, degrees, positive to the left.
    turns: Vec<f64>,
}

impl<'a> Outline<'a> {
    fn new(curves: &'a [Curve]) -> Self {
        let turn = |(before, after): (&Curve, &Curve)| {
            let (into, out) = (before.direction(1.0), after.direction(0.0));
            cross(into, out).atan2(dot(into, out)).to_degrees()
        };
        let pairs = curves.iter().zip(curves.iter().cycle().skip(1));
        Self {
            curves,
            turns: pairs.map(turn).collect(),
        }
    }

    fn curve(&self, i: usize) -> &Curve {
        &self.curves[i % self.curves.len()]
    }

    /// How it turns where a curve ends.
    fn turn(&self, i: usize) -> f64 {
        self.turns[i % self.curves.len()]
    }

    /// The same turn seen from [`SEEN_MM`] off on both sides: a step much smaller than that is none.
    fn seen_turn(&self, i: usize) -> f64 {
        let count = self.curves.len();
        let corner = self.curve(i).at(1.0);
        let ahead = walked((i + 1..i + 1 + count).map(|k| *self.curve(k)));
        let back = walked((i + 1..i + 1 + count).rev().map(|k| self.curve(k).reversed()));
        let (into, out) = (corner - back, ahead - corner);
        cross(into, out).atan2(dot(into, out)).to_degrees()
    }

    /// Whether the turn at the end of a curve is one of a bend inwards that was drawn as short straight lines: the curve
    /// that is meant lies within [`FACET_MM`] of them and is no tighter than [`TIGHTEST_INSIDE`].
    fn is_facet(&self, i: usize) -> bool {
        let (turn, shorter) = (-self.turn(i), self.curve(i).length().min(self.curve(i + 1).length()));
        let radians = turn.to_radians();
        turn > 0.1 && turn < FACET_TURN && shorter * radians / 8.0 < FACET_MM && shorter > TIGHTEST_INSIDE * radians
    }

    fn is_smooth(&self, i: usize) -> bool {
        self.turn(i).abs() < INSIDE_CORNER_DEG || self.is_facet(i)
    }

    /// Whether a curve bends inwards, as an arc or as a short line of a bend.
    fn bends_in(&self, i: usize) -> bool {
        match *self.curve(i) {
            Curve::Arc { turn, .. } => turn < 0.0 && !is_corner(self.curve(i)),
            Curve::Line { .. } => self.is_facet(i + self.curves.len() - 1) && self.is_facet(i),
        }
    }

    /// Inside corners: how far each turns, degrees, and where.
    fn inside_corners(&self) -> Vec<(f64, Point)> {
        let mut found = vec![];
        for (i, curve) in self.curves.iter().enumerate() {
            if self.turn(i) < -INSIDE_CORNER_DEG && self.seen_turn(i) < -INSIDE_CORNER_DEG && !self.is_facet(i) {
                found.push((-self.turn(i), curve.at(1.0)));
            }
            if let Curve::Arc { turn, .. } = *curve
                && is_corner(curve)
            {
                found.push((-turn.to_degrees(), curve.at(0.5)));
            }
        }
        found
    }

    /// Corners that come to a point: the angle between their sides, degrees, and where.
    fn points(&self) -> Vec<(f64, Point)> {
        let angles = self.turns.iter().zip(self.curves);
        let angles = angles.map(|(turn, curve)| (180.0 - turn, curve.at(1.0)));
        angles.filter(|(angle, _)| *angle < SHARPEST_CORNER_DEG).collect()
    }
}

/// Where one is after [`SEEN_MM`] along curves.
fn walked(curves: impl Iterator<Item = Curve>) -> Point {
    let (mut left, mut at) = (SEEN_MM, Point { x: 0.0, y: 0.0 });
    for curve in curves {
        at = curve.at((left / curve.length()).min(1.0));
        left -= curve.length();
        if left <= 0.0 {
            break;
        }
    }
    at
}

/// Whether an arc is an inside corner with a little round in it.
fn is_corner(curve: &Curve) -> bool {
    matches!(*curve, Curve::Arc { radius, turn, .. } if radius < TIGHTEST_INSIDE && -turn.to_degrees() > INSIDE_CORNER_DEG)
}

fn corners(cell: &Cell, findings: &mut Findings) {
    let outline = Outline::new(&cell.finished);
    let inside = outline.inside_corners();
    if let Some((turn, at)) = inside.iter().max_by(|a, b| a.0.total_cmp(&b.0)) {
        let found = match inside.len() {
            1 => format!("an inside corner of {:.0}°", 180.0 + turn),
            count => format!("{count} inside corners, the largest of {:.0}°", 180.0 + turn),
        };
        findings.error(
            of_piece(cell, *at),
            found,
            "edges that a score can follow and a break can open",
            "An inside corner cannot be scored and broken: split the piece there with a lead line, or \
             draw a curve.",
        );
    }
    let points = outline.points();
    if let Some((angle, at)) = points.iter().min_by(|a, b| a.0.total_cmp(&b.0)) {
        let found = match points.len() {
            1 => format!("a corner of {angle:.1}°"),
            count => format!("{count} corners under {SHARPEST_CORNER_DEG:.0}°, the sharpest of {angle:.1}°"),
        };
        findings.warning(
            of_piece(cell, *at),
            found,
            "corners of 30° or more",
            "So sharp a corner loses its point. A lost tip hides under came, not under foil: blunt \
             it in the drawing or cut a spare.",
        );
    }
}

/// A bend inwards.
struct Bend {
    depth: f64,
    chord: f64,
    turn: f64,
    /// Its deepest point.
    at: Point,
}

/// Runs of curves that bend inwards, smoothly joined, each as one bend.
fn bends(outline: &Outline) -> Vec<Bend> {
    let count = outline.curves.len();
    let goes_on = |i: usize| outline.bends_in(i) && outline.is_smooth(i) && outline.bends_in(i + 1);
    if count > 1 && (0..count).all(goes_on) {
        return vec![];
    }
    let mut found = vec![];
    for first in (0..count).filter(|i| outline.bends_in(*i) && (count == 1 || !goes_on(i + count - 1))) {
        let mut last = first;
        while last + 1 < first + count && goes_on(last) {
            last += 1;
        }
        let (from, to) = (outline.curve(first).at(0.0), outline.curve(last).at(1.0));
        let chord = length(to - from);
        let along = (to - from) / chord.max(1e-9);
        let points = (first..=last).flat_map(|i| outline.curve(i).chords(0.05));
        let (depth, at) = points.fold((0.0, from), |deepest: (f64, Point), p| {
            let away = cross(along, p - from).abs();
            if away > deepest.0 { (away, p) } else { deepest }
        });
        let own = |i: usize| match *outline.curve(i) {
            Curve::Arc { turn, .. } => -turn.to_degrees(),
            Curve::Line { .. } => 0.0,
        };
        let turn = (first..=last).map(own).sum::<f64>() - (first..last).map(|i| outline.turn(i)).sum::<f64>();
        found.push(Bend { depth, chord, turn, at });
    }
    found
}

fn inside_curves(cell: &Cell, findings: &mut Findings) {
    let mut bends = bends(&Outline::new(&cell.finished));
    bends.retain(|bend| bend.depth >= 0.5);
    let is_too_deep = |bend: &Bend| bend.turn >= 179.0 || bend.depth * 2.0 >= bend.chord * 0.999;
    let (too_deep, bends): (Vec<Bend>, Vec<Bend>) = bends.into_iter().partition(is_too_deep);
    let tight = bends
        .into_iter()
        .filter(|bend| bend.chord < EASY_DEPTH * bend.depth)
        .collect();
    if let Some((at, found)) = tightest(too_deep, findings.1) {
        findings.error(
            of_piece(cell, at),
            found,
            "inside curves shallower than a half circle",
            "It cannot be broken out in steps; a half circle is the limit: split the piece with a lead line that \
             runs into the curve.",
        );
    }
    if let Some((at, found)) = tightest(tight, findings.1) {
        findings.warning(
            of_piece(cell, at),
            found,
            "a chord of 4 times the depth or more",
            "A tight inside curve takes up to a dozen scores, each broken out before the next: allow \
             time and a spare, or flatten the curve.",
        );
    }
}

/// Where the tightest of some bends is, and how many there are, in words.
fn tightest(bends: Vec<Bend>, units: Units) -> Option<(Point, String)> {
    let count = bends.len();
    let shape = |bend: &Bend| bend.chord / bend.depth;
    let worst = bends.into_iter().min_by(|a, b| shape(a).total_cmp(&shape(b)))?;
    let size = format!(
        "{} deep on a chord of {}",
        measure::length(worst.depth, units),
        measure::length(worst.chord, units)
    );
    let found = match count {
        1 => format!("an inside curve {size}"),
        _ => format!("{count} inside curves, the tightest {size}"),
    };
    Some((worst.at, found))
}

fn sliver(cell: &Cell, findings: &mut Findings) {
    let half_round = cell.finished.iter().map(Curve::length).sum::<f64>() / 2.0;
    let area = cell.finished.iter().map(Curve::twice_area).sum::<f64>() / 2.0;
    // The rectangle with the same area and perimeter: strips straight and bent alike.
    let root = (half_round * half_round - 4.0 * area).max(0.0).sqrt();
    let (size, width) = (f64::midpoint(half_round, root), (half_round - root) / 2.0);
    if width < SNAPS_WIDTH && size > SNAPS_LENGTH {
        findings.warning(
            of_piece(cell, cell.middle),
            format!("a strip of about {}", short_size(size, width, 1, findings.1)),
            match findings.1 {
                Units::Millimetres => "pieces at least 6 mm wide, or at most 125 mm long",
                Units::Inches => "pieces at least 1/4 in wide, or at most 5 in long",
            },
            "A longer, narrower piece snaps: divide it with a lead line, or cut spares.",
        );
    }
}
