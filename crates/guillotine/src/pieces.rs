//! The last breaks: each piece from its blank.

use super::runs::Runs;
use cullet_breakout::{Blocked, Breaking, Outcome, Relief, Rule, Step, free};
use cullet_geometry::{Outline, boolean, offset};
use std::fmt;

/// Pieces that cannot be freed from their blanks.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldError {
    /// Their numbers, and where each is held.
    pub pieces: Vec<(usize, Blocked)>,
}

impl fmt::Display for HeldError {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, (piece, blocked)) in self.pieces.iter().enumerate() {
            let (x, y) = (blocked.at.x, blocked.at.y);
            let then = if i == 0 { "" } else { "; " };
            write!(
                to,
                "{then}piece {piece} is held in its blank at ({x:.1}, {y:.1}): no break of the rule opens that edge"
            )?;
        }
        Ok(())
    }
}

impl std::error::Error for HeldError {}

/// The breaks of [`super::runs()`] and after them those that free each piece from its blank, by [`free()`]: what was a blank is then
/// a piece. `pieces` are numbered as the blanks were; `kerf` is what the runs were made with.
///
/// # Errors
/// [`HeldError`] with every piece that cannot be freed.
///
/// ```
/// use cullet_breakout::Rule;
/// use cullet_guillotine::{Sheet, blank_for, runs, with_pieces};
/// use cullet_geometry::{Outline, path};
/// let round = path::flatten("M 10 60 A 50 50 0 0 1 110 60 A 50 50 0 0 1 10 60 Z", 1.0, path::YAxis::Up, 0.05)?;
/// let whole = Outline::rectangle(120.0, 120.0);
/// let sheet = Sheet { whole: &whole, usable: &whole, kerf: 0.0 };
/// let rule = Rule::usual(6.0);
/// let cut = runs(&[blank_for(&round, &rule)], sheet, rule, &|_| false)?;
/// let all = with_pieces(&cut, &[round], 0.0, &rule)?;
/// assert!(all.steps.len() > cut.breaking.steps.len());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn with_pieces(cut: &Runs, pieces: &[Outline], kerf: f64, rule: &Rule) -> Result<Breaking, HeldError> {
    let mut held = Vec::new();
    let mut steps = cut.breaking.steps.clone();
    let parts = steps.iter().flat_map(|s| [s.left, s.right]).filter_map(|o| match o {
        Outcome::Part(number) => Some(number),
        _ => None,
    });
    let mut next = parts.max().unwrap_or(0) + 1;
    for (k, (blank, piece)) in cut.blanks.iter().zip(pieces).enumerate() {
        let reliefs = match free(blank, &scored(piece, blank, kerf), rule) {
            Ok(reliefs) if reliefs.is_empty() => continue,
            Ok(reliefs) => reliefs,
            Err(blocked) => {
                held.push((k, blocked));
                continue;
            }
        };
        let mut hand = 0;
        if let Some(side) = side_of(&mut steps, Outcome::Piece(k)) {
            hand = next;
            *side = Outcome::Part(next);
            next += 1;
        }
        let last = reliefs.len() - 1;
        for (i, Relief { chain, nibbled, .. }) in reliefs.into_iter().enumerate() {
            let left = if i == last {
                Outcome::Piece(k)
            } else {
                Outcome::Part(next)
            };
            steps.push(Step {
                part: hand,
                chain,
                left,
                right: if nibbled { Outcome::Nibbled } else { Outcome::Cullet },
            });
            if i < last {
                hand = next;
                next += 1;
            }
        }
    }
    if held.is_empty() {
        Ok(Breaking { steps })
    } else {
        Err(HeldError { pieces: held })
    }
}

/// The outline that is scored: half a kerf round the piece, as the runs are, where the blank is as large as that.
fn scored(piece: &Outline, blank: &Outline, kerf: f64) -> Outline {
    if kerf <= 0.0 {
        return piece.clone();
    }
    let grown = offset::grow(piece, 0.5 * kerf);
    let common = boolean::intersection(&grown, blank).into_iter().next();
    common.map_or_else(|| piece.clone(), |region| region.outer)
}

fn side_of(steps: &mut [Step], outcome: Outcome) -> Option<&mut Outcome> {
    steps
        .iter_mut()
        .flat_map(|s| [&mut s.left, &mut s.right])
        .find(|side| **side == outcome)
}
