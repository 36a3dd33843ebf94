//! A glass of a great many pieces: laid batch by batch, since the memory of a search grows with the square of their number.
//!
//! Each batch holds some of every kind and is laid as if it were all, on glass that no batch before it uses; its emptiest sheet
//! is given up, and the pieces on it go with the next batch. The others are cut again as often as their pieces are wanted, and the
//! batch has the effort of all these. Effort in seconds is shared by what is left of it. When it is used
//! up, the batches still to come are left out and named. Where both styles are tried, a small batch shows which is better.

use super::effort;
use super::glass::{GlassPlanner, Way};
use cullet_breakout::Style;
use cullet_job::Piece;
use cullet_model::Layout;
use cullet_search::{Clock, Effort, Limit};
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicBool, Ordering};

/// So many pieces are laid together: 2,000 take some 64 MB a search and are laid in a few seconds.
const MOST_TOGETHER: u32 = 2_000;
/// So many different ones, which have nothing in common that is worked out once.
const MOST_KINDS: usize = 1_000;
/// Pieces of a batch for each second of effort, since the first batch is laid whole whatever time it takes.
const A_SECOND: f64 = 50.0;
/// Seconds that a piece takes once the search has laid it, to be broken out and verified; after a batch its own are known.
const AFTER: f64 = 0.003;
/// Pieces of one batch at least and at most; between them as many as fill so many sheets.
const BATCH: (u32, u32) = (250, 1_000);
const BATCH_SHEETS: f64 = 6.0;

/// How many of a piece are wanted, and how many spares.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Count {
    pub(super) own: u32,
    pub(super) spares: u32,
}

impl Count {
    pub(super) fn all(self) -> u32 {
        self.own + self.spares
    }
}

