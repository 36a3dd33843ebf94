//! What TEXT and MTEXT say once their formatting codes are taken out.

use std::iter::Peekable;
use std::str::Chars;

/// The content of a TEXT: `%%` codes and `\U+` characters.
pub(super) fn plain(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    let mut chars = raw.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '%' => percent(&mut chars, &mut out),
            '\\' if chars.peek() == Some(&'U') => unicode(&mut chars, &mut out),
            c => out.push(c),
        }
    }
    out
}

/// The content of an MTEXT: lines parted by `\n`, without fonts, heights, colours and the like.
pub(super) fn formatted(raw: &str) -> String {
    let mut out = String::with_capacity(raw.len());
    let mut chars = raw.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '{' | '}' => {}
            '%' => percent(&mut chars, &mut out),
            '^' => match chars.next() {
                Some('J') => out.push('\n'),
                Some('I') => out.push(' '),
                Some(' ') => out.push('^'),
                _ => {}
            },
            '\\' => code(&mut chars, &mut out),
            c => out.push(c),
        }
    }
    out
}

fn code(chars: &mut Peekable<Chars>, out: &mut String) {
    match chars.peek().copied() {
        Some('U') => return unicode(chars, out),
        None => return out.push('\\'),
        _ => {}
    }
    match chars.next() {
        Some('P' | 'N' | 'X') => out.push('\n'),
        Some('~') => out.push(' '),
        Some(c @ ('\\' | '{' | '}')) => out.push(c),
        Some('L' | 'l' | 'O' | 'o' | 'K' | 'k') => {}
        // Font, height, width, slant, spacing, colour, alignment, paragraph: an argument up to a semicolon.
        Some('f' | 'F' | 'H' | 'W' | 'Q' | 'T' | 'C' | 'c' | 'A' | 'p') => {
            for c in chars.by_ref() {
                if c == ';' {
                    break;
                }
            }
        }
        Some('S') => stacked(chars, out),
        Some(c) => {
            out.push('\\');
            out.push(c);
        }
        None => {}
    }
}

/// A fraction, upper part, `/`, `#` or `^`, lower part.
fn stacked(chars: &mut Peekable<Chars>, out: &mut String) {
    let text: String = chars.by_ref().take_while(|c| *c != ';').collect();
    out.push_str(&text.replace(['#', '^'], "/").replace("/ ", "/"));
}

/// `%%d`, `%%c`, `%%p`, `%%%` and `%%nnn`; `%%u`, `%%o` and `%%k` only draw lines.
fn percent(chars: &mut Peekable<Chars>, out: &mut String) {
    if chars.peek() != Some(&'%') {
        return out.push('%');
    }
    chars.next();
    match chars.peek().copied() {
        Some('d' | 'D') => out.push('°'),
        Some('c' | 'C') => out.push('Ø'),
        Some('p' | 'P') => out.push('±'),
        Some('%') => out.push('%'),
        Some('u' | 'U' | 'o' | 'O' | 'k' | 'K') => {}
        Some('0'..='9') => {
            let mut value = 0_u32;
            for _ in 0..3 {
                let Some(digit) = chars.peek().and_then(|c| c.to_digit(10)) else {
                    break;
                };
                value = value * 10 + digit;
                chars.next();
            }
            return out.extend(char::from_u32(value).filter(|c| !c.is_control()));
        }
        _ => return out.push_str("%%"),
    }
    chars.next();
}

/// `\U+XXXX`; the backslash is already taken, `U` comes next.
fn unicode(chars: &mut Peekable<Chars>, out: &mut String) {
    let ahead: String = chars.clone().take(6).collect();
    let hex = ahead
        .strip_prefix("U+")
        .filter(|h| h.len() == 4 && h.chars().all(|c| c.is_ascii_hexdigit()));
    match hex
        .and_then(|h| u32::from_str_radix(h, 16).ok())
        .and_then(char::from_u32)
    {
        Some(c) => {
            chars.nth(5);
            out.push(c);
        }
        None => out.push('\\'),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formatting_codes_are_taken_out() {
        let check = |raw: &str, expect: &str| assert_eq!(formatted(raw), expect, "{raw}");
        check(r"{\fArial|b0|i0;12\PBlue}", "12\nBlue");
        check(r"\A1;\H2.5x;7\~a", "7 a");
        check(r"\S1/2; in \\ \{x\}", "1/2 in \\ {x}");
        check(r"\S1^ 2;", "1/2");
        check(r"\LA\l \C1;B\U+00E9", "A Bé");
        check(r"50%%% 45%%d", "50% 45°");
        check("end\\", "end\\");
        assert_eq!(plain(r"%%u12%%u %%c5 %%065 100% \U+2205 \P"), "12 Ø5 A 100% ∅ \\P");
    }
}
