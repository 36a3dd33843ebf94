//! What does not change while a search runs, and how good a layout is.

use crate::catalogue;
use crate::convex::Part;
use crate::fit::{Filler, Taste};
use crate::open::{End, Room};
use crate::part_tree::Node;
use crate::shape::{Kind, Shape, reach};
use cullet_geometry::Point;
use cullet_search::{Random, StopCondition};
use std::sync::Arc;

/// What waste in one is worth beside pieces, per area.
const GATHERED: f64 = 0.1;

/// Everything that does not change.
pub(crate) struct Ground {
    pub(crate) kinds: Vec<Kind>,
    pub(crate) rooms: Vec<Room>,
    pub(crate) hulls: Vec<Part>,
    pub(crate) singles: Vec<Arc<Shape>>,
    pub(crate) shapes: Vec<Arc<Shape>>,
    pub(crate) strip: f64,
    pub(crate) least_width: f64,
}

/// One container in a layout.
#[derive(Debug, Clone)]
pub(crate) struct Bin {
    pub(crate) root: Node,
    pub(crate) end: Option<End>,
    pub(crate) open: bool,
}

/// A layout.
#[derive(Debug, Clone)]
pub(crate) struct Layout {
    pub(crate) bins: Vec<Bin>,
    /// What lies nowhere, by kind.
    pub(crate) stock: Vec<u32>,
}

/// How good a layout is: less is better, the first that differs counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Worth {
    pub(crate) left: f64,
    pub(crate) cost: f64,
    /// Less the area that one run returns from one container.
    pub(crate) unreturned: f64,
}

impl Worth {
    pub(crate) fn beats(&self, other: &Self) -> bool {
        let pairs = [
            (self.left, other.left),
            (self.cost, other.cost),
            (self.unreturned, other.unreturned),
        ];
        pairs
            .iter()
            .find(|(a, b)| (a - b).abs() > 1e-6 * (1.0 + b.abs()))
            .is_some_and(|(a, b)| a < b)
    }
}

impl Ground {
    pub(crate) fn new(kinds: Vec<Kind>, rooms: Vec<Room>, strip: f64, seed: u64, watch: &StopCondition) -> Self {
        let mut random = Random::new(seed, 0);
        let mut hulls: Vec<Part> = Vec::new();
        for room in &rooms {
            if !hulls.iter().any(|h| h.points == room.hull.points) {
                hulls.push(room.hull.clone());
            }
        }
        let singles = catalogue::singles(&kinds, &hulls);
        let composites = catalogue::composites(&kinds, &singles, &hulls, watch, &mut random);
        let least_width = singles.iter().map(|s| s.width).fold(f64::INFINITY, f64::min);
        let shapes = singles.iter().cloned().chain(composites).collect();
        Self {
            kinds,
            rooms,
            hulls,
            singles,
            shapes,
            strip,
            least_width,
        }
    }

    pub(crate) fn pool(&self, stock: &[u32]) -> f64 {
        self.kinds.iter().zip(stock).map(|(k, n)| k.value * f64::from(*n)).sum()
    }

    pub(crate) fn worth(&self, layout: &Layout) -> Worth {
        let mut cost = 0.0;
        let mut returned: f64 = 0.0;
        for (room, bin) in self.rooms.iter().zip(&layout.bins) {
            if bin.root.count() == 0 {
                continue;
            }
            cost += room.cost;
            let best = ends(room, bin)
                .into_iter()
                .map(|(_, share)| share * room.area)
                .fold(0.0, f64::max);
            returned = returned.max(best);
        }
        Worth {
            left: self.pool(&layout.stock),
            cost,
            unreturned: -returned,
        }
    }

    /// Whether nothing better can be: everything laid, in one container than which none is cheaper, with no waste but what one
    /// run returns.
    pub(crate) fn is_best(&self, layout: &Layout, worth: &Worth) -> bool {
        let used = layout
            .bins
            .iter()
            .zip(&self.rooms)
            .filter(|(bin, _)| bin.root.count() > 0);
        let area: f64 = used.map(|(_, room)| room.area).sum();
        let all: f64 = self.kinds.iter().map(|k| k.value * f64::from(k.count)).sum();
        let cheapest = self.rooms.iter().map(|room| room.cost).fold(f64::INFINITY, f64::min);
        worth.left == 0.0 && worth.cost <= cheapest && all - worth.unreturned >= area * (1.0 - 1e-6)
    }

    pub(crate) fn empty(&self) -> Layout {
        let bins = self.rooms.iter().map(|_| Bin {
            root: Node::Flaw,
            end: None,
            open: false,
        });
        Layout {
            bins: bins.collect(),
            stock: self.kinds.iter().map(|k| k.count).collect(),
        }
    }

    pub(crate) fn filler<'a>(&'a self, shapes: &'a [Arc<Shape>], container: usize, taste: Taste) -> Filler<'a> {
        Filler {
            kinds: &self.kinds,
            shapes,
            strip: self.strip,
            container,
            taste,
        }
    }

    /// What the pieces not laid and the scattered waste of a bin weigh.
    pub(crate) fn scattered(&self, bin: &Bin, room: &Room) -> f64 {
        let mut gathered = 0.0;
        let mut nibbled = 0.0;
        bin.root.each_free(&mut |part| {
            gathered += part.area * (part.area / room.area).sqrt();
            if self.strip > 0.0 && part.area < room.area * 0.02 && part.width() < self.strip {
                nibbled += part.area.sqrt() * self.strip;
            }
        });
        GATHERED * (nibbled - gathered)
    }
}

/// The four runs square to the axes that free the rest of a container, with the share of it each returns.
pub(crate) fn ends(room: &Room, bin: &Bin) -> Vec<(End, f64)> {
    [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
        .into_iter()
        .map(|(x, y)| {
            let out = Point { x, y };
            let mut offset = f64::NEG_INFINITY;
            bin.root
                .each_laid(&mut |laid| offset = offset.max(reach(&laid.part.points, out)));
            let whole = reach(&room.outline, out);
            let across = whole + reach(&room.outline, out * -1.0);
            (End { out, offset }, (whole - offset).max(0.0) / across)
        })
        .collect()
}
