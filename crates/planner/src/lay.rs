//! Layouts from where the search put the pieces.

use super::glass::GlassPlanner;
use super::scored;
use super::stock::Candidate;
use crate::leftover;
use cullet_breakout::{Breaking, Style};
use cullet_geometry::Outline;
use cullet_model::figures::Figures;
use cullet_model::{Layout, Placement};
use cullet_search::Placed;

impl GlassPlanner<'_> {
    /// A layout for each sheet and offcut that is used, with what goes back, but without a breaking order yet.
    pub(super) fn layouts(&self, placed: &[Placed]) -> Vec<Layout> {
        let mut next_copy = vec![0u32; self.pieces.len()];
        (0..self.candidates.len())
            .filter(|c| placed.iter().any(|p| p.container == *c))
            .map(|c| {
                let own = placed.iter().filter(|p| p.container == c);
                let placements = own.map(|p| {
                    let piece = self.pieces[p.item];
                    next_copy[p.item] += 1;
                    Placement {
                        id: piece.id.clone(),
                        copy: next_copy[p.item],
                        spare: next_copy[p.item] > piece.quantity,
                        pose: self.candidates[c].to_sheet(p.pose),
                    }
                });
                self.layout(&self.candidates[c], placements.collect())
            })
            .collect()
    }

    pub(super) fn layout(&self, candidate: &Candidate, placements: Vec<Placement>) -> Layout {
        let pose_of = |placement: &Placement| -> Option<Outline> {
            let piece = self.pieces.iter().find(|p| p.id == placement.id)?;
            Some(piece.cut.posed(&placement.pose))
        };
        let cut: Vec<Outline> = placements.iter().filter_map(pose_of).collect();
        let item = candidate.item;
        let (strip, kerf) = (self.glass.narrowest_strip, self.job.score_kerf);
        let scored_off = scored::most_off(&cut, kerf, self.glass.ground_off());
        Layout {
            number: 0,
            stock: item.clone(),
            copy: candidate.copy,
            edge_trim: self.glass.edge_trim,
            clearance: strip + kerf,
            // The strip between the run and what is scored round the pieces.
            returned: leftover::returned(&item.outline, &item.flaws, &cut, strip + scored_off, self.job.keep),
            placements,
            style: Style::Shaped,
            breaking: Breaking { steps: vec![] },
            figures: Figures::default(),
        }
    }
}
