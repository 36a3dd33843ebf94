//! `cullet recut`: glass for a piece that broke.

use crate::arguments::RecutArguments;
use crate::folder::{Folder, Holds};
use crate::writing::{Care, in_place};
use crate::{Exit, Session};
use cullet_job::{Finding, Findings, Job, PieceId, Units, measure, nearest_name};
use cullet_plan::model::{Layout, Plan};
use cullet_plan::recut::{self, Broken};
use cullet_rack::{Count, Cut, Rack, RackError, RackState, StockItem, StockKind, Wanted};
use std::collections::BTreeSet;

pub(super) fn recut(asked: &RecutArguments, session: &mut Session<'_>) -> Exit {
    let (plan, cut) = match super::book::read_verified(&asked.plan, session) {
        Ok(read) => read,
        Err(exit) => return exit,
    };
    let (work, folder) = match read(asked, &plan, &cut) {
        Ok(read) => read,
        Err(error) => return super::rack_error(&error, session),
    };
    let asked_for = |item: &&StockItem| asked.from.as_ref().is_none_or(|tag| item.tag == *tag);
    let on_hand: Vec<&StockItem> = work.on_hand.iter().filter(asked_for).collect();
    let found = recut::first_that_do(&work.job, &on_hand, asked.others.saturating_add(1));
    let Some((_, plan)) = found.first() else {
        session.say(&none_does(asked, &work));
        return Exit::Unplaced;
    };
    session.print(&work.in_words());
    session.print(&table(&work, &found));
    if asked.look {
        return Exit::Done;
    }
    let plan = Plan {
        rack: Some(work.state.clone()),
        ..plan.clone()
    };
    write_and_book(asked, &plan, folder, session)
}

/// What was asked for, and the glass that may be cut.
struct Work {
    job: Job,
    broken: Vec<Broken>,
    /// Glass on hand that the lot allows, in the order it is tried.
    on_hand: Vec<StockItem>,
    /// Glass on hand of another lot.
    other_lots: Vec<StockItem>,
    to_buy: Vec<StockItem>,
    /// Tags of what came back from the plan itself.
    own: BTreeSet<String>,
    state: RackState,
    /// Why only some lots are allowed.
    lot: Option<String>,
}

impl Work {
    /// The unit of the job.
    fn units(&self) -> Units {
        self.job.source.units
    }

    fn in_words(&self) -> String {
        let lines = self.broken.iter().map(|broken| {
            let id = &broken.id;
            let piece = self.job.pieces.iter().find(|piece| piece.id == *id);
            let (size, glass) = piece.map_or((String::new(), ""), |piece| {
                let bounds = piece.cut.bounds();
                let size = measure::size(bounds.width(), bounds.height(), self.units());
                let size = format!("{size} as cut");
                (size, self.job.glasses[piece.glass].code.as_str())
            });
            let times = if broken.count > 1 {
                format!(", {} times", broken.count)
            } else {
                String::new()
            };
            format!("{id}{times}: {glass}, {size}\n")
        });
        lines.collect()
    }
}

