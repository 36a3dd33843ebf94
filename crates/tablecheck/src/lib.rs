//! Files for a cutting table read back and held against the plan.
//!
//! # What it is for
//! [`ngc`] reads G-code, [`dxf`] a DXF file, as a table would, into what the wheel does on the glass, and names every [`Fault`]: a score of
//! the plan that is left out, driven twice or off its line; the wheel not along its path, beyond the sheet's edge, down in a travel or
//! lowered inside a piece; the head off the table, the cable wound too far.
//!
//! # Units and axes
//! Millimetres and degrees; everything is brought into the sheet's frame as the plan has it.
//!
//! # How near
//! Scores lie within [`NEAR`] of the plan's breaks; where a break is a row of facets of a curve, they may be rounded off by what the job
//! flattens curves by. The wheel is along its path within [`ALONG_DEG`].
//!
//! # What it must not know
//! How paths are found, ordered or written: it shares no code with those crates, and nothing of them with it. It works from the plan's
//! breaks and the table's description alone.

mod cover;
mod dxf;
mod gcode;
mod ground;
mod index;
mod wheel;

use cullet_breakout::Breaking;
use cullet_geometry::{Outline, Point};
use cullet_job::TableFile;
use std::fmt;

/// How far from the plan's lines a score may lie, mm.
pub const NEAR: f64 = 0.02;
/// How far off its path the wheel may point, degrees.
pub const ALONG_DEG: f64 = 0.5;

/// What the file of a sheet is to score.
#[derive(Debug, Clone, Copy)]
pub struct Wanted<'a> {
    /// The glass.
    pub outline: &'a Outline,
    /// Its breaks.
    pub breaking: &'a Breaking,
    /// Cut outlines of the pieces where they lie.
    pub pieces: &'a [Outline],
    /// Whether it is scored on the show face.
    pub on_show_face: bool,
    /// Thickness, mm.
    pub thickness: f64,
    /// How deep facets of curves may be rounded off, mm.
    pub facet: f64,
}

/// Something wrong with a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// The line of the file, from 1; 0 for the file as a whole.
    pub line: usize,
    /// What is wrong.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            0 => f.write_str(&self.what),
            line => write!(f, "line {line}: {}", self.what),
        }
    }
}

/// The most faults that are named.
const MOST: usize = 100;

/// What the wheel does between two lifts: where it touches the glass, and which way it goes there.
#[derive(Debug, Clone, Default)]
struct Stroke {
    marks: Vec<Mark>,
}

/// A place of a stroke, in the sheet's frame.
#[derive(Debug, Clone, Copy)]
struct Mark {
    at: Point,
    line: usize,
}

/// Everything that is wrong with G-code for this sheet; empty where it passes.
#[must_use]
pub fn ngc(text: &str, table: &TableFile, wanted: &Wanted<'_>) -> Vec<Fault> {
    let Some(lines) = table.lines_for(wanted.thickness) else {
        return vec![fault(
            0,
            format!("the table has no lines for glass {} mm thick", wanted.thickness),
        )];
    };
    let (deeds, mut faults) = gcode::read(text, table, lines);
    let strokes = wheel::strokes(&deeds, table, wanted, &mut faults);
    faults.extend(cover::faults(&strokes, wanted, table));
    first(faults)
}

/// Everything that is wrong with a DXF file for this sheet; empty where it passes.
#[must_use]
pub fn dxf(text: &str, table: &TableFile, wanted: &Wanted<'_>) -> Vec<Fault> {
    let (strokes, mut faults) = dxf::strokes(text, wanted);
    faults.extend(cover::faults(&strokes, wanted, table));
    first(faults)
}

fn fault(line: usize, what: String) -> Fault {
    Fault { line, what }
}

fn first(mut faults: Vec<Fault>) -> Vec<Fault> {
    faults.sort_by_key(|fault| fault.line);
    faults.dedup();
    let more = faults.len().saturating_sub(MOST);
    if more > 0 {
        faults.truncate(MOST);
        faults.push(fault(0, format!("and {more} more faults")));
    }
    faults
}
