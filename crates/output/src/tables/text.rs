//! The yield table as plain text for the terminal.

use super::share::Shown;
use crate::number::{decimal, fixed};
use crate::source::stock_tag;
use crate::words::one_line;
use cullet_job::{Units, counted};
use cullet_model::figures::Figures;
use cullet_model::{Lost, Plan};
use cullet_planner::least;

/// The yield table in plain text: a row a sheet, a total a glass, a total of the job, and the pieces that could not be
/// placed. Areas in m² to four places (1 cm²), weights in kg to one, money in cents; in a job in inches ft² to three and lb; what is shown adds up, see
/// [`super`].
#[must_use]
pub fn yield_text(plan: &Plan) -> String {
    let (rows, rules) = yield_rows(plan, plan.job.units);
    let mut text = aligned(&rows, &rules, NAMES);
    text.push_str(&ways_text(plan));
    text.push_str(&lost_text(plan));
    text.push_str(&least_text(plan));
    text.push_str(&spares_left_out(plan));
    text.push_str(&not_placed(plan));
    text
}

/// The rows of the table, what the columns are and their units first, and before which rows a rule stands. Square metres and
/// kilograms, or square feet and pounds.
pub(crate) fn yield_rows(plan: &Plan, units: Units) -> (Vec<Vec<String>>, Vec<usize>) {
    let columns = Columns::of(plan, units);
    let mut rows = columns.head(plan).to_vec();
    let mut rules = vec![rows.len()];
    for (g, glass) in plan.glasses.iter().enumerate() {
        for (s, layout) in glass.layouts.iter().enumerate() {
            let names = [
                layout.number.to_string(),
                one_line(&glass.glass),
                one_line(&stock_tag(layout)),
            ];
            rows.push(columns.row(names, &layout.figures, |c| c.sheets[g][s]));
        }
        rows.push(columns.row(
            ["".to_owned(), one_line(&glass.glass), "all".to_owned()],
            &glass.figures,
            |c| c.glasses[g],
        ));
        rules.push(rows.len());
    }
    rows.push(columns.row(
        ["".to_owned(), "job".to_owned(), "all".to_owned()],
        &plan.figures,
        |c| c.job,
    ));
    (rows, rules)
}

/// What each way of laying out came to, where more than one was tried: the kept one first.
#[must_use]
pub fn ways_text(plan: &Plan) -> String {
    let mut text = String::new();
    for glass in plan.glasses.iter().filter(|g| g.tried.len() > 1) {
        let ways = glass.tried.iter().enumerate().map(|(k, way)| {
            let style = super::csv::style(way.style);
            let missing = match way.unplaced {
                0 => String::new(),
                n => format!(", {n} not placed"),
            };
            format!(
                "{style} net {}, yield {} %, {} breaks{missing}{}",
                fixed(way.figures.net_cost(), 2),
                fixed(way.figures.yield_share() * 100.0, 1),
                way.breaks,
                if k == 0 { " (kept)" } else { "" },
            )
        });
        let ways: Vec<String> = ways.collect();
        text.push_str(&format!("{}: {}\n", one_line(&glass.glass), ways.join("; ")));
    }
    text
}

/// Where the cullet comes from, in whole percents that come to a hundred. Nothing where there is none.
#[must_use]
pub fn lost_text(plan: &Plan) -> String {
    let Some(lost) = Lost::of_plan(plan).filter(|lost| lost.sum() > 0.0) else {
        return String::new();
    };
    let parts = [lost.strips, lost.rests, lost.trim, lost.grinding];
    let percents = parts.map(|part| part / lost.sum() * 100.0);
    let percents = super::share::shared(100, &percents);
    let causes = [
        "strips between and round the pieces",
        "rests not worth keeping",
        "edge trim",
        "grinding",
    ];
    let named = causes
        .iter()
        .zip(percents)
        .map(|(cause, percent)| format!("{cause} {percent} %"));
    format!("Cullet: {}\n", named.collect::<Vec<_>>().join(", "))
}

/// The least that any plan of the job can cost, and how far above it this one is. Nothing for a job that costs nothing.
pub(crate) fn least_text(plan: &Plan) -> String {
    let Some(least) = least::of_plan(plan).filter(|least| *least > 0.0) else {
        return String::new();
    };
    let above = (plan.figures.net_cost() / least - 1.0) * 100.0;
    format!(
        "At least: no plan of this job can have a net cost below {}; this one is {} % above that\n",
        fixed(least, 2),
        fixed(above.max(0.0), 1)
    )
}

/// How many columns are names and not figures.
pub(crate) const NAMES: usize = 3;
/// The first column of weights and costs; those before it are of the glass.
pub(crate) const WEIGHT: usize = 10;

struct Columns {
    units: Units,
    pulled: Shown,
    used: Shown,
    returned: Shown,
    cullet: Shown,
    grinding: Shown,
    weight: Shown,
    cost: Shown,
    credit: Shown,
    net: Shown,
}

