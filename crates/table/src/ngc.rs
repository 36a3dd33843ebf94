//! G-code: the portable set, every word written out.

use crate::drive::{Move, Run};
use crate::words::comments;
use cullet_geometry::Point;
use cullet_job::{FeedMeaning, LONGEST_LINE, TableCorner, Units, WheelAngles, WheelKind};
use cullet_scorepath::Stretch;

impl Run<'_> {
    /// The G-code file.
    #[must_use]
    pub fn ngc(&self) -> String {
        let mut file = File::new(self);
        self.say_what_it_is(&mut file);
        let units = if self.table.file_units == Units::Inches {
            "G20"
        } else {
            "G21"
        };
        for line in [&format!("G17 {units} G40"), "G54 G90 G94", "G61"] {
            file.line(line);
        }
        self.table.header.iter().for_each(|line| file.line(line));
        self.lines.force.iter().for_each(|line| file.line(line));
        for step in &self.moves {
            file.step(step);
        }
        self.table.footer.iter().for_each(|line| file.line(line));
        file.line("M2");
        file.text
    }

    fn say_what_it_is(&self, file: &mut File<'_>) {
        let cutting = self.cutting;
        let bounds = cutting.sheet.outline.bounds();
        let corner = match self.table.corner {
            TableCorner::LowerLeft => "lower left",
            TableCorner::LowerRight => "lower right",
            TableCorner::UpperLeft => "upper left",
            TableCorner::UpperRight => "upper right",
        };
        let face = if cutting.on_show_face {
            "Show face up, as on the map."
        } else {
            "Back up: the mirror image of the map, left and right exchanged."
        };
        let wheel = match self.table.steering() {
            Some(letter) => format!("steered by {letter}, {} where it rolls along +X", self.table.wheel.zero),
            None => format!(
                "trails {} mm behind the head; turn it by hand to roll along +X before the start",
                self.table.wheel.trail
            ),
        };
        let reckoned = &self.reckoning;
        for text in [
            format!("Job: {}", cutting.job),
            format!("Map {} of {}", cutting.map.0, cutting.map.1),
            format!(
                "Glass: {}, {} mm thick; tag {}",
                cutting.glass, cutting.thickness, cutting.tag
            ),
            format!("Size: {:.1} x {:.1} mm", bounds.width(), bounds.height()),
            face.to_owned(),
            format!("Register the sheet's {corner} corner, seen on the scored face."),
            format!("Table: {}", self.table.name),
            format!("Wheel: {wheel}"),
            format!(
                "{:.1} m of scores, {} lifts, about {:.1} minutes",
                reckoned.scored / 1000.0,
                reckoned.lifts,
                reckoned.seconds / 60.0
            ),
            "Dry run above the glass first; guards and eye protection; the table's own manual decides.".to_owned(),
        ] {
            comments(&text, LONGEST_LINE - 7)
                .iter()
                .for_each(|line| file.line(line));
        }
    }
}

struct File<'a> {
    run: &'a Run<'a>,
    text: String,
    number: u32,
    /// Where the head is, as it was written.
    at: Point,
    angle: f64,
}

impl<'a> File<'a> {
    fn new(run: &'a Run<'a>) -> Self {
        let [x, y] = run.table.home;
        Self {
            run,
            text: String::new(),
            number: 0,
            at: Point { x, y } / run.table.file_units.mm(),
            angle: run.table.wheel.zero,
        }
    }

    fn line(&mut self, line: &str) {
        if self.run.table.line_numbers {
            self.number = self.number % 99_999 + 1;
            self.text += &format!("N{} ", self.number);
        }
        self.text += line;
        self.text.push('\n');
    }

    fn step(&mut self, step: &Move) {
        let table = self.run.table;
        match step {
            Move::Travel { to, angle } => {
                let place = self.go_to(*to);
                let angle = self.angle_word(*angle);
                self.line(&format!("G0 {place}{angle}"));
            }
            Move::Lower => {
                let lines = self.run.lines;
                lines.oil_on.iter().chain(&lines.down).for_each(|line| self.line(line));
                self.dwell(table.dwell_down);
            }
            Move::Lift => {
                let lines = self.run.lines;
                lines.up.iter().for_each(|line| self.line(line));
                self.dwell(table.dwell_up);
                lines.oil_off.iter().for_each(|line| self.line(line));
            }
            Move::Score { way, angle, speed } => {
                let turn = (*angle - self.angle).abs();
                let feed = self.feed(*speed, way.length(), turn);
                let from = self.at;
                let place = self.go_to(way.to());
                let word = self.angle_word(*angle);
                let line = match way {
                    _ if self.at == from => return,
                    Stretch::Line { .. } => format!("G1 {place}{word}"),
                    Stretch::Arc { ccw, .. } => {
                        let centre = self.centre(way, from);
                        let g = if *ccw { "G3" } else { "G2" };
                        format!("{g} {place}{centre}{word}")
                    }
                };
                // What would be too long, with its number, has its feed on a line before.
                if line.len() + feed.len() + 8 > LONGEST_LINE {
                    self.line(&feed);
                    self.line(&line);
                } else {
                    self.line(&format!("{line} {feed}"));
                }
            }
        }
    }

