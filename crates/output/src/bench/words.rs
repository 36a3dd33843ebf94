//! What a break does, in a sentence.

use super::{length, off_and_stays, shape};
use crate::measure::short;
use crate::source::{Placed, offcut_name};
use cullet_breakout::{Bend, Outcome, Step, Taken, bends};
use cullet_geometry::{Point, ring};
use cullet_job::Units;
use cullet_model::Layout;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Radius under which the bend of a score is said, mm.
const GENTLE_RADIUS: f64 = 100.0;
/// So many pieces of a part are named, and how many more there are.
const NAMED: usize = 4;

/// The parts of a sheet, by the pieces in them.
pub(super) struct Parts<'a> {
    layout: &'a Layout,
    placed: &'a [Placed<'a>],
    /// By the numbers of the parts.
    contents: BTreeMap<usize, Vec<usize>>,
    /// Whether all pieces are of one panel, so that their numbers will do.
    is_one_panel: bool,
}

impl<'a> Parts<'a> {
    /// `taken` is what each break has in hand. What lies in a part lay in the one it came from. Cost O(pieces × breaks that they go through).
    pub(super) fn of(layout: &'a Layout, placed: &'a [Placed<'a>], taken: &[Taken]) -> Self {
        let middles: Vec<Point> = placed.iter().map(|piece| piece.cut.inner_point()).collect();
        let mut contents = BTreeMap::from([(0, (0..placed.len()).collect())]);
        for (step, taken) in layout.breaking.steps.iter().zip(taken) {
            let whole: Vec<usize> = contents.get(&step.part).cloned().unwrap_or_default();
            for (outcome, outline) in [(step.left, &taken.left), (step.right, &taken.right)] {
                if let Outcome::Part(number) = outcome {
                    let inside = whole.iter().copied().filter(|k| ring::contains(outline, middles[*k]));
                    contents.insert(number, inside.collect());
                }
            }
        }
        let panels = placed.iter().map(|one| &one.placement.id.panel);
        Self {
            layout,
            placed,
            contents,
            is_one_panel: panels.clone().zip(panels.skip(1)).all(|(a, b)| a == b),
        }
    }

    /// The pieces in a part.
    pub(super) fn inside(&self, part: usize) -> &[usize] {
        self.contents.get(&part).map_or(&[], Vec::as_slice)
    }

    /// The sentence.
    pub(super) fn words(&self, step: &Step, units: Units) -> String {
        let from = if step.part == 0 {
            "the sheet".to_owned()
        } else {
            self.part(step.part)
        };
        let (off, stays) = off_and_stays(step);
        format!(
            "Take {from}: open the {} score, {}{}. {} comes off; {} stays.",
            shape(step),
            short(length(step), 0, units),
            bend_words(step, units),
            self.begun(off),
            self.name(stays),
        )
    }

    /// The same as [`Parts::name`] at the beginning of a sentence; names that a user gave stay as they are.
    fn begun(&self, outcome: Outcome) -> String {
        let name = self.name(outcome);
        let mut letters = name.chars();
        match (outcome, letters.next()) {
            (Outcome::Piece(_), _) | (_, None) => name,
            (_, Some(first)) => first.to_uppercase().chain(letters).collect(),
        }
    }

    fn name(&self, outcome: Outcome) -> String {
        match outcome {
            Outcome::Part(n) => self.part(n),
            other => name(other, self.layout, self.placed),
        }
    }

    fn part(&self, number: usize) -> String {
        let inside = self.inside(number);
        let of = |k: &usize| {
            let placement = self.placed[*k].placement;
            let mut name = if self.is_one_panel && !placement.id.mirrored {
                placement.id.number.clone()
            } else {
                placement.id.to_string()
            };
            if placement.copy > 1 {
                let _ = write!(name, " ({})", placement.copy);
            }
            name
        };
        let names: Vec<String> = inside.iter().take(NAMED).map(of).collect();
        match (inside.len().saturating_sub(NAMED), names.as_slice()) {
            (_, []) => "the part without pieces".to_owned(),
            (0, [one]) => format!("the part with {one}"),
            (0, [others @ .., last]) => format!("the part with {} and {last}", others.join(", ")),
            (more, names) => format!("the part with {} and {more} more", names.join(", ")),
        }
    }
}

/// What lies on a side of a break, as the table has it.
pub(super) fn name(outcome: Outcome, layout: &Layout, placed: &[Placed<'_>]) -> String {
    match outcome {
        Outcome::Part(n) => format!("part {n}"),
        Outcome::Piece(i) => placed.get(i).map_or_else(|| "a piece".to_owned(), Placed::words),
        Outcome::Offcut(n) => format!("keep {}", offcut_name(layout, n)),
        Outcome::Cullet => "cullet".to_owned(),
        Outcome::Nibbled => "waste to nibble".to_owned(),
    }
}

/// The tightest bend of a curved score, and its sharpest corner between straight stretches.
fn bend_words(step: &Step, units: Units) -> String {
    let mut words = String::new();
    for bend in bends(&step.chain) {
        let _ = match bend {
            Bend::Radius(radius) if radius < GENTLE_RADIUS => {
                write!(words, ", tightest bend {} in radius", short(radius, 0, units))
            }
            Bend::Corner(turn) => write!(words, ", with a corner of {turn:.0}°"),
            Bend::Radius(_) => Ok(()),
        };
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use crate::source;
    use cullet_job::{FaceFile, GrainFile};

    /// A part has the names of its pieces, and no number that could be taken for one of a piece.
    #[test]
    fn parts_are_named_by_their_pieces() {
        let sizes: Vec<(f64, f64)> = (0..10).map(|k| (40.0 + 6.0 * f64::from(k), 40.0)).collect();
        let sheet = sample::rows((600.0, 400.0), &sizes, 6.0);
        let plan = sample::plan(GrainFile::None, FaceFile::Show, vec![sheet]);
        let layout = &plan.glasses[0].layouts[0];
        let placed = source::placed(&plan, layout);
        let taken = layout.breaking.taken(&layout.stock.outline);
        let parts = Parts::of(layout, &placed, &taken);
        let steps = &layout.breaking.steps;
        let words: Vec<String> = steps.iter().map(|step| parts.words(step, Units::Millimetres)).collect();
        let words = words.join("\n");
        let is_numbered = |word: &str| {
            word.split(' ')
                .nth(1)
                .is_some_and(|next| next.starts_with(char::is_numeric))
        };
        assert!(
            !words.match_indices("part ").any(|(at, _)| is_numbered(&words[at..])),
            "{words}"
        );
        assert!(
            words.contains("The part with ") || words.contains("the part with "),
            "{words}"
        );
        assert!(words.contains(" more"), "{words}");
    }

    #[test]
    fn tight_bends_are_said() {
        let chain = |points: &[(f64, f64)]| Step {
            part: 0,
            chain: points.iter().map(|(x, y)| Point { x: *x, y: *y }).collect(),
            left: Outcome::Cullet,
            right: Outcome::Part(1),
        };
        let arc = |radius: f64| -> Vec<(f64, f64)> {
            let at = |i: i32| (4.0 * f64::from(i)).to_radians().sin_cos();
            (0..=15).map(at).map(|(s, c)| (radius * c, radius * s)).collect()
        };
        assert_eq!(
            bend_words(&chain(&arc(40.0)), Units::Millimetres),
            ", tightest bend 40 mm in radius"
        );
        assert_eq!(bend_words(&chain(&arc(120.0)), Units::Millimetres), "");
        assert_eq!(
            bend_words(&chain(&arc(50.8)), Units::Inches),
            ", tightest bend 2 in in radius"
        );
        let corner = chain(&[(0.0, 0.0), (100.0, 0.0), (200.0, 36.4)]);
        assert_eq!(bend_words(&corner, Units::Millimetres), ", with a corner of 20°");
    }
}
