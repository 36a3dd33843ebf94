//! What scoring takes: a table's speeds, and the time of paths and of the way between them.

use crate::order::Order;
use crate::path::{Curving, Purpose, ScorePath};
use crate::stretch::norm;
use cullet_geometry::Point;

/// Speeds of a table, all above 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Speed along straight scores, mm/s.
    pub straight: f64,
    /// Along outside curves, mm/s.
    pub outside: f64,
    /// Along inside curves, mm/s.
    pub inside: f64,
    /// Along what only opens waste, mm/s.
    pub relief: f64,
    /// With the wheel up, mm/s.
    pub travel: f64,
    /// Acceleration along the path and across it, mm/s².
    pub acceleration: f64,
    /// Speed at which the wheel is turned, rad/s.
    pub turning: f64,
    /// Its acceleration, rad/s².
    pub turning_acceleration: f64,
    /// Time to lower the wheel, s.
    pub lower: f64,
    /// Time to lift it, s.
    pub lift: f64,
    /// Where the wheel starts, in the frame of the paths.
    pub home: Point,
    /// Whether it goes back there.
    pub goes_home: bool,
}

/// What the paths of a sheet come to.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Reckoning {
    /// Length of all scores, mm.
    pub scored: f64,
    /// How often the wheel is lifted.
    pub lifts: usize,
    /// Way with the wheel up, mm.
    pub travel: f64,
    /// Time with the wheel down, s.
    pub scoring_seconds: f64,
    /// Time in all, s.
    pub seconds: f64,
}

impl Motion {
    /// The speed at which a path of this kind is driven, mm/s.
    #[must_use]
    pub fn speed(&self, path: &ScorePath) -> f64 {
        match (path.purpose, path.curving) {
            (Purpose::Relief | Purpose::Trim, _) => self.relief,
            (Purpose::Score, Curving::Straight) => self.straight,
            (Purpose::Score, Curving::Outside) => self.outside,
            (Purpose::Score, Curving::Inside) => self.inside,
        }
    }

    /// The speed along an arc of this radius: no faster than the wheel turns and the table bears, mm/s.
    #[must_use]
    pub fn along(&self, speed: f64, radius: f64) -> f64 {
        speed
            .min((self.acceleration * radius).sqrt())
            .min(self.turning * radius)
    }

    /// Time to drive a path, wheel down, s: it starts and ends at rest, and keeps to the acceleration in between.
    #[must_use]
    pub fn time(&self, path: &ScorePath) -> f64 {
        let speed = self.speed(path);
        let tops: Vec<f64> = path.stretches.iter().map(|s| self.along(speed, s.radius())).collect();
        let lengths: Vec<f64> = path.stretches.iter().map(crate::Stretch::length).collect();
        // Squares of the speeds between stretches: what can be reached from the start, then what can be stopped from.
        let n = tops.len();
        let mut squares = vec![0.0; n + 1];
        for k in 0..n {
            let next = tops.get(k + 1).map_or(0.0, |top| top.min(tops[k]).powi(2));
            squares[k + 1] = next.min(squares[k] + 2.0 * self.acceleration * lengths[k]);
        }
        for k in (0..n).rev() {
            squares[k] = squares[k].min(squares[k + 1] + 2.0 * self.acceleration * lengths[k]);
        }
        (0..n)
            .map(|k| {
                over(
                    lengths[k],
                    squares[k].sqrt(),
                    squares[k + 1].sqrt(),
                    tops[k],
                    self.acceleration,
                )
            })
            .sum()
    }

    /// Time from one place and direction of the wheel to another, wheel up, s.
    #[must_use]
    pub fn way(&self, from: (Point, f64), to: (Point, f64)) -> f64 {
        let travel = from_rest(norm(to.0 - from.0), self.travel, self.acceleration);
        let turn = to.1 - from.1;
        let turn = turn - std::f64::consts::TAU * (turn / std::f64::consts::TAU).round();
        travel.max(from_rest(turn.abs(), self.turning, self.turning_acceleration))
    }

    /// What driving the paths in this order comes to.
    #[must_use]
    pub fn reckon(&self, paths: &[ScorePath], order: &Order) -> Reckoning {
        let mut sum = Reckoning::default();
        let mut at = (self.home, None);
        for (k, reversed) in &order.sequence {
            let path = &paths[*k];
            let (mut start, mut end) = ((path.start(), path.start_angle()), (path.end(), path.end_angle()));
            if *reversed {
                (start, end) = (opposite(end), opposite(start));
            }
            sum.travel += norm(start.0 - at.0);
            sum.seconds += self.way((at.0, at.1.unwrap_or(start.1)), start) + self.lower + self.lift;
            sum.scoring_seconds += self.time(path);
            sum.scored += path.length();
            sum.lifts += 1;
            at = (end.0, Some(end.1));
        }
        if self.goes_home && sum.lifts > 0 {
            sum.travel += norm(self.home - at.0);
            sum.seconds += from_rest(norm(self.home - at.0), self.travel, self.acceleration);
        }
        sum.seconds += sum.scoring_seconds;
        sum
    }
}

/// A place with the direction turned round.
pub(crate) fn opposite(at: (Point, f64)) -> (Point, f64) {
    (at.0, at.1 + std::f64::consts::PI)
}

/// Time over a way from rest to rest.
pub(crate) fn from_rest(way: f64, speed: f64, acceleration: f64) -> f64 {
    if way >= speed * speed / acceleration {
        way / speed + speed / acceleration
    } else {
        2.0 * (way / acceleration).sqrt()
    }
}

/// Time over a stretch from one speed to another, at most `top`.
fn over(length: f64, from: f64, to: f64, top: f64, acceleration: f64) -> f64 {
    let peak = ((from * from + to * to) / 2.0 + acceleration * length).sqrt();
    if peak <= top {
        return ((peak - from) + (peak - to)) / acceleration;
    }
    let ramps = (2.0 * top * top - from * from - to * to) / (2.0 * acceleration);
    (2.0 * top - from - to) / acceleration + (length - ramps) / top
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From rest: half the way speeding up, half slowing down (s = a t² / 2), or a stretch at full speed between.
    #[test]
    fn times_from_rest_are_those_of_uniform_acceleration() {
        assert!((from_rest(100.0, 1000.0, 400.0) - 1.0).abs() < 1e-12);
        assert!((from_rest(500.0, 100.0, 100.0) - 6.0).abs() < 1e-12);
        assert!((over(100.0, 0.0, 0.0, 1000.0, 400.0) - 1.0).abs() < 1e-12);
        assert!((over(500.0, 0.0, 0.0, 100.0, 100.0) - 6.0).abs() < 1e-12);
        // Already at full speed: way by speed.
        assert!((over(500.0, 100.0, 100.0, 100.0, 100.0) - 5.0).abs() < 1e-12);
    }
}
