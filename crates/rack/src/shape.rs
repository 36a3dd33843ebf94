//! Outlines and flaws of the list, from their text to millimetres.

use cullet_geometry::path::{YAxis, flatten};
use cullet_geometry::{Outline, offset};
use cullet_job::Frame;
use cullet_list::{DecimalSign, Trouble, cut_short, length};

/// The most corners that one outline or flaw may have.
const MOST_CORNERS: usize = 5_000;
/// The most flaws one sheet or offcut may have.
const MOST_FLAWS: usize = 500;
/// Furthest a flattened curve may lie from the drawn one, mm.
const CURVE_TOLERANCE: f64 = 0.05;
/// Sides of the polygon round a circular flaw.
const CIRCLE_SIDES: (f64, f64) = (8.0, 32.0);
/// Largest radius of a flaw, mm.
const MOST_RADIUS: f64 = 10_000.0;

/// How the numbers of one line are written and meant.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Reading {
    pub(crate) frame: Frame,
    pub(crate) sign: DecimalSign,
}

impl Reading {
    /// An offcut's outline where it was drawn, and the frame it was drawn in (y downwards for path data).
    ///
    /// Curves of path data end up at most 0.1 mm **inside** the drawn ones: a plan must not count on glass that is not there.
    pub(crate) fn outline(self, text: &str) -> Result<(Outline, Frame), Trouble> {
        if !text.starts_with(['M', 'm']) {
            return Ok((self.polygon(text)?, self.frame));
        }
        let frame = Frame {
            y: YAxis::Down,
            ..self.frame
        };
        let drawn = flatten(text, frame.unit_mm, frame.y, CURVE_TOLERANCE).map_err(|e| frame.explain_path(&e))?;
        if !text.contains(['C', 'c', 'S', 's', 'Q', 'q', 'T', 't', 'A', 'a']) {
            return Ok((drawn, frame));
        }
        // Flattening goes outwards, which is right for pieces; taking the tolerance off again makes it right for glass.
        let inside = offset::shrink(&drawn, CURVE_TOLERANCE);
        let largest = inside.into_iter().max_by(|a, b| a.area().total_cmp(&b.area()));
        match largest {
            Some(outline) => Ok((outline, frame)),
            None => Err([
                "an outline of next to nothing",
                "a piece of glass",
                "Draw the offcut again.",
            ]
            .map(String::from)),
        }
    }

    /// All flaws of a `flaws` cell, with what is wrong with those that cannot be read.
    pub(crate) fn flaws(self, text: &str) -> (Vec<Outline>, Vec<Trouble>) {
        let (mut flaws, mut troubles) = (vec![], vec![]);
        if text.split('|').count() > MOST_FLAWS {
            troubles.push([
                format!("{} flaws", text.split('|').count()),
                format!("at most {MOST_FLAWS}"),
                "Draw one polygon round several flaws.".to_owned(),
            ]);
            return (flaws, troubles);
        }
        for text in text.split('|').map(str::trim).filter(|text| !text.is_empty()) {
            match if text.contains(';') {
                self.polygon(text)
            } else {
                self.circle(text)
            } {
                Ok(flaw) => flaws.push(flaw),
                Err(trouble) => troubles.push(trouble),
            }
        }
        (flaws, troubles)
    }

    /// A polygon round the circle `x y radius`, nowhere inside it: at most 0.05 mm outside, or 32-sided.
    fn circle(self, text: &str) -> Result<Outline, Trouble> {
        let numbers = self.numbers(text).filter(|numbers| numbers.len() == 3);
        let Some([x, y, radius]) = numbers.as_deref().and_then(|n| <[f64; 3]>::try_from(n).ok()) else {
            return Err([
                format!("the flaw \"{}\"", cut_short(text)),
                "a circle `x y radius` or a polygon `x y; x y; x y`".to_owned(),
                "Write it in one of the two ways; separate several flaws by a vertical bar.".to_owned(),
            ]);
        };
        let radius_mm = radius * self.frame.unit_mm;
        if !(radius_mm > 0.0 && radius_mm <= MOST_RADIUS) {
            return Err([
                format!("a flaw of radius {radius}"),
                "a radius above 0".to_owned(),
                "Measure the flaw again.".to_owned(),
            ]);
        }
        let half_side = (radius_mm / (radius_mm + CURVE_TOLERANCE)).acos();
        let sides = (std::f64::consts::PI / half_side)
            .ceil()
            .clamp(CIRCLE_SIDES.0, CIRCLE_SIDES.1);
        let corner_radius = radius / (std::f64::consts::PI / sides).cos();
        let corners: Vec<[f64; 2]> = (0..sides as usize)
            .map(|k| {
                let (sin, cos) = (std::f64::consts::TAU * k as f64 / sides).sin_cos();
                [x + corner_radius * cos, y + corner_radius * sin]
            })
            .collect();
        self.frame
            .outline_of_points(&corners)
            .map_err(|e| self.frame.explain(&e))
    }

    fn polygon(self, text: &str) -> Result<Outline, Trouble> {
        let count = text.split(';').count();
        if count > MOST_CORNERS {
            return Err([
                format!("an outline of {count} corners"),
                format!("at most {MOST_CORNERS}"),
                "Draw it with fewer points.".to_owned(),
            ]);
        }
        let mut corners = Vec::with_capacity(count);
        for text in text.split(';').map(str::trim).filter(|text| !text.is_empty()) {
            match self.numbers(text).as_deref() {
                Some(&[x, y]) => corners.push([x, y]),
                _ => {
                    return Err([
                        format!("\"{}\" as corner {}", cut_short(text), corners.len() + 1),
                        "two numbers, `x y`".to_owned(),
                        "Write the corners as `x y; x y; x y`, or the outline as SVG path data.".to_owned(),
                    ]);
                }
            }
        }
        self.frame
            .outline_of_points(&corners)
            .map_err(|e| self.frame.explain(&e))
    }

    /// Numbers parted by blanks, and by commas where these are not the decimal sign.
    fn numbers(self, text: &str) -> Option<Vec<f64>> {
        let parts = |c: char| c.is_whitespace() || (c == ',' && self.sign == DecimalSign::Point);
        let fractions = self.frame.unit_mm != 1.0;
        text.split(parts)
            .filter(|word| !word.is_empty())
            .map(|word| length(word, self.sign, fractions))
            .collect()
    }
}
