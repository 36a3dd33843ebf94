//! From blanks that lie on a sheet to the straight runs that free them, in the order of the bench.

mod parting;
use parting::{beside, crossed, parted};

use super::convex::{SNAP, area, cross, dot, length, sides};
use cullet_breakout::is_ground;
use cullet_breakout::{Breaking, Outcome, Rule, Step};
use cullet_geometry::{Outline, Point, offset};
use std::fmt;

/// Most waste parts that are asked for an offcut before a break.
const MOST_ASKED: usize = 8;

/// What is no wider than this on the mean, mm, is no glass that a run could take off: corners lie within [`SNAP`] of where
/// they should, so an edge and a run along it may be this far apart.
const SLIVER_MM: f64 = 2.0 * SNAP;
/// Nor is what is no larger than this: the grinder takes it.
const SPECK_MM2: f64 = 0.01;

/// One sheet and what is known of it.
#[derive(Debug, Clone, Copy)]
pub struct Sheet<'a> {
    /// The whole glass, with its trim.
    pub whole: &'a Outline,
    /// What lies inside the trim.
    pub usable: &'a Outline,
    /// Score kerf, mm: how far apart pieces that share a score lie at least.
    pub kerf: f64,
}

/// How one sheet comes apart in straight runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Runs {
    /// The breaks, none where the only blank is the sheet; a [`Outcome::Piece`] is the blank of that number among those given, an [`Outcome::Offcut`] a number in
    /// [`Runs::offcuts`].
    pub breaking: Breaking,
    /// The glass of each blank once it is free: the blank, and half a kerf more where a score runs.
    pub blanks: Vec<Outline>,
    /// What goes back to the rack, by the keep rule given.
    pub offcuts: Vec<Outline>,
    /// Parts of waste narrower than the narrowest strip.
    pub nibbled: usize,
}

/// No straight run parts what is in hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StuckError {
    /// The blanks in the part that cannot be parted, by number.
    pub blanks: Vec<usize>,
}

impl fmt::Display for StuckError {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            to,
            "no straight run parts blanks {:?} from edge to edge without crossing one; lay them so that one does",
            self.blanks
        )
    }
}

impl std::error::Error for StuckError {}

/// Glass in hand.
struct Hand {
    number: usize,
    points: Vec<Point>,
    blanks: Vec<usize>,
}

/// One run that could be made.
struct Run {
    chain: [Point; 2],
    left: Vec<Point>,
    right: Vec<Point>,
    left_blanks: Vec<usize>,
    right_blanks: Vec<usize>,
}

impl Run {
    /// The side without blanks.
    fn waste(&self) -> Option<&[Point]> {
        match (self.left_blanks.is_empty(), self.right_blanks.is_empty()) {
            (true, _) => Some(&self.left),
            (_, true) => Some(&self.right),
            _ => None,
        }
    }

    /// So that the larger side, which stays on the bench, is on the left.
    fn bench_left(self) -> Self {
        if area(&self.left) >= area(&self.right) {
            return self;
        }
        Self {
            chain: [self.chain[1], self.chain[0]],
            left: self.right,
            right: self.left,
            left_blanks: self.right_blanks,
            right_blanks: self.left_blanks,
        }
    }
}

struct Parting<'a> {
    /// The blanks as they must come out.
    blanks: &'a [Outline],
    /// With half a kerf all round: where the runs go.
    scored: Vec<Outline>,
    rule: Rule,
    keep: &'a dyn Fn(&Outline) -> bool,
    parts: usize,
    done: Runs,
    freed: Vec<Option<Outline>>,
}

