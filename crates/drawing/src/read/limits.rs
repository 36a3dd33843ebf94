//! How much of an untrusted file is read, and the counting of it.

use super::affine::Affine;
use super::error::{BadValue, ReadError};
use crate::drawing::{Drawing, FileFacts, Place, Segment, Stroke, Text};
use cullet_geometry::Point;
use std::collections::BTreeMap;
use std::fmt;

/// Most that is read of one file; each is far above any real cartoon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Size of the file, bytes.
    pub bytes: usize,
    /// Elements or entities, those drawn through `use` and INSERT counted each time.
    pub elements: usize,
    /// Groups, `use`s or INSERTs inside one another.
    pub depth: usize,
    /// Lines, arcs and curves in all.
    pub segments: usize,
    /// Characters in one text.
    pub text: usize,
}

impl Default for Limits {
    /// 32 MiB, 500 000 elements, 100 deep, 1 000 000 segments, 10 000 characters.
    fn default() -> Self {
        Self {
            bytes: 32 << 20,
            elements: 500_000,
            depth: 100,
            segments: 1_000_000,
            text: 10_000,
        }
    }
}

/// Which limit was passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// [`Limits::bytes`].
    Bytes,
    /// [`Limits::bytes`], of what entities stand for.
    Entities,
    /// [`Limits::elements`].
    Elements,
    /// [`Limits::depth`].
    Depth,
    /// [`Limits::segments`].
    Segments,
    /// [`Limits::text`].
    Text,
}

impl fmt::Display for Limit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Bytes => "bytes",
            Self::Entities => "bytes that entities stand for",
            Self::Elements => "elements",
            Self::Depth => "levels of groups, uses or inserted blocks",
            Self::Segments => "lines, arcs and curves",
            Self::Text => "characters in one text",
        })
    }
}

impl Limit {
    pub(super) fn hint(self) -> &'static str {
        match self {
            Self::Bytes => "keep the lead lines and marks, take out pictures and everything else, and save it again",
            Self::Entities => "save the drawing again from the drawing program, without a document type",
            Self::Elements | Self::Segments => {
                "give each panel a drawing of its own, without hatching or traced pictures"
            }
            Self::Depth => "ungroup the drawing and save it again",
            Self::Text => "keep piece marks short; take long notes out of the drawing",
        }
    }
}

/// Farthest from the origin, mm: 100 m, as far as outlines go in `cullet_geometry`.
const FARTHEST_MM: f64 = 1e5;
/// Places named for one kind of thing left out, and values named that cannot be read; the rest is counted.
const MOST_NAMED: usize = 20;
const MOST_BAD: usize = 100;
/// What is read again through `use` and INSERT and what is kept of names comes to at most this many files of the allowed
/// size, so that a small file cannot ask for hours or for all memory.
const MOST_TIMES: usize = 4;

/// What stands around a stroke or text.
#[derive(Debug, Clone, Default)]
pub(super) struct Around {
    pub(super) layer: String,
    pub(super) classes: Vec<String>,
}

impl Around {
    fn size(&self) -> usize {
        self.layer.len() + self.classes.iter().map(String::len).sum::<usize>()
    }
}

/// The drawing as it comes together, its counts, and what was left out or cannot be read.
#[derive(Debug)]
pub(super) struct Gather {
    pub(super) limits: Limits,
    drawing: Drawing,
    elements: usize,
    segments: usize,
    work: usize,
    left_out: BTreeMap<String, usize>,
    bad: Vec<BadValue>,
    /// Whether the map to mm is known; without it no distance means anything.
    pub(super) in_mm: bool,
}

impl Gather {
    pub(super) fn new(limits: Limits) -> Self {
        Self {
            limits,
            drawing: Drawing::default(),
            elements: 0,
            segments: 0,
            work: 0,
            left_out: BTreeMap::new(),
            bad: vec![],
            in_mm: true,
        }
    }

    pub(super) fn limit(&self, what: Limit, place: impl Into<String>) -> ReadError {
        let most = match what {
            Limit::Bytes | Limit::Entities => self.limits.bytes,
            Limit::Elements => self.limits.elements,
            Limit::Depth => self.limits.depth,
            Limit::Segments => self.limits.segments,
            Limit::Text => self.limits.text,
        };
        ReadError::Limit {
            what,
            most,
            place: place.into(),
        }
    }

