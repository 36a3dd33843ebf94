//! DXF (the ASCII form, R12 and later) to strokes and texts: sections, layers and blocks. The file's pairs of lines are
//! read in [`groups`], entities in [`entity`], polylines and splines in [`curves`], texts in [`text`].
//!
//! An own reader of the format's pairs of lines, because every stroke must know its line in the file, nothing may be
//! dropped without being named, and limits must hold while reading.

mod curves;
mod entity;
mod groups;
mod text;

use super::affine::Affine;
use super::{ReadError, ReadOptions, checked_size};
use crate::drawing::Drawing;
#[cfg(doc)]
use crate::drawing::FileFacts;
use groups::{Group, Record};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// How a DXF file in the binary form begins.
pub(super) const BINARY: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\x00";

/// The drawing in an ASCII DXF file.
///
/// Read: LINE, LWPOLYLINE and POLYLINE with bulges, ARC, CIRCLE, ELLIPSE, SPLINE (degree 1 to 5, plain or rational, by
/// control points), INSERT nested, scaled, turned, mirrored and in arrays, TEXT, MTEXT and ATTRIB, extrusion (0, 0, −1),
/// $INSUNITS. Arcs stay arcs, also in blocks scaled unequally; heights above the drawing plane are left aside. What lies on
/// layers that are frozen, off or not printed (Defpoints never is) and invisible entities are left out and counted in
/// [`FileFacts::unseen`]; in a block, what lies on layer 0 takes the layer of the
/// INSERT. Everything else, paper space included, is named in [`Drawing::unread`].
///
/// # Errors
/// See [`ReadError`]. A file that does not say its unit is refused unless [`ReadOptions::unit_mm`] gives it.
pub fn dxf(bytes: &[u8], options: &ReadOptions) -> Result<Drawing, ReadError> {
    let unit_mm = options.checked_unit()?;
    let mut gather = checked_size(bytes, options)?;
    if bytes.starts_with(BINARY) {
        return Err(ReadError::Kind {
            found: "a DXF in the binary form".to_owned(),
            hint: "save the drawing as DXF written as text (ASCII)".to_owned(),
        });
    }
    let source = decode(bytes);
    let groups = groups::parse(&source)?;
    let file = File::new(&groups)?;
    let stated = match unit_mm {
        Some(unit) => Some(unit),
        None => file.unit_mm()?,
    };
    gather.in_mm = stated.is_some();
    gather
        .facts()
        .layers
        .extend(file.layers.values().map(|layer| layer.name.to_owned()));
    gather.facts().scale.unit_mm = stated.unwrap_or(1.0);
    let scale = stated.unwrap_or(1.0);
    let mut reader = entity::Reader::new(&file, gather);
    reader.entities(&file.entities, &entity::Context::model(Affine::scale(scale, scale)))?;
    let gather = reader.gather;
    if stated.is_none() {
        let (width, height) = gather.size();
        return Err(ReadError::UnitUnstated { width, height });
    }
    gather.finish()
}

/// Whether text begins as a DXF does: a group code, then a section or a comment.
pub(super) fn looks_like(text: &[u8]) -> bool {
    let mut lines = text.split(|b| *b == b'\n').map(<[u8]>::trim_ascii);
    match (lines.next(), lines.next()) {
        (Some(b"0"), Some(what)) => what == b"SECTION",
        (Some(b"999"), Some(_)) => true,
        _ => false,
    }
}

/// UTF-8, as files since 2007 are; else Latin-1, which older ones mostly are and in which no byte is wrong.
fn decode(bytes: &[u8]) -> Cow<'_, str> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(bytes.iter().copied().map(char::from).collect()),
    }
}

/// The parts of a file that are read.
struct File<'a> {
    header: &'a [Group<'a>],
    layers: BTreeMap<String, Layer<'a>>,
    blocks: BTreeMap<String, Block<'a>>,
    entities: Vec<Record<'a>>,
}

/// A layer as the file's table has it.
#[derive(Debug, Clone, Copy)]
struct Layer<'a> {
    name: &'a str,
    state: LayerState,
}

/// Whether a layer shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum LayerState {
    On,
    Off,
    Frozen,
    NotPrinted,
}

/// The layer on which CAD programs put what only they need; it is never printed.
const NEVER_PRINTED: &str = "DEFPOINTS";

/// A block that INSERT draws.
struct Block<'a> {
    base: [f64; 2],
    external: bool,
    records: Vec<Record<'a>>,
}

/// Names of layers and blocks do not tell capitals from small letters.
fn key(name: &str) -> String {
    name.trim().to_uppercase()
}

