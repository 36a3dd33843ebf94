//! Lists out and in again to the last digit, and the lists that spreadsheets write.

use crate::common::{Checked, stamp};
use cullet_geometry::{Outline, Point};
use cullet_rack::{Count, Face, Lines, Rack, RackItem, Signs, State, Stock, StockItem, StockKind, Which, write_csv};
use proptest::prelude::*;

/// Words as people write them, quotes, separators and all; no blanks at the ends, a list has none there.
fn words() -> impl Strategy<Value = String> {
    "[A-Za-z0-9 ,;\"'|#=ßé°/.-]{0,12}".prop_map(|words| words.trim().to_owned())
}

/// A star-shaped outline round a middle, lower left at the origin.
fn star() -> impl Strategy<Value = Outline> {
    prop::collection::vec(100.0..800.0_f64, 3..9).prop_map(|radii| {
        let count = radii.len() as f64;
        let points = radii.iter().enumerate().map(|(i, radius)| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / count).sin_cos();
            Point {
                x: radius * cos,
                y: radius * sin,
            }
        });
        let star = Outline::new(points.collect()).expect("a star");
        let corner = star.bounds().min;
        star.translated(-corner.x, -corner.y)
    })
}

fn item(n: usize) -> impl Strategy<Value = RackItem> {
    let shape = prop_oneof![
        (100.0..5_000.0_f64, 100.0..5_000.0_f64).prop_map(|(w, h)| (true, Outline::rectangle(w, h))),
        star().prop_map(|outline| (false, outline)),
    ];
    let options = (
        any::<bool>(),
        any::<bool>(),
        prop::option::of(0.01..900.0_f64),
        any::<Option<bool>>(),
    );
    (shape, options, 0.0..360.0_f64, words(), words(), words()).prop_map(
        move |((rectangular, outline), (flawed, to_buy, price, face), grain_deg, lot, place, from)| {
            let bounds = outline.bounds();
            let to_buy = to_buy && rectangular && !flawed;
            let flaw = Outline::rectangle(bounds.width() / 3.0, bounds.height() / 7.0).translated(0.1, 0.3);
            let kind = if to_buy || (rectangular && n.is_multiple_of(2)) {
                StockKind::Sheet
            } else {
                StockKind::Offcut
            };
            RackItem {
                stock: StockItem {
                    tag: format!("T{n} \"{lot}\""),
                    glass: format!("G {place}").trim().to_owned(),
                    kind,
                    flaws: match (flawed && !to_buy, rectangular) {
                        (false, _) => vec![],
                        (true, true) => vec![flaw, outline.clone()],
                        (true, false) => vec![outline.clone()],
                    },
                    outline,
                    count: if to_buy { Count::ToBuy } else { Count::OnHand(1) },
                    place,
                    lot: Some(lot).filter(|lot| !lot.is_empty()),
                    grain_deg,
                    price,
                },
                scored_face: face.map(|show| if show { Face::Show } else { Face::Back }),
                came_from: Some(from).filter(|from| !from.is_empty()),
                state: if to_buy { State::ToBuy } else { State::OnRack },
                clear: (0.0, 0.0),
                held_for: None,
            }
        },
    )
}

fn items() -> impl Strategy<Value = Vec<RackItem>> {
    (1..6_usize).prop_flat_map(|count| (0..count).map(item).collect::<Vec<_>>())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn a_rack_reads_back_to_the_last_digit(items in items(), commas in any::<bool>()) {
        let signs = if commas { Signs::Commas } else { Signs::Points };
        let text = write_csv(&items, signs);
        let home = tempfile::tempdir().expect("a folder");
        let mut rack = Rack::open_or_create(&home.path().join("a.rack")).expect("a rack");
        let lines = Lines::read_csv("list.csv", &text).unwrap_or_else(|found| panic!("{found}\n{text}"));
        rack.import(&lines, &stamp(0)).expect("free tags");
        let mut back = rack.list(&Which::default()).expect("a list");
        prop_assert_eq!(write_csv(&back, signs), text);
        for item in &mut back {
            item.clear = (0.0, 0.0);
        }
        prop_assert_eq!(back, items);
    }
}

