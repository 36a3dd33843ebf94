//! How a container is parted while the search goes on.

use super::convex::Part;
use super::shape::Shape;
use cullet_geometry::Point;
use std::sync::Arc;

/// A region and what became of it.
#[derive(Debug, Clone)]
pub(super) enum Node {
    /// Nothing in it yet, or ever.
    Free(Part),
    /// Just fits a shape.
    Laid(Laid),
    /// Parted by a run; the region is kept where it may be taken apart again.
    Run(Option<Part>, Box<Node>, Box<Node>),
    /// Glass around a flaw.
    Flaw,
}

/// A shape in its place.
#[derive(Debug, Clone)]
pub(super) struct Laid {
    pub(super) shape: Arc<Shape>,
    pub(super) turn: f64,
    pub(super) at: Point,
    pub(super) part: Part,
}

impl Node {
    pub(super) fn each_laid<'a>(&'a self, tell: &mut dyn FnMut(&'a Laid)) {
        match self {
            Self::Laid(laid) => tell(laid),
            Self::Run(_, a, b) => {
                a.each_laid(tell);
                b.each_laid(tell);
            }
            Self::Free(_) | Self::Flaw => {}
        }
    }

    pub(super) fn each_free(&self, tell: &mut dyn FnMut(&Part)) {
        match self {
            Self::Free(part) => tell(part),
            Self::Run(_, a, b) => {
                a.each_free(tell);
                b.each_free(tell);
            }
            Self::Laid(_) | Self::Flaw => {}
        }
    }

    pub(super) fn count(&self) -> usize {
        let mut n = 0;
        self.each_laid(&mut |laid| n += laid.shape.members.len());
        n
    }

    /// Gives the region back whole, its shapes to `freed`. Runs that only open the container stay.
    pub(super) fn clear(&mut self, freed: &mut Vec<Arc<Shape>>) {
        let part = match self {
            Self::Free(_) | Self::Flaw => return,
            Self::Run(None, a, b) => {
                a.clear(freed);
                b.clear(freed);
                return;
            }
            Self::Laid(laid) => laid.part.clone(),
            Self::Run(Some(part), ..) => part.clone(),
        };
        self.each_laid(&mut |laid| freed.push(laid.shape.clone()));
        *self = Self::Free(part);
    }
}
