//! What the wheel does on the glass: its strokes, and what is wrong with how it is moved.

use crate::gcode::{Deed, Kind};
use crate::{ALONG_DEG, Fault, Mark, NEAR, Stroke, Wanted, fault, ground};
use cullet_geometry::{Outline, Point};
use cullet_job::{TableFile, WheelKind};
use std::f64::consts::TAU;

/// Distance of two marks of a stroke, mm.
const STEP: f64 = 0.25;
/// Step at which the way of a trailing wheel is reckoned, mm.
const FINE: f64 = 0.01;

struct Watch<'a> {
    table: &'a TableFile,
    wanted: &'a Wanted<'a>,
    faults: &'a mut Vec<Fault>,
    strokes: Vec<Stroke>,
    down: bool,
    /// Direction in which a trailing wheel points, radians, in X and Y of the table.
    caster: f64,
}

pub(crate) fn strokes(deeds: &[Deed], table: &TableFile, wanted: &Wanted<'_>, faults: &mut Vec<Fault>) -> Vec<Stroke> {
    let mut watch = Watch {
        table,
        wanted,
        faults,
        strokes: vec![],
        down: false,
        caster: 0.0,
    };
    let mut at = Point {
        x: table.home[0],
        y: table.home[1],
    };
    for deed in deeds {
        match deed.kind {
            Kind::Down => watch.lower(deed.line, at),
            Kind::Up if !watch.down => watch.say(deed.line, "the wheel is lifted while it is up".into()),
            Kind::Up => watch.down = false,
            Kind::Move {
                from,
                to,
                round,
                turn,
                rapid,
            } => {
                watch.go(deed.line, &Way { from, to, round }, turn, rapid);
                at = to;
            }
        }
    }
    if watch.down {
        watch.say(0, "the file ends with the wheel down".into());
    }
    watch.strokes
}

/// A line or an arc of the head.
struct Way {
    from: Point,
    to: Point,
    round: Option<(Point, bool)>,
}

impl Way {
    /// How far it turns round its centre, radians; a whole turn where it ends at its start.
    fn sweep(&self) -> f64 {
        let Some((centre, ccw)) = self.round else { return 0.0 };
        let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
        let turn = (angle(self.to) - angle(self.from)).rem_euclid(TAU);
        let turn = if self.from == self.to { TAU } else { turn };
        if ccw {
            turn
        } else if self.from == self.to {
            -TAU
        } else {
            turn - TAU
        }
    }

    fn length(&self) -> f64 {
        match self.round {
            None => (self.to.x - self.from.x).hypot(self.to.y - self.from.y),
            Some((c, _)) => (self.from.x - c.x).hypot(self.from.y - c.y) * self.sweep().abs(),
        }
    }

    fn at(&self, share: f64) -> Point {
        match self.round {
            None => self.from + (self.to - self.from) * share,
            Some((c, _)) => {
                let start = (self.from.y - c.y).atan2(self.from.x - c.x);
                let (r0, r1) = (
                    (self.from.x - c.x).hypot(self.from.y - c.y),
                    (self.to.x - c.x).hypot(self.to.y - c.y),
                );
                let (sin, cos) = (start + self.sweep() * share).sin_cos();
                let r = r0 + (r1 - r0) * share;
                c + Point { x: r * cos, y: r * sin }
            }
        }
    }

    /// Direction of travel, radians.
    fn direction(&self, share: f64) -> f64 {
        match self.round {
            None => (self.to.y - self.from.y).atan2(self.to.x - self.from.x),
            Some((c, ccw)) => {
                let p = self.at(share);
                (p.y - c.y).atan2(p.x - c.x) + if ccw { TAU / 4.0 } else { -TAU / 4.0 }
            }
        }
    }
}

