//! A job's drawings into the job's pieces.

use crate::came::{Came, outline};
use crate::cartoon::{self, Cartoon, Cell};
use crate::curve::Curve;
use crate::finding::Severity;
use crate::leads::StockLength;
use crate::read::{self, ReadOptions};
use crate::settings::{BorderLine, CameUse, CartoonSettings, Layers, Part};
use cullet_geometry::Point;
use cullet_job::{
    BorderLineFile, CameFile, DrawingFile, DrawingKind, Finding, JobFile, OutlineFile, PartFile, PieceFile, Report,
    Units, YDirection,
};
use std::f64::consts::PI;
use std::fmt::Write as _;

/// A panel's drawing, read.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelDrawing {
    /// The panel's id.
    pub panel: String,
    /// How many panels are made of it, mirror images counted.
    pub count: u32,
    /// The drawing's name, as messages give it.
    pub file: String,
    /// What is in it.
    pub cartoon: Cartoon,
    /// How its came is bought.
    pub stock: StockLength,
    /// What it was read with.
    pub settings: CartoonSettings,
}

/// The widest came face, mm: four times the widest of the usual tables.
const MOST_FACE_MM: f64 = 100.0;
/// The most that foil takes on each side of a line, mm: beyond any unit mistaken for another (0.375 mm is usual).
const MOST_FOIL_MM: f64 = 50.0;
/// The farthest that ends are pulled together, mm: wider than any lead line is drawn.
const MOST_SNAP_MM: f64 = 50.0;

/// A file's name for messages, and its bytes or what stands in the way.
pub type Loaded = (String, Result<Vec<u8>, String>);

/// Came is bought in about this length, mm (came table of a stained-glass handbook site: 2 m, 6 ft).
const CAME_LENGTH_MM: f64 = 2000.0;
/// What a cut takes off a came, mm; common practice: the crushed end is nipped off.
const CUTTING_LOSS_MM: f64 = 2.0;

/// Reads the drawings that panels name and puts their pieces in; a panel whose drawing cannot be built keeps it, and `report`
/// says why. `load` gives the bytes of a file by the name that the job file gives it, with the name for messages, or what
/// stands in the way.
pub fn expand(job: &mut JobFile, report: &mut Report, load: &dyn Fn(&str) -> Loaded) -> Vec<PanelDrawing> {
    let frame = Frame::of(job);
    let codes: Vec<String> = job.glasses.iter().map(|glass| glass.code.clone()).collect();
    let mut read = vec![];
    for panel in &mut job.panels {
        let Some(drawing) = panel.drawing.clone().filter(|_| panel.pieces.is_empty()) else {
            continue;
        };
        let place = format!("panel {}, drawing", panel.id);
        if !check_sizes(report, &place, &drawing, frame.unit_mm) {
            continue;
        }
        let (file, bytes) = load(&drawing.file);
        let settings = settings(&drawing, frame.unit_mm, &codes);
        let cartoon = match read_file(&file, bytes, &drawing, &settings) {
            Ok(cartoon) => cartoon,
            Err(findings) => {
                report.extend(findings);
                continue;
            }
        };
        let errors = cartoon.findings.iter().filter(|f| f.severity == Severity::Error);
        let mut is_built = true;
        for error in errors {
            report.extend([error.in_words(&file, cartoon.bounds.0, settings.units)]);
            is_built = false;
        }
        is_built &= check_names(report, &place, &drawing, &cartoon, &codes);
        if is_built {
            panel.pieces = pieces(&cartoon, &drawing, frame);
            panel.drawing = None;
        }
        read.push(PanelDrawing {
            panel: panel.id.clone(),
            count: panel.quantity.saturating_add(panel.mirrored_quantity),
            file,
            cartoon,
            stock: stock_length(&drawing, frame.unit_mm),
            settings,
        });
    }
    read
}

/// Names the sizes of lead, foil and snapping that no workshop can mean; whether there are none.
fn check_sizes(report: &mut Report, place: &str, drawing: &DrawingFile, unit_mm: f64) -> bool {
    let cames = drawing.came.iter().chain(&drawing.cames).chain(&drawing.border);
    let faces = cames.flat_map(|came| {
        [
            ("came face", came.face, MOST_FACE_MM),
            ("came heart", came.heart, MOST_FACE_MM),
        ]
    });
    let foil = drawing.foil.map(|size| ("foil", size, MOST_FOIL_MM));
    let snap = drawing.snap.map(|size| ("snap", size, MOST_SNAP_MM));
    let mut is_good = true;
    for (name, size, most) in faces.chain(foil).chain(snap) {
        if !(0.0..=most).contains(&(size * unit_mm)) {
            is_good = false;
            report.add(
                format!("{place}, {name}"),
                match unit_mm {
                    1.0 => format!("{size} mm"),
                    _ => format!("{size} in"),
                },
                format!(
                    "from 0 to {} {}",
                    (most / unit_mm * 1e3).floor() / 1e3,
                    if unit_mm == 1.0 { "mm" } else { "in" }
                ),
                "Sizes are in the job's unit: check the size and the unit.",
            );
        }
    }
    is_good
}

