//! Words from the job in files that know plain characters only.

/// Plain characters without brackets: umlauts are spelled out, what has no plain spelling becomes a question mark.
pub(crate) fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '(' | '[' | '{' => plain.push('<'),
            ')' | ']' | '}' => plain.push('>'),
            ' '..='~' => plain.push(c),
            'ä' | 'æ' => plain.push_str("ae"),
            'ö' | 'ø' | 'œ' => plain.push_str("oe"),
            'ü' => plain.push_str("ue"),
            'Ä' | 'Æ' => plain.push_str("Ae"),
            'Ö' | 'Ø' | 'Œ' => plain.push_str("Oe"),
            'Ü' => plain.push_str("Ue"),
            'ß' => plain.push_str("ss"),
            'à' | 'á' | 'â' | 'ã' | 'å' => plain.push('a'),
            'è' | 'é' | 'ê' | 'ë' => plain.push('e'),
            'ì' | 'í' | 'î' | 'ï' => plain.push('i'),
            'ò' | 'ó' | 'ô' | 'õ' => plain.push('o'),
            'ù' | 'ú' | 'û' => plain.push('u'),
            'ç' => plain.push('c'),
            'ñ' => plain.push('n'),
            '×' => plain.push('x'),
            '°' => plain.push_str(" deg"),
            c if c.is_control() || c.is_whitespace() => plain.push(' '),
            _ => plain.push('?'),
        }
    }
    plain
}

/// Comments of G-code, as many as it takes: none starts with a word that interpreters act on.
pub(crate) fn comments(text: &str, longest: usize) -> Vec<String> {
    let text = plain(text);
    let mut lines = vec![];
    let mut line = String::new();
    for word in text.split_whitespace() {
        for part in word.as_bytes().chunks(longest - 8) {
            let part = String::from_utf8_lossy(part);
            if !line.is_empty() && line.len() + part.len() + 5 > longest {
                lines.push(std::mem::take(&mut line));
            }
            line += if line.is_empty() { "" } else { " " };
            line += &part;
        }
    }
    lines.push(line);
    lines.into_iter().map(|line| format!("(- {line})")).collect()
}
