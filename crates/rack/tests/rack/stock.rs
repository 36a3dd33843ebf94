//! Good stock lists: units, outlines, flaws, worth, and a list held against a job.

use cullet_job::Job;
use cullet_rack::{Count, Stock, StockItem, StockKind};
use proptest::prelude::*;

const HEADER: &str = "kind,tag,glass,units,width,height,count,outline,grain,lot,place,flaws,price\n";

#[track_caller]
fn read(list: &str) -> Vec<StockItem> {
    match Stock::read_csv("stock.csv", list) {
        Ok(stock) => stock.items,
        Err(findings) => panic!("{findings}\n{list}"),
    }
}

#[track_caller]
fn read_line(line: &str) -> StockItem {
    read(&format!("{HEADER}{line}\n")).remove(0)
}

fn points(outline: &cullet_geometry::Outline) -> Vec<[f64; 2]> {
    outline.points().iter().map(|p| [p.x, p.y]).collect()
}

#[test]
fn a_sheet_with_everything() {
    let sheet = read_line("sheet,CL-1,CL,mm,1220,610,1,,0,L 77,bay 3,,31.50");
    assert_eq!((sheet.kind, sheet.count), (StockKind::Sheet, Count::OnHand(1)));
    assert_eq!(
        (sheet.tag.as_str(), sheet.glass.as_str(), sheet.place.as_str()),
        ("CL-1", "CL", "bay 3")
    );
    assert_eq!(
        (sheet.lot.as_deref(), sheet.grain_deg, sheet.price),
        (Some("L 77"), 0.0, Some(31.5))
    );
    assert_eq!(
        points(&sheet.outline),
        [[0.0, 0.0], [1220.0, 0.0], [1220.0, 610.0], [0.0, 610.0]]
    );
    let bare = read_line("sheet,CL-1,CL,mm,1220,610,buy");
    assert_eq!(
        (bare.lot, bare.grain_deg, bare.price, bare.count),
        (None, 90.0, None, Count::ToBuy)
    );
}

#[test]
fn columns_in_any_order_and_the_byte_order_mark_of_a_spreadsheet() {
    let items = read("\u{feff}count,Units,glass,TAG,kind,height,width\r\nbuy,in,CL,A,sheet,48,24\r\n");
    let bounds = items[0].outline.bounds();
    assert!((bounds.width() - 609.6).abs() < 1e-9 && (bounds.height() - 1219.2).abs() < 1e-9);
}

#[test]
fn semicolons_and_decimal_commas() {
    let items = read(
        "kind;tag;glass;units;width;height;count;outline;flaws;price\n\
         sheet;A;CL;mm;1220,5;610;3;;;31,50\n\
         offcut;B;CL;mm;;;;\"0 0; 300,5 0; 300,5 200\";\"200 50 2,5\";\n",
    );
    assert_eq!(items[0].outline.bounds().width(), 1220.5);
    assert_eq!(items[0].price, Some(31.5));
    assert_eq!(items[1].outline.bounds().width(), 300.5);
    assert!((items[1].flaws[0].bounds().width() - 5.0).abs() < 0.11);
}

fn refused(list: &str) -> String {
    let found = Stock::read_csv("stock.csv", list).expect_err("a list that is refused");
    let words: Vec<String> = found.0.iter().map(ToString::to_string).collect();
    words.join("\n")
}

