//! Entities of the drawing and of the blocks that are inserted in it.

use super::groups::{Record, cut};
use super::{Block, File, LayerState, key, text};
use crate::drawing::Segment;
use crate::read::ReadError;
use crate::read::affine::{Affine, ellipse_arc};
use crate::read::limits::{Around, Gather};
use cullet_geometry::Point;

/// Where entities are drawn.
pub(super) struct Context<'a> {
    pub(super) map: Affine,
    /// The INSERT's layer, for what lies on layer 0 in its block.
    layer: Option<&'a str>,
    /// The blocks being drawn, outermost first.
    blocks: Vec<String>,
}

impl Context<'_> {
    pub(super) fn model(map: Affine) -> Self {
        Self {
            map,
            layer: None,
            blocks: vec![],
        }
    }
}

/// Entities that show nothing themselves.
const SHOWS_NOTHING: [&str; 3] = ["VIEWPORT", "SEQEND", "ENDBLK"];

pub(super) struct Reader<'a> {
    file: &'a File<'a>,
    pub(super) gather: Gather,
}

impl<'a> Reader<'a> {
    pub(super) fn new(file: &'a File<'a>, gather: Gather) -> Self {
        Self { file, gather }
    }

    pub(super) fn entities(&mut self, records: &'a [Record<'a>], context: &Context<'a>) -> Result<(), ReadError> {
        let mut rest = records;
        while let Some((record, after)) = rest.split_first() {
            // A polyline's points and an INSERT's texts follow it as records of their own.
            let parts = match record.kind {
                "POLYLINE" => after.iter().take_while(|r| r.kind == "VERTEX").count(),
                "INSERT" => after.iter().take_while(|r| r.kind == "ATTRIB").count(),
                _ => 0,
            };
            let (parts, after) = after.split_at(parts);
            self.entity(record, parts, context)?;
            rest = after;
        }
        Ok(())
    }

    fn entity(&mut self, record: &Record<'a>, parts: &'a [Record<'a>], context: &Context<'a>) -> Result<(), ReadError> {
        self.gather.element(record.line, context.blocks.len())?;
        let values = std::iter::once(record).chain(parts).flat_map(|r| r.groups);
        self.gather.work(values.map(|g| g.value.len()).sum(), record.line)?;
        if SHOWS_NOTHING.contains(&record.kind) {
            return Ok(());
        }
        let Some(layer) = self.shown_layer(record, context) else {
            return Ok(());
        };
        if record.int(60) == 1 {
            self.gather.unseen("hidden", 1, record.line);
            return Ok(());
        }
        if record.int(67) == 1 {
            self.gather
                .left_out(format!("{} in paper space", cut(record.kind)), record.line);
            return Ok(());
        }
        if let Some((found, expected)) = std::iter::once(record).chain(parts).find_map(Record::fault) {
            let place = record.place();
            self.gather.bad(
                &place,
                found,
                expected,
                "the file is damaged there: save the drawing again",
            );
            return Ok(());
        }
        let around = Around {
            layer: layer.to_owned(),
            classes: vec![],
        };
        match record.kind {
            "LINE" => self.line(record, context, &around),
            "CIRCLE" | "ARC" => self.arc(record, context, &around),
            "ELLIPSE" => self.ellipse(record, context, &around),
            "LWPOLYLINE" => self.lw_polyline(record, context, &around),
            "POLYLINE" => self.polyline(record, parts, context, &around),
            "SPLINE" => self.spline(record, context, &around),
            "TEXT" | "ATTRIB" => self.text(record, context, &around),
            "MTEXT" => self.m_text(record, context, &around),
            "INSERT" => self.insert(record, parts, context, layer),
            // In a block it only says where an INSERT's own text will stand, unless it is constant.
            "ATTDEF" if !context.blocks.is_empty() && record.int(70) & 2 == 0 => Ok(()),
            "ATTDEF" => self.text(record, context, &around),
            kind => {
                self.gather.left_out(cut(kind), record.line);
                Ok(())
            }
        }
    }

    /// The layer an entity counts to, or none (and counted) if that hides it.
    fn shown_layer(&mut self, record: &Record<'a>, context: &Context<'a>) -> Option<&'a str> {
        let own = match record.text(8).trim() {
            "" => "0",
            name => name,
        };
        let layer = context.layer.filter(|_| own == "0").unwrap_or(own);
        let facts = self.gather.facts();
        if !facts.layers.contains(layer) {
            facts.layers.insert(layer.to_owned());
        }
        let is_insert = record.kind == "INSERT";
        let why = match self.file.layer(layer) {
            LayerState::Frozen => "is frozen",
            // What an INSERT on such a layer draws on others still shows.
            LayerState::Off if !is_insert => "is off",
            LayerState::NotPrinted if !is_insert => "does not print",
            _ => return Some(layer),
        };
        self.gather
            .unseen(&format!("on the layer {}, which {why}", cut(layer)), 1, record.line);
        None
    }

    /// From the entity's own axes to the drawing's, or none (and named) if it does not lie in the drawing plane.
    pub(super) fn axes(&mut self, record: &Record) -> Option<Affine> {
        let normal = [210, 220, 230].map(|code| record.number(code).unwrap_or(if code == 230 { 1.0 } else { 0.0 }));
        let length = normal.iter().map(|v| v * v).sum::<f64>().sqrt();
        let up = normal[2] / length;
        // The format's arbitrary axis rule gives (−1, 0, 0) as x axis for the direction (0, 0, −1).
        if up > 1.0 - 1e-9 {
            Some(Affine::IDENTITY)
        } else if up < -1.0 + 1e-9 {
            Some(Affine::scale(-1.0, 1.0))
        } else {
            self.gather
                .left_out(format!("{} tilted out of the drawing plane", record.kind), record.line);
            None
        }
    }

    /// The numbers under `codes`; a missing one is kept as a value that cannot be read.
    fn need<const N: usize>(&mut self, record: &Record, codes: [i32; N]) -> Option<[f64; N]> {
        let mut numbers = [0.0; N];
        for (number, code) in numbers.iter_mut().zip(codes) {
            let Some(value) = record.number(code) else {
                let place = record.place();
                let found = format!("no value with group code {code}");
                self.gather.bad(
                    &place,
                    found,
                    "a number",
                    "the file is damaged there: save the drawing again",
                );
                return None;
            };
            *number = value;
        }
        Some(numbers)
    }

    fn one(
        &mut self,
        record: &Record,
        map: &Affine,
        segment: Segment,
        closed: bool,
        around: &Around,
    ) -> Result<(), ReadError> {
        self.gather.stroke(map, &[segment], closed, around, &record.place())
    }

    fn line(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        let Some([x1, y1, x2, y2]) = self.need(record, [10, 20, 11, 21]) else {
            return Ok(());
        };
        let line = Segment::Line {
            from: Point { x: x1, y: y1 },
            to: Point { x: x2, y: y2 },
        };
        self.one(record, &context.map, line, false, around)
    }

    fn arc(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        let Some([x, y, radius]) = self.need(record, [10, 20, 40]) else {
            return Ok(());
        };
        let (start_deg, sweep_deg) = match record.kind {
            "CIRCLE" => (0.0, 360.0),
            _ => match self.need(record, [50, 51]) {
                Some([start, end]) => (start, turn(end - start, 360.0)),
                None => return Ok(()),
            },
        };
        if radius <= 0.0 {
            let place = record.place();
            self.gather
                .bad(&place, format!("radius {radius}"), "a radius above 0", "draw it anew");
            return Ok(());
        }
        let Some(axes) = self.axes(record) else { return Ok(()) };
        let centre = Point { x, y };
        let arc = Segment::Arc {
            centre,
            radii: [radius, radius],
            rotation_deg: 0.0,
            start_deg,
            sweep_deg,
        };
        self.one(record, &context.map.after(&axes), arc, record.kind == "CIRCLE", around)
    }

    /// Centre and long half axis stand in the drawing's axes; the short one is turned from it about the extrusion.
    fn ellipse(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        let Some([x, y, ux, uy, ratio]) = self.need(record, [10, 20, 11, 21, 40]) else {
            return Ok(());
        };
        let Some(axes) = self.axes(record) else { return Ok(()) };
        let side = if axes == Affine::IDENTITY { ratio } else { -ratio };
        let start = record.number(41).unwrap_or(0.0);
        let sweep = turn(
            record.number(42).unwrap_or(std::f64::consts::TAU) - start,
            std::f64::consts::TAU,
        );
        if ratio.abs() < 1e-9 || ux.hypot(uy) == 0.0 {
            let place = record.place();
            self.gather.bad(
                &place,
                "an ellipse without width",
                "two half axes above 0",
                "draw it anew",
            );
            return Ok(());
        }
        let whole = (sweep - std::f64::consts::TAU).abs() < 1e-9;
        let sweep_deg = if whole { 360.0 } else { sweep.to_degrees() };
        let (u, v) = (
            Point { x: ux, y: uy },
            Point {
                x: -uy * side,
                y: ux * side,
            },
        );
        let arc = ellipse_arc(Point { x, y }, u, v, start.to_degrees(), sweep_deg);
        self.one(record, &context.map, arc, whole, around)
    }

    fn text(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        if matches!(record.kind, "ATTRIB" | "ATTDEF") && record.int(70) & 1 != 0 {
            return Ok(());
        }
        let Some(at) = self.need(record, [10, 20]) else {
            return Ok(());
        };
        let Some(axes) = self.axes(record) else { return Ok(()) };
        // Any justification but left, aligned and fit counts from the second point.
        let (across, up) = (record.int(72), record.int(if record.kind == "TEXT" { 73 } else { 74 }));
        let justified = (across != 0 && !matches!(across, 3 | 5)) || up != 0;
        let second = [record.number(11), record.number(21)];
        let [x, y] = match second {
            [Some(x), Some(y)] if justified => [x, y],
            _ => at,
        };
        let content = text::plain(record.text(1));
        self.gather.text(
            &context.map.after(&axes),
            Point { x, y },
            &content,
            around,
            &record.place(),
        )
    }

    fn m_text(&mut self, record: &Record, context: &Context, around: &Around) -> Result<(), ReadError> {
        let Some([x, y]) = self.need(record, [10, 20]) else {
            return Ok(());
        };
        let raw: String = record.all(3).chain(record.all(1)).collect();
        self.gather.text(
            &context.map,
            Point { x, y },
            &text::formatted(&raw),
            around,
            &record.place(),
        )
    }

    fn insert(
        &mut self,
        record: &Record<'a>,
        texts: &'a [Record<'a>],
        context: &Context<'a>,
        layer: &'a str,
    ) -> Result<(), ReadError> {
        for text in texts {
            self.entity(text, &[], context)?;
        }
        let name = record.text(2);
        let file = self.file;
        let Some(block) = file.blocks.get(&key(name)) else {
            self.gather.left_out(
                format!("INSERT of {:?}, which is not in the file", cut(name)),
                record.line,
            );
            return Ok(());
        };
        if block.external {
            self.gather
                .left_out(format!("INSERT of another drawing, {:?}", cut(name)), record.line);
            return Ok(());
        }
        if context.blocks.contains(&key(name)) {
            self.gather
                .left_out(format!("INSERT of {:?} inside itself", cut(name)), record.line);
            return Ok(());
        }
        let Some([x, y]) = self.need(record, [10, 20]) else {
            return Ok(());
        };
        let Some(axes) = self.axes(record) else { return Ok(()) };
        let at = axes.after(&Affine::shift(x, y));
        let turned = at.after(&Affine::rotation(record.number(50).unwrap_or(0.0)));
        self.copies(record, block, &context.map.after(&turned), context, layer)
    }

    /// Every copy of an INSERT's array; most have one.
    fn copies(
        &mut self,
        record: &Record<'a>,
        block: &'a Block<'a>,
        turned: &Affine,
        context: &Context<'a>,
        layer: &'a str,
    ) -> Result<(), ReadError> {
        let scale = |code| record.number(code).unwrap_or(1.0);
        let own = Affine::scale(scale(41), scale(42)).after(&Affine::shift(-block.base[0], -block.base[1]));
        if turned.after(&own).is_flat() {
            self.gather
                .left_out(format!("INSERT of {:?} pressed flat", cut(record.text(2))), record.line);
            return Ok(());
        }
        let mut blocks = context.blocks.clone();
        blocks.push(key(record.text(2)));
        let mut inside = Context {
            map: context.map,
            layer: Some(layer),
            blocks,
        };
        let spacing = [44, 45].map(|code| record.number(code).unwrap_or(0.0));
        for row in 0..record.int(71).max(1) {
            for column in 0..record.int(70).max(1) {
                self.gather.element(record.line, inside.blocks.len())?;
                let step = Affine::shift(column as f64 * spacing[0], row as f64 * spacing[1]);
                inside.map = turned.after(&step).after(&own);
                self.entities(&block.records, &inside)?;
            }
        }
        Ok(())
    }
}

/// From more than 0 to one whole turn; equal ends are a whole one.
fn turn(angle: f64, whole: f64) -> f64 {
    let turned = angle.rem_euclid(whole);
    if turned == 0.0 { whole } else { turned }
}