impl Watch<'_> {
    fn say(&mut self, line: usize, what: String) {
        self.faults.push(fault(line, what));
    }

    fn lower(&mut self, line: usize, head: Point) {
        if self.down {
            self.say(line, "the wheel is lowered while it is down".into());
        }
        self.down = true;
        self.strokes.push(Stroke::default());
        let at = self.touches(head);
        let at = ground::from_table(at, self.table, self.wanted);
        let inside = self
            .wanted
            .pieces
            .iter()
            .any(|piece| depth(piece, at) > NEAR + self.wanted.facet);
        if inside {
            self.say(
                line,
                format!(
                    "the wheel is lowered inside a piece, at {:.2}, {:.2} of the sheet",
                    at.x, at.y
                ),
            );
        }
    }

    /// Where the wheel touches, for a place of the head.
    fn touches(&self, head: Point) -> Point {
        match self.table.wheel.kind {
            WheelKind::Steered => head,
            WheelKind::Caster => {
                let (sin, cos) = self.caster.sin_cos();
                head - Point { x: cos, y: sin } * self.table.wheel.trail
            }
        }
    }

    fn go(&mut self, line: usize, way: &Way, turn: (f64, f64), rapid: bool) {
        self.stays_on_table(line, way);
        if let Some(cable) = self.table.wheel.cable
            && turn.1.abs() > cable + 1e-3
            && self.table.steering().is_some()
        {
            self.say(
                line,
                format!("the wheel is turned to {:.1}°, the cable allows {cable:.0}°", turn.1),
            );
        }
        let length = way.length();
        if !self.down {
            if !rapid && length > 0.0 {
                self.say(line, "a score with the wheel up".into());
            }
            return;
        }
        if rapid && length > 0.0 {
            self.say(line, "a travel with the wheel down".into());
        }
        if length == 0.0 {
            if (turn.1 - turn.0).abs() > ALONG_DEG {
                self.say(line, "the wheel is turned on the spot while it is down".into());
            }
            return;
        }
        match self.table.wheel.kind {
            WheelKind::Steered => self.roll(line, way, turn),
            WheelKind::Caster => self.trail(line, way),
        }
    }

    fn stays_on_table(&mut self, line: usize, way: &Way) {
        let [width, height] = self.table.size;
        let count = if way.round.is_some() { 32 } else { 1 };
        for k in 0..=count {
            let p = way.at(f64::from(k) / f64::from(count));
            let slack = 1e-3;
            if p.x < -slack || p.y < -slack || p.x > width + slack || p.y > height + slack {
                self.say(
                    line,
                    format!("the head goes to X {:.2}, Y {:.2} mm, off the table", p.x, p.y),
                );
                return;
            }
        }
    }

    fn roll(&mut self, line: usize, way: &Way, turn: (f64, f64)) {
        let bend = way.sweep().abs().to_degrees() / 3.0;
        let steps = (way.length() / STEP).max(bend).ceil().max(1.0);
        let mut worst = 0.0_f64;
        for k in 0..=steps as u32 {
            let share = f64::from(k) / steps;
            let angle = turn.0 + (turn.1 - turn.0) * share - self.table.wheel.zero;
            let off = (angle - way.direction(share).to_degrees() + 180.0).rem_euclid(360.0) - 180.0;
            worst = worst.max(off.abs());
            self.mark(line, way.at(share));
        }
        // Directions of what is shorter than the last place written mean nothing.
        let rounding = (1e-4 / way.length()).atan().to_degrees();
        if worst > ALONG_DEG + rounding {
            self.say(line, format!("the wheel points {worst:.2}° off its path"));
        }
    }

    /// A trailing wheel follows the head so that it moves along its own direction only: the angle between them shrinks as the sine of it
    /// over the trail (the tractrix, and its kin for arcs). Reckoned by steps of fourth order.
    fn trail(&mut self, line: usize, way: &Way) {
        let trail = self.table.wheel.trail;
        if trail <= 0.0 {
            self.roll_free(line, way);
            return;
        }
        let length = way.length();
        let steps = (length / FINE).ceil().max(4.0);
        let h = length / steps;
        let bends = |share: f64, caster: f64| (way.direction(share) - caster).sin() / trail;
        let every = (STEP / h).max(1.0) as u32;
        self.mark(line, self.touches(way.from));
        for k in 0..steps as u32 {
            let share = |part: f64| (f64::from(k) + part) / steps;
            let a = bends(share(0.0), self.caster);
            let b = bends(share(0.5), self.caster + a * h / 2.0);
            let c = bends(share(0.5), self.caster + b * h / 2.0);
            let d = bends(share(1.0), self.caster + c * h);
            self.caster += (a + 2.0 * b + 2.0 * c + d) * h / 6.0;
            if (k + 1) % every == 0 || k + 1 == steps as u32 {
                self.mark(line, self.touches(way.at(share(1.0))));
            }
        }
    }

    fn roll_free(&mut self, line: usize, way: &Way) {
        let steps = (way.length() / STEP).ceil().max(16.0);
        for k in 0..=steps as u32 {
            self.mark(line, way.at(f64::from(k) / steps));
        }
        self.caster = way.direction(1.0);
    }

    fn mark(&mut self, line: usize, on_table: Point) {
        let at = ground::from_table(on_table, self.table, self.wanted);
        let Some(stroke) = self.strokes.last_mut() else { return };
        // Where a wheel is turned on the spot nothing is scored.
        let is_there = |mark: &Mark| (mark.at.x - at.x).hypot(mark.at.y - at.y) < 0.005;
        if !stroke.marks.last().is_some_and(is_there) {
            stroke.marks.push(Mark { at, line });
        }
    }
}

