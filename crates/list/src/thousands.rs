//! Numbers that can be read in two ways: `1.220` is 1220 to one spreadsheet and 1.22 to another.
//!
//! In a list with decimal commas a point is a mark for thousands or, where someone typed it, a decimal point. Which one it is
//! shows in the column: `24.5` beside it can only be a decimal. Where nothing shows it, sizes a thousandfold apart are not
//! guessed at.

/// What the numbers of one column show.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Shown {
    /// A point that can only be a decimal sign.
    point: bool,
    /// A comma that can only be a decimal sign.
    comma: bool,
}

impl Shown {
    /// Takes in a cell of the column.
    pub(crate) fn take(&mut self, cell: &str) {
        for number in numbers(cell) {
            self.point |= number.contains('.') && !number.contains(',') && !is_doubtful(number, '.');
            self.comma |= number.contains(',') && !number.contains('.') && !is_doubtful(number, ',');
        }
    }

    /// A comma anywhere in the list says the same of all its columns.
    pub(crate) fn shows_comma(self) -> bool {
        self.comma
    }

    /// The first number of a cell that can be read in two ways; `commas` where the list shows that its commas are decimal.
    pub(crate) fn doubtful(self, cell: &str, commas: bool) -> Option<&str> {
        numbers(cell).find(|number| (!self.point && is_doubtful(number, '.')) || (!commas && is_doubtful(number, ',')))
    }
}

/// What to say of a doubtful number: found, expected, hint.
pub(crate) fn explain(number: &str) -> [String; 3] {
    let (whole, part) = number.split_once(['.', ',']).unwrap_or((number, ""));
    let decimals = part.trim_end_matches('0');
    let decimal = match decimals {
        "" => whole.to_owned(),
        decimals => format!("{whole},{decimals}"),
    };
    let sign = if number.contains('.') { "point" } else { "comma" };
    [
        format!("\"{number}\", which is {whole}{part} with a mark for thousands and {decimal} with a decimal {sign}"),
        "a number that reads in one way".to_owned(),
        format!("Write {whole}{part} or {decimal}; a mark for thousands is never written."),
    ]
}

/// The numbers of a cell, as outlines and flaws have several; those of path data always have decimal points.
fn numbers(cell: &str) -> impl Iterator<Item = &str> {
    let is_path = cell.starts_with(['M', 'm']);
    cell.split(|c: char| c.is_whitespace() || c == ';' || c == '|')
        .filter(move |word| !is_path && word.contains(|c: char| c.is_ascii_digit()))
}

/// Whether the sign stands where a mark for thousands would: up to three digits, then three, and no zero in front.
fn is_doubtful(number: &str, sign: char) -> bool {
    let Some((whole, part)) = number.trim_start_matches(['-', '+']).split_once(sign) else {
        return false;
    };
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    (1..=3).contains(&whole.len()) && !whole.starts_with('0') && digits(whole) && part.len() == 3 && digits(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(column: &[&str], commas: bool, expected: &[&str]) {
        let mut shown = Shown::default();
        column.iter().for_each(|cell| shown.take(cell));
        let doubtful: Vec<&str> = column.iter().filter_map(|cell| shown.doubtful(cell, commas)).collect();
        assert_eq!(doubtful, expected, "{column:?}");
    }

    #[test]
    fn a_point_before_three_digits_is_doubtful() {
        check(&["1.220", "610"], true, &["1.220"]);
        check(&["1.220", "610,5"], true, &["1.220"]);
        check(&["-1.220"], true, &["-1.220"]);
        check(&["0 0; 1.220 0; 1.220 610"], true, &["1.220"]);
    }

    #[test]
    fn what_reads_in_one_way_is_not() {
        check(&["0.375", "1.22", "1.2205", "1220", "1220.500", "1,220"], true, &[]);
        check(&["1.220", "24.5"], true, &[]);
        check(&["M 0 0 L 1.220 0 L 0 1.220 Z"], true, &[]);
        check(&["", "buy", "24 1/2"], true, &[]);
    }

    #[test]
    fn a_comma_is_doubtful_where_nothing_shows_what_it_is() {
        check(&["1,220"], false, &["1,220"]);
        check(&["24,5"], false, &[]);
    }

    #[test]
    fn both_readings_are_said() {
        let [found, _, hint] = explain("1.220");
        assert!(
            found.contains("1220 with") && found.contains("1,22 with a decimal point"),
            "{found}"
        );
        assert!(hint.contains("1220 or 1,22"), "{hint}");
        assert!(explain("2.000")[0].contains("and 2 with"));
    }
}
