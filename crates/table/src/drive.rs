//! What the head does, one move after another: travel, turn, lower, score, lift.

use crate::place::Place;
use crate::{Cutting, TableError, settings};
use cullet_geometry::Point;
use cullet_job::{TableFile, TableLines, WheelAngles, WheelKind};
use cullet_scorepath::{Motion, Order, Reckoning, ScorePath, Stretch, order, paths};

/// One move of the head, X and Y of the table in mm, angles of the axis in degrees, counted on beyond 360.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Move {
    /// With the wheel up, turning it on the way.
    Travel {
        /// Where to.
        to: Point,
        /// The angle then.
        angle: f64,
    },
    /// The wheel is lowered.
    Lower,
    /// The wheel is lifted.
    Lift,
    /// With the wheel down.
    Score {
        /// The way of the head.
        way: Stretch,
        /// The angle at its end.
        angle: f64,
        /// Speed along it, mm/s.
        speed: f64,
    },
}

/// A sheet's scores on a table, in order.
#[derive(Debug, Clone)]
pub struct Run<'a> {
    pub(crate) cutting: &'a Cutting<'a>,
    pub(crate) table: &'a TableFile,
    pub(crate) lines: &'a TableLines,
    /// In the sheet's frame, in the order and direction in which they are driven.
    pub paths: Vec<ScorePath>,
    /// What the head does.
    pub moves: Vec<Move>,
    /// What it comes to.
    pub reckoning: Reckoning,
    /// How much longer the order takes for scoring the hardest first, s; 0 where that is not asked for.
    pub dearer: f64,
    /// How often one score runs across another.
    pub crossings: usize,
}

impl<'a> Run<'a> {
    /// Lays the sheet's paths on the table and puts them in order.
    ///
    /// # Errors
    /// Why the table cannot score this sheet.
    pub fn plan(cutting: &'a Cutting<'a>, table: &'a TableFile) -> Result<Self, TableError> {
        fits(cutting, table)?;
        let lines = table.lines_for(cutting.thickness);
        let lines = lines.ok_or(TableError::NoLines(cutting.thickness))?;
        let found = paths(&cutting.sheet, &settings(table, cutting.facet));
        let place = Place::on_table(cutting, table);
        let laid: Vec<ScorePath> = found.paths.iter().map(|path| place.path(path)).collect();
        let motion = motion(table);
        let chosen = order(&laid, &motion, table.hardest_first);
        let reckoning = motion.reckon(&laid, &chosen);
        let dearer = if table.hardest_first {
            reckoning.seconds - motion.reckon(&laid, &order(&laid, &motion, false)).seconds
        } else {
            0.0
        };
        let driven = |all: &[ScorePath]| -> Vec<ScorePath> {
            let one = |(k, reversed): &(usize, bool)| if *reversed { all[*k].reversed() } else { all[*k].clone() };
            chosen.sequence.iter().map(one).collect()
        };
        let moves = match table.wheel.kind {
            WheelKind::Steered => steered(&driven(&laid), table, &motion)?,
            WheelKind::Caster => trailing(&driven(&laid), table, &motion),
        };
        stays_on(&moves, table)?;
        Ok(Self {
            cutting,
            table,
            lines,
            paths: driven(&found.paths),
            moves,
            reckoning,
            dearer,
            crossings: found.crossings,
        })
    }

    /// Whether the hardest scores are driven first.
    #[must_use]
    pub fn table_is_hardest_first(&self) -> bool {
        self.table.hardest_first
    }

    /// What the paths come to driven in another order, for comparison.
    #[must_use]
    pub fn reckon(table: &TableFile, paths: &[ScorePath], order: &Order) -> Reckoning {
        motion(table).reckon(paths, order)
    }
}

fn fits(cutting: &Cutting<'_>, table: &TableFile) -> Result<(), TableError> {
    let place = Place::on_table(cutting, table);
    let bounds = cutting.sheet.outline.bounds();
    let (a, b) = (place.point(bounds.min), place.point(bounds.max));
    let sheet = (a.x.max(b.x), a.y.max(b.y));
    let [width, height] = table.size;
    if sheet.0 > width + 1e-6 || sheet.1 > height + 1e-6 || a.x.min(b.x) < -1e-6 || a.y.min(b.y) < -1e-6 {
        return Err(TableError::TooLarge {
            sheet,
            table: (width, height),
        });
    }
    Ok(())
}

/// A table's speeds, a second.
fn motion(table: &TableFile) -> Motion {
    let [x, y] = table.home;
    Motion {
        straight: table.speeds.straight / 60.0,
        outside: table.speeds.outside / 60.0,
        inside: table.speeds.inside / 60.0,
        relief: table.speeds.relief / 60.0,
        travel: table.speeds.travel / 60.0,
        acceleration: table.accelerations.head,
        turning: table.speeds.turning.to_radians(),
        turning_acceleration: table.accelerations.turning.to_radians(),
        lower: table.dwell_down,
        lift: table.dwell_up,
        home: Point { x, y },
        goes_home: table.goes_home,
    }
}

