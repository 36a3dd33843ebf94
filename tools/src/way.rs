//! A picture of a sheet's score paths with their order, for the README and to judge orders by eye.

use anyhow::{Context, Result, bail};
use cullet_geometry::{Outline, Point};
use cullet_job::{FaceFile, Shop};
use cullet_model::Plan;
use cullet_scorepath::{Purpose, ScorePath, Sheet, Stretch};
use cullet_table::{Cutting, Run};
use std::fmt::Write;
use std::path::Path;

/// Margin round the sheet, mm.
const MARGIN: f64 = 12.0;

/// Draws map `number` of a plan as the table of a shop file scores it: paths numbered where the wheel is lowered, with an arrow where
/// it is lifted; travels dashed; relief and trim scores thinner. Seen from the show face, as on the sheet map.
///
/// # Errors
/// When a file cannot be read, the shop file has no table, or the table cannot score the sheet.
pub fn draw(plan: &Path, shop: &Path, number: u32, to: &Path) -> Result<()> {
    let read = |file: &Path| std::fs::read_to_string(file).with_context(|| format!("cannot read {}", file.display()));
    let plan: Plan = serde_json::from_str(&read(plan)?).context("no plan")?;
    let shop = Shop::read(&shop.display().to_string(), &read(shop)?)?;
    let Some(table) = shop.table() else {
        bail!("{} has no table", shop.file());
    };
    let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
    let layout = layouts
        .into_iter()
        .find(|layout| layout.number == number)
        .context("no such map")?;
    let glass = plan
        .job
        .glasses
        .iter()
        .find(|glass| glass.code == layout.stock.glass)
        .context("no glass")?;
    let cut = |id| plan.pieces.iter().find(|piece| piece.id == id).map(|piece| &piece.cut);
    let placed = layout
        .placements
        .iter()
        .filter_map(|one| Some(cut(one.id.clone())?.posed(&one.pose)));
    let pieces: Vec<Outline> = placed.collect();
    let cutting = Cutting {
        sheet: Sheet {
            outline: &layout.stock.outline,
            breaking: &layout.breaking,
            pieces: &pieces,
            offcuts: &layout.returned,
        },
        on_show_face: glass.scored_face == FaceFile::Show,
        thickness: glass.thickness * plan.job.units.mm(),
        job: &plan.job.name,
        map: (number, 1),
        glass: glass.code.clone(),
        tag: &layout.stock.tag,
        names: vec![],
        facet: 0.0625,
    };
    let run = Run::plan(&cutting, table)?;
    let text = svg(&layout.stock.outline, &pieces, &run.paths);
    std::fs::write(to, text).with_context(|| format!("cannot write {}", to.display()))
}

fn svg(sheet: &Outline, pieces: &[Outline], paths: &[ScorePath]) -> String {
    // What lies above the highest score is left out.
    let mut bounds = sheet.bounds();
    let ends = paths.iter().flat_map(|path| [path.start().y, path.end().y]);
    bounds.max.y = ends.fold(bounds.min.y, f64::max).min(bounds.max.y);
    let (width, height) = (bounds.width() + 2.0 * MARGIN, bounds.height() + 2.0 * MARGIN);
    let at = |p: Point| (p.x - bounds.min.x + MARGIN, bounds.max.y - p.y + MARGIN);
    let corners = |outline: &Outline| {
        let points = outline
            .points()
            .iter()
            .map(|p| format!("{:.2},{:.2}", at(*p).0, at(*p).1));
        points.collect::<Vec<_>>().join(" ")
    };
    let mut text = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" height=\"{height:.0}\" font-family=\"sans-serif\" font-size=\"9\">\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n\
         <polygon points=\"{}\" fill=\"#f4f4f4\" stroke=\"#000\" stroke-width=\"1.5\"/>\n",
        corners(sheet)
    );
    for piece in pieces {
        let _ = writeln!(text, "<polygon points=\"{}\" fill=\"#dcebf2\"/>", corners(piece));
    }
    let mut before: Option<Point> = None;
    for path in paths {
        if let Some(before) = before {
            let ((x, y), (u, v)) = (at(before), at(path.start()));
            let _ = writeln!(
                text,
                "<path d=\"M{x:.2} {y:.2}L{u:.2} {v:.2}\" stroke=\"#c33\" stroke-width=\"1\" stroke-dasharray=\"4 3\"/>"
            );
        }
        before = Some(path.end());
    }
    for (number, path) in paths.iter().enumerate() {
        let wide = if path.purpose == Purpose::Score { 1.8 } else { 0.9 };
        let _ = writeln!(
            text,
            "<path d=\"{}\" fill=\"none\" stroke=\"#124\" stroke-width=\"{wide}\"/>",
            way(path, &at)
        );
        arrow(&mut text, path, &at);
        let (x, y) = at(path.start());
        let _ = writeln!(
            text,
            "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"7\" fill=\"#fff\" stroke=\"#124\" stroke-width=\"0.8\"/>\
             <text x=\"{x:.2}\" y=\"{:.2}\" text-anchor=\"middle\">{}</text>",
            y + 3.2,
            number + 1
        );
    }
    text + "</svg>\n"
}

fn way(path: &ScorePath, at: &dyn Fn(Point) -> (f64, f64)) -> String {
    let (x, y) = at(path.start());
    let mut data = format!("M{x:.2} {y:.2}");
    for stretch in &path.stretches {
        let (x, y) = at(stretch.to());
        let _ = match stretch {
            Stretch::Line { .. } => write!(data, "L{x:.2} {y:.2}"),
            Stretch::Arc { ccw, .. } => {
                let r = stretch.radius();
                let large = u8::from(stretch.sweep().abs() > std::f64::consts::PI);
                write!(data, "A{r:.2} {r:.2} 0 {large} {} {x:.2} {y:.2}", u8::from(!*ccw))
            }
        };
    }
    data
}

/// A head where the wheel is lifted.
fn arrow(text: &mut String, path: &ScorePath, at: &dyn Fn(Point) -> (f64, f64)) {
    let Some(last) = path.stretches.last() else { return };
    let (tip, along) = (path.end(), last.end_heading());
    let across = Point {
        x: -along.y,
        y: along.x,
    };
    let (a, b, c) = (
        at(tip),
        at(tip - along * 8.0 + across * 3.0),
        at(tip - along * 8.0 - across * 3.0),
    );
    let _ = writeln!(
        text,
        "<path d=\"M{:.2} {:.2}L{:.2} {:.2}L{:.2} {:.2}Z\" fill=\"#124\"/>",
        a.0, a.1, b.0, b.1, c.0, c.1
    );
}
