//! How deep the elements of an XML text are nested, found without building them.
//!
//! The XML library calls itself once for each level, so that a short hostile file could use up the stack; this runs
//! before it. It goes through the text as XML 1.0 is written (comments, CDATA, processing instructions, a document type
//! with its entities) and need only be right up to the first place that is no XML, where the library stops.

/// Levels of entities within entities that the library expands.
const ENTITY_LEVELS: usize = 10;

/// The byte at which more than `most` levels are open, if any. Elements that entities hold count as opened one inside
/// the other, at every level of expansion.
pub(super) fn too_deep(source: &str, most: usize) -> Option<usize> {
    let text = source.as_bytes();
    let (mut at, mut open, mut in_entities) = (0, 0_usize, 0_usize);
    while let Some(start) = find(text, at, b"<") {
        let rest = &text[start..];
        at = if rest.starts_with(b"<!--") {
            past(text, start + 4, b"-->")
        } else if rest.starts_with(b"<![CDATA[") {
            past(text, start + 9, b"]]>")
        } else if rest.starts_with(b"<?") {
            past(text, start + 2, b"?>")
        } else if rest.starts_with(b"<!") {
            let (end, elements) = document_type(text, start);
            in_entities += elements;
            end
        } else if rest.starts_with(b"</") {
            open = open.saturating_sub(1);
            start + 2
        } else {
            let end = past_tag(text, start + 1);
            open += 1;
            if open + ENTITY_LEVELS * in_entities > most {
                return Some(start);
            }
            if text[..end].ends_with(b"/>") {
                open -= 1;
            }
            end
        };
    }
    None
}

pub(super) fn find(text: &[u8], from: usize, what: &[u8]) -> Option<usize> {
    let rest = text.get(from..)?;
    rest.windows(what.len()).position(|w| w == what).map(|i| from + i)
}

pub(super) fn past(text: &[u8], from: usize, what: &[u8]) -> usize {
    find(text, from, what).map_or(text.len(), |i| i + what.len())
}

/// Behind the `>` that stands outside quotes.
pub(super) fn past_tag(text: &[u8], from: usize) -> usize {
    let mut quote = None;
    for (i, byte) in text.iter().enumerate().skip(from) {
        match (quote, byte) {
            (None, b'>') => return i + 1,
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(q), b) if q == b => quote = None,
            _ => {}
        }
    }
    text.len()
}

/// Behind a document type, and how many elements its entities open.
fn document_type(text: &[u8], start: usize) -> (usize, usize) {
    let mut quote = None;
    let mut at = text.len();
    for (i, byte) in text.iter().enumerate().skip(start) {
        match (quote, byte) {
            (None, b'>') => return (i + 1, 0),
            (None, b'[') => {
                at = i + 1;
                break;
            }
            (None, b'"' | b'\'') => quote = Some(byte),
            (Some(q), b) if q == b => quote = None,
            _ => {}
        }
    }
    let mut elements = 0;
    while at < text.len() {
        let rest = &text[at..];
        at = if rest.starts_with(b"<!--") {
            past(text, at + 4, b"-->")
        } else if rest.starts_with(b"<?") {
            past(text, at + 2, b"?>")
        } else if rest.starts_with(b"<!ENTITY") {
            let end = past_tag(text, at + 8);
            let opens = |w: &&[u8]| w[0] == b'<' && !matches!(w[1], b'/' | b'!' | b'?');
            elements += text[at + 8..end].windows(2).filter(opens).count();
            end
        } else if rest.starts_with(b"<!") {
            past(text, at + 2, b">")
        } else if rest.starts_with(b"]") {
            return (past(text, at + 1, b">"), elements);
        } else {
            at + 1
        };
    }
    (text.len(), elements)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_counted_as_xml_counts_them() {
        let check = |source: &str, levels: usize| {
            assert_eq!(too_deep(source, levels), None, "{source}");
            assert!(levels == 0 || too_deep(source, levels - 1).is_some(), "{source}");
        };
        check("", 0);
        check("<a/>", 1);
        check("<a><b/><b><c x='>/>'/></b></a>", 3);
        check("<?x <a><b> ?><a><!-- <b><c> --><![CDATA[<b><c>]]></a>", 1);
        check("<!DOCTYPE a SYSTEM \"[<b>\"><a/>", 1);
        check(
            "<!DOCTYPE a [ <!-- ]> --> <!ELEMENT a ']> '> <!ENTITY e \"]>\"> ]><a><b/></a>",
            2,
        );
        check("<!DOCTYPE a [<!ENTITY e '<b><c/></b>'>]><a>&e;</a>", 21);
    }
}