fn read(asked: &RecutArguments, plan: &Plan, cut: &Cut) -> Result<(Work, Folder), RackError> {
    let mut findings = Vec::new();
    let broken = broken(asked, plan, &mut findings);
    let care = Care::new([&asked.plan, &asked.file.path], asked.replace);
    let folder = Folder::examine(&asked.out, Holds::Plan, care);
    if let Err(Findings(folder)) = &folder {
        findings.extend(folder.iter().cloned());
    }
    let mut rack = match Rack::open(&asked.file.path) {
        Ok(rack) => rack,
        Err(RackError::Input(Findings(rack))) => {
            findings.extend(rack);
            return Err(RackError::Input(Findings(findings)));
        }
        Err(error) => return Err(error),
    };
    let (true, Ok(folder)) = (findings.is_empty(), folder) else {
        return Err(RackError::Input(Findings(findings)));
    };
    super::plan::nothing_held(&folder, &asked.out, &asked.file.path)?;
    let job = recut::job_of(plan, &broken).map_err(RackError::Input)?;
    let pieces = job.pieces.iter().map(|piece| piece.cut.area());
    let wanted = Wanted {
        glass: &job.glasses[job.pieces.first().map_or(0, |piece| piece.glass)].code,
        least_area: pieces.fold(f64::INFINITY, f64::min),
    };
    let (stock, state) = rack.stock(&[wanted])?;
    if state.id != cut.made_on.id {
        return Err(RackError::Input(Findings(vec![Finding {
            file: asked.file.path.display().to_string(),
            place: "the whole file".into(),
            found: "another rack than the plan was made on".into(),
            expected: "the rack of that plan".into(),
            hint: "Name the rack with which the plan was made.".into(),
        }])));
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
    for list in [&mut on_hand, &mut other_lots] {
        list.sort_by(|a, b| {
            let place = |item: &StockItem| (item.kind == StockKind::Sheet, !own.contains(&item.tag));
            let area = |item: &StockItem| item.outline.area();
            place(a)
                .cmp(&place(b))
                .then(area(a).total_cmp(&area(b)))
                .then(a.tag.cmp(&b.tag))
        });
    }
    let work = Work {
        job,
        broken,
        on_hand,
        other_lots,
        to_buy,
        own,
        state,
        lot: group.map(|(name, _)| name),
    };
    Ok((work, folder))
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

/// Which pieces were meant; what is wrong with their names goes to `findings`.
fn broken(asked: &RecutArguments, plan: &Plan, findings: &mut Vec<Finding>) -> Vec<Broken> {
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
    found
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

/// What does; the first is taken.
fn table(work: &Work, found: &[(&StockItem, Plan)]) -> String {
    let units = work.units();
    let (length, area) = (measure::lengths(units), measure::areas(units));
    let places = if area.one > 1e5 { 4 } else { 3 };
    let mut rows = vec![
        [
            "",
            "tag",
            "kind",
            "place",
            &format!("size {}", length.sign),
            &format!("returned {}", area.sign),
            &format!("largest {}", length.sign),
            "lot",
        ]
        .map(str::to_owned),
    ];
    for (i, (item, plan)) in found.iter().enumerate() {
        let size = |width: f64, height: f64| measure::down_size(width, height, units);
        let bounds = item.outline.bounds();
        let returned = || layouts(plan).flat_map(|layout| &layout.returned);
        let largest = returned().max_by(|a, b| a.area().total_cmp(&b.area()));
        let from = match (work.own.contains(&item.tag), item.kind) {
            (true, _) => "own offcut",
            (false, StockKind::Offcut) => "offcut",
            (false, StockKind::Sheet) => "sheet",
        };
        rows.push([
            if i == 0 { "take" } else { "or" }.to_owned(),
            item.tag.clone(),
            from.to_owned(),
            item.place.clone(),
            size(bounds.width(), bounds.height()),
            format!("{:.places$}", returned().fold(0.0, |sum, o| sum + o.area()) / area.one),
            largest.map_or_else(|| "none".to_owned(), |o| size(o.bounds().width(), o.bounds().height())),
            item.lot.clone().unwrap_or_default(),
        ]);
    }
    let width = |c: usize| rows.iter().map(|row| row[c].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..rows[0].len()).map(width).collect();
    let lines = rows.iter().map(|row| {
        let cells: Vec<String> = row.iter().zip(&widths).map(|(cell, w)| format!("{cell:<w$}")).collect();
        cells.join("  ").trim_end().to_owned() + "\n"
    });
    lines.collect()
}

/// Why nothing does, which rule would have to give, and what to buy.
fn none_does(asked: &RecutArguments, work: &Work) -> String {
    let mut text = match &asked.from {
        Some(tag) => format!("{tag} has no room for it with its allowances, grain and lot, or is held"),
        None => "no glass on hand gives it with its allowances, grain and lot".to_owned(),
    };
    if asked.from.is_some() {
        return text + "; without --from the smallest that does is taken";
    }
    let of_lot: Vec<&StockItem> = work.on_hand.iter().collect();
    let others: Vec<&StockItem> = work.other_lots.iter().collect();
    if let (Some(group), Some((item, _))) = (&work.lot, recut::first_that_do(&work.job, &others, 1).pop()) {
        let lot = item
            .lot
            .as_deref()
            .map_or_else(String::new, |lot| format!(", lot {lot}"));
        text += &format!(
            "\n  If the group \"{group}\" may be of two lots: {}{lot}, at {}",
            item.tag,
            place(item)
        );
    }
    if let Some((item, off)) = recut::with_grain_off(&work.job, &of_lot) {
        text += &format!(
            "\n  If its grain may lie {off:.1}° off: {}, at {}",
            item.tag,
            place(item)
        );
    }
    let mut buy: Vec<&StockItem> = work.to_buy.iter().collect();
    buy.sort_by(|a, b| a.outline.area().total_cmp(&b.outline.area()).then(a.tag.cmp(&b.tag)));
    match recut::first_that_do(&work.job, &buy, 1).pop() {
        Some((item, plan)) => {
            let bounds = item.outline.bounds();
            let money = plan.figures.pulled_cost;
            let currency = &work.job.source.settings.currency;
            let price = format!("{money:.2} {currency}");
            text += &format!(
                "\n  To buy: {}, {}, {}",
                item.tag,
                measure::short_size(bounds.width(), bounds.height(), 0, work.units()),
                price.trim_end()
            );
            if work.lot.is_some() {
                text += "; ask for the same lot";
            }
        }
        None => text += "\n  To buy: no sheet on offer in the rack gives it; enter one that does (cullet rack add)",
    }
    text
}

fn place(item: &StockItem) -> &str {
    if item.place.is_empty() {
        "no recorded place"
    } else {
        &item.place
    }
}

fn layouts(plan: &Plan) -> impl Iterator<Item = &Layout> {
    plan.glasses.iter().flat_map(|glass| &glass.layouts)
}

/// Writes the map and what goes with it, then books it: where the rack refuses, the files say what was meant.
fn write_and_book(asked: &RecutArguments, plan: &Plan, mut folder: Folder, session: &mut Session<'_>) -> Exit {
    if let Err(faults) = super::plan::verified(plan) {
        session.say(&"internal fault: the recut fails its check; nothing was written. Please report it with the plan.");
        faults.iter().for_each(|fault| session.say(fault));
        return Exit::Internal;
    }
    let files = match super::plan::files(plan, &[], &[], asked.tables.signs(), &std::collections::BTreeMap::new()) {
        Ok(files) => files,
        Err(error) => {
            session.say(&format_args!(
                "internal fault: {error}; nothing was written. Please report it with the plan."
            ));
            return Exit::Internal;
        }
    };
    if let Err(error) = folder.begin().and_then(|()| folder.write(&files)) {
        return super::not_written(&error, session);
    }
    session.print(&format!(
        "Written to {}: the map (sheet-1.svg), its scores and breaks, plan.json\n",
        asked.out.display()
    ));
    let Some(cut) = super::book::cut(plan) else {
        return Exit::Internal;
    };
    let putting = in_place();
    let booked = super::book::enter(&asked.file.path, &cut, asked.place.trim(), session);
    putting.done();
    match booked {
        Ok((booked, units)) => {
            session.done();
            session.print(&super::book::in_words(&booked, units));
            session.print(&super::plan::cautions(plan));
            Exit::Done
        }
        Err(error) => {
            session.say(&"the map was written, but its glass is not booked: recut again");
            super::rack_error(&error, session)
        }
    }
}
