//! What the fuzz targets share: the program on one file, in a folder of its own.
//!
//! A target fails by a panic, by an exit code that no bad input may have, or by an error without a word.

use cullet::{Exit, Session, run};
use cullet_drawing::read::{Limits, ReadError, ReadOptions};
use cullet_drawing::{Drawing, Segment};
use std::path::Path;
use std::sync::OnceLock;
use tempfile::TempDir;

/// The folder that this process works in, made when it is first wanted.
///
/// # Panics
/// Where no folder can be made.
#[must_use]
pub fn folder() -> &'static Path {
    static FOLDER: OnceLock<TempDir> = OnceLock::new();
    FOLDER.get_or_init(|| TempDir::new().expect("a folder")).path()
}

/// Runs the program. What it must not do whatever comes in: fail within itself, or end in trouble without saying why.
///
/// # Panics
/// Where it does.
pub fn runs(args: &[&str]) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let cancel = false.into();
    let exit = run(
        std::iter::once("cullet").chain(args.iter().copied()),
        &mut Session::new(&mut out, &mut err, &cancel),
    );
    assert_ne!(exit, Exit::Internal, "{}", String::from_utf8_lossy(&err));
    assert!(exit == Exit::Done || !err.is_empty(), "{exit:?} without a word");
}

/// Writes `bytes` to a file of this name in the folder and gives its path.
///
/// # Panics
/// Where it cannot be written.
#[must_use]
pub fn written(name: &str, bytes: &[u8]) -> String {
    let path = folder().join(name);
    std::fs::write(&path, bytes).expect("a file");
    path.display().to_string()
}

/// Reads a drawing within small limits, so that one input is quick and the limits themselves are met: it lies within reach, or what is
/// wrong is said.
///
/// # Panics
/// Where it does not.
pub fn drawn(bytes: &[u8], read: fn(&[u8], &ReadOptions) -> Result<Drawing, ReadError>) {
    let limits = Limits {
        bytes: 1 << 16,
        elements: 2000,
        depth: 40,
        segments: 5000,
        text: 500,
    };
    let options = ReadOptions {
        unit_mm: bytes.len().is_multiple_of(2).then_some(1.0),
        limits,
    };
    match read(bytes, &options) {
        Ok(drawing) => {
            assert!(drawing.strokes.iter().map(|s| s.segments.len()).sum::<usize>() <= limits.segments);
            for segment in drawing.strokes.iter().flat_map(|s| &s.segments) {
                if let Segment::Line { from, to } = segment {
                    assert!([from.x, from.y, to.x, to.y].iter().all(|v| v.abs() <= 1e5));
                }
            }
            assert!(drawing.strokes.iter().all(|s| !s.segments.is_empty()));
        }
        Err(error) => assert!(!error.findings("drawing").is_empty()),
    }
}
