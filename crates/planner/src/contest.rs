//! Ways of laying out one glass against each other: each is tried with a little of the effort, the best gets the rest.

use super::abut::{Abutted, Known};
use super::effort::{is_over, of_rest};
use super::glass::{GlassPlanner, Way};
use super::pull::Selection;
use cullet_breakout::Style;
use cullet_job::Piece;
use cullet_search::{Clock, Effort, Limit, Problem};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

/// Shares of the effort for the stages of the contest: all ways, those that did best and pieces by themselves, and the best. Each
/// time they go on from the glass and the places that they found before.
const STAGES: [f64; 3] = [0.36, 0.34, 0.3];
/// How many of the ways are in the second stage besides pieces by themselves, which little effort shows at their worst.
const SECOND: usize = 2;

/// One way of laying out.
enum Contender {
    StraightRun,
    /// Shaped, each piece by itself or in pairs with equal straight edges.
    Shaped,
    /// Shaped, with blocks of neighbours as they lie in their panels.
    AsDrawn(Abutted),
}

impl GlassPlanner<'_> {
    /// The best way of each of the styles, the best of all first.
    pub(super) fn contest(
        &self,
        problem: &Problem,
        styles: &[Style],
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Vec<Way> {
        let contenders = self.contenders(problem, styles, effort);
        if let [only] = &contenders[..] {
            return vec![self.laid(only, problem, effort, cancel, report, &mut None)];
        }
        let mut before: Vec<Option<Selection>> = contenders.iter().map(|_| None).collect();
        let began = Clock::start();
        let mut all: Vec<usize> = (0..contenders.len()).collect();
        let mut ways: Vec<(usize, Way)> = vec![];
        let mut gone = 0.0;
        for (turn, share) in (0..).zip(STAGES) {
            let each = share / all.len() as f64;
            for k in &all {
                if !ways.is_empty() && (is_over(effort, began) || cancel.load(Relaxed)) {
                    break;
                }
                let part = Effort {
                    seed: effort.seed.wrapping_add(turn),
                    ..of_rest(effort, began, each, each / (1.0 - gone))
                };
                let report = |part: f64, stage: &str| report(gone + each * part, stage);
                ways.push((*k, self.laid(&contenders[*k], problem, part, cancel, &report, &mut before[*k])));
                let t = ways[ways.len()-1].1.tried(); eprintln!("DBG {} {turn} {k} {:?} net {:.2} yield {:.3} unplaced {} breaks {} {} at {:.1} on {:?}", self.glass.code, t.style, t.figures.net_cost(), t.figures.yield_share(), t.unplaced, t.breaks, match &contenders[*k] { Contender::AsDrawn(b) => format!("{:?}", b.contents().iter().map(|c| c.0.len()).collect::<Vec<_>>()), _ => String::new() }, began.seconds(), ways[ways.len()-1].1.layouts.iter().map(|l| l.stock.tag.clone()).collect::<Vec<_>>());
                gone += each;
            }
            ways.sort_by_cached_key(|(_, way)| self.objective(way));
            all.clear();
            for (k, _) in &ways {
                if !all.contains(k) {
                    all.push(*k);
                }
            }
            let may_stay = |(rank, k): (usize, usize)| {
                let is_single = matches!(contenders[k], Contender::Shaped);
                (rank < SECOND || is_single && turn == 0).then_some(k)
            };
            all = all.into_iter().enumerate().filter_map(may_stay).collect();
            if turn > 0 {
                all.truncate(1);
            }
        }
        let mut best: Vec<Way> = vec![];
        for (_, way) in ways {
            if best.iter().all(|other| other.style != way.style) {
                best.push(way);
            }
        }
        best
    }

    fn contenders(&self, problem: &Problem, styles: &[Style], effort: Effort) -> Vec<Contender> {
        let mut contenders = vec![];
        for style in styles {
            match style {
                Style::StraightRun => contenders.push(Contender::StraightRun),
                Style::Shaped => {
                    contenders.push(Contender::Shaped);
                    let blocks = self.as_drawn(problem, most_ways(effort)).into_iter();
                    contenders.extend(blocks.map(Contender::AsDrawn));
                }
            }
        }
        contenders
    }

    fn laid(
        &self,
        contender: &Contender,
        problem: &Problem,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
        before: &mut Option<Selection>,
    ) -> Way {
        let mut way = match contender {
            Contender::StraightRun => self.straight(problem.clone(), effort, cancel, report, before),
            Contender::Shaped => self.single_or_paired(problem, effort, cancel, report, before),
            Contender::AsDrawn(blocks) => self.nested(problem, Some(blocks), effort, cancel, report, before),
        };
        self.enter_figures(&mut way);
        way
    }

    /// Blocks of neighbours as they lie in their panels, where that could save glass: up to so many ways.
    fn as_drawn(&self, problem: &Problem, ways: usize) -> Vec<Abutted> {
        if self.is_batch || ways == 0 {
            return vec![];
        }
        let home = |p: &&Piece| (p.id.panel.clone(), p.id.mirrored, p.one_lot.clone());
        let all: BTreeSet<_> = self.pieces.iter().map(home).collect();
        let number = |p: &&Piece| all.iter().position(|own| *own == home(p));
        let homes: Vec<Option<usize>> = self.pieces.iter().map(number).collect();
        let group = |i: usize| self.pieces[i].one_lot.as_deref();
        let known = Known {
            kerf: self.job.score_kerf,
            rule: self.rule(),
            homes: &homes,
            group: &group,
        };
        Abutted::as_drawn(problem, &known, ways)
    }
}

/// How many ways of laying blocks are tried: each takes a round at least, so that very little effort tries none.
fn most_ways(effort: Effort) -> usize {
    match effort.limit {
        Limit::Rounds(rounds) => (STAGES[0] * rounds as f64) as usize,
        Limit::Seconds(_) => usize::MAX,
    }
}