/// To a spreadsheet with decimal commas 1.220 is 1220, to others 1.22.
#[test]
fn a_mark_for_thousands_is_not_guessed_at() {
    let head = "kind;tag;glass;units;width;height;count;outline;price\n";
    let list = format!("{head}sheet;A;CL;mm;1.220;610;3;;\noffcut;B;CL;mm;;;;\"0 0; 1.300 0; 1.300 200\";1.250\n");
    let found = refused(&list);
    assert_eq!(found.matches("mark for thousands and").count(), 3, "{found}");
    assert!(found.contains("line 2, column \"width\": found \"1.220\", which is 1220 with a mark"), "{found}");
    assert!(found.contains("Write 1220 or 1,22;"), "{found}");
    // One cell shows what the point is in its column; other errors of a doubtful line are told beside it.
    assert_eq!(read(&format!("{head}sheet;A;CL;mm;1220.5;610;3;;\nsheet;B;CL;mm;1.220;1610;3;;\n")).len(), 2);
    let both = refused(&format!("{head}shet;A;CL;mm;1.220;610;3;;\n"));
    assert!(both.contains("\"shet\"") && both.contains("\"1.220\"") && both.lines().count() == 4, "{both}");
    // With commas between the columns a point is the decimal sign.
    assert_eq!(read("kind,tag,glass,units,width,height,count\nsheet,A,CL,in,24.125,36.250,3\n").len(), 1);
}

/// Lists that LibreOffice Calc saved, with a German locale.
#[test]
fn a_spreadsheet_s_own_lists() {
    let list = |name: &str| {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/stock_lists");
        std::fs::read_to_string(folder.join(format!("by_libreoffice_{name}.csv"))).expect("a list")
    };
    for name in ["semicolons", "tabs"] {
        let items = read(&list(name));
        assert_eq!(items.len(), 3, "{name}");
        assert_eq!((items[0].outline.bounds().width(), items[0].price), (1220.5, Some(31.5)), "{name}");
        assert_eq!(items[2].outline.points().len(), 5, "{name}");
    }
    let found = refused(&list("thousands"));
    for both in ["1300 with a mark for thousands and 1,3 with", "1220 with", "2440 with"] {
        assert!(found.contains(both), "{found}");
    }
    assert!(refused(&list("title")).contains("which stand on line 2"));
}

#[test]
fn tabs_part_columns_too() {
    let head = "kind\ttag\tglass\tunits\twidth\theight\tcount\toutline\n";
    let items = read(&format!("{head}sheet\tA\tCL\tmm\t1220,5\t610\t3\t\noffcut\tB\tCL\tmm\t\t\t\t0 0; 300.5 0; 0 200\n"));
    assert_eq!(items[0].outline.bounds().width(), 1220.5);
    assert_eq!(items[1].outline.bounds().width(), 300.5);
    // Nothing shows what a comma is.
    let found = refused(&format!("{head}sheet\tA\tCL\tmm\t1,220\t610\t3\t\n"));
    assert!(found.contains("1220 with a mark for thousands and 1,22 with a decimal comma"), "{found}");
}

#[test]
fn a_title_above_the_column_names_is_called_so() {
    let found = refused("Glass on the rack;;;\n\nkind;tag;glass;units;width;height;count\nsheet;A;CL;mm;600;900;1\n");
    assert!(found.contains("line 1: found \"Glass on the rack;;;\" above the column names, which stand on line 3"), "{found}");
    let found = refused("glass\nkind,tag,glass,units,width,height,count\nsheet,A,CL,mm,600,900,1\n");
    assert!(found.contains("stand on line 2"), "{found}");
}

#[test]
fn outlines_and_flaws_move_to_the_corner_together() {
    let item =
        read_line("offcut,A,CL,mm,,,1,-100 50; 300 50; 300 350; -100 250,,,,-50 100; -40 100; -40 110|200 200 10");
    assert_eq!(
        points(&item.outline),
        [[0.0, 0.0], [400.0, 0.0], [400.0, 300.0], [0.0, 200.0]]
    );
    assert_eq!(points(&item.flaws[0]), [[50.0, 50.0], [60.0, 50.0], [60.0, 60.0]]);
    let bounds = item.flaws[1].bounds();
    assert!((f64::midpoint(bounds.min.x, bounds.max.x) - 300.0).abs() < 1e-9);
    assert!((f64::midpoint(bounds.min.y, bounds.max.y) - 150.0).abs() < 1e-9);
}