/// Moves of a head whose axis turns the wheel: along every path by the angle it has there, in the air the short way where the cable
/// allows it, else unwound.
fn steered(paths: &[ScorePath], table: &TableFile, motion: &Motion) -> Result<Vec<Move>, TableError> {
    let mut moves = vec![];
    let cable = table
        .wheel
        .cable
        .filter(|_| table.wheel.angles == WheelAngles::Unwrapped);
    let mut angle = table.wheel.zero;
    for path in paths {
        let sweeps: Vec<f64> = path.stretches.iter().map(|one| one.sweep().to_degrees()).collect();
        let (mut sum, mut low, mut high) = (0.0_f64, 0.0_f64, 0.0_f64);
        for sweep in &sweeps {
            sum += sweep;
            (low, high) = (low.min(sum), high.max(sum));
        }
        let wanted = path.start_angle().to_degrees() + table.wheel.zero;
        let nearest = wanted + 360.0 * ((angle - wanted) / 360.0).round();
        let start = match cable {
            None => Some(nearest),
            Some(cable) => (-400..=400)
                .map(|turns| wanted + 360.0 * f64::from(turns))
                .filter(|start| start + low >= -cable && start + high <= cable)
                .min_by(|a, b| (a - angle).abs().total_cmp(&(b - angle).abs())),
        };
        let start = start.ok_or(TableError::Cable {
            turn: high - low,
            cable: cable.unwrap_or_default(),
        })?;
        angle = start;
        let to = path.start();
        moves.extend([Move::Travel { to, angle }, Move::Lower]);
        let speed = motion.speed(path);
        for stretch in &path.stretches {
            // From the tangent itself, so that nothing adds up along a path.
            let end = stretch.end_heading();
            let end = end.y.atan2(end.x).to_degrees() + table.wheel.zero;
            let reckoned = angle + stretch.sweep().to_degrees();
            angle = end + 360.0 * ((reckoned - end) / 360.0).round();
            moves.push(Move::Score {
                way: *stretch,
                angle,
                speed: motion.along(speed, stretch.radius()),
            });
        }
        moves.push(Move::Lift);
    }
    if table.goes_home && !paths.is_empty() {
        let turns = if cable.is_some() {
            0.0
        } else {
            ((angle - table.wheel.zero) / 360.0).round()
        };
        let angle = table.wheel.zero + 360.0 * turns;
        moves.push(Move::Travel { to: motion.home, angle });
    }
    Ok(moves)
}

/// Moves of a head whose wheel trails: it goes ahead of the wheel by the trail, and round it by an arc where the direction changes.
/// The wheel keeps its direction in the air, so every path starts with such an arc.
fn trailing(paths: &[ScorePath], table: &TableFile, motion: &Motion) -> Vec<Move> {
    let trail = table.wheel.trail;
    let mut moves = vec![];
    let mut direction = Point { x: 1.0, y: 0.0 };
    for path in paths {
        let start = path.start();
        let head = path.stretches.first().map_or(direction, Stretch::heading);
        moves.extend([
            Move::Travel {
                to: start + direction * trail,
                angle: 0.0,
            },
            Move::Lower,
        ]);
        let bend = direction.x * head.y - direction.y * head.x;
        let turn = bend.atan2(direction.x * head.x + direction.y * head.y);
        if trail > 0.0 && turn.abs() > 1e-4 {
            swivel(
                &mut moves,
                start,
                direction * trail,
                turn,
                motion.along(motion.relief, trail),
            );
        }
        let speed = motion.speed(path);
        for stretch in &path.stretches {
            let (from, to) = (
                stretch.from() + stretch.heading() * trail,
                stretch.to() + stretch.end_heading() * trail,
            );
            let way = match *stretch {
                Stretch::Line { .. } => Stretch::Line { from, to },
                Stretch::Arc { centre, ccw, .. } => Stretch::Arc { from, to, centre, ccw },
            };
            // The head drives the larger circle in the same time.
            let larger = if way.radius().is_finite() {
                way.radius() / stretch.radius()
            } else {
                1.0
            };
            let speed = motion.along(speed, stretch.radius()) * larger;
            moves.push(Move::Score { way, angle: 0.0, speed });
            direction = stretch.end_heading();
        }
        moves.push(Move::Lift);
    }
    if table.goes_home && !paths.is_empty() {
        moves.push(Move::Travel {
            to: motion.home,
            angle: 0.0,
        });
    }
    moves
}

/// Turns the wheel on the spot: the head goes round it, in two where that is half a turn or nearly.
fn swivel(moves: &mut Vec<Move>, round: Point, arm: Point, turn: f64, speed: f64) {
    let parts = if turn.abs() > 2.5 { 2 } else { 1 };
    let turned = |by: f64| {
        let (sin, cos) = by.sin_cos();
        round
            + Point {
                x: arm.x * cos - arm.y * sin,
                y: arm.x * sin + arm.y * cos,
            }
    };
    for part in 0..parts {
        let share = |k: i32| turn * f64::from(k) / f64::from(parts);
        moves.push(Move::Score {
            way: Stretch::Arc {
                from: turned(share(part)),
                to: turned(share(part + 1)),
                centre: round,
                ccw: turn > 0.0,
            },
            angle: 0.0,
            speed,
        });
    }
}

/// Every place the head goes to, the bulges of arcs too.
fn stays_on(moves: &[Move], table: &TableFile) -> Result<(), TableError> {
    let [width, height] = table.size;
    let check = |p: Point| {
        let on = (-1e-6..=width + 1e-6).contains(&p.x) && (-1e-6..=height + 1e-6).contains(&p.y);
        if on {
            Ok(())
        } else {
            Err(TableError::OffTable { x: p.x, y: p.y })
        }
    };
    for step in moves {
        match step {
            Move::Travel { to, .. } => check(*to)?,
            Move::Score { way, .. } => {
                for k in 0..=16 {
                    check(way.at(f64::from(k) / 16.0))?;
                }
            }
            Move::Lower | Move::Lift => {}
        }
    }
    Ok(())
}
