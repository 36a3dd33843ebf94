//! Pictures of a job's panels as they will look leaded up, for judging a design by eye.
//!
//! Path data is handed on to the SVG as it stands in the job file and its bounds are read back by the renderer, so what is
//! seen does not depend on the program's own reading of curves.

use crate::files;
use anyhow::{Context, Result};
use cullet_drawing::expand::expand;
use cullet_job::{GlassFile, GrainFile, JobFile, OutlineFile, PanelFile, PieceFile, Report, YDirection};
use resvg::usvg;
use std::path::Path;
use svg::node::element::{ClipPath, Definitions, Group, LinearGradient, Path as Shape, Pattern, Rectangle, Stop, Text};

/// Lead colour round and between the pieces.
const LEAD: &str = "#3a3a3c";
/// Border came shown round the pieces, in the file's unit of millimetres.
const BORDER: f64 = 6.0;

/// Draws every panel of a job file as `panel-<id>.svg` in a folder.
///
/// # Errors
/// When the job cannot be read, an outline is not path data, or a file cannot be written.
pub fn panels(job: &Path, folder: &Path) -> Result<()> {
    let text = std::fs::read_to_string(job).with_context(|| format!("cannot read {}", job.display()))?;
    let mut file: JobFile =
        serde_json::from_str(&text).with_context(|| format!("{} is not a job file", job.display()))?;
    let beside = job.parent().unwrap_or(Path::new(""));
    let mut report = Report::new(&job.display().to_string());
    expand(&mut file, &mut report, &|name| {
        let bytes = std::fs::read(beside.join(name)).map_err(|error| error.to_string());
        (name.to_owned(), bytes)
    });
    report.into_result(())?;
    let job = file;
    for panel in &job.panels {
        let drawing = draw(&job, panel).with_context(|| format!("panel {}", panel.id))?;
        files::write(&folder.join(format!("panel-{}.svg", panel.id)), &drawing)?;
    }
    Ok(())
}

fn draw(job: &JobFile, panel: &PanelFile) -> Result<String> {
    let up = job.y == YDirection::Up;
    let (mut defs, mut glass, mut numbers) = (Definitions::new(), Group::new(), Group::new());
    let mut bounds: Option<usvg::Rect> = None;
    for (i, piece) in panel.pieces.iter().enumerate() {
        let place = format!("piece {}", piece.number);
        let kind = job.glasses.iter().find(|g| g.code == piece.glass);
        let kind = kind.with_context(|| format!("{place}: no glass {}", piece.glass))?;
        let data = path_data(&piece.outline);
        let around = bounds_of(&data, up).context(place)?;
        bounds = Some(bounds.map_or(around, |b| joined(b, around)));
        let fill = fill(i, piece, kind, around);
        defs = defs.add(fill.definition);
        glass = glass.add(shape(&data, up).set("fill", fill.paint));
        if let Some(bevel) = piece.bevel {
            let clip = format!("clip{i}");
            defs = defs.add(ClipPath::new().set("id", clip.as_str()).add(shape(&data, up)));
            let slope = shape(&data, up)
                .set("fill", "none")
                .set("stroke", "#ffffff")
                .set("stroke-opacity", 0.55)
                .set("stroke-width", 2.0 * bevel.width)
                .set("clip-path", format!("url(#{clip})"));
            glass = glass.add(slope);
        }
        let (x, y) = middle(around);
        numbers = numbers.add(Text::new(piece.number.as_str()).set("x", x).set("y", y + 4.0));
    }
    let b = bounds.context("no pieces")?;
    let size = [
        f64::from(b.x()) - BORDER,
        f64::from(b.y()) - BORDER,
        f64::from(b.width()) + 2.0 * BORDER,
        f64::from(b.height()) + 2.0 * BORDER,
    ];
    let [x, y, width, height] = size;
    let lead = Rectangle::new()
        .set("x", x)
        .set("y", y)
        .set("width", width)
        .set("height", height);
    let numbers = numbers
        .set("font-family", "sans-serif")
        .set("font-size", 11)
        .set("text-anchor", "middle")
        .set("fill", "#1a1a1a");
    let document = svg::Document::new()
        .set("viewBox", (x, y, width, height))
        .set("width", format!("{width}mm"))
        .set("height", format!("{height}mm"))
        .add(defs)
        .add(lead.set("fill", LEAD))
        .add(glass)
        .add(numbers);
    Ok(document.to_string() + "\n")
}