/// Reads one drawing with a panel's settings.
///
/// # Errors
/// What stands in the way of reading the file at all; what is wrong with the drawing stands in the cartoon.
pub fn read_file(
    file: &str,
    bytes: Result<Vec<u8>, String>,
    drawing: &DrawingFile,
    settings: &CartoonSettings,
) -> Result<Cartoon, Vec<Finding>> {
    let bytes = bytes.map_err(|error| {
        vec![Finding {
            file: file.to_owned(),
            place: "the whole file".into(),
            found: error,
            expected: "a drawing (SVG or DXF)".into(),
            hint: "Check the name: it is taken from the job file's folder.".into(),
        }]
    })?;
    let options = ReadOptions {
        unit_mm: drawing.unit_mm,
        ..ReadOptions::default()
    };
    let read = read::read(file, &bytes, &options).map_err(|error| error.findings(file))?;
    Ok(match drawing.kind {
        DrawingKind::Cartoon => cartoon::read(&read, settings),
        DrawingKind::Outlines => cartoon::read_outlines(&read, settings),
    })
}

/// The settings a job file gives, in mm; `unit_mm` millimetres make one of its units.
#[must_use]
pub fn settings(drawing: &DrawingFile, unit_mm: f64, glasses: &[String]) -> CartoonSettings {
    let usual = CartoonSettings::default();
    let mm = |size: Option<f64>, otherwise: f64| size.map_or(otherwise, |size| size * unit_mm);
    let came = |file: &CameFile, name: &str| {
        let name = if file.name.is_empty() { name } else { &file.name };
        let came = Came::new(name, file.face * unit_mm, file.heart * unit_mm);
        Came {
            clearance: mm(file.clearance, came.clearance),
            ..came
        }
    };
    let first = drawing.came.as_ref();
    let mut cames = vec![CameUse {
        came: first.map_or_else(|| usual.cames[0].came.clone(), |file| came(file, "came")),
        layers: first.map(|file| file.layers.clone()).unwrap_or_default(),
    }];
    cames.extend(drawing.cames.iter().enumerate().map(|(i, file)| CameUse {
        came: came(file, &format!("came {}", i + 2)),
        layers: file.layers.clone(),
    }));
    let border = drawing.border.as_ref();
    CartoonSettings {
        units: match unit_mm {
            1.0 => Units::Millimetres,
            _ => Units::Inches,
        },
        snap: mm(drawing.snap, usual.snap),
        border: border.map_or_else(
            || Came {
                name: "border".into(),
                ..cames[0].came.clone()
            },
            |file| came(file, "border"),
        ),
        cames,
        border_line: match drawing.border_line {
            BorderLineFile::OuterEdge => BorderLine::OuterEdge,
            BorderLineFile::Centre => BorderLine::Centre,
            BorderLineFile::Glass => BorderLine::Glass,
        },
        foil: drawing.foil.map(|size| size * unit_mm),
        layers: Layers {
            lead: drawing.layers.lead.clone(),
            border: [
                drawing.layers.border.clone(),
                border.map(|file| file.layers.clone()).unwrap_or_default(),
            ]
            .concat(),
            text: drawing.layers.text.clone(),
            grain: drawing.layers.grain.clone(),
            ignore: drawing.layers.ignore.clone(),
        },
        part: drawing.part.as_ref().map_or_else(Part::default, part),
        size: drawing.size.map(|sizes| sizes.map(|size| size * unit_mm)),
        opening: drawing.opening.map(|sizes| sizes.map(|size| size * unit_mm)),
        opening_clearance: mm(drawing.opening_clearance, usual.opening_clearance),
        in_door: drawing.door,
        glasses: glasses.to_vec(),
        any_glass: false,
        glass: drawing.glass.clone(),
    }
}

fn part(file: &PartFile) -> Part {
    Part {
        layer: file.layer.clone(),
        page: file.page.clone(),
        frame: file.frame.map(|number| number as usize),
    }
}

/// How a panel's came is bought, mm.
#[must_use]
pub fn stock_length(drawing: &DrawingFile, unit_mm: f64) -> StockLength {
    StockLength {
        length: drawing.came_length.map_or(CAME_LENGTH_MM, |size| size * unit_mm),
        cutting_loss: drawing.cutting_loss.map_or(CUTTING_LOSS_MM, |size| size * unit_mm),
    }
}

/// How a job file writes lengths.
#[derive(Debug, Clone, Copy)]
struct Frame {
    unit_mm: f64,
    y_down: bool,
}

impl Frame {
    fn of(job: &JobFile) -> Self {
        Self {
            unit_mm: match job.units {
                Units::Millimetres => 1.0,
                Units::Inches => 25.4,
            },
            y_down: job.y == YDirection::Down,
        }
    }

    /// A length in the file's unit, to 1e-4 mm and never −0.
    fn size(self, mm: f64) -> f64 {
        let digits = if self.unit_mm == 1.0 { 1e4 } else { 1e6 };
        (mm / self.unit_mm * digits).round() / digits + 0.0
    }

