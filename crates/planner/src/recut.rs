//! Glass for pieces that broke at the wheel: the smallest that gives them, and which rule would have to give where none does.
//!
//! [`job_of`] is the plan's job with the broken pieces alone. [`first_that_do`] goes through sheets and offcuts in the order
//! given and plans that job on each by itself: what comes back are plans like any other, for the verifier and for booking.

use cullet_geometry::{Outline, Point, Pose, offset};
use cullet_job::{Findings, Grain, Job, JobFile, PieceId, SparesFile};
use cullet_model::{Effort, Plan};
use cullet_rack::{Stock, StockItem};
use rayon::prelude::*;

/// Rounds of the search on each sheet or offcut: one or a few pieces on one glass are found in the first.
const ROUNDS: u64 = 4;
/// So many are tried side by side.
const AT_ONCE: usize = 32;
/// Grain tolerances that are asked after, degrees.
const TOLERANCES: [f64; 6] = [2.0, 5.0, 10.0, 15.0, 30.0, 45.0];

/// A piece that broke, and how many times.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// Which piece.
    pub id: PieceId,
    /// How many of it are wanted anew, 1 or more.
    pub count: u32,
}

/// A plan's job with the broken pieces alone, each as often as it broke. Of one panel they are all as drawn or all of its
/// mirror image; the first of them says which.
///
/// # Errors
/// What [`Job::from_file`] finds wrong, for a plan whose job is no job any more.
pub fn job_of(job: &JobFile, broken: &[Broken]) -> Result<Job, Findings> {
    let mut file = job.clone();
    file.settings.spares = SparesFile::Always;
    for panel in &mut file.panels {
        let own: Vec<&Broken> = broken.iter().filter(|b| b.id.panel == panel.id).collect();
        panel.pieces.retain_mut(|piece| {
            let found = own.iter().find(|b| b.id.number == piece.number);
            piece.quantity = 1;
            piece.spares = found.map_or(0, |b| b.count.saturating_sub(1));
            found.is_some()
        });
        let mirrored = own.first().is_some_and(|b| b.id.mirrored);
        (panel.quantity, panel.mirrored_quantity) = if mirrored { (0, 1) } else { (1, 0) };
    }
    file.panels.retain(|panel| !panel.pieces.is_empty());
    Job::from_file("plan.json", file)
}

/// The job planned on this glass alone, where it holds every piece and comes apart. The same every time, whatever the number
/// of threads. Cost some milliseconds.
#[must_use]
pub fn on(job: &Job, item: &StockItem) -> Option<Plan> {
    lays(job, item).then(|| planned(job, item)).flatten()
}

fn lays(job: &Job, item: &StockItem) -> bool {
    crate::lays_all(job, &of(item))
}

fn planned(job: &Job, item: &StockItem) -> Option<Plan> {
    let effort = Effort::rounds(1, ROUNDS);
    let plan = crate::plan(job, &of(item), effort, &false.into(), &|_| {});
    plan.unplaced.is_empty().then_some(plan)
}

fn of(item: &StockItem) -> Stock {
    Stock {
        items: vec![item.clone()],
    }
}

/// The first so many of `items` that give every piece, each with its plan, in the order of `items`. Glass that is too small
/// for a piece by its area, its width or its length, or across or along the grain, is passed over.
#[must_use]
pub fn first_that_do<'s>(job: &Job, items: &[&'s StockItem], most: usize) -> Vec<(&'s StockItem, Plan)> {
    let least = Size::of_all(job);
    let hopeful: Vec<&StockItem> = items.iter().copied().filter(|i| least.goes_into(i)).collect();
    let mut found = Vec::new();
    for some in hopeful.chunks(AT_ONCE) {
        let laid: Vec<bool> = some.par_iter().map(|item| lays(job, item)).collect();
        for (item, _) in some.iter().zip(laid).filter(|(_, laid)| *laid) {
            found.extend(planned(job, item).map(|plan| (*item, plan)));
            if found.len() >= most {
                return found;
            }
        }
    }
    found
}

/// Of `items` the first that would do if the grain might lie further off, and by how many degrees it then lies off.
#[must_use]
pub fn with_grain_off<'s>(job: &Job, items: &[&'s StockItem]) -> Option<(&'s StockItem, f64)> {
    let piece = job.pieces.first()?;
    let has_grain = |job: &Job| job.glasses[piece.glass].grain != Grain::None;
    let now = job.source.glasses.get(piece.glass)?.grain_tolerance;
    for tolerance in TOLERANCES.into_iter().filter(|t| *t > now && has_grain(job)) {
        let mut file = job.source.clone();
        file.glasses[piece.glass].grain_tolerance = tolerance;
        let Ok(looser) = Job::from_file("plan.json", file) else {
            continue;
        };
        if let Some((item, plan)) = first_that_do(&looser, items, 1).pop() {
            return Some((item, furthest_off(&looser, &plan, item)));
        }
    }
    None
}

