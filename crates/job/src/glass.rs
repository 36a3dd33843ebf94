//! Checks of a glass and its sizes.

use crate::file::{FaceFile, GlassFile, GrainFile, PriceUnit};
use crate::measure::{bare, told};
use crate::{Glass, Grain, Report};

/// Thinnest and thickest glass that is cut by hand score and break, mm; common practice.
const THICKNESS: (f64, f64) = (1.0, 25.0);
/// Largest grinding allowance on one edge, mm; flat polish takes about 2.5 (Dutch processor's edge-work page).
const MOST_GRINDING: f64 = 10.0;
/// Widest strip and trim that make sense, mm; common practice.
const MOST_STRIP: f64 = 200.0;
/// A narrowest strip is not below this by default, mm (about 1/4 in round traced pieces, art-glass cutting tutorial).
const LEAST_DEFAULT_STRIP: f64 = 6.0;

/// Checks a glass and turns it into millimetres; `judge_sizes` is off where the file's unit is unknown.
pub(crate) fn check(report: &mut Report, glass: &GlassFile, unit_mm: f64, judge_sizes: bool) -> Glass {
    let mm = |size: f64| size * unit_mm;
    let thickness = mm(glass.thickness);
    let default_strip = (2.0 * thickness).max(LEAST_DEFAULT_STRIP);
    let narrowest_strip = glass.narrowest_strip.map_or(default_strip, mm);
    let edge_trim = glass.edge_trim.map_or(narrowest_strip, mm);
    let grind_allowance = mm(glass.grind_allowance);
    let place = |field: &str| format!("glass {}, field \"{field}\"", glass.code);

    if judge_sizes {
        if !(THICKNESS.0..=THICKNESS.1).contains(&thickness) {
            report.add(
                place("thickness"),
                told(thickness, unit_mm),
                format!("{} to {}", bare(THICKNESS.0, unit_mm), told(THICKNESS.1, unit_mm)),
                unit_hint(glass.thickness, unit_mm),
            );
        }
        for (field, size, most) in [
            ("grind_allowance", grind_allowance, MOST_GRINDING),
            ("narrowest_strip", narrowest_strip, MOST_STRIP),
            ("edge_trim", edge_trim, MOST_STRIP),
        ] {
            if size > most && thickness <= THICKNESS.1 {
                report.add(
                    place(field),
                    told(size, unit_mm),
                    format!("at most {}", told(most, unit_mm)),
                    "Check the number and the file's unit.",
                );
            }
        }
        // 0 is no strip but a shared score.
        if narrowest_strip > 0.0 && narrowest_strip < thickness {
            report.add(
                place("narrowest_strip"),
                format!(
                    "{} on glass of {}",
                    told(narrowest_strip, unit_mm),
                    told(thickness, unit_mm)
                ),
                "at least the thickness",
                "A strip narrower than the glass is thick does not break out: \
                 twice the thickness is usual.",
            );
        }
    }
    if glass.grain == GrainFile::None && glass.grain_tolerance > 0.0 {
        report.add(
            place("grain_tolerance"),
            format!("{}° for a glass without grain", glass.grain_tolerance),
            "no tolerance",
            "Take it out, or give the glass a grain: \"two-ways\" for reeds, \"one-way\" for shaded glass.",
        );
    }

    Glass {
        code: glass.code.clone(),
        name: glass.name.clone(),
        thickness,
        texture: glass.texture.clone(),
        grain: match glass.grain {
            GrainFile::None => Grain::None,
            GrainFile::TwoWays => Grain::TwoWays {
                tolerance: glass.grain_tolerance,
            },
            GrainFile::OneWay => Grain::OneWay {
                tolerance: glass.grain_tolerance,
            },
        },
        may_turn_over: glass.may_turn_over,
        scored_on_show_face: glass.scored_face == FaceFile::Show,
        grind_allowance,
        narrowest_strip,
        edge_trim,
        layout: glass.layout.unwrap_or_default(),
        price_per_mm2: glass.price / glass.price_unit.mm2(),
        price: (glass.price, glass.price_unit),
    }
}

impl PriceUnit {
    /// Its area in mm²; a square foot is 92 903.04 mm² since 1 ft = 304.8 mm exactly.
    #[must_use]
    pub fn mm2(self) -> f64 {
        match self {
            Self::SquareMetre => 1e6,
            Self::SquareFoot => 92_903.04,
        }
    }
}

fn unit_hint(written: f64, unit_mm: f64) -> String {
    let (other, other_name, other_code) = if unit_mm == 1.0 {
        (25.4, "inches", "in")
    } else {
        (1.0, "millimetres", "mm")
    };
    if (THICKNESS.0..=THICKNESS.1).contains(&(written * other)) {
        format!("Are {other_name} meant? Then write \"units\": \"{other_code}\" and all sizes in {other_name}.")
    } else {
        "Put the right thickness in.".to_owned()
    }
}
