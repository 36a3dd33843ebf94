//! How each sheet comes apart: the breaking order is replayed, break by break.
//!
//! Nothing of `cullet-breakout` but its data is used. A chain's directions are judged on the circle, the glass in hand is parted
//! by a splice of its own, and what comes of it is measured with `geo`'s booleans.

mod polygon;
use polygon::{number, parted, width};

use super::bend::{Bends, Limits, Opened};
use super::shape::Shape;
use super::{Check, Sheet, TOLERANCE, copy_name};
use cullet_job::Job;
use cullet_model::{Outcome, Step, Style};
use geo::{Area, BooleanOps, Coord, Distance, Euclidean, Length, Line, LineString, MultiLineString, Point, Polygon};
use std::collections::{BTreeMap, BTreeSet};

/// How far a chain may end off the edge of the glass in hand or lie outside it, mm: pieces sink into each other by half of this.
const ON_EDGE: f64 = 0.005;
/// What a piece may be larger than its cut outline besides the score kerf, mm.
const LARGER: f64 = 0.01;
/// What the grinder takes off an edge besides the grind allowance, and no more than that, mm: waste as thin is not scored.
const MOST_GROUND_OFF: f64 = 0.5;
/// What widths and turns may be off, mm and degrees.
const SLACK: (f64, f64) = (0.02, 0.01);

pub(super) fn check(check: &mut Check<'_>, sheet: &Sheet<'_>) {
    for (place, what) in replayed(sheet, check.job).faults {
        check.fault(sheet.layout.number, place, what);
    }
}

/// Placements that the layout's breaking order does not free, all of them where it cannot be told which; empty when it holds.
pub(super) fn held(sheet: &Sheet<'_>, job: &Job) -> Vec<usize> {
    let replay = replayed(sheet, job);
    if replay.faults.is_empty() {
        return vec![];
    }
    let all = 0..sheet.layout.placements.len();
    let freed = |i: &usize| replay.freed.get(&(true, *i)) == Some(&1);
    let held: Vec<usize> = all.clone().filter(|i| !freed(i) || replay.wrong.contains(i)).collect();
    if held.is_empty() { all.collect() } else { held }
}

/// Every break of a layout with the most that it bends, degrees, and whether it parts glass that holds something wanted on both
/// sides.
pub(super) fn sharpest(sheet: &Sheet<'_>, job: &Job, stretch: f64) -> Vec<(f64, bool)> {
    let replay = prepared(sheet, job);
    let steps = sheet.layout.breaking.steps.iter();
    steps
        .map(|step| {
            let waste = [step.left, step.right]
                .iter()
                .any(|o| matches!(o, Outcome::Cullet | Outcome::Nibbled));
            (replay.bends(step).sharpest(stretch).0, !waste)
        })
        .collect()
}

fn replayed<'s, 'p>(sheet: &'s Sheet<'p>, job: &Job) -> Replay<'s, 'p> {
    let mut replay = prepared(sheet, job);
    replay.run();
    replay
}

fn prepared<'s, 'p>(sheet: &'s Sheet<'p>, job: &Job) -> Replay<'s, 'p> {
    let ground_off = ground_off(sheet);
    Replay {
        sheet,
        limits: Limits {
            turn_deg: job.sharpest_turn_deg,
            stretch: job.bend_length,
            radius: job.tightest_curve,
        },
        opened: opened(sheet),
        follows: job.score_kerf + ground_off + 2.0 * ON_EDGE,
        margin: job.pull_margin_deg,
        strip: sheet.glass.map_or(0.0, |g| g.narrowest_strip),
        larger: job.score_kerf + LARGER.max(ground_off),
        blanks: blanks(sheet),
        hands: BTreeMap::new(),
        given: BTreeSet::from([0]),
        freed: BTreeMap::new(),
        wrong: BTreeSet::new(),
        parted: 0.0,
        faults: vec![],
    }
}

/// What the grinder may take off an edge of this glass besides the grind allowance, mm.
pub(super) fn ground_off(sheet: &Sheet<'_>) -> f64 {
    sheet.glass.map_or(0.0, |g| g.grind_allowance.min(MOST_GROUND_OFF))
}

