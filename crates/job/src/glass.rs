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
pub(crate) fn check(report: &mut Report, file: &GlassFile, unit_mm: f64, judge_sizes: bool) -> Glass {
    let glass = in_millimetres(file, unit_mm);
    if judge_sizes {
        check_sizes(report, file, &glass, unit_mm);
    }
    if file.grain == GrainFile::None && file.grain_tolerance > 0.0 {
        report.add(
            place(file, "grain_tolerance"),
            format!("{}° for a glass without grain", file.grain_tolerance),
            "no tolerance",
            "Take it out, or give the glass a grain: \"two-ways\" for reeds, \"one-way\" for shaded glass.",
        );
    }
    glass
}

fn in_millimetres(file: &GlassFile, unit_mm: f64) -> Glass {
    let mm = |size: f64| size * unit_mm;
    let thickness = mm(file.thickness);
    let usual_strip = (2.0 * thickness).max(LEAST_DEFAULT_STRIP);
    let narrowest_strip = file.narrowest_strip.map_or(usual_strip, mm);
    let tolerance = file.grain_tolerance;
    Glass {
        code: file.code.clone(),
        name: file.name.clone(),
        thickness,
        texture: file.texture.clone(),
        grain: match file.grain {
            GrainFile::None => Grain::None,
            GrainFile::TwoWays => Grain::TwoWays { tolerance },
            GrainFile::OneWay => Grain::OneWay { tolerance },
        },
        may_turn_over: file.may_turn_over,
        scored_on_show_face: file.scored_face == FaceFile::Show,
        grind_allowance: mm(file.grind_allowance),
        narrowest_strip,
        edge_trim: file.edge_trim.map_or(narrowest_strip, mm),
        layout: file.layout.unwrap_or_default(),
        price_per_mm2: file.price / file.price_unit.mm2(),
        price: (file.price, file.price_unit),
    }
}

fn check_sizes(report: &mut Report, file: &GlassFile, glass: &Glass, unit_mm: f64) {
    let (thickness, strip) = (glass.thickness, glass.narrowest_strip);
    if !(THICKNESS.0..=THICKNESS.1).contains(&thickness) {
        report.add(
            place(file, "thickness"),
            told(thickness, unit_mm),
            format!("{} to {}", bare(THICKNESS.0, unit_mm), told(THICKNESS.1, unit_mm)),
            unit_hint(file.thickness, unit_mm),
        );
    }
    for (field, size, most) in [
        ("grind_allowance", glass.grind_allowance, MOST_GRINDING),
        ("narrowest_strip", strip, MOST_STRIP),
        ("edge_trim", glass.edge_trim, MOST_STRIP),
    ] {
        if size > most && thickness <= THICKNESS.1 {
            report.add(
                place(file, field),
                told(size, unit_mm),
                format!("at most {}", told(most, unit_mm)),
                "Check the number and the file's unit.",
            );
        }
    }
    // 0 is no strip but a shared score.
    if strip > 0.0 && strip < thickness {
        report.add(
            place(file, "narrowest_strip"),
            format!("{} on glass of {}", told(strip, unit_mm), told(thickness, unit_mm)),
            "at least the thickness",
            "A strip narrower than the glass is thick does not break out: \
             twice the thickness is usual.",
        );
    }
}

fn place(glass: &GlassFile, field: &str) -> String {
    format!("glass {}, field \"{field}\"", glass.code)
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
