//! What must hold of the tables.

use super::{TableError, yield_csv, yield_text};
use crate::sample::varied;
use cullet_breakout::Style;
use cullet_job::{FaceFile, GrainFile};
use cullet_model::figures::Figures;
use cullet_model::{Plan, Tried};
use cullet_rack::Signs;

fn plan() -> Plan {
    varied(GrainFile::TwoWays, FaceFile::Show)
}

/// The figures of each row of the text, without its names.
fn rows(text: &str) -> Vec<Vec<f64>> {
    let lines = text
        .lines()
        .take_while(|l| !l.is_empty() && !l.starts_with("Cullet: "))
        .filter(|l| !l.starts_with('-'))
        .skip(2);
    lines
        .map(|line| {
            let cells: Vec<&str> = line.split("  ").map(str::trim).filter(|c| !c.is_empty()).collect();
            let figures = &cells[cells.len() - 11..];
            figures.iter().map(|c| c.parse().unwrap()).collect()
        })
        .collect()
}

#[test]
fn the_text_has_a_row_a_sheet_a_glass_and_the_job() {
    let text = yield_text(&plan());
    let rows = rows(&text);
    assert_eq!(rows.len(), 4, "{text}");
    // 610 × 1220 mm is 0.7442 m², 5.6 kg at 3 mm (EN 572-1) and 44.65 at 60 a square metre.
    assert_eq!(rows[0][1], 0.7442);
    assert_eq!(rows[0][3], 0.4392);
    assert_eq!((rows[0][7], rows[0][8]), (5.6, 44.65));
    assert!(text.contains("EUR"), "{text}");
    assert!(text.contains("S-99m, 2 copies: longer than every sheet"), "{text}");
}

#[test]
fn what_is_shown_adds_up() {
    // Three equal sheets of a third of a cent's worth each, and areas that all round the same way.
    let mut plan = plan();
    let third = Figures {
        pulled: 333_333.3,
        used: 111_133.3,
        returned: 77_777.7,
        cullet: 144_422.3,
        grinding: 1_234.4,
        pieces: 3,
        pulled_kg: 2.4444,
        used_kg: 1.0,
        pulled_cost: 100.0 / 3.0,
        returned_credit: 10.0 / 3.0,
    };
    let layout = plan.glasses[0].layouts[0].clone();
    plan.glasses[0].layouts = vec![layout; 3];
    for layout in &mut plan.glasses[0].layouts {
        layout.figures = third;
    }
    plan.glasses[0].figures = Figures::sum(&[third; 3]);
    plan.figures = plan.glasses[0].figures;
    let rows = rows(&yield_text(&plan));
    let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
    for column in (0..11).filter(|c| *c != 5) {
        let sum: f64 = rows[..3].iter().map(|r| r[column]).sum();
        assert!(
            near(sum, rows[3][column]) && near(rows[3][column], rows[4][column]),
            "column {column}: {rows:?}"
        );
    }
    for row in &rows {
        assert!(
            near(row[1] - row[2] - row[3], row[4]) && near(row[8] - row[9], row[10]),
            "{row:?}"
        );
    }
}

#[test]
fn the_csv_reads_back_with_exact_figures() {
    let mut plan = plan();
    let figures = plan.glasses[0].figures;
    plan.glasses[0].tried = [Style::Shaped, Style::StraightRun]
        .map(|style| Tried {
            style,
            sheets: 2,
            unplaced: 0,
            breaks: 31,
            figures,
        })
        .to_vec();
    let text = yield_csv(&plan, Signs::Points).unwrap();
    let mut table = csv::Reader::from_reader(text.as_bytes());
    let head = table.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = table.records().map(Result::unwrap).collect();
    let levels: Vec<&str> = rows.iter().map(|r| &r[0]).collect();
    assert_eq!(levels, ["sheet", "sheet", "glass", "job", "tried"]);
    let way: Vec<&str> = [2, 10, 11].iter().map(|c| &rows[4][*c]).collect();
    assert_eq!(way, [plan.glasses[0].glass.as_str(), "straight-run", "31"]);
    let cell = |row: usize, name: &str| {
        let column = head.iter().position(|h| h == name).unwrap();
        rows[row][column].parse::<f64>().unwrap()
    };
    for (row, figures) in [
        (0, &plan.glasses[0].layouts[0].figures),
        (1, &plan.glasses[0].layouts[1].figures),
        (2, &plan.glasses[0].figures),
        (3, &plan.figures),
        (4, &figures),
    ] {
        assert!((cell(row, "pulled_m2") * 1e6 - figures.pulled).abs() < 1e-3);
        assert!((cell(row, "cullet_m2") * 1e6 - figures.cullet).abs() < 1e-3);
        assert!((cell(row, "yield_percent") - figures.yield_share() * 100.0).abs() < 1e-6);
        assert!((cell(row, "net_cost") - figures.net_cost()).abs() < 1e-6);
    }
}

