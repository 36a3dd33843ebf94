//! What to pull, what to buy, and every sheet with its breaks.

use crate::bench;
use crate::caution;
use crate::html::{escaped, table};
use crate::measure::{size, weight};
use crate::source;
use cullet_job::counted;
use cullet_model::{Layout, Plan};
use cullet_rack::StockKind;
use cullet_trade::TWO_PEOPLE_KG;
use std::fmt::Write;

pub(super) fn pull_list(plan: &Plan) -> String {
    let layouts = plan.glasses.iter().flat_map(|g| &g.layouts);
    let rows: Vec<Vec<String>> = layouts
        .map(|layout| {
            let bounds = layout.stock.outline.bounds();
            let kg = layout.figures.pulled_kg;
            vec![
                layout.number.to_string(),
                layout.stock.glass.clone(),
                source::stock_tag(layout),
                match layout.stock.kind {
                    StockKind::Sheet => "sheet",
                    StockKind::Offcut => "offcut",
                }
                .to_owned(),
                layout.stock.place.clone(),
                layout.stock.lot.clone().unwrap_or_default(),
                size(bounds.width(), bounds.height(), plan.job.units),
                weight(kg, plan.job.units),
                if kg > TWO_PEOPLE_KG {
                    "two people to lift".into()
                } else {
                    String::new()
                },
            ]
        })
        .collect();
    let columns = [
        "sheet map",
        "glass",
        "tag",
        "kind",
        "place",
        "lot",
        "size",
        "#weight",
        "",
    ];
    let mut page = table("To pull", &columns, &rows);
    let buy: Vec<Vec<String>> = plan
        .glasses
        .iter()
        .flat_map(|glass| glass.buy.iter().map(move |line| (glass, line)))
        .map(|(glass, line)| {
            let next = line.next_size.as_ref().map_or_else(String::new, |next| {
                format!("{} × {}, net {:.2} in all", next.count, next.tag, next.net_cost)
            });
            vec![
                line.tag.clone(),
                glass.glass.clone(),
                line.count.to_string(),
                format!("{:.2}", line.each),
                next,
            ]
        })
        .collect();
    if buy.is_empty() {
        page.push_str("<p>Nothing to buy.</p>\n");
    } else {
        page += &table(
            "To buy",
            &["sheet", "glass", "#how many", "#price of one", "the next size up"],
            &buy,
        );
    }
    let _ = writeln!(page, "<p class=\"caution\">{}</p>", caution::handling(plan.job.units));
    page
}

/// Every sheet with its map as it was drawn for its own file.
pub(super) fn maps(plan: &Plan, maps: &[String]) -> String {
    let layouts = plan.glasses.iter().flat_map(|g| &g.layouts);
    layouts
        .zip(maps)
        .map(|(layout, map)| sheet(plan, layout, map))
        .collect()
}

fn sheet(plan: &Plan, layout: &Layout, map: &str) -> String {
    let mut page = String::new();
    let map = map.split_once("?>\n").map_or(map, |(_, svg)| svg);
    let map = named_apart(map, layout.number);
    let _ = writeln!(
        page,
        "<div class=\"keep\"><h3>Sheet map {} of {}: {}</h3>\n<figure class=\"map\">{map}</figure></div>\n<p>Its {} in words (pictures in sheet-{}-breaks.html).</p>\n<ol class=\"steps\">",
        layout.number,
        source::map_count(plan),
        escaped(&source::stock_tag(layout)),
        counted(layout.breaking.steps.len(), "break"),
        layout.number
    );
    for step in bench::steps(plan, layout) {
        let _ = write!(page, "<li>{}</li>", escaped(&step));
    }
    page.push_str("</ol>\n");
    page
}

/// A map whose names within it do not meet those of the page and of the other maps.
fn named_apart(map: &str, number: u32) -> String {
    let prefix = format!("map-{number}-");
    map.replace(" id=\"", &format!(" id=\"{prefix}"))
        .replace("url(#", &format!("url(#{prefix}"))
        .replace("href=\"#", &format!("href=\"#{prefix}"))
}
