//! Numbers as a workshop writes them: decimal points or commas, fractions of an inch.

/// Which sign parts whole from decimal places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalSign {
    /// `24.5`
    Point,
    /// `24,5`; a point is one too.
    Comma,
}

/// A plain finite number.
#[must_use]
pub fn plain(text: &str, sign: DecimalSign) -> Option<f64> {
    let text = text.trim();
    let is_plain = |c: char| c.is_ascii_digit() || "+-.,eE".contains(c);
    // A separate exponent letter is allowed, a word such as NaN or inf is not.
    if !text.starts_with(|c: char| c.is_ascii_digit() || "+-.,".contains(c)) || !text.chars().all(is_plain) {
        return None;
    }
    let number: f64 = match sign {
        DecimalSign::Point => text.parse().ok()?,
        // One comma, or a point as everywhere: never both, that would be a thousands mark.
        DecimalSign::Comma if text.contains('.') && text.contains(',') => return None,
        DecimalSign::Comma => text.replacen(',', ".", 1).parse().ok()?,
    };
    number.is_finite().then_some(number)
}

/// A plain number, or where `fractions` are usual (inches) one such as `24 1/2`, `24-1/2`, `1/4` or `-1/4`.
#[must_use]
pub fn length(text: &str, sign: DecimalSign, fractions: bool) -> Option<f64> {
    let text = text.trim();
    if !fractions || !text.contains('/') {
        return plain(text, sign);
    }
    let (sense, size) = match text.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, text),
    };
    let (whole, fraction) = match size.rsplit_once([' ', '-']) {
        Some((whole, fraction)) => (digits(whole.trim_end())?, fraction),
        None => (0.0, size),
    };
    let (above, below) = fraction.split_once('/')?;
    let (above, below) = (digits(above)?, digits(below)?);
    (below > 0.0).then(|| sense * (whole + above / below))
}

/// Two sizes such as `300x200`, or `24 1/2x12` in inches, in mm; `None` where it is none, or not above 0.
#[must_use]
pub fn read_size(text: &str, unit_mm: f64) -> Option<(f64, f64)> {
    let (width, height) = text.split_once(['x', 'X', '×'])?;
    let side = |text: &str| {
        let size = length(text, DecimalSign::Point, unit_mm != 1.0)? * unit_mm;
        (size > 0.0).then_some(size)
    };
    Some((side(width)?, side(height)?))
}

fn digits(text: &str) -> Option<f64> {
    let fits = !text.is_empty() && text.len() <= 9 && text.bytes().all(|b| b.is_ascii_digit());
    if fits { text.parse().ok() } else { None }
}

#[cfg(test)]
mod tests {
    use super::DecimalSign::{Comma, Point};
    use super::*;

    #[track_caller]
    fn check(text: &str, sign: DecimalSign, fractions: bool, expected: Option<f64>) {
        assert_eq!(length(text, sign, fractions), expected, "{text:?}");
    }

    #[test]
    fn decimals() {
        check("24.5", Point, false, Some(24.5));
        check("24,5", Comma, false, Some(24.5));
        check("24.5", Comma, false, Some(24.5));
        check("24,5", Point, false, None);
        check("1.234,5", Comma, false, None);
        check("1,234,5", Comma, false, None);
        check("1e3", Point, false, Some(1000.0));
        check(" -3 ", Point, false, Some(-3.0));
    }

    #[test]
    fn no_numbers() {
        for text in [
            "", "nan", "NaN", "inf", "-inf", "infinity", "1e999", "e", "12mm", "0x10", "1_000", "--1", "½",
        ] {
            check(text, Point, true, None);
        }
    }

    #[test]
    fn fractions_of_an_inch() {
        check("24 1/2", Point, true, Some(24.5));
        check("24-1/2", Point, true, Some(24.5));
        check("24  3/8", Comma, true, Some(24.375));
        check("1/4", Point, true, Some(0.25));
        check("-1/4", Point, true, Some(-0.25));
        check("1/0", Point, true, None);
        check("1/", Point, true, None);
        check("24 1/2 1/2", Point, true, None);
        check("24 1/2", Point, false, None);
    }
}