#[test]
fn names_with_commas_quotes_and_lines_survive_the_csv() {
    let mut plan = plan();
    let name = "rack \"B\", upper\nrow; é 🪟";
    plan.glasses[0].layouts[0].stock.place = name.to_owned();
    let text = yield_csv(&plan, Signs::Points).unwrap();
    let mut table = csv::Reader::from_reader(text.as_bytes());
    assert_eq!(&table.records().next().unwrap().unwrap()[6], name);
    assert!(!yield_text(&plan).contains("NaN"));
}

#[test]
fn a_figure_that_is_not_a_number_is_refused() {
    let mut plan = plan();
    plan.figures.used = f64::NAN;
    let error = yield_csv(&plan, Signs::Points).unwrap_err();
    assert!(
        matches!(&error, TableError::NotANumber { place, column, .. } if place == "job" && column == "used_m2"),
        "{error}"
    );
}

#[test]
fn an_empty_plan_has_a_total_of_nothing() {
    let mut plan = plan();
    plan.glasses.clear();
    plan.figures = Figures::default();
    assert!(yield_text(&plan).contains("0.0000"));
    assert_eq!(yield_csv(&plan, Signs::Points).unwrap().lines().count(), 2);
}

/// The cells of a table; `separator` parts its columns.
fn cells(table: &str, separator: u8) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .from_reader(table.as_bytes());
    let rows = reader.records().map(|row| row.unwrap());
    rows.map(|row| row.iter().map(str::to_owned).collect()).collect()
}

/// With decimal commas every table says the same: numbers with a comma for the point, and every word as it was.
#[track_caller]
fn assert_says_the_same(points: &str, commas: &str) {
    let commas = commas.strip_prefix('\u{feff}').expect("the mark of UTF-8");
    let (points, commas) = (cells(points, b','), cells(commas, b';'));
    assert_eq!(points.len(), commas.len());
    let mut changed = 0;
    for (row, other) in points.iter().zip(&commas) {
        assert_eq!(row.len(), other.len());
        for (column, (cell, other)) in row.iter().zip(other).enumerate() {
            let head = points[0][column].as_str();
            let is_word = matches!(
                head,
                "glass" | "tag" | "place" | "lot" | "panel" | "came" | "next_size_tag"
            );
            let is_number = !is_word && cell.parse::<f64>().is_ok();
            let want = if is_number {
                cell.replace('.', ",")
            } else {
                cell.clone()
            };
            assert_eq!(*other, want, "{head}");
            changed += usize::from(want != *cell);
        }
    }
    assert!(changed > 0, "a table without decimals");
}

#[test]
fn decimal_commas_change_numbers_and_nothing_else() {
    let mut plan = plan();
    // Words that look like numbers are the user's own.
    for layout in plan.glasses.iter_mut().flat_map(|glass| &mut glass.layouts) {
        layout.stock.tag = "17.1".into();
        layout.stock.lot = Some("2.5".into());
    }
    let both = |table: &dyn Fn(Signs) -> String| assert_says_the_same(&table(Signs::Points), &table(Signs::Commas));
    both(&|signs| yield_csv(&plan, signs).unwrap());
    both(&|signs| crate::bench::breaking_csv(&plan, signs).unwrap());
}
