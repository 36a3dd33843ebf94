//! The rows of the comparison.

use crate::number::{decimal, fixed, plain};
use crate::words::one_line;
use cullet_plan::compare::{BevelKind, Outcome};
use cullet_plan::figures::Figures;

/// One measure of all choices.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Measure {
    pub(super) name: String,
    pub(super) unit: String,
    /// Of each choice: what it comes to, and how far that is from the first; empty for the first and where it says nothing.
    pub(super) cells: Vec<(String, String)>,
}

/// A figure in whole units of its last place.
type Units = Box<dyn Fn(&Outcome) -> i64>;

/// Net cost as shown, in cents: what is left of the shown cost and credit.
pub(super) fn net_units(outcome: &Outcome) -> i64 {
    let figures = outcome.figures();
    net_of(figures.drawn_cost, figures.returned_credit)
}

fn net_of(cost: f64, credit: f64) -> i64 {
    whole(cost / 0.01) - whole(credit / 0.01)
}

fn net_of_runs(outcome: &Outcome) -> impl Iterator<Item = i64> {
    outcome.full_runs().map(|run| net_of(run.cost, run.credit))
}

/// 100 mm² is the fourth place of a square metre.
fn area_units(area: f64) -> i64 {
    whole(area / 100.0)
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "saturates far beyond any glass or money, and NaN becomes 0"
)]
fn whole(value: f64) -> i64 {
    value.round() as i64
}

/// Every measure, in the order of the table.
pub(super) fn measures(outcomes: &[Outcome]) -> Vec<Measure> {
    let currency = outcomes.first().map(|o| one_line(&o.plan.job.settings.currency));
    let currency = currency.unwrap_or_default();
    let of = |figure: fn(&Figures) -> i64| -> Units { Box::new(move |o: &Outcome| figure(o.figures())) };
    let count = |count: fn(&Outcome) -> i64| -> Units { Box::new(count) };
    let cullet = |f: &Figures| area_units(f.drawn) - area_units(f.used) - area_units(f.returned);
    let rows: [(&str, &str, u32, Units); 19] = [
        ("net cost", &currency, 2, Box::new(net_units)),
        (
            "lowest of its searches",
            &currency,
            2,
            count(|o| net_of_runs(o).min().unwrap_or_default()),
        ),
        (
            "highest of its searches",
            &currency,
            2,
            count(|o| net_of_runs(o).max().unwrap_or_default()),
        ),
        ("cost of the glass", &currency, 2, of(|f| whole(f.drawn_cost / 0.01))),
        ("credit", &currency, 2, of(|f| whole(f.returned_credit / 0.01))),
        ("sheets and offcuts pulled", "", 0, count(|o| o.pulled() as i64)),
        ("sheets to buy", "", 0, count(|o| i64::from(o.to_buy()))),
        ("yield", "%", 1, of(|f| whole(f.yield_share() * 1000.0))),
        ("pulled", "m²", 4, of(|f| area_units(f.drawn))),
        ("used", "m²", 4, of(|f| area_units(f.used))),
        ("returned", "m²", 4, of(|f| area_units(f.returned))),
        ("cullet", "m²", 4, of(cullet)),
        ("grinding", "m²", 4, of(|f| area_units(f.grinding))),
        ("weight of the glass pulled", "kg", 1, of(|f| whole(f.drawn_kg / 0.1))),
        ("weight of the pieces", "kg", 1, of(|f| whole(f.used_kg / 0.1))),
        ("breaks", "", 0, count(|o| o.breaks() as i64)),
        ("pieces cut", "", 0, of(|f| i64::from(f.pieces))),
        ("pieces not placed", "", 0, count(|o| i64::from(o.unplaced()))),
        (
            "pieces that cannot be made",
            "",
            0,
            count(|o| o.impossible.iter().map(|one| i64::from(one.quantity)).sum()),
        ),
    ];
    let mut all: Vec<Measure> = rows
        .iter()
        .map(|(name, unit, places, units)| figure(name, unit, *places, units, outcomes))
        .collect();
    all.extend(bevels(outcomes));
    all
}

fn figure(name: &str, unit: &str, places: u32, units: &Units, outcomes: &[Outcome]) -> Measure {
    let first = outcomes.first().map_or(0, units);
    let cell = |(k, outcome): (usize, &Outcome)| {
        let value = units(outcome);
        let difference = if k == 0 {
            String::new()
        } else {
            signed(value - first, places)
        };
        (decimal(value, places), difference)
    };
    Measure {
        name: name.to_owned(),
        unit: unit.to_owned(),
        cells: outcomes.iter().enumerate().map(cell).collect(),
    }
}

/// Two rows a kind of bevel: the angle that results with its nose, and the nose at the angle that it has as the job stands.
fn bevels(outcomes: &[Outcome]) -> Vec<Measure> {
    let kinds = outcomes.first().map_or(&[][..], |first| &first.bevels);
    let mut rows = vec![];
    for (k, kind) in kinds.iter().enumerate() {
        let of = |outcome: &Outcome| outcome.bevels.get(k).and_then(|kind| kind.result);
        let first = outcomes.first().and_then(of);
        let cells = |value: &dyn Fn(cullet_plan::compare::BevelResult) -> f64, places: usize| {
            let first = first.map(value);
            let cell = |(k, outcome): (usize, &Outcome)| match of(outcome).map(value) {
                None => ("cannot be ground".to_owned(), String::new()),
                Some(value) => (fixed(value, places), difference(k, value, first, places)),
            };
            outcomes.iter().enumerate().map(cell).collect()
        };
        let name = bevel_words(kind);
        rows.push(Measure {
            name: format!("bevel {name}: angle"),
            unit: "°".into(),
            cells: cells(&|result| result.angle_deg, 1),
        });
        rows.push(Measure {
            name: format!("bevel {name}: nose at A's angle"),
            unit: "mm".into(),
            cells: cells(&|result| result.nose_at_first_angle, 2),
        });
    }
    rows
}

fn difference(k: usize, value: f64, first: Option<f64>, places: usize) -> String {
    let Some(first) = first.filter(|_| k > 0) else {
        return String::new();
    };
    let scale = 10_f64.powi(places as i32);
    signed(whole(value * scale) - whole(first * scale), places as u32)
}

/// A difference with its sign.
fn signed(units: i64, places: u32) -> String {
    match units {
        0 => "=".to_owned(),
        more if more > 0 => format!("+{}", decimal(more, places)),
        less => decimal(less, places),
    }
}

/// A kind of bevel: glass, width and nose in mm.
pub(super) fn bevel_words(kind: &BevelKind) -> String {
    format!(
        "{} {} × {}",
        one_line(&kind.glass),
        plain(kind.width, 2),
        plain(kind.nose, 2)
    )
}