/// How far off the sheet's grain a piece of the plan lies at most, degrees.
fn furthest_off(job: &Job, plan: &Plan, item: &StockItem) -> f64 {
    let placements = plan.glasses.iter().flat_map(|g| &g.layouts).flat_map(|l| &l.placements);
    placements
        .filter_map(|placement| {
            let piece = job.pieces.iter().find(|p| p.id == placement.id)?;
            let round = match job.glasses[piece.glass].grain {
                Grain::TwoWays { .. } => 180.0,
                Grain::None | Grain::OneWay { .. } => 360.0,
            };
            let off = (placement.pose.turn_direction(piece.grain_deg) - item.grain_deg).rem_euclid(round);
            Some(off.min(round - off))
        })
        .fold(0.0, f64::max)
}

/// What any glass must have within its trim to hold a job's pieces.
struct Size {
    trim: f64,
    /// Area of all of them, mm².
    area: f64,
    /// The largest of their widths and of their lengths, mm.
    width: f64,
    length: f64,
    /// What they reach across and along the grain at least, mm, where there is a grain.
    by_grain: Option<(f64, f64)>,
}

impl Size {
    fn of_all(job: &Job) -> Self {
        let glass = job.pieces.first().map(|piece| &job.glasses[piece.glass]);
        let tolerance = match glass.map_or(Grain::None, |g| g.grain) {
            Grain::None => None,
            Grain::TwoWays { tolerance } | Grain::OneWay { tolerance } => Some(tolerance.to_radians()),
        };
        let mut size = Self {
            trim: glass.map_or(0.0, |g| g.edge_trim),
            area: 0.0,
            width: 0.0,
            length: 0.0,
            by_grain: tolerance.map(|_| (0.0, 0.0)),
        };
        for piece in &job.pieces {
            size.area += f64::from(piece.quantity + piece.spares) * piece.cut.area();
            let (width, length) = extent(&piece.cut);
            (size.width, size.length) = (size.width.max(width), size.length.max(length));
            if let (Some((across, along)), Some(tolerance)) = (&mut size.by_grain, tolerance) {
                // Turned by so little no reach changes by more than the length times the angle.
                let bounds = upright(&piece.cut, piece.grain_deg).bounds();
                *across = across.max(bounds.width() - length * tolerance);
                *along = along.max(bounds.height() - length * tolerance);
            }
        }
        size
    }

    fn goes_into(&self, item: &StockItem) -> bool {
        // What neighbours and edges may sink into each other is far below this.
        let slack = 0.1;
        let usable = offset::shrink(&item.outline, self.trim);
        let Some(glass) = usable.into_iter().max_by(|a, b| a.area().total_cmp(&b.area())) else {
            return false;
        };
        let (width, length) = extent(&glass);
        let with_grain = || {
            let bounds = upright(&glass, item.grain_deg).bounds();
            let holds = |(across, along)| across <= bounds.width() + slack && along <= bounds.height() + slack;
            self.by_grain.is_none_or(holds)
        };
        self.area <= glass.area() + slack * (width + length)
            && self.width <= width + slack
            && self.length <= length + slack
            && with_grain()
    }
}

/// Turned so that its grain runs upwards.
fn upright(outline: &Outline, grain_deg: f64) -> Outline {
    outline.posed(&Pose {
        rotation_deg: 90.0 - grain_deg,
        ..Pose::IDENTITY
    })
}

/// The smallest distance of two parallel lines that hold an outline, and the largest distance of two of its points, mm.
fn extent(outline: &Outline) -> (f64, f64) {
    let hull = outline.convex_hull();
    let points = hull.points();
    let away = |a: Point, b: Point| (b.x - a.x).hypot(b.y - a.y);
    let mut width = f64::INFINITY;
    let mut length: f64 = 0.0;
    for (i, a) in points.iter().enumerate() {
        let b = points[(i + 1) % points.len()];
        let side = away(*a, b);
        let off = |p: &Point| ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)).abs() / side.max(1e-12);
        width = width.min(points.iter().map(off).fold(0.0, f64::max));
        length = length.max(points.iter().map(|p| away(*a, *p)).fold(0.0, f64::max));
    }
    (width, length)
}
