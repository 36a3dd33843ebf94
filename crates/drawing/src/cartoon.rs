//! From a drawing to cells, pieces and leads.

mod troubles;
use troubles::{in_words, name_troubles};

use crate::arrange::{Arrangement, Drawn, TooMuch, arrange};
use crate::came::{self, CellSide, Space};
use crate::curve::{Curve, length};
use crate::finding::{At, DrawingFinding, Findings};
use crate::settings::{BorderLine, CartoonSettings, Role};
use crate::{Drawing, Stroke, buildable, facts, leads, marks, outlined, parts, smooth};
use cullet_geometry::Point;
use cullet_job::measure::exact;

/// A cartoon that has been read: what was found in it may still keep it from being built.
#[derive(Debug, Clone, PartialEq)]
pub struct Cartoon {
    /// The lead lines, joined.
    pub arrangement: Arrangement,
    /// The cells, in the order of the arrangement's faces.
    pub cells: Vec<Cell>,
    /// The leads.
    pub leads: Vec<leads::CameLength>,
    /// The panel's outer edge: lower left and upper right corner, mm.
    pub bounds: (Point, Point),
    /// Everything found, errors first.
    pub findings: Vec<DrawingFinding>,
}

/// A cell and the piece in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Area between the lead lines' centres, mm².
    pub area: f64,
    /// Its boundary, counter-clockwise, mm.
    pub sides: Vec<CellSide>,
    /// Lines beyond its boundary whose came may reach in, since it is wider than that along some side.
    pub beyond: Vec<CellSide>,
    /// The finished outline of its glass, counter-clockwise, mm; empty where the leads leave nothing.
    pub finished: Vec<Curve>,
    /// Number of the piece.
    pub number: String,
    /// Whether the number stands in the drawing.
    pub is_numbered: bool,
    /// Code of its glass.
    pub glass: Option<String>,
    /// Direction of its grain, degrees counter-clockwise from the right.
    pub grain: Option<f64>,
    /// A point well inside.
    pub middle: Point,
}

/// Reads a drawing of lead lines.
///
/// ```
/// use cullet_drawing::settings::CartoonSettings;
/// use cullet_drawing::{Drawing, Segment, Stroke, Text, cartoon};
/// use cullet_geometry::Point;
/// let p = |x, y| Point { x, y };
/// let stroke = |points: &[Point]| Stroke {
///     segments: points.windows(2).map(|w| Segment::Line { from: w[0], to: w[1] }).collect(),
///     closed: false, layer: String::new(), classes: vec![], place: Default::default(),
/// };
/// // A panel of 200 × 300 mm with one lead line across the middle.
/// let drawing = Drawing {
///     strokes: vec![
///         stroke(&[p(0., 0.), p(200., 0.), p(200., 300.), p(0., 300.), p(0., 0.)]),
///         stroke(&[p(0., 150.), p(200., 150.)]),
///     ],
///     texts: vec![Text { at: p(90., 60.), content: "7 R".into(), layer: String::new(), classes: vec![], place: Default::default() }],
///     ..Drawing::default()
/// };
/// let settings = CartoonSettings { glasses: vec!["R".into()], glass: Some("R".into()), ..CartoonSettings::default() };
/// let cartoon = cartoon::read(&drawing, &settings);
/// let numbers: Vec<&str> = cartoon.cells.iter().map(|cell| cell.number.as_str()).collect();
/// assert_eq!(numbers, ["1", "7"]);
/// assert_eq!(cartoon.cells.iter().map(|cell| cell.area).sum::<f64>(), 60_000.0);
/// ```
#[must_use]
pub fn read(drawing: &Drawing, settings: &CartoonSettings) -> Cartoon {
    let mut findings = Findings(vec![], settings.units);
    let Lines {
        mut drawn,
        mut strokes,
        border_came,
    } = lead_lines(drawing, settings);
    let mut arrangement = match arrange(&drawn, settings.snap) {
        Ok(arrangement) => arrangement,
        Err(too_much) => return Cartoon::refused(&too_much),
    };
    let choice = parts::choose(&arrangement, &drawn, &strokes, drawing, settings, &mut findings);
    if choice.kept.contains(&false) {
        keep(&mut drawn, &choice.kept);
        keep(&mut strokes, &choice.kept);
        arrangement = match arrange(&drawn, settings.snap) {
            Ok(arrangement) => arrangement,
            Err(too_much) => return Cartoon::refused(&too_much),
        };
    }
    name_troubles(&arrangement.troubles, &strokes, settings.snap, &mut findings);
    facts::check_file(drawing, settings, &mut findings);
    facts::name_guessed(&strokes, settings, &mut findings);
    let bounds = bounds_of(&arrangement);
    facts::check_size(drawing, settings, bounds, &mut findings);
    let mut cells = cells(&arrangement, settings, border_came);
    if cells.is_empty() {
        findings.error(
            At::default(),
            format!("{} lines that enclose nothing", drawn.len()),
            "lead lines with cells between them",
            "Draw the panel's outer edge too, close its gaps, and check the names of the layers.",
        );
    }
    marks::read(drawing, settings, &choice.aside, &mut cells, &mut findings);
    for (cell, face) in cells.iter_mut().zip(&arrangement.faces) {
        take_space(cell, face.holes.len(), &mut findings);
    }
    buildable::check(&cells, settings, bounds, &arrangement, &mut findings);
    outlined::name(&drawn, &strokes, settings, &mut findings);
    let leads = leads::measure(&arrangement, settings, border_came);
    let mut findings = findings.0;
    findings.sort_by_key(|finding| finding.severity);
    Cartoon {
        arrangement,
        cells,
        leads,
        bounds,
        findings,
    }
}

