//! What tells one plan from another: what it cuts, not how its file is set or who searched for how long.

use cullet_geometry::Outline;
use cullet_model::Plan;
use cullet_rack::Count;
use sha2::{Digest, Sha256};

/// Positions and turns that differ by less are the same cut, mm and degrees.
const SAME: f64 = 1e-3;

/// 16 hexadecimal digits of a SHA-256 (FIPS 180-4) of the rack as it was, the job's name, and of each sheet: its tag, its pieces
/// where they lie, and what goes back. Plans that cut the same glass into the same pieces are the same.
pub(crate) fn of(plan: &Plan) -> String {
    let mut text = Text(Sha256::new());
    if let Some(rack) = &plan.rack {
        text.words(&rack.id);
        text.count(rack.revision);
    }
    text.words(&plan.job.name);
    for layout in plan.glasses.iter().flat_map(|glass| &glass.layouts) {
        text.count(layout.number.into());
        text.words(&layout.stock.tag);
        text.count(layout.copy.into());
        text.count((layout.stock.count == Count::ToBuy).into());
        text.outline(&layout.stock.outline);
        let mut placements: Vec<_> = layout.placements.iter().collect();
        placements.sort_by(|a, b| (&a.id, a.copy).cmp(&(&b.id, b.copy)));
        text.count(placements.len() as u64);
        for placement in placements {
            let id = &placement.id;
            text.words(&id.panel);
            text.words(&id.number);
            text.count(id.mirrored.into());
            text.count(placement.copy.into());
            text.count(placement.pose.turned_over.into());
            for number in [placement.pose.rotation_deg, placement.pose.x, placement.pose.y] {
                text.number(number);
            }
            if let Some(piece) = plan.pieces.iter().find(|piece| piece.id == *id) {
                text.outline(&piece.cut);
            }
        }
        text.count(layout.returned.len() as u64);
        layout.returned.iter().for_each(|outline| text.outline(outline));
    }
    let hash = text.0.finalize();
    hash.iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}

/// What is digested: every part with its length or of a length of its own, so that no two texts run into one.
struct Text(Sha256);

impl Text {
    fn count(&mut self, count: u64) {
        self.0.update(count.to_le_bytes());
    }

    fn words(&mut self, words: &str) {
        self.count(words.len() as u64);
        self.0.update(words);
    }

    fn number(&mut self, number: f64) {
        // Glass is metres at most: far within the range.
        self.0.update(((number / SAME).round() as i64).to_le_bytes());
    }

    fn outline(&mut self, outline: &Outline) {
        self.count(outline.points().len() as u64);
        for point in outline.points() {
            self.number(point.x);
            self.number(point.y);
        }
    }
}
