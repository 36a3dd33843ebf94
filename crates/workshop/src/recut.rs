//! Glass for a piece that broke: what is on hand that gives it, its map written, its glass booked.

use crate::folder::{Folder, Holds};
use crate::plan::verified;
use crate::writing::{Care, in_place};
use crate::{Error, book};
use cullet_job::{Finding, Findings, Job, PieceId, Units, nearest_name};
use cullet_model::Plan;
use cullet_planner::recut::{self, Broken};
use cullet_rack::{Booked, Count, Cut, Rack, RackError, RackState, Signs, Stamp, StockItem, StockKind, Wanted};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Pieces to cut again.
#[derive(Debug, Clone)]
pub struct RecutRequest {
    /// The plan in which they lie.
    pub plan: PathBuf,
    /// Their names, as people type them.
    pub pieces: Vec<String>,
    /// The rack.
    pub rack: PathBuf,
    /// The tag of the glass to take; none for the smallest that does.
    pub from: Option<String>,
    /// The folder to write to.
    pub out: PathBuf,
    /// Whether files there that are not the program's may be written over.
    pub replace: bool,
    /// Where what is kept will stand.
    pub place: String,
    /// The signs of the tables that are written.
    pub signs: Signs,
}

/// What was asked for, and the glass that may be cut.
#[derive(Debug)]
pub struct Work {
    request: RecutRequest,
    folder: Folder,
    job: Job,
    broken: Vec<Broken>,
    /// Glass on hand that the lot allows, in the order it is tried.
    on_hand: Vec<StockItem>,
    /// Glass on hand of another lot.
    other_lots: Vec<StockItem>,
    to_buy: Vec<StockItem>,
    own: BTreeSet<String>,
    state: RackState,
    lot: Option<String>,
}

/// What would do where nothing on hand does.
#[derive(Debug)]
pub struct Instead<'a> {
    /// Glass of another lot, where the piece belongs to a group of one lot: the group and the glass.
    pub other_lot: Option<(&'a str, &'a StockItem)>,
    /// Glass in which the grain lies so many degrees off.
    pub grain_off: Option<(&'a StockItem, f64)>,
    /// A sheet to buy, and what it costs.
    pub buy: Option<(&'a StockItem, f64)>,
}

impl Work {
    /// Reads the plan and the rack, and finds out which glass may be tried; changes nothing.
    ///
    /// # Errors
    /// A plan that fails its check, names that are no pieces of it, another rack than it was made on, files in the way.
    pub fn read(request: RecutRequest) -> Result<Self, Error> {
        let (plan, cut) = book::read_verified(&request.plan)?;
        read(request, &plan, &cut)
    }

    /// What was asked for.
    #[must_use]
    pub fn request(&self) -> &RecutRequest {
        &self.request
    }

    /// The job of the broken pieces alone.
    #[must_use]
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// The pieces and how many of each.
    #[must_use]
    pub fn broken(&self) -> &[Broken] {
        &self.broken
    }

    /// The unit of the job.
    #[must_use]
    pub fn units(&self) -> Units {
        self.job.source.units
    }

    /// Whether the glass of that tag came back from the plan itself.
    #[must_use]
    pub fn is_own(&self, tag: &str) -> bool {
        self.own.contains(tag)
    }

    /// The group of one lot that the pieces belong to.
    #[must_use]
    pub fn lot(&self) -> Option<&str> {
        self.lot.as_deref()
    }

    /// The first `most` of the glass on hand that give the pieces, each with its plan, the one to take first.
    #[must_use]
    pub fn first_that_do(&self, most: usize) -> Vec<(&StockItem, Plan)> {
        let from = self.request.from.as_ref();
        let is_asked = |item: &&StockItem| from.is_none_or(|tag| item.tag == *tag);
        let on_hand: Vec<&StockItem> = self.on_hand.iter().filter(is_asked).collect();
        let found = recut::first_that_do(&self.job, &on_hand, most);
        let on_rack = |plan| Plan {
            rack: Some(self.state.clone()),
            ..plan
        };
        found.into_iter().map(|(item, plan)| (item, on_rack(plan))).collect()
    }

    /// What would do where nothing on hand does: one rule relaxed, or a sheet bought.
    #[must_use]
    pub fn instead(&self) -> Instead<'_> {
        let of_lot: Vec<&StockItem> = self.on_hand.iter().collect();
        let others: Vec<&StockItem> = self.other_lots.iter().collect();
        let other_lot = self.lot.as_deref().and_then(|group| {
            let (item, _) = recut::first_that_do(&self.job, &others, 1).pop()?;
            Some((group, item))
        });
        let mut buy: Vec<&StockItem> = self.to_buy.iter().collect();
        buy.sort_by(|a, b| a.outline.area().total_cmp(&b.outline.area()).then(a.tag.cmp(&b.tag)));
        let buy = recut::first_that_do(&self.job, &buy, 1).pop();
        Instead {
            other_lot,
            grain_off: recut::with_grain_off(&self.job, &of_lot),
            buy: buy.map(|(item, plan)| (item, plan.figures.pulled_cost)),
        }
    }

    /// Writes the map and what goes with it, and returns what is then to be booked.
    ///
    /// # Errors
    /// A plan that fails its check, a file in the way, or a disk that does not take them.
    pub fn write(mut self, plan: &Plan) -> Result<ToBook, Error> {
        verified(plan, "the recut")?;
        let files = crate::plan::files(plan, &[], &[], self.request.signs, &BTreeMap::new())?;
        let Some(cut) = book::cut(plan) else {
            return Err(Error::Fault("the recut is of no rack".into()));
        };
        self.folder.begin()?;
        self.folder.write(&files)?;
        Ok(ToBook {
            request: self.request,
            cut,
        })
    }
}

