//! Score paths as files for a cutting table: G-code for a wheel that is steered or trails, and DXF.
//!
//! # What it is for
//! [`Run::plan`] lays the paths of a sheet on the table that the shop file describes, seen from the scored face, puts them in order and
//! reckons what they take. [`Run::ngc`] and [`Run::dxf`] write it.
//!
//! # Units and axes
//! Paths come in the sheet's frame: mm, y up, seen from the show face. On the table they are in its X and Y, mm; G-code is in the
//! table's unit. DXF is in mm, its zero at the lower left corner of the sheet, seen from the scored face.
//!
//! # What it must not know
//! Plans, how they are verified, files and folders; and nothing of it is known to the crate that reads the files back.
//!
//! # Sources
//! The G-code is the set that NIST's RS274/NGC interpreter (Kramer, Proctor & Messina, NISTIR 6556, 2000) and the open controllers share:
//! lines of at most 70 characters, comments in ( ), arcs by I and J with ends on one circle to within 2 µm, G61, M2. The DXF is R12 with
//! nothing but entities.

mod drive;
mod dxf;
mod ngc;
mod place;
mod words;

pub use drive::{Move, Run};

use cullet_geometry::Outline;
use cullet_job::TableFile;
use cullet_scorepath::Settings;

/// A sheet to be scored, and what its files say of it.
#[derive(Debug, Clone)]
pub struct Cutting<'a> {
    /// The glass, its breaks and what comes of it, in its own frame.
    pub sheet: cullet_scorepath::Sheet<'a>,
    /// Whether it is scored on the show face; else on the back, and files are the mirror image of the map.
    pub on_show_face: bool,
    /// Thickness, mm.
    pub thickness: f64,
    /// Name of the job.
    pub job: &'a str,
    /// Number of the map, and of how many.
    pub map: (u32, usize),
    /// Glass: code and name.
    pub glass: String,
    /// Tag of the sheet or offcut.
    pub tag: &'a str,
    /// The pieces with their names, to write on them.
    pub names: Vec<(&'a Outline, String)>,
    /// How deep facets of curves may be rounded off, mm.
    pub facet: f64,
}

/// Why no files can be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum TableError {
    /// The sheet does not fit.
    #[error(
        "the sheet is {} × {} mm where it is registered, the table reaches {} × {} mm",
        .sheet.0.round(), .sheet.1.round(), .table.0.round(), .table.1.round()
    )]
    TooLarge {
        /// Along X and Y, with the offset, mm.
        sheet: (f64, f64),
        /// What the table reaches, mm.
        table: (f64, f64),
    },
    /// The head would have to leave the table.
    #[error("the head would have to go to X {x:.1}, Y {y:.1} mm, off the table")]
    OffTable {
        /// Where, mm.
        x: f64,
        /// Where, mm.
        y: f64,
    },
    /// A path turns farther than the cable allows.
    #[error("a score turns by {turn:.0}°; the cable allows {cable:.0}° either way")]
    Cable {
        /// How far it turns, degrees.
        turn: f64,
        /// How far it may, degrees.
        cable: f64,
    },
    /// The table has no lines for this glass.
    #[error("the table has no lines for glass {0} mm thick")]
    NoLines(f64),
}

/// How scores are driven on a table, mm.
#[must_use]
pub fn settings(table: &TableFile, facet: f64) -> Settings {
    let usual = Settings::default();
    Settings {
        edge_run: table.edge_run.unwrap_or(usual.edge_run),
        gap: table.gap.unwrap_or(usual.gap),
        may_cross: table.may_cross,
        turn_limit_deg: table.turn_limit.unwrap_or(usual.turn_limit_deg),
        smallest_radius: table.smallest_radius.unwrap_or(usual.smallest_radius),
        facet,
        ..usual
    }
}
