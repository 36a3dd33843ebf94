//! Cells that a spreadsheet would take for formulas.

use std::borrow::Cow;

/// A cell that a spreadsheet takes for text or a number, never for a formula: one that begins with `=`, `+`, `-`, `@`, a tab or a
/// line break gets an apostrophe in front, as do those that would lose one to [`as_meant`].
///
/// ```
/// use cullet_list::{as_meant, as_text};
/// assert_eq!(as_text("=1+1"), "'=1+1");
/// assert_eq!(as_text("-12.5"), "-12.5");
/// assert_eq!(as_meant(&as_text("=1+1")), "=1+1");
/// ```
#[must_use]
pub fn as_text(cell: &str) -> Cow<'_, str> {
    let is_number = !cell.is_empty() && cell.replacen(',', ".", 1).parse::<f64>().is_ok_and(f64::is_finite);
    if (begins_a_formula(cell) && !(is_number && cell.starts_with('-'))) || as_meant(cell) != cell {
        return Cow::Owned(format!("'{cell}"));
    }
    Cow::Borrowed(cell)
}

/// What was meant by a cell that [`as_text`] may have written.
#[must_use]
pub fn as_meant(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if begins_a_formula(rest) || rest.starts_with('\'') => rest,
        _ => cell,
    }
}

/// CSV injection as OWASP describes it; the wide forms are those of East Asian keyboards.
fn begins_a_formula(cell: &str) -> bool {
    cell.starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}',
    ])
}
