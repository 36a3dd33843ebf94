//! The sizes of one shape: which it must have, which it may, and which are none of its.

use super::{ShapeFile, ShapeKind};

/// What is wrong with one field of a shape: found, expected, hint.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Trouble {
    pub(super) field: &'static str,
    pub(super) words: [String; 3],
}

impl Trouble {
    pub(super) fn new(
        field: &'static str,
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self {
            field,
            words: [found.into(), expected.into(), hint.into()],
        }
    }
}

/// Hands out a shape's sizes and remembers which were asked for.
pub(super) struct Sizes<'a> {
    shape: &'a ShapeFile,
    asked: Vec<&'static str>,
    troubles: Vec<Trouble>,
}

/// The largest size in a file's units: 100 m in millimetres, the most that an outline may reach.
const MOST: f64 = 1e5;
/// The fields that hold sizes.
const FIELDS: [&str; 14] = [
    "width", "height", "diameter", "radius", "rise", "top", "offset", "left", "right", "side", "sides", "angle",
    "clip", "corners",
];

impl<'a> Sizes<'a> {
    pub(super) fn new(shape: &'a ShapeFile) -> Self {
        Self {
            shape,
            asked: vec![],
            troubles: vec![],
        }
    }

    fn get(&self, field: &str) -> Option<f64> {
        let s = self.shape;
        match field {
            "width" => s.width,
            "height" => s.height,
            "diameter" => s.diameter,
            "radius" => s.radius,
            "rise" => s.rise,
            "top" => s.top,
            "offset" => s.offset,
            "left" => s.left,
            "right" => s.right,
            "side" => s.side,
            "sides" => s.sides.map(f64::from),
            "angle" => s.angle,
            "clip" => s.clip,
            // Only whether there are any.
            _ => (!s.corners.is_empty()).then_some(1.0),
        }
    }

    /// Whether any of these is given.
    pub(super) fn has_any(&self, fields: &[&str]) -> bool {
        fields.iter().any(|field| self.get(field).is_some())
    }

    /// Sizes that must be there; `None` where one is missing, which is noted.
    pub(super) fn need<const N: usize>(&mut self, fields: [&'static str; N]) -> Option<[f64; N]> {
        self.asked.extend(fields);
        let missing: Vec<&'static str> = fields.into_iter().filter(|field| self.get(field).is_none()).collect();
        for field in &missing {
            self.troubles.push(Trouble::new(
                field,
                "nothing",
                format!("a size of the {}: {}", self.shape.kind, self.shape.kind.sizes()),
                "Measure it and put it in.",
            ));
        }
        missing
            .is_empty()
            .then(|| fields.map(|field| self.get(field).unwrap_or_default()))
    }

    /// A size that may be left out.
    pub(super) fn may(&mut self, field: &'static str) -> Option<f64> {
        self.asked.push(field);
        self.get(field)
    }

    /// Notes what is wrong with a size.
    pub(super) fn refuse(
        &mut self,
        field: &'static str,
        found: impl Into<String>,
        expected: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.troubles.push(Trouble::new(field, found, expected, hint));
    }

    /// All that is wrong; sizes that the shape does not have are.
    pub(super) fn into_troubles(mut self) -> Vec<Trouble> {
        let kind = self.shape.kind;
        for field in FIELDS {
            if self.get(field).is_some() && !self.asked.contains(&field) {
                let shown = match (field, self.get(field)) {
                    ("corners", _) | (_, None) => String::new(),
                    (_, Some(size)) => format!(" {size}"),
                };
                let other = ShapeKind::ALL.into_iter().filter(|other| has(*other, field));
                let names: Vec<String> = other.map(|other| other.to_string()).collect();
                self.troubles.push(Trouble::new(
                    field,
                    format!("{field}{shown}, which the {kind} does not have"),
                    kind.sizes(),
                    format!("Take it out, or choose a shape that has it: {}.", names.join(", ")),
                ));
            }
            if let Some(size) = self.get(field).filter(|size| size.abs() > MOST) {
                self.troubles.push(Trouble::new(
                    field,
                    format!("{size:e}"),
                    format!("at most {MOST}"),
                    "Put the right size in.",
                ));
            }
        }
        self.troubles
    }
}

/// Whether a shape's sizes name a field.
fn has(kind: ShapeKind, field: &str) -> bool {
    let mut words = kind.sizes().split(|c: char| !c.is_ascii_alphabetic());
    words.any(|word| word == field)
}
