//! Numbers as they are written into files: plain decimals, never an exponent, never `-0`.

/// `value` with at most `decimals` decimals, trailing zeros dropped; `0` for anything that is not a finite number.
pub(crate) fn plain(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    if !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `value` with exactly `decimals` decimals; zero for anything that is not a finite number.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let value = if value.is_finite() { value } else { 0.0 };
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// A length drawn on a map: a thousandth of a millimetre.
pub(crate) fn mm(value: f64) -> String {
    plain(value, 3)
}

/// A whole number of units of the last place, written with a decimal point.
pub(crate) fn decimal(units: i64, places: u32) -> String {
    let one = 10_u64.pow(places);
    let (whole, part) = (units.unsigned_abs() / one, units.unsigned_abs() % one);
    let sign = if units < 0 { "-" } else { "" };
    if places == 0 {
        return format!("{sign}{whole}");
    }
    format!("{sign}{whole}.{part:0width$}", width = places as usize)
}

#[cfg(test)]
mod tests {
    use super::{fixed, plain};

    #[test]
    fn numbers_are_plain_decimals() {
        for (value, decimals, expect) in [
            (0.0, 3, "0"),
            (-0.0, 3, "0"),
            (-0.0004, 3, "0"),
            (1.5, 3, "1.5"),
            (1200.0, 3, "1200"),
            (-12.3456, 3, "-12.346"),
            (1e-9, 3, "0"),
            (1e9, 0, "1000000000"),
            (f64::NAN, 2, "0"),
        ] {
            assert_eq!(plain(value, decimals), expect);
        }
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(2.0, 4), "2.0000");
    }
}
