//! What to order: a line for each size of sheet that a plan needs and that is not on hand.

use super::{TableError, signs};
use crate::number::{fixed, plain};
use crate::words::one_line;
use cullet_job::counted;
use cullet_job::measure::{lengths, short_size};
use cullet_model::{Plan, Purchase};
use cullet_rack::{Signs, StockItem};

/// The buy list as CSV: a row a size of sheet to order; nothing where all glass is on hand.
///
/// `net_cost` is what the whole glass comes to with these sheets after credit, `next_size_net_cost` what it would come to with
/// the next size up, where one is on offer. Money to 1e-6, sizes in the job's unit.
///
/// # Errors
/// [`TableError::NotANumber`] where a price is NaN or infinite.
pub fn buy_csv(plan: &Plan, signs: Signs) -> Result<Option<String>, TableError> {
    if plan.glasses.iter().all(|g| g.buy.is_empty()) {
        return Ok(None);
    }
    let mut table = signs::writer(signs);
    let lengths = lengths(plan.job.units);
    table.write_record([
        "glass",
        "tag",
        &format!("width_{}", lengths.code),
        &format!("height_{}", lengths.code),
        "count",
        "price_each",
        "price_all",
        "net_cost",
        "next_size_tag",
        "next_size_count",
        "next_size_net_cost",
        "currency",
    ])?;
    for glass in &plan.glasses {
        for line in &glass.buy {
            let place = format!("glass {}, to buy {}", glass.glass, line.tag);
            let money = |value: f64, column: &'static str| match value.is_finite() {
                true => Ok(signs::number(plain(value, 6), signs)),
                false => Err(TableError::NotANumber {
                    place: place.clone(),
                    column: column.to_owned(),
                    value,
                }),
            };
            let (width, height) = size(plan, &line.tag);
            let next = line.next_size.as_ref();
            table.write_record([
                glass.glass.clone(),
                line.tag.clone(),
                signs::number(plain(width / lengths.one, 4), signs),
                signs::number(plain(height / lengths.one, 4), signs),
                line.count.to_string(),
                money(line.each, "price_each")?,
                money(line.each * f64::from(line.count), "price_all")?,
                money(glass.figures.net_cost(), "net_cost")?,
                next.map(|n| n.tag.clone()).unwrap_or_default(),
                next.map(|n| n.count.to_string()).unwrap_or_default(),
                next.map_or(Ok(String::new()), |n| money(n.net_cost, "next_size_net_cost"))?,
                plan.job.settings.currency.clone(),
            ])?;
        }
    }
    signs::text(table, signs).map(Some)
}

/// The buy list in words; empty where all glass is on hand.
#[must_use]
pub fn buy_text(plan: &Plan) -> String {
    let mut text = String::new();
    for glass in &plan.glasses {
        for line in &glass.buy {
            text.push_str(&format!(
                "  {}\n",
                in_words(plan, &glass.glass, glass.figures.net_cost(), line)
            ));
        }
    }
    if text.is_empty() {
        return text;
    }
    format!("\nto buy:\n{text}")
}

fn in_words(plan: &Plan, glass: &str, net: f64, line: &Purchase) -> String {
    let currency = match one_line(&plan.job.settings.currency) {
        none if none.is_empty() => none,
        currency => format!(" {currency}"),
    };
    let size = |tag: &str| {
        let (width, height) = size(plan, tag);
        format!("{}, {}", one_line(tag), short_size(width, height, 0, plan.job.units))
    };
    let each = if line.count > 1 {
        format!(
            " each, {}{currency} in all",
            fixed(line.each * f64::from(line.count), 2)
        )
    } else {
        String::new()
    };
    let next = line.next_size.as_ref().map(|next| {
        format!(
            "; the next size up ({}, {}) would come to net {}{currency} instead of {}{currency}",
            size(&next.tag),
            counted(next.count, "sheet"),
            fixed(next.net_cost, 2),
            fixed(net, 2)
        )
    });
    format!(
        "{}: {} of {} at {}{currency}{each}{}",
        one_line(glass),
        counted(line.count, "sheet"),
        size(&line.tag),
        fixed(line.each, 2),
        next.unwrap_or_default()
    )
}

/// Width and height of a line of the stock, mm.
fn size(plan: &Plan, tag: &str) -> (f64, f64) {
    let item: Option<&StockItem> = plan.stock.items.iter().find(|i| i.tag == tag);
    item.map_or((0.0, 0.0), |i| {
        let bounds = i.outline.bounds();
        (bounds.width(), bounds.height())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::varied;
    use cullet_job::{FaceFile, GrainFile};
    use cullet_model::NextSize;

    #[test]
    fn a_line_a_size_with_the_next_size_up() {
        let mut plan = varied(GrainFile::None, FaceFile::Show);
        assert_eq!(
            (buy_csv(&plan, Signs::Points).unwrap(), buy_text(&plan)),
            (None, String::new())
        );
        let tag = plan.stock.items[0].tag.clone();
        plan.glasses[0].buy = vec![Purchase {
            tag: tag.clone(),
            count: 2,
            each: 44.652,
            next_size: Some(NextSize {
                tag,
                count: 1,
                net_cost: 70.0,
            }),
        }];
        let table = buy_csv(&plan, Signs::Points).unwrap().unwrap();
        let mut rows = csv::Reader::from_reader(table.as_bytes());
        let row = rows.records().next().unwrap().unwrap();
        assert_eq!((&row[4], &row[5], &row[6]), ("2", "44.652", "89.304"));
        assert_eq!((&row[9], &row[10]), ("1", "70"));
        let commas = buy_csv(&plan, Signs::Commas).unwrap().unwrap();
        assert!(
            commas.starts_with("\u{feff}glass;tag;") && commas.contains(";44,652;89,304;"),
            "{commas}"
        );
        let text = buy_text(&plan);
        assert!(
            text.contains("2 sheets of") && text.contains("44.65 EUR each, 89.30 EUR in all"),
            "{text}"
        );
        assert!(text.contains("would come to net 70.00 EUR instead of"), "{text}");
        plan.glasses[0].buy[0].each = f64::NAN;
        assert!(buy_csv(&plan, Signs::Points).is_err());
    }
}