/// The straight runs that free `blanks`, convex outlines where they lie on the sheet, from it.
///
/// What goes back to the rack comes off first, with its edges as they are; then the trim. Then, of each part: a run that returns
/// an offcut by the `keep` rule, if there is one, the largest first; else the run that comes nearest to halving it; else waste from the last blank, the largest first. The
/// larger side of each break is to its left. Cost about O(n²) a break for n blanks in the part.
///
/// # Errors
/// [`StuckError`] when blanks are left that no straight run can part.
///
/// ```
/// use cullet_breakout::Rule;
/// use cullet_geometry::Outline;
/// use cullet_guillotine::{Sheet, runs};
/// let whole = Outline::rectangle(300.0, 200.0);
/// let blanks = [Outline::rectangle(100.0, 200.0), Outline::rectangle(50.0, 200.0).translated(100.0, 0.0)];
/// let sheet = Sheet { whole: &whole, usable: &whole, kerf: 0.0 };
/// let cut = runs(&blanks, sheet, Rule::usual(6.0), &|waste| waste.bounds().width() >= 150.0)?;
/// // First the offcut of 150 x 200, then the two blanks.
/// assert_eq!((cut.breaking.steps.len(), cut.offcuts[0].area()), (2, 30_000.0));
/// # Ok::<(), cullet_guillotine::StuckError>(())
/// ```
pub fn runs(
    blanks: &[Outline],
    sheet: Sheet<'_>,
    rule: Rule,
    keep: &dyn Fn(&Outline) -> bool,
) -> Result<Runs, StuckError> {
    let half = 0.5 * sheet.kerf;
    let scored = blanks
        .iter()
        .map(|b| if half > 0.0 { offset::grow(b, half) } else { b.clone() })
        .collect();
    let mut parting = Parting {
        blanks,
        scored,
        rule,
        keep,
        parts: 1,
        done: Runs {
            breaking: Breaking { steps: vec![] },
            blanks: vec![],
            offcuts: vec![],
            nibbled: 0,
        },
        freed: vec![None; blanks.len()],
    };
    let hand = Hand {
        number: 0,
        points: sheet.whole.points().to_vec(),
        blanks: (0..blanks.len()).collect(),
    };
    let hand = parting.offcuts(hand);
    let hand = parting.trim(hand, sheet.usable);
    parting.part(hand)?;
    let mut done = parting.done;
    done.blanks = parting
        .freed
        .into_iter()
        .zip(blanks)
        .map(|(f, b)| f.unwrap_or_else(|| b.clone()))
        .collect();
    Ok(done)
}