/// Reads a drawing whose closed shapes are finished outlines as they are.
#[must_use]
pub fn read_outlines(drawing: &Drawing, settings: &CartoonSettings) -> Cartoon {
    let mut findings = Findings(vec![], settings.units);
    let Lines {
        mut drawn, mut strokes, ..
    } = lead_lines(drawing, settings);
    if settings.part.frame.is_some() {
        findings.error(
            At::default(),
            "a frame for a drawing of outlines",
            "its layer or its page",
            "Every shape is a piece here, and none holds the others: say which with a layer or a page.",
        );
    }
    let wanted: Vec<bool> = strokes
        .iter()
        .map(|(_, stroke)| parts::is_wanted(drawing, stroke, &settings.part))
        .collect();
    let others = drawn.iter().zip(&wanted).filter(|(_, wanted)| !**wanted);
    let aside: Vec<parts::Corners> = others.map(|(line, _)| parts::bounds_of(&line.curves)).collect();
    keep(&mut drawn, &wanted);
    keep(&mut strokes, &wanted);
    facts::check_file(drawing, settings, &mut findings);
    let mut cells = vec![];
    // Each shape by itself: lines that meet end to end are joined, nothing else.
    let shapes = arrange_each(&drawn, settings.snap, &strokes, &mut findings);
    for curves in shapes {
        let area = curves.iter().map(Curve::twice_area).sum::<f64>() / 2.0;
        cells.push(Cell::of(
            curves
                .iter()
                .map(|curve| CellSide {
                    curve: *curve,
                    inset: 0.0,
                })
                .collect(),
            area,
        ));
    }
    let arrangement = Arrangement::default();
    marks::read(drawing, settings, &aside, &mut cells, &mut findings);
    for cell in &mut cells {
        cell.finished = cell.sides.iter().map(|side| side.curve).collect();
    }
    let bounds = bounds_of_curves(cells.iter().flat_map(|cell| &cell.finished));
    facts::check_size(drawing, settings, bounds, &mut findings);
    buildable::check(&cells, settings, bounds, &arrangement, &mut findings);
    let mut findings = findings.0;
    findings.sort_by_key(|finding| finding.severity);
    Cartoon {
        arrangement,
        cells,
        leads: vec![],
        bounds,
        findings,
    }
}

