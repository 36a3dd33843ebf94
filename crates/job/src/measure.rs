//! Lengths, areas and weights in the unit of a job or a rack: millimetres, square metres and kilograms, or inches, square feet and
//! pounds. A person reads inches to the sixteenth; tables for spreadsheets have decimals ([`Scale`]).
//!
//! ```
//! use cullet_job::{Units, measure};
//! assert_eq!(measure::short_size(609.6, 1231.9, 1, Units::Inches), "24 × 48 1/2 in");
//! assert_eq!(measure::area(92_903.04, Units::Inches), "1.000 ft²");
//! let feet = measure::areas(Units::Inches);
//! assert_eq!((feet.code, 185_806.08 / feet.one), ("ft2", 2.0));
//! ```

use crate::Units;

/// `value` with exactly so many decimals, never `-0`.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// At most so many decimals, trailing zeros dropped.
fn plain(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// A unit that figures are given in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// As tables for people head their columns: `m²`.
    pub sign: &'static str,
    /// As tables for spreadsheets name their columns: `m2`.
    pub code: &'static str,
    /// One of it, in millimetres, square millimetres or kilograms.
    pub one: f64,
}

impl Scale {
    const fn new(sign: &'static str, code: &'static str, one: f64) -> Self {
        Self { sign, code, one }
    }
}

/// A size as findings tell it, in the unit of the file that it stands in (`unit_mm` millimetres make one): no needless decimals.
pub(crate) fn told(mm: f64, unit_mm: f64) -> String {
    format!("{} {}", bare(mm, unit_mm), if unit_mm == 1.0 { "mm" } else { "in" })
}

/// The same without its unit.
pub(crate) fn bare(mm: f64, unit_mm: f64) -> String {
    plain(mm / unit_mm, 3)
}

/// Of sizes: millimetres or inches.
#[must_use]
pub fn lengths(units: Units) -> Scale {
    match units {
        Units::Millimetres => Scale::new("mm", "mm", 1.0),
        Units::Inches => Scale::new("in", "in", INCH),
    }
}

/// Of lead: metres or feet.
#[must_use]
pub fn runs(units: Units) -> Scale {
    match units {
        Units::Millimetres => Scale::new("m", "m", 1000.0),
        Units::Inches => Scale::new("ft", "ft", 12.0 * INCH),
    }
}

/// Of areas: square metres or square feet.
#[must_use]
pub fn areas(units: Units) -> Scale {
    match units {
        Units::Millimetres => Scale::new("m²", "m2", 1e6),
        Units::Inches => Scale::new("ft²", "ft2", SQUARE_FOOT),
    }
}

/// Of weights: kilograms or pounds.
#[must_use]
pub fn weights(units: Units) -> Scale {
    match units {
        Units::Millimetres => Scale::new("kg", "kg", 1.0),
        Units::Inches => Scale::new("lb", "lb", POUND),
    }
}

/// A size as it is written on glass, without its unit: whole millimetres or sixteenths of an inch, never more than there is.
#[must_use]
pub fn down(mm: f64, units: Units) -> String {
    match units {
        Units::Millimetres => fixed((mm + 1e-6).floor(), 0),
        Units::Inches => sixteenths(((mm + 1e-6) / INCH * 16.0).floor() / 16.0),
    }
}

/// Two of them, across and up.
#[must_use]
pub fn down_size(width: f64, height: f64, units: Units) -> String {
    format!("{} × {}", down(width, units), down(height, units))
}

/// A length of lead with its unit, to a centimetre or a hundredth of a foot.
#[must_use]
pub fn long(mm: f64, units: Units) -> String {
    let scale = runs(units);
    format!("{} {}", fixed(mm / scale.one, 2), scale.sign)
}

/// A length that is told to be exact: so many decimals of a millimetre, or thousandths of an inch.
#[must_use]
pub fn exact(mm: f64, decimals: usize, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} mm", fixed(mm, decimals)),
        Units::Inches => format!("{} in", fixed(mm / INCH, 3)),
    }
}

/// Millimetres in an inch.
const INCH: f64 = 25.4;

/// A length with its unit: a tenth of a millimetre, or the nearest sixteenth of an inch.
#[must_use]
pub fn length(mm: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{mm:.1} mm"),
        Units::Inches => format!("{} in", sixteenths(mm / INCH)),
    }
}

/// A length with its unit, at most so many decimals of a millimetre and no trailing zeros, or the nearest sixteenth of an inch.
#[must_use]
pub fn short(mm: f64, decimals: usize, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} mm", plain(mm, decimals)),
        Units::Inches => length(mm, units),
    }
}

/// Two lengths as [`short`] has them.
#[must_use]
pub fn short_size(width: f64, height: f64, decimals: usize, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} × {} mm", plain(width, decimals), plain(height, decimals)),
        Units::Inches => size(width, height, units),
    }
}

/// An area with its unit, to a square centimetre or a thousandth of a square foot.
#[must_use]
pub fn area(mm2: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} m²", fixed(mm2 / 1e6, 4)),
        Units::Inches => format!("{} ft²", fixed(mm2 / SQUARE_FOOT, 3)),
    }
}

/// A weight to a tenth.
#[must_use]
pub fn heavy(kg: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{} kg", fixed(kg, 1)),
        Units::Inches => format!("{} lb", fixed(kg / POUND, 1)),
    }
}

/// Two lengths, across and up.
#[must_use]
pub fn size(width: f64, height: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{width:.1} × {height:.1} mm"),
        Units::Inches => format!("{} × {} in", sixteenths(width / INCH), sixteenths(height / INCH)),
    }
}

/// Square millimetres in a square foot: 1 ft = 304.8 mm.
const SQUARE_FOOT: f64 = 92_903.04;

/// Kilograms in a pound (international avoirdupois pound, 1959).
const POUND: f64 = 0.453_592_37;

/// A weight with its unit: hundredths of a kilogram or of a pound, thousandths below one.
#[must_use]
pub fn weight(kg: f64, units: Units) -> String {
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
        assert_eq!(down_size(609.99, 25.39, Units::Millimetres), "609 × 25");
        assert_eq!(down_size(609.6, 25.39, Units::Inches), "24 × 15/16");
        assert_eq!(
            (long(609.6, Units::Inches), long(609.6, Units::Millimetres)),
            ("2.00 ft".into(), "0.61 m".into())
        );
        assert_eq!(exact(2.0, 2, Units::Inches), "0.079 in");
    }
}
