//! The overlap kernel by itself, for measuring it and for whoever has single questions.
//!
//! The search asks these questions millions of times; here each can be asked alone: two [`Posed`] shapes at an offset, or
//! one against a [`Scene`] of placed ones.
//!
//! ```
//! use cullet_geometry::Outline;
//! use cullet_nest::kernel::{Scene, Shape};
//! let square = Shape::new(&Outline::rectangle(10.0, 10.0), 0.001).turned(0.0, false);
//! assert!(square.overlaps(&square, 9.0, 0.0));
//! assert!(!square.overlaps(&square, 10.0, 0.0)); // touching is not overlapping
//! let mut scene = Scene::new(100.0, 100.0, 10.0);
//! scene.add(&square, 20.0, 20.0);
//! assert!(scene.overlaps(&square, 25.0, 25.0) && !scene.overlaps(&square, 40.0, 20.0));
//! ```

use crate::form::{Kind, Posture, Turn};
use crate::grid::Grid;
use crate::overlap::{meets, overlap};
use cullet_geometry::{Outline, Point};
use cullet_search::{Item, Problem, Turns};

/// An outline made ready.
#[derive(Debug)]
pub struct Shape(pub(crate) Kind);

impl Shape {
    /// Makes `outline` ready; `tolerance` in mm is how deep two shapes may sink into each other and still only touch.
    #[must_use]
    pub fn new(outline: &Outline, tolerance: f64) -> Self {
        let item = Item {
            outline: outline.clone(),
            count: 1,
            turns: Turns::only(vec![0.0]),
            turned_over: None,
            allowed: vec![],
        };
        let problem = Problem {
            items: vec![],
            containers: vec![],
            clearance: 0.0,
            tolerance,
        };
        Self(Kind::new(&item, &problem))
    }

    /// The shape at a rotation in degrees, then perhaps turned over.
    #[must_use]
    pub fn turned(&self, degrees: f64, over: bool) -> Posed {
        let mut posture = Posture::default();
        posture.set(&self.0, Turn { degrees, over });
        Posed(posture)
    }

    /// The point of the outline's own frame that offsets refer to.
    #[must_use]
    pub fn reference(&self) -> Point {
        self.0.reference
    }
}

/// A shape at one turn.
#[derive(Debug, Clone)]
pub struct Posed(Posture);

impl Posed {
    /// Whether this shape, its reference point `(dx, dy)` mm from the other's, overlaps it by more than the tolerance. Exact
    /// but for rounding; cost O(corners), less where disks inside them already meet.
    #[must_use]
    pub fn overlaps(&self, other: &Self, dx: f64, dy: f64) -> bool {
        meets(&self.0.grown, &other.0.grown, dx, dy)
    }

    /// How badly it overlaps: 0 if it does not, else positive and falling as the shapes are drawn apart.
    #[must_use]
    pub fn overlap(&self, other: &Self, dx: f64, dy: f64) -> f32 {
        overlap(&self.0.grown, &other.0.grown, dx, dy)
    }

    /// Lowest and highest corner of its bounds, mm from the reference point.
    #[must_use]
    pub fn bounds(&self) -> ([f64; 2], [f64; 2]) {
        (self.0.low, self.0.high)
    }
}

/// Shapes placed in an upright rectangle.
#[derive(Debug)]
pub struct Scene {
    grid: Grid,
    placed: Vec<(Posed, f64, f64)>,
}

impl Scene {
    /// An empty rectangle, mm; `typical` is about the size of what will be placed.
    #[must_use]
    pub fn new(width: f64, height: f64, typical: f64) -> Self {
        Self {
            grid: Grid::new(width, height, typical),
            placed: Vec::new(),
        }
    }

    /// Places a shape with its reference point at `(x, y)`.
    pub fn add(&mut self, posed: &Posed, x: f64, y: f64) {
        let (low, high) = (posed.0.grown.low, posed.0.grown.high);
        self.grid.insert(
            self.placed.len() as u32,
            [low[0] + x, low[1] + y],
            [high[0] + x, high[1] + y],
        );
        self.placed.push((posed.clone(), x, y));
    }

    /// Whether a shape with its reference point at `(x, y)` would overlap any placed one.
    #[must_use]
    pub fn overlaps(&self, posed: &Posed, x: f64, y: f64) -> bool {
        let (low, high) = (posed.0.grown.low, posed.0.grown.high);
        let mut hit = false;
        self.grid
            .visit([low[0] + x, low[1] + y], [high[0] + x, high[1] + y], |j| {
                let (other, ox, oy) = &self.placed[j as usize];
                hit = posed.overlaps(other, x - ox, y - oy);
                !hit
            });
        hit
    }
}