impl Cartoon {
    /// One of which nothing was made, since it is more than any window.
    fn refused(too_much: &TooMuch) -> Self {
        let mut findings = Findings::default();
        findings.error(
            At::default(),
            format!("more than {} {}", too_much.most, too_much.what),
            "the lead lines of one panel",
            "Take out hatching, traced pictures and lines drawn over each other, and give each panel a drawing of its own.",
        );
        let origin = Point { x: 0.0, y: 0.0 };
        Self {
            arrangement: Arrangement::default(),
            cells: vec![],
            leads: vec![],
            bounds: (origin, origin),
            findings: findings.0,
        }
    }
}

impl Cell {
    fn of(sides: Vec<CellSide>, area: f64) -> Self {
        let points: Vec<Point> = sides.iter().flat_map(|side| side.curve.chords(0.05)).collect();
        Self {
            area,
            middle: marks::middle(&points),
            sides,
            beyond: vec![],
            finished: vec![],
            number: String::new(),
            is_numbered: false,
            glass: None,
            grain: None,
        }
    }
}

/// The lines to join.
struct Lines<'a> {
    drawn: Vec<Drawn>,
    /// What each was drawn as, with its index in the drawing.
    strokes: Vec<(usize, &'a Stroke)>,
    /// The number that stands for the border came.
    border_came: usize,
}

fn lead_lines<'a>(drawing: &'a Drawing, settings: &CartoonSettings) -> Lines<'a> {
    let border_came = settings.cames.len();
    let mut lines = Lines {
        drawn: vec![],
        strokes: vec![],
        border_came,
    };
    for (i, stroke) in drawing.strokes.iter().enumerate() {
        let came = match settings.role(&stroke.layer, &stroke.classes) {
            Role::Lead(came) => came,
            Role::Border => border_came,
            _ => continue,
        };
        lines.drawn.push(Drawn {
            curves: stroke.segments.iter().flat_map(smooth::curves).collect(),
            closed: stroke.closed,
            came,
        });
        lines.strokes.push((i, stroke));
    }
    lines
}

/// Those of `all` that `kept` says.
fn keep<T>(all: &mut Vec<T>, kept: &[bool]) {
    let mut kept = kept.iter();
    all.retain(|_| kept.next().copied().unwrap_or(true));
}

/// The closed shapes among the lines, counter-clockwise; open ones are named.
fn arrange_each(lines: &[Drawn], snap: f64, strokes: &[(usize, &Stroke)], findings: &mut Findings) -> Vec<Vec<Curve>> {
    let mut shapes = vec![];
    for (closed, mut curves, line) in crate::arrange::chains(lines) {
        let (Some(start), Some(end)) = (curves.first().map(|c| c.at(0.0)), curves.last().map(|c| c.at(1.0))) else {
            continue;
        };
        let gap = length(end - start);
        if !closed && gap > snap {
            findings.error(
                At {
                    at: Some(end),
                    piece: None,
                    source: in_words(strokes[line].1),
                },
                format!("an open shape, its end {} from its start", exact(gap, 2, findings.1)),
                "closed shapes, each the finished outline of a piece",
                "Close the shape; or, if these are lead lines, read the drawing as a cartoon.",
            );
            continue;
        }
        if let Some(last) = curves.last_mut() {
            *last = last.fitted(last.at(0.0), start);
        }
        if curves.iter().map(Curve::twice_area).sum::<f64>() < 0.0 {
            curves = curves.iter().rev().map(Curve::reversed).collect();
        }
        shapes.push(curves);
    }
    shapes
}

