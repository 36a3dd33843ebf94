//! Sheets cut again: a sheet that holds some of a great many equal pieces is worked out once and cut as often as they are wanted,
//! as a hand would do it.

use super::batches::Count;
use super::glass::GlassPlanner;
use cullet_model::Layout;
use cullet_rack::Count as Glass;
use std::collections::BTreeSet;

impl GlassPlanner<'_> {
    /// Cuts the sheets from `first` on again, all of them together, as long as what is `left` of their pieces is enough and there
    /// are more of the same sheets; a sheet whose pieces are not, or which is the only one, drops out.
    pub(super) fn cut_again(&self, layouts: &mut Vec<Layout>, first: usize, left: &mut [Count]) {
        let mut used: BTreeSet<(String, u32)> = layouts.iter().map(|l| (l.stock.tag.clone(), l.copy)).collect();
        let mut again: Vec<usize> = (first..layouts.len()).collect();
        loop {
            let needed = self.pieces_on(&again, layouts);
            let is_short = |i: usize| needed[i] > left[i].all();
            // The last of those that want what is short.
            let short = again.iter().rposition(|at| {
                self.pieces_on(&[*at], layouts)
                    .iter()
                    .enumerate()
                    .any(|(i, n)| *n > 0 && is_short(i))
            });
            if let Some(at) = short {
                again.remove(at);
                continue;
            }
            let copies: Vec<Option<u32>> = again.iter().map(|at| next_copy(&layouts[*at], &mut used)).collect();
            if let Some(at) = copies.iter().position(Option::is_none) {
                // What was put down for the others is free again.
                for (at, copy) in again.iter().zip(&copies) {
                    copy.map(|copy| used.remove(&(layouts[*at].stock.tag.clone(), copy)));
                }
                again.remove(at);
                continue;
            }
            if again.is_empty() {
                return;
            }
            for (at, copy) in again.iter().zip(copies.into_iter().flatten()) {
                let same = Layout {
                    copy,
                    ..layouts[*at].clone()
                };
                layouts.push(same);
            }
            for (left, needed) in left.iter_mut().zip(&needed) {
                let own = left.own.min(*needed);
                left.own -= own;
                left.spares -= needed - own;
            }
        }
    }

    /// How many of each piece lie on the layouts numbered `some`.
    fn pieces_on(&self, some: &[usize], layouts: &[Layout]) -> Vec<u32> {
        let mut counts = vec![0; self.pieces.len()];
        for placement in some.iter().flat_map(|at| &layouts[*at].placements) {
            if let Some(i) = self.pieces.iter().position(|p| p.id == placement.id) {
                counts[i] += 1;
            }
        }
        counts
    }
}

/// The next of the line that nothing lies on yet, which is put down as used.
fn next_copy(layout: &Layout, used: &mut BTreeSet<(String, u32)>) -> Option<u32> {
    let last = match layout.stock.count {
        Glass::OnHand(count) => count,
        Glass::ToBuy => u32::MAX,
    };
    let tag = &layout.stock.tag;
    let copy = (1..=last).find(|copy| !used.contains(&(tag.clone(), *copy)))?;
    used.insert((tag.clone(), copy));
    Some(copy)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_geometry::Pose;
    use cullet_model::Placement;
    use cullet_model::figures::Accounts;
    use cullet_testkit::plan as sample;

    /// A sheet with two of one piece and one of another, cut again as often as both are left and the glass is there.
    #[test]
    fn a_sheet_is_cut_again_while_pieces_and_glass_last() {
        let (mut job, mut stock) = (sample::job(), sample::stock());
        job.pieces.iter_mut().for_each(|p| p.one_lot = None);
        for (glass, own, spares, expected) in [
            (Glass::ToBuy, [9, 20], 1, 5),
            (Glass::ToBuy, [20, 3], 0, 3),
            (Glass::OnHand(3), [20, 20], 0, 2),
            (Glass::OnHand(3), [1, 20], 0, 0),
        ] {
            stock.items[0].count = glass;
            let accounts = Accounts::new(&job);
            let work = GlassPlanner::new(&job, 0, &stock, &accounts);
            let candidate = work.candidates.iter().find(|c| c.item.tag == stock.items[0].tag);
            let on = |piece: usize| Placement {
                id: work.pieces[piece].id.clone(),
                copy: 1,
                spare: false,
                pose: Pose::IDENTITY,
            };
            let mut layouts = vec![work.layout(candidate.expect("the first sheet"), vec![on(0), on(1), on(0)])];
            let mut left = vec![Count::default(); work.pieces.len()];
            (left[0], left[1]) = (Count { own: own[0], spares }, Count { own: own[1], spares: 0 });
            work.cut_again(&mut layouts, 0, &mut left);
            assert_eq!(layouts.len() as u32, 1 + expected, "{glass:?} {own:?}");
            assert_eq!(left[0].all(), own[0] + spares - 2 * expected);
            assert_eq!(left[1].all(), own[1] - expected);
            let copies: BTreeSet<u32> = layouts.iter().map(|l| l.copy).collect();
            assert_eq!(copies, (1..=1 + expected).collect(), "each on glass of its own");
        }
    }
}
