//! One glass from pieces to layouts.

use super::Live;
use super::breaking::HELD;
use super::effort::of_rest;
use super::stock::{self, Candidate};
use super::turns::turns;
use crate::objective::Objective;
use cullet_breakout::Style;
use cullet_geometry::tolerance;
use cullet_geometry::{Outline, Pose};
use cullet_job::{Glass, Job, LayoutFile, Piece, PieceId, Units, measure};
use cullet_model::figures::{Accounts, Figures};
use cullet_model::{Layout, Purchase, Tried};
use cullet_nest::Shapes;
use cullet_rack::{Count, Stock, StockKind};
use cullet_search::{Clock, Effort, Item, Limit, Problem};
use rayon::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

/// How deep two pieces may sink into each other and still count as touching, mm.
const TOLERANCE: f64 = tolerance::SINK;

// What the search makes stays within what the verifier lets pass.
const _: () = assert!(2.0 * TOLERANCE <= cullet_verify::TOLERANCE);
/// Share of the effort for choosing glass; the rest draws the last sheet together.
pub(super) const CHOOSING: f64 = 0.5;
/// Share of the effort for finding room for spares.
pub(super) const SPARES: f64 = 0.1;
/// Share of the effort for the next size up, where there is one to buy.
const NEXT_SIZE: f64 = 0.1;
/// Filling at which the glass that a spare takes is reckoned, to compare layouts with different numbers of spares.
const SPARE_FILLING: f64 = 0.7;

/// Why a piece is left out when the effort is used up.
const LATE: &str = "the time was up before it was laid; plan again with more (--seconds)";

/// The pieces of one glass and what they may be cut from.
pub(super) struct GlassPlanner<'a> {
    pub(super) job: &'a Job,
    pub(super) glass: &'a Glass,
    stock: &'a Stock,
    /// Whether these are some of a great many pieces: then sheets that do not come apart are not laid again.
    pub(super) is_batch: bool,
    /// Indices in the job.
    numbers: Vec<usize>,
    pub(super) pieces: Vec<&'a Piece>,
    pub(super) candidates: Vec<Candidate<'a>>,
    pub(super) accounts: &'a Accounts<'a>,
    /// Pieces and blocks made ready for the search.
    pub(super) shapes: Arc<Shapes>,
    /// Who is shown what is found on the way.
    pub(super) live: Option<&'a Live<'a>>,
}

/// What came out for one glass; piece indices are the job's.
pub(super) struct Cut {
    pub(super) layouts: Vec<Layout>,
    pub(super) unplaced: Vec<(usize, u32, String)>,
    /// What to order.
    pub(super) buy: Vec<Purchase>,
    /// Spares for which the glass pulled has no room.
    pub(super) spares_left_out: Vec<(usize, u32)>,
    /// Every way tried, the kept one first.
    pub(super) tried: Vec<Tried>,
}

/// One way of laying a glass out.
pub(super) struct Way {
    pub(super) style: Style,
    pub(super) layouts: Vec<Layout>,
    /// How many could not be broken out where they lay.
    pub(super) held: Vec<u32>,
    /// How many were not laid because the effort was used up.
    pub(super) late: Vec<u32>,
    /// How many of each piece the panels miss.
    pub(super) missing: Vec<u32>,
    /// How many spares of each found no room.
    spares_left_out: Vec<u32>,
}

impl Way {
    /// How many sheets or offcuts of the line `tag` it pulls.
    pub(super) fn count_of(&self, tag: &str) -> u32 {
        self.layouts.iter().filter(|l| l.stock.tag == tag).count() as u32
    }

    pub(super) fn buys(&self, tag: &str) -> bool {
        let bought = |l: &Layout| l.stock.tag == tag && l.stock.count == Count::ToBuy;
        self.layouts.iter().any(bought)
    }

    /// Whether it leaves no piece out.
    pub(super) fn is_whole(&self) -> bool {
        self.missing.iter().all(|n| *n == 0)
    }

    pub(super) fn tried(&self) -> Tried {
        let breaks: usize = self.layouts.iter().map(|l| l.breaking.steps.len()).sum();
        Tried {
            style: self.style,
            sheets: self.layouts.len() as u32,
            unplaced: self.missing.iter().sum(),
            breaks: breaks as u32,
            figures: Figures::sum(self.layouts.iter().map(|l| &l.figures)),
        }
    }
}

