//! Searches: plans and comparisons, one at a time in the order in which they were asked for. They go on whether a page looks or not.

use crate::answer::Problem;
use crate::app::App;
use crate::plans;
use cullet_model::Plan;
use cullet_model::figures::Figures;
use cullet_planner::Better;
use cullet_planner::least::least;
use cullet_rack::Stamp;
use cullet_workshop::reading::Glass;
use cullet_workshop::{Error, compare, plan};
use std::collections::{BTreeMap, VecDeque};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// The most searches that wait.
const MOST_WAITING: usize = 20;
/// How long a search that is stopped has to keep what it found, when the program ends.
const LAST_WAIT: Duration = Duration::from_secs(60);
/// Money below which a difference is none.
const CENT: f64 = 0.005;

/// All of them.
#[derive(Debug, Default)]
pub(crate) struct Runs {
    inner: Mutex<Inner>,
    ended: Condvar,
}

#[derive(Debug, Default)]
struct Inner {
    waiting: VecDeque<Arc<Run>>,
    running: Option<Arc<Run>>,
    /// The last one of every job and kind.
    last: BTreeMap<(String, bool), Arc<Run>>,
    is_over: bool,
}

/// What is to be searched for.
#[derive(Debug, Clone)]
pub(crate) enum What {
    Plan {
        request: Box<plan::PlanRequest>,
        hold: bool,
        /// Whether a plan of the same job that is there already goes even where it is cheaper.
        replace_better: bool,
    },
    Compare(Box<compare::CompareRequest>),
}

/// One search.
#[derive(Debug)]
pub(crate) struct Run {
    /// The job's name.
    pub(crate) job: String,
    what: What,
    stamp: Stamp,
    /// The folder's path, to be left out of what is said.
    root: String,
    stop: AtomicBool,
    /// Whether what is found is let go of.
    drop: AtomicBool,
    now: Mutex<Now>,
    /// Rises with everything that happens.
    pub(crate) changed: tokio::sync::watch::Sender<u64>,
}

/// How a search stands.
#[derive(Debug, Clone)]
pub(crate) struct Now {
    pub(crate) phase: Phase,
    pub(crate) stage: String,
    pub(crate) share: f64,
    pub(crate) began: Option<Instant>,
    /// The best so far of every glass, and the step at which it came.
    pub(crate) best: BTreeMap<String, (u64, Arc<Better>)>,
    /// Seconds, net cost, yield, glasses that have a layout.
    pub(crate) course: Vec<(f64, f64, f64, usize)>,
    /// The least that any plan can cost.
    pub(crate) least: Option<f64>,
    /// Glasses that are cut.
    pub(crate) glasses: usize,
    /// What came of it, or what is in the way.
    pub(crate) words: Vec<String>,
    /// Cut outlines of the pieces, for pictures.
    pub(crate) pieces: Arc<plans::Shapes>,
    pub(crate) currency: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Phase {
    Waiting,
    Searching,
    Writing,
    Done,
    Refused,
    Dropped,
}

impl Phase {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Searching => "searching",
            Self::Writing => "writing",
            Self::Done => "done",
            Self::Refused => "refused",
            Self::Dropped => "dropped",
        }
    }

    pub(crate) fn is_over(self) -> bool {
        matches!(self, Self::Done | Self::Refused | Self::Dropped)
    }
}

impl Runs {
    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Asks for a search. One of the same job and kind that waits or runs is not asked for twice.
    pub(crate) fn ask(app: &Arc<App>, job: &str, what: What) -> Result<(), Problem> {
        let mut inner = app.runs.lock();
        let key = (job.to_owned(), matches!(what, What::Compare(_)));
        if inner.last.get(&key).is_some_and(|run| !run.now().phase.is_over()) {
            return Err(Problem::Words(
                "That search waits or runs already: look at it, or stop it first.".into(),
            ));
        }
        if inner.waiting.len() >= MOST_WAITING || inner.is_over {
            return Err(Problem::Words(
                "Too many searches wait already. Let some of them end first.".into(),
            ));
        }
        let run = Arc::new(Run {
            job: job.to_owned(),
            what,
            stamp: app.stamp(),
            root: format!("{}/", app.place.root().display()),
            stop: AtomicBool::new(false),
            drop: AtomicBool::new(false),
            now: Mutex::new(Now::waiting()),
            changed: tokio::sync::watch::Sender::new(0),
        });
        inner.last.insert(key, Arc::clone(&run));
        inner.waiting.push_back(run);
        if inner.running.is_none() {
            let app = Arc::clone(app);
            inner.running = inner.waiting.pop_front();
            std::thread::spawn(move || work(&app));
        }
        Ok(())
    }

