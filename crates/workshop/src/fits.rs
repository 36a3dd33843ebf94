//! Glass that pieces of a job fit on: before anything is planned, piece by piece, as one looks along the rack.

use crate::Error;
use crate::reading::Glass;
use cullet_job::{JobFile, PieceId};
use cullet_model::Plan;
use cullet_planner::recut::{self, Broken};
use cullet_rack::{Rack, Stock, StockItem, StockKind, Wanted};

/// The first so many sheets and offcuts, offcuts first and the smallest first, from which all of `pieces` can be cut together, once each;
/// each with the plan that does it. Glass that is held for another plan is left out.
///
/// The pieces are of one glass. Cost: some milliseconds for each sheet or offcut that is tried.
///
/// # Errors
/// A list or rack that cannot be read, or a job that is none without the other pieces.
pub fn glass_for(
    job: &JobFile,
    pieces: &[PieceId],
    from: &Glass,
    most: usize,
) -> Result<Vec<(StockItem, Plan)>, Error> {
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
            .then(a.tag.cmp(&b.tag))
    });
    let items: Vec<&StockItem> = stock.items.iter().collect();
    let found = recut::first_that_do(&job, &items, most);
    Ok(found.into_iter().map(|(item, plan)| (item.clone(), plan)).collect())
}
