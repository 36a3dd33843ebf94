//! What a layout refers to, looked up once: the pieces, the glass, the number of maps.

use cullet_geometry::Outline;
use cullet_job::{FaceFile, GlassFile, GrainFile, PieceId, Units};
use cullet_model::{Layout, Placement, Plan, PlanPiece};
use std::collections::BTreeMap;

/// A placement with its piece, as it lies on the sheet.
pub(crate) struct Placed<'a> {
    pub(crate) placement: &'a Placement,
    pub(crate) piece: &'a PlanPiece,
    /// The cut outline in the sheet's frame.
    pub(crate) cut: Outline,
}

impl Placed<'_> {
    /// Direction of the piece's grain on the sheet, degrees, where it has one.
    pub(crate) fn grain_deg(&self) -> Option<f64> {
        self.piece.grain_deg.map(|d| self.placement.pose.turn_direction(d))
    }

    /// The piece by its name and what is special, as the breaks and whoever reads the file instead of seeing it have it.
    pub(crate) fn words(&self) -> String {
        let mut words = self.placement.id.to_string();
        if self.placement.copy > 1 {
            words.push_str(&format!(" ({})", self.placement.copy));
        }
        if self.placement.spare {
            words.push_str(", spare");
        }
        if self.placement.pose.turned_over {
            words.push_str(", cut turned over");
        }
        if self.piece.bevelled {
            words.push_str(", bevelled");
        }
        words
    }
}

/// The pieces of `layout` in its order. A placement whose piece the plan does not list is left out; a verified plan has
/// none.
pub(crate) fn placed<'a>(plan: &'a Plan, layout: &'a Layout) -> Vec<Placed<'a>> {
    let pieces: BTreeMap<&PieceId, &PlanPiece> = plan.pieces.iter().map(|p| (&p.id, p)).collect();
    layout
        .placements
        .iter()
        .filter_map(|placement| {
            let piece = *pieces.get(&placement.id)?;
            let cut = piece.cut.posed(&placement.pose);
            Some(Placed { placement, piece, cut })
        })
        .collect()
}

/// The glass of a layout as the job file has it.
pub(crate) fn glass<'a>(plan: &'a Plan, layout: &Layout) -> Option<&'a GlassFile> {
    plan.job.glasses.iter().find(|g| g.code == layout.stock.glass)
}

/// Thickness in mm, whatever unit the job file is in.
pub(crate) fn thickness_mm(plan: &Plan, glass: &GlassFile) -> f64 {
    match plan.job.units {
        Units::Millimetres => glass.thickness,
        Units::Inches => glass.thickness * 25.4,
    }
}

/// Grain of the layout's glass; none where the glass is unknown.
pub(crate) fn grain(plan: &Plan, layout: &Layout) -> GrainFile {
    glass(plan, layout).map_or(GrainFile::None, |g| g.grain)
}

/// Whether the glass is scored on its show face.
pub(crate) fn scored_on_show_face(plan: &Plan, layout: &Layout) -> bool {
    glass(plan, layout).is_none_or(|g| g.scored_face == FaceFile::Show)
}

/// How many sheet maps the plan has.
pub(crate) fn map_count(plan: &Plan) -> usize {
    plan.glasses.iter().map(|g| g.layouts.len()).sum()
}

/// The `n`-th offcut that goes back from a map, from 0, as the map, the breaks and the booking call it: `1a`. The rack gives it its tag
/// when the plan is booked.
pub(crate) fn offcut_name(layout: &Layout, n: usize) -> String {
    crate::offcut_name(layout.number, n)
}

/// The tag of the glass pulled, with the copy where the stock line has several.
pub(crate) fn stock_tag(layout: &Layout) -> String {
    match layout.stock.count {
        cullet_rack::Count::OnHand(1) => layout.stock.tag.clone(),
        _ => format!("{}.{}", layout.stock.tag, layout.copy),
    }
}
