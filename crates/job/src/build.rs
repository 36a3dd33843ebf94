//! From a readable job file to the job: checks between its parts, and the sizes worked out.

mod ranges;
use ranges::{BEND_LENGTHS, CURVE_TOLERANCES, TIGHTEST_CURVES, check_count};
pub(crate) use ranges::{check_settings, check_unique};

use crate::file::{JobFile, PanelFile, PieceFile, YDirection};
use crate::glass;
use crate::outline::{self, Frame};
use crate::shape::{Gaps, NO_GLASS, STAND_IN};
use crate::{Glass, Grain, Impossible, Job, Panel, Piece, PieceId, Report, bevel};
use cullet_findings::did_you_mean;
use cullet_geometry::offset;
use cullet_geometry::path::YAxis;
use std::collections::BTreeSet;

/// The most pieces one job may cut, all copies and spares counted.
pub const MOST_PIECES: u64 = 100_000;

/// Furthest a flattened curve lies outside the drawn one, mm, where the file says nothing.
const CURVE_TOLERANCE: f64 = 0.05;
/// Keep rule, mm, where the file says nothing: over about 6 in goes back to stock (trade newsletter no. 63).
const KEEP: f64 = 150.0;
/// Stretch over which a score's bend is measured, and what may be set, mm (common practice, no published figure).
const BEND_LENGTH: f64 = 25.0;
/// Radius of the tightest curve that is broken along a piece, and what may be set, mm (common practice, no published figure).
const TIGHTEST_CURVE: f64 = 4.0;
/// Most pieces of one panel and longest number of one, as in the job file's schema.
const MOST_LISTED: usize = 20_000;
const MOST_NUMBER: usize = 100;
/// Growth from finished to cut outline, mm, above which a size has been refused already.
const MOST_GROWTH: f64 = 100.0;
/// Direction of a piece's grain where the file says nothing: reeded glass normally stands upright.
const UPRIGHT: f64 = 90.0;

