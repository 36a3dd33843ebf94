//! A job as it lies in the folder: its text, what the reader makes of it, and its panels as they are drawn on the page.

use crate::answer::Problem;
use crate::app::App;
use crate::deeds;
use cullet_drawing::expand::PanelDrawing;
use cullet_drawing::{Severity, curve::Curve};
use cullet_geometry::path::YAxis;
use cullet_geometry::{Bounds, Outline, Point};
use cullet_job::{Finding, Findings, Frame, Job, JobFile, OutlineFile, PanelFile, PieceFile, Units, YDirection};

/// How finely arcs are drawn, mm.
const CHORD: f64 = 0.05;
/// Room between pieces that have no place in their panel, mm.
const APART: f64 = 20.0;

/// A job that was read.
#[derive(Debug)]
pub(crate) struct Seen {
    /// Its name in the folder.
    pub(crate) name: String,
    pub(crate) text: String,
    /// The file with the pieces of its drawings, as far as it could be read.
    pub(crate) file: Option<JobFile>,
    pub(crate) drawings: Vec<PanelDrawing>,
    /// The job, where nothing is wrong with it.
    pub(crate) job: Option<Job>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) warnings: Vec<Finding>,
}

/// A panel to be drawn.
#[derive(Debug)]
pub(crate) struct PanelView {
    pub(crate) pieces: Vec<PieceView>,
    /// Round everything, mm, y up.
    pub(crate) bounds: Bounds,
    /// Lead lines, as they run.
    pub(crate) leads: Vec<Vec<Point>>,
    pub(crate) rings: Vec<Ring>,
    /// Whether the pieces lie where they belong; else they stand in rows.
    pub(crate) is_placed: bool,
}

/// One piece of it.
#[derive(Debug)]
pub(crate) struct PieceView {
    pub(crate) file: PieceFile,
    pub(crate) outline: Outline,
}

/// A place where something was found.
#[derive(Debug)]
pub(crate) struct Ring {
    pub(crate) at: Point,
    pub(crate) is_error: bool,
    pub(crate) words: String,
    pub(crate) hint: String,
}

impl Seen {
    /// Reads a job by its name in the folder.
    pub(crate) fn of(app: &App, name: &str) -> Result<Self, Problem> {
        let path = app.place.path(name)?;
        let text = deeds::text(&path)?;
        Ok(Self::read(app, name, text))
    }

    /// The same with another text in its place, for judging that before it is written.
    pub(crate) fn read(app: &App, name: &str, text: String) -> Self {
        let mut seen = Self {
            name: name.to_owned(),
            text,
            file: None,
            drawings: vec![],
            job: None,
            findings: vec![],
            warnings: vec![],
        };
        let Ok(path) = app.place.path(name) else { return seen };
        let (mut file, mut drawings) = (None, vec![]);
        let read = deeds::job(&app.place, &path, &seen.text, |read, found| {
            file = Some(read.clone());
            drawings = found;
        });
        (seen.file, seen.drawings) = (file, drawings);
        match read {
            Ok(job) => {
                let of_drawings: Vec<&str> = seen.drawings.iter().map(|drawing| drawing.panel.as_str()).collect();
                let own = seen.drawings.iter().flat_map(|drawing| {
                    let warnings = drawing
                        .cartoon
                        .findings
                        .iter()
                        .filter(|f| f.severity == Severity::Warning);
                    warnings.map(|f| f.in_words(&drawing.file, drawing.cartoon.bounds.0, drawing.settings.units))
                });
                seen.warnings = own
                    .chain(job.warnings(&path.display().to_string(), &of_drawings))
                    .collect();
                seen.job = Some(job);
            }
            Err(Findings(findings)) => seen.findings = findings,
        }
        seen
    }

    pub(crate) fn units(&self) -> Units {
        self.file.as_ref().map_or(Units::Millimetres, |file| file.units)
    }

    pub(crate) fn digest(&self) -> String {
        deeds::digest(&self.text)
    }

    /// A panel as it is drawn on the page; none where nothing of it can be drawn.
    pub(crate) fn panel(&self, panel: &PanelFile) -> Option<PanelView> {
        let drawing = self.drawings.iter().find(|drawing| drawing.panel == panel.id);
        let mut pieces: Vec<PieceView> = match drawing {
            Some(drawing) if !panel.pieces.is_empty() => drawn(drawing, panel),
            Some(drawing) => bare(drawing),
            None => self.listed(panel),
        };
        let is_placed = drawing.is_some() || has_places(panel, &pieces);
        if !is_placed {
            in_rows(&mut pieces);
        }
        let mut bounds = pieces.iter().map(|piece| piece.outline.bounds()).reduce(both);
        let (mut leads, mut rings) = (vec![], vec![]);
        if let Some(drawing) = drawing {
            let (low, high) = drawing.cartoon.bounds;
            bounds = Some(bounds.map_or(Bounds { min: low, max: high }, |own| {
                both(own, Bounds { min: low, max: high })
            }));
            let found = &drawing.cartoon.arrangement;
            leads = found
                .edges
                .iter()
                .chain(&found.loose)
                .map(|edge| points(&edge.curves))
                .collect();
            rings = drawing
                .cartoon
                .findings
                .iter()
                .filter_map(|finding| {
                    let words = finding.in_words(&drawing.file, low, drawing.settings.units);
                    Some(Ring {
                        at: finding.at?,
                        is_error: finding.severity == Severity::Error,
                        words: format!("{}: found {}, expected {}", words.place, words.found, words.expected),
                        hint: words.hint,
                    })
                })
                .collect();
        }
        let bounds = bounds.filter(|bounds| bounds.width() > 0.0 && bounds.height() > 0.0)?;
        Some(PanelView {
            pieces,
            bounds,
            leads,
            rings,
            is_placed,
        })
    }

