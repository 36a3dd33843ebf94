//! The rows of the comparison.

use crate::number::{decimal, fixed, plain};
use crate::words::one_line;
use cullet_job::measure;
use cullet_model::figures::Figures;
use cullet_planner::compare::{BevelKind, Outcome};

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
    net_of(figures.pulled_cost, figures.returned_credit)
}

fn net_of(cost: f64, credit: f64) -> i64 {
    whole(cost / 0.01) - whole(credit / 0.01)
}

fn net_of_runs(outcome: &Outcome) -> impl Iterator<Item = i64> {
    outcome.full_runs().map(|run| net_of(run.cost, run.credit))
}

/// Of an area in the job's unit, the last place shown: the fourth of a square metre, the third of a square foot.
fn area_units(outcome: &Outcome, area: f64) -> i64 {
    let one = measure::areas(outcome.plan.job.units).one;
    whole(area / one * 10_f64.powi(area_places(outcome.plan.job.units) as i32))
}

fn area_places(units: cullet_job::Units) -> u32 {
    match units {
        cullet_job::Units::Millimetres => 4,
        cullet_job::Units::Inches => 3,
    }
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
    let area =
        |figure: fn(&Figures) -> f64| -> Units { Box::new(move |o: &Outcome| area_units(o, figure(o.figures()))) };
    let weight = |figure: fn(&Figures) -> f64| -> Units {
        Box::new(move |o: &Outcome| whole(figure(o.figures()) / measure::weights(o.plan.job.units).one * 10.0))
    };
    let cullet = |o: &Outcome| {
        let f = o.figures();
        area_units(o, f.pulled) - area_units(o, f.used) - area_units(o, f.returned)
    };
    let units = outcomes.first().map(|o| o.plan.job.units).unwrap_or_default();
    let (m2, places, kg) = (
        measure::areas(units).sign,
        area_places(units),
        measure::weights(units).sign,
    );
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
        ("cost of the glass", &currency, 2, of(|f| whole(f.pulled_cost / 0.01))),
        ("credit", &currency, 2, of(|f| whole(f.returned_credit / 0.01))),
        ("sheets and offcuts pulled", "", 0, count(|o| o.pulled() as i64)),
        ("sheets to buy", "", 0, count(|o| i64::from(o.to_buy()))),
        ("yield", "%", 1, of(|f| whole(f.yield_share() * 1000.0))),
        ("pulled", m2, places, area(|f| f.pulled)),
        ("used", m2, places, area(|f| f.used)),
        ("returned", m2, places, area(|f| f.returned)),
        ("cullet", m2, places, count(cullet)),
        ("grinding", m2, places, area(|f| f.grinding)),
        ("weight of the glass pulled", kg, 1, weight(|f| f.pulled_kg)),
        ("weight of the pieces", kg, 1, weight(|f| f.used_kg)),
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
    let units = outcomes.first().map(|o| o.plan.job.units).unwrap_or_default();
    let lengths = measure::lengths(units);
    // A hundredth of a millimetre, or a thousandth of an inch.
    let nose_places = if lengths.one > 1.0 { 3 } else { 2 };
    let mut rows = vec![];
    for (k, kind) in kinds.iter().enumerate() {
        let of = |outcome: &Outcome| outcome.bevels.get(k).and_then(|kind| kind.result);
        let first = outcomes.first().and_then(of);
        let cells = |value: &dyn Fn(cullet_planner::compare::BevelResult) -> f64, places: usize| {
            let first = first.map(value);
            let cell = |(k, outcome): (usize, &Outcome)| match of(outcome).map(value) {
                None => ("cannot be ground".to_owned(), String::new()),
                Some(value) => (fixed(value, places), difference(k, value, first, places)),
            };
            outcomes.iter().enumerate().map(cell).collect()
        };
        let name = bevel_words(kind, units);
        rows.push(Measure {
            name: format!("bevel {name}: angle"),
            unit: "°".into(),
            cells: cells(&|result| result.angle_deg, 1),
        });
        rows.push(Measure {
            name: format!("bevel {name}: nose at A's angle"),
            unit: lengths.sign.into(),
            cells: cells(&move |result| result.nose_at_first_angle / lengths.one, nose_places),
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

/// A kind of bevel: glass, width and nose in the job's unit.
pub(super) fn bevel_words(kind: &BevelKind, units: cullet_job::Units) -> String {
    let one = measure::lengths(units).one;
    let places = if one > 1.0 { 4 } else { 2 };
    format!(
        "{} {} × {}",
        one_line(&kind.glass),
        plain(kind.width / one, places),
        plain(kind.nose / one, places)
    )
}