impl Columns {
    fn of(plan: &Plan, units: Units) -> Self {
        let (square, weight) = match units {
            // 100 mm² is the fourth place of a square metre.
            Units::Millimetres => (100.0, 0.1),
            // A square foot is 92 903.04 mm² (1 ft = 304.8 mm), a pound 0.453 592 37 kg.
            Units::Inches => (92.903_04, 0.045_359_237),
        };
        let area = |figure: fn(&Figures) -> f64| Shown::of(plan, square, figure);
        let money = |figure: fn(&Figures) -> f64| Shown::of(plan, 0.01, figure);
        let (pulled, used, returned) = (area(|f| f.pulled), area(|f| f.used), area(|f| f.returned));
        let (cost, credit) = (money(|f| f.pulled_cost), money(|f| f.returned_credit));
        Self {
            cullet: pulled.less(&[&used, &returned]),
            net: cost.less(&[&credit]),
            pulled,
            used,
            returned,
            grinding: area(|f| f.grinding),
            weight: Shown::of(plan, weight, |f| f.pulled_kg),
            units,
            cost,
            credit,
        }
    }

    /// What the columns are, and below it their units.
    fn head(&self, plan: &Plan) -> [Vec<String>; 2] {
        let currency = one_line(&plan.job.settings.currency);
        let names = [
            "map", "glass", "tag", "pieces", "pulled", "used", "returned", "cullet", "yield", "grinding", "weight",
            "cost", "credit", "net",
        ];
        let (area, weight) = match self.units {
            Units::Millimetres => ("m²", "kg"),
            Units::Inches => ("ft²", "lb"),
        };
        let units = [
            "", "", "", "", area, area, area, area, "%", area, weight, &currency, &currency, &currency,
        ];
        [names, units].map(|row| row.map(str::to_owned).to_vec())
    }

    fn row(&self, names: [String; NAMES], figures: &Figures, of: impl Fn(&Shown) -> i64) -> Vec<String> {
        let places = |shown: &Shown, places: u32| decimal(of(shown), places);
        let area = match self.units {
            Units::Millimetres => 4,
            Units::Inches => 3,
        };
        let figures = [
            figures.pieces.to_string(),
            places(&self.pulled, area),
            places(&self.used, area),
            places(&self.returned, area),
            places(&self.cullet, area),
            fixed(figures.yield_share() * 100.0, 1),
            places(&self.grinding, area),
            places(&self.weight, 1),
            places(&self.cost, 2),
            places(&self.credit, 2),
            places(&self.net, 2),
        ];
        names.into_iter().chain(figures).collect()
    }
}

/// Rows with the `left` first columns to the left, the others to the right, and a rule before the rows named.
pub(crate) fn aligned(rows: &[Vec<String>], rules: &[usize], left: usize) -> String {
    let count = |text: &String| text.chars().count();
    let columns = rows.first().map_or(0, Vec::len);
    let widths: Vec<usize> = (0..columns)
        .map(|c| rows.iter().filter_map(|r| r.get(c)).map(count).max().unwrap_or(0))
        .collect();
    let total = widths.iter().sum::<usize>() + 2 * columns.saturating_sub(1);
    let mut text = String::new();
    for (i, row) in rows.iter().enumerate() {
        if rules.contains(&i) {
            text.push_str(&"-".repeat(total));
            text.push('\n');
        }
        let mut line = String::new();
        for (c, (cell, width)) in row.iter().zip(&widths).enumerate() {
            let blank = " ".repeat(width - count(cell));
            if c > 0 {
                line.push_str("  ");
            }
            line.push_str(&if c < left {
                format!("{cell}{blank}")
            } else {
                format!("{blank}{cell}")
            });
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

/// Which spares the glass that is pulled anyway has no room for.
fn spares_left_out(plan: &Plan) -> String {
    if plan.spares_left_out.is_empty() {
        return String::new();
    }
    let named = plan
        .spares_left_out
        .iter()
        .map(|left| format!("{} of {}", left.count, one_line(&left.id.to_string())));
    let named: Vec<String> = named.collect();
    format!(
        "\nSpares that would take another sheet are not cut: {}\n  \
         \"spares\": \"always\" in the job's settings cuts them too.\n",
        named.join(", ")
    )
}

fn not_placed(plan: &Plan) -> String {
    let mut text = String::new();
    if plan.unplaced.is_empty() {
        return text;
    }
    let count: u64 = plan.unplaced.iter().map(|u| u64::from(u.count)).sum();
    text.push_str(&format!("\nnot placed: {count}\n"));
    for unplaced in &plan.unplaced {
        text.push_str(&format!(
            "  {}, {}: {}\n",
            one_line(&unplaced.id.to_string()),
            counted(unplaced.count, "copy"),
            one_line(&unplaced.reason)
        ));
    }
    text
}
