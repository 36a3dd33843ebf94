//! Which lot a one-lot group is cut from.

use super::stock::Candidate;
use cullet_job::Piece;

/// A group of pieces of one glass that must come from one lot.
#[derive(Debug, Clone)]
pub(super) struct Group {
    pub(super) name: String,
    /// Lots that could do, the first to be tried first.
    pub(super) lots: Vec<String>,
}

/// A lot is thought large enough when the group fills at most this share of it.
const ROOMY: f64 = 0.6;

/// The groups among `pieces`, each with its lots: large enough ones first, among them the cheapest by area.
pub(super) fn groups(pieces: &[&Piece], candidates: &[Candidate]) -> Vec<Group> {
    let mut names: Vec<&String> = pieces.iter().filter_map(|p| p.one_lot.as_ref()).collect();
    names.sort();
    names.dedup();
    names
        .into_iter()
        .map(|name| Group {
            name: name.clone(),
            lots: lots(name, pieces, candidates),
        })
        .collect()
}

fn lots(name: &str, pieces: &[&Piece], candidates: &[Candidate]) -> Vec<String> {
    let members = pieces.iter().filter(|p| p.one_lot.as_deref() == Some(name));
    let needed: f64 = members.map(|p| p.cut.area() * f64::from(p.quantity)).sum();
    let mut lots: Vec<(String, f64, f64)> = Vec::new();
    for candidate in candidates {
        let (area, cost) = (candidate.container.outline.area(), candidate.container.cost);
        match lots.iter_mut().find(|l| l.0 == candidate.lot) {
            Some(lot) => {
                lot.1 += area;
                lot.2 += cost;
            }
            None => lots.push((candidate.lot.clone(), area, cost)),
        }
    }
    lots.sort_by(|a, b| {
        let roomy = |l: &(String, f64, f64)| needed <= ROOMY * l.1;
        let price = |l: &(String, f64, f64)| l.2 / l.1;
        roomy(b)
            .cmp(&roomy(a))
            .then(price(a).total_cmp(&price(b)))
            .then(b.1.total_cmp(&a.1))
    });
    lots.into_iter().map(|l| l.0).collect()
}
