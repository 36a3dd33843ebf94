//! One glass from pieces to layouts.

use super::abut::Abutted;
use super::breaking::HELD;
use super::effort::fraction;
use super::lots::{self, Group};
use super::stock::{self, Candidate};
use super::turns::turns;
use crate::figures::{Accounts, Figures};
use crate::leftover;
use crate::model::{Layout, Placement, Tried};
use cullet_breakout::{Breaking, Style, straight};
use cullet_geometry::{Outline, Pose};
use cullet_job::{Glass, Job, LayoutFile, Piece};
use cullet_nest::{Axis, Effort, Filling, Item, Placed, Problem};
use cullet_rack::{Stock, StockKind};
use std::cmp::Ordering;
use std::sync::atomic::AtomicBool;

/// How deep two pieces may sink into each other and still count as touching, mm: half of what the verifier lets pass.
const TOLERANCE: f64 = 0.001;
/// Share of the effort for choosing and filling sheets; the rest draws the last one together.
const FILLING: f64 = 0.5;
/// Choices of lots tried when a group does not fit its first lot.
const MOST_LOT_CHOICES: usize = 4;

/// The pieces of one glass and what they may be cut from.
pub(super) struct Glasswork<'a> {
    pub(super) job: &'a Job,
    pub(super) glass: &'a Glass,
    /// Indices in the job.
    numbers: Vec<usize>,
    pub(super) pieces: Vec<&'a Piece>,
    candidates: Vec<Candidate<'a>>,
}

/// What came out for one glass; piece indices are the job's.
pub(super) struct Cut {
    pub(super) layouts: Vec<Layout>,
    pub(super) unplaced: Vec<(usize, u32, String)>,
    /// Every way tried, the kept one first.
    pub(super) tried: Vec<Tried>,
}

/// One way of laying a glass out.
struct Way {
    style: Style,
    layouts: Vec<Layout>,
    /// How many of each piece found no room.
    left: Vec<u32>,
    /// How many could not be broken out where they lay.
    held: Vec<u32>,
}

impl Way {
    /// Pieces that it does not place.
    fn missing(&self) -> u32 {
        self.left.iter().chain(&self.held).sum()
    }

    fn tried(&self) -> Tried {
        let breaks: usize = self.layouts.iter().map(|l| l.breaking.steps.len()).sum();
        Tried {
            style: self.style,
            sheets: self.layouts.len() as u32,
            unplaced: self.missing(),
            breaks: breaks as u32,
            figures: Figures::sum(self.layouts.iter().map(|l| &l.figures)),
        }
    }
}

impl<'a> Glasswork<'a> {
    pub(super) fn new(job: &'a Job, glass: usize, stock: &'a Stock, accounts: &Accounts) -> Self {
        let numbers: Vec<usize> = (0..job.pieces.len())
            .filter(|p| job.pieces[*p].glass == glass)
            .collect();
        let pieces: Vec<&Piece> = numbers.iter().map(|p| &job.pieces[*p]).collect();
        let glass = &job.glasses[glass];
        let needed = pieces.iter().map(|p| p.cut.area() * f64::from(wanted(p))).sum();
        Self {
            job,
            glass,
            numbers,
            pieces,
            candidates: stock::candidates(stock, glass, needed, accounts),
        }
    }

