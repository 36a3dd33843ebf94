//! Pieces that can be planned but are hard to score, break or keep whole, each with what the trade says of it.

use crate::measure::{short_size, told};
use crate::{Bevel, Finding, Glass, Job, Piece, Report, Units};
use cullet_findings::counted;
use cullet_geometry::{Outline, Point, offset};
use cullet_trade::{
    BEVEL_ANGLES_DEG, INSIDE_CORNER_DEG, NOSE_ON_THICK, SHARPEST_CORNER_DEG, SNAPS_LENGTH, SNAPS_WIDTH, THICK,
};

impl Job {
    /// What the workshop should look at before it cuts: corners that lose their points, inside corners, pieces narrower
    /// than breaks out, strips that snap, unusual bevels. Nothing here keeps the job from being planned. `file` is the job
    /// file's name for messages.
    ///
    /// Each piece is named once, not again for its mirror image; corners and strips of the panels in `drawn` are left to
    /// what their drawings say. Cost O(n log n) in the corners of the job.
    #[must_use]
    pub fn warnings(&self, file: &str, drawn: &[&str]) -> Vec<Finding> {
        let mut report = Report::new(file);
        let units = self.source.units;
        let mut last = None;
        for piece in &self.pieces {
            let name = (&piece.id.panel, &piece.id.number);
            // The mirror image follows its piece.
            if last != Some(name) {
                let place = format!("panel {}, piece {}", piece.id.panel, piece.id.number);
                if !drawn.contains(&piece.id.panel.as_str()) {
                    warn_shape(&mut report, &place, piece, units);
                }
                warn(&mut report, &place, piece, &self.glasses[piece.glass], units);
            }
            last = Some(name);
        }
        report.into_findings()
    }
}

/// Corners and strips.
fn warn_shape(report: &mut Report, place: &str, piece: &Piece, units: Units) {
    let corners = corners(&piece.finished);

    let sharp: Vec<&Corner> = corners
        .iter()
        .filter(|corner| corner.angle_deg < SHARPEST_CORNER_DEG)
        .collect();
    if let Some(sharpest) = sharp.iter().min_by(|a, b| a.angle_deg.total_cmp(&b.angle_deg)) {
        report.add(
            place,
            format!(
                "{} under {SHARPEST_CORNER_DEG}°, the sharpest {:.1}°",
                counted(sharp.len(), "corner"),
                sharpest.angle_deg
            ),
            format!("corners of {SHARPEST_CORNER_DEG}° or more"),
            "So sharp a corner loses its point. A lost tip hides under came, not under foil: \
             blunt it in the drawing or cut a spare.",
        );
    }
    let inside = corners
        .iter()
        .filter(|corner| corner.angle_deg > 180.0 + INSIDE_CORNER_DEG)
        .count();
    if inside > 0 {
        report.add(
            place,
            counted(inside, "inside corner"),
            "edges that a score can follow and a break can open",
            "An inside corner cannot be scored and broken: split the piece there, saw it, or draw \
             a curve.",
        );
    }
    let (length, width) = as_strip(&piece.finished);
    if width < SNAPS_WIDTH && length > SNAPS_LENGTH {
        report.add(
            place,
            format!("a strip of about {}", short_size(length, width, 1, units)),
            match units {
                Units::Millimetres => "at least 6 mm wide, or at most 125 mm long",
                Units::Inches => "at least 1/4 in wide, or at most 5 in long",
            },
            "A strip longer and narrower than that snaps: divide it with a lead line, or cut spares.",
        );
    }
}

/// What its glass has to do with.
fn warn(report: &mut Report, place: &str, piece: &Piece, glass: &Glass, units: Units) {
    if offset::shrink(&piece.cut, glass.narrowest_strip / 2.0).is_empty() {
        report.add(
            place,
            format!(
                "a piece that is nowhere as wide as {}",
                told(glass.narrowest_strip, units.mm())
            ),
            format!("the narrowest strip of glass {}", glass.code),
            "A strip narrower than that does not break out cleanly: make it wider, or divide it \
             with a lead line.",
        );
    }
    if let Some(bevel) = &piece.bevel {
        warn_bevel(report, place, bevel, glass, units);
    }
}

fn warn_bevel(report: &mut Report, place: &str, bevel: &Bevel, glass: &Glass, units: Units) {
    let (flattest, steepest) = BEVEL_ANGLES_DEG;
    if !(flattest..=steepest).contains(&bevel.angle_deg) {
        report.add(
            format!("{place}, bevel"),
            format!("an angle of {:.1}°", bevel.angle_deg),
            format!("{flattest}° to {steepest}°"),
            "Bevels usually lie at 3 to 10° to the face, machine bevels at 7°: ask the beveller, or change width or nose.",
        );
    }
    if glass.thickness >= THICK && bevel.nose < NOSE_ON_THICK - 0.05 {
        report.add(
            format!("{place}, bevel"),
            format!(
                "a nose of {} on glass of {}",
                told(bevel.nose, units.mm()),
                told(glass.thickness, units.mm())
            ),
            match units {
                Units::Millimetres => "at least 3.2 mm",
                Units::Inches => "at least 1/8 in",
            },
            "A thinner nose chips in handling: make the bevel flatter or narrower.",
        );
    }
}

struct Corner {
    /// Angle on the glass side, degrees, 0 to 360.
    angle_deg: f64,
}

/// The angle of the glass at each corner.
fn corners(outline: &Outline) -> Vec<Corner> {
    let points = outline.points();
    let n = points.len();
    (0..n)
        .map(|i| {
            let (before, at, after) = (points[(i + n - 1) % n], points[i], points[(i + 1) % n]);
            let (to_after, to_before): (Point, Point) = (after - at, before - at);
            let cross = to_after.x * to_before.y - to_after.y * to_before.x;
            let dot = to_after.x * to_before.x + to_after.y * to_before.y;
            Corner {
                angle_deg: cross.atan2(dot).to_degrees().rem_euclid(360.0),
            }
        })
        .collect()
}

/// Length and width of the rectangle with the same area and perimeter, straight strips and bent ones alike; a square for
/// shapes rounder than that.
fn as_strip(outline: &Outline) -> (f64, f64) {
    let points = outline.points();
    let sides = points.iter().zip(points.iter().cycle().skip(1));
    let half_perimeter = sides.map(|(a, b)| (b.x - a.x).hypot(b.y - a.y)).sum::<f64>() / 2.0;
    let root = (half_perimeter * half_perimeter - 4.0 * outline.area()).max(0.0).sqrt();
    (f64::midpoint(half_perimeter, root), (half_perimeter - root) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strip_is_as_long_and_wide_as_it_is() {
        let (length, width) = as_strip(&Outline::rectangle(125.0, 6.0));
        assert!((length - 125.0).abs() < 1e-9 && (width - 6.0).abs() < 1e-9);
    }

    #[test]
    fn corners_are_measured_on_the_glass_side() {
        let p = |x, y| Point { x, y };
        // A square with a notch of a right angle from its top.
        let notched = Outline::new(vec![
            p(0.0, 0.0),
            p(20.0, 0.0),
            p(20.0, 20.0),
            p(10.0, 10.0),
            p(0.0, 20.0),
        ]);
        let angles: Vec<f64> = notched
            .map(|o| corners(&o).iter().map(|c| c.angle_deg.round()).collect())
            .unwrap_or_default();
        assert_eq!(angles, [90.0, 90.0, 45.0, 270.0, 45.0]);
    }
}