#[test]
fn path_data_has_y_downwards_and_flaws_with_it() {
    // A right angle at the top left on the screen, a flaw near it.
    let item = read_line("offcut,A,CL,mm,,,1,\"M0 0 L400 0 L0 300 Z\",,,,20 20 5");
    assert!((item.outline.area() - 60_000.0).abs() < 1e-6);
    let flaw = item.flaws[0].bounds();
    assert!(flaw.min.y > 270.0 && flaw.max.y < 290.0, "{flaw:?}");
}

/// A half disc of 200 mm radius: glass that is not there must not be counted on.
#[test]
fn curved_offcuts_lie_inside_the_glass() {
    let item = read_line("offcut,A,CL,mm,,,1,M0 0H400A200 200 0 0 1 0 0Z");
    let half_disc = |radius: f64| std::f64::consts::PI * radius * radius / 2.0;
    assert!(
        item.outline.area() < half_disc(200.0) && item.outline.area() > half_disc(199.8),
        "{}",
        item.outline.area()
    );
}

/// The polygon round a circle of radius r has an inscribed circle of r: area ≥ π r², no side nearer than r.
#[test]
fn circular_flaws_are_covered() {
    for radius in [0.1, 1.0, 5.0, 20.0, 400.0] {
        let item = read_line(&format!("sheet,A,CL,mm,2000,2000,1,,,,,1000 1000 {radius}"));
        let points = item.flaws[0].points();
        let least = points
            .iter()
            .zip(points.iter().cycle().skip(1))
            .map(|(a, b)| {
                let (a, b) = (*a - geo_centre(), *b - geo_centre());
                (a.x * b.y - a.y * b.x) / (b.x - a.x).hypot(b.y - a.y)
            })
            .fold(f64::INFINITY, f64::min);
        assert!((least - radius).abs() < 1e-6, "{least} for {radius}");
        let most = points
            .iter()
            .map(|p| (p.x - 1000.0).hypot(p.y - 1000.0))
            .fold(0.0, f64::max);
        assert!(
            most <= radius + 0.05 + 1e-9 || points.len() == 32,
            "{most} for {radius}"
        );
    }
}

fn geo_centre() -> cullet_geometry::Point {
    cullet_geometry::Point { x: 1000.0, y: 1000.0 }
}

#[test]
fn worth() {
    let price = 40e-6;
    assert!((read_line("sheet,A,CL,mm,1000,500,1").value(price, 0.5) - 20.0).abs() < 1e-9);
    assert!((read_line("sheet,A,CL,mm,1000,500,1,,,,,,17").value(price, 0.5) - 17.0).abs() < 1e-9);
    assert!((read_line("offcut,A,CL,mm,1000,500,1").value(price, 0.5) - 10.0).abs() < 1e-9);
    assert!((read_line("offcut,A,CL,mm,1000,500,1,,,,,,17").value(price, 0.25) - 4.25).abs() < 1e-9);
}

/// Findings of a list with sheets of these codes, each with a count, against a job that uses glasses RD-1 and CL and has
/// an unused BL.
fn against(sheets: &[(&str, &str)]) -> Vec<String> {
    let glass = |code: &str| {
        format!(
            r#"{{"code": "{code}", "name": "{code} glass", "thickness": 3, "grain": "none", "may_turn_over": true,
            "scored_face": "show", "grind_allowance": 0, "price": 1, "price_unit": "m2"}}"#
        )
    };
    let piece = |number: u32, code: &str| {
        format!(r#"{{"number": "{number}", "glass": "{code}", "outline": [[0, 0], [50, 0], [50, 50]]}}"#)
    };
    let job = format!(
        r#"{{"name": "test", "units": "mm", "y": "up", "glasses": [{}, {}, {}],
        "panels": [{{"id": "P", "quantity": 1, "pieces": [{}, {}]}}]}}"#,
        glass("RD-1"),
        glass("CL"),
        glass("BL"),
        piece(1, "RD-1"),
        piece(2, "CL")
    );
    let job = match Job::read("job.json", &job) {
        Ok(job) => job,
        Err(findings) => panic!("{findings}"),
    };
    let mut list = HEADER.to_owned();
    for (i, (code, count)) in sheets.iter().enumerate() {
        list += &format!("sheet,T{i},{code},mm,1000,500,{count}\n");
    }
    let stock = Stock { items: read(&list) };
    let findings = stock.check_against("stock.csv", &job);
    findings
        .iter()
        .map(|f| format!("{}: {}. {}", f.place, f.found, f.hint))
        .collect()
}

