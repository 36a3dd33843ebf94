//! Checks a plan from scratch, sharing no code with the search: what this crate depends on shows it.
//!
//! The job is read again from the plan's own copy of the job file, every piece is put where its pose says by the verifier's own
//! arithmetic, and everything is measured with `geo` and `rstar`. Nothing of `cullet-nest`, of the planner or of the offsets
//! and booleans in `cullet-geometry` is used.
//!
//! | module | checks |
//! |---|---|
//! | `pieces` | outlines, glass and grain as the job gives them; cut outlines leave the grind allowance |
//! | `counts` | every piece cut as often as asked, or named as unplaced |
//! | `stock` | each sheet is in the stock list, of the right glass, and pulled once; the rules are the glass's own |
//! | `sheets` | edges and trim, flaws, distances between pieces |
//! | `turns` | grain and turning over |
//! | `lots` | one-lot groups |
//! | `returned` | what goes back to the rack |
//! | `breaking`, `bend` | how each sheet comes apart, break by break; how sharply its scores bend |
//! | `figures` | areas, weights, money |

mod bend;
mod breaking;
mod counts;
mod figures;
mod lots;
mod pieces;
mod returned;
mod shape;
mod sheets;
mod stock;
#[cfg(test)]
mod tests;
mod turns;

use cullet_job::{Glass, Job, Piece, PieceId};
use cullet_model::Style;
use cullet_model::{GlassPlan, Layout, Placement, Plan, PlanPiece, READ};
use shape::Shape;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// What the plan's distances may fall short by, mm: room for the 1e-4 mm grid of offsets and for rounding, far below what a
/// wheel can follow.
pub const TOLERANCE: f64 = 0.002;

/// Faults told of one plan at most; more help nobody.
pub const MOST_FAULTS: usize = 1_000;

/// One thing wrong with a plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Sheet map number, 0 for the whole plan.
    pub sheet: u32,
    /// Which piece or pieces, as a person would say it.
    pub place: String,
    /// What is wrong, with figures.
    pub what: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.sheet > 0 {
            write!(f, "map {}: ", self.sheet)?;
        }
        write!(f, "{}: {}", self.place, self.what)
    }
}

/// Everything wrong with `plan`, up to [`MOST_FAULTS`]; empty when it holds.
///
/// Distances may fall short by [`TOLERANCE`]; where pieces may touch, an overlap deeper than that is a fault, however short or
/// long it is. Figures must agree to 1e-9. Cost O(p log p) for p pieces whose outlines have few sides: 2,000 pieces take
/// well under a second.
///
/// ```no_run
/// # fn example(plan: &cullet_model::Plan) {
/// for fault in cullet_verify::verify(plan) {
///     // "sheet 2: panel S piece 12, copy 1 and panel S piece 13, copy 1: 5.990 mm apart, at least 6.000 mm are needed"
///     let line = fault.to_string();
/// }
/// # }
/// ```
#[must_use]
pub fn verify(plan: &Plan) -> Vec<Fault> {
    if !READ.contains(&plan.format.as_str()) {
        let what = format!(
            "it says \"{}\", this version checks \"{}\"",
            plan.format,
            READ.join("\", \"")
        );
        return vec![Fault {
            sheet: 0,
            place: "format".into(),
            what,
        }];
    }
    match Job::from_file("job in the plan", plan.job.clone()) {
        Ok(job) => against(plan, &job),
        Err(findings) => findings
            .0
            .into_iter()
            .map(|f| Fault {
                sheet: 0,
                place: format!("{}: {}", f.file, f.place),
                what: format!("found {}, expected {}", f.found, f.expected),
            })
            .collect(),
    }
}

/// How sharply one break bends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sharpest {
    /// Sheet map number.
    pub sheet: u32,
    /// Number of the break on that sheet, from 1.
    pub number: usize,
    /// Whether pieces or offcuts lie on both sides, so that it parts them.
    pub parts: bool,
    /// The most that its direction changes within the stretch, degrees, where it does not follow the piece that it opens.
    pub turn_deg: f64,
}

