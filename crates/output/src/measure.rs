//! Lengths, areas and weights in the job's unit: millimetres, square metres and kilograms, or inches to the sixteenth, square
//! feet and pounds.

use crate::number::{fixed, plain};
use cullet_job::Units;

/// Millimetres in an inch.
const INCH: f64 = 25.4;

/// A length with its unit: a tenth of a millimetre, or the nearest sixteenth of an inch.
pub(crate) fn length(mm: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{mm:.1} mm"),
        Units::Inches => format!("{} in", sixteenths(mm / INCH)),
    }
}

/// A length with its unit, at most so many decimals of a millimetre and no trailing zeros, or the nearest sixteenth of an inch.
pub(crate) fn short(mm: f64, decimals: usize, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} mm", plain(mm, decimals)),
        Units::Inches => length(mm, units),
    }
}

/// Two lengths as [`short`] has them.
pub(crate) fn short_size(width: f64, height: f64, decimals: usize, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} × {} mm", plain(width, decimals), plain(height, decimals)),
        Units::Inches => size(width, height, units),
    }
}

/// An area with its unit, to a square centimetre or a thousandth of a square foot.
pub(crate) fn area(mm2: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} m²", fixed(mm2 / 1e6, 4)),
        // A square foot is 92 903.04 mm²: 1 ft = 304.8 mm.
        Units::Inches => format!("{} ft²", fixed(mm2 / 92_903.04, 3)),
    }
}

/// A weight to a tenth.
pub(crate) fn heavy(kg: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} kg", fixed(kg, 1)),
        Units::Inches => format!("{} lb", fixed(kg / POUND, 1)),
    }
}

/// Two lengths, across and up.
pub(crate) fn size(width: f64, height: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{width:.1} × {height:.1} mm"),
        Units::Inches => format!("{} × {} in", sixteenths(width / INCH), sixteenths(height / INCH)),
    }
}

/// Kilograms in a pound (international avoirdupois pound, 1959).
const POUND: f64 = 0.453_592_37;

/// A weight with its unit: hundredths of a kilogram or of a pound, thousandths below one.
pub(crate) fn weight(kg: f64, units: Units) -> String {
    let (weight, unit) = match units {
        Units::Millimetres => (kg, "kg"),
        Units::Inches => (kg / POUND, "lb"),
    };
    let places = if weight < 0.9995 { 3 } else { 2 };
    format!("{weight:.places$} {unit}")
}

fn sixteenths(inches: f64) -> String {
    let all = (inches * 16.0).round() as i64;
    let (whole, mut part) = (all / 16, all % 16);
    let mut of = 16;
    while part != 0 && part % 2 == 0 {
        (part, of) = (part / 2, of / 2);
    }
    match (whole, part) {
        (whole, 0) => whole.to_string(),
        (0, part) => format!("{part}/{of}"),
        (whole, part) => format!("{whole} {part}/{of}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inches_are_written_in_sixteenths() {
        let inches = |value: f64| length(value * INCH, Units::Inches);
        assert_eq!(inches(24.5), "24 1/2 in");
        assert_eq!(inches(0.437), "7/16 in");
        assert_eq!(inches(11.97), "12 in");
        assert_eq!(inches(0.0), "0 in");
        assert_eq!(size(609.6, 1231.9, Units::Inches), "24 × 48 1/2 in");
        assert_eq!(weight(5.57, Units::Inches), "12.28 lb");
        assert_eq!(area(92_903.04, Units::Inches), "1.000 ft²");
        assert_eq!(short_size(609.6, 100.04, 1, Units::Millimetres), "609.6 × 100 mm");
        assert_eq!(
            (short(6.0, 2, Units::Inches), heavy(66.98, Units::Inches)),
            ("1/4 in".into(), "147.7 lb".into())
        );
        assert_eq!(length(90.14, Units::Millimetres), "90.1 mm");
    }
}