    /// The last search of a job.
    pub(crate) fn of(&self, job: &str, is_comparison: bool) -> Option<Arc<Run>> {
        self.lock().last.get(&(job.to_owned(), is_comparison)).cloned()
    }

    /// Jobs whose searches come before this one.
    pub(crate) fn before(&self, run: &Arc<Run>) -> Vec<String> {
        let inner = self.lock();
        let all = inner.running.iter().chain(&inner.waiting);
        all.take_while(|other| !Arc::ptr_eq(other, run))
            .map(|other| other.job.clone())
            .collect()
    }

    /// Stops a search: what it has found is kept, or let go of.
    pub(crate) fn stop(&self, job: &str, is_comparison: bool, drop: bool) {
        let mut inner = self.lock();
        let Some(run) = inner.last.get(&(job.to_owned(), is_comparison)).cloned() else {
            return;
        };
        run.drop.store(drop, Ordering::Relaxed);
        run.stop.store(true, Ordering::Relaxed);
        if let Some(at) = inner.waiting.iter().position(|waiting| Arc::ptr_eq(waiting, &run)) {
            inner.waiting.remove(at);
            run.say(|now| {
                (now.phase, now.words) = (Phase::Dropped, vec!["Taken off the list before it began.".into()])
            });
        }
    }

    /// The program ends: nothing new begins, and what runs is stopped and kept.
    pub(crate) fn end(&self) {
        let mut inner = self.lock();
        inner.is_over = true;
        inner.waiting.clear();
        if let Some(run) = &inner.running {
            run.stop.store(true, Ordering::Relaxed);
        }
        let _ = self
            .ended
            .wait_timeout_while(inner, LAST_WAIT, |inner| inner.running.is_some());
    }
}

/// Searches until nothing waits any more.
fn work(app: &Arc<App>) {
    loop {
        let Some(run) = app.runs.lock().running.clone() else {
            return;
        };
        let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| run.work()));
        let fault = || vec!["Internal fault: the search broke off. Nothing was written.".to_owned()];
        if done.is_err() {
            run.say(|now| (now.phase, now.words) = (Phase::Refused, fault()));
        }
        let mut inner = app.runs.lock();
        inner.running = inner.waiting.pop_front();
        app.runs.ended.notify_all();
        if inner.running.is_none() {
            return;
        }
    }
}

impl Now {
    fn waiting() -> Self {
        Self {
            phase: Phase::Waiting,
            stage: String::new(),
            share: 0.0,
            began: None,
            best: BTreeMap::new(),
            course: vec![],
            least: None,
            glasses: 0,
            words: vec![],
            pieces: Arc::default(),
            currency: String::new(),
        }
    }

    /// What the best so far of all glasses comes to.
    pub(crate) fn figures(&self) -> Figures {
        Figures::sum(self.best.values().map(|(_, better)| &better.figures))
    }
}

