//! Parts of the pages: style, tables, words made fit for HTML.

use crate::words::one_line;
use std::fmt::Write;

/// The style of every page: black on white, made to be printed and to be read on a phone.
pub(crate) const STYLE: &str = include_str!("style.css");

/// A table: its caption, its columns (a figure's begins with `#`) and rows.
pub(crate) fn table(caption: &str, columns: &[&str], rows: &[Vec<String>]) -> String {
    let is_figure = |c: usize| columns[c].starts_with('#');
    let class = |c: usize| if is_figure(c) { " class=\"n\"" } else { "" };
    let mut text = format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{0}\"><table><caption>{0}</caption><thead><tr>",
        escaped(caption)
    );
    for (c, column) in columns.iter().enumerate() {
        let _ = write!(
            text,
            "<th scope=\"col\"{}>{}</th>",
            class(c),
            column.trim_start_matches('#')
        );
    }
    text.push_str("</tr></thead><tbody>");
    for row in rows {
        text.push_str("<tr>");
        for (c, cell) in row.iter().enumerate() {
            let cell = escaped(cell);
            let _ = match c {
                0 => write!(text, "<th scope=\"row\"{}>{cell}</th>", class(c)),
                _ => write!(text, "<td{}>{cell}</td>", class(c)),
            };
        }
        text.push_str("</tr>");
    }
    text.push_str("</tbody></table></div>\n");
    text
}

/// Words on one line, fit for HTML.
pub(crate) fn escaped(words: &str) -> String {
    escaped_lines(&one_line(words))
}

/// Words with their lines, fit for HTML.
pub(crate) fn escaped_lines(words: &str) -> String {
    words
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}
