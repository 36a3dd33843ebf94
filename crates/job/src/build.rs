//! From a readable job file to the job: checks between its parts, and the sizes worked out.

mod pieces;
mod ranges;
mod sizes;
use pieces::Shop;
pub(crate) use ranges::check_unique;
use ranges::{check_count, check_names};
pub(crate) use sizes::Sizes;

use crate::file::{JobFile, PanelFile, YDirection};
use crate::glass;
use crate::outline::Frame;
use crate::shape::{Gaps, STAND_IN};
use crate::{Glass, Impossible, Job, Panel, Report};
use cullet_geometry::path::YAxis;
use std::collections::BTreeSet;

/// The most pieces one job may cut, all copies and spares counted.
pub const MOST_PIECES: u64 = 100_000;

/// Most pieces of one panel and longest number of one, as in the job file's schema.
const MOST_LISTED: usize = 20_000;
const MOST_NUMBER: usize = 100;

/// Checks what the schema cannot say and works the job out; the job is good when nothing was reported. Of a `choice` pieces
/// that cannot be made are left out.
pub(crate) fn build(report: &mut Report, source: JobFile, gaps: &Gaps, is_choice: bool) -> Job {
    let frame = frame(&source);
    let settings = &source.settings;
    let sizes = Sizes::of(settings, frame.unit_mm);
    if !gaps.units {
        sizes.check(report, frame.unit_mm);
    }
    let sizes = sizes.within_ranges();
    check_names(report, &source);
    check_count(report, &source.panels);
    if !gaps.glass_codes && gaps.glasses.is_empty() {
        source.choices.iter().for_each(|choice| choice.check(&source, report));
    }
    let glasses = source.glasses.iter().map(|glass| Glass {
        layout: glass.layout.or(settings.layout).unwrap_or_default(),
        ..glass::check(report, glass, frame.unit_mm, !gaps.units)
    });
    let glasses: Vec<Glass> = glasses.collect();
    let shop = Shop {
        frame,
        curve_tolerance: sizes.curve_tolerance,
        glasses: &glasses,
        gaps,
    };
    let written: usize = source.panels.iter().map(|panel| panel.pieces.len()).sum();
    let is_workable = written as u64 <= MOST_PIECES;
    let (mut pieces, mut impossible) = (vec![], vec![]);
    for panel in source.panels.iter().filter(|_| is_workable) {
        check_panel(report, panel);
        for piece in &panel.pieces {
            let mut faults = Report::new(report.file());
            let made = shop.work_out(report, &mut faults, panel, piece);
            match faults.findings().first() {
                Some(why) if is_choice => impossible.extend(made.into_iter().map(|piece| Impossible {
                    id: piece.id,
                    quantity: piece.quantity,
                    why: why.clone(),
                })),
                _ => {
                    pieces.extend(made);
                    report.extend(faults.into_findings());
                }
            }
        }
    }
    let panels = source.panels.iter().map(|panel| Panel {
        id: panel.id.clone(),
        name: panel.name.clone(),
        quantity: panel.quantity,
        mirrored_quantity: panel.mirrored_quantity,
    });
    Job {
        name: source.name.clone(),
        score_kerf: sizes.score_kerf,
        curve_tolerance: sizes.curve_tolerance,
        keep: sizes.keep,
        credit_rate: settings.credit_rate,
        sharpest_turn_deg: settings.breaking.sharpest_turn,
        bend_length: sizes.bend_length,
        tightest_curve: sizes.tightest_curve,
        pull_margin_deg: settings.breaking.pull_margin,
        panels: panels.collect(),
        source: without(source, &impossible),
        glasses,
        pieces,
        impossible,
        notes: vec![],
    }
}

fn frame(source: &JobFile) -> Frame {
    Frame {
        unit_mm: source.units.mm(),
        y: match source.y {
            YDirection::Up => YAxis::Up,
            YDirection::Down => YAxis::Down,
        },
    }
}

/// The job file without the pieces that cannot be made, nor panels of which nothing is left.
fn without(mut source: JobFile, impossible: &[Impossible]) -> JobFile {
    let names = impossible
        .iter()
        .map(|one| (one.id.panel.clone(), one.id.number.clone()));
    let names: BTreeSet<(String, String)> = names.collect();
    if names.is_empty() {
        return source;
    }
    for panel in &mut source.panels {
        let (id, pieces) = (&panel.id, &mut panel.pieces);
        pieces.retain(|piece| !names.contains(&(id.clone(), piece.number.clone())));
    }
    source.panels.retain(|panel| !panel.pieces.is_empty());
    source
}

/// What the schema asks of a list of pieces, of pieces that come from a drawing.
pub(crate) fn check_drawn(report: &mut Report, panel: &PanelFile) {
    let place = named("panel", &panel.id);
    if panel.pieces.len() > MOST_LISTED {
        report.add(
            format!("{place}, drawing"),
            format!("a drawing of {} pieces", panel.pieces.len()),
            format!("at most {MOST_LISTED} pieces in a panel"),
            "Make several panels of it.",
        );
    }
    for piece in &panel.pieces {
        let length = piece.number.chars().count();
        if length > MOST_NUMBER {
            let start: String = piece.number.chars().take(20).collect();
            report.add(
                format!("{place}, piece \"{start} …\""),
                format!("a number of {length} characters in the drawing"),
                format!("at most {MOST_NUMBER} characters"),
                "Shorten the text in the drawing.",
            );
        }
    }
}

/// Checks a panel but for its pieces one by one.
fn check_panel(report: &mut Report, panel: &PanelFile) {
    let place = named("panel", &panel.id);
    if panel.quantity == 0 && panel.mirrored_quantity == 0 {
        report.add(
            &place,
            "quantity 0 and mirrored_quantity 0",
            "at least one panel to make",
            "Put in how many are ordered, or take the panel out.",
        );
    }
    check_has_pieces(report, &place, panel);
    let numbers = panel.pieces.iter().map(|piece| piece.number.as_str());
    check_unique(report, &place, "piece", numbers);
}

/// A panel has its pieces from a drawing or from the list, one of them.
fn check_has_pieces(report: &mut Report, place: &str, panel: &PanelFile) {
    match (&panel.drawing, panel.pieces.is_empty()) {
        (Some(drawing), true) if report.findings().is_empty() => report.add(
            format!("{place}, drawing"),
            format!("the drawing \"{}\", which has not been read", drawing.file),
            "a job file with its drawings beside it",
            "Give the job file itself to the program, not text from it.",
        ),
        (Some(_), false) => report.add(
            place,
            "a drawing and a list of pieces",
            "one of them",
            "Take one out. What a drawing cannot say of its pieces goes into the drawing's \"details\".",
        ),
        // Pieces that had to be taken out have been named.
        (None, true) if !report.findings().iter().any(|finding| finding.place.starts_with(place)) => report.add(
            place,
            "neither pieces nor a drawing",
            "the panel's pieces",
            "List its pieces, or name its drawing.",
        ),
        _ => {}
    }
}

fn id_word(what: &str) -> &'static str {
    match what {
        "glass" => "code",
        "panel" => "id",
        "choice" | "came" => "name",
        _ => "number",
    }
}

/// `panel S`, or where the panel stands when its id is missing.
pub(crate) fn named(what: &str, id: &str) -> String {
    match id.strip_prefix(STAND_IN) {
        Some(place) => place.to_owned(),
        None => format!("{what} {id}"),
    }
}
