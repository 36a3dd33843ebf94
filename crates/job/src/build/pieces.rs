//! A piece of the file worked out: its outlines in mm, as drawn and mirrored, and what keeps it from being made.

use super::named;
use crate::file::{PanelFile, PieceFile};
use crate::outline::{self, Frame};
use crate::shape::{Gaps, NO_GLASS};
use crate::{Glass, Grain, Piece, PieceId, Report, bevel};
use cullet_findings::did_you_mean;
use cullet_geometry::{Outline, offset};

/// Growth from finished to cut outline, mm, above which a size has been refused already.
const MOST_GROWTH: f64 = 100.0;
/// Direction of a piece's grain where the file says nothing: reeded glass normally stands upright.
const UPRIGHT: f64 = 90.0;

/// What every piece of the job is worked out with.
pub(super) struct Shop<'a> {
    pub(super) frame: Frame,
    pub(super) curve_tolerance: f64,
    pub(super) glasses: &'a [Glass],
    pub(super) gaps: &'a Gaps,
}

impl Shop<'_> {
    /// The piece as drawn and as its mirror image, as far as panels of either kind are made; `faults` is for what keeps it from
    /// being made of this glass.
    pub(super) fn work_out(
        &self,
        report: &mut Report,
        faults: &mut Report,
        panel: &PanelFile,
        piece: &PieceFile,
    ) -> Vec<Piece> {
        let place = format!("{}, {}", named("panel", &panel.id), named("piece", &piece.number));
        let index = self.find_glass(report, &place, &piece.glass);
        // A piece without either, or with a shape that could not be drawn, has been reported.
        let is_drawn = piece.shape.is_none() && !piece.outline.is_none();
        let finished = is_drawn
            .then(|| outline::read(report, &place, &piece.outline, self.frame, self.curve_tolerance))
            .flatten();
        let Some(index) = index else {
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
        let unit_mm = self.frame.unit_mm;
        let bevel = piece.bevel.as_ref().filter(|_| !self.gaps.units);
        let bevel = bevel.map(|bevel| bevel::check(faults, &place, bevel, unit_mm, glass.thickness, finished.as_ref()));
        let Some(finished) = finished else {
            return vec![];
        };
        let drawn = Piece {
            id: PieceId {
                panel: panel.id.clone(),
                number: piece.number.clone(),
                mirrored: false,
            },
            glass: index,
            cut: grown(&finished, glass.grind_allowance),
            finished,
            grain_deg: piece.grain.unwrap_or(UPRIGHT).rem_euclid(360.0),
            may_turn_over: glass.may_turn_over && bevel.is_none(),
            bevel,
            one_lot: piece.one_lot.clone(),
            quantity: piece.quantity.saturating_mul(panel.quantity),
            spares: piece.spares.saturating_mul(panel.quantity),
        };
        let mirrored = (panel.mirrored_quantity > 0).then(|| Piece {
            quantity: piece.quantity.saturating_mul(panel.mirrored_quantity),
            spares: piece.spares.saturating_mul(panel.mirrored_quantity),
            ..mirror_image(&drawn, glass.grind_allowance)
        });
        let drawn = (panel.quantity > 0).then_some(drawn);
        drawn.into_iter().chain(mirrored).collect()
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

/// The cut outline of a finished one.
fn grown(finished: &Outline, growth: f64) -> Outline {
    if growth > 0.0 && growth < MOST_GROWTH {
        offset::grow(finished, growth)
    } else {
        finished.clone()
    }
}

fn mirror_image(drawn: &Piece, growth: f64) -> Piece {
    let finished = drawn.finished.mirrored();
    Piece {
        id: PieceId {
            mirrored: true,
            ..drawn.id.clone()
        },
        cut: grown(&finished, growth),
        finished,
        grain_deg: (180.0 - drawn.grain_deg).rem_euclid(360.0),
        ..drawn.clone()
    }
}
