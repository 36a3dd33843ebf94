//! The least that any plan of a job can cost, from areas and prices alone.
//!
//! Glass is taken as if it could be cut without loss and by any fraction, the cheapest first: an item of value v and area A that gives
//! a of pieces costs v less the credit of A − a, which is at least a · v / A as long as v is no less than the credit of A.

use cullet_job::Job;
use cullet_rack::{Count, Stock};

/// In the job's money. Nothing where an item costs less than what its own glass is credited at: then pulling more might pay. Cost O(n log n).
pub(crate) fn least_cost(job: &Job, stock: &Stock) -> Option<f64> {
    let mut least = 0.0;
    for (index, glass) in job.glasses.iter().enumerate() {
        let pieces = job.pieces.iter().filter(|piece| piece.glass == index);
        // Spares need not be cut, and what lies in the panels must be.
        let mut wanted: f64 = pieces.map(|piece| piece.cut.area() * f64::from(piece.quantity)).sum();
        if wanted <= 0.0 {
            continue;
        }
        let mut offers: Vec<(f64, f64)> = vec![];
        for item in stock.items.iter().filter(|item| item.glass == glass.code) {
            let area = item.outline.area();
            let value = item.value(glass.price_per_mm2, job.credit_rate);
            if value < job.credit_rate * glass.price_per_mm2 * area - 1e-9 {
                return None;
            }
            let room = match item.count {
                Count::OnHand(count) => area * f64::from(count),
                Count::ToBuy => f64::INFINITY,
            };
            offers.push((value / area, room));
        }
        offers.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (price, room) in offers {
            let taken = wanted.min(room);
            least += taken * price;
            wanted -= taken;
        }
    }
    Some(least)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two pieces of 100 × 100 mm; an offcut of 100 × 150 mm that counts half, then sheets: 15,000 mm² at 10 a m², 5,000 at 20.
    #[test]
    fn the_cheapest_glass_first_and_no_loss() {
        let job = r#"{"name": "A", "units": "mm", "y": "up", "glasses": [{"code": "CL", "name": "Clear", "thickness": 3, "grain": "none",
            "may_turn_over": true, "scored_face": "show", "grind_allowance": 0, "price": 20, "price_unit": "m2"}],
            "panels": [{"id": "P", "quantity": 2, "pieces": [{"number": "1", "glass": "CL", "outline": [[0,0],[100,0],[100,100],[0,100]]}]}]}"#;
        let job = Job::read("job.json", job).expect("a job");
        let list = "kind,tag,glass,units,width,height,count\nsheet,N,CL,mm,600,600,buy\noffcut,7,CL,mm,100,150,1\n";
        let stock = Stock::read_csv("stock.csv", list).expect("a list");
        let least = least_cost(&job, &stock).expect("prices that add up");
        assert!((least - (15_000.0 * 10e-6 + 5_000.0 * 20e-6)).abs() < 1e-9, "{least}");
    }
}