impl<'a> File<'a> {
    fn new(groups: &'a [Group<'a>]) -> Result<Self, ReadError> {
        let mut file = Self {
            header: &[],
            layers: BTreeMap::new(),
            blocks: BTreeMap::new(),
            entities: vec![],
        };
        let mut has_entities = false;
        let mut rest = groups;
        while let Some(group) = rest.first() {
            if group.code == 0 && group.value.trim() == "EOF" {
                return Ok(file);
            }
            rest = &rest[1..];
            if group.code != 0 || group.value.trim() != "SECTION" {
                continue;
            }
            let name = rest.first().filter(|g| g.code == 2).map_or("", |g| g.value.trim());
            let Some(end) = rest.iter().position(|g| g.code == 0 && g.value.trim() == "ENDSEC") else {
                let last = rest.iter().rev().find(|g| g.code == 0);
                let what = last.map_or(String::new(), |g| format!(", in {} of line {}", g.value.trim(), g.line));
                return Err(ReadError::Truncated {
                    line: groups.last().map_or(1, |g| g.line + 1),
                    inside: format!("section {name}{what}"),
                });
            };
            let body = &rest[..end];
            match name {
                "HEADER" => file.header = body,
                "TABLES" => file.read_layers(body),
                "BLOCKS" => file.read_blocks(body),
                "ENTITIES" => {
                    has_entities = true;
                    file.entities = groups::records(body);
                }
                _ => {}
            }
            rest = &rest[end + 1..];
        }
        // A file cut after its drawing has lost nothing that is read.
        if has_entities {
            return Ok(file);
        }
        Err(ReadError::Truncated {
            line: groups.last().map_or(1, |g| g.line + 1),
            inside: "the file, before its section ENTITIES".to_owned(),
        })
    }

    fn read_layers(&mut self, body: &'a [Group<'a>]) {
        for record in groups::records(body).iter().filter(|r| r.kind == "LAYER") {
            let state = if record.int(70) & 1 != 0 {
                LayerState::Frozen
            } else if record.int(62) < 0 {
                LayerState::Off
            } else if record.all(290).next().is_some_and(|flag| flag.trim() == "0") {
                LayerState::NotPrinted
            } else {
                LayerState::On
            };
            let name = record.text(2).trim();
            self.layers.insert(key(name), Layer { name, state });
        }
    }

    fn read_blocks(&mut self, body: &'a [Group<'a>]) {
        let mut open: Option<(String, Block<'a>)> = None;
        for record in groups::records(body) {
            match record.kind {
                "BLOCK" => {
                    let block = Block {
                        base: [record.number(10).unwrap_or(0.0), record.number(20).unwrap_or(0.0)],
                        external: record.int(70) & 4 != 0,
                        records: vec![],
                    };
                    open = Some((key(record.text(2)), block));
                }
                "ENDBLK" => {
                    if let Some((name, block)) = open.take() {
                        self.blocks.insert(name, block);
                    }
                }
                _ => {
                    if let Some((_, block)) = &mut open {
                        block.records.push(record);
                    }
                }
            }
        }
    }

    fn layer(&self, name: &str) -> LayerState {
        let name = key(name);
        if name == NEVER_PRINTED {
            return LayerState::NotPrinted;
        }
        self.layers.get(&name).map_or(LayerState::On, |layer| layer.state)
    }

    /// Millimetres in the file's unit; none if it does not say.
    fn unit_mm(&self) -> Result<Option<f64>, ReadError> {
        let at = self
            .header
            .iter()
            .position(|g| g.code == 9 && g.value.trim() == "$INSUNITS");
        let Some(value) = at.and_then(|at| self.header.get(at + 1)) else {
            return Ok(None);
        };
        let unit = match value.value.trim().parse::<u32>() {
            Ok(0) => return Ok(None),
            Ok(1) => 25.4,
            Ok(2) => 304.8,
            Ok(3) => 1_609_344.0,
            Ok(4) => 1.0,
            Ok(5) => 10.0,
            Ok(6) => 1000.0,
            Ok(7) => 1e6,
            Ok(8) => 25.4e-6,
            Ok(9) => 0.0254,
            Ok(10) => 914.4,
            Ok(13) => 1e-3,
            Ok(14) => 100.0,
            Ok(15) => 1e4,
            Ok(16) => 1e5,
            // The US survey foot, 1200/3937 m.
            Ok(21) => 1.2e6 / 3937.0,
            _ => {
                return Err(ReadError::UnitUnknown {
                    line: value.line,
                    found: format!("{:?}", groups::cut(value.value)),
                });
            }
        };
        Ok(Some(unit))
    }
}
