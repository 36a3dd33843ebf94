//! Double quotes that do not pair: the list's reader would take everything up to the next one for a single cell.

/// The line and the beginning of the first cell whose opening quote is not closed where the cell ends.
pub(crate) fn unbalanced(text: &str, separator: u8) -> Option<(usize, String)> {
    let separator = char::from(separator);
    let mut rest = text.char_indices().peekable();
    let mut line = 1;
    let (mut at_start_of_line, mut at_start_of_cell) = (true, true);
    while let Some((at, c)) = rest.next() {
        if at_start_of_line && c == '#' {
            while rest.next_if(|(_, c)| *c != '\n').is_some() {}
            continue;
        }
        if at_start_of_cell && c == '"' {
            let opened = line;
            let closed = loop {
                match rest.next() {
                    None => break false,
                    Some((_, '\n')) => line += 1,
                    Some((_, '"')) if rest.next_if(|(_, c)| *c == '"').is_none() => {
                        break match rest.peek() {
                            None => true,
                            Some((_, next)) => *next == separator || matches!(next, '\n' | '\r'),
                        };
                    }
                    Some(_) => {}
                }
            };
            if !closed {
                let cell = text[at..].lines().next().unwrap_or_default();
                return Some((opened, cell.to_owned()));
            }
        }
        at_start_of_line = c == '\n';
        at_start_of_cell = c == '\n' || c == separator;
        line += usize::from(c == '\n');
    }
    None
}

#[cfg(test)]
mod tests {
    use super::unbalanced;

    #[track_caller]
    fn check(text: &str, expected: Option<usize>) {
        assert_eq!(unbalanced(text, b',').map(|(line, _)| line), expected, "{text:?}");
    }

    #[test]
    fn pairs_are_fine() {
        check("a,b\n\"c\",\"d, e\"\n", None);
        check("\"say \"\"so\"\"\"\r\n\"\",x", None);
        check("\"two\nlines\",b\n", None);
        check("24\" wide,b\n", None);
        check("# it's \"odd\nb\n", None);
    }

    #[test]
    fn the_line_that_opens_is_named() {
        check("a\nb,\"c\nd\n", Some(2));
        check("a\n\nb,\"c\nd,\"e\"\n", Some(3));
        check("\"24\" wide,b\n", Some(1));
    }
}