struct Replay<'s, 'p> {
    sheet: &'s Sheet<'p>,
    limits: Limits,
    /// The parts that hold one piece and nothing else that is wanted: placement index.
    opened: BTreeMap<usize, usize>,
    /// How far off a piece a score still follows it, mm.
    follows: f64,
    margin: f64,
    strip: f64,
    larger: f64,
    /// Of a straight-run layout the parts that are one piece's blank, where curves may be broken; else nothing.
    blanks: Option<BTreeSet<usize>>,
    /// Glass that is there to be taken in hand.
    hands: BTreeMap<usize, Polygon<f64>>,
    given: BTreeSet<usize>,
    /// How often each piece and offcut came out.
    freed: BTreeMap<(bool, usize), u32>,
    /// Pieces that came out short or too large.
    wrong: BTreeSet<usize>,
    /// Area of everything that came out, mm².
    parted: f64,
    faults: Vec<(String, String)>,
}

impl Replay<'_, '_> {
    fn run(&mut self) {
        let layout = self.sheet.layout;
        let whole = self.sheet.shape.polygon.clone();
        let area = whole.unsigned_area();
        if layout.breaking.steps.is_empty() {
            // A sheet that is one piece as it is.
            self.leaf("breaking order", Outcome::Piece(0), &whole, true);
        } else {
            self.hands.insert(0, whole);
        }
        for (k, step) in layout.breaking.steps.iter().enumerate() {
            self.step(&format!("breaking order, break {}", k + 1), step);
        }
        let left: Vec<String> = self.hands.keys().map(ToString::to_string).collect();
        if !left.is_empty() {
            self.fault(
                "breaking order",
                format!("part {} is never broken further", left.join(", ")),
            );
        }
        for (i, placement) in layout.placements.iter().enumerate() {
            self.out_once(format!("breaking order, {}", copy_name(placement)), (true, i));
        }
        for i in 0..layout.returned.len() {
            self.out_once(format!("breaking order, returned offcut {}", i + 1), (false, i));
        }
        let agrees = (self.parted - area).abs() <= 1e-6 * area + 1e-3;
        if self.faults.is_empty() && !agrees {
            self.fault(
                "breaking order",
                format!("its parts add up to {:.3} mm², the sheet has {area:.3}", self.parted),
            );
        }
    }

    fn fault(&mut self, place: impl Into<String>, what: impl Into<String>) {
        self.faults.push((place.into(), what.into()));
    }

    fn out_once(&mut self, place: String, what: (bool, usize)) {
        match self.freed.get(&what).copied().unwrap_or(0) {
            1 => {}
            0 => self.fault(place, "it is never freed"),
            n => self.fault(place, format!("it is freed {n} times")),
        }
    }

    fn step(&mut self, place: &str, step: &Step) {
        let Some(hand) = self.hands.remove(&step.part) else {
            let known = self.given.contains(&step.part);
            let why = if known {
                "is in hand no more, or not yet whole"
            } else {
                "has not come off yet"
            };
            self.fault(place, format!("part {} {why}", step.part));
            return;
        };
        let count = self.faults.len();
        self.wheel(place, step);
        self.straight(place, step);
        if self.faults.len() == count {
            self.inside(place, &hand, &step.chain);
        }
        let parts = if self.faults.len() == count {
            parted(&hand, &step.chain)
        } else {
            None
        };
        let Some((left, right)) = parts else {
            if self.faults.len() == count {
                self.fault(place, "it does not part the glass in hand in two");
            }
            // What should have come of it is not missed as well.
            self.given
                .extend([step.left, step.right].into_iter().filter_map(number));
            return;
        };
        self.halves(place, &hand, &left, &right);
        let nibbled = [step.left, step.right]
            .iter()
            .filter(|o| **o == Outcome::Nibbled)
            .count();
        if nibbled == 2 {
            self.fault(place, "both sides are marked as nibbled");
        }
        self.leaf(place, step.left, &left, false);
        self.leaf(place, step.right, &right, false);
    }

    /// What the wheel can follow and the hands can pull apart.
    fn wheel(&mut self, place: &str, step: &Step) {
        let chain = &step.chain;
        let finite = chain
            .iter()
            .all(|p| p.x.is_finite() && p.y.is_finite() && p.x.abs().max(p.y.abs()) < 1e6);
        let lines: Vec<Line<f64>> = chain.windows(2).map(|w| Line::new(w[0], w[1])).collect();
        if !finite || lines.is_empty() || lines.iter().any(|l| Euclidean.length(l) < 1e-9) {
            self.fault(place, "its scores do not join up");
            return;
        }
        let nibbled = [step.left, step.right].contains(&Outcome::Nibbled);
        if let Some(what) = self.bends(step).fault(self.limits, nibbled, SLACK.1) {
            self.fault(place, what);
        }
        let heading: Vec<f64> = lines.iter().map(|l| l.dy().atan2(l.dx()).to_degrees()).collect();
        // The widest free stretch of the circle of directions leaves the rest for them.
        let mut round = heading;
        round.sort_by(f64::total_cmp);
        let (first, last) = (round[0], round[round.len() - 1]);
        let gap = round
            .windows(2)
            .map(|w| w[1] - w[0])
            .fold(first + 360.0 - last, f64::max);
        let spread = 360.0 - gap;
        if spread > 180.0 - 2.0 * self.margin + SLACK.1 {
            self.fault(
                place,
                format!("its directions spread over {spread:.1}°: the two sides cannot be pulled apart"),
            );
        }
    }