/// How sharply every break of `plan` bends within `stretch` mm, by the verifier's own measure; what the rule allows is not
/// asked. Empty where the job in the plan cannot be read.
#[must_use]
pub fn sharpest_bends(plan: &Plan, stretch: f64) -> Vec<Sharpest> {
    let Ok(job) = Job::from_file("job in the plan", plan.job.clone()) else {
        return vec![];
    };
    let layouts = plan.glasses.iter().flat_map(|g| &g.layouts);
    let of_layout = |layout: &Layout| -> Vec<Sharpest> {
        let bends = breaking::sharpest(&Sheet::of(layout, &job), &job, stretch);
        let numbered = bends.into_iter().enumerate();
        numbered
            .map(|(k, (turn_deg, parts))| Sharpest {
                sheet: layout.number,
                number: k + 1,
                parts,
                turn_deg,
            })
            .collect()
    };
    layouts.flat_map(of_layout).collect()
}

/// Placements of `layout` that its breaking order does not free; empty when it holds. What the planner asks before it keeps an
/// order, so that a fault of the search costs a layout and not the plan.
#[must_use]
pub fn held(layout: &Layout, job: &Job) -> Vec<usize> {
    breaking::held(&Sheet::of(layout, job), job)
}

/// The same against a job that has been read.
fn against(plan: &Plan, job: &Job) -> Vec<Fault> {
    let mut check = Check::new(job);
    pieces::check(&mut check, plan);
    counts::check(&mut check, plan);
    stock::check(&mut check, plan);
    lots::check(&mut check, plan);
    figures::check(&mut check, plan);
    for (_, layout) in layouts(plan) {
        if check.is_full() {
            check.more = true;
            break;
        }
        let sheet = Sheet::of(layout, job);
        lies_well(&mut check, &sheet);
        breaking::check(&mut check, &sheet);
    }
    check.told()
}

/// Everything that is asked of one sheet, but for how it comes apart.
fn lies_well(check: &mut Check<'_>, sheet: &Sheet<'_>) {
    turns::check(check, sheet);
    sheets::check(check, sheet);
    returned::check(check, sheet);
}

/// Every layout with the glass it stands under.
fn layouts(plan: &Plan) -> impl Iterator<Item = (&GlassPlan, &Layout)> {
    plan.glasses.iter().flat_map(|g| g.layouts.iter().map(move |l| (g, l)))
}

/// Placements at fault in a layout by itself, none where it cannot be told which; nothing where it passes. What the planner asks
/// before it hands a layout out.
#[must_use]
pub fn wrong(layout: &Layout, job: &Job) -> Option<Vec<usize>> {
    let sheet = Sheet::of(layout, job);
    let held = breaking::held(&sheet, job);
    let mut check = Check::new(job);
    lies_well(&mut check, &sheet);
    if held.is_empty() && check.faults.is_empty() {
        return None;
    }
    let placements = layout.placements.iter().enumerate();
    let at_fault = placements.filter(|(i, p)| held.contains(i) || check.at_fault.contains(&key(p)));
    Some(at_fault.map(|(i, _)| i).collect())
}

/// A plan under check and what was found so far.
struct Check<'p> {
    job: &'p Job,
    pieces: BTreeMap<&'p PieceId, &'p Piece>,
    faults: Vec<Fault>,
    /// Whether there are more than are told.
    more: bool,
    /// Pieces that lie wrong.
    at_fault: BTreeSet<(PieceId, u32)>,
}

impl<'p> Check<'p> {
    fn new(job: &'p Job) -> Self {
        Self {
            job,
            pieces: job.pieces.iter().map(|p| (&p.id, p)).collect(),
            faults: vec![],
            more: false,
            at_fault: BTreeSet::new(),
        }
    }

