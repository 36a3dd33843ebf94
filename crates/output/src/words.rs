//! What users wrote, made fit for a drawing: one line, no characters that XML forbids, cut to the room there is.

/// `text` on one line: white space runs become one blank, control characters (XML 1.0, section 2.2 forbids most) go.
pub(crate) fn one_line(text: &str) -> String {
    let mut line = String::with_capacity(text.len());
    for word in text.split_whitespace() {
        let allowed = |c: &char| !c.is_control() && !matches!(*c, '\u{FFFE}' | '\u{FFFF}');
        let word: String = word.chars().filter(allowed).collect();
        if word.is_empty() {
            continue;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(&word);
    }
    line
}

/// How wide `text` is set in a sans-serif face of size 1, on the wide side of the faces in use, so that what fits here
/// fits on every machine.
pub(crate) fn width_em(text: &str, bold: bool) -> f64 {
    let plain: f64 = text.chars().map(char_em).sum();
    if bold { plain * 1.12 } else { plain }
}

/// Advance of one character; rounded up from wide open sans-serif faces (measured on DejaVu Sans).
fn char_em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' => 0.36,
        'f' | 'r' | 't' | '(' | ')' | '[' | ']' | '-' | '/' => 0.42,
        'm' | 'M' | 'w' | 'W' | '@' | '%' | '…' | '—' => 1.0,
        '0'..='9' => 0.64,
        'a'..='z' => 0.64,
        'A'..='Z' => 0.76,
        c if c.is_ascii() => 0.84,
        c if (c as u32) < 0x2000 => 0.8,
        _ => 1.3,
    }
}

/// `text` cut so that it is at most `room` wide at size 1; what was cut shows as `…`.
pub(crate) fn fitted(text: &str, bold: bool, room: f64) -> String {
    let text = one_line(text);
    if width_em(&text, bold) <= room {
        return text;
    }
    let mut kept = String::new();
    for c in text.chars() {
        kept.push(c);
        if width_em(&kept, bold) + width_em("…", bold) > room {
            kept.pop();
            break;
        }
    }
    format!("{}…", kept.trim_end())
}

/// Letters that stand for small pieces: without those that look like another letter or figure, are wide, or mean
/// something on the map (`m`, mirrored).
const KEYS: &[u8] = b"abcdefghjknpqrstuvxyz";

/// The n-th key, from 0: a, b, … z, aa, ab, …
pub(crate) fn key(n: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = n + 1;
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(KEYS[rest % KEYS.len()]));
        rest /= KEYS.len();
    }
    letters.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_one_clean_line() {
        assert_eq!(one_line("  a\u{0}b \n\t c\u{8} "), "ab c");
        assert_eq!(one_line("\u{1}"), "");
        assert_eq!(one_line("Reed & <Son> \"🪟\""), "Reed & <Son> \"🪟\"");
    }

    #[test]
    fn long_names_are_cut_with_an_ellipsis() {
        let cut = fitted(&"stair ".repeat(500), true, 20.0);
        assert!(cut.ends_with('…'), "{cut}");
        assert!(width_em(&cut, true) <= 20.0);
        assert_eq!(fitted("short", false, 20.0), "short");
    }

    #[test]
    fn keys_count_on_after_z() {
        assert_eq!(
            [0, 1, 20, 21, 22, 461, 462].map(key),
            ["a", "b", "z", "aa", "ab", "zz", "aaa"]
        );
    }
}
