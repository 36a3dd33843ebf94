//! Every case under `fixtures/bad` is really bad, and says only what its name says; the cases beside it are good.

use cullet_drawing::expand::expand;
use cullet_job::{Findings, Job, ReadWith, Shop};
use cullet_rack::Stock;
use std::path::{Path, PathBuf};

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../fixtures")
}

/// Everything the program says about one case, job and stock together.
fn findings(case: &Path) -> Vec<String> {
    let text = |name: &str| std::fs::read_to_string(case.join(name)).unwrap_or_default();
    let load = |name: &str| {
        let bytes = std::fs::read(case.join(name));
        (name.to_owned(), bytes.map_err(|error| error.to_string()))
    };
    let name = if case.join("pieces.csv").exists() {
        "pieces.csv"
    } else {
        "job.json"
    };
    let shop = case
        .join("shop.json")
        .exists()
        .then(|| Shop::read("shop.json", &text("shop.json")));
    let (shop, bad_shop) = match shop {
        Some(Ok(shop)) => (Some(shop), None),
        Some(Err(bad)) => (None, Some(bad)),
        None => (None, None),
    };
    let with = ReadWith {
        shop: shop.as_ref(),
        ..ReadWith::default()
    };
    let job = Job::read_as(name, &text(name), with, |job, report| {
        expand(job, report, &load);
    });
    let stock = Stock::read_csv("stock.csv", &text("stock.csv"));
    let lacking = match (&job, &stock) {
        (Ok(job), Ok(stock)) => stock.check_against("stock.csv", job),
        _ => vec![],
    };
    // Without its shop file a job lacks what stands there.
    let bad_job = if bad_shop.is_some() { None } else { job.err() };
    let errors = [bad_shop, bad_job, stock.err()];
    let all = errors
        .into_iter()
        .flatten()
        .flat_map(|Findings(list)| list)
        .chain(lacking);
    all.map(|finding| finding.to_string()).collect()
}

#[test]
fn each_case_is_found_out() -> std::io::Result<()> {
    // How many findings each case has.
    let expected = [
        ("control_character_in_stock", 1),
        ("duplicate_number", 1),
        ("empty_outline", 3),
        ("foil_of_a_kilometre", 1),
        ("format_of_a_newer_version", 1),
        ("former_name_of_a_field", 1),
        ("glass_not_in_shop_file", 1),
        ("impossible_bevel", 2),
        ("impossible_choices", 8),
        ("missing_unit", 1),
        ("missing_unit_in_stock", 1),
        ("nan_path", 1),
        ("nan_point", 1),
        ("negative_size", 1),
        ("negative_size_in_stock", 1),
        ("no_column_names_in_stock", 1),
        ("no_such_layer_in_drawing", 2),
        ("no_such_part_in_drawing", 1),
        ("open_end_in_drawing", 1),
        ("open_quote_in_stock", 1),
        ("other_size_in_drawing", 1),
        ("pixels_alone_in_drawing", 1),
        ("self_crossing", 1),
        ("several", 9),
        ("several_in_piece_list", 10),
        ("several_in_shop_file", 2),
        ("shape_that_cannot_be", 6),
        ("stock_list_for_a_piece_list", 1),
        ("stock_without_glass", 1),
        ("tag_in_other_capitals_in_stock", 1),
        ("tag_of_a_copy_in_stock", 1),
        ("text_outlined_in_drawing", 1),
        ("thousands_in_piece_list", 1),
        ("thousands_in_stock", 3),
        ("title_in_stock", 1),
        ("too_narrow_in_stock", 2),
        ("two_parts_in_drawing", 1),
        ("unknown_field", 1),
        ("unknown_glass", 1),
        ("unreadable_json", 1),
        ("utf16_in_stock", 1),
    ];
    let mut cases: Vec<PathBuf> = std::fs::read_dir(fixtures().join("bad"))?
        .map(|entry| entry.map(|e| e.path()))
        .collect::<Result<_, _>>()?;
    cases.sort();
    let name = |case: &Path| case.file_name().map(|n| n.to_string_lossy().into_owned());
    let found: Vec<_> = cases.iter().map(|case| (name(case), findings(case))).collect();
    let wanted: Vec<_> = expected
        .iter()
        .map(|(n, count)| (Some((*n).to_owned()), *count))
        .collect();
    let counted: Vec<_> = found.iter().map(|(n, list)| (n.clone(), list.len())).collect();
    assert_eq!(counted, wanted, "{found:#?}");
    Ok(())
}

#[test]
fn a_piece_larger_than_every_sheet_is_no_fault_of_the_files() {
    assert_eq!(findings(&fixtures().join("too_large")), Vec::<String>::new());
}

#[test]
fn the_demo_has_no_findings() {
    assert_eq!(findings(&fixtures().join("lighthouse")), Vec::<String>::new());
}
