//! The demo job: the stair window of an invented lighthouse museum.
//!
//! Three panels stand side by side: *waves*, *lamp* and the mirror image of *waves*, with the *quarries* above the stair
//! door. Each is drawn as a [`cartoon::Cartoon`] of lead lines, parted into cells that tile it, and each cell shrunk to
//! its finished outline. Names, places and prices are invented.

pub mod cartoon;
pub mod cell;
pub use cullet_drawing::curve;
pub mod drawn;
mod glasses;
mod lamp;
mod quarries;
mod stock;
mod waves;

use crate::files;
use anyhow::{Context, Result};
use cell::{Cell, Inset};
use cullet_job::{
    BevelFile, CameFile, ChoiceFile, DetailsFile, DrawingFile, GlassChoiceFile, JobFile, LayersFile, PanelFile,
    PieceFile, Settings, Units, YDirection,
};
use std::path::Path;

/// Between neighbouring glasses stands 1/16 in (1.6 mm), half on each side of the lead line (C. Whall, *Stained Glass
/// Work*, 1905); the border came has a 10 mm face and a 2 mm heart, which takes (F + H) / 2 = 6 mm (finished-size
/// tutorial).
pub const INSET: Inset = Inset { lead: 0.8, border: 6.0 };

/// A panel of the demo: its cells in the order of their numbers, and what each is made of.
#[derive(Debug)]
pub struct DemoPanel {
    /// Short id.
    pub id: &'static str,
    /// What it is called.
    pub name: &'static str,
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// How many as drawn.
    pub quantity: u32,
    /// How many as the mirror image.
    pub mirrored_quantity: u32,
    /// Its lead lines, trimmed where they end.
    pub leads: Vec<curve::Curve>,
    /// Its cells, piece 1 first.
    pub cells: Vec<(Cell, Make)>,
}

/// What a cell is made of.
#[derive(Debug, Clone)]
pub struct Make {
    /// Part of the picture; numbers run through one part before the next.
    part: u8,
    /// Code of the glass.
    pub glass: &'static str,
    /// Direction of the grain, degrees.
    pub grain: Option<f64>,
    /// Bevel all round.
    pub bevel: Option<BevelFile>,
    /// One-lot group.
    pub one_lot: Option<&'static str>,
    /// Spares for each panel.
    pub spares: u32,
}

impl Make {
    fn of(part: u8, glass: &'static str) -> Self {
        Self {
            part,
            glass,
            grain: None,
            bevel: None,
            one_lot: None,
            spares: 0,
        }
    }

    fn grain(self, degrees: f64) -> Self {
        Self {
            grain: Some((degrees.rem_euclid(360.0) * 10.0).round() / 10.0),
            ..self
        }
    }

    fn bevel(self, width: f64, nose: f64) -> Self {
        Self {
            bevel: Some(BevelFile { width, nose }),
            ..self
        }
    }
}

/// The three panels.
///
/// # Errors
/// When a cartoon does not part into cells, which is a fault in its drawing.
pub fn panels() -> Result<[DemoPanel; 3]> {
    Ok([
        lamp::panel().context("panel L")?,
        waves::panel().context("panel W")?,
        quarries::panel().context("panel Q")?,
    ])
}

/// The whole job as a file, its panels drawn as cartoons beside it.
///
/// # Errors
/// See [`panels`].
pub fn job() -> Result<JobFile> {
    job_of(&DemoPanel::to_file, true)
}

/// The same job with the finished outlines written out, worked out here and not by the reader of drawings.
///
/// # Errors
/// See [`panels`].
pub fn job_of_outlines() -> Result<JobFile> {
    job_of(&DemoPanel::to_outlines, false)
}

fn job_of(panel: &dyn Fn(&DemoPanel) -> PanelFile, is_drawn: bool) -> Result<JobFile> {
    Ok(JobFile {
        schema: None,
        format: cullet_job::JOB_FORMAT,
        name: "Stair window, lighthouse museum".into(),
        units: Units::Millimetres,
        y: YDirection::Down,
        settings: Settings {
            currency: "EUR".into(),
            ..Settings::default()
        },
        glasses: glasses::all(),
        panels: panels()?.iter().map(panel).collect(),
        choices: if is_drawn { choices() } else { vec![] },
    })
}

