//! Numbers of pieces: those that the drawing leaves out, and those that it gives twice.

use super::{box_of, of_piece};
use crate::cartoon::Cell;
use crate::finding::{At, Findings};
use cullet_geometry::Point;
use std::collections::{BTreeMap, BTreeSet};

/// Gives the lowest free numbers in reading order.
pub(super) fn number_the_rest(cells: &mut [Cell], any_text: bool, findings: &mut Findings) {
    let taken: BTreeSet<String> = cells.iter().map(|cell| cell.number.clone()).collect();
    let mut free = (1usize..).map(|n| n.to_string()).filter(|n| !taken.contains(n));
    let mut given = vec![];
    let mut first = None;
    for i in reading_order(cells) {
        if !cells[i].is_numbered {
            cells[i].number = free.next().unwrap_or_default();
            given.push(cells[i].number.clone());
            first.get_or_insert(cells[i].middle);
        }
    }
    if any_text && !given.is_empty() {
        let shown = if given.len() > 12 {
            format!("{} … {}", given[..6].join(", "), given[given.len() - 1])
        } else {
            given.join(", ")
        };
        let at = At {
            at: first,
            ..At::default()
        };
        findings.warning(
            at,
            format!(
                "{} without a number",
                if given.len() == 1 {
                    "a cell".to_owned()
                } else {
                    format!("{} cells", given.len())
                }
            ),
            "a number in every cell",
            &format!("Numbers were given in reading order: {shown}. Write them into the cells to keep them."),
        );
    }
}

/// Rows from the top, each from the left: a row is what lies above the lowest third of its highest cell.
pub(super) fn reading_order(cells: &[Cell]) -> Vec<usize> {
    let boxes: Vec<(Point, Point)> = cells
        .iter()
        .map(|cell| {
            box_of(
                &cell
                    .sides
                    .iter()
                    .map(|side| side.curve.at(0.0))
                    .chain([cell.middle])
                    .collect::<Vec<_>>(),
            )
        })
        .collect();
    let level = |i: &usize| (boxes[*i].0.y + boxes[*i].1.y) / 2.0;
    let mut left: Vec<usize> = (0..cells.len()).collect();
    left.sort_by(|a, b| level(b).total_cmp(&level(a)).then(a.cmp(b)));
    let mut order = vec![];
    while let Some(first) = left.first().copied() {
        let reach = (boxes[first].1.y - boxes[first].0.y) / 3.0;
        let in_row = left
            .iter()
            .take_while(|i| level(i) > level(&first) - reach || **i == first)
            .count();
        let mut row: Vec<usize> = left.drain(..in_row.max(1)).collect();
        row.sort_by(|a, b| cells[*a].middle.x.total_cmp(&cells[*b].middle.x).then(a.cmp(b)));
        order.extend(row);
    }
    order
}

pub(super) fn name_repeats(cells: &[Cell], findings: &mut Findings) {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for cell in cells {
        let count = seen.entry(&cell.number).or_default();
        *count += 1;
        if *count == 2 {
            findings.error(
                of_piece(cell),
                format!("the number {} a second time", cell.number),
                "each number once",
                "Give one of the two pieces another number.",
            );
        }
    }
}
