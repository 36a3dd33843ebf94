//! From a [`Problem`] to what the search works on: kinds, bins, obstacles.

use crate::Shapes;
use crate::field::Bin;
use crate::fill::Priced;
use crate::form::{Form, Kind, is_upright_rectangle, number_postures, obstacle};
use cullet_geometry::{Outline, Point, boolean};
use cullet_search::{Container, Problem};

/// A problem made ready.
pub(crate) struct Prepared {
    pub(crate) kinds: Vec<Kind>,
    /// Kind of each item wanted, one entry each.
    pub(crate) slot_kinds: Vec<usize>,
    pub(crate) bins: Vec<Priced>,
    /// Lower left corner of each bin in its container's frame.
    pub(crate) origins: Vec<Point>,
    pub(crate) obstacles: Vec<Form>,
    /// Usable area of each bin in its own frame, where it may be covered without a gap: items may touch, no zones to keep off.
    pub(crate) regions: Vec<Option<Outline>>,
}

impl Prepared {
    pub(crate) fn new(problem: &Problem, shapes: &Shapes) -> Self {
        let mut prepared = Self {
            kinds: problem.items.iter().map(|item| shapes.kind(item, problem)).collect(),
            slot_kinds: problem
                .items
                .iter()
                .enumerate()
                .flat_map(|(k, item)| std::iter::repeat_n(k, item.count as usize))
                .collect(),
            bins: Vec::new(),
            origins: Vec::new(),
            obstacles: Vec::new(),
            regions: Vec::new(),
        };
        number_postures(&mut prepared.kinds);
        for container in &problem.containers {
            prepared.add(container);
            let whole = problem.clearance == 0.0 && container.keep_off.is_empty();
            let low = container.outline.bounds().min;
            prepared
                .regions
                .push(whole.then(|| container.outline.translated(-low.x, -low.y)));
        }
        prepared
    }

    fn add(&mut self, container: &Container) {
        let bounds = container.outline.bounds();
        let frame = Outline::rectangle(bounds.width(), bounds.height());
        let place = |p: &Point| Point {
            x: p.x - bounds.min.x,
            y: p.y - bounds.min.y,
        };
        let first = self.obstacles.len();
        if !is_upright_rectangle(&container.outline) {
            let moved: Vec<Point> = container.outline.points().iter().map(place).collect();
            if let Ok(usable) = Outline::new(moved) {
                for rest in boolean::difference(&frame, &[usable]) {
                    self.obstacles.push(obstacle(rest.outer.points()));
                }
            }
        }
        for zone in &container.keep_off {
            let moved: Vec<Point> = zone.points().iter().map(place).collect();
            self.obstacles.push(obstacle(&moved));
        }
        self.bins.push(Priced {
            bin: Bin {
                width: bounds.width(),
                height: bounds.height(),
                open: true,
                obstacles: first..self.obstacles.len(),
            },
            cost: container.cost,
            area: container.outline.area() - container.keep_off.iter().map(Outline::area).sum::<f64>(),
        });
        self.origins.push(bounds.min);
    }
}