impl Parting<'_> {
    /// Takes off what goes back to the rack while one run does it, so that its edges keep their trim for the next plan.
    fn offcuts(&mut self, mut hand: Hand) -> Hand {
        loop {
            let all = self.candidates(&hand);
            let Some(run) = self.kept(&all).and_then(|i| all.into_iter().nth(i)) else {
                return hand;
            };
            match self.broken(hand.number, run, false).pop() {
                Some(part) => hand = part,
                // What is left is a blank as it is.
                None => {
                    return Hand {
                        number: 0,
                        points: vec![],
                        blanks: vec![],
                    };
                }
            }
        }
    }

    /// Which run returns the largest offcut.
    fn kept(&self, all: &[Run]) -> Option<usize> {
        let mut waste: Vec<(f64, usize)> = all
            .iter()
            .enumerate()
            .filter_map(|(i, run)| run.waste().map(|w| (area(w), i)))
            .collect();
        waste.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
        waste.dedup_by(|x, y| (x.0 - y.0).abs() < 1e-6);
        let outline = |i: usize| all[i].waste().and_then(|w| Outline::new(w.to_vec()).ok());
        let first = waste.iter().take(MOST_ASKED).map(|(_, i)| *i);
        first.into_iter().find(|i| outline(*i).is_some_and(|o| (self.keep)(&o)))
    }

    /// Takes the trim off by every side of the usable outline along which a run crosses nothing that is wanted.
    fn trim(&mut self, mut hand: Hand, usable: &Outline) -> Hand {
        let mut lines: Vec<(Point, Point)> = sides(usable.points()).collect();
        lines.sort_by(|x, y| length(y.1 - y.0).total_cmp(&length(x.1 - x.0)));
        for (a, b) in lines {
            let Some((from, to)) = beside(&hand.points, a, b) else {
                continue;
            };
            let Some(run) = self.run(&hand, from, to).filter(|run| run.right_blanks.is_empty()) else {
                continue;
            };
            // A run on beyond an inside corner would cost good glass.
            let good = usable.points().iter().any(|p| {
                let off = cross(run.chain[1] - run.chain[0], *p - a) / length(run.chain[1] - run.chain[0]);
                off < -SNAP && Outline::new(run.right.clone()).is_ok_and(|o| o.contains(*p))
            });
            if good {
                continue;
            }
            hand = match self.broken(hand.number, run, true) {
                mut parts if !parts.is_empty() => parts.remove(0),
                _ => {
                    return Hand {
                        number: 0,
                        points: vec![],
                        blanks: vec![],
                    };
                }
            };
        }
        hand
    }

    /// Parts what is in hand down to blanks and waste.
    fn part(&mut self, hand: Hand) -> Result<(), StuckError> {
        let mut bench = vec![hand];
        while let Some(hand) = bench.pop() {
            if hand.blanks.is_empty() {
                continue;
            }
            if let [one] = hand.blanks[..]
                && self.is_free(&hand, one)
            {
                // Only where nothing but trim was round it: else it was known when it came off.
                self.was(hand.number, Outcome::Piece(one));
                self.freed[one] = Outline::new(hand.points).ok();
                continue;
            }
            let Some(run) = self.choose(&hand) else {
                return Err(StuckError { blanks: hand.blanks });
            };
            let mut parts = self.broken(hand.number, run, false);
            // The larger part next, the smaller laid aside.
            parts.reverse();
            bench.append(&mut parts);
        }
        Ok(())
    }

    /// Enters a break; gives the parts that must be taken in hand again.
    fn broken(&mut self, number: usize, run: Run, trim: bool) -> Vec<Hand> {
        let run = run.bench_left();
        let mut again = Vec::new();
        let mut side = |points: Vec<Point>, blanks: Vec<usize>| self.outcome(points, blanks, trim, &mut again);
        let left = side(run.left, run.left_blanks);
        let right = side(run.right, run.right_blanks);
        self.done.breaking.steps.push(Step {
            part: number,
            chain: run.chain.to_vec(),
            left,
            right,
        });
        again
    }

    fn outcome(&mut self, points: Vec<Point>, blanks: Vec<usize>, trim: bool, again: &mut Vec<Hand>) -> Outcome {
        if blanks.is_empty() {
            let outline = Outline::new(points.clone()).ok();
            if !trim && let Some(outline) = outline.filter(|o| (self.keep)(o)) {
                self.done.offcuts.push(outline);
                return Outcome::Offcut(self.done.offcuts.len() - 1);
            }
            return if !self.rule.is_wide(&points) {
                self.done.nibbled += 1;
                Outcome::Nibbled
            } else {
                Outcome::Cullet
            };
        }
        let hand = Hand {
            number: self.parts,
            points,
            blanks,
        };
        if !trim
            && let [one] = hand.blanks[..]
            && self.is_free(&hand, one)
        {
            self.freed[one] = Outline::new(hand.points).ok();
            return Outcome::Piece(one);
        }
        self.parts += 1;
        again.push(hand);
        Outcome::Part(self.parts - 1)
    }

    /// Whether no run is left that would take off more than the grinder does.
    fn is_free(&self, hand: &Hand, blank: usize) -> bool {
        self.candidates(hand).is_empty() || is_ground(&hand.points, self.blanks[blank].points(), &self.rule)
    }

    /// Says what the part of that number turned out to be.
    fn was(&mut self, number: usize, outcome: Outcome) {
        for step in &mut self.done.breaking.steps {
            for side in [&mut step.left, &mut step.right] {
                if *side == Outcome::Part(number) {
                    *side = outcome;
                }
            }
        }
    }

    /// Every run along a side of a blank that crosses no blank.
    fn candidates(&self, hand: &Hand) -> Vec<Run> {
        let lines = hand.blanks.iter().flat_map(|b| sides(self.scored[*b].points()));
        lines.filter_map(|(a, b)| self.run(hand, a, b)).collect()
    }

    /// Every run that touches the corners of two blanks and crosses none: for blanks that stand apart with waste between
    /// them, where no side of one will do.
    fn bridging(&self, hand: &Hand) -> Vec<Run> {
        let mut found = Vec::new();
        for one in &hand.blanks {
            for other in hand.blanks.iter().filter(|o| *o != one) {
                let (mine, theirs) = (self.scored[*one].points(), self.scored[*other].points());
                for (a, b) in mine.iter().flat_map(|a| theirs.iter().map(move |b| (*a, *b))) {
                    let along = b - a;
                    let holds = |p: &Point| cross(along, *p - a) >= -SNAP * length(along);
                    if length(along) > 1.0 && mine.iter().chain(theirs).all(holds) {
                        found.extend(self.run(hand, a, b));
                    }
                }
            }
        }
        found
    }

    fn choose(&self, hand: &Hand) -> Option<Run> {
        let mut all = self.candidates(hand);
        let parts = |run: &Run| run.waste().is_none();
        if hand.blanks.len() > 1 && !all.iter().any(parts) {
            all.extend(self.bridging(hand).into_iter().filter(parts));
        }
        if let Some(i) = self.kept(&all) {
            return Some(all.swap_remove(i));
        }
        let halving = all
            .iter()
            .enumerate()
            .filter(|(_, run)| run.waste().is_none())
            .map(|(i, run)| (area(&run.left).min(area(&run.right)), i))
            .max_by(|x, y| x.0.total_cmp(&y.0).then(y.1.cmp(&x.1)));
        if let Some((_, i)) = halving {
            return Some(all.swap_remove(i));
        }
        // Waste, the largest first, but what must be nibbled last.
        let best = all
            .iter()
            .enumerate()
            .filter_map(|(i, run)| run.waste().map(|w| (self.rule.is_wide(w), area(w), i)))
            .max_by(|x, y| x.0.cmp(&y.0).then(x.1.total_cmp(&y.1)).then(y.2.cmp(&x.2)))?;
        Some(all.swap_remove(best.2))
    }

    /// The run through the line from `a` to `b`, which has what is wanted on its left: from edge to edge of the glass in
    /// hand, if there is glass on both sides and it crosses no blank.
    fn run(&self, hand: &Hand, a: Point, b: Point) -> Option<Run> {
        let along = (b - a) / length(b - a);
        let (chain, left, right) = parted(&hand.points, a, along, 0.5 * length(b - a))?;
        let (from, to) = (dot(chain[0] - a, along), dot(chain[1] - a, along));
        let mut run = Run {
            chain,
            left,
            right,
            left_blanks: vec![],
            right_blanks: vec![],
        };
        for blank in &hand.blanks {
            let points = self.blanks[*blank].points();
            let off = |p: &Point| cross(along, *p - a);
            let least = points.iter().map(off).fold(f64::INFINITY, f64::min);
            let most = points.iter().map(off).fold(f64::NEG_INFINITY, f64::max);
            let is_left = if least >= -2.0 * SNAP {
                true
            } else if most <= 2.0 * SNAP {
                false
            } else if crossed(points, a, along).is_some_and(|(s, t)| t > from + SNAP && s < to - SNAP) {
                return None;
            } else {
                let middle = points.iter().fold(Point { x: 0.0, y: 0.0 }, |sum, p| sum + *p) / points.len() as f64;
                Outline::new(run.left.clone()).ok()?.contains(middle)
            };
            if is_left {
                run.left_blanks.push(*blank);
            } else {
                run.right_blanks.push(*blank);
            }
        }
        Some(run)
    }
}