    fn bends(&self, step: &Step) -> Bends {
        let placement = self.opened.get(&step.part).map(|i| &self.sheet.layout.placements[*i]);
        let laid = placement.and_then(|p| self.sheet.laid.iter().find(|l| std::ptr::eq(l.placement, p)));
        let opened = laid.map(|laid| Opened {
            cut: &laid.cut,
            off: self.follows,
            on_left: !matches!(step.left, Outcome::Cullet | Outcome::Nibbled),
        });
        Bends::of(&step.chain, opened.as_ref())
    }

    /// Of a straight-run layout every break that is not inside one piece's blank is one straight run.
    fn straight(&mut self, place: &str, step: &Step) {
        let (Some(first), Some(last), Some(blanks)) = (step.chain.first(), step.chain.last(), &self.blanks) else {
            return;
        };
        let run = Line::new(*first, *last);
        let ends = blanks.contains(&step.part) || first == last;
        let off = |p: &Coord<f64>| Euclidean.distance(&Point::from(*p), &run);
        let bent = step.chain.iter().map(off).fold(0.0, f64::max);
        if !ends && bent > ON_EDGE {
            self.fault(
                place,
                format!("it bends by {bent:.3} mm, of a straight-run layout it should be a straight run"),
            );
        }
    }

    /// From edge to edge of the glass in hand and nowhere outside it.
    fn inside(&mut self, place: &str, hand: &Polygon<f64>, chain: &[Coord<f64>]) {
        let edge = hand.exterior();
        for end in [chain[0], chain[chain.len() - 1]] {
            let off = Euclidean.distance(&Point::from(end), edge);
            if off > ON_EDGE {
                self.fault(place, format!("it ends {off:.3} mm off the edge of the glass in hand"));
            }
        }
        let scores = MultiLineString::new(vec![LineString::from(chain.to_vec())]);
        let outside = hand.clip(&scores, true);
        let far = outside
            .iter()
            .flat_map(LineString::lines)
            .flat_map(|l| [l.start, (l.start + l.end) / 2.0, l.end])
            .filter(|p| !geo::Contains::contains(hand, p))
            .map(|p| Euclidean.distance(&Point::from(p), edge))
            .fold(0.0, f64::max);
        if far > ON_EDGE {
            self.fault(place, format!("it runs {far:.3} mm outside the glass in hand"));
        }
    }

    /// The two sides are the glass in hand, and lie in it side by side.
    fn halves(&mut self, place: &str, hand: &Polygon<f64>, left: &Polygon<f64>, right: &Polygon<f64>) {
        let whole = hand.unsigned_area();
        let sum = left.unsigned_area() + right.unsigned_area();
        let agrees = (sum - whole).abs() <= 1e-6 * whole + 0.1;
        let (left, right) = (Shape::new(left.clone()), Shape::new(right.clone()));
        let overlap = left.overlap_depth(&right);
        if !agrees || overlap > 2.0 * ON_EDGE {
            self.fault(
                place,
                format!("its sides add up to {sum:.3} mm² and overlap by {overlap:.3} mm, the glass in hand has {whole:.3} mm²"),
            );
        }
    }