impl Run {
    pub(crate) fn now(&self) -> Now {
        self.now.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn say(&self, change: impl FnOnce(&mut Now)) {
        change(&mut self.now.lock().unwrap_or_else(PoisonError::into_inner));
        self.changed.send_modify(|count| *count += 1);
    }

    fn work(&self) {
        self.say(|now| (now.phase, now.began) = (Phase::Searching, Some(Instant::now())));
        let done = match self.what.clone() {
            What::Plan {
                request,
                hold,
                replace_better,
            } => self.plan(*request, hold, replace_better),
            What::Compare(request) => self.compare(*request),
        };
        match done {
            Ok((phase, words)) => self.say(|now| (now.phase, now.words) = (phase, words)),
            Err(error) => {
                let words = Problem::from(error)
                    .lines()
                    .into_iter()
                    .map(|(what, hint)| format!("{what} {hint}").replace(&self.root, ""));
                let words = words.collect();
                self.say(|now| (now.phase, now.words) = (Phase::Refused, words));
            }
        }
    }

    fn plan(
        &self,
        request: plan::PlanRequest,
        hold: bool,
        replace_better: bool,
    ) -> Result<(Phase, Vec<String>), Error> {
        let earlier = crate::deeds::plan(&request.out.join("plan.json")).ok();
        let mut ready = plan::Ready::read(request)?;
        ready.begin()?;
        let inputs = ready.inputs();
        let job = &inputs.job.job;
        let pieces = Arc::new(plans::shapes(job.pieces.iter().map(|piece| (&piece.id, &piece.cut))));
        let cut: std::collections::BTreeSet<usize> = job.pieces.iter().map(|piece| piece.glass).collect();
        self.say(|now| {
            now.least = least(job, &inputs.stock);
            now.glasses = cut.len();
            now.pieces = pieces;
            now.currency.clone_from(&job.source.settings.currency);
        });
        let found = ready.search(&self.stop, &|progress| self.show(progress))?;
        if self.drop.load(Ordering::Relaxed) {
            return Ok((
                Phase::Dropped,
                vec!["Stopped, and let go of. The plan that was there stays.".into()],
            ));
        }
        if found.figures.pieces == 0 && self.stop.load(Ordering::Relaxed) {
            return Ok((Phase::Dropped, vec!["Stopped before there was a plan.".into()]));
        }
        self.say(|now| now.phase = Phase::Writing);
        if let Some(earlier) = earlier.filter(|earlier| !replace_better && is_cheaper(earlier, &found)) {
            let (old, new) = (earlier.figures.net_cost(), found.figures.net_cost());
            let words = format!("The plan that was there is cheaper, {old:.2} against {new:.2}: it stays.");
            return Ok((Phase::Done, vec![words]));
        }
        let files = ready.files(&found)?;
        let mut words = files.warnings.clone();
        let rack = match &ready.request().glass {
            Glass::Rack(rack) if hold => Some(rack.clone()),
            _ => None,
        };
        ready.write(&files)?;
        words.extend(
            found
                .unplaced
                .iter()
                .map(|left| format!("Not placed: {}, {} of it: {}", left.id, left.count, left.reason)),
        );
        if let Some(rack) = rack {
            words.push(held(&rack, &found, &self.stamp));
        }
        Ok((Phase::Done, words))
    }

    fn compare(&self, request: compare::CompareRequest) -> Result<(Phase, Vec<String>), Error> {
        let mut ready = compare::Ready::read(request)?;
        ready.begin()?;
        let outcomes = ready.search(&self.stop, &|share| {
            self.say(|now| (now.share, now.stage) = (share, "planning every choice".into()));
        })?;
        if self.drop.load(Ordering::Relaxed) {
            return Ok((Phase::Dropped, vec!["Stopped, and let go of.".into()]));
        }
        self.say(|now| now.phase = Phase::Writing);
        ready.write(&outcomes)?;
        Ok((Phase::Done, vec![]))
    }

    fn show(&self, progress: cullet_planner::Progress) {
        self.say(|now| {
            now.share = progress.share.max(now.share);
            now.stage = progress.stage;
            let Some(better) = progress.better else { return };
            let step = self.changed.borrow().wrapping_add(1);
            now.best.insert(better.glass.clone(), (step, better));
            let figures = now.figures();
            let seconds = now.began.map_or(0.0, |began| began.elapsed().as_secs_f64());
            now.course
                .push((seconds, figures.net_cost(), figures.yield_share(), now.best.len()));
        });
    }
}

/// Whether an earlier plan of the same job and glass costs less, with as many pieces.
fn is_cheaper(earlier: &Plan, found: &Plan) -> bool {
    let is_same = earlier.job == found.job && earlier.stock == found.stock && earlier.rack == found.rack;
    let pieces = |plan: &Plan| plan.figures.pieces;
    is_same && pieces(earlier) >= pieces(found) && earlier.figures.net_cost() < found.figures.net_cost() - CENT
}

fn held(rack: &Path, found: &Plan, stamp: &Stamp) -> String {
    match plan::hold(rack, found, stamp) {
        Ok(tags) if tags.is_empty() => "Nothing to hold: the plan uses no glass of the rack.".into(),
        Ok(tags) => format!("Held for this plan: {}", tags.join(", ")),
        Err(error) => format!("The plan was written, but its glass is not held: {error}"),
    }
}
