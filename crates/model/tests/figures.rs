//! Figures by hand arithmetic and by published weights.

use cullet_geometry::Outline;
use cullet_model::figures::{Accounts, Figures, weight_kg};
use cullet_rack::StockKind;
use cullet_testkit::plan as sample;

/// EN 572-1 puts soda-lime glass at 2500 kg/m³; both weights follow by arithmetic.
#[test]
fn weights_follow_en_572_1() {
    let inch = 25.4;
    assert!((weight_kg(1830.0 * 2440.0, 6.0) - 66.98).abs() < 0.005);
    assert!((weight_kg(24.0 * inch * 48.0 * inch, 3.0) - 5.57).abs() < 0.005);
}

/// A sheet 1000 × 800 at 40 a m², three squares of 100 (102 cut) on it, a strip 400 × 800 given back at half price.
#[test]
fn a_sheet_by_arithmetic() {
    let job = sample::job();
    let plan = sample::plan();
    let layout = &plan.glasses[0].layouts[0];
    let returned = [Outline::rectangle(400.0, 800.0)];
    let f = Accounts::new(&job).layout(&layout.stock, &layout.placements[..3], &returned);
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9 * b.abs().max(1.0), "{a} is not {b}");
    close(f.pulled, 800_000.0);
    close(f.used, 30_000.0);
    close(f.returned, 320_000.0);
    close(f.cullet, 450_000.0);
    close(f.grinding, 3.0 * (102.0 * 102.0 - 10_000.0));
    assert_eq!(f.pieces, 3);
    close(f.pulled_kg, 8.0);
    close(f.used_kg, 0.3);
    close(f.pulled_cost, 32.0);
    close(f.returned_credit, 6.4);
    close(f.net_cost(), 25.6);
    close(f.yield_share(), 30_000.0 / 480_000.0);
}

#[test]
fn an_offcut_counts_at_its_credited_value_and_an_own_price_goes_first() {
    let job = sample::job();
    let accounts = Accounts::new(&job);
    let mut item = sample::plan().glasses[0].layouts[0].stock.clone();
    let full = accounts.value(&item);
    item.kind = StockKind::Offcut;
    assert!((accounts.value(&item) - full / 2.0).abs() < 1e-12);
    item.price = Some(10.0);
    assert!((accounts.value(&item) - 5.0).abs() < 1e-12);
    item.kind = StockKind::Sheet;
    assert!((accounts.value(&item) - 10.0).abs() < 1e-12);
}

#[test]
fn nothing_pulled_yields_nothing() {
    assert_eq!(Figures::default().yield_share(), 0.0);
    assert_eq!(Figures::sum([]), Figures::default());
}
