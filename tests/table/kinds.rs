//! Every kind of table there is: corners, wheels, units, and what a table cannot score.

use crate::{planned, shop, table};
use cullet::Exit;
use cullet_tests::{Bench, Checked, Outcome, typed};
use serde_json::{Value, json};
use std::error::Error;
use std::path::{Path, PathBuf};

/// What is changed in a table, field by field.
type Changes = Vec<(&'static str, Value)>;

/// Kinds of tables, each with what it changes in the example.
fn kinds() -> Vec<(&'static str, Changes)> {
    let caster = json!({"kind": "caster", "trail": 2.5});
    vec![
        ("lower right", vec![("corner", json!("lower-right"))]),
        (
            "upper left, X upright",
            vec![("corner", json!("upper-left")), ("x_runs", json!("upright"))],
        ),
        (
            "upper right, offset",
            vec![("corner", json!("upper-right")), ("offset", json!([30.5, 12.25]))],
        ),
        ("inches", vec![("file_units", json!("in"))]),
        (
            "all axes",
            vec![("feed", json!("all-axes")), ("line_numbers", json!(true))],
        ),
        (
            "from 0 to 360",
            vec![(
                "wheel",
                json!({"kind": "steered", "letter": "A", "angles": "modulo", "zero": 90}),
            )],
        ),
        (
            "a short cable",
            vec![("wheel", json!({"kind": "steered", "cable": 361}))],
        ),
        ("a caster", vec![("wheel", caster), ("offset", json!([20, 20]))]),
        (
            "beyond the edge",
            vec![("edge_run", json!(-3)), ("offset", json!([20, 20]))],
        ),
        ("the hardest first", vec![("hardest_first", json!(true))]),
        ("crossings", vec![("may_cross", json!(true))]),
    ]
}

/// Kinds whose check passes the example table's file too: they score the same paths.
const ALIKE: [&str; 6] = [
    "inches",
    "all axes",
    "a short cable",
    "the hardest first",
    "crossings",
    "beyond the edge",
];

/// The example table with changes.
fn changed(changes: Changes) -> Value {
    let mut table = table();
    for (field, value) in changes {
        table[field] = value;
    }
    table
}

/// A plan for which several tables write files.
struct Tables {
    bench: Bench,
    plan: String,
    count: usize,
}

/// What writing said, the file of map 1, and the shop file with the table.
struct Made {
    said: Outcome,
    file: PathBuf,
    shop: String,
}

impl Tables {
    fn new() -> Result<Self, Box<dyn Error>> {
        let (bench, outcome) = planned(&table())?;
        assert_eq!(outcome.exit, Exit::Done, "{}", outcome.err);
        let plan = bench.path("out").join("plan.json").display().to_string();
        Ok(Self { bench, plan, count: 0 })
    }

    /// Has the files of map 1 written for a table.
    fn make(&mut self, table: &Value) -> Result<Made, Box<dyn Error>> {
        self.count += 1;
        let shop = self.bench.write(&format!("shop-{}.json", self.count), &shop(table))?;
        let shop = shop.display().to_string();
        let out = self.bench.path(&format!("table-{}", self.count));
        let folder = out.display().to_string();
        let said = typed(&["table", &self.plan, "--shop", &shop, "--sheet", "1", "--out", &folder]);
        let file = out.join("sheet-1.ngc");
        Ok(Made { said, file, shop })
    }

    /// What a table's check says of a file.
    fn check(&self, file: &Path, shop: &str) -> Outcome {
        let file = file.display().to_string();
        typed(&["table", "--check", &file, &self.plan, "--shop", shop])
    }
}

/// Every kind of table there is writes files that pass, and another table's check refuses them.
#[test]
fn corners_wheels_and_units() -> Checked {
    let mut tables = Tables::new()?;
    let first = tables.make(&table())?;
    for (what, changes) in kinds() {
        let made = tables.make(&changed(changes))?;
        assert_eq!(made.said.exit, Exit::Done, "{what}: {}", made.said.err);
        let said = tables.check(&made.file, &made.shop);
        assert_eq!(said.exit, Exit::Done, "{what}: {}", said.err);
        if !ALIKE.contains(&what) {
            let said = tables.check(&first.file, &made.shop);
            assert_eq!(said.exit, Exit::DoesNotHold, "{what}: the first table's file passes");
        }
    }
    let said = tables.check(&first.file, &first.shop);
    assert_eq!(said.exit, Exit::Done, "{}", said.err);
    Ok(())
}

#[test]
fn what_a_table_cannot_score_is_named() -> Checked {
    let mut tables = Tables::new()?;
    let thin_glass_only = json!([{"up_to": 2, "down": ["M3"], "up": ["M5"]}]);
    for (changes, expected) in [
        (vec![("size", json!([590, 490]))], "map 1, tag S 1"),
        (vec![("lines", thin_glass_only)], "3 mm thick"),
    ] {
        let made = tables.make(&changed(changes))?;
        assert!(
            made.said.exit == Exit::BadInput && made.said.err.contains(expected) && !made.file.exists(),
            "{}",
            made.said.err
        );
    }
    Ok(())
}
