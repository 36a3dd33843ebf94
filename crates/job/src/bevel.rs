//! Whether a bevel can be ground at all.

use crate::file::BevelFile;
use crate::measure::told;
use crate::{Bevel, Report};
use cullet_geometry::{Outline, offset};
use cullet_trade::{LEAST_NOSE, WIDEST_BEVEL};

/// Room for rounding between inches and millimetres: 1/2 in counts as 13 mm, 1½ in as 38 (and is 38.1).
const WIDEST_ROUNDING: f64 = 0.1;

impl Bevel {
    /// A bevel `width` mm wide on glass of `thickness` mm that leaves `nose` mm: tan(angle) = (thickness − nose) / width.
    ///
    /// ```
    /// let bevel = cullet_job::Bevel::new(5.0, 12.7, 2.5);
    /// assert!((bevel.angle_deg - 11.1).abs() < 0.05);
    /// ```
    #[must_use]
    pub fn new(thickness: f64, width: f64, nose: f64) -> Self {
        Self {
            width,
            nose,
            angle_deg: (thickness - nose).atan2(width).to_degrees(),
        }
    }
}

/// The bevel in millimetres, with everything that makes it impossible reported.
pub(crate) fn check(
    report: &mut Report,
    place: &str,
    bevel: &BevelFile,
    unit_mm: f64,
    thickness: f64,
    finished: Option<&Outline>,
) -> Bevel {
    let bevel = Bevel::new(thickness, bevel.width * unit_mm, bevel.nose * unit_mm);
    let place = format!("{place}, bevel");
    let told = |mm: f64| told(mm, unit_mm);
    let (width, nose, glass) = (told(bevel.width), told(bevel.nose), told(thickness));
    if bevel.nose >= thickness {
        report.add(
            &place,
            format!("a nose of {nose} on glass of {glass}"),
            "a nose thinner than the glass",
            "A bevel takes glass off: give the thickness it leaves at the edge.",
        );
    } else if bevel.nose < LEAST_NOSE {
        report.add(
            &place,
            format!("a nose of {nose}"),
            format!("at least {}", told(LEAST_NOSE)),
            "So thin an edge chips (common practice; half the thickness is usual on 6 mm, 1/4 in glass): make the \
             bevel narrower or flatter, or take thicker glass.",
        );
    }
    if let Some((_, widest)) = WIDEST_BEVEL.iter().find(|(below, _)| thickness < *below)
        && bevel.width > widest + WIDEST_ROUNDING
    {
        report.add(
            &place,
            format!("a bevel {width} wide on glass of {glass}"),
            format!("at most {}", told(*widest)),
            match unit_mm {
                1.0 => "13 mm is the widest on 3.2 mm glass, 25 on 4, 38 on 5: make it narrower or take thicker glass.",
                _ => "1/2 in is the widest on 1/8 in glass, 1 in on 5/32, 1 1/2 in on 3/16: make it narrower or take thicker glass.",
            },
        );
    }
    let fits = |finished: &Outline| {
        let bounds = finished.bounds();
        // The box first: it is cheap, and keeps absurd widths from the offset.
        2.0 * bevel.width < bounds.width().min(bounds.height()) && !offset::shrink(finished, bevel.width).is_empty()
    };
    if finished.is_some_and(|finished| !fits(finished)) {
        report.add(
            &place,
            format!("a bevel {width} wide all round"),
            "a piece wider than twice the bevel",
            "Nothing would be left between the two bevels: make the bevel narrower or the piece wider.",
        );
    }
    bevel
}
