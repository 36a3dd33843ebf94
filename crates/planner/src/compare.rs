//! The same job under several choices, each planned with the same effort.
//!
//! Every choice is planned once with each of the seeds, every run on one thread and with an effort of its own, so that none
//! looks better because it was searched for longer. The runs of one seed come before those of the next. What a choice comes to is its best
//! run; how far its runs lie apart is its spread, and a difference between choices whose runs overlap says nothing.

use crate::Objective;
use cullet_job::{Bevel, Impossible, Job, PieceId};
use cullet_model::figures::Figures;
use cullet_model::{Effort, Plan};
use cullet_rack::Stock;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

/// Seeds that each choice is planned with.
pub const SEEDS: u32 = 3;

/// A choice to plan.
#[derive(Debug, Clone, Copy)]
pub struct Case<'a> {
    /// What it is called.
    pub name: &'a str,
    /// The job as the choice has it.
    pub job: &'a Job,
    /// The glass it may be cut from.
    pub stock: &'a Stock,
}

/// What a choice came to.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// What it is called.
    pub name: String,
    /// The best plan of its runs.
    pub plan: Plan,
    /// What each of its runs came to, in the seeds' order.
    pub runs: Vec<Run>,
    /// Its bevels, in the same order for every choice; see [`bevels`].
    pub bevels: Vec<BevelKind>,
    /// Pieces that cannot be made so.
    pub impossible: Vec<Impossible>,
}

/// One run of the planner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Its seed.
    pub seed: u64,
    /// Cost of the glass pulled.
    pub cost: f64,
    /// Credit of what goes back.
    pub credit: f64,
    /// Area of the pieces that it does not place, mm².
    pub missing: f64,
}

/// Bevels of one width and nose on one glass of the job as it stands, and what becomes of them.
#[derive(Debug, Clone, PartialEq)]
pub struct BevelKind {
    /// Code of the glass in the job as it stands.
    pub glass: String,
    /// Width on the face, mm.
    pub width: f64,
    /// Nose as drawn, mm.
    pub nose: f64,
    /// What results; none where none of them can be ground.
    pub result: Option<BevelResult>,
}

/// A bevel that results from thickness and width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BevelResult {
    /// Angle to the face with the nose as drawn, degrees.
    pub angle_deg: f64,
    /// Nose at the angle that the job as it stands has, mm; below zero where that angle goes through the glass.
    pub nose_at_first_angle: f64,
}

/// How a choice stands against the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// Net cost of this one less that of the first.
    Differs(f64),
    /// The same, but the searches of the two overlap: the search cannot tell them apart.
    WithinSpread(f64),
    /// Other numbers of pieces are cut: the costs are not comparable.
    NotComparable,
}

impl Run {
    /// Net cost.
    #[must_use]
    pub fn net(&self) -> f64 {
        self.cost - self.credit
    }
}

impl Outcome {
    /// The runs that place as much as the best.
    pub fn full_runs(&self) -> impl Iterator<Item = &Run> {
        let least = self.runs.iter().map(|run| run.missing).fold(f64::INFINITY, f64::min);
        self.runs.iter().filter(move |run| run.missing <= least + 1.0)
    }

