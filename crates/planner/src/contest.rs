//! Ways of laying out one glass against each other: each is tried with some of the effort, the better ones get the rest.

use super::abut::{Abutted, Known};
use super::effort::{is_over, of_rest};
use super::glass::{CHOOSING, GlassPlanner, Way};
use super::pull::{Selection, Start};
use cullet_breakout::Style;
use cullet_job::Piece;
use cullet_search::{Clock, Effort, Limit, Problem};
use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;

/// Shares of the effort for the stages of the contest: all ways, the better two and pieces by themselves, and the best two. Each time
/// they go on from the glass and the places that they found before.
const STAGES: [f64; 3] = [0.6, 0.2, 0.2];
/// Rounds with which there are stages.
const LEAST_ROUNDS: u64 = 14;
/// Seconds with which blocks are tried: they are worked out before anything is laid.
const LEAST_SECONDS: f64 = 1.5;
/// How many of the ways are in each, the best of them.
const STAY: [usize; 3] = [usize::MAX, 2, 2];
/// A way that comes to so many times what the best does after the first stage is not gone on with.
const HOPELESS: f64 = 1.12;
/// Ways that are laid side by side, each with its part of the lanes: what is worked out between two searches takes one thread.
const TRACKS: usize = 2;

/// Share of a stage's effort for choosing glass: first, when all depends on it, and when it goes on from what was found.
const CHOOSING_FIRST: f64 = 0.7;
const CHOOSING_AGAIN: f64 = 0.3;

/// One way of laying out.
enum Contender {
    StraightRun,
    /// Shaped, each piece by itself or in pairs with equal straight edges, where there are such.
    Shaped(Option<Abutted>),
    /// Shaped, with blocks of neighbours as they lie in their panels.
    AsDrawn(Abutted),
}

impl Contender {
    /// Its part of the first stage against the others', with blocks as drawn among them or without. Pieces by themselves need most to
    /// show which glass will do; blocks then try the same glass, and there are fewer of them to lay. What can lie as drawn seldom lies
    /// well in straight runs.
    fn part(&self, with_blocks: bool) -> f64 {
        match self {
            Self::Shaped(_) => 8.0,
            Self::StraightRun if with_blocks => 3.0,
            Self::StraightRun => 8.0,
            Self::AsDrawn(_) => 1.0,
        }
    }
}

/// A way with what it has come to so far.
struct Standing {
    contender: Contender,
    start: Start,
    best: Option<Way>,
}

impl Standing {
    /// What it comes to, where it lays everything.
    fn net(&self) -> Option<f64> {
        self.best
            .as_ref()
            .filter(|way| way.is_whole())
            .map(|way| way.tried().figures.net_cost())
    }

    /// Whether nothing is lost where it lays nothing: it has laid everything before, or pieces by themselves are laid anyway.
    fn may_give_up(&self) -> bool {
        matches!(self.contender, Contender::AsDrawn(_)) || self.best.as_ref().is_some_and(Way::is_whole)
    }
}

/// One stage of the contest.
struct Stage {
    turn: usize,
    /// Share of the effort that is gone before it, its own share, and the share of that for choosing glass.
    gone: f64,
    share: f64,
    choosing: f64,
}

