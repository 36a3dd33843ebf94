//! G-code read as an interpreter reads it (NISTIR 6556): words, modal states, moves. Lines of the table's own are known by their text.

use crate::{Fault, fault};
use cullet_geometry::Point;
use cullet_job::{LONGEST_LINE, TableFile, TableLines, Units, WheelAngles};

/// What a line does, X and Y of the table in mm, angles in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Deed {
    pub(crate) line: usize,
    pub(crate) kind: Kind,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Kind {
    Down,
    Up,
    Move {
        from: Point,
        to: Point,
        /// Centre and whether counter-clockwise, for an arc.
        round: Option<(Point, bool)>,
        turn: (f64, f64),
        rapid: bool,
    },
}

/// How much the radii at the ends of an arc may differ, mm: the strictest controllers refuse more.
const ARC_ENDS: f64 = 0.002;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Motion {
    Rapid,
    Line,
    Arc { ccw: bool },
}

struct Reader<'a> {
    table: &'a TableFile,
    faults: Vec<Fault>,
    deeds: Vec<Deed>,
    motion: Option<Motion>,
    units: Option<f64>,
    absolute: bool,
    has_feed: bool,
    exact: bool,
    ended: bool,
    at: Point,
    angle: f64,
}

/// Lines that a controller may not read: too long, or of characters that are not plain.
fn unreadable(text: &str) -> Vec<Fault> {
    let mut faults = vec![];
    for (number, line) in text.lines().enumerate() {
        if line.len() > LONGEST_LINE || !line.bytes().all(|b| (32..127).contains(&b)) {
            let what = format!("more than {LONGEST_LINE} characters, or others than plain ones");
            faults.push(fault(number + 1, what));
        }
    }
    faults
}

/// What the file does, and what is wrong with how it is written.
pub(crate) fn read(text: &str, table: &TableFile, lines: &TableLines) -> (Vec<Deed>, Vec<Fault>) {
    let mut reader = Reader {
        table,
        faults: unreadable(text),
        deeds: vec![],
        motion: None,
        units: None,
        absolute: false,
        has_feed: false,
        exact: false,
        ended: false,
        at: Point {
            x: table.home[0],
            y: table.home[1],
        },
        angle: table.wheel.zero,
    };
    let all: Vec<&str> = text.lines().map(bare).collect();
    let own: Vec<&String> = [
        &table.header,
        &table.footer,
        &lines.force,
        &lines.oil_on,
        &lines.oil_off,
    ]
    .into_iter()
    .flatten()
    .collect();
    let mut k = 0;
    let starts = |lines: &[String], k: usize| {
        lines
            .iter()
            .enumerate()
            .all(|(n, line)| all.get(k + n).is_some_and(|found| *found == line.trim()))
    };
    while k < all.len() {
        let number = k + 1;
        if starts(&lines.down, k) {
            reader.deeds.push(Deed {
                line: number,
                kind: Kind::Down,
            });
            k += lines.down.len();
        } else if starts(&lines.up, k) {
            reader.deeds.push(Deed {
                line: number,
                kind: Kind::Up,
            });
            k += lines.up.len();
        } else {
            if !own.iter().any(|own| own.trim() == all[k]) {
                reader.line(number, all[k]);
            }
            k += 1;
        }
    }
    if !reader.ended {
        reader
            .faults
            .push(fault(all.len(), "the file does not end with M2".into()));
    }
    if !reader.exact {
        reader
            .faults
            .push(fault(0, "G61 is missing: corners would be cut".into()));
    }
    (reader.deeds, reader.faults)
}

/// Without its number.
fn bare(line: &str) -> &str {
    let line = line.trim();
    match line.strip_prefix(['N', 'n']) {
        Some(rest) => rest.trim_start_matches(|c: char| c.is_ascii_digit()).trim_start(),
        None => line,
    }
}

/// Words of a line, comments left out.
fn words(line: &str) -> Result<Vec<(char, f64)>, String> {
    let mut plain = String::new();
    let mut inside = false;
    for c in line.chars() {
        match (c, inside) {
            ('(', false) => inside = true,
            (')', true) => inside = false,
            ('(', true) => return Err("a bracket inside a comment".into()),
            (_, true) => {}
            (';', false) => return Err("a comment that does not stand in ( )".into()),
            (c, false) if c.is_whitespace() => {}
            (c, false) => plain.push(c.to_ascii_uppercase()),
        }
    }
    if inside {
        return Err("a comment that is not closed".into());
    }
    let mut words = vec![];
    let mut rest = plain.as_str();
    while let Some(letter) = rest.chars().next() {
        if !letter.is_ascii_uppercase() {
            return Err(format!("\"{}\" where a word should start", letter.escape_debug()));
        }
        rest = &rest[1..];
        let end = rest.find(|c: char| c.is_ascii_uppercase()).unwrap_or(rest.len());
        let number = rest[..end].parse().map_err(|_| format!("{letter} without a number"))?;
        words.push((letter, number));
        rest = &rest[end..];
    }
    Ok(words)
}

