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
    const LINES: &str = "save the drawing as SVG (not compressed) with its layers, or as DXF written as text";
    const TRACED: &str = "a picture has no lines to read: draw the lead lines over it in a drawing program, and save them as SVG \
                          (not compressed), with their layers";
    const KNOWN: [(&[u8], &str, &str); 16] = [
        (
            b"\x1f\x8b",
            "a compressed file (gzip, as a compressed SVG is)",
            "save the drawing as SVG, not compressed",
        ),
        (
            b"PK\x03\x04",
            "a compressed archive (zip)",
            "take the drawing out of it",
        ),
        (b"%PDF", "a PDF", LINES),
        (b"%!PS", "a PostScript file (PS or EPS)", LINES),
        (b"\xc5\xd0\xd3\xc6", "a PostScript file (EPS with a preview)", LINES),
        (b"AC10", "a CAD drawing in a binary format (DWG)", LINES),
        (b"\xd7\xcd\xc6\x9a", "a metafile (WMF)", LINES),
        (b"\x01\x00\x00\x00", "a metafile (EMF)", LINES),
        (b"\x89PNG", "a picture (PNG)", TRACED),
        (b"\xff\xd8\xff", "a picture (JPEG)", TRACED),
        (b"GIF8", "a picture (GIF)", TRACED),
        (b"II*\0", "a picture (TIFF)", TRACED),
        (b"MM\0*", "a picture (TIFF)", TRACED),
        (b"RIFF", "a picture or a drawing in a binary format (RIFF)", TRACED),
        (b"8BPS", "a picture (PSD)", TRACED),
        (b"BM", "a picture (BMP)", TRACED),
    ];
    let unknown = |found: &str, hint: &str| ReadError::Kind {
        found: found.to_owned(),
        hint: hint.to_owned(),
    };
    if bytes.starts_with(dxf::BINARY) {
        return Ok(Kind::Dxf);
    }
    if let Some(rest) = bytes.strip_prefix(b"\xff\xfe").or(bytes.strip_prefix(b"\xfe\xff")) {
        // Each character of the markup has a zero byte beside it.
        let first = rest
            .iter()
            .find(|byte| !matches!(byte, 0 | b' ' | b'\t' | b'\r' | b'\n'));
        return match first {
            Some(b'<') => Ok(Kind::Svg),
            _ => Err(unknown(
                "a text in UTF-16",
                "save it again as UTF-8 (SVG) or ASCII (DXF)",
            )),
        };
    }
    if let Some((_, found, hint)) = KNOWN.iter().find(|(magic, _, _)| bytes.starts_with(magic)) {
        return Err(unknown(found, hint));
    }
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    if text.is_empty() {
        return Err(unknown("an empty file", LINES));
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
        _ => Err(unknown("another kind of file", LINES)),
    }
}

fn checked_size(bytes: &[u8], options: &ReadOptions) -> Result<Gather, ReadError> {
    let gather = Gather::new(options.limits);
    if bytes.len() > options.limits.bytes {
        return Err(gather.limit(Limit::Bytes, "the file"));
    }
    Ok(gather)
}