/// Checks what the schema cannot say and works the job out; the job is good when nothing was reported. Of a `choice` pieces
/// that cannot be made are left out.
pub(crate) fn build(report: &mut Report, source: JobFile, gaps: &Gaps, is_choice: bool) -> Job {
    let unit_mm = source.units.mm();
    let frame = Frame {
        unit_mm,
        y: match source.y {
            YDirection::Up => YAxis::Up,
            YDirection::Down => YAxis::Down,
        },
    };
    let settings = &source.settings;
    let curve_tolerance = settings.curve_tolerance.map_or(CURVE_TOLERANCE, |size| size * unit_mm);
    let score_kerf = settings.score_kerf * unit_mm;
    let keep = settings.keep.map_or(KEEP, |size| size * unit_mm);
    let bend_length = settings.breaking.bend_length.map_or(BEND_LENGTH, |size| size * unit_mm);
    let tightest_curve = settings
        .breaking
        .tightest_curve
        .map_or(TIGHTEST_CURVE, |size| size * unit_mm);
    if !gaps.units {
        check_settings(report, settings, unit_mm);
    }
    let curve_tolerance = curve_tolerance.clamp(CURVE_TOLERANCES.0, CURVE_TOLERANCES.1);

    check_unique(
        report,
        "",
        "glass",
        source.glasses.iter().map(|glass| glass.code.as_str()),
    );
    let glasses: Vec<Glass> = source
        .glasses
        .iter()
        .map(|glass| Glass {
            layout: glass.layout.or(settings.layout).unwrap_or_default(),
            ..glass::check(report, glass, unit_mm, !gaps.units)
        })
        .collect();

    check_unique(report, "", "panel", source.panels.iter().map(|panel| panel.id.as_str()));
    check_count(report, &source.panels);
    check_unique(
        report,
        "",
        "choice",
        source.choices.iter().map(|choice| choice.name.as_str()),
    );
    if !gaps.glass_codes && gaps.glasses.is_empty() {
        source.choices.iter().for_each(|choice| choice.check(&source, report));
    }
    let shop = Shop {
        frame,
        curve_tolerance,
        glasses: &glasses,
        gaps,
    };
    let written: usize = source.panels.iter().map(|panel| panel.pieces.len()).sum();
    let is_workable = written as u64 <= MOST_PIECES;
    let (mut pieces, mut impossible) = (vec![], vec![]);
    for panel in source.panels.iter().filter(|_| is_workable) {
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
        check_unique(
            report,
            &place,
            "piece",
            panel.pieces.iter().map(|piece| piece.number.as_str()),
        );
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
        score_kerf,
        curve_tolerance,
        keep,
        credit_rate: settings.credit_rate,
        sharpest_turn_deg: settings.breaking.sharpest_turn,
        bend_length: bend_length.clamp(BEND_LENGTHS.0, BEND_LENGTHS.1),
        tightest_curve: tightest_curve.clamp(TIGHTEST_CURVES.0, TIGHTEST_CURVES.1),
        pull_margin_deg: settings.breaking.pull_margin,
        panels: panels.collect(),
        source: without(source, &impossible),
        glasses,
        pieces,
        impossible,
        notes: vec![],
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

/// What every piece of the job is worked out with.
struct Shop<'a> {
    frame: Frame,
    curve_tolerance: f64,
    glasses: &'a [Glass],
    gaps: &'a Gaps,
}

impl Shop<'_> {
    /// The piece as drawn and as its mirror image, as far as panels of either kind are made; `faults` is for what keeps it from
    /// being made of this glass.
    fn work_out(&self, report: &mut Report, faults: &mut Report, panel: &PanelFile, piece: &PieceFile) -> Vec<Piece> {
        let place = format!("{}, {}", named("panel", &panel.id), named("piece", &piece.number));
        let glass = self.find_glass(report, &place, &piece.glass);
        // A piece without either, or with a shape that could not be drawn, has been reported.
        let is_drawn = piece.shape.is_none() && !piece.outline.is_none();
        let finished = is_drawn
            .then(|| outline::read(report, &place, &piece.outline, self.frame, self.curve_tolerance))
            .flatten();
        let Some(index) = glass else {
            return vec![];
        };
        let glass = &self.glasses[index];
        if glass.grain == Grain::None && piece.grain.is_some() {
            report.add(
                format!("{place}, field \"grain\""),
                format!("a grain direction, but glass {} has no grain", glass.code),
                "a grain direction only for glass with a grain",
                "Take it out, or give the glass its grain.",
            );
        }
        let bevel = piece.bevel.as_ref().filter(|_| !self.gaps.units).map(|bevel| {
            bevel::check(
                faults,
                &place,
                bevel,
                self.frame.unit_mm,
                glass.thickness,
                finished.as_ref(),
            )
        });
        let Some(finished) = finished else {
            return vec![];
        };
        let grain_deg = piece.grain.unwrap_or(UPRIGHT).rem_euclid(360.0);
        let growth = glass.grind_allowance;
        let made = |mirrored: bool, panels: u32| {
            let finished = if mirrored {
                finished.mirrored()
            } else {
                finished.clone()
            };
            Piece {
                id: PieceId {
                    panel: panel.id.clone(),
                    number: piece.number.clone(),
                    mirrored,
                },
                glass: index,
                cut: if growth > 0.0 && growth < MOST_GROWTH {
                    offset::grow(&finished, growth)
                } else {
                    finished.clone()
                },
                finished,
                grain_deg: if mirrored {
                    (180.0 - grain_deg).rem_euclid(360.0)
                } else {
                    grain_deg
                },
                may_turn_over: glass.may_turn_over && bevel.is_none(),
                bevel,
                one_lot: piece.one_lot.clone(),
                quantity: piece.quantity.saturating_mul(panels),
                spares: piece.spares.saturating_mul(panels),
            }
        };
        [(false, panel.quantity), (true, panel.mirrored_quantity)]
            .into_iter()
            .filter(|(_, panels)| *panels > 0)
            .map(|(mirrored, panels)| made(mirrored, panels))
            .collect()
    }

    fn find_glass(&self, report: &mut Report, place: &str, code: &str) -> Option<usize> {
        let found = self.glasses.iter().position(|glass| glass.code == code);
        let is_reported = code == NO_GLASS || self.gaps.glass_codes || self.gaps.glasses.contains(code);
        if found.is_none() && !is_reported {
            let codes = self.glasses.iter().map(|glass| glass.code.as_str());
            // Glasses with faults of their own are left out of the list, but not of what the user wrote.
            let codes = codes.chain(self.gaps.glasses.iter().map(String::as_str));
            let near = did_you_mean(code, codes.clone());
            report.add(
                format!("{place}, field \"glass\""),
                format!("the unknown glass \"{code}\""),
                "the code of a glass of this job",
                format!("{near}The glasses are: {}.", codes.collect::<Vec<_>>().join(", ")),
            );
        }
        found
    }
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