/// A recut whose files are written: where the rack refuses it, they say what was meant.
#[derive(Debug)]
pub struct ToBook {
    request: RecutRequest,
    cut: Cut,
}

impl ToBook {
    /// Books it; also the unit in which the rack is read.
    ///
    /// # Errors
    /// Glass that is gone or has changed, or a rack that cannot be written.
    pub fn book(self, stamp: &Stamp) -> Result<(Booked, Units), Error> {
        let putting = in_place();
        let booked = book::enter(&self.request.rack, &self.cut, &self.request.place, stamp);
        putting.done();
        booked
    }
}

fn read(request: RecutRequest, plan: &Plan, cut: &Cut) -> Result<Work, Error> {
    let asked = &request;
    let mut findings = Vec::new();
    let broken = broken(asked, plan, &mut findings);
    let care = Care::new([&asked.plan, &asked.rack], asked.replace);
    let folder = Folder::examine(&asked.out, Holds::Plan, care);
    if let Err(Findings(folder)) = &folder {
        findings.extend(folder.iter().cloned());
    }
    let mut rack = match Rack::open(&asked.rack) {
        Ok(rack) => rack,
        Err(RackError::Input(Findings(rack))) => {
            findings.extend(rack);
            return Err(Findings(findings).into());
        }
        Err(error) => return Err(error.into()),
    };
    let (true, Ok(folder)) = (findings.is_empty(), folder) else {
        return Err(Findings(findings).into());
    };
    crate::plan::nothing_held(&folder, &asked.out, &asked.rack)?;
    let job = recut::job_of(&plan.job, &broken)?;
    let pieces = job.pieces.iter().map(|piece| piece.cut.area());
    let wanted = Wanted {
        glass: &job.glasses[job.pieces.first().map_or(0, |piece| piece.glass)].code,
        least_area: pieces.fold(f64::INFINITY, f64::min),
    };
    let (stock, state) = rack.stock(&[wanted])?;
    if state.id != cut.made_on.id {
        return Err(another_rack(&asked.rack).into());
    }
    let name = rack.name_of(cut)?;
    let back = rack.came_back(&name)?;
    let own: BTreeSet<String> = back.iter().map(|item| item.stock.tag.clone()).collect();
    let (to_buy, on_hand): (Vec<StockItem>, Vec<StockItem>) =
        stock.items.into_iter().partition(|item| item.count == Count::ToBuy);
    let group = group_of(plan, &job);
    let of_lot = |item: &StockItem| -> bool {
        let Some((_, glass)) = &group else { return true };
        let came_from = |tag: &str| {
            let from = back.iter().find(|kept| kept.stock.tag == item.tag);
            from.is_some_and(|kept| kept.came_from.as_deref() == Some(tag))
        };
        glass.iter().any(|cut| match &cut.lot {
            Some(lot) => item.lot.as_ref() == Some(lot),
            None => came_from(&cut.tag),
        })
    };
    let (mut on_hand, mut other_lots): (Vec<StockItem>, Vec<StockItem>) = on_hand.into_iter().partition(of_lot);
    smallest_first(&mut on_hand, &own);
    smallest_first(&mut other_lots, &own);
    Ok(Work {
        folder,
        job,
        broken,
        on_hand,
        other_lots,
        to_buy,
        own,
        state,
        lot: group.map(|(name, _)| name),
        request,
    })
}

/// The one-lot group of the broken pieces, and the glass that the plan cut it from.
fn group_of(plan: &Plan, job: &Job) -> Option<(String, Vec<StockItem>)> {
    let name = job.pieces.iter().find_map(|piece| piece.one_lot.clone())?;
    let members = |id: &PieceId| -> bool {
        let panels = plan.job.panels.iter().filter(|panel| panel.id == id.panel);
        let mut pieces = panels.flat_map(|panel| &panel.pieces);
        pieces.any(|piece| piece.number == id.number && piece.one_lot.as_ref() == Some(&name))
    };
    let layouts = plan.glasses.iter().flat_map(|glass| &glass.layouts);
    let cut = layouts.filter(|layout| layout.placements.iter().any(|p| members(&p.id)));
    Some((name.clone(), cut.map(|layout| layout.stock.clone()).collect()))
}

