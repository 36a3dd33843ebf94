//! From a job and a stock list to layouts: which glass is pulled and how every piece lies.
//!
//! # What it is for
//! [`plan`] chooses glass and lays every piece, [`leftover`] finds what of a sheet goes back to the rack, [`recut`] finds glass for a
//! piece that broke, [`compare`] plans a job under several choices, [`least`] is what no plan can cost less than.
//!
//! # Units and axes
//! Millimetres, degrees, y up, layouts seen from the **show face**, in the sheet's own frame.
//!
//! # What it must not know
//! Files, screens, progress bars. Whether a sheet comes apart it asks `cullet-breakout`; the verifier is asked about a layout before it
//! is handed out, so that a fault of the search costs a layout and not the plan.
//!
//! # How a glass is planned
//! Glass by glass: `stock::candidates` are the sheets and offcuts that may be pulled, cheapest glass first;
//! sets of them are tried for the least net cost, spares find room on the glass that is pulled anyway, then the last sheet's
//! pieces are drawn together towards one end so that one straight run returns a clean offcut.
//!
//! | module | does |
//! |---|---|
//! | `stock` | what may be pulled, each in a frame whose grain runs upwards |
//! | `lots` | which lot a one-lot group is cut from |
//! | `breaking` | which pieces can be scored at all, and how each sheet comes apart |
//! | `repair` | sheets that do not come apart, laid differently |
//! | `turns` | rotations that grain and bevel allow |
//! | `glass` | one glass from pieces to layouts |
//! | `batches` | the same of a great many pieces, batch by batch |
//! | `again` | a sheet of a batch cut again, as often as its pieces are wanted |
//! | `shaped` | one glass laid freely, with shared scores where they save glass |
//! | `straight_run` | one glass laid in straight runs |
//! | `abut` | pieces that share a straight score, in pairs and blocks |
//! | `scored` | what is scored round the pieces: half a score kerf off each |
//! | `pull` | which sheets and offcuts: the set of least net cost |
//! | `last` | the last sheet drawn together |
//! | `spares` | room for spares on the glass that is pulled anyway |
//! | `buy` | what to order, and what the next size up would come to |
//! | `mend` | layouts that the verifier would refuse |
//! | `lay` | layouts from where the search put the pieces |
//! | `effort` | how the effort is shared out |

#![cfg_attr(not(test), deny(clippy::disallowed_methods, clippy::disallowed_types))]

mod abut;
mod again;
mod batches;
mod beside;
mod breaking;
mod buy;
pub mod compare;
mod contest;
mod effort;
mod glass;
mod last;
mod lay;
pub mod least;
pub mod leftover;
mod lots;
mod mend;
mod objective;
mod pull;
pub mod recut;
mod repair;
mod scored;
mod shaped;
mod spares;
mod stock;
mod straight_run;
mod turns;

pub use crate::objective::Objective;
use cullet_job::{Grain, Job};
use cullet_model::figures::{Accounts, Figures};
use cullet_model::{Effort, FORMAT, GlassPlan, Layout, Plan, PlanPiece, SparesLeftOut, Unplaced};
use cullet_rack::Stock;
use cullet_search::Clock;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex, PoisonError};

/// Where the planning stands, for a progress bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    /// Share of the effort used up, 0 to 1.
    pub share: f64,
    /// What it is doing, in a few words.
    pub stage: String,
    /// A better layout of one glass than was shown before, or the one that is kept.
    pub better: Option<Arc<Better>>,
}

/// How the sheets of one glass lie so far, for a picture while the search goes on: not verified, and it need not be whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Better {
    /// Code of the glass.
    pub glass: String,
    /// Its sheets; their own figures, numbers and spares are not worked out yet.
    pub layouts: Vec<Layout>,
    /// What they come to together.
    pub figures: Figures,
}

/// Takes the layouts of one glass as they are found, and passes on what is better than all before.
struct Live<'a> {
    best: Mutex<Option<Objective>>,
    show: &'a (dyn Fn(&[Layout], Figures) + Sync),
}

impl Live<'_> {
    fn offer(&self, worth: &Objective, layouts: &[Layout], figures: Figures) {
        let mut best = self.best.lock().unwrap_or_else(PoisonError::into_inner);
        if best.as_ref().is_none_or(|best| worth < best) {
            *best = Some(*worth);
            (self.show)(layouts, figures);
        }
    }
}