    fn dwell(&mut self, seconds: f64) {
        if seconds > 0.0 {
            self.line(&format!("G4 P{seconds:.2}"));
        }
    }

    fn places(&self) -> usize {
        self.run.table.places()
    }

    /// To the last place written.
    fn rounded(&self, size: f64) -> f64 {
        let grid = 10_f64.powi(i32::try_from(self.places()).unwrap_or(4));
        (size * grid).round() / grid
    }

    fn number(&self, size: f64) -> String {
        let text = format!("{size:.*}", self.places());
        let is_zero = text.bytes().all(|b| b"-0.".contains(&b));
        if is_zero { text.replace('-', "") } else { text }
    }

    /// The words X and Y, with the place kept as it is written.
    fn go_to(&mut self, to: Point) -> String {
        let mm = self.run.table.file_units.mm();
        self.at = Point {
            x: self.rounded(to.x / mm),
            y: self.rounded(to.y / mm),
        };
        format!("X{} Y{}", self.number(self.at.x), self.number(self.at.y))
    }

    /// I and J of an arc from where it starts as written to where it ends: the centre is put on the line that is as near to both, so
    /// that both ends lie on one circle to the last place.
    fn centre(&self, way: &Stretch, from: Point) -> String {
        let Stretch::Arc { centre, .. } = way else {
            return String::new();
        };
        let centre = *centre / self.run.table.file_units.mm();
        let (middle, chord) = ((from + self.at) / 2.0, self.at - from);
        let length = chord.x.hypot(chord.y);
        let normal = Point {
            x: -chord.y,
            y: chord.x,
        } / length;
        let out = (centre - middle).x * normal.x + (centre - middle).y * normal.y;
        // Near a whole turn the chord says little; then the centre itself is nearer.
        let centre = if length > 0.5 { middle + normal * out } else { centre };
        let (i, j) = (self.rounded(centre.x - from.x), self.rounded(centre.y - from.y));
        format!(" I{} J{}", self.number(i), self.number(j))
    }

    /// The word of the steering axis, where there is one.
    fn angle_word(&mut self, angle: f64) -> String {
        let Some(letter) = self.run.table.steering() else {
            return String::new();
        };
        let turn = angle - self.angle;
        self.angle = angle;
        let rounded = to_last_place(angle);
        match self.run.table.wheel.angles {
            WheelAngles::Unwrapped => format!(" {letter}{}", trimmed(rounded)),
            WheelAngles::Modulo => {
                // From 0 up to 360; the sign says which way it turns there.
                let within = to_last_place(rounded.rem_euclid(360.0)) % 360.0;
                let sign = if turn < -5e-5 { "-" } else { "" };
                format!(" {letter}{sign}{within:.4}")
            }
        }
    }

    fn feed(&self, speed: f64, length: f64, turn_deg: f64) -> String {
        let table = self.run.table;
        let mut feed = speed * 60.0;
        if table.feed == FeedMeaning::AllAxes && table.wheel.kind == WheelKind::Steered && length > 0.0 {
            // A degree counts as much as a unit of length of the file.
            feed *= (1.0 + (turn_deg / (length / table.file_units.mm())).powi(2)).sqrt();
        }
        format!("F{:.1}", (feed / table.file_units.mm()).max(0.1))
    }
}

fn trimmed(angle: f64) -> String {
    let text = format!("{angle:.4}");
    if text.bytes().all(|b| b"-0.".contains(&b)) {
        text.replace('-', "")
    } else {
        text
    }
}

/// An angle to the last place written, never a negative zero: its sign would be read as a direction, or stand twice.
fn to_last_place(angle: f64) -> f64 {
    (angle * 1e4).round() / 1e4 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hair_below_zero_is_written_without_a_sign() {
        for angle in [0.0, -0.0, -1e-5, -4e-5, 1e-5] {
            let within = to_last_place(to_last_place(angle).rem_euclid(360.0)) % 360.0;
            assert_eq!(format!("{within:.4}"), "0.0000", "{angle}");
        }
        assert_eq!(to_last_place(-0.00016), -0.0002);
    }
}