/// Offcuts of the plan's own booking first, then other offcuts, then sheets; the smallest first.
fn smallest_first(list: &mut [StockItem], own: &BTreeSet<String>) {
    list.sort_by(|a, b| {
        let place = |item: &StockItem| (item.kind == StockKind::Sheet, !own.contains(&item.tag));
        let area = |item: &StockItem| item.outline.area();
        place(a)
            .cmp(&place(b))
            .then(area(a).total_cmp(&area(b)))
            .then(a.tag.cmp(&b.tag))
    });
}

fn another_rack(rack: &Path) -> Finding {
    Finding {
        file: rack.display().to_string(),
        place: "the whole file".into(),
        found: "another rack than the plan was made on".into(),
        expected: "the rack of that plan".into(),
        hint: "Name the rack with which the plan was made.".into(),
    }
}

/// Which pieces were meant; what is wrong with their names goes to `findings`.
fn broken(asked: &RecutRequest, plan: &Plan, findings: &mut Vec<Finding>) -> Vec<Broken> {
    let mut found: Vec<Broken> = Vec::new();
    let mut refuse = |piece: &str, what: String, expected: &str, hint: String| {
        findings.push(Finding {
            file: "command line".into(),
            place: format!("--piece {piece}"),
            found: what,
            expected: expected.into(),
            hint,
        });
    };
    for typed in &asked.pieces {
        let meant: Vec<&PieceId> = plan
            .pieces
            .iter()
            .map(|p| &p.id)
            .filter(|id| is_meant(id, typed))
            .collect();
        match meant[..] {
            [id] => match found.iter_mut().find(|b| b.id == *id) {
                Some(again) => again.count += 1,
                None => found.push(Broken {
                    id: id.clone(),
                    count: 1,
                }),
            },
            [] => {
                let names: Vec<String> = plan.pieces.iter().map(|p| name(&p.id)).collect();
                let near = nearest_name(typed, names.iter().map(String::as_str));
                let hint = near.map_or_else(String::new, |near| format!("Did you mean {near}? "));
                refuse(
                    typed,
                    "a piece that is not in the plan".into(),
                    "panel and number as on its label, such as T12",
                    hint + "The maps and the piece labels show the names.",
                );
            }
            _ => {
                let names: Vec<String> = meant.iter().map(|id| name(id)).collect();
                refuse(
                    typed,
                    format!("the name of {} pieces", meant.len()),
                    "the name of one piece",
                    format!("One of {}.", names.join(", ")),
                );
            }
        }
    }
    not_together(asked, plan, &found, &mut refuse);
    found
}

/// Refuses pieces that are not recut together: of two glasses, or of a panel and its mirror image.
fn not_together(
    asked: &RecutRequest,
    plan: &Plan,
    found: &[Broken],
    refuse: &mut impl FnMut(&str, String, &str, String),
) {
    let glass = |id: &PieceId| plan.pieces.iter().find(|p| p.id == *id).map(|p| p.glass.clone());
    let glasses: BTreeSet<String> = found.iter().filter_map(|b| glass(&b.id)).collect();
    if glasses.len() > 1 {
        let all: Vec<String> = glasses.into_iter().collect();
        refuse(
            &asked.pieces.join(", "),
            format!("pieces of {}", all.join(" and ")),
            "pieces of one glass",
            "Recut them one glass after the other.".into(),
        );
    }
    let both = |b: &&Broken| {
        found
            .iter()
            .any(|o| o.id.panel == b.id.panel && o.id.mirrored != b.id.mirrored)
    };
    if let Some(broken) = found.iter().find(both) {
        refuse(
            &asked.pieces.join(", "),
            format!("pieces of panel {} and of its mirror image", broken.id.panel),
            "one of the two",
            "Recut them one after the other.".into(),
        );
    }
}

/// A piece's name as one types it.
fn name(id: &PieceId) -> String {
    id.to_string()
}

/// Panel and number with or without anything between them, or the number alone; `m` at the end where it is mirrored.
fn is_meant(id: &PieceId, typed: &str) -> bool {
    let plain = |text: &str| -> String {
        text.chars()
            .filter(|c| c.is_alphanumeric())
            .collect::<String>()
            .to_lowercase()
    };
    let mirrored = if id.mirrored { "m" } else { "" };
    let typed = plain(typed);
    typed == plain(&format!("{}{}{mirrored}", id.panel, id.number))
        || typed == plain(&format!("{}{mirrored}", id.number))
}