    /// Lowest and highest net cost of those.
    #[must_use]
    pub fn spread(&self) -> (f64, f64) {
        let nets = self.full_runs().map(Run::net);
        nets.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), net| {
            (low.min(net), high.max(net))
        })
    }

    /// How it stands against `first`.
    #[must_use]
    pub fn against(&self, first: &Self) -> Verdict {
        if self.plan.figures.pieces != first.plan.figures.pieces {
            return Verdict::NotComparable;
        }
        let ((low, high), (first_low, first_high)) = (self.spread(), first.spread());
        let difference = self.plan.figures.net_cost() - first.plan.figures.net_cost();
        if low <= first_high && first_low <= high {
            Verdict::WithinSpread(difference)
        } else {
            Verdict::Differs(difference)
        }
    }

    /// Breaks of all sheets.
    #[must_use]
    pub fn breaks(&self) -> usize {
        let layouts = self.plan.glasses.iter().flat_map(|glass| &glass.layouts);
        layouts.map(|layout| layout.breaking.steps.len()).sum()
    }

    /// Sheets and offcuts pulled.
    #[must_use]
    pub fn pulled(&self) -> usize {
        self.plan.glasses.iter().map(|glass| glass.layouts.len()).sum()
    }

    /// Sheets to buy.
    #[must_use]
    pub fn to_buy(&self) -> u32 {
        let lines = self.plan.glasses.iter().flat_map(|glass| &glass.buy);
        lines.map(|line| line.count).sum()
    }

    /// Pieces that no glass has room for or that cannot be broken out.
    #[must_use]
    pub fn unplaced(&self) -> u32 {
        self.plan.unplaced.iter().map(|unplaced| unplaced.count).sum()
    }

    /// Its figures.
    #[must_use]
    pub fn figures(&self) -> &Figures {
        &self.plan.figures
    }
}