    /// What one side is said to be.
    fn leaf(&mut self, place: &str, said: Outcome, side: &Polygon<f64>, whole: bool) {
        let width = width(side);
        let narrow = width < self.strip - SLACK.0;
        let shape = Shape::new(side.clone());
        match said {
            Outcome::Part(n) => {
                if !self.given.insert(n) {
                    self.fault(place, format!("part {n} is there twice"));
                }
                self.hands.insert(n, side.clone());
            }
            Outcome::Piece(i) => {
                self.parted += side.unsigned_area();
                *self.freed.entry((true, i)).or_default() += 1;
                if !self.piece(place, i, &shape) {
                    return;
                }
            }
            Outcome::Offcut(i) => {
                self.parted += side.unsigned_area();
                *self.freed.entry((false, i)).or_default() += 1;
                let returned = &self.sheet.layout.returned;
                let Some(outline) = returned.get(i) else {
                    self.fault(
                        place,
                        format!("returned offcut {} of {} comes off", i + 1, returned.len()),
                    );
                    return;
                };
                let offcut = Shape::of(outline);
                let (over, short) = (shape.overhang_depth(&offcut), offcut.overhang_depth(&shape));
                self.same(place, &format!("returned offcut {}", i + 1), over, short, LARGER);
            }
            Outcome::Cullet => self.parted += side.unsigned_area(),
            Outcome::Nibbled => {
                self.parted += side.unsigned_area();
                if width > self.strip + SLACK.0 {
                    self.fault(
                        place,
                        format!("waste {width:.2} mm wide is called nibbled, it comes off in one"),
                    );
                }
                return;
            }
        }
        if narrow && !whole {
            let what = if said == Outcome::Cullet {
                "waste, not said to be nibbled,"
            } else {
                "what is to stay"
            };
            self.fault(
                place,
                format!(
                    "{what} is {width:.2} mm wide, the narrowest strip is {:.2} mm",
                    self.strip
                ),
            );
        }
    }

    /// Judges what comes off as a piece; whether the layout has such a piece.
    fn piece(&mut self, place: &str, i: usize, shape: &Shape) -> bool {
        let placements = &self.sheet.layout.placements;
        let Some(placement) = placements.get(i) else {
            self.fault(place, format!("piece {} of {} comes off", i + 1, placements.len()));
            return false;
        };
        // A pose that is no number has been named already.
        let laid = self.sheet.laid.iter().find(|l| std::ptr::eq(l.placement, placement));
        if let Some(laid) = laid {
            let (over, short) = (shape.overhang_across(&laid.cut), laid.cut.overhang_depth(shape));
            if !self.same(place, &copy_name(placement), over, short, self.larger) {
                self.wrong.insert(i);
            }
        }
        true
    }

    /// Whether what came out is as it should be.
    fn same(&mut self, place: &str, name: &str, over: f64, short: f64, larger: f64) -> bool {
        if short > TOLERANCE {
            self.fault(place, format!("{name} comes out {short:.3} mm short"));
        }
        if over > larger {
            self.fault(place, format!("{name} comes out {over:.3} mm too large"));
        }
        short <= TOLERANCE && over <= larger
    }
}

/// The parts of which one piece comes and nothing else that is wanted, with its placement.
fn opened(sheet: &Sheet<'_>) -> BTreeMap<usize, usize> {
    let mut wanted: BTreeMap<usize, Vec<Outcome>> = BTreeMap::new();
    for step in sheet.layout.breaking.steps.iter().rev() {
        let mut all = vec![];
        for side in [step.left, step.right] {
            match side {
                Outcome::Part(n) => all.extend(wanted.get(&n).into_iter().flatten().copied()),
                Outcome::Piece(_) | Outcome::Offcut(_) => all.push(side),
                Outcome::Cullet | Outcome::Nibbled => {}
            }
        }
        // Two tell as much as all of them.
        all.truncate(2);
        wanted.insert(step.part, all);
    }
    let count = sheet.layout.placements.len();
    let single = wanted.into_iter().filter_map(|(part, wanted)| match wanted[..] {
        [Outcome::Piece(i)] if i < count => Some((part, i)),
        _ => None,
    });
    single.collect()
}

/// The parts of a straight-run layout of which no more than one piece or offcut comes; nothing for a shaped one.
fn blanks(sheet: &Sheet<'_>) -> Option<BTreeSet<usize>> {
    let layout = sheet.layout;
    if layout.style != Style::StraightRun {
        return None;
    }
    let mut wanted: BTreeMap<usize, usize> = BTreeMap::new();
    for step in layout.breaking.steps.iter().rev() {
        let of = |side: Outcome| match side {
            Outcome::Piece(_) | Outcome::Offcut(_) => 1,
            Outcome::Part(n) => wanted.get(&n).copied().unwrap_or(0),
            Outcome::Cullet | Outcome::Nibbled => 0,
        };
        let sum = of(step.left).saturating_add(of(step.right));
        wanted.insert(step.part, sum);
    }
    Some(
        wanted
            .into_iter()
            .filter(|(_, n)| *n <= 1)
            .map(|(part, _)| part)
            .collect(),
    )
}

#[cfg(test)]
mod tests;