/// How deep inside an outline a point lies, mm; 0 outside.
fn depth(outline: &Outline, p: Point) -> f64 {
    let points = outline.points();
    let mut inside = false;
    let mut near = f64::INFINITY;
    for (k, a) in points.iter().enumerate() {
        let b = points[(k + 1) % points.len()];
        if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
            inside = !inside;
        }
        near = near.min(crate::cover::off(*a, b, p).1);
    }
    if inside { near } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_breakout::Breaking;
    use serde_json::json;

    /// A table of no particular make with a wheel that trails by `trail` mm.
    fn caster(trail: f64) -> TableFile {
        let lines = json!([{"up_to": 6, "down": ["M3"], "up": ["M5"]}]);
        serde_json::from_value(json!({
            "name": "T", "size": [1000, 1000], "wheel": {"kind": "caster", "trail": trail},
            "speeds": {"straight": 1, "outside": 1, "inside": 1, "relief": 1, "travel": 1, "turning": 1},
            "accelerations": {"head": 1, "turning": 1}, "lines": lines,
        }))
        .expect("a table")
    }

    /// Distances from the centre at which the wheel touches while the head goes once round it at `head` mm, the wheel pointing along
    /// the tangent turned by `lag` at the start.
    fn touched(trail: f64, head: f64, lag: f64) -> Vec<f64> {
        let table = caster(trail);
        let outline = Outline::rectangle(1000.0, 1000.0);
        let breaking = Breaking { steps: vec![] };
        let wanted = Wanted {
            outline: &outline,
            breaking: &breaking,
            pieces: &[],
            on_show_face: true,
            thickness: 3.0,
            facet: 0.05,
        };
        let centre = Point { x: 500.0, y: 500.0 };
        let start = centre + Point { x: head, y: 0.0 };
        let mut faults = vec![];
        let mut watch = Watch {
            table: &table,
            wanted: &wanted,
            faults: &mut faults,
            strokes: vec![],
            down: false,
            caster: TAU / 4.0 + lag,
        };
        watch.lower(1, start);
        let way = Way {
            from: start,
            to: start,
            round: Some((centre, true)),
        };
        watch.go(2, &way, (0.0, 0.0), false);
        let marks = watch.strokes.remove(0).marks;
        marks
            .iter()
            .map(|mark| (mark.at.x - centre.x).hypot(mark.at.y - centre.y))
            .collect()
    }

    /// Where nothing corrects it the wheel runs inside the head's circle by R − √(R² − d²), about d²/2R.
    #[test]
    fn an_uncorrected_caster_runs_inside_by_half_the_square_over_the_radius() {
        for (trail, radius) in [(2.0_f64, 5.0_f64), (2.0, 10.0), (2.0, 20.0), (3.0, 10.0)] {
            let inside = radius - touched(trail, radius, 0.0).last().expect("a mark");
            let exact = radius - (radius * radius - trail * trail).sqrt();
            assert!(
                (inside - exact).abs() < 1e-3,
                "d {trail}, R {radius}: {inside}, {exact} by the formula"
            );
            let rule = trail * trail / (2.0 * radius);
            assert!(
                (inside - rule).abs() < 0.1 * rule,
                "d {trail}, R {radius}: {inside}, {rule} by the rule"
            );
        }
    }

    /// With the head ahead of the wheel by the trail along the tangent, on a circle of √(R² + d²), the wheel stays on its own.
    #[test]
    fn a_corrected_caster_stays_on_its_circle() {
        for (trail, radius) in [(2.0_f64, 5.0_f64), (3.0, 10.0), (3.0, 200.0)] {
            let lag = -(trail / radius).atan();
            for at in touched(trail, radius.hypot(trail), lag) {
                assert!(
                    (at - radius).abs() < 0.01,
                    "d {trail}, R {radius}: the wheel is at {at}"
                );
            }
        }
    }
}
