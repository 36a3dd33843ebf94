//! Tags that are written on the glass.
//!
//! A new offcut is `R` and a running number. Figures alone can be read upside down or from behind (66 and 99, 18 and 81);
//! the R in front shows which way up and from which face. Numbers are never given again, and none is given that differs
//! from a known tag only in dashes, blanks or capitals.

/// The letter in front of a running number.
const LETTER: char = 'R';

/// The tag of a running number.
pub(crate) fn numbered(number: u64) -> String {
    format!("{LETTER}{number}")
}

/// The tag of the `copy`-th of equal sheets that were entered under one name.
pub(crate) fn of_copy(name: &str, copy: u64) -> String {
    format!("{name}.{copy}")
}

/// A tag without what a slip of the hand changes.
pub(crate) fn bare(tag: &str) -> String {
    tag.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect()
}