impl GlassPlanner<'_> {
    /// Whether the pieces but for those `out` are too many to be laid together, or too many different ones.
    pub(super) fn is_large(&self, out: &[usize]) -> bool {
        let counts = self.counts(out);
        let kinds = counts.iter().filter(|c| c.all() > 0).count();
        counts.iter().map(|c| c.all()).fold(0, u32::saturating_add) > MOST_TOGETHER || kinds > MOST_KINDS
    }

    /// The style in which a small batch comes off better.
    pub(super) fn better_style(
        &self,
        styles: &[Style],
        out: &[usize],
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Style {
        let counts = self.counts(out);
        let batch = self.batch(&counts, self.batch_size(effort) / 2);
        let sum = |counts: &[Count]| counts.iter().map(|c| f64::from(c.all())).sum::<f64>();
        let share = sum(&batch) / sum(&counts).max(1.0);
        let pieces = self.pieces_of(&batch);
        let work = self.with_pieces(&pieces, &BTreeSet::new());
        let report = |_: f64, stage: &str| report(0.0, stage);
        let ways = work.in_one(styles, &[], effort::fraction(effort, share), cancel, &report);
        ways.first().map_or(styles[0], |way| way.style)
    }

    fn counts(&self, out: &[usize]) -> Vec<Count> {
        let count = |(i, piece): (usize, &&Piece)| Count {
            own: if out.contains(&i) { 0 } else { piece.quantity },
            spares: if out.contains(&i) { 0 } else { piece.spares },
        };
        self.pieces.iter().enumerate().map(count).collect()
    }

    /// All that can be laid in one style, batch by batch.
    pub(super) fn in_batches(
        &self,
        style: Style,
        out: &[usize],
        effort: Effort,
        cancel: &AtomicBool,
        report: &(dyn Fn(f64, &str) + Sync),
    ) -> Way {
        let began = Clock::start();
        let sum = |counts: &[Count]| counts.iter().map(|c| f64::from(c.all())).sum::<f64>();
        let mut left = self.counts(out);
        let all = sum(&left);
        let most = self.batch_size(effort);
        let (mut layouts, mut held): (Vec<Layout>, _) = (vec![], vec![0; self.pieces.len()]);
        let mut after = AFTER;
        loop {
            let batch = self.batch(&left, most);
            let (size, rest) = (sum(&batch), sum(&left));
            let is_over = cancel.load(Ordering::Relaxed) || effort::is_over(effort, began);
            if size == 0.0 || (is_over && !layouts.is_empty()) {
                break;
            }
            let worth = (size * f64::from(times(&batch, &left))).min(rest);
            let part = effort::of_rest(effort, began, worth / all, worth / rest);
            let part = effort::less(part, size * after);
            let batch_began = Clock::start();
            let report = |share: f64, stage: &str| report((1.0 - (rest - share * worth) / all).clamp(0.0, 1.0), stage);
            let pieces = self.pieces_of(&batch);
            let used: BTreeSet<(&str, u32)> = layouts.iter().map(|l| (l.stock.tag.as_str(), l.copy)).collect();
            let mut way = self
                .with_pieces(&pieces, &used)
                .in_one(&[style], &[], part, cancel, &report)
                .swap_remove(0);
            if let Limit::Seconds(searched) = part.limit {
                after = (batch_began.seconds() - searched).max(0.0) / size;
            }
            for (i, count) in batch.iter().enumerate() {
                left[i].own -= count.own;
                left[i].spares -= count.spares;
            }
            if sum(&left) > 0.0 {
                self.give_up_emptiest(&mut way.layouts, &mut left);
            }
            // What holds itself there lies otherwise among the next.
            let again = sum(&left) > 0.0 && way.layouts.iter().any(|l| !l.placements.is_empty());
            let numbers = (0..self.pieces.len()).filter(|i| batch[*i].all() > 0);
            for (i, n) in numbers.zip(&way.held) {
                if again && self.pieces[i].one_lot.is_none() {
                    left[i].own += n;
                } else {
                    held[i] += n;
                }
            }
            let first = layouts.len();
            layouts.append(&mut way.layouts);
            self.cut_again(&mut layouts, first, &mut left);
        }
        let late = left.iter().map(|c| c.own).collect();
        let mut way = self.way(style, layouts, held);
        way.late = late;
        way
    }

    /// Pieces that fill a few of the largest sheets, and no more than the seconds are enough for.
    fn batch_size(&self, effort: Effort) -> u32 {
        let area: f64 = self.pieces.iter().map(|p| p.cut.area() * f64::from(p.quantity)).sum();
        let count: f64 = self.pieces.iter().map(|p| f64::from(p.quantity)).sum();
        let largest = self
            .candidates
            .iter()
            .map(|c| c.container.outline.area())
            .fold(0.0, f64::max);
        let fill = (BATCH_SHEETS * largest / (area / count.max(1.0)).max(1e-9)) as u32;
        let in_time = match effort.limit {
            Limit::Seconds(seconds) => (A_SECOND * seconds) as u32,
            Limit::Rounds(_) => u32::MAX,
        };
        // A batch that fills less than a few sheets fills them badly.
        let least = (fill / 2).max(BATCH.0);
        fill.min(in_time).clamp(least, BATCH.1.max(least))
    }

    /// About `most` of what is left, of every kind its share; all of the one-lot groups at once.
    fn batch(&self, left: &[Count], most: u32) -> Vec<Count> {
        let is_bound = |i: usize| self.pieces[i].one_lot.is_some();
        let free: f64 = (0..left.len())
            .filter(|i| !is_bound(*i))
            .map(|i| f64::from(left[i].all()))
            .sum();
        let batches = (free / f64::from(most)).ceil().max(1.0);
        // What is due and not yet taken is carried on from kind to kind.
        let (mut due, mut due_spares) = (0.0, 0.0);
        let share = |due: &mut f64, count: u32| {
            *due += f64::from(count) / batches;
            let taken = (*due + 1e-9).floor().min(f64::from(count));
            *due -= taken;
            taken as u32
        };
        let each = left.iter().enumerate().map(|(i, count)| {
            if is_bound(i) {
                return *count;
            }
            Count {
                own: share(&mut due, count.own),
                spares: share(&mut due_spares, count.spares),
            }
        });
        each.collect()
    }

    /// Copies of the pieces in a batch, wanted as often as it holds them.
    fn pieces_of(&self, batch: &[Count]) -> Vec<Piece> {
        let wanted = self.pieces.iter().zip(batch).filter(|(_, count)| count.all() > 0);
        let piece = |(piece, count): (&&Piece, &Count)| Piece {
            quantity: count.own,
            spares: count.spares,
            ..(*piece).clone()
        };
        wanted.map(piece).collect()
    }

    /// Takes the sheet of least yield out, where there are others; its pieces are left to be laid. A one-lot group stays.
    fn give_up_emptiest(&self, layouts: &mut Vec<Layout>, left: &mut [Count]) {
        let number = |id: &cullet_job::PieceId| self.pieces.iter().position(|p| p.id == *id);
        let is_free = |layout: &&(usize, &Layout)| {
            let bound = |i: usize| self.pieces[i].one_lot.is_some();
            !layout.1.placements.iter().filter_map(|p| number(&p.id)).any(bound)
        };
        let filled = |layout: &Layout| layout.figures.used / layout.stock.outline.area();
        let numbered: Vec<(usize, &Layout)> = layouts.iter().enumerate().collect();
        let emptiest = numbered
            .iter()
            .filter(is_free)
            .min_by(|a, b| filled(a.1).total_cmp(&filled(b.1)));
        let Some(at) = emptiest.map(|l| l.0).filter(|_| layouts.len() > 1) else {
            return;
        };
        for placement in layouts.remove(at).placements {
            if let Some(i) = number(&placement.id) {
                left[i].own += u32::from(!placement.spare);
                left[i].spares += u32::from(placement.spare);
            }
        }
    }
}