impl<'a> GlassPlanner<'a> {
    pub(super) fn new(job: &'a Job, glass: usize, stock: &'a Stock, accounts: &'a Accounts<'a>) -> Self {
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
            candidates: stock::candidates(stock, glass, job.score_kerf, needed, &BTreeSet::new(), accounts),
            stock,
            accounts,
            is_batch: false,
            shapes: Arc::default(),
            live: None,
        }
    }

    /// The same with somebody who is shown what is found on the way.
    pub(super) fn shown(self, live: &'a Live<'a>) -> Self {
        Self {
            live: Some(live),
            ..self
        }
    }

    /// Lays everything that can be laid, in every way that is asked for, and keeps the best.
    pub(super) fn cut(&self, effort: Effort, cancel: &AtomicBool, report: &(dyn Fn(f64, &str) + Sync)) -> Cut {
        let began = Clock::start();
        let unbreakable = self.unbreakable();
        let problem = self.problem();
        let too_large: Vec<usize> = (0..self.pieces.len())
            .into_par_iter()
            .filter(|i| !unbreakable.contains_key(i) && !self.fits_somewhere(&problem, *i))
            .collect();
        let out: Vec<usize> = too_large.iter().chain(unbreakable.keys()).copied().collect();
        let styles: &[Style] = match self.glass.layout {
            LayoutFile::StraightRun => &[Style::StraightRun],
            LayoutFile::Shaped => &[Style::Shaped],
            LayoutFile::Either => &[Style::Shaped, Style::StraightRun],
        };
        let aside = if self.has_sizes() { NEXT_SIZE } else { 0.0 };
        let better =
            (self.is_large(&out) && styles.len() > 1).then(|| self.better_style(styles, &out, effort, cancel, report));
        let styles = better.as_ref().map_or(styles, std::slice::from_ref);
        let all = of_rest(effort, began, 1.0 - aside, 1.0 - aside);
        let report = |part: f64, stage: &str| report((1.0 - aside) * part, stage);
        let ways = self.in_styles(styles, &out, all, cancel, &report);
        let mut tried: Vec<Tried> = ways.iter().map(Way::tried).collect();
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
                buy: vec![],
                spares_left_out: vec![],
                tried,
            };
        };
        let (kept, buy) = self.buying(kept, &|work, style| {
            let report = |_: f64, _: &str| report(1.0, "trying the next size up");
            let rest = of_rest(effort, began, aside, 1.0);
            work.in_styles(&[style], &out, rest, cancel, &report).swap_remove(0)
        });
        tried[0] = kept.tried();
        let known = |i: usize| unplaced.iter().any(|u| u.0 == self.numbers[i]);
        let open: Vec<usize> = (0..self.pieces.len()).filter(|i| !known(*i)).collect();
        unplaced.extend(open.iter().flat_map(|i| self.why_missing(&kept, *i)));
        let spared = open.iter().map(|i| (self.numbers[*i], kept.spares_left_out[*i]));
        let spares_left_out = spared.filter(|(_, count)| *count > 0).collect();
        unplaced.sort_by_key(|u| u.0);
        Cut {
            layouts: kept.layouts,
            unplaced,
            buy,
            spares_left_out,
            tried,
        }
    }

    /// How many of a piece this way leaves out for each reason that it has.
    fn why_missing(&self, kept: &Way, i: usize) -> Vec<(usize, u32, String)> {
        let late = kept.late[i].min(kept.missing[i]);
        let held = kept.held[i].min(kept.missing[i] - late);
        let left = kept.missing[i] - late - held;
        let mut reasons = vec![];
        if late > 0 {
            reasons.push((self.numbers[i], late, LATE.to_owned()));
        }
        if left > 0 {
            reasons.push((self.numbers[i], left, self.no_room(i)));
        }
        if held > 0 {
            reasons.push((self.numbers[i], held, HELD.to_owned()));
        }
        reasons
    }

    /// Whether a brief search lays everything, a score kerf apart.
    pub(super) fn lays_all(&self) -> bool {
        let mut problem = self.problem();
        problem.clearance = self.job.score_kerf;
        for (item, piece) in problem.items.iter_mut().zip(&self.pieces) {
            item.count = wanted(piece);
        }
        let effort = Effort {
            seed: 1,
            limit: Limit::Rounds(1),
            lanes: 1,
        };
        let filling = cullet_nest::fill(&problem, &self.shapes, effort, &false.into(), &|_, _| {});
        !problem.containers.is_empty() && filling.left.iter().all(|left| *left == 0)
    }

    /// All that can be laid, but for the pieces `out`: the best way of each style, the best first. Of many pieces only one style
    /// is tried.
    fn in_styles(
        &self,
        styles: &[Style],
        out: &[usize],
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Vec<Way> {
        match styles {
            [style] if self.is_large(out) => vec![self.in_batches(*style, out, effort, cancel, report)],
            _ => self.in_one(styles, out, effort, cancel, report),
        }
    }

    /// The same with all pieces in one search.
    pub(super) fn in_one(
        &self,
        styles: &[Style],
        out: &[usize],
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Vec<Way> {
        let mut problem = self.problem();
        out.iter().for_each(|i| problem.items[*i].count = 0);
        self.contest(&problem, styles, effort, cancel, report)
    }

    /// Enters what each sheet of a way comes to.
    pub(super) fn enter_figures(&self, way: &mut Way) {
        for layout in &mut way.layouts {
            layout.figures = self
                .accounts
                .layout(&layout.stock, &layout.placements, &layout.returned);
        }
    }

    /// Other pieces on the same glass, but for the sheets and offcuts `used`, by tag and copy.
    pub(super) fn with_pieces<'b>(&'b self, pieces: &'b [Piece], used: &BTreeSet<(&str, u32)>) -> GlassPlanner<'b> {
        let needed = pieces.iter().map(|p| p.cut.area() * f64::from(wanted(p))).sum();
        let on_offer: BTreeSet<&str> = self.candidates.iter().map(|c| c.item.tag.as_str()).collect();
        let mut candidates =
            stock::candidates(self.stock, self.glass, self.job.score_kerf, needed, used, self.accounts);
        candidates.retain(|c| c.item.kind == StockKind::Offcut || on_offer.contains(c.item.tag.as_str()));
        GlassPlanner {
            numbers: (0..pieces.len()).collect(),
            pieces: pieces.iter().collect(),
            candidates,
            is_batch: true,
            shapes: Arc::clone(&self.shapes),
            live: None,
            ..*self
        }
    }

    /// The same pieces with other glass to choose from.
    pub(super) fn with_candidates(&self, candidates: Vec<Candidate<'a>>) -> Self {
        Self {
            numbers: self.numbers.clone(),
            pieces: self.pieces.clone(),
            candidates,
            shapes: Arc::clone(&self.shapes),
            live: None,
            ..*self
        }
    }

    /// How good a way is. A spare left out counts as the credit of the glass that it would have taken.
    pub(super) fn objective(&self, way: &Way) -> Objective {
        let area = |counts: &[u32]| -> f64 {
            let each = counts.iter().zip(&self.pieces);
            each.map(|(n, p)| f64::from(*n) * p.cut.area()).sum()
        };
        let credit = self.job.credit_rate * self.glass.price_per_mm2 / SPARE_FILLING;
        let own = Objective::of(&way.layouts, &way.tried().figures, area(&way.missing));
        Objective {
            net: own.net + credit * area(&way.spares_left_out),
            ..own
        }
    }

    /// A way, its copies numbered through, with what is missing from its layouts.
    pub(super) fn way(&self, style: Style, mut layouts: Vec<Layout>, held: Vec<u32>) -> Way {
        let numbers: BTreeMap<&PieceId, usize> = self.pieces.iter().enumerate().map(|(i, p)| (&p.id, i)).collect();
        let mut laid = vec![0; self.pieces.len()];
        // What was taken off a sheet left gaps.
        for placement in layouts.iter_mut().flat_map(|l| &mut l.placements) {
            let Some(i) = numbers.get(&placement.id).copied() else {
                continue;
            };
            laid[i] += 1;
            placement.copy = laid[i];
            placement.spare = laid[i] > self.pieces[i].quantity;
        }
        let short = self.pieces.iter().zip(&laid).map(|(piece, laid)| {
            let short = wanted(piece).saturating_sub(*laid);
            let spares = if self.spares_always() {
                0
            } else {
                short.min(piece.spares)
            };
            (short - spares, spares)
        });
        let (missing, spares_left_out) = short.unzip();
        Way {
            style,
            layouts,
            held,
            late: vec![0; self.pieces.len()],
            missing,
            spares_left_out,
        }
    }

    pub(super) fn problem(&self) -> Problem {
        let items = self.pieces.iter().map(|piece| {
            let turns = turns(self.glass.grain, piece);
            Item {
                outline: piece.cut.clone(),
                count: if self.spares_always() {
                    wanted(piece)
                } else {
                    piece.quantity
                },
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

    fn fits_somewhere(&self, problem: &Problem, i: usize) -> bool {
        let mut seen: Vec<&str> = Vec::new();
        (0..self.candidates.len()).any(|c| {
            let tag = self.candidates[c].item.tag.as_str();
            let new = !seen.contains(&tag);
            seen.push(tag);
            new && cullet_nest::fits_alone(problem, i, c, &self.shapes)
        })
    }

    fn too_large(&self, i: usize) -> String {
        let piece = &self.pieces[i].cut;
        let own = turned_size(piece, Pose::IDENTITY, self.job.source.units);
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
                    self.job.source.units,
                );
                format!(
                    "as cut it is {own} and fits no sheet with its grain the right way; the nearest is {}, usable size {usable}",
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

fn turned_size(outline: &Outline, pose: Pose, units: Units) -> String {
    let bounds = outline.posed(&pose).bounds();
    measure::size(bounds.width(), bounds.height(), units)
}

fn wanted(piece: &Piece) -> u32 {
    piece.quantity + piece.spares
}