fn refused(text: &str) -> Vec<(String, String)> {
    let findings = Stock::read_csv("stock.csv", text).expect_err("it is refused").0;
    findings.into_iter().map(|f| (f.place, f.found)).collect()
}

#[test]
fn what_a_spreadsheet_writes_is_read() -> Checked {
    let text = "\u{feff}sep=;\r\nkind;tag;glass;units;width;height;count;flaws;price\r\n\
        sheet;A;CL;in;24 1/2;48,25;2;;\r\noffcut;B;CL;mm;\"400,5\";300;;\"10,5 20 5\";12,5\r\n;;;;;;;;\r\n";
    let stock = Stock::read_csv("stock.csv", text)?;
    let size = |n: usize| {
        let bounds = stock.items[n].outline.bounds();
        (bounds.width(), bounds.height())
    };
    // 1 in = 25.4 mm exactly.
    assert_eq!(size(0), (24.5 * 25.4, 48.25 * 25.4));
    assert_eq!(size(1), (400.5, 300.0));
    assert_eq!(stock.items[1].price, Some(12.5));
    assert!((stock.items[1].flaws[0].bounds().min.x - 5.5).abs() < 0.1);
    Ok(())
}

#[test]
fn what_cannot_be_read_is_refused_with_its_line() {
    let head = "kind,tag,glass,units,width,height,count\n";
    let found = refused(&format!(
        "{head}sheet,A,CL,mm,24 1/2,400,1\nsheet,B,CL,in,\"24,5\",48,1\n"
    ));
    assert_eq!(found.len(), 2);
    assert_eq!(found[0].0, "line 2, column \"width\"");
    assert_eq!(found[1].0, "line 3, column \"width\"");
    // A thousands mark.
    let found = refused("kind;tag;glass;units;width;height;count\nsheet;A;CL;mm;1.200,5;400;1\n");
    assert_eq!(found[0].0, "line 2, column \"width\"");
}

#[test]
fn a_quote_that_is_not_closed_is_told_once() {
    let head = "kind,tag,glass,units,width,height,count,place\n";
    let text =
        format!("{head}sheet,A,CL,mm,600,400,1,\"bay 1\nsheet,B,CL,mm,600,400,1,\"bay 2\"\nsheet,C,CL,mm,600,400,1,\n");
    let found = refused(&text);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "line 2");
    assert!(found[0].1.contains("double quote"), "{found:?}");
}

#[test]
fn a_list_without_column_names_is_told_once() {
    let found = refused("sheet,A,CL,mm,600,400,1\nsheet,B,CL,mm,600,400,1\n");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].1.contains("no column's name"), "{found:?}");
    // A slip in one name is told as that.
    let found = refused("kind,tag,glas,units,width,height,count\nsheet,A,CL,mm,600,400,1\n");
    assert!(
        found.iter().any(|(_, found)| found.contains("unknown column \"glas\"")),
        "{found:?}"
    );
}

/// A list that was exported when the column `source` had another name.
#[test]
fn a_former_column_name_is_read() {
    let list = "kind,tag,glass,units,width,height,count,came_from\noffcut,R1,CL,mm,300,200,1,REED-A.1\n";
    let lines = Lines::read_csv("stock.csv", list).expect("a list");
    let home = tempfile::tempdir().expect("a temporary folder");
    let path = home.path().join("rack");
    Rack::import_into(&path, &lines, &stamp(1)).expect("imported");
    let items = Rack::open(&path)
        .expect("a rack")
        .list(&Which::default())
        .expect("a list");
    assert_eq!(items[0].came_from.as_deref(), Some("REED-A.1"));
    assert!(
        write_csv(&items, Signs::Points)
            .lines()
            .next()
            .is_some_and(|names| names.contains(",source"))
    );
}