/// How often a batch goes into what is left: so often its sheets can be cut, if there is glass.
fn times(batch: &[Count], left: &[Count]) -> u32 {
    let wanted = batch.iter().zip(left).filter(|(batch, _)| batch.all() > 0);
    wanted.map(|(batch, left)| left.all() / batch.all()).min().unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_model::figures::Accounts;
    use cullet_testkit::plan as sample;

    /// 2,400 pieces in batches: every one is laid once, on glass of its own, and where time is up the rest is named.
    #[test]
    fn every_piece_of_many_is_laid_or_named() {
        let mut job = sample::job();
        job.pieces.retain(|p| p.glass == 0);
        for piece in &mut job.pieces {
            (piece.quantity, piece.spares, piece.one_lot) = (0, 0, None);
            piece.cut = cullet_geometry::Outline::rectangle(60.0, 40.0);
            piece.finished = piece.cut.clone();
        }
        job.pieces[0].quantity = 1_500;
        job.pieces[1].quantity = 900;
        let mut stock = sample::stock();
        stock.items.truncate(1);
        stock.items[0].flaws.clear();
        stock.items[0].count = cullet_rack::Count::ToBuy;
        let accounts = Accounts::new(&job);
        let work = GlassPlanner::new(&job, 0, &stock, &accounts);
        assert!(work.is_large(&[]));
        let laid = |limit: Limit| {
            let effort = Effort {
                seed: 1,
                limit,
                lanes: 1,
            };
            let way = work.in_batches(Style::StraightRun, &[], effort, &false.into(), &|_, _| {});
            let pulled: BTreeSet<u32> = way.layouts.iter().map(|l| l.copy).collect();
            assert_eq!(pulled.len(), way.layouts.len());
            let laid: u32 = way.layouts.iter().map(|l| l.placements.len() as u32).sum();
            assert_eq!(laid + way.missing.iter().sum::<u32>(), 2_400);
            (laid, way.late.iter().sum::<u32>())
        };
        assert_eq!(laid(Limit::Rounds(1)), (2_400, 0));
        let (some, late) = laid(Limit::Seconds(1e-9));
        assert!(some > 0 && late > 0 && some + late == 2_400, "{some} laid, {late} late");
    }
}