    /// Lays everything that can be laid, in every way that is asked for, and keeps the best.
    pub(super) fn cut(
        &self,
        effort: Effort,
        accounts: &Accounts,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Cut {
        let unbreakable = self.unbreakable();
        let mut problem = self.problem();
        let too_large: Vec<usize> = (0..self.pieces.len())
            .filter(|i| !unbreakable.contains_key(i) && !self.fits_somewhere(&problem, *i))
            .collect();
        for i in too_large.iter().chain(unbreakable.keys()) {
            problem.items[*i].count = 0;
        }
        let styles: &[Style] = match self.glass.layout {
            LayoutFile::StraightRun => &[Style::StraightRun],
            LayoutFile::Shaped => &[Style::Shaped],
            LayoutFile::Either => &[Style::Shaped, Style::StraightRun],
        };
        let share = 1.0 / styles.len() as f64;
        let mut ways: Vec<Way> = Vec::new();
        for (k, style) in styles.iter().enumerate() {
            let report = |part: f64, stage: &str| report(share * (k as f64 + part), stage);
            let effort = fraction(effort, share);
            let mut way = match style {
                Style::Shaped => self.shaped(&problem, effort, cancel, &report),
                Style::StraightRun => self.straight(problem.clone(), effort, cancel, &report),
            };
            for layout in &mut way.layouts {
                layout.figures = accounts.layout(&layout.stock, &layout.placements, &layout.returned);
            }
            ways.push(way);
        }
        ways.sort_by(|a, b| self.rank(a, b));
        let tried = ways.iter().map(Way::tried).collect();
        let mut unplaced: Vec<(usize, u32, String)> = too_large
            .iter()
            .map(|i| (self.numbers[*i], wanted(self.pieces[*i]), self.too_large(*i)))
            .collect();
        for (i, reason) in unbreakable {
            unplaced.push((self.numbers[i], wanted(self.pieces[i]), reason));
        }
        let Some(kept) = ways.into_iter().next() else {
            return Cut {
                layouts: vec![],
                unplaced,
                tried,
            };
        };
        for (i, count) in kept.left.iter().enumerate().filter(|(_, count)| **count > 0) {
            unplaced.push((self.numbers[i], *count, self.no_room(i)));
        }
        for (i, count) in kept.held.iter().enumerate().filter(|(_, count)| **count > 0) {
            unplaced.push((self.numbers[i], *count, HELD.to_owned()));
        }
        unplaced.sort_by_key(|u| u.0);
        Cut {
            layouts: kept.layouts,
            unplaced,
            tried,
        }
    }

    /// Every piece placed, then least net cost, then fewest sheets, then the largest offcut, then fewest breaks.
    fn rank(&self, a: &Way, b: &Way) -> Ordering {
        let missing = |w: &Way| -> f64 {
            let counts = w.left.iter().zip(&w.held).map(|(l, h)| f64::from(l + h));
            counts.zip(&self.pieces).map(|(n, p)| n * p.cut.area()).sum()
        };
        let cents = |w: &Way| (w.tried().figures.net_cost() * 100.0).round();
        let largest = |w: &Way| {
            let areas = w.layouts.iter().flat_map(|l| &l.returned).map(Outline::area);
            areas.fold(0.0, f64::max).round()
        };
        missing(a)
            .total_cmp(&missing(b))
            .then(cents(a).total_cmp(&cents(b)))
            .then(a.layouts.len().cmp(&b.layouts.len()))
            .then(largest(b).total_cmp(&largest(a)))
            .then(a.tried().breaks.cmp(&b.tried().breaks))
    }

    /// Pieces a narrowest strip apart, each with an outline score of its own, but for those that share a straight score.
    fn shaped(
        &self,
        problem: &Problem,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Way {
        let is_bound = |i: usize| self.pieces[i].one_lot.is_some();
        let pairs = Abutted::of(problem, self.job.score_kerf, &self.rule(), &is_bound);
        let mut ways = vec![self.nested(problem, pairs.as_ref(), effort, cancel, report)];
        if pairs.is_some() && ways[0].missing() > 0 {
            // Singly they may find room.
            ways.push(self.nested(problem, None, effort, cancel, report));
        }
        ways.into_iter().min_by_key(Way::missing).unwrap_or_else(|| Way {
            style: Style::Shaped,
            layouts: vec![],
            left: problem.items.iter().map(|i| i.count).collect(),
            held: vec![0; problem.items.len()],
        })
    }

    fn nested(
        &self,
        problem: &Problem,
        pairs: Option<&Abutted>,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Way {
        let nest = |problem: &Problem, effort: Effort| {
            cullet_nest::fill(problem, effort, cancel, &|_, part| {
                report(FILLING * part, "choosing and filling sheets");
            })
        };
        let mut items = pairs.map_or_else(|| problem.clone(), |p| p.problem.clone());
        let filling = self.fill(&mut items, fraction(effort, FILLING), &nest);
        let rest = fraction(effort, 1.0 - FILLING);
        let placed = self.draw_together(&items, filling.placed, rest, cancel, report);
        let (placed, left) = match pairs {
            Some(pairs) => (pairs.parted(&placed), pairs.left(&filling.left)),
            None => (placed, filling.left),
        };
        items.items.truncate(self.pieces.len());
        for (item, all) in items.items.iter_mut().zip(&problem.items) {
            item.count = all.count;
        }
        let (layouts, held) = self.broken(&items, &placed, effort, cancel);
        Way {
            style: Style::Shaped,
            layouts,
            left,
            held,
        }
    }

    /// Pieces in straight-sided blanks that share their scores.
    fn straight(
        &self,
        mut problem: Problem,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Way {
        problem.clearance = self.job.score_kerf;
        let lay = |problem: &Problem, effort: Effort| {
            let laying = straight::lay(problem, self.rule(), effort, cancel, &|_, part| {
                report(part, "laying out in straight runs");
            });
            Filling {
                placed: laying.placed,
                left: laying.left,
                cost: laying.cost,
                spent: laying.spent,
            }
        };
        let filling = self.fill(&mut problem, effort, &lay);
        let (layouts, held) = self.in_runs(&filling.placed);
        Way {
            style: Style::StraightRun,
            layouts,
            left: filling.left,
            held,
        }
    }

    fn problem(&self) -> Problem {
        let items = self.pieces.iter().map(|piece| {
            let turns = turns(self.glass.grain, piece);
            Item {
                outline: piece.cut.clone(),
                count: wanted(piece),
                turned_over: piece.may_turn_over.then(|| turns.clone()),
                turns,
                allowed: Vec::new(),
            }
        });
        Problem {
            items: items.collect(),
            containers: self.candidates.iter().map(|c| c.container.clone()).collect(),
            clearance: self.glass.narrowest_strip + self.job.score_kerf,
            tolerance: TOLERANCE,
        }
    }

    /// Fills the sheets, trying other lots where a one-lot group does not fit its first.
    fn fill(&self, problem: &mut Problem, effort: Effort, lay: &dyn Fn(&Problem, Effort) -> Filling) -> Filling {
        let groups = lots::groups(&self.pieces, &self.candidates);
        let tries = groups
            .iter()
            .map(|g| g.lots.len())
            .max()
            .unwrap_or(1)
            .clamp(1, MOST_LOT_CHOICES);
        let mut best: Option<(f64, Filling, Vec<Vec<bool>>)> = None;
        for attempt in 0..tries {
            self.bind_to_lots(problem, &groups, attempt);
            // All the effort for the first choice unless it fails: then a little shows whether another does better.
            let share = if attempt == 0 { 1.0 } else { 0.25 };
            let filling = lay(problem, fraction(effort, share));
            let left = left_area(problem, &filling);
            if best.as_ref().is_none_or(|b| left < b.0) {
                let allowed = problem.items.iter().map(|i| i.allowed.clone()).collect();
                best = Some((left, filling, allowed));
            }
            if left == 0.0 {
                break;
            }
        }
        let Some((_, filling, allowed)) = best else {
            return Filling {
                placed: vec![],
                left: problem.items.iter().map(|i| i.count).collect(),
                cost: 0.0,
                spent: 0.0,
            };
        };
        for (item, allowed) in problem.items.iter_mut().zip(allowed) {
            item.allowed = allowed;
        }
        filling
    }

    fn bind_to_lots(&self, problem: &mut Problem, groups: &[Group], attempt: usize) {
        for (item, piece) in problem.items.iter_mut().zip(&self.pieces) {
            let group = groups.iter().find(|g| piece.one_lot.as_ref() == Some(&g.name));
            let Some(group) = group.filter(|g| !g.lots.is_empty()) else {
                continue;
            };
            let lot = &group.lots[attempt.min(group.lots.len() - 1)];
            item.allowed = self.candidates.iter().map(|c| c.lot == *lot).collect();
        }
    }

    /// Draws the pieces of the emptiest sheet together towards one end.
    fn draw_together(
        &self,
        problem: &Problem,
        placed: Vec<Placed>,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Vec<Placed> {
        let Some(last) = self.emptiest(problem, &placed) else {
            return placed;
        };
        let bounds = problem.containers[last].outline.bounds();
        let axis = if bounds.width() >= bounds.height() {
            Axis::Across
        } else {
            Axis::Up
        };
        cullet_nest::shorten(problem, last, &placed, axis, effort, cancel, &|part| {
            report(FILLING + (1.0 - FILLING) * part, "drawing the last sheet together");
        })
    }

    /// The sheet with the largest share of unused glass; an offcut only where there is nothing else.
    fn emptiest(&self, problem: &Problem, placed: &[Placed]) -> Option<usize> {
        let filled = |c: usize| {
            let used: f64 = placed
                .iter()
                .filter(|p| p.container == c)
                .map(|p| problem.items[p.item].outline.area())
                .sum();
            used / self.candidates[c].container.outline.area()
        };
        let mut used: Vec<usize> = placed.iter().map(|p| p.container).collect();
        used.sort_unstable();
        used.dedup();
        let offcut = |c: &usize| self.candidates[*c].item.kind == StockKind::Offcut;
        used.into_iter()
            .min_by(|a, b| offcut(a).cmp(&offcut(b)).then(filled(*a).total_cmp(&filled(*b))))
    }

    pub(super) fn layouts(&self, placed: &[Placed]) -> Vec<Layout> {
        let mut next_copy = vec![0u32; self.pieces.len()];
        (0..self.candidates.len())
            .filter(|c| placed.iter().any(|p| p.container == *c))
            .map(|c| {
                let own = placed.iter().filter(|p| p.container == c);
                let placements = own.map(|p| {
                    let piece = self.pieces[p.item];
                    next_copy[p.item] += 1;
                    Placement {
                        id: piece.id.clone(),
                        copy: next_copy[p.item],
                        spare: next_copy[p.item] > piece.quantity,
                        pose: self.candidates[c].to_sheet(p.pose),
                    }
                });
                self.layout(&self.candidates[c], placements.collect())
            })
            .collect()
    }

    fn layout(&self, candidate: &Candidate, placements: Vec<Placement>) -> Layout {
        let pose_of = |placement: &Placement| -> Option<Outline> {
            let piece = self.pieces.iter().find(|p| p.id == placement.id)?;
            Some(piece.cut.posed(&placement.pose))
        };
        let cut: Vec<Outline> = placements.iter().filter_map(pose_of).collect();
        let item = candidate.item;
        let strip = self.glass.narrowest_strip;
        Layout {
            number: 0,
            stock: item.clone(),
            copy: candidate.copy,
            edge_trim: self.glass.edge_trim,
            clearance: strip + self.job.score_kerf,
            returned: leftover::returned(&item.outline, &item.flaws, &cut, strip, self.job.keep),
            placements,
            style: Style::Shaped,
            breaking: Breaking { steps: vec![] },
            figures: Figures::default(),
        }
    }

    fn fits_somewhere(&self, problem: &Problem, i: usize) -> bool {
        let mut seen: Vec<&str> = Vec::new();
        (0..self.candidates.len()).any(|c| {
            let tag = self.candidates[c].item.tag.as_str();
            let new = !seen.contains(&tag);
            seen.push(tag);
            new && cullet_nest::fits_alone(problem, i, c)
        })
    }

    fn too_large(&self, i: usize) -> String {
        let piece = &self.pieces[i].cut;
        let own = turned_size(piece, Pose::IDENTITY);
        let nearest = self
            .candidates
            .iter()
            .min_by(|a, b| a.lack(piece).total_cmp(&b.lack(piece)));
        match nearest {
            None => format!("there is no glass {} in the stock", self.glass.code),
            Some(c) => {
                let usable = turned_size(
                    &c.container.outline,
                    Pose {
                        rotation_deg: -c.turned,
                        ..Pose::IDENTITY
                    },
                );
                format!(
                    "it is {own} mm to cut and fits no sheet the way its grain must run; the nearest is {}, usable {usable} mm",
                    c.item.tag
                )
            }
        }
    }

    fn no_room(&self, i: usize) -> String {
        let lot = self.pieces[i].one_lot.as_ref();
        match lot {
            Some(group) => format!(
                "no single lot of glass {} has room for the whole one-lot group {group:?}",
                self.glass.code
            ),
            None => format!(
                "the stock of glass {} is used up; add sheets or a line to buy",
                self.glass.code
            ),
        }
    }
}

fn turned_size(outline: &Outline, pose: Pose) -> String {
    let bounds = outline.posed(&pose).bounds();
    format!("{:.1} × {:.1}", bounds.width(), bounds.height())
}

fn left_area(problem: &Problem, filling: &Filling) -> f64 {
    let left = filling.left.iter().zip(&problem.items);
    left.map(|(left, item)| f64::from(*left) * item.outline.area()).sum()
}

fn wanted(piece: &Piece) -> u32 {
    piece.quantity + piece.spares
}