impl Reader<'_> {
    fn line(&mut self, number: usize, line: &str) {
        match words(line) {
            Err(what) => self.faults.push(fault(number, what)),
            Ok(words) if words.is_empty() => {}
            Ok(_) if self.ended => self.faults.push(fault(number, "something behind M2".into())),
            Ok(words) => {
                if let Err(what) = self.block(number, &words) {
                    self.faults.push(fault(number, what));
                }
            }
        }
    }

    fn block(&mut self, number: usize, words: &[(char, f64)]) -> Result<(), String> {
        let find = |letter: char| words.iter().find(|word| word.0 == letter).map(|word| word.1);
        let mut dwells = false;
        for (letter, value) in words {
            // Codes are written in tenths: G38.2.
            let code = (value * 10.0).round() as i64;
            match (letter, code) {
                ('G', 0) => self.motion = Some(Motion::Rapid),
                ('G', 10) => self.motion = Some(Motion::Line),
                ('G', 20) => self.motion = Some(Motion::Arc { ccw: false }),
                ('G', 30) => self.motion = Some(Motion::Arc { ccw: true }),
                ('G', 40) => dwells = true,
                ('G', 200) => self.units = Some(Units::Inches.mm()),
                ('G', 210) => self.units = Some(1.0),
                ('G', 900) => self.absolute = true,
                ('G', 610) => self.exact = true,
                ('G', 170 | 400 | 540 | 800 | 940) => {}
                ('M', 20 | 300) => self.ended = true,
                ('F', _) if *value > 0.0 => self.has_feed = true,
                ('X' | 'Y' | 'I' | 'J' | 'P', _) => {}
                (letter, _) if Some(*letter) == self.table.steering() => {}
                (letter, _) => return Err(format!("the word {letter}{value}, which is none of this table's")),
            }
        }
        if dwells {
            return Ok(());
        }
        let (x, y) = (find('X'), find('Y'));
        let turn = self.table.steering().and_then(find);
        if x.is_none() && y.is_none() && turn.is_none() {
            return Ok(());
        }
        let mm = self.units.ok_or("a move before G20 or G21: no unit")?;
        if !self.absolute {
            return Err("a move before G90".into());
        }
        let motion = self.motion.ok_or("a move without G0, G1, G2 or G3")?;
        if motion != Motion::Rapid && !self.has_feed {
            return Err("a score before any F".into());
        }
        let to = Point {
            x: x.map_or(self.at.x, |x| x * mm),
            y: y.map_or(self.at.y, |y| y * mm),
        };
        let round = match motion {
            Motion::Arc { ccw } => Some((self.centre(to, find('I'), find('J'), mm)?, ccw)),
            _ => None,
        };
        let angle = turn.map_or(self.angle, |turn| self.turned(turn, words));
        self.deeds.push(Deed {
            line: number,
            kind: Kind::Move {
                from: self.at,
                to,
                round,
                turn: (self.angle, angle),
                rapid: motion == Motion::Rapid,
            },
        });
        (self.at, self.angle) = (to, angle);
        Ok(())
    }

    fn centre(&self, to: Point, i: Option<f64>, j: Option<f64>, mm: f64) -> Result<Point, String> {
        if i.is_none() && j.is_none() {
            return Err("an arc without I and J".into());
        }
        let centre = self.at
            + Point {
                x: i.unwrap_or(0.0) * mm,
                y: j.unwrap_or(0.0) * mm,
            };
        let radius = |p: Point| (p.x - centre.x).hypot(p.y - centre.y);
        let (start, end) = (radius(self.at), radius(to));
        if (start - end).abs() > ARC_ENDS || start <= 0.0 {
            return Err(format!(
                "an arc whose radius is {start:.4} mm at its start and {end:.4} mm at its end"
            ));
        }
        Ok(centre)
    }

    /// The angle counted on: where the axis starts again at 360° the sign says which way it turns.
    fn turned(&self, written: f64, words: &[(char, f64)]) -> f64 {
        if self.table.wheel.angles == WheelAngles::Unwrapped {
            return written;
        }
        let is_back = words
            .iter()
            .any(|word| word.1.is_sign_negative() && Some(word.0) == self.table.steering());
        let forward = (written.abs() - self.angle).rem_euclid(360.0);
        // Where it stands already, but for rounding, it stays.
        if !(0.001..=359.999).contains(&forward) {
            let stays = if forward > 180.0 { forward - 360.0 } else { forward };
            return self.angle + stays;
        }
        self.angle + if is_back { forward - 360.0 } else { forward }
    }
}
