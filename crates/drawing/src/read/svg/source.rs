//! The text of an SVG file: its characters, its lines, what its reader says of them.

use super::super::ReadError;
use super::super::limits::Gather;
use roxmltree::Node;
use std::borrow::Cow;

pub(super) fn xml_error(error: &roxmltree::Error, gather: &Gather, lines: &Lines) -> ReadError {
    use roxmltree::Error;
    match error {
        Error::NodesLimitReached | Error::AttributesLimitReached | Error::NamespacesLimitReached => {
            gather.limit(crate::read::Limit::Elements, "the file")
        }
        Error::UnclosedRootNode | Error::UnexpectedEndOfStream => ReadError::Truncated {
            line: lines.last(),
            inside: "the outermost element".to_owned(),
        },
        _ => ReadError::Xml {
            line: error.pos().row,
            reason: error.to_string(),
        },
    }
}

/// UTF-8, UTF-16 with a byte order mark, or what the XML declaration says if that is Latin-1.
pub(super) fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, ReadError> {
    for (mark, read) in [
        ([0xff, 0xfe], u16::from_le_bytes as fn([u8; 2]) -> u16),
        ([0xfe, 0xff], u16::from_be_bytes),
    ] {
        if let Some(rest) = bytes.strip_prefix(&mark) {
            let units: Vec<u16> = rest.chunks_exact(2).map(|pair| read([pair[0], pair[1]])).collect();
            return String::from_utf16(&units)
                .map(Cow::Owned)
                .map_err(|_| ReadError::Encoding {
                    line: 1,
                    expected: "UTF-16".to_owned(),
                });
        }
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    std::str::from_utf8(bytes).map(Cow::Borrowed).or_else(|error| {
        let head = String::from_utf8_lossy(&bytes[..bytes.len().min(200)]).to_ascii_lowercase();
        if ["iso-8859-1", "latin1", "windows-1252"]
            .iter()
            .any(|name| head.contains(name))
        {
            return Ok(Cow::Owned(bytes.iter().copied().map(char::from).collect()));
        }
        let before = &bytes[..error.valid_up_to()];
        Err(ReadError::Encoding {
            line: line_number(before.iter().filter(|b| **b == b'\n').count()),
            expected: "UTF-8".to_owned(),
        })
    })
}

pub(super) fn line_number(ends_before: usize) -> u32 {
    u32::try_from(ends_before + 1).unwrap_or(u32::MAX)
}

/// Where lines end, to give a byte's line in O(log n).
pub(super) struct Lines(Vec<usize>);

impl Lines {
    pub(super) fn new(source: &str) -> Self {
        Self(
            source
                .bytes()
                .enumerate()
                .filter(|(_, b)| *b == b'\n')
                .map(|(i, _)| i)
                .collect(),
        )
    }

    pub(super) fn at(&self, byte: usize) -> u32 {
        line_number(self.0.partition_point(|end| *end < byte))
    }

    pub(super) fn of(&self, node: Node) -> u32 {
        self.at(node.range().start)
    }

    pub(super) fn last(&self) -> u32 {
        line_number(self.0.len())
    }
}