/// What the customer asked about.
fn choices() -> Vec<ChoiceFile> {
    let instead = |name: &str, code: &str, other: &str| ChoiceFile {
        name: name.into(),
        glasses: vec![GlassChoiceFile {
            code: code.into(),
            instead: Some(other.into()),
            ..GlassChoiceFile::default()
        }],
        ..ChoiceFile::default()
    };
    vec![
        instead("bevels on 5 mm glass", glasses::CLEAR, glasses::CLEAR5),
        instead("bevels on 4 mm glass", glasses::CLEAR, glasses::CLEAR4),
        instead("plain instead of reeded", glasses::REED, glasses::CLEAR4),
        ChoiceFile {
            name: "foil instead of lead".into(),
            foil: Some(0.375),
            ..ChoiceFile::default()
        },
    ]
}

/// The drawings' names and texts: SVG, and one as DXF.
///
/// # Errors
/// See [`panels`].
pub fn drawings() -> Result<Vec<(String, String)>> {
    let drawn = |panel: &DemoPanel| {
        let text = if panel.is_dxf() {
            drawn::dxf(panel)
        } else {
            drawn::svg(panel)
        };
        (panel.file_name(), text)
    };
    Ok(panels()?.iter().map(drawn).collect())
}

/// Writes `job.json`, its drawings and `stock.csv` into a folder, which is made if need be.
///
/// # Errors
/// See [`panels`]; also when a file cannot be written.
pub fn write(folder: &Path) -> Result<()> {
    for (name, text) in drawings()? {
        files::write(&folder.join(name), &text)?;
    }
    files::write(&folder.join("job.json"), &files::job_text(&job()?)?)?;
    files::write(&folder.join("stock.csv"), &stock::csv())
}

/// The stock list as text.
#[must_use]
pub fn stock_csv() -> String {
    stock::csv()
}

impl DemoPanel {
    /// Numbers the cells: part by part, each in the given order.
    fn numbered(mut self, order: impl Fn(&Cell, &Make) -> f64) -> Self {
        self.cells.sort_by(|(a, make_a), (b, make_b)| {
            let parts = make_a.part.cmp(&make_b.part);
            parts.then(order(a, make_a).total_cmp(&order(b, make_b)))
        });
        self
    }

    fn is_dxf(&self) -> bool {
        self.id == "Q"
    }

    fn file_name(&self) -> String {
        format!(
            "{}.{}",
            self.name.to_lowercase(),
            if self.is_dxf() { "dxf" } else { "svg" }
        )
    }

    /// As the job file names it: the drawing, and what no drawing says.
    fn to_file(&self) -> PanelFile {
        let names = |name: &str| vec![name.to_owned()];
        let came = |name: &str, face| CameFile {
            name: name.into(),
            face,
            heart: if name == "border" { 2.0 } else { 1.2 },
            clearance: None,
            layers: vec![],
        };
        PanelFile {
            drawing: Some(DrawingFile {
                file: self.file_name(),
                came: Some(came("lead", 6.0)),
                border: Some(came("border", 10.0)),
                layers: LayersFile {
                    border: names("border"),
                    grain: names("grain"),
                    ..LayersFile::default()
                },
                details: self.makes(),
                ..DrawingFile::default()
            }),
            pieces: vec![],
            ..self.to_outlines()
        }
    }

    /// Bevels, one-lot groups and spares, each with the pieces that have them.
    fn makes(&self) -> Vec<DetailsFile> {
        let mut makes: Vec<DetailsFile> = vec![];
        for (i, (_, make)) in self.cells.iter().enumerate() {
            let wanted = DetailsFile {
                bevel: make.bevel,
                one_lot: make.one_lot.map(Into::into),
                spares: (make.spares > 0).then_some(make.spares),
                ..DetailsFile::default()
            };
            if wanted == DetailsFile::default() {
                continue;
            }
            let number = (i + 1).to_string();
            let like = |made: &&mut DetailsFile| {
                (made.bevel, &made.one_lot, made.spares) == (wanted.bevel, &wanted.one_lot, wanted.spares)
            };
            match makes.iter_mut().find(like) {
                Some(made) => made.numbers.push(number),
                None => makes.push(DetailsFile {
                    numbers: vec![number],
                    ..wanted
                }),
            }
        }
        makes
    }

    fn to_outlines(&self) -> PanelFile {
        let piece = |(i, (cell, make)): (usize, &(Cell, Make))| PieceFile {
            shape: None,
            quantity: 1,
            number: (i + 1).to_string(),
            outline: cell.finished(INSET).to_file(self.height),
            glass: make.glass.into(),
            grain: make.grain,
            bevel: make.bevel,
            one_lot: make.one_lot.map(Into::into),
            spares: make.spares,
        };
        PanelFile {
            id: self.id.into(),
            name: self.name.into(),
            quantity: self.quantity,
            mirrored_quantity: self.mirrored_quantity,
            drawing: None,
            pieces: self.cells.iter().enumerate().map(piece).collect(),
        }
    }
}
