//! SVG and DXF files to a [`Drawing`].
//!
//! Both readers give lines, arcs and Bézier curves in millimetres with y up, name what they leave out, stop at
//! [`Limits`] with a typed error and never panic.

mod affine;
mod dxf;
mod error;
mod limits;
mod spline;
mod svg;

pub use dxf::dxf;
pub use error::{BadValue, ReadError};
pub use limits::{Limit, Limits};
pub use svg::svg;

use crate::drawing::Drawing;
use limits::Gather;

/// Most that a rational or high-degree spline may lie off the cubics it is turned into, mm.
///
/// A tenth of the finest step a glazier could see, and far below every tolerance further on.
pub const SPLINE_TOLERANCE_MM: f64 = 0.001;

/// How a drawing is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadOptions {
    /// Millimetres in one unit of the drawing, whatever the file says: 1 for mm, 25.4 for inches, 25.4 / 90 for an SVG
    /// in units of 90 to the inch. In an SVG it is the unit of the outermost `viewBox` (or of the coordinates without
    /// one). `None` believes the file.
    pub unit_mm: Option<f64>,
    /// How much is read.
    pub limits: Limits,
}

impl ReadOptions {
    fn checked_unit(&self) -> Result<Option<f64>, ReadError> {
        match self.unit_mm {
            Some(value) if !(value.is_finite() && value > 0.0) => Err(ReadError::UnitOption { value }),
            unit => Ok(unit),
        }
    }
}

/// The drawing in a file's `bytes`; what kind of file it is follows from its first characters, then from `name`'s ending.
///
/// Cost O(n) in the size of the file and in what its `use`s and INSERTs draw.
///
/// # Errors
/// See [`ReadError`].
///
/// ```
/// use cullet_drawing::read::{ReadOptions, read};
/// let file = br#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="600mm" viewBox="0 0 400 600">
///   <path class="lead" d="M0 0 L400 600"/></svg>"#;
/// let drawing = read("window.svg", file, &ReadOptions::default())?;
/// assert_eq!(drawing.strokes[0].classes, ["lead"]);
/// # Ok::<(), cullet_drawing::read::ReadError>(())
/// ```
pub fn read(name: &str, bytes: &[u8], options: &ReadOptions) -> Result<Drawing, ReadError> {
    match kind(name, bytes)? {
        Kind::Svg => svg(bytes, options),
        Kind::Dxf => dxf(bytes, options),
    }
}

enum Kind {
    Svg,
    Dxf,
}

fn kind(name: &str, bytes: &[u8]) -> Result<Kind, ReadError> {
    const KNOWN: [(&[u8], &str); 8] = [
        (b"\x1f\x8b", "a compressed file (gzip, perhaps a compressed SVG)"),
        (b"PK\x03\x04", "a compressed archive (zip)"),
        (b"%PDF", "a PDF"),
        (b"%!PS", "a PostScript file"),
        (b"\x89PNG", "a bitmap (PNG)"),
        (b"\xff\xd8\xff", "a bitmap (JPEG)"),
        (b"BM", "a bitmap (BMP)"),
        (b"AC10", "a CAD drawing in a binary format (DWG)"),
    ];
    let unknown = |found: &str| ReadError::Kind {
        found: found.to_owned(),
    };
    if bytes.starts_with(dxf::BINARY) {
        return Ok(Kind::Dxf);
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Ok(Kind::Svg);
    }
    if let Some((_, found)) = KNOWN.iter().find(|(magic, _)| bytes.starts_with(magic)) {
        return Err(unknown(found));
    }
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    if text.is_empty() {
        return Err(unknown("an empty file"));
    }
    if text.starts_with(b"<") {
        return Ok(Kind::Svg);
    }
    if dxf::looks_like(text) {
        return Ok(Kind::Dxf);
    }
    let ending = name.rsplit_once('.').map(|(_, ending)| ending.to_ascii_lowercase());
    match ending.as_deref() {
        Some("svg") => Ok(Kind::Svg),
        Some("dxf") => Ok(Kind::Dxf),
        _ => Err(unknown("another kind of file")),
    }
}

fn checked_size(bytes: &[u8], options: &ReadOptions) -> Result<Gather, ReadError> {
    let gather = Gather::new(options.limits);
    if bytes.len() > options.limits.bytes {
        return Err(gather.limit(Limit::Bytes, "the file"));
    }
    Ok(gather)
}
