//! Lead lines that do not join, named.

use crate::arrange::{Trouble, TroubleKind};
use crate::finding::{At, Findings};
use crate::{Place, Stroke};
use cullet_job::Units;
use cullet_job::measure::{exact, short};

/// `path "bar", line 14, layer lead`.
pub(super) fn in_words(stroke: &Stroke) -> String {
    let Place { line, what } = &stroke.place;
    let mut words = vec![];
    if !what.is_empty() {
        words.push(what.clone());
    }
    if *line > 0 {
        words.push(format!("line {line}"));
    }
    if !stroke.layer.is_empty() {
        words.push(format!("layer {}", stroke.layer));
    } else if !stroke.classes.is_empty() {
        words.push(format!("class {}", stroke.classes.join(" ")));
    }
    words.join(", ")
}

/// The snap tolerance as the user wrote it.
pub(super) fn snapped(mm: f64, units: Units) -> String {
    match units {
        Units::Millimetres => format!("{mm} mm"),
        Units::Inches => exact(mm, 3, units),
    }
}

pub(super) fn name_troubles(troubles: &[Trouble], strokes: &[(usize, &Stroke)], snap: f64, findings: &mut Findings) {
    for trouble in troubles {
        let words: Vec<String> = trouble.lines.iter().map(|line| in_words(strokes[*line].1)).collect();
        let mut source: Vec<String> = words.into_iter().filter(|w| !w.is_empty()).collect();
        source.dedup();
        let at = At {
            at: Some(trouble.at),
            piece: None,
            source: source.join(" and "),
        };
        match trouble.kind {
            TroubleKind::OpenEnd => findings.error(
                at,
                "a line that ends in open glass",
                "lead lines that end on others",
                "A lead cannot stop inside a piece: draw the line on to the next, or take it out.",
            ),
            TroubleKind::Gap { width } => findings.error(
                at,
                format!("a gap of {}", exact(width, 2, findings.1)),
                &format!("ends within {} of what they meet", snapped(snap, findings.1)),
                "Close the gap in the drawing, or raise \"snap\" in the panel's drawing.",
            ),
            TroubleKind::Overhang { length } => findings.warning(
                at,
                format!(
                    "a line that runs {} past the one it ends at",
                    exact(length, 2, findings.1)
                ),
                &format!("at most {}", snapped(snap, findings.1)),
                "It is trimmed there. Shorten the line if that is right.",
            ),
            TroubleKind::Doubled { length } => findings.warning(
                at,
                format!("two lines on top of each other for {}", short(length, 0, findings.1)),
                "each lead line once",
                "They count as one. Take one of them out, or move it if it was meant to be another.",
            ),
        }
    }
}
