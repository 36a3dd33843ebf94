//! One path of the wheel, from where it is lowered to where it is lifted.

use crate::stretch::{Stretch, norm};
use cullet_geometry::Point;

/// What a path does with the glass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Purpose {
    /// It runs along a piece, or an offcut that goes back.
    Score,
    /// It only opens waste.
    Relief,
    /// It takes a straight strip of waste off.
    Trim,
}

/// How it bends, the hardest to break first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Curving {
    /// Along an inside curve of a piece.
    Inside,
    /// Along an outside curve, or a curve through waste.
    Outside,
    /// Straight.
    Straight,
}

/// One path.
#[derive(Debug, Clone, PartialEq)]
pub struct ScorePath {
    /// What is driven, end to end, sharing tangents.
    pub stretches: Vec<Stretch>,
    /// What it does with the glass.
    pub purpose: Purpose,
    /// How it bends.
    pub curving: Curving,
    /// The breaks that it scores, whole or in part, by their index in the breaking order.
    pub breaks: Vec<usize>,
}

impl ScorePath {
    /// Length, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.stretches.iter().map(Stretch::length).sum()
    }

    /// Where the wheel is lowered. A path has at least one stretch.
    #[must_use]
    pub fn start(&self) -> Point {
        self.stretches.first().map_or_else(Point::zero, Stretch::from)
    }

    /// Where it is lifted.
    #[must_use]
    pub fn end(&self) -> Point {
        self.stretches.last().map_or_else(Point::zero, Stretch::to)
    }

    /// Direction of travel where it is lowered, radians.
    #[must_use]
    pub fn start_angle(&self) -> f64 {
        self.stretches.first().map_or(0.0, |one| angle(one.heading()))
    }

    /// Direction of travel where it is lifted, radians.
    #[must_use]
    pub fn end_angle(&self) -> f64 {
        self.stretches.last().map_or(0.0, |one| angle(one.end_heading()))
    }

    /// The same driven the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self {
            stretches: self.stretches.iter().rev().map(Stretch::reversed).collect(),
            ..self.clone()
        }
    }

    /// Nearest distance from `p`, mm.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        let all = self.stretches.iter().map(|one| one.distance(p));
        all.fold(f64::INFINITY, f64::min)
    }
}

fn angle(direction: Point) -> f64 {
    debug_assert!(norm(direction) > 0.5);
    direction.y.atan2(direction.x)
}