/// Plans every case with every seed from `effort.seed` on, `threads` runs at a time, each run with the whole of `effort`. `progress` gets
/// the share that is done.
///
/// Where `cancel` is set, only seeds count with which every case was planned to the end; `None` where there is none.
/// Cost: cases × seeds × effort / threads.
#[must_use]
pub fn compare(
    cases: &[Case<'_>],
    effort: Effort,
    seeds: u32,
    threads: usize,
    cancel: &AtomicBool,
    progress: &(dyn Fn(f64) + Sync),
) -> Option<Vec<Outcome>> {
    let runs = cases.len() * seeds as usize;
    let plans: Vec<Mutex<Option<Plan>>> = (0..runs).map(|_| Mutex::new(None)).collect();
    let (next, shares) = (AtomicUsize::new(0), Mutex::new(vec![0.0; runs]));
    let work = || {
        let Ok(thread) = rayon::ThreadPoolBuilder::new().num_threads(1).build() else {
            return;
        };
        loop {
            let run = next.fetch_add(1, Ordering::Relaxed);
            if run >= runs || cancel.load(Ordering::Relaxed) {
                return;
            }
            let case = cases[run % cases.len()];
            let effort = Effort {
                seed: effort.seed.wrapping_add((run / cases.len()) as u64),
                ..effort
            };
            let report = |share: f64| {
                let mut shares = shares.lock().unwrap_or_else(PoisonError::into_inner);
                shares[run] = share;
                progress(shares.iter().sum::<f64>() / runs as f64);
            };
            let show = |p: crate::Progress| report(p.share);
            let plan = thread.install(|| crate::plan(case.job, case.stock, effort, cancel, &show));
            report(1.0);
            if !cancel.load(Ordering::Relaxed) {
                *plans[run].lock().unwrap_or_else(PoisonError::into_inner) = Some(plan);
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, runs.max(1)) {
            scope.spawn(work);
        }
    });
    let plans: Vec<Option<Plan>> = plans
        .into_iter()
        .map(|plan| plan.into_inner().unwrap_or_else(PoisonError::into_inner))
        .collect();
    let whole: Vec<&[Option<Plan>]> = plans
        .chunks(cases.len().max(1))
        .filter(|seed| seed.iter().all(Option::is_some))
        .collect();
    let first = cases.first().filter(|_| !whole.is_empty())?;
    let outcome = |(number, case): (usize, &Case<'_>)| {
        let plans: Vec<&Plan> = whole.iter().filter_map(|seed| seed[number].as_ref()).collect();
        Some(Outcome {
            name: case.name.to_owned(),
            plan: (*plans.iter().min_by_key(|plan| Objective::of_plan(plan))?).clone(),
            runs: plans.iter().map(|plan| run(plan)).collect(),
            bevels: bevels(first.job, case.job),
            impossible: case.job.impossible.clone(),
        })
    };
    cases.iter().enumerate().map(outcome).collect()
}

fn run(plan: &Plan) -> Run {
    Run {
        seed: plan.effort.seed,
        cost: plan.figures.pulled_cost,
        credit: plan.figures.returned_credit,
        missing: Objective::of_plan(plan).missing,
    }
}

/// The bevels of `first`, one entry for each glass, width and nose, and what they come to in `job`, which is the same job with
/// other glass: angle = atan((thickness − nose) / width), nose = thickness − width · tan(angle).
#[must_use]
pub fn bevels(first: &Job, job: &Job) -> Vec<BevelKind> {
    let now: BTreeMap<&PieceId, f64> = job
        .pieces
        .iter()
        .map(|piece| (&piece.id, job.glasses[piece.glass].thickness))
        .collect();
    let mut kinds: Vec<BevelKind> = vec![];
    for piece in &first.pieces {
        let Some(bevel) = piece.bevel else { continue };
        let glass = &first.glasses[piece.glass].code;
        let result = now.get(&piece.id).map(|thickness| BevelResult {
            angle_deg: Bevel::new(*thickness, bevel.width, bevel.nose).angle_deg,
            nose_at_first_angle: thickness - bevel.width * bevel.angle_deg.to_radians().tan(),
        });
        let same = |kind: &&mut BevelKind| {
            (kind.glass.as_str(), kind.width, kind.nose) == (glass.as_str(), bevel.width, bevel.nose)
        };
        match kinds.iter_mut().find(same) {
            Some(kind) => {
                kind.result = kind.result.or(result);
            }
            None => kinds.push(BevelKind {
                glass: glass.clone(),
                width: bevel.width,
                nose: bevel.nose,
                result,
            }),
        }
    }
    kinds
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_testkit::plan as sample;

    fn compared(cancel: bool, threads: usize) -> Option<Vec<Outcome>> {
        let (job, stock) = (sample::job(), sample::plan().stock);
        let case = |name| Case {
            name,
            job: &job,
            stock: &stock,
        };
        let effort = Effort::rounds(7, 2);
        compare(
            &[case("one"), case("other")],
            effort,
            2,
            threads,
            &cancel.into(),
            &|_| {},
        )
    }

    /// Counted in rounds the outcome depends on neither threads nor which choice was first, and equal choices are equal.
    #[test]
    fn equal_choices_are_planned_equally() {
        let (one, two) = (compared(false, 1).unwrap(), compared(false, 2).unwrap());
        assert_eq!(one[0].plan, two[0].plan);
        assert_eq!((&one[0].plan, &one[0].runs), (&one[1].plan, &one[1].runs));
        let seeds: Vec<u64> = one[0].runs.iter().map(|run| run.seed).collect();
        assert_eq!(seeds, [7, 8]);
        assert_eq!(one[1].against(&one[0]), Verdict::WithinSpread(0.0));
    }

    #[test]
    fn what_was_stopped_at_once_has_no_outcome() {
        assert!(compared(true, 2).is_none());
    }

    /// 5 mm glass, 1/2 in wide, 2.5 mm nose: 11.1° (trade figures 9.5). A thinner glass at that angle has a thinner nose.
    #[test]
    fn bevels_follow_the_thickness() {
        let mut job = sample::job();
        let index = job.pieces[0].glass;
        job.glasses[index].thickness = 5.0;
        job.pieces[0].bevel = Some(Bevel::new(5.0, 12.7, 2.5));
        let mut thinner = job.clone();
        thinner.glasses[index].thickness = 4.0;
        let of = |job: &Job, other: &Job| bevels(job, other).into_iter().find(|k| k.width == 12.7).unwrap();
        let kind = of(&job, &thinner);
        assert!((job.pieces[0].bevel.unwrap().angle_deg - 11.1).abs() < 0.05);
        let result = kind.result.unwrap();
        assert!((result.nose_at_first_angle - 1.5).abs() < 1e-12);
        assert!((result.angle_deg - (1.5_f64 / 12.7).atan().to_degrees()).abs() < 1e-12);
        thinner.pieces.clear();
        assert_eq!(of(&job, &thinner).result, None);
    }
}