    /// Pieces that the job lists: from the job where it was read, else from the file as far as that goes.
    fn listed(&self, panel: &PanelFile) -> Vec<PieceView> {
        let frame = Frame {
            unit_mm: self.units().mm(),
            y: match self.file.as_ref().map(|file| file.y) {
                Some(YDirection::Down) => YAxis::Down,
                _ => YAxis::Up,
            },
        };
        let all = panel.pieces.iter().filter_map(|piece| {
            let is_this = |made: &&cullet_job::Piece| made.id.panel == panel.id && made.id.number == piece.number;
            let made = self
                .job
                .as_ref()
                .and_then(|job| job.pieces.iter().filter(is_this).min_by_key(|made| made.id.mirrored));
            let outline = match (made, &piece.outline) {
                (Some(made), _) if made.id.mirrored => Some(made.finished.mirrored()),
                (Some(made), _) => Some(made.finished.clone()),
                (None, OutlineFile::Points(points)) => frame.outline_of_points(points).ok(),
                (None, OutlineFile::Path(path)) => {
                    cullet_geometry::path::flatten(path, frame.unit_mm, frame.y, CHORD).ok()
                }
            };
            Some(PieceView {
                file: piece.clone(),
                outline: outline?,
            })
        });
        all.collect()
    }
}

fn points(curves: &[Curve]) -> Vec<Point> {
    let start = curves.first().map(|curve| curve.at(0.0));
    start
        .into_iter()
        .chain(curves.iter().flat_map(|curve| curve.chords(CHORD)))
        .collect()
}

fn outline_of(curves: &[Curve]) -> Option<Outline> {
    let mut points = points(curves);
    points.pop();
    Outline::new(points).ok()
}

/// A drawing's cells with what the job says of them.
fn drawn(drawing: &PanelDrawing, panel: &PanelFile) -> Vec<PieceView> {
    let cells = drawing.cartoon.cells.iter();
    let views = cells.filter_map(|cell| {
        let file = panel.pieces.iter().find(|piece| piece.number == cell.number)?.clone();
        Some(PieceView {
            file,
            outline: outline_of(&cell.finished)?,
        })
    });
    views.collect()
}

/// A drawing's cells alone.
fn bare(drawing: &PanelDrawing) -> Vec<PieceView> {
    let cells = drawing.cartoon.cells.iter();
    let views = cells.filter_map(|cell| {
        let file = PieceFile {
            number: cell.number.clone(),
            outline: OutlineFile::default(),
            shape: None,
            quantity: 1,
            glass: cell.glass.clone().unwrap_or_default(),
            grain: cell.grain,
            bevel: None,
            one_lot: None,
            spares: 0,
        };
        Some(PieceView {
            file,
            outline: outline_of(&cell.finished)?,
        })
    });
    views.collect()
}

pub(crate) fn both(a: Bounds, b: Bounds) -> Bounds {
    Bounds {
        min: Point {
            x: a.min.x.min(b.min.x),
            y: a.min.y.min(b.min.y),
        },
        max: Point {
            x: a.max.x.max(b.max.x),
            y: a.max.y.max(b.max.y),
        },
    }
}

/// Whether the pieces lie side by side, as far as their areas tell.
fn has_places(panel: &PanelFile, pieces: &[PieceView]) -> bool {
    if panel
        .pieces
        .iter()
        .any(|piece| piece.quantity > 1 || piece.shape.is_some())
    {
        return false;
    }
    let all = pieces.iter().map(|piece| piece.outline.bounds()).reduce(both);
    let area: f64 = pieces.iter().map(|piece| piece.outline.area()).sum();
    all.is_some_and(|all| area <= all.width() * all.height() * 1.001)
}

/// Puts pieces in rows, as words stand on a page.
fn in_rows(pieces: &mut [PieceView]) {
    let area: f64 = pieces
        .iter()
        .map(|piece| piece.outline.bounds())
        .map(|b| (b.width() + APART) * (b.height() + APART))
        .sum();
    let widest = pieces
        .iter()
        .map(|piece| piece.outline.bounds().width())
        .fold(0.0, f64::max);
    let across = (1.3 * area.sqrt()).max(widest);
    let (mut x, mut top, mut height) = (0.0, 0.0, 0.0_f64);
    for piece in pieces {
        let b = piece.outline.bounds();
        if x > 0.0 && x + b.width() > across {
            (x, top, height) = (0.0, top - height - APART, 0.0);
        }
        piece.outline = piece.outline.translated(x - b.min.x, top - b.max.y);
        x += b.width() + APART;
        height = height.max(b.height());
    }
}
