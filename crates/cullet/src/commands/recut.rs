//! `cullet recut`: glass for a piece that broke.

use super::refused;
use crate::arguments::RecutArguments;
use crate::{Exit, Session};
use cullet_job::measure;
use cullet_model::Plan;
use cullet_rack::{StockItem, StockKind};
use cullet_workshop::Error;
use cullet_workshop::plan::layouts;
use cullet_workshop::recut::{RecutRequest, Work};

pub(super) fn recut(asked: &RecutArguments, session: &mut Session<'_>) -> Exit {
    cut_again(asked, session).unwrap_or_else(|error| refused(&error, session))
}

fn cut_again(asked: &RecutArguments, session: &mut Session<'_>) -> Result<Exit, Error> {
    let work = Work::read(RecutRequest {
        plan: asked.plan.clone(),
        pieces: asked.pieces.clone(),
        rack: asked.file.path.clone(),
        from: asked.from.clone(),
        out: asked.out.clone(),
        replace: asked.replace,
        place: asked.place.clone(),
        signs: asked.tables.signs(),
    })?;
    let found = work.first_that_do(asked.others.saturating_add(1));
    let Some((_, plan)) = found.first() else {
        session.say(&none_does(&work));
        return Ok(Exit::Unplaced);
    };
    session.print(&pieces(&work));
    session.print(&table(&work, &found));
    if asked.look {
        return Ok(Exit::Done);
    }
    let plan = plan.clone();
    write_and_book(work, &plan, session)
}

/// The pieces to cut again, a line each.
fn pieces(work: &Work) -> String {
    let job = work.job();
    let lines = work.broken().iter().map(|broken| {
        let id = &broken.id;
        let piece = job.pieces.iter().find(|piece| piece.id == *id);
        let (size, glass) = piece.map_or((String::new(), ""), |piece| {
            let bounds = piece.cut.bounds();
            let size = measure::size(bounds.width(), bounds.height(), work.units());
            let size = format!("{size} as cut");
            (size, job.glasses[piece.glass].code.as_str())
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
        let from = match (work.is_own(&item.tag), item.kind) {
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
fn none_does(work: &Work) -> String {
    if let Some(tag) = &work.request().from {
        return format!(
            "{tag} has no room for it with its allowances, grain and lot, or is held; without --from the smallest that does is taken"
        );
    }
    let mut text = "no glass on hand gives it with its allowances, grain and lot".to_owned();
    let instead = work.instead();
    if let Some((group, item)) = instead.other_lot {
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
    if let Some((item, off)) = instead.grain_off {
        text += &format!(
            "\n  If its grain may lie {off:.1}° off: {}, at {}",
            item.tag,
            place(item)
        );
    }
    match instead.buy {
        Some((item, money)) => {
            let bounds = item.outline.bounds();
            let price = format!("{money:.2} {}", work.job().source.settings.currency);
            text += &format!(
                "\n  To buy: {}, {}, {}",
                item.tag,
                measure::short_size(bounds.width(), bounds.height(), 0, work.units()),
                price.trim_end()
            );
            if work.lot().is_some() {
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

/// Writes the map and what goes with it, then books it: where the rack refuses, the files say what was meant.
fn write_and_book(work: Work, plan: &Plan, session: &mut Session<'_>) -> Result<Exit, Error> {
    let out = work.request().out.display().to_string();
    let to_book = work.write(plan)?;
    session.print(&format!(
        "Written to {out}: the map (sheet-1.svg), its scores and breaks, plan.json\n"
    ));
    match to_book.book(&session.stamp()) {
        Ok((booked, units)) => {
            session.done();
            session.print(&super::book::in_words(&booked, units));
            session.print(&super::plan::cautions(plan));
            Ok(Exit::Done)
        }
        Err(error) => {
            session.say(&"the map was written, but its glass is not booked: recut again");
            Err(error)
        }
    }
}