    /// A point, from the corner of the panel's box at which the file's axes begin.
    fn place(self, p: Point, (low, high): (Point, Point)) -> [f64; 2] {
        let y = if self.y_down { high.y - p.y } else { p.y - low.y };
        [self.size(p.x - low.x), self.size(y)]
    }

    /// Corner points where all sides are straight, otherwise path data with arcs.
    fn outline(self, curves: &[Curve], bounds: (Point, Point)) -> OutlineFile {
        if curves.iter().all(|curve| matches!(curve, Curve::Line { .. })) {
            return OutlineFile::Points(curves.iter().map(|curve| self.place(curve.at(0.0), bounds)).collect());
        }
        let [x, y] = curves
            .first()
            .map_or([0.0, 0.0], |curve| self.place(curve.at(0.0), bounds));
        let mut data = format!("M {x} {y}");
        for curve in curves {
            // An arc of more than half a circle is written as two: its ends may lie too near each other to tell it.
            let parts = match curve {
                Curve::Arc { turn, .. } if turn.abs() > 1.001 * PI => 2,
                _ => 1,
            };
            for i in 0..parts {
                let part = curve.part(f64::from(i) / f64::from(parts), f64::from(i + 1) / f64::from(parts));
                let [x, y] = self.place(part.at(1.0), bounds);
                // Writing to a String cannot fail.
                let _ = match part {
                    Curve::Line { .. } => write!(data, " L {x} {y}"),
                    Curve::Arc { radius, turn, .. } => {
                        let r = self.size(radius);
                        let sweep = u8::from((turn > 0.0) != self.y_down);
                        write!(data, " A {r} {r} 0 0 {sweep} {x} {y}")
                    }
                };
            }
        }
        data.push_str(" Z");
        OutlineFile::Path(data)
    }
}

/// The cells' pieces, by their numbers.
fn pieces(cartoon: &Cartoon, drawing: &DrawingFile, frame: Frame) -> Vec<PieceFile> {
    let mut cells: Vec<&Cell> = cartoon.cells.iter().collect();
    cells.sort_by_cached_key(|cell| by_number(&cell.number));
    cells
        .into_iter()
        .map(|cell| {
            let mut piece = PieceFile {
                shape: None,
                quantity: 1,
                number: cell.number.clone(),
                outline: frame.outline(&cell.finished, cartoon.bounds),
                glass: cell.glass.clone().unwrap_or_default(),
                grain: cell.grain,
                bevel: None,
                one_lot: None,
                spares: 0,
            };
            for make in &drawing.details {
                let is_meant = (make.numbers.is_empty() || make.numbers.contains(&piece.number))
                    && make.glass.as_ref().is_none_or(|glass| *glass == piece.glass);
                if is_meant {
                    if let Some(glass) = &make.instead {
                        piece.glass.clone_from(glass);
                    }
                    piece.grain = make.grain.or(piece.grain);
                    piece.bevel = make.bevel.or(piece.bevel);
                    piece.one_lot = make.one_lot.clone().or(piece.one_lot);
                    piece.spares = make.spares.unwrap_or(piece.spares);
                }
            }
            piece
        })
        .collect()
}

/// 2 before 10, 2a after 2.
#[must_use]
pub fn by_number(number: &str) -> (String, u64, String) {
    let letters: String = number.chars().take_while(|c| !c.is_ascii_digit()).collect();
    let digits: String = number[letters.len()..]
        .chars()
        .take_while(char::is_ascii_digit)
        .collect();
    let rest = number[letters.len() + digits.len()..].to_owned();
    (letters, digits.parse().unwrap_or(u64::MAX), rest)
}

/// Names in the drawing's settings that nothing bears.
fn check_names(report: &mut Report, place: &str, drawing: &DrawingFile, cartoon: &Cartoon, codes: &[String]) -> bool {
    let mut is_good = true;
    let makes = drawing
        .details
        .iter()
        .flat_map(|make| make.glass.iter().chain(&make.instead));
    for glass in makes.chain(&drawing.glass) {
        if !codes.contains(glass) {
            is_good = false;
            report.add(
                place,
                format!("the unknown glass \"{glass}\""),
                "the code of a glass of this job",
                format!("The glasses are: {}.", codes.join(", ")),
            );
        }
    }
    for number in drawing.details.iter().flat_map(|make| &make.numbers) {
        if cartoon.cells.iter().all(|cell| cell.number != *number) {
            is_good = false;
            report.add(
                format!("{place}, make"),
                format!("the piece {number}, which the drawing does not have"),
                "numbers of its pieces",
                "Correct the number, or write it into its cell.",
            );
        }
    }
    // What the leads leave must be an outline that the job can take.
    for cell in &cartoon.cells {
        if !cell.finished.is_empty() && outline(&cell.finished, 0.01).is_none() {
            is_good = false;
            report.add(
                format!("{place}, piece {}", cell.number),
                "an outline that crosses itself",
                "a simple closed shape",
                "Draw the cell again without lines that touch each other.",
            );
        }
    }
    is_good
}
