//! The bytes and the text of a file, within limits.

use cullet_job::{Finding, Findings};
use cullet_rack::{open_regular, plain_words};
use std::io::Read;
use std::path::Path;

/// The largest plan that is read, bytes: some hundred times that of the largest window, and short of filling a small
/// machine. Jobs and stock lists have limits of their own, far below.
const MOST_BYTES: u64 = 256 << 20;

/// All bytes of a file, up to one more than are ever read; a pipe is not waited for.
///
/// # Errors
/// A file that is not there, may not be read, or is no regular file.
pub fn bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = vec![];
    open_regular(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The text of a file. `expected` says what it should be, for the message.
///
/// # Errors
/// A file that cannot be read, is too large or is not UTF-8.
pub fn text(path: &Path, expected: &str) -> Result<String, Findings> {
    let refuse = |found: String, hint: &str| {
        Findings(vec![Finding {
            file: path.display().to_string(),
            place: "the whole file".into(),
            found,
            expected: expected.into(),
            hint: hint.into(),
        }])
    };
    let bytes = bytes(path).map_err(|error| {
        refuse(
            plain_words(&error, path),
            "Check the name, and whether the file may be read.",
        )
    })?;
    if bytes.len() as u64 > MOST_BYTES {
        return Err(refuse(
            "more than 256 MiB".into(),
            "Is it the right file? If so, split the job into several.",
        ));
    }
    if bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff") {
        return Err(refuse(
            "text in UTF-16".into(),
            "Save it as UTF-8 text (in a spreadsheet: CSV UTF-8).",
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let lines = error.as_bytes()[..good].iter().filter(|byte| **byte == b'\n');
        refuse(
            format!("a character on line {} that is not UTF-8 text", lines.count() + 1),
            "Save it as UTF-8 text (in a spreadsheet: CSV UTF-8).",
        )
    })
}