/// What all stages work on.
struct Run<'r> {
    problem: &'r Problem,
    effort: Effort,
    began: Clock,
    cancel: &'r AtomicBool,
    report: &'r (dyn Fn(f64, &str) + Sync),
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
        let began = Clock::start();
        let mut all = self.contenders(problem, styles, effort);
        let stages: &[f64] = if all.len() == 1 || is_little(effort) {
            &[1.0]
        } else {
            &STAGES
        };
        let (mut out, mut gone) = (vec![], 0.0);
        for (turn, share) in stages.iter().enumerate() {
            let hopeless = all.first().and_then(Standing::net).map(|net| HOPELESS * net);
            let (stay, leave): (Vec<_>, Vec<_>) = all.into_iter().enumerate().partition(|(rank, standing)| {
                let is_single = matches!(standing.contender, Contender::Shaped(_));
                let may_win = hopeless.is_none_or(|most| standing.net().is_some_and(|net| net <= most));
                may_win && (*rank < STAY[turn] || (turn == 1 && is_single))
            });
            all = stay.into_iter().map(|(_, standing)| standing).collect();
            out.extend(leave.into_iter().map(|(_, standing)| standing));
            let choosing = match (stages.len(), turn) {
                (1, _) => CHOOSING,
                (_, 0) => CHOOSING_FIRST,
                _ => CHOOSING_AGAIN,
            };
            let stage = Stage {
                turn,
                gone,
                share: *share,
                choosing,
            };
            let run = Run {
                problem,
                effort,
                began,
                cancel,
                report,
            };
            self.side_by_side(&mut all, &stage, &run);
            gone += share;
            all.sort_by_cached_key(|standing| {
                let worth = standing.best.as_ref().map(|way| self.objective(way));
                (worth.is_none(), worth)
            });
        }
        let mut ways: Vec<Way> = all
            .into_iter()
            .chain(out)
            .filter_map(|standing| standing.best)
            .collect();
        ways.sort_by_cached_key(|way| self.objective(way));
        let mut styles = vec![];
        ways.retain(|way| {
            let is_first = !styles.contains(&way.style);
            styles.push(way.style);
            is_first
        });
        ways
    }

    /// One stage: the ways in tracks side by side, those of a track one after another.
    fn side_by_side(&self, all: &mut [Standing], stage: &Stage, run: &Run) {
        let found = all.iter().filter_map(|standing| standing.start.before.as_ref());
        let rival = found.filter(|s| s.worth.is_whole()).min_by_key(|s| s.worth).cloned();
        let with_blocks = all.iter().any(|s| matches!(s.contender, Contender::AsDrawn(_)));
        let part = |s: &Standing| {
            if stage.turn == 0 {
                s.contender.part(with_blocks)
            } else {
                1.0
            }
        };
        let mut tracks: Vec<(f64, Vec<&mut Standing>)> = vec![];
        tracks.resize_with(TRACKS.min(all.len()).min(run.effort.lanes).max(1), || (0.0, vec![]));
        for standing in all {
            let idlest = tracks.iter_mut().min_by(|a, b| a.0.total_cmp(&b.0));
            let Some(track) = idlest else { return };
            track.0 += part(standing);
            track.1.push(standing);
        }
        let count = tracks.len();
        rayon::scope(|scope| {
            for (number, (parts, standings)) in tracks.into_iter().enumerate() {
                let rival = rival.clone();
                let lanes = (run.effort.lanes + number) / count;
                scope.spawn(move |_| self.one_by_one(standings, &|s| part(s) / parts, rival, lanes, stage, run));
            }
        });
    }

    /// The ways of one track, each with its share of the stage.
    fn one_by_one(
        &self,
        standings: Vec<&mut Standing>,
        part: &dyn Fn(&Standing) -> f64,
        mut rival: Option<Selection>,
        lanes: usize,
        stage: &Stage,
        run: &Run,
    ) {
        let mut gone = stage.gone;
        for standing in standings {
            // Each style shows what it comes to, however little time there is.
            let may_be_left_out = stage.turn > 0 || matches!(standing.contender, Contender::AsDrawn(_));
            if may_be_left_out && (is_over(run.effort, run.began) || run.cancel.load(Relaxed)) {
                continue;
            }
            let each = stage.share * part(standing);
            let effort = Effort {
                seed: run.effort.seed.wrapping_add(stage.turn as u64),
                lanes,
                ..of_rest(run.effort, run.began, each, each / (1.0 - gone))
            };
            let report = |part: f64, stage: &str| (run.report)(gone + each * part, stage);
            standing.start.choosing = stage.choosing;
            standing.start.rival.clone_from(&rival);
            standing.start.may_give_up = standing.may_give_up();
            self.go_on(standing, stage.turn, run.problem, effort, run.cancel, &report);
            gone += each;
            let own = standing.start.before.iter().filter(|s| s.worth.is_whole());
            rival = own.cloned().chain(rival).min_by_key(|s| s.worth);
        }
    }

    /// Lays a way once more, from where it was, and keeps what is better.
    fn go_on(
        &self,
        standing: &mut Standing,
        turn: usize,
        problem: &Problem,
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) {
        let start = &mut standing.start;
        let mut way = match &standing.contender {
            Contender::StraightRun => self.straight(problem.clone(), effort, cancel, report, start),
            Contender::Shaped(pairs) => self.single_or_paired(problem, pairs.as_ref(), effort, cancel, report, start),
            Contender::AsDrawn(blocks) => {
                self.nested(problem, Some(&blocks.finer(turn)), effort, cancel, report, start)
            }
        };
        self.enter_figures(&mut way);
        let is_better = |best: &Way| self.objective(&way) < self.objective(best);
        if standing.best.as_ref().is_none_or(is_better) {
            standing.best = Some(way);
        }
    }

    fn contenders(&self, problem: &Problem, styles: &[Style], effort: Effort) -> Vec<Standing> {
        let mut contenders = vec![];
        for style in styles {
            match style {
                Style::StraightRun => contenders.push(Contender::StraightRun),
                Style::Shaped => {
                    contenders.push(Contender::Shaped(self.pairs(problem)));
                    let blocks = self.as_drawn(problem, most_ways(effort)).into_iter();
                    contenders.extend(blocks.map(Contender::AsDrawn));
                }
            }
        }
        let standing = |contender: Contender| Standing {
            contender,
            start: Start::default(),
            best: None,
        };
        contenders.into_iter().map(standing).collect()
    }

    /// Pairs with equal straight edges, where they save glass.
    fn pairs(&self, problem: &Problem) -> Option<Abutted> {
        let group = |i: usize| self.pieces[i].one_lot.as_deref();
        Abutted::of(problem, self.job.score_kerf, &self.rule(), &group)
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
            shapes: &self.shapes,
        };
        Abutted::as_drawn(problem, &known, ways)
    }
}

