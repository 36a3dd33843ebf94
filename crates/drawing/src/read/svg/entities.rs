//! How much the entities of an XML text come to, found without expanding them.
//!
//! The XML library looks an entity up among all of them at every reference, puts its text there, and copies a run of text anew for
//! every part of it, so that a small file could ask for hours or for all memory; this runs before it.

use super::depth::{find, past, past_tag};

/// Most entities: drawing programs write some twenty.
const MOST_ENTITIES: usize = 200;
/// Most bytes that the library copies to join the parts of text runs.
const MOST_COPIED: usize = 1 << 30;
/// Levels of entities within entities that the library expands.
const LEVELS: usize = 10;

/// The byte at which entities are more than [`MOST_ENTITIES`], or all that is referred to more than `most` bytes, if any.
pub(super) fn too_long(source: &str, most: usize) -> Option<usize> {
    let text = source.as_bytes();
    let (entities, mut at) = declared(text);
    if let Some(entity) = entities.get(MOST_ENTITIES) {
        return Some(entity.at);
    }
    let lengths: Vec<usize> = entities
        .iter()
        .map(|e| expanded(&entities, e.value, LEVELS).0)
        .collect();
    let of = |name: &[u8]| entities.iter().position(|e| e.name == name).map(|i| lengths[i]);
    let (mut all, mut copied, mut parts, mut run) = (0_usize, 0_usize, 0_usize, 0_usize);
    while at < text.len() {
        let rest = &text[at..];
        let start = at;
        at = if rest.starts_with(b"<![CDATA[") {
            past(text, at + 9, b"]]>")
        } else if rest.starts_with(b"<!--") {
            past(text, at + 4, b"-->")
        } else if rest.starts_with(b"<") {
            past_tag(text, at + 1)
        } else {
            find(text, at, b"<").unwrap_or(text.len())
        };
        let long: usize = references(&text[start..at])
            .filter_map(of)
            .fold(0, usize::saturating_add);
        all = all.saturating_add(long);
        if rest.starts_with(b"<") && !rest.starts_with(b"<![CDATA[") {
            (parts, run) = (0, 0);
        } else {
            // Each part of a run copies all that is there of it.
            parts = parts.saturating_add(1 + references(&text[start..at]).count());
            run = run.saturating_add(at - start).saturating_add(long);
            copied = copied.max(parts.saturating_mul(run));
        }
        if all > most || copied > MOST_COPIED {
            return Some(start);
        }
    }
    None
}

struct Entity<'a> {
    at: usize,
    name: &'a [u8],
    value: &'a [u8],
}

/// The entities of the document type, and where the text after it begins.
fn declared(text: &[u8]) -> (Vec<Entity<'_>>, usize) {
    let mut entities = vec![];
    let Some(start) = find(text, 0, b"<!DOCTYPE") else {
        return (entities, 0);
    };
    let mut at = start + 9;
    while at < text.len() {
        let rest = &text[at..];
        at = if rest.starts_with(b"<!--") {
            past(text, at + 4, b"-->")
        } else if rest.starts_with(b"<!ENTITY") {
            let end = past_tag(text, at + 8);
            let words = &text[at + 8..end];
            let name = words
                .split(u8::is_ascii_whitespace)
                .find(|word| !word.is_empty() && *word != b"%");
            let quote = words.iter().position(|b| matches!(b, b'"' | b'\''));
            if let (Some(name), Some(quote)) = (name, quote) {
                let value = &words[quote + 1..];
                let long = value.iter().position(|b| *b == words[quote]).unwrap_or(value.len());
                entities.push(Entity {
                    at,
                    name,
                    value: &value[..long],
                });
            }
            end
        } else if rest.starts_with(b"<!") || rest.starts_with(b"<?") {
            past_tag(text, at + 2)
        } else if rest.starts_with(b"<") {
            return (entities, at);
        } else {
            at + 1
        };
        if entities.len() > MOST_ENTITIES {
            break;
        }
    }
    (entities, at)
}

/// How long a value is with all that it refers to, and how much was added up to know it: what is deeper or more than ever is
/// expanded is not followed.
fn expanded(entities: &[Entity<'_>], value: &[u8], levels: usize) -> (usize, usize) {
    let (mut long, mut work) = (value.len(), 1);
    if levels == 0 {
        return (long, work);
    }
    for name in references(value) {
        if let Some(inner) = entities.iter().find(|e| e.name == name) {
            let (more, worked) = expanded(entities, inner.value, levels - 1);
            long = long.saturating_add(more);
            work += worked;
        }
        if work > 100_000 {
            // So many at the least: far more than is allowed.
            return (usize::MAX, work);
        }
    }
    (long, work)
}

/// The names between `&` and `;`.
fn references(text: &[u8]) -> impl Iterator<Item = &[u8]> {
    text.split(|b| *b == b'&').skip(1).filter_map(|rest| {
        let end = rest.iter().take(100).position(|b| *b == b';')?;
        Some(&rest[..end])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_entities_come_to_is_known_before_they_are_expanded() {
        let longest = |source: &str| (0..2_000).find(|most| too_long(source, *most).is_none());
        assert_eq!(longest("<a b='&amp;'>&lt;</a>"), Some(0));
        assert_eq!(
            longest("<!DOCTYPE a [<!ENTITY e \"1234\">]><a b='&e;'>&e; and &e;</a>"),
            Some(12)
        );
        assert_eq!(
            longest("<!DOCTYPE a [<!ENTITY e '12'><!ENTITY f '&e;&e;'>]><a>&f;</a>"),
            Some(10)
        );
        assert_eq!(longest("<!DOCTYPE a [<!-- <!ENTITY e '12'> -->]><a>&e;</a>"), Some(0));
        // One that refers to itself is left to the library, which refuses it.
        assert!(longest("<!DOCTYPE a [<!ENTITY e '&e;'>]><a>&e;</a>").is_some());
        let text = format!("<a>{}</a>", "<![CDATA[x]]>".repeat(100_000));
        assert!(too_long(&text, 0).is_some(), "joined a hundred thousand times");
        let text = format!("<a>{}</a>", "<b>x</b>".repeat(100_000));
        assert!(too_long(&text, 0).is_none());
    }
}