fn path_data(outline: &OutlineFile) -> String {
    match outline {
        OutlineFile::Path(data) => data.clone(),
        OutlineFile::Points(points) => {
            let list: Vec<String> = points.iter().map(|[x, y]| format!("{x} {y}")).collect();
            format!("M {} Z", list.join(" L "))
        }
    }
}

fn shape(data: &str, up: bool) -> Shape {
    let shape = Shape::new().set("d", data);
    if up {
        shape.set("transform", "scale(1 -1)")
    } else {
        shape
    }
}

/// The box round one shape as the renderer reads it, y down.
fn bounds_of(data: &str, up: bool) -> Result<usvg::Rect> {
    let alone = svg::Document::new()
        .set("width", 10)
        .set("height", 10)
        .add(shape(data, up));
    let tree = usvg::Tree::from_str(&alone.to_string(), &usvg::Options::default())?;
    let bounds = tree.root().abs_bounding_box();
    anyhow::ensure!(bounds.width() > 0.0, "the outline is empty or not path data");
    Ok(bounds)
}

fn joined(a: usvg::Rect, b: usvg::Rect) -> usvg::Rect {
    let (left, top) = (a.left().min(b.left()), a.top().min(b.top()));
    let (right, bottom) = (a.right().max(b.right()), a.bottom().max(b.bottom()));
    usvg::Rect::from_ltrb(left, top, right, bottom).unwrap_or(a)
}

fn middle(b: usvg::Rect) -> (f64, f64) {
    (
        f64::from(b.left() + b.right()) / 2.0,
        f64::from(b.top() + b.bottom()) / 2.0,
    )
}

/// Length of a reed's stripe: longer than a panel, so that no seam between tiles shows.
const STRIPE: u32 = 4000;

fn stripe(width: u32, colour: &str) -> Rectangle {
    let stripe = Rectangle::new().set("width", width).set("height", STRIPE);
    stripe.set("fill", colour)
}

struct Fill {
    paint: String,
    definition: Box<dyn svg::Node>,
}

/// What a glass looks like against the light: flat if it has no grain, lined along two-way grain, shaded along one-way.
fn fill(i: usize, piece: &PieceFile, glass: &GlassFile, around: usvg::Rect) -> Fill {
    let degrees = piece.grain.unwrap_or(90.0);
    let id = format!("glass{i}");
    let paint = format!("url(#{id})");
    match glass.grain {
        GrainFile::None if piece.bevel.is_some() => flat("#d9e8ee"),
        GrainFile::None => flat("#5f9f93"),
        GrainFile::TwoWays => {
            let lines = Pattern::new()
                .set("id", id)
                .set("patternUnits", "userSpaceOnUse")
                .set("width", 10)
                .set("height", STRIPE)
                .set("patternTransform", format!("rotate({})", 90.0 - degrees))
                .add(stripe(10, "#cfdcd8"))
                .add(stripe(3, "#aebfbb"));
            Fill {
                paint,
                definition: Box::new(lines),
            }
        }
        GrainFile::OneWay => {
            let (x, y) = middle(around);
            let half = f64::from(around.width().hypot(around.height())) / 2.0;
            let (dx, dy) = (half * degrees.to_radians().cos(), -half * degrees.to_radians().sin());
            let stop = |at: f64, colour: &str| Stop::new().set("offset", at).set("stop-color", colour);
            let shading = LinearGradient::new()
                .set("id", id)
                .set("gradientUnits", "userSpaceOnUse")
                .set("x1", x - dx)
                .set("y1", y - dy)
                .set("x2", x + dx)
                .set("y2", y + dy)
                .add(stop(0.0, "#f8e3b4"))
                .add(stop(0.5, "#efc0a4"))
                .add(stop(1.0, "#b98fae"));
            Fill {
                paint,
                definition: Box::new(shading),
            }
        }
    }
}

fn flat(colour: &str) -> Fill {
    Fill {
        paint: colour.into(),
        definition: Box::new(Group::new()),
    }
}
