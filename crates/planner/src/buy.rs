//! What to order, and what the next size up would come to.

use super::glass::{GlassPlanner, Way};
use cullet_breakout::Style;
use cullet_model::{NextSize, Purchase};
use cullet_rack::Count;

/// Times the next size up is asked after, each time above the one before.
const MOST_SIZES: usize = 3;
/// Areas nearer than this are one size, mm².
const SAME_SIZE: f64 = 1.0;

impl GlassPlanner<'_> {
    /// Lines of sheets to buy, the smallest first, by tag and area.
    fn on_offer(&self) -> Vec<(&str, f64)> {
        let mut lines: Vec<(&str, f64)> = Vec::new();
        for candidate in self.candidates.iter().filter(|c| c.item.count == Count::ToBuy) {
            if lines.iter().all(|l| l.0 != candidate.item.tag) {
                lines.push((&candidate.item.tag, candidate.item.outline.area()));
            }
        }
        lines.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(b.0)));
        lines
    }

    /// Whether sheets of several sizes can be bought.
    pub(super) fn has_sizes(&self) -> bool {
        let offer = self.on_offer();
        match (offer.first(), offer.last()) {
            (Some(least), Some(most)) => most.1 > least.1 + SAME_SIZE,
            _ => false,
        }
    }

    /// The next size up from the line `tag`.
    fn next_up(&self, tag: &str) -> Option<&str> {
        let offer = self.on_offer();
        let size = offer.iter().find(|l| l.0 == tag)?.1;
        offer.iter().find(|l| l.1 > size + SAME_SIZE).map(|l| l.0)
    }

    /// The same glass with nothing to buy but what `way` buys, and `next` in the place of `tag`.
    fn instead(&self, way: &Way, tag: &str, next: &str) -> Self {
        let bought = |t: &str| t == next || (t != tag && way.buys(t));
        let kept = |c: &&super::stock::Candidate<'_>| c.item.count != Count::ToBuy || bought(&c.item.tag);
        self.with_candidates(self.candidates.iter().filter(kept).cloned().collect())
    }

    /// Lays the glass anew with the next size up of each line that `kept` buys; the cheaper is kept. Returns the way to keep and
    /// its buy list.
    pub(super) fn buying(&self, mut kept: Way, lay: &dyn Fn(&Self, Style) -> Way) -> (Way, Vec<Purchase>) {
        let mut asked: Vec<(String, NextSize)> = Vec::new();
        for _ in 0..MOST_SIZES {
            let not_asked = |tag: &&str| kept.buys(tag) && asked.iter().all(|a| a.0 != *tag);
            let mut lines = self.on_offer().into_iter().map(|l| l.0).filter(not_asked);
            let Some((tag, next)) = lines.find_map(|tag| Some((tag, self.next_up(tag)?))) else {
                break;
            };
            let way = lay(&self.instead(&kept, tag, next), kept.style);
            let tried = way.tried();
            let complete = tried.unplaced <= kept.tried().unplaced;
            if complete {
                let size = NextSize {
                    tag: next.to_owned(),
                    count: way.count_of(next),
                    net_cost: tried.figures.net_cost(),
                };
                asked.push((tag.to_owned(), size));
            }
            if complete && self.objective(&way) < self.objective(&kept) {
                kept = way;
            } else if !complete {
                break;
            }
        }
        let list = self.on_offer().into_iter().filter(|l| kept.buys(l.0)).map(|(tag, _)| {
            let item = self.candidates.iter().find(|c| c.item.tag == tag);
            Purchase {
                tag: tag.to_owned(),
                count: kept.count_of(tag),
                each: item.map_or(0.0, |c| self.accounts.value(c.item)),
                next_size: asked.iter().find(|a| a.0 == tag).map(|a| a.1.clone()),
            }
        });
        let list = list.collect();
        (kept, list)
    }
}