/// Whether it is too little for stages, each of which takes a round of every way at least.
fn is_little(effort: Effort) -> bool {
    matches!(effort.limit, Limit::Rounds(rounds) if rounds < LEAST_ROUNDS)
}

/// How many ways of laying blocks are tried: each takes a round at least, so that very little effort tries none.
fn most_ways(effort: Effort) -> usize {
    match effort.limit {
        Limit::Rounds(rounds) => (STAGES[0] * rounds as f64) as usize,
        Limit::Seconds(seconds) if seconds < LEAST_SECONDS => 0,
        Limit::Seconds(_) => usize::MAX,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_model::figures::Accounts;
    use cullet_testkit::plan as sample;

    /// Of both styles one way comes back, the better first, and nothing is missing; of one style only that.
    #[test]
    fn the_best_of_each_style_comes_back() {
        let (job, stock) = (sample::job(), sample::stock());
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        let ways = |styles: &[Style], rounds: u64| {
            let effort = Effort {
                seed: 1,
                limit: Limit::Rounds(rounds),
                lanes: 1,
            };
            work.in_one(styles, &[], effort, &false.into(), &|_, _| {})
        };
        for rounds in [1, LEAST_ROUNDS] {
            let both = ways(&[Style::Shaped, Style::StraightRun], rounds);
            assert_eq!(both.len(), 2, "{rounds} rounds");
            assert_ne!(both[0].style, both[1].style);
            assert!(work.objective(&both[0]) <= work.objective(&both[1]));
            assert!(both.iter().all(|way| way.missing.iter().all(|n| *n == 0)));
        }
        let one = ways(&[Style::StraightRun], 1);
        assert_eq!(
            one.iter().map(|way| way.style).collect::<Vec<_>>(),
            [Style::StraightRun]
        );
    }
}