/// The cells with their sides and insets.
fn cells(arrangement: &Arrangement, settings: &CartoonSettings, border: usize) -> Vec<Cell> {
    let beside = arrangement.faces_beside();
    let is_outer = |edge: usize| beside[edge].contains(&None);
    let inset = |edge: usize| inset_of(settings, arrangement.edges[edge].came, is_outer(edge), border);
    let outer: Vec<(usize, CellSide)> = (0..arrangement.edges.len())
        .filter(|edge| is_outer(*edge))
        .flat_map(|edge| {
            let curves = arrangement.edges[edge].curves.iter();
            let inset = inset(edge);
            curves.map(move |curve| (edge, CellSide { curve: *curve, inset }))
        })
        .collect();
    arrangement
        .faces
        .iter()
        .map(|face| {
            let sides = face.sides.iter().flat_map(|side| {
                let inset = inset(side.edge);
                let curves = arrangement.curves_of(*side).into_iter();
                curves.map(move |curve| CellSide { curve, inset })
            });
            let mut cell = Cell::of(sides.collect(), face.area);
            let others = outer
                .iter()
                .filter(|(edge, _)| face.sides.iter().all(|side| side.edge != *edge));
            cell.beyond = reaching_in(others.map(|(_, line)| line), &cell.sides);
            cell
        })
        .collect()
}

/// Those of the panel's outer lines whose came reaches over some side of a cell, by upright boxes: where a curve touches the
/// panel's edge the border came takes more of the glass than the lead along the curve.
fn reaching_in<'a>(outer: impl Iterator<Item = &'a CellSide>, sides: &[CellSide]) -> Vec<CellSide> {
    let least = sides.iter().map(|side| side.inset).fold(f64::INFINITY, f64::min);
    let (low, high) = bounds_of_curves(sides.iter().map(|side| &side.curve));
    let reaches = |line: &CellSide| {
        let (a, b) = line.curve.corners();
        line.inset > least
            && a.x < high.x + line.inset
            && b.x > low.x - line.inset
            && a.y < high.y + line.inset
            && b.y > low.y - line.inset
    };
    outer.filter(|line| reaches(line)).copied().collect()
}

fn inset_of(settings: &CartoonSettings, came: usize, is_outer: bool, border: usize) -> f64 {
    let by_border = |came: &crate::came::Came| match settings.border_line {
        BorderLine::OuterEdge => came.border_inset(),
        BorderLine::Centre => came.inset(),
        BorderLine::Glass => 0.0,
    };
    if is_outer || came == border {
        return by_border(&settings.border);
    }
    settings.foil.unwrap_or_else(|| settings.cames[came].came.inset())
}

/// Works out the finished outline; what the leads do not leave room for is named.
fn take_space(cell: &mut Cell, holes: usize, findings: &mut Findings) {
    let at = At {
        at: Some(cell.middle),
        piece: Some(cell.number.clone()),
        source: String::new(),
    };
    if holes > 0 {
        findings.error(
            at,
            "a piece that surrounds others",
            "lead lines that are all connected",
            "Nobody can cut a hole with a wheel: draw lead lines from the inner part to the others. If the outer line is the \
             frame of the page, put it on a layer named ignore, and the panel's outer edge on one named border.",
        );
        return;
    }
    match came::finished(&cell.sides, &cell.beyond) {
        Space::Glass(curves) => cell.finished = curves,
        Space::Split(curves, parts) => {
            findings.error(
                at,
                format!("a cell that the leads split into {parts} parts"),
                "one piece of glass in each cell",
                "The lead lines come too near each other: widen the neck, or draw a lead line across it.",
            );
            cell.finished = curves;
        }
        Space::None => findings.error(
            at,
            "a cell that the leads fill completely",
            "room for glass between the leads",
            "Move the lead lines apart, take one out, or choose a narrower came.",
        ),
    }
}

fn bounds_of(arrangement: &Arrangement) -> (Point, Point) {
    bounds_of_curves(arrangement.edges.iter().flat_map(|edge| &edge.curves))
}

fn bounds_of_curves<'a>(curves: impl Iterator<Item = &'a Curve>) -> (Point, Point) {
    let all = curves.map(Curve::corners).reduce(|a, b| {
        (
            Point {
                x: a.0.x.min(b.0.x),
                y: a.0.y.min(b.0.y),
            },
            Point {
                x: a.1.x.max(b.1.x),
                y: a.1.y.max(b.1.y),
            },
        )
    });
    all.unwrap_or((Point { x: 0.0, y: 0.0 }, Point { x: 0.0, y: 0.0 }))
}