    /// Counts one element at `line`, `depth` groups deep.
    pub(super) fn element(&mut self, line: u32, depth: usize) -> Result<(), ReadError> {
        self.elements += 1;
        if self.elements > self.limits.elements {
            return Err(self.limit(Limit::Elements, format!("line {line}")));
        }
        if depth > self.limits.depth {
            return Err(self.limit(Limit::Depth, format!("line {line}")));
        }
        if self.bad.len() >= MOST_BAD {
            return Err(ReadError::Values(std::mem::take(&mut self.bad)));
        }
        Ok(())
    }

    /// Counts bytes that are read or kept for something at `line`.
    pub(super) fn work(&mut self, bytes: usize, line: u32) -> Result<(), ReadError> {
        self.work = self.work.saturating_add(bytes);
        if self.work > self.limits.bytes.saturating_mul(MOST_TIMES) {
            return Err(self.limit(Limit::Bytes, format!("line {line}, with all that is drawn again")));
        }
        Ok(())
    }

    /// Segments that may still come.
    pub(super) fn segments_left(&self) -> usize {
        self.limits.segments.saturating_sub(self.segments)
    }

    /// Adds segments drawn under `map`; those without length are left out.
    pub(super) fn stroke(
        &mut self,
        map: &Affine,
        segments: &[Segment],
        closed: bool,
        around: &Around,
        place: &Place,
    ) -> Result<(), ReadError> {
        self.work(around.size() + place.what.len(), place.line)?;
        self.segments += segments.len();
        if self.segments > self.limits.segments {
            return Err(self.limit(Limit::Segments, place.to_string()));
        }
        let segments: Vec<Segment> = segments.iter().map(|s| map.segment(s)).filter(has_length).collect();
        if segments.is_empty() {
            return Ok(());
        }
        if !segments.iter().all(|s| self.is_near(s)) {
            self.bad_far(place);
            return Ok(());
        }
        self.drawing.strokes.push(Stroke {
            segments,
            closed,
            layer: around.layer.clone(),
            classes: around.classes.clone(),
            place: place.clone(),
        });
        Ok(())
    }

    /// Adds a text whose anchor stands at `at` under `map`; an empty one is left out.
    pub(super) fn text(
        &mut self,
        map: &Affine,
        at: Point,
        content: &str,
        around: &Around,
        place: &Place,
    ) -> Result<(), ReadError> {
        let content = content.trim();
        if content.is_empty() {
            return Ok(());
        }
        self.work(around.size() + place.what.len() + content.len(), place.line)?;
        if content.chars().count() > self.limits.text {
            return Err(self.limit(Limit::Text, place.to_string()));
        }
        let at = map.point(at);
        if !self.is_reachable(at) {
            self.bad_far(place);
            return Ok(());
        }
        self.drawing.texts.push(Text {
            at,
            content: content.to_owned(),
            layer: around.layer.clone(),
            classes: around.classes.clone(),
            place: place.clone(),
        });
        Ok(())
    }

    /// What the file says besides what it draws.
    pub(super) fn facts(&mut self) -> &mut FileFacts {
        &mut self.drawing.facts
    }

    /// How many strokes there are so far.
    pub(super) fn strokes(&self) -> usize {
        self.drawing.strokes.len()
    }

    /// Counts what is drawn and not seen, `line` that of the first.
    pub(super) fn unseen(&mut self, why: &str, count: usize, line: u32) {
        if count == 0 {
            return;
        }
        // Entries are as many as reasons, in a DXF as many as layers that do not show.
        match self.drawing.facts.unseen.get_mut(why) {
            Some((all, _)) => *all += count,
            None => _ = self.drawing.facts.unseen.insert(why.to_owned(), (count, line)),
        }
    }

    /// Names something that is not read.
    pub(super) fn left_out(&mut self, name: impl Into<String>, line: u32) {
        let name = name.into();
        let count = self.left_out.get(&name).copied().unwrap_or(0) + 1;
        if count <= MOST_NAMED {
            self.drawing.unread.push(format!("{name}, line {line}"));
        }
        self.left_out.insert(name, count);
    }

