//! DXF read as any reader of R12 does: pairs of a code and a value, entities by their layer.

use crate::{Fault, Mark, Stroke, Wanted, fault, ground};
use cullet_geometry::Point;

/// Distance of two marks, mm.
const STEP: f64 = 0.25;
/// Layers that are scored, and those that are not.
const SCORED: [&str; 3] = ["SCORE", "RELIEF", "TRIM"];
const NOT_SCORED: [&str; 3] = ["SHEET", "PIECES", "GAUGE"];

struct Entity<'a> {
    kind: &'a str,
    line: usize,
    fields: Vec<(u32, &'a str)>,
}

impl Entity<'_> {
    fn number(&self, code: u32) -> Option<f64> {
        let field = self.fields.iter().find(|field| field.0 == code);
        field
            .and_then(|field| field.1.trim().parse().ok())
            .filter(|n: &f64| n.is_finite())
    }

    fn point(&self, code: u32) -> Option<Point> {
        Some(Point {
            x: self.number(code)?,
            y: self.number(code + 10)?,
        })
    }

    fn layer(&self) -> &str {
        self.fields
            .iter()
            .find(|field| field.0 == 8)
            .map_or("", |field| field.1.trim())
    }
}

/// The entities of the file, with what is no DXF in it.
fn entities(text: &str) -> (Vec<Entity<'_>>, Vec<Fault>) {
    let mut faults = vec![];
    let mut entities: Vec<Entity<'_>> = vec![];
    let lines: Vec<&str> = text.lines().collect();
    for (k, pair) in lines.chunks(2).enumerate() {
        let (Some(Ok(code)), Some(value)) = (pair.first().map(|code| code.trim().parse::<u32>()), pair.get(1)) else {
            faults.push(fault(2 * k + 1, "a line that is no DXF code with its value".into()));
            break;
        };
        if code == 0 {
            entities.push(Entity {
                kind: value.trim(),
                line: 2 * k + 1,
                fields: vec![],
            });
        } else if let Some(entity) = entities.last_mut() {
            entity.fields.push((code, *value));
        }
    }
    if entities.last().is_none_or(|entity| entity.kind != "EOF") {
        faults.push(fault(lines.len(), "the file does not end with EOF".into()));
    }
    (entities, faults)
}

/// What a table scores that follows the file, in the sheet's frame.
pub(crate) fn strokes(text: &str, wanted: &Wanted<'_>) -> (Vec<Stroke>, Vec<Fault>) {
    let (entities, mut faults) = entities(text);
    let mut strokes = vec![];
    let mut has_sheet = false;
    let mut k = 0;
    while k < entities.len() {
        let entity = &entities[k];
        k += 1;
        if ["SECTION", "ENDSEC", "EOF"].contains(&entity.kind) {
            continue;
        }
        let layer = entity.layer();
        let vertices = entities[k..].iter().take_while(|next| next.kind == "VERTEX").count();
        if entity.kind == "POLYLINE" {
            k += vertices + usize::from(entities.get(k + vertices).is_some_and(|end| end.kind == "SEQEND"));
        }
        if NOT_SCORED.contains(&layer) {
            if layer == "SHEET" {
                has_sheet = true;
                sheet(&entities[k - vertices - 1..k], wanted, entity.line, &mut faults);
            }
            continue;
        }
        if !SCORED.contains(&layer) {
            let what = format!(
                "an entity on the layer \"{}\", which is none of these files'",
                layer.escape_debug()
            );
            faults.push(fault(entity.line, what));
            continue;
        }
        let parts = match entity.kind {
            "LINE" => entity
                .point(10)
                .zip(entity.point(11))
                .map(|(from, to)| vec![(from, to, 0.0)]),
            "ARC" => arc(entity),
            "POLYLINE" => polyline(&entities[k - vertices - 1..k - 1]),
            _ => None,
        };
        match parts {
            Some(parts) => strokes.push(stroke(&parts, entity.line, wanted)),
            None => faults.push(fault(
                entity.line,
                format!("{} cannot be followed", entity.kind.escape_debug()),
            )),
        }
    }
    if !has_sheet {
        faults.push(fault(0, "no outline of the sheet on the layer SHEET".into()));
    }
    (strokes, faults)
}

/// The outline drawn is the sheet's, in its size.
fn sheet(vertices: &[Entity<'_>], wanted: &Wanted<'_>, line: usize, faults: &mut Vec<Fault>) {
    let points: Vec<Point> = vertices
        .iter()
        .filter(|v| v.kind == "VERTEX")
        .filter_map(|v| v.point(10))
        .collect();
    let corners = wanted.outline.points();
    let near = |p: Point| {
        let p = ground::from_seen(p, wanted);
        corners.iter().any(|q| (p.x - q.x).hypot(p.y - q.y) < 0.01)
    };
    if points.len() != corners.len() || !points.iter().all(|p| near(*p)) {
        faults.push(fault(
            line,
            "the outline on SHEET is not the sheet's, or not seen from the scored face".into(),
        ));
    }
}

/// From, to, and how far it turns, radians.
type Part = (Point, Point, f64);

fn arc(entity: &Entity<'_>) -> Option<Vec<Part>> {
    let (centre, radius) = (entity.point(10)?, entity.number(40)?);
    let (from, to) = (entity.number(50)?, entity.number(51)?);
    let at = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        centre
            + Point {
                x: radius * cos,
                y: radius * sin,
            }
    };
    Some(vec![(at(from), at(to), (to - from).rem_euclid(360.0).to_radians())])
}

fn polyline(vertices: &[Entity<'_>]) -> Option<Vec<Part>> {
    let vertices: Vec<&Entity<'_>> = vertices.iter().filter(|v| v.kind == "VERTEX").collect();
    if vertices.len() < 2 {
        return None;
    }
    let sides = vertices.windows(2).map(|w| {
        let turn = 4.0 * w[0].number(42).unwrap_or(0.0).atan();
        Some((w[0].point(10)?, w[1].point(10)?, turn))
    });
    sides.collect()
}

fn stroke(parts: &[Part], line: usize, wanted: &Wanted<'_>) -> Stroke {
    let mut marks: Vec<Mark> = vec![];
    for (from, to, turn) in parts {
        let chord = *to - *from;
        let length = chord.x.hypot(chord.y);
        let steps = (length / STEP).max(turn.abs() / 0.05).ceil().max(1.0);
        for k in 0..=steps as u32 {
            let share = f64::from(k) / steps;
            let p = if *turn == 0.0 {
                *from + chord * share
            } else {
                // The chord to this point is turned from the whole by half of what is left of the turn.
                let rest = turn * (share - 1.0) / 2.0;
                let size = (turn * share / 2.0).sin() / (turn / 2.0).sin();
                let (sin, cos) = rest.sin_cos();
                *from
                    + Point {
                        x: (chord.x * cos - chord.y * sin) * size,
                        y: (chord.x * sin + chord.y * cos) * size,
                    }
            };
            let at = ground::from_seen(p, wanted);
            if !marks
                .last()
                .is_some_and(|mark| (mark.at.x - at.x).hypot(mark.at.y - at.y) < 0.005)
            {
                marks.push(Mark { at, line });
            }
        }
    }
    Stroke { marks }
}
