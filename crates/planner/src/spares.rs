//! Spares: laid last, and only where the glass that is pulled anyway has room for them, unless the job asks for all of them.

use super::glass::GlassPlanner;
use super::pull::{LayoutMethod, Selection};
use cullet_job::SparesFile;
use cullet_search::Problem;

impl GlassPlanner<'_> {
    /// Whether every spare is laid, whatever it costs.
    pub(super) fn spares_always(&self) -> bool {
        self.job.source.settings.spares == SparesFile::Always
    }

    /// Lays as many spares as the glass already pulled has room for, on at most `share` of the budget. In the problem that comes
    /// back those that found no room are not wanted any more.
    pub(super) fn with_spares(
        &self,
        problem: &Problem,
        found: Selection,
        may_have_spares: &dyn Fn(usize) -> bool,
        share: f64,
        method: &LayoutMethod,
    ) -> (Problem, Selection) {
        let mut used: Vec<usize> = found.placed.iter().map(|p| p.container).collect();
        used.sort_unstable();
        used.dedup();
        let mut narrowed = problem.clone();
        for (item, allowed) in narrowed.items.iter_mut().zip(&found.allowed) {
            let may = |c: usize| allowed.is_empty() || allowed[c];
            item.allowed = (0..self.candidates.len())
                .map(|c| may(c) && used.contains(&c))
                .collect();
        }
        let wanted: u32 = self.pieces.iter().map(|p| p.spares).sum();
        if self.spares_always() || wanted == 0 || !found.worth.is_whole() {
            return (narrowed, found);
        }
        let mut fuller = narrowed.clone();
        for (i, piece) in self.pieces.iter().enumerate().filter(|(i, _)| may_have_spares(*i)) {
            fuller.items[i].count += piece.spares;
        }
        let effort = method.budget.allot(share, 0);
        let filling = (method.go_on)(&fuller, &found.placed, effort);
        method.budget.charge(effort, filling.spent);
        for (item, left) in fuller.items.iter_mut().zip(&filling.left) {
            item.count -= left;
        }
        let short = fuller
            .items
            .iter()
            .zip(&problem.items)
            .any(|(now, own)| now.count < own.count);
        let topped = self.found(&fuller, filling.placed, method);
        if short || !topped.worth.is_whole() {
            return (narrowed, found);
        }
        (fuller, topped)
    }
}