/// Plans `job` from `stock`. Setting `cancel` makes it return its best valid plan so far. `progress` is called a few times
/// a second from the searching threads.
///
/// Pieces that cannot be placed are in [`Plan::unplaced`] with the reason; all others are placed so that [`cullet_verify`]
/// finds nothing. Where `effort` is counted in rounds the plan depends on nothing but the input; otherwise on the machine's speed too.
#[must_use]
pub fn plan(
    job: &Job,
    stock: &Stock,
    effort: Effort,
    cancel: &AtomicBool,
    progress: &(dyn Fn(Progress) + Sync),
) -> Plan {
    let accounts = Accounts::new(job);
    let shares = effort::shares(job);
    let mut plan = Plan {
        format: FORMAT.to_owned(),
        effort,
        job: job.source.clone(),
        stock: stock.clone(),
        rack: None,
        pieces: plan_pieces(job),
        glasses: Vec::new(),
        unplaced: Vec::new(),
        spares_left_out: Vec::new(),
        files: std::collections::BTreeMap::new(),
        figures: Figures::default(),
    };
    let began = Clock::start();
    let mut done = 0.0;
    for (index, share) in shares.iter().enumerate().filter(|(_, share)| **share > 0.0) {
        let code = &job.glasses[index].code;
        let last = Mutex::new((done, code.clone()));
        let tell = |share: f64, stage: String, better: Option<Arc<Better>>| progress(Progress { share, stage, better });
        let report = |part: f64, stage: &str| {
            let now = (done + share * part.clamp(0.0, 1.0), format!("{code}: {stage}"));
            last.lock().unwrap_or_else(PoisonError::into_inner).clone_from(&now);
            tell(now.0, now.1, None);
        };
        let better = |layouts: &[Layout], figures: Figures| {
            let (share, stage) = last.lock().unwrap_or_else(PoisonError::into_inner).clone();
            let better = Better {
                glass: code.clone(),
                layouts: layouts.to_vec(),
                figures,
            };
            tell(share, stage, Some(Arc::new(better)));
        };
        let live = Live {
            best: Mutex::new(None),
            show: &better,
        };
        let whole = effort::whole(effort, index);
        let part = effort::of_rest(whole, began, *share, share / (1.0 - done).max(*share));
        let work = glass::GlassPlanner::new(job, index, stock, &accounts).shown(&live);
        let cut = work.cut(part, cancel, &report);
        better(
            &cut.layouts,
            Figures::sum(cut.layouts.iter().map(|layout| &layout.figures)),
        );
        add(&mut plan, job, index, cut);
        done += share;
    }
    plan.figures = Figures::sum(plan.glasses.iter().map(|g| &g.figures));
    plan
}

/// Whether a brief search lays all pieces of `job`, spares too, on the glass of `stock`, closer together than either way of
/// laying out does; whether they come apart is not asked. For passing over glass that is of no use.
pub(crate) fn lays_all(job: &Job, stock: &Stock) -> bool {
    let accounts = Accounts::new(job);
    let with_pieces = (0..job.glasses.len()).filter(|g| job.pieces.iter().any(|p| p.glass == *g));
    with_pieces
        .map(|index| glass::GlassPlanner::new(job, index, stock, &accounts))
        .all(|work| work.lays_all())
}

/// Enters one glass's layouts, numbered on through the plan.
fn add(plan: &mut Plan, job: &Job, glass: usize, cut: glass::Cut) {
    let mut number = plan.glasses.iter().map(|g| g.layouts.len()).sum::<usize>() as u32;
    let mut layouts = cut.layouts;
    for layout in &mut layouts {
        number += 1;
        layout.number = number;
    }
    plan.glasses.push(GlassPlan {
        glass: job.glasses[glass].code.clone(),
        figures: Figures::sum(layouts.iter().map(|l| &l.figures)),
        layouts,
        tried: cut.tried,
        buy: cut.buy,
    });
    plan.unplaced
        .extend(cut.unplaced.into_iter().map(|(piece, count, reason)| Unplaced {
            id: job.pieces[piece].id.clone(),
            count,
            reason,
        }));
    plan.spares_left_out
        .extend(cut.spares_left_out.into_iter().map(|(piece, count)| SparesLeftOut {
            id: job.pieces[piece].id.clone(),
            count,
        }));
}

fn plan_pieces(job: &Job) -> Vec<PlanPiece> {
    let with_grain = |glass: usize| job.glasses[glass].grain != Grain::None;
    job.pieces
        .iter()
        .map(|piece| PlanPiece {
            id: piece.id.clone(),
            glass: job.glasses[piece.glass].code.clone(),
            finished: piece.finished.clone(),
            cut: piece.cut.clone(),
            grain_deg: with_grain(piece.glass).then_some(piece.grain_deg),
            bevelled: piece.bevel.is_some(),
        })
        .collect()
}