    fn piece_fault(&mut self, sheet: &Sheet<'_>, placement: &Placement, what: impl Into<String>) {
        self.at_fault.insert(key(placement));
        self.fault(sheet.layout.number, copy_name(placement), what);
    }

    fn fault(&mut self, sheet: u32, place: impl Into<String>, what: impl Into<String>) {
        if self.is_full() {
            self.more = true;
            return;
        }
        self.faults.push(Fault {
            sheet,
            place: place.into(),
            what: what.into(),
        });
    }

    /// Whether so much is wrong that no more is told.
    fn is_full(&self) -> bool {
        self.faults.len() >= MOST_FAULTS
    }

    /// All faults, and that there are more where there are.
    fn told(mut self) -> Vec<Fault> {
        if self.more {
            self.faults.push(Fault {
                sheet: 0,
                place: "the plan".into(),
                what: format!("more than {MOST_FAULTS} faults; no more of them are told"),
            });
        }
        self.faults
    }

    fn piece(&self, id: &PieceId) -> Option<&'p Piece> {
        self.pieces.get(id).copied()
    }

    fn glass(&self, code: &str) -> Option<&'p Glass> {
        self.job.glasses.iter().find(|g| g.code == code)
    }

    /// How far apart pieces must lie: a narrowest strip and the score kerf, in straight runs the kerf alone.
    fn clearance(&self, layout: &Layout, glass: &Glass) -> f64 {
        let strip = match layout.style {
            Style::Shaped => glass.narrowest_strip,
            Style::StraightRun => 0.0,
        };
        strip + self.job.score_kerf
    }
}

/// A layout with its pieces put in place.
struct Sheet<'p> {
    layout: &'p Layout,
    glass: Option<&'p Glass>,
    shape: Shape,
    laid: Vec<Laid<'p>>,
}

/// A piece in place.
struct Laid<'p> {
    placement: &'p Placement,
    piece: &'p Piece,
    cut: Shape,
}

impl<'p> Sheet<'p> {
    /// Pieces that the job does not have and poses that are no numbers are left out; `counts` and `turns` name them.
    fn of(layout: &'p Layout, job: &'p Job) -> Self {
        let pieces: BTreeMap<&PieceId, &'p Piece> = job.pieces.iter().map(|p| (&p.id, p)).collect();
        let laid = layout
            .placements
            .iter()
            .filter(|p| is_usable(p))
            .filter_map(|placement| {
                let piece = *pieces.get(&placement.id)?;
                Some(Laid {
                    placement,
                    piece,
                    cut: Shape::placed(&piece.cut, &placement.pose),
                })
            });
        Self {
            layout,
            glass: job.glasses.iter().find(|g| g.code == layout.stock.glass),
            shape: Shape::of(&layout.stock.outline),
            laid: laid.collect(),
        }
    }
}

/// Whether the pose is made of numbers that keep the piece within reach of the integer booleans.
fn is_usable(placement: &Placement) -> bool {
    let pose = &placement.pose;
    pose.rotation_deg.is_finite() && [pose.x, pose.y].iter().all(|v| v.abs() <= FURTHEST)
}

/// Furthest that a piece may be moved, mm: outlines reach 100 m at most, so 200 m take any piece to any sheet.
const FURTHEST: f64 = 200_000.0;

fn key(placement: &Placement) -> (PieceId, u32) {
    (placement.id.clone(), placement.copy)
}

/// A piece as a person would say it.
fn piece_name(id: &PieceId) -> String {
    let mirrored = if id.mirrored { " mirrored" } else { "" };
    format!("panel {} piece {}{mirrored}", id.panel, id.number)
}

/// One of the equal ones.
fn copy_name(placement: &Placement) -> String {
    let spare = if placement.spare { " (spare)" } else { "" };
    format!("{}, copy {}{spare}", piece_name(&placement.id), placement.copy)
}
