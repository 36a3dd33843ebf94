//! Files as the commands write them: whole or not at all, and legible.

use anyhow::{Context, Result};
use cullet_job::JobFile;
use serde_json::ser::{Formatter, Serializer};
use std::io::{self, Write};
use std::path::Path;

/// Writes a text file under a temporary name and renames it; makes its folder if need be.
///
/// # Errors
/// When the folder or the file cannot be written.
pub fn write(path: &Path, text: &str) -> Result<()> {
    let failed = || format!("cannot write {}", path.display());
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).with_context(failed)?;
    }
    let temporary = path.with_extension("part");
    std::fs::write(&temporary, text).with_context(failed)?;
    std::fs::rename(&temporary, path).with_context(failed)
}

/// A job file as text: one line for each piece.
///
/// # Errors
/// When a number in it is not finite.
pub fn job_text(job: &JobFile) -> Result<String> {
    let mut text = Vec::new();
    serde::Serialize::serialize(job, &mut Serializer::with_formatter(&mut text, LinePerPiece::default()))?;
    text.push(b'\n');
    Ok(String::from_utf8(text)?)
}

/// Indents down to the list of pieces (job, panels, panel, pieces) and writes what lies deeper on one line.
#[derive(Default)]
struct LinePerPiece {
    depth: usize,
    empty: bool,
}

impl LinePerPiece {
    const INDENTED: usize = 4;

    fn open<W: ?Sized + Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.depth += 1;
        self.empty = true;
        writer.write_all(bracket)
    }

    fn close<W: ?Sized + Write>(&mut self, writer: &mut W, bracket: &[u8]) -> io::Result<()> {
        self.depth -= 1;
        if !self.empty && self.depth < Self::INDENTED {
            self.line(writer)?;
        }
        self.empty = false;
        writer.write_all(bracket)
    }

    fn next<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.empty = false;
        if !first {
            writer.write_all(b",")?;
        }
        if self.depth <= Self::INDENTED {
            self.line(writer)
        } else if first {
            Ok(())
        } else {
            writer.write_all(b" ")
        }
    }

    fn line<W: ?Sized + Write>(&self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b"\n")?;
        writer.write_all("  ".repeat(self.depth).as_bytes())
    }
}

impl Formatter for LinePerPiece {
    fn begin_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"[")
    }
    fn end_array<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"]")
    }
    fn begin_array_value<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.next(writer, first)
    }
    fn begin_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.open(writer, b"{")
    }
    fn end_object<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.close(writer, b"}")
    }
    fn begin_object_key<W: ?Sized + Write>(&mut self, writer: &mut W, first: bool) -> io::Result<()> {
        self.next(writer, first)
    }
    fn begin_object_value<W: ?Sized + Write>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }
}
