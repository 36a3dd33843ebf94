//! What must hold of every layout: counts, turns, places, and runs that free every piece.

use crate::check;
use crate::problems::pieces_in;
use cullet_breakout::{Breaking, Outcome, Rule};
use cullet_geometry::{Outline, boolean, offset};
use cullet_guillotine::{Laying, Sheet, blank_for, runs, with_pieces};
use cullet_search::Problem;

/// Everything wrong with a layout.
pub(crate) fn faults(problem: &Problem, laying: &Laying) -> Vec<String> {
    let mut faults = wrong_counts(problem, laying);
    faults.extend(wrong_poses(problem, laying));
    for c in 0..problem.containers.len() {
        let pieces = pieces_in(problem, laying, c);
        if !pieces.is_empty() {
            faults.extend(wrong_places(problem, c, &pieces));
            faults.extend(wrong_runs(problem, laying, c, &pieces));
        }
    }
    faults
}

/// Pieces that are neither placed nor left.
fn wrong_counts(problem: &Problem, laying: &Laying) -> Vec<String> {
    let mut faults = Vec::new();
    for (k, item) in problem.items.iter().enumerate() {
        let placed = laying.placed.iter().filter(|p| p.item == k);
        if placed.count() + laying.left[k] as usize != item.count as usize {
            faults.push(format!("item {k} is miscounted"));
        }
    }
    faults
}

/// Pieces turned as they must not be, or in a container that they must not be in.
fn wrong_poses(problem: &Problem, laying: &Laying) -> Vec<String> {
    let mut faults = Vec::new();
    for placed in &laying.placed {
        let item = &problem.items[placed.item];
        let turns = if placed.pose.turned_over {
            item.turned_over.as_ref()
        } else {
            Some(&item.turns)
        };
        let near = |c: &f64| {
            let d = (placed.pose.rotation_deg - c).rem_euclid(360.0);
            d.min(360.0 - d)
        };
        if !turns.is_some_and(|t| t.angles_deg.iter().any(|c| near(c) <= t.tolerance_deg + 1e-5)) {
            faults.push(format!("item {} lies as it must not: {:?}", placed.item, placed.pose));
        }
        if !item.allowed.is_empty() && !item.allowed[placed.container] {
            faults.push(format!("item {} lies where it must not", placed.item));
        }
    }
    faults
}

/// Pieces on each other, outside the container, on a flaw, or too near.
fn wrong_places(problem: &Problem, c: usize, pieces: &[Outline]) -> Vec<String> {
    let container = &problem.containers[c];
    let mut faults = check::overlaps(pieces);
    for (k, piece) in pieces.iter().enumerate() {
        let out: f64 = boolean::difference(piece, std::slice::from_ref(&container.outline))
            .iter()
            .map(boolean::Region::area)
            .sum();
        if out > 0.5 {
            faults.push(format!("piece {k} lies {out} mm2 outside"));
        }
        for flaw in &container.keep_off {
            let on: f64 = boolean::intersection(piece, flaw)
                .iter()
                .map(boolean::Region::area)
                .sum();
            if on > 0.5 {
                faults.push(format!("piece {k} lies {on} mm2 on a flaw"));
            }
        }
        for other in &pieces[..k] {
            if piece.distance_to(other) < problem.clearance - 0.002 {
                faults.push(format!("piece {k} lies too near another"));
            }
        }
    }
    faults
}

/// Runs that do not free every piece, or that the rule refuses.
fn wrong_runs(problem: &Problem, laying: &Laying, c: usize, pieces: &[Outline]) -> Vec<String> {
    let container = &problem.containers[c];
    let whole = offset::grow(&container.outline, 10.0);
    let blanks: Vec<Outline> = laying
        .placed
        .iter()
        .filter(|p| p.container == c)
        .map(|p| blank_for(&problem.items[p.item].outline, &Rule::usual(6.0)).posed(&p.pose))
        .collect();
    let on = Sheet {
        whole: &whole,
        usable: &container.outline,
        kerf: problem.clearance,
    };
    let mut faults = Vec::new();
    match runs(&blanks, on, Rule::usual(6.0), &|waste| waste.area() > 20_000.0) {
        Ok(cut) => {
            faults.extend(check::faults(&whole, &blanks, &cut.breaking));
            faults.extend(against_the_rule(&whole, &cut.breaking));
            match with_pieces(&cut, pieces, problem.clearance, &Rule::usual(6.0)) {
                Ok(all) => faults.extend(against_the_rule(&whole, &all)),
                Err(held) => faults.push(held.to_string()),
            }
            if cut.blanks.len() != blanks.len() {
                faults.push("not a blank for each piece".to_owned());
            }
        }
        Err(error) => faults.push(error.to_string()),
    }
    faults
}

/// Breaks that the rule refuses, and strips that it would have nibbled.
fn against_the_rule(whole: &Outline, breaking: &Breaking) -> Vec<String> {
    let rule = Rule::usual(6.0);
    let mut faults = Vec::new();
    let mut parts = vec![Some(whole.clone())];
    for (number, step) in breaking.steps.iter().enumerate() {
        let Some(hand) = parts.get_mut(step.part).and_then(Option::take) else {
            faults.push(format!("step {number}: part {} is not there", step.part));
            continue;
        };
        match rule.part(&hand, &step.chain) {
            Ok((left, right)) => {
                for (outcome, side) in [(step.left, left), (step.right, right)] {
                    if rule.is_wide(side.points()) == (outcome == Outcome::Nibbled) {
                        faults.push(format!("step {number}: {outcome:?} is {:.3} mm2 of waste", side.area()));
                    }
                    if let Outcome::Part(k) = outcome {
                        parts.resize(parts.len().max(k + 1), None);
                        parts[k] = Some(side);
                    }
                }
            }
            Err(refusal) => faults.push(format!("step {number}: {refusal}")),
        }
    }
    faults
}
