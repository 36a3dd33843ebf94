//! The table's own lines of G-code.

/// The most characters of a line of G-code: some controllers keep no more than 79.
pub const LONGEST_LINE: usize = 70;

/// What is wrong with a line of the user's own.
pub(super) fn bad_line(line: &str, steering: Option<char>) -> Option<(String, &'static str)> {
    let quoted = || format!("\"{}\"", line.escape_debug());
    if line.trim().is_empty() || line.len() > LONGEST_LINE - 7 || !line.bytes().all(|b| (32..127).contains(&b)) {
        return Some((quoted(), "a line of 1 to 63 plain characters"));
    }
    let mut depth = 0;
    let mut words = String::new();
    for c in line.chars() {
        match c {
            '(' => depth += 1,
            ')' => depth -= 1,
            _ if depth == 0 => words.push(c.to_ascii_uppercase()),
            _ => {}
        }
        if !(0..=1).contains(&depth) {
            return Some((quoted(), "brackets that open and close, none inside another"));
        }
    }
    if depth != 0 {
        return Some((quoted(), "brackets that open and close, none inside another"));
    }
    let moves = |c: char| "XYIJRN%".contains(c) || Some(c) == steering;
    let words: String = words.split_whitespace().collect();
    let ends = ["M2", "M02", "M30"].iter().any(|end| {
        words
            .match_indices(end)
            .any(|(at, _)| !words[at + end.len()..].starts_with(|c: char| c.is_ascii_digit() || c == '.'))
    });
    match words.chars().find(|c| moves(*c)) {
        Some(_) => Some((quoted(), "a line without X, Y, I, J, R, N, % and the wheel's axis")),
        None if ends => Some((quoted(), "a line that does not end the file")),
        None if ["G20", "G21", "G90", "G91", "G92", "G55", "G18", "G19", "G93"]
            .iter()
            .any(|g| words.contains(g)) =>
        {
            Some((
                quoted(),
                "a line that leaves units, plane, zero and distances as they are",
            ))
        }
        None => None,
    }
}
