//! Glass that pieces of a job fit on: before anything is planned, piece by piece, as one looks along the rack.

use crate::Error;
use crate::reading::Glass;
use cullet_job::{JobFile, PieceId};
use cullet_model::Plan;
use cullet_planner::recut::{self, Broken};
use cullet_rack::{Rack, Stock, StockItem, StockKind, Wanted};

/// Glass that pieces fit on.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The sheet or offcut.
    pub item: StockItem,
    /// The tags of others just like it.
    pub alike: Vec<String>,
    /// The pieces cut from it, and what goes back.
    pub plan: Plan,
}

/// The first so many sheets and offcuts, offcuts first and the smallest first, from which all of `pieces` can be cut together, once each;
/// each with the plan that does it. Glass that is held for another plan is left out.
///
/// The pieces are of one glass. Cost: some milliseconds for each sheet or offcut that is tried.
///
/// # Errors
/// A list or rack that cannot be read, or a job that is none without the other pieces.
pub fn glass_for(job: &JobFile, pieces: &[PieceId], from: &Glass, most: usize) -> Result<Vec<Fit>, Error> {
    let once = pieces.iter().map(|id| Broken {
        id: id.clone(),
        count: 1,
    });
    let job = recut::job_of(job, &once.collect::<Vec<_>>())?;
    let Some(first) = job.pieces.first() else {
        return Ok(vec![]);
    };
    let code = job.glasses[first.glass].code.clone();
    let least_area = job.pieces.iter().map(|piece| piece.cut.area());
    let mut stock = match from {
        Glass::List(list) => {
            let text = crate::reading::text(list, "a stock list (CSV)")?;
            Stock::read_csv(&list.display().to_string(), &text)?
        }
        Glass::Rack(rack) => {
            let wanted = Wanted {
                glass: &code,
                least_area: least_area.fold(f64::INFINITY, f64::min),
            };
            Rack::open_to_read(rack)?.stock(&[wanted])?.0
        }
    };
    stock.items.retain(|item| item.glass == code);
    stock.items.sort_by(|a, b| {
        let is_sheet = |item: &StockItem| item.kind == StockKind::Sheet;
        let area = |item: &StockItem| item.outline.area();
        (is_sheet(a).cmp(&is_sheet(b)))
            .then(area(a).total_cmp(&area(b)))
            .then(a.lot.cmp(&b.lot))
            .then(a.tag.cmp(&b.tag))
    });
    let kinds: Vec<&[StockItem]> = stock.items.chunk_by(is_alike).collect();
    let items: Vec<&StockItem> = kinds.iter().filter_map(|kind| kind.first()).collect();
    let found = recut::first_that_do(&job, &items, most).into_iter();
    let fit = |(item, plan): (&StockItem, Plan)| {
        let kind = kinds.iter().find(|kind| kind[0].tag == item.tag)?;
        Some(Fit {
            item: item.clone(),
            alike: kind[1..].iter().map(|other| other.tag.clone()).collect(),
            plan,
        })
    };
    Ok(found.filter_map(fit).collect())
}

/// Whether two stand for each other in all but their tags and places.
fn is_alike(a: &StockItem, b: &StockItem) -> bool {
    let own = |item: &StockItem| StockItem {
        tag: String::new(),
        place: String::new(),
        ..item.clone()
    };
    own(a) == own(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use cullet_job::{Job, ReadWith};
    use std::fs;

    const JOB: &str = r#"{"format": 2, "name": "Porch", "units": "mm", "y": "up",
        "glasses": [{"code": "CL", "name": "Clear", "thickness": 3, "grain": "none", "may_turn_over": true, "scored_face": "show",
                     "grind_allowance": 0.5, "price": 20, "price_unit": "m2"}],
        "panels": [{"id": "P", "quantity": 1, "pieces": [
            {"number": "1", "glass": "CL", "outline": [[0, 0], [120, 0], [120, 80], [0, 80]]},
            {"number": "2", "glass": "CL", "outline": [[0, 0], [250, 0], [250, 80], [0, 80]]}]}]}"#;
    const STOCK: &str = "kind,tag,glass,units,width,height,count,place\nsheet,S,CL,mm,600,500,3,A1\noffcut,T,CL,mm,125,85,1,A2\n\
                         offcut,K,CL,mm,300,200,1,A2\noffcut,L,CL,mm,300,200,1,A3\noffcut,X,RED,mm,150,150,1,A3\n";

    /// T is larger than the piece and too small for the trim round it; of K and L, which are alike, one is tried.
    #[test]
    fn the_smallest_first_and_each_kind_once() {
        let home = tempfile::tempdir().expect("a temporary folder");
        let list = home.path().join("stock.csv");
        fs::write(&list, STOCK).expect("writable");
        let job = Job::read_as("job.json", JOB, ReadWith::default(), |_, _| {}).expect("valid");
        let fits = |numbers: &[&str]| -> Vec<(String, Vec<String>)> {
            let is_meant = |id: &PieceId| numbers.contains(&id.number.as_str());
            let ids: Vec<PieceId> = job.pieces.iter().map(|p| p.id.clone()).filter(is_meant).collect();
            let found = glass_for(&job.source, &ids, &Glass::List(list.clone()), 9).expect("a list");
            for fit in &found {
                let laid = fit.plan.glasses.iter().flat_map(|glass| &glass.layouts);
                assert_eq!(laid.map(|layout| layout.placements.len()).sum::<usize>(), ids.len());
                assert_eq!(cullet_verify::verify(&fit.plan), vec![]);
            }
            found.into_iter().map(|fit| (fit.item.tag, fit.alike)).collect()
        };
        let (kind, sheet) = (("K".to_owned(), vec!["L".to_owned()]), ("S".to_owned(), vec![]));
        assert_eq!(fits(&["1"]), [kind.clone(), sheet.clone()]);
        assert_eq!(fits(&["1", "2"]), [kind, sheet]);
    }
}