    /// Keeps a value that cannot be read.
    pub(super) fn bad(
        &mut self,
        place: &Place,
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) {
        if self.bad.len() < MOST_BAD {
            self.bad.push(BadValue {
                place: place.clone(),
                found: found.into(),
                expected: expected.into(),
                hint: hint.into(),
            });
        }
    }

    fn bad_far(&mut self, place: &Place) {
        self.bad(
            place,
            "a point more than 100 m from the drawing's origin",
            "a drawing within 100 m of its origin",
            "check the unit, or move the drawing to its origin",
        );
    }

    fn is_reachable(&self, p: Point) -> bool {
        p.x.is_finite() && p.y.is_finite() && (!self.in_mm || (p.x.abs() <= FARTHEST_MM && p.y.abs() <= FARTHEST_MM))
    }

    fn is_near(&self, segment: &Segment) -> bool {
        match *segment {
            Segment::Line { from, to } => self.is_reachable(from) && self.is_reachable(to),
            Segment::Cubic { from, a, b, to } => [from, a, b, to].into_iter().all(|p| self.is_reachable(p)),
            Segment::Arc {
                radii,
                start_deg,
                sweep_deg,
                rotation_deg,
                ..
            } => {
                // A flat arc's centre may lie far off; only points along it lie on the drawing.
                let sound = radii.iter().all(|r| r.is_finite() && *r < 1e12) && rotation_deg.is_finite();
                sound
                    && (0..=8)
                        .all(|i| self.is_reachable(arc_point(segment, start_deg + f64::from(i) / 8.0 * sweep_deg)))
            }
        }
    }

    /// Width and height of everything drawn.
    pub(super) fn size(&self) -> (f64, f64) {
        let mut bounds: Option<[f64; 4]> = None;
        let mut reach = |p: Point| {
            let b = bounds.get_or_insert([p.x, p.y, p.x, p.y]);
            *b = [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)];
        };
        for segment in self.drawing.strokes.iter().flat_map(|stroke| &stroke.segments) {
            match *segment {
                Segment::Line { from, to } => [from, to].into_iter().for_each(&mut reach),
                Segment::Cubic { from, a, b, to } => [from, a, b, to].into_iter().for_each(&mut reach),
                Segment::Arc {
                    start_deg, sweep_deg, ..
                } => (0..=8)
                    .map(|i| arc_point(segment, start_deg + sweep_deg * f64::from(i) / 8.0))
                    .for_each(&mut reach),
            }
        }
        bounds.map_or((0.0, 0.0), |b| (b[2] - b[0], b[3] - b[1]))
    }

    /// The drawing, unless values in it could not be read.
    pub(super) fn finish(mut self) -> Result<Drawing, ReadError> {
        if !self.bad.is_empty() {
            return Err(ReadError::Values(self.bad));
        }
        for (name, count) in self.left_out {
            if count > MOST_NAMED {
                self.drawing
                    .unread
                    .push(format!("{name}, {} more times", count - MOST_NAMED));
            }
        }
        Ok(self.drawing)
    }
}

/// The point of an arc at an angle of its own parameter; the origin for other segments.
pub(super) fn arc_point(segment: &Segment, degrees: f64) -> Point {
    let Segment::Arc {
        centre,
        radii,
        rotation_deg,
        ..
    } = *segment
    else {
        return Point { x: 0.0, y: 0.0 };
    };
    let (sin, cos) = super::affine::sin_cos_deg(rotation_deg);
    let (s, c) = super::affine::sin_cos_deg(degrees);
    Point {
        x: centre.x + radii[0] * c * cos - radii[1] * s * sin,
        y: centre.y + radii[0] * c * sin + radii[1] * s * cos,
    }
}

/// What relative coordinates leave between a path's end and its start once they are added up.
const NO_LENGTH_MM: f64 = 1e-9;

fn has_length(segment: &Segment) -> bool {
    match *segment {
        Segment::Line { from, to } => (to.x - from.x).hypot(to.y - from.y) > NO_LENGTH_MM,
        Segment::Cubic { from, a, b, to } => from != a || a != b || b != to,
        Segment::Arc { radii, sweep_deg, .. } => sweep_deg != 0.0 && radii != [0.0, 0.0],
    }
}
