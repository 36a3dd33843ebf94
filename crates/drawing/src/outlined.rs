//! Lead lines that a drawing program has turned into outlines: each line then is a closed shape as wide as its stroke was, and
//! the drawing falls apart into strips.

use crate::Stroke;
use crate::arrange::Drawn;
use crate::curve::Curve;
use crate::finding::{At, Findings};
use crate::settings::CartoonSettings;
use cullet_job::measure;

/// A strip is at least so many times as long as wide.
const STRIP: f64 = 10.0;
/// Strips that make a drawing one of outlines: at least so many, and this share of its lines' length.
const LEAST: usize = 3;
const SHARE: f64 = 0.5;

/// Names outlined strokes, all at once, instead of all that follows from them; `strokes` are what the lines were drawn as.
pub(crate) fn name(lines: &[Drawn], strokes: &[(usize, &Stroke)], settings: &CartoonSettings, findings: &mut Findings) {
    // No one draws a piece of glass narrower than half the narrowest face.
    let faces = settings.cames.iter().map(|used| used.came.face);
    let narrow = faces.fold(settings.border.face, f64::min) / 2.0;
    let (mut strips, mut long, mut all, mut widths) = (0, 0.0, 0.0, 0.0);
    let mut i = 0;
    while i < lines.len() {
        // What one element draws belongs together: a ring has an outer and an inner line.
        let place = &strokes[i].1.place;
        let end = i + strokes[i..]
            .iter()
            .take_while(|(_, stroke)| stroke.place == *place)
            .count();
        let element = &lines[i..end];
        let curves = || element.iter().flat_map(|line| &line.curves);
        let round: f64 = curves().map(Curve::length).sum();
        let area = curves().map(Curve::twice_area).sum::<f64>().abs() / 2.0;
        let wide = 2.0 * area / round;
        all += round;
        if element.iter().all(|line| line.closed) && wide < narrow && round / 2.0 > STRIP * wide {
            strips += 1;
            long += round;
            widths += wide;
        }
        i = end;
    }
    if strips < LEAST || long < SHARE * all {
        return;
    }
    findings
        .0
        .retain(|finding| finding.at.is_none() && finding.piece.is_none());
    let wide = widths / strips as f64;
    findings.error(
        At {
            source: format!("line {}", strokes[0].1.place.line),
            ..At::default()
        },
        format!(
            "{strips} closed shapes as narrow as a line, about {}",
            measure::length(wide, findings.1)
        ),
        "lead lines drawn as single lines, at the centre of the lead",
        "It looks as if strokes were turned into outlines: undo that in the drawing program. How wide the lead is the job says. \
         Nothing else is said of the drawing before.",
    );
}