#[test]
fn a_list_held_against_a_job() {
    assert_eq!(against(&[("RD-1", "2"), ("CL", "buy"), ("amber", "1")]), [""; 0]);
    assert_eq!(
        against(&[("CL", "0"), ("RD-2", "1"), ("amber", "1")]),
        [
            "the whole list: no line for glass RD-1. The list has \"RD-2\": if that is the glass, write its code alike in \
             both files.",
            "the whole list: no sheet or offcut left of glass CL. Add what is on the rack of it, or a sheet to buy (count \
             buy). The list has: CL, RD-2, amber.",
        ]
    );
    assert_eq!(
        against(&[("RD-1", "1"), ("rd 1", "1"), ("CL", "1")]),
        [
            "column \"glass\", rd 1: \"rd 1\", nearly the job's \"RD-1\". If it is the same glass, write RD-1; otherwise \
             give it another code."
        ]
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn rectangles_come_back_as_written(width in 100.0..9000.0_f64, height in 1.0..9000.0_f64, count in 0_u32..1000, inches: bool) {
        let (unit, name) = if inches { (25.4, "in") } else { (1.0, "mm") };
        let (width, height) = (width / unit, height / unit);
        let item = read_line(&format!("sheet,A,CL,{name},{width},{height},{count}"));
        let bounds = item.outline.bounds();
        prop_assert_eq!((bounds.width(), bounds.height()), (width * unit, height * unit));
        prop_assert_eq!(item.count, Count::OnHand(count));
    }

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*") {
        prop_assert!(Stock::read_csv("stock.csv", &text).is_ok_and(|s| !s.items.is_empty())
            || Stock::read_csv("stock.csv", &text).is_err_and(|f| !f.0.is_empty()));
    }

    #[test]
    fn any_cells_are_read_or_refused(
        cells in prop::collection::vec(
            prop_oneof![
                "[0-9 .,;|/MLZAmlza\"-]{0,20}",
                prop::sample::select(vec!["sheet", "offcut", "mm", "in", "buy", "1", "0", "A", "300", "24 1/2", "1e300", "-0",
                    "0 0; 300 0; 300 300", "M0 0H300V300Z", "M0 0A1e9 1e9 0 0 1 300 300Z", "10 10 5", "1e-300"]).prop_map(String::from),
            ],
            0..60,
        ),
        semicolons: bool,
    ) {
        let separator = if semicolons { ";" } else { "," };
        let mut list = HEADER.replace(',', separator);
        for line in cells.chunks(13) {
            list += &line.join(separator);
            list.push('\n');
        }
        if let Err(findings) = Stock::read_csv("stock.csv", &list) {
            prop_assert!(!findings.0.is_empty());
        }
    }

    /// Likely cells in their own columns: the outline and flaw readers are reached.
    #[test]
    fn likely_lines_never_panic(
        outline in "(M|m)?[0-9 .,LlAaCcHhVvZz;-]{0,40}",
        flaws in "[0-9 .;|-]{0,30}",
        unit in prop::sample::select(vec!["mm", "in"]),
    ) {
        if let Err(findings) = Stock::read_csv("stock.csv", &format!("{HEADER}offcut,A,CL,{unit},,,1,\"{outline}\",,,,{flaws}\n")) {
            prop_assert!(!findings.0.is_empty());
        }
    }
}
