//! Names of the files that go with a plan or a comparison.

/// The plan itself.
pub const PLAN: &str = "plan.json";
/// The figures.
pub const YIELD: &str = "yield.csv";

/// What to order.
pub const BUY: &str = "buy.csv";
/// The job book.
pub const BOOK: &str = "book.html";

/// A comparison: the page and its table.
pub const COMPARISON: [&str; 2] = ["compare.html", "compare.csv"];

/// Name of a sheet map.
#[must_use]
pub fn sheet_map(number: u64) -> String {
    format!("sheet-{number}.svg")
}

/// Name of a sheet's scores.
#[must_use]
pub fn sheet_scores(number: u64) -> String {
    format!("sheet-{number}-scores.svg")
}

/// Name of a sheet's G-code for the cutting table.
#[must_use]
pub fn sheet_ngc(number: u64) -> String {
    format!("sheet-{number}.ngc")
}

/// Name of a sheet's scores as DXF.
#[must_use]
pub fn sheet_dxf(number: u64) -> String {
    format!("sheet-{number}.dxf")
}

/// The breaks of all sheets, one by one.
pub const BREAKING: &str = "breaking.csv";

/// Name of a sheet's breaks, step by step.
#[must_use]
pub fn sheet_breaks(number: u64) -> String {
    format!("sheet-{number}-breaks.html")
}

/// Whether a file of that name belongs to a plan.
pub(super) fn is_plan_name(name: &str) -> bool {
    let number = name.strip_prefix("sheet-").and_then(|rest| rest.strip_suffix(".svg"));
    let number = number.map(|number| number.strip_suffix("-scores").unwrap_or(number));
    let breaks = name
        .strip_prefix("sheet-")
        .and_then(|rest| rest.strip_suffix("-breaks.html"));
    let of_table = name.strip_prefix("sheet-").and_then(|rest| {
        let ngc = rest.strip_suffix(".ngc");
        ngc.or_else(|| rest.strip_suffix(".dxf"))
    });
    let number = number.or(breaks).or(of_table);
    let is_sheet = number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()));
    is_sheet || [PLAN, YIELD, BREAKING, BUY, BOOK].contains(&name)
}
