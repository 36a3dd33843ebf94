//! Bays of a piece: inside curves, opened from the outside in.

use super::{Scored, WAVERS_DEG};
use crate::rule::Rule;
use cullet_geometry::ring::{cross, length, turned};
use cullet_geometry::tolerance::TOUCH;
use cullet_geometry::{Point, ring};
use cullet_trade::EASY_DEPTH;

/// The most shallower scores in one inside curve (kiln-glass notes: a tight one can take ten to twelve).
pub(super) const MOST_NESTED: usize = 11;

/// Part of the piece's edge, from corner to corner.
pub(super) struct Span {
    pub(super) from: usize,
    pub(super) to: usize,
    /// By how much it turns inwards.
    pub(super) inside_deg: f64,
    pub(super) length: f64,
}

impl Span {
    /// Inside curves first, the deepest of them first; then the longest.
    pub(super) fn rank(&self) -> f64 {
        if self.inside_deg > WAVERS_DEG {
            1e6 + 1e3 * self.inside_deg + self.length
        } else {
            self.length
        }
    }
}

/// An inside curve deeper than one break can take.
pub(super) struct Bay {
    pub(super) corners: Vec<Point>,
    pub(super) depth: f64,
}

impl Bay {
    /// Of the corners of an inside curve, the piece to the left; nothing where it is easy.
    pub(super) fn of(corners: Vec<Point>) -> Option<Self> {
        let (first, last) = (*corners.first()?, *corners.last()?);
        let chord = last - first;
        let size = length(chord);
        let depth = corners
            .iter()
            .map(|p| cross(chord, *p - first) / size)
            .fold(0.0, f64::max);
        (size > TOUCH && depth > size / EASY_DEPTH).then_some(Self { corners, depth })
    }

    /// The shallower scores that come first: parabolas over the same chord, the first a quarter of it deep, each next one a
    /// narrowest strip or an eighth of the chord deeper.
    pub(super) fn shallower(&self, hand: &[Point], piece: &[Point], rule: &Rule) -> Vec<Scored> {
        let first = self.corners[0];
        let chord = self.corners[self.corners.len() - 1] - first;
        let size = length(chord);
        let normal = turned(chord / size, 90.0);
        let easy = size / EASY_DEPTH;
        let step = rule.narrowest_strip.max(size / 8.0);
        let count = (((self.depth - easy) / step).ceil() as usize).clamp(1, MOST_NESTED);
        let sides = self.corners.len().max(16);
        let mut found = Vec::new();
        let mut in_hand = hand.to_vec();
        for k in 0..count {
            let depth = easy + (self.depth - easy) * k as f64 / count as f64;
            let at = |i: usize| {
                let share = i as f64 / sides as f64;
                first + chord * share + normal * (4.0 * depth * share * (1.0 - share))
            };
            let mut corners: Vec<Point> = (0..=sides).map(at).collect();
            corners[sides] = self.corners[self.corners.len() - 1];
            let Some((chain, along)) = extended(&corners, &in_hand) else {
                continue;
            };
            if ring::cut_at(piece, &chain, TOUCH).is_some() {
                continue;
            }
            if let Ok((left, _)) = rule.part_ring(&in_hand, &chain, &along) {
                in_hand = left;
                found.push((chain, along));
            }
        }
        found
    }
}

/// A chain led out tangentially at both ends, where these are not on the edge.
pub(super) fn extended(corners: &[Point], hand: &[Point]) -> Option<Scored> {
    let mut chain = corners.to_vec();
    let mut along = 0..corners.len() - 1;
    let n = corners.len();
    if n < 2 {
        return None;
    }
    let lead = |at: Point, from: Point| -> Option<Option<Point>> {
        if ring::is_on(hand, at, TOUCH) {
            return Some(None);
        }
        let along = (at - from) / length(at - from);
        ring::ray(hand, at, along, TOUCH).map(|far| Some(at + along * far))
    };
    if let Some(start) = lead(corners[0], corners[1])? {
        chain.insert(0, start);
        along = 1..corners.len();
    }
    if let Some(end) = lead(corners[n - 1], corners[n - 2])? {
        chain.push(end);
    }
    Some((chain, along))
}
