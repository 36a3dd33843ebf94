//! What the fuzz targets share: the program on one file, in a folder of its own.
//!
//! A target fails by a panic, by an exit code that no bad input may have, or by an error without a word.

use cullet::{Exit, Session, run};
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
